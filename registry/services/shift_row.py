"""One row of the list at the start of a shift: what it is, why it is wanted, and how it stands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from registry.compute.schedule import DueItem, Why
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.services import shift_bath, shift_said
from registry.services.problems import Problem
from registry.services.rules import RulesInForce
from registry.services.shift_bath import InBath, Span
from registry.services.shift_said import CheckSaid, Instead, Said
from registry.services.thermometers import Thermometer
from registry.store import shift_rows
from registry.store.queries import EntryView, ThermometerRow

GONE = ("out_of_use", "retired")  # a lost one that is scanned has been found
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

    @property
    def failed_elsewhere(self) -> tuple[str, str]:
        """`left_failed` with its point, where the check that the row shows is not the one it stands for; or empty."""
        if not self.left_failed or self.check is None or shift_said.left_failed((self.check,)):
            return "", ""
        return shift_said.left_failed_at(self.checks)

    @property
    def left_failed(self) -> str:
        """Why it is not to be used after this shift's checks, at any point (see `shift_said.left_failed`); or ""."""
        return "" if self.status in (*GONE, "lost") else shift_said.left_failed(self.checks)

    def scale(self, unit: str) -> Scale:
        return next(one for one in self.scales if one.unit == unit)

    def last_at(self, point: str) -> TemperatureDifference | None:
        return next((one.offset for one in self.last if one.point == point), None)


# --- putting one together --------------------------------------------------------------------------------------------


def row_of(
    of: Thermometer,
    bath: EntryView | None,
    in_force: RulesInForce,
    items: Sequence[DueItem],
    said: Said,
    found: Mapping[str, InBath],
    last: Mapping[str, Mapping[str, shift_rows.LastOffset]],
    names: Mapping[str, str],
) -> ListRow:
    """The row of one thermometer. bath: the open one. items: what wants it. said, found: of all on the list.

    last: by point and thermometer. names: of the stations.
    """
    row = of.row
    own = tuple(said.checks.get(row.thermometer, ()))
    instead = said.instead.get(row.thermometer)
    check = _shown(own, items, bath)
    if check is not None and _befallen_since(row, check):
        check = None
    in_bath = found.get(row.thermometer, InBath(None, ()))
    scales = tuple(_scale(of, unit, in_force) for unit in sorted(of.facts.scales))
    unit = shift_bath.setting_unit(in_force.group.unit)
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
        of.usual_adjustment,
        of.adjustments,
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

    None where something that this bath can answer is still wanted: after the ice the boil is asked for anew, and
    after the boil the ice where it stands failed there.
    """
    if bath is None or not own:
        return own[-1] if own else None
    if here := [one for one in own if one.bath == bath.subject]:
        return here[-1]
    point = bath.payload["point"]
    if own[-1].point != point and shift_said.left_failed([one for one in own if one.point == point]):
        return None
    wanted = [one for one in items if one.state in WANTED and _could_answer(one, bath)]
    return own[-1] if all(any(_answers(one, check) for check in own) for one in wanted) else None


def _befallen_since(row: ThermometerRow, check: CheckSaid) -> bool:
    """Whether something happened to it after a check, which says nothing of it any more."""
    stands = row.check_first and row.incident_at is not None
    return stands and check.row.recorded and check.at < (row.incident_at or 0)


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
