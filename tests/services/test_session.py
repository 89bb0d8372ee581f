"""Who may do what, when a registry may only be looked at, and a clock that is set back."""

import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from registry.quantity import Reading, TemperatureDifference
from registry.services import (
    baths,
    checks,
    incidents,
    mend,
    papers,
    people,
    pictures,
    places,
    reviews,
    rules,
    set_up,
    thermometers,
    vouching,
)
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven
from registry.services.places import NewShift
from registry.services.problems import Refused
from registry.services.session import SYSTEM, Actor, actor_of, day_at, open_session
from registry.services.thermometers import NewThermometer, PartGiven
from registry.services.vouching import Beside
from registry.store.errors import KnownError
from tests.services.kitchen import DIGITAL_C, MACHINE, TUESDAY, Kitchen

LEADS, OFFICERS, ADMINISTRATORS = "lead", "officer", "administrator"
ZERO = Reading.from_text("0.0 C")
Act = Callable[[Kitchen, Actor], Any]


def something_voidable(kitchen: Kitchen) -> str:
    people.record_training(kitchen.session, kitchen.admin, kitchen.lead.person, "checks", TUESDAY)
    return kitchen.last("person_trained").number


# Every service that records, and the least role that may call it. What is asked would be refused or recorded
# for other reasons; here only whether the actor is turned away counts.
ACTS: list[tuple[str, str, Act]] = [
    ("make_bath", LEADS, lambda k, by: baths.make_bath(k.session, by, NewBath(k.site, "ice_point", "crushed_packed"))),
    ("judge_bath", LEADS, lambda k, by: baths.judge_bath(k.session, by, "0" * 32, "accepted")),
    ("take_reading", LEADS, lambda k, by: checks.take_reading(k.session, by, k.given("0" * 32, "0" * 32, "0.0 C"))),
    ("record_what_there_is", LEADS, lambda k, by: checks.record_what_there_is(k.session, by, "0" * 32, "0" * 32)),
    (
        "adjust",
        LEADS,
        lambda k, by: checks.adjust(k.session, by, AdjustmentGiven("0" * 32, "nut", "1" * 32, "2" * 32)),
    ),
    ("no_reading", LEADS, lambda k, by: checks.no_reading(k.session, by, "0" * 32, "0" * 32, "damaged")),
    (
        "not_checked",
        LEADS,
        lambda k, by: checks.not_checked(k.session, by, "0" * 32, k.site, "0" * 32, "2026-03-03", "lent"),
    ),
    ("report_incident", LEADS, lambda k, by: incidents.report_incident(k.session, by, "0" * 32, "dropped")),
    ("take_out", LEADS, lambda k, by: thermometers.take_out(k.session, by, "0" * 32, "worn")),
    ("put_back", LEADS, lambda k, by: thermometers.set_status(k.session, by, "0" * 32, "in_service")),
    ("move", LEADS, lambda k, by: thermometers.move(k.session, by, "0" * 32, k.site)),
    ("change_sensor", LEADS, lambda k, by: thermometers.change_sensor(k.session, by, "0" * 32, PartGiven())),
    ("allow_use", LEADS, lambda k, by: vouching.allow_use(k.session, by, Beside("0" * 32, ZERO, "1" * 32, ZERO))),
    ("side_by_side", LEADS, lambda k, by: vouching.side_by_side(k.session, by, "0" * 32, ZERO, ZERO, "inspector")),
    ("issue_certificate", LEADS, lambda k, by: papers.issue_certificate(k.session, by, "0" * 32)),
    (
        "enrol",
        OFFICERS,
        lambda k, by: thermometers.enrol(k.session, by, NewThermometer("thermistor_probe", (DIGITAL_C,), k.site)),
    ),
    ("retag", OFFICERS, lambda k, by: thermometers.retag(k.session, by, "0" * 32, "AB1")),
    ("retire", OFFICERS, lambda k, by: thermometers.set_status(k.session, by, "0" * 32, "retired")),
    ("void", OFFICERS, lambda k, by: mend.void(k.session, by, something_voidable(k), "mistyped")),
    ("review", OFFICERS, lambda k, by: reviews.review(k.session, by, k.site, TUESDAY, TUESDAY)),
    ("withdraw", OFFICERS, lambda k, by: papers.withdraw_certificate(k.session, by, "0" * 32, "x", "wrong")),
    ("add_station", OFFICERS, lambda k, by: places.add_station(k.session, by, k.site, "Grill")),
    (
        "add_shift",
        OFFICERS,
        lambda k, by: places.add_shift(k.session, by, k.site, "Early", "06:00", "14:00", (0,), TUESDAY),
    ),
    (
        "change_shift",
        OFFICERS,
        lambda k, by: places.change_shift(k.session, by, "0" * 32, NewShift("Early", "06:00", "14:00", (0,))),
    ),
    ("end_shift", OFFICERS, lambda k, by: places.end_shift(k.session, by, "0" * 32, None)),
    ("rename_group", OFFICERS, lambda k, by: set_up.rename_group(k.session, by, "Other Kitchens")),
    ("add_picture", LEADS, lambda k, by: pictures.add_picture(k.session, by, "0" * 32, b"")),
    ("change_person", OFFICERS, lambda k, by: people.change_person(k.session, by, k.lead.person, ("officer",))),
    ("add_person", OFFICERS, lambda k, by: people.add_person(k.session, by, "New", "NN", ("lead",))),
    ("person_left", OFFICERS, lambda k, by: people.person_left(k.session, by, k.lead.person, TUESDAY)),
    ("training", OFFICERS, lambda k, by: people.record_training(k.session, by, k.lead.person, "checks", TUESDAY)),
    ("set_decision", OFFICERS, lambda k, by: rules.set_decision(k.session, by, "guard_band", TUESDAY)),
    ("set_plan", OFFICERS, lambda k, by: rules.set_plan(k.session, by, "risk_based", TUESDAY)),
    (
        "set_owner_tolerance",
        OFFICERS,
        lambda k, by: rules.set_owner_tolerance(k.session, by, "C", TemperatureDifference.from_text("5 dC"), TUESDAY),
    ),
    ("erase_person", ADMINISTRATORS, lambda k, by: people.erase_person(k.session, by, k.lead.person)),
]


