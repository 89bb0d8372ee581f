"""Recheck intervals against published fits, closed forms, two statistics libraries, and fleets whose truth is known."""

from math import erf, exp, inf, log, sqrt

import lifelines
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import beta

from registry.compute import drift
from registry.compute.drift import Event, Observation, Parameters
from registry.compute.intervals import (
    Censored,
    Followed,
    at_least,
    current_status,
    curve_of,
    expected_sd,
    first_passage,
    fit,
    found_inside,
    likelihood_interval,
    staircase,
)

# Observed reliability in the manner of NASA RP-1342, weeks; from memory, so only the agreement of methods counts.
WEEKS = [3, 6, 9, 12, 20, 27, 38.5, 49.5]
CHECKS = [4, 6, 14, 13, 22, 49, 18, 6]
GOOD = [4, 5, 9, 8, 12, 20, 9, 2]


# --- closed forms --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "checks", "good", "rate", "to_95", "to_90"),
    [
        (90, 20, 18, 0.00117067, 43.8152, 90.0000),
        (7, 52, 50, 0.00560296, 9.1547, 18.8044),
        (30, 40, 39, 0.00084393, 60.7793, 124.8455),
    ],
)
def test_one_interval_is_a_closed_form(
    days: float, checks: int, good: int, rate: float, to_95: float, to_90: float
) -> None:
    curve = fit([days], [checks], [good]).curve
    assert curve is not None
    assert curve.parameters[0] == pytest.approx(-log(good / checks) / days, rel=1e-6)
    assert curve.parameters[0] == pytest.approx(rate, abs=5e-9)
    assert curve.interval(0.95) == pytest.approx(to_95, abs=1e-4)
    assert curve.interval(0.90) == pytest.approx(to_90, abs=1e-4)
    assert curve.reliability(to_95) == pytest.approx(0.95, abs=1e-6)


def test_two_intervals_against_the_root_of_the_score() -> None:
    # Root of the score, statsmodels and lifelines all gave 0.00251505698, se 0.00111993.
    found = fit([30, 90], [25, 16], [24, 12])
    assert found.curve is not None
    (rate,) = found.curve.parameters
    assert rate == pytest.approx(0.00251505698, abs=5e-10)
    assert found.curve.sd[0] == pytest.approx(0.00111993, abs=5e-9)
    assert (found.interval, found.curve.interval(0.9)) == pytest.approx((20.3945, 41.8919), abs=1e-4)
    score = sum((n - g) * i * exp(-rate * i) / (1 - exp(-rate * i)) - g * i for i, n, g in ((30, 25, 24), (90, 16, 12)))
    assert score == pytest.approx(0.0, abs=0.01)  # it changes by 0.8 in a thousandth of the rate


# --- published fits ------------------------------------------------------------------------------------------


def test_alpha_particles_of_meeker_and_escobar() -> None:
    # Meeker and Escobar (1998), example 7.1: theta 572.3, se 41.72, likelihood ratio 498 to 662, lognormal 496 to 660.
    ends = [0, 100, 300, 500, 700, 1000, 2000, 4000]
    counts = [41, 44, 24, 32, 29, 21, 9]
    data = [Censored(low, high, n) for low, high, n in zip(ends, ends[1:], counts, strict=False)]
    curve = curve_of(data)
    theta = 1 / curve.parameters[0]
    assert theta == pytest.approx(572.27416, abs=1e-4)
    assert theta * curve.log_sd[0] == pytest.approx(41.71951, abs=1e-3)
    assert (theta * curve.log_sd[0]) ** 2 == pytest.approx(1740.5, abs=0.1)
    assert curve.nll == pytest.approx(379.295204, abs=1e-6)
    # The days to a target are theta times -ln R.
    ends_of = [one / -log(0.95) for one in likelihood_interval(data, curve)]
    assert ends_of == pytest.approx([497.578, 662.259], abs=2e-3)
    lognormal = [theta * exp(side * 1.959964 * curve.log_sd[0]) for side in (-1, 1)]
    assert lognormal == pytest.approx([496.079, 660.173], abs=2e-3)


NELSON_MONTHS = [0, 6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48, inf]
NELSON_COUNTS = [5, 16, 12, 18, 18, 2, 6, 17, 73]


