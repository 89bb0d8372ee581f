"""People: roles in the journal, names beside it where they can be erased."""

from datetime import date

import pytest

from registry.services import people
from registry.services.people import Person
from registry.services.problems import Refused
from registry.services.session import actor_of
from registry.store import queries
from tests.services.kitchen import TUESDAY, Kitchen

NAME = "Zebedee Quillfeather"


def everybody(kitchen: Kitchen) -> dict[str, Person]:
    with kitchen.session.reading() as connection:
        return {one.initials: one for one in people.people(connection)}


def find(kitchen: Kitchen, initials: str) -> Person:
    with kitchen.session.reading() as connection:
        return people.find_person(connection, initials)


def test_a_person_is_added_with_a_name_that_the_journal_does_not_hold(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    person = people.add_person(kitchen.session, kitchen.officer, f" {NAME} ", "ZQ", ("lead",), (kitchen.site,))
    assert everybody(kitchen)["ZQ"] == Person(person, NAME, "ZQ", ("lead",), (kitchen.site,), None)
    assert find(kitchen, "zq ").person == person
    assert not any(NAME in one.text or "ZQ" in one.text for one in kitchen.entries())


@pytest.mark.parametrize(
    ("name", "initials", "roles", "wanted"),
    [
        ("", "ZQ", ("lead",), ("name", "empty")),
        (NAME, " ", ("lead",), ("initials", "not_valid")),
        (NAME, "ABCDEFG", ("lead",), ("initials", "not_valid")),
        (NAME, "LQ", ("lead",), ("initials", "taken")),
        (NAME, "ZQ", (), ("roles", "empty")),
        (NAME, "ZQ", ("owner",), ("roles", "unknown")),
    ],
)
def test_what_is_wrong_is_named(
    kitchen: Kitchen, name: str, initials: str, roles: tuple[str, ...], wanted: tuple[str, str]
) -> None:
    with kitchen.refuses(wanted):
        people.add_person(kitchen.session, kitchen.officer, name, initials, roles)


def test_one_who_left_is_kept_and_frees_the_initials(kitchen: Kitchen) -> None:
    people.person_left(kitchen.session, kitchen.officer, kitchen.lead.person, date(2026, 3, 1))
    assert everybody(kitchen)["LQ"].left == "2026-03-01"
    assert everybody(kitchen)["LQ"].name == "Leo Quist"
    with kitchen.refuses(("person", "unknown_person")):
        find(kitchen, "LQ")
    other = people.add_person(kitchen.session, kitchen.officer, "Lena Quell", "LQ", ("lead",))
    assert find(kitchen, "LQ").person == other


def test_an_erased_name_is_gone_and_every_entry_verifies(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    person = people.add_person(kitchen.session, kitchen.officer, NAME, "ZQ", ("lead",))
    named = kitchen.last("person_named").payload["fields_hash"]
    before = [one.text for one in kitchen.entries()]
    people.erase_person(kitchen.session, kitchen.admin, person)
    assert [one.text for one in kitchen.entries()][: len(before)] == before
    assert kitchen.last("person_erased").payload == {"person": person, "hashes": [named]}
    assert kitchen.verify().good
    with kitchen.session.reading() as connection:
        assert queries.detached(connection, [named]) == {}
        (erased,) = [one for one in people.people(connection) if one.person == person]
    assert (erased.name, erased.initials, erased.roles) == ("", "", ("lead",))


def test_an_erased_name_is_not_left_in_the_file(kitchen: Kitchen) -> None:
    person = people.add_person(kitchen.session, kitchen.officer, NAME, "ZQ", ("lead",))
    kitchen.session.close()
    assert NAME.encode() in (kitchen.home / "registry.db").read_bytes()
    kitchen.reopen()
    people.erase_person(kitchen.session, kitchen.admin, person)
    kitchen.session.close()  # the last connection empties the log into the file
    left = [path.name for path in kitchen.home.iterdir() if NAME.encode() in path.read_bytes()]
    assert left == []


def test_only_names_that_are_there_are_erased(kitchen: Kitchen) -> None:
    with kitchen.refuses(("person", "unknown_person")):
        people.erase_person(kitchen.session, kitchen.admin, kitchen.site)
    with kitchen.refuses(("person", "unknown_person")):
        people.person_left(kitchen.session, kitchen.officer, kitchen.site, TUESDAY)


def test_training_is_recorded(kitchen: Kitchen) -> None:
    people.record_training(kitchen.session, kitchen.officer, kitchen.lead.person, "ice_point", date(2026, 2, 1))
    said = kitchen.last("person_trained").payload
    assert (said["person"], said["training_kind"], said["day"]) == (kitchen.lead.person, "ice_point", "2026-02-01")


def test_two_who_share_initials_have_to_be_told_apart(kitchen: Kitchen) -> None:
    # Initials are unique here by a question; two installations may still have given the same.
    with kitchen.session.recording(kitchen.admin, "officer") as entries:
        people.add_named(kitchen.session, entries, kitchen.session.new_id(), ("lead",), "Lew Quan", "LQ")
    with pytest.raises(Refused, match="not_unique"):
        find(kitchen, "LQ")


def test_only_an_administrator_makes_or_ends_one_and_one_stays(kitchen: Kitchen) -> None:
    session, today = kitchen.session, TUESDAY
    with kitchen.refuses(("actor", "not_allowed")):
        people.add_person(session, kitchen.officer, NAME, "ZQ", ("administrator",))
    with kitchen.refuses(("actor", "not_allowed")):
        people.person_left(session, kitchen.officer, kitchen.admin.person, today)
    with kitchen.refuses(("person", "last_administrator")):
        people.person_left(session, kitchen.admin, kitchen.admin.person, today)
    people.add_person(session, kitchen.admin, NAME, "ZQ", ("administrator",))
    people.person_left(session, kitchen.admin, kitchen.admin.person, today)
    assert everybody(kitchen)["AM"].left == "2026-03-03"


def test_a_second_press_adds_once(kitchen: Kitchen) -> None:
    person, training = kitchen.session.new_id(), kitchen.session.new_id()
    for _ in range(2):
        added = people.add_person(kitchen.session, kitchen.officer, NAME, "ZQ", ("lead",), person=person)
        people.record_training(kitchen.session, kitchen.officer, person, "checks", TUESDAY, training=training)
        people.person_left(kitchen.session, kitchen.officer, person, TUESDAY)
        assert added == person
    counts = [len([one for one in kitchen.entries(kind) if one.subject == person]) for kind in KINDS]
    assert counts == [2, 1, 1]  # came and left, one name, one training


KINDS = ("person_set", "person_named", "person_trained")


def test_nobody_unknown_is_trained_and_initials_are_told_apart_by_letters(kitchen: Kitchen) -> None:
    with kitchen.refuses(("person", "unknown_person")):
        people.record_training(kitchen.session, kitchen.officer, "0" * 32, "checks", TUESDAY)
    with kitchen.refuses(("initials", "taken")):
        people.add_person(kitchen.session, kitchen.officer, NAME, " lq", ("lead",))
    with kitchen.refuses(("site", "unknown")):
        people.add_person(kitchen.session, kitchen.officer, NAME, "ZQ", ("lead",), ("0" * 32,))


def test_names_are_kept_composed(kitchen: Kitchen) -> None:
    people.add_person(kitchen.session, kitchen.officer, "Jose\u0301 Quay", "E\u0301Q", ("lead",))
    assert everybody(kitchen)["\u00c9Q"].name == "Jos\u00e9 Quay"


# --- stated anew ---------------------------------------------------------------------------------------------


def roles_of(kitchen: Kitchen, person: str) -> tuple[str, ...]:
    with kitchen.session.reading() as connection:
        return next(one.roles for one in people.people(connection) if one.person == person)


def test_what_somebody_may_do_is_stated_anew(kitchen: Kitchen) -> None:
    lead = kitchen.lead.person
    for _ in range(2):  # a second press records once
        people.change_person(kitchen.session, kitchen.officer, lead, ("officer", "lead"), (kitchen.site,))
    first, second = [one for one in kitchen.entries("person_set") if one.subject == lead]
    assert second.after == (first.hash,)
    assert second.payload == {"person": lead, "roles": ["lead", "officer"], "sites": [kitchen.site]}
    with kitchen.session.reading() as connection:
        assert actor_of(connection, lead).may("officer")
    people.change_person(kitchen.session, kitchen.officer, lead, ("auditor",))
    with kitchen.session.reading() as connection:
        assert not actor_of(connection, lead).may("lead", "officer")
    assert "sites" not in kitchen.last("person_set").payload
    assert kitchen.verify().good


def test_what_stands_against_a_change_is_named(kitchen: Kitchen) -> None:
    lead = kitchen.lead.person
    for roles, sites, wanted in (
        ((), (), ("roles", "empty")),
        (("cook",), (), ("roles", "unknown")),
        (("lead",), ("0" * 32,), ("site", "unknown")),
    ):
        with kitchen.refuses(wanted):
            people.change_person(kitchen.session, kitchen.officer, lead, roles, sites)
    with kitchen.refuses(("person", "unknown_person")):
        people.change_person(kitchen.session, kitchen.officer, "0" * 32, ("lead",))
    people.person_left(kitchen.session, kitchen.officer, lead, date(2026, 3, 3))
    with kitchen.refuses(("person", "has_left")):
        people.change_person(kitchen.session, kitchen.officer, lead, ("officer",))


def test_only_an_administrator_makes_or_unmakes_one_and_one_stays(kitchen: Kitchen) -> None:
    admin, lead = kitchen.admin.person, kitchen.lead.person
    with kitchen.refuses(("actor", "not_allowed")):
        people.change_person(kitchen.session, kitchen.officer, lead, ("administrator",))
    with kitchen.refuses(("actor", "not_allowed")):
        people.change_person(kitchen.session, kitchen.officer, admin, ("lead",))
    with kitchen.refuses(("person", "last_administrator")):
        people.change_person(kitchen.session, kitchen.admin, admin, ("officer",))
    people.change_person(kitchen.session, kitchen.admin, lead, ("administrator",))
    people.change_person(kitchen.session, kitchen.admin, admin, ("officer",))
    assert (roles_of(kitchen, admin), roles_of(kitchen, lead)) == (("officer",), ("administrator",))


def test_until_when_a_training_holds(kitchen: Kitchen) -> None:
    lead, day = kitchen.lead.person, date(2026, 3, 2)
    with kitchen.refuses(("until", "before_its_day")):
        people.record_training(kitchen.session, kitchen.officer, lead, "hygiene", day, until=date(2026, 3, 1))
    people.record_training(kitchen.session, kitchen.officer, lead, "hygiene", day, until=date(2028, 3, 2))
    assert kitchen.last("person_trained").payload["until"] == "2028-03-02"
