"""Ways by which a thermometer that lies could end as in service. Each was found once; none may come back.

The rules are the program's own (no outside source): where something was read matters, and what is later counts.
"""

from decimal import Decimal

import pytest

from registry.quantity import Reading, TemperatureDifference
from registry.services import baths, checks, duelist, history, mend, shift_bath, thermometers
from registry.services.thermometers import OutsideCertificate
from tests.services.kitchen import TUESDAY, Kitchen, open_kitchen


@pytest.fixture
def kitchen(tmp_path):
    opened = open_kitchen(tmp_path / "kitchen")
    yield opened
    opened.session.close()


def certified(kitchen: Kitchen) -> str:
    made = kitchen.enrol()
    points = tuple(
        (
            Reading.from_text(at),
            TemperatureDifference.from_text("0 dC"),
            TemperatureDifference.from_text("0.1 dC"),
            Decimal(2),
        )
        for at in ("-20 C", "100 C")
    )
    given = OutsideCertificate("C 7", "Fen lab", TUESDAY.replace(month=2), points)
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, given)
    return made


def compared(kitchen: Kitchen, reference: str, at: str, thermometer: str, *shown: str) -> None:
    bath = kitchen.flask((reference, at))
    kitchen.key(bath, thermometer, *shown)
    kitchen.judge(bath)


def test_a_pass_in_cold_water_says_nothing_of_a_fail_in_hot(kitchen):
    reference, probe = certified(kitchen), kitchen.enrol()
    compared(kitchen, reference, "70 C", probe, "73 C", "73 C", "73 C")
    assert kitchen.row(probe).service_status == "check_first"
    compared(kitchen, reference, "4 C", probe, "4 C")
    assert kitchen.row(probe).service_status == "check_first"
    compared(kitchen, reference, "70 C", probe, "70 C")
    assert kitchen.row(probe).service_status == "in_service"


def test_turned_to_a_bath_that_was_condemned_it_is_checked_first(kitchen):
    dial = kitchen.dial()
    kitchen.checked(dial, "0 C")
    bath = kitchen.ice()
    row = kitchen.key(bath, dial, "3 C", "3 C", "3 C")
    kitchen.judge(bath)
    kitchen.adjust(row.check, "nut", "0 C")
    assert kitchen.row(dial).service_status == "in_service"
    kitchen.judge(bath, "condemned")
    assert kitchen.row(dial).service_status == "check_first"


def test_adjusted_at_ice_what_was_good_when_hot_no_longer_counts(kitchen):
    reference, dial = certified(kitchen), kitchen.dial()
    compared(kitchen, reference, "70 C", dial, "70 C")
    assert kitchen.row(dial).good_hot_at is not None
    check = kitchen.checked(dial, "-3 C", "-3 C", "-3 C")
    kitchen.adjust(check, "nut", "0 C")
    assert (kitchen.row(dial).good_hot_at, kitchen.row(dial).service_status) == (None, "in_service")


def test_found_outside_it_is_not_trusted_while_nobody_judges_the_bath(kitchen):
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.0 C")
    kitchen.key(kitchen.ice(), probe, "4.0 C", "4.0 C", "4.0 C")
    kitchen.clock.move(days=2)
    assert kitchen.row(probe).service_status == "check_first"


def test_a_clock_set_back_hides_no_fail(kitchen):
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.0 C")
    kitchen.clock.move(days=-400)
    kitchen.checked(probe, "5.0 C", "5.0 C", "5.0 C")
    assert kitchen.row(probe).service_status == "check_first"


def test_a_pass_while_the_clock_stood_ahead_hides_no_later_fail(kitchen):
    probe = kitchen.enrol()
    kitchen.clock.move(days=400)
    kitchen.checked(probe, "0.0 C")
    kitchen.clock.move(days=-400)
    kitchen.checked(probe, "5.0 C", "5.0 C", "5.0 C")
    assert kitchen.row(probe).service_status == "check_first"


def test_of_one_minute_on_paper_the_one_recorded_last_counts(kitchen):
    probe, at = kitchen.enrol(), kitchen.clock()
    for shown in (("0.0 C",), ("5.0 C", "5.0 C", "5.0 C")):
        bath = kitchen.ice(performed_at=at)
        kitchen.key(bath, probe, *shown, performed_at=at)
        kitchen.judge(bath)
    assert kitchen.row(probe).service_status == "check_first"


