"""The bath or the thermometers: the posterior of a bath's error, and the offsets that remain."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.likelihood import STEP, Mixture, grid, mixture, prior
from registry.compute.bath.records import (
    ENOUGH_READINGS,
    ENOUGH_TRUSTED,
    BathError,
    BathPrior,
    Diagnosis,
    Habit,
    InBath,
    Remaining,
    Tails,
    Verdict,
    Wanted,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BAD_FROM = 0.5  # probability that the whole error is beyond what is allowed: more likely than not
GOOD_TO = 0.05  # probability that its new part is, at most
OUT_FROM = 0.977  # beyond two standard deviations on one side
NO_HABIT, COMMON_TAILS = Habit(), Tails()
SMALLEST = 1e-300  # so that a logarithm or quotient of what can't be stays a number
LEAST_SHARE = 1e-9  # of the probability: errors less likely are left out of what remains


def diagnose(
    thermometers: Sequence[InBath], of: BathPrior, habit: Habit = NO_HABIT, tails: Tails = COMMON_TAILS
) -> Diagnosis:
    """The error of a bath from what all its thermometers read as found.

    thermometers: in any order, none or more; of: what is believed of such a bath; habit: what is known of this site and
    method. The error is the habitual part plus what is new today. Judged when two trusted or three readings are in.
    Everything is integrated on a grid of 0.02 °C to 10 °C either way: nothing is taken as normal but what is handed in,
    save the offset that remains in each part of the mixture when its probability of being out is worked out.
    Source: Bayes' rule; for the mixture against outliers Box and Tiao, Biometrika 55 (1968) 119, from memory; rounded
    readings as intervals: Gaussian errors in grouped data, Sheppard's problem, from memory.

    >>> from registry.compute.bath import ice
    >>> probes = [InBath(0.1, 0.1, reading, 0.06, 0.05) for reading in (0.8, 0.9, 0.8)]
    >>> found = diagnose(probes, ice())
    >>> found.verdict, round(found.error.mean, 2), found.disagree
    ('bad', 0.73, ())
    """
    import numpy as np

    new, known = grid(), mixture(thermometers, tails)
    on_new = np.array([one.basis == "here" for one in thermometers], dtype=bool)
    on_whole = np.array([one.basis == "elsewhere" for one in thermometers], dtype=bool)
    errors = np.where(on_new[:, None], new, habit.mean + new)  # of what each reading speaks
    chances = known.chances(errors)
    logs = np.log(np.maximum(chances.sum(axis=0), SMALLEST))
    joined = _join(prior(new, of), logs[on_new].sum(axis=0), logs[on_whole].sum(axis=0), habit.sd)
    whole = habit.mean + new
    beyond, new_beyond = _beyond(whole, joined.whole, of.allowed), _beyond(new, joined.new, of.allowed)
    remaining = _remaining(thermometers, known, errors, chances, on_new, joined, habit)
    readings, trusted = sum(one.counts for one in thermometers), sum(one.trusted for one in thermometers)
    verdict = _verdict(beyond, new_beyond, readings, trusted)
    wanted = _wanted(verdict, remaining, readings, trusted)
    return Diagnosis(_error(whole, joined.whole), beyond, of.allowed, verdict, remaining, wanted, readings, trusted)


@dataclass(frozen=True)
class _Joined:
    """Probabilities on the grid: of the whole error, of its new part; and given each new part, mean and variance of
    the habit beside its own mean."""

    whole: "Array"
    new: "Array"
    habit: "Array"
    habit_variance: "Array"


def _join(before: "Array", log_new: "Array", log_whole: "Array", habit_sd: float) -> _Joined:
    """The whole error is the sum of the new part and the habit: its density is a convolution with the habit's."""
    import numpy as np

    new = before * np.exp(log_new - log_new.max())
    of_whole = np.exp(log_whole - log_whole.max())
    apart, kernel = _kernel(habit_sd)
    whole = of_whole * np.convolve(new, kernel, "same")
    weight = np.maximum(np.convolve(of_whole, kernel, "same"), SMALLEST)  # the kernel is even
    first = -np.convolve(of_whole, kernel * apart, "same") / weight
    second = np.convolve(of_whole, kernel * apart**2, "same") / weight
    new = new * weight
    return _Joined(whole / whole.sum(), new / new.sum(), first, np.maximum(second - first**2, 0.0))


def _kernel(sd: float) -> tuple["Array", "Array"]:
    """Distances on the grid and the habit's probability in the cell around each; all at nought where known exactly.

    A cell's own width adds STEP²/12 to the variance (Sheppard's correction), which is taken off beforehand.
    """
    import numpy as np
    from scipy.special import ndtr

    within = sqrt(max(sd**2 - STEP**2 / 12, 0.0))
    reach = min(int(np.ceil(6 * within / STEP)), 400)
    apart = np.asarray(np.arange(-reach, reach + 1) * STEP, dtype=np.float64)
    if not reach:
        return apart, np.ones_like(apart)
    kernel = np.asarray(ndtr((apart + STEP / 2) / within) - ndtr((apart - STEP / 2) / within), dtype=np.float64)
    return apart, np.asarray(kernel / kernel.sum())