def turned_away(kitchen: Kitchen, actor: Actor, act: Act) -> bool:
    try:
        act(kitchen, actor)
    except Refused as refused:
        return [(one.field, one.code) for one in refused.problems] == [("actor", "not_allowed")]
    return False


@pytest.mark.parametrize(("least", "act"), [(least, act) for _, least, act in ACTS], ids=[one[0] for one in ACTS])
def test_each_role_may_do_its_own(kitchen: Kitchen, least: str, act: Act) -> None:
    may = {
        role: not turned_away(kitchen, getattr(kitchen, name), act)
        for role, name in (("auditor", "auditor"), ("lead", "lead"), ("officer", "officer"), ("administrator", "admin"))
    }
    assert may == {
        "auditor": False,
        "lead": least == LEADS,
        "officer": least in (LEADS, OFFICERS),
        "administrator": True,
    }


def test_the_program_itself_may_what_an_administrator_may() -> None:
    assert SYSTEM.may("lead", "officer", "administrator")
    assert not Actor("0" * 32, frozenset(("auditor",))).may("lead", "officer")


def test_an_actor_is_somebody_who_is_known_and_still_there(kitchen: Kitchen) -> None:
    with kitchen.refuses(("actor", "unknown_person")), kitchen.session.reading() as connection:
        actor_of(connection, "0" * 32)
    people.person_left(kitchen.session, kitchen.officer, kitchen.lead.person, date(2026, 3, 1))
    with kitchen.refuses(("actor", "has_left")), kitchen.session.reading() as connection:
        actor_of(connection, kitchen.lead.person)


# --- opening -------------------------------------------------------------------------------------------------


