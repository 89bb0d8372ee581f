"""How long thermometers stay right between checks, and the interval that leaves enough of them right.

A check as found tells only whether one went out within its interval: such data are interval censored. Of them a
reliability R(t) is fitted by maximum likelihood. It holds where every thermometer is right at the beginning of each
interval and whatever puts it out comes by chance. Where people set it back to nought while it is still inside, or one
creeps within the tolerance, that is not so, and the fit says far too long an interval (`docs/intervals.md`): then
`first_passage` asks the tracker. Days throughout, or any other unit of time of one's own.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import erf, exp, inf, isfinite, log, sqrt
from typing import TYPE_CHECKING, Any, Literal

from registry.compute.drift import Track, probability_out

if TYPE_CHECKING:
    import numpy as np

TARGET = 0.95
CONFIDENCE = 0.95
WEIBULL_FROM = 20  # failures: fewer do not tell a second parameter
FARTHEST = 2  # times the longest interval seen: beyond it nothing is advised
# Of the staircase: the method names no figures (ILAC-G24:2022, method 1), these are judgement.
WELL_INSIDE, LONGER, SHORTER = 0.8, 1.25, 0.5

Model = Literal["exponential", "weibull", "mixed_exponential", "random_walk"]
# Logarithms of the survival at time t with parameters a and b, both positive; times are scaled first.
# mixed_exponential and random_walk: NASA RP-1342 (1994), from memory; kept to compare with.
_PARAMETERS: dict[Model, int] = {"exponential": 1, "weibull": 2, "mixed_exponential": 2, "random_walk": 2}


@dataclass(frozen=True, slots=True)
class Censored:
    """So many of which it is known only that they failed after `low` and not after `high`; inf: they had not failed."""

    low: float
    high: float
    count: float

    def __post_init__(self) -> None:
        if not (0 <= self.low < self.high and self.count >= 0 and isfinite(self.count) and isfinite(self.low)):
            raise ValueError("an interval runs from 0 or later to a later time, with a count that is not negative")


@dataclass(frozen=True, slots=True)
class Curve:
    """A reliability fitted by maximum likelihood.

    parameters: rate a day (exponential); rate and shape (weibull); theta 1 and theta 2 of the other two. log_sd:
    standard errors of their logarithms, from the observed information (`fit` gives an exponential's from the
    expected one); inf where the data do not tell. nll: minus the
    logarithm of the likelihood, without constants. start: R0.
    """

    model: Model
    parameters: tuple[float, ...]
    log_sd: tuple[float, ...]
    nll: float
    start: float = 1.0

    @property
    def sd(self) -> tuple[float, ...]:
        """Standard errors of the parameters."""
        return tuple(one * sd for one, sd in zip(self.parameters, self.log_sd, strict=True))

    def reliability(self, days: float) -> float:
        """Share still right after so many days of those that were right at the beginning, 0 to 1; without R0."""
        return exp(float(_log_survival(self.model, days, *self.parameters)))

    def interval(self, target: float = TARGET) -> float:
        """Days after which the reliability comes down to the target; inf where it never does within 10^6 days."""
        rate = self.parameters[0]
        if rate == 0:
            return inf
        if self.model == "exponential":
            return -log(target) / rate
        if self.model == "weibull":
            return float((-log(target)) ** (1 / self.parameters[1]) / rate)
        return _falls_to(self.reliability, target)


@dataclass(frozen=True, slots=True)
class Fit:
    """What checks as found say of an interval.

    checks, failures: what it rests on. curve: None where nothing failed. interval: days to the target reliability,
    never more than `farthest`; capped: it would be more. low, high: likelihood-ratio interval of it, cut there as
    well; where nothing failed interval and low are the one-sided bound and high is farthest. at_least: one-sided
    bound of the reliability at the shortest interval seen (Clopper and Pearson). target, confidence: as asked.
    """

    checks: int
    failures: int
    curve: Curve | None
    interval: float
    low: float
    high: float
    capped: bool
    longest: float
    at_least: float
    target: float
    confidence: float

    @property
    def farthest(self) -> float:
        return FARTHEST * self.longest


def fit(
    days: Sequence[float],
    checks: Sequence[int],
    good: Sequence[int],
    *,
    start: float = 1.0,
    target: float = TARGET,
    confidence: float = CONFIDENCE,
    longest: float | None = None,
) -> Fit:
    """The observed reliability R(t) = R0 exp(-λt) of scheduled checks as found, and the interval for a target.

    days: length of each interval, more than 0; checks: how many were made after it; good: how many of them found it
    inside the tolerance, with 0 <= good <= checks. start: R0, the share that a check would find inside where nothing
    has changed, above 0 to 1, see `found_inside`. The target is of the thermometers, not of the readings: R0 is left
    out of it. Weibull from 20 failures where intervals differ, else exponential. longest: what counts as the longest
    interval seen, the longest of all where None. `ValueError` for anything else, and where no check is given.
    Source: observed reliability of type III data, NASA RP-1342 (1994) and Jackson and Castrup (both from memory).

    >>> found = fit([90.0], [20], [18])
    >>> round(found.curve.parameters[0], 8), round(found.interval, 4)
    (0.00117067, 43.8152)
    """
    _share(target=target, confidence=confidence)
    total, failed = _counted(days, checks, good)
    seen = [day for day, n in zip(days, checks, strict=True) if n]
    reached = max(seen) if longest is None else longest
    bound = at_least(total, total - failed, confidence)
    end = FARTHEST * reached
    if not failed:
        # exp(-λ Σt) = 1 - confidence, which is Clopper and Pearson's where all intervals are equal.
        exposed = sum(day * n for day, n in zip(days, checks, strict=True))
        least = exposed * log(target) / log(1 - confidence)
        low = min(least, end)
        return Fit(total, 0, None, low, low, end, least > end, reached, bound, target, confidence)
    data = current_status(days, checks, good)
    model: Model = "weibull" if failed >= WEIBULL_FROM and len(set(seen)) > 1 else "exponential"
    curve = curve_of(data, model, start=start)
    if model == "exponential" and curve.parameters[0]:
        curve = replace(curve, log_sd=(expected_sd(days, checks, curve.parameters[0], start) / curve.parameters[0],))
    best = curve.interval(target)
    low, high = likelihood_interval(data, curve, target, confidence)
    best, low, high, capped = min(best, end), min(low, end), min(high, end), best > end
    return Fit(total, failed, curve, best, low, high, capped, reached, bound, target, confidence)


def current_status(days: Sequence[float], checks: Sequence[int], good: Sequence[int]) -> list[Censored]:
    """Checks as found as censored data: out failed within the interval, in has not failed by its end.

    >>> current_status([30.0], [4], [3])
    [Censored(low=30.0, high=inf, count=3), Censored(low=0.0, high=30.0, count=1)]
    """
    _counted(days, checks, good)
    found = []
    for day, n, inside in zip(days, checks, good, strict=True):
        found += [Censored(day, inf, inside), Censored(0.0, day, n - inside)]
    return [one for one in found if one.count]


def curve_of(data: Sequence[Censored], model: Model = "exponential", *, start: float = 1.0) -> Curve:
    """A reliability fitted to interval-censored data by maximum likelihood.

    start: R0, the share right at nought by what a check shows, above 0 to 1. The rate is 0 where nothing failed, or
    no more than R0 explains. `ValueError` for no data, another model or another start.
    Sources: Meeker and Escobar (1998), Statistical Methods for Reliability Data, 7.1; Nelson (1982), Applied Life Data
    Analysis, 9.

    >>> curve = curve_of(current_status([7.0], [52], [50]))
    >>> round(curve.parameters[0], 8)
    0.00560296
    """
    import numpy as np
    from scipy.optimize import minimize, minimize_scalar

    if model not in _PARAMETERS:
        raise ValueError(f"{model!r} is no model of reliability")
    if not 0 < start <= 1:
        raise ValueError("start must lie above 0 and up to 1")
    if not sum(one.count for one in data):
        raise ValueError("a fit needs at least one check")
    scale = _scale(data)
    nll = _nll_of(data, model, scale, start)
    least = minimize_scalar(
        lambda at: nll(np.array([at])) if model == "exponential" else nll(np.array([at, 0.0])),
        bounds=(-25.0, 8.0),
        method="bounded",
        options={"xatol": 1e-12},
    )
    if model == "exponential" and _nothing_to_see(data, start):
        return Curve(model, (0.0,), (inf,), nll(np.array([-60.0])), start)
    at = np.array([float(least.x)])
    if _PARAMETERS[model] == 2:
        options = {"xatol": 1e-10, "fatol": 1e-13, "maxiter": 20_000, "maxfev": 20_000}
        begins = [np.array([least.x, shape]) for shape in (-0.7, 0.0, 0.7)]
        if model == "random_walk":
            begins = [np.array([-20.0, 0.0]), np.array([-1.0, 0.0])]
        tries = [minimize(nll, begin, method="Nelder-Mead", options=options) for begin in begins]
        at = min(tries, key=lambda one: float(one.fun)).x
    return Curve(model, _unscaled(model, np.exp(at), scale), _log_sd(nll, at), float(nll(at)), start)


def expected_sd(days: Sequence[float], checks: Sequence[int], rate: float, start: float = 1.0) -> float:
    """Standard error of an exponential's rate from the expected information Σ n I² R / (1 - R), R = R0 exp(-λI).

    >>> round(expected_sd([30.0, 90.0], [25, 16], 0.00251505698), 8)
    0.00111993
    """
    shares = [start * exp(-rate * day) for day in days]
    return 1 / sqrt(sum(n * day**2 * one / (1 - one) for day, n, one in zip(days, checks, shares, strict=True)))


def likelihood_interval(
    data: Sequence[Censored], curve: Curve, target: float = TARGET, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Likelihood-ratio interval for the days to a target reliability, of an exponential or Weibull curve.

    Every interval is in it whose best likelihood falls short of the best of all by less than half of chi squared with
    one degree of freedom; inf where there is no upper end within 10^6 times the data. `ValueError` for other models.
    Source: Meeker and Escobar (1998), 7.3.

    >>> data = current_status([90.0], [20], [18])
    >>> [round(one, 1) for one in likelihood_interval(data, curve_of(data))]
    [14.2, 263.6]
    """
    from scipy.optimize import brentq
    from scipy.special import ndtri

    if curve.model not in ("exponential", "weibull"):
        raise ValueError("a likelihood interval is given for the exponential and the Weibull")
    scale = _scale(data)
    drop = float(ndtri((1 + confidence) / 2)) ** 2 / 2
    profile = _profile(data, curve.model, target, scale, curve.start)

    def beyond(at: float) -> float:
        return profile(at) - curve.nll - drop

    if curve.parameters[0] == 0:
        top = 14.0
        return exp(brentq(beyond, -14.0, top, xtol=1e-10)) * scale if beyond(-14.0) > 0 else 0.0, inf
    best = log(curve.interval(target) / scale)
    low = brentq(beyond, best - 14.0, best, xtol=1e-10) if beyond(best - 14.0) > 0 else -inf
    high = brentq(beyond, best, best + 14.0, xtol=1e-10) if beyond(best + 14.0) > 0 else inf
    return exp(low) * scale, exp(high) * scale if isfinite(high) else inf


