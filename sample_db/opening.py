"""The first day: the group, its people, kitchens and thermometers, all through the services."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.quantity import Length, Reading, TemperatureDifference, Unit
from registry.records.rules import PlanSet
from registry.services import people, places, prices, rules, start, thermometers
from registry.services.session import Actor, Session
from registry.services.thermometers import NewThermometer, OutsideCertificate, PartGiven, ScaleGiven
from sample_db import physics
from sample_db.scenario import Given, Model, Scenario, Site, instant
from sample_db.truth import Truth
from sample_db.world import Clock, Kept, Kitchen, World


def open_world(home: Path, scenario: Scenario) -> World:
    """A new registry in `home` with everything of the scenario enrolled."""
    first_at = instant(scenario.first_day, "03:00", scenario.sites[0].zone)
    clock = Clock(first_at)
    group = scenario.group
    session, admin = start.first_start(
        home,
        start.FirstStart(
            group_name=group["name"],
            country=group["country"],
            administrator_name=group["administrator"][0],
            administrator_initials=group["administrator"][1],
            installation_name=group["installation"],
            plan=group["plan"],
        ),
        clock=clock,
        random=Random(f"{scenario.seed}/ids").randbytes,
        key=demo_key(scenario),
        demo=True,
    )
    officer = _person(session, admin, group["officer"], "officer")
    _person(session, admin, group["auditor"], "auditor")
    for scale, tolerance in group["owner_tolerance"].items():
        owner = TemperatureDifference.from_text(tolerance)
        rules.set_owner_tolerance(session, officer, scale, owner, scenario.first_day)
    _plan_without_turns(session, officer, scenario)
    world = World(scenario, session, clock, officer, {}, {}, Truth())
    for site in scenario.sites:
        world.kitchens[site.key] = _kitchen(world, admin, site)
    for site in scenario.sites:
        for given in site.thermometers:
            clock.forward(30)
            enrol(world, site.key, given, scenario.first_day)
    return world


def _plan_without_turns(session: Session, officer: Actor, scenario: Scenario) -> None:
    """The chosen plan as it stood before it had a check by turns."""
    plan = scenario.group["plan"]
    own = tuple(one for one in rules.shipped_plan(plan) if one.rule != "sentinel")
    with session.recording(officer, "officer") as entries:
        group = session.group(entries.connection).subject
        entries.replace(
            PlanSet(group=group, set=session.new_id(), plan=plan, rules=own, since=scenario.first_day.isoformat())
        )


def demo_key(scenario: Scenario) -> Ed25519PrivateKey:
    """The demo chain's key, which is public: anybody can work it out from the scenario, and should."""
    return Ed25519PrivateKey.from_private_bytes(sha256(scenario.key_from.encode()).digest())


def _person(session: Session, admin: Actor, named: list[str], role: str) -> Actor:
    person = people.add_person(session, admin, named[0], named[1], (role,))
    return Actor(person, frozenset((role,)))


def _kitchen(world: World, admin: Actor, site: Site) -> Kitchen:
    session, first_day = world.session, world.scenario.first_day
    made = places.add_site(session, world.officer, new_site(site))
    return Kitchen(
        site,
        made,
        {name: places.add_station(session, world.officer, made, name) for name in site.stations},
        {
            shift.name: places.add_shift(
                session, world.officer, made, shift.name, shift.start, shift.end, shift.weekdays, first_day
            )
            for shift in site.shifts
        },
        [_person(session, admin, list(named), "lead") for named in site.leads],
        physics.sea_level_pressures(world.scenario.seed, site.key, len(world.scenario.days)),
        world.chance("kitchen", site.key),
    )


def new_site(site: Site, pressure_source: str = "") -> places.NewSite:
    source = pressure_source or site.pressure_source
    return places.NewSite(site.name, site.letters, site.zone, Length.from_text(site.elevation), source, site.address)


# --- thermometers --------------------------------------------------------------------------------------------


