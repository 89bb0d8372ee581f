"""A plain rule that warns when the thermometers of a bath seem to agree with each other and not with the bath.

It stands in until the bath is diagnosed by statistics, and it decides nothing. It is a judgement: no source gives
these numbers. One dropped thermometer never sets it off, nor one that always reads a little high, since each is
compared with its own last time; what a bath does to most of them at once does.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Literal

from registry.quantity import Exact, exact

LEAST_JUDGED = 3  # so many have to be judged in a bath before anything is said of it (judgement)
LEAST_MOVED = 3  # and so many of them have to be off the same way (judgement)


@dataclass(frozen=True, slots=True)
class Move:
    """One thermometer in the bath: by how much it is off beyond last time, °C, and whether that is more than its u."""

    move: Fraction
    counts: bool


@dataclass(frozen=True, slots=True)
class OneWay:
    """Most are off the same way: `count` of `of`. median: of all their moves, °C, with sign; moves in given order."""

    direction: Literal["high", "low"]
    count: int
    of: int
    median: Fraction
    moves: tuple[Move, ...]


def move(offset: Exact, u: Exact, last: Exact | None) -> Move:
    """How far a thermometer moved since last time; from nought where no last time is known.

    offset, last: reading minus reference, °C. u: standard uncertainty of today's offset, °C, not negative; a move
    counts when it is more than u. `ValueError` for NaN, infinity or a negative u.
    Source: none, a judgement.

    >>> move(0.5, 0.25, None), move(0.5, 0.25, 0.25).counts
    (Move(move=Fraction(1, 2), counts=True), False)
    """
    if exact(u) < 0:
        raise ValueError("u must not be negative")
    moved = exact(offset) - (exact(last) if last is not None else 0)
    return Move(moved, abs(moved) > exact(u))


def most_one_way(moves: Sequence[Move]) -> OneWay | None:
    """Whether at least three are judged, and at least three and more than half of them moved the same way.

    moves: of every thermometer judged in one bath, from `move`. None where there is nothing to warn of.
    Source: none, a judgement.

    >>> found = most_one_way([move(0.5, 0.25, None)] * 3 + [move(0, 0.25, None)] * 2)
    >>> found and (found.direction, found.count, found.of, found.median)
    ('high', 3, 5, Fraction(1, 2))
    """
    if len(moves) < LEAST_JUDGED:
        return None
    high = sum(one.counts and one.move > 0 for one in moves)
    low = sum(one.counts and one.move < 0 for one in moves)
    count = max(high, low)
    if count < LEAST_MOVED or 2 * count <= len(moves):
        return None
    middle = median(one.move for one in moves)
    return OneWay("high" if high > low else "low", count, len(moves), middle, tuple(moves))
