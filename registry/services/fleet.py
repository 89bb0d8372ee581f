"""Which of all thermometers may be out by a day: ranked by that chance, the failed ones apart."""

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
from registry.services.outlook import Numbers, Outlook
from registry.services.problems import refuse
from registry.services.session import Session, day_at, midnight
from registry.services.standings import Limits, Progress, Small, Standing, go_on
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

    maker, model: of its sensor where that is a part of its own. by_day: the chance that it is out on the day asked
    about; None of one that failed, was never measured, or has no tolerance. limit: its tolerance, °C. small: its last
    checks, in °C; ahead: its offset with 2 standard uncertainties at instants from today to that day, °C.
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
    first, since something happened to them. expected: how many of those ranked will be out by then, as a mean.
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
    """Rank by the chance to be out at the end of a day, in `AHEAD_DAYS` where none is given; refused for one past.

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
        order = sorted(range(len(ranked)), key=lambda n: (-chances[n], ranked[n].row.tag_id or ""))
        first = [(ranked[n], chances[n]) for n in islice(order, limit)]
        small = (
            standings.small_histories(session, connection, [one.standing for one, _ in [*first, *_without(failed)]])
            if histories
            else {}
        )
        prefers: Unit = "F" if limits.in_force(None).group.unit == "F" else "C"
    made = [_ranked(one, chance, now, day, prefers, small) for one, chance in [*first, *_without(failed)]]
    return Ranking(
        day,
        tuple(made[: len(first)]),
        len(ranked),
        sum(one > LIKELY for one in chances),
        float(sum(chances)),
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


def _without(some: Sequence[_One]) -> list[tuple[_One, None]]:
    return [(one, None) for one in some]


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


def _chances(those: Sequence[_One], at: Sequence[int]) -> list[float]:
    """The chance of each to be out at an instant; as `drift.probability_out` gives it, on arrays."""
    import numpy as np

    if not those:
        return []
    each = [one.standing for one in those]
    numbers = standings.unpacked([one.states for one in each]).T
    counts = np.array([len(one.states) // standings.LETTERS for one in each])
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    states, endless, walk = State(*numbers[:9]), State(*numbers[9:18]), Walk(*numbers[18:])
    days = np.array([max(when / DAY_US, one.at_days) - one.at_days for one, when in zip(each, at, strict=True)])
    asked = np.array([[one.limit, one.standing.celsius, one.standing.shared_u] for one in those], dtype=float).T
    days, limit, celsius, shared = (np.repeat(one, counts) for one in (days, *asked))
    out = beyond(states, endless, walk, days, limit, celsius, shared)
    found: list[float] = (np.add.reduceat(out, starts) / counts).tolist()
    return found


def _ranked(one: _One, chance: float | None, now: int, day: date, prefers: Unit, small: dict[str, Small]) -> Ranked:
    row, standing = one.row, one.standing
    return Ranked(
        row.thermometer,
        row.tag_id or "",
        row.site,
        row.station,
        standing.type,
        standing.maker,
        standing.model,
        outlook_of(standing, row, now, one.limit, prefers, one.zone),
        chance,
        one.limit,
        small.get(row.thermometer, Small()),
        tuple(_ahead(standing, now, max(_end_of(day, one.zone), now))) if chance is not None and small else (),
    )


def _ahead(standing: Standing, now: int, end: int) -> Iterator[tuple[int, float, float]]:
    for n in range(STEPS_AHEAD + 1):
        at = now + (end - now) * n // STEPS_AHEAD
        found = _at(standing, max(at / DAY_US, standing.at_days)).with_shared(standing.shared_u)
        if isfinite(found.sd):
            yield at, found.offset, 2 * found.sd


def _at(standing: Standing, day: float) -> Predicted:
    """Its offset on a day, not before its last check, where it is checked most; without what is shared."""
    days, believed, endless = day - standing.at_days, standing.believed, standing.believed[0].endless
    then = mixed([grow(one.state, days, one.walk) for one in believed])
    return Estimate(day, then, endless and grow(endless, days, STILL)).at(standing.celsius)


def outlook_of(
    standing: Standing, row: ThermometerRow, now: int, limit: float | None, prefers: Unit, zone: str
) -> Outlook:
    """As `outlook.outlook` says of a thermometer that was tracked."""
    unit: Unit = "F" if (standing.scales[0] if len(standing.scales) == 1 else prefers) == "F" else "C"
    if not standing.checks:
        return Outlook("never", 0.0, unit)
    failed = row.failed_at is not None
    standing = standings.with_limit(standing, limit)
    day = max(now / DAY_US, standing.at_days)
    days, believed, endless = day - standing.at_days, standing.believed, standing.believed[0].endless
    passes = None if failed else standing.passes_on
    chance = None
    if limit and not failed:
        chance = float(chance_out(believed, days, limit, standing.celsius, standing.shared_u))
    found = Numbers(
        standing.celsius,
        failed,
        standing.unsettled,
        standing.checks,
        _at(standing, day).with_shared(standing.shared_u),
        Estimate(standing.at_days, mixed([one.state for one in believed]), endless).rate,
        chance,
        max(passes, day) if passes is not None else None,
        tuple(step for step, _ in standing.steps),
        standing.alike,
    )
    return outlook.as_shown(found, unit, zone)
