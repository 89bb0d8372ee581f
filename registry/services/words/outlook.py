"""How a thermometer stands and which way it goes, as sentences; the window, the command line and paper say it alike."""

from datetime import date
from decimal import Decimal

from registry.quantity import Reading, Unit
from registry.services.outlook import AtPoint, Outlook
from registry.wording import format, say

SOON_DAYS = 60  # a day farther off is told by its month


def sentences(found: Outlook, language: str, region: str, today: date) -> list[str]:
    """One plain sentence of where it goes, then what is known today at its worst point, then at the others.

    A chance is told where a rule gives a tolerance; a day within two years at most.
    """
    if found.says == "never" or found.offset is None or found.expanded is None:
        return [say("outlook.never", language)]
    known = say(
        "outlook.known",
        language,
        count=found.checks,
        offset=format.offset(found.offset, region, 2),
        expanded=format.expanded(found.expanded, region),
        at=at_point(found.kind, found.celsius, found.unit, language, region),
    )
    told = [_where_it_goes(found, language, region, today), known]
    if found.points and (out := found.points[0].out) is not None:
        told.append(say("outlook.chance", language, chance=chance(out, language, region)))
    told += [_elsewhere(one, found.unit, language, region) for one in found.points[1:]]
    return [one for one in told if one]


def _elsewhere(one: AtPoint, unit: Unit, language: str, region: str) -> str:
    """Of a point that is not the worst."""
    if one.offset is None or one.expanded is None:
        return ""
    return say(
        "outlook.elsewhere" if one.out is None else "outlook.elsewhere_chance",
        language,
        offset=format.offset(one.offset, region, 2),
        expanded=format.expanded(one.expanded, region),
        at=at_point(one.kind, one.celsius, unit, language, region),
        chance=chance(one.out or 0.0, language, region),
    )


def at_point(kind: str, celsius: float, unit: Unit, language: str, region: str) -> str:
    """Where it was checked, within a sentence. kind: the bath's point, empty where that was imported."""
    return say(f"outlook.at.{kind or 'imported'}", language, about=_about(celsius, unit, region))


def point(kind: str, celsius: float, unit: Unit, language: str, region: str) -> str:
    """The same in few words, for a row."""
    return say(f"outlook.point.{kind or 'imported'}", language, about=_about(celsius, unit, region))


def _about(celsius: float, unit: Unit, region: str) -> str:
    """A temperature in whole degrees."""
    degrees = round(celsius * 9 / 5 + 32 if unit == "F" else celsius)
    return format.temperature(Reading(Decimal(degrees), unit), region)


def _where_it_goes(found: Outlook, language: str, region: str, today: date) -> str:
    at = _where_soonest(found, language, region)
    if found.says in ("failed", "out", "unsettled"):
        return say(f"outlook.{found.says}", language, at=at)
    rate = format.offset(found.a_month, region, 2) if found.a_month else ""
    when = by_when(found.out_on, language, today)
    if found.out_on is not None and found.out_on <= today:
        return say(f"outlook.{found.says}_now", language, rate=rate, at=at)
    code = f"outlook.{found.says}_by" if when else f"outlook.{found.says}"
    return say(code, language, rate=rate, when=when, at=at)


def _where_soonest(found: Outlook, language: str, region: str) -> str:
    """The point where it may be out first; the worst of those that may be out on that day."""
    first = next(one for one in found.points if one.out_on == found.out_on)
    return at_point(first.kind, first.celsius, found.unit, language, region)


def rests_on(found: Outlook, language: str) -> str:
    """What is known of how such a one drifts."""
    if not found.alike:
        return say("outlook.of_its_type", language)
    return say("outlook.learned", language, count=found.alike)


def by_when(out_on: date | None, language: str, today: date) -> str:
    """A day that is near as day and month, one farther off as month and year; nothing beyond two years."""
    from babel.dates import format_skeleton

    if out_on is None or (out_on - today).days > 730:
        return ""
    near = (out_on - today).days <= SOON_DAYS
    return format_skeleton("MMMMd" if near else "yMMMM", out_on, locale=language).replace(" ", format.HARD_SPACE)


def chance(share: float, language: str, region: str) -> str:
    """A chance as people read it: whole per cent, and no more exact than it is known."""
    if share < 0.01:
        return say("outlook.under_one", language)
    if share > 0.99:
        return say("outlook.over_99", language)
    return say("outlook.percent", language, percent=format.number(Decimal(round(100 * share)), region))
