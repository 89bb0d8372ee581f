"""Steps that nobody reported, looked for in many thermometers at once: `steps.suspect` on arrays."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from registry.compute.drift.lanes import Given, Rows, next_rows, picked, put
from registry.compute.drift.reading import Lesson
from registry.compute.drift.state import Number
from registry.compute.drift.steps import AGREES, LEVEL, LOOKS_BACK, YEAR_DAYS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Suspected(NamedTuple):
    """Lanes with a step, the row just before which it came, its size in °C, the information on it, chance a check."""

    lanes: "Array"
    rows: "Array"
    sizes: "Array"
    information: "Array"
    chances: "Array"


def suspects(of: Given, rows: Sequence[Rows], first_days: "Array", lanes: "Array") -> Suspected:
    """Of these lanes, the ones in whose last six checks a step is likely enough. first_days: of each lane's history."""
    import numpy as np

    last = rows[-LOOKS_BACK:]
    lengths, odd = _window(last, lanes)
    gap_days = (last[-1].column.at_days[lanes] - first_days[lanes]) / max(len(rows) - 1, 1)
    false = of.false_steps[lanes] * np.maximum(gap_days, 0.01) / YEAR_DAYS
    limit2 = _limit(false) ** 2
    worth = (lengths >= 2) & (false > 0) & (odd >= limit2 / 2)
    window = [
        _Shown(*picked((row.column.days, row.column.temperature, row.m, row.lesson), lanes[worth])) for row in last
    ]
    strength, size, information = _likeliest(window, lengths[worth], limit2[worth])
    place = np.argmax(strength, axis=0) if len(strength) else np.zeros(worth.sum(), dtype=int)
    which = np.arange(len(place))
    found = strength[place, which] > 0 if len(strength) else np.zeros(0, dtype=bool)
    place, which = place[found], which[found]
    return Suspected(
        lanes[worth][found],
        len(rows) - len(window) + place,
        size[place, which],
        information[place, which],
        np.minimum(1.0, false[worth][found]),
    )


def _window(rows: Sequence[Rows], lanes: "Array") -> "tuple[Array, Array]":
    """How many of the last rows are checks as any other, and how odd they are together."""
    import numpy as np

    alive = np.ones(len(lanes), dtype=bool)
    lengths, odd = np.zeros(len(lanes), dtype=int), np.zeros(len(lanes))
    for row in reversed(rows):
        plain, miss, variance, shrink = picked((row.plain, row.miss, row.variance, row.lesson.shrink), lanes)
        alive = alive & plain
        lengths += alive
        odd += np.where(alive & (shrink != 0), miss**2 / variance, 0.0)
    return lengths, odd


def _limit(false_a_check: "Array") -> "Array":
    from numpy import minimum
    from scipy.special import ndtri

    limit: Array = -ndtri(minimum(false_a_check / (LOOKS_BACK - 1), LEVEL) / 2)
    return limit


class _Shown(NamedTuple):
    """What the regression asks of a row."""

    days: Number
    temperature: Number
    m: tuple[Number, Number, Number]
    lesson: Lesson


def _likeliest(window: Sequence[_Shown], lengths: "Array", limit2: "Array") -> "tuple[Array, Array, Array]":
    """By the row before which a step may have come: its strength, 0 where it is not likely enough; size; information.

    Shapes (rows - 1, lanes). The regression is that of `steps`, begun at each row.
    """
    import numpy as np

    count = len(window) - 1
    shape = count, len(lengths)
    offset, slope, rate = np.ones(shape), np.zeros(shape), np.zeros(shape)
    score, information = np.zeros(shape), np.zeros(shape)
    alone: list[Any] = []
    for place, row in enumerate(window):
        begun = slice(0, min(place + 1, count))
        offset[begun] += rate[begun] * row.days
        shows = offset[begun] + row.temperature * slope[begun]
        shift, shrink, _ = row.lesson
        score[begun] += shows * shift
        information[begun] += shows * shows * shrink
        if place >= count - 1:
            tells = (shrink > 0) & (shows > 0)
            alone.append(np.where(tells, shift / np.where(shrink > 0, shrink, 1.0) / np.where(tells, shows, 1.0), 0.0))
        lost = shrink * shows
        a, b, c = row.m
        offset[begun] -= a * lost
        slope[begun] -= b * lost
        rate[begun] -= c * lost
    size = np.where(information > 0, score / np.where(information > 0, information, 1.0), 0.0)
    strength = size * size * information
    enough = (strength > limit2) & (np.arange(count)[:, None] >= len(window) - lengths)
    for one in alone:
        enough &= one / np.where(size != 0, size, 1.0) > AGREES
    return np.where(enough, strength, 0.0), size, information


def redo(of: Given, rows: Sequence[Rows], lanes: Any, numbers: Any) -> None:
    """Follow these lanes again, in place, with a step known to have come just before the row of that number."""
    import numpy as np

    for number in range(int(numbers.min()), len(rows)):
        some = numbers <= number
        those = lanes[some]
        last = picked(rows[number - 1], those) if number else None
        step = np.where(numbers[some] == number, 1.0, 0.0)
        put(rows[number], those, next_rows(picked(of, those), last, picked(rows[number].column, those), step))
