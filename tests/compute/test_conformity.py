"""Decision rules against ILAC-G8:09/2019 and JCGM 106:2012.

Tolerances are those of the US FDA Food Code 2022, 4-203.11.
"""

from decimal import Decimal
from fractions import Fraction
from math import inf, nan

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.conformity import Rule, conformance_probability, decide, near_limit, passing_range
from registry.quantity import Reading, TemperatureDifference

RULES = ("simple", "guard_band", "four_outcomes")

# Tolerance ±1.00 °C, U = 2u, w = U. Outcomes by the definitions of ILAC-G8:09/2019, 4.2.1 to 4.2.3, the
# closed boundaries chosen as: on the limit inside, on limit - U pass, on limit + U conditional fail.
# Probability by JCGM 106:2012, 7.4 (scipy 1.17.1).
CASES = [
    ("0.00", "0.25", 0.99994, "pass", "pass", "pass"),
    ("0.50", "0.25", 0.97725, "pass", "pass", "pass"),
    ("0.75", "0.25", 0.84134, "pass", "not_accepted", "conditional_pass"),
    ("0.90", "0.25", 0.65542, "pass", "not_accepted", "conditional_pass"),
    ("1.00", "0.25", 0.50000, "pass", "not_accepted", "conditional_pass"),
    ("1.10", "0.25", 0.34458, "fail", "fail", "conditional_fail"),
    ("1.50", "0.25", 0.02275, "fail", "fail", "conditional_fail"),
    ("1.51", "0.25", 0.02067, "fail", "fail", "fail"),
    ("0.60", "0.30", 0.90879, "pass", "not_accepted", "conditional_pass"),
    ("0.40", "0.50", 0.88238, "pass", "cannot_decide", "conditional_pass"),
    ("1.90", "0.50", 0.03593, "fail", "cannot_decide", "conditional_fail"),
    ("2.00", "0.50", 0.02275, "fail", "cannot_decide", "conditional_fail"),
    ("2.10", "0.50", 0.01390, "fail", "fail", "fail"),
    ("5.00", "0.60", 0.00000, "fail", "fail", "fail"),
]


@pytest.mark.parametrize(("offset", "u", "probability", "simple", "guarded", "four"), CASES)
def test_outcomes(offset: str, u: str, probability: float, simple: str, guarded: str, four: str) -> None:
    for signed in (Decimal(offset), -Decimal(offset)):
        outcomes = tuple(decide(signed, Decimal(u), Decimal("1.00"), rule) for rule in RULES)
        assert outcomes == (simple, guarded, four)
        assert conformance_probability(float(signed), float(u), 1.0) == pytest.approx(probability, abs=1e-5)


@pytest.mark.parametrize("step", ["1", "0.5", "0.1", "0.01"])
@pytest.mark.parametrize("tolerance", ["0.5", "1", "1.5", "2", "3"])
@pytest.mark.parametrize("sign", [1, -1])
def test_the_limit_itself_is_inside_and_one_step_beyond_is_not(tolerance: str, step: str, sign: int) -> None:
    limit = Decimal(tolerance)
    assert decide(sign * limit, 0, limit, "simple") == "pass"
    assert decide(sign * (limit + Decimal(step)), 0, limit, "simple") == "fail"
    assert decide(sign * limit, Decimal("0.1"), limit, "four_outcomes") == "conditional_pass"
    assert decide(sign * limit, Decimal("0.1"), limit, "guard_band") == "not_accepted"


@pytest.mark.parametrize("step", ["0.1", "0.01", "0.0001"])
@pytest.mark.parametrize(("tolerance", "expanded"), [("1", "0.4"), ("1.5", "0.7"), ("2", "0.72"), ("3", "1")])
def test_every_boundary_in_steps(tolerance: str, expanded: str, step: str) -> None:
    limit, u, width, one = Decimal(tolerance), Decimal(expanded) / 2, Decimal(expanded), Decimal(step)
    four = [decide(x, u, limit, "four_outcomes") for x in (limit - width, limit - width + one)]
    four += [decide(x, u, limit, "four_outcomes") for x in (limit, limit + one, limit + width, limit + width + one)]
    assert four == ["pass", *["conditional_pass"] * 2, *["conditional_fail"] * 2, "fail"]
    guarded = [decide(x, u, limit, "guard_band") for x in (limit - width, limit - width + one, limit, limit + one)]
    assert guarded == ["pass", "not_accepted", "not_accepted", "fail"]


