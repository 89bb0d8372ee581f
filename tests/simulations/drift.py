"""How often what tracking says is so, on fleets whose truth is known.

    python -m tests.simulations.drift --fleets 500

prints the tables that docs/tracking.md shows. Each row names what must be met ("wanted") and what was seen; one that
is not met says so. Parameters are drawn anew for each fleet and never told to the program.
"""

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import erfc, exp, log, sqrt

import numpy as np

from registry.compute.drift import (
    Event,
    Parameters,
    Predicted,
    Track,
    extend,
    pooled,
    probability_out,
    track,
)
from tests.simulations.fleets import (
    DIAL,
    HOT,
    NOTHING_WRONG,
    PROBE,
    YEAR_DAYS,
    Fleet,
    Kind,
    Life,
    Noise,
    Wrong,
    check,
    live,
    make_fleet,
    walk,
)

SEED = 20261125
FOUR_WEEKS = 28.0
COARSE_F = replace(DIAL, u_new=0.1, step=0.5 / 0.9)  # a dial read to a whole °F
HORIZONS = (3.0, 7.0, 14.0, 28.0, 42.0, 63.0, 91.0, 126.0, 182.0)


@dataclass(frozen=True)
class Seen:
    """One row of a table: shares or figures, with what is wanted of each and how many stand behind it."""

    name: str
    figure: float
    low: float
    high: float
    number: int

    @property
    def met(self) -> bool:
        return self.low <= self.figure <= self.high

    def __str__(self) -> str:
        verdict = "met" if self.met else "NOT MET"
        wanted = f"{self.low:.3f} to {self.high:.3f}"
        return f"{self.name:<66} {self.figure:8.4f}  wanted {wanted}  of {self.number:>7}  {verdict}"


@dataclass(frozen=True)
class Mix:
    """Fleets to draw: what they are, and what of the truth the program is not told."""

    name: str
    kinds: tuple[Kind, ...]
    wrong: Wrong = NOTHING_WRONG
    instruments: int = 10
    checks: tuple[int, int] = (25, 60)
    band: tuple[float, float] = (0.90, 1.0)
    forecast: tuple[float, float] = (0.90, 1.0)


BOTH = (DIAL, PROBE)
MIXES = (
    Mix("dials and probes", BOTH, band=(0.93, 0.97), forecast=(0.91, 0.97)),
    Mix("three instruments, 5 to 20 checks", BOTH, instruments=3, checks=(5, 20)),
    Mix("one instrument, 5 to 20 checks", BOTH, instruments=1, checks=(5, 20)),
    Mix("display step 0.556, noise 0.1", (COARSE_F,)),
    Mix("shared bias 0.12", BOTH, Wrong(shared=0.12)),
    Mix("noise alike from check to check, AR 0.5", BOTH, Wrong(ar=0.5)),
    Mix("noise 1.5 times the budget", BOTH, Wrong(budget=1.5)),
    Mix("noise the budget over 1.5", BOTH, Wrong(budget=1 / 1.5)),
    Mix("heavy-tailed noise, t3", BOTH, Wrong(tails=3)),
    Mix("walks three times the type's", BOTH, Wrong(walk=3.0)),
    Mix("walks a third of the type's", BOTH, Wrong(walk=1 / 3)),
    Mix("walks three times the type's, three instruments", BOTH, Wrong(walk=3.0), instruments=3, checks=(5, 20)),
    Mix("one check in ten at 75 °C", tuple(replace(kind, hot=0.1) for kind in BOTH)),
)


def followed(mix: Mix, fleets: int, seed: int = SEED) -> Iterator[tuple[Fleet, list[Track], np.random.Generator]]:
    """Each fleet with the tracks of its thermometers under parameters fitted to them."""
    draw = np.random.default_rng([seed, sum(map(ord, mix.name))])
    for number in range(fleets):
        kind = mix.kinds[number % len(mix.kinds)]
        fleet = make_fleet(draw, kind, mix.instruments, mix.checks, wrong=mix.wrong)
        model = pooled([life.history for life in fleet.lives], kind.prior)
        yield fleet, [track(life.observations, life.events, model) for life in fleet.lives], draw


