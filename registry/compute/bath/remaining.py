"""The offsets that remain once the bath's error is taken off."""

from collections.abc import Sequence
from math import sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.beliefs import Habit
from registry.compute.bath.joined import Joined
from registry.compute.bath.likelihood import SMALLEST, Mixture
from registry.compute.bath.records import InBath, Remaining

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

OUT_FROM = 0.977  # beyond two standard deviations on one side
LEAST_SHARE = 1e-9  # of the probability: errors less likely are left out


def remaining(
    thermometers: Sequence[InBath],
    known: Mixture,
    errors: "Array",
    chances: "Array",
    on_new: "Array",
    joined: Joined,
    habit: Habit,
) -> tuple[Remaining, ...]:
    """Each part of each mixture at each error is a normal offset with a weight: moments and tails are their sums."""
    import numpy as np
    from scipy.special import ndtr

    if not thermometers:
        return ()
    weights, offsets, variances = _by_part(known, errors, chances, on_new[:, None], joined, habit.mean)
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


def _by_part(
    known: Mixture, errors: "Array", chances: "Array", here: "Array", joined: Joined, habit_mean: float
) -> tuple["Array", "Array", "Array"]:
    """Weight, mean and variance of the offset in each part at each likely error; (3, thermometers, likely errors)."""
    import numpy as np

    likely = np.flatnonzero(np.maximum(joined.whole, joined.new) > LEAST_SHARE)
    share = np.where(here, joined.new[likely], joined.whole[likely])
    weights = chances[:, :, likely] / np.maximum(chances[:, :, likely].sum(axis=0), SMALLEST) * share
    weights /= weights.sum(axis=(0, 2), keepdims=True)
    offsets, variances = _offsets(known, errors[:, likely])
    offsets = offsets - np.where(here, habit_mean + joined.habit[likely], 0.0)
    return weights, offsets, variances + np.where(here, joined.habit_variance[likely], 0.0)


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
