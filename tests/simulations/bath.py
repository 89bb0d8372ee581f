"""How often the diagnosis of a bath is right, on baths whose truth is known.

    python -m tests.simulations.bath --baths 10000

prints the tables that docs/bath.md shows. Each row names what is wanted and what was seen; one that is not met says so,
one with nothing wanted is published only. Noise and spreads are drawn anew for each thermometer and are not those that
the program is told; half of the good baths are normal, half rectangular, with the stated u. Figures are judgement.
"""

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import NamedTuple

import numpy as np

from registry.compute.atmosphere import station_pressure
from registry.compute.bath import (
    BathPrior,
    Diagnosis,
    Habit,
    InBath,
    Pin,
    ToRead,
    boiling,
    diagnose,
    habit,
    ice,
    pressure_mistake,
    reading_order,
    swapped,
)
from registry.compute.water import boiling_point
from tests.simulations import drift

SEED = 20261125
U_ICE, U_BOILING = 0.12, 0.36  # °C; boiling by elevation alone
TOLERANCE = 1.0


class Seen(drift.Seen):
    """A row of a table; where any share would do, it is published only."""

    def __str__(self) -> str:
        if (self.low, self.high) != (0, 1):
            return super().__str__()
        return f"{self.name:<66} {self.figure:8.4f}  published            of {self.number:>7}"


class Kind(NamedTuple):
    """Step of display or scale, °C, and the range of its noise."""

    step: float
    noise: tuple[float, float]


DIGITAL = Kind(0.1, (0.03, 0.10))
FAHRENHEIT = Kind(1 / 1.8, (0.05, 0.12))
DIAL = Kind(1.0, (0.10, 0.25))


@dataclass(frozen=True)
class Mix:
    """Thermometers in a bath: how many, of those how many trusted, of what kinds."""

    name: str
    number: tuple[int, int]
    trusted: tuple[int, int]
    steady: tuple[Kind, ...] = (DIGITAL, DIGITAL, FAHRENHEIT)
    others: tuple[Kind, ...] = (DIGITAL, FAHRENHEIT, DIAL)


SIX = Mix("6, of them 4 or more trusted", (6, 6), (4, 6))
TWO = Mix("4 to 6, of them 2 trusted", (4, 6), (2, 2))
MIXES = (
    Mix("2 trusted alone", (2, 2), (2, 2)),
    Mix("3, of them 1 trusted", (3, 3), (1, 1)),
    Mix("3, of them 2 trusted", (3, 3), (2, 2)),
    Mix("3 trusted", (3, 3), (3, 3)),
    TWO,
    Mix("6, of them 3 trusted", (6, 6), (3, 3)),
    SIX,
    Mix("12, of them 4 trusted", (12, 12), (4, 4)),
    Mix("6, of them 4 trusted, all with 1 °F displays", (6, 6), (4, 4), (FAHRENHEIT,), (FAHRENHEIT,)),
    Mix("6 digitals, none trusted", (6, 6), (0, 0), others=(DIGITAL,)),
)
DIALS = tuple(Mix(f"{n} dials alone", (n, n), (0, 0), others=(DIAL,)) for n in (3, 6, 12))


@dataclass(frozen=True)
class Wrong:
    """What the program is not told. understated: true spread of offsets over the one stated; tails: degrees of freedom
    of readings' noise and of offsets, 0 for normal; common: spread of an error that all predicted offsets share."""

    understated: float = 1.0
    tails: int = 0
    common: float = 0.0


RIGHT = Wrong()
GROSS_SHARE = 0.01


@dataclass(frozen=True)
class Drawn:
    """One bath: what the program is told, and the truth."""

    told: list[InBath]
    offsets: list[float]
    error: float
    dropped: int = -1


def good_error(draw: np.random.Generator, u: float) -> float:
    return float(draw.normal(0, u) if draw.random() < 0.5 else draw.uniform(-u, u) * sqrt(3))


def standard(draw: np.random.Generator, tails: int) -> float:
    """A draw with mean 0 and standard deviation 1."""
    return float(draw.standard_t(tails) / sqrt(tails / (tails - 2)) if tails else draw.normal())


