"""What Set-up shows of the record: its installations, its file, trainings, how far a first start has got."""

from datetime import date
from pathlib import Path

from registry.services import mend, people, set_up, upkeep
from registry.services.session import open_session
from registry.services.start import FirstStart, first_start
from registry.services.upkeep import CarryingOn
from registry.store import database
from registry.store.local import Local
from tests.services.kitchen import Kitchen


def test_the_installation_with_its_code(kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        (found,) = set_up.installations(kitchen.session, connection)
    first, last = kitchen.entries()[0], kitchen.entries()[-1]
    assert (found.name, found.own, found.since) == ("Harbour Kitchens", True, first.at)
    assert found.entries == kitchen.count()
    assert last.number.startswith(found.code)


def test_an_installation_that_was_carried_on_is_listed_too(kitchen: Kitchen) -> None:
    kitchen.session.close()
    told = CarryingOn("new_key", "New laptop")
    session = upkeep.carry_on(kitchen.home, told, clock=kitchen.clock, random=kitchen.session.random)
    with session.reading() as connection:
        found = set_up.installations(session, connection)
    assert [(one.name, one.own) for one in found] == [("Harbour Kitchens", False), ("New laptop", True)]
    session.close()


def test_the_size_is_that_of_the_file_and_its_log(kitchen: Kitchen) -> None:
    parts = [kitchen.home / f"registry.db{end}" for end in ("", "-wal")]
    assert set_up.size_of(kitchen.session) == sum(one.stat().st_size for one in parts if one.exists())


def test_trainings_the_latest_first(kitchen: Kitchen) -> None:
    for kind, day in (("ice_point", date(2026, 1, 5)), ("boiling_point", date(2026, 2, 9))):
        people.record_training(kitchen.session, kitchen.officer, kitchen.lead.person, kind, day)
    with kitchen.session.reading() as connection:
        found = set_up.trainings(connection, kitchen.lead.person)
        assert set_up.trainings(connection, kitchen.admin.person) == []
    assert [(one.kind, one.day.isoformat()) for one in found] == [
        ("boiling_point", "2026-02-09"),
        ("ice_point", "2026-01-05"),
    ]


def test_the_last_backup_is_remembered(tmp_path: Path) -> None:
    local = Local(tmp_path / "local.db")
    assert set_up.last_backup(local) is None
    set_up.remember_backup(local, 1_772_533_800_000_000)
    assert set_up.last_backup(local) == 1_772_533_800_000_000


def test_how_far_a_first_start_has_got(kitchen: Kitchen, tmp_path: Path) -> None:
    assert set_up.how_far(kitchen.session) == "ready"
    session, _ = first_start(tmp_path / "begun", FirstStart("Lobo", "ES", "Ana Ruiz", "AR"))
    assert set_up.how_far(session) == "no_site"
    session.close()
    (tmp_path / "empty").mkdir()
    database.create(tmp_path / "empty" / "registry.db").close()
    session = open_session(tmp_path / "empty")
    assert set_up.how_far(session) == "not_begun"
    session.close()


def test_a_training_that_was_voided_is_no_longer_told(kitchen: Kitchen) -> None:
    for kind in ("ice_point", "hygiene"):
        people.record_training(kitchen.session, kitchen.officer, kitchen.lead.person, kind, date(2026, 3, 2))
    mend.void(kitchen.session, kitchen.officer, kitchen.last("person_trained").number, "not_done")
    with kitchen.session.reading() as connection:
        found = set_up.trainings(connection, kitchen.lead.person)
    first = kitchen.entries("person_trained")[0]
    assert found == [set_up.Training("ice_point", date(2026, 3, 2), None, first.number)]


def test_the_group_gets_another_name_and_keeps_all_else(kitchen: Kitchen) -> None:
    before = kitchen.last("group_set")
    kitchen.clock.move(hours=-1)  # that the clock stood behind is of one entry only
    set_up.rename_group(kitchen.session, kitchen.officer, "  Wharf Kitchens ")
    kitchen.clock.move(hours=2)
    for _ in range(2):
        set_up.rename_group(kitchen.session, kitchen.officer, "Quay Kitchens")
    first, second, third = kitchen.entries("group_set")
    assert (first.hash, second.after, third.after) == (before.hash, (first.hash,), (second.hash,))
    assert {**before.payload, "name": "Quay Kitchens"} == third.payload
    assert second.payload["name"] == "Wharf Kitchens"
    assert "clock_behind_us" in second.payload
    with kitchen.session.reading() as connection:
        assert kitchen.session.group(connection).payload.name == "Quay Kitchens"
    with kitchen.refuses(("group_name", "empty")):
        set_up.rename_group(kitchen.session, kitchen.officer, "  ")
    assert kitchen.verify().good
