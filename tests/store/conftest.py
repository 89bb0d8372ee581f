"""Disks that are full, and other trouble with places to write to."""

import ctypes
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

CLONE_NEWNS = 0x00020000  # unshare(2)


@pytest.fixture(scope="session")
def own_mounts() -> None:
    """Mounts of this process alone, which end with it even if it is killed; skips where that is refused."""
    libc = ctypes.CDLL(None, use_errno=True)
    if not hasattr(libc, "unshare") or libc.unshare(CLONE_NEWNS) != 0:
        pytest.skip(f"no small disk to fill: {os.strerror(ctypes.get_errno())}")
    mount("--make-rprivate", "/")


def mount(*arguments: str) -> None:
    done = subprocess.run(["mount", *arguments], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"no small disk to fill: {done.stderr.strip()}")


@pytest.fixture
def small_disk(tmp_path: Path, own_mounts: None) -> Iterator[Path]:
    """A file system of one megabyte, to be filled up; skips where this account may not mount one."""
    place = tmp_path / "small disk"
    place.mkdir()
    mount("-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place))
    yield place
    subprocess.run(["umount", str(place)], check=True)