def enrol(world: World, site: str, given: Given, day: date, nth: int = 0) -> Kept:
    """Enrol a thermometer with its true state; `nth` counts those that bore this place's key before."""
    scenario, kitchen = world.scenario, world.kitchens[site]
    model = scenario.models[given.model]
    meter = world.kept.get(given.shares_meter_of or "")
    new = _new(model, kitchen, given, day, nth, _indicator_of(world, meter))
    if model.price and all(one.instrument.model.key != model.key for one in (*world.kept.values(), *world.gone)):
        new = replace(new, price=prices.read(model.price, ""))
    made = thermometers.enrol(world.session, world.officer, new)
    with world.session.reading() as connection:
        known = thermometers.thermometer(connection, made)
    days = (scenario.last_day - day).days + 1
    step = known.step_as_read("F" if model.unit == "F" else "C")
    offset = _planted_offset(scenario, given.key) if nth == 0 else None
    name = f"{given.key}+{nth}"
    true = physics.make_instrument(scenario.seed, name, model, step, world.clock.at, days, offset)
    # As if checked on one of the last days, so that a week's checks don't all fall on one.
    staggered = timedelta(len(world.kept) * 3 % 5)
    kept = Kept(given.key, made, known.tag_id, site, given.station, true, day - staggered, day - timedelta(78))
    world.kept[given.key] = kept
    return kept


def _indicator_of(world: World, meter: Kept | None) -> str | None:
    if meter is None:
        return None
    with world.session.reading() as connection:
        parts = thermometers.thermometer(connection, meter.id).parts
    return parts.indicator if parts else None


def _new(model: Model, kitchen: Kitchen, given: Given, day: date, nth: int, indicator: str | None) -> NewThermometer:
    serial = f"{given.key}-{model.model[:2].upper().strip()}{1000 + 7 * len(given.key) + nth}"
    return NewThermometer(
        model.type,
        tuple(_scale(unit, *said) for unit, said in model.scales.items()),
        kitchen.id,
        station=kitchen.stations[given.station],
        uses=model.uses,
        whole=PartGiven(model.maker, model.model, serial),
        sensor=PartGiven(model.maker, model.sensor_model, f"{serial}-S") if model.sensor_model else None,
        adjusts=model.adjusts,
        waterproof=model.type.endswith("_probe"),
        in_use_since=day,
        indicator=indicator,
    )


def _scale(unit: str, step: str, lowest: str, highest: str) -> ScaleGiven:
    return ScaleGiven(TemperatureDifference.from_text(step), Reading.from_text(lowest), Reading.from_text(highest))


def _planted_offset(scenario: Scenario, key: str) -> float | None:
    """How far one is off from the start, where something planted needs it."""
    for swap in scenario.planted("label_swap"):
        if key in swap.thermometers:
            return float(swap.numbers["offsets"][swap.thermometers.index(key)])
    return None


def add_certificate(world: World, said: Any) -> None:
    """An outside certificate, from a laboratory that finds the true corrections to within its uncertainty."""
    kept = world.kept[said["thermometer"]]
    draw, unit = world.chance("certificate", said["number"]), kept.instrument.model.unit
    expanded = TemperatureDifference.from_text(said["expanded"])
    points = []
    for text in said["points"]:
        at = Reading.from_text(text)
        true = kept.instrument.true_offset(world.clock.at, float(at.celsius()))
        found = Decimal(str(round(-true + draw.gauss(0, float(expanded.value) / 4), 2)))
        points.append((at, TemperatureDifference(found, _unit(unit)), expanded, Decimal(2)))
    thermometers.add_outside_certificate(
        world.session,
        world.officer,
        kept.id,
        OutsideCertificate(
            said["number"],
            said["issuer"],
            said["issued"],
            tuple(points),
            said["due"],
            TemperatureDifference.from_text(said["drift_allowance"]),
        ),
    )


def _unit(text: str) -> Unit:
    return "F" if text == "F" else "C"
