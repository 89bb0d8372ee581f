"""What the summary rows say, worked out from the facts: a bath's judgement, a thermometer's state.

A check counts with the outcome that the bath's standing judgement gives it. A check is *good* when that outcome is
inside, as found or as left. These are the only places that know it.
"""

import json
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Connection,
    ScalarSelect,
    Table,
    Update,
    and_,
    bindparam,
    func,
    insert,
    or_,
    select,
    tuple_,
    union_all,
    update,
)

from registry.store import tables

POINTS = {
    "ice_point": "good_ice_at",
    "boiling_point": "good_boil_at",
    "comparison": "good_comparison_at",
}
FIELDS = ("facts", "tag_id", "place", "service_status", "outside_certificate")  # facts that the summary shows
ROW_FIELDS = (*FIELDS, "parts")  # one of these, whether or not it counts, gives a thermometer its row
GOOD = ("pass", "conditional_pass")
OUTSIDE = ("fail", "conditional_fail", "not_accepted")
# After these a thermometer has to be checked before it is used again; the rest is told but harms nothing.
UNSETTLING = (
    "dropped",
    "bumped",
    "temperature_shock",
    "battery_changed",
    "battery_low",
    "sensor_changed",
    "bent",
    "water_inside",
    "opened",
    "unit_switched",
    "lent",
    "lost",
    "found",
)

Row = dict[str, Any]


_facts, _entries = tables.facts.c, tables.entries.c
_STANDING = (
    select(_facts.subject, _facts.field, _facts.at, _facts.hash, _entries.text)
    .join_from(tables.facts, tables.entries, (_facts.chain_no == _entries.chain_no) & (_facts.seq == _entries.seq))
    .where(
        _facts.subject.in_(bindparam("subjects", expanding=True)),
        _facts.field.in_(bindparam("fields", expanding=True)),
        _facts.counts == 1,
    )
    .order_by(_facts.at, _facts.hash)
)


def standing(connection: Connection, subjects: Collection[str], fields: Collection[str]) -> list[tuple[str, str, Row]]:
    """(subject, field, payload and `at`, `hash`) of the facts that count; of concurrent ones the larger (at, hash)."""
    rows = connection.execute(_STANDING, {"subjects": list(subjects), "fields": list(fields)})
    latest = {(row.subject, row.field): row for row in rows}
    return [
        (subject, field, json.loads(row.text)["payload"] | {"at": row.at, "hash": row.hash})
        for (subject, field), row in latest.items()
    ]


# --- baths ---------------------------------------------------------------------------------------------------


def judgements(connection: Connection, baths: Collection[str]) -> Mapping[str, Row]:
    """The standing judgement of each of these baths that has one."""
    return {bath: payload for bath, _, payload in standing(connection, baths, ("judgement",))}


_BATHS = tables.baths.c
_JUDGE_BATH = update(tables.baths).where(_BATHS.bath == bindparam("one")).values(judged=bindparam("counts"))
# Of checks and adjustments alike: those of some baths, and the outcome that counts for one of them.
_JUDGED = tuple(
    (
        outcomes,
        select(table.c[key].label("one"), table.c.bath, table.c.thermometer).where(
            table.c.bath.in_(bindparam("baths", expanding=True))
        ),
        update(table).where(table.c[key] == bindparam("one")).values(outcome=bindparam("counts")),
    )
    for table, key, outcomes in ((tables.checks, "check", "outcomes"), (tables.adjustments, "adjustment", "as_left"))
)


def write_judgements(connection: Connection, judged: Mapping[str, Row | None]) -> set[str]:
    """Give each check of these baths the outcome it has by the bath's judgement, or none where none stands.

    Says whose histories that touches.
    """
    if not judged:
        return set()
    standing = {bath: found or {} for bath, found in judged.items()}
    connection.execute(_JUDGE_BATH, [{"one": bath, "counts": one.get("judged")} for bath, one in standing.items()])
    touched: set[str] = set()
    for outcomes, those, write_outcome in _JUDGED:
        rows = connection.execute(those, {"baths": list(standing)}).all()
        if rows:
            counts = [{"one": row.one, "counts": standing[row.bath].get(outcomes, {}).get(row.one)} for row in rows]
            connection.execute(write_outcome, counts)
            touched |= {row.thermometer for row in rows}
    return touched


# --- thermometers --------------------------------------------------------------------------------------------


def _writing(columns: Iterable[str]) -> Update:
    """One statement for all thermometers: making one anew costs more than running it."""
    table = tables.thermometers
    values: dict[str, BindParameter[Any]] = {name: bindparam(f"new_{name}") for name in columns}
    return update(table).where(table.c.thermometer == bindparam("of")).values(values)


