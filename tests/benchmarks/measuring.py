"""Boiling points and decisions, as ratios to plain NumPy.

    python -m tests.benchmarks.measuring --points 1000000 --decisions 100000

Plain for boiling points is equation (31) of IAPWS R7-97(2012) on the array, nothing tested. Plain for decisions is a
comparison of two arrays of floats: what the exact fractions of a decision cost beyond it is the price of a limit that
is inclusive to the last digit. Results go to tests/benchmarks/results.
"""

import argparse
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from registry.compute import water
from registry.compute.conformity import decide
from tests.benchmarks import record
from tests.benchmarks.records import median_s

TIMES = 9
COVERS = ["registry/compute/arrays.py", "registry/compute/conformity.py", "registry/compute/water.py"]


def plain_boiling_points(pascal: NDArray[np.float64]) -> NDArray[np.float64]:
    beta = np.sqrt(np.sqrt(pascal / 1e6))
    e = beta**2 + water.N3 * beta + water.N6
    f = water.N1 * beta**2 + water.N4 * beta + water.N7
    g = water.N2 * beta**2 + water.N5 * beta + water.N8
    d = 2 * g / (-f - np.sqrt(f**2 - 4 * e * g))
    return (water.N10 + d - np.sqrt((water.N10 + d) ** 2 - 4 * (water.N9 + water.N10 * d))) / 2 - 273.15


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--points", type=int, default=1_000_000)
    asked.add_argument("--decisions", type=int, default=100_000)
    given = asked.parse_args()
    draw = np.random.default_rng(1)
    pascal = draw.uniform(60e3, 105e3, given.points)
    assert np.allclose(water.boiling_point(pascal), plain_boiling_points(pascal))
    offsets = np.round(draw.normal(0, 0.7, given.decisions), 4)
    exact = [Decimal(str(one)) for one in offsets]
    u, limit = Decimal("0.1227"), Decimal(1)
    plain_s = median_s(lambda: np.abs(offsets) <= 1.0, TIMES)
    ratios = {
        "boiling points to equation (31) written out in NumPy": median_s(lambda: water.boiling_point(pascal), TIMES)
        / median_s(lambda: plain_boiling_points(pascal), TIMES),
        "decisions by simple acceptance to a comparison of arrays": median_s(
            lambda: [decide(one, u, limit, "simple") for one in exact], 3
        )
        / plain_s,
        "decisions by guard band to a comparison of arrays": median_s(
            lambda: [decide(one, u, limit, "guard_band") for one in exact], 3
        )
        / plain_s,
    }
    for name, ratio in ratios.items():
        print(f"{ratio:10.3f}  {name}")
    record.write_result(
        f"measuring-{given.points}",
        command=f"python -m tests.benchmarks.measuring --points {given.points} --decisions {given.decisions}",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
