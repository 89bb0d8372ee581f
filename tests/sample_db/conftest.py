"""The small demo, built once for the tests that look into it."""

from pathlib import Path

import pytest

from sample_db.build import Built, build


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Built:
    return build(tmp_path_factory.mktemp("demo") / "small", small=True)


@pytest.fixture
def small_home(small: Built) -> Path:
    return small.home
