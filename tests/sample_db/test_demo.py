"""`./run demo`: builds once, shows what is there, touches nothing that is no demo."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from sample_db import demo
from sample_db.build import Built


@pytest.fixture
def commands(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """What was asked of the command line."""
    asked: list[list[str]] = []

    def answers(argv: Sequence[str]) -> int:
        asked.append(list(argv))
        return 0

    monkeypatch.setattr(demo.cli, "main", answers)
    return asked


def test_it_shows_what_is_built_and_says_demo(
    small: Built, commands: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert demo.main(["--home", str(small.home), "--small"]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("DEMO: Copperfold Kitchens")
    assert "Building" not in said.err  # it was there
    names = [next(word for word in one if word in ("due", "history", "verify", "certificate")) for one in commands]
    assert names == ["due", "history", "verify", "certificate"]
    assert all(str(small.home) in one for one in commands)


def test_it_builds_where_nothing_is(
    tmp_path: Path, commands: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert demo.main(["--home", str(tmp_path / "new" / "demo"), "--small"]) == 0
    assert "Building the demo group" in capsys.readouterr().err
    assert (tmp_path / "new" / "demo" / "registry.db").is_file()
    assert len(commands) == 4


def test_it_leaves_a_folder_that_is_no_demo_alone(
    tmp_path: Path, commands: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "registry.db").write_text("somebody's records")
    assert demo.main(["--home", str(tmp_path), "--fresh"]) == 1
    assert "no demo" in capsys.readouterr().err
    assert (tmp_path / "registry.db").read_text() == "somebody's records"
    assert commands == []


def test_its_folder_is_the_users_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert demo.default_home(small=False) == tmp_path / "thermometer-registry-demo"
    monkeypatch.delenv("XDG_DATA_HOME")
    assert demo.default_home(small=True) == Path.home() / ".local" / "share" / "thermometer-registry-demo-small"


def test_the_thermometer_shown_is_one_that_was_adjusted(small: Built) -> None:
    assert demo.worth_showing(small.home).startswith("WS")
