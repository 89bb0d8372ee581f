"""What is known of one thermometer: its facts, the points it is covered at, and what it must show for food."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from registry.quantity import Reading, TemperatureDifference
from registry.services.reach import COLD_SIDE, Reach
from registry.services.session import day_at
from registry.services.thermometer_page import PointCovered, ThermometerPage
from registry.services.thermometers import Thermometer
from registry.wording import format
from ui.desk import Desk

Row = tuple[str, str]
WHERE = {"ice_point": "point.ice_point", "boiling_point": "point.boiling_point"}


def facts(desk: Desk, page: ThermometerPage) -> Iterator[Row]:
    """Labels with what is so, the known ones only."""
    found = (
        ("type", desk.say(f"type.{page.of.type.code}")),
        *_made(page.of),
        ("shows", "\n".join(scales(desk, page.of))),
        ("limit", limit(desk, page)),
        ("rule", desk.say(f"thermometers.decision.{page.decision}")),
        ("checked", "\n".join(_wants(desk, page))),
        ("uses", _uses(desk, page)),
        ("adjusts", desk.say(f"thermometers.adjusts.{page.of.facts.adjusts}") if page.of.facts.adjusts else ""),
        ("waterproof", desk.say("thermometers.yes") if page.of.facts.waterproof else ""),
        ("in_use_since", _day(desk, page.of.facts.in_use_since)),
        ("condition", page.of.facts.condition or ""),
        ("price", format.money(page.of.facts.price, desk.region) if page.of.facts.price else ""),
        ("outside_certificate", _outside(desk, page.of)),
        *((f"shares_{part}", ", ".join(tags)) for part, tags in page.shares),
    )
    for name, value in found:
        if value:
            yield desk.say(f"thermometers.fact.{name}"), value


def _made(of: Thermometer) -> list[Row]:
    """Maker, model and serial of the whole, or of indicator and sensor where it has parts."""
    if of.sensor is None:
        return [("maker", " ".join(one for one in (of.maker, of.model) if one)), ("serial", of.serial)]
    parts = [("indicator", of.indicator), ("sensor", of.sensor)]
    return [
        (name, ", ".join(one for one in (part.maker, part.model, part.serial) if one)) for name, part in parts if part
    ]


def scales(desk: Desk, of: Thermometer) -> list[str]:
    return [
        desk.say(
            "thermometers.scale",
            step=step(desk, one.step),
            lowest=desk.temperature(Reading.from_text(one.lowest)),
            highest=desk.temperature(Reading.from_text(one.highest)),
        )
        for one in of.facts.scales.values()
    ]


def step(desk: Desk, text: str) -> str:
    found = TemperatureDifference.from_text(text)
    return f"{format.number(Decimal(text.split()[0]), desk.region)}{format.HARD_SPACE}°{found.unit}"


def limit(desk: Desk, page: ThermometerPage) -> str:
    """The permitted offset, and how the scale has to be marked for it."""
    if page.tolerance is None:
        return desk.say("thermometers.no_limit")
    stated = TemperatureDifference.from_text(page.tolerance.tolerance)
    words = format.limit(stated.to(page.unit), desk.region)
    if stated.unit != page.unit:
        words = desk.say("thermometers.limit_stated", limit=words, stated=format.limit(stated, desk.region))
    return desk.say("thermometers.limit_of", limit=words, source=page.tolerance.source)


def _uses(desk: Desk, page: ThermometerPage) -> str:
    """What it is for; where its use is limited, to what."""
    uses = set(page.of.facts.uses)
    words = desk.say(f"thermometers.uses.{'both' if len(uses) == 2 else next(iter(uses), 'both')}")
    if page.only is None:
        return words
    return desk.say("thermometers.uses_limited", uses=words, limited=desk.say(f"thermometers.limited.{page.only}"))


def _wants(desk: Desk, page: ThermometerPage) -> Iterator[str]:
    """What the recheck plan asks for at set times; what follows events goes without saying."""
    for rule in page.owed.wants:
        point = desk.say(f"point.{rule.point}") if rule.point else desk.say("thermometers.any_point")
        if rule.code == "each_shift":
            yield desk.say("thermometers.wants.each_shift", point=point)
        elif rule.code == "every_days" and rule.days is not None:
            yield desk.say("thermometers.wants.every_days", count=rule.days, point=point)
        elif rule.code == "sentinel":
            yield desk.say("thermometers.wants.sentinel")
        elif rule.code == "hot_point":
            yield desk.say("thermometers.wants.hot_point", count=rule.days or 90)


def _day(desk: Desk, text: str | None) -> str:
    return desk.day(date.fromisoformat(text)) if text else ""


def _outside(desk: Desk, of: Thermometer) -> str:
    one = of.outside_certificate
    if one is None:
        return ""
    known = {"number": one.certificate_number, "issuer": one.issuer}
    if one.due is None:
        return desk.say("thermometers.outside", **known)
    return desk.say("thermometers.outside_until", **known, day=_day(desk, one.due))


# --- points covered ------------------------------------------------------------------------------------------


def point_words(desk: Desk, where: str) -> str:
    return desk.say(WHERE.get(where, f"thermometers.where.{where}"))


def good(desk: Desk, point: PointCovered, zone: str) -> str:
    """When it was last good at this class of point."""
    if point.good_at is not None:
        return desk.day(day_at(point.good_at, zone))
    if not point.allowed:
        return desk.say("thermometers.not_its_point")
    return desk.say("thermometers.never_good" if point.last_at else "thermometers.never_checked")


def due(desk: Desk, point: PointCovered) -> str:
    return desk.day(point.due) if point.due is not None and point.allowed else ""


# --- readings to be sure -------------------------------------------------------------------------------------


def same_for_all(reach: tuple[Reach, ...]) -> str:
    """Why none can be said, where it is one reason for all; else nothing."""
    reasons = {one.missing for one in reach}
    return next(iter(reasons)) if len(reasons) == 1 else ""


def reach_rows(desk: Desk, page: ThermometerPage) -> list[tuple[str, str, str, str]]:
    """What is done with which food, the food's limit, and what this one must show, or why that is not known."""
    groups: dict[tuple[object, ...], list[Reach]] = {}
    for one in page.reach:
        groups.setdefault((one.step, one.side, one.at.text(), one.shown, one.missing), []).append(one)
    rows = []
    for some in groups.values():
        first = some[0]
        foods = " · ".join(desk.say(f"food.{one.food}") for one in some)
        side = "at_most" if first.side == COLD_SIDE else "at_least"
        of_food = desk.say(f"thermometers.food_{side}", temperature=desk.temperature(first.at))
        if first.shown is not None:
            shows = desk.say(f"thermometers.shows_{side}", temperature=desk.temperature(first.shown))
        else:
            shows = desk.say(f"thermometers.missing.{first.missing}")
        rows.append((desk.say(f"step.{first.step}"), foods, of_food, shows))
    return rows
