"""What is folded is a function of the set of entries: in whatever order they come, by whatever way."""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from registry.store import comparing, rebuild
from registry.store.database import Database
from tests.store.databases import create, deliver, folded
from tests.store.story import Story


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("stories")


class Fresh:
    """New SQLite files, one after the other."""

    def __init__(self, place: Path) -> None:
        self.place, self.made = place, []

    def __call__(self) -> Database:
        path = self.place / f"{len(list(self.place.iterdir()))}.db"
        self.made.append(create(f"sqlite:///{path}"))
        return self.made[-1]

    def close(self) -> None:
        for one in self.made:
            one.close()
            one.path.unlink()


@pytest.fixture
def fresh(place: Path) -> Iterator[Fresh]:
    made = Fresh(place)
    yield made
    made.close()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32), st.integers(5, 60))
def test_any_order_of_arrival_folds_to_the_same(fresh: Fresh, seed: int, steps: int) -> None:
    story = Story(Random(seed), steps)
    told, mixed = fresh(), fresh()
    deliver(told, story)
    deliver(mixed, story, Random(seed + 1))
    assert folded(told) == folded(mixed)
    assert comparing.compare(told) == []
    before = folded(mixed)
    assert rebuild.rebuild(mixed)
    assert folded(mixed) == before
    fresh.close()
    fresh.made.clear()