def at_least(checks: int, good: int, confidence: float = CONFIDENCE) -> float:
    """One-sided lower bound of a share of which `good` of `checks` are seen; with none failed α^(1/n).

    Source: Clopper and Pearson (1934), Biometrika 26, 404.

    >>> round(at_least(59, 59), 4)
    0.9505
    """
    from scipy.special import betaincinv

    _share(confidence=confidence)
    if not 0 <= good <= checks or checks == 0:
        raise ValueError("a share needs 0 <= good <= checks, and one check at least")
    return float(betaincinv(good, checks - good + 1, 1 - confidence)) if good else 0.0


def found_inside(u: float, tolerance: float) -> float:
    """R0: the chance that a check finds a thermometer inside that is exactly right, from the noise of its reading.

    u: standard uncertainty of what is new in each reading, °C, not negative; tolerance: °C, more than 0. One that is
    not exactly right is found inside more rarely, so this lets too much count as worn rather than too little.

    >>> round(found_inside(0.5, 1.0), 4)
    0.9545
    """
    if not (u >= 0 and tolerance > 0 and isfinite(u)):
        raise ValueError("u must not be negative, the tolerance more than 0")
    return erf(tolerance / (u * sqrt(2))) if u else 1.0


def staircase(days: float, shares: Sequence[float], longest: float | None = None) -> float:
    """The interval by the simple alternative: longer after a check well inside, shorter after one outside.

    days: the interval to begin with; shares: offset over tolerance of the checks, without sign, in their order; at
    80 % or less it grows by a quarter, above 1 it is halved. longest: it never passes twice this.
    Source: ILAC-G24:2022, method 1; its figures are judgement.

    >>> staircase(8.0, [0.3, 0.9, 1.2])
    5.0
    """
    if not days > 0:
        raise ValueError("an interval must be more than 0")
    for share in shares:
        days *= SHORTER if share > 1 else LONGER if share <= WELL_INSIDE else 1.0
        days = days if longest is None else min(days, FARTHEST * longest)
    return days


