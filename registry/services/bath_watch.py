"""The bath or the thermometers: what is known of a bath from all that was read in it as found.

Each is compared with what its own record before this bath leads to expect; what all have beyond that is the bath's.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, isfinite, sqrt

from sqlalchemy import Connection

from registry.compute import bath as compute
from registry.compute import drift
from registry.compute.bath import BathPrior, Diagnosis, Habit, InBath, Remaining, Swap
from registry.compute.bath.records import Basis
from registry.compute.check import written
from registry.quantity import Reading
from registry.records import baths as records
from registry.services import baths, checks, habits, rules, steadiness, thermometers, told, tracking
from registry.services.baths import Diagnosed
from registry.services.checks import ReadingGiven, Row
from registry.services.problems import Refused
from registry.services.session import Actor, Session
from registry.services.thermometers import Thermometer
from registry.services.told import DAY_US, celsius_of
from registry.services.tracking import Tracked
from registry.store import queries
from registry.store.queries import EntryView

VERSION = 1  # of the method
LEAST_U, MOST_U = 0.05, 10.0  # °C: no bath is known better, and of one that is known worse nothing is known


@dataclass(frozen=True, slots=True)
class Watched:
    """One thermometer in the bath. check: its id, also while repeats are wanted; given: its outcome in a good bath.

    told: what the diagnosis was handed. remaining: what it made of it.
    """

    thermometer: str
    tag_id: str
    check: str
    recorded: bool
    given: str
    digital: bool
    told: InBath
    remaining: Remaining


@dataclass(frozen=True, slots=True)
class BathWatch:
    """A bath and those read in it, in the order of their readings. swaps: pairs of tag ids to ask about."""

    bath: str
    site: str
    point: str
    prior: BathPrior
    diagnosis: Diagnosis
    those: tuple[Watched, ...]
    swaps: tuple[tuple[str, str], ...] = ()

    @property
    def out_even_so(self) -> tuple[Watched, ...]:
        """Those that are out of tolerance whatever the bath."""
        return tuple(one for one in self.those if one.remaining.out)


@dataclass(frozen=True, slots=True)
class _Read:
    """What was read of one thermometer in the bath, °C."""

    of: Thermometer
    check: str
    recorded: bool
    given: str
    at: int
    offset: float
    own: Mapping[str, float]
    readings: tuple[Reading, ...]
    tolerance: float


def watch(session: Session, connection: Connection, bath: str, *, swaps: bool = True) -> BathWatch:
    """What all readings in a bath say of it. Refused for a bath that is not known.

    swaps: whether rows keyed into each other are looked for, which takes ten times as long.
    """
    made = baths.made(connection, bath)
    every = sorted((*_recorded(connection, bath), *_waiting(connection, bath)), key=lambda one: one.at)
    read = list({one.of.row.thermometer: one for one in every}.values())  # read anew, the later counts
    tracked = tracking.tracked(session, connection, [one.of for one in read])
    handed = [_in_bath(made, one, tracked[one.of.row.thermometer]) for one in read]
    prior = prior_of(made)
    habit = habits.habit_of(session, connection, made.payload["site"], made.payload["point"], bath)
    found = _with_and_without(handed, prior, habit)
    those = tuple(
        Watched(
            one.of.row.thermometer,
            one.of.tag_id,
            one.check,
            one.recorded,
            one.given,
            one.of.type.digital,
            said,
            remaining,
        )
        for one, said, remaining in zip(read, handed, found.remaining, strict=True)
    )
    pairs = compute.swapped(handed, prior, habit) if swaps else ()
    return BathWatch(bath, made.payload["site"], made.payload["point"], prior, found, those, tuple(_tags(those, pairs)))


def _with_and_without(handed: Sequence[InBath], prior: BathPrior, habit: Habit) -> Diagnosis:
    """Nobody is out for a habit that is learned alone: who is out is so with it and without."""
    found = compute.diagnose(handed, prior, habit)
    if not habit.mean or not any(one.out for one in found.remaining):
        return found
    without = compute.diagnose(handed, prior)
    pairs = zip(found.remaining, without.remaining, strict=True)
    return replace(found, remaining=tuple(replace(one, out=one.out and other.out) for one, other in pairs))


def _tags(those: Sequence[Watched], swaps: Iterable[Swap]) -> Iterable[tuple[str, str]]:
    return ((those[one.first].tag_id, those[one.second].tag_id) for one in swaps)


def take(session: Session, actor: Actor, given: ReadingGiven, *, last: bool = False) -> tuple[Row, BathWatch]:
    """As `checks.take_reading`, with what its own record led to expect; then the bath is looked at again."""
    with session.reading() as connection:
        expected = predicted(session, connection, given.bath, given.thermometer)
    row = checks.take_reading(session, actor, replace(given, predicted=expected), last=last)
    found = judge(session, actor, given.bath)
    if row.recorded:
        with session.reading() as connection:
            row = checks.recorded_row(connection, row.check)
    return row, found


def warm(session: Session, connection: Connection, bath: str) -> None:
    """Track all that may be read in a bath, so that no reading waits for it."""
    rows = queries.thermometers(connection, site=baths.made(connection, bath).payload["site"])
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    tracking.tracked(session, connection, those)


def predicted(session: Session, connection: Connection, bath: str, thermometer: str) -> records.Predicted | None:
    """What the record of a thermometer leads to expect in a bath, as it is frozen in its check; None of a new one."""
    made, of = baths.made(connection, bath), thermometers.thermometer(connection, thermometer)
    known = tracking.tracked(session, connection, [of])[thermometer]
    before = drift.before(known.track, made.done_at / DAY_US)
    if not before.items:
        return None
    found = before.predict(max(session.clock() / DAY_US, before.now.at_days), _celsius(made))
    if not isfinite(found.sd):
        return None
    return records.Predicted(offset=written(found.offset, "C").text(), u=written(found.sd, "C").text())


def _celsius(made: EntryView) -> float:
    return float(Reading.from_text(made.payload["reference"]).celsius())


def judge(session: Session, actor: Actor, bath: str, *, swaps: bool = False) -> BathWatch:
    """Look at a bath and record what it comes to, unless a person has judged it: good, or suspect.

    In a suspect bath only those fail that are out even so; the others wait. One that was good till now and is no more
    sure is suspect too. With too few readings nothing is recorded. swaps: as `watch` asks.
    """
    with session.reading() as connection:
        found = watch(session, connection, bath, swaps=swaps)
        judged = queries.bath(connection, bath)
    steadiness.keep(session, found.site, {one.thermometer: one.told for one in found.those})
    verdict = found.diagnosis.verdict
    if verdict == "too_few" and (judged is None or judged.judged is None):
        return found
    good = verdict == "good"
    baths.judge_by_diagnosis(session, actor, bath, _diagnosed_as(found, "accepted" if good else "suspect"))
    return found


def condemn(session: Session, actor: Actor, bath: str) -> dict[str, str]:
    """A person condemns a bath. Who is out whatever the bath stays failed; the outcomes as `baths.judge_bath` says."""
    with session.reading() as connection:
        found = watch(session, connection, bath, swaps=False)
    return baths.judge_bath(session, actor, bath, "condemned", found=_diagnosed_as(found, "condemned"))


def _diagnosed_as(found: BathWatch, judged: str) -> Diagnosed:
    return Diagnosed(
        judged,
        written(found.diagnosis.error.mean, "C"),
        written(found.diagnosis.error.added_u, "C"),
        tuple(one.check for one in found.out_even_so if one.recorded),
        {"u": written(found.prior.u, "C"), "allowed": written(found.prior.allowed, "C")},
        tuple(one.thermometer for one in found.those if one.told.trusted),
        VERSION,
    )


# --- what was read -------------------------------------------------------------------------------------------


def _recorded(connection: Connection, bath: str) -> list[_Read]:
    """The checks of a bath that are not voided; of one thermometer's the last."""
    found = {}
    for view in queries.checks_in(connection, bath):
        if not view.voided and view.offset is not None:
            said = queries.entry_at(connection, view.chain_no, view.seq).payload
            found[view.thermometer] = _Read(
                thermometers.thermometer(connection, view.thermometer),
                view.check,
                True,
                view.given or "",
                view.at,
                celsius_of(said["offset"]),
                {code: celsius_of(text) for code, text in said["components"].items()},
                tuple(map(Reading.from_text, said["as_found"])),
                celsius_of(said["tolerance"]),
            )
    return list(found.values())


