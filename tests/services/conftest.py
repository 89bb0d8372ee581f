"""Kitchens to test the services in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.services.kitchen import Kitchen, another, open_kitchen


@pytest.fixture(scope="session")
def first_kitchen(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """Made once and closed; each test works in a copy."""
    opened = open_kitchen(tmp_path_factory.mktemp("first") / "kitchen")
    opened.session.close()
    return opened


@pytest.fixture
def kitchen(tmp_path: Path, first_kitchen: Kitchen) -> Iterator[Kitchen]:
    """A kitchen in a SQLite file."""
    opened = another(first_kitchen, tmp_path / "kitchen")
    yield opened
    opened.session.close()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.slow)])
def any_kitchen(request: pytest.FixtureRequest, tmp_path: Path, first_kitchen: Kitchen) -> Iterator[Kitchen]:
    """The same twice: in a SQLite file, and on PostgreSQL with the key in a folder."""
    if request.param == "sqlite":
        opened = another(first_kitchen, tmp_path / "kitchen")
    else:
        opened = open_kitchen(tmp_path / "kitchen", request.getfixturevalue("postgres_url"))
    yield opened
    opened.session.close()