def coverage(mix: Mix, fleets: int) -> list[Seen]:
    """Shares of true offsets inside 95 % bands: filtered and smoothed at each check, and four weeks after the last."""
    inside: dict[str, list[bool]] = {"filtered": [], "smoothed": [], "four weeks on": []}
    for fleet, tracks, draw in followed(mix, fleets):
        for life, one in zip(fleet.lives, tracks, strict=True):
            for name, estimates in (("filtered", one.filtered), ("smoothed", one.smoothed)):
                pairs = zip(estimates, life.true, strict=True)
                inside[name] += [_covers(estimate.at(0.0), true, mix.wrong.shared) for estimate, true in pairs]
            if life.slope:
                hot, true = one.now.at(HOT), life.offset + HOT * life.slope
                inside.setdefault("at 75 °C after the last check", []).append(_covers(hot, true, mix.wrong.shared))
            ahead = one.predict(one.now.at_days + FOUR_WEEKS)
            walk(draw, fleet.truth, life, FOUR_WEEKS)
            inside["four weeks on"].append(_covers(ahead, life.offset, mix.wrong.shared))
    wanted = {"four weeks on": mix.forecast}
    return [
        Seen(f"{mix.name}: {name}", float(np.mean(hits)), *wanted.get(name, mix.band), len(hits))
        for name, hits in inside.items()
    ]


def _covers(predicted: Predicted, true: float, shared_u: float) -> bool:
    wide = predicted.with_shared(shared_u)
    return bool(abs(wide.offset - true) <= 1.959964 * wide.sd)


def out_as_forecast(fleets: int) -> list[Seen]:
    """Of pairs of thermometer and date forecast to be out with 4 to 6 %, how many are.

    Each pair counts with the true chance, given the true offset and rate at the last check, that it will be out.
    """
    chances: list[float] = []
    for fleet, tracks, _ in followed(replace(MIXES[0], name="out"), fleets):
        for life, one in zip(fleet.lives, tracks, strict=True):
            for days in HORIZONS:
                forecast = probability_out(one, one.now.at_days + days, tolerance=1.1)
                if 0.04 <= forecast <= 0.06:
                    chances.append(_truly_out(fleet.truth, life.offset, life.rate, days, 1.1))
    return [Seen("out of those forecast at 4 to 6 %", float(np.mean(chances)), 0.03, 0.07, len(chances))]


def _truly_out(truth: Parameters, offset: float, rate: float, days: float, tolerance: float) -> float:
    mean = offset + rate * days
    sd = sqrt(truth.offset_walk**2 * days + truth.rate_walk**2 * days**3 / 3)
    return 0.5 * (erfc((tolerance - mean) / sd / sqrt(2)) + erfc((tolerance + mean) / sd / sqrt(2)))


def false_steps(fleets: int, gap: float, wrong: Wrong = NOTHING_WRONG) -> Seen:
    """Unreported steps found in a thermometer's year where there was none, at one check every `gap` days."""
    draw = np.random.default_rng([SEED, int(gap * 10)])
    found = years = 0.0
    for number in range(fleets):
        kind = replace(BOTH[number % 2], drops=0.0)
        fleet = make_fleet(draw, kind, checks=(40, 80), gap_days=(gap, gap), wrong=wrong)
        model = pooled([life.history for life in fleet.lives], kind.prior)
        for life in fleet.lives:
            found += len(track(life.observations, life.events, model).found)
            years += (life.observations[-1].at_days - life.observations[0].at_days) / YEAR_DAYS
    noise = f", noise t{wrong.tails}" if wrong.tails else ""
    return Seen(
        f"false steps a thermometer-year, a check every {gap:g} days{noise}", found / years, 0.0, 1.0, round(years)
    )


def steps_found(
    fleets: int, u: float, size: float, checks: int, wanted: float, kind: Kind = PROBE, step: float = 0.1
) -> Seen:
    """Share of unreported steps of one size found within so many checks of it, in models that are known."""
    draw = np.random.default_rng([SEED, int(u * 1000), int(size * 1000), checks])
    kind = replace(kind, u_new=u, step=step, drops=0.0)
    hits = []
    for _ in range(fleets):
        gap = exp(draw.uniform(0, log(14)))
        fleet = make_fleet(draw, kind, checks=(25, 40), gap_days=(gap, gap))
        fleet = replace(fleet, truth=replace(fleet.truth, noise_scale=1.0))
        lives = [live(draw, kind, fleet.truth, 30, gap, NOTHING_WRONG, 0.0) for _ in range(10)]
        model = pooled([life.history for life in lives], kind.prior)
        for life in lives:
            before = track(life.observations, life.events, model)
            jump = size if draw.random() < 0.5 else -size
            life.offset += jump
            hits.append(_found_within(draw, kind, fleet.truth, life, before, gap, checks, jump))
    name = f"step of {size:g} °C, reading sd {u:g}, step {step:g}: found within {checks} checks"
    return Seen(name, float(np.mean(hits)), wanted, 1.0, len(hits))


