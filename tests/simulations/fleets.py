"""Thermometers of one model as they really drift, and what their checks show. Figures are judgement, no source.

Every fleet has parameters of its own, drawn around those of its type; the program is told only the type's.
"""

from dataclasses import dataclass, field, replace
from math import exp, sqrt

import numpy as np

from registry.compute.drift import Event, History, Observation, Parameters, TypePrior

YEAR_DAYS = 365.25
HOT = 75.0
TOLERANCE = 1.1  # beyond it a dial or probe is adjusted, °C


@dataclass(frozen=True)
class Kind:
    """A type: prior; u_new and step of its checks, °C; left: spread of what an adjustment aims at; drops a year;
    tolerance: beyond it people adjust; hot: share of checks at 75 °C."""

    prior: TypePrior
    u_new: float
    step: float
    left: float
    drops: float
    tolerance: float = TOLERANCE
    hot: float = 0.0


DIAL = Kind(
    TypePrior(
        Parameters(
            offset_walk=0.03,
            rate_spread=0.001,
            rate_walk=4e-5,
            slope_spread=0.004,
            offset_spread=0.4,
            step_spread=1.1,
            same_bath=0.5,
        ),
        rate_mean_sd=0.0007,
    ),
    u_new=0.15,
    step=0.5,
    left=0.2,
    drops=1.0,
)
PROBE = Kind(
    TypePrior(
        Parameters(
            offset_walk=0.008,
            rate_spread=0.0004,
            rate_walk=2e-5,
            slope_spread=0.002,
            offset_spread=0.2,
            step_spread=0.8,
            same_bath=0.5,
        ),
        rate_mean_sd=0.0003,
    ),
    u_new=0.06,
    step=0.1,
    left=0.05,
    drops=0.3,
)


@dataclass(frozen=True)
class Wrong:
    """What the program is not told. shared: bias of the site, °C; ar: correlation of noise from check to check;
    budget: true noise over the one stated; tails: degrees of freedom of the noise, 0 for normal; walk: true
    random walks over what the type's centre says, beside the spread among models."""

    shared: float = 0.0
    ar: float = 0.0
    budget: float = 1.0
    tails: int = 0
    walk: float = 1.0


NOTHING_WRONG = Wrong()


@dataclass
class Life:
    """One thermometer: what is known, and the true offset at 0 °C at each check; then its true state at the end."""

    observations: list[Observation] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    true: list[float] = field(default_factory=list)
    jumps: list[tuple[float, float]] = field(default_factory=list)
    offset: float = 0.0
    rate: float = 0.0
    slope: float = 0.0

    @property
    def history(self) -> History:
        return History(tuple(self.observations), tuple(self.events))


@dataclass(frozen=True)
class Fleet:
    kind: Kind
    truth: Parameters
    lives: list[Life]


def draw_truth(kind: Kind, draw: np.random.Generator) -> Parameters:
    """A model of this type: each parameter apart from the type's by as much as models of a type are."""
    prior, centre = kind.prior, kind.prior.centre
    return replace(
        centre,
        offset_walk=centre.offset_walk * exp(draw.normal(0, prior.log_walk)),
        rate_spread=centre.rate_spread * exp(draw.normal(0, prior.log_rate)),
        rate_walk=centre.rate_walk * exp(draw.normal(0, prior.log_rate)),
        rate_mean=draw.normal(0, prior.rate_mean_sd),
        noise_scale=exp(draw.normal(0, 0.2)),
        same_bath=draw.uniform(0.2, 0.8),
    )


def make_fleet(
    draw: np.random.Generator,
    kind: Kind,
    instruments: int = 10,
    checks: tuple[int, int] = (25, 60),
    gap_days: tuple[float, float] = (1.0, 14.0),
    wrong: Wrong = NOTHING_WRONG,
) -> Fleet:
    """Thermometers of one model at one site, checked every so many days, a little irregularly."""
    truth = draw_truth(kind, draw)
    truth = replace(truth, offset_walk=truth.offset_walk * wrong.walk)
    gap = exp(draw.uniform(np.log(gap_days[0]), np.log(gap_days[1])))
    site = draw.normal(0, wrong.shared) if wrong.shared else 0.0
    lives = [
        live(draw, kind, truth, int(draw.integers(checks[0], checks[1] + 1)), gap, wrong, site)
        for _ in range(instruments)
    ]
    return Fleet(kind, truth, lives)


