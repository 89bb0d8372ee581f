"""Who waits for whom on PostgreSQL. On SQLite a writer holds the whole database, so nothing is done there."""

import re
from collections.abc import Collection, Iterable

from sqlalchemy import Connection, select, text

from registry.store import tables
from registry.store.fold import Taken

# PostgreSQL keeps locks named by two numbers apart from those named by one, as subjects are.
_PROJECTIONS = {"a": 0x54524547, "b": 1}


def lock_chain(connection: Connection, chain_no: int) -> None:
    """Whoever else appends to this chain waits here, so that two never follow the same entry."""
    if connection.dialect.name != "sqlite":
        chains = tables.chains.c
        connection.execute(select(chains.chain_no).where(chains.chain_no == chain_no).with_for_update())
        connection.execute(text("SELECT pg_advisory_xact_lock_shared(:a, :b)"), _PROJECTIONS)


def lock_projections(connection: Connection) -> None:
    """Wait until nobody appends, and keep others from it: an entry is folded by them or by us, never by both."""
    if connection.dialect.name != "sqlite":
        connection.execute(text("SELECT pg_advisory_xact_lock(:a, :b)"), _PROJECTIONS)


def lock_entries(connection: Connection, entries: Collection[Taken]) -> None:
    """Lock what folding these entries touches: two installations at the same thermometers wait, they don't fail.

    Baths go first: a judgement touches the thermometers of all checks in its bath, and which those are may not
    change from then on.
    """
    if connection.dialect.name == "sqlite":
        return
    named = (entry.payload.get("bath") for entry in entries)
    baths = {bath for bath in named if isinstance(bath, str) and re.fullmatch("[0-9a-f]{32}", bath)}
    _lock(connection, baths)
    subjects = {entry.subject for entry in entries}
    for table in (tables.checks, tables.adjustments):
        subjects.update(connection.execute(select(table.c.thermometer).where(table.c.bath.in_(baths))).scalars())
    _lock(connection, subjects - baths)


def _lock(connection: Connection, ids: Iterable[str]) -> None:
    for one in sorted(ids):  # in one order, so that nobody waits for one who waits for him
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": int(one[-15:], 16)})


def rebuilding(connection: Connection) -> bool:
    """Whether the projections are being made again: what is appended now is folded when its turn comes."""
    return connection.execute(select(tables.rebuilds.c.rebuild)).first() is not None
