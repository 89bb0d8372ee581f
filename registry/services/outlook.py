"""How a thermometer stands today by all its checks, which way it goes, and when it may be out."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import isfinite

from registry import charts
from registry.compute import drift
from registry.compute.check import written
from registry.quantity import TemperatureDifference, Unit
from registry.services.session import day_at
from registry.services.told import DAY_US, NEAR
from registry.services.tracking import Tracked

MONTH_DAYS = 30.4375
SURE = 2.0  # standard deviations: a drift smaller than so many of its own is none to speak of
LIKELY = 0.5
ENOUGH = 3  # checks: through two any line goes
AHEAD_DAYS, STEP_DAYS = 91, 7  # a forecast is drawn so far, at each so many


@dataclass(frozen=True, slots=True)
class Outlook:
    """How one thermometer stands at a temperature. Differences in `unit`, reading minus reference.

    says: never (not measured), failed (and not mended since), unsettled (something happened since its last good
    check), out (more likely out than not), young (too few checks to tell), drifting, steady. offset: today; expanded: 2
    standard uncertainties of it. a_month: drift, with its 2 standard uncertainties. out: the chance that it is out of
    tolerance today, 0 to 1; out_on: the first day on which that is 5 %; both None where no rule gives a tolerance, and
    of one that failed, since a chance would excuse it. steps: sudden changes found, (when, size, whether an incident
    was reported). alike: thermometers that its model's figures were learned from.
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


@dataclass(frozen=True, slots=True)
class Numbers:
    """What an outlook is worked out to, before it is written: °C and days from 1970 UTC.

    offset: today, with what is shared. passes_on: the day on which the chance to be out is 5 %.
    """

    celsius: float
    failed: bool
    unsettled: bool
    checks: int
    offset: drift.Predicted
    rate: drift.Rate
    out: float | None
    passes_on: float | None
    steps: tuple[drift.Step, ...]
    alike: int


def outlook(
    known: Tracked,
    now: int,
    tolerance: TemperatureDifference | None,
    *,
    celsius: float | None = None,
    unit: Unit = "C",
    zone: str = "UTC",
) -> Outlook:
    """How a thermometer stands at an instant, not before its last check, at a temperature, °C; without one, where it is
    checked most."""
    if not known.known:
        return Outlook("never", celsius or 0.0, unit)
    celsius = usual(known) if celsius is None else celsius
    track, shared = known.track, known.told.shared_at(celsius)
    failed = known.of.row.failed_at is not None
    limit = float(tolerance.to("C").value) if tolerance and not failed else None
    day = max(now / DAY_US, track.now.at_days)
    passes = drift.passes_level_on(track, limit, temperature=celsius, shared_u=shared) if limit else None
    found = Numbers(
        celsius,
        failed,
        known.told.unsettled,
        len(known.told.history.observations),
        known.at(now, celsius).with_shared(shared),
        track.rate,
        drift.probability_out(track, day, limit, celsius, shared) if limit else None,
        max(passes, day) if passes is not None else None,
        track.steps,
        track.parameters.instruments,
    )
    return as_shown(found, unit, zone)


def as_shown(found: Numbers, unit: Unit, zone: str) -> Outlook:
    """The figures of one that was measured, in the unit of its dial and the days of its site."""
    return Outlook(
        _says(found),
        found.celsius,
        unit,
        found.checks,
        _shown(found.offset.offset, unit) if isfinite(found.offset.sd) else None,
        _shown(2 * found.offset.sd, unit),
        _shown(found.rate.per_day * MONTH_DAYS, unit) if isfinite(found.rate.sd) else None,
        _shown(2 * found.rate.sd * MONTH_DAYS, unit),
        found.out,
        day_at(int(found.passes_on * DAY_US), zone) if found.passes_on is not None else None,
        tuple(
            (int(one.at_days * DAY_US), difference(one.size, unit), one.reported) for one in found.steps if one.found
        ),
        found.alike,
    )


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
    if found.out is not None and found.out >= LIKELY:
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
