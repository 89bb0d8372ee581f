"""Files that were asked for, written whole or not at all."""

import os
import shutil
from errno import EACCES
from pathlib import Path

from registry.services.problems import refuse

KEPT = (".db", ".db-wal", ".db-shm", ".key", ".marker", ".old")  # how records, backups and their keys end


def refuse_record(path: Path) -> None:
    """Nothing is written over a record, a backup or a key, as their names tell, nor over what a link leads to."""
    if path.is_file() and path.resolve().name.endswith(KEPT):
        raise refuse("out", "holds_record", value=str(path))


def write(path: Path, content: bytes) -> None:
    """Write a file; where that fails, one that was there is as it was, and none is there that was not.

    A device or a pipe is written to as it is. OSError names the file that was asked for.
    """
    refuse_record(path)
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(content)
        else:
            _replace(path.resolve(), content)
    except OSError as error:
        error.filename = str(path)
        raise


def _replace(at: Path, content: bytes) -> None:
    if at.exists() and not os.access(at, os.W_OK):
        raise PermissionError(EACCES, os.strerror(EACCES))
    part = at.with_name(f".{at.name[:100]}-{os.getpid()}.part")
    try:
        _put(part, content)
        if at.exists():
            shutil.copymode(at, part)
        os.replace(part, at)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def _put(part: Path, content: bytes) -> None:
    """With the disk having it: what it replaces is gone afterwards."""
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
