"""Tracking against published series, statsmodels, scipy and weighted least squares."""

import warnings
from math import log, pi, sqrt
from pathlib import Path

import numpy as np
import pytest
import scipy.integrate
import scipy.stats
import statsmodels.api as sm
from statsmodels.tsa.statespace.initialization import Initialization
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from registry.compute.drift import Event, Observation, Parameters, Track, track
from registry.compute.drift.reading import within

NILE = sm.datasets.nile.load_pandas().data["volume"].to_numpy()
LOCAL_LEVEL = Parameters(offset_walk=sqrt(1469.1), rate_spread=0.0, slope_spread=0.0, false_steps_a_year=0.0)


def yearly(values: np.ndarray, variance: float, model: Parameters) -> Track:
    """One observation a unit of time; NaN is none."""
    seen = [Observation(n, 0.0, v, sqrt(variance)) for n, v in enumerate(values) if not np.isnan(v)]
    return track(seen, [], model)


def test_nile_against_durbin_and_koopman() -> None:
    # Durbin and Koopman, Time Series Analysis by State Space Methods, 2.2.5: variances 15 099 and 1 469.1;
    # log-likelihood -632.54 with the first point left out.
    followed = yearly(NILE, 15099.0, LOCAL_LEVEL)
    assert followed.loglik == pytest.approx(-632.54, abs=0.01)


@pytest.mark.parametrize("gaps", [(), range(20, 40)], ids=["whole", "years missing"])
def test_nile_against_statsmodels_to_every_digit(gaps: range) -> None:
    # statsmodels 0.15, UnobservedComponents, exact diffuse start; missing years as in Durbin and Koopman, 2.7.
    nile = NILE.copy()
    nile[list(gaps)] = np.nan
    theirs = sm.tsa.UnobservedComponents(nile, "local level", use_exact_diffuse=True).smooth([15099.0, 1469.1])
    ours = yearly(nile, 15099.0, LOCAL_LEVEL)
    there = ~np.isnan(nile)
    assert ours.loglik == pytest.approx(theirs.llf + log(2 * pi) / 2, rel=1e-12)  # theirs counts the first's constant
    states = (ours.filtered, theirs.filtered_state, theirs.filtered_state_cov)
    for estimates, means, covariances in (states, (ours.smoothed, theirs.smoothed_state, theirs.smoothed_state_cov)):
        offsets, sds = zip(*((one.at(0).offset, one.at(0).sd) for one in estimates), strict=True)
        np.testing.assert_allclose(offsets, means[0][there], rtol=1e-10)
        np.testing.assert_allclose(np.square(sds), covariances[0, 0][there], rtol=1e-10)


def test_local_linear_trend_against_statsmodels() -> None:
    # statsmodels 0.15: level and trend both start exactly diffuse.
    theirs = sm.tsa.UnobservedComponents(NILE, "local linear trend", use_exact_diffuse=True).smooth([15099, 1469.1, 0])
    ours = yearly(NILE, 15099.0, Parameters(sqrt(1469.1), slope_spread=0.0, false_steps_a_year=0.0))
    assert ours.loglik == pytest.approx(theirs.llf + log(2 * pi), rel=1e-12)
    assert ours.filtered[0].rate.sd == np.inf
    assert ours.now.rate.per_day == pytest.approx(theirs.filtered_state[1, -1], rel=1e-9)
    for n in (0, 1, 2, 50, 99):
        one = ours.smoothed[n]
        assert (one.at(0).offset, one.rate.per_day) == pytest.approx(theirs.smoothed_state[:, n], rel=1e-8)
        assert one.at(0).sd ** 2 == pytest.approx(theirs.smoothed_state_cov[0, 0, n], rel=1e-8)
        assert one.rate.sd**2 == pytest.approx(theirs.smoothed_state_cov[1, 1, n], rel=1e-7)


FULL = Parameters(
    offset_walk=0.03,
    rate_mean=0.001,
    rate_spread=0.002,
    rate_walk=1e-4,
    slope_spread=0.004,
    slope_walk=1e-4,
    noise_scale=1.3,
    false_steps_a_year=0.0,
)


def irregular(count: int, seed: int) -> list[Observation]:
    """Checks at odd times, at ice and at hot points, of uneven uncertainty."""
    draw = np.random.default_rng(seed)
    at = np.cumsum(draw.exponential(5, count))
    hot = draw.choice([0.0, 60.0, 98.0], count)
    u = draw.uniform(0.05, 0.3, count)
    drawn = zip(at, hot, draw.normal(0, 0.4, count), u, strict=True)
    return [Observation(*map(float, one)) for one in drawn]


