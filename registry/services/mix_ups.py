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


def _pairs(levels: Sequence[_Level]) -> Iterator[MixUp]:
    for one, other in combinations(levels, 2):
        apart = one.of is not other.of and abs(one.at_days - other.at_days) <= WITHIN_DAYS
        if apart and abs(one.became - other.was) <= ALIKE and abs(other.became - one.was) <= ALIKE:
            yield MixUp(
                (one.of.of.tag_id, other.of.of.tag_id),
                (one.of.of.row.thermometer, other.of.of.row.thermometer),
                round(min(one.at_days, other.at_days) * DAY_US),
            )
