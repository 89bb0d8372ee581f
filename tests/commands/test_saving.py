"""Files that commands write: one that is there already stays as it is, unless it is said to be replaced."""

import errno
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from registry.commands import exits
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


def test_where_the_disk_is_full_the_old_file_is_as_it_was(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    old, new = tmp_path / "old.csv", tmp_path / "new.csv"
    old.write_text("mine")
    monkeypatch.setattr(os, "fsync", full)
    for file in (old, new):
        said = kitchen("thermometers", "--out", str(file), "--replace")
        sentence, where = said.err.splitlines()
        assert (said.code, said.out, where.strip()) == (exits.TROUBLE, "", str(file))
        assert "full" in sentence
    monkeypatch.undo()
    assert {one.name: one.read_text() for one in tmp_path.glob("*.*") if one.is_file()} == {"old.csv": "mine"}


def test_a_link_is_followed_and_stays_a_link(kitchen: Kitchen, tmp_path: Path) -> None:
    file, link = tmp_path / "mine.csv", tmp_path / "link.csv"
    file.write_text("mine")
    file.chmod(0o640)
    link.symlink_to(file)
    assert kitchen("thermometers", "--out", str(link)).code == exits.REFUSED
    kitchen.done("thermometers", "--out", str(link), "--replace")
    assert (link.is_symlink(), file.stat().st_mode & 0o777) == (True, 0o640)
    assert kitchen.tags[0] in file.read_text("utf-8")


@pytest.mark.skipif(os.name == "nt", reason="there are no such files")
def test_a_folder_a_full_device_and_a_file_to_be_read_only_are_each_one_sentence(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, device, file = tmp_path / "folder.csv", tmp_path / "device.csv", tmp_path / "read.csv"
    folder.mkdir()
    device.symlink_to("/dev/full")
    file.write_text("mine")
    monkeypatch.setattr(os, "access", lambda path, *_, **__: path != file)  # who tests may be allowed everything
    for one in (folder, device, file, tmp_path / "none" / "x.csv"):
        said = kitchen("thermometers", "--out", str(one), "--replace")
        assert said.code == exits.TROUBLE, (one, said)
        _, where = said.err.splitlines()
        assert (said.code, said.out, where.strip()) == (exits.TROUBLE, "", str(one))
    assert (file.read_text(), device.is_symlink()) == ("mine", True)


def test_a_record_its_key_and_a_backup_are_never_written_over(kitchen: Kitchen, tmp_path: Path) -> None:
    backup, link = tmp_path / "backup.db", tmp_path / "overview.pdf"
    backup.write_text("mine")
    link.symlink_to(kitchen.home / "registry.key")
    before = (kitchen.home / "registry.key").read_bytes()
    for file in (kitchen.home / "registry.db", kitchen.home / "registry.key", backup, link):
        said = kitchen("overview", "--out", str(file), "--replace")
        assert (said.code, said.err.count("\n")) == (exits.REFUSED, 1)
        assert "backup" in said.err
    assert (backup.read_text(), (kitchen.home / "registry.key").read_bytes()) == ("mine", before)
    kitchen.done("thermometers")


def test_no_certificate_is_issued_into_a_folder_that_is_not_there(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    kitchen.done("read", kitchen.tags[3], "0.1")
    kitchen.done("bath", "judge", "accepted")
    for out in (tmp_path, tmp_path / "none" / "mine.pdf"):
        assert kitchen("certificate", kitchen.tags[3], "--out", str(out)).code == exits.TROUBLE
    assert kitchen.json("certificates")["certificates"] == []


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
