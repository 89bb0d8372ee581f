"""Readings become a check: taken one by one, durable at once, confirmed by repeats where the first is outside."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import inf
from typing import Any

from sqlalchemy import Connection

from registry.compute import check as method
from registry.compute import reference
from registry.compute.check import Inputs, Judged
from registry.compute.conformity import passing_range
from registry.compute.infrared import emissivity_bias
from registry.compute.uncertainty import rectangular, resolution
from registry.quantity import Reading, TemperatureDifference, too_fine
from registry.records.baths import Adjusted, Beside, CheckRecorded, NotChecked, Predicted, ReadingTaken, Trim
from registry.records.rules import RuleSet
from registry.resource_tables import Figure
from registry.services import baths, rules, thermometers
from registry.services.problems import Problem, Refused, refuse
from registry.services.rules import RulesInForce
from registry.services.session import Actor, Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import EntryView
from registry.store.summary import OUTSIDE
from registry.store.transaction import Transaction

NO_READING = (
    "display_blank",
    "battery_flat",
    "damaged",
    "sensor_missing",
    "in_use",
    "no_bath",
    "off_scale",
    "other_reason",
)
NOT_CHECKED = ("not_used", "not_found", "station_closed", "lent")
AIR_PAIRS = 3  # a fixed air thermometer is compared by the mean of three pairs
UNIT_MIX_UP = 15  # degrees beyond which a reading is tried in the other unit
# From judgement: °C from the reference beyond which a reading is likelier a slip or still the air's than a fault; and
# how many pooled standard deviations, and steps as read, a repeat may lie from all readings before it.
FAR_OFF = 20
FAR_APART, FAR_APART_STEPS = 10, 2
# From judgement: how long a bath may be read, how long the reference beside a comparison holds while the water cools,
# and how far clocks on paper may differ.
BATH_GOOD_FOR_US = baths.READ_IN_FOR_US
BESIDE_GOOD_FOR_US = 2 * 60 * 1_000_000
EARLIEST_US = 10 * 60 * 1_000_000


@dataclass(frozen=True, slots=True)
class Question:
    """Something to be typed again before it is taken: `code` goes into `asked` then.

    other: the reading that it does not go with, where it is about two.
    """

    code: str
    other: Reading | None = None

    def problem(self, field: str, shown: Reading) -> Problem:
        values: dict[str, object] = {"value": shown.text()}
        if self.other is not None:
            values["other"] = self.other.text()
        return Problem(field, self.code, values)


@dataclass(frozen=True, slots=True)
class Row:
    """What a row of the list shows after a reading.

    wants_more: readings still wanted before the check is recorded. outcome: given an accepted bath.
    """

    check: str
    thermometer: str
    tag_id: str
    readings: tuple[Reading, ...]
    judged: Judged
    lead_word: str
    unsteady: bool
    wants_more: int
    recorded: bool

    @property
    def reads_high(self) -> bool:
        return self.judged.offset.value > 0


@dataclass(frozen=True, slots=True)
class ReadingGiven:
    """A reading as keyed in. The ids are made where the draft begins, so that a second press records once.

    predicted: the offset that its own record led to expect, as the diagnosis of the bath uses it.
    """

    bath: str
    thermometer: str
    shown: Reading
    check: str
    reading: str
    beside: tuple[tuple[str, Reading], ...] = ()
    asked: frozenset[str] = frozenset()
    put_in_at: int | None = None
    performed_at: int | None = None
    done_by: str | None = None
    reason: str | None = None
    shift: str | None = None
    day: str | None = None
    predicted: Predicted | None = None


@dataclass(frozen=True, slots=True)
class _Setting:
    """Everything that a reading is judged with.

    own, dof: the check's components for one reading, °C, with the pooled repeatability. references: °C, one for each
    reading where they were read beside their own.
    """

    of: Thermometer
    bath: EntryView
    in_force: RulesInForce
    tolerance: TemperatureDifference
    decision: Any
    exact: Fraction
    own: Mapping[str, TemperatureDifference]
    dof: Mapping[str, float]
    bias: Fraction
    references: tuple[Fraction, ...] = ()

    def as_shown(self, readings: Sequence[Reading]) -> tuple[dict[str, TemperatureDifference], dict[str, float]]:
        """`own` and `dof` for these readings: unsteady repeats count by what they showed."""
        pooled, dof = self.own["repeatability"], self.dof["repeatability"]
        unsteady = Decimal(self.in_force.rule.unsteady)
        found, found_dof = method.repeatability_shown(readings, pooled, dof, unsteady, self.references)
        return {**self.own, "repeatability": found}, {**self.dof, "repeatability": found_dof}

    def judge(self, readings: Sequence[Reading]) -> Judged:
        bath_parts = {
            code: TemperatureDifference.from_text(text) for code, text in self.bath.payload["components"].items()
        }
        bath_dof = {code: float(text) for code, text in self.bath.payload.get("dof", {}).items()}
        own, dof = self.as_shown(readings)
        return method.judge(
            Inputs(
                tuple(readings),
                self.exact,
                {**bath_parts, **own},
                self.tolerance,
                self.decision,
                {**bath_dof, **dof},
                self.bias,
            )
        )


# --- taking readings -----------------------------------------------------------------------------------------


def take_reading(session: Session, actor: Actor, given: ReadingGiven, *, last: bool = False) -> Row:
    """Record a reading; the check too, once it is inside or confirmed by its repeats.

    last: judge by what there is, where no repeats can be had. Refused with a question's code where the reading
    is impossible, too fine for the display, far off or far from what it showed before and `given.asked` does not
    hold it.
    """
    with session.recording(actor, "lead", "officer") as entries:
        connection = entries.connection
        if (recorded := queries.check(connection, given.check)) is not None:
            _refuse_late_repeat(connection, recorded, given)
            return recorded_row(connection, given.check)
        before = _taken_so_far(connection, given.check)
        if given.reading in {one.payload["reading"] for one in before}:
            return _row(connection, given.check, before)
        _refuse_mixed(given, before)
        refuse_untimely(session, baths.made(connection, given.bath), given.performed_at, bool(given.beside))
        setting, beside = _setting_for(session, connection, given, before)
        _refuse_retired(setting.of)
        _refuse_questionable(setting, given, [Reading.from_text(one.payload["shown"]) for one in before])
        entry = entries.add(
            ReadingTaken(
                thermometer=given.thermometer,
                reading=given.reading,
                bath=given.bath,
                role="repeat" if before else "as_found",
                check=given.check,
                shown=given.shown.text(),
                beside=beside or None,
                asked=tuple(sorted(given.asked)) or None,
                put_in_at=given.put_in_at,
                performed_at=given.performed_at,
                done_by=given.done_by,
            )
        )
        ids = [one.payload["reading"] for one in before] + [entry.payload["reading"]]
        readings = [Reading.from_text(one.payload["shown"]) for one in before] + [given.shown]
        return _settle(session, entries, setting, given, ids, readings, last)


def _refuse_late_repeat(connection: Connection, view: queries.CheckView, given: ReadingGiven) -> None:
    """A second press gives the same reading again; another reading would be lost in a check that is recorded."""
    payload = queries.entry_at(connection, view.chain_no, view.seq).payload
    if given.reading not in payload.get("readings", ()):
        raise refuse("check", "recorded_already")


def _refuse_mixed(given: ReadingGiven, before: Sequence[EntryView]) -> None:
    """Repeats are of the same thermometer, in the same bath and the same unit as the first."""
    if not before:
        return
    first = before[0].payload
    if (first["thermometer"], first["bath"]) != (given.thermometer, given.bath):
        raise refuse("check", "of_another")
    if Reading.from_text(first["shown"]).unit != given.shown.unit:
        raise refuse("shown", "same_unit_as_first", value=given.shown.unit)


def refuse_untimely(session: Session, bath: EntryView, performed_at: int | None, beside: bool) -> None:
    """A bath is good for a time only; water beside a reference cools, so later readings bring their reference."""
    at = session.clock() if performed_at is None else performed_at
    if at > session.clock():
        raise refuse("performed_at", "in_the_future")
    if performed_at is not None and at < bath.done_at - EARLIEST_US:  # else the clock was set back since
        raise refuse("performed_at", "before_the_bath")
    if at - bath.done_at > BATH_GOOD_FOR_US:
        raise refuse("bath", "too_old")
    if bath.payload["point"] == "comparison" and not beside and at - bath.done_at > BESIDE_GOOD_FOR_US:
        raise refuse("beside", "read_it_again")


def record_what_there_is(session: Session, actor: Actor, bath: str, check: str) -> None:
    """Record a check on the readings taken so far: its repeats were never keyed in and the list is closing."""
    with session.recording(actor, "lead", "officer") as entries:
        before = _taken_so_far(entries.connection, check)
        if not before:
            return
        first, readings = before[0], [Reading.from_text(one.payload["shown"]) for one in before]
        given = ReadingGiven(
            bath,
            first.payload["thermometer"],
            readings[-1],
            check,
            before[-1].payload["reading"],
            performed_at=before[-1].done_at,
            done_by=before[-1].payload.get("done_by", before[-1].by),
        )
        setting = _setting_so_far(entries.connection, before)
        _settle(session, entries, setting, given, [one.payload["reading"] for one in before], readings, last=True)


def _settle(
    session: Session,
    entries: Transaction,
    setting: _Setting,
    given: ReadingGiven,
    ids: Sequence[str],
    readings: Sequence[Reading],
    last: bool,
) -> Row:
    judged = setting.judge(readings)
    doubtful = _voided_outside(entries.connection, given.bath, given.thermometer)
    wants_more = 0 if last else _wanted(setting, judged, len(readings), doubtful)
    unsteady = _unsteady(setting, readings)
    if wants_more == 0:
        _record_check(session, entries, setting, given, ids, readings, judged, unsteady)
        baths.judge_again(entries, given.bath, check={given.check: judged.outcome})
    word = (
        "waits" if wants_more or not _bath_counts(entries.connection, given.bath) else _word(setting, judged, unsteady)
    )
    return Row(
        given.check,
        given.thermometer,
        setting.of.tag_id,
        tuple(readings),
        judged,
        word,
        unsteady,
        wants_more,
        wants_more == 0,
    )


def _bath_counts(connection: Connection, bath: str) -> bool:
    """Whether the bath was judged so that its checks decide something."""
    view = queries.bath(connection, bath)
    return view is not None and view.judged in ("accepted", "suspect", "overruled")


def _wanted(setting: _Setting, judged: Judged, taken: int, doubtful: bool) -> int:
    """Repeats after a first reading outside; three pairs for air thermometers in place.

    doubtful: an outside check of it in this bath was voided, so that one reading inside is not believed alone.
    """
    if setting.of.type.code == "fixed_air" and setting.bath.payload["made"] == "in_place":
        return max(AIR_PAIRS - taken, 0)
    if taken == 1 and judged.outcome not in OUTSIDE and not doubtful:
        return 0
    return max(1 + setting.in_force.rule.repeats - taken, 0)


def _voided_outside(connection: Connection, bath: str, thermometer: str) -> bool:
    found = (one for one in queries.checks_in(connection, bath) if one.thermometer == thermometer)
    return any(one.voided and one.given in OUTSIDE for one in found)


def _unsteady(setting: _Setting, readings: Sequence[Reading]) -> bool:
    unsteady = Decimal(setting.in_force.rule.unsteady)
    return method.is_unsteady(readings, setting.own["repeatability"], unsteady, setting.references)


def _word(setting: _Setting, judged: Judged, unsteady: bool) -> str:
    share = Decimal(setting.in_force.rule.near_limit)
    return method.lead_word(judged.outcome, judged.offset, setting.tolerance, share, unsteady)


def _record_check(
    session: Session,
    entries: Transaction,
    setting: _Setting,
    given: ReadingGiven,
    ids: Sequence[str],
    readings: Sequence[Reading],
    judged: Judged,
    unsteady: bool,
) -> None:
    entries.add(
        CheckRecorded(
            thermometer=given.thermometer,
            check=given.check,
            as_found=tuple(reading.text() for reading in readings),
            readings=tuple(ids),
            unsteady=True if unsteady else None,
            predicted=given.predicted,
            shift=given.shift,
            day=given.day,
            reason=given.reason,
            performed_at=given.performed_at,
            done_by=given.done_by,
            **_frozen(setting, given.bath, judged, readings),
        )
    )


def _frozen(setting: _Setting, bath: str, judged: Judged, readings: Sequence[Reading]) -> dict[str, Any]:
    """What a check and an as-left reading freeze alike."""
    own, own_dof = setting.as_shown(readings)
    points = {found.point: name for name, found in setting.in_force.methods.items()}
    point = setting.bath.payload["point"]
    return {
        "point": point,
        "bath": bath,
        "reference": judged.reference.text(),
        "exact": f"{method.plain(setting.exact):f} C" if setting.exact else None,
        "components": {code: part.text() for code, part in own.items()},
        "dof": {code: f"{method.plain(dof):f}" for code, dof in own_dof.items() if dof != inf} or None,
        "bias": method.written(setting.bias, "C").text() if setting.bias else None,
        "offset": method.written(judged.offset.value, judged.offset.unit).text(),
        "u": judged.u.text(),
        "k": f"{judged.k:f}",
        "rule": setting.in_force.rule.set,
        "tolerances": setting.in_force.tolerances.set,
        "method": setting.in_force.methods[points[point]].set,
        "decision": setting.decision,
        "tolerance": setting.tolerance.text(),
        "outcome": judged.outcome,
        "version": method.VERSION,
    }


def _taken_so_far(connection: Connection, check: str) -> list[EntryView]:
    """The readings that wait for a check to be recorded, in whatever bath they were taken."""
    return [queries.entry_at(connection, one.chain_no, one.seq) for one in queries.open_readings_for(connection, check)]


# --- what a reading is judged with ---------------------------------------------------------------------------


def _setting_for(
    session: Session, connection: Connection, given: ReadingGiven, before: Sequence[EntryView]
) -> tuple[_Setting, tuple[Beside, ...]]:
    bath = baths.made(connection, given.bath)
    beside: tuple[Beside, ...] = ()
    now = _bath_reference(bath)
    if given.beside:
        at = given.performed_at if given.performed_at is not None else session.clock()
        beside, read_now = baths.read_beside(session, connection, bath, given.beside, at)
        now = Fraction(read_now)
    references = (*(_pair_reference(bath, one) for one in before), now)
    setting = setting_for(connection, given.thermometer, bath, given.shown.unit, _mean_reference(references))
    return replace(setting, references=references), beside


def _setting_so_far(connection: Connection, before: Sequence[EntryView]) -> _Setting:
    """What readings taken already are judged with."""
    first = before[0].payload
    bath = baths.made(connection, first["bath"])
    references = tuple(_pair_reference(bath, one) for one in before)
    unit = Reading.from_text(first["shown"]).unit
    setting = setting_for(connection, first["thermometer"], bath, unit, _mean_reference(references))
    return replace(setting, references=references)


def _mean_reference(references: Sequence[Fraction]) -> Fraction:
    return Fraction(reference.mean(references))


def _bath_reference(bath: EntryView) -> Fraction:
    return Fraction(Reading.from_text(bath.payload["reference"]).value)


def _pair_reference(bath: EntryView, reading: EntryView) -> Fraction:
    """The reference beside a reading taken already, °C: the pair's own as it was frozen, else the bath's."""
    beside = reading.payload.get("beside", ())
    pairs = [
        Reading.from_text(one["shown"]).celsius()
        + Fraction(TemperatureDifference.from_text(one.get("correction", "0 dC")).value)
        for one in [each for each in beside if "outside_certificate" in each] or beside
    ]
    return Fraction(reference.mean(pairs)) if pairs else _bath_reference(bath)


def setting_for(
    connection: Connection,
    thermometer: str | Thermometer,
    bath: EntryView,
    unit: str,
    exact: Fraction | None = None,
    in_force: RulesInForce | None = None,
) -> _Setting:
    """Rules, reference and uncertainty for one thermometer in one bath; refused where its type may not be there.

    A list hands over the thermometer and the rules that it has read, since it asks for many.
    """
    of = thermometers.thermometer(connection, thermometer) if isinstance(thermometer, str) else thermometer
    in_force = in_force or rules.rules_in_force(connection, bath.payload["site"])
    if exact is None:
        exact = _bath_reference(bath)
    _refuse_unfit(of, bath, unit, exact)
    tolerance = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
    if tolerance is None:
        raise refuse("tolerance", "none_for_this", value=of.tag_id)
    low, high = emissivity_bias(float(exact)) if of.type.surface else (0.0, 0.0)
    bias = Fraction(method.plain((low + high) / 2))
    own, dof = _own_components(of, in_force, unit, exact + bias, (high - low) / 2)
    return _Setting(
        of,
        bath,
        in_force,
        TemperatureDifference.from_text(tolerance.tolerance),
        in_force.decision,
        exact,
        own,
        dof,
        bias,
    )


def _refuse_unfit(of: Thermometer, bath: EntryView, unit: str, exact: Fraction) -> None:
    point, made = bath.payload["point"], bath.payload["made"]
    allowed = of.type.allowed(point)
    scale = of.facts.scales.get(unit)
    if allowed is None:
        raise refuse("point", "not_for_this_type", value=of.tag_id)
    if scale is None:
        raise refuse("shown", "not_its_unit", value=unit)
    step = Fraction(scale.step.split()[0]) * (1 if unit == "C" else Fraction(5, 9))
    lowest, highest = (Reading.from_text(text).celsius() for text in (scale.lowest, scale.highest))
    beyond = 2 * step if allowed.condition == "scale_two_steps_beyond" else 0
    if not lowest <= exact <= highest - beyond:
        raise refuse("point", "off_its_scale", value=of.tag_id)
    if allowed.condition == "stirred_slush" and made != "slush_stirred":
        raise refuse("point", "needs_stirred_slush", value=of.tag_id)
    if allowed.condition == "comes_off_and_waterproof" and not of.facts.waterproof:
        raise refuse("point", "not_waterproof", value=of.tag_id)
    if bath.payload.get("beside") and of.row.thermometer in {one["thermometer"] for one in bath.payload["beside"]}:
        raise refuse("thermometer", "is_the_reference", value=of.tag_id)


def _refuse_retired(of: Thermometer) -> None:
    """No new reading; those taken before still become a check."""
    if of.row.status == "retired":
        raise refuse("thermometer", "is_retired", value=of.tag_id)


def _own_components(
    of: Thermometer, in_force: RulesInForce, unit: str, should_show: Fraction, bias_half_width: float
) -> tuple[dict[str, TemperatureDifference], dict[str, float]]:
    """The check's own uncertainty components, °C, and their degrees of freedom where finite."""
    to_celsius = 1.0 if unit == "C" else 5 / 9
    repeatability, dof = in_force.repeatability(of.type)
    reference = Reading.from_celsius(should_show, "F" if unit == "F" else "C")
    found = {
        "resolution": resolution(float(of.step_as_read(unit))) * to_celsius,
        "repeatability": repeatability,
    }
    if reference.celsius() != should_show:
        found["rounding"] = resolution(0.1) * to_celsius
    if of.type.stem is not None:
        found["stem"] = _standard(of.type.stem)
    if of.type.surface:
        found["emissivity"] = rectangular(bias_half_width)
    if of.type.spot is not None:
        found["spot"] = _standard(of.type.spot)
    return (
        {code: method.written(u, "C") for code, u in sorted(found.items())},
        {"repeatability": dof},
    )


