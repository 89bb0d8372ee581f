"""What is being keyed in, kept by this computer until it is recorded: one file a window."""

import json
from pathlib import Path
from typing import Any, Self

from registry.store.drafts import Drafts
from registry.store.errors import KnownError

NAME = "drafts"
MOST_WINDOWS = 8


class WindowDrafts:
    """The drafts of one window: named texts, saved whole at every change."""

    def __init__(self, drafts: Drafts) -> None:
        self._drafts = drafts
        self._kept = _loaded(drafts.load())

    @classmethod
    def open(cls, home: Path) -> Self:
        """A drafts file that no other window holds: one in which a crash left something, else the first.

        KnownError "locked" where all are held.
        """
        free: Self | None = None
        for n in range(MOST_WINDOWS):
            path = home / (NAME if n == 0 else f"{NAME}-{n + 1}")
            if free is not None and not path.exists():
                continue
            try:
                found = cls(Drafts.open(path))
            except KnownError as problem:
                if problem.code != "locked" and free is None:
                    raise
                continue
            if free is not None and not found._kept:
                found.close()
                continue
            if free is not None:
                free.close()
            free = found
            if free._kept:
                break
        if free is None:
            raise KnownError("locked")
        return free

    def get(self, name: str) -> Any:
        """What was kept last under a name; None where nothing was."""
        return self._kept.get(name)

    def keep(self, name: str, value: Any) -> None:
        """Keep a value that JSON can hold; None forgets it. It stands when this returns."""
        if self._kept.get(name) == value:
            return
        kept = {**self._kept, name: value}
        if value is None:
            del kept[name]
        self._drafts.save(json.dumps(kept).encode())
        self._kept = kept

    def close(self) -> None:
        self._drafts.close()


def _loaded(saved: bytes | None) -> dict[str, Any]:
    try:
        found = json.loads(saved or b"{}")
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
