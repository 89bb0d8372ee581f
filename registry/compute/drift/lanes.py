"""Many thermometers filtered forward at once: the rows of `filter`, on arrays.

A lane is one thermometer under one set of parameters. Lanes go forward together, the n-th check or event of each at a
time; shorter histories end in rows that say nothing.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from registry.compute.drift.filter import Item, too_far
from registry.compute.drift.likelihood import FIELDS, table
from registry.compute.drift.reading import Lesson, exactly, is_coarse, within
from registry.compute.drift.records import Event, Parameters
from registry.compute.drift.state import (
    STILL,
    Move,
    Number,
    State,
    Walk,
    adjustment,
    at,
    grow,
    is_known,
    learnt,
    learnt_first,
    moved,
    start,
    stepped,
    towards,
    walk_of,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

KNOWN = State(*[0.0] * 9)  # nothing of it is infinite
FIRST_REACHED = 1e-9
One = TypeVar("One")


class Column(NamedTuple):
    """The n-th check or event of each lane, as `likelihood.table` writes it; fresh: its sensor is new."""

    days: Number
    temperature: Number
    offset: Number
    u: Number
    step: Number
    seen: Number
    adjusted: Number
    incident: Number
    as_found: Number
    u_found: Number
    fresh: Number
    at_days: Number


class Given(NamedTuple):
    """The parameters of each lane, and how it and a new sensor begin."""

    walk: Walk
    noise_scale: Number
    same_bath: Number
    step_spread: Number
    step_chance: Number
    false_steps: Number
    start: State
    endless: State
    anew: State
    anew_endless: State


class Rows(NamedTuple):
    """One row of each lane, as `filter.Row`. plain: a reading as any other, neither a first one nor after a move."""

    column: Column
    move: Move
    before: State
    diffuse_before: State | None
    after: State
    diffuse: State | None
    m: tuple[Number, Number, Number]
    miss: Number
    variance: Number
    lesson: Lesson
    first: Number
    plain: Number


def picked(one: One, those: Any) -> One:
    """Some lanes of a record of arrays."""
    if isinstance(one, tuple):
        parts = (picked(each, those) for each in one)
        return type(one)(*parts) if hasattr(one, "_fields") else tuple(parts)  # type: ignore[return-value]
    return one if one is None else one[those]  # type: ignore[index]


def put(one: Any, those: Any, other: Any) -> None:
    """Write some lanes of a record of arrays, in place. None, where nothing is infinite, is nought."""
    if isinstance(one, tuple):
        for each, new in zip(one, KNOWN if other is None else other, strict=True):
            put(each, those, new)
    elif one is not None:
        one[those] = other


def columns(items: Sequence[Sequence[Item]]) -> list[Column]:
    """One for each place in the longest history."""
    import numpy as np

    filled = np.zeros((max(map(len, items), default=0), len(FIELDS) + 2, len(items)))
    if len(filled):
        filled[:, : len(FIELDS)] = table(items)
    for place, history in enumerate(items):
        filled[: len(history), -1, place] = [one.at_days for one in history]
        filled[: len(history), -2, place] = [_is_fresh(one) for one in history]
    fresh = filled[:, -2] > 0  # to `table`, which knows of no new sensors, it looks like an adjustment
    filled[:, FIELDS.index("adjusted")][fresh] = 0.0
    filled[:, FIELDS.index("u")][fresh] = 1.0
    return [Column(*row) for row in filled]


def _is_fresh(item: Item) -> bool:
    return isinstance(item, Event) and item.kind == "sensor_changed"


def given(parameters: Sequence[Parameters]) -> Given:
    import numpy as np

    known: dict[int, tuple[float, ...]] = {}
    for one in parameters:
        if id(one) not in known:
            begin, anew = start(one), start(one, one.offset_spread)
            known[id(one)] = (
                *walk_of(one),
                *(one.noise_scale, one.same_bath, one.step_spread, one.step_chance, one.false_steps_a_year),
                *begin[0],
                *(begin[1] or KNOWN),
                *anew[0],
                *(anew[1] or KNOWN),
            )
    rows = np.array([known[id(one)] for one in parameters]).reshape(len(parameters), 44).T
    states = (State(*rows[place : place + 9]) for place in range(8, 44, 9))
    return Given(Walk(*rows[:3]), *rows[3:8], *states)


def next_rows(of: Given, last: Rows | None, column: Column, step: "Array | None" = None) -> Rows:
    """The rows that follow the last ones, or the first of all; `filter.next_row` says what happens in each.

    step: 1 for lanes with a step known to have come just before.
    """
    state, diffuse = (last.after, last.diffuse) if last else (of.start, some_endless(of.endless))
    state = grow(state, column.days, of.walk)
    diffuse = diffuse and grow(diffuse, column.days, STILL)
    if column.fresh.any():
        fresh = column.fresh > 0
        state = _either(fresh, of.anew, state)
        diffuse = some_endless(_either(fresh, of.anew_endless, diffuse or KNOWN))
    move, moves = _move(of, last, column, step)
    if moves.any():
        state = moved(state, move)
        diffuse = diffuse and moved(diffuse, move._replace(put=0.0, variance=0.0))
    return _read(of, column, move, state, diffuse, (column.seen > 0) & ~moves)


def some_endless(diffuse: State) -> State | None:
    return diffuse if any(one.any() for one in (diffuse.oo, diffuse.ss, diffuse.rr)) else None


def _either(those: "Array", one: Any, other: Any) -> Any:
    import numpy as np

    return type(one)(*(np.where(those, a, b) for a, b in zip(one, other, strict=True)))


def _move(of: Given, last: Rows | None, column: Column, step: "Array | None") -> tuple[Move, Any]:
    """What moves each lane's offset, and which lanes are moved."""
    import numpy as np

    adjusted, incident = column.adjusted > 0, column.incident > 0
    sudden = incident if step is None else incident | (step > 0)
    spread = np.where(incident, of.step_spread * of.step_chance**0.5, of.step_spread) * sudden
    move = Move(*map(np.array, np.broadcast_arrays(*stepped(spread))))
    if adjusted.any():
        u_found, rounding = column.u_found, column.step**2 / 12
        if last:
            u_found = np.where(~last.first & too_far(last.miss, last.variance), 0.0, u_found)
        left = of.noise_scale * column.u, column.temperature, column.as_found
        turned = adjustment(column.offset, *left, of.noise_scale * u_found, rounding, of.same_bath)
        move = _either(adjusted, turned, move)
    return move, adjusted | sudden