FACT_COLUMNS = ("tag_id", "type", "scale", "hot", "site", "station", "status", "enrolled_at", "reference_due")
_WRITE_FACTS = _writing(FACT_COLUMNS)
_WRITE_HISTORY = _writing(set(tables.thermometers.c.keys()) - {"thermometer", *FACT_COLUMNS})
_OF = _facts.subject == bindparam("of")
_HAS_ROW = select(_facts.hash).where(_OF, _facts.field.in_(ROW_FIELDS)).limit(1)
_ENROLLED = select(_facts.at).where(_OF, _facts.field == "facts").order_by(_facts.at).limit(1)


def write(connection: Connection, subjects: Iterable[str]) -> None:
    """Make the summary anew of each of these subjects that is a thermometer."""
    for subject in subjects:
        if connection.execute(_HAS_ROW, {"of": subject}).first() is not None:
            write_facts(connection, subject)
            write_history(connection, subject)


def write_facts(connection: Connection, thermometer: str) -> None:
    """Bring the columns that come from facts (what it is, where, its service status) up to date."""
    found = {field: payload for _, field, payload in standing(connection, (thermometer,), FIELDS)}
    what, place, status = found.get("facts", {}), found.get("place", {}), found.get("service_status", {})
    scales = what.get("scales", {})
    values = {
        "tag_id": found.get("tag_id", {}).get("tag_id"),
        "type": what.get("type"),
        "scale": "dual" if len(scales) == 2 else next(iter(scales), None),
        "hot": int("hot" in what.get("uses", ())),
        "site": place.get("site"),
        "station": place.get("station"),
        # An entry without a status is `taken_out`.
        "status": status.get("status", "out_of_use") if status else "in_service",
        "enrolled_at": connection.execute(_ENROLLED, {"of": thermometer}).scalar(),
        "reference_due": found.get("outside_certificate", {}).get("due"),
    }
    new = {f"new_{name}": value for name, value in values.items()}
    if connection.execute(_WRITE_FACTS, new | {"of": thermometer}).rowcount == 0:
        connection.execute(insert(tables.thermometers), {"thermometer": thermometer} | values)


def write_history(connection: Connection, thermometer: str) -> None:
    """Bring the columns that come from checks, adjustments and incidents up to date.

    One whose own facts have not come yet has no row; with them it gets its history.
    """
    new = {f"new_{name}": value for name, value in history(connection, thermometer).items()}
    connection.execute(_WRITE_HISTORY, new | {"of": thermometer})


def _latest(table: Table, point: str, *conditions: ColumnElement[bool]) -> ScalarSelect[Any]:
    """When the latest row at a point that meets the conditions was done (one look into the index)."""
    return (
        select(table.c.at)
        .where(table.c.thermometer == _THERMOMETER, table.c.point == point, *conditions)
        .order_by(table.c.at.desc())
        .limit(1)
        .scalar_subquery()
    )


# Statements are made once: making one costs more than running it.
_THERMOMETER: BindParameter[str] = bindparam("of")
_CHECKS, _ADJUSTMENTS, _EVENTS = tables.checks, tables.adjustments, tables.events
_CHAINS = tables.chains.c


def _chain_of(table: Table) -> ScalarSelect[Any]:
    """The chain's key: its local number differs from one database to the next, and so would what came last."""
    return select(_CHAINS.chain).where(_CHAINS.chain_no == table.c.chain_no).scalar_subquery()


