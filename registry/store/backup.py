"""A copy of a database in one file, verified when it is made, and a new database from such a copy.

A backup never holds the private key. What is restored is therefore a new installation: `registry.store.succession`
gives it its own key and chain.
"""

import os
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from registry.journal.numbers import installation_code
from registry.store import bundles, checking, queries, reading, rebuild, transaction
from registry.store.bundles import Bundle
from registry.store.checking import Report
from registry.store.database import Database, create, open_database, sorted_errors
from registry.store.errors import KnownError, known_errors
from registry.store.slots import sync_folder
from registry.store.transaction import Clock

Progress = Callable[[int], bool]

SPARE_BYTES = 1 << 20  # to be left free beside the copy
STEP_PAGES = 1000  # 8 MB between two looks at whether to stop
HALF = 50  # per cent


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made, and what verifying the copy found; it is kept where that is not good too."""

    path: Path
    report: Report


class _Stopped(Exception):
    """Somebody does not want the copy any more."""


def backup(
    database: Database, chain_no: int, folder: Path, clock: Clock, *, progress: Progress = lambda _: True
) -> Backup | None:
    """Copy the database into `folder`; the name says how far the chain `chain_no` had got, and when.

    Of a database on a server its journal is copied, and what is folded is made anew in the copy. `progress` is told
    per cent, copying to 50, reading the copy through to 100; None where it said to stop, and nothing is left then.
    """
    with known_errors(folder):
        if folder.parent.is_dir() and not folder.exists():
            folder.mkdir()
        partial = folder / f".{os.getpid()}.partial"
        partial.unlink(missing_ok=True)
        try:
            if database.path is not None:
                _copy_pages(database.path, partial, progress)
            else:
                _copy_journal(database, partial, progress)
            copy = open_database(partial, read_only=True)
            try:
                report = _read_through(copy, progress)
                named = folder / _name(copy, chain_no, clock())
            finally:
                copy.close()
            _sync(partial)
            partial.replace(named)
            sync_folder(folder)
        except _Stopped:
            return None
        finally:
            for left in folder.glob(f"{partial.name}*"):
                left.unlink()
    return Backup(named, report)


def _copy_pages(source: Path, target: Path, progress: Progress) -> None:
    """One state of the database, whatever is written meanwhile: a read transaction of its own holds it."""
    with sorted_errors():
        connection = sqlite3.connect(source, isolation_level=None)
        try:
            size = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size"
            _check_free(target.parent, connection.execute(size).fetchone()[0])
            connection.execute("BEGIN")
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            copy = sqlite3.connect(target, isolation_level=None)
            try:
                copy.execute("PRAGMA synchronous=OFF")  # it is synced as a whole when it is complete
                connection.backup(copy, pages=STEP_PAGES, progress=_telling(progress))
                copy.execute("PRAGMA journal_mode=DELETE")  # without its log beside it, so that it is one file
            finally:
                copy.close()
        except sqlite3.Error as error:
            raise DBAPIError("backup", None, error) from error
        finally:
            connection.close()


def _telling(progress: Progress) -> Callable[[int, int, int], None]:
    def tell(_status: int, left: int, pages: int) -> None:
        if not progress(HALF * (pages - left) // max(pages, 1)):
            raise _Stopped

    return tell


def _read_through(copy: Database, progress: Progress) -> Report:
    with copy.reading() as connection:
        entries = max(queries.count_entries(connection), 1)
    report = checking.verify(copy, progress=lambda done: progress(min(HALF + HALF * done // entries, 2 * HALF)))
    if not (report.finished and progress(2 * HALF)):
        raise _Stopped
    return report


def _check_free(folder: Path, size: int) -> None:
    free, wanted = shutil.disk_usage(folder).free, size + SPARE_BYTES
    if free < wanted:
        raise KnownError("disk_full", path=str(folder), free=free, wanted=wanted)


def _copy_journal(database: Database, target: Path, progress: Progress) -> None:
    """How long it takes is not known: progress only asks whether to go on."""
    copy = create(target)
    try:
        taken = bundles.take(copy, database, fold=False, progress=lambda _: progress(0))
        if not taken.finished and (taken.report.good or not taken.report.finished):
            raise _Stopped
        rebuild.rebuild(copy)
    finally:
        copy.close()
    # Without its log beside it, so that it is one file.
    connection = sqlite3.connect(target)
    try:
        connection.execute("PRAGMA journal_mode=DELETE")
    finally:
        connection.close()


def _name(copy: Database, chain_no: int, now_us: int) -> str:
    """Code, last entry, the start of its hash and the time: the name alone shows later whether a chain was cut."""
    with copy.reading() as connection:
        chain = reading.chain_key(connection, chain_no)
        head = transaction.head(connection, chain_no)
    at = datetime.fromtimestamp(now_us / 1e6, UTC).strftime("%Y%m%dT%H%M%SZ")
    return f"{installation_code(bytes.fromhex(chain))}-{head.seq}-{head.hash[:16]}-{at}.db"


def _sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def restore(backup_file: Path, target: Path, *, progress: Progress = lambda _: True) -> tuple[Database, Bundle]:
    """A new database at `target` with the journal of a backup, folded anew. It has no key yet: see `succeed`.

    Where the backup is not good it stays empty, and the bundle's report says why.
    """
    source = open_database(backup_file, read_only=True)
    try:
        database = create(target)
        bundle = bundles.take(database, source, fold=False, progress=progress)
    finally:
        source.close()
    rebuild.rebuild(database)
    return database, bundle
