"""Tracking one thermometer, as ratios to one plain pass of a Kalman filter written with NumPy matrices.

    python -m tests.benchmarks.tracking --checks 1000

The plain pass has the same three states and nothing else: no events, steps, coarse displays or diffuse start. Results
go to tests/benchmarks/results.
"""

import argparse
from collections.abc import Sequence

import numpy as np

from registry.compute.drift import History, Observation, Parameters, TypePrior, extend, passes_level_on, pooled, track
from tests.benchmarks import record
from tests.benchmarks.records import median_s

TIMES = 9
COVERS = [
    "registry/compute/drift/filter.py",
    "registry/compute/drift/forecast.py",
    "registry/compute/drift/likelihood.py",
    "registry/compute/drift/pooled.py",
    "registry/compute/drift/reading.py",
    "registry/compute/drift/smoother.py",
    "registry/compute/drift/state.py",
    "registry/compute/drift/steps.py",
    "registry/compute/drift/tracking.py",
]
MODEL = Parameters(offset_walk=0.02, rate_spread=0.001, rate_walk=3e-5, slope_spread=0.003)


def readings(count: int, step: float, seed: int = 1) -> list[Observation]:
    """Daily checks at ice of a thermometer that walks as the model says."""
    draw = np.random.default_rng(seed)
    shown = np.cumsum(draw.normal(0, MODEL.offset_walk, count)) + draw.normal(0, 0.1, count)
    shown = np.round(shown / step) * step
    return [Observation(float(day), 0.0, float(offset), 0.1, step) for day, offset in enumerate(shown)]


def plain_pass(days: Sequence[float], offsets: Sequence[float]) -> float:
    """The filter alone, a matrix product at a time."""
    state, covariance = np.zeros(3), np.diag([100.0, 1e-5, 1e-6])
    looks, walk = np.array([1.0, 0.0, 0.0]), np.diag([4e-4, 0.0, 1e-9])
    transition, before = np.eye(3), days[0]
    for day, offset in zip(days, offsets, strict=True):
        transition[0, 2] = day - before
        before = day
        state = transition @ state
        covariance = transition @ covariance @ transition.T + walk
        seen = covariance @ looks
        gain = seen / (looks @ seen + 0.01)
        state = state + gain * (offset - looks @ state)
        covariance = covariance - np.outer(gain, seen)
    return float(state[0])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--checks", type=int, default=1000)
    given = asked.parse_args()
    fine, coarse = readings(given.checks, 0.1), readings(given.checks, 0.5)
    days, offsets = [one.at_days for one in fine], [one.offset for one in fine]
    plain_s = median_s(lambda: plain_pass(days, offsets), TIMES)
    followed = track(fine, [], MODEL)
    latest = Observation(given.checks + 1.0, 0.0, 0.1, 0.1, 0.1)
    ten = [History(tuple(readings(given.checks // 10, 0.1, seed))) for seed in range(10)]
    ratios = {
        "track, fine display": median_s(lambda: track(fine, [], MODEL), TIMES),
        "track, coarse display": median_s(lambda: track(coarse, [], MODEL), TIMES),
        "track and smooth": median_s(lambda: track(fine, [], MODEL).smoothed, TIMES),
        "one more check": median_s(lambda: extend(followed, latest), TIMES),
        "day the level is passed": median_s(lambda: passes_level_on(followed, 1.0), TIMES),
        "parameters from ten with a tenth of the checks each": median_s(lambda: pooled(ten, TypePrior(MODEL)), 3),
    }
    ratios = {f"{name} to a plain NumPy pass": taken / plain_s for name, taken in ratios.items()}
    for name, ratio in ratios.items():
        print(f"{ratio:8.3f}  {name}")
    record.write_result(
        f"tracking-{given.checks}",
        command=f"python -m tests.benchmarks.tracking --checks {given.checks}",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
