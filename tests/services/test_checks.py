"""Readings become a check: rounding, repeats, questions, what each type may, and what is frozen."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import sqrt
from typing import Any

import pytest
from scipy import stats

from registry.compute import check as method
from registry.quantity import Length, Reading, TemperatureDifference
from registry.services import baths, checks, places, rules, thermometers, upkeep
from registry.services.checks import Row
from registry.services.problems import Refused
from registry.services.thermometers import OutsideCertificate
from registry.store import queries
from tests.services.kitchen import (
    AIR_C,
    DIAL_C,
    DIAL_F,
    DIGITAL_C,
    DIGITAL_F,
    HOUR_US,
    TUESDAY,
    ZONE,
    Kitchen,
    open_kitchen,
    scale,
)

BOIL_AT_SEA_LEVEL = "99.9743 C"  # IAPWS-IF97 at 101 325 Pa


def judged_as(kitchen: Kitchen, row: Row) -> dict[str, Any]:
    """What the journal says of a check."""
    assert row.recorded
    (found,) = [one.payload for one in kitchen.entries("check_recorded") if one.payload["check"] == row.check]
    return found


def to_sea_level(kitchen: Kitchen) -> None:
    moved = places.NewSite("Pier", "PR", ZONE, Length(Decimal(0), "m"))
    places.change_site(kitchen.session, kitchen.officer, kitchen.site, moved)


def reference_thermometer(kitchen: Kitchen) -> str:
    made = kitchen.enrol()
    points = tuple(
        (
            Reading.from_text(at),
            TemperatureDifference.from_text("0.1 dC"),
            TemperatureDifference.from_text("0.1 dC"),
            Decimal(2),
        )
        for at in ("-20 C", "100 C")
    )
    given = OutsideCertificate("C 12", "Fen lab", date(2025, 9, 1), points)
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, given)
    return made


# --- rounding and limits -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("shown", "reference"), [("99.5 C", "100.0 C"), ("211.5 F", "212.0 F")])
def test_the_reference_is_shown_rounded_in_the_unit_of_the_reading(
    kitchen: Kitchen, shown: str, reference: str
) -> None:
    # 99.974 °C is 211.954 °F (IAPWS-IF97 at 101 325 Pa); both are shown to 0.1.
    to_sea_level(kitchen)
    said = judged_as(kitchen, kitchen.key(kitchen.boil(), kitchen.enrol(DIGITAL_C, DIGITAL_F), shown))
    assert (said["exact"], said["reference"]) == (BOIL_AT_SEA_LEVEL, reference)
    assert said["offset"] == ("-0.5 dC" if shown.endswith("C") else "-0.2778 dC")
    # The rounding to 0.1 is in the budget: d/√12, in °C.
    step = 0.1 if shown.endswith("C") else 0.1 * 5 / 9
    assert float(said["components"]["rounding"].split()[0]) == pytest.approx(step / sqrt(12), abs=5e-5)


# FDA Food Code 4-203.11: dual and °C ±1 °C, °F alone ±2 °F; a display that switches counts as dual.
@pytest.mark.parametrize(
    ("scales", "shown", "offset", "outcome"),
    [
        ((DIGITAL_C, DIGITAL_F), "33.8 F", "1 dC", "pass"),  # +1.8 °F is +1.0 °C exactly
        ((DIGITAL_C, DIGITAL_F), "33.9 F", "1.0556 dC", "fail"),
        ((DIGITAL_C, DIGITAL_F), "1.0 C", "1 dC", "pass"),
        ((DIGITAL_C,), "-1.1 C", "-1.1 dC", "fail"),
        ((DIGITAL_F,), "33.9 F", "1.9 dF", "pass"),
        ((DIGITAL_F,), "34.0 F", "2 dF", "pass"),
        ((DIGITAL_F,), "34.1 F", "2.1 dF", "fail"),
    ],
)
def test_limits_are_met_exactly_in_the_rules_own_unit(
    kitchen: Kitchen, scales: tuple[Any, ...], shown: str, offset: str, outcome: str
) -> None:
    row = kitchen.key(kitchen.ice(), kitchen.enrol(*scales), *[shown] * (1 if outcome == "pass" else 3))
    said = judged_as(kitchen, row)
    assert (said["offset"], said["outcome"]) == (offset, outcome)
    assert said["tolerance"] == ("1 dC" if DIGITAL_C in scales else "2 dF")


def test_1_08_degrees_off_fails_where_dual_and_passes_where_fahrenheit_alone(kitchen: Kitchen) -> None:
    # 1.08 °C is 1.944 °F: the two rules are not conversions of one another.
    fine_c, fine_f = scale("0.001 dC", "-20 C", "110 C"), scale("0.001 dF", "0 F", "220 F")
    bath = kitchen.ice()
    dual = judged_as(kitchen, kitchen.key(bath, kitchen.enrol(fine_c, fine_f), *["33.944 F"] * 3))
    alone = judged_as(kitchen, kitchen.key(bath, kitchen.enrol(fine_f), "33.944 F"))
    assert (dual["offset"], dual["outcome"]) == ("1.08 dC", "fail")
    assert (alone["offset"], alone["outcome"]) == ("1.944 dF", "pass")


def test_where_a_code_states_celsius_only_a_fahrenheit_dial_has_no_rule(tmp_path: Any) -> None:
    # Food Standards Code (Australia) 3.2.2 clause 22 says ±1 °C and nothing in °F.
    kitchen = open_kitchen(tmp_path, country="AU")
    bath, dial = kitchen.ice(), kitchen.dial(DIAL_F)
    with kitchen.refuses(("tolerance", "none_for_this")):
        kitchen.key(bath, dial, "32 F")
    kitchen.session.close()


@pytest.mark.parametrize(
    ("scales", "unit", "wanted"),
    [((DIAL_F,), "F", (30, 34)), ((DIAL_C, DIAL_F), "F", (31, 33)), ((DIAL_C,), "C", (-1, 1))],
)
def test_the_range_that_passes_in_the_unit_on_the_dial(
    kitchen: Kitchen, scales: tuple[Any, ...], unit: str, wanted: tuple[int, int]
) -> None:
    # Common practice says "must read 30 to 34 °F"; ±1 °C is ±1.8 °F, read in whole °F.
    ice, dial = kitchen.ice(), kitchen.dial(*scales)
    with kitchen.session.reading() as connection:
        setting = checks.setting_for(connection, dial, baths.made(connection, ice), unit)
    found = checks.must_read(setting, unit)
    assert found is not None
    assert found[0].value == (32 if unit == "F" else 0)
    assert found[1:] == wanted


def word_of(kitchen: Kitchen, row: checks.Row) -> str:
    """The lead's word once the bath is judged."""
    with kitchen.session.reading() as connection:
        return checks.recorded_row(connection, row.check).lead_word


