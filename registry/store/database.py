"""Opening a database: one writer that locks at once, readers beside it, and nothing looser than asked for.

The pragmas and the reasons for them: full synchronous commits so that what was acknowledged survives a power cut;
`BEGIN IMMEDIATE` so that two programs never both believe they may write.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool, StaticPool

from registry.store import schema
from registry.store.errors import KnownError, known_from_sqlite

SCHEMA_VERSION = 1
APPLICATION_ID = 0x54524547  # "TREG": tells the system's `file` and us whose file it is
BUSY_MS = 3000
_PRAGMAS = (
    "PRAGMA foreign_keys=ON",
    "PRAGMA recursive_triggers=ON",
    "PRAGMA trusted_schema=OFF",
    "PRAGMA cell_size_check=ON",
    "PRAGMA secure_delete=ON",  # an erased name is gone from the file too
    f"PRAGMA busy_timeout={BUSY_MS}",
)


def known(error: DBAPIError) -> KnownError | None:
    """The error as one that a person can do something about, or none where it is our bug."""
    if (found := known_from_sqlite(error.orig)) is not None:
        return found
    state = getattr(error.orig, "sqlstate", None)
    if state in ("53100", "53200"):
        return KnownError("disk_full")
    if state == "25006":
        return KnownError("read_only")
    if error.connection_invalidated or (state or "").startswith(("08", "57")):
        return KnownError("cannot_open")
    return None


@contextmanager
def sorted_errors() -> Iterator[None]:
    """Turn a database error that people can mend into a KnownError, at the lowest layer."""
    try:
        yield
    except DBAPIError as error:
        if (found := known(error)) is not None:
            raise found from error
        raise


def _sqlite_engine(path: Path, *, mode: str, begin: str) -> Engine:
    url = f"file:{quote(str(path.absolute()))}?mode={mode}"
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(url, uri=True, isolation_level=None, check_same_thread=False),
        hide_parameters=True,  # else names land in exception texts
        poolclass=QueuePool,
    )

    @event.listens_for(engine, "connect")
    def _connected(connection: sqlite3.Connection, _record: Any) -> None:
        for pragma in _PRAGMAS:
            connection.execute(pragma)
        if mode != "ro":
            connection.execute("PRAGMA synchronous=FULL")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


class Database:
    """One database, open: `reading()` and `writing()` give a connection inside a transaction."""

    def __init__(self, reader: Engine, writer: Engine | None, path: Path | None) -> None:
        self._reader, self._writer, self.path = reader, writer, path

    @property
    def read_only(self) -> bool:
        return self._writer is None

    def may_write(self) -> bool:
        """Whether this account may write the file and beside it; on a server that shows with the first entry."""
        return not self.read_only and _may_write(self.path)

    @property
    def is_sqlite(self) -> bool:
        return self._reader.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        with sorted_errors(), self._reader.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that holds the write lock from its first moment; committed unless something is raised."""
        if self._writer is None:
            raise KnownError("read_only")
        with sorted_errors(), self._writer.begin() as connection:
            yield connection

    def close(self) -> None:
        self._reader.dispose()
        if self._writer is not None:
            self._writer.dispose()


def create(target: Path | str) -> Database:
    """Make a new database; refuses one that is there already. A file in which nothing was made yet is taken."""
    if isinstance(target, Path):
        if target.exists() and not _holds_nothing(target):
            raise KnownError("exists_already", path=str(target))
        with sorted_errors():
            _prepare_file(target)
    database = _connect(target, read_only=False)
    with database.writing() as connection:
        if not schema.is_empty(connection):
            raise KnownError("exists_already", path=str(target))
        schema.create(connection)
        if database.is_sqlite:
            connection.execute(text(f"PRAGMA application_id={APPLICATION_ID}"))
            connection.execute(text(f"PRAGMA user_version={SCHEMA_VERSION}"))
    return database


def _holds_nothing(path: Path) -> bool:
    """Whether this is a file without bytes, or a database without tables: one whose making was cut off."""
    if not path.is_file():
        return False
    try:
        with closing(sqlite3.connect(path)) as connection:
            return connection.execute("SELECT name FROM sqlite_master").fetchone() is None
    except sqlite3.Error:
        return False


def _prepare_file(path: Path) -> None:
    """The page size and the log mode have to be set before the first table."""
    try:
        connection = sqlite3.connect(path)
        try:
            connection.execute("PRAGMA page_size=8192")
            connection.execute("PRAGMA journal_mode=WAL")
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise DBAPIError("PRAGMA", None, error) from error


def open_database(target: Path | str, *, read_only: bool = False) -> Database:
    """Open what is there; one clear error where it is missing, newer, altered or not ours."""
    if isinstance(target, Path) and not target.is_file():
        raise KnownError("missing", path=str(target))
    database = _connect(target, read_only=read_only)
    try:
        with database.reading() as connection:
            _check_ours(database, connection)
    except BaseException as error:
        database.close()
        if isinstance(error, KnownError) and error.code == "cannot_open" and not _may_write(database.path):
            raise KnownError("read_only", path=str(target)) from error  # even reading wants a log beside the file
        raise
    return database


def _may_write(path: Path | None) -> bool:
    """Whether this account may write the file and its folder, on a disk that may be written."""
    return path is None or all(os.access(one, os.W_OK, effective_ids=True) for one in (path, path.parent))


def _connect(target: Path | str, *, read_only: bool) -> Database:
    if isinstance(target, Path):
        reader = _sqlite_engine(target, mode="ro" if read_only else "rw", begin="BEGIN")
        writer = None if read_only else _sqlite_engine(target, mode="rw", begin="BEGIN IMMEDIATE")
        return Database(reader, writer, target)
    url = make_url(target)
    reader = create_engine(url, hide_parameters=True, execution_options={"postgresql_readonly": True})
    return Database(reader, None if read_only else create_engine(url, hide_parameters=True), None)


def _check_ours(database: Database, connection: Connection) -> None:
    if database.is_sqlite:
        if connection.execute(text("PRAGMA user_version")).scalar_one() > SCHEMA_VERSION:
            raise KnownError("newer_file", path=str(database.path))
        if connection.execute(text("PRAGMA application_id")).scalar_one() != APPLICATION_ID:
            raise KnownError("not_ours", path=str(database.path))
    if not schema.holds_record(connection):
        raise KnownError("not_ours", path=str(database.path))


def altered(connection: Connection) -> list[str]:
    """Tables, indexes and guards that are not as this program makes them."""
    if connection.dialect.name != "sqlite":
        return schema.postgres_differences(connection)
    memory = create_engine("sqlite://", poolclass=StaticPool)
    with memory.begin() as wanted:
        schema.create(wanted)
        return schema.differences(connection, wanted)
