"""Kitchens to test the services in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.services.kitchen import Kitchen, open_kitchen


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen in a SQLite file."""
    opened = open_kitchen(tmp_path / "kitchen")
    yield opened
    opened.session.close()


@pytest.fixture
def any_kitchen(tmp_path: Path, database_url: str) -> Iterator[Kitchen]:
    """The same twice: in a SQLite file, and on PostgreSQL with the key in a folder."""
    opened = open_kitchen(tmp_path / "kitchen", database_url if database_url.startswith("postgres") else None)
    yield opened
    opened.session.close()