def _standard(figure: Figure) -> float:
    """A figure as a standard uncertainty, °C."""
    return rectangular(figure.value) if figure.form == "rectangular" else figure.value


# --- questions -----------------------------------------------------------------------------------------------


def _refuse_questionable(setting: _Setting, given: ReadingGiven, before: Sequence[Reading]) -> None:
    at_the_bath = given.performed_at is None  # what stands on paper cannot be read once more
    found = questions(setting, given.shown, before if at_the_bath else ())
    if asked := [one for one in found if one.code not in given.asked]:
        raise Refused(*(one.problem("shown", given.shown) for one in asked))


def questions(setting: _Setting, shown: Reading, before: Sequence[Reading] = ()) -> list[Question]:
    """What to ask about a reading: off its scale, too fine for it, far off, far from those of the same check before."""
    scale = setting.of.facts.scales[shown.unit]
    lowest, highest = Reading.from_text(scale.lowest), Reading.from_text(scale.highest)
    found = []
    on_scale = lowest.value <= shown.value <= highest.value
    if not on_scale:
        found.append(Question("off_scale"))
    if too_fine(shown, setting.of.step_as_read(shown.unit)):
        found.append(Question("too_fine"))
    if far_off(shown, setting.exact, on_scale=on_scale):
        found.append(Question("other_unit"))
    elif (other := _far_from(setting, shown, before)) is not None:
        found.append(Question("far_apart", other))
    return found


