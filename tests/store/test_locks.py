"""Two installations that write to one server at once: the second waits, and nothing that was folded is lost."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest

from registry.store import comparing, transaction
from registry.store.database import open_database
from registry.store.transaction import Signer, Transaction
from tests.store.kitchen import BATH, CHECK, JUDGED, Kitchen, T, U, furnished
from tests.store.story import PERSON, Chain, id_of, key

NEW, OTHER = id_of("x", 1), id_of("x", 2)
ABOUT = {"point": "ice_point", "as_found": ["0.4 C"]}
FAILED = ("check_recorded", {"thermometer": T, "check": NEW, "outcome": "fail"} | ABOUT)
DROPPED = ("incident_reported", {"thermometer": T, "incident": id_of("i", 300), "what": "dropped"})
MOVED = ("place_set", {"thermometer": T, "site": id_of("s", 9)})
IN_BATH = ("check_recorded", {"thermometer": T, "check": NEW} | ABOUT | JUDGED)
OTHER_IN_BATH = ("check_recorded", {"thermometer": U, "check": OTHER} | ABOUT | JUDGED)
SUSPECT = {"bath": BATH, "judged": "suspect", "judged_by": "person", "outcomes": {CHECK: "fail", NEW: "fail"}}
JUDGED_BATH = ("bath_judged", SUSPECT)


def another(kitchen: Kitchen, url: str) -> Kitchen:
    """A second installation at the same database, with a key and connections of its own."""
    database, chain = open_database(url), Chain(1).chain
    with database.writing() as connection:
        signer = Signer(key(1), chain, transaction.new_chain(connection, chain))
    second = replace(kitchen, database=database, signer=signer, number=1)
    second.record(("chain_opened", {"name": "Bakery", "opened_because": "first_start", "program": "1"}))
    return second


def somebody_waits(kitchen: Kitchen) -> bool:
    with kitchen.database.reading() as connection:
        waiting = connection.exec_driver_sql("SELECT count(*) FROM pg_locks WHERE NOT granted").scalar_one()
    return bool(waiting)


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        (FAILED, DROPPED),
        (DROPPED, FAILED),
        (MOVED, DROPPED),
        (JUDGED_BATH, IN_BATH),
        (IN_BATH, JUDGED_BATH),
        (JUDGED_BATH, DROPPED),
        (DROPPED, JUDGED_BATH),
        (OTHER_IN_BATH, JUDGED_BATH),
    ],
)
def test_the_second_waits_for_the_first_and_loses_nothing(
    postgres_url: str, earlier: tuple[str, dict[str, Any]], later: tuple[str, dict[str, Any]]
) -> None:
    first = furnished(postgres_url)
    second = another(first, postgres_url)
    with ThreadPoolExecutor(1) as thread:
        with first.database.writing() as connection:
            entries = Transaction(connection, first.signer, first.clock, PERSON)
            first.add(entries, *earlier)
            entries.finish()
            waiting = thread.submit(second.record, later)
            while not waiting.done() and not somebody_waits(first):
                pass
        waiting.result()
    assert comparing.compare(first.database) == []
    first.database.close()
    second.database.close()
