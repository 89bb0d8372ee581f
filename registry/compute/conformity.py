"""Conformity of one check with a tolerance, at the point where it was made.

Numbers are compared as exact fractions, since a limit is inclusive and 0.1 + 0.2 as floats is beyond 0.3.
All numbers of one call are in one unit: the rule's.
"""

from fractions import Fraction
from math import ceil, erfc, floor, isfinite, sqrt
from typing import Literal

from registry.quantity import Exact, exact

Rule = Literal["simple", "guard_band", "four_outcomes"]
Outcome = Literal["pass", "conditional_pass", "conditional_fail", "fail", "not_accepted", "cannot_decide"]


def decide(offset: Exact, u: Exact, tolerance: Exact, rule: Rule, k: Exact = 2) -> Outcome:
    """Judge an offset by a decision rule.

    offset: reading minus reference; u: its standard uncertainty, not negative; tolerance: the permitted
    offset either way, not negative; all in the rule's unit. k: coverage factor, U = k u. Each is exact; a
    float is taken as its shortest decimal text. `ValueError` for NaN, infinity, a negative u, k or tolerance,
    and for an unknown rule. Boundaries are inclusive: on the limit is inside, on limit - U is pass, on
    limit + U is conditional fail.
    Source: ILAC-G8:09/2019, 4.2.1 (`simple`), 4.2.2 (`guard_band`, w = U), 4.2.3 (`four_outcomes`, w = U).

    >>> decide(1.0, 0.25, 1, "simple"), decide(1.0, 0.25, 1, "four_outcomes")
    ('pass', 'conditional_pass')
    """
    distance = abs(exact(offset))
    limit = _not_negative(tolerance, "tolerance")
    expanded = _not_negative(u, "u") * _not_negative(k, "k")
    if rule == "simple":
        return "pass" if distance <= limit else "fail"
    if rule == "guard_band":
        return _guard_band(distance, limit, expanded)
    if rule == "four_outcomes":
        return _four_outcomes(distance, limit, expanded)
    raise ValueError(f"unknown decision rule: {rule!r}")


def conformance_probability(offset: float, u: float, tolerance: float) -> float:
    """Probability that the true offset lies within ±tolerance, given a normal distribution around `offset`.

    offset: reading minus reference; u: standard uncertainty, 0 or more; tolerance: 0 or more; one unit.
    `ValueError` for NaN, infinity or a negative u or tolerance. Source: JCGM 106:2012, 7.4.

    >>> round(conformance_probability(0.75, 0.25, 1.0), 5)
    0.84134
    """
    if not (isfinite(offset) and isfinite(u) and isfinite(tolerance) and u >= 0 and tolerance >= 0):
        raise ValueError("offset, u and tolerance must be numbers, u and tolerance not negative")
    if u == 0:
        return float(abs(offset) <= tolerance)
    # From the near limit outwards, so that a small probability keeps its digits.
    near, far = (abs(offset) - tolerance) / u, (abs(offset) + tolerance) / u
    return (erfc(near / sqrt(2)) - erfc(far / sqrt(2))) / 2


def near_limit(offset: Exact, tolerance: Exact, share: Exact) -> bool:
    """Whether an offset is inside the tolerance but beyond `share` of it, exactly.

    >>> [near_limit(offset, 1, 0.8) for offset in (0.8, 0.9, 1.1)]
    [False, True, False]
    """
    limit = _not_negative(tolerance, "tolerance")
    return _not_negative(share, "share") * limit < abs(exact(offset)) <= limit


def passing_range(
    reference: Exact, tolerance: Exact, step: Exact, guard: Exact = 0
) -> tuple[Fraction, Fraction] | None:
    """Lowest and highest reading that pass, in whole steps of the display.

    reference: as shown, in the unit on the dial; tolerance: in the same unit; step: display step or half a
    division. guard: 0 by simple acceptance; by `guard_band` and `four_outcomes` U = k u, in the same unit, by which
    the tolerance shrinks (ILAC-G8:09/2019, 4.2.2 and 4.2.3); conditional passes are left out. None where no step
    lies inside, or U reaches the tolerance. `ValueError` for a step that is not positive, or as in `decide`.

    >>> [str(edge) for edge in passing_range(32, 2, 1)]
    ['30', '34']
    """
    middle, limit, grid = exact(reference), _not_negative(tolerance, "tolerance"), exact(step)
    if grid <= 0:
        raise ValueError("the step must be positive")
    taken = _not_negative(guard, "guard")
    if taken and taken >= limit:
        return None
    limit -= taken
    low, high = ceil((middle - limit) / grid) * grid, floor((middle + limit) / grid) * grid
    return (low, high) if low <= high else None


def _guard_band(distance: Fraction, limit: Fraction, expanded: Fraction) -> Outcome:
    if expanded >= limit:  # nothing can pass, yet what is out by more than U still fails
        return "fail" if distance - expanded > limit else "cannot_decide"
    if distance <= limit - expanded:
        return "pass"
    return "not_accepted" if distance <= limit else "fail"


def _four_outcomes(distance: Fraction, limit: Fraction, expanded: Fraction) -> Outcome:
    if distance <= limit - expanded:
        return "pass"
    if distance <= limit:
        return "conditional_pass"
    return "conditional_fail" if distance <= limit + expanded else "fail"


def _not_negative(number: Exact, name: str) -> Fraction:
    value = exact(number)
    if value < 0:
        raise ValueError(f"{name} must not be negative")
    return value
