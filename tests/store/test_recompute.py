"""Only what froze its inputs is judged again, with its own bath, and only what comes out otherwise is told."""

from pathlib import Path
from typing import Any

from registry.journal.numbers import read_entry_number
from registry.store import recompute
from tests.store.kitchen import CHECK, JUDGED, OTHER_CHECK, Kitchen, furnished
from tests.store.story import id_of

FIELDS = ("reference", "offset", "u", "k", "outcome")


def as_recorded(payload: dict[str, Any], bath: dict[str, Any] | None) -> dict[str, Any]:
    assert bath is not None
    assert bath["bath"] == payload["bath"]
    return {name: payload[name] for name in FIELDS}


def stricter(payload: dict[str, Any], _: dict[str, Any] | None) -> dict[str, Any]:
    return {"outcome": "fail", "offset": payload["offset"]}


def test_code_that_judges_as_then_tells_nothing(database_url: str) -> None:
    kitchen = furnished(database_url)
    assert list(recompute.recompute(kitchen.database, as_recorded)) == []
    kitchen.database.close()


def test_each_entry_judged_otherwise_is_told(tmp_path: Path) -> None:
    kitchen: Kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    found = list(recompute.recompute(kitchen.database, stricter))
    # The other check failed then too; the imported one froze nothing.
    assert [(one.kind, one.fact) for one in found] == [("check_recorded", CHECK), ("adjusted", id_of("a", 1))]
    assert OTHER_CHECK not in {one.fact for one in found}
    assert found[0].fields == {"outcome": (JUDGED["outcome"], "fail")}
    assert all(read_entry_number(one.number) is not None for one in found)
    kitchen.database.close()


def test_it_can_be_stopped(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(recompute, "STEP", 1)
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    assert list(recompute.recompute(kitchen.database, stricter, lambda done: done < 5)) == []
    kitchen.database.close()
