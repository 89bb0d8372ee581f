"""A mistake is mended by a later entry; both show, and nothing is trusted for having been mistyped."""

from dataclasses import replace
from datetime import date

import pytest

from registry.journal.numbers import entry_number
from registry.quantity import Reading
from registry.services import incidents, mend, people, places, vouching
from registry.services.mend import Affected
from registry.store import queries
from tests.services.kitchen import Kitchen

MONDAY = date(2026, 3, 2)


def void(kitchen: Kitchen, kind: str, why: str = "mistyped", **more: str) -> Affected:
    return mend.void(kitchen.session, kitchen.officer, kitchen.last(kind).number, why, **more)  # type: ignore[arg-type]


def test_a_voided_pass_no_longer_counts(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = kitchen.enrol()
    first = kitchen.checked(probe, "0.1 C")
    second = kitchen.checked(probe, "0.2 C")
    entry = kitchen.last("check_recorded")
    affected = void(kitchen, "check_recorded", words="Read the wrong one")
    assert (affected.entry.hash, affected.certificates, affected.stays_check_first) == (entry.hash, (), False)
    assert kitchen.check(second).voided
    assert kitchen.row(probe).last_check == first
    assert kitchen.row(probe).good_at == kitchen.check(first).at
    said = kitchen.last("voided").payload
    assert (said["of"], said["entries"], said["why"]) == (probe, [entry.hash], "mistyped")
    assert "wrong one" not in kitchen.last("voided").text
    assert entry.text in [one.text for one in kitchen.entries()]
    assert kitchen.verify().good


def test_a_voided_fail_stays_check_first_until_a_good_check(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial = kitchen.dial()
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    assert void(kitchen, "check_recorded").stays_check_first
    assert kitchen.row(dial).service_status == "check_first"
    kitchen.checked(dial, "0 C")
    assert kitchen.row(dial).service_status == "in_service"
    assert kitchen.verify().good


def test_voiding_a_check_leaves_the_adjustment_but_not_what_it_measured(kitchen: Kitchen) -> None:
    # Turned it stays; how that left it is not known by readings taken because of a check that counts for nothing.
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0.5 C")
    left_at = kitchen.last("adjusted").at
    assert kitchen.row(dial).good_at == left_at
    assert void(kitchen, "check_recorded").stays_check_first
    assert (kitchen.row(dial).adjusted_at, kitchen.row(dial).good_at) == (left_at, None)
    with kitchen.session.reading() as connection:
        (turned,) = queries.adjustments_of(connection, dial)
    assert (turned.offset, turned.outcome, turned.voided) == (None, None, False)
    kitchen.checked(dial, "0 C")
    assert kitchen.row(dial).service_status == "in_service"
    assert kitchen.verify().good


def test_judged_again_it_is_still_not_measured(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    row = kitchen.key(bath := kitchen.ice(), dial, "3 C", "3 C", "3 C")
    kitchen.judge(bath)
    kitchen.adjust(row.check, "nut", "0.5 C")
    void(kitchen, "check_recorded")
    kitchen.judge(bath, "condemned")
    kitchen.judge(bath)
    assert kitchen.row(dial).good_at is None
    assert kitchen.verify().good


def test_a_voided_incident_no_longer_stands_against_it(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    assert not void(kitchen, "incident_reported", "wrong_thermometer").stays_check_first
    assert kitchen.row(probe).service_status == "in_service"


def test_a_voided_reading_is_not_waited_for(kitchen: Kitchen) -> None:
    probe, bath, check = kitchen.enrol(), kitchen.ice(), kitchen.session.new_id()
    kitchen.key(bath, probe, "9.0 C", check=check)
    void(kitchen, "reading_taken")
    row = kitchen.key(bath, probe, "0.2 C", check=check)
    assert (row.recorded, [one.text() for one in row.readings]) == (True, ["0.2 C"])
    assert kitchen.last("reading_taken").payload["role"] == "as_found"
    assert kitchen.verify().good


def test_nothing_is_voided_twice(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    void(kitchen, "check_recorded")
    with kitchen.refuses(("number", "void_already")):
        void(kitchen, "check_recorded")


def test_a_void_is_not_taken_back(kitchen: Kitchen) -> None:
    # Voiding it would change nothing: what was voided wrongly is recorded again.
    probe = kitchen.enrol()
    check = kitchen.checked(probe, "0.1 C")
    void(kitchen, "check_recorded")
    with kitchen.refuses(("number", "replace_it_instead")):
        void(kitchen, "voided")
    assert kitchen.check(check).voided


@pytest.mark.parametrize("kind", ["bath_made", "bath_judged", "thermometer_set", "chain_opened", "rule_set"])
def test_what_replaces_is_replaced_and_never_voided(kitchen: Kitchen, kind: str) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    with kitchen.refuses(("number", "replace_it_instead")):
        void(kitchen, kind)


def test_numbers_that_are_none(kitchen: Kitchen) -> None:
    number = kitchen.entries()[3].number
    wrong = number[:-1] + ("A" if number[-1] != "A" else "B")
    for typed, code in (
        (wrong, "not_a_number"),
        ("12", "not_a_number"),
        (entry_number(number[:4], 9999), "unknown_number"),
    ):
        with kitchen.refuses(("number", code)):
            mend.void(kitchen.session, kitchen.officer, typed, "mistyped")
    with kitchen.refuses(("why", "unknown")):
        mend.void(kitchen.session, kitchen.officer, number, "because")
    assert mend.find_entry(kitchen.session, f" {number.lower()} ").seq == 3


def test_a_reading_that_a_check_rests_on_is_not_voided_alone(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    with kitchen.refuses(("number", "void_the_check_instead")):
        void(kitchen, "reading_taken")
    kitchen.adjust(check, "nut", "0 C")
    with kitchen.refuses(("number", "void_the_check_instead")):  # the one as left
        void(kitchen, "reading_taken")


def test_what_rested_on_a_check_is_named(kitchen: Kitchen) -> None:
    everyday = tuple(range(7))
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", everyday, MONDAY)
    first, second = kitchen.enrol(), kitchen.enrol()
    kitchen.checked(second, "0.1 C")
    kitchen.checked(first, "0.1 C")
    number = kitchen.last("check_recorded").number
    kitchen.flask((first, "70.0 C"), (second, "70.1 C"))
    shown = Reading.from_text("20.0 C")
    vouching.allow_use(kitchen.session, kitchen.lead, vouching.Beside(first, shown, second, shown))
    affected = mend.void(kitchen.session, kitchen.officer, number, "mistyped")
    assert affected.baths == (kitchen.last("bath_made").number,)
    assert affected.uses == (kitchen.last("use_allowed").number,)


def test_a_lead_voids_what_that_same_person_said_within_a_day(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    number = kitchen.last("check_recorded").number
    other = replace(kitchen.lead, person=people.add_person(kitchen.session, kitchen.admin, "Mia Roth", "MR", ("lead",)))
    with kitchen.refuses(("actor", "not_allowed")):
        mend.void(kitchen.session, other, number, "mistyped")
    kitchen.clock.move(days=1, minutes=1)
    with kitchen.refuses(("actor", "not_allowed")):
        mend.void(kitchen.session, kitchen.lead, number, "mistyped")
    kitchen.checked(probe, "0.2 C")
    mend.void(kitchen.session, kitchen.lead, kitchen.last("check_recorded").number, "mistyped")
    assert kitchen.last("voided").by == kitchen.lead.person


def test_a_reading_as_left_is_voided_by_the_number_of_its_adjustment(kitchen: Kitchen) -> None:
    """Its wrong pass is gone, the true fail stands, and the thermometer is checked before it is used."""
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    said = kitchen.last("adjusted")
    number = mend.number_of_adjustment(kitchen.session, dial, said.payload["adjustment"])
    assert number == said.number
    mend.void(kitchen.session, kitchen.lead, number, "mistyped")
    assert kitchen.row(dial).service_status == "check_first"
    assert kitchen.check(check).outcome == "fail"
    with kitchen.refuses(("adjustment", "unknown")):
        mend.number_of_adjustment(kitchen.session, dial, check)
