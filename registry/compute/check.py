"""One check judged: from the readings and the reference to an offset, its uncertainty and an outcome.

Everything that enters is what the journal freezes, so that the same function judges when a check is recorded and
when the record is worked out again. Version 1 of the method.

The order is part of the method: the reference is rounded in the unit of the reading, the offset (the mean of the
readings minus that) stays exact, is brought to the tolerance's unit by exact fractions and compared there; only
what is written down is rounded, half-even, to 4 decimals.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import inf, sqrt
from statistics import stdev

from registry.compute.conformity import Outcome, Rule, decide, near_limit
from registry.compute.uncertainty import Component, combine
from registry.quantity import Exact, Reading, TemperatureDifference, exact, mean_difference

VERSION = 1

SHARED = frozenset(("bath", "pressure", "reference", "reference_drift", "stem", "emissivity"))
"""Uncertainty components that all checks of one site and method have in common; the others are new each time."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """What a check is judged from.

    readings: as typed, one or the first and its repeats, in one unit. exact: the reference, °C, 4 decimals.
    components: standard uncertainties for one reading, °C, by code. dof: where finite. bias: what this type is known
    to read beside the reference (an infrared reads low), °C; 0 for most. tolerance: in the rule's unit.
    """

    readings: tuple[Reading, ...]
    exact: Fraction
    components: Mapping[str, TemperatureDifference]
    tolerance: TemperatureDifference
    rule: Rule
    dof: Mapping[str, float]
    bias: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Judged:
    """The result: reference as shown; offset exact, u and U = k u rounded, all in the tolerance's unit."""

    reference: Reading
    offset: TemperatureDifference
    u: TemperatureDifference
    k: Decimal
    outcome: Outcome

    @property
    def expanded(self) -> TemperatureDifference:
        """U = k u, in the tolerance's unit."""
        return TemperatureDifference(Fraction(self.u.value) * Fraction(self.k), self.u.unit)


def judge(inputs: Inputs) -> Judged:
    """Judge one check. ValueError where there is no reading or readings are in two units.

    Source: JCGM 100:2008 (10) and (G.2b) for u and k, ILAC-G8:09/2019 4.2 for the outcome; the rounding is ours.

    >>> zero = TemperatureDifference.from_text("0.05 dC")
    >>> one = TemperatureDifference.from_text("1 dC")
    >>> judged = judge(Inputs((Reading.from_text("33.9 F"),), Fraction(0), {"bath": zero}, one, "simple", {}))
    >>> judged.reference.text(), str(judged.offset.value), judged.outcome
    ('32.0 F', '19/18', 'fail')
    """
    if not inputs.readings:
        raise ValueError("a check needs a reading")
    unit, rule_unit = inputs.readings[0].unit, inputs.tolerance.unit
    reference = Reading.from_celsius(inputs.exact + inputs.bias, unit)
    offset = mean_difference([reading - reference for reading in inputs.readings]).to(rule_unit)
    u, k = uncertainty(inputs.components, inputs.dof, len(inputs.readings), rule_unit)
    outcome = decide(_exact(offset), _exact(u), _exact(inputs.tolerance), inputs.rule, k)
    if outcome == "cannot_decide" and _each_outside(inputs, reference):
        outcome = "fail"
    return Judged(reference, offset, u, k, outcome)


def _each_outside(inputs: Inputs, reference: Reading) -> bool:
    """Whether repeats that count by their own scatter lie outside, each by itself: that scatter is no excuse."""
    count, limit = len(inputs.readings), _exact(inputs.tolerance)
    own_scatter = count > 1 and inputs.dof.get("repeatability") == count - 1
    offsets = (mean_difference([one - reference]).to(inputs.tolerance.unit) for one in inputs.readings)
    return own_scatter and all(abs(_exact(one)) > limit for one in offsets)


