"""Drafts: 500 saves on a full disk, a killed program, one window at a time."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from registry.store.drafts import SLOT_SIZE, Drafts
from registry.store.errors import KnownError


def test_what_was_typed_is_there_again(tmp_path: Path) -> None:
    path = tmp_path / "drafts"
    with Drafts.open(path) as drafts:
        assert drafts.load() is None
        drafts.save(b"0.4 C")
        drafts.save("−18,0 °C".encode())
    with Drafts.open(path) as drafts:
        assert drafts.load() == "−18,0 °C".encode()
    assert path.stat().st_size == 2 * SLOT_SIZE


def fill(disk: Path) -> None:
    """Use up every byte."""
    with (disk / "filler").open("wb", buffering=0) as file:
        for size in (4096, 1):
            try:
                while True:
                    file.write(bytes(size))
            except OSError:
                continue


def test_500_saves_on_a_full_disk(small_disk: Path) -> None:
    with Drafts.open(small_disk / "drafts") as drafts:
        fill(small_disk)
        with pytest.raises(OSError, match="No space"):
            (small_disk / "anything").write_bytes(b"x")
        for number in range(500):
            data = f"reading {number} ".encode() * (number * 30)
            drafts.save(data)
            assert drafts.load() == data
    with Drafts.open(small_disk / "drafts") as drafts:
        assert drafts.load() == data


def test_a_killed_program_loses_nothing_it_was_told_is_saved(tmp_path: Path) -> None:
    program = (
        "import itertools, sys\nfrom pathlib import Path\nfrom registry.store.drafts import Drafts\n"
        "drafts = Drafts.open(Path(sys.argv[1]))\n"
        "for number in itertools.count():\n"
        "    drafts.save(b'%d ' % number * 1000)\n    print(number, flush=True)\n"
    )
    root = Path(__file__).resolve().parents[2]
    with subprocess.Popen(
        [sys.executable, "-c", program, tmp_path / "drafts"], cwd=root, stdout=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout is not None
        said = [running.stdout.readline() for _ in range(40)]
        running.kill()
        said += running.stdout.readlines()
    assert running.returncode == -signal.SIGKILL
    last = int([line for line in said if line.endswith("\n")][-1])
    with Drafts.open(tmp_path / "drafts") as drafts:
        found = drafts.load()
    # The one being saved when it was killed may be there too.
    assert found in (b"%d " % last * 1000, b"%d " % (last + 1) * 1000)


def test_a_second_window_is_told(tmp_path: Path) -> None:
    with Drafts.open(tmp_path / "drafts"), pytest.raises(KnownError) as caught:
        Drafts.open(tmp_path / "drafts")
    assert caught.value.code == "locked"
    with Drafts.open(tmp_path / "drafts") as drafts:
        assert drafts.load() is None


def test_too_large_is_said_and_keeps_those_before(tmp_path: Path) -> None:
    with Drafts.open(tmp_path / "drafts", slot_size=128) as drafts:
        drafts.save(b"one")
        with pytest.raises(KnownError) as caught:
            drafts.save(bytes(129))
        assert caught.value.code == "draft_too_large"
        assert drafts.load() == b"one"
