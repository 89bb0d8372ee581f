"""What is due, when and why, as the record and the plan ask."""

from datetime import date
from decimal import Decimal

import pytest

from registry.quantity import Length, Reading, TemperatureDifference
from registry.records.rules import PlanRule
from registry.services import checks, duelist, incidents, mend, owed, places, rules, thermometers
from registry.services.baths import PressureSource
from registry.services.duelist import Due
from registry.services.places import NewSite
from registry.services.thermometers import OutsideCertificate
from registry.wording.due import why_due
from tests.services.kitchen import TUESDAY, ZONE, Kitchen
from tests.services.test_lists import add_early, known


def due(kitchen: Kitchen, site: str | None = None) -> list[Due]:
    with kitchen.session.reading() as connection:
        return duelist.due_list(kitchen.session, connection, site)


def wanted(kitchen: Kitchen, thermometer: str) -> dict[str, str]:
    """What is wanted of one now: by code, its state."""
    return {one.item.code: one.item.state for one in due(kitchen) if one.row.thermometer == thermometer}


def why(kitchen: Kitchen, thermometer: str, code: str) -> tuple[str, dict[str, object]]:
    (found,) = [one.item.why for one in due(kitchen) if (one.row.thermometer, one.item.code) == (thermometer, code)]
    return found[0], dict(found[1])


def recheck_by(kitchen: Kitchen, thermometer: str) -> date | None:
    with kitchen.session.reading() as connection:
        return duelist.recheck_by(kitchen.session, connection, kitchen.row(thermometer))


def test_a_new_one_is_wanted_before_its_first_use(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = kitchen.enrol(uses=("cold",))
    assert why(kitchen, probe, "new") == ("new", {"enrolled_at": kitchen.row(probe).enrolled_at})
    kitchen.checked(probe, "0.1 C")
    assert wanted(kitchen, probe) == {}


def test_each_shift_wants_it_until_it_is_checked(kitchen: Kitchen) -> None:
    add_early(kitchen)
    first, second = known(kitchen, 2)
    assert wanted(kitchen, first) == {"each_shift": "due"}
    code, values = why(kitchen, first, "each_shift")
    assert (code, values["shift"], values["start"], values["end"]) == ("each_shift", "Early", 360, 840)
    kitchen.checked(first, "0.1 C")
    assert wanted(kitchen, first) == {"each_shift": "done"}
    assert wanted(kitchen, second) == {"each_shift": "due"}
    kitchen.clock.move(hours=9)  # 14:30, half an hour after the shift
    assert wanted(kitchen, first) == {}
    assert wanted(kitchen, second) == {"each_shift": "missed"}


@pytest.mark.parametrize("said", ["not_used", "not_found", "station_closed", "lent"])
def test_what_was_said_instead_is_its_state(kitchen: Kitchen, said: str) -> None:
    early = add_early(kitchen)
    (probe,) = known(kitchen, 1)
    checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, early, "2026-03-03", said)
    assert wanted(kitchen, probe) == {"each_shift": said}


def test_what_was_said_by_mistake_is_not_its_state(kitchen: Kitchen) -> None:
    early = add_early(kitchen)
    (probe,) = known(kitchen, 1)
    checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, early, "2026-03-03", "not_used")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("not_checked").number, "wrong_thermometer")
    assert wanted(kitchen, probe) == {"each_shift": "due"}


def test_no_reading_leaves_it_due(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), probe, "battery_flat")
    assert wanted(kitchen, probe) == {"each_shift": "no_reading"}
    assert why(kitchen, probe, "each_shift")[1]["reason"] == "battery_flat"
    assert "no_reading" in duelist.OPEN_STATES
    kitchen.checked(probe, "0.1 C")
    assert wanted(kitchen, probe) == {"each_shift": "done"}