def test_floats_are_taken_as_their_shortest_text() -> None:
    assert decide(0.7, 0.15, 1.0, "guard_band") == "pass"  # 1 - 2 x 0.15 is below 0.7 in floats of some orders
    assert decide(0.3, 0.0, 0.3, "simple") == "pass"
    assert decide(0.1 + 0.2, 0, 0.3, "simple") == "fail"  # what this sum is: 0.30000000000000004
    assert decide(Decimal("0.1") + Decimal("0.2"), 0, 0.3, "simple") == "pass"


def test_k_widens_the_guard_band() -> None:
    # k(16) = 2.17 for 95.45 % (GUM table G.2): U = 0.5425, so that 0.5 is no longer a pass.
    assert decide(Decimal("0.5"), Decimal("0.25"), 1, "guard_band", Decimal("2")) == "pass"
    assert decide(Decimal("0.5"), Decimal("0.25"), 1, "guard_band", Decimal("2.17")) == "not_accepted"


def test_where_u_equals_the_tolerance_a_guarded_check_cannot_pass() -> None:
    assert decide(0, Decimal("0.5"), 1, "guard_band") == "cannot_decide"
    assert decide(0, Decimal("0.4999"), 1, "guard_band") == "pass"


# --- the two scales: Food Code 4-203.11, (A) ±1 °C where °C or both are marked, (B) ±2 °F where only °F ---


def judged(reading: str, reference: str, tolerance: str) -> str:
    limit = TemperatureDifference.from_text(tolerance)
    offset = Reading.from_text(reading) - Reading.from_text(reference)
    return decide(offset.to(limit.unit).value, 0, limit.value, "simple")


def test_one_dial_two_rules() -> None:
    # 1.94 °F is 1.078 °C: a dial marked in both fails ±1 °C, the same dial marked only in °F passes ±2 °F.
    assert judged("33.94 F", "32.0 F", "1 dC") == "fail"
    assert judged("33.94 F", "32.0 F", "2 dF") == "pass"
    assert decide(Decimal("1.08"), 0, 1, "simple") == "fail"


def test_limits_are_not_converted_into_each_other() -> None:
    # 1.8 °F is 1 °C exactly and passes ±1 °C on a dual display; 1.9 °F does not, although within ±2 °F.
    assert judged("33.8 F", "32.0 F", "1 dC") == "pass"
    assert judged("33.9 F", "32.0 F", "1 dC") == "fail"
    assert judged("34.0 F", "32.0 F", "2 dF") == "pass"
    assert judged("34.1 F", "32.0 F", "2 dF") == "fail"
    assert judged("1.1 C", "0.0 C", "1 dC") == "fail"  # ±2 °F converted, 1.11 °C, would pass it


def test_a_tolerance_is_not_shifted_by_32() -> None:
    # As a temperature 1 °C is 33.8 °F; as a tolerance it is 1.8 °F.
    assert judged("60 F", "32.0 F", "1 dC") == "fail"
    assert TemperatureDifference.from_text("1 dC").to("F").value == Fraction(9, 5)


def test_offset_is_reading_minus_reference() -> None:
    # A dial that shows 2.5 °F too much: with the signs of a correction, the mended reading would be out by 5.
    offset = Reading.from_text("34.5 F") - Reading.from_text("32.0 F")
    assert offset.value == Decimal("2.5")
    correction = -offset.value
    assert Reading.from_text("34.5 F").value + correction == Reading.from_text("32.0 F").value


@given(st.integers(-300, 300))
def test_a_dual_display_passes_up_to_nine_tenths_of_two_fahrenheit(tenths: int) -> None:
    reading = Reading(Decimal(320 + tenths).scaleb(-1), "F")
    offset = (reading - Reading.from_text("32.0 F")).to("C")
    assert (decide(offset.value, 0, 1, "simple") == "pass") == (abs(tenths) <= 18)


# --- properties ---

NUMBERS = st.decimals(0, 5, places=3)


