"""The window and the demo are commands like others: in the help, after options, with a sentence for what goes wrong."""

import os
import subprocess
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from registry import cli
from registry.services import settings
from tests.commands.desk import Kitchen

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def became(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What this process would have gone on as."""
    words: list[str] = []
    monkeypatch.setattr(os, "execv", lambda _, arguments: words.extend(arguments[1:]))
    return words


def test_both_stand_in_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--language", "en", "--help"]) == 0
    lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert any(line.startswith("window ") and "Open the window" in line for line in lines)
    assert any(line.startswith("demo ") and "invented group" in line for line in lines)


def test_a_place_is_one_of_the_window_and_asked_for_with_a_picture(
    became: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    from registry.commands import windows
    from ui import app, places

    assert windows.PLACES == app.PLACES == places.PLACES
    cli.main(["--home", "/a", "window", "--picture", "w.png", "--place", "proof"])
    assert became == ["-m", "ui.app", "--home", "/a", "--picture", "w.png", "--place", "proof"]
    became.clear()
    assert cli.main(["--language", "en", "--home", "/a", "window", "--place", "proof"]) != 0
    assert "give both" in capsys.readouterr().err
    assert cli.main(["--language", "en", "--home", "/a", "window", "--picture", "w.png", "--place", "cellar"]) != 0
    assert "cellar is none of these: shift, thermometers" in capsys.readouterr().err
    assert became == []


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (["--home", "/a", "window"], ["-m", "ui.app", "--home", "/a"]),
        (["--home", "/a", "window", "--home", "/b"], ["-m", "ui.app", "--home", "/b"]),
        (
            ["--language", "es", "--home", "/a", "window", "--picture", "w.png"],
            ["-m", "ui.app", "--home", "/a", "--language", "es", "--picture", "w.png"],
        ),
        (["--language=es", "demo", "--terminal"], ["-m", "sample_db.demo", "--language", "es", "--terminal"]),
        (
            ["--home", "/a", "demo", "--small", "--fresh"],
            ["-m", "sample_db.demo", "--home", "/a", "--small", "--fresh"],
        ),
    ],
)
def test_options_before_the_command_are_taken_along(words: list[str], wanted: list[str], became: list[str]) -> None:
    assert cli.main(words) == 0
    assert became == wanted


def test_the_window_opens_on_the_users_own_registry_and_the_demo_never_in_it(became: list[str], tmp_path: Path) -> None:
    cli.main(["window"])
    assert became[2:] == ["--home", str(tmp_path / "data" / "thermometer-registry")]
    became.clear()
    cli.main(["demo"])
    assert became == ["-m", "sample_db.demo"]


@pytest.mark.parametrize("option", [["--json"], ["--as", "AR"]])
def test_what_means_nothing_to_a_window_is_refused(
    option: list[str], became: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["--language", "en", *option, "window"]) == 1
    assert f"{option[0]} does nothing here" in capsys.readouterr().err
    assert became == []


def drawn(home: Path, picture: Path, *options: str, place: str = "") -> subprocess.CompletedProcess[str]:
    """In a process of its own: the drawing wants the application to itself."""
    command = [sys.executable, "-m", "registry.cli", "--home", str(home), *options, "window", "--picture", str(picture)]
    command += ["--place", place] if place else []
    return subprocess.run(command, capture_output=True, text=True, timeout=100, check=False)


def test_a_drawn_window_says_where_its_picture_lies(kitchen: Kitchen, tmp_path: Path) -> None:
    picture = tmp_path / "window.png"
    said = drawn(kitchen.home, picture, "--language", "es")
    assert (said.returncode, said.stdout, said.stderr) == (0, f"Guardado: {picture}\n", "")
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert settings.setting(settings.local_file(kitchen.home), "language") == "group"  # the window's own stays


def test_a_drawn_place_is_laid_out_to_its_end(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "setup.png"
    assert drawn(kitchen.home, file, place="setup").returncode == 0
    with Image.open(file) as picture:
        form = picture.convert("L").crop((430, 100, 1240, 560))  # under the heading; nothing stood there once
    dark, _ = form.getextrema()
    assert dark < 80
    assert len(form.getcolors() or []) > 20


@pytest.mark.slow
def test_a_window_that_cannot_be_drawn_there_says_so(kitchen: Kitchen, tmp_path: Path) -> None:
    said = drawn(kitchen.home, tmp_path / "none" / "window.png", "--language", "en")
    assert (said.returncode, said.stdout) == (1, "")
    assert said.stderr.startswith("The window could not be drawn to ")


# --- ./run, which goes straight to both ----------------------------------------------------------------------


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """The set-up script with everything set up: what it would go on as."""
    spec = spec_from_file_location("bootstrap", ROOT / "resources" / "setup" / "bootstrap.py")
    assert spec is not None
    assert spec.loader is not None
    bootstrap: Any = module_from_spec(spec)
    spec.loader.exec_module(bootstrap)
    mark = tmp_path / "set-up-done"
    mark.write_text(bootstrap.set_up_mark())
    monkeypatch.setattr(bootstrap, "DONE", mark)

    class GoesOn(Exception):
        pass

    def become(*words: str) -> None:
        raise GoesOn(*words)

    monkeypatch.setattr(bootstrap, "become", become)

    def asked(*words: str) -> tuple[str, ...]:
        with pytest.raises(GoesOn) as became:
            bootstrap.main(list(words))
        return became.value.args

    return asked


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ([], ["ui.app"]),
        (["window", "--picture", "w.png"], ["ui.app", "--picture", "w.png"]),
        (["demo", "--small"], ["sample_db.demo", "--small"]),
        (["--home", "/a", "window"], ["registry.cli", "--home", "/a", "window"]),
        (["window", "--help"], ["registry.cli", "window", "--help"]),
        (["demo", "--help"], ["registry.cli", "demo", "--help"]),
    ],
)
def test_where_run_goes_on(run: Any, words: list[str], wanted: list[str]) -> None:
    assert list(run(*words)) == wanted