def test_the_next_start_goes_on_where_the_last_ended(kitchen: Kitchen) -> None:
    before = kitchen.count()
    kitchen.reopen()
    assert kitchen.session.why_read_only is None
    kitchen.ice()
    assert kitchen.count() == before + 1
    assert kitchen.verify().good


def test_a_postgres_database_is_opened_by_its_address_and_key(postgres_url: str, tmp_path: Path) -> None:
    from tests.services.kitchen import open_kitchen

    made = open_kitchen(tmp_path, postgres_url)
    made.session.close()
    made.session = open_session(postgres_url, key_path=tmp_path / "registry.key", clock=made.clock, machine=MACHINE)
    assert made.session.why_read_only is None
    made.ice()
    assert made.verify().good
    made.session.close()


def only_to_be_looked_at(kitchen: Kitchen, why: str) -> None:
    assert kitchen.session.why_read_only == why
    before = kitchen.count()
    with pytest.raises(KnownError, match="read_only"):
        kitchen.ice()
    assert kitchen.count() == before


def test_without_its_key_it_may_only_be_looked_at(kitchen: Kitchen) -> None:
    (kitchen.home / "registry.key").unlink()
    kitchen.reopen()
    only_to_be_looked_at(kitchen, "key_missing")


def test_a_folder_from_another_computer_may_only_be_looked_at(kitchen: Kitchen) -> None:
    kitchen.reopen(machine="b" * 64)
    only_to_be_looked_at(kitchen, "elsewhere")


def test_a_database_behind_its_marker_may_only_be_looked_at(kitchen: Kitchen) -> None:
    kitchen.session.close()
    shutil.copy(kitchen.home / "registry.db", kitchen.home / "older")
    kitchen.reopen()
    kitchen.ice()
    kitchen.session.close()
    shutil.copy(kitchen.home / "older", kitchen.home / "registry.db")
    kitchen.reopen()
    only_to_be_looked_at(kitchen, "behind")


def test_looking_only_when_asked(kitchen: Kitchen) -> None:
    kitchen.reopen(read_only=True)
    only_to_be_looked_at(kitchen, "asked_for")


# --- time ----------------------------------------------------------------------------------------------------


def test_a_clock_set_back_is_marked_and_breaks_nothing(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = kitchen.enrol()
    last = kitchen.entries()[-1].at
    kitchen.clock.move(hours=-2)
    bath = kitchen.ice()
    made = kitchen.last("bath_made")
    assert made.payload["clock_behind_us"] == last - made.at > 7_000_000_000
    row = kitchen.key(bath, probe, "0.1 C")
    kitchen.judge(bath)
    assert kitchen.check(row.check).outcome == "pass"
    # Still behind where the journal had got to: what follows is later than what stood there before.
    reading = kitchen.last("reading_taken")
    assert reading.payload["clock_behind_us"] == last - reading.at
    assert kitchen.check(row.check).at == last
    assert kitchen.verify().good
    ids = [one.payload["bath"] for one in kitchen.entries("bath_made")]
    assert ids == sorted(ids)


def test_a_local_day_is_the_kitchens_own() -> None:
    # Python's zoneinfo with the IANA tables: 03:30 UTC is still the evening before in New York.
    at = int(datetime(2026, 3, 4, 3, 30, tzinfo=UTC).timestamp()) * 10**6
    assert day_at(at, "America/New_York") == date(2026, 3, 3)
    assert day_at(at, "Europe/Madrid") == date(2026, 3, 4)


def test_what_no_entry_can_hold_is_refused_beside_its_key(kitchen: Kitchen) -> None:
    with kitchen.refuses(("name", "not_valid")):
        places.add_station(kitchen.session, kitchen.officer, kitchen.site, "x" * 2001)
    with kitchen.refuses(("training_kind", "not_valid")):
        people.record_training(kitchen.session, kitchen.officer, kitchen.lead.person, "Not a code", TUESDAY)
    with kitchen.refuses(("text", "not_valid")):  # half a character
        people.add_person(kitchen.session, kitchen.officer, "A\udcff", "ZQ", ("lead",))
