"""What one reading says of the offset it was expected to show: exactly, or within half a display step.

Floats or arrays, as in `state`.
"""

from math import pi, sqrt
from typing import NamedTuple

from registry.compute.drift.state import LOG_2PI, Number

COARSE = 2.0  # a step beyond so many times the noise is an interval; a finer one adds its variance


class Lesson(NamedTuple):
    """shift: the score, 1/°C; shrink: the information, 1/°C²; loglik: logarithm of the reading's likelihood."""

    shift: Number
    shrink: Number
    loglik: Number


def is_coarse(step: Number, u_new: Number) -> Number:
    """Whether a display is read as an interval: its step exceeds twice the noise."""
    return step > COARSE * u_new


def exactly(miss: Number, variance: Number) -> Lesson:
    """The reading as a number: miss is it minus what was expected, °C, with that difference's variance.

    >>> exactly(0.5, 0.25)[:2]
    (2.0, 4.0)
    """
    from numpy import log  # of floats and arrays alike

    return Lesson(miss / variance, 1 / variance, -0.5 * (LOG_2PI + log(variance) + miss * miss / variance))


def within(miss: Number, variance: Number, half: Number) -> Lesson:
    """The reading as an interval, half a display step either side.

    Mean and variance of what was shown before rounding are those of a normal distribution cut to the interval.
    half: °C, more than 0. Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, 13.10.1
    (truncated normal), from memory.

    >>> float(within(0.0, 1.0, 100.0).shrink)  # an interval that wide tells nothing
    0.0
    """
    import numpy as np
    from scipy.special import log_ndtr

    sd = np.sqrt(variance)
    side = np.where(miss < 0, -1.0, 1.0)  # the lower tail keeps its digits: look at everything from there
    low, high = -(side * miss + half) / sd, -(side * miss - half) / sd
    log_high = log_ndtr(high)
    loglik = log_high + np.log1p(-np.exp(log_ndtr(low) - log_high))
    at_low, at_high = (np.exp(-0.5 * edge * edge - loglik) / sqrt(2 * pi) for edge in (low, high))
    mean = at_low - at_high
    lost = mean * mean - (low * at_low - high * at_high)
    return Lesson(-side * mean / sd, np.clip(lost, 0.0, 1.0) / variance, loglik)