def _waiting(connection: Connection, bath: str) -> list[_Read]:
    """First readings that wait for their repeats: they count as they stand."""
    open_ = {one.fact: one for one in queries.open_readings(connection, bath)}
    found = []
    for check, opened in open_.items():
        row = _row(connection, check)
        if row is not None:
            of = thermometers.thermometer(connection, opened.thermometer)
            in_force = rules.rules_in_force(connection, of.row.site)
            permitted = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
            found.append(
                _Read(
                    of,
                    check,
                    False,
                    row.judged.outcome,
                    opened.at,
                    float(row.judged.offset.to("C").value),
                    {"repeatability": of.type.repeatability.value},
                    row.readings,
                    celsius_of(permitted.tolerance) if permitted else 1.0,
                )
            )
    return found


def _row(connection: Connection, check: str) -> checks.Row | None:
    """None where it was amended since, so that its readings can be made no check of."""
    try:
        return checks.row_so_far(connection, check)
    except Refused:
        return None


# --- what was expected ---------------------------------------------------------------------------------------


def _in_bath(made: EntryView, read: _Read, tracked: Tracked) -> InBath:
    """A thermometer as its own record before this bath shows it, with what it read now."""
    celsius = _celsius(made)
    day, count = read.at / DAY_US, len(read.readings)
    until = min(day, made.done_at / DAY_US)
    before = drift.before(tracked.track, until)
    known = before.predict(day, celsius) if before.items else None
    step = told.step_of(read.of, read.readings[0].unit)
    u_new = max(told.u_new(read.of, read.own, count), told.LEAST_U)
    predicted, sd = (known.offset, known.sd) if known and isfinite(known.sd) else (0.0, _spread(read.of, celsius))
    return InBath(
        _within(predicted),
        sd,
        _within(read.offset),
        hypot(u_new, step / sqrt(12)) if count > 1 else u_new,
        0.0 if count > 1 else step / 2,
        read.tolerance,
        _basis(made, tracked, before, until),
        _incident(before),
    )


