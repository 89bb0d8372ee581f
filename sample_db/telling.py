"""Gathers the truth when all has happened: planted events with their ids, food, every true state."""

from datetime import date
from typing import Any

from sample_db.scenario import DAY_US, MINUTE_US, Event, Site
from sample_db.world import Kept, World

WRONG_PRESSURE = ("wrong_elevation", "barometer_mistyped")
SHOWS_IN_BATHS = (*WRONG_PRESSURE, "bad_bath", "warm_habit")
TOLD_WHEN_THEY_HAPPEN = ("unreported_drop", "reported_drop", "sensor_swapped", "lost", "invented")


def tell_truth(world: World) -> None:
    """What was planted over a time, the food judged after a drop, and every thermometer's true state."""
    for event in world.scenario.events:
        if event.kind not in TOLD_WHEN_THEY_HAPPEN:
            _tell(world, event)
    bearers = [*world.gone, *world.kept.values()]
    for told in world.truth.events:
        if told["kind"] == "unreported_drop":
            (kept,) = (one for one in bearers if one.id == told["thermometers"][0])
            told["food"] = _food(world, kept, told["from_at"])
    for kept in bearers:
        world.truth.add_thermometer(kept.id, kept.tag, kept.key, kept.instrument)


def _tell(world: World, event: Event) -> None:
    site = world.kitchens[event.site].site if event.site else world.scenario.sites[0]
    if event.thermometers:
        site = next(one for one in world.scenario.sites if event.thermometers[0] in _keys(one))
    first, last = max(event.from_day, world.scenario.first_day), min(event.to_day, world.scenario.last_day)
    more: dict[str, Any] = {key: value for key, value in event.numbers.items() if key not in ("shift", "at")}
    if event.kind == "wears_badly":
        more["thermometers"] = [
            one.id for one in (*world.gone, *world.kept.values()) if one.instrument.model.key == more["model"]
        ]
    elif event.thermometers:
        more["thermometers"] = [_bearer(world, key, site.at(first, "12:00")) for key in event.thermometers]
    if event.site:
        more["site"] = world.kitchens[event.site].id
    if event.kind in SHOWS_IN_BATHS:
        told = world.truth.baths.items()
        more["baths"] = [bath for bath, said in told if _shows(event, said, first, last, site)]
    if event.kind == "wrong_elevation":
        more |= {"recorded": site.elevation, "true": site.true_elevation}
    world.truth.add_event(event.kind, site.at(first, "00:00"), site.at(last, "23:59"), **more)


def _shows(event: Event, bath: dict[str, Any], first: date, last: date, site: Site) -> bool:
    """Whether a bath is one in which the event shows: any boil with a wrong pressure, else what it was planted in."""
    if event.kind not in bath.get("planted", ()) and event.kind not in WRONG_PRESSURE:
        return False
    then = site.at(first, "00:00") <= bath["at"] <= site.at(last, "23:59")
    at_point = event.kind not in WRONG_PRESSURE or bath["point"] == "boiling_point"
    here: bool = bath["site_key"] == site.key
    return then and at_point and here


def _bearer(world: World, key: str, at: int) -> str:
    """The thermometer that had this place in the scenario then; later ones took it over."""
    there = [one for one in (*world.gone, *world.kept.values()) if one.key == key and one.instrument.first_at <= at]
    return max(there, key=lambda one: one.instrument.first_at).id


def _keys(site: Site) -> set[str]:
    return {one.key for one in site.thermometers}


def _food(world: World, kept: Kept, dropped_at: int) -> list[dict[str, Any]]:
    """Chicken judged between a drop and the next check: what it was, and what the thermometer showed."""
    draw = world.chance("food", kept.key)
    checked_at = min((at for at in kept.checked_at if at > dropped_at), default=world.clock.at)
    found, at = [], dropped_at + 40 * MINUTE_US
    while at < checked_at:
        true_c = draw.gauss(74.5, 1.2)
        shown = kept.instrument.shows(true_c, at).text()
        found.append({"at": at, "true_c": round(true_c, 2), "shown": shown, "must_reach": "165 F"})
        at += DAY_US // 3
    return found
