"""A paper shift sheet keyed in: its lines become the rows of a shift's import, judged as any other reading is."""

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from io import StringIO

from registry.compute.schedule import DAY_MINUTES, EARLY_US, MINUTE_US, ShiftTime
from registry.records.baths import CheckRecorded
from registry.services import checks, lookup, places
from registry.services.checks import NOT_CHECKED, Row
from registry.services.import_cells import words_for
from registry.services.import_journal import Imported
from registry.services.import_rows import Options
from registry.services.import_sheet import COLUMNS
from registry.services.import_shift import ShiftPlan, check_shift, record_shift
from registry.services.problems import Problem, Refused
from registry.services.session import Actor, Session


@dataclass(frozen=True, slots=True)
class PaperBath:
    """What the head of the sheet says of a bath, as written; codes or words as in a shift's import.

    beside: of a comparison, `PR0018 62.4 C + PR0026 62.5 C`.
    """

    name: str
    point: str
    made: str
    container: str = ""
    pressure_source: str = ""
    pressure: str = ""
    beside: str = ""


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One line, each cell as written. instead: why there is no reading. adjusted without as_left: not measured."""

    tag: str
    time: str
    readings: tuple[str, ...] = ()
    unit: str = ""
    bath: str = ""
    as_left: str = ""
    adjusted: str = ""
    instead: str = ""
    initials: str = ""


@dataclass(frozen=True, slots=True)
class Entered:
    """The sheet recorded. rows: for each line its check as it is judged; None where the line held none."""

    imported: Imported
    rows: tuple[Row | None, ...]


def enter(
    session: Session,
    actor: Actor,
    site: str,
    shift: str,
    day: date,
    baths: Sequence[PaperBath],
    rows: Sequence[PaperRow],
    *,
    initials: str = "",
    asked: frozenset[str] = frozenset(),
) -> Entered:
    """Record a sheet, whole or not at all. shift: its name, or empty where none was on. day: on which it began.

    A time after midnight of a shift that began the evening before belongs to the next day. initials: for lines that
    have none. asked: codes of questions answered for the whole sheet. Refused with `row` the number of the line
    (1 is the first) and the field `as_left` where that reading is meant; codes have their sentences under
    `importing`. The same sheet again is refused as imported already.
    """
    with session.reading() as connection:
        fact = places.site_named_by_id(connection, site)
        on = lookup.shift_on(connection, fact, shift, day) if shift else None
        content, lines = _as_csv(fact.payload.letters, day, on, baths, rows)
        try:
            plan = check_shift(session, connection, content, Options(initials=initials, asked=asked))
        except Refused as refused:
            raise Refused(*(_of_line(one, lines) for one in refused.problems)) from None
    imported = record_shift(session, actor, plan)
    return Entered(imported, _judged(session, plan, lines, len(rows)))


@dataclass(frozen=True, slots=True)
class _CsvRow:
    """Which line of the sheet a row of the file came from, and whether it holds the as-left reading."""

    line: int
    as_left: bool


def _as_csv(
    site: str, day: date, on: ShiftTime | None, baths: Sequence[PaperBath], rows: Sequence[PaperRow]
) -> tuple[bytes, dict[int, _CsvRow]]:
    """The file that a shift's import reads, and where each of its rows came from (row 1 holds the titles)."""
    written, lines = StringIO(), dict[int, _CsvRow]()
    file = csv.DictWriter(written, COLUMNS, restval="")
    file.writeheader()
    said = {one.name: one for one in baths}
    for number, row in enumerate(rows, 1):
        common = {"site": site, "date": _day(row, day, on).isoformat(), "time": row.time, "tag": row.tag}
        common |= {"unit": row.unit, "initials": row.initials}
        for more in _rows(row, said.get(row.bath)):
            file.writerow({column: _text(text) for column, text in (common | more).items()})
            lines[len(lines) + 2] = _CsvRow(number, more.get("role") == "as_left")
    return written.getvalue().encode(), lines


def _rows(row: PaperRow, bath: PaperBath | None) -> list[dict[str, str]]:
    """A line as one row of the import; a second one where it was adjusted."""
    not_used = {code for word, code in words_for("due_state", NOT_CHECKED).items() if word == row.instead.casefold()}
    if row.instead in NOT_CHECKED or not_used:  # said of the shift, not in a bath
        return [{"readings": " / ".join(row.readings), "why": row.instead}]
    where = {"bath": row.bath} | (_bath(bath) if bath else {})
    found = [where | {"readings": " / ".join(row.readings), "why": row.instead}]
    if row.as_left or row.adjusted:
        found.append(where | {"readings": row.as_left, "role": "as_left", "adjusted": row.adjusted})
    return found


def _bath(bath: PaperBath) -> dict[str, str]:
    return {
        "point": bath.point,
        "made": bath.made,
        "container": bath.container,
        "pressure_source": bath.pressure_source,
        "pressure": bath.pressure,
        "beside": bath.beside,
    }


def _text(text: str) -> str:
    """Line ends would make rows of their own; an apostrophe before a sign would be taken off."""
    flat = " ".join(text.split())
    return f"'{flat}" if flat.startswith(("'", "=", "+", "@")) else flat


def _day(row: PaperRow, day: date, on: ShiftTime | None) -> date:
    """The calendar day of a line: the next one for a time after midnight in a shift that crosses it."""
    hours, colon, minutes = row.time.partition(":")
    if on is None or on.shift.end > on.shift.start or not (colon and hours.isdecimal() and minutes.isdecimal()):
        return day
    opens = on.shift.start - EARLY_US // MINUTE_US
    return day + timedelta(days=int(0 <= int(hours) * 60 + int(minutes) < min(opens, DAY_MINUTES)))


def _of_line(problem: Problem, lines: Mapping[int, _CsvRow]) -> Problem:
    """A problem of a row of the file as one of a line of the sheet."""
    values = dict(problem.values)
    for name in ("row", "other"):
        number = values.get(name)
        if isinstance(number, int) and number in lines:
            values[name] = lines[number].line
    at = problem.values.get("row")
    row = lines.get(at) if isinstance(at, int) else None
    if row is None:
        return problem
    field = "time" if problem.field == "date" else problem.field  # the day stands at the head of the sheet
    if row.as_left and field == "readings":
        field = "as_left"
    return replace(problem, field=field, values=values)


def _judged(session: Session, plan: ShiftPlan, lines: Mapping[int, _CsvRow], count: int) -> tuple[Row | None, ...]:
    found: list[Row | None] = [None] * count
    with session.reading() as connection:
        for said in plan.said:
            if isinstance(said.payload, CheckRecorded) and said.row is not None:
                found[lines[said.row].line - 1] = checks.recorded_row(connection, said.payload.check)
    return tuple(found)