def far_off(shown: Reading, expected: Fraction, *, on_scale: bool) -> bool:
    """Whether a reading is so far from what was expected, °C, that it is likelier a slip, or of the other unit.

    on_scale: else that is asked, and only the other unit is worth a question beside it.
    """
    other = Reading(shown.value, "F" if shown.unit == "C" else "C")
    off, off_in_other = (abs(one.celsius() - expected) for one in (shown, other))
    return (on_scale and off > FAR_OFF) or (off > UNIT_MIX_UP and off_in_other < UNIT_MIX_UP / 3)


def _far_from(setting: _Setting, shown: Reading, before: Sequence[Reading]) -> Reading | None:
    """The first reading of the check, where a repeat lies far from it and from all that followed."""
    if not before:
        return None
    *earlier, now = method.beyond((*before, shown), setting.references)
    step = Fraction(setting.of.step_as_read(shown.unit)) * (1 if shown.unit == "C" else Fraction(5, 9))
    may = max(FAR_APART * Fraction(setting.own["repeatability"].value), FAR_APART_STEPS * step)
    return before[0] if all(abs(now - one) > may for one in earlier) else None


def must_read(setting: _Setting, unit: str) -> tuple[Reading, Fraction, Fraction] | None:
    """The reference as shown and the range that passes by simple acceptance, in the unit on the dial."""
    reference = Reading.from_celsius(setting.exact + setting.bias, "F" if unit == "F" else "C")
    tolerance = setting.tolerance.to(reference.unit)
    span = passing_range(reference.value, tolerance.value, setting.of.step_as_read(unit))
    return None if span is None else (reference, *span)


