"""Plain trends and control charts of one point's offsets, as found, since the last adjustment.

They stand behind the tracking (`drift`) for people who know them; days and °C, or any other unit of one's own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import erfc, inf, isfinite, sqrt
from statistics import NormalDist, median

from registry.compute.drift import Event, Observation


@dataclass(frozen=True, slots=True)
class Line:
    """slope, low, high: a day; intercept: at day 0."""

    slope: float
    low: float
    high: float
    intercept: float


@dataclass(frozen=True, slots=True)
class MannKendall:
    """s: rises less falls over all pairs; variance: of s with no trend; z, p: two-sided; tau: s over pairs (tau-a)."""

    s: int
    variance: float
    z: float
    p: float
    tau: float


@dataclass(frozen=True, slots=True)
class Ewma:
    """values: the first is the target. lower, upper: limits for each, and what they tend to. out: first beyond, or
    None; both numbered like `values`."""

    values: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    lower_at_last: float
    upper_at_last: float
    out: int | None


@dataclass(frozen=True, slots=True)
class Cusum:
    """high, low: the two sums after each value. out: number of the first value, from 0, where one exceeds h."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    out: int | None


def since_adjustment(
    observations: Iterable[Observation], events: Iterable[Event], temperature: float, within: float = 0.5
) -> list[Observation]:
    """Checks at one point since the thermometer was last adjusted or got a new sensor: a level shift is no trend.

    temperature: of the point, °C; within: how far from it a check may lie. A check at the instant of an adjustment
    came before it. Incidents restart nothing.
    """
    restarts = [event.at_days for event in events if event.kind != "incident"]
    last = max(restarts, default=-inf)
    kept = (one for one in observations if one.at_days > last and abs(one.temperature - temperature) <= within)
    return sorted(kept, key=lambda one: one.at_days)


def theil_sen(days: Sequence[float], offsets: Sequence[float], confidence: float = 0.95) -> Line:
    """Median of the slopes between all pairs of different days, with a confidence interval.

    days, offsets: as many of each, two different days at least, else `ValueError`.
    Source: Sen (1968), J. Am. Statist. Assoc. 63, 1379: the interval as in its section 4, ties in both; the intercept
    is median offset minus slope times median day.

    >>> round(theil_sen([0, 1, 2, 3, 4], [0.0, 0.1, 0.2, 0.3, 9.0]).slope, 3)
    0.1
    """
    _alike(days, offsets)
    if not 0 < confidence < 1:
        raise ValueError("confidence must lie between 0 and 1")
    pairs = combinations(zip(days, offsets, strict=True), 2)
    slopes = sorted((b[1] - a[1]) / (b[0] - a[0]) for a, b in pairs if b[0] != a[0])
    if not slopes:
        raise ValueError("a slope needs two different days")
    slope = median(slopes)
    ties = _tied(days) + _tied(offsets)
    n = len(days)
    spread = sqrt(max(n * (n - 1) * (2 * n + 5) - ties, 0) / 18)
    reach = NormalDist().inv_cdf((1 + confidence) / 2) * spread
    # Sen counts the slopes from 1: the M1-th and the (M2 + 1)-th of N, M1 = (N - C) / 2, M2 = (N + C) / 2.
    upper = min(round((len(slopes) + reach) / 2), len(slopes) - 1)
    lower = max(round((len(slopes) - reach) / 2) - 1, 0)
    return Line(slope, slopes[lower], slopes[upper], median(offsets) - slope * median(days))


def mann_kendall(values: Sequence[float]) -> MannKendall:
    """Whether values in order of time rise or fall, with ties and the correction for continuity.

    values: two or more, else `ValueError`. Var(S) = [n(n-1)(2n+5) - sum t(t-1)(2t+5)] / 18, z = (S ∓ 1) / √Var(S).
    Source: Mann (1945), Econometrica 13, 245; Kendall (1975), Rank Correlation Methods (both from memory).

    >>> mann_kendall([0.1, 0.2, 0.2, 0.4]).s
    5
    """
    _alike(values, values)
    s = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    n = len(values)
    variance = (n * (n - 1) * (2 * n + 5) - _tied(values)) / 18
    z = (s - (s > 0) + (s < 0)) / sqrt(variance) if variance else 0.0
    return MannKendall(s, variance, z, erfc(abs(z) / sqrt(2)), s / (n * (n - 1) / 2))


def ewma(values: Sequence[float], target: float, sd: float, weight: float = 0.3, width: float = 3.0) -> Ewma:
    """Exponentially weighted moving average with limits at `width` standard deviations of it.

    target: where it begins. sd: of one value. weight: of the newest, above 0 to 1. A value on a limit is inside.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4; the limits that widen with time from there too.

    >>> ewma([52.0, 47.0], target=50.0, sd=2.0539).values
    (50.0, 50.6, 49.52)
    """
    if not (0 < weight <= 1 and sd >= 0 and width > 0):
        raise ValueError("weight must lie above 0 and up to 1, sd must not be negative, width must be more than 0")
    smooth = [target]
    for value in values:
        smooth.append(weight * value + (1 - weight) * smooth[-1])
    share = weight / (2 - weight)
    reach = [width * sd * sqrt(share * (1 - (1 - weight) ** (2 * n))) for n in range(len(smooth))]
    last = width * sd * sqrt(share)
    beyond = (n for n in range(1, len(smooth)) if abs(smooth[n] - target) > reach[n])
    lower, upper = (tuple(target + sign * one for one in reach) for sign in (-1, 1))
    return Ewma(tuple(smooth), lower, upper, target - last, target + last, next(beyond, None))


def cusum(values: Sequence[float], target: float, k: float, h: float) -> Cusum:
    """Two-sided tabular cumulative sums, each kept at nought or above.

    k: allowance, half the shift to be found; h: the sum that signals; both in the unit of the values, not negative.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.

    >>> cusum([325.0, 327.0, 328.0], target=325.0, k=0.5, h=3.0).out
    2
    """
    if not (k >= 0 and h >= 0):
        raise ValueError("k and h must not be negative")
    high, low = [0.0], [0.0]
    for value in values:
        high.append(max(0.0, high[-1] + value - target - k))
        low.append(max(0.0, low[-1] + target - k - value))
    beyond = (n for n in range(len(values)) if max(high[n + 1], low[n + 1]) > h)
    return Cusum(tuple(high[1:]), tuple(low[1:]), next(beyond, None))


def _alike(days: Sequence[float], offsets: Sequence[float]) -> None:
    if len(days) != len(offsets) or len(days) < 2:
        raise ValueError("a trend needs two values or more, each with its day")
    if not all(map(isfinite, (*days, *offsets))):
        raise ValueError("a trend needs finite numbers")


def _tied(values: Sequence[float]) -> int:
    """Sum of t(t-1)(2t+5) over values that occur t times."""
    counts = dict.fromkeys(values, 0)
    for value in values:
        counts[value] += 1
    return sum(t * (t - 1) * (2 * t + 5) for t in counts.values())
