"""One check judged: rounding before deciding, exact fractions in between, u and k by the GUM."""

from decimal import Decimal
from fractions import Fraction
from math import inf, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.check import (
    Inputs,
    is_unsteady,
    judge,
    lead_word,
    plain,
    repeatability_shown,
    uncertainty,
    written,
)
from registry.compute.conformity import Rule
from registry.quantity import Reading, TemperatureDifference, Unit

ONE_C, TWO_F = TemperatureDifference.from_text("1 dC"), TemperatureDifference.from_text("2 dF")
BATH = {"bath": TemperatureDifference.from_text("0.0577 dC")}


def inputs(
    *shown: str,
    exact: str = "0",
    tolerance: TemperatureDifference = ONE_C,
    rule: Rule = "simple",
    u: str = "0.0577 dC",
    bias: str = "0",
) -> Inputs:
    return Inputs(
        tuple(map(Reading.from_text, shown)),
        Fraction(exact),
        {"bath": TemperatureDifference.from_text(u)},
        tolerance,
        rule,
        {},
        Fraction(bias),
    )


# Water boils at 99.974 °C = 211.954 °F at 101 325 Pa (IAPWS-IF97): shown as 100.0 °C and 212.0 °F.
@pytest.mark.parametrize(("shown", "reference"), [("99.0 C", "100.0 C"), ("210.0 F", "212.0 F")])
def test_the_reference_is_rounded_in_the_unit_of_the_reading(shown: str, reference: str) -> None:
    judged = judge(inputs(shown, exact="99.9743"))
    assert judged.reference.text() == reference
    assert judged.offset.value == (-1 if shown.endswith("C") else Fraction(-10, 9))


@pytest.mark.parametrize(
    ("exact", "reference"), [("0.05", "0.0 C"), ("0.15", "0.2 C"), ("-0.05", "0.0 C"), ("-0.85", "-0.8 C")]
)
def test_halves_go_to_the_even_digit(exact: str, reference: str) -> None:
    # Half to even as in IEEE 754-2019, 4.3.1 (roundTiesToEven).
    assert judge(inputs("1.0 C", exact=exact)).reference.text() == reference


def test_rounding_comes_before_the_offset() -> None:
    # 101.0 is 1.04 above 99.96, which would fail, and 1.0 above the 100.0 that the person sees.
    assert judge(inputs("101.0 C", exact="99.96")).outcome == "pass"
    assert judge(inputs("101.1 C", exact="99.96")).outcome == "fail"


# FDA Food Code 4-203.11: dual scales ±1 °C, °F only ±2 °F, limits inclusive.
@pytest.mark.parametrize(
    ("shown", "tolerance", "offset", "outcome"),
    [
        ("33.8 F", ONE_C, Fraction(1), "pass"),  # +1.8 °F is +1.0 °C exactly, never 0.9999...
        ("33.9 F", ONE_C, Fraction(19, 18), "fail"),
        ("30.2 F", ONE_C, Fraction(-1), "pass"),
        ("30.1 F", ONE_C, Fraction(-19, 18), "fail"),
        ("33.944 F", ONE_C, Fraction(1080, 1000), "fail"),  # 1.08 °C off: out where dual or °C,
        ("33.944 F", TWO_F, Fraction(1944, 1000), "pass"),  # in where marked in °F alone
        ("34.0 F", TWO_F, Fraction(2), "pass"),
        ("34.1 F", TWO_F, Fraction(21, 10), "fail"),
        ("1.1 C", TWO_F, Fraction(198, 100), "pass"),
    ],
)
def test_the_limit_is_met_exactly(shown: str, tolerance: TemperatureDifference, offset: Fraction, outcome: str) -> None:
    judged = judge(inputs(shown, tolerance=tolerance))
    assert (judged.offset.value, judged.outcome) == (offset, outcome)
    assert judged.offset.unit == tolerance.unit


@given(st.integers(min_value=-1000, max_value=3000))
def test_every_tenth_of_a_degree_fahrenheit_by_whole_numbers(tenths: int) -> None:
    # By whole numbers: 5/9 of n tenths of °F is within 1 °C where |5 n| <= 90.
    shown = Reading(Decimal(tenths).scaleb(-1), "F")
    outcome = judge(Inputs((shown,), Fraction(0), BATH, ONE_C, "simple", {})).outcome
    assert outcome == ("pass" if abs(5 * (tenths - 320)) <= 90 else "fail")