# --- before it is recorded -----------------------------------------------------------------------------------


def foresee(
    session: Session, connection: Connection, given: ReadingGiven, before: Sequence[Reading] = ()
) -> tuple[list[Question], Row]:
    """What a reading would come to if it were taken, recording nothing: the questions it raises, and its row.

    before: the readings of the same check taken already. The word is that of an accepted bath.
    """
    if before and before[0].unit != given.shown.unit:
        raise refuse("shown", "same_unit_as_first", value=given.shown.unit)
    taken = _taken_so_far(connection, given.check)[: len(before)]
    setting, _ = _setting_for(session, connection, given, taken)
    if len(taken) < len(before):  # told of readings that nobody took: they are in this bath alone
        setting = replace(setting, references=())
    readings = (*before, given.shown)
    judged, unsteady = setting.judge(readings), _unsteady(setting, readings)
    wanted = _wanted(setting, judged, len(readings), _voided_outside(connection, given.bath, given.thermometer))
    word = "waits" if wanted else _word(setting, judged, unsteady)
    row = Row(given.check, given.thermometer, setting.of.tag_id, readings, judged, word, unsteady, wanted, False)
    return questions(setting, given.shown, before), row


def _where(before: Sequence[EntryView]) -> tuple[str, str]:
    """The bath and the thermometer of readings taken."""
    return before[0].payload["bath"], before[0].payload["thermometer"]