def by_statsmodels(seen: list[Observation], model: Parameters, add: dict[int, np.ndarray]) -> KalmanSmoother:
    """The same model in matrices that change with time; `add`: covariance added after check n, for events."""
    n = len(seen)
    design, transition, noise = np.zeros((1, 3, n)), np.zeros((3, 3, n)), np.zeros((1, 1, n))
    walk = np.zeros((3, 3, n))
    for k, one in enumerate(seen):
        days = seen[k + 1].at_days - one.at_days if k + 1 < n else 1.0
        design[0, :, k] = 1.0, one.temperature, 0.0
        noise[0, 0, k] = (model.noise_scale * one.u_new) ** 2 + one.step**2 / 12
        transition[:, :, k] = [[1, 0, days], [0, 1, 0], [0, 0, 1]]
        q, r, s = model.offset_walk**2, model.rate_walk**2, model.slope_walk**2
        walk[:, :, k] = [
            [q * days + r * days**3 / 3, 0, r * days**2 / 2],
            [0, s * days, 0],
            [r * days**2 / 2, 0, r * days],
        ]
        walk[:, :, k] += add.get(k, 0.0)
    smoother = KalmanSmoother(k_endog=1, k_states=3)
    smoother.bind(np.array([one.offset for one in seen]))
    smoother["design"], smoother["transition"], smoother["selection"] = design, transition, np.eye(3)
    smoother["obs_cov"], smoother["state_cov"] = noise, walk
    begin = Initialization(3)
    begin.set(0, "diffuse")
    begin.set(1, "known", constant=[0.0], stationary_cov=[[model.slope_spread**2]])
    begin.set(2, "known", constant=[model.rate_mean], stationary_cov=[[model.rate_spread**2]])
    smoother.initialize(begin)
    return smoother.smooth()


@pytest.mark.parametrize("seed", range(4))
def test_slope_rate_and_odd_times_against_statsmodels(seed: int) -> None:
    # statsmodels 0.15 KalmanSmoother with matrices of its own at each time.
    seen = irregular(40, seed)
    incident = Event(seen[20].at_days, "incident")
    bump = np.diag([FULL.step_chance * FULL.step_spread**2, 0.0, 0.0])
    theirs = by_statsmodels(seen, FULL, {19: bump})
    ours = track(seen, [incident], FULL)
    assert ours.loglik == pytest.approx(theirs.llf + log(2 * pi) / 2, rel=1e-11)
    pairs = (
        (ours.filtered, theirs.filtered_state, theirs.filtered_state_cov),
        (ours.smoothed, theirs.smoothed_state, theirs.smoothed_state_cov),
    )
    for estimates, means, covariances in pairs:
        for n, one in enumerate(estimates):
            np.testing.assert_allclose(one.state[:3], means[:, n], rtol=1e-7, atol=1e-10)
            expected = covariances[:, :, n][np.triu_indices(3)]
            np.testing.assert_allclose(one.state[3:], expected, rtol=1e-6, atol=1e-12)


def test_weighted_least_squares_where_nothing_walks() -> None:
    # statsmodels 0.15 WLS: offset, slope with temperature and steady drift, each observation with its own weight.
    seen = irregular(60, 9)
    still = Parameters(offset_walk=0.0, noise_scale=1.0, false_steps_a_year=0.0)
    ours = track(seen, [], still)
    rows = [(one.at_days, one.temperature, one.offset, one.u_new) for one in seen]
    days, hot, offsets, u = np.array(rows).T
    last = seen[-1].at_days
    columns = np.column_stack([np.ones(60), hot, days - last])
    theirs = sm.WLS(offsets, columns, weights=u**-2).fit(cov_type="fixed scale")
    np.testing.assert_allclose(ours.now.state[:3], theirs.params, rtol=1e-9)
    np.testing.assert_allclose(ours.now.state[3:], theirs.normalized_cov_params[np.triu_indices(3)], rtol=1e-8)
    ahead = theirs.get_prediction([[1.0, 75.0, 30.0]])
    predicted = ours.predict(last + 30.0, 75.0)
    assert predicted.offset == pytest.approx(ahead.predicted_mean[0], rel=1e-9)
    # The smoothed line at the start is the same line.
    assert ours.smoothed[0].state[0] == pytest.approx(theirs.predict([[1.0, 0.0, seen[0].at_days - last]])[0], rel=1e-8)


