"""Cells of an imported table become readings, instants and codes; each that does not is named by row and column."""

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone
from functools import lru_cache
from typing import TypeVar
from unicodedata import normalize
from zoneinfo import ZoneInfo

from registry import resources
from registry.journal import ids
from registry.quantity import NotAReading, Reading, Unit, parse_reading
from registry.services.csvfile import Table, normal, open_table
from registry.services.problems import Problem, Refused
from registry.services.thermometers import NewThermometer
from registry.wording import say

T = TypeVar("T")
TOLD = 200  # problems named one by one; the rest is counted
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_UNITS: dict[str, Unit] = {"c": "C", "°c": "C", "celsius": "C", "f": "F", "°f": "F", "fahrenheit": "F"}
_DAYS = {
    "ymd": re.compile(r"(?P<y>[0-9]{4})[-./](?P<m>[0-9]{1,2})[-./](?P<d>[0-9]{1,2})"),
    "dmy": re.compile(r"(?P<d>[0-9]{1,2})[-./](?P<m>[0-9]{1,2})[-./](?P<y>[0-9]{4})"),
    "mdy": re.compile(r"(?P<m>[0-9]{1,2})[-./](?P<d>[0-9]{1,2})[-./](?P<y>[0-9]{4})"),
}
_TIME = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:\.[0-9]+)?)?\s*([ap]\.?m\.?)?(Z|[+-][0-9]{2}:?[0-9]{2})?", re.I
)
_WITH_UNIT = re.compile(r"(.*?)\s*(°?\s?[CF])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Options:
    """What is asked about a file rather than guessed from it.

    encoding: where it is not UTF-8. unit, point, site, initials: for rows that state none. day_order: ymd (which ISO
    dates are), dmy or mdy. columns: other names of columns, by theirs. tags: other names of thermometers. enrol: names
    of thermometers that are to be enrolled by this import. outcomes: other words for outcomes. leave_out: columns not
    to be read. asked: codes of questions answered with yes for the whole file. judge: whether the outcome of old
    checks that state none is worked out.
    """

    encoding: str | None = None
    unit: Unit | None = None
    point: str = ""
    site: str = ""
    initials: str = ""
    day_order: str = "ymd"
    columns: Mapping[str, str] = field(default_factory=dict)
    tags: Mapping[str, str] = field(default_factory=dict)
    enrol: Mapping[str, NewThermometer] = field(default_factory=dict)
    outcomes: Mapping[str, str] = field(default_factory=dict)
    leave_out: frozenset[str] = frozenset()
    asked: frozenset[str] = frozenset()
    judge: bool = True


class BadCell(ValueError):
    """A cell that cannot be taken; `values` are what its sentence names beside row, column and the cell itself."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code, self.values = code, values


class Problems:
    """What is wrong in a file, the first ones told one by one."""

    def __init__(self, titles: Mapping[str, str] | None = None) -> None:
        self.found: list[Problem] = []
        self.count = 0
        self._titles = titles or {}

    def add(self, column: str, code: str, row: int, value: object = "", **more: object) -> None:
        self.count += 1
        if self.count <= TOLD:
            shown = value[:80] if isinstance(value, str) else value
            title = self._titles.get(column, column.replace("_", " "))
            self.found.append(Problem(column, code, {"row": row, "column": title, "value": shown} | more))

    def refuse_any(self) -> None:
        if self.count > TOLD:
            self.found.append(Problem("file", "more", {"count": self.count - TOLD}))
        if self.found:
            raise Refused(*self.found)


# --- columns -------------------------------------------------------------------------------------------------


def column_names(columns: Collection[str], options: Options) -> dict[str, str]:
    """Codes of columns by their normal names: in each language, as codes, and as the options name them."""
    found = {
        normal(say(f"importing.column.{code}", language)): code
        for code in columns
        for language in resources.languages()
    }
    found |= {normal(code): code for code in columns}
    return found | {normal(theirs): code for theirs, code in options.columns.items() if code in columns}


@dataclass(frozen=True, slots=True)
class Layout:
    """A table with the place of each of its columns."""

    table: Table
    places: Mapping[str, int]

    @property
    def titles(self) -> dict[str, str]:
        """Columns as the file calls them."""
        return {code: self.table.header[place] for code, place in self.places.items()}

    def rows(self, problems: "Problems") -> "Iterator[Row]":
        """Each row to be read; one that has not the header's number of cells is noted instead.

        A decimal comma in a file separated by commas, or a row cut off at the end, shows itself so.
        """
        wanted, places = len(self.table.header), tuple(self.places.items())
        for number, cells in self.table.rows():
            if len(cells) == wanted or (not any(cells[wanted:]) and len(cells) > wanted):
                yield Row(number, {code: cells[place] for code, place in places}, problems)
            else:
                problems.add("file", "cell_count", number, len(cells), wanted=wanted)


def layout(content: bytes, columns: Collection[str], required: Collection[str], options: Options) -> Layout:
    """Open a file and find its columns; Refused where one is missing, stands twice or is not known."""
    names = column_names(columns, options)
    table = open_table(content, names, options.encoding)
    left_out = {normal(one) for one in options.leave_out}
    places: dict[str, int] = {}
    problems = Problems()
    for place, title in enumerate(table.header):
        code = names.get(normal(title))
        if normal(title) in left_out or (code is None and not title):
            continue
        if code is None:
            problems.add("file", "column_unknown", 1, title)
        elif code in places:
            problems.add("file", "column_twice", 1, title)
        else:
            places[code] = place
    for code in required:
        if code not in places:
            problems.add("file", "column_missing", 1, code)
    problems.refuse_any()
    return Layout(table, places)


# --- cells ---------------------------------------------------------------------------------------------------


def unit_of(text: str) -> Unit:
    found = _UNITS.get(normal(text))
    if found is None:
        raise BadCell("unit_unknown")
    return found


@lru_cache(maxsize=65_536)
def readings_of(text: str, unit: Unit | None) -> tuple[Reading, ...]:
    """One reading, or the first and its repeats with strokes between: `0.4`, `2.1 / 2.0 / 2.2`, `33 °F`."""
    return tuple(_reading(part, unit) for part in text.split("/"))


def _reading(text: str, unit: Unit | None) -> Reading:
    if (match := _WITH_UNIT.fullmatch(text.strip())) is not None:
        own = unit_of("".join(match[2].split()))
        if unit not in (None, own):
            raise BadCell("two_units")
        text, unit = match[1], own
    if unit is None:
        raise BadCell("unit_missing")
    try:
        return parse_reading(text, unit)
    except NotAReading as wrong:
        raise BadCell(f"reading_{wrong.code}") from None


@lru_cache(maxsize=65_536)
def instant_of(day: str, time: str, zone: str, order: str) -> tuple[int, bool, date]:
    """Microseconds UTC, whether only the day is known (then its noon), and the local day.

    The day's cell may hold the time too. Of a time that comes twice when clocks are put back the first is meant.
    """
    day, _, rest = day.replace("T", " ").partition(" ")
    if rest.strip() and time:
        raise BadCell("time_twice")
    on, time = _day(day, order), rest.strip() or time
    if not time:
        return _microseconds(datetime(on.year, on.month, on.day, 12, tzinfo=ZoneInfo(zone))), True, on
    return _microseconds(_moment(on, time, zone)), False, on


def _day(text: str, order: str) -> date:
    match = _DAYS[order].fullmatch(text)
    if match is None:
        raise BadCell("not_a_day", order=order)
    try:
        return date(int(match["y"]), int(match["m"]), int(match["d"]))
    except ValueError:
        raise BadCell("no_such_day") from None


def _moment(on: date, text: str, zone: str) -> datetime:
    match = _TIME.fullmatch(text)
    if match is None:
        raise BadCell("not_a_time")
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4]:
        hour = hour % 12 + (12 if match[4][0] in "pP" else 0) if 1 <= hour <= 12 else 99
    try:
        found = datetime(on.year, on.month, on.day, hour, minute, second, tzinfo=_offset(match[5]) or ZoneInfo(zone))
    except ValueError:
        raise BadCell("not_a_time") from None
    if found.astimezone(UTC).astimezone(found.tzinfo).replace(fold=0) != found:
        raise BadCell("no_such_time")  # left out when clocks are put forward
    return found


def _offset(text: str | None) -> timezone | None:
    if text is None or text in "Zz":
        return None if text is None else UTC
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))


def _microseconds(moment: datetime) -> int:
    return (moment.astimezone(UTC) - _EPOCH) // timedelta(microseconds=1)


def refuse_when(at: int, day_only: bool, on: date, now: int, today: date) -> None:
    """Nothing happened in the future, and nothing here before 1970."""
    if (on > today) if day_only else (at > now):
        raise BadCell("in_the_future")
    if at < 0:
        raise BadCell("too_early")


@lru_cache(maxsize=64)
def words_for(table: str, codes: tuple[str, ...]) -> Mapping[str, str]:
    """Codes by what people write for them: the code itself, and its sentence in each language."""
    found = {normal(say(f"{table}.{code}", language)): code for code in codes for language in resources.languages()}
    return found | {normal(code): code for code in codes}


def code_of(text: str, words: Mapping[str, str]) -> str:
    found = words.get(normal(text))
    if found is None:
        raise BadCell("not_one_of", choices=", ".join(sorted(set(words.values()))))
    return found


def words_of(text: str, longest: int) -> str:
    """Text of a person, in the form in which it is kept."""
    text = normalize("NFC", text)
    if len(text) > longest:
        raise BadCell("too_long", limit=longest)
    return text


def derived_id(sha256: str, at: int, *parts: object) -> str:
    """The id of a fact of an imported file: of the same file and row always the same, in the form of all ids."""
    from hashlib import sha256 as digest

    name = "/".join(map(str, (sha256, *parts))).encode()
    return ids.new_id(at, lambda count: digest(name).digest()[:count])


class Row:
    """One row being read: takes its cells one by one and notes what is wrong with each."""

    def __init__(self, number: int, cells: Mapping[str, str], problems: Problems) -> None:
        self.number, self.cells, self.problems = number, cells, problems
        self.good = True

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def bad(self, column: str, code: str, **more: object) -> None:
        self.good = False
        self.problems.add(column, code, self.number, **({"value": self.text(column)} | more))

    def take(self, column: str, read: Callable[[str], T], *, needed: bool = False) -> T | None:
        """What a cell stands for; none where it is empty or wrong, and then that is noted."""
        text = self.text(column)
        if not text:
            if needed:
                self.bad(column, "missing")
            return None
        return self.take_said(column, text, read)

    def take_said(self, column: str, text: str, read: Callable[[str], T]) -> T | None:
        """The same for a text that the options give where the row has none."""
        try:
            return read(text)
        except BadCell as wrong:
            self.bad(column, wrong.code, **wrong.values)
        except Refused as refused:
            self.refused(refused, column)
        return None

    def refused(self, refused: Refused, column: str | None = None, columns: Mapping[str, str] | None = None) -> None:
        """Note what a service says against this row, under the column that it is about."""
        for one in refused.problems:
            place = column or (columns or {}).get(one.field, one.field)
            self.bad(place, one.code, **one.values)
