"""Many thermometers followed at once: what `track` says of each, worked out on arrays.

Rows stand for the n-th check or event of each thermometer. Memory grows with rows times lanes, some 400 bytes each:
`in_parts` says which to give together.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from registry.compute.drift import lane_steps, lanes, smoother, steps
from registry.compute.drift.filter import NO_LESSON, Item, Row, in_order
from registry.compute.drift.lanes import Given, Rows, given, next_rows, picked
from registry.compute.drift.records import Event, History, Parameters, Step
from registry.compute.drift.smoother import Later, Past
from registry.compute.drift.state import Believed, State, Walk, at

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Estimates:
    """States of many: arrays (thermometers,) or (rows, thermometers); endless: what is infinite, 0 where all is known.

    known: where there is one: a row of that thermometer with a check, or any row at all.
    """

    at_days: "Array"
    state: State
    endless: State
    known: Any

    def at(self, temperature: Any) -> tuple["Array", "Array"]:
        """Offsets at a temperature, °C, and their standard deviations; a temperature for all or for each."""
        import numpy as np

        offset, variance = at(self.state, temperature)
        sd = np.sqrt(np.maximum(variance, 0.0))
        return offset, np.where(at(self.endless, temperature)[1] > 0, np.inf, sd)

    def rates(self) -> tuple["Array", "Array"]:
        """Drift rates, °C a day, and their standard deviations."""
        import numpy as np

        sd = np.sqrt(np.maximum(self.state.rr, 0.0))
        return self.state.rate, np.where(self.endless.rr > 0, np.inf, sd)


@dataclass
class Fleet:
    """Many thermometers as followed: for each what a `Track` has; see there. Made by `follow`.

    items: of each thermometer in order. of: the parameters of all lanes. first: of each thermometer the lane that goes
    by its parameters; those after it go by their `others`.
    """

    parameters: Sequence[Parameters]
    items: list[list[Item]]
    of: Given
    first: "NDArray[np.int64]"
    lanes: int
    rows: list[Rows] = field(default_factory=list)
    found: list[list[Step]] = field(default_factory=list)

    def __len__(self) -> int:
        return len(self.items)

    @cached_property
    def believed(self) -> "NDArray[np.int64]":
        """The lanes whose mean is the answer, thermometer by thermometer."""
        import numpy as np

        others = set(range(self.lanes)) - {
            int(lane) for lane, one in zip(self.first, self.parameters, strict=True) if one.others
        }
        return np.array(sorted(others), dtype=int)

    @cached_property
    def _starts(self) -> "NDArray[np.int64]":
        import numpy as np

        return np.searchsorted(self.believed, self.first)

    def now(self) -> Estimates:
        """After the last check or event of each."""
        import numpy as np

        last = self.rows[-1] if self.rows else None
        state, endless = (last.after, last.diffuse) if last else (self.of.start, self.of.endless)
        at_days = np.array([items[-1].at_days if items else 0.0 for items in self.items])
        known = np.array([bool(one) for one in self.items])
        return Estimates(at_days, self._mixed(state), self._endless(endless), known)

    def believed_now(self, thermometer: int) -> list[Believed]:
        """The states of one thermometer whose mean is `now`."""
        last = self.rows[-1] if self.rows else None
        state, endless = (last.after, last.diffuse) if last else (self.of.start, self.of.endless)
        found = []
        for lane in self._lanes_of(thermometer):
            boundless = _floats(picked(endless, lane)) if endless is not None else None
            here, walk = _floats(picked(state, lane)), Walk(*map(float, picked(self.of.walk, lane)))
            found.append(Believed(here, boundless if boundless and any(boundless) else None, walk))
        return found

    def _lanes_of(self, thermometer: int) -> "NDArray[np.int64]":
        begin = self._starts[thermometer]
        return self.believed[begin : begin + max(len(self.parameters[thermometer].others), 1)]

    def filtered(self) -> Estimates:
        """At each check, from it and those before; known only where a row is a check."""
        return self._estimates([row.after for row in self.rows], [row.diffuse for row in self.rows])

    def smoothed(self) -> Estimates:
        """At each check, from all checks; an adjustment made there comes after."""
        later = smoother.nothing_later(self.lanes)
        states: list[State] = []
        never: list[State | None] = []
        endless = self.rows[-1].diffuse if self.rows else None
        for number in range(len(self.rows) - 1, -1, -1):
            row = self.rows[number]
            past = _past(row)
            later = _with_readings(later, past, row.first)
            states.append(smoother.state(past, later))
            never.append(endless)
            later = later.before(past)
            fresh = row.column.fresh > 0
            if fresh.any():
                later.put(fresh, smoother.nothing_later(int(fresh.sum())))
                old = self.rows[number - 1].diffuse if number else None
                endless = lanes.some_endless(_either(fresh, old or lanes.KNOWN, endless or lanes.KNOWN))
        return self._estimates(states[::-1], never[::-1])

    def steps(self, thermometer: int) -> tuple[Step, ...]:
        """Reported incidents of one thermometer with a check since, and its steps found from readings, by time."""
        items, parameters = self.items[thermometer], self.parameters[thermometer]
        found: list[Step | None] = list(self.found[thermometer])
        for number, item in enumerate(items):
            if isinstance(item, Event) and item.kind == "incident" and number:
                before = [self._row(thermometer, number - 1)]
                found.append(steps.step_since(parameters, before, item.at_days, steps.checks_after(items, number)))
        return tuple(sorted(filter(None, found), key=lambda step: step.at_days))

    def _row(self, thermometer: int, number: int) -> Row:
        """What `filter.next_row` asks of a last row: the state after it, and whether it missed by too much."""
        lane, rows = self.first[thermometer], self.rows[number]
        after, diffuse = _floats(picked(rows.after, lane)), picked(rows.diffuse, lane)
        endless = _floats(diffuse) if diffuse is not None and any(diffuse) else None
        nought = (0.0, 0.0, 0.0)
        miss, variance = float(rows.miss[lane]), float(rows.variance[lane])
        item = self.items[thermometer][number]
        return Row(item, 0.0, None, False, after, endless, after, endless, nought, miss, variance, NO_LESSON, False)

    # --- the mean of equally likely lanes -------------------------------------------------------------------

    def _estimates(self, states: list[State], endless: Sequence[State | None]) -> Estimates:
        import numpy as np

        shape = len(self.rows), len(self)
        mixed = [self._mixed(one) for one in states]
        boundless = [self._endless(one) for one in endless]
        return Estimates(
            np.reshape([row.column.at_days[self.first] for row in self.rows], shape),
            State(*(np.reshape([one[n] for one in mixed], shape) for n in range(9))),
            State(*(np.reshape([one[n] for one in boundless], shape) for n in range(9))),
            np.reshape([row.column.seen[self.first] > 0 for row in self.rows], shape).astype(bool),
        )

    def _endless(self, endless: State | None) -> State:
        import numpy as np

        if endless is None:
            return State(*np.zeros((9, len(self))))
        return State(*(np.array(one)[self.believed[self._starts]] for one in endless))

    def _mixed(self, state: State) -> State:
        """As `tracking.mixed`."""
        import numpy as np

        states = np.array([one[self.believed] for one in state])
        if len(self.believed) == len(self):
            return State(*states)
        counts = np.diff([*self._starts, len(self.believed)])
        mean = np.add.reduceat(states, self._starts, axis=1) / counts
        apart = states[:3] - np.repeat(mean[:3], counts, axis=1)
        pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
        between = np.array([np.add.reduceat(apart[i] * apart[j], self._starts) for i, j in pairs]) / counts
        return State(*mean[:3], *(mean[3:] + between))


MOST = 200_000  # rows times lanes of a part: under 100 MB


def in_parts(histories: Sequence[History], parameters: Sequence[Parameters], most: int = MOST) -> list[list[int]]:
    """Places of thermometers to be followed together: histories about as long, and no more memory than bounded."""
    lengths = [len(one.observations) + len(one.events) for one in histories]
    parts: list[list[int]] = []
    lanes_so_far = 0
    for place in sorted(range(len(histories)), key=lengths.__getitem__):
        more = 1 + len(parameters[place].others)
        if not parts or (lanes_so_far + more) * lengths[place] > most:
            parts.append([])
            lanes_so_far = 0
        parts[-1].append(place)
        lanes_so_far += more
    return parts


def follow(
    histories: Sequence[History], parameters: Sequence[Parameters], progress: Callable[[], bool] = lambda: True
) -> Fleet | None:
    """Follow many thermometers through their checks and events, each under its parameters; equal to `track` for each.

    progress: asked at each row; None is returned where it answers no.

    >>> model = Parameters(offset_walk=0.02, rate_spread=0.0, slope_spread=0.003)
    >>> from registry.compute.drift import Observation, track
    >>> seen = History(tuple(Observation(day, 0.0, offset, 0.1) for day, offset in ((0, 0.1), (7, 0.2), (14, 0.3))))
    >>> fleet = follow([seen, seen], [model, model])
    >>> bool(abs(fleet.now().at(0.0)[0][1] - track(seen.observations, [], model).now.at(0.0).offset) < 1e-12)
    True
    """
    import numpy as np

    items = [in_order(one.observations, one.events) for one in histories]
    counts = [1 + len(one.others) for one in parameters]
    of = np.repeat(np.arange(len(items)), counts)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(int)[: len(items)]
    every = [each for one in parameters for each in (one, *one.others)]
    fleet = Fleet(parameters, items, given(every), first, len(of), found=[[] for _ in items])
    first_days = np.array([one[0].at_days if one else 0.0 for one in items])[of]
    looking = np.array([one.false_steps_a_year > 0 for one in parameters], dtype=bool)
    for column in lanes.columns(items):
        if not progress():
            return None
        last = fleet.rows[-1] if fleet.rows else None
        fleet.rows.append(next_rows(fleet.of, last, picked(column, of)))
        seen = first[looking & (column.seen > 0)]
        if len(seen):
            _take_steps(fleet, lane_steps.suspects(fleet.of, fleet.rows, first_days, seen), of)
    return fleet


def _take_steps(fleet: Fleet, found: lane_steps.Suspected, of: "NDArray[np.int64]") -> None:
    """Keep the steps found and follow their thermometers again from there, on all their lanes."""
    import numpy as np

    if not len(found.lanes):
        return
    for lane, number, size, information, chance in zip(*map(np.ndarray.tolist, found), strict=True):
        one = of[lane]
        at_days = fleet.items[one][number].at_days
        step = steps.step_of(at_days, size, information, fleet.parameters[one], chance, reported=False)
        fleet.found[one].append(step)
    numbers = np.full(len(fleet), -1)
    numbers[of[found.lanes]] = found.rows
    again = np.flatnonzero(numbers[of] >= 0)
    lane_steps.redo(fleet.of, fleet.rows, again, numbers[of][again])


def _past(row: Rows) -> Past:
    column, move = row.column, row.move
    return Past(
        column.days,
        move.keep,
        move.lean,
        row.before,
        row.diffuse_before,
        column.temperature,
        row.m,
        row.miss,
        row.variance,
        row.lesson,
    )


def _with_readings(later: Later, past: Past, first: Any) -> Later:
    """A row that is no reading says nothing: its lesson is nought."""
    found = smoother.with_reading(later, past)
    if first.any():
        found.put(first, smoother.with_first_reading(later.picked(first), picked(past, first)))
    return found


def _either(those: Any, one: State, other: State) -> State:
    import numpy as np

    return State(*(np.where(those, a, b) for a, b in zip(one, other, strict=True)))


def _floats(state: State) -> State:
    return State(*map(float, state))
