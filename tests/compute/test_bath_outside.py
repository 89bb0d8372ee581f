"""The diagnosis of a bath against closed forms and other libraries: the source stands beside each check."""

from math import sqrt

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.integrate import dblquad, quad
from scipy.stats import norm, truncnorm
from statsmodels.stats.meta_analysis import combine_effects

from registry.compute.bath import (
    BathPrior,
    Habit,
    InBath,
    Pin,
    Tails,
    diagnose,
    habit,
    ice,
    misfit_elevation,
    pressure_mistake,
)

NO_TAILS = Tails(share=0.0, after_incident=0.0, broken=0.0)
ALWAYS_GOOD = BathPrior(0.12, bad_share=0.0)
PLAIN = [
    InBath(0.10, 0.08, 0.55, 0.06),
    InBath(-0.20, 0.15, 0.10, 0.10),
    InBath(0.30, 0.40, 0.20, 0.05),
    InBath(0.00, 0.25, 0.45, 0.12),
]


def test_normals_alone_give_the_conjugate_posterior() -> None:
    # Normal data with known variances and a normal prior: Gelman et al., Bayesian Data Analysis, 3rd ed., equations
    # (2.9) to (2.12), from memory.
    weights = [1 / (one.sd**2 + one.u_new**2) for one in PLAIN]
    precision = 1 / 0.12**2 + sum(weights)
    mean = sum(w * (one.reading - one.predicted) for w, one in zip(weights, PLAIN, strict=True)) / precision
    found = diagnose(PLAIN, ALWAYS_GOOD, tails=NO_TAILS)
    assert found.error.mean == pytest.approx(mean, abs=1e-6)
    assert found.error.sd == pytest.approx(precision**-0.5, rel=1e-5)
    assert found.probability_bad == pytest.approx(norm.sf(0.36, mean, precision**-0.5), rel=2e-2)
    edges = (found.error.low, found.error.median, found.error.high)
    # Between grid points of 0.02 °C the quantiles lie on straight lines: good to a fifth of a step.
    assert edges == pytest.approx(tuple(norm.ppf([0.025, 0.5, 0.975], mean, precision**-0.5)), abs=4e-3)


def test_with_a_wide_prior_it_is_the_weighted_mean() -> None:
    # Weighted mean and its uncertainty, weights 1/u²: Particle Data Group, Review of Particle Physics, section
    # "Statistics", unweighted by scale factors; the sensitivities of JCGM 100:2008 (10) give the same u. From memory.
    weights = np.array([1 / (one.sd**2 + one.u_new**2) for one in PLAIN])
    mean = weights @ np.array([one.reading - one.predicted for one in PLAIN]) / weights.sum()
    found = diagnose(PLAIN, BathPrior(10.0, bad_share=0.0), tails=NO_TAILS)
    assert found.error.mean == pytest.approx(mean, abs=1e-4)
    assert found.error.sd == pytest.approx(weights.sum() ** -0.5, rel=1e-4)


def test_habit_and_what_remains_are_the_conditional_normal() -> None:
    # Conditional distribution of jointly normal variables: Eaton, Multivariate Statistics (1983), proposition 3.13,
    # from memory; solved here with numpy.linalg.
    told = [
        PLAIN[0],
        PLAIN[1],
        InBath(0.0, 0.3, 0.9, 0.08, basis="elsewhere"),
        InBath(0.2, 0.2, 0.4, 0.08, basis="elsewhere"),
    ]
    before = Habit(0.25, 0.15)
    # Unknowns: new part, habit, then for each what its predicted offset is about (with the habit in it where "here").
    mean = np.array([0.0, before.mean, *(one.predicted for one in told)])
    spread = np.diag([0.12**2, before.sd**2, *(one.sd**2 for one in told)])
    looks = np.zeros((4, 6))
    for row, one in enumerate(told):
        looks[row, [0, 2 + row]] = 1.0
        looks[row, 1] = 1.0 if one.basis == "elsewhere" else 0.0
    seen = looks @ spread @ looks.T + np.diag([one.u_new**2 for one in told])
    gain = spread @ looks.T @ np.linalg.inv(seen)
    after = mean + gain @ (np.array([one.reading for one in told]) - looks @ mean)
    covariance = spread - gain @ looks @ spread
    found = diagnose(told, ALWAYS_GOOD, before, NO_TAILS)
    whole = np.array([1.0, 1.0, 0, 0, 0, 0])
    assert found.error.mean == pytest.approx(whole @ after, abs=1e-5)
    assert found.error.sd == pytest.approx(sqrt(whole @ covariance @ whole), rel=2e-3)
    for row, (one, left) in enumerate(zip(told, found.remaining, strict=True)):
        offset = np.zeros(6)
        offset[2 + row] = 1.0
        offset[1] = -1.0 if one.basis == "here" else 0.0
        sd = sqrt(offset @ covariance @ offset)
        assert left.offset == pytest.approx(offset @ after, abs=1e-4)
        assert left.sd == pytest.approx(sd, rel=2e-3)
        out = norm.sf(1.0, offset @ after, sd) + norm.cdf(-1.0, offset @ after, sd)
        assert left.probability_out == pytest.approx(out, rel=0.05, abs=1e-6)


