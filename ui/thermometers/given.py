"""Scales as people give them: fields with what is usual for a type, and what was typed read back."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from registry import resources
from registry.quantity import Unit
from registry.resource_tables import InstrumentType, ScaleRange
from registry.services import typed
from registry.services.problems import Problem, Refused
from registry.services.thermometers import ScaleGiven
from registry.wording import format
from ui.desk import Desk
from ui.forms import Field

UNITS: tuple[Unit, Unit] = ("C", "F")
BOTH = "both"
PARTS = ("step", "range", "highest")  # `range` is the lowest: its problem names both ends


def units_of(chosen: str) -> tuple[Unit, ...]:
    """One scale or two, by what was chosen."""
    return UNITS if chosen == BOTH else ("F",) if chosen == "F" else ("C",)


def usual(kind: str, unit: Unit) -> ScaleRange | None:
    """The range and steps that a type usually has in a unit."""
    found = resources.instrument_types().get(kind)
    return next((one for one in found.ranges if one.low.endswith(f" {unit}")), None) if found else None


def offers(kind: str, unit: Unit, region: str) -> dict[str, str]:
    """Step, lowest and highest as they usually are, written as in the region."""
    found = usual(kind, unit)
    if found is None:
        return dict.fromkeys(PARTS, "")
    values = (found.steps[0], found.low, found.high)
    return {part: plain(text, region) for part, text in zip(PARTS, values, strict=True)}


def plain(text: str, region: str) -> str:
    """A figure to be typed over: the region's decimal mark, and a minus that a keyboard has."""
    return format.number(Decimal(text.split()[0]), region).replace(format.MINUS, "-").replace(format.HARD_SPACE, "")


def name(part: str, unit: Unit, units: tuple[Unit, ...]) -> str:
    """The first scale's fields are named as the services name them, so that what is wrong stands beside them."""
    return part if unit == units[0] else f"{unit}_{part}"


def scale_fields(
    desk: Desk, kind: str, units: tuple[Unit, ...], values: Mapping[str, str], hint_code: str = "enrol.usual_steps"
) -> list[Field]:
    fields = []
    for unit in units:
        found = usual(kind, unit)
        steps = "; ".join(plain(one, desk.region) for one in found.steps) if found else ""
        for part in PARTS:
            field = name(part, unit, units)
            hint = desk.say(hint_code, steps=steps) if part == "step" and steps else ""
            words = desk.say(f"enrol.{part}", unit=f"°{unit}")
            fields.append(Field(field, words, value=values.get(field, ""), hint=hint))
    return fields


def scales_given(values: Mapping[str, str], units: tuple[Unit, ...]) -> tuple[ScaleGiven, ...]:
    """Refused with every field that is not a figure."""
    found, problems = [], list[Problem]()
    for unit in units:
        names = [name(part, unit, units) for part in PARTS]
        try:
            found.append(_scale(values, names, unit))
        except Refused as refused:
            problems += refused.problems
    if problems:
        raise Refused(*problems)
    return tuple(found)


def _scale(values: Mapping[str, str], names: list[str], unit: Unit) -> ScaleGiven:
    empty = [Problem(one, "empty") for one in names if not values.get(one, "").strip()]
    if empty:
        raise Refused(*empty)
    step, lowest, highest = names
    return ScaleGiven(
        typed.difference(values[step], unit, step),
        typed.reading(values[lowest], unit, lowest),
        typed.reading(values[highest], unit, highest),
    )


def day_given(values: Mapping[str, str], field: str, today: date) -> date | None:
    """A day, or nothing."""
    return typed.day(values[field], today, field) if values.get(field, "").strip() else None


def type_of(code: str) -> InstrumentType:
    return resources.instrument_types()[code]