# --- repeats -------------------------------------------------------------------------------------------------


def test_inside_it_is_recorded_at_once(kitchen: Kitchen) -> None:
    row = kitchen.key(kitchen.ice(), kitchen.enrol(), "1.0 C")
    assert (row.recorded, row.wants_more, row.judged.outcome) == (True, 0, "pass")


def test_outside_it_asks_for_two_more_and_the_mean_decides(any_kitchen: Kitchen) -> None:
    # (1.2 + 0.9 + 0.9)/3 is 1 exactly and passes; the first alone fails, the repeats alone would be 0.9.
    kitchen = any_kitchen
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    wanted = []
    for shown in ("1.2 C", "0.9 C", "0.9 C"):
        row = kitchen.key(bath, probe, shown, check=check)
        wanted.append((row.wants_more, row.recorded, row.lead_word))
    assert wanted == [(2, False, "waits"), (1, False, "waits"), (0, True, "waits")]
    kitchen.judge(bath)
    assert word_of(kitchen, row) == "use_near_limit"
    said = judged_as(kitchen, row)
    assert (said["as_found"], said["offset"], said["outcome"]) == (["1.2 C", "0.9 C", "0.9 C"], "1 dC", "pass")
    assert said["readings"] == [one.payload["reading"] for one in kitchen.entries("reading_taken")]
    assert [one.payload["role"] for one in kitchen.entries("reading_taken")] == ["as_found", "repeat", "repeat"]


def test_the_first_counts_in_the_mean(kitchen: Kitchen) -> None:
    # (1.4 + 0.9 + 0.8)/3 is 1.0333; without the first it would pass.
    bath = kitchen.ice()
    row = kitchen.key(bath, kitchen.enrol(), "1.4 C", "0.9 C", "0.8 C")
    assert (row.judged.offset.value, row.judged.outcome) == (Fraction(31, 30), "fail")
    assert row.lead_word == "waits"
    kitchen.judge(bath)
    assert word_of(kitchen, row) == "adjust_or_do_not_use"


def test_once_asked_for_both_repeats_are_wanted(kitchen: Kitchen) -> None:
    # (1.2 + 0.4)/2 is inside already; a mean of two would let one lucky repeat decide.
    row = kitchen.key(kitchen.ice(), kitchen.enrol(), "1.2 C", "0.4 C")
    assert (row.wants_more, row.recorded, row.judged.outcome) == (1, False, "pass")


def test_where_no_repeats_can_be_had_the_last_one_says_so(kitchen: Kitchen) -> None:
    given = kitchen.given(kitchen.ice(), kitchen.enrol(), "1.2 C")
    row = checks.take_reading(kitchen.session, kitchen.lead, given, last=True)
    assert (row.recorded, row.judged.outcome) == (True, "fail")


