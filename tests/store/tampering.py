"""Changing a file behind the program's back: guards away, a change, the same guards again."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def unguarded(path: Path) -> Iterator[sqlite3.Connection]:
    """A bare connection to a database whose guards are off, and on again afterwards as if nothing had been."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in guards:
            connection.execute(sql)
    finally:
        connection.close()


def other_byte(value: bytes, place: int) -> bytes:
    """The same bytes but for one."""
    place %= len(value)
    return value[:place] + bytes([value[place] ^ 1]) + value[place + 1 :]
