"""How a thermometer stands today by all its checks, which way it goes, and when it may be out."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import isfinite

from sqlalchemy import Connection

from registry import charts
from registry.compute import drift
from registry.compute.check import written
from registry.quantity import TemperatureDifference, Unit
from registry.services import tracking
from registry.services.session import Session, day_at
from registry.services.thermometers import Thermometer
from registry.services.tracking import DAY_US, Tracked

MONTH_DAYS = 30.4375
SURE = 2.0  # standard deviations: a drift smaller than so many of its own is none to speak of
LIKELY = 0.5
NEAR = 20.0  # °C: checks this near are of one point
AHEAD_DAYS, AHEAD_AT_MOST = 90, 730  # a forecast is drawn so far, or to the day that passes the level
STEP_DAYS = 7


@dataclass(frozen=True, slots=True)
class Outlook:
    """How one thermometer stands at a temperature. Differences in `unit`, reading minus reference.

    says: never (not measured), unsettled (something happened since its last good check), out (more likely out than
    not), drifting, steady. offset: today; expanded: 2 standard uncertainties of it. a_month: drift, with its 2 standard
    uncertainties. out: the chance that it is out of tolerance today, 0 to 1; out_on: the first day on which that is
    5 %; both None where no rule gives a tolerance. steps: sudden changes found, (when, size, whether an incident was
    reported). alike: thermometers that its model's figures were learned from.
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


def outlook(
    session: Session,
    connection: Connection,
    of: Thermometer,
    tolerance: TemperatureDifference | None,
    *,
    celsius: float | None = None,
    unit: Unit = "C",
    zone: str = "UTC",
) -> Outlook:
    """How a thermometer stands now at a temperature, °C; without one, where it is checked most."""
    followed = tracking.tracked(session, connection, [of])[of.row.thermometer]
    if not followed.known:
        return Outlook("never", celsius or 0.0, unit)
    celsius = usual(followed) if celsius is None else celsius
    now, track, shared = session.clock(), followed.track, followed.told.shared_u
    today = followed.at(now, celsius).with_shared(shared)
    rate = track.rate
    limit = float(tolerance.to("C").value) if tolerance else None
    day = max(now / DAY_US, track.now.at_days)
    out = drift.probability_out(track, day, limit, celsius, shared) if limit else None
    passes = drift.passes_level_on(track, limit, temperature=celsius, shared_u=shared) if limit else None
    return Outlook(
        _says(followed, out, rate),
        celsius,
        unit,
        len(followed.told.history.observations),
        _shown(today.offset, unit) if isfinite(today.sd) else None,
        _shown(2 * today.sd, unit),
        _shown(rate.per_day * MONTH_DAYS, unit) if isfinite(rate.sd) else None,
        _shown(2 * rate.sd * MONTH_DAYS, unit),
        out,
        day_at(int(max(passes, day) * DAY_US), zone) if passes is not None else None,
        tuple(
            (int(one.at_days * DAY_US), _difference(one.size, unit), one.reported) for one in track.steps if one.found
        ),
        track.parameters.instruments,
    )


def usual(followed: Tracked) -> float:
    """The temperature, °C, that it was last checked at of those where it is checked most."""
    seen = followed.told.history.observations
    (near, _), *_ = Counter(round(one.temperature / NEAR) for one in seen).most_common(1)
    return next(one.temperature for one in reversed(seen) if round(one.temperature / NEAR) == near)


def _says(followed: Tracked, out: float | None, rate: drift.Rate) -> str:
    if out is not None and out >= LIKELY:
        return "out"
    if followed.told.unsettled:
        return "unsettled"
    return "drifting" if abs(rate.per_day) > SURE * rate.sd else "steady"


def _shown(celsius: float, unit: Unit) -> TemperatureDifference | None:
    return _difference(celsius, unit) if isfinite(celsius) else None


def _difference(celsius: float, unit: Unit) -> TemperatureDifference:
    """A difference in °C as it is shown in a unit."""
    return written(Fraction(celsius) * (Fraction(9, 5) if unit == "F" else 1), unit)


# --- for the chart -------------------------------------------------------------------------------------------


def followed(
    session: Session, connection: Connection, of: Thermometer, celsius: float, out_on: int | None = None
) -> tuple[charts.Followed, ...]:
    """The offset with its band of 2 standard uncertainties: at each check from all checks, then as forecast.

    out_on: the instant of the day that passes the level, which the forecast reaches if it is near enough.
    """
    known = tracking.tracked(session, connection, [of])[of.row.thermometer]
    if not known.known:
        return ()
    return (*_past(known, celsius), *_ahead(known, celsius, session.clock(), out_on))


def _past(known: Tracked, celsius: float) -> Iterator[charts.Followed]:
    for one in known.track.smoothed:
        found = one.at(celsius).with_shared(known.told.shared_u)
        if isfinite(found.sd):
            yield charts.Followed(round(one.at_days * DAY_US), found.offset, 2 * found.sd)


def _ahead(known: Tracked, celsius: float, now: int, out_on: int | None) -> Iterator[charts.Followed]:
    first = max(now, round(known.track.now.at_days * DAY_US))
    days = min(max(AHEAD_DAYS, ((out_on or first) - first) // DAY_US + STEP_DAYS), AHEAD_AT_MOST)
    for day in range(0, days + 1, STEP_DAYS):
        at = first + day * DAY_US
        found = known.at(at, celsius).with_shared(known.told.shared_u)
        if isfinite(found.sd):
            yield charts.Followed(at, found.offset, 2 * found.sd, ahead=True)