@dataclass(frozen=True, slots=True)
class Followed:
    """One thermometer for `first_passage`: its track, the tolerance and temperature, °C, and what its site shares."""

    track: Track
    tolerance: float
    temperature: float = 0.0
    shared_u: float = 0.0

    def out_after(self, days: float) -> float:
        """The chance of being out so many days after its last check or adjustment."""
        at = self.track.now.at_days + days
        return probability_out(self.track, at, self.tolerance, self.temperature, self.shared_u)


def first_passage(those: Sequence[Followed], farthest: int, target: float = TARGET) -> int | None:
    """The last whole day after a check on which so large a share of them is still inside, by what the tracker says.

    farthest: days, no further; reached, it is the answer. 0 where too many are out at once. None for none of them.
    It needs no premise of how they are set: the track knows what every adjustment left.

    >>> first_passage([], 30)
    """
    _share(target=target)
    if not those:
        return None

    def inside(day: int) -> float:
        return 1 - sum(one.out_after(day) for one in those) / len(those)

    return next((max(day - 1, 0) for day in range(farthest + 1) if inside(day) < target), farthest)


# --- the arithmetic ------------------------------------------------------------------------------------------


def _log_survival(model: Model, t: Any, a: float, b: float = 1.0) -> Any:
    """Of an array of times or one; 0 where nothing was lost yet."""
    import numpy as np
    from scipy.special import erf as erf_of

    with np.errstate(all="ignore"):
        if model == "exponential":
            return -a * np.asarray(t, float)
        if model == "weibull":
            return -((a * np.asarray(t, float)) ** b)
        if model == "mixed_exponential":
            return -b * np.log1p(a * np.asarray(t, float))
        return np.log(erf_of(1 / np.sqrt(a + b * np.asarray(t, float))))


