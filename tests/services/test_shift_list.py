"""The list at the start of a shift: who is on it, what each row says, and that it judges as it will be recorded."""

from decimal import Decimal
from fractions import Fraction

import pytest

from registry import resources
from registry.quantity import Reading, TemperatureDifference
from registry.services import checks, incidents, places, shift_list, thermometers
from registry.services.problems import Refused
from registry.services.shift_list import ShiftView
from registry.services.shift_row import ListRow
from registry.wording import say
from registry.wording.due import why_due
from tests.services.kitchen import (
    AIR_C,
    DIAL_F,
    DIGITAL_C,
    DIGITAL_F,
    HOUR_US,
    TUESDAY,
    Kitchen,
    scale,
)


def with_shift(kitchen: Kitchen) -> str:
    """A morning shift from 06:00 to 14:00 local time; the clock stands at 05:30, when its list is open."""
    return places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Morning", "06:00", "14:00", tuple(range(7)), TUESDAY
    )


def view(kitchen: Kitchen) -> ShiftView:
    return shift_list.start_of_shift(kitchen.session, kitchen.site)


def row(kitchen: Kitchen, thermometer: str) -> ListRow:
    found = view(kitchen).row(kitchen.tag(thermometer))
    assert found is not None
    return found


def row_of_tag(kitchen: Kitchen, tag: str) -> ListRow:
    found = view(kitchen).row(tag)
    assert found is not None
    return found


def judge_and_wait(kitchen: Kitchen, thermometer: str, *shown: str) -> None:
    """A good check of another day."""
    kitchen.checked(thermometer, *shown)
    kitchen.clock.move(days=1)


# --- who is on it --------------------------------------------------------------------------------------------


def test_the_list_names_the_shift_and_all_that_it_wants_digitals_first(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    grill, fridge = (
        places.add_station(kitchen.session, kitchen.officer, kitchen.site, name) for name in ("Grill", "Cold room")
    )
    dial, air = kitchen.dial(station=fridge), kitchen.enrol(AIR_C, type="fixed_air", station=fridge)
    hot, cold = kitchen.enrol(station=grill), kitchen.enrol(station=fridge)
    surface = kitchen.enrol(DIGITAL_C, type="infrared", station=fridge)
    found = view(kitchen)
    assert (found.site_name, found.shift and found.shift.shift.name, found.bath) == ("Pier", "Morning", None)
    # Digital probes, then by station and tag: an infrared sees a surface and is not of the steady ones.
    in_order = [cold, hot, *sorted((dial, air, surface), key=kitchen.tag)]
    assert [one.thermometer for one in found.rows] == in_order
    assert {one.state for one in found.rows} == {"waiting"}
    assert {one.why[0] for one in found.rows} == {"new"}


def test_without_a_shift_all_that_is_due_stands_there_and_stays_while_its_bath_is_open(kitchen: Kitchen) -> None:
    done, due = (kitchen.enrol(uses=("cold",)) for _ in range(2))
    judge_and_wait(kitchen, done, "0.1 C")
    assert view(kitchen).shift is None
    assert [one.thermometer for one in view(kitchen).rows] == [due]
    bath = kitchen.ice()
    kitchen.key(bath, due, "0.1 C")
    assert (row(kitchen, due).state, view(kitchen).counts) == ("recorded", {"recorded": 1})
    kitchen.judge(bath)
    assert row(kitchen, due).state == "recorded"
    kitchen.clock.move(hours=3)
    assert view(kitchen).rows == ()


def test_the_list_stands_whole_until_the_shift_is_over(kitchen: Kitchen) -> None:
    shift = with_shift(kitchen)
    checked, unread, unused, missing, out, waiting = (kitchen.enrol() for _ in range(6))
    bath = kitchen.ice()
    kitchen.key(bath, checked, "0.1 C")
    checks.no_reading(kitchen.session, kitchen.lead, bath, unread, "battery_flat")
    for one, why in ((unused, "not_used"), (missing, "not_found")):
        checks.not_checked(kitchen.session, kitchen.lead, one, kitchen.site, shift, TUESDAY.isoformat(), why)
    thermometers.take_out(kitchen.session, kitchen.lead, out, "damaged")
    states = {
        checked: "recorded",
        unread: "no_reading",
        unused: "not_used",
        missing: "not_found",
        out: "out_of_use",
        waiting: "waiting",
    }
    assert {one.thermometer: one.state for one in view(kitchen).rows} == states
    instead = row(kitchen, unread).instead
    assert instead is not None
    assert instead.why == "battery_flat"
    kitchen.judge(bath)
    kitchen.clock.move(hours=8)  # 13:30, still the same shift
    assert {one.thermometer: one.state for one in view(kitchen).rows} == states
    assert view(kitchen).counts == dict.fromkeys(states.values(), 1)
    kitchen.clock.move(days=1, hours=-8)  # the next morning: what was said yesterday is yesterday's
    later = {one.thermometer: one.state for one in view(kitchen).rows}
    assert later.pop(checked) == "waiting"  # its hot point is still wanted
    assert later == dict.fromkeys((unread, unused, missing, waiting), "waiting")


def test_why_due_can_be_worded_in_both_languages(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    made = kitchen.enrol()
    before = row(kitchen, made)
    assert why_due(*before.why, "en", "en_US", view(kitchen).zone) == "New here"
    kitchen.checked(made, "0.1 C")
    after = row(kitchen, made)
    known = shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(kitchen.enrol()))
    assert known.why[0] == "new"
    for language in resources.languages():
        assert why_due(*after.why, language, "en_US", view(kitchen).zone)
    assert say("due.answered", "en") != say("due.answered", "es")


def test_a_scanned_thermometer_that_the_shift_does_not_want_gets_a_row(kitchen: Kitchen) -> None:
    done = kitchen.enrol(uses=("cold",))
    judge_and_wait(kitchen, done, "0.1 C")
    assert view(kitchen).rows == ()
    found = shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(done).lower())
    assert (found.thermometer, found.why, found.state) == (done, ("scanned", {}), "waiting")
    kitchen.key(kitchen.ice(), done, "0.1 C")
    assert row(kitchen, done).state == "recorded"  # once it has been read it stands on the list
    with pytest.raises(Refused) as refused:
        shift_list.row_for(kitchen.session, kitchen.site, "ZZ999")
    assert refused.value.problems[0].code == "unknown_tag"