def _found_within(
    draw: np.random.Generator,
    kind: Kind,
    truth: Parameters,
    life: Life,
    before: Track,
    gap: float,
    checks: int,
    size: float,
) -> bool:
    """Checks go on after the step, with no adjustment, until one of its sign is found or time is up.

    It may be dated some checks early, where an odd reading came before.
    """
    noise, now, one = Noise(draw, kind, truth, NOTHING_WRONG), before.now.at_days, before
    for _ in range(checks):
        now += gap
        walk(draw, truth, life, gap)
        check(draw, replace(kind, tolerance=99.0), life, now, noise, 0.0)
        one = extend(one, life.observations[-1])
        if any(step.size * size > 0 for step in one.found[len(before.found) :]):
            return True
    return False


def incidents(fleets: int, size: float) -> Seen:
    """Share of reported incidents said to have stepped the thermometer, by the mean of three readings at 5 %."""
    draw = np.random.default_rng([SEED, int(size * 100), 7])
    found = []
    for number in range(fleets):
        kind = replace(BOTH[number % 2], drops=0.0)
        fleet = make_fleet(draw, kind)
        model = pooled([life.history for life in fleet.lives], kind.prior)
        for life in fleet.lives:
            noise, now = Noise(draw, kind, fleet.truth, NOTHING_WRONG), life.observations[-1].at_days
            life.events.append(Event(now + 0.5, "incident"))
            life.offset += size
            for _ in range(3):
                now += 1.0
                walk(draw, fleet.truth, life, 1.0)
                check(draw, replace(kind, tolerance=99.0), life, now, noise, 0.0)
            steps = track(life.observations, life.events, model).steps
            found += [step.found for step in steps if step.reported]
    name = f"incident with a step of {size:g} °C: said to have stepped"
    wanted = (0.03, 0.07) if size == 0 else (0.0, 1.0)
    return Seen(name, float(np.mean(found)), *wanted, len(found))


def tables(fleets: int) -> Iterator[tuple[str, Iterator[Seen]]]:
    """Every table: its title and rows, worked out as they are asked for."""
    yield "Bands of 95 %", (row for mix in MIXES for row in coverage(mix, fleets))
    yield "Out as forecast", iter(out_as_forecast(2 * fleets))
    few = max(fleets // 5, 1)
    yield "False steps", _false_steps(few)
    yield "Steps found", _steps(few)
    yield "After a reported incident", (incidents(few, size) for size in (0.0, 0.5, 0.8))


def _false_steps(fleets: int) -> Iterator[Seen]:
    for wrong in (NOTHING_WRONG, Wrong(tails=3)):
        yield from (false_steps(fleets, gap, wrong) for gap in (0.5, 1.0, 7.0))


def _steps(fleets: int) -> Iterator[Seen]:
    yield steps_found(fleets, u=0.15, size=0.8, checks=3, wanted=0.95)
    yield steps_found(fleets, u=0.25, size=0.8, checks=6, wanted=0.90)
    for size in (0.6, 0.8, 1.0, 1.5, 2.0):  # published, nothing is wanted
        yield steps_found(fleets, DIAL.u_new, size, 6, 0.0, kind=DIAL, step=DIAL.step)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--fleets", type=int, default=500)
    asked.add_argument("--only", default="", help="tables whose title holds this")
    given = asked.parse_args()
    verdicts: Counter[bool] = Counter()
    for title, rows in tables(given.fleets):
        if given.only in title:
            print(f"\n{title}")
            for row in rows:
                verdicts[row.met] += 1
                print(row, flush=True)
    print(f"\n{verdicts[True]} met, {verdicts[False]} not met")


if __name__ == "__main__":
    main()