# --- rows read back ------------------------------------------------------------------------------------------


def row_so_far(connection: Connection, check: str) -> Row | None:
    """The row of a check that still waits for its repeats; None where no reading of it waits."""
    before = _taken_so_far(connection, check)
    return _row(connection, check, before) if before and "check" in before[0].payload else None


def _row(connection: Connection, check: str, before: Sequence[EntryView]) -> Row:
    """The row of a check that still wants repeats."""
    setting = _setting_so_far(connection, before)
    readings = [Reading.from_text(one.payload["shown"]) for one in before]
    judged = setting.judge(readings)
    return Row(
        check,
        setting.of.row.thermometer,
        setting.of.tag_id,
        tuple(readings),
        judged,
        "waits",
        _unsteady(setting, readings),
        _wanted(setting, judged, len(readings), _voided_outside(connection, *_where(before))),
        False,
    )


def recorded_row(connection: Connection, check: str) -> Row:
    """The row of a check that is recorded already, from what the journal froze."""
    view = queries.check(connection, check)
    assert view is not None
    return row_of(connection, view, thermometers.thermometer(connection, view.thermometer).tag_id)


def row_of(connection: Connection, view: queries.CheckView, tag_id: str, today: RuleSet | None = None) -> Row:
    """As `recorded_row`. today: the rule in force, where a list has it, so that it isn't looked up for each check."""
    payload = queries.entry_at(connection, view.chain_no, view.seq).payload
    judged = frozen_judgement(payload)
    readings = tuple(Reading.from_text(text) for text in payload["as_found"])
    unsteady = payload.get("unsteady", False)
    rule: RuleSet = today if today and today.set == payload["rule"] else rules.set_used(connection, payload["rule"])
    word = method.lead_word(
        view.outcome,
        judged.offset,
        TemperatureDifference.from_text(payload["tolerance"]),
        Decimal(rule.near_limit),
        unsteady,
    )
    return Row(view.check, view.thermometer, tag_id, readings, judged, word, unsteady, 0, True)


