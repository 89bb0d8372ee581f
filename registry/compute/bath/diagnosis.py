"""The bath or the thermometers: the posterior of a bath's error, and the offsets that remain."""

from collections.abc import Sequence
from math import sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.beliefs import BathPrior, Habit, Tails
from registry.compute.bath.joined import join
from registry.compute.bath.likelihood import SMALLEST, STEP, grid, mixture, prior
from registry.compute.bath.records import (
    ENOUGH_READINGS,
    ENOUGH_TRUSTED,
    BathError,
    Diagnosis,
    InBath,
    Remaining,
    Verdict,
    Wanted,
)
from registry.compute.bath.remaining import remaining

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Probabilities that the error is beyond what is allowed. A bath is bad where that is more likely than not; where only
# the habit says so, and nothing of today, two to one: else one site in fifty would be told so each day for nothing.
BAD_FROM, BAD_BY_HABIT_FROM = 0.5, 2 / 3
GOOD_TO = 0.05
NO_HABIT, COMMON_TAILS = Habit(), Tails()


def diagnose(
    thermometers: Sequence[InBath], of: BathPrior, habit: Habit = NO_HABIT, tails: Tails = COMMON_TAILS
) -> Diagnosis:
    """The error of a bath from what all its thermometers read as found.

    thermometers: in any order, none or more; of: what is believed of such a bath; habit: what is known of this site and
    method. The error is the habitual part plus what is new today. Judged when two trusted or three readings are in.
    Everything is integrated on a grid of 0.02 °C to 10 °C either way: nothing is taken as normal but what is handed in,
    save the offset that remains in each part of the mixture when its probability of being out is worked out.
    Source: Bayes' rule; for the mixture against outliers Box and Tiao, Biometrika 55 (1968) 119, from memory; rounded
    readings as intervals, as in grouped data: common practice.

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
    joined = join(prior(new, of), logs[on_new].sum(axis=0), logs[on_whole].sum(axis=0), habit.sd)
    whole = habit.mean + new
    beyond, new_beyond = _beyond(whole, joined.whole, of.allowed), _beyond(new, joined.new, of.allowed)
    left = remaining(thermometers, known, errors, chances, on_new, joined, habit)
    readings, trusted = sum(one.counts for one in thermometers), sum(one.trusted for one in thermometers)
    verdict = _verdict(beyond, new_beyond, readings, trusted)
    wanted = _wanted(verdict, left, readings, trusted)
    return Diagnosis(_error(whole, joined.whole), beyond, of.allowed, verdict, left, wanted, readings, trusted)


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
    if beyond >= BAD_BY_HABIT_FROM or min(beyond, new_beyond) >= BAD_FROM:
        return "bad"
    return "good" if min(beyond, new_beyond) <= GOOD_TO else "too_few"


def _wanted(verdict: Verdict, left: Sequence[Remaining], readings: int, trusted: int) -> tuple[Wanted, ...]:
    """What would decide, most telling first; or that the bath wants making again."""
    if verdict != "too_few":
        return ("remake",) if verdict == "bad" else ()
    odd: tuple[Wanted, ...] = ("read_again",) if any(one.disagrees for one in left) else ()
    few: tuple[Wanted, ...] = ("readings",) if readings < ENOUGH_READINGS else ()
    return (*odd, "trusted", *few)