def test_repeats_far_apart_are_unsteady(kitchen: Kitchen) -> None:
    # 3 pooled standard deviations of 0.1 °C (judgement): 0.3 °C apart is steady, 0.4 is not.
    bath = kitchen.ice()
    steady = kitchen.key(bath, kitchen.enrol(), "1.1 C", "0.9 C", "0.8 C")
    unsteady = kitchen.key(bath, kitchen.enrol(), "1.2 C", "0.8 C", "0.8 C")
    kitchen.judge(bath)
    assert (steady.unsteady, word_of(kitchen, steady)) == (False, "use_near_limit")
    assert (unsteady.unsteady, word_of(kitchen, unsteady)) == (True, "use_unsteady")
    assert judged_as(kitchen, unsteady)["unsteady"] is True
    assert "unsteady" not in judged_as(kitchen, steady)


def test_repeats_that_disagree_widen_their_uncertainty(kitchen: Kitchen) -> None:
    """U 0.18 beside repeats 0.7 °C apart would be a lie: their own scatter counts, and is frozen to be worked out."""
    bath = kitchen.ice()
    steady = kitchen.key(bath, kitchen.enrol(), "1.2 C", "1.1 C", "1.1 C")
    unsteady = kitchen.key(bath, kitchen.enrol(), "1.2 C", "0.5 C", "1.2 C")
    said = judged_as(kitchen, unsteady)
    assert (said["components"]["repeatability"], said["dof"]["repeatability"]) == ("0.4041 dC", "2")
    kept = judged_as(kitchen, steady)
    assert (kept["components"]["repeatability"], kept["dof"]["repeatability"]) == ("0.1 dC", "50")
    # 0.4041/√3 with ice 0.1/√3, display 0.1/√12 and stem 0.03, all °C; Welch-Satterthwaite leaves 2 degrees of freedom.
    assert float(said["u"].split()[0]) == pytest.approx(sqrt(0.4041**2 / 3 + 0.01 / 3 + 0.01 / 12 + 0.03**2), abs=1e-4)
    assert float(said["k"]) == pytest.approx(stats.t.ppf(0.97725, 2), abs=1e-3)
    assert steady.judged.u.value < Decimal("0.1")
    assert list(upkeep.work_out_again(kitchen.session)) == []


def test_readings_beside_their_own_reference_scatter_about_it(kitchen: Kitchen) -> None:
    """Water that cools makes nobody unsteady: each reading goes with the reference read at the same moment."""
    reference, probe = reference_thermometer(kitchen), kitchen.enrol()
    bath = kitchen.flask((reference, "65.0 C"))
    check = kitchen.session.new_id()
    for shown, beside in (("68.0 C", "65.0 C"), ("66.0 C", "63.0 C"), ("64.0 C", "61.0 C")):
        pairs = ((kitchen.tag(reference), Reading.from_text(beside)),)
        row = kitchen.key(bath, probe, shown, check=check, beside=pairs)
    assert (row.recorded, row.unsteady) == (True, False)
    assert judged_as(kitchen, row)["components"]["repeatability"] == "0.1 dC"


# --- twice pressed -------------------------------------------------------------------------------------------


def test_a_second_press_records_once(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    for shown in ("1.2 C", "1.0 C", "1.1 C"):
        given = kitchen.given(bath, probe, shown, check)
        first, second = (checks.take_reading(kitchen.session, kitchen.lead, given) for _ in range(2))
        assert (first.wants_more, first.recorded, first.readings) == (
            second.wants_more,
            second.recorded,
            second.readings,
        )
        assert (first.judged.outcome, first.lead_word) == (second.judged.outcome, second.lead_word)
    assert len(kitchen.entries("reading_taken")) == 3
    assert len(kitchen.entries("check_recorded")) == 1


def test_a_reading_is_durable_before_its_check_is(kitchen: Kitchen) -> None:
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    kitchen.key(bath, probe, "1.2 C", check=check)
    kitchen.reopen()
    with kitchen.session.reading() as connection:
        assert [one.fact for one in queries.open_readings(connection, bath)] == [check]
    kitchen.key(bath, probe, "1.0 C", "1.1 C", check=check)
    with kitchen.session.reading() as connection:
        assert queries.open_readings(connection, bath) == []


def test_another_reading_is_not_lost_in_a_check_that_is_recorded(kitchen: Kitchen) -> None:
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    kitchen.key(bath, probe, "0.1 C", check=check)
    with kitchen.refuses(("check", "recorded_already")):
        kitchen.key(bath, probe, "0.2 C", check=check)


def test_repeats_are_of_one_thermometer_in_one_bath_and_unit(kitchen: Kitchen) -> None:
    bath, check = kitchen.ice(), kitchen.session.new_id()
    probe, other, later = kitchen.enrol(DIGITAL_C, DIGITAL_F), kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "1.2 C", check=check)
    for where, which, shown, wanted in (
        (bath, other, "1.2 C", ("check", "of_another")),
        (later, probe, "1.2 C", ("check", "of_another")),
        (bath, probe, "34.0 F", ("shown", "same_unit_as_first")),
    ):
        with kitchen.refuses(wanted):
            kitchen.key(where, which, shown, check=check)


