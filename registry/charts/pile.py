"""How far each thermometer in a bath moved since last time, as a pile of dots."""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from registry.charts.axes import nice_step, value_ticks
from registry.charts.model import Axis, Tick, Words
from registry.quantity import TemperatureDifference, Unit


@dataclass(frozen=True, slots=True)
class Dot:
    """One thermometer on a pile: the middle of its column, its place in it from 0 at the bottom, and it in words."""

    key: str
    value: float
    level: int
    text: str = ""


@dataclass(frozen=True, slots=True)
class DotPile:
    """How far each thermometer moved since last time: one dot each, piled where they moved alike.

    highest: dots in the tallest column; text: all of it in a sentence.
    """

    value: Axis
    unit: Unit
    dots: tuple[Dot, ...]
    highest: int
    text: str = ""


def dot_pile(
    moves: Iterable[tuple[str, TemperatureDifference]], words: Words, unit: Unit, columns: int = 24
) -> DotPile:
    """Dots for (key, move), a key once; the axis always holds nought, so that moving together is seen against it."""
    those = list(moves)
    shown = {key: by.to(unit).rounded(1) for key, by in those}
    moved = sorted((float(Fraction(by.to(unit).value)), key) for key, by in those)
    least = 0.25 if unit == "C" else 0.5
    values = [-least, least, *(value for value, _ in moved)]
    wide = float(nice_step(max(values) - min(values), columns))
    first, last = floor(min(values) / wide) - 2, ceil(max(values) / wide) + 2
    middles = [n * wide for n in range(first, last + 1)]
    full = [0] * len(middles)
    dots = []
    for value, key in moved:
        column = max(bisect_left(middles, value - wide / 2 - 1e-9 * wide), 0)
        dots.append(Dot(key, middles[column], full[column], words.say("dot", key=key, value=shown[key])))
        full[column] += 1
    low, high = middles[0], middles[-1]
    ticks = tuple(Tick(float(one), words.number(one, unit), one == 0) for one in value_ticks(low, high, 6))
    ends = {"least": shown[moved[0][1]], "most": shown[moved[-1][1]]} if moved else {}
    text = words.say("pile", count=len(moved), **ends) if moved else ""
    return DotPile(Axis(low, high, ticks, words.say("moved_axis", unit=unit)), unit, tuple(dots), max(full), text)
