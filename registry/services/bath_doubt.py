"""What the band above the list says when the thermometers of a bath agree with each other and not with it."""

from dataclasses import dataclass
from typing import Literal

from registry.compute.check import written
from registry.quantity import TemperatureDifference
from registry.services.bath_watch import BathWatch, Watched


@dataclass(frozen=True, slots=True)
class Dot:
    """One thermometer in the plot: by how much it read beyond what was expected of it, °C.

    counts: it agrees with the others; else it may be off by itself.
    """

    thermometer: str
    tag_id: str
    digital: bool
    move: TemperatureDifference
    counts: bool


@dataclass(frozen=True, slots=True)
class BathDoubt:
    """A bath that is likelier off than its thermometers are. shift: by how much, °C, with its sign."""

    watch: BathWatch
    direction: Literal["high", "low"]
    shift: TemperatureDifference
    dots: tuple[Dot, ...]

    @property
    def bath(self) -> str:
        return self.watch.bath


def doubt_of(found: BathWatch | None) -> BathDoubt | None:
    """What to say of a bath, if its thermometers speak against it."""
    if found is None or found.diagnosis.verdict != "bad":
        return None
    error = found.diagnosis.error.mean
    dots = tuple(_dot(one) for one in found.those)
    return BathDoubt(found, "high" if error > 0 else "low", written(error, "C"), dots)


def _dot(one: Watched) -> Dot:
    move = written(one.told.reading - one.told.predicted, "C")
    return Dot(one.thermometer, one.tag_id, one.digital, move, one.told.counts and not one.remaining.disagrees)