def word_if_accepted(connection: Connection, view: queries.CheckView, row: Row, today: RuleSet | None = None) -> str:
    """The lead's word for a recorded check as if its bath were accepted: what it will say then. today: as `row_of`."""
    payload = queries.entry_at(connection, view.chain_no, view.seq).payload
    rule: RuleSet = today if today and today.set == payload["rule"] else rules.set_used(connection, payload["rule"])
    share = Decimal(rule.near_limit)
    tolerance = TemperatureDifference.from_text(payload["tolerance"])
    return method.lead_word(view.given, row.judged.offset, tolerance, share, row.unsteady)


def word_once_accepted(connection: Connection, row: Row) -> str:
    """The lead's word of a row just taken, as if its bath were accepted; `waits` while repeats are wanted."""
    view = queries.check(connection, row.check) if row.recorded else None
    return "waits" if view is None else word_if_accepted(connection, view, row)


def frozen_judgement(payload: Mapping[str, Any]) -> Judged:
    """What a recorded check says of itself."""
    return Judged(
        Reading.from_text(payload["reference"]),
        TemperatureDifference.from_text(payload["offset"]),
        TemperatureDifference.from_text(payload["u"]),
        Decimal(payload["k"]),
        payload["outcome"],
    )


def inputs_from(payload: Mapping[str, Any], bath: Mapping[str, Any], as_left: bool = False) -> Inputs:
    """The frozen inputs of a recorded check or adjustment, for working it out again."""
    parts = {**bath["components"], **payload["components"]}
    dof = {**bath.get("dof", {}), **payload.get("dof", {})}
    decision: Any = payload["decision"]
    return Inputs(
        tuple(Reading.from_text(text) for text in payload["as_left" if as_left else "as_found"]),
        Fraction(payload.get("exact", "0 C").split()[0]),
        {code: TemperatureDifference.from_text(text) for code, text in parts.items()},
        TemperatureDifference.from_text(payload["tolerance"]),
        decision,
        {code: float(text) for code, text in dof.items()},
        Fraction(payload.get("bias", "0 dC").split()[0]),
    )