def test_a_bath_is_read_for_two_hours(kitchen: Kitchen) -> None:
    # From judgement, like the ten minutes by which clocks on paper may differ.
    made_at = kitchen.clock() - 5 * HOUR_US
    bath, first, second = kitchen.ice(performed_at=made_at), kitchen.enrol(), kitchen.enrol()
    kitchen.key(bath, first, "0.1 C", performed_at=made_at + 2 * HOUR_US)
    kitchen.key(bath, second, "0.1 C", performed_at=made_at - HOUR_US // 6)
    third = kitchen.enrol()
    with kitchen.refuses(("bath", "too_old")):
        kitchen.key(bath, third, "0.1 C", performed_at=made_at + 2 * HOUR_US + 1)
    with kitchen.refuses(("performed_at", "before_the_bath")):
        kitchen.key(bath, third, "0.1 C", performed_at=made_at - HOUR_US // 6 - 1)
    with kitchen.refuses(("bath", "too_old")):
        kitchen.key(bath, third, "0.1 C")


# --- questions -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        ("0.15 C", {"too_fine"}),
        ("0.10 C", {"too_fine"}),  # a display of tenths shows no hundredths, noughts neither
        ("-40.1 C", {"off_scale"}),
        ("33.0 C", {"other_unit"}),  # ice read in °F
        ("0.5 F", {"other_unit"}),  # ice read in °C
    ],
)
def test_what_looks_wrong_is_asked_again(kitchen: Kitchen, shown: str, wanted: set[str]) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol(DIGITAL_C, DIGITAL_F)
    with kitchen.refuses(*(("shown", code) for code in wanted)):
        kitchen.key(bath, probe, shown)
    with kitchen.refuses(*(("shown", code) for code in wanted)):
        kitchen.key(bath, probe, shown, asked=frozenset(("another",)))
    kitchen.key(bath, probe, shown, asked=frozenset(wanted))
    assert kitchen.last("reading_taken").payload["asked"] == sorted(wanted)
    assert kitchen.last("reading_taken").payload["shown"] == shown


@pytest.mark.parametrize(
    ("shown", "asked"),
    [
        # From judgement 20 °C from the reference, 36 °F: farther it is likelier a slip, or the air's.
        ("50.0 C", True),
        ("20.1 C", True),
        ("20.0 C", False),
        ("-20.1 C", True),
        ("122.0 F", True),
        ("68.1 F", True),
        ("68.0 F", False),
    ],
)
def test_a_reading_far_from_its_bath_is_asked_about_once(kitchen: Kitchen, shown: str, asked: bool) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol(DIGITAL_C, DIGITAL_F)
    if asked:
        with kitchen.refuses(("shown", "other_unit")):
            kitchen.key(bath, probe, shown)
    kitchen.key(bath, probe, shown, asked=frozenset(("other_unit",)))
    assert kitchen.last("reading_taken").payload["shown"] == shown


