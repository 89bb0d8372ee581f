"""What many thermometers have in common: the mean of their drift rates or steps, each with its own uncertainty.

Random effects: each has a true value of its own around the group's. Few data are pulled to what is believed of such
groups. Source: DerSimonian and Laird (1986), Meta-analysis in clinical trials, Controlled Clinical Trials 7, 177.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

ALIKE = 3.0  # thermometers that what is believed of the spread counts as (judgement)
SIDES = 1.959963984540054  # standard deviations of a normal distribution that hold 95 %


@dataclass(frozen=True, slots=True)
class Effect:
    """The mean of a group, its standard deviation, and the spread of the true values in it; how many it rests on."""

    mean: float
    sd: float
    spread: float
    count: int

    @property
    def low(self) -> float:
        return self.mean - SIDES * self.sd

    @property
    def high(self) -> float:
        return self.mean + SIDES * self.sd


def combined(values: Sequence[float], sds: Sequence[float]) -> Effect:
    """The mean of independent values with their standard deviations, all finite and more than 0; any unit.

    The spread is what they differ by beyond those, 0 where they do not. `ValueError` where there is none.

    >>> found = combined([0.1, 0.3], [0.1, 0.1])
    >>> round(found.mean, 3), round(found.sd, 3), round(found.spread, 3)
    (0.2, 0.1, 0.1)
    """
    if not values:
        raise ValueError("nothing to combine")
    return _weighted(values, sds, _between(values, sds))


def pulled(values: Sequence[float], sds: Sequence[float], *, mean: float, apart: float, spread: float) -> Effect:
    """The same where groups of this kind lie around `mean`, `apart` from it by that standard deviation.

    spread: what is believed of the true values' spread inside a group; it counts as much as three of them would.
    Without any value, what is believed. Infinite `apart` pulls nothing.

    >>> pulled([], [], mean=0.5, apart=0.2, spread=0.1)
    Effect(mean=0.5, sd=0.2, spread=0.1, count=0)
    """
    if not values:
        return Effect(mean, apart, spread, 0)
    more = len(values) - 1
    own = _weighted(values, sds, (more * _between(values, sds) + ALIKE * spread**2) / (more + ALIKE))
    if apart == inf:
        return own
    if apart == 0:
        return Effect(mean, 0.0, own.spread, own.count)
    ours, theirs = 1 / own.sd**2, 1 / apart**2
    return Effect((ours * own.mean + theirs * mean) / (ours + theirs), 1 / sqrt(ours + theirs), own.spread, own.count)


def _weighted(values: Sequence[float], sds: Sequence[float], between: float) -> Effect:
    weights = [1 / (sd**2 + between) for sd in sds]
    total = sum(weights)
    mean = sum(weight * value for weight, value in zip(weights, values, strict=True)) / total
    return Effect(mean, 1 / sqrt(total), sqrt(between), len(values))


def _between(values: Sequence[float], sds: Sequence[float]) -> float:
    """Variance among the true values, by the method of moments."""
    alone = _weighted(values, sds, 0.0)
    weights = [1 / sd**2 for sd in sds]
    misfit = sum(weight * (value - alone.mean) ** 2 for weight, value in zip(weights, values, strict=True))
    told = sum(weights) - sum(weight**2 for weight in weights) / sum(weights)
    return max(0.0, (misfit - (len(values) - 1)) / told) if len(values) > 1 else 0.0


def share(count: int, of: int) -> tuple[float, float]:
    """The interval of 95 % of a share seen `count` times in `of`.

    Source: Clopper and Pearson (1934), Biometrika 26, 404.

    >>> [round(each, 4) for each in share(0, 10)]
    [0.0, 0.3085]
    """
    from scipy.special import betaincinv

    low = float(betaincinv(count, of - count + 1, 0.025)) if count else 0.0
    return low, float(betaincinv(count + 1, of - count, 0.975)) if count < of else 1.0