# --- adjusting -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AdjustmentGiven:
    """What was done to a thermometer found outside, and what it shows since; no reading: not measured."""

    check: str
    how: str
    adjustment: str
    reading: str
    as_left: Reading | None = None
    trim: TemperatureDifference | None = None
    beside: tuple[tuple[str, Reading], ...] = ()
    asked: frozenset[str] = frozenset()
    performed_at: int | None = None
    done_by: str | None = None


def adjust(session: Session, actor: Actor, given: AdjustmentGiven) -> Judged | None:
    """Record an adjustment with its as-left reading in the same bath; returns how that is judged.

    Refused where the check was inside (nothing to adjust), where the bath is not judged good, and for a type that
    cannot be adjusted so.
    """
    with session.recording(actor, "lead", "officer") as entries:
        connection = entries.connection
        view = queries.check(connection, given.check)
        if view is None or view.bath is None:
            raise refuse("check", "unknown_check")
        for one in queries.adjustments_of(connection, view.thermometer):
            if one.adjustment == given.adjustment:
                return _recorded_adjustment(connection, one)
        of = thermometers.thermometer(connection, view.thermometer)
        _refuse_adjusting(connection, of, view, given)
        if given.as_left is not None:
            refuse_untimely(session, baths.made(connection, view.bath), given.performed_at, bool(given.beside))
        elif given.performed_at is not None and given.performed_at > session.clock():
            raise refuse("performed_at", "in_the_future")
        if given.as_left is None:
            entries.add(
                Adjusted(
                    thermometer=view.thermometer,
                    adjustment=given.adjustment,
                    point=view.point,
                    how=given.how,
                    check=given.check,
                    bath=view.bath,
                    not_measured=True,
                    trim=Trim(to=given.trim.text()) if given.trim else None,
                    performed_at=given.performed_at,
                    done_by=given.done_by,
                )
            )
            return None
        return _adjust_measured(session, entries, of, view.bath, given, given.as_left)


