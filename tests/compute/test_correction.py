"""Corrections at one, two and more points against the GUM's worked example, and the reading to reach."""

from decimal import Decimal
from fractions import Fraction
from math import hypot, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.api import OLS, WLS, add_constant

from registry.compute.correction import LACKS_FIT, Point, line, offset_at, reading_to_reach

# JCGM 100:2008 annex H.3, table H.6: temperature read and correction (reference minus reading).
H3 = (
    (21.521, -0.171), (22.012, -0.169), (22.512, -0.166), (23.003, -0.159), (23.507, -0.164), (23.999, -0.165),
    (24.513, -0.156), (25.002, -0.157), (25.503, -0.159), (26.010, -0.161), (26.511, -0.160),
)  # fmt: skip
H3_POINTS = [Point(temperature, correction, 1.0) for temperature, correction in H3]


def test_gum_h3_to_every_printed_digit() -> None:
    # JCGM 100:2008 H.3.3 and H.3.4.
    found = line(H3_POINTS, centre=20.0, from_scatter=True)
    assert found.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert found.u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert found.slope == pytest.approx(0.00218, abs=5e-6)
    assert found.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert found.correlation == pytest.approx(-0.930, abs=5e-4)
    assert (found.s, found.dof) == (pytest.approx(0.0035, abs=5e-5), 9)
    offset, u = found.at(30.0)
    assert offset == pytest.approx(-0.1494, abs=5e-5)
    assert u == pytest.approx(0.0041, abs=5e-5)
    assert abs(u - hypot(found.u_intercept, 10 * found.u_slope)) > 0.003  # the covariance matters (H.3.4)


@pytest.mark.parametrize("centre", [None, 0.0, 20.0, 24.0, 1000.0])
def test_the_answer_does_not_depend_on_where_the_line_is_centred(centre: float | None) -> None:
    # JCGM 100:2008 H.3.5.
    plain = line(H3_POINTS, centre=20.0, from_scatter=True)
    other = line(H3_POINTS, centre=centre, from_scatter=True)
    for temperature in (0.0, 21.0, 30.0, 75.0):
        assert other.at(temperature) == pytest.approx(plain.at(temperature), rel=1e-9)
    if centre is None:
        assert other.correlation == pytest.approx(0.0, abs=1e-12)


def test_uncentred_as_refitted() -> None:
    # H.3's data refitted at 0 °C with statsmodels here.
    theta, b = np.array(H3).T
    fitted = OLS(b, add_constant(theta)).fit()
    found = line(H3_POINTS, centre=0.0, from_scatter=True)
    assert (found.intercept, found.slope) == pytest.approx(tuple(fitted.params), rel=1e-9)
    assert (found.u_intercept, found.u_slope) == pytest.approx(tuple(fitted.bse), rel=1e-9)
    assert found.correlation == pytest.approx(-0.99784473, abs=1e-8)


def test_weighted_as_statsmodels() -> None:
    draw = np.random.default_rng(3)
    t, u = np.array([0.0, 20.0, 60.0, 75.0, 100.0]), np.array([0.05, 0.2, 0.1, 0.3, 0.15])
    y = 0.3 - 0.004 * t + 0.4 * u * draw.standard_normal(5)
    points = [Point(*one) for one in zip(t, y, u, strict=True)]
    fitted = WLS(y, add_constant(t), weights=u**-2).fit(cov_type="fixed scale")
    found = line(points, centre=0.0)
    assert found.s <= 1  # so that nothing is widened
    assert (found.intercept, found.slope) == pytest.approx(tuple(fitted.params), rel=1e-9)
    covariance = fitted.cov_params()
    assert found.u_intercept**2 == pytest.approx(covariance[0, 0], rel=1e-9)
    assert found.correlation * found.u_intercept * found.u_slope == pytest.approx(covariance[0, 1], rel=1e-9)
    chi2 = float((((y - fitted.fittedvalues) / u) ** 2).sum())
    assert found.misfit == pytest.approx(stats.chi2.sf(chi2, 3), rel=1e-9)


