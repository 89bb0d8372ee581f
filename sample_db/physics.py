"""What really happens: true temperatures, true offsets, and what a thermometer then shows.

Nothing here uses the program's own science, so that the demo can test it.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from math import exp
from random import Random

from registry.quantity import Reading, Unit
from sample_db.scenario import DAY_US, Model

DAYS_A_MONTH = 30.4375
LIGHTEST_PA, HEAVIEST_PA = 97_500.0, 104_500.0  # sea-level pressures that weather keeps to here


def random_of(seed: int, *names: object) -> Random:
    """A stream of its own for each purpose, so that one more thermometer disturbs no other."""
    return Random("/".join(map(str, (seed, *names))))


@dataclass
class Instrument:
    """The true state of one thermometer.

    walk: its offset at the ice point on each day since `first_at`, °C, without jumps. jumps: (instant, °C, why) of
    drops, adjustments and swapped sensors. slope: °C of offset per °C away from the ice point. step: as it is read.
    """

    model: Model
    first_at: int
    walk: list[float]
    slope: float
    step: Decimal
    noise: Random
    jumps: list[tuple[int, float, str]] = field(default_factory=list)

    def true_offset(self, at: int, celsius: float = 0.0) -> float:
        """Its true offset at an instant and a temperature, °C."""
        day = min(max((at - self.first_at) // DAY_US, 0), len(self.walk) - 1)
        jumped = sum(jump for when, jump, _ in self.jumps if when <= at)
        return self.walk[day] + jumped + self.slope * celsius + self.model.bias

    def shows(self, celsius: float, at: int) -> Reading:
        """What it shows at a true temperature: with its offset and noise, rounded to its step."""
        felt = celsius + self.true_offset(at, celsius) + self.noise.gauss(0, self.model.noise)
        unit: Unit = "F" if self.model.unit == "F" else "C"
        return Reading(round((felt * 1.8 + 32 if unit == "F" else felt) / float(self.step)) * self.step, unit)


def make_instrument(
    seed: int, name: str, model: Model, step: Decimal, first_at: int, days: int, offset: float | None = None
) -> Instrument:
    """A thermometer as it comes from its maker; `offset` where the scenario says how far it is off."""
    draw = random_of(seed, "instrument", name)
    now = draw.gauss(0, model.start) if offset is None else offset
    slope = draw.gauss(0, model.slope)
    walk = []
    for _ in range(days + 1):
        walk.append(now)
        now += model.month / DAYS_A_MONTH + draw.gauss(0, model.walk)
    return Instrument(model, first_at, walk, slope, step, random_of(seed, "noise", name))


def sea_level_pressures(seed: int, site: str, days: int) -> list[float]:
    """The pressure of each day reduced to sea level, Pa: weather that remembers yesterday."""
    draw, found, now = random_of(seed, "weather", site), [], 0.0
    for _ in range(days + 1):
        now = 0.75 * now + draw.gauss(0, 450)
        found.append(min(max(101_500 + now, LIGHTEST_PA), HEAVIEST_PA))
    return found


def pressure_at(sea_level_pa: float, elevation_m: float) -> float:
    """Pressure at an elevation, Pa, of a standard atmosphere with this pressure at sea level."""
    return sea_level_pa * float((1 - 0.0065 * elevation_m / 288.15) ** 5.25588)


def saturation_pressure(celsius: float) -> float:
    """Pa, by the auxiliary equation of Wagner and Pruss (1993), J. Phys. Chem. Ref. Data 22, 783, equation (1)."""
    kelvin = celsius + 273.15
    tau = 1 - kelvin / 647.096
    powers = ((1.0, -7.85951783), (1.5, 1.84408259), (3.0, -11.7866497), (3.5, 22.6807411), (4.0, -15.9618719))
    total = sum(factor * tau**power for power, factor in powers) + 1.80122502 * tau**7.5
    return 22.064e6 * exp(647.096 / kelvin * total)


def boils_at(pressure_pa: float) -> float:
    """Where water boils, °C: `saturation_pressure` turned round by halving."""
    low, high = 50.0, 130.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if saturation_pressure(middle) < pressure_pa else (low, middle)
    return (low + high) / 2


def ice_bath(draw: Random, mean: float, spread: float) -> float:
    """True temperature of an ice bath, °C: it errs warm, and is never below zero."""
    return abs(draw.gauss(mean, spread))


def boiling_pot(draw: Random, pressure_pa: float) -> float:
    """True temperature in a pot, °C: a little below where water boils, when it does not roll hard."""
    return boils_at(pressure_pa) - abs(draw.gauss(0, 0.12)) + 0.03


def happens_on(draw: Random, days: int, a_year: float) -> list[int]:
    """Days on which something happens that does so this often a year."""
    chance = a_year / 365.25
    return [day for day in range(days) if draw.random() < chance]


def drop_step(draw: Random) -> float:
    """How far a drop moves a thermometer, °C."""
    return draw.choice((-1, 1)) * (0.5 + abs(draw.gauss(0, 1.1)))
