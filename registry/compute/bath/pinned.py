"""The part of a bath's error that a site's baths of one kind have in common, learned from what owes nothing to them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.beliefs import Habit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

GROSS = 4.0  # times its own u from the median of all: something else than the bath is wrong with it
USUAL = 0.3  # °C: spread of habitual errors among sites; judgement


@dataclass(frozen=True, slots=True)
class Pin:
    """One thing that pins the habitual error of a site and method, by how much it read high there.

    difference: what it read in these baths minus the nominal reference, minus what it should have read, °C. u: how
    uncertain that is, habit aside, °C, more than 0. model: those of one model may be off alike; empty for none.

    What pins it: a thermometer's checks up to its first adjustment or incident, all of them where there was none (u: of
    their mean, and the spread of its type in quadrature; a new one's first reading is that with one check); a reference
    thermometer in the bath (u: its own, and that of a good bath). A thermometer adjusted in these baths was set to them
    and pins nothing from then on. Leaving out those that were adjusted later, instead of taking them up to then, would
    leave only those that by luck had read near nought.
    """

    difference: float
    u: float
    model: str = ""

    def __post_init__(self) -> None:
        if not isfinite(self.difference):
            raise ValueError("difference must be a finite number")
        if not (isfinite(self.u) and self.u > 0):
            raise ValueError("u must be more than 0")


def habit(pins: Sequence[Pin], model_u: float = 0.1, common_u: float = 0.0, usual: float = USUAL) -> Habit:
    """The habitual error of a site and method. Pins that are gross are left out and named.

    model_u: how far the mean of a model may be off, °C; common_u: standard deviation of what all pins have in common
    beside the habit, °C (where they rest on the same n baths, the new part of one over root n); usual: spread of habits
    among sites, °C; infinite where nothing is to be assumed. With no pins the habit is 0 ± usual. `ValueError` for a
    negative figure, or no pins and an infinite `usual`.
    Source: generalised least squares; spread between the pins by moments, DerSimonian and Laird, Controlled Clinical
    Trials 7 (1986) 177, equation (8), from memory; a normal prior as one more observation.

    >>> found = habit([Pin(0.8, 0.3), Pin(0.5, 0.3), Pin(0.8, 0.3), Pin(0.7, 0.1)], usual=float("inf"))
    >>> round(found.mean, 3), round(found.sd, 3)
    (0.7, 0.087)
    """
    import numpy as np

    if min(model_u, common_u, usual) < 0:
        raise ValueError("model_u, common_u and usual must not be negative")
    if not pins:
        return Habit(0.0, usual)
    offs, us = np.array([one.difference for one in pins]), np.array([one.u for one in pins])
    kept = np.abs(offs - np.median(offs)) <= GROSS * us
    left_out = tuple(np.flatnonzero(~kept).tolist())
    offs, us, models = offs[kept], us[kept], [one.model for one, stays in zip(pins, kept, strict=True) if stays]
    between = _between(offs, us)
    alike = np.array([[a == b != "" for b in models] for a in models])
    covariance = np.diag(us**2 + between**2) + alike * model_u**2 + common_u**2
    weights = np.linalg.solve(covariance, np.ones(len(offs)))
    precision = float(weights.sum()) + (0.0 if usual == inf else 1 / usual**2)
    return Habit(float(weights @ offs) / precision, 1 / sqrt(precision), between, len(offs), left_out)


def _between(offs: "Array", us: "Array") -> float:
    """Spread of the pins beyond their own u, °C; 0 where they agree as well as they should."""
    weights = 1 / us**2
    total = float(weights.sum())
    misfit = float(weights @ (offs - float(weights @ offs) / total) ** 2)
    scale = total - float(weights @ weights) / total
    return sqrt(max(misfit - (len(offs) - 1), 0.0) / scale) if scale > 0 else 0.0
