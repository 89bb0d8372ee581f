"""A long table of thermometers, page by page: filtered, sorted and cut in SQL, and continued by key.

An offset would read again whatever was passed over, and skip a row where one was added before it; a key does neither.
Makers, serials and the names of places stand only in the texts of entries: an order by one of these is made from the
ids and tags of all that fit, and a search finds the few texts that may hold what was typed before reading them.
"""

import json
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Float, Select, and_, case, cast, func, literal, or_, select

from registry.records.outcomes import OUTSIDE
from registry.store import tables
from registry.store.queries import ThermometerRow
from registry.store.state import chain_of

IN_SQL = ("tag_id", "type", "status", "last_outcome", "last_offset", "last_check_at", "reference_due")
IN_TEXTS = ("site", "station", "maker", "serial", "in_use_since")
SORTS = (*IN_SQL, *IN_TEXTS)
# What is worst comes first, when ascending.
OUTCOME_ORDER = (*OUTSIDE, "cannot_decide", "conditional_pass", "pass")
STATUS_ORDER = ("check_first", "out_of_use", "limited_use", "in_service", "lost", "retired")

_T, _F, _E = tables.thermometers.c, tables.facts.c, tables.entries.c
_CHECKS, _A = tables.checks.c, tables.adjustments.c
_tag = func.coalesce(_T.tag_id, "")


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What the table is narrowed to; what is left out narrows nothing.

    tag: how the tag id begins; said: ids found by `saying`; where both stand, one of them is enough. among: ids.
    """

    site: str | None = None
    station: str | None = None
    type: str | None = None
    status: str | None = None
    outcome: str | None = None
    tag: str = ""
    said: Collection[str] | None = None
    among: Collection[str] | None = None


@dataclass(frozen=True, slots=True)
class Key:
    """Where a page ended: the value sorted by, and the tie break."""

    value: str | int | float
    tag_id: str
    thermometer: str


Keyed = list[tuple[ThermometerRow, Key]]


def page(
    connection: Connection,
    narrowed: Narrowed,
    *,
    sort: str,
    descending: bool,
    after: Key | None,
    size: int,
    types: Sequence[str] = (),
) -> Keyed:
    """The next so many rows in an order (one of SORTS), each with its key. types: the order of types."""
    if sort in IN_TEXTS:
        return _page_by_texts(connection, narrowed, sort, descending, after, size)
    value = _sorted_by(sort, types)
    query = _narrow(select(tables.thermometers, value.label("sorted_by"), _tag.label("tag")), narrowed)
    if after is not None:
        later = value < after.value if descending else value > after.value
        tied = or_(_tag > after.tag_id, and_(_tag == after.tag_id, _T.thermometer > after.thermometer))
        query = query.where(or_(later, and_(value == after.value, tied)))
    query = query.order_by(value.desc() if descending else value, _tag, _T.thermometer).limit(size)
    found = []
    for *row, sorted_by, tag_id in connection.execute(query):
        read = ThermometerRow(*row)
        found.append((read, Key(sorted_by, tag_id, read.thermometer)))
    return found


def count(connection: Connection, narrowed: Narrowed = Narrowed()) -> int:
    """How many rows there are in all pages."""
    query = _narrow(select(func.count()).select_from(tables.thermometers), narrowed)
    found: int = connection.execute(query).scalar_one()
    return found


# --- how each stands now -------------------------------------------------------------------------------------

# Turned after its last check: what was found then is past. The last one tells; voided, what was turned stays turned.
_TURNED_SINCE = and_(_T.adjusted_at.is_not(None), _T.adjusted_at >= func.coalesce(_T.last_check_at, -1))


def _as_left(column: ColumnElement[Any]) -> ColumnElement[Any]:
    return (
        select(case((_A.voided == 0, column)))
        .where(_A.thermometer == _T.thermometer)
        .order_by(_A.at.desc(), chain_of(tables.adjustments).desc(), _A.seq.desc())
        .limit(1)
        .scalar_subquery()
    )


OUTCOME_NOW = case((_TURNED_SINCE, _as_left(_A.outcome)), else_=_T.last_outcome)
OFFSET_NOW = case((_TURNED_SINCE, _as_left(_A.offset)), else_=_T.last_offset)


Left = tuple[str | None, str | None]


def as_left(connection: Connection, among: Collection[str] | None = None) -> dict[str, Left]:
    """Outcome and offset (None: not known) as left, of those that were adjusted since their last check."""
    query = select(_T.thermometer, OUTCOME_NOW, OFFSET_NOW).where(_TURNED_SINCE)
    if among is not None:
        query = query.where(_T.thermometer.in_(among))
    return {of: (outcome, offset) for of, outcome, offset in connection.execute(query)}


# --- narrowing -----------------------------------------------------------------------------------------------

_CHECK_FIRST = and_(
    _T.status.in_(("in_service", "limited_use")), or_(_T.failed_at.is_not(None), _T.incident_at.is_not(None))
)
SERVICE_STATUS = case((_CHECK_FIRST, literal("check_first")), else_=_T.status)  # as ThermometerRow.service_status


def _narrow(query: Select[Any], by: Narrowed) -> Select[Any]:
    columns = ((_T.site, by.site), (_T.station, by.station), (_T.type, by.type), (OUTCOME_NOW, by.outcome))
    query = query.where(*(column == wanted for column, wanted in columns if wanted is not None))
    if by.status is not None:
        query = query.where(SERVICE_STATUS.in_((by.status,)))
    if by.among is not None:
        query = query.where(_T.thermometer.in_(by.among))
    found = [_T.tag_id.startswith(by.tag, autoescape=True)] if by.tag else []
    if by.said is not None:
        found.append(_T.thermometer.in_(by.said))
    return query.where(or_(*found)) if found else query


def saying(connection: Connection, text: str) -> set[str]:
    """The thermometers whose maker, model or serial, or that of a part, holds a text; capitals don't matter."""
    keys = ("maker", "model", "serial")
    written = json.dumps(text, ensure_ascii=False)[1:-1]  # as it stands within an entry
    query = (
        select(_F.subject, _F.field, _E.text)
        .join_from(tables.facts, tables.entries, (_F.chain_no == _E.chain_no) & (_F.seq == _E.seq))
        .where(_F.field.in_(("facts", "part")), _F.counts == 1, _E.text.icontains(written, autoescape=True))
    )
    found: dict[str, set[str]] = {"facts": set(), "part": set()}
    for subject, field, entry in connection.execute(query):
        said = json.loads(entry)["payload"]
        if any(text.casefold() in said.get(key, "").casefold() for key in keys):
            found[field].add(subject)
    if found["part"]:
        joined = _standing(connection, "parts")
        parts = {of: {said.get("indicator"), said.get("sensor")} for of, said in joined.items()}
        found["facts"] |= {of for of, its in parts.items() if its & found["part"]}
    return found["facts"]