def uncertainty(
    components: Mapping[str, TemperatureDifference], dof: Mapping[str, float], readings: int, unit: str
) -> tuple[TemperatureDifference, Decimal]:
    """u in the rule's unit and k, both rounded half-even to 4 decimals as they are used.

    components: °C, for one reading; `repeatability` is divided by the root of the number of readings.
    """
    budget = tuple(
        Component(code, _in_budget(code, part, readings), dof.get(code, inf), shared=code in SHARED)
        for code, part in components.items()
    )
    combined = combine(budget)
    in_rule_unit = Fraction(str(combined.u)) * (Fraction(9, 5) if unit == "F" else 1)
    return written(in_rule_unit, "F" if unit == "F" else "C"), plain(combined.k)


def _in_budget(code: str, part: TemperatureDifference, readings: int) -> float:
    return float(part.value) / (sqrt(readings) if code == "repeatability" else 1.0)


def _exact(difference: TemperatureDifference) -> Fraction:
    return Fraction(difference.value)


def plain(number: Exact) -> Decimal:
    """Rounded half-even to 4 decimals, without trailing noughts: one value, one text.

    >>> str(plain(2.0)), str(plain(Fraction(1, 3))), str(plain(-0.00001))
    ('2', '0.3333', '0')
    """
    rounded = Decimal(round(exact(number) * 10**4)).scaleb(-4).normalize()
    return Decimal(f"{rounded + 0:f}")


def written(number: Exact, unit: str) -> TemperatureDifference:
    """A computed difference as it is used and written down (see `plain`)."""
    return TemperatureDifference(plain(number), "F" if unit == "F" else "C")


def beyond(readings: Sequence[Reading], references: Sequence[Fraction] = ()) -> list[Fraction]:
    """Each reading less the reference read beside it, °C; the readings themselves where all have one reference."""
    beside = references or [Fraction(0)] * len(readings)
    return [reading.celsius() - own for reading, own in zip(readings, beside, strict=True)]


def is_unsteady(
    readings: Sequence[Reading],
    repeatability: TemperatureDifference,
    deviations: Exact,
    references: Sequence[Fraction] = (),
) -> bool:
    """Whether repeats lie more than so many pooled standard deviations apart.

    repeatability: standard deviation of one reading, °C. deviations: how many, from judgement 3. references: °C, one
    for each reading where each was read beside its own.
    """
    if len(readings) < 2:
        return False
    shown = beyond(readings, references)
    return max(shown) - min(shown) > exact(deviations) * Fraction(repeatability.value)


def repeatability_shown(
    readings: Sequence[Reading],
    pooled: TemperatureDifference,
    dof: float,
    deviations: Exact,
    references: Sequence[Fraction] = (),
) -> tuple[TemperatureDifference, float]:
    """Standard deviation of one reading by which these are judged, °C, and its degrees of freedom.

    The pooled one, as long as the repeats agree with it: with so few readings their own scatter would make U grow by
    chance alone. Unsteady repeats (see `is_unsteady`) refute it for this check: then their own experimental standard
    deviation counts if it is larger, with one degree of freedom less than there are readings.
    Source: JCGM 100:2008 4.2.2 (4), G.3.3; that it counts from unsteady on is ours.

    >>> shown = [Reading.from_text(text) for text in ("1.2 C", "0.5 C", "1.2 C")]
    >>> u, dof = repeatability_shown(shown, TemperatureDifference.from_text("0.1 dC"), 50, 3)
    >>> u.text(), dof
    ('0.4041 dC', 2)
    """
    if not is_unsteady(readings, pooled, deviations, references):
        return pooled, dof
    own = written(stdev(map(float, beyond(readings, references))), "C")
    return (own, len(readings) - 1) if own.value > pooled.value else (pooled, dof)


def lead_word(
    outcome: str | None,
    offset: TemperatureDifference,
    tolerance: TemperatureDifference,
    share: Exact,
    unsteady: bool,
) -> str:
    """The one word for the kitchen lead, as a code; `outcome` None while the bath is not judged.

    offset, tolerance: in the rule's unit. share: of the tolerance, beyond which it is near its limit.
    """
    if outcome is None or outcome == "cannot_decide":
        return "waits"
    if outcome not in ("pass", "conditional_pass"):
        return "adjust_or_do_not_use"
    if unsteady:
        return "use_unsteady"
    near = outcome == "conditional_pass" or near_limit(_exact(offset), _exact(tolerance), share)
    return "use_near_limit" if near else "use"
