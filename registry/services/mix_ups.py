"""Two thermometers that took each other's level: swapped tags or rows, perhaps. To be asked, never acted on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from sqlalchemy import Connection

from registry.services import thermometers, tracking
from registry.services.session import Session
from registry.services.told import DAY_US
from registry.services.tracking import Tracked
from registry.store import queries

WITHIN_DAYS = 21.0  # steps this near may be of one mix-up
ALIKE, LEAST_STEP = 0.35, 0.4  # °C: so near the other's level, after a step of so much at least


@dataclass(frozen=True, slots=True)
class MixUp:
    """Two tag ids that seem to have changed places, and since when."""

    tags: tuple[str, str]
    thermometers: tuple[str, str]
    since: int


@dataclass(frozen=True, slots=True)
class _Level:
    """A step that nobody reported: the offset before it and after it, °C."""

    of: Tracked
    at_days: float
    was: float
    became: float


def at_site(session: Session, connection: Connection, site: str) -> list[MixUp]:
    """Pairs of a site that took each other's level within three weeks, the latest first."""
    rows = queries.thermometers(connection, site=site)
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    tracked = tracking.tracked(session, connection, those).values()
    return sorted(_pairs([level for one in tracked for level in _levels(one)]), key=lambda one: -one.since)


def _levels(of: Tracked) -> Iterator[_Level]:
    filtered = of.track.filtered
    for step in of.track.steps:
        before = [one for one in filtered if one.at_days < step.at_days]
        if step.found and not step.reported and before and abs(step.size) >= LEAST_STEP:
            was = before[-1].state.offset
            yield _Level(of, step.at_days, was, was + step.size)


def _pairs(levels: Sequence[_Level]) -> list[MixUp]:
    """The pairs that fit each other best; each step goes into one pair at most."""
    fitting = sorted(
        (apart, a, b)
        for a, b in combinations(range(len(levels)), 2)
        if (apart := _apart(levels[a], levels[b])) is not None
    )
    used: set[int] = set()
    found = []
    for _, a, b in fitting:
        if used.isdisjoint((a, b)):
            used |= {a, b}
            found.append(_mix_up(levels[a], levels[b]))
    return found


def _apart(one: _Level, other: _Level) -> float | None:
    """How far each ended from where the other was, °C; None where that or the time between is too much."""
    ends = abs(one.became - other.was), abs(other.became - one.was)
    near = one.of is not other.of and abs(one.at_days - other.at_days) <= WITHIN_DAYS
    return max(ends) if near and max(ends) <= ALIKE else None


def _mix_up(one: _Level, other: _Level) -> MixUp:
    rows = one.of.of.row, other.of.of.row
    return MixUp(
        (rows[0].tag_id or "", rows[1].tag_id or ""),
        (rows[0].thermometer, rows[1].thermometer),
        round(min(one.at_days, other.at_days) * DAY_US),
    )