def test_turbine_cracks_of_nelson() -> None:
    # Nelson (1982), p. 415: scale 71.690, shape 1.485; lifelines gave se 5.3335 and 0.1465.
    pairs = zip(NELSON_MONTHS, NELSON_MONTHS[1:], NELSON_COUNTS, strict=False)
    curve = curve_of([Censored(low, high, n) for low, high, n in pairs], "weibull")
    rate, shape = curve.parameters
    assert 1 / rate == pytest.approx(71.690407, abs=2e-5)
    assert shape == pytest.approx(1.485367, abs=2e-6)
    assert -curve.nll == pytest.approx(-309.668409, abs=1e-6)
    assert (log(1 / rate), 1 / shape) == pytest.approx((4.272357, 0.673234), abs=2e-6)
    assert (curve.log_sd[0] / rate, curve.sd[1]) == pytest.approx((5.3335, 0.1465), abs=1e-4)


def test_the_weekly_table_under_four_models() -> None:
    data = current_status(WEEKS, CHECKS, GOOD)
    line = curve_of(data)
    assert line.parameters[0] == pytest.approx(0.02937338, abs=1e-8)
    assert expected_sd(WEEKS, CHECKS, line.parameters[0]) / line.parameters[0] == pytest.approx(0.131124, abs=1e-6)
    assert line.nll == pytest.approx(87.77209, abs=1e-5)
    weibull = curve_of(data, "weibull")
    assert weibull.parameters == pytest.approx((0.0247949, 0.663420), abs=1e-6)
    assert 1 / weibull.parameters[0] == pytest.approx(40.3309, abs=1e-3)
    assert weibull.sd[1] == pytest.approx(0.24, abs=5e-3)
    assert weibull.nll == pytest.approx(86.85901, abs=1e-5)
    mixed = curve_of(data, "mixed_exponential")
    assert mixed.parameters == pytest.approx((0.0890340, 0.633189), abs=1e-5)
    assert mixed.nll == pytest.approx(86.58283, abs=1e-5)
    walk = curve_of(data, "random_walk")
    assert walk.parameters == pytest.approx((0.0, 0.204551), abs=1e-5)
    assert walk.nll == pytest.approx(86.24123, abs=1e-5)
    for curve in (line, weibull, mixed, walk):
        assert curve.reliability(curve.interval(0.8)) == pytest.approx(0.8, abs=1e-6)


# --- two libraries -------------------------------------------------------------------------------------------

tables = st.lists(
    st.tuples(st.sampled_from([2, 7, 14, 30, 60, 90, 180]), st.integers(5, 60), st.integers(1, 4)),
    min_size=2,
    max_size=5,
    unique_by=lambda row: row[0],
)


@given(tables)
def test_a_binomial_glm_with_complementary_log_log_gives_the_same(rows: list[tuple[int, int, int]]) -> None:
    days, checks = [row[0] for row in rows], [row[1] for row in rows]
    good = [n - out for _, n, out in rows]
    counts = np.column_stack([np.subtract(checks, good), good])
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    ones = np.ones((len(days), 1))
    rate = sum(row[2] for row in rows) / sum(day * n for day, n in zip(days, checks, strict=True))
    with np.errstate(all="ignore"):  # their iteration may run away; then it says that it did not converge
        theirs = sm.GLM(counts, ones, family=family, offset=np.log(days)).fit(
            start_params=[log(rate)], tol=1e-12, maxiter=200
        )
    assume(theirs.converged)
    curve = curve_of(current_status(days, checks, good))
    assert curve.parameters[0] == pytest.approx(exp(theirs.params[0]), rel=1e-6)
    sd = expected_sd(days, checks, curve.parameters[0])
    assert sd / curve.parameters[0] == pytest.approx(theirs.bse[0], rel=1e-5)


def test_the_same_glm_on_log_time_is_a_weibull() -> None:
    counts = np.column_stack([np.subtract(CHECKS, GOOD), GOOD])
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    theirs = sm.GLM(counts, sm.add_constant(np.log(WEEKS)), family=family).fit(tol=1e-12, maxiter=200)
    rate, shape = curve_of(current_status(WEEKS, CHECKS, GOOD), "weibull").parameters
    assert shape == pytest.approx(theirs.params[1], rel=1e-6)
    assert rate == pytest.approx(exp(theirs.params[0] / theirs.params[1]), rel=1e-6)


