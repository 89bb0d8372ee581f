"""Uncertainty budgets as in the GUM, JCGM 100:2008."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import erf, floor, hypot, inf, isfinite, sqrt

# The share within two standard deviations of a normal distribution, 95.45 %: then k = 2 when dof is infinite.
COVERAGE = erf(sqrt(2))


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget.

    `u`: standard uncertainty, °C, not negative. `dof`: degrees of freedom, 1 to infinity. `why`: a sentence.
    `shared`: by site and method (same ice, cook, depth, elevation), so that it does not average out; else it
    is new each time.
    """

    name: str
    u: float
    dof: float = inf
    distribution: str = "normal"
    why: str = ""
    shared: bool = False

    def __post_init__(self) -> None:
        _not_negative(self.u, f"standard uncertainty of {self.name}")
        if not self.dof >= 1:
            raise ValueError(f"degrees of freedom of {self.name} must be 1 or more")


Budget = tuple[Component, ...]


@dataclass(frozen=True, slots=True)
class Combined:
    """Combined standard uncertainty `u`, °C; its whole `dof`, or infinity; `k`; `expanded`, k u, °C."""

    u: float
    dof: float
    k: float
    expanded: float


def combine(budget: Budget) -> Combined:
    """Combine a budget of independent components that all act with sensitivity 1.

    budget: components in °C; an empty one gives u = 0. Returns u, whole dof, k for 95.45 % and k u.
    Source: JCGM 100:2008 equations (10), (G.2b) and (G.1d), degrees of freedom cut as in G.4.1 after
    rounding to one decimal, since the example there needs that (18.9987 is printed as 19).

    >>> combine((Component("ice", 0.12), Component("display", 0.05)))
    Combined(u=0.13, dof=inf, k=2.0, expanded=0.26)
    """
    u = standard_uncertainty(budget)
    dof = effective_dof(u, budget)
    k = coverage_factor(dof)
    return Combined(u, dof, k, k * u)


def standard_uncertainty(budget: Iterable[Component]) -> float:
    """Root of the sum of squares, °C: JCGM 100:2008 equation (10) with sensitivities of 1."""
    return hypot(*(component.u for component in budget))


def effective_dof(u: float, budget: Iterable[Component]) -> float:
    """Welch-Satterthwaite, from unrounded parts: whole degrees of freedom, or infinity (JCGM 100, G.4.1)."""
    parts = sum((component.u / u) ** 4 / component.dof for component in budget if component.u)
    dof = 1 / parts if parts else inf
    return floor(round(dof, 1)) if isfinite(dof) else inf


def coverage_factor(dof: float, coverage: float = COVERAGE) -> float:
    """k, so that ±k u covers the share `coverage` at `dof` degrees of freedom (JCGM 100:2008, table G.2).

    `ValueError` unless dof >= 1 and 0 < coverage < 1.

    >>> round(coverage_factor(16), 2)
    2.17
    """
    if not (dof >= 1 and 0 < coverage < 1):
        raise ValueError("degrees of freedom must be 1 or more and the coverage a share between 0 and 1")
    if dof == inf and coverage == COVERAGE:
        return 2.0
    from scipy.special import ndtri, stdtrit  # late: most budgets have no need of it

    upper = (1 + coverage) / 2
    k = float(ndtri(upper) if dof == inf else stdtrit(dof, upper))
    return max(k, 2.0) if coverage == COVERAGE else k  # at very many degrees of freedom the last bit may fall below


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a rectangular distribution, a/√3 (JCGM 100:2008, 4.3.7).

    >>> round(rectangular(0.5), 4)
    0.2887
    """
    return _not_negative(half_width, "half-width") / sqrt(3)


def resolution(step: float) -> float:
    """Standard uncertainty of a display or scale read to whole steps, d/√12 (JCGM 100:2008, F.2.2.1)."""
    return _not_negative(step, "step") / sqrt(12)


def _not_negative(number: float, name: str) -> float:
    if not (isfinite(number) and number >= 0):
        raise ValueError(f"{name} must be a number that is not negative")
    return number