def thermometer(
    draw: np.random.Generator, kind: Kind, sd: float, error: float, wrong: Wrong, common: float, thrown: bool
) -> tuple[InBath, float]:
    """One read in a bath, and its true offset: spread and noise within a quarter of what is stated."""
    noise, predicted = draw.uniform(*kind.noise), draw.normal(0, 0.3)
    offset = predicted + common + sd * wrong.understated * draw.uniform(0.8, 1.25) * standard(draw, wrong.tails)
    if thrown:
        offset += draw.uniform(1, 4) * draw.choice([-1, 1])
    shown = offset + error + noise * draw.uniform(0.8, 1.25) * standard(draw, wrong.tails)
    read = round(shown / kind.step) * kind.step
    return InBath(predicted, sd, read, noise, kind.step / 2, TOLERANCE), offset


def draw_bath(draw: np.random.Generator, mix: Mix, error: float, wrong: Wrong = RIGHT, drop_one: bool = False) -> Drawn:
    number = int(draw.integers(mix.number[0], mix.number[1] + 1))
    trusted = int(draw.integers(mix.trusted[0], mix.trusted[1] + 1))
    common = draw.normal(0, wrong.common) if wrong.common else 0.0
    dropped = int(draw.integers(number)) if drop_one else -1
    told, offsets = [], []
    for place in range(number):
        steady = place < trusted
        sd = draw.uniform(0.05, 0.25) if steady else draw.uniform(0.25, 1.0)
        kinds = mix.steady if steady else mix.others
        thrown = place == dropped or (not drop_one and draw.random() < GROSS_SHARE)
        one, offset = thermometer(draw, kinds[draw.integers(len(kinds))], sd, error, wrong, common, thrown)
        told.append(one)
        offsets.append(offset)
    return Drawn(told, offsets, error, dropped)


def diagnosed(
    mix: Mix, of: BathPrior, error: float | None, baths: int, wrong: Wrong = RIGHT, drop_one: bool = False
) -> Iterator[tuple[Drawn, Diagnosis]]:
    """Baths of one error, or good ones where it is None, each with its diagnosis. A seed of its own for each mix."""
    draw = np.random.default_rng([SEED, sum(map(ord, mix.name)), round(1000 * (error or 0) + 5000), drop_one])
    for _ in range(baths):
        bath = draw_bath(draw, mix, good_error(draw, of.u) if error is None else error, wrong, drop_one)
        yield bath, diagnose(bath.told, of)


def share_bad(
    name: str,
    mix: Mix,
    of: BathPrior,
    error: float | None,
    baths: int,
    low: float = 0.0,
    high: float = 1.0,
    wrong: Wrong = RIGHT,
    drop_one: bool = False,
) -> Seen:
    """Share of baths called bad."""
    bad = [found.verdict == "bad" for _, found in diagnosed(mix, of, error, baths, wrong, drop_one)]
    return Seen(f"{name}: {mix.name}", float(np.mean(bad)), low, high, baths)


# --- what is wanted --------------------------------------------------------------------------------------------


class Gate(NamedTuple):
    name: str
    mix: Mix
    of: BathPrior
    error: float | None
    low: float
    high: float
    wrong: Wrong = RIGHT
    drop_one: bool = False

    def seen(self, baths: int) -> Seen:
        return share_bad(
            self.name, self.mix, self.of, self.error, baths, self.low, self.high, self.wrong, self.drop_one
        )


ICE, BOIL = ice(U_ICE), boiling(U_BOILING)
WRONGS = {
    "ice, false alarm, sd understated 1.5 times": Wrong(understated=1.5),
    "ice, false alarm, t3 noise and offsets": Wrong(tails=3),
    "ice, false alarm, common mode 0.15": Wrong(common=0.15),
}
GATES = (
    Gate("ice, false alarm", SIX, ICE, None, 0, 0.005),
    Gate("ice, +0.7 found", SIX, ICE, 0.7, 0.98, 1),
    Gate("ice, -0.7 found", SIX, ICE, -0.7, 0.98, 1),
    Gate("ice, one dropped and blamed on the bath", SIX, ICE, None, 0, 0.005, drop_one=True),
    Gate("ice, false alarm", TWO, ICE, None, 0, 0.01),
    Gate("ice, +0.7 found", TWO, ICE, 0.7, 0.90, 1),
    Gate("ice, -0.7 found", TWO, ICE, -0.7, 0.90, 1),
    Gate("boiling by elevation, -1.2 found", SIX, BOIL, -1.2, 0.90, 1),
    Gate("boiling by elevation, +1.2 found", SIX, BOIL, 1.2, 0.90, 1),
    Gate("boiling by elevation, -1.2 found", TWO, BOIL, -1.2, 0.90, 1),
    Gate("boiling by elevation, +1.2 found", TWO, BOIL, 1.2, 0.90, 1),
    *(
        Gate(name, SIX, ICE, None, 0, most, wrong)
        for (name, wrong), most in zip(WRONGS.items(), (0.01, 0.01, 0.05), strict=True)
    ),
)


