"""What is folded is a function of the set of entries: in whatever order they come, by whatever way."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.records.kinds import KINDS
from registry.store import comparing, rebuild, transaction
from registry.store.database import Database
from registry.store.transaction import Signer, Transaction
from tests.store.databases import append, create, deliver, deliver_mixed, folded
from tests.store.story import PERSON, Chain, Story, id_of, key

Fresh = Callable[[], Database]
SEEDS = st.integers(0, 2**32)


@contextmanager
def fresh_files(place: Path) -> Iterator[Fresh]:
    """New SQLite databases, gone afterwards: hypothesis wants many."""
    made: list[Database] = []

    def fresh() -> Database:
        made.append(create(f"sqlite:///{place / f'{len(made)}.db'}"))
        return made[-1]

    try:
        yield fresh
    finally:
        for one in made:
            one.close()
        for file in place.iterdir():
            file.unlink()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("stories")


def arrives_in_any_order(fresh: Fresh, seed: int, steps: int) -> None:
    story = Story(Random(seed), steps)
    told, mixed = fresh(), fresh()
    deliver(told, story)
    deliver_mixed(mixed, story, Random(seed + 1))
    assert folded(told) == folded(mixed)
    assert comparing.compare(told) == []
    before = folded(mixed)
    assert rebuild.rebuild(mixed)
    assert folded(mixed) == before


@settings(max_examples=6, deadline=None)
@given(SEEDS, st.integers(5, 60))
def test_any_order_of_arrival_folds_to_the_same(place: Path, seed: int, steps: int) -> None:
    with fresh_files(place) as fresh:
        arrives_in_any_order(fresh, seed, steps)


@pytest.mark.slow
@pytest.mark.timeout(900)
@settings(max_examples=80, deadline=None)
@given(SEEDS, st.integers(5, 120))
def test_any_order_of_arrival_folds_to_the_same_often(place: Path, seed: int, steps: int) -> None:
    with fresh_files(place) as fresh:
        arrives_in_any_order(fresh, seed, steps)


def writes_its_own_as_it_goes(fresh: Fresh, seed: int, steps: int) -> None:
    """Chain 0 is written here, by transactions that take short ways; the others arrive in between."""
    story = Story(Random(seed), steps, odd=False)
    here, elsewhere = fresh(), fresh()
    own = story.chains[0]
    with here.writing() as connection:
        signer = Signer(key(0), own.chain, transaction.new_chain(connection, own.chain))
    random, held = Random(seed + 1), {1: [], 2: []}
    for number, entry in story.told:
        if number:
            held[number].append(entry)
            if random.random() < 0.5:
                append(here, story.chains[number], held[number])
                held[number] = []
            continue
        with here.writing() as connection:
            written = Transaction(connection, signer, lambda at=entry.at: at, PERSON if entry.seq else "system")
            made = written.add(KINDS[entry.kind].from_payload(entry.payload), after=entry.after)
            assert made.text == entry.text
            written.finish()
    for number, entries in held.items():
        if entries:
            append(here, story.chains[number], entries)
    deliver_mixed(elsewhere, story, random)
    assert folded(here) == folded(elsewhere)


@settings(max_examples=6, deadline=None)
@given(SEEDS, st.integers(5, 60))
def test_what_is_written_here_folds_as_it_does_elsewhere(place: Path, seed: int, steps: int) -> None:
    with fresh_files(place) as fresh:
        writes_its_own_as_it_goes(fresh, seed, steps)


@pytest.mark.slow
@pytest.mark.timeout(900)
@settings(max_examples=80, deadline=None)
@given(SEEDS, st.integers(5, 120))
def test_what_is_written_here_folds_as_it_does_elsewhere_often(place: Path, seed: int, steps: int) -> None:
    with fresh_files(place) as fresh:
        writes_its_own_as_it_goes(fresh, seed, steps)


def test_both_kinds_of_database_fold_to_the_same(database_url: str, tmp_path: Path) -> None:
    story = Story(Random(7), 150)
    here, plain = create(database_url), create(f"sqlite:///{tmp_path / 'other.db'}")
    deliver_mixed(here, story, Random(8))
    deliver(plain, story)
    assert folded(here) == folded(plain)
    assert comparing.compare(here) == []
    assert rebuild.rebuild(here)
    assert folded(here) == folded(plain)
    here.close()
    plain.close()


def test_stories_reach_every_table() -> None:
    """Else the tests above would compare nothing with nothing."""
    kinds = {entry.kind for seed in range(20) for _, entry in Story(Random(seed), 60).told}
    assert kinds >= {"import_closed", "voided", "bath_judged", "adjusted", "probe_melted", "reading_taken"}


@pytest.mark.parametrize("seeds", [range(8), pytest.param(range(8, 60), marks=pytest.mark.slow)], ids=["few", "many"])
def test_an_adjustment_whose_check_is_void_is_not_measured_whatever_came_first(place: Path, seeds: range) -> None:
    with fresh_files(place) as fresh:
        voided = 0
        for seed in seeds:
            story, database = Story(Random(seed), 60), fresh()
            deliver_mixed(database, story, Random(seed))
            with database.reading() as connection:
                rows = connection.exec_driver_sql(
                    "SELECT a.offset, a.outcome FROM adjustments a JOIN checks c"
                    ' ON c."check" = a."check" AND c.thermometer = a.thermometer WHERE c.voided = 1'
                ).all()
            assert {tuple(row) for row in rows} <= {(None, None)}
            voided += len(rows)
        assert voided


@pytest.mark.parametrize("order", ["as told", "the copy first"])
def test_of_a_void_check_recorded_by_two_copies_the_first_one_counts(place: Path, order: str) -> None:
    """Its later copy is void and the earlier one is not: what an adjustment left is known, whichever came first."""
    about = {"thermometer": id_of("t", 0), "check": id_of("c", 1), "point": "ice_point"}
    judged = {"offset": "0.1 dC", "u": "0.1 dC", "k": "2", "outcome": "pass"}
    first, second = Chain(0), Chain(1)
    for number, chain in enumerate((first, second)):
        opened = {"name": "Test", "opened_because": "first_start", "program": "0"}
        chain.write("chain_opened", opened, (), at=1_000 + number, kv=1)
        chain.write("check_recorded", about | judged | {"as_found": ["0.4 C"]}, (), at=2_000 + number, kv=1)
    left = about | judged | {"adjustment": id_of("a", 1), "how": "nut"}
    second.write("adjusted", left, (), at=3_000, kv=1)
    void = {"of": id_of("t", 0), "entries": [second.entries[1].hash.hex()], "why": "slip"}
    second.write("voided", void, (), at=4_000, kv=1)
    with fresh_files(place) as fresh:
        database = fresh()
        for chain in (first, second) if order == "as told" else (second, first):
            append(database, chain, chain.entries)
        with database.reading() as connection:
            (row,) = connection.exec_driver_sql("SELECT offset, outcome FROM adjustments").all()
        assert tuple(row) == ("0.1 dC", "pass")
        assert comparing.compare(database) == []
