"""Imports count all together once they are closed: their entries are then folded, a few in each transaction.

`imports.folded` says how far that has got, so that a crash on the way costs nothing. A reader may see part of a long
import until it is done; what a summary says of a thermometer changes once, at its end.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection, select, update

from registry.store import summary, tables
from registry.store.database import Database
from registry.store.fold import ENTRY_COLUMNS, Fold, taken
from registry.store.locks import lock_projections, rebuilding

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

STEP = 250  # entries in one transaction: some 30 ms
SUMMARIES = 25  # thermometers in one transaction
PAUSE_S = 0.002  # lets whoever records a check go first

_I, _E = tables.imports.c, tables.entries.c


@dataclass(frozen=True, slots=True)
class Pending:
    """An import that counts and is not wholly folded."""

    chain_no: int
    import_: str
    opened: int
    closed: int
    folded: int


def next_pending(connection: Connection) -> Pending | None:
    query = (
        select(_I.chain_no, _I["import"], _I.opened, _I.closed, _I.folded)
        .where(_I.counts == 1, _I.folded < _I.closed)
        .order_by(_I.chain_no, _I.opened)
        .limit(1)
    )
    row = connection.execute(query).first()
    return Pending(*row) if row else None


def fold_pending_imports(database: Database, progress: Progress = lambda _: True) -> bool:
    """Fold what closed imports still have to give; also what a crash left over. False where it was stopped."""
    done = 0
    while True:
        with database.writing() as connection:
            lock_projections(connection)
            pending = None if rebuilding(connection) else next_pending(connection)
            if pending is None:
                return True
            folded = fold_some(connection, pending, summarise=True)
        if not folded:
            _summarise(database, pending)
        done += folded
        if not progress(done):
            return False
        time.sleep(PAUSE_S)


def fold_some(connection: Connection, pending: Pending, *, summarise: bool) -> int:
    """Fold the next entries of an import, all but the summaries of what they are about; 0 when there are no more.

    With `summarise` those of others whom they touch are made at once: a judgement decides about checks that were
    recorded outside the import too.
    """
    query = (
        select(*ENTRY_COLUMNS)
        .where(_E.chain_no == pending.chain_no, _E.seq > pending.folded, _E.seq < pending.closed)
        .order_by(_E.seq)
        .limit(STEP)
    )
    found = [taken(row) for row in connection.execute(query)]
    if not found:
        return 0
    mine = [entry for entry in found if entry.payload.get("import") == pending.import_]
    fold = Fold(connection)
    for entry in mine:
        fold.take(entry, closed=True)
    fold.flush(summarise=False)
    if summarise:
        summary.write(connection, fold.touched - {entry.subject for entry in mine})
    _folded_to(connection, pending, found[-1].seq)
    return len(found)


def finish(connection: Connection, pending: Pending) -> None:
    """Note that an import is folded and its thermometers' summaries are made."""
    _folded_to(connection, pending, pending.closed)


def _folded_to(connection: Connection, pending: Pending, seq: int) -> None:
    mine = _I.chain_no == pending.chain_no, _I["import"] == pending.import_
    connection.execute(update(tables.imports).where(*mine).values(folded=seq))


def _summarise(database: Database, pending: Pending) -> None:
    between = _E.seq > pending.opened, _E.seq < pending.closed
    with database.reading() as connection:
        query = select(_E.subject).where(_E.chain_no == pending.chain_no, *between).distinct()
        subjects = sorted(connection.execute(query).scalars())
    for start in range(0, len(subjects), SUMMARIES):
        some = subjects[start : start + SUMMARIES]
        with database.writing() as connection:
            lock_projections(connection)
            summary.write(connection, some)
        time.sleep(PAUSE_S)
    with database.writing() as connection:
        finish(connection, pending)