def _recorded_adjustment(connection: Connection, view: queries.AdjustmentView) -> Judged | None:
    """How an adjustment that is recorded already was judged."""
    payload = queries.entry_at(connection, view.chain_no, view.seq).payload
    return frozen_judgement(payload) if "as_left" in payload else None


def _adjust_measured(
    session: Session,
    entries: Transaction,
    of: Thermometer,
    bath_id: str,
    given: AdjustmentGiven,
    as_left: Reading,
) -> Judged:
    bath = baths.made(entries.connection, bath_id)
    exact = None
    beside: tuple[Beside, ...] = ()
    if given.beside:
        at = session.clock() if given.performed_at is None else given.performed_at
        beside, now = baths.read_beside(session, entries.connection, bath, given.beside, at)
        exact = Fraction(now)
    setting = setting_for(entries.connection, of.row.thermometer, bath, as_left.unit, exact)
    if asked := [one for one in questions(setting, as_left) if one.code not in given.asked]:
        raise Refused(*(one.problem("as_left", as_left) for one in asked))
    judged = setting.judge([as_left])
    entries.add(
        ReadingTaken(
            thermometer=of.row.thermometer,
            reading=given.reading,
            bath=bath_id,
            role="as_left",
            adjustment=given.adjustment,
            shown=as_left.text(),
            beside=beside or None,
            asked=tuple(sorted(given.asked)) or None,
            performed_at=given.performed_at,
            done_by=given.done_by,
        )
    )
    entries.add(
        Adjusted(
            thermometer=of.row.thermometer,
            adjustment=given.adjustment,
            how=given.how,
            check=given.check,
            trim=Trim(to=given.trim.text()) if given.trim else None,
            readings=(given.reading,),
            as_left=(as_left.text(),),
            performed_at=given.performed_at,
            done_by=given.done_by,
            **_frozen(setting, bath_id, judged, [as_left]),
        )
    )
    baths.judge_again(entries, bath_id, as_left={given.adjustment: judged.outcome})
    return judged


def _refuse_adjusting(connection: Connection, of: Thermometer, view: queries.CheckView, given: AdjustmentGiven) -> None:
    _refuse_retired(of)
    if view.voided:
        raise refuse("check", "is_void")
    if view.given not in OUTSIDE:
        raise refuse("check", "inside_nothing_to_adjust", value=of.tag_id)
    bath = queries.bath(connection, view.bath or "")
    if bath is None or bath.judged not in ("accepted", "overruled"):
        raise refuse("bath", "judge_it_first")
    if not of.adjustments:
        raise refuse("how", "cannot_be_adjusted", value=of.tag_id)
    if given.how not in of.adjustments:
        raise refuse("how", "cannot_be_adjusted_so", value=of.tag_id)


# --- instead of a reading ------------------------------------------------------------------------------------


def no_reading(
    session: Session, actor: Actor, bath: str, thermometer_id: str, why: str, *, reading: str | None = None
) -> None:
    """Record that no reading could be had, and why; the thermometer stays due. The same id twice records once."""
    if why not in NO_READING:
        raise refuse("why", "unknown", value=why)
    reading = reading or session.new_id()
    with session.recording(actor, "lead", "officer") as entries:
        if queries.bath(entries.connection, bath) is None:
            raise refuse("bath", "unknown_bath")
        thermometers.thermometer(entries.connection, thermometer_id)
        if not queries.said_lately(entries.connection, thermometer_id, "reading_taken", "reading", reading):
            entries.add(
                ReadingTaken(thermometer=thermometer_id, reading=reading, bath=bath, role="no_reading", why=why)
            )


def not_checked(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    site: str,
    shift: str,
    day: str,
    why: str,
    *,
    absence: str | None = None,
) -> None:
    """Record that it was not used this shift, not found, lent, or that its station was closed; once for each id."""
    if why not in NOT_CHECKED:
        raise refuse("why", "unknown", value=why)
    absence = absence or session.new_id()
    with session.recording(actor, "lead", "officer") as entries:
        thermometers.thermometer(entries.connection, thermometer_id)
        if not queries.said_lately(entries.connection, thermometer_id, "not_checked", "absence", absence):
            entries.add(
                NotChecked(thermometer=thermometer_id, absence=absence, site=site, shift=shift, day=day, why=why)
            )
