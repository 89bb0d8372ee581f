"""Likelihood of a model's parameters given many thermometers, for many sets of parameters in one pass.

The same arithmetic as one thermometer's filter, on arrays of sets by thermometers. Each thermometer's first check
fixes its offset, of which nothing is assumed; a new sensor counts as another thermometer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from registry.compute.drift.filter import Item, in_order, same_bath_reading, too_far
from registry.compute.drift.reading import Lesson, exactly, is_coarse, within
from registry.compute.drift.records import Event, History, Observation, Parameters
from registry.compute.drift.state import Move, State, Walk, adjustment, at, grow, learnt, moved, stepped, towards

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sets:
    """Parameters that are tried together; arrays of shape (sets, 1)."""

    offset_walk: "Array"
    rate_mean: "Array"
    rate_spread: "Array"
    rate_walk: "Array"
    noise_scale: "Array"


FIELDS = ("days", "temperature", "offset", "u", "step", "seen", "adjusted", "incident", "as_found", "u_found")


def segments(histories: Sequence[History]) -> list[list[Item]]:
    """Items of each sensor in order from its first check on; those with nothing after it are left out."""
    found: list[list[Item]] = []
    for history in histories:
        current: list[Item] = []
        for item in in_order(history.observations, history.events):
            if isinstance(item, Event) and item.kind == "sensor_changed":
                found.append(current)
                current = []
            elif current or isinstance(item, Observation):
                current.append(item)
        found.append(current)
    return [items for items in found if sum(isinstance(item, Observation) for item in items) > 1]


def table(items: Sequence[Sequence[Item]]) -> "Array":
    """Shape (rows, fields, thermometers); shorter histories end in rows that say nothing."""
    import numpy as np

    longest = max(map(len, items))
    filled = np.zeros((longest, len(FIELDS), len(items)))
    filled[:, FIELDS.index("u")] = 1.0
    for place, history in enumerate(items):
        if not history:
            continue
        filled[: len(history), :, place] = [
            _fields(item, before) for item, before in zip(history, (None, *history), strict=False)
        ]
    return filled


def _fields(item: Item, before: Item | None) -> tuple[float, ...]:
    days = item.at_days - before.at_days if before else 0.0
    if isinstance(item, Observation):
        return days, item.temperature, item.offset, item.u_new, item.step, 1.0, 0.0, 0.0, 0.0, 0.0
    if item.kind == "incident":
        return days, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0
    as_found, u_found = same_bath_reading(item, before)
    as_left, u = item.as_left or 0.0, item.u or 0.0
    return days, item.temperature, as_left, u, item.step, 0.0, 1.0, 0.0, as_found, u_found


def logarithm(rows: "Array", model: Parameters, sets: Sets) -> "Array":
    """Log-likelihood of each set, shape (sets,); the first check of each thermometer says nothing and is left out.

    rows: from `table`. model: what is not among `sets`: slope, steps, shared bath.
    """
    import numpy as np

    walk = Walk(sets.offset_walk**2, model.slope_walk**2, sets.rate_walk**2)
    state, total, far = _first(rows[0], model, sets), np.zeros(len(sets.offset_walk)), np.zeros(1)
    for row in rows[1:]:
        days, temperature, offset, u, step, seen, *happened = row
        state = grow(state, days, walk)
        if happened[0].any() or happened[1].any():
            state = moved(state, _move(row, model, sets, far))
        if not seen.any():
            continue
        coarse = is_coarse(step, u) & (seen > 0)
        far = _too_far(state, temperature, offset, sets.noise_scale * u, step, coarse) * seen
        lesson = _lesson(state, temperature, offset, sets.noise_scale * u, step, coarse)
        m = towards(state, temperature)
        state = learnt(state, m, lesson.shift * seen, lesson.shrink * seen)
        total = total + (lesson.loglik * seen).sum(axis=1)
    return total


def _first(row: "Array", model: Parameters, sets: Sets) -> State:
    """After the first check, where nothing is known of the offset; as `state.learnt_first` gives it."""
    import numpy as np

    _, temperature, offset, u, step, *_ = row
    nought = np.zeros((len(sets.offset_walk), row.shape[1]))
    ss = model.slope_spread**2 + nought
    noise = (sets.noise_scale * u) ** 2 + step**2 / 12
    return State(
        offset + nought,
        nought,
        sets.rate_mean + nought,
        temperature**2 * ss + noise,
        -temperature * ss,
        nought,
        ss,
        nought,
        sets.rate_spread**2 + nought,
    )


def _lesson(
    state: State, temperature: "Array", offset: "Array", noise: "Array", step: "Array", coarse: "Array"
) -> Lesson:
    import numpy as np

    expected, spread = at(state, temperature)
    miss, variance = offset - expected, spread + noise**2
    exact = exactly(miss, variance + step**2 / 12)
    if not coarse.any():
        return exact
    interval = within(miss, variance, np.where(coarse, step / 2, 1.0))
    return Lesson(*(np.where(coarse, one, other) for one, other in zip(interval, exact, strict=True)))


def _too_far(
    state: State, temperature: "Array", offset: "Array", noise: "Array", step: "Array", coarse: "NDArray[np.bool_]"
) -> "Array":
    """1 where it is, 0 where not."""
    import numpy as np

    expected, spread = at(state, temperature)
    variance = spread + noise**2 + np.where(coarse, 0.0, step**2 / 12)
    return np.where(too_far(offset - expected, variance), 1.0, 0.0)


def _move(row: "Array", model: Parameters, sets: Sets, far: "Array") -> Move:
    """An adjustment, an incident, or nothing, for each thermometer. far: what was read before it was too far off."""
    import numpy as np

    _, temperature, as_left, u, step, _, adjusted, incident, as_found, u_found = row
    scale, rounding = sets.noise_scale, step**2 / 12
    turned = adjustment(
        as_left, scale * u, temperature, as_found, scale * u_found * (1 - far), rounding, model.same_bath
    )
    otherwise = stepped(model.step_spread * model.step_chance**0.5 * incident)  # by nothing, where no incident
    return Move(*(np.where(adjusted > 0, one, other) for one, other in zip(turned, otherwise, strict=True)))
