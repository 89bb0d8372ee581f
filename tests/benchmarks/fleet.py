"""A large fleet: followed and smoothed on arrays, and the ranking opened the first and the second time.

    python -m tests.benchmarks.fleet --thermometers 10000 --checks 100
    python -m tests.benchmarks.fleet --thermometers 10000 --checks 100 --folder /somewhere/with/room

The first compares with a plain NumPy pass over the same numbers (a local level forward and back: no slope, drift,
events, steps, coarse displays or diffuse start), with following each alone, and with statsmodels' local level with its
smoother. The last two are timed on a sample and multiplied up: an extrapolation. With --folder a registry of that size
is made there, unless it holds one, and the ranking is opened twice, each by a session of its own; compared with reading
every check's entry once. All are times of the processor: what else runs on the machine does not count. Results go to
tests/benchmarks/results.
"""

import argparse
import json
import resource
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from registry.compute.drift import History, Observation, Parameters, track
from registry.compute.drift.fleet import follow, in_parts
from registry.services import fleet
from registry.services.session import open_session
from registry.store import queries
from registry.store import tracking as store
from tests.benchmarks import record, records
from tests.benchmarks.tracking import MODEL

COVERS = [
    "registry/compute/drift/fleet.py",
    "registry/compute/drift/lane_steps.py",
    "registry/compute/drift/lanes.py",
    "registry/compute/drift/smoother.py",
]
OPENING_COVERS = [*COVERS, "registry/services/fleet.py", "registry/services/standings.py"]
SAMPLE, SAMPLE_OUTSIDE = 200, 20
U = 0.1
Array = NDArray[np.float64]


def reckoned_s(act: Callable[[], object], times: int = 1) -> float:
    """Time of the processor, the least of so many: what else runs on the machine does not count."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        act()
        taken.append(time.process_time() - begin)
    return min(taken)


def offsets(thermometers: int, checks: int) -> Array:
    """Weekly checks at ice, read to 0.1 °C, of thermometers that walk as the model says; (checks, thermometers)."""
    draw = np.random.default_rng(1)
    walks = np.cumsum(draw.normal(0, MODEL.offset_walk * np.sqrt(7), (checks, thermometers)), axis=0)
    found: Array = np.round(walks + draw.normal(0, U, walks.shape), 1)
    return found


def plain_pass(shown: Array) -> Array:
    """A local level for all columns at once, filtered and smoothed."""
    walk, noise = 7 * MODEL.offset_walk**2, U**2 + 0.1**2 / 12
    level, variance = shown[0].copy(), np.full(shown.shape[1], noise)
    levels, variances = [level], [variance]
    for row in shown[1:]:
        variance = variance + walk
        gain = variance / (variance + noise)
        level = level + gain * (row - level)
        variance = variance * (1 - gain)
        levels.append(level)
        variances.append(variance)
    smoothed = [level]
    for level, variance in zip(levels[-2::-1], variances[-2::-1], strict=True):
        smoothed.append(level + variance / (variance + walk) * (smoothed[-1] - level))
    return np.array(smoothed[::-1])


def by_statsmodels(shown: Array) -> None:
    """A local level for each column, its parameters given."""
    from statsmodels.tsa.statespace.structural import UnobservedComponents

    for column in shown.T:
        UnobservedComponents(column, "local level").smooth([U**2, 7 * MODEL.offset_walk**2])


def together(histories: list[History], parameters: list[Parameters]) -> None:
    for part in in_parts(histories, parameters):
        found = follow([histories[place] for place in part], [parameters[place] for place in part])
        assert found is not None
        found.smoothed()


def arrays(thermometers: int, checks: int) -> None:
    shown = offsets(thermometers, checks)
    histories = [
        History(tuple(Observation(7.0 * n, 0.0, float(one), U, 0.1) for n, one in enumerate(column)))
        for column in shown.T
    ]
    parameters = [MODEL] * thermometers
    fleet_s = reckoned_s(lambda: together(histories, parameters), 2)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    plain_s = reckoned_s(lambda: plain_pass(shown), 5)
    singly_s = reckoned_s(lambda: [track(one.observations, [], MODEL).smoothed for one in histories[:SAMPLE]])
    outside_s = reckoned_s(lambda: by_statsmodels(shown[:, :SAMPLE_OUTSIDE]))
    ratios = {
        "fleet filter and smoother to a plain NumPy local level": fleet_s / plain_s,
        "each alone to the fleet, extrapolated from 200": singly_s * thermometers / SAMPLE / fleet_s,
        "statsmodels local levels to the fleet, extrapolated from 20": (
            outside_s * thermometers / SAMPLE_OUTSIDE / fleet_s
        ),
    }
    print(f"fleet {fleet_s:.2f} s, plain {plain_s:.3f} s, memory of the process {peak_mb:.0f} MB at most")
    size = f"--thermometers {thermometers} --checks {checks}"
    finished(f"fleet-{thermometers}x{checks}", size, ratios, COVERS)


def opening(thermometers: int, checks: int, folder: Path) -> None:
    home = folder / f"registry-{thermometers * checks}"
    records.THERMOMETERS = thermometers
    session, *_ = records._opened(home, thermometers * checks)
    with session.reading() as connection:
        those = [row.thermometer for row in queries.thermometers(connection)]
        reading_s = reckoned_s(lambda: sum(1 for _ in store.checks(connection, those)))
    session.close()
    (home / "cache.db").unlink(missing_ok=True)
    first_s, second_s, again_s = (_ranked(home, times) for times in (1, 1, 2))
    print(f"reading {reading_s:.1f} s, opening: first {first_s:.1f} s, second {second_s:.2f} s, again {again_s:.2f} s")
    ratios = {
        "first opening to reading every check": first_s / reading_s,
        "second opening to reading every check": second_s / reading_s,
        "again in the same session to reading every check": again_s / reading_s,
        "seconds of the second opening, of one wanted": second_s,
    }
    size = f"--thermometers {thermometers} --checks {checks} --folder FOLDER"
    finished(f"fleet-opening-{thermometers}x{checks}", size, ratios, OPENING_COVERS)


def _ranked(home: Path, times: int) -> float:
    """How long the last of so many openings by a new session took."""
    session = open_session(home)
    for _ in range(times):
        taken = reckoned_s(lambda: fleet.ranking(session))
    session.close()
    return taken


def finished(name: str, size: str, ratios: dict[str, float], covers: list[str]) -> None:
    print(json.dumps(ratios, indent=2))
    record.write_result(name, command=f"python -m tests.benchmarks.fleet {size}", ratios=ratios, covers=covers)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--thermometers", type=int, default=10_000)
    asked.add_argument("--checks", type=int, default=100)
    asked.add_argument("--folder", type=Path)
    given = asked.parse_args()
    if given.folder:
        opening(given.thermometers, given.checks, given.folder)
    else:
        arrays(given.thermometers, given.checks)


if __name__ == "__main__":
    main()