@given(NUMBERS, NUMBERS, NUMBERS, st.sampled_from(RULES))
def test_the_sign_does_not_matter(offset: Decimal, u: Decimal, tolerance: Decimal, rule: str) -> None:
    assert decide(offset, u, tolerance, rule) == decide(-offset, u, tolerance, rule)


SEVERITY = {
    "simple": ["pass", "fail"],
    "guard_band": ["pass", "not_accepted", "cannot_decide", "fail"],
    "four_outcomes": ["pass", "conditional_pass", "conditional_fail", "fail"],
}


@given(NUMBERS, NUMBERS, NUMBERS, NUMBERS, st.sampled_from(RULES))
def test_further_off_is_never_judged_better(
    first: Decimal, second: Decimal, u: Decimal, tolerance: Decimal, rule: str
) -> None:
    near, far = sorted((first, second))
    rank = SEVERITY[rule].index
    assert rank(decide(near, u, tolerance, rule)) <= rank(decide(far, u, tolerance, rule))


@given(NUMBERS, NUMBERS, NUMBERS)
def test_a_guarded_pass_passes_every_rule(offset: Decimal, u: Decimal, tolerance: Decimal) -> None:
    if decide(offset, u, tolerance, "guard_band") == "pass":
        assert decide(offset, u, tolerance, "four_outcomes") == decide(offset, u, tolerance, "simple") == "pass"


@given(NUMBERS, NUMBERS)
def test_without_uncertainty_the_binary_rules_agree(offset: Decimal, tolerance: Decimal) -> None:
    if tolerance > 0:
        assert decide(offset, 0, tolerance, "guard_band") == decide(offset, 0, tolerance, "simple")


@pytest.mark.parametrize("bad", [nan, inf, Decimal("NaN"), Decimal("Infinity")])
def test_what_is_not_finite_is_refused(bad: float) -> None:
    for arguments in ((bad, 0, 1), (0, bad, 1), (0, 0, bad)):
        for rule in RULES:
            with pytest.raises(ValueError):
                decide(*arguments, rule)
    with pytest.raises(ValueError):
        decide(0, 0, 1, "simple", bad)


def test_negative_numbers_and_unknown_rules_are_refused() -> None:
    for arguments in ((0, -0.1, 1, "simple"), (0, 0.1, -1, "simple"), (0, 0.1, 1, "simple", -2)):
        with pytest.raises(ValueError, match="negative"):
            decide(*arguments)
    with pytest.raises(ValueError, match="unknown decision rule"):
        decide(0, 0, 1, "lenient")


# --- probability ---


def test_jcgm_106_7_4_two_sided() -> None:
    # Oil viscosity: y = 13.6, u = 1.8, limits 12.5 and 16.3: 0.66 published.
    assert conformance_probability(13.6 - 14.4, 1.8, 1.9) == pytest.approx(0.66, abs=0.005)
    assert conformance_probability(13.6 - 14.4, 1.8, 1.9) == pytest.approx(0.662630, abs=1e-6)


def test_jcgm_106_7_3_one_sided() -> None:
    # Zener diode: y = -5.47, u = 0.05, upper limit -5.40: 0.92 published (from memory); a lower one far off.
    assert conformance_probability(-5.47 - (-5.40 - 10), 0.05, 10.0) == pytest.approx(0.919243, abs=1e-6)


# ILAC-G8:09/2019 table 1 (from memory): risk of accepting on the edge of a guard band of r U.
@pytest.mark.parametrize(("share", "risk"), [(1.5, 0.00135), (1.0, 0.02275), (0.83, 0.04846), (0.0, 0.5)])
def test_ilac_g8_specific_risk(share: float, risk: float) -> None:
    u, tolerance = 0.01, 1.0
    offset = tolerance - share * 2 * u
    assert 1 - conformance_probability(offset, u, tolerance) == pytest.approx(risk, abs=1e-5)


@given(st.floats(-5, 5), st.floats(0.01, 3), st.floats(0, 5))
def test_probability_against_scipy_stats(offset: float, u: float, tolerance: float) -> None:
    normal = scipy.stats.norm(offset, u)
    expected = normal.cdf(tolerance) - normal.cdf(-tolerance)
    assert conformance_probability(offset, u, tolerance) == pytest.approx(expected, abs=1e-12)