def live(
    draw: np.random.Generator, kind: Kind, truth: Parameters, checks: int, gap: float, wrong: Wrong, site: float
) -> Life:
    """One thermometer from its first check on, adjusted when it shows more than the tolerance, dropped now and then."""
    life, noise = Life(), Noise(draw, kind, truth, wrong)
    life.offset = draw.normal(0, truth.offset_spread)
    life.rate = truth.rate_mean + draw.normal(0, truth.rate_spread)
    life.slope = draw.normal(0, truth.slope_spread) if kind.hot else 0.0
    now = draw.uniform(0, 365)
    for _ in range(checks):
        days = gap * draw.uniform(0.5, 1.5)
        walk(draw, truth, life, days)
        dropped = draw.random() < kind.drops * days / YEAR_DAYS
        if dropped and life.observations:
            life.events.append(Event(now + days * draw.random(), "incident"))
            if draw.random() < truth.step_chance:
                life.jumps.append((life.events[-1].at_days, draw.normal(0, truth.step_spread)))
                life.offset += life.jumps[-1][1]
        now += days
        check(draw, kind, life, now, noise, site)
    return life


def walk(draw: np.random.Generator, truth: Parameters, life: Life, days: float) -> None:
    """The truth moves on: both random walks in continuous time, drawn together."""
    q = truth.rate_walk**2
    rate = draw.normal(0, sqrt(q * days))
    # Given where the rate ends, the integral of its walk has mean rate days/2 and variance q days³/12.
    drifted = rate * days / 2 + draw.normal(0, sqrt(q * days**3 / 12))
    life.offset += life.rate * days + drifted + draw.normal(0, truth.offset_walk * sqrt(days))
    life.rate += rate


class Noise:
    """Errors of readings: normal or heavy-tailed, alike from check to check or not."""

    def __init__(self, draw: np.random.Generator, kind: Kind, truth: Parameters, wrong: Wrong) -> None:
        self.draw, self.wrong, self.bath, self.share = draw, wrong, 0.0, truth.same_bath
        self.sd = kind.u_new * truth.noise_scale * wrong.budget

    def one(self, sd: float) -> float:
        if self.wrong.tails:
            return sd * self.draw.standard_t(self.wrong.tails) / sqrt(self.wrong.tails / (self.wrong.tails - 2))
        return self.draw.normal(0, sd)

    def new_bath(self) -> None:
        fresh = self.one(self.sd * sqrt(self.share))
        self.bath = self.wrong.ar * self.bath + sqrt(1 - self.wrong.ar**2) * fresh

    def reading(self) -> float:
        return self.bath + self.one(self.sd * sqrt(1 - self.share))


def check(draw: np.random.Generator, kind: Kind, life: Life, now: float, noise: Noise, site: float) -> None:
    """A check, at the ice point mostly, and an adjustment in the same bath of ice where it shows too much."""
    noise.new_bath()
    celsius = HOT if kind.hot and draw.random() < kind.hot else 0.0
    shown = rounded(life.offset + life.slope * celsius + site + noise.reading(), kind.step)
    life.observations.append(Observation(now, celsius, shown, kind.u_new, kind.step))
    life.true.append(life.offset)
    if abs(shown) > kind.tolerance and not celsius:
        # The person turns it until it seems to show nought.
        before, life.offset = life.offset, draw.normal(0, kind.left) - site - noise.bath
        left = rounded(life.offset + site + noise.reading(), kind.step)
        life.jumps.append((now, life.offset - before))
        life.events.append(Event(now, "adjusted", as_left=left, u=kind.u_new, step=kind.step))


def rounded(celsius: float, step: float) -> float:
    return round(celsius / step) * step if step else celsius
