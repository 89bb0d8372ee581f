"""Importing years of history, results computed, against raw `executemany` of the same rows in the same run.

python -m tests.benchmarks.importing --rows 100000 --folder /somewhere
"""

import argparse
import io
import secrets
import shutil
import sqlite3
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from registry.services import importing
from tests.benchmarks import fill, record

COVERS = [
    "registry/services/import_history.py",
    "registry/services/import_journal.py",
    "registry/services/import_old_check.py",
    "registry/services/import_rows.py",
    "registry/store/fold.py",
    "registry/store/imports.py",
    "registry/store/transaction.py",
]
THERMOMETERS = 500


def history(rows: int) -> bytes:
    """A file of ice-point checks, one a minute, of five hundred thermometers in turn."""
    text = io.StringIO()
    text.write("tag,date,time,point,reading,unit,initials\n")
    at = datetime(2022, 1, 1, 4, 0, tzinfo=UTC)
    for row in range(rows):
        now = at + timedelta(minutes=row)
        text.write(f"NO{row % THERMOMETERS:06d},{now:%Y-%m-%d},{now:%H:%M},ice point,0.{row % 9},C,AR\n")
    return text.getvalue().encode()


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rows", type=int, default=100_000)
    asked.add_argument("--folder", type=Path, required=True)
    given = asked.parse_args()
    home = given.folder / "importing"
    shutil.rmtree(home, ignore_errors=True)
    session, actor, _, _ = fill.kitchen(home, THERMOMETERS)
    content = history(given.rows)
    begin = time.perf_counter()
    with session.reading() as connection:
        plan = importing.check_history(session, connection, content, importing.Options())
    done = importing.record_history(session, actor, plan)
    ours_s = time.perf_counter() - begin
    assert session.database.path is not None
    raw_s = _raw(session.database.path, given.folder / "raw.db")
    print(f"{done.checks} checks: {ours_s / done.checks * 1e6:.0f} against {raw_s / done.checks * 1e6:.0f} µs a row")
    command = f"python -m tests.benchmarks.importing --rows {given.rows} --folder FOLDER"
    record.write_result(
        f"importing-{given.rows}",
        command=command,
        ratios={"import_to_raw_executemany": ours_s / raw_s},
        covers=COVERS,
    )


def _raw(source: Path, target: Path) -> float:
    """The entries and checks of a database, inserted by bare `executemany` into tables with the same indexes."""
    target.unlink(missing_ok=True)
    read = sqlite3.connect(source)
    entries = read.execute("SELECT * FROM entries").fetchall()
    checks = [(secrets.token_bytes(16), *row[1:]) for row in read.execute("SELECT * FROM checks")]
    read.close()
    raw = sqlite3.connect(target, isolation_level=None)
    raw.executescript(
        "PRAGMA page_size=8192; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
        "CREATE TABLE entries (no INTEGER PRIMARY KEY, chain_no, seq, kind, at, subject, hash, text, signature,"
        " UNIQUE (chain_no, seq)); CREATE INDEX of ON entries (subject);"
        "CREATE TABLE checks (id PRIMARY KEY, thermometer, bath, point, at, chain_no, seq, off, u, given, outcome,"
        " hot, voided) WITHOUT ROWID; CREATE INDEX th ON checks (thermometer, point, at);"
        "CREATE INDEX ba ON checks (bath);"
    )
    begin = time.perf_counter()
    for table, rows in (("entries", entries), ("checks", checks)):
        marks = ", ".join("?" * len(rows[0]))
        raw.execute("BEGIN")
        raw.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
        raw.execute("COMMIT")
    taken = time.perf_counter() - begin
    raw.close()
    return taken


if __name__ == "__main__":
    main()
