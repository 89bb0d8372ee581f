"""Trends and charts against the handbook's printed numbers and scipy."""

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.drift import Event, Observation
from registry.compute.trend import cusum, ewma, mann_kendall, since_adjustment, theil_sen

DAYS = [0, 30, 61, 92, 120, 151, 181, 212, 243, 273, 304, 334]
OFFSETS = [0.1, 0.1, 0.2, 0.1, 0.2, 0.3, 0.2, 0.3, 1.4, 0.4, 0.4, 0.5]  # one gross outlier


def test_theil_sen_against_scipys_numbers() -> None:
    # scipy 1.17.1 theilslopes: slope, 95 % interval, intercept.
    line = theil_sen(DAYS, OFFSETS)
    assert line.slope == pytest.approx(0.00111735, abs=5e-9)
    assert (line.low, line.high) == pytest.approx((0.00082305, 0.00165289), abs=5e-9)
    assert line.intercept == pytest.approx(0.06451935, abs=5e-9)


coarse = st.integers(-8, 8).map(lambda tenths: tenths / 10)  # with many ties
series = st.lists(st.tuples(st.integers(0, 20), coarse), min_size=5, max_size=25)


@given(series, st.sampled_from([0.8, 0.9, 0.95]))
def test_theil_sen_against_scipy_with_ties(pairs: list[tuple[int, float]], confidence: float) -> None:
    days, offsets = [float(day) for day, _ in pairs], [offset for _, offset in pairs]
    if len(set(days)) < 3 or len(set(offsets)) < 3:
        return
    line, theirs = theil_sen(days, offsets, confidence), scipy.stats.theilslopes(offsets, days, confidence)
    assert (line.slope, line.intercept) == pytest.approx((theirs.slope, theirs.intercept), abs=1e-12)
    assert (line.low, line.high) == pytest.approx((theirs.low_slope, theirs.high_slope), abs=1e-12)


def test_mann_kendall_against_published_statistics() -> None:
    # pymannkendall 1.4.3, original_test: S, Var(S) with ties, Z, p, tau.
    found = mann_kendall(OFFSETS)
    assert found.s == 48
    assert found.variance == pytest.approx(203.3333, abs=5e-5)
    assert found.z == pytest.approx(3.296048, abs=5e-7)
    assert found.p == pytest.approx(0.00098055, abs=5e-9)
    assert found.tau == pytest.approx(0.727273, abs=5e-7)


def test_mann_kendall_is_kendalls_s_with_time() -> None:
    # scipy kendalltau's tau-b is S over the root of pairs untied in each.
    found = mann_kendall(OFFSETS)
    pairs = len(OFFSETS) * (len(OFFSETS) - 1) / 2
    ties = sum(n * (n - 1) / 2 for n in np.unique(OFFSETS, return_counts=True)[1])
    tau_b = found.s / np.sqrt(pairs * (pairs - ties))
    assert tau_b == pytest.approx(scipy.stats.kendalltau(DAYS, OFFSETS)[0], abs=1e-12)
    assert tau_b == pytest.approx(0.775810, abs=5e-7)


@given(st.lists(coarse, min_size=2, max_size=15))
def test_a_trend_turned_round_is_as_strong(values: list[float]) -> None:
    up, down = mann_kendall(values), mann_kendall(values[::-1])
    assert (down.s, down.p) == (-up.s, up.p)


def test_no_trend_at_all() -> None:
    found = mann_kendall([0.2] * 6)
    assert (found.s, found.variance, found.z, found.p) == (0, 0.0, 0.0, 1.0)


# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4: lambda 0.3, target 50, s 2.0539.
FURNACE = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5]
FURNACE += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
PRINTED = [50.00, 50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
PRINTED += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]


def test_ewma_against_the_handbook() -> None:
    found = ewma(FURNACE, target=50.0, sd=2.0539)
    assert found.values == pytest.approx(PRINTED, abs=0.005)
    assert found.values[-1] == pytest.approx(51.9882, abs=5e-5)
    assert (found.upper_at_last, found.lower_at_last) == pytest.approx((52.5884, 47.4115), abs=1e-4)
    assert found.out is None
    # Limits that widen with time, recomputed from the handbook's formula.
    assert found.upper[1:4] == pytest.approx((51.8485, 52.2564, 52.4314), abs=5e-5)


def test_ewma_says_when_it_leaves() -> None:
    assert ewma([50.0, 57.0, 57.0], target=50.0, sd=2.0539).out == 3
    assert ewma([50.0, 43.0, 43.0], target=50.0, sd=2.0539).out == 3


def test_cusum_against_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook, 6.3.2.3; data and design from memory, consistent with its printed conclusion.
    data = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
    data += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
    found = cusum(data, target=325.0, k=0.3175, h=4.1959)
    high = [0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035]
    assert found.high == pytest.approx(high, abs=1e-4)
    low = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.7150, 0.1725, 0.2550, 0.3125, *[0] * 9]
    assert found.low == pytest.approx(low, abs=1e-4)
    assert found.out == 13  # the fourteenth sample


def test_trends_start_anew_at_an_adjustment() -> None:
    checks = [Observation(day, 0.0, 0.1, 0.1) for day in (30.0, 0.0, 10.0, 20.0)]
    checks.append(Observation(25.0, 100.0, 0.1, 0.1))
    events = [Event(10.0, "adjusted", as_left=0.0, u=0.1), Event(20.0, "incident")]
    kept = since_adjustment(checks, events, temperature=0.0)
    assert [one.at_days for one in kept] == [20.0, 30.0]


@pytest.mark.parametrize(
    ("days", "offsets"), [([1.0], [1.0]), ([1.0, 1.0], [0.0, 1.0]), ([1.0, 2.0], [1.0]), ([0.0, 1.0], [0.0, np.nan])]
)
def test_no_slope_from_nothing(days: list[float], offsets: list[float]) -> None:
    with pytest.raises(ValueError, match=r"a (slope|trend) needs"):
        theil_sen(days, offsets)


def test_refusals_say_what_is_wrong() -> None:
    with pytest.raises(ValueError, match="confidence"):
        theil_sen([0, 1], [0, 1], confidence=1.0)
    with pytest.raises(ValueError, match="weight"):
        ewma([1.0], 0.0, 1.0, weight=0.0)
    with pytest.raises(ValueError, match="k and h"):
        cusum([1.0], 0.0, k=-1.0, h=1.0)
