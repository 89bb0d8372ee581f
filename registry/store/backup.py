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
from registry.store import bundles, checking, reading, rebuild, transaction
from registry.store.bundles import Bundle
from registry.store.checking import Report
from registry.store.database import Database, create, open_database, sorted_errors
from registry.store.errors import KnownError, known_errors
from registry.store.slots import sync_folder
from registry.store.transaction import Clock

Progress = Callable[[int], bool]

SPARE_BYTES = 1 << 20  # to be left free beside the copy


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made, and what verifying the copy found; it is kept where that is not good too."""

    path: Path
    report: Report


def backup(database: Database, chain_no: int, folder: Path, clock: Clock) -> Backup:
    """Copy the database into `folder`; the name says how far the chain `chain_no` had got, and when.

    Of a database on a server its journal is copied, and what is folded is made anew in the copy.
    """
    with known_errors(folder):
        partial = folder / f".{os.getpid()}.partial"
        partial.unlink(missing_ok=True)
        try:
            if database.path is not None:
                _vacuum_into(database.path, partial)
            else:
                _copy_journal(database, partial)
            copy = open_database(partial, read_only=True)
            try:
                report = checking.verify(copy)
                named = folder / _name(copy, chain_no, clock())
            finally:
                copy.close()
            _sync(partial)
            partial.replace(named)
            sync_folder(folder)
        finally:
            for left in folder.glob(f"{partial.name}*"):
                left.unlink()
    return Backup(named, report)


def _vacuum_into(source: Path, target: Path) -> None:
    with sorted_errors():
        try:
            connection = sqlite3.connect(source, isolation_level=None)  # VACUUM has to be outside a transaction
            try:
                size = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size"
                _check_free(target.parent, connection.execute(size).fetchone()[0])
                connection.execute("VACUUM INTO ?", (str(target),))
            finally:
                connection.close()
        except sqlite3.Error as error:
            raise DBAPIError("VACUUM INTO", None, error) from error


def _check_free(folder: Path, size: int) -> None:
    free, wanted = shutil.disk_usage(folder).free, size + SPARE_BYTES
    if free < wanted:
        raise KnownError("disk_full", path=str(folder), free=free, wanted=wanted)


def _copy_journal(database: Database, target: Path) -> None:
    copy = create(target)
    try:
        bundles.take(copy, database, fold=False)
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
