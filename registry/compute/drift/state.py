"""The state of a thermometer and how it changes: with time, by an adjustment or a step, by a reading.

Plain arithmetic on each number, so that the same lines serve one thermometer (floats) and many at once (arrays).
Source: Durbin and Koopman, Time Series Analysis by State Space Methods, 2nd edition (2012): section 4.3 (filter),
5.2 (exact diffuse start), 6.4 (one reading at a time). Equation numbers from memory.
"""

from math import inf, log, pi
from typing import Any, NamedTuple

from registry.compute.drift.records import Parameters

Number = Any  # a float, or an array of them; all that meet in one call have shapes that broadcast

LOG_2PI = log(2 * pi)
LEAST = 1e-300  # keeps zero over zero at zero
NOTHING_LEFT = 1e-9  # a diffuse variance below this share of what it began as (1) is rounding


class State(NamedTuple):
    """Offset at 0 °C (°C), slope with temperature (°C per °C), drift rate (°C a day); then their covariance."""

    offset: Number
    slope: Number
    rate: Number
    oo: Number
    os: Number
    orr: Number
    ss: Number
    sr: Number
    rr: Number


class Walk(NamedTuple):
    """Variances of the random walk in a day: of the offset, the slope, the rate."""

    offset: Number
    slope: Number
    rate: Number


STILL = Walk(0.0, 0.0, 0.0)


def walk_of(parameters: Parameters) -> Walk:
    return Walk(parameters.offset_walk**2, parameters.slope_walk**2, parameters.rate_walk**2)


class Believed(NamedTuple):
    """A state that a thermometer may be in: with what of its covariance is infinite, and how it walks on."""

    state: State
    endless: State | None
    walk: Walk


def start(parameters: Parameters, offset_spread: float = inf) -> tuple[State, State | None]:
    """A thermometer nothing is known of: state, and the part of its covariance that is infinite, in units of itself."""
    spreads = (offset_spread, parameters.slope_spread, parameters.rate_spread)
    oo, ss, rr = (0.0 if spread == inf else spread**2 for spread in spreads)
    state = State(0.0, 0.0, parameters.rate_mean, oo, 0.0, 0.0, ss, 0.0, rr)
    boundless = [float(spread == inf) for spread in spreads]
    diffuse = State(0.0, 0.0, 0.0, boundless[0], 0.0, 0.0, boundless[1], 0.0, boundless[2])
    return state, diffuse if any(boundless) else None


def grow(state: State, days: Number, walk: Walk) -> State:
    """The state some days later; offset and rate walk in continuous time, so that two leaps equal one.

    Source: the integrated random walk of Durbin and Koopman, section 3.8 (continuous-time local linear trend).
    """
    offset, slope, rate, oo, os, orr, ss, sr, rr = state
    return State(
        offset + rate * days,
        slope,
        rate,
        oo + days * (2 * orr + days * rr + walk.offset + walk.rate * days * days / 3),
        os + days * sr,
        orr + days * (rr + walk.rate * days / 2),
        ss + walk.slope * days,
        sr,
        rr + walk.rate * days,
    )


class Move(NamedTuple):
    """The offset becomes keep x offset + lean x slope + put, with variance added; nothing else changes."""

    keep: Number
    lean: Number
    put: Number
    variance: Number


def moved(state: State, move: Move) -> State:
    """The state after an adjustment or a step."""
    keep, lean, put, variance = move
    offset, slope, rate, oo, os, orr, ss, sr, rr = state
    return State(
        keep * offset + lean * slope + put,
        slope,
        rate,
        keep * keep * oo + 2 * keep * lean * os + lean * lean * ss + variance,
        keep * os + lean * ss,
        keep * orr + lean * sr,
        ss,
        sr,
        rr,
    )


def stepped(spread: Number) -> Move:
    """A step of unknown sign, with its standard deviation in °C."""
    return Move(1.0, 0.0, 0.0, spread**2)


def adjustment(
    as_left: Number,
    u: Number,
    temperature: Number,
    as_found: Number,
    u_found: Number,
    rounding: Number,
    same_bath: float,
) -> Move:
    """The offset becomes what was read afterwards, less that reading's error.

    as_left, as_found: °C, in the same bath; u, u_found: their standard uncertainties without rounding, u_found 0
    where nothing was read before. rounding: (display step)² / 12. The error that both share is what as found was beyond
    the offset before, times beta: so a bath that misled the person who adjusted misleads less here.
    Source: regression of one error on the other, own derivation.
    """
    found = u_found * u_found + rounding + LEAST
    beta = same_bath * u * u_found / found
    variance = u * u + rounding - beta * beta * found
    return Move(beta, (beta - 1) * temperature, as_left - beta * as_found, variance)


def towards(state: State, temperature: Number) -> tuple[Number, Number, Number]:
    """Covariance of offset, slope and rate with the offset at a temperature."""
    return (
        state.oo + temperature * state.os,
        state.os + temperature * state.ss,
        state.orr + temperature * state.sr,
    )


def at(state: State, temperature: Number) -> tuple[Number, Number]:
    """Offset at a temperature, °C, and its variance."""
    m_offset, m_slope, _ = towards(state, temperature)
    return state.offset + temperature * state.slope, m_offset + temperature * m_slope


def learnt(state: State, m: tuple[Number, Number, Number], shift: Number, shrink: Number) -> State:
    """The state after a reading: moved by m x shift, its covariance less m m' x shrink. m from `towards`."""
    a, b, c = m
    as_, bs, cs = a * shrink, b * shrink, c * shrink
    offset, slope, rate, oo, os, orr, ss, sr, rr = state
    return State(
        offset + a * shift,
        slope + b * shift,
        rate + c * shift,
        oo - a * as_,
        os - a * bs,
        orr - a * cs,
        ss - b * bs,
        sr - b * cs,
        rr - c * cs,
    )


def learnt_first(
    state: State, diffuse: State, temperature: Number, miss: Number, variance: Number
) -> tuple[State, State, Number]:
    """The state after a reading of something still infinite: state, what is infinite now, log-likelihood.

    miss: offset as read minus expected, °C. variance: of the reading. The log-likelihood leaves out the constant,
    which has no meaning for such a reading. Source: Durbin and Koopman, section 5.2, with F_infinity > 0.
    """
    from numpy import log  # of floats and arrays alike

    finite, endless = towards(state, temperature), towards(diffuse, temperature)
    f_endless = endless[0] + temperature * endless[1]
    f = finite[0] + temperature * finite[1] + variance
    a, b, c = (one / f_endless for one in endless)
    ma, mb, mc = finite
    state = State(
        state.offset + a * miss,
        state.slope + b * miss,
        state.rate + c * miss,
        state.oo + f * a * a - 2 * a * ma,
        state.os + f * a * b - a * mb - b * ma,
        state.orr + f * a * c - a * mc - c * ma,
        state.ss + f * b * b - 2 * b * mb,
        state.sr + f * b * c - b * mc - c * mb,
        state.rr + f * c * c - 2 * c * mc,
    )
    left = learnt(diffuse, endless, 0.0, 1 / f_endless)
    return state, left, -0.5 * log(f_endless)


def is_known(diffuse: State) -> Number:
    """Whether what is left of the infinite part is but rounding."""
    return (diffuse.oo < NOTHING_LEFT) & (diffuse.ss < NOTHING_LEFT) & (diffuse.rr < NOTHING_LEFT)