def _within(offset: float) -> float:
    """One farther off is broken or mistyped, and as good as this far off."""
    return min(max(offset, -compute.FARTHEST), compute.FARTHEST)


def _spread(of: Thermometer, celsius: float) -> float:
    """How far one of which nothing is known may be off."""
    prior = tracking.type_prior(of).centre
    return hypot(prior.offset_spread, prior.slope_spread * celsius)


def _basis(made: EntryView, tracked: Tracked, before: drift.Track, until: float) -> Basis:
    """Where the expected offset comes from; see `InBath`."""
    if not before.items:
        return "elsewhere"
    renewed = [one.at_days for one in before.items if isinstance(one, drift.Event) and one.kind == "sensor_changed"]
    since = max(renewed, default=float("-inf"))
    seen = [one for one in tracked.told.seen if one.counts and since <= one.at / DAY_US < until]
    if not seen or seen[-1].as_left:  # set to its last bath, whatever that was, and not measured since
        return "none"
    here = (made.payload["site"], made.payload["point"])
    return "here" if any((one.site, one.point) == here for one in seen) else "elsewhere"


def _incident(before: drift.Track) -> bool:
    """Whether something befell it that no check has answered."""
    last = [item for item in before.items if isinstance(item, drift.Observation)]
    since = last[-1].at_days if last else float("-inf")
    return any(
        isinstance(item, drift.Event) and item.kind != "adjusted" and item.at_days >= since for item in before.items
    )


def prior_of(made: EntryView) -> BathPrior:
    """What is believed of such a bath before anybody reads in it: from the components that it was made with."""
    u = hypot(*(celsius_of(text) for text in made.payload["components"].values()))
    u = min(max(u, LEAST_U), MOST_U)
    kinds = {"ice_point": compute.ice, "boiling_point": compute.boiling}
    return kinds.get(made.payload["point"], compute.flask)(u)
