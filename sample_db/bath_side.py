"""At the bath: made, read, judged, and what is outside mended; the truth of it is noted as it happens."""

from collections.abc import Sequence
from dataclasses import dataclass

from registry.quantity import Reading
from registry.services import baths, checks, thermometers
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven, ReadingGiven, Row
from registry.services.problems import Refused
from registry.services.session import Actor
from sample_db.world import Kept, Visit, World

Pairs = tuple[tuple[str, Reading], ...]


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


def read(world: World, visit: Visit, actor: Actor, bath: Bath, kept: Kept, references: Sequence[Kept] = ()) -> Done:
    """Read one thermometer until its check is recorded; beside its references in a comparison."""
    check, row = world.session.new_id(), None
    true = world.physical(kept, visit.day).instrument
    while row is None or not row.recorded:
        world.clock.forward(40 if row is None else 20)
        shown = true.shows(bath.true_c, world.clock.at)
        beside = tuple(one for reference in references for one in pair(reference, bath.true_c, world.clock.at))
        row = checks.take_reading(world.session, actor, given_in(world, visit, bath, kept, shown, check, beside))
    return noted(world, visit, bath, kept, row)


def pair(reference: Kept, true_c: float, at: int) -> Pairs:
    return ((reference.tag, reference.instrument.shows(true_c, at)),)


def given_in(
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
        thermometers.set_status(world.session, world.officer, kept.id, "limited_use", why="outside", only="cold")
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
