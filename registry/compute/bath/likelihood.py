"""Likelihood of readings given the bath's error, on a grid.

A thermometer's offset is normal around its predicted one, or was thrown off, or it is broken: a mixture of three
normals. Its reading is an interval, half a step either side of what it shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from registry.compute.bath.beliefs import BathPrior, Tails
from registry.compute.bath.records import InBath

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

REACH, STEP = 10.0, 0.02  # °C: no bath is taken to be farther off; finer than any bath can be known
NARROWEST = 1e-4  # °C, of an interval: a reading without rounding is one so narrow
SMALLEST = 1e-300  # so that a logarithm or quotient of what can't be stays a number
LEAST_SD = 1e-3  # °C: no offset is known better
UNKNOWN_SD = 20.0  # °C, where nothing is known of an offset


def grid() -> "Array":
    """Errors from -10 to 10 °C."""
    import numpy as np

    return np.linspace(-REACH, REACH, round(2 * REACH / STEP) + 1)


@dataclass(frozen=True)
class Mixture:
    """Thermometers as arrays. Shape (thermometers, 1): predicted, reading, half, noise variance `noise`; shape
    (3, thermometers, 1): `shares` and variances `spread` of the three ways an offset can be."""

    predicted: "Array"
    reading: "Array"
    half: "Array"
    noise: "Array"
    shares: "Array"
    spread: "Array"

    def chances(self, errors: "Array") -> "Array":
        """Probability of each reading's interval under each part, times its share; (3, thermometers, errors)."""
        import numpy as np
        from scipy.special import ndtr

        sd = np.sqrt(self.spread + self.noise)
        away, half = np.abs(self.reading - self.predicted - errors) / sd, self.half / sd
        return np.asarray(self.shares * (ndtr(half - away) - ndtr(-half - away)))  # lower tails keep their digits


def mixture(thermometers: Sequence[InBath], tails: Tails) -> Mixture:
    """The thermometers as arrays; one with no basis counts as unknown."""
    import numpy as np

    def column(values: Sequence[float]) -> "Array":
        return np.array(values, dtype=float)[:, None]

    sd = column([min(max(one.sd, LEAST_SD), UNKNOWN_SD) if one.counts else UNKNOWN_SD for one in thermometers])
    thrown = column([tails.after_incident if one.incident else tails.share for one in thermometers])
    broken = np.full_like(thrown, tails.broken)
    return Mixture(
        column([one.predicted for one in thermometers]),
        column([one.reading for one in thermometers]),
        np.maximum(column([one.half_width for one in thermometers]), NARROWEST),
        column([one.u_new for one in thermometers]) ** 2,
        np.array([1 - thrown - broken, thrown, broken]),
        np.array([sd**2, sd**2 + tails.spread**2, sd**2 + tails.broken_spread**2]),
    )


def prior(errors: "Array", of: BathPrior) -> "Array":
    """Density of the new part of a bath's error, 1/°C: a good bath, or one that errs warm or cold."""
    import numpy as np

    good = np.exp(-0.5 * (errors / of.u) ** 2) / (of.u * sqrt(2 * np.pi))
    warm = np.exp(-np.abs(errors) / of.warm) / of.warm
    cold = np.exp(-np.abs(errors) / of.cold) / of.cold
    side = np.sign(errors)  # half of each at nought itself, so that the sum over a grid is right
    bad = of.warm_share * warm * (1 + side) / 2 + (1 - of.warm_share) * cold * (1 - side) / 2
    return np.asarray((1 - of.bad_share) * good + of.bad_share * bad)
