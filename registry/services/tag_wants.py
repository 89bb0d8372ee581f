"""Who wants a new tag now, and why: so that tags are printed when they say something new, and not at every shift."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from registry.quantity import Reading
from registry.services import owed, places, reach, tag_reach, thermometers
from registry.services.session import Session, day_at
from registry.services.tag_printing import Kind
from registry.store import queries
from registry.store.queries import EventView, ThermometerRow

LONG_DAYS = 7  # from so many days between checks on, each check brings a new tag
NO_TAG = ("lost", "retired")
WHY = ("never", "retagged", "status_changed", "check_voided", "asks_more", "checked_again")


@dataclass(frozen=True, slots=True)
class Want:
    """A tag that is wanted; why: one of WHY, or empty where what hangs there still says what is so."""

    thermometer: str
    tag_id: str
    station: str
    kind: Kind
    why: str


def rows_at(
    connection: Connection, site: str | None, station: str | None = None, among: Collection[str] | None = None
) -> list[ThermometerRow]:
    """Those that may bear a tag: of a site, of a station, or of a list; by their tag ids."""
    return [
        row
        for row in queries.thermometers(connection, site=site)
        if row.service_status not in NO_TAG
        and station in (None, row.station)
        and (among is None or row.thermometer in among)
    ]


def look(session: Session, connection: Connection, rows: Sequence[ThermometerRow], kind: Kind) -> list[Want]:
    """Of each, whether it wants a new tag of this kind now."""
    stations = {one.subject: one.payload.name for one in places.stations(connection)}
    zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    next_days = owed.next_days(session, connection, rows) if kind == "status" else {}
    found = []
    for row in rows:
        printed = _last_printed(connection, row.thermometer, kind)
        if kind == "identity":
            why = _why_identity(connection, row, printed)
        else:
            rare = _rarely(row, next_days.get(row.thermometer), zones.get(row.site or "", "UTC"))
            why = _why_status(session, connection, row, printed, rare)
        found.append(Want(row.thermometer, row.tag_id or "", stations.get(row.station or "", ""), kind, why))
    return found


def _last_printed(connection: Connection, thermometer: str, kind: Kind) -> tuple[EventView, dict[str, Any]] | None:
    for event in reversed(queries.events_of(connection, thermometer, ("tag_printed",))):
        said = queries.entry_at(connection, event.chain_no, event.seq).payload
        if said["tag"] == kind and not event.voided:
            return event, said
    return None


def _why_identity(connection: Connection, row: ThermometerRow, printed: Any) -> str:
    if printed is None:
        return "never"
    event, _ = printed
    named = queries.facts_of(connection, row.thermometer).get("tag_id")
    return "retagged" if named is not None and named.at > event.at else ""


def _rarely(row: ThermometerRow, next_day: date | None, zone: str) -> bool:
    """Whether a week or more lies between its last check and the next one."""
    if next_day is None or row.last_check_at is None:
        return False
    return (next_day - day_at(row.last_check_at, zone)).days >= LONG_DAYS


def _why_status(session: Session, connection: Connection, row: ThermometerRow, printed: Any, rare: bool) -> str:
    """The gravest reason first. Without a check there is nothing that a status tag could say."""
    if row.last_check is None:
        return ""
    if printed is None:
        return "never"
    _, said = printed
    if said.get("status") != row.service_status:
        return "status_changed"
    check = queries.check(connection, said["check"]) if said.get("check") else None
    if check is None or check.voided:
        return "check_voided"
    if _asks_more(session, connection, row, said.get("reach", ())):
        return "asks_more"
    return "checked_again" if rare and row.last_check != said["check"] and row.last_outcome is not None else ""


def _asks_more(
    session: Session, connection: Connection, row: ThermometerRow, printed: Sequence[dict[str, str]]
) -> bool:
    """Whether what hangs there lets a cook stop too early: a figure that is by now a laxer one than is right."""
    if not printed:
        return False
    was = {one["limit"]: Reading.from_text(one["shown"]) for one in printed}
    now = tag_reach.to_print(session, connection, thermometers.thermometer(connection, row.thermometer))
    shown = {one.limit: one for one in now}
    for limit, reading in was.items():
        one = shown.get(limit)
        if one is None or one.shown is None or one.shown.unit != reading.unit:
            return True
        laxer = one.shown.value < reading.value if one.side == reach.COLD_SIDE else one.shown.value > reading.value
        if laxer:
            return True
    return False