_LAST_GOOD = select(
    *(
        _latest(table, point, table.c.voided == 0, table.c.outcome.in_(GOOD)).label(f"{point}_{table.name}")
        for point in POINTS
        for table in (_CHECKS, _ADJUSTMENTS)
    ),
    *(
        _latest(
            table, "comparison", table.c.voided == 0, table.c.hot == 1, table.c.outcome.in_(GOOD)
        ).label(f"hot_{table.name}")
        for table in (_CHECKS, _ADJUSTMENTS)
    ),
    select(func.max(_ADJUSTMENTS.c.at))
    .where(_ADJUSTMENTS.c.thermometer == _THERMOMETER, _ADJUSTMENTS.c.voided == 0)
    .scalar_subquery()
    .label("adjusted_at"),
)
# A voided fail counts too (a slip is no reason to trust it); so does an adjustment that was not measured.
_OUTSIDE = select(
    *(
        _latest(table, point, table.c.at > bindparam(point), unsure).label(f"{point}_{table.name}")
        for point in POINTS
        for table, unsure in (
            (_CHECKS, _CHECKS.c.outcome.in_(OUTSIDE)),
            (_ADJUSTMENTS, or_(_ADJUSTMENTS.c.outcome.in_(OUTSIDE), _ADJUSTMENTS.c.given.is_(None))),
        )
    )
)
_LAST_CHECKS = union_all(
    *(
        select(
            select(
                *(_CHECKS.c[name] for name in ("check", "at", "seq", "offset", "outcome")),
                _chain_of(_CHECKS).label("chain"),
            )
            .where(_CHECKS.c.thermometer == _THERMOMETER, _CHECKS.c.point == point, _CHECKS.c.voided == 0)
            .order_by(
                _CHECKS.c.at.desc(), _chain_of(_CHECKS).desc(), _CHECKS.c.seq.desc(), _CHECKS.c.check.desc()
            )
            .limit(1)
            .subquery()
        )
        for point in POINTS
    )
)
_INCIDENT = (
    select(_EVENTS.c.at, _EVENTS.c.detail)
    .where(
        _EVENTS.c.subject == _THERMOMETER,
        _EVENTS.c.kind == "incident_reported",
        _EVENTS.c.detail.in_(UNSETTLING),
        _EVENTS.c.voided == 0,
        _EVENTS.c.at > bindparam("since"),
    )
    .order_by(_EVENTS.c.at.desc(), _chain_of(_EVENTS).desc(), _EVENTS.c.seq.desc(), _EVENTS.c.hash.desc())
    .limit(1)
)


def history(connection: Connection, thermometer: str) -> Row:
    """Last check, last good check at each point, and what stands against using it."""
    one = {"of": thermometer}
    latest = max(
        connection.execute(_LAST_CHECKS, one),
        key=lambda row: (row.at, row.chain, row.seq, row.check),
        default=None,
    )
    *goods, hot_found, hot_left, adjusted_at = connection.execute(_LAST_GOOD, one).one()
    pairs = zip(POINTS, goods[::2], goods[1::2], strict=True)
    good = {point: max(-1 if at is None else at for at in found) for point, *found in pairs}
    outside = [at for at in connection.execute(_OUTSIDE, one | good).one() if at is not None]
    good_hot = max(good["boiling_point"], *(-1 if at is None else at for at in (hot_found, hot_left)))
    incident = connection.execute(_INCIDENT, one | {"since": max(good.values())}).first()
    return {
        "last_check": latest and latest.check,
        "last_check_at": latest and latest.at,
        "last_offset": latest and latest.offset,
        "last_outcome": latest and latest.outcome,
        **{column: good[point] if good[point] >= 0 else None for point, column in POINTS.items()},
        "good_hot_at": good_hot if good_hot >= 0 else None,
        "failed_at": max(outside, default=None),
        "incident_at": incident and incident.at,
        "incident": incident and incident.detail,
        "adjusted_at": adjusted_at,
    }


_SUMMARY = tables.thermometers
_DONE_AT: BindParameter[int] = bindparam("done_at")
# Two at one instant (of both only the day is known): the larger (chain, seq) is the last.
_SORTS_BEFORE = (
    select(_CHECKS.c.check)
    .join_from(_CHECKS, tables.chains, _CHAINS.chain_no == _CHECKS.c.chain_no)
    .where(
        _CHECKS.c.check == _SUMMARY.c.last_check,
        tuple_(_CHAINS.chain, _CHECKS.c.seq)
        < tuple_(
            select(_CHAINS.chain).where(_CHAINS.chain_no == bindparam("found_in")).scalar_subquery(),
            bindparam("found_seq"),
        ),
    )
    .exists()
)
_NOTE_CHECK = (
    update(_SUMMARY)
    .where(
        _SUMMARY.c.thermometer == bindparam("of"),
        or_(
            _SUMMARY.c.last_check_at.is_(None),
            _SUMMARY.c.last_check_at < _DONE_AT,
            and_(_SUMMARY.c.last_check_at == _DONE_AT, _SORTS_BEFORE),
        ),
    )
    .values(
        last_check=bindparam("found"),
        last_check_at=_DONE_AT,
        last_offset=bindparam("found_offset"),
        last_outcome=None,
    )
)


def note_checks(connection: Connection, rows: Iterable[Row]) -> None:
    """The short way for checks whose bath is not judged yet: all that can change is which was the last."""
    connection.execute(
        _NOTE_CHECK,
        [
            {
                "of": row["thermometer"],
                "done_at": row["at"],
                "found": row["check"],
                "found_offset": row["offset"],
                "found_in": row["chain_no"],
                "found_seq": row["seq"],
            }
            for row in rows
        ],
    )