# --- a site's habit --------------------------------------------------------------------------------------------

SPREADS = {"digital": (0.3, DIGITAL), "fahrenheit": (0.5, FAHRENHEIT), "dial": (0.6, DIAL)}


@dataclass
class Owned:
    """A thermometer of a site: kind, true offset, and how far its checks up to its first adjustment read high."""

    kind: Kind
    offset: float
    pin: Pin


def site(draw: np.random.Generator, habitual: float) -> tuple[list[Owned], float]:
    """Ten to twenty thermometers in the same 20 to 60 baths, all of which had the habitual error; mean of its new part.

    One beyond ±1 °C at its first check was set to that bath; its first reading pins the habit, nothing later does.
    """
    baths, day = int(draw.integers(20, 61)), draw.uniform(0.05, 0.12)
    new_part = float(draw.normal(0, day / sqrt(baths)))
    models = {name: draw.normal(0, draw.uniform(0.0, 0.15)) for name in SPREADS}
    owned = []
    for _ in range(int(draw.integers(10, 21))):
        name = str(draw.choice(list(SPREADS)))
        spread, kind = SPREADS[name]
        offset = models[name] + draw.normal(0, spread * draw.uniform(0.8, 1.25))
        noise = draw.uniform(*kind.noise)
        first = round((offset + habitual + draw.normal(0, day) + draw.normal(0, noise)) / kind.step) * kind.step
        if abs(first) > TOLERANCE:
            u = sqrt(spread**2 + noise**2 + day**2 + kind.step**2 / 12)
            pin, offset = Pin(first, u, name), offset - first + draw.normal(0, kind.step / 3)
        else:
            u = sqrt(noise**2 + kind.step**2 / 12)  # rounding does not average out
            pin = Pin(offset + habitual + new_part + draw.normal(0, u / 2), sqrt(spread**2 + u**2 / 4), name)
        owned.append(Owned(kind, offset, pin))
    return owned, new_part


def learned(owned: Sequence[Owned]) -> Habit:
    return habit([one.pin for one in owned], common_u=0.02)


def today(draw: np.random.Generator, owned: Sequence[Owned], habitual: float) -> list[InBath]:
    """Six of a site's thermometers in today's bath, each known from the baths before."""
    error, bath = habitual + draw.normal(0, 0.08), []
    for place in draw.permutation(len(owned))[:6]:
        one, sd = owned[place], draw.uniform(0.05, 0.25)
        noise = draw.uniform(*one.kind.noise)
        shown = one.offset + error + draw.normal(0, noise)
        read = round(shown / one.kind.step) * one.kind.step
        bath.append(InBath(one.offset + habitual + draw.normal(0, sd), sd, read, noise, one.kind.step / 2))
    return bath


def habits(name: str, habitual: float | None, sites: int, low: float = 0.0, high: float = 1.0) -> list[Seen]:
    """Share of sites whose bath of today is called bad; how often the habit lies in its band of 95 %; without a habit
    handed in, the same thermometers find nothing new."""
    draw = np.random.default_rng([SEED, round(100 * (habitual or 0)) + 500, 3])
    bad, covered, blind = [], [], []
    for _ in range(sites):
        true = draw.normal(0, 0.1) if habitual is None else habitual
        owned, _ = site(draw, true)
        known = learned(owned)
        bath = today(draw, owned, true)
        bad.append(diagnose(bath, ICE, known).verdict == "bad")
        blind.append(diagnose(bath, ICE).verdict == "bad")
        covered.append(abs(known.mean - true) <= 1.959964 * known.sd)
    return [
        Seen(f"{name}: called bad", float(np.mean(bad)), low, high, sites),
        Seen(f"{name}: habit inside its band of 95 %", float(np.mean(covered)), 0.0, 1.0, sites),
        Seen(f"{name}: called bad where no habit is handed in", float(np.mean(blind)), 0.0, 1.0, sites),
    ]