def test_a_row_says_what_a_scanned_one_and_a_wanted_one_say_alike(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    one = kitchen.dial(DIAL_F)
    kitchen.key(kitchen.ice(), one, "36 F")
    assert shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(one)) == row(kitchen, one)


# --- what a row says -----------------------------------------------------------------------------------------


def test_a_row_knows_its_dial_its_tolerances_and_how_it_is_adjusted(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dual, dial = kitchen.enrol(DIGITAL_C, DIGITAL_F), kitchen.dial(DIAL_F)
    in_c, in_f = row(kitchen, dual).scale("C"), row(kitchen, dual).scale("F")
    # FDA Food Code 2022, 4-203.11: dual ±1 °C, which is 1.8 °F on its other scale; °F alone ±2 °F.
    assert (in_c.tolerance, in_f.tolerance) == (
        TemperatureDifference(Decimal(1), "C"),
        TemperatureDifference(Fraction(9, 5), "F"),
    )
    found = row(kitchen, dial).scale("F")
    assert (found.tolerance, found.step, found.step_as_read) == (
        TemperatureDifference(Decimal(2), "F"),
        Decimal(2),
        Decimal(1),
    )
    assert (found.lowest.text(), found.highest.text()) == ("0 F", "220 F")
    assert (row(kitchen, dial).adjust, row(kitchen, dual).adjust) == ("nut", None)
    assert row(kitchen, dual).may_adjust == ("reset", "trim")
    assert (row(kitchen, dial).default_unit, row(kitchen, dual).default_unit) == ("F", "F")
    assert [one.point for one in row(kitchen, dial).points] == ["ice_point", "comparison", "boiling_point"]


def test_last_time_is_the_offset_that_counted_before_this_shift(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial = kitchen.dial()
    judge_and_wait(kitchen, dial, "0.5 C")
    assert row(kitchen, dial).last_at("ice_point") == TemperatureDifference(Decimal("0.5"), "C")
    bath = kitchen.ice()
    check = kitchen.key(bath, dial, "3 C", "3 C", "3 C").check
    kitchen.judge(bath)
    kitchen.adjust(check, "nut", "0 C")
    # Today's own check is not last time's; tomorrow its as-left reading is, since that is what it was left at.
    assert row(kitchen, dial).last_at("ice_point") == TemperatureDifference(Decimal("0.5"), "C")
    kitchen.clock.move(days=1)
    found = shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(dial))
    assert found.last_at("ice_point") == TemperatureDifference(Decimal(0), "C")
    condemned = kitchen.ice()
    kitchen.key(condemned, dial, "1.0 C")
    kitchen.judge(condemned, "condemned")
    kitchen.clock.move(days=1)
    found = shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(dial))
    assert found.last_at("ice_point") == TemperatureDifference(Decimal(0), "C")
    assert found.last_at("boiling_point") is None