def test_the_mean_of_first_and_repeats_decides() -> None:
    # (1.2 + 0.9 + 0.9)/3 is 1 exactly; with 1.0 it is 1.0333; the repeats alone would be inside both times.
    assert judge(inputs("1.2 C", "0.9 C", "0.9 C")).offset.value == 1
    assert judge(inputs("1.2 C", "0.9 C", "0.9 C")).outcome == "pass"
    assert judge(inputs("1.2 C", "1.0 C", "0.9 C")).outcome == "fail"
    assert judge(inputs("1.4 C", "0.9 C", "0.8 C")).outcome == "fail"


def test_what_a_type_is_known_to_read_beside_the_reference_is_no_offset() -> None:
    # An infrared on slush: -0.85 °C expected, shown as -0.8.
    judged = judge(inputs("-0.9 C", bias="-0.85"))
    assert (judged.reference.text(), judged.offset.value) == ("-0.8 C", Fraction(-1, 10))


# ILAC-G8:09/2019 4.2.1 to 4.2.3 with U = 2 u, tolerance 1 °C; boundaries as the codes write them, inclusive.
@pytest.mark.parametrize(
    ("shown", "u", "simple", "guard_band", "four_outcomes"),
    [
        ("0.0 C", "0.25 dC", "pass", "pass", "pass"),
        ("0.5 C", "0.25 dC", "pass", "pass", "pass"),
        ("0.75 C", "0.25 dC", "pass", "not_accepted", "conditional_pass"),
        ("1.0 C", "0.25 dC", "pass", "not_accepted", "conditional_pass"),
        ("-1.1 C", "0.25 dC", "fail", "fail", "conditional_fail"),
        ("1.5 C", "0.25 dC", "fail", "fail", "conditional_fail"),
        ("1.6 C", "0.25 dC", "fail", "fail", "fail"),
        ("0.4 C", "0.5 dC", "pass", "cannot_decide", "conditional_pass"),
        ("2.1 C", "0.5 dC", "fail", "fail", "fail"),
    ],
)
def test_outcomes_by_each_rule(shown: str, u: str, simple: str, guard_band: str, four_outcomes: str) -> None:
    wanted: dict[Rule, str] = {"simple": simple, "guard_band": guard_band, "four_outcomes": four_outcomes}
    assert {rule: judge(inputs(shown, u=u, rule=rule)).outcome for rule in wanted} == wanted


def test_u_is_the_root_of_the_sum_of_squares_and_rounded_once() -> None:
    # JCGM 100:2008 (10): 0.1414 dC, and 0.25456 dF, which is not 9/5 of the rounded 0.1414.
    parts = {code: TemperatureDifference.from_text("0.1 dC") for code in ("bath", "resolution")}
    assert uncertainty(parts, {}, 1, "C")[0].text() == "0.1414 dC"
    assert uncertainty(parts, {}, 1, "F")[0].text() == "0.2546 dF"


def test_repeats_divide_the_repeatability_alone_by_root_n() -> None:
    # JCGM 100:2008 4.2.3, pooled standard deviation: s/sqrt(n).
    parts = {
        "bath": TemperatureDifference.from_text("0.2 dC"),
        "repeatability": TemperatureDifference.from_text("0.3 dC"),
    }
    assert float(uncertainty(parts, {}, 1, "C")[0].value) == pytest.approx(sqrt(0.2**2 + 0.3**2), abs=5e-5)
    assert float(uncertainty(parts, {}, 3, "C")[0].value) == pytest.approx(sqrt(0.2**2 + 0.3**2 / 3), abs=5e-5)


# JCGM 100:2008 table G.2, column 95.45 %.
@pytest.mark.parametrize(
    ("dof", "k"), [(1.0, 13.97), (5.0, 2.65), (10.0, 2.28), (20.0, 2.13), (50.0, 2.05), (inf, 2.0)]
)
def test_k_by_degrees_of_freedom(dof: float, k: float) -> None:
    part = {"repeatability": TemperatureDifference.from_text("0.2 dC")}
    assert float(uncertainty(part, {"repeatability": dof}, 1, "C")[1]) == pytest.approx(k, abs=0.005)


def test_what_is_expanded_is_k_times_the_u_that_was_written() -> None:
    judged = judge(inputs("0.3 C", u="0.0577 dC"))
    assert (judged.u.text(), str(judged.k), judged.expanded.value) == (
        "0.0577 dC",
        "2",
        Fraction(1154, 10000),
    )


def test_one_value_has_one_text() -> None:
    assert [str(plain(number)) for number in (Fraction(1, 3), Decimal("2.0000"), 100, -0.0, 0.00005, 0.00015)] == [
        "0.3333",
        "2",
        "100",
        "0",
        "0",
        "0.0002",
    ]
    assert written(Fraction(19, 18), "C").text() == "1.0556 dC"


