"""What is being keyed in outlives the window that it was keyed in; what is remembered outlives a full disk."""

from pathlib import Path

import pytest

from registry.services import settings
from registry.services.drafts import MOST_WINDOWS, WindowDrafts
from registry.store.errors import KnownError
from registry.store.local import Local


def test_what_is_kept_is_there_for_the_next_window(tmp_path: Path) -> None:
    first = WindowDrafts.open(tmp_path)
    first.keep("shift", {"a": "33."})
    first.close()
    again = WindowDrafts.open(tmp_path)
    assert again.get("shift") == {"a": "33."}
    again.keep("shift", None)
    assert again.get("shift") is None
    again.close()


def test_two_windows_have_a_file_each_and_neither_is_left_behind(tmp_path: Path) -> None:
    first, second = WindowDrafts.open(tmp_path), WindowDrafts.open(tmp_path)
    second.keep("shift", {"a": "1"})
    second.close()
    third = WindowDrafts.open(tmp_path)  # while the first is still open
    assert third.get("shift") == {"a": "1"}
    third.close()
    first.close()
    alone = WindowDrafts.open(tmp_path)  # the first file is free, and holds nothing
    assert alone.get("shift") == {"a": "1"}
    another = WindowDrafts.open(tmp_path)
    assert another.get("shift") is None
    for one in (alone, another):
        one.close()


def test_so_many_windows_and_no_more(tmp_path: Path) -> None:
    opened = [WindowDrafts.open(tmp_path) for _ in range(MOST_WINDOWS)]
    with pytest.raises(KnownError, match="locked"):
        WindowDrafts.open(tmp_path)
    for one in opened:
        one.close()
    assert len(list(tmp_path.iterdir())) == MOST_WINDOWS


def test_a_full_disk_keeps_nobody_from_sitting_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    local = settings.local_file(tmp_path)

    def full(_self: Local, _name: str, _value: str) -> None:
        raise KnownError("disk_full")

    settings.remember(local, "person", "p1")
    monkeypatch.setattr(Local, "set_setting", full)
    settings.remember(local, "person", "p2")
    assert settings.remembered(local, "person") == "p1"
    with pytest.raises(KnownError, match="disk_full"):  # what a person chooses is not swallowed
        settings.choose(local, "theme", "dark")