def test_both_databases_give_the_same_list(any_kitchen: Kitchen) -> None:
    with_shift(any_kitchen)
    dial, digital = any_kitchen.dial(), any_kitchen.enrol()
    judge_and_wait(any_kitchen, dial, "0.5 C")
    any_kitchen.key(any_kitchen.ice(), dial, "2 C")
    found = {one.thermometer: (one.state, one.last_at("ice_point")) for one in view(any_kitchen).rows}
    assert found == {dial: ("partly", TemperatureDifference(Decimal("0.5"), "C")), digital: ("waiting", None)}


def test_after_an_incident_the_row_says_which(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    made = kitchen.enrol()
    judge_and_wait(kitchen, made, "0.1 C")
    incidents.report_incident(kitchen.session, kitchen.lead, made, "dropped")
    found = row(kitchen, made)
    assert (found.status, found.incident and found.incident[0]) == ("check_first", "dropped")
    assert (found.wants[0].code, found.why[0]) == ("after_incident", "incident")


def test_outside_it_asks_for_repeats_then_is_recorded_then_adjusted(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial, bath = kitchen.dial(), kitchen.ice()
    check = kitchen.session.new_id()
    kitchen.key(bath, dial, "2 C", check=check)
    found = row(kitchen, dial)
    assert found.check is not None
    assert (found.state, found.check.row.wants_more, found.check.row.check) == ("partly", 2, check)
    assert [one.text() for one in found.check.row.readings] == ["2 C"]
    kitchen.key(bath, dial, "2 C", "2 C", check=check)
    found = row(kitchen, dial)
    assert found.check is not None
    assert (found.state, found.check.row.judged.outcome, found.check.row.lead_word) == ("recorded", "fail", "waits")
    kitchen.judge(bath)
    kitchen.adjust(check, "nut", "0 C")
    found = row(kitchen, dial)
    assert found.check is not None
    assert found.check.as_left is not None
    assert (found.check.outcome, found.check.row.lead_word) == ("fail", "adjust_or_do_not_use")
    left = found.check.as_left
    assert (left.how, left.reading, left.outcome, left.word) == ("nut", Reading.from_text("0 C"), "pass", "use")
    assert found.status == "in_service"


def test_an_adjustment_not_measured_says_so(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial, bath = kitchen.dial(), kitchen.ice()
    check = kitchen.key(bath, dial, "2 C", "2 C", "2 C").check
    kitchen.judge(bath)
    kitchen.adjust(check, "nut", None)
    found = row(kitchen, dial)
    assert found.check is not None
    assert found.check.as_left is not None
    assert (found.check.as_left.judged, found.check.as_left.word) == (None, "waits")


def test_a_condemned_bath_says_nothing_and_its_thermometers_wait_again(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    made, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, made, "0.1 C")
    assert row(kitchen, made).state == "recorded"
    kitchen.judge(bath, "condemned")
    assert (row(kitchen, made).state, row(kitchen, made).check) == ("waiting", None)


def test_after_the_ice_the_boil_is_asked_for_anew_where_a_hot_point_is_wanted(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    made = kitchen.enrol(uses=("hot",))
    only_cold = kitchen.enrol(uses=("cold",))
    ice = kitchen.ice()
    for one in (made, only_cold):
        kitchen.key(ice, one, "0.1 C")
    assert row(kitchen, made).state == "recorded"
    kitchen.judge(ice)
    boil = kitchen.boil()
    assert {one.code for one in row(kitchen, made).wants} >= {"hot_point"}
    assert (row(kitchen, made).state, row(kitchen, only_cold).state) == ("waiting", "recorded")
    assert [one.point for one in row(kitchen, made).checks] == ["ice_point"]  # the ice is not forgotten
    kitchen.key(boil, made, "99.6 C")
    assert [one.point for one in row(kitchen, made).checks] == ["ice_point", "boiling_point"]
    assert row(kitchen, made).state == "recorded"


# --- the bath ------------------------------------------------------------------------------------------------


def test_the_head_says_the_reference_in_both_units_and_what_must_be_read(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    for scales in ((DIGITAL_C,), (DIGITAL_C, DIGITAL_F)):
        kitchen.enrol(*scales)
    dial = kitchen.dial(DIAL_F)
    bath = kitchen.ice()
    found = view(kitchen).bath
    assert found is not None
    assert (found.bath, found.point, found.made, found.too_old) == (bath, "ice_point", "crushed_packed", False)
    assert [one.text() for one in found.reference] == ["0.0 C", "32.0 F"]
    # Crushed ice: ±0.1 °C rectangular, 0.1/√3 (JCGM 100:2008, 4.3.7).
    assert found.u == TemperatureDifference(Decimal("0.0577"), "C")
    # ±1 °C and ±2 °F about 0 °C and 32 °F (FDA Food Code 2022, 4-203.11); dual: 1.8 °F on its °F scale.
    said = [(one.lowest.text(), one.highest.text()) for one in found.spans]
    assert said == [("-1.0 C", "1.0 C"), ("30 F", "34 F"), ("30.2 F", "33.8 F")]
    assert [(one.lowest.text(), one.highest.text()) for one in row(kitchen, dial).spans] == [("30 F", "34 F")]
    single, dual = (kitchen.tag(one.thermometer) for one in view(kitchen).rows if one.thermometer != dial)
    single, dual = (single, dual) if len(row_of_tag(kitchen, dual).scales) == 2 else (dual, single)
    assert [set(one.tag_ids) for one in found.passing] == [{single, dual}, {kitchen.tag(dial)}, {dual}]
    # A dial needs at least 3 minutes (Queensland Government), then a needle still for 15 s (Purdue University).
    assert found.settle is not None
    assert (found.settle.seconds, found.settle.still_seconds, found.settle.type) == (180, 15, "bimetal_stem")
    assert "Queensland" in found.settle.source


def test_a_bath_is_too_old_after_two_hours(kitchen: Kitchen) -> None:
    kitchen.enrol()
    kitchen.ice()
    kitchen.clock.move(hours=2, minutes=1)
    found = view(kitchen).bath
    assert found is not None
    assert found.too_old
    assert found.good_until - found.made_at == 2 * HOUR_US


def test_boiling_says_by_which_pressure(kitchen: Kitchen) -> None:
    kitchen.enrol()
    kitchen.boil()
    found = view(kitchen).bath
    assert found is not None
    assert (found.pressure_source, found.elevation) == ("elevation", "120 m")
    assert [one.text() for one in found.reference] == ["99.6 C", "211.2 F"]
    # ISO 2533 gives 998.95 hPa at 120 m, IAPWS-IF97 99.576 °C and 211.236 °F there (library iapws 1.5).


def test_what_may_not_go_into_the_bath_stands_last_and_says_why(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    air, oven = kitchen.enrol(AIR_C, type="fixed_air"), kitchen.enrol(scale("10 dC", "50 C", "300 C"), type="oven")
    surface, dial = kitchen.enrol(DIGITAL_C, type="infrared"), kitchen.dial()
    kitchen.ice()
    found = {one.thermometer: one.problem and one.problem.code for one in view(kitchen).rows}
    assert found == {
        dial: None,
        surface: "needs_stirred_slush",
        air: "not_waterproof",
        oven: "not_for_this_type",
    }
    assert view(kitchen).rows[0].thermometer == dial
    assert all(not one.spans for one in view(kitchen).rows[1:])


def test_what_vouches_for_the_water_may_not_be_checked_in_it(kitchen: Kitchen) -> None:
    first, second, third = (kitchen.enrol() for _ in range(3))
    ice = kitchen.ice()
    for one in (first, second):
        kitchen.key(ice, one, "0.0 C")
    kitchen.judge(ice)
    kitchen.flask((first, "65.0 C"), (second, "65.1 C"))
    assert row(kitchen, third).problem is None
    problem = row(kitchen, first).problem
    assert problem is not None
    assert problem.code == "is_the_reference"
    bath = view(kitchen).bath
    assert bath is not None
    assert dict(bath.beside) == {
        kitchen.tag(first): Reading.from_text("65.0 C"),
        kitchen.tag(second): Reading.from_text("65.1 C"),
    }


# --- outside ------------------------------------------------------------------------------------------------


def test_outside_in_a_judged_bath_something_is_to_be_done(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial, bath = kitchen.dial(adjusts="nut"), kitchen.ice()
    check = kitchen.key(bath, dial, "3 C", "3 C", "3 C").check
    assert not row(kitchen, dial).is_settled_outside
    kitchen.judge(bath)
    assert row(kitchen, dial).is_settled_outside
    kitchen.adjust(check, "nut", "2 C")
    assert row(kitchen, dial).is_settled_outside
    kitchen.adjust(check, "nut", "0 C")
    assert not row(kitchen, dial).is_settled_outside


def test_a_fail_at_one_point_is_not_hidden_by_a_pass_at_another(kitchen: Kitchen) -> None:
    """The row shows the newest check; that it failed at ice before stands all the same, until it is good there."""
    with_shift(kitchen)
    dial = kitchen.dial(adjusts="nut")
    failed = kitchen.checked(dial, "3 C", "3 C", "3 C")
    boil = kitchen.boil()
    kitchen.key(boil, dial, "100 C")
    kitchen.judge(boil)
    shown = row(kitchen, dial).check
    assert shown is not None
    assert (shown.outcome, row(kitchen, dial).left_failed) == ("pass", "failed")
    kitchen.adjust(failed, "nut", "0 C")
    assert row(kitchen, dial).left_failed == ""


def test_why_it_is_not_to_be_used(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial, bath = kitchen.dial(adjusts="nut"), kitchen.ice()
    check = kitchen.key(bath, dial, "3 C", "3 C", "3 C").check
    assert row(kitchen, dial).left_failed == ""  # the bath is not judged: it waits
    kitchen.judge(bath)
    assert row(kitchen, dial).left_failed == "failed"
    kitchen.adjust(check, "nut", None)
    assert row(kitchen, dial).left_failed == "left_unread"
    kitchen.adjust(check, "nut", "2 C")
    assert row(kitchen, dial).left_failed == "left_outside"
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "outside", check=check)
    assert row(kitchen, dial).left_failed == ""


def test_read_again_inside_it_has_not_failed(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial = kitchen.dial()
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.checked(dial, "0 C")
    assert row(kitchen, dial).left_failed == ""


def test_turned_at_another_point_since_it_has_to_be_read_again(kitchen: Kitchen) -> None:
    """An adjustment at the boil moves what was found outside at ice, nobody knows where to."""
    with_shift(kitchen)
    dial = kitchen.dial(adjusts="nut")
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    boil = kitchen.boil()
    check = kitchen.key(boil, dial, "103 C", "103 C", "103 C").check
    kitchen.judge(boil)
    kitchen.adjust(check, "nut", "100 C")
    assert row(kitchen, dial).left_failed == "left_unread"


def test_dropped_after_its_check_it_waits_for_another(kitchen: Kitchen) -> None:
    """What was read before it fell says nothing of it now."""
    with_shift(kitchen)
    probe, other, bath = kitchen.enrol(), kitchen.enrol(), kitchen.ice()
    for one in (probe, other):
        kitchen.key(bath, one, "0.1 C")
    kitchen.judge(bath)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    found = row(kitchen, probe)
    assert (found.state, found.check, found.status) == ("waiting", None, "check_first")
    assert [one.point for one in found.checks] == ["ice_point"]  # what it showed before is not forgotten
    assert row(kitchen, other).state == "recorded"
    kitchen.key(bath, probe, "0.2 C")
    again = row(kitchen, probe)
    assert (again.state, again.status) == ("recorded", "in_service")


def test_dropped_before_its_check_it_is_answered_by_it(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    probe, bath = kitchen.enrol(), kitchen.ice()
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.key(bath, probe, "0.1 C")
    assert row(kitchen, probe).state == "recorded"  # the bath is not judged yet
    assert row(kitchen, probe).status == "check_first"


def test_where_it_stands_failed_it_is_wanted_again(kitchen: Kitchen) -> None:
    """Failed at ice and good in boiling water: the row says so there, and the next ice asks for it."""
    with_shift(kitchen)
    dial = kitchen.dial()
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    boil = kitchen.boil()
    kitchen.key(boil, dial, "100 C")
    kitchen.judge(boil)
    found = row(kitchen, dial)
    assert (found.state, found.failed_elsewhere) == ("recorded", ("failed", "ice_point"))
    kitchen.ice()
    assert (row(kitchen, dial).state, row(kitchen, dial).check) == ("waiting", None)
    kitchen.checked(dial, "0 C")
    assert (row(kitchen, dial).state, row(kitchen, dial).failed_elsewhere) == ("recorded", ("", ""))


def test_a_fail_at_the_point_that_the_row_shows_stands_there(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    dial = kitchen.dial()
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    assert (row(kitchen, dial).left_failed, row(kitchen, dial).failed_elsewhere) == ("failed", ("", ""))
