"""A kitchen's own figures: repeatability, and how far its ice and its pots are off, from an afternoon's readings.

The same thermometers are read several times in each of several baths. Scatter within one bath is repeatability;
what moves all thermometers of a bath alike is the bath.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, inf, isfinite, sqrt
from statistics import mean, variance


@dataclass(frozen=True, slots=True)
class Cell:
    """One thermometer in one bath.

    bath: names the bath; made: how, or which pot. readings: each minus the nominal reference, °C; step: of the display
    or scale as read, °C.
    """

    thermometer: str
    bath: str
    made: str
    readings: tuple[float, ...]
    step: float

    def __post_init__(self) -> None:
        if not self.readings or not all(map(isfinite, self.readings)) or not self.step >= 0:
            raise ValueError("a cell needs finite readings and a step that is not negative")

    @property
    def mean(self) -> float:
        return mean(self.readings)


@dataclass(frozen=True, slots=True)
class Found:
    """A figure: standard uncertainty u, °C, its degrees of freedom, how many readings and baths it rests on.

    mean: by how much such baths were off, °C; 0 for repeatability.
    """

    u: float
    dof: float
    readings: int
    baths: int
    mean: float = 0.0


def repeatability(cells: Sequence[Cell]) -> Found:
    """Standard deviation of one reading, pooled over thermometers and baths, °C.

    cells: of thermometers of one kind; those read once say nothing. Never less than a step rounds by itself: where
    a coarse display shows the same each time, its scatter is unseen, not nought. ValueError where nothing was repeated.
    Source: pooled standard deviation, NIST/SEMATECH e-Handbook 2.2.3.2 and ISO 5725-2:2019 7.4, from memory.

    >>> found = repeatability([Cell("A", "1", "", (0.1, 0.3), 0.1), Cell("B", "1", "", (0.0, 0.2, 0.1), 0.1)])
    >>> round(found.u, 4), found.dof
    (0.1155, 3)
    """
    repeated = [one for one in cells if len(one.readings) > 1]
    dof = sum(len(one.readings) - 1 for one in repeated)
    if not dof:
        raise ValueError("no thermometer was read twice in one bath")
    pooled = sum((len(one.readings) - 1) * variance(one.readings) for one in repeated) / dof
    rounding = sum((len(one.readings) - 1) * one.step**2 / 12 for one in repeated) / dof
    readings = sum(len(one.readings) for one in repeated)
    return Found(sqrt(max(pooled, rounding)), dof, readings, len({one.bath for one in repeated}))


def ice(cells: Sequence[Cell], made: str, best: str, best_u: float) -> Found:
    """How far ice made so is off, °C, beside the best ice that the same thermometers were read in.

    best: how the ice was made that stands for 0 °C; best_u: its standard uncertainty, °C. The mean error is not
    corrected for, so that it counts whole in u. ValueError where no thermometer was read in both.
    Source: JCGM 100:2008 F.2.4.5 (a known error that is not corrected) and (G.2b).
    """
    in_best = {one: mean(values) for one, values in _by_thermometer(cells, best).items()}
    apart = defaultdict(list)
    for cell in cells:
        if cell.made == made and cell.thermometer in in_best:
            apart[cell.bath].append(cell.mean - in_best[cell.thermometer])
    if not apart:
        raise ValueError(f"no thermometer was read in ice made as {made} and as {best}")
    return _found(apart, sum(len(one.readings) for one in cells if one.made == made), best_u)


def boiling(cells: Sequence[Cell], ice_offsets: Mapping[str, float], scale_share: float, span: float = 100.0) -> Found:
    """How far pots at a hard boil are off the boiling point, °C.

    cells: readings minus boiling point. ice_offsets: of the same thermometers in the best ice, °C; scale_share: how far
    a scale may stretch, °C per °C, over `span` °C between ice and boil: several thermometers share it down.
    ValueError where none of them was read in ice.
    """
    apart = defaultdict(list)
    for cell in cells:
        if cell.thermometer in ice_offsets:
            apart[cell.bath].append(cell.mean - ice_offsets[cell.thermometer])
    if not apart:
        raise ValueError("no thermometer was read both in ice and in boiling water")
    known = {cell.thermometer for cell in cells if cell.thermometer in ice_offsets}
    return _found(apart, sum(len(one.readings) for one in cells), scale_share * span / sqrt(len(known)))


def _by_thermometer(cells: Sequence[Cell], made: str) -> dict[str, list[float]]:
    found: dict[str, list[float]] = defaultdict(list)
    for cell in cells:
        if cell.made == made:
            found[cell.thermometer].append(cell.mean)
    return found


def _found(apart: Mapping[str, Sequence[float]], readings: int, known_u: float) -> Found:
    """From what the thermometers of each bath say of it. One bath alone shows no spread between baths."""
    errors = [mean(one) for one in apart.values()]
    average, between = mean(errors), variance(errors) if len(errors) > 1 else 0.0
    u = hypot(average, sqrt(between), known_u)
    dof = inf if between == 0 else u**4 / (between**2 / (len(errors) - 1))
    return Found(u, dof, readings, len(errors), average)
