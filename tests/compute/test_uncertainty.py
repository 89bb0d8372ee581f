"""Budgets against the examples and tables of the GUM, JCGM 100:2008."""

import subprocess
import sys
from math import inf, nan

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.uncertainty import (
    COVERAGE,
    Budget,
    Component,
    combine,
    coverage_factor,
    rectangular,
    resolution,
)


def budget(*lines: tuple[float, float]) -> Budget:
    return tuple(Component(f"part {number}", u, dof) for number, (u, dof) in enumerate(lines))


# GUM table G.2, as printed: k for 95.45 % and for 95 %, 99 %.
TABLE_G2 = [
    (1, 13.97, 12.71, 63.66),
    (2, 4.53, 4.30, 9.92),
    (3, 3.31, 3.18, 5.84),
    (4, 2.87, 2.78, 4.60),
    (5, 2.65, 2.57, 4.03),
    (6, 2.52, 2.45, 3.71),
    (7, 2.43, 2.36, 3.50),
    (8, 2.37, 2.31, 3.36),
    (9, 2.32, 2.26, 3.25),
    (10, 2.28, 2.23, 3.17),
    (12, 2.23, 2.18, 3.05),
    (16, 2.17, 2.12, 2.92),
    (20, 2.13, 2.09, 2.85),
    (30, 2.09, 2.04, 2.75),
    (50, 2.05, 2.01, 2.68),
    (100, 2.025, 1.984, 2.626),
    (inf, 2.000, 1.960, 2.576),
]


@pytest.mark.parametrize(("dof", "k9545", "k95", "k99"), TABLE_G2)
def test_coverage_factors_against_table_g2(dof: float, k9545: float, k95: float, k99: float) -> None:
    tolerance = 0.0005001 if dof >= 100 else 0.005001  # the table prints three decimals from 100 on
    assert coverage_factor(dof) == pytest.approx(k9545, abs=tolerance)
    assert coverage_factor(dof, 0.95) == pytest.approx(k95, abs=tolerance)
    assert coverage_factor(dof, 0.99) == pytest.approx(k99, abs=tolerance)


@given(st.integers(1, 100_000))
def test_coverage_factor_against_scipy_stats(dof: int) -> None:
    assert coverage_factor(dof) == pytest.approx(scipy.stats.t.ppf((1 + COVERAGE) / 2, dof), rel=1e-9)


def test_coverage_is_the_share_within_two_standard_deviations() -> None:
    assert pytest.approx(0.9545, abs=5e-5) == COVERAGE
    assert coverage_factor(inf) == 2.0
    assert coverage_factor(inf, 0.9545) == pytest.approx(2.0, abs=5e-5)


def test_gum_g_4_1() -> None:
    # GUM G.4.1: relative u 0.25, 0.57, 0.82 % from 10, 5, 15 readings: u_c 1.03 %, 19 degrees of freedom,
    # t95(19) = 2.09, U95 = 2.2 %. Unrounded 18.9987: cut without rounding first it would be 18.
    result = combine(budget((0.25, 9), (0.57, 4), (0.82, 14)))
    assert result.u == pytest.approx(1.03, abs=0.005)
    assert result.dof == 19
    assert coverage_factor(result.dof, 0.95) == pytest.approx(2.09, abs=0.005)
    assert coverage_factor(result.dof, 0.95) * result.u == pytest.approx(2.2, abs=0.05)


def test_gum_h_1_end_gauge() -> None:
    # GUM H.1.6: u 25, 9.7, 2.9, 16.6 nm at 18, 25.6, 50, 2 degrees of freedom: u_c = 32 nm, 16.7, cut to 16;
    # t99(16) = 2.92, U99 = 93 nm. With u_c rounded to 32 first, 17.47 would be cut to 17.
    result = combine(budget((25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)))
    assert result.u == pytest.approx(32, abs=0.5)
    assert result.dof == 16
    assert coverage_factor(16, 0.99) == pytest.approx(2.92, abs=0.005)
    assert coverage_factor(16, 0.99) * 32 == pytest.approx(93, abs=0.5)


# Arithmetic of GUM 4.3.7 and F.2.2.1: a step d gives d/√12.
@pytest.mark.parametrize(
    ("step", "u"), [(0.01, 0.002887), (0.1, 0.028868), (0.5, 0.144338), (1, 0.288675), (2, 0.577350)]
)
def test_resolution(step: float, u: float) -> None:
    assert resolution(step) == pytest.approx(u, abs=5e-7)
    assert rectangular(step / 2) == pytest.approx(u, abs=5e-7)


def test_distributions_against_scipy_stats() -> None:
    assert rectangular(0.5) == pytest.approx(scipy.stats.uniform(-0.5, 1).std())


def test_the_pot_and_the_weather() -> None:
    # A pot within ±0.5 °C rectangular and 8 hPa of weather, 0.22 °C: U = 0.73 °C at sea level (arithmetic).
    result = combine((Component("pot", rectangular(0.5)), Component("weather", 0.22)))
    assert result.expanded == pytest.approx(0.73, abs=0.005)


def test_no_degrees_of_freedom_counted_is_infinity_and_k_2() -> None:
    result = combine(budget((0.3, inf), (0.4, inf)))
    assert (result.u, result.dof, result.k, result.expanded) == (
        pytest.approx(0.5),
        inf,
        2.0,
        pytest.approx(1.0),
    )
    empty = combine(())
    assert (empty.u, empty.dof, empty.k, empty.expanded) == (0.0, inf, 2.0, 0.0)
    assert combine(budget((0.0, 1))).dof == inf


def test_a_tiny_part_with_few_degrees_does_not_matter() -> None:
    assert combine(budget((1.0, inf), (1e-78, 1))).dof == inf
    assert combine(budget((1.0, inf), (0.01, 1))).k == pytest.approx(2.0, abs=1e-6)


def test_infinite_degrees_of_freedom_need_no_scipy() -> None:
    program = (
        "import sys; from registry.compute.uncertainty import *;"
        "assert combine((Component('ice', 0.1), Component('display', 0.05))).k == 2;"
        "assert not {'scipy', 'numpy'} & set(sys.modules);"
        "combine((Component('ice', 0.1, 5),)); assert 'scipy' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


PARTS = st.lists(st.tuples(st.floats(1e-3, 10), st.integers(1, 200) | st.just(inf)), min_size=1, max_size=8)


@given(PARTS)
def test_combined_lies_between_its_bounds(parts: list[tuple[float, float]]) -> None:
    # GUM G.4.1: the effective degrees of freedom lie between the smallest and the sum of all.
    result = combine(budget(*parts))
    assert result.u == pytest.approx(float(np.linalg.norm([u for u, _ in parts])))
    assert min(dof for _, dof in parts) <= result.dof <= sum(dof for _, dof in parts)
    assert result.k >= 2.0
    assert result.expanded == result.k * result.u


def test_k_never_falls_below_that_of_a_normal_distribution() -> None:
    assert coverage_factor(13750001100000026) == 2.0  # stdtrit gives 1.9999999999999998 here


@pytest.mark.parametrize("u", [-0.1, nan, inf])
def test_no_negative_uncertainty(u: float) -> None:
    with pytest.raises(ValueError, match="ice"):
        Component("ice", u)
    for helper in (rectangular, resolution):
        with pytest.raises(ValueError):
            helper(u)


@pytest.mark.parametrize("dof", [0, 0.9, -1, nan])
def test_degrees_of_freedom_are_at_least_one(dof: float) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        Component("ice", 0.1, dof)
    with pytest.raises(ValueError):
        coverage_factor(dof)
