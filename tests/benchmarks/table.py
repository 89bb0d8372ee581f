"""The table of thermometers: pages, orders and filters, each as a ratio to a raw query in the same run.

    python -m tests.benchmarks.table --checks 50000 --folder /somewhere/with/room

makes a registry of 10 000 thermometers with that many checks, unless the folder holds one already. The raw query
reads the same two hundred rows by sqlite3 alone, with the texts that say what each is and who checked it, and does
nothing with them. Results go to tests/benchmarks/results.
"""

import argparse
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection

from registry.services import table
from registry.services.session import Session, open_session
from tests.benchmarks import fill, record
from tests.benchmarks.records import THERMOMETERS, median_s

TIMES = 15
COVERS = [
    "registry/services/table.py",
    "registry/store/listing.py",
    "registry/store/summary.py",
    "registry/store/tables.py",
]


def raw_page_s(path: Path) -> float:
    """By sqlite3 alone: the first two hundred summary rows, what stands beside each, and how many there are."""
    first = f"""
        SELECT * FROM (SELECT * FROM thermometers ORDER BY tag_id, thermometer LIMIT {table.PAGE}) AS t
        JOIN facts ON facts.subject = t.thermometer AND facts.field = 'facts'
        JOIN entries AS what ON what.chain_no = facts.chain_no AND what.seq = facts.seq
        JOIN checks ON checks."check" = t.last_check
        JOIN entries AS checked ON checked.chain_no = checks.chain_no AND checked.seq = checks.seq
    """
    with closing(sqlite3.connect(path)) as raw:

        def ask() -> None:
            assert len(raw.execute(first).fetchall()) == table.PAGE
            assert raw.execute("SELECT count(*) FROM thermometers").fetchone() == (THERMOMETERS,)

        return median_s(ask, TIMES)


def acts(session: Session, connection: Connection) -> Iterator[tuple[str, Callable[[], table.Page]]]:
    """What a person does with the table, each a page of rows."""

    def ask(name: str, **asked: object) -> tuple[str, Callable[[], table.Page]]:
        return name, lambda: table.page(session, connection, **asked)  # type: ignore[arg-type]

    yield ask("first page")
    yield ask("first page, without next due and checked by", columns=())
    far = _far(session, connection)
    yield ask("a page far down", after=far)
    yield from (ask(f"by {sort}", sort=sort) for sort in ("last_check_at", "last_offset", "maker", "station"))
    yield ask("by status", wanted=table.Wanted(status="in_service"))
    yield ask("by text", wanted=table.Wanted(text="NO0099"))
    yield ask("what is due", wanted=table.Wanted(due="open"))


def _far(session: Session, connection: Connection) -> table.Key:
    """The key of the last page but a few."""
    after: table.Key | None = None
    for _ in range(THERMOMETERS // table.PAGE - 2):
        after = table.page(session, connection, after=after, columns=()).next
        assert after is not None
    return after or table.Key("", "", "")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--checks", type=int, default=50_000)
    asked.add_argument("--folder", type=Path, required=True)
    given = asked.parse_args()
    home = given.folder / f"registry-{given.checks}"
    if not home.exists():
        session, actor, site, found = fill.kitchen(home, THERMOMETERS)
        fill.fill(session, actor, site, found, given.checks, fold=True, tell=True)
        session.close()
    session = open_session(home)
    assert session.database.path is not None
    raw_s = raw_page_s(session.database.path)
    ratios = {}
    with session.reading() as connection:
        for name, act in acts(session, connection):
            taken_s = median_s(act, TIMES)
            ratios[f"{name}, to a raw page"] = taken_s / raw_s
            print(f"{name}: {1000 * taken_s:.1f} ms, {taken_s / raw_s:.1f} x a raw page")
    session.close()
    record.write_result(
        f"table-{given.checks}",
        command=f"python -m tests.benchmarks.table --checks {given.checks} --folder FOLDER",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
