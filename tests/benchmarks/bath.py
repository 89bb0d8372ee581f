"""Diagnosing a bath, as ratios to the normal distribution function at as many points, and to one frame of a screen.

    python -m tests.benchmarks.bath --thermometers 12

The plain pass evaluates the distribution function at both edges of each reading's interval, in each of the three parts
of its mixture, at each error of the grid: nothing can integrate that mixture with less. A frame is 1/60 s: that ratio
alone depends on the machine. Results go to tests/benchmarks/results.
"""

import argparse

import numpy as np
from scipy.special import ndtr

from registry.compute.bath import Habit, InBath, diagnose, ice, swapped
from registry.compute.bath.likelihood import grid
from tests.benchmarks import record
from tests.benchmarks.records import median_s

TIMES = 200
FRAME_S = 1 / 60
COVERS = [
    "registry/compute/bath/diagnosis.py",
    "registry/compute/bath/joined.py",
    "registry/compute/bath/likelihood.py",
    "registry/compute/bath/remaining.py",
    "registry/compute/bath/swap.py",
]


def bath(count: int, seed: int = 1) -> list[InBath]:
    """Digitals and dials in ice that is 0.7 °C off."""
    draw = np.random.default_rng(seed)
    found = []
    for place in range(count):
        step, sd = (0.1, 0.15) if place % 2 else (1.0, 0.5)
        predicted = draw.normal(0, 0.3)
        read = round((predicted + 0.7 + draw.normal(0, sd)) / step) * step
        found.append(InBath(predicted, sd, read, 0.08, step / 2))
    return found


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--thermometers", type=int, default=12)
    count = asked.parse_args().thermometers
    told, habit = bath(count), Habit(0.1, 0.1)
    points = np.random.default_rng(2).normal(0, 3, (3, count, len(grid())))
    plain_s = median_s(lambda: (ndtr(points), ndtr(points)), TIMES)
    one_s = median_s(lambda: diagnose(told, ice(), habit), TIMES)
    ratios = {
        "one update to its distribution functions alone": one_s / plain_s,
        "one update to a frame of 1/60 s": one_s / FRAME_S,
        "swapped rows to one update": median_s(lambda: swapped(told, ice(), habit), 20) / one_s,
    }
    for name, ratio in ratios.items():
        print(f"{ratio:8.3f}  {name}")
    record.write_result(
        f"bath-{count}",
        command=f"python -m tests.benchmarks.bath --thermometers {count}",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
