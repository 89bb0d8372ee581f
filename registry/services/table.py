"""The table of all thermometers, page by page: what each row says, narrowed and sorted in the database.

What is due is worked out from plan and shifts and can't be told in SQL: `owing` works it out once for all, and a page
is then narrowed to those ids. For the same reason "next due" is a column but no order.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from registry import resources
from registry.journal.numbers import normal_tag_id
from registry.quantity import TemperatureDifference
from registry.services import duelist, owed
from registry.services.problems import refuse
from registry.services.session import Session, clean
from registry.store import listing, summary
from registry.store.listing import SORTS, Key
from registry.store.queries import ThermometerRow

__all__ = ["COLUMNS", "DUE", "PAGE", "SORTS", "Key", "Page", "TableRow", "Wanted", "how_left", "one", "owing", "page"]

PAGE = 200
DUE = ("open", "overdue", "due", "not_found", "no_reading")  # open: any of the others
COLUMNS = (
    "tag_id",
    "site",
    "station",
    "type",
    "maker",
    "serial",
    "status",
    "last_outcome",
    "last_offset",
    "last_check_at",
    "checked_by",
    "next_due",
    "reference_due",
    "in_use_since",
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the table is narrowed to; what is left out narrows nothing.

    site, station: ids. status: as shown, so *check first* is one. outcome: as it stands now. due: one of DUE.
    text: the beginning of a tag id, or any part of maker, model or a serial.
    """

    site: str | None = None
    station: str | None = None
    type: str | None = None
    status: str | None = None
    outcome: str | None = None
    due: str | None = None
    text: str = ""


@dataclass(frozen=True, slots=True)
class TableRow:
    """One thermometer as the table shows it: raw values and codes; ids of site, station and person.

    zone: of its site, which instants are shown in. last_outcome, last_offset: as it stands now, as left where it was
    adjusted since its last check; in the unit of the rule it was judged by. left: of such a one `judged`, `waits` or
    `not_measured`, else empty; as_found: what its last check had said then. waits: what was read last has no outcome
    yet. incident: what happened since it was last good, a code.
    """

    thermometer: str
    tag_id: str
    site: str | None
    site_name: str
    station: str | None
    station_name: str
    zone: str
    type: str
    maker: str
    model: str
    serial: str
    sensor_serial: str
    status: str
    incident: str | None
    last_check: str | None
    last_outcome: str | None
    last_offset: TemperatureDifference | None
    last_check_at: int | None
    checked_by: str | None
    waits: bool
    left: str
    as_found: str | None
    next_due: date | None
    reference_due: date | None
    in_use_since: date | None


@dataclass(frozen=True, slots=True)
class Page:
    """Some rows, the key of the next page (None at the end), how many are here, fit, and are there at all."""

    rows: tuple[TableRow, ...]
    next: Key | None
    shown: int
    of: int
    every: int


def page(
    session: Session,
    connection: Connection,
    wanted: Wanted = Wanted(),
    *,
    sort: str = "tag_id",
    descending: bool = False,
    after: Key | None = None,
    size: int = PAGE,
    among: Collection[str] | None = None,
    columns: Collection[str] = COLUMNS,
) -> Page:
    """The next rows after a key, in an order (one of SORTS), tag id as tie break.

    among: what `owing` gave for the same filter, so that further pages need not work it out again. columns: what is
    shown; `checked_by` and `next_due` cost the most and are left empty where they are not.
    """
    if sort not in SORTS:
        raise refuse("sort", "choose", value=sort, choices=", ".join(SORTS))
    if among is None and wanted.due is not None:
        among = owing(session, connection, wanted)
    narrowed = _narrowed(connection, wanted, among)
    types = tuple(resources.instrument_types())
    found = listing.page(
        connection, narrowed, sort=sort, descending=descending, after=after, size=size + 1, types=types
    )
    here = found[:size]
    rows = _rows(session, connection, [row for row, _ in here], columns)
    more = here[-1][1] if len(found) > size and here else None
    return Page(tuple(rows), more, len(rows), listing.count(connection, narrowed), listing.count(connection))


def one(session: Session, connection: Connection, row: ThermometerRow) -> TableRow:
    """One thermometer as its row says it."""
    return _rows(session, connection, [row], COLUMNS)[0]


