"""Parameters of a model: the likelihood of many at once against one by one, the fit, and the pull of the type."""

from dataclasses import replace
from math import inf, log

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import minimize

from registry.compute.drift import Event, History, Observation, Parameters, TypePrior, pooled, track
from registry.compute.drift.likelihood import Sets, logarithm, segments, table
from registry.compute.drift.pooled import _Fit
from tests.compute.test_drift import MODEL, checks, eventful
from tests.simulations.fleets import DIAL, PROBE, make_fleet

ROUGH = {"maxiter": 300, "xatol": 1e-2, "fatol": 1e-3}


def one_by_one(histories: list[History], model: Parameters) -> float:
    """Sum of the log-likelihoods of each thermometer; a new sensor's first check counts for nothing."""
    free = replace(model, offset_spread=inf, false_steps_a_year=0.0)
    return sum(track(one.observations, one.events, free).loglik for one in histories)


def of_sets(models: list[Parameters]) -> Sets:
    columns = {name: np.array([[getattr(one, name)] for one in models]) for name in Sets.__annotations__}
    return Sets(**columns)


def test_many_at_once_equal_one_by_one() -> None:
    items = eventful()
    whole = History(
        tuple(one for one in items if isinstance(one, Observation)),
        tuple(one for one in items if isinstance(one, Event)),
    )
    fleets = [make_fleet(np.random.default_rng(seed), kind, 4, (5, 30)) for seed, kind in enumerate((DIAL, PROBE))]
    histories = [whole, *(life.history for fleet in fleets for life in fleet.lives)]
    models = [
        MODEL,
        replace(MODEL, offset_walk=0.05, noise_scale=0.7),
        replace(MODEL, rate_spread=0.01, rate_mean=0.01),
    ]
    at_once = logarithm(table(segments(histories)), MODEL, of_sets(models))
    np.testing.assert_allclose(at_once, [one_by_one(histories, model) for model in models], rtol=1e-10)


@pytest.mark.slow
def test_a_loose_type_leaves_maximum_likelihood() -> None:
    # statsmodels 0.15: variances of a local level at the maximum.
    draw = np.random.default_rng(5)
    shown = np.cumsum(draw.normal(0, 0.1, 400)) + draw.normal(0, 0.2, 400)
    fitted = sm.tsa.UnobservedComponents(shown, "local level", use_exact_diffuse=True).fit(disp=0)
    loose = TypePrior(
        Parameters(0.05, rate_spread=0.0, slope_spread=0.0, false_steps_a_year=0.0),
        log_walk=3.0,
        log_noise=3.0,
        rate_mean_sd=1e-12,
    )
    found = pooled([History(tuple(Observation(float(n), 0.0, float(v), 0.1) for n, v in enumerate(shown)))], loose)
    noise, walk = fitted.params
    assert (0.1 * found.noise_scale) ** 2 == pytest.approx(noise, rel=2e-3)
    assert found.offset_walk**2 == pytest.approx(walk, rel=5e-3)


def test_a_type_that_is_sure_is_not_moved() -> None:
    sure = TypePrior(MODEL, log_walk=1e-6, log_rate=1e-6, log_noise=1e-6, rate_mean_sd=1e-9)
    found = pooled([History(tuple(checks(30, u=0.3)))] * 12, sure)
    for name in ("offset_walk", "rate_spread", "noise_scale", "rate_mean"):
        assert getattr(found, name) == pytest.approx(getattr(MODEL, name), rel=1e-3)


def test_nothing_known_gives_the_type_with_its_own_uncertainty() -> None:
    prior = TypePrior(MODEL, log_walk=0.5)
    found = pooled([], prior)
    assert found.offset_walk == pytest.approx(MODEL.offset_walk)
    logs = [log(one.offset_walk) for one in found.others]
    assert np.mean(logs) == pytest.approx(log(MODEL.offset_walk))
    assert np.std(logs) == pytest.approx(0.5, rel=1e-3)
    assert found.instruments == 0


def test_from_ten_instruments_on_the_parameters_count_as_known() -> None:
    fleet = make_fleet(np.random.default_rng(8), PROBE, 10)
    histories = [life.history for life in fleet.lives]
    assert pooled(histories, PROBE.prior).others == ()
    few = pooled(histories[:9], PROBE.prior)
    assert (few.instruments, len(few.others)) == (9, 10)  # two for each of five unknowns


def test_more_instruments_leave_less_uncertainty() -> None:
    fleet = make_fleet(np.random.default_rng(8), PROBE, 9)
    histories = [life.history for life in fleet.lives]

    def spread(count: int) -> float:
        return float(np.std([log(one.offset_walk) for one in pooled(histories[:count], PROBE.prior).others]))

    assert spread(0) > spread(3) > spread(9)


@pytest.mark.slow
def test_a_step_in_the_history_is_not_taken_for_drift() -> None:
    calm = [History(tuple(checks(40, seed=n))) for n in range(10)]
    seen = calm[0].observations
    stepped = [replace(one, offset=one.offset + 2.0 if n >= 20 else one.offset) for n, one in enumerate(seen)]
    prior = TypePrior(MODEL)
    before, after = pooled(calm, prior), pooled([History(tuple(stepped)), *calm[1:]], prior)
    assert after.offset_walk < 1.5 * before.offset_walk


def test_readings_that_cannot_be_leave_finite_parameters() -> None:
    wild = [replace(one, offset=(-1) ** n * 50.0, u_new=0.01) for n, one in enumerate(checks(40))]
    found = pooled([History(tuple(wild))] * 12, TypePrior(MODEL))
    assert all(np.isfinite([found.offset_walk, found.rate_spread, found.noise_scale, found.rate_mean]))
    assert found.noise_scale > 5


def test_the_fit_is_the_posteriors_peak() -> None:
    # scipy.optimize, Nelder-Mead, which uses no slopes.
    lives = make_fleet(np.random.default_rng(2), DIAL, 4, (20, 30)).lives
    fit = _Fit([life.history for life in lives], DIAL.prior)
    mode = fit.mode()
    other = minimize(lambda place: float(fit.misfit(place[None])[0]), mode + 0.1, method="Nelder-Mead", options=ROUGH)
    assert float(fit.misfit(mode[None])[0]) < other.fun + 2e-3


def test_a_type_without_spreads_is_refused() -> None:
    with pytest.raises(ValueError, match="finite spreads"):
        pooled([], TypePrior(Parameters(0.02)))
