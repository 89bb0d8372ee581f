"""The entries of a database in the order of their chains, read one after the other without holding them."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select, text

from registry.store import tables
from registry.store.database import Database

# seq, kind, at, subject, hash, text, signature; texts as bytes, since that is what was hashed.
RawEntry = tuple[int, bytes, int, bytes, bytes, bytes, bytes | None]

_C, _E = tables.chains.c, tables.entries.c
_RAW = """SELECT seq, {kind}, at, subject, hash, {text}, signature FROM entries
          WHERE chain_no = :chain_no AND seq >= :since AND seq < :until ORDER BY seq"""
_SQLITE_RAW = _RAW.format(kind="CAST(kind AS BLOB)", text="CAST(text AS BLOB)")
_POSTGRES_RAW = text(_RAW.format(kind="convert_to(kind, 'UTF8')", text="convert_to(text, 'UTF8')"))


@dataclass(frozen=True, slots=True)
class ChainRow:
    """A chain under its local number; a branch holds only its own entries, from `forks_at` on."""

    chain_no: int
    chain: str
    branch: int
    forks_from: int | None
    forks_at: int | None

    @property
    def first(self) -> int:
        """The sequence number of the first entry that lies under this number."""
        return self.forks_at or 0


@contextmanager
def snapshot(database: Database) -> Iterator[Connection]:
    """One state of the whole database, however long the reading takes; temporary tables may be made beside it."""
    with database.reading() as connection:
        if not database.is_sqlite:
            connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=False)
        yield connection


def chain_key(connection: Connection, chain_no: int) -> str:
    """The public key that is a chain's name everywhere."""
    key: str = connection.execute(select(_C.chain).where(_C.chain_no == chain_no)).scalar_one()
    return key


def chains(connection: Connection) -> list[ChainRow]:
    """Every chain and branch; what a branch forks off from comes before it."""
    query = select(_C.chain_no, _C.chain, _C.branch, _C.forks_from, _C.forks_at).order_by(_C.chain_no)
    return [ChainRow(*row) for row in connection.execute(query)]


def entries(connection: Connection, chain_no: int, since: int = 0, until: int = 2**62) -> Iterator[RawEntry]:
    """The entries under one number with `since` <= seq < `until`."""
    which = {"chain_no": chain_no, "since": since, "until": until}
    if connection.dialect.name == "sqlite":
        # The driver's own cursor: a row of SQLAlchemy's costs more than hashing the text in it.
        driver: Any = connection.connection.driver_connection
        return iter(driver.execute(_SQLITE_RAW, which))
    found = connection.execute(_POSTGRES_RAW, which, execution_options={"yield_per": 2000})
    return (tuple(row) for row in found)


def whole_chain(
    connection: Connection, chain: ChainRow, known: dict[int, ChainRow], since: int = 0
) -> Iterator[RawEntry]:
    """The entries of a chain from `since` on: those of a branch, before them those that it forks off from."""
    if chain.forks_from is not None and since < chain.first:
        for raw in whole_chain(connection, known[chain.forks_from], known, since):
            if raw[0] >= chain.first:
                break
            yield raw
    yield from entries(connection, chain.chain_no, max(since, chain.first))


def holder(chain: ChainRow, seq: int, known: dict[int, ChainRow]) -> ChainRow:
    """Under which number entry `seq` of a chain or branch lies."""
    while seq < chain.first and chain.forks_from is not None:
        chain = known[chain.forks_from]
    return chain


def hash_at(connection: Connection, chain: ChainRow, seq: int, known: dict[int, ChainRow]) -> str | None:
    """The hash of entry `seq` of a chain or branch; none where there is no such entry."""
    number = holder(chain, seq, known).chain_no
    query = select(_E.hash).where(_E.chain_no == number, _E.seq == seq)
    return connection.execute(query).scalar()


def first_payload(connection: Connection, chain: ChainRow) -> dict[str, Any] | None:
    """What the entry 0 under this number says; none of a branch that forks off later."""
    query = select(_E.text).where(_E.chain_no == chain.chain_no, _E.seq == 0)
    found = connection.execute(query).scalar()
    payload: dict[str, Any] | None = json.loads(found)["payload"] if found else None
    return payload
