"""An import counts all together once it is closed, whatever happens on the way."""

from pathlib import Path
from typing import Any

import pytest

from registry.store import comparing, imports, rebuild
from registry.store.database import open_database
from tests.store.databases import append, folded
from tests.store.kitchen import BATH, CHECK, Kitchen, T, U, furnished, opened
from tests.store.story import START, Chain, id_of

NAMED = id_of("m", 9)


@pytest.fixture(autouse=True)
def _small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(imports, "STEP", 3)
    monkeypatch.setattr(imports, "SUMMARIES", 1)


def import_checks(kitchen: Kitchen, **closing: Any) -> None:
    """Ten checks of two thermometers, of which the last stated a fail."""
    kitchen.record(
        ("import_opened", {"import": NAMED, "import_kind": "history", "sha256": "0" * 64, "rows": 10}),
        *(("check_recorded", _check(number)) for number in range(100, 110)),
        ("import_closed", {"import": NAMED, "entries": 10} | closing),
    )


def _check(number: int) -> dict[str, Any]:
    about = {"thermometer": (T, U)[number % 2], "check": id_of("c", number), "point": "ice_point"}
    stated = {"as_found": ["2 C"], "stated": "fail" if number >= 108 else "pass", "performed_at": START * 2 + number}
    return about | stated | {"import": NAMED, "row": number}


def checks(kitchen: Kitchen) -> int:
    return len(folded(kitchen.database)["checks"])


def failed(kitchen: Kitchen) -> list[bool]:
    with kitchen.database.reading() as connection:
        rows = connection.exec_driver_sql("SELECT failed_at FROM thermometers ORDER BY thermometer")
        return [row.failed_at is not None and row.failed_at > START * 2 for row in rows]


def test_nothing_counts_before_it_is_closed_and_folded(database_url: str) -> None:
    kitchen = furnished(database_url)
    before = checks(kitchen)
    import_checks(kitchen)
    assert checks(kitchen) == before
    assert failed(kitchen) == [False, False]
    assert imports.fold_pending_imports(kitchen.database)
    assert checks(kitchen) == before + 10
    assert failed(kitchen) == [True, True]
    assert comparing.compare(kitchen.database) == []
    kitchen.database.close()


def test_a_dropped_import_never_counts(database_url: str) -> None:
    kitchen = furnished(database_url)
    before = checks(kitchen)
    import_checks(kitchen, dropped=True)
    assert imports.fold_pending_imports(kitchen.database)
    assert rebuild.rebuild(kitchen.database)
    assert checks(kitchen) == before
    kitchen.database.close()


def test_a_crash_at_any_step_costs_nothing(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    import_checks(kitchen)
    kitchen.database.close()
    stops = 0
    while True:
        kitchen.database = open_database(kitchen.path)
        if imports.fold_pending_imports(kitchen.database, lambda _: False):
            break
        # Somebody records in between: what is folded of the import must not be undone by it.
        kitchen.record(("incident_reported", {"thermometer": T, "incident": id_of("i", 50 + stops), "what": "bent"}))
        stops += 1
        kitchen.database.close()
    assert stops > 3
    assert failed(kitchen) == [True, True]
    assert comparing.compare(kitchen.database) == []
    kitchen.database.close()


def test_a_rebuild_meets_an_import_that_is_half_folded(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    import_checks(kitchen)
    assert not imports.fold_pending_imports(kitchen.database, lambda done: done < 6)
    assert rebuild.rebuild(kitchen.database)
    assert comparing.compare(kitchen.database) == []
    assert failed(kitchen) == [True, True]
    kitchen.database.close()


def test_an_imported_judgement_decides_about_checks_recorded_elsewhere(database_url: str) -> None:
    kitchen = furnished(database_url)
    outcomes = {CHECK: "fail"}
    kitchen.record(
        ("import_opened", {"import": NAMED, "import_kind": "shift", "sha256": "0" * 64, "rows": 1}),
        (
            "bath_judged",
            {"bath": BATH, "judged": "suspect", "judged_by": "person", "outcomes": outcomes, "import": NAMED},
        ),
        ("import_closed", {"import": NAMED, "entries": 1}),
    )
    assert imports.fold_pending_imports(kitchen.database)
    with kitchen.database.reading() as connection:
        row = connection.exec_driver_sql("SELECT failed_at FROM thermometers ORDER BY thermometer").first()
    assert row is not None
    assert row.failed_at is not None
    assert comparing.compare(kitchen.database) == []
    kitchen.database.close()


def test_another_chain_does_not_close_an_import(tmp_path: Path) -> None:
    kitchen, other = opened(f"sqlite:///{tmp_path / 'registry.db'}"), Chain(5)
    other.write("chain_opened", {"name": "Other", "opened_because": "first_start", "program": "1"}, at=1)
    other.write("import_closed", {"import": NAMED, "entries": 10}, at=2)
    append(kitchen.database, other, other.entries)
    import_checks(kitchen, dropped=True)
    assert imports.fold_pending_imports(kitchen.database)
    assert checks(kitchen) == 0
    kitchen.database.close()
