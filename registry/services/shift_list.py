"""The list at the start of a shift: one row for each thermometer that it wants, whole all shift long."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute.check import Judged
from registry.compute.schedule import EARLY_US, DueItem, ShiftTime, Why
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.records.places import SiteSet
from registry.services import baths, checks, duelist, lookup, places, rules, shift_bath, shift_said, thermometers
from registry.services.checks import ReadingGiven, Row
from registry.services.problems import Problem, refuse
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.shift_bath import BathFacts, InBath, Span
from registry.services.shift_said import CheckSaid, Instead, Said
from registry.services.thermometers import Thermometer
from registry.store import queries, shift_rows
from registry.store.queries import EntryView, Fact, ThermometerRow

POINTS = ("ice_point", "boiling_point", "comparison")
GONE = ("out_of_use", "retired")  # a lost one that is scanned has been found
# What no reading in a bath answers: a new certificate from outside is wanted.
NOT_BY_A_CHECK = frozenset(("reference_expiry",))
WANTED = ("due", "overdue")
OUTSIDE_WORD = "adjust_or_do_not_use"


@dataclass(frozen=True, slots=True)
class Scale:
    """One unit on the dial. step: as marked; step_as_read: the finest that can be read. tolerance: None: no rule."""

    unit: Unit
    step: Decimal
    step_as_read: Decimal
    lowest: Reading
    highest: Reading
    tolerance: TemperatureDifference | None


@dataclass(frozen=True, slots=True)
class PointAllowed:
    """A point that this type may be checked at, and the condition to be met there (a code of `condition`, or none)."""

    point: str
    condition: str


@dataclass(frozen=True, slots=True)
class LastTime:
    """The offset that counted last at a point before this shift; shown only once the reading is keyed."""

    point: str
    at: int
    offset: TemperatureDifference


@dataclass(frozen=True, slots=True)
class Want:
    """One reason why it is on the list. why: a code with values for `wording.due.why_due`.

    code: of the due rule, or `scanned`, `answered`. state: as in the due list.
    """

    code: str
    point: str | None
    state: str
    why: Why


@dataclass(frozen=True, slots=True)
class ListRow:
    """One thermometer on the list.

    wants: the most urgent first. problem: why it may not go into the open bath; None: it may, or there is none.
    spans: the range that passes in the open bath, on its own dial. adjust: how this one is adjusted; None: it is not.
    may_adjust: every way its type has. last: by point. state: waiting, partly (repeats are wanted), recorded,
    no_reading, not_used, not_found, station_closed, lent or out_of_use; checks: of this shift, oldest first;
    check: the one that the row shows now; instead: what was said in place of a reading, last.
    """

    thermometer: str
    tag_id: str
    type: str
    digital: bool
    station: str
    scales: tuple[Scale, ...]
    default_unit: Unit
    status: str
    incident: tuple[str, int] | None
    wants: tuple[Want, ...]
    points: tuple[PointAllowed, ...]
    problem: Problem | None
    spans: tuple[Span, ...]
    adjust: str | None
    may_adjust: tuple[str, ...]
    last: tuple[LastTime, ...]
    state: str
    checks: tuple[CheckSaid, ...]
    check: CheckSaid | None
    instead: Instead | None

    @property
    def why(self) -> Why:
        return self.wants[0].why

    @property
    def is_settled_outside(self) -> bool:
        """Outside in a judged bath, and not yet left inside or taken out: something is to be done."""
        if self.state != "recorded" or self.check is None or self.check.row.lead_word != OUTSIDE_WORD:
            return False
        return self.check.as_left is None or self.check.as_left.word == OUTSIDE_WORD

    def scale(self, unit: str) -> Scale:
        return next(one for one in self.scales if one.unit == unit)

    def last_at(self, point: str) -> TemperatureDifference | None:
        return next((one.offset for one in self.last if one.point == point), None)


@dataclass(frozen=True, slots=True)
class ShiftView:
    """The list of a site. shift: None where none is on; then all that is due stands here. zone: of its times.

    since: what was said before this instant belongs to an earlier shift.
    """

    site: str
    site_name: str
    zone: str
    shift: ShiftTime | None
    since: int
    rows: tuple[ListRow, ...]
    bath: BathFacts | None

    def row(self, tag_id: str) -> ListRow | None:
        """The row of a tag id in its normal form."""
        return next((one for one in self.rows if one.tag_id == tag_id), None)

    @property
    def counts(self) -> dict[str, int]:
        """How many rows stand in which state."""
        found: dict[str, int] = defaultdict(int)
        for one in self.rows:
            found[one.state] += 1
        return dict(found)


def start_of_shift(session: Session, site: str, *, now: int | None = None) -> ShiftView:
    """The list of the shift that is on, or begins within the hour; where none is, of everything due now.

    Rows that are answered stay until the shift is over. Without a shift they stay as long as their bath is open, or
    was made within the time that a bath is good for.
    """
    with session.reading() as connection:
        here = _site(session, connection, site, now)
        due = duelist.due_list(session, connection, site, now=here.now)
        return _view(session, connection, here, due)


def row_for(session: Session, site: str, tag_id: str, *, now: int | None = None) -> ListRow:
    """The row of one thermometer, scanned or typed, whether or not the shift wants it; refused where unknown."""
    with session.reading() as connection:
        here = _site(session, connection, site, now)
        of = thermometers.find(connection, tag_id)
        due = duelist.due_list(session, connection, of.row.site, now=here.now) if of.row.site else []
        own = [one for one in due if one.row.thermometer == of.row.thermometer]
        return _view(session, connection, here, own, scanned=of).rows[0]


# --- putting it together -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Here:
    """The site, its shift and its open bath."""

    fact: Fact[SiteSet]
    now: int
    shift: ShiftTime | None
    since: int
    bath: EntryView | None
    in_force: RulesInForce


def _site(session: Session, connection: Connection, site: str, now: int | None) -> _Here:
    now = session.clock() if now is None else now
    fact = places.site_named_by_id(connection, site)
    shift = places.shift_now(session, connection, fact, now=now)
    since = shift.begins_at - EARLY_US if shift else _since_the_baths(session, connection, site, now)
    bath = shift_bath.bath_now(session, connection, site)
    return _Here(fact, now, shift, since, bath, rules.rules_in_force(connection, site))


def _since_the_baths(session: Session, connection: Connection, site: str, now: int) -> int:
    still = queries.baths_at(connection, site, since=now - checks.BATH_GOOD_FOR_US)
    still += baths.open_baths(session, connection, site)
    return min((one.at for one in still), default=now)


def _view(
    session: Session,
    connection: Connection,
    here: _Here,
    due: Sequence[duelist.Due],
    scanned: Thermometer | None = None,
) -> ShiftView:
    site = here.fact.subject
    only = scanned.row.thermometer if scanned else None
    rows = {row.thermometer: row for row in queries.thermometers(connection, site=site)}
    tags = {thermometer: row.tag_id or "" for thermometer, row in rows.items()}
    said = shift_said.said_since(connection, site, here.since, here.now, here.shift, here.in_force.rule, tags, only)
    items = _wanted(due, here.shift)
    those = [scanned] if scanned else _those(connection, here, rows, items, said)
    found = shift_bath.in_bath(connection, here.bath, those) if here.bath else {}
    last = {
        point: shift_rows.last_offsets(connection, [of.row.thermometer for of in those], point, here.since)
        for point in POINTS
    }
    names = {one.subject: one.payload.name for one in places.stations(connection, site)}
    those.sort(key=lambda of: (_unfit(of, found), *order(of, names.get(of.row.station or "", ""))))
    listed = [_row(of, here, items.get(of.row.thermometer, ()), said, found, last, names) for of in those]
    facts = None
    if here.bath:
        facts = shift_bath.facts(
            session, here.bath, _judged(connection, here.bath), those, found, _tags_beside(connection, here.bath)
        )
    return ShiftView(site, here.fact.payload.name, here.fact.payload.zone, here.shift, here.since, tuple(listed), facts)


def _unfit(of: Thermometer, found: Mapping[str, InBath]) -> bool:
    """Whether it can't go into the open bath; it stands last then."""
    return of.row.thermometer in found and found[of.row.thermometer].problem is not None


