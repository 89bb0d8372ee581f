"""What a thermometer's checks, adjustments and incidents say of it: last good check, and what stands against it.

Where it is read matters: a pass in a cold flask says nothing of a fail in a hot one, so each class of points has its
own good and its own fail. An adjustment moves the whole scale: what was good elsewhere before it says nothing of now,
so those points are wanted again; but a fail that it had answered stays answered.
The later of two is the larger (at, chain, seq): of one instant the one recorded last.
"""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Connection,
    ScalarSelect,
    Select,
    Table,
    and_,
    bindparam,
    literal,
    or_,
    select,
    union_all,
)

from registry.records.outcomes import GOOD, OUTSIDE, UNSETTLING
from registry.store import tables

Row = dict[str, Any]
Place = tuple[int, str, int]  # at, chain, seq: what is later is larger

CLASSES = ("ice_point", "boiling_point", "comparison_cold", "comparison_hot")
NEVER: Place = (-1, "", -1)

# Statements are made once: making one costs more than running it.
_THERMOMETER: BindParameter[str] = bindparam("of")
_CHECKS, _ADJUSTMENTS, _EVENTS, _BATHS = tables.checks, tables.adjustments, tables.events, tables.baths
_CHAINS = tables.chains.c


def chain_of(table: Table) -> ScalarSelect[Any]:
    """The chain's key: its local number differs from one database to the next, and so would what came last."""
    return select(_CHAINS.chain).where(_CHAINS.chain_no == table.c.chain_no).scalar_subquery()


def _in_class(table: Table, name: str) -> ColumnElement[bool]:
    if name.startswith("comparison"):
        return and_(table.c.point == "comparison", table.c.hot == int(name.endswith("hot")))
    return table.c.point == name


def _latest(table: Table, name: str, *conditions: ColumnElement[bool]) -> Select[Any]:
    """The place of the latest row of a class that meets the conditions, with the class and its fact's id."""
    found = (
        select(
            literal(name).label("name"),
            table.c.at,
            chain_of(table).label("chain"),
            table.c.seq,
            table.c.check,
        )
        .where(table.c.thermometer == _THERMOMETER, _in_class(table, name), *conditions)
        .order_by(table.c.at.desc(), chain_of(table).desc(), table.c.seq.desc())
        .limit(1)
        .subquery()
    )
    return select(found)


_LAST_GOOD = union_all(
    *(
        _latest(table, name, table.c.voided == 0, table.c.outcome.in_(GOOD))
        for name in CLASSES
        for table in (_CHECKS, _ADJUSTMENTS)
    )
)
# Found outside; also where that was voided since (a slip is no reason to trust it) or nobody has judged the bath.
_UNJUDGED = ~select(_BATHS.c.bath).where(_BATHS.c.bath == _CHECKS.c.bath, _BATHS.c.judged.is_not(None)).exists()
_FOUND_OUTSIDE = or_(
    _CHECKS.c.outcome.in_(OUTSIDE),
    and_(_CHECKS.c.outcome.is_(None), _CHECKS.c.voided == 0, _CHECKS.c.given.in_(OUTSIDE), _UNJUDGED),
)
# Turned and not known to be right: not measured, outside, set to a bath that was condemned, or void. Turned it stays.
_TURNED = or_(_ADJUSTMENTS.c.voided == 1, _ADJUSTMENTS.c.outcome.is_(None), _ADJUSTMENTS.c.outcome.not_in(GOOD))
_OUTSIDE = union_all(
    *(
        _latest(table, name, table.c.at >= bindparam(f"since_{name}"), unsure)
        for name in CLASSES
        for table, unsure in ((_CHECKS, _FOUND_OUTSIDE), (_ADJUSTMENTS, _TURNED))
    )
)
_LAST_ADJUSTED = (
    select(_ADJUSTMENTS.c.at, chain_of(_ADJUSTMENTS).label("chain"), _ADJUSTMENTS.c.seq)
    .where(_ADJUSTMENTS.c.thermometer == _THERMOMETER)
    .order_by(_ADJUSTMENTS.c.at.desc(), chain_of(_ADJUSTMENTS).desc(), _ADJUSTMENTS.c.seq.desc())
    .limit(1)
)
_LAST_CHECKS = union_all(
    *(
        select(
            select(
                *(_CHECKS.c[name] for name in ("check", "at", "seq", "offset", "outcome")),
                chain_of(_CHECKS).label("chain"),
            )
            .where(_CHECKS.c.thermometer == _THERMOMETER, _CHECKS.c.point == point, _CHECKS.c.voided == 0)
            .order_by(_CHECKS.c.at.desc(), chain_of(_CHECKS).desc(), _CHECKS.c.seq.desc(), _CHECKS.c.check.desc())
            .limit(1)
            .subquery()
        )
        for point in ("ice_point", "boiling_point", "comparison")
    )
)
_INCIDENT = (
    select(_EVENTS.c.at, chain_of(_EVENTS).label("chain"), _EVENTS.c.seq, _EVENTS.c.detail)
    .where(
        _EVENTS.c.subject == _THERMOMETER,
        _EVENTS.c.kind == "incident_reported",
        _EVENTS.c.detail.in_(UNSETTLING),
        _EVENTS.c.voided == 0,
        _EVENTS.c.at >= bindparam("since"),
    )
    .order_by(_EVENTS.c.at.desc(), chain_of(_EVENTS).desc(), _EVENTS.c.seq.desc(), _EVENTS.c.hash.desc())
    .limit(1)
)


