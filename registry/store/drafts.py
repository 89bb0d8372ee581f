"""What is being keyed in, kept at every key press until it is recorded."""

from pathlib import Path
from typing import Self

from registry.store.slots import SlotFile

SLOT_SIZE = 256 * 1024


class Drafts:
    """The drafts of one window, as one run of bytes that is saved and loaded whole."""

    def __init__(self, file: SlotFile) -> None:
        self._file = file

    @classmethod
    def open(cls, path: Path, slot_size: int = SLOT_SIZE) -> Self:
        """Open the drafts at `path`, making the file if need be; KnownError "locked" if a window has them."""
        return cls(SlotFile.open(path, slot_size, alone=True))

    def load(self) -> bytes | None:
        """The drafts saved last; None where nothing ever was."""
        return self._file.load()

    def save(self, drafts: bytes) -> None:
        """Keep `drafts` instead of those before. They stand when this returns, on a full disk too.

        KnownError "draft_too_large" keeps those before, with `length` and `limit` in bytes.
        """
        self._file.save(drafts)

    def close(self) -> None:
        """Let another window have them."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
