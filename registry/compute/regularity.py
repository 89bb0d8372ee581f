"""Readings too regular to be true: a quiet statistic of one visit to a bath, or of a site over weeks.

Each sign is counted and held against the chance that an honest reading shows it too: it repeats what the thermometer
showed last time, it was keyed sooner than the instrument settles, it has finer digits than the display, it falls on the
same minute as another. No sign says that a reading was made up: a kitchen that keys from paper keys at once. So a visit
is notable only where repeats are too many as well, and a site's own habit counts as honest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import erf, isfinite, sqrt

ALPHA = 1e-4  # an honest visit in 10 000 is notable
REPEATS_TOO = 0.01  # and of these, repeats alone are as many in one of a hundred at most
LEAST = 4  # readings with one before them: fewer tell nothing
# Chances that an honest reading is keyed early, is too fine, or falls on a minute with another: judgement.
EARLY, FINER, SAME_MINUTE = 0.05, 0.01, 0.5
SIGNS = ("repeats", "early", "finer", "same_minute")


@dataclass(frozen=True, slots=True)
class Keyed:
    """One reading of a visit and what it shows of each sign.

    repeats: as the last one at this point was; None where there was none. chance: that an honest one does. early:
    keyed before the instrument settles; None where nobody knows when it was put in. finer: digits that the display has
    not. minute: whole minutes of its instant.
    """

    repeats: bool | None
    chance: float
    early: bool | None
    finer: bool
    minute: int


@dataclass(frozen=True, slots=True)
class Honest:
    """How often honest readings of a site show what is judged by its habit, 0 to 1."""

    early: float = EARLY
    same_minute: float = SAME_MINUTE

    def __post_init__(self) -> None:
        if not (0 < self.early <= 1 and 0 < self.same_minute <= 1):
            raise ValueError("a chance lies above 0 and up to 1")


@dataclass(frozen=True, slots=True)
class Sign:
    """How often a sign is seen among so many readings, how often it would be, and the chance of so many or more."""

    seen: int
    among: int
    expected: float
    p: float


@dataclass(frozen=True, slots=True)
class Regularity:
    """One visit. signs: by name of SIGNS. p: the smallest of them times their number, 1 at most (Bonferroni).

    notable: p is under ALPHA, repeats alone under REPEATS_TOO, and enough readings had one before them.
    """

    signs: dict[str, Sign]
    p: float
    notable: bool


def repeat_chance(step: float, sd: float) -> float:
    """The chance that two honest readings of one thing show the same, where they lie in the middle of a step.

    step: of display or scale as read, more than 0; sd: of one reading, not negative, in the same unit. Elsewhere in the
    step, and where the bath or the thermometer changed, it is less.

    >>> round(repeat_chance(0.1, 0.05), 3)
    0.516
    """
    if not (step > 0 and sd >= 0 and isfinite(step) and isfinite(sd)):
        raise ValueError("the step must be more than 0, the sd not negative")
    if sd == 0:
        return 1.0
    reach = int(9 * sd / step) + 1
    edges = [erf((n - 0.5) * step / (sd * sqrt(2))) / 2 for n in range(-reach, reach + 2)]
    return sum((above - below) ** 2 for below, above in pairwise(edges))


def by_habit(chance: float, seen: int, among: int) -> float:
    """A chance, or what was seen before where that is more: (seen + 1) of (among + 2), once it was seen twenty times.

    >>> by_habit(0.3, 40, 50), by_habit(0.3, 4, 5)
    (0.7884615384615384, 0.3)
    """
    return max(chance, (seen + 1) / (among + 2)) if among >= 20 else chance


def tail(chances: Sequence[float], seen: int) -> float:
    """The chance that so many or more of independent events with these chances happen (Poisson binomial).

    >>> tail([0.5, 0.5], 2)
    0.25
    """
    if not all(0 <= one <= 1 for one in chances):
        raise ValueError("a chance lies between 0 and 1")
    if seen <= 0:
        return 1.0
    so_far = [1.0]  # chance of each number
    for chance in chances:
        so_far = [
            (so_far[n] * (1 - chance) if n < len(so_far) else 0.0) + (so_far[n - 1] * chance if n else 0.0)
            for n in range(len(so_far) + 1)
        ]
    return min(sum(so_far[seen:]), 1.0)


def sign(chances: Sequence[float], seen: int) -> Sign:
    return Sign(seen, len(chances), sum(chances), tail(chances, seen))


def regularity(those: Sequence[Keyed], honest: Honest | None = None) -> Regularity:
    """How regular the readings of one visit are; `honest`: what is this site's habit.

    >>> made_up = [Keyed(True, 0.4, True, False, 7) for _ in range(9)]
    >>> regularity(made_up).notable, regularity([Keyed(False, 0.4, True, False, 7)] * 9).notable
    (True, False)
    """
    usual = honest or Honest()
    again = [one for one in those if one.repeats is not None]
    timed = [one for one in those if one.early is not None]
    minutes = len(those) - len({one.minute for one in those})
    signs = {
        "repeats": sign([one.chance for one in again], sum(bool(one.repeats) for one in again)),
        "early": sign([usual.early] * len(timed), sum(bool(one.early) for one in timed)),
        "finer": sign([FINER] * len(those), sum(one.finer for one in those)),
        "same_minute": sign([usual.same_minute] * max(len(those) - 1, 0), minutes),
    }
    p = min(1.0, len(SIGNS) * min(one.p for one in signs.values()))
    notable = p < ALPHA and signs["repeats"].p < REPEATS_TOO and len(again) >= LEAST
    return Regularity(signs, p, notable)
