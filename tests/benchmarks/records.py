"""Recording, the due list, verifying and rebuilding, each as a ratio to its limit in the same run.

    python -m tests.benchmarks.records --checks 1000000 --folder /somewhere/with/room

makes a registry of 10 000 thermometers with that many checks, unless the folder holds one already. `--rebuild` also
rebuilds it (long). Results go to tests/benchmarks/results.
"""

import argparse
import secrets
import sqlite3
import statistics
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Connection

from registry.records.baths import BathMade, CheckRecorded, ReadingTaken
from registry.records.places import PersonSet
from registry.services import duelist, places, upkeep
from registry.services.session import Actor, Session, open_session
from registry.store import queries, rebuild, transaction
from tests.benchmarks import fill, record

ROUNDS = 300
THERMOMETERS = 10_000
COVERS = [
    "registry/store/database.py",
    "registry/store/fold.py",
    "registry/store/summary.py",
    "registry/store/tables.py",
    "registry/store/transaction.py",
    "registry/journal/entry.py",
    "registry/journal/text.py",
]


def median_s(act: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        act()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def recording(session: Session, actor: Actor, site: str, found: list[str]) -> float:
    """One reading with its check, durable, against a raw transaction that writes the same rows to the same file."""
    assert session.signer is not None
    assert session.database.path is not None
    signer, bath, rule = session.signer, session.new_id(), session.new_id()
    with transaction.appending(session.database, signer, session.clock, actor.person) as entries:
        made = {"bath": bath, "site": site, "point": "ice_point", "made": "crushed_packed", "container": "bowl"}
        entries.add(BathMade(**made, reference="0 C", components={"bath": "0.0577 dC"}, version=1))
    places_ = iter(range(10**9))

    def ours() -> None:
        thermometer = found[next(places_) * 7919 % len(found)]
        check, reading = session.new_id(), session.new_id()
        with transaction.appending(session.database, signer, session.clock, actor.person) as entries:
            taken = {"thermometer": thermometer, "check": check, "bath": bath}
            entries.add(ReadingTaken(**taken, reading=reading, role="as_found", shown="0.2 C"))
            entries.add(_check(taken, reading, rule))

    ours_s = median_s(ours, ROUNDS)
    raw = sqlite3.connect(session.database.path, isolation_level=None)
    for pragma in ("recursive_triggers=ON", "synchronous=FULL", "foreign_keys=ON"):
        raw.execute(f"PRAGMA {pragma}")
    last = raw.execute("SELECT * FROM entries ORDER BY no DESC LIMIT 2").fetchall()
    check_row = raw.execute('SELECT * FROM checks ORDER BY "check" DESC LIMIT 1').fetchone()
    # The guards refuse rows that don't follow, so the raw ones go into twins of the tables, with the same indexes.
    raw.executescript(
        "CREATE TABLE IF NOT EXISTS raw_entries (no INTEGER PRIMARY KEY, chain_no, seq, kind, at, subject, hash, text,"
        " signature, UNIQUE (chain_no, seq)) ; CREATE INDEX IF NOT EXISTS raw_subject ON raw_entries (subject);"
        "CREATE TABLE IF NOT EXISTS raw_checks (id PRIMARY KEY, thermometer, bath, point, at, chain_no, seq, off, u,"
        " given, outcome, hot, voided) WITHOUT ROWID;"
        "CREATE INDEX IF NOT EXISTS raw_thermometer ON raw_checks (thermometer, point, at);"
        "CREATE INDEX IF NOT EXISTS raw_bath ON raw_checks (bath);"
    )
    seqs = iter(range(10**9, 2 * 10**9))

    def theirs() -> None:
        raw.execute("BEGIN IMMEDIATE")
        for row in last:
            raw.execute("INSERT INTO raw_entries VALUES (NULL,?,?,?,?,?,?,?,?)", (row[1], next(seqs), *row[3:]))
        raw.execute(
            "INSERT INTO raw_checks VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)", (secrets.token_bytes(16), *check_row[1:])
        )
        raw.execute("UPDATE thermometers SET last_check_at = last_check_at WHERE thermometer = ?", (check_row[1],))
        raw.execute("COMMIT")

    theirs_s = median_s(theirs, ROUNDS)
    raw.executescript("DROP TABLE raw_entries; DROP TABLE raw_checks")
    raw.close()
    return ours_s / theirs_s


def _check(taken: dict[str, str], reading: str, rule: str) -> CheckRecorded:
    return CheckRecorded(
        **taken,
        point="ice_point",
        as_found=("0.2 C",),
        readings=(reading,),
        reference="0.0 C",
        components={"repeatability": "0.1 dC", "resolution": "0.0289 dC", "stem": "0.03 dC"},
        dof={"repeatability": "50"},
        offset="0.2 dC",
        u=fill.U,
        k=fill.K,
        rule=rule,
        tolerances=rule,
        method=rule,
        decision="simple",
        tolerance="1 dC",
        outcome="pass",
        version=1,
    )


def due_list(session: Session) -> dict[str, float]:
    """The due list of all thermometers, warm, against fetching the same rows with bare sqlite3; the seconds too."""
    assert session.database.path is not None
    raw = sqlite3.connect(session.database.path)
    raw_s = median_s(lambda: raw.execute("SELECT * FROM thermometers").fetchall(), 5)
    raw.close()

    def ours(connection: Connection) -> int:
        return len(duelist.due_list(session, connection))

    with session.reading() as connection:
        begin = time.perf_counter()
        ours(connection)
        first_s = time.perf_counter() - begin
        warm_s = median_s(lambda: ours(connection), 5)
        first_rows_s = median_s(lambda: queries.thermometers(connection)[:200], 5)
    print(f"due list: first {first_s * 1e3:.0f} ms, warm {warm_s * 1e3:.0f} ms, rows alone {first_rows_s * 1e3:.0f} ms")
    return {"due_list_warm_to_raw_rows": warm_s / raw_s}


def verifying(session: Session, entries: int) -> float:
    """Plain verify against bare SHA-256 over the same texts in memory."""
    begin = time.perf_counter()
    report = upkeep.verify(session)
    verify_s = (time.perf_counter() - begin) / report.entries
    if not report.good:
        raise SystemExit(f"not whole: {report.findings[:3]}")
    assert session.database.path is not None
    raw = sqlite3.connect(session.database.path)
    texts = [b"\0" + row[0].encode() for row in raw.execute(f"SELECT text FROM entries LIMIT {entries}")]
    raw.close()
    begin = time.perf_counter()
    for text in texts:
        sha256(text).digest()
    bare_s = (time.perf_counter() - begin) / len(texts)
    print(f"verify: {1 / verify_s:.0f} entries a second")
    return verify_s / bare_s


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--checks", type=int, default=100_000)
    asked.add_argument("--folder", type=Path, required=True)
    asked.add_argument("--rebuild", action="store_true")
    given = asked.parse_args()
    home = given.folder / f"registry-{given.checks}"
    session, actor, site, found = _opened(home, given.checks)
    assert session.database.path is not None
    size = session.database.path.stat().st_size / given.checks
    ratios = {"bytes_a_check": size, **due_list(session)}
    ratios["verify_to_bare_sha256"] = verifying(session, 200_000)
    ratios["record_one_check_to_raw_transaction"] = recording(session, actor, site, found)
    if given.rebuild:
        begin = time.perf_counter()
        rebuild.rebuild(session.database)
        print(f"rebuild: {(time.perf_counter() - begin) / given.checks * 1e6:.0f} microseconds a check")
    command = f"python -m tests.benchmarks.records --checks {given.checks} --folder FOLDER"
    print(ratios)
    record.write_result(f"records-{given.checks}", command=command, ratios=ratios, covers=COVERS)


def _opened(home: Path, checks: int) -> tuple[Session, Actor, str, list[str]]:
    if (home / "whole").exists():
        session = open_session(home)
        with session.reading() as connection:
            found = [row.thermometer for row in queries.thermometers(connection)]
            site = places.sites(connection)[0].subject
            person = queries.facts_named(connection, "person", PersonSet)[0].subject
        return session, Actor(person, frozenset(("administrator",))), site, found
    session, actor, site, found = fill.kitchen(home, THERMOMETERS)
    fill.fill(session, actor, site, found, checks, fold=True, tell=True)
    (home / "whole").touch()
    return session, actor, site, found


if __name__ == "__main__":
    main()