def test_no_reading_and_two_units_are_refused() -> None:
    with pytest.raises(ValueError, match="needs a reading"):
        judge(inputs())
    with pytest.raises(ValueError, match=r"°C and °F|°F and °C"):
        judge(inputs("0.0 C", "32.0 F"))


def test_unsteady_beyond_three_pooled_standard_deviations() -> None:
    # Three of them is judgement; at 0.1 °C the repeats may lie 0.3 °C apart.
    s = TemperatureDifference.from_text("0.1 dC")
    shown = [Reading.from_text(text) for text in ("0.5 C", "0.2 C", "0.5 C")]
    assert not is_unsteady(shown, s, 3)
    assert is_unsteady([*shown, Reading.from_text("0.6 C")], s, 3)
    assert not is_unsteady(shown[:1], s, 3)
    fahrenheit = [Reading.from_text(text) for text in ("32.0 F", "32.5 F", "32.6 F")]  # 0.6 °F is 0.333 °C
    assert is_unsteady(fahrenheit, s, 3)
    assert not is_unsteady(fahrenheit[:2], s, 3)
    # In water that cools each is compared with the reference read beside it: all are 2 °C above theirs.
    cooling = [Reading.from_text(text) for text in ("67.0 C", "66.0 C", "65.0 C")]
    assert is_unsteady(cooling, s, 3)
    assert not is_unsteady(cooling, s, 3, [Fraction(65), Fraction(64), Fraction(63)])


@pytest.mark.parametrize(
    ("shown", "s", "dof"),
    [
        # Experimental standard deviation, JCGM 100:2008 (4), by hand; steady repeats keep the pooled one.
        (("1.2 C", "1.0 C", "1.2 C"), "0.1 dC", 50),
        (("1.2 C", "0.5 C", "1.2 C"), "0.4041 dC", 2),  # √(2·0.2333² + 0.4667²)/√2
        (("32.0 C", "0.1 C", "0.1 C"), "18.4175 dC", 2),  # 31.9/√3
        (("1.2 C", "0.8 C"), "0.2828 dC", 1),  # 0.4/√2
        (("34.0 F", "32.2 F", "34.0 F"), "0.5774 dC", 2),  # 1 °C/√3
        (("1.2 C",), "0.1 dC", 50),
    ],
)
def test_unsteady_repeats_count_by_what_they_showed(shown: tuple[str, ...], s: str, dof: int) -> None:
    pooled = TemperatureDifference.from_text("0.1 dC")
    found = repeatability_shown([Reading.from_text(text) for text in shown], pooled, 50, 3)
    assert (found[0].text(), found[1]) == (s, dof)


@pytest.mark.parametrize(
    ("shown", "outcome"),
    [
        (("2.5 C", "1.2 C", "3.0 C"), "fail"),  # each outside by itself: their scatter is no excuse
        (("2.5 C", "0.2 C", "3.0 C"), "cannot_decide"),  # one inside: nobody can tell by these
    ],
)
def test_unsteady_ones_that_are_all_outside_fail_under_a_guard_band(shown: tuple[str, ...], outcome: str) -> None:
    readings = tuple(map(Reading.from_text, shown))
    pooled = TemperatureDifference.from_text("0.1 dC")
    scatter, dof = repeatability_shown(readings, pooled, 50, Decimal(3))
    found = judge(
        Inputs(readings, Fraction(0), {"repeatability": scatter}, ONE_C, "guard_band", {"repeatability": dof})
    )
    assert found.outcome == outcome


@pytest.mark.parametrize(
    ("outcome", "offset", "unsteady", "word"),
    [
        (None, "0", False, "waits"),
        ("cannot_decide", "0.4", False, "waits"),
        ("pass", "0.8", False, "use"),
        ("pass", "0.9", False, "use_near_limit"),
        ("pass", "-0.9", False, "use_near_limit"),
        ("pass", "0.9", True, "use_unsteady"),
        ("conditional_pass", "0.1", False, "use_near_limit"),
        ("fail", "1.1", False, "adjust_or_do_not_use"),
        ("conditional_fail", "1.1", True, "adjust_or_do_not_use"),
        ("not_accepted", "0.9", False, "adjust_or_do_not_use"),
    ],
)
def test_one_word_for_the_lead(outcome: str | None, offset: str, unsteady: bool, word: str) -> None:
    # "Near" from 80 % of the tolerance, from judgement.
    unit: Unit = "C"
    found = lead_word(outcome, TemperatureDifference(Decimal(offset), unit), ONE_C, Decimal("0.8"), unsteady)
    assert found == word
