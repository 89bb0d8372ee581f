"""A kitchen's own figures as rows; the window and the command line say it alike."""

from decimal import Decimal
from math import isfinite

from registry.services.own_figures import Own
from registry.wording import format, say


def row(one: Own, language: str, region: str) -> list[str]:
    """What it is of, what stood, what was measured (°C), degrees of freedom, what it rests on."""
    of = "repeatability" if one.code.startswith("repeatability_") else "bath"
    what = one.code.removeprefix(f"{of}_")
    named = say(f"type.{what}", language) if of == "repeatability" else say(f"bath.{what}", language)
    sign = format.PLUS_MINUS if one.half_width else ""
    dof = (
        format.number(Decimal(int(one.found.dof)), region) if isfinite(one.found.dof) else say("budget.many", language)
    )
    return [
        say(f"own_figures.of.{of}", language, what=named),
        f"{sign}{format.number(round(one.before, 2), region)}{format.HARD_SPACE}°C",
        f"{sign}{format.number(round(one.value, 2), region)}{format.HARD_SPACE}°C",
        dof,
        say("own_figures.rests_on", language, count=one.found.readings, baths=one.found.baths),
    ]