def _standing(connection: Connection, field: str) -> dict[str, dict[str, Any]]:
    """What every standing fact of one name says, by subject."""
    query = (
        select(_F.subject, _E.text)
        .join_from(tables.facts, tables.entries, (_F.chain_no == _E.chain_no) & (_F.seq == _E.seq))
        .where(_F.field == field, _F.counts == 1)
        .order_by(_F.at, _F.hash)
    )
    return {subject: json.loads(text)["payload"] for subject, text in connection.execute(query)}


# --- sorting -------------------------------------------------------------------------------------------------


def _sorted_by(sort: str, types: Sequence[str]) -> ColumnElement[Any]:
    """The value sorted by, never null: what is not known comes first, ascending."""
    values: dict[str, ColumnElement[Any]] = {
        "tag_id": _tag,
        "type": _rank(_T.type, types),
        "status": _rank(SERVICE_STATUS, STATUS_ORDER),
        "last_outcome": _rank(OUTCOME_NOW, OUTCOME_ORDER),
        "last_offset": func.coalesce(_celsius(OFFSET_NOW), -1e9),
        "last_check_at": func.coalesce(_T.last_check_at, -1),
        "reference_due": func.coalesce(_T.reference_due, ""),
    }
    return values[sort]


def _rank(column: ColumnElement[Any], order: Sequence[str]) -> ColumnElement[Any]:
    places = [(column == code, place) for place, code in enumerate(order)]
    return case(*places, (column.is_(None), -1), else_=len(order))


def _celsius(column: ColumnElement[Any]) -> ColumnElement[Any]:
    """An offset's text as a number of °C: good enough to sort by."""
    number = cast(func.replace(func.replace(column, " dC", ""), " dF", ""), Float)
    return case((column.like("% dF"), number * 5 / 9), else_=number)


def _page_by_texts(
    connection: Connection, narrowed: Narrowed, sort: str, descending: bool, after: Key | None, size: int
) -> Keyed:
    said_by = _texts(connection, sort)
    query = _narrow(select(_T.thermometer, _tag, _T.site, _T.station), narrowed)
    keys = [
        Key(said_by(thermometer, site, station), tag, thermometer)
        for thermometer, tag, site, station in connection.execute(query)
    ]
    keys.sort(key=_tie)
    keys.sort(key=lambda key: str(key.value), reverse=descending)  # a stable sort: ties stay by tag id
    if after is not None:
        keys = [key for key in keys if _comes_after(key, after, descending)]
    here = keys[:size]
    rows = connection.execute(select(tables.thermometers).where(_T.thermometer.in_([one.thermometer for one in here])))
    by_id = {row.thermometer: ThermometerRow(*row) for row in rows}
    return [(by_id[key.thermometer], key) for key in here]


def _comes_after(key: Key, after: Key, descending: bool) -> bool:
    if key.value == after.value:
        return _tie(key) > _tie(after)
    return (str(key.value) < str(after.value)) == descending


def _tie(key: Key) -> tuple[str, str]:
    return key.tag_id, key.thermometer


def _texts(connection: Connection, sort: str) -> Callable[[str, str | None, str | None], str]:
    """What a thermometer (with its site and station) is sorted by."""
    if sort in ("site", "station"):
        names = {of: said["name"].casefold() for of, said in _standing(connection, sort).items()}
        return lambda _, site, station: names.get((site if sort == "site" else station) or "", "")
    whole, joined = _standing(connection, "facts"), _standing(connection, "parts")
    parts = _standing(connection, "part") if joined else {}

    def said(thermometer: str, _: str | None, __: str | None) -> str:
        what = whole.get(thermometer, {})
        made = parts.get(joined.get(thermometer, {}).get("indicator", ""), what)
        if sort == "in_use_since":
            return str(what.get("in_use_since", ""))
        wanted = ("maker", "model") if sort == "maker" else ("serial",)
        return " ".join(made.get(key, "") for key in wanted).casefold()

    return said


# --- what stands beside a page's rows ------------------------------------------------------------------------


def checked_by(connection: Connection, checks: Collection[str]) -> dict[str, str]:
    """Who made each of these checks: the one named, else whoever recorded it."""
    query = (
        select(_CHECKS.check, _E.text)
        .join_from(tables.checks, tables.entries, (_CHECKS.chain_no == _E.chain_no) & (_CHECKS.seq == _E.seq))
        .where(_CHECKS.check.in_(checks))
    )
    found = {}
    for check, text in connection.execute(query):
        envelope = json.loads(text)
        found[check] = envelope["payload"].get("done_by", envelope["by"])
    return found
