"""Many thermometers followed at once equal each followed alone, whatever befell them."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf

import numpy as np
import pytest

from registry.compute.drift import Event, History, Observation, Parameters, Track, track
from registry.compute.drift.fleet import Fleet, follow, in_parts
from registry.compute.drift.state import State
from tests.compute.test_drift import MODEL, checks, eventful
from tests.simulations.fleets import DIAL, PROBE, make_fleet

STEPS = (0.0, 0.1, 0.5, 0.556, 1.0)


def drawn(seed: int) -> History:
    """A history of any kind: points, display steps, gaps, several things at one instant, a step nobody reported."""
    draw = np.random.default_rng(seed)
    step = float(draw.choice(STEPS))
    at_days, offset = float(draw.uniform(0, 300)), float(draw.normal(0, 0.4))
    seen: list[Observation] = []
    events: list[Event] = []
    if draw.random() < 0.2:  # before any check
        events.append(Event(at_days - 1, str(draw.choice(["incident", "sensor_changed"]))))  # type: ignore[arg-type]
    for _ in range(int(draw.integers(0, 40))):
        at_days += float(draw.choice([0.0, 0.3, 1.0, 7.0, 30.0]))
        offset += float(draw.normal(0, 0.03)) + (float(draw.normal(0, 1.5)) if draw.random() < 0.05 else 0.0)
        celsius = float(draw.choice([0.0, 0.0, 0.0, 75.0, 99.4]))
        u = float(draw.choice([0.03, 0.1, 0.25]))
        shown = offset + float(draw.normal(0, u))
        seen.append(Observation(at_days, celsius, round(shown / step) * step if step else shown, u, step))
        chance = draw.random()
        if chance < 0.07:
            apart = 0.0 if draw.random() < 0.7 else 0.1  # its own bath, or a later one
            left = float(draw.normal(0, 0.1))
            events.append(Event(at_days + apart, "adjusted", left, u, celsius, step))
            offset = left
        elif chance < 0.14:
            events.append(Event(at_days + 0.1, "incident"))
        elif chance < 0.17:
            events.append(Event(at_days + 0.1, "sensor_changed"))
            offset = float(draw.normal(0, 0.4))
    return History(tuple(seen), tuple(events))


def drawn_model(seed: int) -> Parameters:
    """Known or not known well, with spreads that may be infinite or nought."""
    draw = np.random.default_rng(seed)
    one = Parameters(
        offset_walk=float(draw.choice([0.0, 0.01, 0.05])),
        rate_mean=float(draw.choice([0.0, 0.001])),
        rate_spread=float(draw.choice([0.0, 0.001, inf])),
        rate_walk=float(draw.choice([0.0, 3e-5])),
        slope_spread=float(draw.choice([0.0, 0.003, inf])),
        slope_walk=float(draw.choice([0.0, 1e-5])),
        offset_spread=float(draw.choice([0.4, inf])),
        step_chance=float(draw.choice([0.0, 0.3, 1.0])),
        noise_scale=float(draw.choice([0.7, 1.0, 1.4])),
        same_bath=float(draw.choice([0.0, 0.5, 0.9])),
        false_steps_a_year=float(draw.choice([0.0, 0.1, 3.0])),
    )
    if draw.random() < 0.5:
        walks = draw.uniform(0.01, 0.06, int(draw.integers(1, 5)))
        others = tuple(replace(one, offset_walk=float(walk), rate_mean=float(walk) / 50) for walk in walks)
        one = replace(one, others=others)
    return one


def same(histories: Sequence[History], models: Sequence[Parameters]) -> Fleet:
    fleet = follow(histories, models)
    assert fleet is not None
    now, filtered, smoothed = fleet.now(), fleet.filtered(), fleet.smoothed()
    for place, (history, model) in enumerate(zip(histories, models, strict=True)):
        alone = track(history.observations, history.events, model)
        same_state(column(now.state, place), alone.now.state)
        same_state(column(now.endless, place), alone.now.endless or (0.0,) * 9)
        if alone.items:
            assert now.at_days[place] == alone.now.at_days
        assert [fleet.parameters[place], fleet.items[place]] == [alone.parameters, alone.items]
        for many, singly in ((filtered, alone.filtered), (smoothed, alone.smoothed)):
            rows = np.flatnonzero(many.known[:, place])
            assert len(rows) == len(singly)
            offsets, sds = many.at(60.0)
            for row, one in zip(rows, singly, strict=True):
                same_state(column(many.state, (row, place)), one.state)
                expected = one.at(60.0)
                assert offsets[row, place] == pytest.approx(expected.offset, rel=1e-9, abs=1e-9)
                assert sds[row, place] == pytest.approx(expected.sd, rel=1e-7, abs=1e-7)  # root of what is near nought
        same_steps(fleet, place, alone)
        paths = fleet.believed_now(place)
        assert len(paths) == len(alone.believed)
        for path, theirs in zip(paths, alone.believed, strict=True):
            same_state(path.state, theirs.state()[0])
            assert (path.endless is None) == (theirs.state()[1] is None)
    return fleet


def column(state: State, place: object) -> list[float]:
    return [float(one[place]) for one in state]


def same_state(one: Sequence[float], other: Sequence[float]) -> None:
    assert list(one) == pytest.approx(list(other), rel=1e-9, abs=1e-9)


def same_steps(fleet: Fleet, place: int, alone: Track) -> None:
    theirs = alone.steps
    ours = fleet.steps(place)
    assert [(one.at_days, one.reported, one.found) for one in ours] == [
        (one.at_days, one.reported, one.found) for one in theirs
    ]
    for one, other in zip(ours, theirs, strict=True):
        assert (one.size, one.sd, one.p_value) == pytest.approx((other.size, other.sd, other.p_value), rel=1e-9)
        assert one.probability == pytest.approx(other.probability, rel=1e-9)


@pytest.mark.fast_cases(4)
@pytest.mark.parametrize("seed", range(12))
def test_histories_of_every_kind_together_equal_each_alone(seed: int) -> None:
    many = range(20 * seed, 20 * seed + 20)
    histories, models = [drawn(one) for one in many], [drawn_model(1000 + one) for one in many]
    same(histories, models)


@pytest.mark.slow
def test_the_drawn_ones_are_of_every_kind() -> None:
    """The test above would prove little of a kind that is never drawn."""
    histories = list(map(drawn, range(240)))
    tracks = [track(one.observations, one.events, drawn_model(1000 + n)) for n, one in enumerate(histories)]
    kinds = {event.kind for one in histories for event in one.events}
    assert kinds == {"adjusted", "incident", "sensor_changed"}
    steps = [step for one in tracks for step in one.steps]
    assert sum(not step.reported for step in steps) > 20
    assert sum(step.reported and step.found for step in steps) > 20
    assert sum(len(one.found) > 1 for one in tracks) > 3
    assert any(one.now.endless is not None and one.items for one in tracks)
    assert any(not one.items for one in tracks)


@pytest.mark.parametrize("kind", [DIAL, PROBE])
def test_a_simulated_model_together_equals_each_alone(kind: object) -> None:
    fleet = make_fleet(np.random.default_rng(3), kind, 8, (5, 60))  # type: ignore[arg-type]
    same([life.history for life in fleet.lives], [kind.prior.centre] * 8)  # type: ignore[attr-defined]


def test_one_with_everything_beside_ones_with_nothing() -> None:
    items = eventful()
    whole = History(
        tuple(one for one in items if isinstance(one, Observation)),
        tuple(one for one in items if isinstance(one, Event)),
    )
    found = same([History(()), whole, History(tuple(checks(3)))], [MODEL, MODEL, replace(MODEL, others=(MODEL, MODEL))])
    assert len(found.found[1]) >= 1


def test_none_at_all() -> None:
    assert follow([], []) is not None
    empty = follow([History(())], [MODEL])
    assert empty is not None
    assert empty.now().at(0.0)[1].tolist() == [inf]
    for found in (empty.filtered(), empty.smoothed()):
        assert found.known.shape == found.at(0.0)[0].shape == (0, 1)


def test_it_stops_when_told_to() -> None:
    answers = iter([True, False])
    assert follow([History(tuple(checks(5)))], [MODEL], lambda: next(answers)) is None


def test_a_large_fleet_is_parted_by_what_it_takes() -> None:
    histories = [History(tuple(checks(count))) for count in (3, 50, 7, 50, 0, 200, 1)]
    models = [MODEL, replace(MODEL, others=(MODEL,) * 10), *[MODEL] * 5]
    parts = in_parts(histories, models, most=220)
    assert sorted(place for part in parts for place in part) == list(range(7))
    for part in parts:
        longest = max(len(histories[place].observations) for place in part)
        lanes = sum(1 + len(models[place].others) for place in part)
        assert len(part) == 1 or longest * lanes <= 220
    assert [4, 6, 0, 2] in parts  # the short ones together
