"""What a thermometer must show so that food is surely at its limit, by all that its checks say.

The offset at the limit is the tracked one, on the day until which it must hold. The limit stands in the unit of the
dial, as its rule prints it; °C and °F are never converted one into the other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import hypot

from registry import resources
from registry.compute import correction
from registry.compute.check import written
from registry.compute.uncertainty import resolution
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.records.rules import Limit
from registry.resource_tables import InstrumentType
from registry.services.rules import RulesInForce
from registry.services.tracking import Tracked

COLD_SIDE = "at_most"
# Cooling needs time beside temperature, and a rinse is none of food.
LEFT_OUT = ("cooling", "dish_rinse")


@dataclass(frozen=True, slots=True)
class Known:
    """A class of point with a good check, and its reference temperature in the dial's unit."""

    where: str
    reference: Fraction


@dataclass(frozen=True, slots=True)
class Reach:
    """One limit and what this thermometer must show for it: at least or at most, by `side`.

    shown None: `missing` says why: the class of point that has no good check (ice_point, boiling_point,
    comparison_cold, comparison_hot), no_point (its type has none there), check_first, not_in_use, limited (to the
    other side) or off_its_scale.
    rests_on: the classes of point that have a good check. offset: predicted at the limit, u its standard uncertainty;
    parts: what that is made of, by code: tracked (with drift until then), shared, bend, resolution.
    """

    limit: str
    step: str
    food: str
    side: str
    at: Reading
    shown: Reading | None
    missing: str
    rests_on: tuple[str, ...] = ()
    offset: TemperatureDifference | None = None
    u: TemperatureDifference | None = None
    parts: tuple[tuple[str, TemperatureDifference], ...] = ()


def readings_to_reach(
    followed: Tracked,
    in_force: RulesInForce,
    known: Sequence[Known],
    unit: Unit,
    until: int,
    only: str | None = None,
) -> list[Reach]:
    """For each limit of food that the standing rules give in this unit; the cold side where the owner wants it.

    known: its good points. until: the instant up to which the readings have to hold, when it is checked again. only:
    cold or hot, where it is in limited use.
    """
    found = []
    for limit, step, food in _limits(in_force):
        text = limit.fahrenheit if unit == "F" else limit.celsius
        if text is not None and (limit.side != COLD_SIDE or in_force.group.cold_side):
            plain = Reach(limit.limit, step, food, limit.side, Reading.from_text(text), None, "")
            missing = _missing(followed, in_force, known, plain, only)
            found.append(
                replace(plain, missing=missing) if missing else _shown(followed, in_force, known, plain, until)
            )
    return found


def _limits(in_force: RulesInForce) -> list[tuple[Limit, str, str]]:
    """The limits with step and food, without those that stand instead of another."""
    shipped = {one.code.partition(".")[2]: one for one in resources.limits_for(in_force.group.jurisdiction)}
    return [
        (limit, one.step, one.food)
        for limit in in_force.limits.limits
        if (one := shipped.get(limit.limit)) is not None and not one.instead_of and one.step not in LEFT_OUT
    ]


def side_of(limit: Limit) -> correction.Side:
    return "at_most" if limit.side == COLD_SIDE else "at_least"


def _missing(followed: Tracked, in_force: RulesInForce, known: Sequence[Known], plain: Reach, only: str | None) -> str:
    """Why nothing can be said of a limit; empty where something can: near a good point, or between two."""
    of, at = followed.of, Fraction(plain.at.value)
    if of.row.service_status not in ("in_service", "limited_use"):
        return "check_first" if of.row.check_first else "not_in_use"
    if only is not None and (only == "cold") != (plain.side == COLD_SIDE):
        return "limited"
    near = Fraction(in_force.figure("correction.reach_from_point")) * _dc(plain.at.unit)
    points = [one.reference for one in known]
    between = bool(points) and min(points) <= at <= max(points)
    if not between and not any(abs(one - at) <= near for one in points):
        return _wanted(of.type, plain.at)
    return ""


def _shown(followed: Tracked, in_force: RulesInForce, known: Sequence[Known], plain: Reach, until: int) -> Reach:
    of, unit = followed.of, plain.at.unit
    celsius, degree = float(plain.at.celsius()), float(_dc(unit))
    tracked, step = followed.at(until, celsius), of.step_as_read(unit)
    two = len(known) > 1 and not of.type.digital  # two points cannot test that a dial's scale is straight
    parts = {
        "tracked": degree * tracked.sd,
        "shared": degree * followed.told.shared_at(celsius),
        "bend": degree * in_force.figure("correction.dial_bend") if two else 0.0,
        "resolution": resolution(float(step)),
    }
    offset, u = written(degree * tracked.offset, unit), written(hypot(*parts.values()), unit)
    side: correction.Side = "at_most" if plain.side == COLD_SIDE else "at_least"
    _, value = correction.reading_to_reach(plain.at.value, side, offset.value, u.value, step)
    scale = of.facts.scales[unit]
    if not Reading.from_text(scale.lowest).value <= value <= Reading.from_text(scale.highest).value:
        return replace(plain, missing="off_its_scale")
    return replace(
        plain,
        shown=Reading(value, unit),
        rests_on=tuple(one.where for one in known),
        offset=offset,
        u=u,
        parts=tuple((code, written(part, unit)) for code, part in parts.items() if part),
    )


def _dc(unit: Unit) -> Fraction:
    """What 1 °C of difference is in a unit."""
    return Fraction(9, 5) if unit == "F" else Fraction(1)


def _wanted(kind: InstrumentType, at: Reading) -> str:
    """Which check would help: a hot flask before boiling, ice before a cold flask."""
    hot: Mapping[str, str] = {"comparison": "comparison_hot", "boiling_point": "boiling_point"}
    cold: Mapping[str, str] = {"ice_point": "ice_point", "comparison": "comparison_cold"}
    fitting = hot if at.celsius() > 30 else cold
    return next((where for point, where in fitting.items() if kind.allowed(point)), "no_point")
