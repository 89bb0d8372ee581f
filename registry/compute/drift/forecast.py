"""How likely a thermometer is out of tolerance, today and later, and the day that passes a set level."""

from collections.abc import Sequence
from typing import Any

from registry.compute.drift.state import STILL, Believed, Number, State, Walk, at, grow, walk_of
from registry.compute.drift.tracking import Track

LEVEL = 0.05
HORIZON_DAYS = 3653  # ten years: further ahead nothing is said


def probability_out(
    followed: Track, at_days: float, tolerance: float, temperature: float = 0.0, shared_u: float = 0.0
) -> float:
    """Probability that the true offset at a temperature is beyond ± tolerance, °C, at a time not before the last check.

    shared_u: standard uncertainty that all checks of this site and method have in common, °C, added in quadrature.
    1 where nothing is known. `ValueError` for the past and for a tolerance that is not more than 0.

    >>> from registry.compute.drift import Observation, Parameters, track
    >>> checked = track([Observation(0, 0.0, 0.5, u_new=0.1)], [], Parameters(offset_walk=0.05, rate_spread=0.0))
    >>> round(probability_out(checked, 28, tolerance=1.0), 3)
    0.039
    """
    if not tolerance > 0:
        raise ValueError("tolerance must be more than 0")
    if not followed.paths[0].rows:
        return 1.0
    days = at_days - followed.now.at_days
    if not days >= 0:
        raise ValueError("the past is in `smoothed`: ask from the last check on")
    return float(chance_out(states_of(followed), days, tolerance, temperature, shared_u))


def passes_level_on(
    followed: Track,
    tolerance: float,
    level: float = LEVEL,
    temperature: float = 0.0,
    shared_u: float = 0.0,
    horizon_days: int = HORIZON_DAYS,
) -> float | None:
    """The first whole day after the last check or event, as at_days, on which `probability_out` reaches the level.

    That day itself where it is reached already; None within the horizon. `ValueError` as `probability_out`.
    """
    now = followed.now.at_days
    if probability_out(followed, now, tolerance, temperature, shared_u) >= level:
        return now
    days = first_day(states_of(followed), tolerance, level, temperature, shared_u, horizon_days)
    return None if days is None else now + days


def states_of(followed: Track) -> list[Believed]:
    """The equally likely states after the last check or event."""
    return [Believed(*path.state(), walk_of(path.parameters)) for path in followed.believed]


def first_day(
    believed: Sequence[Believed],
    tolerance: float,
    level: float = LEVEL,
    temperature: float = 0.0,
    shared_u: float = 0.0,
    horizon_days: int = HORIZON_DAYS,
) -> float | None:
    """How many whole days after these states the chance to be out reaches the level; None within the horizon."""
    import numpy as np

    reached = chance_out(believed, np.arange(horizon_days + 1.0), tolerance, temperature, shared_u) >= level
    return float(np.argmax(reached)) if reached.any() else None


def chance_out(
    believed: Sequence[Believed], days: Any, tolerance: float, temperature: float = 0.0, shared_u: float = 0.0
) -> Any:
    """The mean chance of equally likely states to be out so many days on; days: one or an array."""
    total: Any = 0.0
    for state, endless, walk in believed:
        total = total + beyond(state, endless, walk, days, tolerance, temperature, shared_u)
    return total / len(believed)


def beyond(
    state: State,
    endless: State | None,
    walk: Walk,
    days: Number,
    tolerance: Number,
    temperature: Number,
    shared_u: Number,
) -> Any:
    """Probability of one state to be beyond ± tolerance so many days on; each may be an array, and they broadcast."""
    import numpy as np
    from scipy.special import ndtr

    offset, variance = at(grow(state, days, walk), temperature)
    sd = np.maximum(np.hypot(np.sqrt(np.maximum(variance, 0.0)), shared_u), 1e-12)
    if endless:
        sd = np.where(at(grow(endless, days, STILL), temperature)[1] > 0, np.inf, sd)
    return ndtr((-tolerance - offset) / sd) + ndtr((offset - tolerance) / sd)
