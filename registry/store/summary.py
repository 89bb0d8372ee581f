"""What the summary rows say, worked out from the facts: a bath's judgement, a thermometer's state.

A check counts with the outcome that the bath's standing judgement gives it. A check is *good* when that outcome is
inside, as found or as left. These are the only places that know it.
"""

import json
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    Update,
    and_,
    bindparam,
    insert,
    or_,
    select,
    tuple_,
    update,
)

from registry.records.outcomes import GOOD, OUTSIDE, UNSETTLING
from registry.store import state, tables

__all__ = ["GOOD", "OUTSIDE", "UNSETTLING"]

FIELDS = ("facts", "tag_id", "place", "service_status", "outside_certificate")  # facts that the summary shows
ROW_FIELDS = (*FIELDS, "parts")  # one of these, whether or not it counts, gives a thermometer its row
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
    new = {f"new_{name}": value for name, value in state.state(connection, thermometer).items()}
    connection.execute(_WRITE_HISTORY, new | {"of": thermometer})


_SUMMARY = tables.thermometers
_CHECKS, _CHAINS = tables.checks, tables.chains.c
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
