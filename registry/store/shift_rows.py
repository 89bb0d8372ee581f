"""What the list of a shift reads of many thermometers at once: what each was last off by at a point."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Column, Connection, Select, Table, bindparam, select

from registry.store import tables


@dataclass(frozen=True, slots=True)
class LastOffset:
    """The offset that counted last at a point, as found or as left, in the unit of the rule it was judged by."""

    thermometer: str
    point: str
    at: int
    offset: str


def _newest(table: Table, key: Column[Any]) -> Select[Any]:
    """The newest row of each thermometer, found through the index: one look-up each, however long the history is."""
    older, outer = table.alias("older"), tables.thermometers.c.thermometer
    newest = (
        select(older.c[key.name])
        .where(
            older.c.thermometer == outer,
            older.c.point == bindparam("point"),
            older.c.at < bindparam("before"),
            older.c.outcome.is_not(None),
            older.c.offset.is_not(None),
            older.c.voided == 0,
        )
        .order_by(older.c.at.desc(), older.c.seq.desc())
        .limit(1)
        .correlate(tables.thermometers)
        .scalar_subquery()
    )
    return (
        select(table.c.thermometer, table.c.point, table.c.at, table.c.offset)
        .join_from(tables.thermometers, table, key == newest)
        .where(outer.in_(bindparam("those", expanding=True)))
    )


_NEWEST = (
    _newest(tables.checks, tables.checks.c.check),
    _newest(tables.adjustments, tables.adjustments.c.adjustment),
)


def last_offsets(
    connection: Connection, thermometers: Sequence[str], point: str, before_at: int
) -> dict[str, LastOffset]:
    """By thermometer: of checks and adjustments at a point whose outcome counts, made before an instant."""
    found: dict[str, LastOffset] = {}
    for query in _NEWEST if thermometers else ():
        asked = {"those": list(thermometers), "point": point, "before": before_at}
        for one in (LastOffset(*row) for row in connection.execute(query, asked)):
            if one.thermometer not in found or found[one.thermometer].at <= one.at:
                found[one.thermometer] = one
    return found