def owing(session: Session, connection: Connection, wanted: Wanted) -> frozenset[str]:
    """The ids of those that owe something now, in the state that is wanted (any open one where none is)."""
    due = wanted.due or "open"
    if due not in DUE:
        raise refuse("due", "choose", value=due, choices=", ".join(DUE))
    states = duelist.OPEN_STATES if due == "open" else (due,)
    items = duelist.due_list(session, connection, wanted.site)
    return frozenset(one.row.thermometer for one in items if one.item.state in states)


def _narrowed(connection: Connection, wanted: Wanted, among: Collection[str] | None) -> listing.Narrowed:
    # What no database takes is in no tag and no name either.
    text = clean("".join(one for one in wanted.text if one.isprintable()))
    return listing.Narrowed(
        wanted.site,
        wanted.station,
        wanted.type,
        wanted.status,
        wanted.outcome,
        tag=normal_tag_id(text),
        said=listing.saying(connection, text) if text else None,
        among=among,
    )


# --- rows ----------------------------------------------------------------------------------------------------

Said = Mapping[tuple[str, str], Mapping[str, Any]]  # what each standing fact says, by (subject, field)


def _rows(
    session: Session, connection: Connection, rows: Sequence[ThermometerRow], columns: Collection[str]
) -> list[TableRow]:
    said = _said(connection, rows)
    checks = [row.last_check for row in rows if row.last_check]
    by = listing.checked_by(connection, checks) if "checked_by" in columns else {}
    due = owed.next_days(session, connection, rows) if "next_due" in columns else {}
    left = listing.as_left(connection, [row.thermometer for row in rows])
    return [
        _row(row, said, by.get(row.last_check or ""), due.get(row.thermometer), left.get(row.thermometer))
        for row in rows
    ]


def _said(connection: Connection, rows: Sequence[ThermometerRow]) -> Said:
    """The facts of a page's thermometers, of their places and of their parts, in two questions."""
    subjects = {one for row in rows for one in (row.thermometer, row.site, row.station) if one is not None}
    found = _standing(connection, subjects, ("facts", "parts", "site", "station"))
    joined = [fact for (_, field), fact in found.items() if field == "parts"]
    parts = {one for fact in joined for one in (fact.get("indicator"), fact.get("sensor")) if one is not None}
    return {**found, **_standing(connection, parts, ("part",))} if parts else found


def _standing(connection: Connection, subjects: Collection[str], fields: Collection[str]) -> Said:
    return {(subject, field): fact for subject, field, fact in summary.standing(connection, subjects, fields)}


def _row(
    row: ThermometerRow, said: Said, checked_by: str | None, next_due: date | None, as_left: listing.Left | None
) -> TableRow:
    def fact(subject: str | None, field: str) -> Mapping[str, Any]:
        return said.get((subject or "", field), {})

    what, parts = fact(row.thermometer, "facts"), fact(row.thermometer, "parts")
    site, station = fact(row.site, "site"), fact(row.station, "station")
    made = fact(parts.get("indicator"), "part") or what
    outcome, offset = as_left or (row.last_outcome, row.last_offset)
    left = how_left(as_left) if as_left else ""
    return TableRow(
        thermometer=row.thermometer,
        tag_id=row.tag_id or "",
        site=row.site,
        site_name=site.get("name", ""),
        station=row.station,
        station_name=station.get("name", ""),
        zone=site.get("zone", "UTC"),
        type=row.type or "",
        maker=made.get("maker", ""),
        model=made.get("model", ""),
        serial=made.get("serial", ""),
        sensor_serial=fact(parts.get("sensor"), "part").get("serial", ""),
        status=row.service_status,
        incident=row.incident,
        last_check=row.last_check,
        last_outcome=outcome,
        last_offset=TemperatureDifference.from_text(offset) if offset else None,
        last_check_at=row.last_check_at,
        checked_by=checked_by,
        waits=left == "waits" or (not left and row.last_check is not None and outcome is None),
        left=left,
        as_found=row.last_outcome if left else None,
        next_due=next_due,
        reference_due=_day(row.reference_due),
        in_use_since=_day(what.get("in_use_since")),
    )


def how_left(as_left: listing.Left) -> str:
    """Of who was adjusted since its last check: `judged`, `waits` for its bath, or `not_measured`."""
    outcome, offset = as_left
    return "not_measured" if offset is None else "judged" if outcome else "waits"


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
