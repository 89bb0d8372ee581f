"""What people do at a shift: ice, now and then a boil, once a month the reference thermometer."""

from collections.abc import Sequence
from dataclasses import dataclass

from registry.compute.atmosphere import PressureSource
from registry.quantity import Pressure, Reading
from registry.services import baths, checks, thermometers
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven, ReadingGiven, Row
from registry.services.problems import Refused
from registry.services.session import Actor
from sample_db import physics
from sample_db.world import Kept, Visit, World

Pairs = tuple[tuple[str, Reading], ...]
WALK_IN_C, FLASK_C = (3.0, 4.5), (62.0, 74.0)
NEAR_ITS_USE_C = {"oven": 165.0, "fry": 172.0, "candy": 116.0}
RUNS_ON_A_BATTERY = ("thermistor_probe", "thermocouple_probe", "infrared")
BATTERY_FLAT = 0.003  # chance in a bath
IN_THE_FLASK = ("roast", "dish_machine", "hot_water")


@dataclass(frozen=True)
class Bath:
    """A bath of the demo: as recorded, and as it truly is."""

    id: str
    point: str
    true_c: float


@dataclass(frozen=True)
class Done:
    kept: Kept
    row: Row


def make(world: World, visit: Visit, actor: Actor, new: NewBath, true_c: float, **wrong: object) -> Bath:
    """Make a bath, and note the truth about it."""
    bath = world.session.new_id()
    try:
        baths.make_bath(world.session, actor, new, bath=bath)
    except Refused as refused:
        # Asked whether that pressure is not of the other kind, this kitchen says that it knows better.
        if {one.code for one in refused.problems} != {"other_kind_is_likelier"}:
            raise
        knows_better = NewBath(**{name: getattr(new, name) for name in NewBath.__slots__} | _SURE)
        baths.make_bath(world.session, actor, knows_better, bath=bath)
    world.truth.baths[bath] = {
        "site": visit.kitchen.id,
        "site_key": visit.kitchen.site.key,
        "point": new.point,
        "at": world.clock.at,
        "true_c": round(true_c, 4),
        **wrong,
    }
    return Bath(bath, new.point, true_c)


_SURE = {"asked": frozenset(("pressure_kind",))}


def read(world: World, visit: Visit, actor: Actor, bath: Bath, kept: Kept, reference: Kept | None = None) -> Done:
    """Read one thermometer until its check is recorded; beside `reference` where air swings."""
    check, row = world.session.new_id(), None
    true = world.physical(kept, visit.day).instrument
    while row is None or not row.recorded:
        world.clock.forward(40 if row is None else 20)
        shown = true.shows(bath.true_c, world.clock.at)
        beside = pair(reference, bath.true_c, world.clock.at) if reference else ()
        row = checks.take_reading(world.session, actor, _given(world, visit, bath, kept, shown, check, beside))
    return noted(world, visit, bath, kept, row)


def pair(reference: Kept, true_c: float, at: int) -> Pairs:
    return ((reference.tag, reference.instrument.shows(true_c, at)),)


def _given(
    world: World, visit: Visit, bath: Bath, kept: Kept, shown: Reading, check: str, beside: Pairs = ()
) -> ReadingGiven:
    return ReadingGiven(
        bath.id,
        kept.id,
        shown,
        check,
        world.session.new_id(),
        beside=beside,
        reason="after_incident" if kept.needs_check else None,
        shift=visit.shift_id,
        day=visit.day.isoformat(),
    )


def noted(world: World, visit: Visit, bath: Bath, kept: Kept, row: Row) -> Done:
    kept.checked_at.append(world.clock.at)
    if bath.point == "ice_point":
        kept.checked_on, kept.needs_check, kept.last_ice = visit.day, False, row.readings[-1].text()
    elif "hot" in kept.instrument.model.uses:
        kept.hot_on = visit.day
    return Done(kept, row)


# --- ice -----------------------------------------------------------------------------------------------------


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
    done = [
        read(world, visit, visit.actor, bath, kept) for kept in due if not _battery_flat(world, visit, bath, kept)
    ]
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
        given = _given(world, visit, bath, kept, shown, check)
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
    swings = what[0].type == "fixed_air"
    done = [read(world, visit, world.officer, bath, one, reference if swings else None) for one in what]
    finish(world, visit, world.officer, bath, done)


def house_reference(world: World, visit: Visit, two: Sequence[Kept], what: Sequence[Kept]) -> None:
    """Two trusted digitals that passed today stand in for a reference thermometer."""
    true_c = visit.kitchen.draw.uniform(*FLASK_C)
    shown = tuple(one for kept in two for one in pair(kept, true_c, world.clock.at))
    new = NewBath(visit.kitchen.id, "comparison", "hot_flask", "insulated_flask", beside=shown)
    bath = make(world, visit, visit.actor, new, true_c)
    finish(world, visit, visit.actor, bath, [read(world, visit, visit.actor, bath, one) for one in what])


# --- judging and mending -------------------------------------------------------------------------------------


def finish(world: World, visit: Visit, actor: Actor, bath: Bath, done: Sequence[Done]) -> None:
    """Judge the bath, then mend what is outside. Where a third fail in a pot, it was the pot."""
    world.clock.forward(30)
    failed = [one for one in done if one.row.judged.outcome == "fail"]
    if bath.point == "boiling_point" and len(failed) * 3 >= len(done):
        baths.judge_bath(world.session, actor, bath.id, "condemned")
        return
    baths.judge_bath(world.session, actor, bath.id, "accepted", by="closing")
    if bath.point == "boiling_point":
        for one in done:
            limit_or_free(world, visit, actor, one, one in failed)
        return
    for one in failed:
        world.clock.forward(90)
        if bath.point == "ice_point" and one.kept.instrument.model.adjusts:
            adjust(world, visit, bath, one)
        else:
            take_out(world, visit, actor, one)


def limit_or_free(world: World, visit: Visit, actor: Actor, done: Done, failed: bool) -> None:
    """Wrong in the pot: cold food only until the next one, and out if it is wrong there too."""
    kept = done.kept
    if failed and kept.only_cold:
        take_out(world, visit, actor, done)
    elif failed:
        thermometers.set_status(
            world.session, world.officer, kept.id, "limited_use", why="outside", only="cold"
        )
    elif kept.only_cold:
        thermometers.set_status(world.session, world.officer, kept.id, "in_service")
    kept.only_cold = failed


def adjust(world: World, visit: Visit, bath: Bath, done: Done) -> None:
    """Turn the nut or press reset until it reads right in this bath, be the bath what it may."""
    true = world.physical(done.kept, visit.day).instrument
    wanted = -bath.true_c + visit.kitchen.draw.gauss(0, true.model.left)
    true.jumps.append((world.clock.at, wanted - true.true_offset(world.clock.at), "adjusted"))
    world.clock.forward(45)
    given = AdjustmentGiven(
        done.row.check,
        true.model.adjusts or "",
        world.session.new_id(),
        world.session.new_id(),
        true.shows(bath.true_c, world.clock.at),
    )
    judged = checks.adjust(world.session, visit.actor, given)
    if judged is not None and judged.outcome == "fail":
        take_out(world, visit, visit.actor, done)


def take_out(world: World, visit: Visit, actor: Actor, done: Done) -> None:
    thermometers.take_out(world.session, actor, done.kept.id, "outside", check=done.row.check)
    done.kept.in_use, done.kept.out_on = False, visit.day