def test_interval_censoring_of_a_survival_library_gives_the_same() -> None:
    low, high, weights = zip(
        *((one.low, one.high, one.count) for one in current_status(WEEKS, CHECKS, GOOD)), strict=True
    )
    theirs = lifelines.WeibullFitter().fit_interval_censoring(low, high, weights=weights)
    rate, shape = curve_of(current_status(WEEKS, CHECKS, GOOD), "weibull").parameters
    assert (1 / rate, shape) == pytest.approx((theirs.lambda_, theirs.rho_), rel=1e-4)
    # It fails on times as large as days are (0.30.3), and is right on small ones.
    scaled = [np.array(one) / 1000 for one in (low, high)]
    line = lifelines.ExponentialFitter().fit_interval_censoring(*scaled, weights=weights)
    assert 1 / curve_of(current_status(WEEKS, CHECKS, GOOD)).parameters[0] == pytest.approx(
        line.lambda_ * 1000, rel=1e-4
    )


# --- what an answer keeps to ---------------------------------------------------------------------------------


def test_an_interval_is_never_more_than_twice_the_longest_seen() -> None:
    found = fit([30], [40], [39])  # the curve alone says 60.8
    assert (found.interval, found.high, found.capped) == (60, 60, True)
    assert found.low < 30
    shorter = fit([30], [40], [39], longest=14)
    assert (shorter.interval, shorter.capped) == (28, True)


def test_where_nothing_failed_there_is_a_bound_and_no_curve() -> None:
    found = fit([7], [52], [52])
    assert found.curve is None
    assert found.at_least == pytest.approx(0.05 ** (1 / 52), rel=1e-12)
    # The interval at which that bound, by an exponential, comes to 95 %.
    assert found.interval == pytest.approx(7 * log(0.95) / log(found.at_least), rel=1e-9)
    assert (found.low, found.high) == (found.interval, 14)
    many = fit([1], [5000], [5000])
    assert (many.interval, many.capped) == (2, True)


@given(st.integers(1, 200), st.data())
def test_the_bound_is_clopper_and_pearsons(checks: int, data: st.DataObject) -> None:
    good = data.draw(st.integers(0, checks))
    theirs = beta.ppf(0.05, good, checks - good + 1) if good else 0.0
    assert at_least(checks, good) == pytest.approx(theirs, rel=1e-9, abs=1e-12)


def test_weibull_from_twenty_failures_at_different_intervals() -> None:
    models = [fit([7, 14], [60, 60], good).curve for good in ([50, 51], [50, 50])]
    assert [one.model for one in models if one] == ["exponential", "weibull"]
    one_interval = fit([7], [60], [30]).curve
    assert one_interval is not None
    assert one_interval.model == "exponential"


def test_fails_by_reading_noise_alone_are_no_wear() -> None:
    plain, allowed = (fit([7, 14], [500, 500], [495, 495], start=start) for start in (1.0, 0.99))
    assert plain.curve is not None
    assert allowed.curve is not None
    assert plain.curve.parameters[0] > 0
    assert allowed.curve.parameters[0] == 0.0
    assert (allowed.interval, allowed.capped) == (28, True)
    few = fit([7, 14], [40, 40], [40, 39], start=0.98)
    assert (few.interval, few.capped) == (28, True)
    assert 0 < few.low < 14
    some = fit([7], [100], [90], start=0.95).curve
    assert some is not None
    assert some.parameters[0] == pytest.approx(-log(0.9 / 0.95) / 7, rel=1e-6)
    assert found_inside(0.5, 1.0) == pytest.approx(erf(sqrt(2)), rel=1e-12)
    assert found_inside(0.0, 1.0) == 1.0


@pytest.mark.parametrize(
    ("days", "checks", "good", "more"),
    [
        ([], [], [], {}),
        ([7], [0], [0], {}),
        ([0], [3], [3], {}),
        ([inf], [3], [3], {}),
        ([7], [3], [4], {}),
        ([7, 8], [3], [3], {}),
        ([7], [3], [2], {"start": 0.0}),
        ([7], [3], [2], {"target": 1.0}),
        ([7], [3], [2], {"confidence": 0.0}),
    ],
)
def test_what_cannot_be_fitted_is_refused(days: list[float], checks: list[int], good: list[int], more: dict) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        fit(days, checks, good, **more)


def test_the_staircase_climbs_and_falls() -> None:
    assert staircase(8, [0.8]) == 10
    assert staircase(8, [0.81, 1.0]) == 8
    assert staircase(8, [1.01]) == 4
    assert staircase(8, [0.0] * 20, longest=8) == 16
    with pytest.raises(ValueError, match="more than 0"):
        staircase(0, [])