def test_nothing_is_adjusted_in_the_future(kitchen):
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    ahead = kitchen.clock() + 10**12
    with kitchen.refuses(("performed_at", "in_the_future")):
        kitchen.adjust(check, "nut", "0 C", performed_at=ahead)
    with kitchen.refuses(("performed_at", "in_the_future")):
        kitchen.adjust(check, "nut", None, performed_at=ahead)


def test_while_the_water_cools_each_reading_brings_its_reference(kitchen):
    reference, probe = certified(kitchen), kitchen.enrol(adjusts="reset")
    bath = kitchen.flask((reference, "70 C"))
    kitchen.clock.move(minutes=3)
    with kitchen.refuses(("beside", "read_it_again")):
        kitchen.key(bath, probe, "70 C")
    now = {"beside": ((kitchen.tag(reference), Reading.from_text("66 C")),)}
    row = kitchen.key(bath, probe, "70 C", "70 C", "70 C", **now)
    assert (row.judged.outcome, row.judged.reference.text()) == ("fail", "66.0 C")
    kitchen.judge(bath)
    with kitchen.refuses(("beside", "read_it_again")):
        kitchen.adjust(row.check, "reset", "70 C")
    assert kitchen.adjust(row.check, "reset", "66 C", **now).outcome == "pass"


def test_a_reference_is_that_of_the_bath_and_two_have_to_agree(kitchen):
    reference, other, probe = certified(kitchen), certified(kitchen), kitchen.enrol()
    with kitchen.refuses(("beside", "house_reference_disagrees")):
        kitchen.flask((reference, "70 C"), (other, "74 C"))
    bath = kitchen.flask((reference, "70 C"))
    alone = kitchen.enrol()
    kitchen.checked(alone, "0.0 C")
    with kitchen.refuses(("beside", "not_the_baths")):
        kitchen.key(bath, probe, "71 C", beside=((kitchen.tag(alone), Reading.from_text("71 C")),))


def test_an_outside_certificate_speaks_of_it_as_it_was(kitchen):
    made = kitchen.enrol(adjusts="reset")
    check = kitchen.checked(made, "2.0 C", "2.0 C", "2.0 C")
    points = tuple(
        (
            Reading.from_text(at),
            TemperatureDifference.from_text("-2 dC"),
            TemperatureDifference.from_text("0.1 dC"),
            Decimal(2),
        )
        for at in ("-20 C", "100 C")
    )
    given = OutsideCertificate("C 8", "Fen lab", TUESDAY.replace(month=2), points)
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, given)
    kitchen.adjust(check, "reset", "0.0 C")
    with kitchen.refuses(("beside", "changed_since_certified")):
        kitchen.flask((made, "70 C"))


def test_a_bath_is_not_read_when_it_is_old(kitchen):
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.clock.move(hours=3)
    with kitchen.refuses(("bath", "too_old")):
        kitchen.key(bath, probe, "0.0 C")
    fresh = kitchen.ice()
    with kitchen.refuses(("performed_at", "before_the_bath")):
        kitchen.key(fresh, probe, "0.0 C", performed_at=kitchen.clock() - 3600 * 10**6)


def test_no_reading_is_lost_in_a_check_that_is_recorded(kitchen):
    probe, bath = kitchen.enrol(), kitchen.ice()
    row = kitchen.key(bath, probe, "0.0 C")
    with kitchen.refuses(("check", "recorded_already")):
        kitchen.key(bath, probe, "0.9 C", check=row.check)


def test_repeats_are_of_the_same_thermometer_bath_and_unit(kitchen):
    dual = kitchen.enrol()
    bath = kitchen.ice()
    row = kitchen.key(bath, dual, "1.4 C")
    for other, where in ((kitchen.enrol(), bath), (dual, kitchen.ice())):
        with kitchen.refuses(("check", "of_another")):
            kitchen.key(where, other, "1.4 C", check=row.check)
    with kitchen.refuses(("shown", "same_unit_as_first")):
        kitchen.key(bath, dual, "34.5 F", check=row.check)


def test_closing_leaves_a_persons_word_on_a_bath(kitchen):
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "0.0 C")
    kitchen.judge(bath, "condemned")
    baths.judge_bath(kitchen.session, kitchen.lead, bath, "accepted", by="closing")
    assert kitchen.row(probe).good_at is None


