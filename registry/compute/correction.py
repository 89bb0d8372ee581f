"""From checks at one, two or more temperatures to the offset at any other, and the reading that reaches a limit.

The sign follows the offset: reading minus reference. A correction is minus the offset.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, hypot, isfinite, sqrt
from typing import Literal

from registry.quantity import Exact, exact

ONE_SIDED = 1.645  # normal quantile for 95 %, one-sided
LACKS_FIT = 0.05  # a line that fits worse in fewer than so many of such cases is not believed as it stands

Side = Literal["at_least", "at_most"]


@dataclass(frozen=True, slots=True)
class Point:
    """One checked temperature, °C, the offset found there, °C, and its standard uncertainty, °C, more than 0."""

    temperature: float
    offset: float
    u: float

    def __post_init__(self) -> None:
        if not (isfinite(self.temperature) and isfinite(self.offset) and isfinite(self.u) and self.u > 0):
            raise ValueError("a point needs finite numbers and a standard uncertainty of more than 0")


@dataclass(frozen=True, slots=True)
class Line:
    """Offset against temperature: intercept at `centre`, °C; slope, °C per °C; their standard uncertainties and
    correlation. s: standard deviation of the residuals in units of those stated, 1 where nothing is left to test;
    dof: points beyond two. misfit: how often a true line would fit worse; bend: added in quadrature, °C.
    """

    centre: float
    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    correlation: float
    s: float
    dof: int
    misfit: float
    bend: float = 0.0

    @property
    def straight(self) -> bool:
        """Whether the points lie on a line as well as their uncertainties say."""
        return self.misfit >= LACKS_FIT

    def at(self, temperature: float) -> tuple[float, float]:
        """The offset at a temperature, °C, and its standard uncertainty, °C."""
        away = temperature - self.centre
        slanted = self.correlation * self.u_intercept * self.u_slope
        variance = self.u_intercept**2 + (away * self.u_slope) ** 2 + 2 * away * slanted
        return self.intercept + self.slope * away, hypot(sqrt(max(variance, 0.0)), self.bend)


def offset_at(points: Sequence[Point], temperature: float, scale_share: float, bend: float) -> tuple[float, float]:
    """The offset at a temperature, °C, and its standard uncertainty, °C, from the points that were checked.

    One point: its offset, with u widened by `scale_share` (°C per °C) of the distance to it, since a scale need not be
    true elsewhere. Two: the line through them, widened by `bend`, °C, since two points cannot test that it is one.
    More: weighted least squares; `bend` only where the points do not lie on a line. ValueError without a point.
    Source: law of propagation of uncertainty, JCGM 100:2008 (10) and (13); the two shares are judgement.

    >>> offset_at([Point(0.0, 0.5, 0.12)], 75.0, scale_share=0.003, bend=0.3)
    (0.5, 0.255)
    """
    if not points:
        raise ValueError("no point was checked")
    if len({one.temperature for one in points}) == 1:
        offset, u = _mean(points)
        return offset, hypot(u, scale_share * abs(temperature - points[0].temperature))
    return line(points, bend=bend).at(temperature)


def _mean(points: Sequence[Point]) -> tuple[float, float]:
    weights = [one.u**-2 for one in points]
    mean = sum(weight * one.offset for weight, one in zip(weights, points, strict=True)) / sum(weights)
    return mean, sum(weights) ** -0.5


def line(
    points: Sequence[Point], *, centre: float | None = None, bend: float = 0.0, from_scatter: bool = False
) -> Line:
    """A straight line by weighted least squares; points at two temperatures at least, else ValueError.

    centre: temperature that the intercept is given for, °C; without it their weighted mean, where the two parts are
    not correlated. The answer at any temperature is the same whichever is chosen. from_scatter: the uncertainties
    given are weights only and the scatter about the line says how large they are, as in the source's annex H.3; else
    scatter larger than stated widens them (Birge's ratio), smaller scatter does not shrink them. bend: see `offset_at`.
    Source: JCGM 100:2008 annex H.3, equations (H.13a) to (H.13h); R. T. Birge, Phys. Rev. 40 (1932) 207, from memory.

    >>> round(line([Point(0.0, 0.2, 0.1), Point(100.0, 0.6, 0.1)]).at(50.0)[0], 3)
    0.4
    """
    if len({one.temperature for one in points}) < 2:
        raise ValueError("a line needs points at two temperatures")
    weights = [one.u**-2 for one in points]
    total = sum(weights)
    middle = sum(w * one.temperature for w, one in zip(weights, points, strict=True)) / total
    mean = sum(w * one.offset for w, one in zip(weights, points, strict=True)) / total
    spread = sum(w * (one.temperature - middle) ** 2 for w, one in zip(weights, points, strict=True))
    slope = sum(w * (one.temperature - middle) * one.offset for w, one in zip(weights, points, strict=True)) / spread
    left = [one.offset - mean - slope * (one.temperature - middle) for one in points]
    chi2, dof = sum(w * miss**2 for w, miss in zip(weights, left, strict=True)), len(points) - 2
    s = sqrt(chi2 / dof) if dof else 1.0
    wider = s if from_scatter and dof else max(s, 1.0)
    at_centre = middle if centre is None else centre
    u_slope, away = wider / sqrt(spread), at_centre - middle
    u_intercept = hypot(wider / sqrt(total), away * u_slope)
    misfit = _worse(chi2, dof)
    keep_bend = bend if not dof or misfit < LACKS_FIT else 0.0
    correlation = away * u_slope / u_intercept
    return Line(at_centre, mean + slope * away, slope, u_intercept, u_slope, correlation, s, dof, misfit, keep_bend)


def _worse(chi2: float, dof: int) -> float:
    if not dof:
        return 1.0
    from scipy.special import chdtrc

    return float(chdtrc(dof, chi2))


def reading_to_reach(limit: Exact, side: Side, offset: Exact, u: Exact, step: Exact) -> tuple[Fraction, Decimal]:
    """The reading for which a limit is met with 95 % probability, unrounded, and the one to print.

    All in the unit of the dial. limit: a temperature. side: `at_least` (cooking, hot holding) or `at_most` (cold
    holding). offset: predicted at the limit; u: its standard uncertainty, everything in quadrature. step: of the
    display, more than 0. The printed one is the next step on the safe side, and never looser than the limit itself.
    ValueError for a step or u that is not a number of that kind.
    Source: one-sided normal quantile 1.645 (JCGM 106:2012, annex A); the rounding is ours.

    >>> unrounded, shown = reading_to_reach(75, "at_least", 0.2, 0.15, 0.1)
    >>> float(unrounded), str(shown)
    (75.44675, '75.5')
    """
    by, wide = exact(step), exact(u)
    if by <= 0 or wide < 0:
        raise ValueError("step must be more than 0 and u not negative")
    least = side == "at_least"
    margin = exact(ONE_SIDED) * wide
    unrounded = exact(limit) + exact(offset) + (margin if least else -margin)
    steps = unrounded / by
    rounded = (ceil(steps) if least else floor(steps)) * by
    tighter = max(rounded, exact(limit)) if least else min(rounded, exact(limit))
    return unrounded, _decimal(tighter, by, exact(limit))


def _decimal(value: Fraction, *like: Fraction) -> Decimal:
    """With as many decimals as the finest of these has."""
    places = max(_places(one) for one in like)
    return Decimal(round(value * 10**places)).scaleb(-places)


def _places(number: Fraction) -> int:
    return next((places for places in range(7) if (number * 10**places).denominator == 1), 6)
