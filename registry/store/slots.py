"""A small file of two slots, written in turn and in place, of which the newer whole one counts.

A write that breaks off spoils one slot and leaves the other, which holds what was saved before. All room is
taken when the file is made, so that saving still works on a full disk. (File systems that never write in
place, such as btrfs, need room all the same.)
"""

import fcntl
import os
import struct
import zlib
from pathlib import Path
from typing import Self

from registry.store.errors import KnownError, known_errors

MAGIC = b"TRslots1"  # the last byte is the version of the layout
_datasync = getattr(os, "fdatasync", os.fsync)  # macOS has no fdatasync
_HEADER = struct.Struct(">8sQII")  # magic, sequence, length, CRC-32 of the three and the data


class SlotFile:
    """Two slots of `slot_size` bytes, each a header and data."""

    def __init__(self, path: Path, descriptor: int, slot_size: int) -> None:
        self._path = path
        self._fd = descriptor
        self._slot_size = slot_size

    @classmethod
    def open(cls, path: Path, slot_size: int, *, alone: bool = False, read_only: bool = False) -> Self:
        """Open the file at `path`; `alone` shuts out other programs.

        Unless `read_only` it is made and filled with zeros if need be.
        Refuses with KnownError: disk_full, read_only, wrong_place, locked, newer_file, not_ours.
        """
        with known_errors(path):
            access = os.O_RDONLY if read_only else os.O_RDWR | os.O_CREAT
            descriptor = os.open(path, access | os.O_CLOEXEC, 0o600)
            file = cls(path, descriptor, slot_size)
            try:
                if alone:
                    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
                file._refuse_others()
                if not read_only:
                    file._fill()
            except BaseException:
                os.close(descriptor)
                raise
        return file

    @property
    def room(self) -> int:
        """How many bytes of data a slot takes."""
        return self._slot_size - _HEADER.size

    def load(self) -> bytes | None:
        """The data saved last, or what was saved before where that broke off; None where there is none."""
        newest = self._newest()
        return None if newest is None else newest[2]

    def save(self, data: bytes, *, sync: bool = True) -> None:
        """Put `data` in the older slot; it then survives a crash, with `sync` a power cut too."""
        if len(data) > self.room:
            raise KnownError("draft_too_large", length=len(data), limit=self.room)
        newest = self._newest()
        index, sequence = (0, 1) if newest is None else (1 - newest[0], newest[1] + 1)
        with known_errors(self._path):
            _write(self._fd, _slot(sequence, data), index * self._slot_size)
            if sync:
                _datasync(self._fd)

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._fd)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _newest(self) -> tuple[int, int, bytes] | None:
        """Index, sequence and data of the newer whole slot. Read afresh: another program may have written."""
        with known_errors(self._path):
            slots = [os.pread(self._fd, self._slot_size, index * self._slot_size) for index in (0, 1)]
        whole = [(index, *read) for index, raw in enumerate(slots) if (read := _read(raw)) is not None]
        return max(whole, key=lambda slot: slot[1], default=None)

    def _refuse_others(self) -> None:
        start = os.pread(self._fd, len(MAGIC), 0)
        if start[:-1] == MAGIC[:-1] and start[-1:] > MAGIC[-1:]:
            raise KnownError("newer_file", path=str(self._path))
        # Zeros among them are a first write that broke off; else it is somebody's file, not to be spoilt.
        if any(byte not in (0, ours) for byte, ours in zip(start, MAGIC, strict=False)):
            raise KnownError("not_ours", path=str(self._path))

    def _fill(self) -> None:
        size = os.fstat(self._fd).st_size
        missing = 2 * self._slot_size - size
        if missing <= 0:
            return
        try:
            _write(self._fd, bytes(missing), size)
            os.fsync(self._fd)
            sync_folder(self._path.parent)
        except OSError:
            os.ftruncate(self._fd, size)  # give a full disk back what was taken
            raise


def sync_folder(folder: Path) -> None:
    """Make a new name in `folder` survive a power cut."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _slot(sequence: int, data: bytes) -> bytes:
    head = _HEADER.pack(MAGIC, sequence, len(data), 0)[:-4]
    return head + zlib.crc32(data, zlib.crc32(head)).to_bytes(4, "big") + data


def _read(raw: bytes) -> tuple[int, bytes] | None:
    """Sequence and data of a slot, None if it is not whole."""
    if len(raw) < _HEADER.size:
        return None
    _, sequence, length, _ = _HEADER.unpack_from(raw)
    data = raw[_HEADER.size : _HEADER.size + length]
    # Made again and compared: that looks at magic, length and checksum at once.
    return (sequence, data) if raw.startswith(_slot(sequence, data)) else None


def _write(descriptor: int, data: bytes, offset: int) -> None:
    while data:
        written = os.pwrite(descriptor, data, offset)
        data, offset = data[written:], offset + written
