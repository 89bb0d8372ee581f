"""A kitchen's own figures as rows; the window and the command line say it alike."""

from decimal import Decimal
from math import inf

from registry.records.rules import Figure
from registry.services.own_figures import Own
from registry.wording import format, say

MANY = 1000  # degrees of freedom that change no digit


def row(one: Own, language: str, region: str) -> list[str]:
    """What it is of, what stood, what was measured (°C), degrees of freedom, what it rests on."""
    return [
        _named(one.code, language),
        _value(one.code, one.before, region),
        _value(one.code, one.value, region),
        _dof(one.found.dof, language, region),
        say("own_figures.rests_on", language, count=one.found.readings, baths=one.found.baths),
    ]


def standing(code: str, one: Figure, language: str, region: str) -> list[str]:
    """One in force: what it is of, its value, °C, and its degrees of freedom."""
    return [
        _named(code, language),
        _value(code, Decimal(one.value), region),
        _dof(float(one.dof or inf), language, region),
    ]


def _of(code: str) -> str:
    return "repeatability" if code.startswith("repeatability_") else "bath"


def _named(code: str, language: str) -> str:
    of = _of(code)
    what = code.removeprefix(f"{of}_")
    named = say(f"type.{what}", language) if of == "repeatability" else say(f"bath.{what}", language)
    return say(f"own_figures.of.{of}", language, what=named)


def _value(code: str, value: Decimal, region: str) -> str:
    """A bath's is half the width of all that it may be off."""
    sign = format.PLUS_MINUS if _of(code) == "bath" else ""
    return f"{sign}{format.number(round(value, 2), region)}{format.HARD_SPACE}°C"


def _dof(dof: float, language: str, region: str) -> str:
    return format.number(Decimal(int(dof)), region) if dof < MANY else say("budget.many", language)