def order(of: Thermometer, station: str) -> tuple[bool, str, str]:
    """Digitals first, since they are the steadier (an infrared is not), then by station and tag id."""
    return not of.type.digital or of.type.surface, station.casefold(), of.tag_id


def _wanted(due: Sequence[duelist.Due], shift: ShiftTime | None) -> dict[str, list[DueItem]]:
    """What is wanted now or was said of this shift, by thermometer, the most urgent first."""
    found: dict[str, list[DueItem]] = defaultdict(list)
    for one in due:
        item = one.item
        mine = shift is not None and (item.shift, item.day) == (shift.shift.id, shift.day)
        if item.code not in NOT_BY_A_CHECK and (mine or (item.state in WANTED and item.code != "each_shift")):
            found[item.thermometer].append(item)
    return found


def _those(
    connection: Connection,
    here: _Here,
    rows: Mapping[str, ThermometerRow],
    items: Mapping[str, Sequence[DueItem]],
    said: Said,
) -> list[Thermometer]:
    """Who is on the list: wanted, answered, or taken out of use since the shift began."""
    answered = {thermometer for thermometer, one in said.instead.items() if thermometer in rows}
    out = {row.thermometer for row in rows.values() if row.status == "out_of_use" and _since(connection, row, here)}
    return [thermometers.thermometer(connection, one) for one in {*items, *said.checks, *answered, *out}]