def test_a_far_reading_that_is_too_fine_as_well_is_asked_about_both(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    with kitchen.refuses(("shown", "other_unit"), ("shown", "too_fine")):
        kitchen.key(bath, probe, "50.05 C")


def test_a_wide_scale_in_boiling_water_is_asked_about(kitchen: Kitchen) -> None:
    bath, wide = kitchen.boil(), kitchen.enrol(scale("0.1 dC", "-40.0 C", "400.0 C"))
    with kitchen.refuses(("shown", "other_unit")):
        kitchen.key(bath, wide, "350.0 C")
    with kitchen.refuses(("shown", "other_unit")):
        kitchen.key(bath, wide, "75.0 C")
    kitchen.key(bath, wide, "80.0 C")


def test_a_repeat_far_from_the_first_is_asked_about_once(kitchen: Kitchen) -> None:
    """Ten pooled standard deviations, from judgement: 1.0 °C for a probe whose repeatability is 0.1 °C."""
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    kitchen.key(bath, probe, "14.0 C", check=check)
    with pytest.raises(Refused) as refused:
        kitchen.key(bath, probe, "0.1 C", check=check)
    (problem,) = refused.value.problems
    assert (problem.field, problem.code) == ("shown", "far_apart")
    assert problem.values == {"value": "0.1 C", "other": "14.0 C"}
    kitchen.key(bath, probe, "0.1 C", check=check, asked=frozenset(("far_apart",)))
    assert kitchen.last("reading_taken").payload["asked"] == ["far_apart"]
    row = kitchen.key(bath, probe, "0.1 C", check=check)  # it goes with the one before
    assert (row.recorded, row.unsteady) == (True, True)
    assert row.judged.expanded.value == pytest.approx(4.5266 * 13.9 / 3, abs=0.1)  # k at 2 degrees of freedom · s/√3


@pytest.mark.parametrize(("second", "asked"), [("0.9 C", False), ("2.9 C", False), ("0.8 C", True), ("3.0 C", True)])
def test_how_far_a_repeat_may_lie_from_the_first(kitchen: Kitchen, second: str, asked: bool) -> None:
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    kitchen.key(bath, probe, "1.9 C", check=check)
    if asked:
        with kitchen.refuses(("shown", "far_apart")):
            kitchen.key(bath, probe, second, check=check)
    else:
        assert kitchen.key(bath, probe, second, check=check).wants_more == 1


def test_a_sharp_probe_on_a_coarse_display_may_flicker_by_two_steps(kitchen: Kitchen) -> None:
    """One step of 1 °C is more than ten standard deviations of 0.05 °C."""
    bath, check = kitchen.ice(), kitchen.session.new_id()
    coarse = kitchen.enrol(scale("1 dC", "-40 C", "150 C"), type="rtd_probe")
    kitchen.key(bath, coarse, "4 C", "2 C", check=check)
    with kitchen.refuses(("shown", "far_apart")):
        kitchen.key(bath, coarse, "7 C", check=check)


def test_what_stands_on_paper_cannot_be_read_once_more(kitchen: Kitchen) -> None:
    bath, probe, at = kitchen.ice(), kitchen.enrol(), kitchen.clock()
    row = kitchen.key(bath, probe, "4.0 C", "1.5 C", "1.5 C", performed_at=at)
    assert (row.recorded, row.unsteady) == (True, True)


def test_a_scale_is_read_to_half_a_division(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    kitchen.key(bath, kitchen.dial(), "0.5 C")
    kitchen.key(bath, kitchen.dial(DIAL_F), "33 F")
    dial = kitchen.dial()
    with kitchen.refuses(("shown", "too_fine")):
        kitchen.key(bath, dial, "0.3 C")


def test_a_plain_reading_is_not_questioned(kitchen: Kitchen) -> None:
    row = kitchen.key(kitchen.ice(), kitchen.enrol(DIGITAL_C, DIGITAL_F), "-14.9 C")
    assert row.wants_more == 2


def test_what_cannot_be_is_refused(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    with kitchen.refuses(("shown", "not_its_unit")):
        kitchen.key(bath, probe, "32.0 F")
    with kitchen.refuses(("bath", "unknown_bath")):
        kitchen.key("0" * 32, probe, "0.0 C")
    with kitchen.refuses(("thermometer", "unknown_thermometer")):
        kitchen.key(bath, "0" * 32, "0.0 C")
    with kitchen.refuses(("performed_at", "in_the_future")):
        kitchen.key(bath, probe, "0.0 C", performed_at=kitchen.clock() + HOUR_US)


# --- what each type may --------------------------------------------------------------------------------------


def test_an_infrared_is_checked_on_stirred_slush_alone(kitchen: Kitchen) -> None:
    infrared = kitchen.enrol(type="infrared")
    crushed, slush, pot = kitchen.ice(), kitchen.ice("slush_stirred"), kitchen.boil()
    with kitchen.refuses(("point", "needs_stirred_slush")):
        kitchen.key(crushed, infrared, "-0.9 C")
    with kitchen.refuses(("point", "not_for_this_type")):
        kitchen.key(pot, infrared, "99.0 C")
    # Known to read -1.1 to -0.6 °C on slush (emissivity set to 0.95, room at 25 to 30 °C): the middle is taken off,
    # the half-width is in the budget, rectangular.
    said = judged_as(kitchen, kitchen.key(slush, infrared, "-1.1 C"))
    bias = Decimal(said["bias"].split()[0])
    assert bias == pytest.approx(Decimal("-0.85"), abs=Decimal("0.03"))
    assert said["reference"] == f"{round(bias, 1)} C"
    assert said["offset"] == f"{Decimal('-1.1') - round(bias, 1)} dC"
    assert float(said["components"]["emissivity"].split()[0]) == pytest.approx(0.25 / sqrt(3), abs=0.01)
    assert "exact" not in said


def test_a_fixed_air_thermometer_bathes_only_where_it_is_waterproof(kitchen: Kitchen) -> None:
    dry, wet = (kitchen.enrol(AIR_C, type="fixed_air", waterproof=each) for each in (False, True))
    ice, pot = kitchen.ice(), kitchen.boil()
    with kitchen.refuses(("point", "not_waterproof")):
        kitchen.key(ice, dry, "0 C")
    with kitchen.refuses(("point", "not_for_this_type")):
        kitchen.key(pot, wet, "30 C")
    # FDA Food Code 4-203.12: ambient air ±1.5 °C.
    said = judged_as(kitchen, kitchen.key(ice, wet, "1.5 C"))
    assert (said["tolerance"], said["outcome"]) == ("1.5 dC", "pass")


@pytest.mark.parametrize(("highest", "may"), [("102 C", True), ("101.9 C", False), ("101 C", False)])
def test_a_dial_is_boiled_where_its_scale_goes_two_steps_beyond(kitchen: Kitchen, highest: str, may: bool) -> None:
    # 99.974 °C and two steps of 1 °C are 101.974.
    to_sea_level(kitchen)
    dial, pot = kitchen.dial(scale("1 dC", "-18 C", highest)), kitchen.boil()
    if may:
        assert kitchen.key(pot, dial, "100 C").recorded
    else:
        with kitchen.refuses(("point", "off_its_scale")):
            kitchen.key(pot, dial, "100 C")


def test_two_steps_are_taken_in_the_unit_of_the_scale(kitchen: Kitchen) -> None:
    # 211.954 °F and two steps of 2 °F are 215.954.
    to_sea_level(kitchen)
    pot = kitchen.boil()
    assert kitchen.key(pot, kitchen.dial(scale("2 dF", "0 F", "216 F")), "212 F").recorded
    short = kitchen.dial(scale("2 dF", "0 F", "215 F"))
    with kitchen.refuses(("point", "off_its_scale")):
        kitchen.key(pot, short, "212 F")


def test_a_retired_one_takes_no_more_readings_and_keeps_those_it_has(kitchen: Kitchen) -> None:
    bath, probe, check = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id()
    kitchen.key(bath, probe, "9.0 C", check=check)
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "retired")
    with kitchen.refuses(("thermometer", "is_retired")):
        kitchen.key(bath, probe, "9.0 C", check=check)
    checks.record_what_there_is(kitchen.session, kitchen.lead, bath, check)
    assert kitchen.check(check).given == "fail"


def test_an_oven_waits_for_the_owners_own_tolerance(kitchen: Kitchen) -> None:
    oven = kitchen.enrol(scale("10 dC", "50 C", "300 C"), type="oven")
    ice, flask = kitchen.ice(), kitchen.flask((reference_thermometer(kitchen), "70.0 C"))
    with kitchen.refuses(("point", "not_for_this_type")):
        kitchen.key(ice, oven, "50 C")
    with kitchen.refuses(("tolerance", "none_for_this")):
        kitchen.key(flask, oven, "75 C")
    own = TemperatureDifference.from_text("10 dC")
    rules.set_owner_tolerance(kitchen.session, kitchen.officer, "C", own, TUESDAY)
    assert judged_as(kitchen, kitchen.key(flask, oven, "80 C"))["outcome"] == "pass"


# --- in place ------------------------------------------------------------------------------------------------


def pair(kitchen: Kitchen, reference: str, shown: str) -> dict[str, Any]:
    return {"beside": ((kitchen.tag(reference), Reading.from_text(shown)),)}


def test_in_place_the_mean_of_three_pairs_decides(kitchen: Kitchen) -> None:
    # References 3.1, 3.3, 3.7 with the correction +0.1 are 3.4667 on average, shown 3.5; air 5, 5, 4.5 is 4.8333.
    air, reference = kitchen.enrol(AIR_C, type="fixed_air"), reference_thermometer(kitchen)
    bath, check = kitchen.flask((reference, "3.0 C"), made="in_place"), kitchen.session.new_id()
    wants = []
    for beside, shown in (("3.1 C", "5 C"), ("3.3 C", "5 C"), ("3.7 C", "4.5 C")):
        given = kitchen.given(bath, air, shown, check, **pair(kitchen, reference, beside))
        row, again = (checks.take_reading(kitchen.session, kitchen.lead, given) for _ in range(2))
        wants.append(row.wants_more)
        assert again.judged.reference == row.judged.reference
    assert wants == [2, 1, 0]
    said = judged_as(kitchen, row)
    assert (said["exact"], said["reference"], said["offset"]) == ("3.4667 C", "3.5 C", "1.3333 dC")
    assert (said["outcome"], len(said["as_found"])) == ("pass", 3)


def test_a_pair_left_alone_is_judged_beside_its_own_reference(kitchen: Kitchen) -> None:
    air, reference = kitchen.enrol(AIR_C, type="fixed_air"), reference_thermometer(kitchen)
    bath, check = kitchen.flask((reference, "3.0 C"), made="in_place"), kitchen.session.new_id()
    kitchen.key(bath, air, "5 C", check=check, **pair(kitchen, reference, "4.0 C"))
    # What happens to the reference afterwards leaves what it showed then.
    thermometers.take_out(kitchen.session, kitchen.lead, reference, "worn")
    checks.record_what_there_is(kitchen.session, kitchen.lead, bath, check)
    said = kitchen.last("check_recorded").payload
    assert (said["exact"], said["offset"], said["as_found"]) == ("4.1 C", "0.9 dC", ["5 C"])


def test_of_two_beside_the_one_with_a_certificate_counts(kitchen: Kitchen) -> None:
    reference, digital = reference_thermometer(kitchen), kitchen.enrol()
    air = kitchen.enrol(AIR_C, type="fixed_air")
    kitchen.checked(digital, "0.1 C")
    bath, check = kitchen.flask((reference, "3.0 C"), (digital, "3.3 C"), made="in_place"), kitchen.session.new_id()
    assert kitchen.last("bath_made").payload["reference"] == "3.1 C"
    both = ((kitchen.tag(reference), Reading.from_text("4.0 C")), (kitchen.tag(digital), Reading.from_text("4.5 C")))
    row = kitchen.key(bath, air, "4 C", "4 C", "4 C", check=check, beside=both)
    assert judged_as(kitchen, row)["exact"] == "4.1 C"  # 4.0 and its correction of +0.1, all three times


def test_water_beside_a_reference_cools(kitchen: Kitchen) -> None:
    # Two minutes from judgement; after that each reading brings its own reference.
    reference, first, second = reference_thermometer(kitchen), kitchen.enrol(), kitchen.enrol()
    bath = kitchen.flask((reference, "65.0 C"))
    kitchen.clock.move(minutes=1.9)
    kitchen.key(bath, first, "65.0 C")
    kitchen.clock.move(minutes=0.2)
    with kitchen.refuses(("beside", "read_it_again")):
        kitchen.key(bath, second, "65.0 C")
    kitchen.key(bath, second, "63.0 C", **pair(kitchen, reference, "62.9 C"))
    assert kitchen.last("check_recorded").payload["exact"] == "63 C"


def test_nothing_is_read_beside_itself(kitchen: Kitchen) -> None:
    first, second = reference_thermometer(kitchen), reference_thermometer(kitchen)
    bath = kitchen.flask((first, "65.0 C"))
    with kitchen.refuses(("beside", "not_the_baths")):
        kitchen.key(bath, second, "65.0 C", **pair(kitchen, second, "65.0 C"))
    with kitchen.refuses(("thermometer", "is_the_reference")):
        kitchen.key(bath, first, "65.0 C", **pair(kitchen, first, "65.0 C"))


# --- what is frozen ------------------------------------------------------------------------------------------


def test_a_check_freezes_all_that_it_was_judged_from(kitchen: Kitchen) -> None:
    # u and k by JCGM 100:2008 (10), (G.2b) and (G.1d), k from scipy's t distribution at 95.45 %.
    shift, performed_at = kitchen.session.new_id(), kitchen.clock() - HOUR_US
    row = kitchen.key(
        kitchen.ice(performed_at=performed_at),
        kitchen.enrol(),
        "0.4 C",
        performed_at=performed_at,
        done_by=kitchen.officer.person,
        reason="each_shift",
        shift=shift,
        day="2026-03-03",
    )
    said = judged_as(kitchen, row)
    parts = {"repeatability": 0.1, "resolution": 0.1 / sqrt(12), "stem": 0.03}
    assert said["components"] == {code: f"{u:.4f}".rstrip("0") + " dC" for code, u in parts.items()}
    assert said["dof"] == {"repeatability": "50"}
    bath = {"bath": 0.0577}
    u = sqrt(sum(round(part, 4) ** 2 for part in (parts | bath).values()))
    dof = int(round(u**4 / (0.1**4 / 50), 1))
    assert float(said["u"].split()[0]) == pytest.approx(u, abs=5e-5)
    assert float(said["k"]) == pytest.approx(stats.t.ppf((1 + 0.954499736) / 2, dof), abs=5.1e-5)
    with kitchen.session.reading() as connection:
        in_force = rules.rules_in_force(connection, kitchen.site)
    assert (said["rule"], said["tolerances"]) == (in_force.rule.set, in_force.tolerances.set)
    assert said["method"] == in_force.methods["ice"].set
    plain = ("point", "reference", "offset", "decision", "tolerance", "outcome", "version", "reason", "shift", "day")
    assert {key: said[key] for key in plain} == {
        "point": "ice_point",
        "reference": "0.0 C",
        "offset": "0.4 dC",
        "decision": "simple",
        "tolerance": "1 dC",
        "outcome": "pass",
        "version": 1,
        "reason": "each_shift",
        "shift": shift,
        "day": "2026-03-03",
    }
    assert (said["performed_at"], said["done_by"]) == (performed_at, kitchen.officer.person)
    assert kitchen.check(row.check).at == performed_at


def some_of_everything(kitchen: Kitchen) -> None:
    """Checks at each point, in both units, with repeats, a bias, pairs and an adjustment."""
    ice, slush, pot = kitchen.ice(), kitchen.ice("slush_stirred"), kitchen.boil()
    kitchen.key(ice, kitchen.enrol(), "0.4 C")
    kitchen.key(ice, kitchen.enrol(DIGITAL_C, DIGITAL_F), "33.9 F", "34.0 F", "33.7 F")
    kitchen.key(ice, kitchen.dial(DIAL_F), "33 F")
    kitchen.key(slush, kitchen.enrol(type="infrared"), "-1.3 C")
    kitchen.key(pot, kitchen.enrol(DIGITAL_F), "211.0 F")
    kitchen.key(pot, kitchen.dial(), "101 C", "101 C", "101.5 C")
    reference = reference_thermometer(kitchen)
    kitchen.key(kitchen.flask((reference, "65.0 C")), kitchen.enrol(), "65.4 C")
    place = kitchen.flask((reference, "3.0 C"), made="in_place")
    kitchen.key(
        place, kitchen.enrol(AIR_C, type="fixed_air"), "4 C", "4 C", "4.5 C", **pair(kitchen, reference, "3.2 C")
    )
    dial = kitchen.dial()
    check = kitchen.key(ice, dial, "3 C", "3 C", "3 C").check
    for bath in (ice, slush, pot, place):
        kitchen.judge(bath)
    kitchen.adjust(check, "nut", "0.5 C")


def test_from_what_is_frozen_every_check_comes_out_the_same(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    some_of_everything(kitchen)
    # Rules changed since do not matter to checks that were judged before.
    rules.set_decision(kitchen.session, kitchen.officer, "guard_band", TUESDAY)
    to_sea_level(kitchen)
    frozen = [*kitchen.entries("check_recorded"), *kitchen.entries("adjusted")]
    assert len(frozen) == 10
    made = {one.payload["bath"]: one.payload for one in kitchen.entries("bath_made")}
    for entry in frozen:
        said = entry.payload
        judged = method.judge(checks.inputs_from(said, made[said["bath"]], as_left="as_left" in said))
        assert judged.reference.text() == said["reference"]
        assert method.written(judged.offset.value, judged.offset.unit).text() == said["offset"]
        assert (judged.u.text(), f"{judged.k:f}", judged.outcome) == (said["u"], said["k"], said["outcome"])
    assert list(upkeep.work_out_again(kitchen.session)) == []
    assert kitchen.verify().good


def test_a_changed_rule_is_for_later_checks(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    before = judged_as(kitchen, kitchen.key(bath, kitchen.enrol(), "0.9 C"))
    rules.set_decision(kitchen.session, kitchen.officer, "guard_band", TUESDAY)
    after = judged_as(kitchen, kitchen.key(bath, kitchen.enrol(), "0.9 C", "0.9 C", "0.9 C"))
    # ILAC-G8:09/2019 4.2.2: inside the limit and within U of it is not accepted.
    assert (before["outcome"], after["outcome"]) == ("pass", "not_accepted")
    assert before["rule"] != after["rule"]
    with kitchen.refuses(("decision", "unknown")):
        rules.set_decision(kitchen.session, kitchen.officer, "a_coin", TUESDAY)


def test_where_u_reaches_the_tolerance_a_guarded_check_waits(kitchen: Kitchen) -> None:
    # Repeatability alone, 0.7 °C, makes U larger than the 0.5 °C that the owner permits: nothing can pass.
    own = TemperatureDifference.from_text("0.5 dC")
    rules.set_owner_tolerance(kitchen.session, kitchen.officer, "C", own, TUESDAY)
    rules.set_decision(kitchen.session, kitchen.officer, "guard_band", TUESDAY)
    roast = kitchen.enrol(scale("1 dC", "50 C", "95 C"), type="roast")
    bath = kitchen.flask((reference_thermometer(kitchen), "70.0 C"))
    row = kitchen.key(bath, roast, "70 C")
    assert (row.judged.outcome, row.lead_word) == ("cannot_decide", "waits")
    assert kitchen.judge(bath) == {}  # what waits is left out
    assert kitchen.check(row.check).outcome is None


# --- instead of a reading ------------------------------------------------------------------------------------


def test_no_reading_has_a_reason_and_is_no_check(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    checks.no_reading(kitchen.session, kitchen.lead, bath, probe, "battery_flat")
    said = kitchen.last("reading_taken").payload
    assert (said["role"], said["why"]) == ("no_reading", "battery_flat")
    assert "shown" not in said
    assert kitchen.row(probe).last_check is None
    with kitchen.session.reading() as connection:
        assert queries.open_readings(connection, bath) == []
    for where, what, why, wanted in (
        (bath, probe, "tired", ("why", "unknown")),
        ("0" * 32, probe, "damaged", ("bath", "unknown_bath")),
        (bath, "0" * 32, "damaged", ("thermometer", "unknown_thermometer")),
    ):
        with kitchen.refuses(wanted):
            checks.no_reading(kitchen.session, kitchen.lead, where, what, why)


def test_not_checked_says_why(kitchen: Kitchen) -> None:
    probe, shift = kitchen.enrol(), kitchen.session.new_id()
    checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, shift, "2026-03-03", "not_used")
    said = kitchen.last("not_checked").payload
    assert (said["thermometer"], said["shift"], said["day"], said["why"]) == (probe, shift, "2026-03-03", "not_used")
    with kitchen.refuses(("why", "unknown")):
        checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, shift, "2026-03-03", "forgot")


def test_said_twice_it_is_recorded_once(kitchen: Kitchen) -> None:
    probe, bath, shift, said = kitchen.enrol(), kitchen.ice(), kitchen.session.new_id(), kitchen.session.new_id()
    for _ in range(2):
        checks.no_reading(kitchen.session, kitchen.lead, bath, probe, "damaged", reading=said)
        day = "2026-03-03"
        checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, shift, day, "lent", absence=said)
    assert (len(kitchen.entries("reading_taken")), len(kitchen.entries("not_checked"))) == (1, 1)