# --- the mixture with rounding, by adaptive quadrature ----------------------------------------------------------

ROUNDED = [
    InBath(0.10, 0.10, 0.5, 0.06, 0.05),
    InBath(-0.20, 0.20, 0.0, 0.10, 0.2778),
    InBath(0.30, 0.45, 2.0, 0.15, 0.5, incident=True),
]


def parts(one: InBath) -> list[tuple[float, float]]:
    share = 0.3 if one.incident else 0.01
    return [(1 - share - 0.001, 0.0), (share, 2.0), (0.001, 20.0)]


def likelihood(one: InBath, error: float) -> float:
    def inside(extra: float) -> float:
        sd = sqrt(one.sd**2 + one.u_new**2 + extra**2)
        middle = one.predicted + error
        return float(
            norm.cdf(one.reading + one.half_width, middle, sd) - norm.cdf(one.reading - one.half_width, middle, sd)
        )

    return sum(share * inside(extra) for share, extra in parts(one))


def before(error: float, of: BathPrior) -> float:
    side = of.warm_share / of.warm if error > 0 else (1 - of.warm_share) / of.cold
    scale = of.warm if error > 0 else of.cold
    bad = side * np.exp(-abs(error) / scale)
    return float((1 - of.bad_share) * norm.pdf(error, 0, of.u) + of.bad_share * bad)


def test_a_mixture_with_rounding_equals_adaptive_quadrature() -> None:
    # scipy.integrate.quad on the densities written out with scipy.stats.
    def joint(error: float) -> float:
        return before(error, ice()) * float(np.prod([likelihood(one, error) for one in ROUNDED]))

    def integral(moment: int, low: float, high: float) -> float:
        inner = [edge for edge in (-1.0, -0.36, 0.0, 0.36, 1.0, 2.0) if low < edge < high]
        return quad(lambda b: b**moment * joint(b), low, high, points=inner, limit=400, epsabs=1e-13)[0]

    total = integral(0, -10, 10)
    found = diagnose(ROUNDED, ice())
    mean = integral(1, -10, 10) / total
    assert found.error.mean == pytest.approx(mean, abs=2e-4)
    assert found.error.sd == pytest.approx(sqrt(integral(2, -10, 10) / total - mean**2), rel=2e-3)
    beyond = (integral(0, -10, -0.36) + integral(0, 0.36, 10)) / total
    assert found.probability_bad == pytest.approx(beyond, rel=2e-3)


GRID_B, STEP_B = np.linspace(-3, 4, 701, retstep=True)
GRID_O, STEP_O = np.linspace(-4, 4, 1601, retstep=True)


def both(one: InBath, others: list[InBath]) -> np.ndarray:
    """Joint density of offset and bath's error on a lattice, without constant; broken ones left out."""
    weights = [
        before(float(b), ice()) * float(np.prod([likelihood(each, float(b)) for each in others])) for b in GRID_B
    ]
    own = sum(share * norm.pdf(GRID_O, one.predicted, sqrt(one.sd**2 + extra**2)) for share, extra in parts(one)[:2])
    high, low = (
        norm.cdf((one.reading + side * one.half_width - GRID_O[:, None] - GRID_B) / one.u_new) for side in (1, -1)
    )
    return np.asarray(own[:, None] * (high - low) * np.array(weights))


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("place", [0, 1, 2])
def test_what_remains_equals_the_sum_over_bath_and_offset(place: int) -> None:
    # Written out with scipy.stats on a lattice, itself checked by scipy below. The probability of being out takes each
    # part as normal after its rounding, so that it is only near; a dial with steps of 1 °C is the worst of these.
    density = both(ROUNDED[place], ROUNDED[:place] + ROUNDED[place + 1 :])
    share = density.sum(axis=1) / density.sum()
    found = diagnose(ROUNDED, ice()).remaining[place]
    mean = float(share @ GRID_O)
    assert found.offset == pytest.approx(mean, abs=3e-3)
    assert found.sd == pytest.approx(sqrt(float(share @ (GRID_O - mean) ** 2)), abs=5e-3)
    assert found.probability_out == pytest.approx(float(share[np.abs(GRID_O) > 1].sum()), abs=0.01)


