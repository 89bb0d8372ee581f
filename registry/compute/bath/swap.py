"""Readings that seem to be in each other's rows: the wrong row, or swapped tags."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb

from registry.compute.bath.beliefs import BathPrior, Habit, Tails
from registry.compute.bath.diagnosis import COMMON_TAILS, NO_HABIT
from registry.compute.bath.likelihood import SMALLEST, grid, mixture, prior
from registry.compute.bath.records import InBath

FALSE_RATE = 0.005  # of baths in which nothing was swapped: so many at most give a question


@dataclass(frozen=True, slots=True)
class Swap:
    """Two places, in the order given, whose readings fit each other's history; how many times better."""

    first: int
    second: int
    ratio: float


def swapped(
    thermometers: Sequence[InBath],
    of: BathPrior,
    habit: Habit = NO_HABIT,
    tails: Tails = COMMON_TAILS,
    false_rate: float = FALSE_RATE,
) -> tuple[Swap, ...]:
    """Pairs whose readings should be asked about, likeliest first; none in most baths. It asks and never acts.

    The likelihood of all readings with the two exchanged, over that as they stand, the bath's error integrated out of
    both; u_new, step and history go with the thermometer, the reading with its row. A ratio's mean is 1 where nothing
    is swapped, so that it reaches k in one of k cases at most (Markov's inequality): k is the number of pairs over
    `false_rate`, and at most so many baths give a false question as long as histories are what they say. The habit
    counts with its mean only. Those with no basis are left out.
    Source: likelihood ratio; Markov's inequality and Bonferroni's bound over the pairs.

    >>> from registry.compute.bath import ice
    >>> rows = [InBath(0.1, 0.1, 0.8, 0.06, 0.05), InBath(0.8, 0.1, 0.1, 0.06, 0.05), InBath(0.0, 0.1, 0.0, 0.06, 0.05)]
    >>> [(one.first, one.second) for one in swapped(rows, ice())]
    [(0, 1)]
    """
    import numpy as np

    places = [place for place, one in enumerate(thermometers) if one.counts]
    if len(places) < 2:
        return ()
    # Rows of the table: each reading as if read by each thermometer.
    crossed = [replace(thermometers[by], reading=thermometers[row].reading) for by in places for row in places]
    shift = np.array([0.0 if one.basis == "here" else habit.mean for one in crossed])[:, None]
    errors = grid()
    chances = mixture(crossed, tails).chances(errors + shift).sum(axis=0)
    logs = np.log(np.maximum(chances, SMALLEST)).reshape(len(places), len(places), -1)
    own = logs[np.arange(len(places)), np.arange(len(places))]
    total = own.sum(axis=0) + np.log(np.maximum(prior(errors, of), SMALLEST))
    share = np.exp(total - total.max())
    share /= share.sum()
    least = comb(len(places), 2) / false_rate
    found = []
    for a, b in combinations(range(len(places)), 2):
        ratio = float(share @ np.exp(np.minimum(logs[a, b] + logs[b, a] - own[a] - own[b], 600.0)))
        if ratio >= least:
            found.append(Swap(places[a], places[b], ratio))
    return tuple(sorted(found, key=lambda one: -one.ratio))
