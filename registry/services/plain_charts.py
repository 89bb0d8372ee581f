"""The charts that a laboratory draws by hand, of each point since the last adjustment: they stand behind the tracking.

They know nothing of models, baths or incidents, and check what the tracking says with other means.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from math import hypot, sqrt
from statistics import median

from registry.compute import trend
from registry.compute.drift import Observation
from registry.quantity import TemperatureDifference, Unit
from registry.services.outlook import MONTH_DAYS, difference
from registry.services.told import DAY_US, NEAR
from registry.services.tracking import Tracked

FIRST, LEAST = 5, 8  # checks that say where a chart begins; checks without which nothing is drawn
SHIFT, SUM_LIMIT = 0.5, 5.0  # of the sums of deviations: k and h, in standard deviations of a check


@dataclass(frozen=True, slots=True)
class PlainChart:
    """One point, of all checks since the last adjustment or new sensor.

    celsius: where; since: the first of them. a_month: median of all slopes (Theil-Sen), with its limits of 95 %. p: how
    likely checks in no order would seem to rise or fall so much (Mann-Kendall). average_out, sum_out: when the weighted
    moving average (EWMA) and the sums of deviations (CUSUM) first left their limits, if they did.
    """

    celsius: float
    checks: int
    since: int
    a_month: TemperatureDifference
    low: TemperatureDifference
    high: TemperatureDifference
    p: float
    average_out: int | None
    sum_out: int | None


def plain_charts(known: Tracked, unit: Unit = "C") -> tuple[PlainChart, ...]:
    """One for each point with enough checks, the coldest first. Differences in `unit`."""
    seen = sorted(known.told.history.observations, key=lambda one: one.temperature)
    points = [list(near) for _, near in groupby(seen, key=lambda one: round(one.temperature / NEAR))]
    return tuple(found for near in points for found in _chart(known, near, unit))


def _chart(known: Tracked, near: list[Observation], unit: Unit) -> Iterator[PlainChart]:
    celsius = median(one.temperature for one in near)
    those = trend.since_adjustment(near, known.told.history.events, celsius, within=NEAR)
    if len(those) < LEAST or len({one.at_days for one in those}) < 2:
        return
    days, offsets = [one.at_days for one in those], [one.offset for one in those]
    line = trend.theil_sen(days, offsets)
    target, later = median(offsets[:FIRST]), offsets[FIRST:]
    sd = median(hypot(one.u_new, one.step / sqrt(12)) for one in those)
    average = trend.ewma(later, target, sd).out
    sums = trend.cusum(later, target, SHIFT * sd, SUM_LIMIT * sd).out
    yield PlainChart(
        celsius,
        len(those),
        _at(those[0]),
        difference(line.slope * MONTH_DAYS, unit),
        difference(line.low * MONTH_DAYS, unit),
        difference(line.high * MONTH_DAYS, unit),
        trend.mann_kendall(offsets).p,
        _at(those[FIRST + average - 1]) if average is not None else None,
        _at(those[FIRST + sums]) if sums is not None else None,
    )


def _at(one: Observation) -> int:
    return round(one.at_days * DAY_US)