@pytest.mark.slow
def test_the_lattice_is_fine_enough() -> None:
    # scipy.integrate.dblquad over a piece of it.
    one, others = ROUNDED[0], ROUNDED[1:]

    def joint(offset: float, error: float) -> float:
        own = sum(
            share * norm.pdf(offset, one.predicted, sqrt(one.sd**2 + extra**2)) for share, extra in parts(one)[:2]
        )
        high, low = ((one.reading + side * one.half_width - offset - error) / one.u_new for side in (1, -1))
        others_say = float(np.prod([likelihood(each, error) for each in others]))
        return float(own * (norm.cdf(high) - norm.cdf(low)) * before(error, ice()) * others_say)

    piece = dblquad(joint, 0.1, 0.3, 0.0, 0.4, epsabs=0, epsrel=1e-3)[0]
    rows, columns = (GRID_O >= -1e-9) & (GRID_O <= 0.4 + 1e-9), (GRID_B >= 0.1 - 1e-9) & (GRID_B <= 0.3 + 1e-9)
    inside = both(one, others)[rows][:, columns]
    assert np.trapezoid(np.trapezoid(inside, dx=STEP_B, axis=1), dx=STEP_O) == pytest.approx(piece, rel=2e-3)


def test_a_coarse_reading_in_a_known_bath_leaves_a_cut_normal() -> None:
    # scipy.stats.truncnorm.
    dial = InBath(0.2, 0.5, 1.0, 0.001, 0.5)
    found = diagnose([dial], BathPrior(0.001, bad_share=0.0), tails=NO_TAILS).remaining[0]
    exact = truncnorm((0.5 - 0.2) / 0.5, (1.5 - 0.2) / 0.5, loc=0.2, scale=0.5)
    assert found.offset == pytest.approx(exact.mean(), abs=1e-4)
    assert found.sd == pytest.approx(exact.std(), abs=1e-4)


# --- habit, elevation, pressure --------------------------------------------------------------------------------

OFFS = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90]) - 62.0
VARIANCES = np.array([0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])


def test_a_habit_is_the_random_effects_mean() -> None:
    # statsmodels.stats.meta_analysis.combine_effects, method "dl" (DerSimonian and Laird, one step).
    other = combine_effects(OFFS, VARIANCES, method_re="dl")
    found = habit([Pin(off, sqrt(v)) for off, v in zip(OFFS, VARIANCES, strict=True)], usual=float("inf"))
    assert found.between**2 == pytest.approx(other.tau2, rel=1e-9)
    assert found.mean == pytest.approx(other.mean_effect_re, rel=1e-9)
    assert found.sd == pytest.approx(other.sd_eff_w_re, rel=1e-9)
    assert (found.evidence, found.left_out) == (9, ())


@pytest.mark.parametrize(
    ("boils_at", "metres"),
    [
        (
            (208 - 32) / 1.8,
            610,
        ),  # 2000 ft, 208 °F: United States Department of Agriculture, FSIS, high altitude cooking
        ((203 - 32) / 1.8, 1524),  # 5000 ft, 203 °F: Colorado State University, Preserve Smart
        ((198 - 32) / 1.8, 2286),  # 7500 ft, about 198 °F: foodsafety.gov
    ],
)
def test_elevation_of_published_boiling_points(boils_at: float, metres: float) -> None:
    fit = misfit_elevation(99.974, boils_at - 99.974, 0.1, 0.0)
    assert fit.elevation_m == pytest.approx(metres, abs=100)  # whole °F: half of one is 83 m


@pytest.mark.parametrize("metres", [0.0, 120.0, 1000.0, 3000.0])
def test_elevation_is_the_standard_atmosphere_turned_round(metres: float) -> None:
    # ISO 2533:1975 written out (US Standard Atmosphere 1976, equation (33a)); boiling point from the iapws library.
    pascal = 101325 * (288.15 / (288.15 - 0.0065 * metres)) ** (-9.80665 / (287.05287 * 0.0065))
    boils_at = IAPWS97(P=pascal / 1e6, x=0).T - 273.15
    assert misfit_elevation(99.9743, boils_at - 99.9743, 0.1, 0.0).elevation_m == pytest.approx(metres, abs=0.1)


def test_a_sea_level_pressure_taken_as_the_rooms() -> None:
    # 1020 hPa at 1000 m: 96.835 °C rightly, 100.160 °C if misread (definition of QNH with IAPWS R7-97(2012)).
    assert pressure_mistake(-3.3, 0.1, 0.29, 102_000.0, 1000.0, absolute=True).error == pytest.approx(-3.325, abs=0.002)