# --- while it is read ---------------------------------------------------------------------------------------


def while_reading(baths: int) -> list[Seen]:
    """Six, read steadiest first and judged again at each reading: good baths that are called bad at any time; bad ones
    that are called bad after two and after three."""
    good = [_verdicts(bath)[1:] for bath, _ in diagnosed(SIX, ICE, None, baths)]
    warm = [_verdicts(bath) for bath, _ in diagnosed(SIX, ICE, 0.7, baths)]
    rows = [Seen("good ice: called bad at any reading", float(np.mean(["bad" in one for one in good])), 0, 1, baths)]
    for count in (2, 3, 4):
        found = float(np.mean([one[count - 1] == "bad" for one in warm]))
        rows.append(Seen(f"ice off by +0.7: called bad after {count} readings", found, 0, 1, baths))
    return rows


def _verdicts(bath: Drawn) -> list[str]:
    order = reading_order([ToRead(one.sd, one.u_new, one.half_width) for one in bath.told])
    return [diagnose([bath.told[place] for place in order[: n + 1]], ICE).verdict for n in range(len(order))]


# --- who is what -----------------------------------------------------------------------------------------------


def dropped_ones(baths: int) -> list[Seen]:
    """One of six was dropped, in a good bath: is it named, is it failed, is any other."""
    named, others, failed, beyond = 0, 0, 0, 0
    for bath, found in diagnosed(SIX, ICE, None, baths, drop_one=True):
        named += bath.dropped in found.disagree
        others += any(place != bath.dropped for place in found.disagree)
        if abs(bath.offsets[bath.dropped]) > TOLERANCE + 0.5:
            beyond += 1
            failed += found.remaining[bath.dropped].out
    return [
        Seen("dropped by 1 to 4 °C: named", named / baths, 0, 1, baths),
        Seen("dropped by 1 to 4 °C: another named", others / baths, 0, 1, baths),
        Seen("dropped, truly 0.5 °C beyond its tolerance: fails at once", failed / beyond, 0, 1, beyond),
    ]


def remaining_right(baths: int, error: float) -> list[Seen]:
    """In a bad bath: true offsets inside their band of 95 %; those that fail at once and are within their tolerance."""
    inside, failed, wrongly = [], 0, 0
    for bath, found in diagnosed(SIX, ICE, error, baths):
        for offset, left in zip(bath.offsets, found.remaining, strict=True):
            inside.append(abs(offset - left.offset) <= 1.959964 * left.sd)
            failed += left.out
            wrongly += left.out and abs(offset) <= TOLERANCE
    name = f"ice off by {error:+g}"
    return [
        Seen(f"{name}: true offset inside its band of 95 %", float(np.mean(inside)), 0, 1, len(inside)),
        Seen(f"{name}: failed at once, and within its tolerance", wrongly / max(failed, 1), 0, 0.05, failed),
    ]


