"""What belongs to this computer alone and goes into no bundle or backup: PINs, settings, when entries were received.

A small SQLite file of its own beside the registry. Drafts and the key have files of their own.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from registry.store.errors import known_from_sqlite

LOCAL_NAME = "local.db"
_SCHEMA = """
CREATE TABLE IF NOT EXISTS settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS pins (
    person TEXT PRIMARY KEY, verifier TEXT NOT NULL, tries INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS received (
    chain TEXT NOT NULL, seq INTEGER NOT NULL, at INTEGER NOT NULL, PRIMARY KEY (chain, seq)
) STRICT, WITHOUT ROWID;
"""


@dataclass(frozen=True, slots=True)
class Pin:
    """A PIN's verifier and how often it was tried since it was last right."""

    verifier: str
    tries: int


class Local:
    """The local file of one registry."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with self._open() as connection:
            connection.executescript(_SCHEMA)

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        try:
            with closing(sqlite3.connect(self.path, timeout=3)) as connection, connection:
                connection.execute("PRAGMA synchronous=FULL")
                yield connection
        except sqlite3.Error as error:
            known = known_from_sqlite(error)
            if known is None:
                raise
            raise known from error

    def setting(self, name: str) -> str | None:
        with self._open() as connection:
            row = connection.execute("SELECT value FROM settings WHERE name = ?", (name,)).fetchone()
        return row[0] if row else None

    def set_setting(self, name: str, value: str) -> None:
        with self._open() as connection:
            connection.execute(
                "INSERT INTO settings VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                (name, value),
            )

    def pin(self, person: str) -> Pin | None:
        with self._open() as connection:
            row = connection.execute("SELECT verifier, tries FROM pins WHERE person = ?", (person,)).fetchone()
        return Pin(*row) if row else None

    def set_pin(self, person: str, verifier: str) -> None:
        with self._open() as connection:
            connection.execute(
                "INSERT INTO pins VALUES (?, ?, 0) ON CONFLICT (person)"
                " DO UPDATE SET verifier = excluded.verifier, tries = 0",
                (person, verifier),
            )

    def count_try(self, person: str) -> int:
        """Count a try before it is made, so that pulling the plug gains none; says how many there were."""
        with self._open() as connection:
            row = connection.execute(
                "UPDATE pins SET tries = tries + 1 WHERE person = ? RETURNING tries", (person,)
            ).fetchone()
        return row[0] if row else 0

    def clear_tries(self, person: str) -> None:
        with self._open() as connection:
            connection.execute("UPDATE pins SET tries = 0 WHERE person = ?", (person,))

    def note_received(self, chain: str, seq: int, at: int) -> None:
        """Entries of a chain up to `seq` were here by `at`; what is earlier stands in earlier rows."""
        with self._open() as connection:
            connection.execute("INSERT OR IGNORE INTO received VALUES (?, ?, ?)", (chain, seq, at))

    def received_at(self, chain: str, seq: int) -> int | None:
        """When an entry of another chain came here; None where it was made here."""
        with self._open() as connection:
            row = connection.execute(
                "SELECT min(at) FROM received WHERE chain = ? AND seq >= ?", (chain, seq)
            ).fetchone()
        return row[0] if row else None