def norris() -> tuple[np.ndarray, np.ndarray]:
    """x and y of NIST's reference data set Norris, as it ships with scipy's tests."""
    file = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    rows = [line.split() for line in file.read_text().splitlines()[60:] if line.strip()]
    y, x = np.array(rows, dtype=float).T
    assert (len(x), x[0], y[0]) == (36, 0.2, 0.1)
    return x, y


# NIST StRD, Norris, certified: B0, B1, their standard deviations, residual standard deviation.
B0, B1 = -0.262323073774029, 1.00211681802045
S_B0, S_B1, S = 0.232818234301152, 0.429796848199937e-3, 0.884796396144373


def test_norris_as_steady_drift() -> None:
    x, y = norris()
    order = np.argsort(x, kind="stable")
    still = Parameters(offset_walk=0.0, slope_spread=0.0, false_steps_a_year=0.0)
    ours = track([Observation(float(x[n]), 0.0, float(y[n]), S) for n in order], [], still)
    at_nought = ours.smoothed[0]
    begin = x.min()
    assert ours.rate.per_day == pytest.approx(B1, rel=1e-9)
    assert ours.rate.sd == pytest.approx(S_B1, rel=1e-9)
    assert at_nought.at(0.0).offset - begin * ours.rate.per_day == pytest.approx(B0, rel=1e-9)


def test_norris_as_slope_with_temperature() -> None:
    x, y = norris()
    still = Parameters(offset_walk=0.0, rate_spread=0.0, false_steps_a_year=0.0)
    points = enumerate(zip(x, y, strict=True))
    ours = track([Observation(float(n), float(t), float(v), S) for n, (t, v) in points], [], still)
    assert ours.now.at(0.0).offset == pytest.approx(B0, rel=1e-9)
    assert ours.now.at(0.0).sd == pytest.approx(S_B0, rel=1e-9)
    assert ours.now.state.slope == pytest.approx(B1, rel=1e-9)
    assert sqrt(ours.now.state.ss) == pytest.approx(S_B1, rel=1e-9)


@pytest.mark.parametrize("miss", [0.0, 0.1, -0.3, 1.0, -2.5, 5.0])
@pytest.mark.parametrize("half", [0.05, 0.278, 1.0])
def test_a_coarse_reading_against_scipys_truncated_normal(miss: float, half: float) -> None:
    sd = 0.3
    lesson = within(miss, sd**2, half)
    # Mean and variance of what was expected, given that it lay within half a step of what was read.
    cut = scipy.stats.truncnorm((miss - half) / sd, (miss + half) / sd, scale=sd)
    assert lesson.shift * sd**2 == pytest.approx(cut.mean(), rel=1e-6, abs=1e-9)
    assert sd**2 - lesson.shrink * sd**4 == pytest.approx(cut.var(), rel=2e-5)
    chance = scipy.stats.norm.sf((abs(miss) - half) / sd) - scipy.stats.norm.sf((abs(miss) + half) / sd)
    assert lesson.loglik == pytest.approx(log(chance), rel=1e-9)


def test_a_reading_far_from_its_interval_stays_finite() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        lesson = within(60.0, 0.01, 0.25)
    assert 0 < lesson.shrink <= 100.0
    assert lesson.shift * 0.01 == pytest.approx(59.75, abs=0.01)  # to the near edge


def test_coarse_readings_against_exact_integration() -> None:
    # Four readings of one display step, no drift: the exact posterior of the offset by scipy.integrate.
    u, step, seen = 0.1, 0.5, [0.5, 0.5, 0.0, 0.5]

    def likelihood(offset: float) -> float:
        norm = scipy.stats.norm(offset, u)
        return float(np.prod([norm.cdf(one + step / 2) - norm.cdf(one - step / 2) for one in seen]))

    mass, mean, square = (
        scipy.integrate.quad(lambda x, n=n: x**n * likelihood(x), -1, 2, points=[0.25, 0.75])[0] for n in (0, 1, 2)
    )
    still = Parameters(offset_walk=0.0, rate_spread=0.0, slope_spread=0.0, false_steps_a_year=0.0)
    ours = track([Observation(float(n), 0.0, v, u, step) for n, v in enumerate(seen)], [], still).now.at(0.0)
    # Each posterior is replaced by a normal one, so some hundredths of a degree remain.
    assert ours.offset == pytest.approx(mean / mass, abs=0.02)
    assert ours.sd == pytest.approx(sqrt(square / mass - (mean / mass) ** 2), rel=0.15)