def swaps(baths: int) -> list[Seen]:
    """Six in a bath, none swapped: how often a question is asked; two swapped: how often it is about those, by how far
    apart they are beside what is known of them."""
    draw = np.random.default_rng([SEED, 11])
    asked = sum(bool(swapped(draw_bath(draw, SIX, good_error(draw, U_ICE)).told, ICE)) for _ in range(baths))
    rows = [Seen("none swapped: a question", asked / baths, 0, 0.005, baths)]
    for apart in (0.6, 0.8, 1.0, 1.5):
        found = sum(_asks_about(draw, apart) for _ in range(baths // 5))
        rows.append(
            Seen(f"two trusted, {apart} °C apart, swapped: asked about", found / (baths // 5), 0, 1, baths // 5)
        )
    return rows


def _asks_about(draw: np.random.Generator, apart: float) -> bool:
    told = draw_bath(draw, SIX, good_error(draw, U_ICE)).told
    first, second = told[0], told[1]
    move = first.predicted + apart - second.predicted
    second = replace(second, predicted=second.predicted + move, reading=second.reading + move)
    told[:2] = [replace(first, reading=second.reading), replace(second, reading=first.reading)]
    return any((one.first, one.second) == (0, 1) for one in swapped(told, ICE))


def mistaken(baths: int, elevation_m: float) -> list[Seen]:
    """A pressure at sea level taken as the one in the room, weather 8 hPa; and none so: how often that is likelier than
    not, by six thermometers."""
    draw, rows, of = np.random.default_rng([SEED, int(elevation_m)]), [], boiling(0.29)
    for mixed_up in (True, False):
        said = 0
        for _ in range(baths):
            setting = draw.normal(101_325, 800)
            room = station_pressure(setting, elevation_m)
            typed = setting if mixed_up else room
            error = float(boiling_point(room) - boiling_point(typed)) + good_error(draw, of.u)
            found = diagnose(draw_bath(draw, SIX, error).told, of).error
            said += pressure_mistake(found.mean, found.sd, of.u, typed, elevation_m, absolute=True).probability > 0.5
        name = "taken as the room's" if mixed_up else "all well"
        rows.append(Seen(f"at {elevation_m:g} m, {name}: said to be mixed up", said / baths, 0, 1, baths))
    return rows


# --- tables ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Verdicts:
    """Shares of baths called good, too few to tell and bad; published, nothing is wanted."""

    name: str
    shares: tuple[float, float, float]
    number: int
    met: bool = True

    def __str__(self) -> str:
        good, too_few, bad = (100 * share for share in self.shares)
        return f"{self.name:<62} good {good:5.1f}  too few {too_few:5.1f}  bad {bad:5.1f} %  of {self.number:>6}"


def by_mix(mix: Mix, of: BathPrior, size: float, baths: int) -> Iterator[Verdicts]:
    """Good baths, and baths off by a size either way."""
    for error in (None, size, -size):
        verdicts = Counter(found.verdict for _, found in diagnosed(mix, of, error, baths))
        shares = (verdicts["good"] / baths, verdicts["too_few"] / baths, verdicts["bad"] / baths)
        yield Verdicts(f"{mix.name}: {'good' if error is None else f'off by {error:+g}'}", shares, baths)


def tables(baths: int) -> Iterator[tuple[str, Iterator[Seen | Verdicts]]]:
    """Every table: its title and rows, worked out as they are asked for."""
    few = max(baths // 5, 1)
    yield "Gates", (gate.seen(baths) for gate in GATES)
    yield (
        "With 2 trusted, something wrong",
        (share_bad(name, TWO, ICE, None, few, wrong=wrong) for name, wrong in WRONGS.items()),
    )
    yield "Habit", _habits(few)
    yield "While it is read", iter(while_reading(few))
    yield "Ice, by number and mix", (row for mix in (*MIXES, *DIALS) for row in by_mix(mix, ICE, 0.7, few))
    yield (
        "Boiling by elevation, by number and mix",
        (row for mix in (*MIXES, *DIALS) for row in by_mix(mix, BOIL, 1.2, few)),
    )
    yield "Dropped and remaining", iter([*dropped_ones(few), *remaining_right(few, 0.7), *remaining_right(few, 2.0)])
    yield "Swapped", iter(swaps(few))
    yield "Pressure mixed up", (row for metres in (150.0, 300.0, 600.0, 1000.0) for row in mistaken(few, metres))


def _habits(sites: int) -> Iterator[Seen]:
    yield from habits("habit of +0.7 °C in all history", 0.7, sites, 0.8, 1.0)
    yield from habits("habit of -0.7 °C in all history", -0.7, sites, 0.8, 1.0)
    yield from habits("habits of spread 0.1 °C", None, sites)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--baths", type=int, default=10_000)
    asked.add_argument("--only", default="", help="tables whose title holds this")
    given = asked.parse_args()
    met: Counter[bool] = Counter()
    for title, rows in tables(given.baths):
        if given.only in title:
            print(f"\n{title}")
            for row in rows:
                met[row.met] += 1
                print(row, flush=True)
    print(f"\n{met[True]} met or published only, {met[False]} not met")


if __name__ == "__main__":
    main()
