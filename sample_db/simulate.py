"""Walks through the days: everything that happens in the kitchens, in the order of time."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from registry.services import checks, incidents, lists, places, thermometers
from sample_db import physics, rounds
from sample_db.opening import add_certificate, enrol, new_site
from sample_db.scenario import DAY_US, Event, Site
from sample_db.world import Kept, Kitchen, Visit, World

Progress = Callable[[float, date], None]
REFERENCE = "REF"
REPLACED_AFTER = timedelta(9)
FORGOTTEN, NOT_USED, BATTERY_FLAT = 0.02, 0.05, 0.003  # chances: of a shift, of a thermometer
BATTERIES_A_YEAR = 0.8
MINUTE_US = 60_000_000


@dataclass(frozen=True)
class Happening:
    """Something at an instant; `nth` keeps the order of those at the same one."""

    at: int
    nth: int
    day: date
    do: Callable[[World], None]


def simulate(world: World, progress: Progress) -> None:
    found = [Happening(at, nth, day, do) for nth, (at, day, do) in enumerate(_all(world))]
    found.sort(key=lambda one: (one.at, one.nth))
    first, last = found[0].at, world.scenario.ends_at
    for one in found:
        if one.at < last:
            world.clock.reach(one.at)
            one.do(world)
            progress((one.at - first) / (last - first), one.day)
    world.clock.reach(last)


def _all(world: World) -> Iterator[tuple[int, date, Callable[[World], None]]]:
    """Every happening that is known beforehand, in no order."""
    for said in world.scenario.certificates:
        day = max(said["issued"] + timedelta(7), world.scenario.first_day)
        if said["thermometer"] in world.kept:
            yield world.scenario.sites[0].at(day, "04:00"), day, lambda world, said=said: add_certificate(world, said)
    for kitchen in world.kitchens.values():
        for day in world.scenario.days:
            for nth, shift in enumerate(kitchen.site.shifts):
                if day.weekday() in shift.weekdays:
                    visit = Visit(kitchen, shift, day, kitchen.leads[(day.toordinal() // 2 + nth) % len(kitchen.leads)])
                    late = kitchen.draw.randint(4, 25) * MINUTE_US
                    yield kitchen.site.at(day, shift.start) + late, day, lambda world, visit=visit: _visit(world, visit)
                    if day >= world.scenario.group["closes_lists_from"]:
                        ends = kitchen.site.at(day, shift.end) - 10 * MINUTE_US
                        yield ends, day, lambda world, visit=visit: _close(world, visit)
    for key in world.kept:
        yield from _bad_luck(world, key)
    for event in world.scenario.events:
        yield from _planted(world, event)


# --- a shift -------------------------------------------------------------------------------------------------


def _visit(world: World, visit: Visit) -> None:
    site, draw = visit.kitchen.site, visit.kitchen.draw
    skips = world.scenario.planted("skips", site=site.key, day=visit.day)
    if draw.random() < sum((float(one.numbers["share"]) for one in skips), FORGOTTEN):
        return
    _replace_what_is_out(world, visit)
    invented = world.scenario.planted("invented", site=site.key, day=visit.day)
    if invented and invented[0].numbers["shift"] == visit.shift.name:
        due = [one for one in _iced(world, site) if one.last_ice]
        _note_invented(world, invented[0], rounds.invent(world, visit, due))
        return
    due = _due_in_ice(world, visit)
    done = rounds.ice(world, visit, due) if due else []
    _boil(world, visit)
    _compare(world, visit)
    _house_reference(world, visit, {one.kept.key for one in done if one.row.judged.outcome == "pass"})


def _iced(world: World, site: Site) -> list[Kept]:
    return [one for one in world.at_site(site.key) if one.type in world.scenario.every]


def _due_in_ice(world: World, visit: Visit) -> list[Kept]:
    """What is due; nothing due, then one digital as a sentinel. All of it on the day of a bad bath."""
    here = _iced(world, visit.kitchen.site)
    if world.scenario.planted("bad_bath", site=visit.kitchen.site.key, day=visit.day):
        return here
    every = world.scenario.every
    due = [one for one in here if one.needs_check or (visit.day - one.checked_on).days >= every[one.type]]
    due = [one for one in due if one.needs_check or not _said_otherwise(world, visit, one)]
    digital = [one for one in here if one.type.endswith("_probe")]
    return due or digital[visit.day.toordinal() % len(digital) :][:1]


def _said_otherwise(world: World, visit: Visit, kept: Kept) -> bool:
    """Now and then a thermometer is not used in a shift, and somebody says so."""
    if visit.kitchen.draw.random() >= NOT_USED:
        return False
    day = visit.day.isoformat()
    checks.not_checked(world.session, visit.actor, kept.id, visit.kitchen.id, visit.shift_id, day, "not_used")
    return True


def _boil(world: World, visit: Visit) -> None:
    here = [
        one
        for one in _iced(world, visit.kitchen.site)
        if "hot" in one.instrument.model.uses and one.key != REFERENCE
    ]
    ages = {one.key: (visit.day - one.hot_on).days for one in here}
    if any(age >= world.scenario.every["hot"] for age in ages.values()):
        rounds.boil(world, visit, [one for one in here if ages[one.key] >= 30])


def _compare(world: World, visit: Visit) -> None:
    kitchen, month = visit.kitchen, visit.day.year * 12 + visit.day.month
    if visit.day.day < kitchen.site.compares_on or kitchen.compared_in == month or REFERENCE not in world.kept:
        return
    kitchen.compared_in = month
    reference = world.kept[REFERENCE]
    if reference.site != kitchen.site.key:
        station = kitchen.stations[kitchen.site.stations[0]]
        thermometers.move(world.session, world.officer, reference.id, kitchen.id, station)
        reference.site = kitchen.site.key
    if reference.in_use:
        rounds.compare(world, visit, reference)


def _house_reference(world: World, visit: Visit, passed: set[str]) -> None:
    """Once a month, where two good digitals have just passed."""
    month = visit.day.year * 12 + visit.day.month
    two = [one for one in world.at_site(visit.kitchen.site.key) if one.type == "rtd_probe" and one.key in passed]
    others = [one for one in world.at_site(visit.kitchen.site.key) if one.type == "thermocouple_probe"]
    if len(two) == 2 and others and visit.kitchen.house_in != month and REFERENCE not in passed:
        visit.kitchen.house_in = month
        rounds.house_reference(world, visit, two, others[:2])


def _replace_what_is_out(world: World, visit: Visit) -> None:
    for kept in list(world.kept.values()):
        waited = kept.out_on is not None and visit.day - kept.out_on >= REPLACED_AFTER
        if waited and kept.site == visit.kitchen.site.key:
            thermometers.set_status(world.session, world.officer, kept.id, "retired", why="outside")
            world.gone.append(kept)
            given = next(one for one in visit.kitchen.site.thermometers if one.key == kept.key)
            nth = sum(one.key == kept.key for one in world.gone)
            enrol(world, visit.kitchen.site.key, given, visit.day, nth)


def _close(world: World, visit: Visit) -> None:
    lists.close_list(world.session, visit.actor, visit.kitchen.id)


# --- what befalls a thermometer ------------------------------------------------------------------------------


def _bad_luck(world: World, key: str) -> Iterator[tuple[int, date, Callable[[World], None]]]:
    """Drops that were reported, and batteries changed."""
    kept, scenario = world.kept[key], world.scenario
    site, draw, n = world.kitchens[kept.site].site, world.chance("luck", key), len(scenario.days)
    for day in physics.happens_on(draw, n, kept.instrument.model.drops):
        step = physics.drop_step(draw)
        at = site.at(scenario.days[day], "11:00") + draw.randint(0, 120) * MINUTE_US
        yield at, scenario.days[day], lambda world, step=step: _drop(world, key, step, reported=True)
    if kept.type in ("thermistor_probe", "thermocouple_probe", "infrared"):
        for day in physics.happens_on(draw, n, BATTERIES_A_YEAR):
            at = site.at(scenario.days[day], "10:30")
            yield at, scenario.days[day], lambda world: _report(world, key, "battery_changed")


def _planted(world: World, event: Event) -> Iterator[tuple[int, date, Callable[[World], None]]]:
    """What the scenario plants at an instant; the rest works through the baths."""
    for key in event.thermometers:
        site = world.kitchens[world.kept[key].site].site
        at = site.at(event.from_day, event.numbers.get("at", "09:00"))
        if event.kind in ("unreported_drop", "reported_drop"):
            step, told = event.numbers["step"], event.kind == "reported_drop"
            yield at, event.from_day, lambda world, key=key, step=step, told=told: _drop(world, key, step, told)
        elif event.kind == "sensor_swapped":
            step = event.numbers["step"]
            yield at, event.from_day, lambda world, key=key, step=step: _swap_sensor(world, key, step)
        elif event.kind == "lost":
            yield at, event.from_day, lambda world, key=key: _lose(world, key)
    if event.kind == "barometer_mistyped" and event.site and event.to_day < world.scenario.last_day:
        kitchen = world.kitchens[event.site]
        put_right = kitchen.site.at(event.to_day, "16:00")
        yield put_right, event.to_day, lambda world: _put_barometer_right(world, kitchen)


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
    world.truth.add_event(
        "sensor_swapped", world.clock.at, world.clock.at, thermometers=[kept.id], step=step
    )


def _lose(world: World, key: str) -> None:
    _report(world, key, "lost")
    kept = world.kept[key]
    kept.in_use = False
    world.truth.add_event("lost", world.clock.at, world.clock.at, thermometers=[kept.id])


def _put_barometer_right(world: World, kitchen: Kitchen) -> None:
    places.change_site(world.session, world.officer, kitchen.id, new_site(kitchen.site, "household_sea_level"))


def _note_invented(world: World, event: Event, invented: list[str]) -> None:
    kitchen = world.kitchens[event.site or ""]
    at = world.clock.at
    world.truth.add_event("invented", at, at, site=kitchen.id, checks=invented)


# --- the truth of it -----------------------------------------------------------------------------------------


def tell_truth(world: World) -> None:
    """What was planted over a time, the food judged after a drop, and every thermometer's true state."""
    for event in world.scenario.events:
        if event.kind not in ("unreported_drop", "reported_drop", "sensor_swapped", "lost", "invented"):
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
    more: dict[str, object] = {key: value for key, value in event.numbers.items() if key not in ("shift", "at")}
    if event.kind == "wears_badly":
        more["thermometers"] = [
            one.id for one in (*world.gone, *world.kept.values()) if one.instrument.model.key == more["model"]
        ]
    elif event.thermometers:
        more["thermometers"] = [world.kept[key].id for key in event.thermometers]
    if event.site:
        more["site"] = world.kitchens[event.site].id
    more["baths"] = [
        bath for bath, said in world.truth.baths.items() if _shows(event, said, first, last, site, more)
    ]
    if event.kind == "wrong_elevation":
        more |= {"recorded": site.elevation, "true": site.true_elevation}
    world.truth.add_event(event.kind, site.at(first, "00:00"), site.at(last, "23:59"), **more)


def _shows(
    event: Event, bath: dict[str, object], first: date, last: date, site: Site, more: dict[str, object]
) -> bool:
    """Whether a bath is one in which the event shows."""
    if bath["site"] != more.get("site"):
        return False
    if event.kind in ("wrong_elevation", "barometer_mistyped"):
        at = int(str(bath["at"]))
        return bath["point"] == "boiling_point" and site.at(first, "00:00") <= at <= site.at(last, "23:59")
    planted = bath.get("planted")
    return isinstance(planted, list) and event.kind in planted and _near(bath, first, last, site)


def _near(bath: dict[str, object], first: date, last: date, site: Site) -> bool:
    return site.at(first, "00:00") <= int(str(bath["at"])) <= site.at(last, "23:59")


def _keys(site: Site) -> set[str]:
    return {one.key for one in site.thermometers}


def _food(world: World, kept: Kept, dropped_at: int) -> list[dict[str, object]]:
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
