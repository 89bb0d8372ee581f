"""Modules are imported one a piece, and once: what is there then is never collected."""

import gc
import sys

import pytest

from ui.imports import in_turn


def test_one_a_piece_and_what_is_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("sched", "stringprep"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    pieces = in_turn(("json", "sched", "stringprep"))
    next(pieces)
    assert "sched" in sys.modules
    assert "stringprep" not in sys.modules
    assert list(pieces) == [None]
    assert "stringprep" in sys.modules
    frozen = gc.get_freeze_count()
    assert list(in_turn(("json", "sched", "stringprep"))) == []
    assert gc.get_freeze_count() == frozen
    assert gc.isenabled()
