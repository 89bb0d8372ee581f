"""Parameters of a model from all its thermometers, shrunk to what is believed of its type."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log, sqrt
from typing import TYPE_CHECKING, Any

from registry.compute.drift.likelihood import Sets, logarithm, segments, table
from registry.compute.drift.records import ENOUGH_INSTRUMENTS, Event, History, Parameters, TypePrior
from registry.compute.drift.tracking import track

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LOGS = ("offset_walk", "rate_spread", "rate_walk", "noise_scale")
NUDGE = 1e-3  # of a standard deviation among models, for differences
FURTHEST = 6.0  # standard deviations among models that the search may go from the type
STEPS_SEEN = 1  # rounds in which steps found at the first fit are taken as such, not as drift


def pooled(model_histories: Sequence[History], type_prior: TypePrior) -> Parameters:
    """Parameters of a model: maximum likelihood over its thermometers, shrunk to the type.

    model_histories: the thermometers of one model. Steps found at a first fit are steps at the second, not drift.
    Where fewer than ten have two checks, `others` carries how uncertain the parameters are. Returns the type's own,
    with its uncertainty, where nothing is known. `ValueError` where the type's spreads among instruments are
    infinite.
    Source: Durbin and Koopman (2012), section 7.2 (diffuse likelihood); the posterior around its mode is taken as
    normal and stood for by points of equal weight at ± sqrt(n) standard deviations (third-degree cubature,
    Stroud 1971, from memory).
    """
    fit = _Fit(model_histories, type_prior)
    mode = fit.mode()
    for _ in range(STEPS_SEEN):
        stepped = [_with_steps(history, fit.parameters(mode)) for history in model_histories]
        if stepped == list(model_histories):
            break
        fit = _Fit(stepped, type_prior)
        mode = fit.mode(mode)
    known = sum(len(history.observations) > 1 for history in model_histories)
    others = tuple(map(fit.parameters, fit.around(mode))) if known < ENOUGH_INSTRUMENTS else ()
    return replace(fit.parameters(mode), instruments=known, others=others)


def unlearned(type_prior: TypePrior) -> Parameters:
    """The type's own parameters, with how uncertain they are for a model of which nothing is known."""
    import numpy as np

    fit = _Fit((), type_prior)
    middle = np.zeros(len(fit.middle))
    spread = sqrt(len(middle)) * np.eye(len(middle))
    others = tuple(map(fit.parameters, np.vstack([middle + spread, middle - spread])))
    return replace(fit.parameters(middle), others=others)


def _with_steps(history: History, parameters: Parameters) -> History:
    found = track(history.observations, history.events, parameters).found
    return replace(history, events=(*history.events, *(Event(step.at_days, "incident") for step in found)))


class _Fit:
    """The posterior in standard deviations among models from the type's centre, so that all directions are alike."""

    def __init__(self, histories: Sequence[History], prior: TypePrior) -> None:
        import numpy as np

        centre = prior.centre
        if not max(centre.rate_spread, centre.slope_spread) < float("inf"):
            raise ValueError("a type needs finite spreads of rate and slope among its instruments")
        sds = dict(zip(LOGS, (prior.log_walk, prior.log_rate, prior.log_rate, prior.log_noise), strict=True))
        self.names = [name for name in LOGS if getattr(centre, name) > 0 and sds[name] > 0]
        self.middle = np.array([log(getattr(centre, name)) for name in self.names] + [centre.rate_mean])
        self.sd = np.array([sds[name] for name in self.names] + [prior.rate_mean_sd])
        self.centre = replace(centre, others=())
        items = segments(histories)
        self.rows = table(items) if items else None

    def parameters(self, place: "Array") -> Parameters:
        *logs, rate_mean = (self.middle + self.sd * place).tolist()
        values: dict[str, Any] = {name: exp(value) for name, value in zip(self.names, logs, strict=True)}
        return replace(self.centre, rate_mean=rate_mean, **values)

    def misfit(self, places: "Array") -> "Array":
        """Minus the log posterior at each place; shape (sets, unknowns) to (sets,)."""
        import numpy as np

        prior = 0.5 * (places**2).sum(axis=1)
        if self.rows is None:
            return np.asarray(prior)
        values = self.middle + self.sd * places
        given = {name: np.exp(values[:, [n]]) for n, name in enumerate(self.names)}
        still = {name: np.full((len(places), 1), getattr(self.centre, name)) for name in LOGS}
        sets = Sets(rate_mean=values[:, [-1]], **(still | given))
        return np.asarray(prior - logarithm(self.rows, self.centre, sets))

    def mode(self, begin: "Array | None" = None) -> "Array":
        import numpy as np
        from scipy.optimize import minimize

        count = len(self.middle)
        nudges = NUDGE * np.vstack([np.zeros(count), np.eye(count), -np.eye(count)])

        def value_and_slope(place: "Array") -> tuple[float, "Array"]:
            values = self.misfit(place + nudges)
            return float(values[0]), (values[1 : count + 1] - values[count + 1 :]) / (2 * NUDGE)

        start = np.zeros(count) if begin is None else begin
        bounds, fine = [(-FURTHEST, FURTHEST)] * count, {"gtol": 0.02, "ftol": 1e-9}
        found = minimize(value_and_slope, start, jac=True, method="L-BFGS-B", bounds=bounds, options=fine)
        return np.asarray(found.x)

    def around(self, mode: "Array") -> "Array":
        """Equally likely places, two for each unknown, with the posterior's mean and covariance."""
        import numpy as np

        count = len(mode)
        curve = self._curvature(mode)
        values, directions = np.linalg.eigh(curve)
        # Readings never make it less certain than the type alone: a smaller curvature is the normal form failing.
        axes = directions * sqrt(count) / np.sqrt(np.maximum(values, 1.0))
        return np.asarray(np.vstack([mode + axes.T, mode - axes.T]))

    def _curvature(self, mode: "Array") -> "Array":
        import numpy as np

        nudge, unit = 0.05, np.eye(len(mode))
        pairs = [(i, j) for i in range(len(mode)) for j in range(len(mode))]
        signs = ((1, 1), (1, -1), (-1, 1), (-1, -1))
        places = [mode + nudge * (a * unit[i] + b * unit[j]) for i, j in pairs for a, b in signs]
        values = self.misfit(np.array(places)).reshape(len(mode), len(mode), 4)
        return np.asarray((values @ np.array([1.0, -1.0, -1.0, 1.0])) / (4 * nudge**2))