def _read(of: Given, column: Column, move: Move, before: State, diffuse_before: State | None, plain: Any) -> Rows:
    import numpy as np

    seen, temperature, step = column.seen > 0, column.temperature, column.step
    noise, rounding = (of.noise_scale * column.u) ** 2, step**2 / 12
    m = towards(before, temperature)
    expected, spread = at(before, temperature)
    miss = np.where(seen, column.offset - expected, 0.0)
    endless = at(diffuse_before, temperature)[1] if diffuse_before else np.zeros(len(seen))
    first = seen & (endless > FIRST_REACHED)
    coarse = is_coarse(step, column.u) & seen & ~first
    variance = spread + noise + np.where(coarse, 0.0, rounding)
    lesson = _lesson(miss, variance, step / 2, coarse, seen & ~first)
    after, diffuse = learnt(before, m, lesson.shift, lesson.shrink), diffuse_before
    if first.any():
        assert diffuse_before is not None
        place = temperature[first], miss[first], (noise + rounding)[first]
        learned, left, loglik = learnt_first(picked(before, first), picked(diffuse_before, first), *place)
        diffuse = State(*(np.array(np.broadcast_to(one, seen.shape)) for one in diffuse_before))
        put(after, first, learned)
        put(diffuse, first, _either(is_known(left), KNOWN, left))
        lesson.loglik[first] = loglik
        diffuse = some_endless(diffuse)
    variance = np.where(seen, variance, np.inf)
    return Rows(column, move, before, diffuse_before, after, diffuse, m, miss, variance, lesson, first, plain & ~first)


def _lesson(miss: "Array", variance: "Array", half: "Array", coarse: Any, counts: Any) -> Lesson:
    import numpy as np

    found = Lesson(*(np.where(counts, one, 0.0) for one in exactly(miss, variance)))
    if coarse.any():
        put(found, coarse, within(miss[coarse], variance[coarse], half[coarse]))
    return found