def _place(row: Any) -> Place:
    return (row.at, row.chain, row.seq)


def state(connection: Connection, thermometer: str) -> Row:
    """The columns of a thermometer's summary that come from its checks, adjustments and incidents."""
    one = {"of": thermometer}
    last = max(
        connection.execute(_LAST_CHECKS, one),
        key=lambda row: (row.at, row.chain, row.seq, row.check),
        default=None,
    )
    turned = connection.execute(_LAST_ADJUSTED, one).first()
    answered = _good(connection, one)
    good = {name: place for name, place in answered.items() if turned is None or place >= _place(turned)}
    fails = _fails(connection, one, answered)
    incident = connection.execute(_INCIDENT, one | {"since": max(answered.values())[0]}).first()
    stands = incident is not None and _place(incident) > max(answered.values())
    return {
        "last_check": last and last.check,
        "last_check_at": last and last.at,
        "last_offset": last and last.offset,
        "last_outcome": last and last.outcome,
        "good_ice_at": _latest_at(good, "ice_point"),
        "good_boil_at": _latest_at(good, "boiling_point"),
        "good_comparison_at": _latest_at(good, "comparison_cold", "comparison_hot"),
        "good_hot_at": _latest_at(good, "boiling_point", "comparison_hot"),
        "failed_at": max(fails, default=None),
        "incident_at": incident.at if stands and incident else None,
        "incident": incident.detail if stands and incident else None,
        "adjusted_at": turned and turned.at,
    }


def _latest_at(good: Mapping[str, Place], *names: str) -> int | None:
    """When it was last good at one of these classes, by what no later adjustment has overtaken."""
    place = max(good.get(name, NEVER) for name in names)
    return None if place == NEVER else place[0]


def _good(connection: Connection, one: Row) -> dict[str, Place]:
    """The last good of each class, as found or as left."""
    good = dict.fromkeys(CLASSES, NEVER)
    for row in connection.execute(_LAST_GOOD, one):
        good[row.name] = max(good[row.name], _place(row))
    return good


def _fails(connection: Connection, one: Row, good: Mapping[str, Place]) -> list[int]:
    """When each class was last outside, or turned and not known to be right, with nothing good there since."""
    since = {f"since_{name}": place[0] for name, place in good.items()}
    return [row.at for row in connection.execute(_OUTSIDE, one | since) if _place(row) > good[row.name]]
