"""What was worked out once and may be thrown away at any time: parameters of the tracker, by subject and key.

A small SQLite file of its own beside the registry. Where it cannot be read or written nothing is lost but time.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

CACHE_NAME = "cache.db"
_SCHEMA = "CREATE TABLE IF NOT EXISTS kept (subject TEXT PRIMARY KEY, key TEXT NOT NULL, value TEXT NOT NULL) STRICT"


class Cache:
    """Texts by subject; `key` says what they were worked out from. Without a path, or read-only, nothing is kept."""

    def __init__(self, path: Path | None, *, read_only: bool = False) -> None:
        self.path, self.read_only = path, read_only

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        where = f"{self.path.absolute().as_uri()}?mode={'ro' if self.read_only else 'rwc'}" if self.path else ":memory:"
        with closing(sqlite3.connect(where, timeout=1, uri=True)) as connection, connection:
            if not self.read_only:
                connection.execute(_SCHEMA)
            yield connection

    def kept(self, subject: str) -> tuple[str, str] | None:
        """(key, value) of a subject, or None."""
        with suppress(sqlite3.Error), self._open() as connection:
            row = connection.execute("SELECT key, value FROM kept WHERE subject = ?", (subject,)).fetchone()
            return row and (row[0], row[1])
        return None

    def keep(self, subject: str, key: str, value: str) -> None:
        if self.read_only:
            return
        with suppress(sqlite3.Error), self._open() as connection:
            connection.execute(
                "INSERT INTO kept VALUES (?, ?, ?) ON CONFLICT (subject)"
                " DO UPDATE SET key = excluded.key, value = excluded.value",
                (subject, key, value),
            )
