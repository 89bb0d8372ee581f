"""How often the decision rules are wrong, on thermometers whose truth is known.

For each type with its usual steps: how often one that is just outside passes, and how often one that conforms does not.
Run by hand for the table of docs/decisions.md: python -m tests.simulations.decisions --checks 20000
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

import numpy as np

from registry import resources
from registry.compute.check import uncertainty
from registry.compute.conformity import Rule, decide
from registry.compute.uncertainty import resolution
from registry.quantity import TemperatureDifference
from registry.records.outcomes import GOOD
from registry.resource_tables import Figure, InstrumentType

JUST = 1e-6  # °C beyond the tolerance: as near to it as the truth can lie outside
BATH_HALF_WIDTH = 0.2  # °C: cubes, stirred


@dataclass(frozen=True)
class Kind:
    """A type with one of its steps as read, °C, and its tolerance, °C."""

    type: InstrumentType
    step: float
    tolerance: float

    def __str__(self) -> str:
        return f"{self.type.code}, read to {self.step:g} °C"


def kinds() -> Iterator[Kind]:
    """Each type that is checked in ice, with each usual step in °C."""
    for kind in resources.instrument_types().values():
        if kind.allowed("ice_point") is None or kind.surface:
            continue
        for one in kind.ranges:
            for step in one.steps if one.low.endswith("C") else ():
                read = float(step.split()[0]) / (2 if kind.read_to == "half_division" else 1)
                yield Kind(kind, read, 1.0)


def _standard(figure: Figure | None) -> float:
    if figure is None:
        return 0.0
    return figure.value / sqrt(3) if figure.form == "rectangular" else figure.value


def shown(kind: Kind, offset: float, readings: int, draw: np.random.Generator, number: int) -> "np.ndarray":
    """What such thermometers show in ice, shape (number, readings): the bath and the depth shared by the readings."""
    shared = draw.uniform(-BATH_HALF_WIDTH, BATH_HALF_WIDTH, (number, 1))
    shared = shared + draw.normal(0, _standard(kind.type.stem) or 1e-12, (number, 1))
    noise = draw.normal(0, kind.type.repeatability.value, (number, readings))
    return np.round((offset + shared + noise) / kind.step) * kind.step


def budget(kind: Kind, readings: int) -> tuple[TemperatureDifference, Fraction]:
    """u and k as a check works them out."""
    parts = {
        "bath": BATH_HALF_WIDTH / sqrt(3),
        "stem": _standard(kind.type.stem),
        "repeatability": kind.type.repeatability.value,
        "resolution": resolution(kind.step),
    }
    written = {code: TemperatureDifference.from_text(f"{u:.4f} dC") for code, u in parts.items()}
    u, k = uncertainty(written, {"repeatability": kind.type.repeatability_dof.value}, readings, "C")
    return u, Fraction(k)


def share_passing(kind: Kind, offset: float, rule: Rule, number: int, seed: int) -> float:
    """How often such a one passes: a first reading outside is repeated twice and the mean decides."""
    draw = np.random.default_rng(seed)
    first, three = budget(kind, 1), budget(kind, 3)
    passed = 0
    for readings in shown(kind, offset, 3, draw, number):
        outcome = _decided(kind, rule, readings[:1], first)
        if outcome not in GOOD and outcome != "cannot_decide":
            outcome = _decided(kind, rule, readings, three)
        passed += outcome in GOOD
    return passed / number


def _decided(kind: Kind, rule: Rule, readings: "np.ndarray", known: tuple[TemperatureDifference, Fraction]) -> str:
    u, k = known
    return decide(round(float(readings.mean()), 6), Fraction(u.value), Fraction(str(kind.tolerance)), rule, k)


def conforming_refused(kind: Kind, rule: Rule, number: int, seed: int) -> float:
    """Of those whose true offset is spread evenly over the tolerance, how many do not pass."""
    each = max(number // 9, 1)
    shares = [share_passing(kind, kind.tolerance * n / 5, rule, each, seed + n) for n in range(-4, 5)]
    return 1 - sum(shares) / len(shares)


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--checks", type=int, default=20_000)
    number = asked.parse_args().checks
    print("| thermometer | guard band: passes just outside | conforming, not passed | default: passes just outside "
          "| 0.3 °C outside | conforming, not passed |\n|---|---|---|---|---|---|")  # fmt: skip
    for n, kind in enumerate(kinds()):
        out = kind.tolerance + JUST
        figures = (
            share_passing(kind, out, "guard_band", number, 100 * n),
            conforming_refused(kind, "guard_band", number, 100 * n + 20),
            share_passing(kind, out, "simple", number, 100 * n + 40),
            share_passing(kind, kind.tolerance + 0.3, "simple", number, 100 * n + 60),
            conforming_refused(kind, "simple", number, 100 * n + 80),
        )
        print(f"| {kind} | " + " | ".join(f"{100 * one:.1f} %" for one in figures) + " |")


if __name__ == "__main__":
    main()
