"""What people do at a shift: ice, now and then a boil, once a month the reference thermometer."""

from collections.abc import Sequence

from registry.compute.atmosphere import PressureSource
from registry.quantity import Pressure, Reading
from registry.services import baths, checks
from registry.services.baths import NewBath
from sample_db import physics
from sample_db.bath_side import Bath, Done, finish, given_in, make, noted, pair, read
from sample_db.world import Kept, Visit, World

WALK_IN_C, FLASK_C = (3.0, 4.5), (62.0, 74.0)
NEAR_ITS_USE_C = {"oven": 165.0, "fry": 172.0, "candy": 116.0}
RUNS_ON_A_BATTERY = ("thermistor_probe", "thermocouple_probe", "infrared")
BATTERY_FLAT = 0.003  # chance in a bath
IN_THE_FLASK = ("roast", "dish_machine", "hot_water")


def ice(world: World, visit: Visit, due: Sequence[Kept]) -> list[Done]:
    """The ice bath of a shift, with what was planted in it."""
    site, scenario = visit.kitchen.site, world.scenario
    bad = [one for one in scenario.planted("bad_bath", site=site.key, day=visit.day) if _in(one.numbers, visit)]
    habit = scenario.planted("warm_habit", site=site.key, day=visit.day)
    error = sum(float(one.numbers["error"]) for one in (*bad, *habit))
    true_c = physics.ice_bath(visit.kitchen.draw, *site.ice) + error
    why = {"planted": [one.kind for one in (*bad, *habit)]} if error else {}
    bath = make(world, visit, visit.actor, _ice(visit, due), true_c, **why)
    world.clock.forward(150)
    done = [read(world, visit, visit.actor, bath, kept) for kept in due if not _battery_flat(world, visit, bath, kept)]
    finish(world, visit, visit.actor, bath, done)
    return done


def _battery_flat(world: World, visit: Visit, bath: Bath, kept: Kept) -> bool:
    """Seldom a display stays blank; it is read on another day."""
    flat = kept.type in RUNS_ON_A_BATTERY and visit.kitchen.draw.random() < BATTERY_FLAT
    if flat:
        checks.no_reading(world.session, visit.actor, bath.id, kept.id, "battery_flat")
    return flat


def _ice(visit: Visit, due: Sequence[Kept]) -> NewBath:
    """As ice is made there; slush where an infrared thermometer is to look at it."""
    slush = any(one.type == "infrared" for one in due)
    return NewBath(visit.kitchen.id, "ice_point", "slush_stirred" if slush else visit.kitchen.site.made)


def _in(numbers: object, visit: Visit) -> bool:
    return isinstance(numbers, dict) and numbers.get("shift", visit.shift.name) == visit.shift.name


def invent(world: World, visit: Visit, due: Sequence[Kept]) -> list[str]:
    """A shift of readings that nobody took: last time's, in one minute. Says which checks."""
    bath = make(world, visit, visit.actor, _ice(visit, due), 0.0, planted=["invented"])
    done = []
    for kept in due:
        world.clock.forward(2)
        check, shown = world.session.new_id(), Reading.from_text(kept.last_ice)
        given = given_in(world, visit, bath, kept, shown, check)
        row = checks.take_reading(world.session, visit.actor, given, last=True)
        done.append(noted(world, visit, bath, kept, row))
    baths.judge_bath(world.session, visit.actor, bath.id, "accepted", by="closing")
    return [one.row.check for one in done]


# --- boiling -------------------------------------------------------------------------------------------------


def boil(world: World, visit: Visit, due: Sequence[Kept]) -> None:
    kitchen, day = visit.kitchen, (visit.day - world.scenario.first_day).days
    sea_level = kitchen.weather[day]
    true_c = physics.boiling_pot(kitchen.draw, physics.pressure_at(sea_level, kitchen.site.true_elevation))
    source, typed = _pressure(world, visit, sea_level)
    new = NewBath(kitchen.id, "boiling_point", "rolling_boil", pressure_source=source, pressure=typed)
    world.clock.forward(120)
    bath = make(world, visit, visit.actor, new, true_c)
    finish(world, visit, visit.actor, bath, [read(world, visit, visit.actor, bath, kept) for kept in due])


def _pressure(world: World, visit: Visit, sea_level: float) -> tuple[PressureSource, Pressure | None]:
    """What a kitchen types, from the barometer or report that it uses."""
    site, draw = visit.kitchen.site, visit.kitchen.draw
    source = PressureSource(site.pressure_source)
    mistyped = world.scenario.planted("barometer_mistyped", site=site.key, day=visit.day)
    if source is PressureSource.HOUSEHOLD_ABSOLUTE and not mistyped:
        source = PressureSource.HOUSEHOLD_SEA_LEVEL  # somebody has put it right since
    if source is PressureSource.ELEVATION:
        return source, None
    if source is PressureSource.ALTIMETER_SETTING:
        return source, Pressure.typed(f"{(sea_level + draw.gauss(0, 50)) / 3386.389:.2f}", "inHg")
    if source is PressureSource.ROOM_BAROMETER:
        here = physics.pressure_at(sea_level, site.true_elevation)
        return source, Pressure.typed(f"{(here + draw.gauss(0, 40)) / 100:.1f}", "hPa")
    return source, Pressure.typed(f"{(sea_level + draw.gauss(0, 150)) / 100:.0f}", "hPa")


# --- beside a reference thermometer --------------------------------------------------------------------------


def compare(world: World, visit: Visit, reference: Kept) -> None:
    """The officer's monthly round: fridges and ovens where they hang, a flask of hot water for the rest."""
    here = [one for one in world.at_site(visit.kitchen.site.key) if one is not reference]
    draw = visit.kitchen.draw
    for kept in here:
        world.clock.forward(240)
        if kept.type == "fixed_air":
            beside_it(world, visit, reference, [kept], "in_place", "cup_beside_it", draw.uniform(*WALK_IN_C))
        elif kept.type in NEAR_ITS_USE_C:
            near = NEAR_ITS_USE_C[kept.type] + draw.uniform(-4, 4)
            beside_it(world, visit, reference, [kept], "in_place", "in_its_place", near)
    digital = [one for one in here if one.type.endswith("_probe")][:2]
    flask = [one for one in here if one.type in IN_THE_FLASK] + digital
    beside_it(world, visit, reference, flask, "hot_flask", "insulated_flask", draw.uniform(*FLASK_C))


def beside_it(
    world: World, visit: Visit, reference: Kept, what: Sequence[Kept], made: str, container: str, true_c: float
) -> None:
    shown = pair(reference, true_c, world.clock.at)
    new = NewBath(visit.kitchen.id, "comparison", made, container, beside=shown)
    bath = make(world, visit, world.officer, new, true_c)
    done = [read(world, visit, world.officer, bath, one, [reference]) for one in what]
    finish(world, visit, world.officer, bath, done)


def house_reference(world: World, visit: Visit, two: Sequence[Kept], what: Sequence[Kept]) -> None:
    """Two trusted digitals that passed today stand in for a reference thermometer."""
    true_c = visit.kitchen.draw.uniform(*FLASK_C)
    shown = tuple(one for kept in two for one in pair(kept, true_c, world.clock.at))
    new = NewBath(visit.kitchen.id, "comparison", "hot_flask", "insulated_flask", beside=shown)
    bath = make(world, visit, visit.actor, new, true_c)
    finish(world, visit, visit.actor, bath, [read(world, visit, visit.actor, bath, one, two) for one in what])
