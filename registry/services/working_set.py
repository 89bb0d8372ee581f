"""The smallest working set of a station: how many of a type it needs, and where fewer usable ones remain."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from registry import resources
from registry.services import places
from registry.services.problems import refuse
from registry.services.session import Actor, Session, state_once
from registry.store import queries
from registry.store.queries import ThermometerRow

MOST = 99


@dataclass(frozen=True, slots=True)
class TooFew:
    """A station with fewer usable ones of a type than it needs. tags: the usable ones. out: all are gone."""

    site: str
    station: str
    name: str
    type: str
    smallest: int
    usable: int
    tags: tuple[str, ...]

    @property
    def out(self) -> bool:
        return self.usable == 0


def is_usable(row: ThermometerRow) -> bool:
    """In service, with nothing that stands against its use."""
    return row.status == "in_service" and row.failed_at is None and not row.check_first


def too_few(connection: Connection, site: str, without: str = "") -> list[TooFew]:
    """Every shortage at a site, by station; without: as it would be if this thermometer were taken out."""
    usable: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in queries.thermometers(connection, site=site):
        if row.station and row.type and row.thermometer != without and is_usable(row):
            usable[row.station, row.type].append(row.tag_id or "")
    found = []
    for station in places.stations(connection, site):
        for kind, smallest in sorted((station.payload.smallest or {}).items()):
            tags = tuple(sorted(usable[station.subject, kind]))
            if len(tags) < smallest:
                found.append(TooFew(site, station.subject, station.payload.name, kind, smallest, len(tags), tags))
    return found


def left_by(connection: Connection, thermometers: Iterable[str]) -> list[TooFew]:
    """The shortages of the stations and types that these belong to, of those among them that cannot be used now."""
    rows = [queries.thermometer(connection, one) for one in thermometers]
    gone = [row for row in rows if row is not None and row.site is not None and not is_usable(row)]
    wanted = {(row.station, row.type) for row in gone}
    sites = sorted({row.site for row in gone if row.site is not None})
    return [few for site in sites for few in too_few(connection, site) if (few.station, few.type) in wanted]


def set_smallest(session: Session, actor: Actor, station: str, smallest: Mapping[str, int]) -> None:
    """Say how many of each type a station needs, 0 for none; types that are left out keep theirs."""
    for kind, count in smallest.items():
        if kind not in resources.instrument_types():
            raise refuse("type", "choose", value=kind, choices=", ".join(resources.instrument_types()))
        if not 0 <= count <= MOST:
            raise refuse("smallest", "not_valid", value=str(count))
    with session.recording(actor, "officer") as entries:
        known = next((one for one in places.stations(entries.connection) if one.subject == station), None)
        if known is None:
            raise refuse("station", "unknown", value=station)
        wanted = {**(known.payload.smallest or {}), **smallest}
        state_once(entries, replace(known.payload, smallest={kind: n for kind, n in wanted.items() if n} or None))