def _since(connection: Connection, row: ThermometerRow, here: _Here) -> bool:
    """Whether it got its service status in this shift."""
    fact = queries.facts_of(connection, row.thermometer).get("service_status")
    return fact is not None and here.since <= fact.at <= here.now


def _judged(connection: Connection, bath: EntryView) -> str | None:
    view = queries.bath(connection, bath.subject)
    return view.judged if view is not None else None


def _tags_beside(connection: Connection, bath: EntryView) -> dict[str, str]:
    found = [queries.thermometer(connection, one["thermometer"]) for one in bath.payload.get("beside", ())]
    return {row.thermometer: row.tag_id or "" for row in found if row is not None}


# --- one row -------------------------------------------------------------------------------------------------


def _row(
    of: Thermometer,
    here: _Here,
    items: Sequence[DueItem],
    said: Said,
    found: Mapping[str, InBath],
    last: Mapping[str, Mapping[str, shift_rows.LastOffset]],
    names: Mapping[str, str],
) -> ListRow:
    row = of.row
    own = tuple(said.checks.get(row.thermometer, ()))
    instead = said.instead.get(row.thermometer)
    check = _shown(own, items, here.bath)
    in_bath = found.get(row.thermometer, InBath(None, ()))
    scales = tuple(_scale(of, unit, here.in_force) for unit in sorted(of.facts.scales))
    unit = shift_bath.setting_unit(here.in_force.group.unit)
    adjusts = [of.facts.adjusts] if of.facts.adjusts else list(of.type.adjustments)
    may = tuple(dict.fromkeys(one for one in (*adjusts, *of.type.adjustments) if one != "none"))
    return ListRow(
        row.thermometer,
        of.tag_id,
        of.type.code,
        of.type.digital,
        names.get(row.station or "", ""),
        scales,
        unit if unit in of.facts.scales else scales[0].unit,
        row.service_status,
        (row.incident, row.incident_at) if row.check_first and row.incident and row.incident_at else None,
        _wants(items, own, instead),
        tuple(PointAllowed(one.point, one.condition) for one in of.type.points),
        in_bath.problem,
        in_bath.spans,
        None if adjusts[:1] in ([], ["none"]) else adjusts[0],
        may,
        _last(row.thermometer, last),
        _state(row, check, own, instead),
        own,
        check,
        instead,
    )


def _wants(items: Sequence[DueItem], own: Sequence[CheckSaid], instead: Instead | None) -> tuple[Want, ...]:
    if items:
        return tuple(Want(one.code, one.point, one.state, one.why) for one in items)
    code = "answered" if own or instead else "scanned"
    return (Want(code, None, "done" if code == "answered" else "due", (code, {})),)


def _shown(own: Sequence[CheckSaid], items: Sequence[DueItem], bath: EntryView | None) -> CheckSaid | None:
    """The check that the row stands for: the newest in the open bath, else the newest of the shift.

    None where something that this bath can answer is still wanted: after the ice the boil is asked for anew.
    """
    if bath is None or not own:
        return own[-1] if own else None
    if here := [one for one in own if one.bath == bath.subject]:
        return here[-1]
    wanted = [one for one in items if one.state in WANTED and _could_answer(one, bath)]
    return own[-1] if all(any(_answers(one, check) for check in own) for one in wanted) else None


