"""Making the projections again from the journal, in steps that leave others room to write.

A row in `rebuilds` stands as long as they are not whole. Whoever opens a database that has one lets `finish` carry on
before anything is shown; what is appended meanwhile is folded here when its turn comes.
"""

import time
from collections.abc import Callable

from sqlalchemy import Connection, Row, delete, insert, select, update

from registry.store import imports, schema, summary, tables
from registry.store.database import Database
from registry.store.fold import ENTRY_COLUMNS, Fold, taken
from registry.store.locks import lock_projections, rebuilding

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

STEP = 400  # entries in one transaction
PAUSE_S = 0.001

_R, _E, _F = tables.rebuilds.c, tables.entries.c, tables.facts.c


def rebuild(database: Database, progress: Progress = lambda _: True) -> bool:
    """Drop what is folded and fold the journal again; False where it was stopped and is to be finished later."""
    with database.writing() as connection:
        begin(connection)
    return finish(database, progress)


def begin(connection: Connection) -> None:
    """Empty the projections and mark them as not whole."""
    lock_projections(connection)
    schema.recreate_projections(connection)
    connection.execute(delete(tables.rebuilds))
    connection.execute(insert(tables.rebuilds), {"rebuild": 1, "folded": 0})


def unfinished(database: Database) -> bool:
    """Whether a rebuild was begun and not finished."""
    with database.reading() as connection:
        return rebuilding(connection)


def finish(database: Database, progress: Progress = lambda _: True) -> bool:
    """Carry on with a rebuild; nothing to do where none was begun. False where it was stopped."""
    done = 0
    while True:
        with database.writing() as connection:
            lock_projections(connection)
            mark = connection.execute(select(tables.rebuilds)).first()
            if mark is None:
                return True
            done += _step(connection, mark)
        if not progress(done):
            return False
        time.sleep(PAUSE_S)


def _step(connection: Connection, mark: Row[tuple[int, int, str | None]]) -> int:
    """The next entries; when there are none, of the next import; then the next summaries. Says how many entries."""
    # What is appended after the first summaries were made has to mend them.
    summarise = mark.summarised is not None
    last, count = fold_next(connection, mark.folded, summarise=summarise)
    if count:
        connection.execute(update(tables.rebuilds).values(folded=last))
    elif (pending := imports.next_pending(connection)) is not None:
        count = imports.fold_some(connection, pending, summarise=False)
        if not count:
            imports.finish(connection, pending)
            connection.execute(update(tables.rebuilds).values(summarised=None))
    elif (thermometer := summarise_next(connection, mark.summarised)) is not None:
        connection.execute(update(tables.rebuilds).values(summarised=thermometer))
    else:
        connection.execute(delete(tables.rebuilds))
    return count


def fold_next(connection: Connection, after: int, *, summarise: bool) -> tuple[int, int]:
    """Fold some entries in the order in which they came; the number of the last one, and how many."""
    query = select(*ENTRY_COLUMNS).where(_E.no > after).order_by(_E.no).limit(STEP)
    rows = connection.execute(query).all()
    fold = Fold(connection)
    for row in rows:
        fold.take(taken(row))
    fold.flush(summarise=summarise)
    return (rows[-1].no if rows else after), len(rows)


def summarise_next(connection: Connection, after: str | None) -> str | None:
    """Make the summaries of some thermometers by their ids; the last one, or none where all are made."""
    query = (
        select(_F.subject)
        .where(_F.subject > (after or "00"), _F.field.in_(summary.ROW_FIELDS))
        .distinct()
        .order_by(_F.subject)
        .limit(imports.SUMMARIES)
    )
    thermometers = list(connection.execute(query).scalars())
    summary.write(connection, thermometers)
    return thermometers[-1] if thermometers else None
