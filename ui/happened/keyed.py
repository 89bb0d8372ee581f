"""A paper sheet as it is being keyed in: texts, kept as a draft, and handed over as the service wants them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from registry.services import baths, lookup, shift_list
from registry.services.problems import Refused
from registry.services.shift_row import ListRow
from registry.services.shift_sheet import PaperBath, PaperRow
from ui.desk import Desk

DRAFT = "sheet"
QUESTIONS = frozenset(("off_scale", "too_fine", "other_unit", "twice", "bath_in_doubt"))
PRESSURE_QUESTIONS = ("other_kind_is_likelier", "room_is_likelier")
OF_A_BATH = ("point", "made", "container", "pressure_source", "pressure")
CELLS = ("bath", "time", "reading", "repeat_1", "repeat_2", "unit", "as_left", "adjusted", "instead", "initials")
# Cells that make a line one that is to be recorded.
SAYING = ("reading", "repeat_1", "repeat_2", "as_left", "adjusted", "instead")
ICE, BOIL = "1", "2"
Cells = dict[str, str]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sheet: who it is about, each of its cells as typed, and which questions were answered."""

    row: ListRow
    cells: Cells = field(default_factory=dict)
    stands: frozenset[str] = frozenset()  # questions of which a person said: it stands so on the paper

    @property
    def says(self) -> bool:
        return any(self.cells.get(one) for one in SAYING)

    @property
    def readings(self) -> tuple[str, ...]:
        """As written; a blank one between two is told by the service."""
        found = [self.cells.get(one, "") for one in ("reading", "repeat_1", "repeat_2")]
        while found and not found[-1]:
            found.pop()
        return tuple(found)

    def unit(self) -> str:
        return self.cells.get("unit") or self.row.default_unit


@dataclass(frozen=True, slots=True)
class Head:
    """What stands on top: shift and day, who filled it in, and the two baths."""

    shift: str
    day: str
    initials: str
    ice: bool = True
    boil: bool = False
    made: str = "crushed_packed"
    ice_at: str = ""
    boil_at: str = ""
    source: str = ""
    pressure: str = ""
    pressure_unit: str = "hPa"

    @property
    def usual(self) -> str:
        """The bath of a line that names none."""
        return BOIL if self.boil and not self.ice else ICE

    def time(self, bath: str) -> str:
        return self.boil_at if bath == BOIL else self.ice_at


def paper_baths(head: Head) -> list[PaperBath]:
    found = []
    if head.ice:
        found.append(PaperBath(ICE, "ice_point", head.made))
    if head.boil:
        made, pot = baths.MADE["boiling_point"][0], baths.CONTAINERS["boiling_point"][0]
        pressure = f"{head.pressure} {head.pressure_unit}" if head.pressure else ""
        found.append(PaperBath(BOIL, "boiling_point", made, pot, head.source, pressure))
    return found


def paper_rows(head: Head, lines: Iterable[Line]) -> list[PaperRow]:
    """The lines that say something; one that names no bath or time has those of the head."""
    found = []
    for line in lines:
        if line.says:
            cells = line.cells
            bath = cells.get("bath") or head.usual
            found.append(
                PaperRow(
                    line.row.tag_id,
                    cells.get("time") or head.time(bath),
                    line.readings,
                    line.unit(),
                    bath,
                    cells.get("as_left", ""),
                    cells.get("adjusted", ""),
                    cells.get("instead", ""),
                    cells.get("initials", ""),
                )
            )
    return found


def listed(desk: Desk, shift: str, day: date) -> list[ListRow]:
    """Who stands on the sheet of a shift, in its order; of no shift, who is wanted now."""
    with desk.session.reading() as connection:
        worked = lookup.shifts_on(connection, desk.site, day)
    begun = (one.begins_at for one in worked if one.shift.name == shift and one.begins_at <= desk.session.clock())
    at = next(begun, None)
    view = shift_list.start_of_shift(desk.session, desk.site.subject, now=at)
    return [row for row in view.rows if row.state != "out_of_use"]


def typed(lines: Iterable[Line]) -> dict[str, Cells]:
    """By tag id, what was typed."""
    return {line.row.tag_id: {**line.cells, "stands": " ".join(sorted(line.stands))} for line in lines if line.cells}


def as_draft(site: str, head: Head, lines: Sequence[Line]) -> dict[str, Any] | None:
    """What is kept at every key; None where nothing says anything yet."""
    said = typed(lines)
    if not said:
        return None
    words = {name: getattr(head, name) for name in Head.__slots__}
    return {"site": site, "head": words, "lines": said}


def from_draft(kept: Any, site: str) -> tuple[Head, dict[str, Cells]] | None:
    if not isinstance(kept, Mapping) or kept.get("site") != site:
        return None
    head = {name: kept["head"][name] for name in Head.__slots__ if name in kept["head"]}
    return Head(**head), {tag: dict(cells) for tag, cells in kept["lines"].items()}


def filled(rows: Sequence[ListRow], cells: Mapping[str, Cells], desk: Desk) -> list[Line]:
    """The lines with what was typed; a tag that the list does not hold comes after it."""
    lines = [_line(row, cells.get(row.tag_id, {})) for row in rows]
    known = {row.tag_id for row in rows}
    for tag, kept in cells.items():
        if tag not in known:
            try:
                row = shift_list.row_for(desk.session, desk.site.subject, tag)
            except Refused:
                continue
            lines.append(_line(row, kept))
    return lines


def _line(row: ListRow, kept: Cells) -> Line:
    cells = {name: text for name, text in kept.items() if name in CELLS and text}
    return Line(row, cells, frozenset(kept.get("stands", "").split()))


def with_cell(line: Line, name: str, text: str) -> Line:
    """Another text in one cell; what was said to stand so is asked anew."""
    cells = {**line.cells, name: text} if text else {one: said for one, said in line.cells.items() if one != name}
    return replace(line, cells=cells, stands=frozenset())
