"""The list for the wall: what each thermometer of a site may be used for as its record stands now."""

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import Any

from sqlalchemy import Connection

from registry import resources
from registry.documents.facts import Paper
from registry.documents.site_facts import Use, WallFacts, WallPlace, WallRow
from registry.records.outcomes import GOOD, OUTSIDE, UNSETTLING
from registry.services import duelist, pages, places, table, tag_reach, thermometers
from registry.services.points_now import points_now
from registry.services.problems import refuse
from registry.services.session import Session, day_at
from registry.services.table import TableRow, Wanted
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.wording import say

AWAY = ("lost", "retired")
HOT_POINTS, COLD_POINTS = ("boiling_point", "comparison_hot"), ("ice_point", "comparison_cold")
MANY = 1_000_000  # all rows of a site on one page of the table


def printed(session: Session, site: str, *, language: str | None = None, paper: Paper | None = None) -> bytes:
    """The list of a site (its id) as PDF, by the clock of now. Records nothing."""
    from registry.documents.wall_list import wall_list  # late: reportlab

    with session.reading() as connection:
        facts = _facts(session, connection, site, language, paper)
    with pages.refusing():
        return wall_list(facts)


def _facts(session: Session, connection: Connection, site: str, language: str | None, paper: Paper | None) -> WallFacts:
    group, fact = session.group(connection).payload, places.site_named_by_id(connection, site)
    language = language or group.language
    found = table.page(session, connection, Wanted(site=site), size=MANY, columns=()).rows
    rows = [one for one in found if one.status not in AWAY]
    if not rows:
        raise refuse("sheet", "no_thermometer_here")
    page = pages.page_facts(session, group, (fact.payload.name,), language, fact.payload.zone, paper)
    today = day_at(session.clock(), fact.payload.zone)
    # By station, those that have none at the end; within it by tag id, as the table gives them.
    rows.sort(key=lambda one: (not one.station_name, one.station_name.casefold()))
    return WallFacts(
        page=page,
        printed_at=session.clock(),
        places=tuple(
            WallPlace(
                name or _elsewhere(rows, language),
                tuple(_row(session, connection, one, today, language) for one in those),
            )
            for name, those in groupby(rows, key=lambda one: one.station_name)
        ),
    )


def _elsewhere(rows: Sequence[TableRow], language: str) -> str:
    """What stands over those without a station; nothing where no station is on the list at all."""
    return say("wall.no_station", language) if any(one.station_name for one in rows) else ""


def _row(session: Session, connection: Connection, one: TableRow, today: date, language: str) -> WallRow:
    of = thermometers.thermometer(connection, one.thermometer)
    only: Any = thermometers.limited_to(connection, one.thermometer) or ""
    why = against(connection, of, one, only, language)
    use: Use = "do_not_use" if why else "limited_use" if one.status == "limited_use" else "use"
    if why:
        return WallRow(tag_id=one.tag_id, type=one.type, use=use, why=why)
    due = duelist.recheck(session, connection, of.row)
    first = due.first_of(only if use == "limited_use" else "", today)
    return WallRow(
        tag_id=one.tag_id,
        type=one.type,
        use=use,
        only=only if use == "limited_use" else "",
        recheck_by=due.by,
        overdue=due.by is not None and due.by < today,
        first=first,
        point=due.points[0] if len(due.points) == 1 else "",
        # They hold until the recheck date: once it is past a list on the wall would promise what nothing shows.
        cells=() if first else tuple(map(tag_reach.cell, tag_reach.to_print(session, connection, of))),
    )


def against(connection: Connection, of: Thermometer, one: TableRow, only: str, language: str) -> str:
    """Why it is not to be used now, in a sentence; empty where its last reading is good and nothing came after it.

    only: hot or cold, of one whose use is limited; the points of the other side do not stand against that.
    """
    if one.status == "out_of_use":
        return _out_of_use(connection, of, language)
    if one.status == "check_first" and one.incident is not None:
        return say("wall.why.after", language, what=say(f"incident.{one.incident}", language))
    if one.left == "not_measured":
        return say("wall.why.not_read_again", language)
    if one.status == "check_first" or _outside(connection, of, only):
        return say("wall.why.outside", language)
    if one.waits:
        return say(f"wall.why.{_without_outcome(connection, one)}", language)
    if one.last_outcome is None:
        return say("wall.why.reference" if of.outside_certificate else "wall.why.never", language)
    return "" if one.last_outcome in GOOD else say("wall.why.undecided", language)


def _without_outcome(connection: Connection, one: TableRow) -> str:
    """Why its last check has no outcome: its bath is still to be judged, or there is nothing to wait for."""
    check = queries.check(connection, one.last_check) if one.last_check else None
    bath = queries.bath(connection, check.bath) if check is not None and check.bath is not None else None
    return "undecided" if bath is None or bath.judged == "condemned" else "waits"


def _outside(connection: Connection, of: Thermometer, only: str) -> bool:
    """Whether it was last read outside its limits at any point that its use rests on."""
    other = {"cold": HOT_POINTS, "hot": COLD_POINTS}.get(only, ())
    now = points_now(connection, of.row.thermometer)
    return any(one.outcome in OUTSIDE for one in now if one.where not in other)


def _out_of_use(connection: Connection, of: Thermometer, language: str) -> str:
    standing = queries.facts_of(connection, of.row.thermometer).get("service_status")
    why = getattr(standing.payload, "why", None) if standing else None
    if not why:
        return say("wall.why.out_of_use", language)
    code = f"incident.{why}" if why in UNSETTLING else f"out_of_use.{why}"
    if code not in resources.texts(language):
        return say("wall.why.out_of_use", language)
    return say("wall.why.out_of_use_for", language, why=say(code, language))
