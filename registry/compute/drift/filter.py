"""Following one thermometer forward with one set of parameters: a row for each check and event."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any, NamedTuple

from registry.compute.drift.reading import Lesson, exactly, is_coarse, within
from registry.compute.drift.records import Event, Observation, Parameters
from registry.compute.drift.state import (
    STILL,
    Move,
    Number,
    State,
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

Item = Observation | Event
TOO_FAR = 3.0  # standard deviations (judgement)


class Row(NamedTuple):
    """What happened at one time.

    days: since the row before. move: of the offset, before the reading; fresh: the sensor is new. before, after: the
    state without and with the reading, each with what of its covariance is infinite. m: covariance of the state with
    the offset at the check's temperature. miss: reading minus expected, °C; variance of that. first: the reading told
    of something that was infinite.
    """

    item: Item
    days: float
    move: Move | None
    fresh: bool
    before: State
    diffuse_before: State | None
    after: State
    diffuse: State | None
    m: tuple[float, float, float]
    miss: float
    variance: float
    lesson: Lesson
    first: bool

    @property
    def observed(self) -> bool:
        return isinstance(self.item, Observation)


NO_LESSON = Lesson(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Path:
    """The rows of one thermometer under one set of parameters."""

    parameters: Parameters
    rows: tuple[Row, ...] = ()

    @property
    def loglik(self) -> float:
        return float(sum(row.lesson.loglik for row in self.rows))

    def state(self) -> tuple[State, State | None]:
        """The state after the last row, or of an unknown thermometer; and what of it is infinite."""
        return (self.rows[-1].after, self.rows[-1].diffuse) if self.rows else start(self.parameters)


def in_order(observations: Iterable[Observation], events: Iterable[Event]) -> list[Item]:
    """By time. At the same instant an incident or new sensor comes before the reading, an adjustment after it."""
    items: list[Item] = [*observations, *events]
    return sorted(items, key=lambda item: (item.at_days, _rank(item)))


def _rank(item: Item) -> int:
    if isinstance(item, Observation):
        return 1
    return 2 if item.kind == "adjusted" else 0


def next_row(parameters: Parameters, last: Sequence[Row], item: Item, step: Move | None = None) -> Row:
    """The row that follows the `last` one, or the first of all.

    step: one known to have come just before it. `ValueError` where it would lie before the last.
    """
    state, diffuse = (last[0].after, last[0].diffuse) if last else start(parameters)
    days = item.at_days - last[0].item.at_days if last else 0.0
    if days < 0:
        raise ValueError("a check or event lies before the last one: track the whole history again")
    if days:
        state = grow(state, days, walk_of(parameters))
        diffuse = diffuse and grow(diffuse, days, STILL)
    fresh = False
    if isinstance(item, Event):
        fresh = item.kind == "sensor_changed"
        if fresh:
            state, diffuse = start(parameters, parameters.offset_spread)
        else:
            step = _move(parameters, item, last[0] if last else None)
    if step:
        state = moved(state, step)
        diffuse = diffuse and _still_diffuse(moved(diffuse, step._replace(put=0.0, variance=0.0)))
    if isinstance(item, Event):
        return Row(item, days, step, fresh, state, diffuse, state, diffuse, (0.0, 0.0, 0.0), 0.0, inf, NO_LESSON, False)
    return _read(parameters, item, days, step, state, diffuse)


def _still_diffuse(diffuse: State) -> State | None:
    return diffuse if max(diffuse.oo, diffuse.ss, diffuse.rr) > 0 else None


def _move(parameters: Parameters, event: Event, before: Row | None) -> Move:
    if event.kind == "incident":
        return stepped(parameters.step_spread * parameters.step_chance**0.5)
    assert event.as_left is not None
    assert event.u is not None
    as_found, u_found = same_bath_reading(event, before.item if before else None)
    if before and not before.first and too_far(before.miss, before.variance):
        u_found = 0.0
    scale, rounding = parameters.noise_scale, event.step**2 / 12
    return adjustment(
        event.as_left, scale * event.u, event.temperature, as_found, scale * u_found, rounding, parameters.same_bath
    )


def same_bath_reading(event: Event, before: Item | None) -> tuple[float, float]:
    """As found and its u, where the item before an adjustment is its check: same instant, same point; else zeros."""
    if isinstance(before, Observation) and (before.at_days, before.temperature) == (event.at_days, event.temperature):
        return before.offset, before.u_new
    return 0.0, 0.0


def too_far(miss: Number, variance: Number) -> Any:
    """Whether a reading was so far from what was expected that it tells of the thermometer and nothing of the bath."""
    return miss * miss > TOO_FAR**2 * variance


def _read(
    parameters: Parameters, seen: Observation, days: float, step: Move | None, state: State, diffuse: State | None
) -> Row:
    noise = (parameters.noise_scale * seen.u_new) ** 2
    coarse = is_coarse(seen.step, seen.u_new)
    m = towards(state, seen.temperature)
    expected, spread = at(state, seen.temperature)
    miss = seen.offset - expected
    before, before_diffuse = state, diffuse
    if diffuse and at(diffuse, seen.temperature)[1] > 1e-9:
        variance = spread + noise + seen.step**2 / 12
        state, left, loglik = learnt_first(state, diffuse, seen.temperature, miss, variance - spread)
        diffuse = None if is_known(left) else left
        lesson, first = Lesson(0.0, 0.0, float(loglik)), True
    else:
        variance = spread + noise + (0.0 if coarse else seen.step**2 / 12)
        lesson = _plain(within(miss, variance, seen.step / 2) if coarse else exactly(miss, variance))
        state, first = learnt(state, m, lesson.shift, lesson.shrink), False
    return Row(seen, days, step, False, before, before_diffuse, state, diffuse, m, miss, variance, lesson, first)


def _plain(lesson: Lesson) -> Lesson:
    """NumPy's scalars are slow to reckon with, one at a time."""
    return Lesson(float(lesson.shift), float(lesson.shrink), float(lesson.loglik))
