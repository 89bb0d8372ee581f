"""Walks through the days: everything that happens in the kitchens, in the order of time."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

from registry.services import checks, duelist, lists, rules, thermometers
from sample_db import mishaps, rounds
from sample_db.opening import add_certificate, enrol
from sample_db.scenario import MINUTE_US, Site
from sample_db.world import Happening, Kept, Kitchen, Visit, World

Progress = Callable[[float, date], None]
REFERENCE = "REF"
REPLACED_AFTER = timedelta(9)
FORGOTTEN, NOT_USED = 0.02, 0.05  # chances: that a shift ends without a check, that one is not used in it


def simulate(world: World, progress: Progress) -> None:
    """All that happens up to the scenario's end, in the order of time."""
    found = sorted(_all(world), key=lambda one: one.at)  # stable: what is told first comes first
    first, last = found[0].at, world.scenario.ends_at
    for one in found:
        if one.at < last:
            world.clock.reach(one.at)
            one.do(world, *one.about)
            progress((one.at - first) / (last - first), one.day)
    world.clock.reach(last)


def _all(world: World) -> Iterator[Happening]:
    """Everything that is known beforehand, in no order."""
    for said in world.scenario.certificates:
        day = max(said["issued"] + timedelta(7), world.scenario.first_day)
        if said["thermometer"] in world.kept:
            yield Happening(world.scenario.sites[0].at(day, "04:00"), day, add_certificate, (said,))
    turns_from = world.scenario.group["turns_from"]
    yield Happening(world.scenario.sites[0].at(turns_from, "03:00"), turns_from, _take_turns, (turns_from,))
    for kitchen in world.kitchens.values():
        for day in world.scenario.days:
            yield from _shifts_of(world, kitchen, day)
    for key in world.kept:
        yield from mishaps.bad_luck(world, key)
    for event in world.scenario.events:
        yield from mishaps.planted(world, event)


def _shifts_of(world: World, kitchen: Kitchen, day: date) -> Iterator[Happening]:
    for nth, shift in enumerate(kitchen.site.shifts):
        if day.weekday() in shift.weekdays:
            lead = kitchen.leads[(day.toordinal() // 2 + nth) % len(kitchen.leads)]
            visit = Visit(kitchen, shift, day, lead)
            late = kitchen.draw.randint(4, 25) * MINUTE_US
            yield Happening(kitchen.site.at(day, shift.start) + late, day, _visit, (visit,))
            if day >= world.scenario.group["closes_lists_from"]:
                yield Happening(kitchen.site.at(day, shift.end) - 10 * MINUTE_US, day, _close, (visit,))


def _take_turns(world: World, day: date) -> None:
    """From now on the plan asks for one more in each shift, by turns."""
    rules.set_plan(world.session, world.officer, world.scenario.group["plan"], day)


# --- a shift -------------------------------------------------------------------------------------------------


def _visit(world: World, visit: Visit) -> None:
    site = visit.kitchen.site
    if _skipped(world, visit):
        return
    _replace_what_is_out(world, visit)
    invented = world.scenario.planted("invented", site=site.key, day=visit.day)
    if invented and invented[0].numbers["shift"] == visit.shift.name:
        due = [one for one in _iced(world, site) if one.last_ice]
        mishaps.note_invented(world, invented[0], rounds.invent(world, visit, due))
        return
    due = _due_in_ice(world, visit)
    done = rounds.ice(world, visit, due) if due else []
    _boil(world, visit)
    _compare(world, visit)
    _house_reference(world, visit, {one.kept.key for one in done if one.row.judged.outcome == "pass"})


def _skipped(world: World, visit: Visit) -> bool:
    """Whether this shift ends without a check; never one for which something is planted."""
    site, planted = visit.kitchen.site.key, world.scenario.planted
    skips = planted("skips", site=site, day=visit.day)
    chance = sum((float(one.numbers["share"]) for one in skips), FORGOTTEN)
    drawn = visit.kitchen.draw.random() < chance
    return drawn and not any(planted(kind, site=site, day=visit.day) for kind in ("invented", "bad_bath"))


def _iced(world: World, site: Site) -> list[Kept]:
    return [one for one in world.at_site(site.key) if one.type in world.scenario.every]


def _due_in_ice(world: World, visit: Visit) -> list[Kept]:
    """What is due, and the sentinel; without turns one digital where nothing is due. All on the day of a bad bath."""
    here = _iced(world, visit.kitchen.site)
    if world.scenario.planted("bad_bath", site=visit.kitchen.site.key, day=visit.day):
        return here
    every = world.scenario.every
    due = [one for one in here if one.needs_check or (visit.day - one.checked_on).days >= every[one.type]]
    due = [one for one in due if one.needs_check or not _said_otherwise(world, visit, one)]
    if visit.day >= world.scenario.group["turns_from"]:
        return due + [one for one in _in_turn(world, visit, here) if one not in due]
    digital = [one for one in here if one.type.endswith("_probe")]
    return due or digital[visit.day.toordinal() % len(digital) :][:1]


def _in_turn(world: World, visit: Visit, here: list[Kept]) -> list[Kept]:
    """The sentinel of the shift, as the due list says it."""
    with world.session.reading() as connection:
        due = duelist.due_list(world.session, connection, visit.kitchen.id)
    turn = {one.row.thermometer for one in due if one.item.code == "sentinel" and one.item.state == "due"}
    return [one for one in here if one.id in turn]


def _said_otherwise(world: World, visit: Visit, kept: Kept) -> bool:
    """Now and then a thermometer is not used in a shift, and somebody says so."""
    if visit.kitchen.draw.random() >= NOT_USED:
        return False
    day = visit.day.isoformat()
    checks.not_checked(world.session, visit.actor, kept.id, visit.kitchen.id, visit.shift_id, day, "not_used")
    return True


def _boil(world: World, visit: Visit) -> None:
    here = [
        one for one in _iced(world, visit.kitchen.site) if "hot" in one.instrument.model.uses and one.key != REFERENCE
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
        if waited and kept.site == visit.kitchen.site.key and kept.key != REFERENCE:
            thermometers.set_status(world.session, world.officer, kept.id, "retired", why="outside")
            world.gone.append(kept)
            given = next(one for one in visit.kitchen.site.thermometers if one.key == kept.key)
            nth = sum(one.key == kept.key for one in world.gone)
            enrol(world, visit.kitchen.site.key, given, visit.day, nth)


def _close(world: World, visit: Visit) -> None:
    lists.close_list(world.session, visit.actor, visit.kitchen.id)
