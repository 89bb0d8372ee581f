"""Tracking one thermometer: offset, slope and drift rate from its checks and events, and steps found on the way."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, sqrt

from registry.compute.drift import smoother, steps
from registry.compute.drift.filter import Item, Path, Row, in_order, next_row
from registry.compute.drift.records import Event, Observation, Parameters, Predicted, Rate, Step
from registry.compute.drift.state import STILL, State, at, grow, walk_of


@dataclass(frozen=True, slots=True)
class Estimate:
    """The state at one time; `endless` is what of its covariance is infinite, None when all is known."""

    at_days: float
    state: State
    endless: State | None = None

    def at(self, temperature: float) -> Predicted:
        """The offset at a temperature, °C, without what is shared by site and method."""
        offset, variance = at(self.state, temperature)
        endless = self.endless is not None and at(self.endless, temperature)[1] > 0
        return Predicted(offset, inf if endless else sqrt(max(variance, 0.0)))

    @property
    def rate(self) -> Rate:
        """Drift, °C a day."""
        endless = self.endless is not None and self.endless.rr > 0
        return Rate(self.state.rate, inf if endless else sqrt(max(self.state.rr, 0.0)))


@dataclass(frozen=True)
class Track:
    """What the checks and events of one thermometer say.

    parameters: what it was tracked with. paths: under the parameters, then under each of their `others`.
    found: unreported steps. filtered, smoothed: an estimate for each check, from it and those before, or from all;
    an adjustment made at a check comes after both. now: after the last check or event.
    """

    parameters: Parameters
    paths: tuple[Path, ...]
    found: tuple[Step, ...] = ()

    @property
    def loglik(self) -> float:
        """Logarithm of the likelihood of the checks under the parameters; see `state.learnt_first` for the first."""
        return self.paths[0].loglik

    @property
    def believed(self) -> tuple[Path, ...]:
        """The paths whose mean is the answer: the others where the parameters are uncertain, else the only one."""
        return self.paths[1:] or self.paths

    @property
    def items(self) -> list[Item]:
        """The checks and events that it rests on, in time order."""
        return [row.item for row in self.paths[0].rows]

    @property
    def now(self) -> Estimate:
        states, endless = zip(*(path.state() for path in self.believed), strict=True)
        rows = self.paths[0].rows
        return Estimate(rows[-1].item.at_days if rows else 0.0, mixed(states), endless[0])

    @property
    def rate(self) -> Rate:
        return self.now.rate

    @cached_property
    def filtered(self) -> tuple[Estimate, ...]:
        together = zip(*(path.rows for path in self.believed), strict=True)
        return tuple(
            Estimate(rows[0].item.at_days, mixed([row.after for row in rows]), rows[0].diffuse)
            for rows in together
            if rows[0].observed
        )

    @cached_property
    def smoothed(self) -> tuple[Estimate, ...]:
        rows = self.paths[0].rows
        together = zip(*(smoother.smoothed(path.rows) for path in self.believed), strict=True)
        return tuple(
            Estimate(row.item.at_days, mixed(states), endless)
            for row, states, endless in zip(rows, together, _never_known(rows), strict=True)
            if row.observed
        )

    @property
    def steps(self) -> tuple[Step, ...]:
        """Reported incidents with at least one check since, and steps found from readings alone, by time."""
        rows, parameters = self.paths[0].rows, self.parameters
        incidents = [n for n, row in enumerate(rows) if isinstance(row.item, Event) and row.item.kind == "incident"]
        reported = [steps.after_incident(parameters, rows, number) for number in incidents]
        return tuple(sorted((*filter(None, reported), *self.found), key=lambda step: step.at_days))

    def predict(self, at_days: float, temperature: float = 0.0) -> Predicted:
        """The offset at a temperature, °C, at the time of the last check or event or later.

        Standard deviation of the offset itself: add what is shared by `with_shared`. `ValueError` for a time before.
        """
        now = self.now
        days = at_days - now.at_days if self.paths[0].rows else 0.0
        if not days >= 0:
            raise ValueError("the past is in `smoothed`: predict from the last check on")
        ahead = mixed([grow(path.state()[0], days, walk_of(path.parameters)) for path in self.believed])
        endless = now.endless and grow(now.endless, days, STILL)
        return Estimate(at_days, ahead, endless).at(temperature)


def mixed(states: Sequence[State]) -> State:
    """Mean and covariance of equally likely states, the spread between them included."""
    if len(states) == 1:
        return states[0]
    count = len(states)
    mean = [sum(column) / count for column in zip(*states, strict=True)]
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    between = [sum((s[i] - mean[i]) * (s[j] - mean[j]) for s in states) / count for i, j in pairs]
    return State(*mean[:3], *(within + more for within, more in zip(mean[3:], between, strict=True)))


def _never_known(rows: Sequence[Row]) -> list[State | None]:
    """For each row what stays infinite even with all later checks of the same sensor."""
    found: list[State | None] = []
    endless = rows[-1].diffuse if rows else None
    for number in range(len(rows) - 1, -1, -1):
        found.append(endless)
        if rows[number].fresh and number:
            endless = rows[number - 1].diffuse
    return found[::-1]


def track(observations: Iterable[Observation], events: Iterable[Event], parameters: Parameters) -> Track:
    """Follow a thermometer through its checks, as found, and its events, in whatever order they are given.

    Returns the same as `extend` one by one. A check at the instant of an adjustment comes before it.
    Source: Durbin and Koopman, Time Series Analysis by State Space Methods (2012), chapters 4 and 5.

    >>> model = Parameters(offset_walk=0.02, rate_spread=0.0, slope_spread=0.003)
    >>> checks = [Observation(day, 0.0, offset, u_new=0.1) for day, offset in ((0, 0.1), (7, 0.2), (14, 0.3))]
    >>> round(track(checks, [], model).predict(28).offset, 2)
    0.22
    """
    followed = Track(parameters, tuple(Path(one) for one in (parameters, *parameters.others)))
    return _along(followed, in_order(observations, events))


def before(followed: Track, at_days: float) -> Track:
    """A track as it was before a time: without the checks and events from then on, and the steps found since."""
    count = next((n for n, item in enumerate(followed.items) if item.at_days >= at_days), len(followed.items))
    paths = tuple(replace(path, rows=path.rows[:count]) for path in followed.paths)
    return replace(followed, paths=paths, found=tuple(step for step in followed.found if step.at_days < at_days))


def extend(followed: Track, item: Observation | Event) -> Track:
    """A track with one more check or event; nothing before is worked out again.

    `ValueError` where it lies before the last one: then `track` the whole history.
    """
    return _along(followed, [item])


def _along(followed: Track, items: Iterable[Item]) -> Track:
    grown, found = [list(path.rows) for path in followed.paths], list(followed.found)
    for item in items:
        for path, rows in zip(followed.paths, grown, strict=True):
            rows.append(next_row(path.parameters, rows[-1:], item))
        suspected = steps.suspect(followed.parameters, grown[0])
        if suspected:
            number, step = suspected
            found.append(step)
            grown = [
                steps.with_step(path.parameters, rows, number) for path, rows in zip(followed.paths, grown, strict=True)
            ]
    paths = tuple(replace(path, rows=tuple(rows)) for path, rows in zip(followed.paths, grown, strict=True))
    return replace(followed, paths=paths, found=tuple(found))
