"""What the tracking of one thermometer is told and what it answers, as frozen records.

Days are counted from any fixed instant and may be broken; °C throughout. An offset is reading minus reference.
"""

from dataclasses import dataclass
from math import hypot, inf, isfinite
from typing import Literal

EventKind = Literal["adjusted", "incident", "sensor_changed"]
ENOUGH_INSTRUMENTS = 10  # from so many of a model on, its parameters count as known


def _finite(**numbers: float) -> None:
    wrong = [name for name, number in numbers.items() if not isfinite(number)]
    if wrong:
        raise ValueError(f"{wrong[0]} must be a finite number")


def _not_negative(**numbers: float) -> None:
    wrong = [name for name, number in numbers.items() if not number >= 0]
    if wrong:
        raise ValueError(f"{wrong[0]} must be a number that is not negative")


@dataclass(frozen=True, slots=True)
class Observation:
    """One check as found.

    at_days: when. temperature: of the point, °C. offset: as found, °C. u_new: standard uncertainty of what is new
    each time, °C, more than 0, without the display's rounding. step: of the display or scale as read, °C, 0 for none.
    """

    at_days: float
    temperature: float
    offset: float
    u_new: float
    step: float = 0.0

    def __post_init__(self) -> None:
        _finite(at_days=self.at_days, temperature=self.temperature, offset=self.offset, u_new=self.u_new)
        _finite(step=self.step)
        _not_negative(step=self.step)
        if self.u_new <= 0:
            raise ValueError("u_new must be more than 0")


@dataclass(frozen=True, slots=True)
class Event:
    """What befell the thermometer between checks.

    kind: `adjusted` with as_left, the offset read afterwards in °C, its u (new each time, without rounding), the
    temperature it was read at and the display's step; `incident`, which may step it; `sensor_changed`.
    """

    at_days: float
    kind: EventKind
    as_left: float | None = None
    u: float | None = None
    temperature: float = 0.0
    step: float = 0.0

    def __post_init__(self) -> None:
        _finite(at_days=self.at_days, temperature=self.temperature, step=self.step)
        _not_negative(step=self.step)
        if self.kind not in ("adjusted", "incident", "sensor_changed"):
            raise ValueError(f"{self.kind!r} is no kind of event")
        if self.kind == "adjusted":
            if self.as_left is None or self.u is None:
                raise ValueError("an adjustment needs as_left and its u")
            _finite(as_left=self.as_left, u=self.u)
            _not_negative(u=self.u)


@dataclass(frozen=True, slots=True)
class History:
    """One thermometer's checks and events."""

    observations: tuple[Observation, ...]
    events: tuple[Event, ...] = ()


@dataclass(frozen=True, slots=True)
class Parameters:
    """How thermometers of a model behave.

    offset_walk, slope_walk: random walk, °C and °C per °C, in one root day. rate_walk: °C a day in one root day.
    rate_mean, rate_spread: mean and spread of the drift rate among instruments, °C a day. slope_spread: spread of the
    offset's change per °C. offset_spread: spread of a new sensor's offset, °C. step_spread: spread of a step, °C;
    step_chance: how often an incident brings one. noise_scale: the true noise over the budget's. same_bath:
    correlation of two readings' errors in one bath. false_steps_a_year: how many unreported steps may be found in a
    thermometer's year where there is none; 0 looks for none. instruments: how many it was learned from. others: what
    the parameters may be as well, each equally likely, where too few instruments are known; their spread is the
    uncertainty of the parameters.

    Spreads may be infinite: then nothing is assumed, and the start is exactly diffuse.
    """

    offset_walk: float
    rate_mean: float = 0.0
    rate_spread: float = inf
    rate_walk: float = 0.0
    slope_spread: float = inf
    slope_walk: float = 0.0
    offset_spread: float = inf
    step_spread: float = 1.0
    step_chance: float = 0.3
    noise_scale: float = 1.0
    same_bath: float = 0.0
    false_steps_a_year: float = 0.1
    instruments: int = 0
    others: "tuple[Parameters, ...]" = ()

    def __post_init__(self) -> None:
        _finite(rate_mean=self.rate_mean, offset_walk=self.offset_walk, rate_walk=self.rate_walk)
        _finite(slope_walk=self.slope_walk, step_spread=self.step_spread, noise_scale=self.noise_scale)
        _not_negative(offset_walk=self.offset_walk, rate_walk=self.rate_walk, slope_walk=self.slope_walk)
        _not_negative(rate_spread=self.rate_spread, slope_spread=self.slope_spread, offset_spread=self.offset_spread)
        _not_negative(step_spread=self.step_spread, false_steps_a_year=self.false_steps_a_year)
        if not (0 <= self.step_chance <= 1 and 0 <= self.same_bath <= 1):
            raise ValueError("step_chance and same_bath are shares between 0 and 1")
        if self.noise_scale <= 0:
            raise ValueError("noise_scale must be more than 0")


@dataclass(frozen=True, slots=True)
class TypePrior:
    """What is believed of a type before its models are known: where each parameter lies and how widely models differ.

    centre: the type's parameters; one that is 0 there stays 0. Standard deviations among models: log_walk of the
    logarithm of offset_walk, log_rate of rate_spread and rate_walk, log_noise of noise_scale; rate_mean_sd of
    rate_mean, °C a day. Judgement, until a group has measured its own.
    """

    centre: Parameters
    log_walk: float = 0.7
    log_rate: float = 0.7
    log_noise: float = 0.4
    rate_mean_sd: float = 0.001


@dataclass(frozen=True, slots=True)
class Predicted:
    """An offset, °C, and its standard deviation from drift and what is new each time; infinite when not known."""

    offset: float
    sd: float

    def with_shared(self, shared_u: float) -> "Predicted":
        """The same with what all checks of this site and method have in common, °C, in quadrature."""
        return Predicted(self.offset, hypot(self.sd, shared_u))


@dataclass(frozen=True, slots=True)
class Rate:
    """Drift rate, °C a day, and its standard deviation."""

    per_day: float
    sd: float


@dataclass(frozen=True, slots=True)
class Step:
    """A sudden change: reported as an incident, or found from readings alone.

    size, sd: °C, from up to three checks after an incident, else from the checks that found it. p_value: how often
    readings would be as odd with no step. probability: that there was one. found: whether it counts as a step,
    p_value under 5 % where reported.
    """

    at_days: float
    size: float
    sd: float
    p_value: float
    probability: float
    reported: bool
    found: bool
