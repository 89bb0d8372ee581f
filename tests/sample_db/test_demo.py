"""`./run demo`: builds once, shows what is there, touches nothing that is no demo."""

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

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
    assert demo.main(["--home", str(small.home), "--small", "--terminal"]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("DEMO: Copperfold Kitchens, everything in it is invented, its day and time too: ")
    assert "Building" not in said.err  # it was there
    names = [next(word for word in one if word in ("due", "history", "verify", "certificate")) for one in commands]
    assert names == ["due", "history", "verify", "certificate"]
    assert all(str(small.home) in one for one in commands)


def test_it_builds_where_nothing_is(
    tmp_path: Path, commands: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert demo.main(["--home", str(tmp_path / "new" / "demo"), "--small", "--terminal"]) == 0
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


@pytest.mark.slow
def test_without_a_screen_the_window_is_drawn(small: Built, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In a process of its own: the drawing wants the application to itself."""
    home = tmp_path / "demo"
    shutil.copytree(small.home, home)
    environment = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    command = [sys.executable, "-m", "sample_db.demo", "--home", str(home), "--small"]
    said = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=100, check=True)
    assert "There is no screen here" in said.stdout
    picture = QImage(str(home / "window.png"))
    assert (picture.width(), picture.height()) == (1280, 800)
    colours = {picture.pixelColor(x, y).name() for x in range(0, 1280, 16) for y in range(0, 800, 16)}
    assert len(colours) > 6  # something is drawn