def _nll_of(data: Sequence[Censored], model: Model, scale: float, start: float) -> "Callable[[np.ndarray], float]":
    """Minus log likelihood of the logarithms of the parameters, in scaled time."""
    import numpy as np

    low = np.array([one.low for one in data]) / scale
    high = np.array([one.high for one in data]) / scale
    count = np.array([one.count for one in data], float)
    ended = np.isfinite(high)

    def left(t: Any, at: Any) -> Any:
        """What is still seen right at t: all at nought, then R0 S(t)."""
        return np.where(t > 0, start * np.exp(_log_survival(model, t, *np.exp(at))), 1.0)

    def nll(at: Any) -> float:
        with np.errstate(all="ignore"):
            survived = np.where(ended, left(np.where(ended, high, 1.0), at), 0.0)
            chance = np.log(left(low, at) - survived)
            # A survival is kept as a logarithm, which does not run out of digits.
            kept = np.where(low > 0, log(start) + _log_survival(model, low, *np.exp(at)), 0.0)
            value = float(-(count * np.where(ended, chance, kept)).sum())
        return value if isfinite(value) else 1e300

    return nll


def _profile(
    data: Sequence[Censored], model: Model, target: float, scale: float, start: float
) -> Callable[[float], float]:
    """Minus the best log likelihood at a logarithm of the interval for the target, in scaled time."""
    import numpy as np
    from scipy.optimize import minimize_scalar

    nll, lost = _nll_of(data, model, scale, start), log(-log(target))
    if model == "exponential":
        return lambda at: nll(np.array([lost - at]))

    def best(at: float) -> float:
        # (a t)^b = -ln R*, so that ln a = ln(-ln R*) / b - ln t
        found = minimize_scalar(
            lambda shape: nll(np.array([lost / exp(shape) - at, shape])),
            bounds=(-3.0, 3.0),
            method="bounded",
            options={"xatol": 1e-10},
        )
        return float(found.fun)

    return best


