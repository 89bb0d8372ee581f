"""How a thermometer stands today by all its checks, which way it goes, and when it may be out.

It is asked at each point where it was checked, and the worst of them speaks for it: one that is right at ice may be
off at boiling.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import isfinite

from registry import charts
from registry.compute import drift
from registry.compute.check import written
from registry.quantity import TemperatureDifference, Unit
from registry.services.session import day_at
from registry.services.told import DAY_US, NEAR, Seen, Told
from registry.services.tracking import Tracked

MONTH_DAYS = 30.4375
SURE = 2.0  # standard deviations: a drift smaller than so many of its own is none to speak of
LIKELY = 0.5
ENOUGH = 3  # checks: through two any line goes
AHEAD_DAYS, STEP_DAYS = 91, 7  # a forecast is drawn so far, at each so many


@dataclass(frozen=True, slots=True)
class Point:
    """Where a thermometer was checked as found since its sensor was new.

    celsius, kind: °C and point of the last check there; the point is empty where that was imported. shared_u: standard
    uncertainty that its checks there share, °C. checks: how many there were.
    """

    celsius: float
    kind: str
    shared_u: float
    checks: int


@dataclass(frozen=True, slots=True)
class AtPoint:
    """How one thermometer stands at one of its points; as `Outlook` says it."""

    celsius: float
    kind: str
    checks: int
    offset: TemperatureDifference | None
    expanded: TemperatureDifference | None
    out: float | None
    out_on: date | None


@dataclass(frozen=True, slots=True)
class Outlook:
    """How one thermometer stands. Differences in `unit`, reading minus reference.

    says: never (not measured), failed (and not mended since), unsettled (something happened since its last good
    check), out (more likely out than not), young (too few checks to tell), drifting, steady. celsius, kind: its worst
    point, the one where it is likeliest out at the instant asked about; where no chance is told, the one where it is
    checked most. offset: today, there; expanded: 2 standard uncertainties of it. a_month: drift, with its 2 standard
    uncertainties. out: the chance that it is out of tolerance today, 0 to 1, at the point where that is highest;
    out_on: the first day on which it is 5 % at any of its points; both None where no rule gives a tolerance, and of one
    that failed, since a chance would excuse it. steps: sudden changes found, (when, size, whether an incident was
    reported). alike: thermometers that its model's figures were learned from. points: all of them, the worst first.
    """

    says: str
    celsius: float
    unit: Unit
    checks: int = 0
    offset: TemperatureDifference | None = None
    expanded: TemperatureDifference | None = None
    a_month: TemperatureDifference | None = None
    a_month_expanded: TemperatureDifference | None = None
    out: float | None = None
    out_on: date | None = None
    steps: tuple[tuple[int, TemperatureDifference, bool], ...] = ()
    alike: int = 0
    kind: str = ""
    points: tuple[AtPoint, ...] = ()


@dataclass(frozen=True, slots=True)
class PointNumbers:
    """Of one point. offset: today, with what is shared. passes_on: the day on which the chance to be out is 5 %."""

    point: Point
    offset: drift.Predicted
    out: float | None
    passes_on: float | None


@dataclass(frozen=True, slots=True)
class Numbers:
    """What an outlook is worked out to, before it is written: °C and days from 1970 UTC. points: the worst first."""

    failed: bool
    unsettled: bool
    checks: int
    points: tuple[PointNumbers, ...]
    rate: drift.Rate
    steps: tuple[drift.Step, ...]
    alike: int


def outlook(
    known: Tracked,
    now: int,
    tolerance: TemperatureDifference | None,
    *,
    by: int | None = None,
    unit: Unit = "C",
    zone: str = "UTC",
) -> Outlook:
    """How a thermometer stands at an instant, not before its last check.

    by: the instant for which its worst point is looked for; without one, the same.
    """
    if not known.known:
        return Outlook("never", 0.0, unit)
    track, points = known.track, points_of(known.told)
    failed = known.of.row.failed_at is not None
    limit = float(tolerance.to("C").value) if tolerance and not failed else None
    day = max(now / DAY_US, track.now.at_days)
    then = max((by or now) / DAY_US, track.now.at_days)
    worst = 0
    if limit:
        worst = likeliest([drift.probability_out(track, then, limit, one.celsius, one.shared_u) for one in points])
    found = Numbers(
        failed,
        known.told.unsettled,
        len(known.told.history.observations),
        worst_first([_numbers(known, one, now, day, limit) for one in points], worst),
        track.rate,
        track.steps,
        track.parameters.instruments,
    )
    return as_shown(found, unit, zone)


def _numbers(known: Tracked, point: Point, now: int, day: float, limit: float | None) -> PointNumbers:
    """limit: °C; None where no chance is told."""
    track, celsius, shared = known.track, point.celsius, point.shared_u
    passes = drift.passes_level_on(track, limit, temperature=celsius, shared_u=shared) if limit else None
    return PointNumbers(
        point,
        known.at(now, celsius).with_shared(shared),
        drift.probability_out(track, day, limit, celsius, shared) if limit else None,
        max(passes, day) if passes is not None else None,
    )


def likeliest(chances: Sequence[float]) -> int:
    """The place of the highest; of equal ones the first, where it is checked most."""
    return max(range(len(chances)), key=chances.__getitem__)


def worst_first(points: Sequence[PointNumbers], worst: int) -> tuple[PointNumbers, ...]:
    return (points[worst], *points[:worst], *points[worst + 1 :])


def as_shown(found: Numbers, unit: Unit, zone: str) -> Outlook:
    """The figures of one that was measured, in the unit of its dial and the days of its site."""
    points = tuple(_at_point(one, unit, zone) for one in found.points)
    worst = points[0]
    return Outlook(
        _says(found),
        worst.celsius,
        unit,
        found.checks,
        worst.offset,
        worst.expanded,
        _shown(found.rate.per_day * MONTH_DAYS, unit) if isfinite(found.rate.sd) else None,
        _shown(2 * found.rate.sd * MONTH_DAYS, unit),
        _highest_chance(found),
        min((one.out_on for one in points if one.out_on is not None), default=None),
        tuple(
            (int(one.at_days * DAY_US), difference(one.size, unit), one.reported) for one in found.steps if one.found
        ),
        found.alike,
        worst.kind,
        points,
    )


def _at_point(found: PointNumbers, unit: Unit, zone: str) -> AtPoint:
    return AtPoint(
        found.point.celsius,
        found.point.kind,
        found.point.checks,
        _shown(found.offset.offset, unit) if isfinite(found.offset.sd) else None,
        _shown(2 * found.offset.sd, unit),
        found.out,
        day_at(int(found.passes_on * DAY_US), zone) if found.passes_on is not None else None,
    )


def _highest_chance(found: Numbers) -> float | None:
    return max((one.out for one in found.points if one.out is not None), default=None)


# --- where it is checked -------------------------------------------------------------------------------------


def points_of(told: Told) -> tuple[Point, ...]:
    """Each point with a check as found since the sensor was new, where it is checked most first.

    Of any other point no offset was ever seen: the spread of the type alone would put it at the top of every ranking.
    Where nothing was checked since, the point that was checked most before.
    """
    seen = [one for one in told.seen if one.counts and not one.as_left]
    began = max((one.at_days for one in told.history.events if one.kind == "sensor_changed"), default=None)
    since = [one for one in seen if began is None or one.at / DAY_US >= began]
    counts = Counter(near(one.celsius) for one in since or seen)
    most = counts.most_common() if since else counts.most_common(1)
    return tuple(_point(told, [one for one in seen if near(one.celsius) == place], count) for place, count in most)


def _point(told: Told, there: Sequence[Seen], count: int) -> Point:
    last = there[-1]
    return Point(last.celsius, last.point, told.shared_at(last.celsius), count)


def usual(known: Tracked) -> float:
    """The temperature, °C, that it was last checked at of those where it is checked most."""
    return usual_of(known.told.history)


def usual_of(history: drift.History) -> float:
    seen = history.observations
    (most, _), *_ = Counter(near(one.temperature) for one in seen).most_common(1)
    return next(one.temperature for one in reversed(seen) if near(one.temperature) == most)


def near(celsius: float) -> int:
    """The same number for temperatures of one point."""
    return round(celsius / NEAR)


def _says(found: Numbers) -> str:
    if found.failed:
        return "failed"
    if (_highest_chance(found) or 0.0) >= LIKELY:
        return "out"
    if found.unsettled:
        return "unsettled"
    if found.checks < ENOUGH:
        return "young"
    return "drifting" if abs(found.rate.per_day) > SURE * found.rate.sd else "steady"


def _shown(celsius: float, unit: Unit) -> TemperatureDifference | None:
    return difference(celsius, unit) if isfinite(celsius) else None


def difference(celsius: float, unit: Unit) -> TemperatureDifference:
    """A difference in °C as it is shown in a unit."""
    return written(Fraction(celsius) * (Fraction(9, 5) if unit == "F" else 1), unit)


# --- for the chart -------------------------------------------------------------------------------------------


def followed(known: Tracked, celsius: float, now: int) -> tuple[charts.Followed, ...]:
    """The offset with its band of 2 standard uncertainties: at each check from all checks, then as forecast."""
    if not known.known:
        return ()
    return (*_past(known, celsius), *_ahead(known, celsius, now))


def _past(known: Tracked, celsius: float) -> Iterator[charts.Followed]:
    for one in known.track.smoothed:
        found = one.at(celsius).with_shared(known.told.shared_at(celsius))
        if isfinite(found.sd):
            yield charts.Followed(round(one.at_days * DAY_US), found.offset, 2 * found.sd)


def _ahead(known: Tracked, celsius: float, now: int) -> Iterator[charts.Followed]:
    first = max(now, round(known.track.now.at_days * DAY_US))
    for day in range(0, AHEAD_DAYS + 1, STEP_DAYS):
        at = first + day * DAY_US
        found = known.at(at, celsius).with_shared(known.told.shared_at(celsius))
        if isfinite(found.sd):
            yield charts.Followed(at, found.offset, 2 * found.sd, ahead=True)