def _could_answer(item: DueItem, bath: EntryView) -> bool:
    if item.code == "hot_point":
        return bath.payload["point"] == "boiling_point" or Fraction(bath.payload["reference"].split()[0]) >= 60
    return item.point in (None, bath.payload["point"])


def _answers(item: DueItem, check: CheckSaid) -> bool:
    if item.code == "hot_point":
        return check.hot or check.point == "boiling_point"
    return item.point in (None, check.point)


def _state(row: ThermometerRow, check: CheckSaid | None, own: Sequence[CheckSaid], instead: Instead | None) -> str:
    if row.status in GONE:
        return "out_of_use"
    if check is not None:
        return "recorded" if check.row.recorded else "partly"
    if instead is not None and (not own or own[-1].at < instead.at):
        return instead.code
    return "waiting"


def _scale(of: Thermometer, unit: str, in_force: RulesInForce) -> Scale:
    scale, own = of.facts.scales[unit], shift_bath.setting_unit(unit)
    found = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
    tolerance = TemperatureDifference.from_text(found.tolerance).to(own) if found else None
    step = Decimal(scale.step.split()[0])
    lowest, highest = Reading.from_text(scale.lowest), Reading.from_text(scale.highest)
    return Scale(own, step, of.step_as_read(unit), lowest, highest, tolerance)


def _last(thermometer: str, last: Mapping[str, Mapping[str, shift_rows.LastOffset]]) -> tuple[LastTime, ...]:
    found = [(point, those[thermometer]) for point, those in last.items() if thermometer in those]
    return tuple(LastTime(point, one.at, TemperatureDifference.from_text(one.offset)) for point, one in found)


# --- before Enter --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Provisional:
    """What a keyed reading would come to: equal to what is recorded once Enter is pressed.

    questions: codes to be answered by typing it again. word: the lead's, in an accepted bath; `waits` where repeats
    are wanted. wants_more: how many.
    """

    questions: tuple[str, ...]
    judged: Judged
    word: str
    unsteady: bool
    wants_more: int


def provisional(
    session: Session,
    bath_id: str,
    thermometer_id: str,
    shown: Reading,
    before: tuple[Reading, ...] = (),
    *,
    beside: tuple[tuple[str, Reading], ...] = (),
) -> Provisional:
    """Judge a reading as it stands in the field, recording nothing. before: the first and a repeat taken already.

    Refused as `take_reading` would: a type that may not go into this bath, a unit that is not on the dial.
    """
    with session.reading() as connection:
        check = lookup.open_check(connection, bath_id, thermometer_id) or ""
        given = ReadingGiven(bath_id, thermometer_id, shown, check, "", beside)
        questions, row = checks.foresee(session, connection, given, before)
    return _as_provisional([one.code for one in questions], row)


def refuse_said_meanwhile(session: Session, bath_id: str, row: ListRow, since: int) -> None:
    """Refused where this bath holds a check of a row's thermometer that the row does not know: another window's.

    since: the view's; what was said before belongs to an earlier shift and stands in no row.
    """
    known = {one.row.check for one in row.checks}
    with session.reading() as connection:
        recorded = [one for one in queries.checks_in(connection, bath_id) if not one.voided]
        found = [(one.check, one.at) for one in recorded if one.thermometer == row.thermometer]
        waiting = queries.open_readings(connection, bath_id)
        found += [(one.fact, one.at) for one in waiting if one.thermometer == row.thermometer]
    if any(since <= at <= session.clock() and check not in known for check, at in found):
        raise refuse("check", "said_meanwhile", value=row.tag_id)


def is_taken(session: Session, thermometer_id: str, reading: str) -> bool:
    """Whether a reading of that id is recorded already: a draft that a crash kept from being put away."""
    with session.reading() as connection:
        return queries.said_lately(connection, thermometer_id, "reading_taken", "reading", reading)


def _as_provisional(questions: Sequence[str], row: Row) -> Provisional:
    return Provisional(tuple(questions), row.judged, row.lead_word, row.unsteady, row.wants_more)