def _scale(data: Sequence[Censored]) -> float:
    return max((end for one in data for end in (one.low, one.high) if isfinite(end)), default=1.0) or 1.0


def _unscaled(model: Model, parameters: Any, scale: float) -> tuple[float, ...]:
    """Back to days; a shape has no unit, and of the walk theta 1 has none."""
    found = [float(one) for one in parameters]
    found[1 if model == "random_walk" else 0] /= scale
    return tuple(found)


def _nothing_to_see(data: Sequence[Censored], start: float) -> bool:
    """Whether the likelihood falls from a rate of nought on: no more failed at once than R0 explains."""
    if any(one.low > 0 and isfinite(one.high) for one in data):
        return False
    held = sum(one.count * one.low for one in data if not isfinite(one.high))
    failed = sum(one.count * one.high for one in data if isfinite(one.high))
    return failed == 0 or held * (1 - start) >= failed * start


def _log_sd(nll: "Callable[[np.ndarray], float]", at: Any, step: float = 1e-4) -> tuple[float, ...]:
    """Standard errors of the logarithms from the curvature at the minimum, by central differences."""
    import numpy as np

    n = len(at)
    curved = np.empty((n, n))
    steps = np.eye(n) * step
    for i in range(n):
        for j in range(n):
            corners = [nll(at + p * steps[i] + q * steps[j]) for p, q in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
            curved[i, j] = (corners[0] - corners[1] - corners[2] + corners[3]) / (4 * step**2)
    with np.errstate(all="ignore"):
        try:
            variances = np.diag(np.linalg.inv(curved))
        except np.linalg.LinAlgError:
            return (inf,) * n
    return tuple(sqrt(one) if one > 0 else inf for one in map(float, variances))


def _falls_to(reliability: Callable[[float], float], target: float) -> float:
    from scipy.optimize import brentq

    high = 1.0
    while reliability(high) > target:
        high *= 2
        if high > 1e6:
            return inf
    if reliability(0.0) <= target:
        return 0.0
    return float(brentq(lambda day: reliability(day) - target, 0.0, high))


def _counted(days: Sequence[float], checks: Sequence[int], good: Sequence[int]) -> tuple[int, int]:
    """How many checks and failures in all; refuses what cannot be."""
    if not len(days) == len(checks) == len(good):
        raise ValueError("days, checks and good must be as many")
    if not all(day > 0 and isfinite(day) for day in days):
        raise ValueError("an interval must be more than 0 days")
    if not all(0 <= inside <= n for n, inside in zip(checks, good, strict=True)):
        raise ValueError("good must lie between 0 and checks")
    if not sum(checks):
        raise ValueError("a fit needs at least one check")
    return sum(checks), sum(checks) - sum(good)


def _share(**shares: float) -> None:
    for name, share in shares.items():
        if not 0 < share < 1:
            raise ValueError(f"{name} must lie between 0 and 1")