def test_a_check_that_decided_nothing_has_not_done_the_shift(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    assert wanted(kitchen, probe) == {"each_shift": "done"}  # its bath may yet be judged
    kitchen.judge(bath, "condemned")
    assert wanted(kitchen, probe) == {"each_shift": "due"}
    kitchen.key(kitchen.ice(), probe, "0.1 C")
    assert wanted(kitchen, probe) == {"each_shift": "done"}
    kitchen.clock.move(hours=9)  # 14:30, half an hour after the shift, and nobody has judged it
    assert wanted(kitchen, probe) == {"each_shift": "missed"}


def test_a_check_before_the_one_that_decided_nothing_still_counts(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    kitchen.checked(probe, "0.1 C")
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    kitchen.judge(bath, "condemned")
    assert wanted(kitchen, probe) == {"each_shift": "done"}


def test_after_an_incident_at_once(kitchen: Kitchen) -> None:
    (probe,) = known(kitchen, 1)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    code, values = why(kitchen, probe, "after_incident")
    assert (code, values) == ("incident", {"incident": "dropped", "incident_at": kitchen.last("incident_reported").at})
    kitchen.checked(probe, "0.1 C")
    assert wanted(kitchen, probe) == {}


def test_after_a_fail_first_of_all(kitchen: Kitchen) -> None:
    add_early(kitchen)
    known(kitchen, 2)
    dial = kitchen.dial(uses=("cold",), tag_id="ZZ99")
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    assert why(kitchen, dial, "check_first") == ("failed", {"failed_at": kitchen.check(check).at})
    assert (due(kitchen)[0].row.thermometer, due(kitchen)[0].item.code) == (dial, "check_first")


def test_after_an_adjustment_in_the_next_shift(kitchen: Kitchen) -> None:
    add_early(kitchen)
    dial = kitchen.dial(uses=("cold",))
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    adjusted_at = kitchen.last("adjusted").at
    assert "after_adjustment" not in wanted(kitchen, dial)
    kitchen.clock.move(days=1)
    assert why(kitchen, dial, "after_adjustment") == ("adjusted", {"adjusted_at": adjusted_at})
    condemned = kitchen.ice()
    kitchen.key(condemned, dial, "0 C")
    kitchen.judge(condemned, "condemned")
    assert "after_adjustment" in wanted(kitchen, dial)
    kitchen.checked(dial, "0 C")
    assert "after_adjustment" not in wanted(kitchen, dial)


def test_adjusted_at_ice_what_is_used_hot_is_wanted_at_a_hot_point_at_once(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    pot = kitchen.boil()
    kitchen.key(pot, dial, "100 C")
    kitchen.judge(pot)
    assert "hot_point" not in wanted(kitchen, dial)
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", "0 C")
    assert wanted(kitchen, dial)["hot_point"] == "due"
    assert why(kitchen, dial, "hot_point") == ("adjusted_hot", {"adjusted_at": kitchen.last("adjusted").at})


def test_a_fail_answered_before_an_adjustment_elsewhere_stays_answered(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(adjusts="reset")
    boiled(kitchen, probe, "103.0 C", "103.0 C", "103.0 C")
    assert "check_first" in wanted(kitchen, probe)
    boiled(kitchen, probe, "99.6 C")
    assert "check_first" not in wanted(kitchen, probe)
    kitchen.adjust(kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C"), "reset", "0.0 C")
    assert "check_first" not in wanted(kitchen, probe)
    assert kitchen.row(probe).service_status == "in_service"
    assert why(kitchen, probe, "hot_point") == ("adjusted_hot", {"adjusted_at": kitchen.last("adjusted").at})
    assert kitchen.verify().good


def test_a_fail_that_nothing_answered_stays_after_an_adjustment_elsewhere(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(adjusts="reset")
    failed_at = kitchen.check(boiled(kitchen, probe, "103.0 C", "103.0 C", "103.0 C")).at
    kitchen.adjust(kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C"), "reset", "0.0 C")
    assert why(kitchen, probe, "check_first") == ("failed", {"failed_at": failed_at})


def test_an_incident_answered_before_an_adjustment_stays_answered(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    incidents.report_incident(kitchen.session, kitchen.lead, dial, "dropped")
    kitchen.checked(dial, "0 C")
    kitchen.adjust(kitchen.checked(dial, "3 C", "3 C", "3 C"), "nut", None)
    assert why(kitchen, dial, "check_first")[0] == "failed"  # turned and not measured
    assert "after_incident" not in wanted(kitchen, dial)


def test_outside_comes_before_an_earlier_drop(kitchen: Kitchen) -> None:
    dial = kitchen.dial(uses=("cold",))
    incidents.report_incident(kitchen.session, kitchen.lead, dial, "dropped")
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    assert [one.item.code for one in due(kitchen)] == ["check_first", "after_incident"]


def boiled(kitchen: Kitchen, thermometer: str, *shown: str) -> str:
    """A check in an accepted pot of its own; its id."""
    pot = kitchen.boil()
    row = kitchen.key(pot, thermometer, *shown)
    kitchen.judge(pot)
    return row.check


def test_a_hot_point_every_ninety_days_for_what_is_used_hot(kitchen: Kitchen) -> None:
    hot, cold = kitchen.enrol(), kitchen.enrol(uses=("cold",))
    for one in (hot, cold):
        kitchen.checked(one, "0.1 C")
    assert why(kitchen, hot, "hot_point")[0] == "hot_point_never"
    assert "hot_point" not in wanted(kitchen, cold)
    pot = kitchen.boil()
    kitchen.key(pot, hot, "99.6 C")
    kitchen.judge(pot)
    assert "hot_point" not in wanted(kitchen, hot)
    kitchen.clock.move(days=89)
    assert "hot_point" not in wanted(kitchen, hot)
    kitchen.clock.move(days=1)
    assert wanted(kitchen, hot)["hot_point"] == "due"
    kitchen.clock.move(days=1)
    assert wanted(kitchen, hot)["hot_point"] == "overdue"


def test_an_outside_certificate_is_asked_for_thirty_days_before(kitchen: Kitchen) -> None:
    (probe,) = known(kitchen, 1)
    zero, one = TemperatureDifference.from_text("0 dC"), TemperatureDifference.from_text("0.1 dC")
    given = OutsideCertificate(
        "C 1", "Fen lab", date(2025, 4, 2), ((Reading.from_text("0 C"), zero, one, Decimal(2)),), due=date(2026, 4, 3)
    )
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, probe, given)
    assert wanted(kitchen, probe) == {}
    kitchen.clock.move(days=1)  # 4 March, 30 days before 3 April
    assert why(kitchen, probe, "reference_expiry") == ("reference_expiry", {"day": date(2026, 4, 3)})
    kitchen.clock.move(days=31)
    assert wanted(kitchen, probe)["reference_expiry"] == "overdue"


def test_a_risk_based_plan_counts_days(kitchen: Kitchen) -> None:
    # Dials daily from judgement, digitals weekly as school and retail guides have it.
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    add_early(kitchen)
    probe, dial = kitchen.enrol(uses=("cold",)), kitchen.dial(uses=("cold",))
    kitchen.checked(probe, "0.1 C")
    kitchen.checked(dial, "0 C")
    assert (wanted(kitchen, probe), wanted(kitchen, dial)) == ({}, {})
    assert (recheck_by(kitchen, probe), recheck_by(kitchen, dial)) == (date(2026, 3, 10), date(2026, 3, 4))
    kitchen.clock.move(days=1)
    assert (wanted(kitchen, probe), wanted(kitchen, dial)) == ({"sentinel": "due"}, {"every_days": "due"})
    assert recheck_by(kitchen, probe) == date(2026, 3, 10)  # its turn is no recheck day
    kitchen.clock.move(days=9)
    assert (wanted(kitchen, probe), wanted(kitchen, dial)) == ({"every_days": "overdue"},) * 2
    with kitchen.refuses(("plan", "unknown")):
        rules.set_plan(kitchen.session, kitchen.officer, "never", TUESDAY)


def test_a_check_today_is_done_and_the_next_is_tomorrows(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    assert recheck_by(kitchen, probe) == TUESDAY
    kitchen.checked(probe, "0.1 C")
    assert recheck_by(kitchen, probe) == date(2026, 3, 4)


@pytest.mark.parametrize("status", ["lost", "retired"])
def test_what_is_not_there_owes_nothing(kitchen: Kitchen, status: str) -> None:
    probe = kitchen.enrol()
    assert wanted(kitchen, probe) != {}
    thermometers.set_status(kitchen.session, kitchen.officer, probe, status)
    assert (wanted(kitchen, probe), recheck_by(kitchen, probe)) == ({}, None)


def test_each_site_has_its_own_list(kitchen: Kitchen) -> None:
    other = places.add_site(
        kitchen.session, kitchen.officer, places.NewSite("Quay", "QU", ZONE, Length(Decimal(5), "m"))
    )
    here, there = kitchen.enrol(), kitchen.enrol(site=other)
    assert {one.row.thermometer for one in due(kitchen, other)} == {there}
    assert {one.row.thermometer for one in due(kitchen)} == {here, there}


def test_a_night_shift_that_is_on_is_not_past_before_it_ends(kitchen: Kitchen) -> None:
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Night", "20:00", "04:00", tuple(range(7)), TUESDAY
    )
    (one,) = known(kitchen, 1)
    kitchen.clock.move(hours=20)  # 01:30 on Wednesday: in the shift that began on Tuesday
    assert wanted(kitchen, one)["each_shift"] == "due"
    assert recheck_by(kitchen, one) == date(2026, 3, 4)
    kitchen.checked(one, "0.1 C")
    assert wanted(kitchen, one)["each_shift"] == "done"
    assert recheck_by(kitchen, one) == date(2026, 3, 4)  # the shift that begins at 20:00


# --- what is called missed -----------------------------------------------------------------------------------


def missed(kitchen: Kitchen) -> list[tuple[str, int, str]]:
    """(thermometer, day of the month, shift's name)"""
    return [
        (one.row.thermometer, one.item.day.day, str(one.item.why[1]["shift"]))
        for one in due(kitchen, kitchen.site)
        if one.item.state == "missed"
    ]


@pytest.fixture
def two_shifts(kitchen: Kitchen) -> tuple[str, str]:
    """Each day from 06:00 to 14:00 and from 14:00 to 22:00."""
    early, late = (
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, begins, ends, range(7), TUESDAY)
        for name, begins, ends in (("Early", "06:00", "14:00"), ("Late", "14:00", "22:00"))
    )
    return early, late


def test_an_earlier_shift_that_was_done_is_not_missed(kitchen: Kitchen, two_shifts: tuple[str, str]) -> None:
    """Each shift is judged by its own check, not by the newest one alone."""
    probe, lazy = kitchen.enrol(), kitchen.enrol()
    for hours in (9, 15, 9):  # done in both on the 3rd, in the first of the 4th
        kitchen.checked(probe, "0.1 C")
        kitchen.clock.move(hours=hours)
    kitchen.checked(probe, "0.1 C")
    assert missed(kitchen) == [(lazy, 3, "Early"), (lazy, 3, "Late"), (lazy, 4, "Early")]
    with kitchen.session.reading() as connection:
        found = owed.of_one(kitchen.session, connection, kitchen.row(probe), "each_shift")
    assert "missed" not in {one.state for one in found.due}


def test_what_was_elsewhere_or_out_of_use_missed_nothing_then(kitchen: Kitchen, two_shifts: tuple[str, str]) -> None:
    quay = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    moved, repaired = kitchen.enrol(site=quay), kitchen.enrol()
    thermometers.take_out(kitchen.session, kitchen.lead, repaired, "damaged")
    kitchen.clock.move(hours=26)  # 07:30 on the 4th
    thermometers.move(kitchen.session, kitchen.officer, moved, kitchen.site)
    thermometers.set_status(kitchen.session, kitchen.lead, repaired, "in_service")
    assert missed(kitchen) == []
    assert {wanted(kitchen, one)["each_shift"] for one in (moved, repaired)} == {"due"}  # at once, all the same
    kitchen.clock.move(hours=15)
    assert sorted(missed(kitchen)) == sorted([(moved, 4, "Late"), (repaired, 4, "Late")])


def test_a_shift_asks_to_its_end_for_what_it_began_with(kitchen: Kitchen, two_shifts: tuple[str, str]) -> None:
    """One fewer is asked for from the next shift on, one more at once."""
    probe = kitchen.enrol(uses=("cold",))
    kitchen.clock.move(hours=2)
    kitchen.by_risk(turns=False)
    assert wanted(kitchen, probe)["each_shift"] == "due"
    kitchen.clock.move(hours=8)
    assert (missed(kitchen), "each_shift" in wanted(kitchen, probe)) == ([(probe, 3, "Early")], True)
    kitchen.clock.move(hours=7)
    assert missed(kitchen) == [(probe, 3, "Early")]
    kitchen.clock.move(hours=9)  # 07:30 on the 4th
    rules.set_plan(kitchen.session, kitchen.officer, "each_shift", TUESDAY)
    assert [one.item.state for one in due(kitchen) if one.item.code == "each_shift"] == ["due", "missed"]
    kitchen.clock.move(hours=8)
    assert missed(kitchen) == [(probe, 3, "Early")]


def test_by_forecast_it_says_at_which_of_its_points(kitchen: Kitchen) -> None:
    """Right in five ice baths; once in boiling water, 0.9 °C off."""
    probe = kitchen.enrol()
    kitchen.always({probe: "0.0 C"}, 5)
    kitchen.plan(PlanRule(rule="forecast"))
    kitchen.key(bath := kitchen.boil(pressure_source=PressureSource.ELEVATION), probe, "100.5 C")
    kitchen.judge(bath)
    kitchen.clock.move(days=60)
    code, values = why(kitchen, probe, "forecast")
    assert (code, values["point"]) == ("forecast_point", "boiling_point")
    assert why_due(code, values, "en", "en_US", ZONE).startswith("Boiling point: may be out of tolerance by ")
    with kitchen.session.reading() as connection:
        found = owed.of_one(kitchen.session, connection, kitchen.row(probe), "own")
    assert [one.why[0] for one in found.due] == ["forecast_point"]