def test_nobody_adjusts_because_of_a_check_that_was_voided(kitchen):
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    with kitchen.refuses(("check", "is_void")):
        kitchen.adjust(check, "nut", "0 C")
    assert kitchen.row(dial).service_status == "check_first"


def test_the_word_waits_for_the_bath(kitchen):
    probe, bath = kitchen.enrol(), kitchen.ice()
    row = kitchen.key(bath, probe, "0.0 C")
    assert row.lead_word == "waits"
    kitchen.judge(bath, "condemned")
    with kitchen.session.reading() as connection:
        assert checks.recorded_row(connection, row.check).lead_word == "waits"


def test_back_from_being_away_it_is_checked_first_and_a_lead_lifts_no_limit(kitchen):
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.0 C")
    thermometers.set_status(kitchen.session, kitchen.lead, probe, "lost")
    kitchen.clock.move(days=60)
    thermometers.set_status(kitchen.session, kitchen.lead, probe, "in_service")
    assert kitchen.row(probe).service_status == "check_first"
    thermometers.take_out(kitchen.session, kitchen.lead, probe, "bent")
    kitchen.checked(probe, "0.0 C")
    thermometers.set_status(kitchen.session, kitchen.lead, probe, "in_service")
    assert kitchen.row(probe).service_status == "check_first"
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "limited_use", only="cold")
    with kitchen.refuses(("actor", "not_allowed")):
        thermometers.set_status(kitchen.session, kitchen.lead, probe, "in_service")


def test_a_condemned_bath_does_what_was_due_for_nobody(kitchen):
    probe = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.0 C")
    kitchen.judge(bath, "condemned")
    with kitchen.session.reading() as connection:
        found = duelist.last_checks(connection, kitchen.row(probe))
    assert (found.decided, found.waits_at) == ((), None)


def test_right_is_not_said_while_a_fail_stands_elsewhere(kitchen):
    reference, probe = certified(kitchen), kitchen.enrol()
    compared(kitchen, reference, "70 C", probe, "73 C", "73 C", "73 C")
    for _ in range(2):
        kitchen.clock.move(hours=1)
        kitchen.checked(probe, "0.0 C")
    with kitchen.session.reading() as connection:
        answer = history.was_right(kitchen.session, connection, probe, kitchen.clock() - 1800 * 10**6)
    assert answer.answer == "no"


def test_a_reading_that_was_judged_is_voided_with_its_check(kitchen):
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.0 C")
    with kitchen.refuses(("number", "void_the_check_instead")):
        mend.void(kitchen.session, kitchen.officer, kitchen.last("reading_taken").number, "mistyped")
    kitchen.key(kitchen.ice(), probe, "4.0 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("reading_taken").number, "mistyped")


def test_a_voided_outside_reading_is_not_followed_by_one_believed_alone(kitchen: Kitchen) -> None:
    """Fail, void it as mistyped, key one reading inside: the repeats are asked for all the same."""
    thermometer, bath = kitchen.enrol(), kitchen.ice()
    row = kitchen.key(bath, thermometer, "2.0 C", "2.1 C", "2.0 C")
    assert row.recorded
    mend.void(kitchen.session, kitchen.lead, mend.number_of_check(kitchen.session, row.check), "mistyped")
    again = kitchen.key(bath, thermometer, "0.1 C")
    assert (again.recorded, again.wants_more) == (False, 2)


def test_a_condemned_bath_does_not_bring_an_earlier_one_back(kitchen: Kitchen) -> None:
    """What stands on the bench is the condemned one: a reading in it must not count as one in the good bath before."""
    good = kitchen.ice()
    kitchen.key(good, kitchen.dial(), "0 C")
    kitchen.judge(good)
    kitchen.clock.move(minutes=20)
    bad = kitchen.ice()
    kitchen.key(bad, kitchen.dial(), "3 C")
    with kitchen.session.reading() as connection:
        now = shift_bath.bath_now(kitchen.session, connection, kitchen.site)
        assert now is not None
        assert now.payload["bath"] == bad
    kitchen.judge(bad, "condemned")
    with kitchen.session.reading() as connection:
        assert shift_bath.bath_now(kitchen.session, connection, kitchen.site) is None
