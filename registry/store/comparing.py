"""Comparing what is folded with what folding the journal again gives.

The journal is folded into temporary tables of the same names. In both SQLite and PostgreSQL those hide the real ones
from statements that name no schema, so the fold itself needs not know of it.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Connection, MetaData, Select, Table, and_, select, text
from sqlalchemy.schema import CreateIndex, CreateTable

from registry.store import imports, reading, rebuild, tables
from registry.store.database import Database

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

KEPT = 1000


@dataclass(frozen=True, slots=True)
class Difference:
    """A row that is not what the journal says; where only one of the two has it, `column` is empty."""

    table: str
    key: str
    column: str
    found: str | None
    folded: str | None


class Stopped(Exception):
    """The one who asked for it wants no more."""


def compare(database: Database, progress: Progress = lambda _: True) -> list[Difference]:
    """The first differences of each table, by the row's own id; none where all is as it should be."""
    with reading.snapshot(database) as connection:
        return compare_in(connection, progress)


def compare_in(connection: Connection, progress: Progress) -> list[Difference]:
    """The same in a reading transaction; its end takes the temporary tables away."""
    _make_temporary_tables(connection)
    _fold_all(connection, progress)
    real, folded = _schemas(connection)
    found: list[Difference] = []
    for table in tables.PROJECTIONS:
        found += _differences(connection, _within(table, real), _within(table, folded), KEPT)
    return found[:KEPT]


def _make_temporary_tables(connection: Connection) -> None:
    dialect = connection.dialect
    for table in tables.PROJECTIONS:
        made = str(CreateTable(table).compile(dialect=dialect))
        connection.exec_driver_sql(made.replace("CREATE TABLE", "CREATE TEMPORARY TABLE", 1))
        for index in table.indexes:
            connection.exec_driver_sql(str(CreateIndex(index).compile(dialect=dialect)))


def _fold_all(connection: Connection, progress: Progress) -> None:
    last, done, count = 0, 0, 1
    while count:
        if not progress(done):
            raise Stopped
        last, count = rebuild.fold_next(connection, last, summarise=False)
        done += count
    while (pending := imports.next_pending(connection)) is not None:
        if not imports.fold_some(connection, pending, summarise=False):
            imports.finish(connection, pending)
    thermometer: str | None = None
    while (thermometer := rebuild.summarise_next(connection, thermometer)) is not None:
        if not progress(done):
            raise Stopped


def _schemas(connection: Connection) -> tuple[str, str]:
    if connection.dialect.name == "sqlite":
        return "main", "temp"
    return connection.execute(text("SELECT current_schema()")).scalar_one(), "pg_temp"


@cache
def _within(table: Table, named: str) -> Table:
    """The same table as it lies in a schema."""
    return table.to_metadata(MetaData(), schema=named)


def _differences(connection: Connection, real: Table, folded: Table, room: int) -> Iterator[Difference]:
    for row in connection.execute(_lacking(folded, real).limit(room)):
        yield Difference(real.name, _key(real, row), "", None, "there")
    for row in connection.execute(_lacking(real, folded).limit(room)):
        yield Difference(real.name, _key(real, row), "", "there", None)
    columns = [name for name in real.c.keys() if name not in _keys(real)]  # noqa: SIM118
    for name in columns:
        query = (
            select(*(real.c[key] for key in _keys(real)), real.c[name].label("_found"), folded.c[name].label("_folded"))
            .join_from(real, folded, _same(real, folded))
            .where(real.c[name].is_distinct_from(folded.c[name]))
        )
        for row in connection.execute(query.limit(room)):
            yield Difference(real.name, _key(real, row), name, _shown(row._found), _shown(row._folded))


def _lacking(one: Table, other: Table) -> Select[Any]:
    """Rows of one table that the other has not."""
    query = select(*(one.c[key] for key in _keys(one))).outerjoin_from(one, other, _same(one, other))
    return query.where(other.c[_keys(one)[0]].is_(None))


def _keys(table: Table) -> list[str]:
    return table.primary_key.columns.keys()


def _same(one: Table, other: Table) -> ColumnElement[bool]:
    return and_(*(one.c[key] == other.c[key] for key in _keys(one)))


def _key(table: Table, row: Any) -> str:
    return "/".join(str(row._mapping[key]) for key in _keys(table))


def _shown(value: object) -> str | None:
    return None if value is None else str(value)
