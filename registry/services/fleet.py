"""Which of all thermometers may be out by a day: ranked by that chance at their worst points, the failed ones apart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice
from math import isfinite

from registry import resources
from registry.compute.drift.forecast import LEVEL, beyond, chance_out
from registry.compute.drift.records import Predicted
from registry.compute.drift.state import STILL, State, Walk, grow
from registry.compute.drift.tracking import Estimate, mixed
from registry.quantity import Unit
from registry.services import outlook, places, standings, typed
from registry.services.outlook import Numbers, Outlook, Point, PointNumbers
from registry.services.problems import refuse
from registry.services.session import Session, day_at, midnight
from registry.services.standings import Limits, Progress, Small, Smalls, Standing, go_on
from registry.services.told import DAY_US
from registry.store.queries import ThermometerRow

AHEAD_DAYS = 30  # to the officer's visit, unless another day is asked for (judgement)
FURTHEST_DAYS = 3653
IN_USE = ("in_service", "limited_use")
SHOWN = 50
LIKELY = LEVEL  # a chance above it is one to act on
STEPS_AHEAD = 8  # of the time ahead that is drawn


@dataclass(frozen=True, slots=True)
class Ranked:
    """One thermometer of the ranking.

    maker, model: of its sensor where that is a part of its own. outlook: its worst point is the one where it is
    likeliest out on the day asked about; by_day: that chance; None of one that failed, was never measured, or has no
    tolerance. limit: its tolerance, °C. small: its last checks there, in °C; ahead: its offset there with 2 standard
    uncertainties at instants from today to that day, °C.
    """

    thermometer: str
    tag_id: str
    site: str | None
    station: str | None
    type: str
    maker: str
    model: str
    outlook: Outlook
    by_day: float | None
    limit: float | None
    small: Small
    ahead: tuple[tuple[int, float, float], ...]

    @property
    def likely(self) -> bool:
        return self.by_day is not None and self.by_day > LIKELY


@dataclass(frozen=True, slots=True)
class Ranking:
    """Those in use, the likeliest to be out by a day first.

    of: how many are ranked, of which `rows` are the first; likely: how many of them have a chance above 5 %.
    failed: who failed and was not mended, however good their past. unsettled: how many of those ranked must be checked
    first, since something happened to them. expected: how many of those ranked will be out by then, as a mean, each
    counted at its worst point alone.
    never: in use and not measured yet; no_rule: with no tolerance by any rule. complete: whether all were worked out;
    else it is a ranking of some.
    """

    day: date
    rows: tuple[Ranked, ...]
    of: int
    likely: int
    expected: float
    failed: tuple[Ranked, ...]
    unsettled: int
    never: int
    no_rule: int
    complete: bool


def ranking(
    session: Session,
    by_day: date | None = None,
    *,
    site: str | None = None,
    type: str | None = None,
    model: str | None = None,
    limit: int | None = SHOWN,
    histories: bool = True,
    progress: Progress = go_on,
) -> Ranking:
    """Rank by the highest chance of all points to be out at the end of a day, in `AHEAD_DAYS` where none is given;
    refused for one past.

    site: its id. type: a type's code. model: text that maker and model hold. limit: rows, None for all.
    """
    if type is not None:
        typed.choice("type", type, resources.instrument_types())
    with session.reading() as connection:
        known, rows = standings.standings(session, connection, progress)
        now, limits = session.clock(), Limits(connection)
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
        found = [
            _One(row, one, limits.of(row.site, one), zones.get(row.site or "", "UTC"))
            for row in rows
            if row.status in IN_USE
            and (site is None or row.site == site)
            and (one := known.by_thermometer.get(row.thermometer)) is not None
            and _named(one, type, model)
        ]
        day = by_day or day_at(now, _zone(zones, site)) + timedelta(days=AHEAD_DAYS)
        refuse_day(day, day_at(now, _zone(zones, site)))
        failed = [one for one in found if one.row.failed_at is not None]
        sound = [one for one in found if one.row.failed_at is None and one.standing.checks]
        ranked = [one for one in sound if one.limit is not None]
        chances = _chances(ranked, [max(_end_of(day, one.zone), now) for one in ranked])
        order = sorted(range(len(ranked)), key=lambda n: (-chances[n][0], ranked[n].row.tag_id or ""))
        first = [(ranked[n], *chances[n]) for n in islice(order, limit)]
        small = (
            standings.small_histories(session, connection, [one.standing for one, *_ in [*first, *_without(failed)]])
            if histories
            else {}
        )
        prefers: Unit = "F" if limits.in_force(None).group.unit == "F" else "C"
    made = [_ranked(*one, now, day, prefers, small) for one in [*first, *_without(failed)]]
    return Ranking(
        day,
        tuple(made[: len(first)]),
        len(ranked),
        sum(one > LIKELY for one, _ in chances),
        float(sum(one for one, _ in chances)),
        tuple(made[len(first) :]),
        sum(one.standing.unsettled for one in ranked),
        sum(not one.standing.checks for one in found if one.row.failed_at is None),
        len(sound) - len(ranked),
        known.complete,
    )


@dataclass(frozen=True, slots=True)
class _One:
    row: ThermometerRow
    standing: Standing
    limit: float | None
    zone: str


def _without(some: Sequence[_One]) -> list[tuple[_One, None, int]]:
    return [(one, None, 0) for one in some]


def _named(one: Standing, type: str | None, model: str | None) -> bool:
    wanted = (model or "").casefold().split()
    return type in (None, one.type) and all(word in f"{one.maker} {one.model}".casefold() for word in wanted)


def _zone(zones: dict[str, str], site: str | None) -> str:
    """Of the site asked about, else of the first: the day that is meant begins there."""
    return zones.get(site or "") or next(iter(zones.values()), "UTC")


def _end_of(day: date, zone: str) -> int:
    return midnight(day + timedelta(days=1), zone)


def today(session: Session, site: str | None = None) -> date:
    """Where a ranking is looked at: at the site (its id), at the first one where all are."""
    with session.reading() as connection:
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    return day_at(session.clock(), _zone(zones, site))


def refuse_day(day: date, today: date) -> None:
    """A day that is past, or too far ahead for anything to be told of it."""
    if not today <= day <= today + timedelta(days=FURTHEST_DAYS):
        raise refuse("by_day", "not_ahead", value=day.isoformat())


def _chances(those: Sequence[_One], at: Sequence[int]) -> list[tuple[float, int]]:
    """The highest chance of each to be out at an instant, and the place of the point where; as
    `drift.probability_out` gives it, on arrays."""
    import numpy as np

    if not those:
        return []
    asked = [
        (one.standing, one.limit, when, point)
        for one, when in zip(those, at, strict=True)
        for point in one.standing.points
    ]
    numbers = standings.unpacked([standing.states for standing, *_ in asked]).T
    counts = np.array([len(standing.states) // standings.BYTES for standing, *_ in asked])
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    states, endless, walk = State(*numbers[:9]), State(*numbers[9:18]), Walk(*numbers[18:])
    each = [
        (max(when / DAY_US, standing.at_days) - standing.at_days, limit, point.celsius, point.shared_u)
        for standing, limit, when, point in asked
    ]
    days, limit, celsius, shared = (np.repeat(one, counts) for one in np.array(each, dtype=float).T)
    out = beyond(states, endless, walk, days, limit, celsius, shared)
    found = iter((np.add.reduceat(out, starts) / counts).tolist())
    return [_highest([next(found) for _ in one.standing.points]) for one in those]


def _highest(chances: Sequence[float]) -> tuple[float, int]:
    worst = outlook.likeliest(chances)
    return chances[worst], worst


def _ranked(
    one: _One, chance: float | None, worst: int, now: int, day: date, prefers: Unit, small: dict[str, Smalls]
) -> Ranked:
    row, standing = one.row, one.standing
    smalls = small.get(row.thermometer, ())
    end = max(_end_of(day, one.zone), now)
    return Ranked(
        row.thermometer,
        row.tag_id or "",
        row.site,
        row.station,
        standing.type,
        standing.maker,
        standing.model,
        outlook_of(standing, row, now, one.limit, prefers, one.zone, worst),
        chance,
        one.limit,
        smalls[worst] if smalls else Small(),
        tuple(_ahead(standing, standing.points[worst], now, end)) if chance is not None and small else (),
    )


def _ahead(standing: Standing, point: Point, now: int, end: int) -> Iterator[tuple[int, float, float]]:
    for n in range(STEPS_AHEAD + 1):
        at = now + (end - now) * n // STEPS_AHEAD
        found = _at(standing, point, max(at / DAY_US, standing.at_days))
        if isfinite(found.sd):
            yield at, found.offset, 2 * found.sd


def _at(standing: Standing, point: Point, day: float) -> Predicted:
    """Its offset at a point on a day, not before its last check, with what is shared there."""
    days, believed, endless = day - standing.at_days, standing.believed, standing.believed[0].endless
    then = mixed([grow(one.state, days, one.walk) for one in believed])
    found = Estimate(day, then, endless and grow(endless, days, STILL)).at(point.celsius)
    return found.with_shared(point.shared_u)


def outlook_of(
    standing: Standing, row: ThermometerRow, now: int, limit: float | None, prefers: Unit, zone: str, worst: int
) -> Outlook:
    """As `outlook.outlook` says of a thermometer that was tracked. worst: the place of its worst point."""
    unit: Unit = "F" if (standing.scales[0] if len(standing.scales) == 1 else prefers) == "F" else "C"
    if not standing.checks:
        return Outlook("never", 0.0, unit)
    failed = row.failed_at is not None
    standing = standings.with_limit(standing, limit)
    believed = standing.believed
    numbers = [_numbers(standing, place, now, None if failed else limit) for place in range(len(standing.points))]
    found = Numbers(
        failed,
        standing.unsettled,
        standing.checks,
        outlook.worst_first(numbers, worst),
        Estimate(standing.at_days, mixed([one.state for one in believed]), believed[0].endless).rate,
        tuple(step for step, _ in standing.steps),
        standing.alike,
    )
    return outlook.as_shown(found, unit, zone)


def _numbers(standing: Standing, place: int, now: int, limit: float | None) -> PointNumbers:
    """limit: °C; None where no chance is told."""
    point, day = standing.points[place], max(now / DAY_US, standing.at_days)
    if not limit:
        return PointNumbers(point, _at(standing, point, day), None, None)
    chance = chance_out(standing.believed, day - standing.at_days, limit, point.celsius, point.shared_u)
    passes = standing.passes_on[place]
    return PointNumbers(
        point, _at(standing, point, day), float(chance), max(passes, day) if passes is not None else None
    )