# --- fleets whose truth is known -----------------------------------------------------------------------------


@pytest.mark.slow
def test_where_the_premise_holds_the_true_interval_is_in_the_likelihood_interval() -> None:
    """Chance failures, found at the next check and mended: 95 % intervals hold the truth about so often."""
    draw = np.random.default_rng(8)
    rate, days = 0.004, np.array([3, 7, 14, 30])
    true, held, tries = -log(0.95) / rate, 0, 400
    for _ in range(tries):
        checks = np.array([120, 90, 60, 40])
        good = draw.binomial(checks, np.exp(-rate * days))
        found = fit(days.tolist(), checks.tolist(), good.tolist(), longest=1e4)
        held += found.low <= true <= found.high
    assert 0.92 < held / tries < 0.98


# A walk of 0.0609 °C a root day, set to nought at each check, read with sd 0.152 °C; tolerance 1 °C. Checked each
# 30 days: what is seen inside there, and what is true later, in closed form.
WALK, NOISE, LIMIT, EVERY = 0.06088, 0.152, 1.0, 30


def inside(variance: float) -> float:
    return erf(LIMIT / sqrt(2 * variance))


def test_re_zeroed_inside_the_tolerance_the_plain_fit_says_241_days_where_71_percent_are_right() -> None:
    checks = 1_000_000
    good = round(checks * inside(WALK**2 * EVERY + NOISE**2))
    curve = fit([EVERY], [checks], [good]).curve
    assert curve is not None
    assert curve.interval(0.95) == pytest.approx(241, abs=1)
    assert inside(WALK**2 * 241) == pytest.approx(0.71, abs=0.005)
    # Cut at twice the longest interval seen, it is right again: 60 days, of which 96 % come through.
    assert fit([EVERY], [checks], [good]).interval == 60
    assert inside(WALK**2 * 60) > 0.95


def test_the_trackers_first_passage_is_right_where_the_plain_fit_is_not() -> None:
    """The same fleet, simulated and tracked: at the day it names, about 95 % are truly inside."""
    draw = np.random.default_rng(3)
    model = Parameters(offset_walk=WALK, rate_spread=0.0, slope_spread=0.0, instruments=20)
    those, true_offsets = [], []
    for _ in range(40):
        seen, turned, true = [], [], 0.0
        for n in range(12):
            true += draw.normal(0, WALK * sqrt(EVERY))
            day = float(EVERY * n)
            seen.append(Observation(day, 0.0, true + draw.normal(0, NOISE), NOISE))
            true = draw.normal(0, NOISE)  # set until it reads nought
            turned.append(Event(day, "adjusted", as_left=0.0, u=NOISE))
        those.append(Followed(drift.track(seen, turned, model), LIMIT))
        true_offsets.append(true)
    day = first_passage(those, 400)
    assert day is not None
    assert 55 < day < 75
    later = np.array(true_offsets)[:, None] + draw.normal(0, WALK * sqrt(day), (40, 5000))
    assert (abs(later) <= LIMIT).mean() == pytest.approx(0.95, abs=0.01)
    assert first_passage(those, 20) == 20  # no further than asked
    assert first_passage([Followed(those[0].track, 0.05)], 400) == 0


def test_left_alone_within_the_tolerance_the_fit_is_too_long_by_little_and_too_short_later() -> None:
    """Never set while inside: what was near its limit is still near it, so more fail than where all begin at nought."""
    draw = np.random.default_rng(5)
    offsets, good, n = draw.normal(0, 0.1, 4000), 0, 0
    for _ in range(40):
        offsets = offsets + draw.normal(0, WALK * sqrt(EVERY), offsets.size)
        read = offsets + draw.normal(0, NOISE, offsets.size)
        good, n = good + int((abs(read) <= LIMIT).sum()), n + offsets.size
        offsets = np.where(abs(read) > LIMIT, draw.normal(0, NOISE, offsets.size), offsets)
    alone = fit([EVERY], [n], [good]).curve
    zeroed = fit([EVERY], [n], [round(n * inside(WALK**2 * EVERY + NOISE**2))]).curve
    assert alone is not None
    assert zeroed is not None
    assert alone.interval() < 0.25 * zeroed.interval()
