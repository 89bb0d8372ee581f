"""A rebuild may be stopped at any step, and people may record while it runs."""

from pathlib import Path

import pytest

from registry.store import comparing, rebuild
from registry.store.database import open_database
from tests.store.databases import folded
from tests.store.kitchen import CHECK, T, furnished
from tests.store.story import id_of


@pytest.fixture(autouse=True)
def _small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rebuild, "STEP", 4)


def test_stopped_at_each_step_and_finished_after_opening_again(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    whole = folded(kitchen.database)
    steps = partial = 0
    assert not rebuild.rebuild(kitchen.database, lambda _: False)
    kitchen.database.close()
    while True:
        database = open_database(kitchen.path)
        assert rebuild.unfinished(database)
        ended = rebuild.finish(database, lambda _: False)
        steps += 1
        if ended or not rebuild.unfinished(database):
            break
        partial += folded(database) != whole
        database.close()
    assert steps > partial > 6
    assert rebuild.finish(database)
    assert folded(database) == whole
    database.close()


def test_what_is_recorded_meanwhile_is_folded_once(database_url: str) -> None:
    kitchen = furnished(database_url)
    numbers = iter(range(100, 200))

    def record(_: int) -> bool:
        number = next(numbers)
        check = {"thermometer": T, "check": id_of("c", number), "point": "ice_point", "as_found": ["0.2 C"]}
        kitchen.record(
            ("check_recorded", check | {"outcome": "fail"}),
            ("incident_reported", {"thermometer": T, "incident": id_of("i", number), "what": "dropped"}),
        )
        return number < 130

    assert not rebuild.rebuild(kitchen.database, record)
    assert rebuild.finish(kitchen.database)
    assert comparing.compare(kitchen.database) == []
    assert len(folded(kitchen.database)["checks"]) == 3 + 31
    kitchen.database.close()


def test_what_was_spoilt_is_right_afterwards(database_url: str) -> None:
    kitchen = furnished(database_url)
    whole = folded(kitchen.database)
    with kitchen.database.writing() as connection:
        connection.exec_driver_sql("DELETE FROM thermometers")
        connection.exec_driver_sql("UPDATE checks SET outcome = 'fail'")
    differences = comparing.compare(kitchen.database)
    assert {(one.table, one.column) for one in differences} == {("thermometers", ""), ("checks", "outcome")}
    assert (CHECK, "fail", "pass") in {(one.key, one.found, one.folded) for one in differences}
    assert rebuild.rebuild(kitchen.database)
    assert folded(kitchen.database) == whole
    kitchen.database.close()