def test_points_off_any_line_widen_and_keep_the_bend() -> None:
    bent = [Point(0.0, 0.0, 0.05), Point(50.0, 1.0, 0.05), Point(100.0, 0.0, 0.05)]
    found = line(bent, bend=0.3)
    assert not found.straight
    assert found.misfit < LACKS_FIT
    assert found.s > 10
    assert found.at(50.0)[1] > 0.3
    on_it = line([Point(0.0, 0.0, 0.05), Point(50.0, 0.1, 0.05), Point(100.0, 0.2, 0.05)], bend=0.3)
    assert on_it.straight
    assert on_it.bend == 0.0


def test_two_points_keep_a_bend_that_they_cannot_test() -> None:
    offset, u = offset_at([Point(0.0, 0.2, 0.1), Point(100.0, 0.6, 0.1)], 75.0, scale_share=0.01, bend=0.3)
    assert offset == pytest.approx(0.5)
    assert u == pytest.approx(hypot(0.3, 0.1 * sqrt(0.25**2 + 0.75**2)))  # interpolation: weights 1/4 and 3/4


def test_one_point_is_widened_with_the_distance() -> None:
    at_ice = [Point(0.0, 0.4, 0.12)]
    assert offset_at(at_ice, 0.0, 0.01, 0.3) == (0.4, pytest.approx(0.12))
    assert offset_at(at_ice, 75.0, 0.01, 0.3) == (0.4, pytest.approx(hypot(0.12, 0.75)))


def test_the_same_temperature_twice_is_one_point() -> None:
    offset, u = offset_at([Point(0.0, 0.2, 0.1), Point(0.0, 0.4, 0.1)], 0.0, 0.01, 0.3)
    assert (offset, u) == (pytest.approx(0.3), pytest.approx(0.1 / sqrt(2)))


def test_refusals() -> None:
    with pytest.raises(ValueError, match="no point"):
        offset_at([], 0.0, 0.01, 0.3)
    with pytest.raises(ValueError, match="two temperatures"):
        line([Point(0.0, 0.1, 0.1), Point(0.0, 0.2, 0.1)])
    for wrong in ((float("nan"), 0.0, 0.1), (0.0, float("inf"), 0.1), (0.0, 0.0, 0.0), (0.0, 0.0, -1.0)):
        with pytest.raises(ValueError, match="finite"):
            Point(*wrong)
    with pytest.raises(ValueError, match="step"):
        reading_to_reach(75, "at_least", 0, 0.1, 0)
    with pytest.raises(ValueError, match="step"):
        reading_to_reach(75, "at_least", 0, -0.1, 0.1)


# --- the reading to reach ------------------------------------------------------------------------------------


def test_examples_by_hand() -> None:
    # Worked by hand: 75 + 0.2 + 1.645 x 0.15 = 75.44675; 5 - 0.3 - 1.645 x 0.2 = 4.371; 165 - 3 + 1.645 = 163.645.
    assert reading_to_reach(75, "at_least", 0.2, 0.15, 0.1) == (Fraction("75.44675"), Decimal("75.5"))
    assert reading_to_reach(5, "at_most", -0.3, 0.2, 0.1) == (Fraction("4.371"), Decimal("4.3"))
    # Reads low by far: the limit itself stands.
    assert reading_to_reach(165, "at_least", -3, 1, 1) == (Fraction("163.645"), Decimal(165))
    assert reading_to_reach(165, "at_least", 0, 0, 2)[1] == 166  # a 2 °F dial cannot show 165


@given(
    limit=st.decimals(-30, 220, places=1),
    side=st.sampled_from(["at_least", "at_most"]),
    offset=st.decimals(-5, 5, places=3),
    u=st.decimals(0, 2, places=3),
    step=st.sampled_from([Decimal("0.1"), Decimal("0.5"), Decimal(1), Decimal(2)]),
)
def test_the_printed_one_is_the_next_step_on_the_safe_side_or_the_limit(
    limit: Decimal, side: str, offset: Decimal, u: Decimal, step: Decimal
) -> None:
    unrounded, shown = reading_to_reach(limit, side, offset, u, step)  # type: ignore[arg-type]
    sign = 1 if side == "at_least" else -1
    assert sign * (Fraction(shown) - Fraction(limit)) >= 0
    assert sign * (Fraction(shown) - unrounded) >= 0
    assert sign * (Fraction(shown) - unrounded) < Fraction(step) or shown == limit
