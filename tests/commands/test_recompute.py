"""Working out again says what it does not work out."""

import pytest

from registry.services import upkeep
from tests.commands.desk import Kitchen


def test_baths_that_the_program_judged_are_named_as_left_out(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "judged by the program" not in kitchen.done("recompute")
    monkeypatch.setattr(upkeep, "judged_by_program", lambda session: 3)
    assert "3 baths judged by the program are not worked out again: " in kitchen.done("recompute")
    assert kitchen.json("recompute")["baths_not_worked_out_again"] == 3
