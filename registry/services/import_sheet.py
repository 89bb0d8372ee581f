"""The sheet of one shift: its rows become lines, and lines that share a bath come together."""

from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import Connection

from registry.compute.atmosphere import PressureSource
from registry.quantity import NotAReading, Pressure, PressureUnit, Reading
from registry.records.places import SiteSet
from registry.services import baths, people, places, rules, thermometers
from registry.services import import_cells as cells
from registry.services.baths import NewBath
from registry.services.checks import NO_READING, NOT_CHECKED
from registry.services.csvfile import normal
from registry.services.import_cells import BadCell
from registry.services.import_rows import Options, Row
from registry.services.session import Session, day_at
from registry.store.queries import Fact

BATH_COLUMNS = ("point", "made", "container", "pressure_source", "pressure", "beside")
_LINE_COLUMNS = ("date", "time", "tag", "readings", "unit", "role", "beside_now", "adjusted", "why", "initials")
COLUMNS = ("site", "bath", *BATH_COLUMNS, *_LINE_COLUMNS)
REQUIRED = ("date", "tag", "readings")
ROLES = ("as_found", "repeat", "as_left", "no_reading")
# Columns that say something in rows of these roles only; elsewhere it would be lost.
_ONLY_WITH = {"why": ("no_reading", "not_checked"), "adjusted": ("as_left",), "beside_now": ("as_found", "repeat")}
PRESSURE_UNITS: tuple[PressureUnit, ...] = ("Pa", "hPa", "mbar", "kPa", "mmHg", "inHg")
# What a service says a problem is about, as a column.
ABOUT = {
    "shown": "readings",
    "as_left": "readings",
    "thermometer": "tag",
    "tag_id": "tag",
    "tolerance": "tag",
    "rules": "tag",
    "how": "adjusted",
    "check": "role",
    "performed_at": "time",
}


@dataclass(frozen=True, slots=True)
class Line:
    """A row whose cells are good."""

    row: Row
    site: Fact[SiteSet]
    at: int
    day: date
    thermometer: str
    readings: tuple[Reading, ...]
    role: str
    how: str
    why: str
    beside_now: tuple[tuple[str, Reading], ...]
    person: str


# --- reading the rows ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reader:
    session: Session
    connection: Connection
    options: Options

    def read(self, row: Row) -> Line | None:
        site = row.take_said("site", row.text("site") or self.options.site, self._site)
        when = row.take("date", lambda text: self._when(text, row, site), needed=True) if site else None
        of = row.take("tag", self._thermometer, needed=True)
        unit = row.unit("readings", row.take("unit", cells.unit_of), self.options.unit)
        readings = row.take("readings", lambda text: cells.readings_of(text, unit)) or ()
        beside_now = row.take("beside_now", _beside) or ()
        why = row.take("why", _why) or ""
        how = row.take("adjusted", lambda text: cells.code_of(text, _words_how())) or ""
        role = _role(row, bool(readings), why)
        person = row.take_said("initials", row.text("initials") or self.options.initials, self._person)
        if role == "as_left" and not how:
            row.bad("adjusted", "missing")
        if len({one.unit for one in readings}) > 1:
            row.bad("readings", "two_units")
        if not row.good or site is None or when is None or of is None or person is None:
            return None
        return Line(row, site, *when, of, readings, role, how, why, beside_now, person)

    def _site(self, text: str) -> Fact[SiteSet]:
        return places.site_named(self.connection, text)

    def _when(self, text: str, row: Row, site: Fact[SiteSet]) -> tuple[int, date]:
        zone, now = site.payload.zone, self.session.clock()
        at, day_only, on = cells.instant_of(text, row.text("time"), zone, self.options.day_order)
        if day_only:
            raise BadCell("time_missing")
        cells.refuse_when(at, day_only, on, now, day_at(now, zone))
        return at, on

    def _thermometer(self, text: str) -> str:
        return thermometers.find(self.connection, self.options.tags.get(text, text)).row.thermometer

    def _person(self, text: str) -> str:
        if not text:
            raise BadCell("missing")
        return people.find_person(self.connection, text).person


def _words_how() -> dict[str, str]:
    return {"other": "other", **cells.words_for("adjustment", ("nut", "reset", "trim"))}


def _why(text: str) -> str:
    words = {**cells.words_for("due_state", NOT_CHECKED), **cells.words_for("no_reading", NO_READING)}
    return cells.code_of(text, words)