def test_certainty_without_uncertainty() -> None:
    assert conformance_probability(1.0, 0.0, 1.0) == 1.0
    assert conformance_probability(1.1, 0.0, 1.0) == 0.0
    for arguments in ((nan, 0.1, 1.0), (0.0, -0.1, 1.0), (0.0, nan, 1.0), (0.0, 0.1, -1.0), (0.0, 0.1, inf)):
        with pytest.raises(ValueError):
            conformance_probability(*arguments)


# --- near the limit, and the range that passes ---


# 80 % of the tolerance: from judgement, no source.
@pytest.mark.parametrize(
    ("offset", "tolerance", "near"),
    [
        ("0.8", "1", False),
        ("0.81", "1", True),
        ("-0.9", "1", True),
        ("1.0", "1", True),
        ("1.01", "1", False),
        ("1.6", "2", False),
        ("1.7", "2", True),
        ("-2.0", "2", True),
        ("2.1", "2", False),
        ("0", "1", False),
    ],
)
def test_near_limit(offset: str, tolerance: str, near: bool) -> None:
    assert near_limit(Decimal(offset), Decimal(tolerance), Decimal("0.8")) is near
    assert near_limit(float(offset), float(tolerance), 0.8) is near


# By the Food Code's ±2 °F and ±1 °C: what a person computes beside the ice bath.
@pytest.mark.parametrize(
    ("reference", "tolerance", "step", "low", "high"),
    [
        ("32.0", "2", "1", 30, 34),
        ("0.0", "1", "0.1", -1, 1),
        ("32.0", "1.8", "1", 31, 33),
        ("32.0", "1.8", "0.1", "30.2", "33.8"),
        ("202.4", "2", "1", 201, 204),
        ("94.6", "1", "0.5", 94, "95.5"),
    ],
)
def test_passing_range(reference: str, tolerance: str, step: str, low: str, high: str) -> None:
    found = passing_range(Decimal(reference), Decimal(tolerance), Decimal(step))
    assert found == (Fraction(low), Fraction(high))


@given(
    st.decimals(-50, 250, places=1),
    st.sampled_from(["0.5", "1", "1.8", "2"]),
    st.sampled_from(["0.1", "0.5", "1"]),
)
def test_the_range_and_the_decision_agree(reference: Decimal, tolerance: str, step: str) -> None:
    found = passing_range(reference, Decimal(tolerance), Decimal(step))
    assert found is not None
    for edge, beyond in zip(found, (found[0] - Fraction(step), found[1] + Fraction(step)), strict=True):
        assert decide(edge - Fraction(reference), 0, Decimal(tolerance), "simple") == "pass"
        assert decide(beyond - Fraction(reference), 0, Decimal(tolerance), "simple") == "fail"


# ILAC-G8:09/2019 4.2.2 and 4.2.3, w = U: within U of the limit a reading is no pass.
@given(
    st.decimals(-50, 250, places=1),
    st.sampled_from(["0.1", "0.2", "0.25", "0.4"]),
    st.sampled_from(["guard_band", "four_outcomes"]),
)
def test_a_guarded_range_and_the_decision_agree(reference: Decimal, u: str, rule: Rule) -> None:
    step, limit = Decimal("0.1"), Decimal(1)
    found = passing_range(reference, limit, step, guard=2 * Decimal(u))
    assert found is not None
    for edge, beyond in zip(found, (found[0] - Fraction(step), found[1] + Fraction(step)), strict=True):
        assert decide(edge - Fraction(reference), Decimal(u), limit, rule) == "pass"
        assert decide(beyond - Fraction(reference), Decimal(u), limit, rule) != "pass"


@pytest.mark.parametrize("guard", ["1", "1.2"])
def test_where_u_reaches_the_tolerance_no_reading_passes(guard: str) -> None:
    assert passing_range(0, 1, Decimal("0.1"), guard=Decimal(guard)) is None
    with pytest.raises(ValueError, match="guard"):
        passing_range(0, 1, 1, guard=Decimal("-0.1"))


def test_a_coarse_scale_may_have_no_passing_reading() -> None:
    assert passing_range(32, 1, 5) is None
    with pytest.raises(ValueError):
        passing_range(32, 1, 0)
