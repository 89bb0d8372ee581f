"""What every test may ask for. Windows are drawn to memory; databases are real and empty."""

import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:  # SQLAlchemy is loaded only by tests that want a database
    from sqlalchemy import URL

os.environ["QT_QPA_PLATFORM"] = "offscreen"  # before anything imports Qt

MEMORY = Path("/dev/shm")
ROOM = 4 * 10**9  # a whole run leaves less than half of it behind
GARBAGE = 5_000  # new objects between two searches for garbage; with the usual 700 they take a twentieth of the run

# The same examples each time, and no time limit on a busy machine: what is green stays green. The fuzz drivers roam.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


def pytest_configure(config: pytest.Config) -> None:
    """Each registry waits for the disk at every commit: in memory that costs nothing, and none is pulled out here."""
    config.addinivalue_line("markers", "fast_cases(n): n of its cases, spread over all, are fast; the others are slow")
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # each process that is started would compile the program anew
    sys.dont_write_bytecode = False
    if "TMPDIR" not in os.environ and fit_for_files(MEMORY):
        os.environ["TMPDIR"] = str(MEMORY)  # for pytest's folders, for PostgreSQL, and for programs started by tests
        tempfile.tempdir = None
    gc.disable()  # nothing that is collected now is garbage


def fit_for_files(folder: Path) -> bool:
    """Whether it can be written, has room, and lets programs that lie there be run."""
    try:
        runs = not os.statvfs(folder).f_flag & os.ST_NOEXEC
        return runs and os.access(folder, os.W_OK | os.X_OK) and shutil.disk_usage(folder).free > ROOM
    except (OSError, AttributeError):  # no such folder, or a system without such flags
        return False


def pytest_collection_finish() -> None:
    """The tests themselves stay until the end, so no search for garbage has to walk through them."""
    gc.freeze()
    gc.set_threshold(GARBAGE)
    gc.enable()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What `fast_cases` says. Which of them are fast rests on the order in which they are written alone."""
    marked: dict[str, list[Any]] = {}
    for item in items:
        asked = isinstance(item, pytest.Function) and item.get_closest_marker("fast_cases")
        if asked and not item.get_closest_marker("slow"):
            marked.setdefault(item.nodeid.partition("[")[0], []).append(item)
    for cases in marked.values():
        marker = cases[0].get_closest_marker("fast_cases")
        cases.sort(key=lambda one: tuple(one.callspec.indices.values()))
        for case in set(cases) - set(spread(cases, marker.args[0])):
            case.add_marker("slow")


def spread(cases: list[Any], number: int) -> list[Any]:
    """So many of them, one from the middle of each of as many equal parts."""
    return [cases[(2 * part + 1) * len(cases) // (2 * number)] for part in range(number)]


@pytest.fixture(scope="session", autouse=True)
def compiled_once() -> Iterator[None]:
    """Where a test that was collected wants databases: their statements are compiled once, not for each of them."""
    with pytest.MonkeyPatch.context() as patch:
        if "registry.store.database" in sys.modules:
            from tests import compiled

            compiled.share(patch)
        yield


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
