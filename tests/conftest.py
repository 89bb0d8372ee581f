"""What every test may ask for. Windows are drawn to memory; databases are real and empty."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:  # SQLAlchemy is loaded only by tests that want a database
    from sqlalchemy import URL

os.environ["QT_QPA_PLATFORM"] = "offscreen"  # before anything imports Qt


@pytest.fixture(scope="session")
def postgres_server() -> Iterator["URL"]:
    """One server for this process; a second one under xdist is cheaper than sharing."""
    from tests import postgres

    with postgres.server() as address:
        yield address


@pytest.fixture
def postgres_url(postgres_server: "URL") -> Iterator[str]:
    """Address of an empty PostgreSQL database that is dropped after the test."""
    from tests import postgres

    with postgres.fresh_database(postgres_server) as address:
        yield address.render_as_string(hide_password=False)


@pytest.fixture(params=["sqlite", "postgres"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Address of an empty database: the test runs once on a SQLite file and once on PostgreSQL."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'registry.db'}"
    address: str = request.getfixturevalue("postgres_url")
    return address


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say at the end of each run which recorded benchmarks are older than the code they speak of."""
    from tests.benchmarks import record

    stale = record.stale_results()
    if stale:
        terminalreporter.section("benchmark results older than the code they cover")
        for line in stale:
            terminalreporter.line(line)
