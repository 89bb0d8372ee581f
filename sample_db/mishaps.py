"""What befalls thermometers and kitchens at an instant: by chance, or planted by the scenario."""

from collections.abc import Iterator

from registry.services import incidents, places
from sample_db import physics
from sample_db.opening import new_site
from sample_db.rounds import RUNS_ON_A_BATTERY
from sample_db.scenario import MINUTE_US, Event
from sample_db.world import Happening, Kitchen, World

BATTERIES_A_YEAR = 0.8


def bad_luck(world: World, key: str) -> Iterator[Happening]:
    """Drops that were reported, and batteries changed."""
    kept, scenario = world.kept[key], world.scenario
    site, draw, n = world.kitchens[kept.site].site, world.chance("luck", key), len(scenario.days)
    for day in physics.happens_on(draw, n, kept.instrument.model.drops):
        step = physics.drop_step(draw)
        at = site.at(scenario.days[day], "11:00") + draw.randint(0, 120) * MINUTE_US
        yield Happening(at, scenario.days[day], _drop, (key, step, True))
    if kept.type in RUNS_ON_A_BATTERY:
        for day in physics.happens_on(draw, n, BATTERIES_A_YEAR):
            at = site.at(scenario.days[day], "10:30")
            yield Happening(at, scenario.days[day], _report, (key, "battery_changed"))


def planted(world: World, event: Event) -> Iterator[Happening]:
    """What the scenario plants at an instant; the rest works through the baths."""
    for key in event.thermometers:
        site = world.kitchens[world.kept[key].site].site
        at = site.at(event.from_day, event.numbers.get("at", "09:00"))
        if event.kind in ("unreported_drop", "reported_drop"):
            about = (key, event.numbers["step"], event.kind == "reported_drop")
            yield Happening(at, event.from_day, _drop, about)
        elif event.kind == "sensor_swapped":
            yield Happening(at, event.from_day, _swap_sensor, (key, event.numbers["step"]))
        elif event.kind == "lost":
            yield Happening(at, event.from_day, _lose, (key,))
    if event.kind == "barometer_mistyped" and event.site and event.to_day < world.scenario.last_day:
        kitchen = world.kitchens[event.site]
        put_right = kitchen.site.at(event.to_day, "16:00")
        yield Happening(put_right, event.to_day, _put_barometer_right, (kitchen,))


def _drop(world: World, key: str, step: float, reported: bool) -> None:
    kept = world.kept[key]
    if not kept.in_use:
        return
    kept.instrument.jumps.append((world.clock.at, step, "dropped"))
    kind = "reported_drop" if reported else "unreported_drop"
    world.truth.add_event(kind, world.clock.at, world.clock.at, thermometers=[kept.id], step=round(step, 4))
    if reported:
        _report(world, key, "dropped")


def _report(world: World, key: str, what: str) -> None:
    kept = world.kept[key]
    if kept.in_use:
        actor = world.kitchens[kept.site].leads[0]
        concerned = incidents.report_incident(world.session, actor, kept.id, what).thermometers
        for one in world.kept.values():
            one.needs_check = one.needs_check or one.id in concerned


def _swap_sensor(world: World, key: str, step: float) -> None:
    kept = world.kept[key]
    kept.instrument.jumps.append((world.clock.at, step, "sensor_swapped"))
    world.truth.add_event("sensor_swapped", world.clock.at, world.clock.at, thermometers=[kept.id], step=step)


def _lose(world: World, key: str) -> None:
    _report(world, key, "lost")
    kept = world.kept[key]
    kept.in_use = False
    world.truth.add_event("lost", world.clock.at, world.clock.at, thermometers=[kept.id])


def _put_barometer_right(world: World, kitchen: Kitchen) -> None:
    places.change_site(world.session, world.officer, kitchen.id, new_site(kitchen.site, "household_sea_level"))


def note_invented(world: World, event: Event, invented: list[str]) -> None:
    kitchen = world.kitchens[event.site or ""]
    at = world.clock.at
    world.truth.add_event("invented", at, at, site=kitchen.id, checks=invented)