def _role(row: Row, read: bool, why: str) -> str:
    """What a row is, as it says; where it says nothing, a reading is as found, and a reason says what is missing."""
    role = row.take("role", lambda text: cells.code_of(text, cells.words_for("reading_role", ROLES)))
    if role is None:
        role = "as_found" if read or not why else "not_checked" if why in NOT_CHECKED else "no_reading"
    if role in ("as_found", "repeat") and not read and not row.text("readings"):
        row.bad("readings", "missing")
    if role in ("no_reading", "not_checked") and read:
        row.bad("why", "reading_and_reason")
    if role == "no_reading" and why not in NO_READING and row.good:
        row.bad("why", "not_one_of" if why else "missing", choices=", ".join(NO_READING))
    for column in _ONLY_WITH:
        if row.text(column) and role not in _ONLY_WITH[column]:
            row.bad(column, "no_place_here")
    return role


def _beside(text: str) -> tuple[tuple[str, Reading], ...]:
    """Reference thermometers with what they showed: `LM001X 62.4 C`, several with a plus between."""
    found = []
    for part in text.split("+"):
        tag, _, shown = " ".join(part.split()).partition(" ")
        read = cells.readings_of(shown, None)
        if not tag or len(read) != 1:
            raise BadCell("not_beside")
        found.append((tag, read[0]))
    return tuple(found)


def _pressure(text: str) -> Pressure:
    value, _, unit = " ".join(text.split()).rpartition(" ")
    known = {one.casefold(): one for one in PRESSURE_UNITS}
    if unit.casefold() not in known:
        raise BadCell("pressure_unit", choices=", ".join(PRESSURE_UNITS))
    try:
        return Pressure.typed(value, known[unit.casefold()])
    except NotAReading:
        raise BadCell("pressure_number") from None


# --- baths ---------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Bath:
    """The rows that share a bath: those with its name, or with the same words where none has one."""

    said: dict[str, str]
    lines: list[Line] = field(default_factory=list)

    @property
    def at(self) -> int:
        return min(line.at for line in self.lines)

    @property
    def first(self) -> Line:
        return min(self.lines, key=lambda line: line.row.number)


def baths_of(lines: list[Line], options: Options) -> list[Bath]:
    """In the order in which they were made; a row that says something else than its bath's first is noted."""
    found: dict[tuple[str, ...], Bath] = {}
    for line in lines:
        said = {column: line.row.text(column) for column in BATH_COLUMNS}
        said["point"] = said["point"] or options.point
        name = line.row.text("bath")
        key = (line.site.subject, name) if name else (line.site.subject, "", *said.values())
        bath = found.setdefault(key, Bath(dict.fromkeys(BATH_COLUMNS, "")))
        bath.lines.append(line)
        for column, text in said.items():
            if text and bath.said[column] and normal(text) != normal(bath.said[column]):
                line.row.bad(column, "bath_differs", bath=name, other=bath.said[column])
            bath.said[column] = bath.said[column] or text
    return sorted(found.values(), key=lambda bath: bath.at)


def new_bath(bath: Bath) -> NewBath | None:
    """The bath as a person would give it; what is wrong is noted at its first row."""
    row = Row(bath.first.row.number, bath.said, bath.first.row.problems)
    point = row.take_said("point", bath.said["point"], _point)
    made_codes = tuple(code for codes in baths.MADE.values() for code in codes)
    made = row.take("made", lambda text: cells.code_of(text, cells.words_for("bath", made_codes)), needed=True)
    container = row.take("container", _container)
    sources = tuple(one.value for one in PressureSource)
    source = row.take("pressure_source", lambda text: cells.code_of(text, cells.words_for("pressure_source", sources)))
    pressure = row.take("pressure", _pressure)
    beside = row.take("beside", _beside)
    only = {"pressure_source": "boiling_point", "pressure": "boiling_point", "beside": "comparison"}
    for column in only:
        if row.text(column) and point not in (None, only[column]):
            row.bad(column, "no_place_here")
    if not row.good or point is None or made is None:
        return None
    return NewBath(
        bath.first.site.subject,
        point,
        made,
        container or "",
        PressureSource(source) if source else None,
        pressure,
        beside=beside or (),
        performed_at=bath.at,
    )


def _point(text: str) -> str:
    if not text:
        raise BadCell("missing")
    return cells.code_of(rules.METHODS.get(normal(text), text), cells.words_for("point", tuple(baths.MADE)))


def _container(text: str) -> str:
    """A container's code; those that are refused come through, so that the service says why."""
    shown = ("metal_pot", "cup", "glass", "non_stick", "microwave")
    others = {code: code for codes in baths.CONTAINERS.values() for code in codes}
    words = {**{normal(code): code for code in others}, **cells.words_for("container", shown)}
    return cells.code_of(text, words)
