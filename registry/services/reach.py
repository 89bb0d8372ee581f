"""What a thermometer must show so that food is surely at its limit, as far as its last good checks can say.

Drift until the next check is not counted yet. The limit stands in the unit of the dial, as its rule prints it; °C and
°F are never converted one into the other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, hypot

from registry import resources
from registry.compute.uncertainty import resolution
from registry.quantity import Reading, Unit, exact
from registry.records.rules import Limit
from registry.resource_tables import InstrumentType
from registry.services.rules import RulesInForce
from registry.services.thermometers import Thermometer

ONE_SIDED = 1.645  # normal quantile for 95 %, one-sided
COLD_SIDE = "at_most"
# Cooling needs time beside temperature, and a rinse is none of food.
LEFT_OUT = ("cooling", "dish_rinse")


@dataclass(frozen=True, slots=True)
class Known:
    """A class of point with a good check: reference, offset and u in the dial's unit."""

    where: str
    reference: Fraction
    offset: Fraction
    u: float


@dataclass(frozen=True, slots=True)
class Reach:
    """One limit and what this thermometer must show for it: at least or at most, by `side`.

    shown None: `missing` says why: the class of point that has no good check (ice_point, boiling_point,
    comparison_cold, comparison_hot), no_point (its type has none there), check_first, not_in_use or off_its_scale.
    rests_on: the classes of point that it was worked out from.
    """

    limit: str
    step: str
    food: str
    side: str
    at: Reading
    shown: Reading | None
    missing: str
    rests_on: tuple[str, ...] = ()


def readings_to_reach(of: Thermometer, in_force: RulesInForce, known: Sequence[Known], unit: Unit) -> list[Reach]:
    """For each limit of food that the standing rules give in this unit; the cold side where the owner wants it."""
    found = []
    for limit, step, food in _limits(in_force):
        text = limit.fahrenheit if unit == "F" else limit.celsius
        if text is not None and (limit.side != COLD_SIDE or in_force.group.cold_side):
            at = Reading.from_text(text)
            shown, missing, rests_on = _one(of, in_force, known, at, limit.side)
            found.append(Reach(limit.limit, step, food, limit.side, at, shown, missing, rests_on))
    return found


def _limits(in_force: RulesInForce) -> list[tuple[Limit, str, str]]:
    """The limits with step and food, without those that stand instead of another."""
    shipped = {one.code.partition(".")[2]: one for one in resources.limits_for(in_force.group.jurisdiction)}
    return [
        (limit, one.step, one.food)
        for limit in in_force.limits.limits
        if (one := shipped.get(limit.limit)) is not None and not one.instead_of and one.step not in LEFT_OUT
    ]


def _one(
    of: Thermometer, in_force: RulesInForce, known: Sequence[Known], at: Reading, side: str
) -> tuple[Reading | None, str, tuple[str, ...]]:
    if of.row.service_status not in ("in_service", "limited_use"):
        return None, "check_first" if of.row.check_first else "not_in_use", ()
    near = Fraction(in_force.figure("correction.reach_from_point")) * _dc(at.unit)
    limit = Fraction(at.value)
    fitting = [one for one in known if abs(one.reference - limit) <= near]
    if not fitting and len(known) < 2:
        return None, _wanted(of.type, at), ()
    offset, u, rests_on = predicted(known if len(known) > 1 else fitting, limit, float(of.type.scale_share.value))
    if not of.type.digital and len(rests_on) > 1:
        u = hypot(u, in_force.figure("correction.dial_bend") * float(_dc(at.unit)))
    step = of.step_as_read(at.unit)
    _, shown = reading_to_reach(at, side, offset, hypot(u, resolution(float(step))), step)
    scale = of.facts.scales[at.unit]
    if not Reading.from_text(scale.lowest).value <= shown.value <= Reading.from_text(scale.highest).value:
        return None, "off_its_scale", ()
    return shown, "", rests_on


def predicted(known: Sequence[Known], limit: Fraction, share: float) -> tuple[Fraction, float, tuple[str, ...]]:
    """The offset at a limit, its u, and what it rests on: a line between two points, else the nearest one.

    u: the larger of theirs with `share` of the distance to the nearest, since a scale need not be straight.
    """
    nearest = min(known, key=lambda one: abs(one.reference - limit))
    away = share * float(abs(nearest.reference - limit))
    below = max((one for one in known if one.reference <= limit), key=lambda one: one.reference, default=None)
    above = min((one for one in known if one.reference > limit), key=lambda one: one.reference, default=None)
    if below is None or above is None:
        return nearest.offset, hypot(nearest.u, away), (nearest.where,)
    weight = (limit - below.reference) / (above.reference - below.reference)
    offset = below.offset + weight * (above.offset - below.offset)
    return offset, hypot(max(below.u, above.u), away), (below.where, above.where)


def reading_to_reach(limit: Reading, side: str, offset: Fraction, u: float, step: Decimal) -> tuple[Fraction, Reading]:
    """The reading for which a limit is met with 95 % probability, unrounded, and the next step on the safe side.

    offset, u, step: in the limit's unit. The second is never looser than the limit itself.
    """
    margin = exact(ONE_SIDED * u)
    at_least = side != COLD_SIDE
    unrounded = Fraction(limit.value) + offset + (margin if at_least else -margin)
    steps = unrounded / Fraction(step)
    rounded = (ceil(steps) if at_least else floor(steps)) * step
    tighter = max(rounded, limit.value) if at_least else min(rounded, limit.value)
    return unrounded, Reading(_as_shown(tighter, step), limit.unit)


def _as_shown(value: Decimal, step: Decimal) -> Decimal:
    """With as many decimals as the step has, or as the limit needs."""
    places = min(int(step.normalize().as_tuple().exponent), int(value.normalize().as_tuple().exponent), 0)
    return value.quantize(Decimal(1).scaleb(places))


def _dc(unit: Unit) -> Fraction:
    """What 1 °C of difference is in a unit."""
    return Fraction(9, 5) if unit == "F" else Fraction(1)


def _wanted(kind: InstrumentType, at: Reading) -> str:
    """Which check would help: a hot flask before boiling, ice before a cold flask."""
    hot: Mapping[str, str] = {"comparison": "comparison_hot", "boiling_point": "boiling_point"}
    cold: Mapping[str, str] = {"ice_point": "ice_point", "comparison": "comparison_cold"}
    fitting = hot if at.celsius() > 30 else cold
    return next((where for point, where in fitting.items() if kind.allowed(point)), "no_point")
