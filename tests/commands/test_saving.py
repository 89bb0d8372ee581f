"""Files that commands write: one that is there already stays as it is, unless it is said to be replaced."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from registry.commands.app import commands
from tests.commands.desk import Kitchen


def with_out(command: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], set[str]]]:
    """Every command with `--out`, and the options it takes."""
    options = {one for param in command.params for one in param.opts}
    if "--out" in options:
        yield path, options
    for name, below in getattr(command, "commands", {}).items():
        yield from with_out(below, (*path, name))


def test_every_command_that_writes_a_file_may_be_told_to_replace_it() -> None:
    found = list(with_out(commands("en")))
    assert len(found) >= 25
    assert [path for path, options in found if "--replace" not in options] == []


@pytest.mark.parametrize(
    "words",
    [
        ("thermometers",),
        ("log",),
        ("shift-sheet",),
        ("wall-list",),
        ("overview",),
        ("tag", "calibration"),
        ("certificates",),
    ],
)
def test_a_file_that_is_there_already_stays(kitchen: Kitchen, tmp_path: Path, words: tuple[str, ...]) -> None:
    ending = "csv" if words[0] in ("thermometers", "certificates") else "pdf"
    file = tmp_path / f"mine.{ending}"
    file.write_text("mine")
    said = kitchen(*words, "--out", str(file))
    assert (said.code, file.read_text()) == (1, "mine")
    assert said.err == f"{file} is there already and was left as it is: choose another name, or say --replace.\n"
    assert kitchen(*words, "--out", str(file), "--replace").code == 0
    assert file.read_bytes() != b"mine"


def test_nothing_is_recorded_that_has_no_file(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    kitchen.done("read", kitchen.tags[3], "0.1")
    file = tmp_path / "mine.pdf"
    file.write_text("mine")
    assert kitchen("certificate", kitchen.tags[3], "--out", str(file)).code == 1
    assert kitchen.json("certificates")["certificates"] == []


def test_nor_one_under_the_name_that_the_program_gives_it(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    kitchen.done("tag", "calibration")
    drawn = Path("calibration.pdf").read_bytes()
    assert "--replace" in kitchen("tag", "calibration").err
    kitchen.done("tag", "calibration", "--replace")
    assert Path("calibration.pdf").read_bytes() == drawn