def _error(errors: "Array", share: "Array") -> BathError:
    import numpy as np

    mean = float(share @ errors)
    sd = sqrt(max(float(share @ (errors - mean) ** 2), 0.0))
    upto = np.cumsum(share) - share / 2
    low, median, high = np.interp([0.025, 0.5, 0.975], upto, errors).tolist()
    return BathError(mean, sd, low, median, high)


def _beyond(errors: "Array", share: "Array", allowed: float) -> float:
    import numpy as np

    outside = np.clip((np.abs(errors) - allowed) / STEP + 0.5, 0.0, 1.0)  # a grid point at the edge counts half
    return float(share @ outside)


def _verdict(beyond: float, new_beyond: float, readings: int, trusted: int) -> Verdict:
    if trusted < ENOUGH_TRUSTED and readings < ENOUGH_READINGS:
        return "too_few"
    if beyond >= BAD_FROM:
        return "bad"
    return "good" if new_beyond <= GOOD_TO else "too_few"


def _wanted(verdict: Verdict, remaining: Sequence[Remaining], readings: int, trusted: int) -> tuple[Wanted, ...]:
    """What would decide, most telling first; or that the bath wants making again."""
    if verdict != "too_few":
        return ("remake",) if verdict == "bad" else ()
    odd: tuple[Wanted, ...] = ("read_again",) if any(one.disagrees for one in remaining) else ()
    few: tuple[Wanted, ...] = ("readings",) if readings < ENOUGH_READINGS else ()
    return (*odd, "trusted", *few)


def _remaining(
    thermometers: Sequence[InBath],
    known: Mixture,
    errors: "Array",
    chances: "Array",
    on_new: "Array",
    joined: _Joined,
    habit: Habit,
) -> tuple[Remaining, ...]:
    """Each part of each mixture at each error is a normal offset with a weight: moments and tails are their sums."""
    import numpy as np
    from scipy.special import ndtr

    if not thermometers:
        return ()
    here = on_new[:, None]
    likely = np.flatnonzero(np.maximum(joined.whole, joined.new) > LEAST_SHARE)
    share = np.where(here, joined.new[likely], joined.whole[likely])
    weights = chances[:, :, likely] / np.maximum(chances[:, :, likely].sum(axis=0), SMALLEST) * share
    weights /= weights.sum(axis=(0, 2), keepdims=True)
    offsets, variances = _offsets(known, errors[:, likely])
    offsets = offsets - np.where(here, habit.mean + joined.habit[likely], 0.0)
    variances = variances + np.where(here, joined.habit_variance[likely], 0.0)
    limit = np.array([one.tolerance for one in thermometers])[:, None]
    sd = np.sqrt(variances)
    out = (weights * (ndtr((-limit - offsets) / sd) + ndtr((offsets - limit) / sd))).sum(axis=(0, 2))
    mean = (weights * offsets).sum(axis=(0, 2))
    spread = (weights * (variances + (offsets - mean[:, None]) ** 2)).sum(axis=(0, 2))
    odd = weights[1:].sum(axis=(0, 2))
    rows = zip(mean.tolist(), np.sqrt(spread).tolist(), out.tolist(), odd.tolist(), strict=True)
    return tuple(
        Remaining(offset, own, min(beyond, 1.0), beyond >= OUT_FROM, min(strange, 1.0), strange >= 0.5 and one.counts)
        for one, (offset, own, beyond, strange) in zip(thermometers, rows, strict=True)
    )


def _offsets(known: Mixture, errors: "Array") -> tuple["Array", "Array"]:
    """Mean and variance of the offset in each part, given the error and the reading's interval.

    What was shown before rounding is a normal cut to the interval; the offset's share of it is the gain. Source of the
    cut normal's moments: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, 13.10.1, from memory.
    """
    import numpy as np
    from scipy.special import ndtr

    variance = known.spread + known.noise
    sd, gain = np.sqrt(variance), known.spread / variance
    away = known.reading - known.predicted - errors
    side = np.where(away < 0, -1.0, 1.0)  # seen from the lower tail, whose digits are kept
    low, high = (-side * away - known.half) / sd, (-side * away + known.half) / sd
    inside = np.maximum(ndtr(high) - ndtr(low), SMALLEST)
    at_low, at_high = (np.exp(-0.5 * edge * edge) / sqrt(2 * np.pi) for edge in (low, high))
    mean = (at_low - at_high) / inside
    lost = mean * mean - (low * at_low - high * at_high) / inside
    left = np.clip(1.0 - lost, 0.0, 1.0)
    return known.predicted - side * gain * sd * mean, gain * known.noise + gain**2 * variance * left
