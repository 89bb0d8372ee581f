"""What the diagnosis of a bath is told and what it answers, as frozen records.

°C throughout. The error of a bath is its true temperature minus the nominal reference: what a reading minus reference
shows is the thermometer's own offset plus that error. Warm is positive. Figures that start with a judgement say so.
"""

from dataclasses import dataclass
from math import erfc, hypot, isfinite, sqrt
from typing import Literal

Basis = Literal["here", "elsewhere", "none"]
Verdict = Literal["good", "bad", "too_few"]
Wanted = Literal["trusted", "readings", "read_again", "remake"]

TRUSTED_SD = 0.25  # °C
ENOUGH_TRUSTED, ENOUGH_READINGS = 2, 3


# A reading farther from its reference is a slip of the keys in any unit, and would leave no digits to reckon with.
FARTHEST = 200.0


def _within(name: str, number: float, least: float, most: float) -> None:
    if not least <= number <= most:
        raise ValueError(f"{name} must be a number from {least:g} to {most:g}")


@dataclass(frozen=True, slots=True)
class InBath:
    """One thermometer in the bath, read as found.

    predicted, sd: its offset at this point as known before today, and its standard deviation without what is shared by
    site and method; for a new one 0 and its type's spread. reading: what it shows minus the nominal reference, or the
    mean of its repeats. u_new: standard uncertainty of what is new each time, for that mean. half_width: half a step of
    display or scale, 0 where the mean of several is given and its rounding is in u_new. tolerance: at this point.

    basis says where the predicted offset comes from, and so of what its reading speaks:
      here       from baths of this site and method, adjusted in them or not: a habitual error of these baths is in the
                 predicted offset already, so the reading speaks only of what is new today;
      elsewhere  from anything else (a new one, an outside certificate, checks in other baths): the reading speaks of
                 the whole error, habit included;
      none       from nothing (it was set to this very bath, or adjusted and never measured since): the reading is no
                 evidence of the bath. The offset that remains still comes out.
    incident: dropped, bumped or the like since its last good check: its tail is heavier.
    """

    predicted: float
    sd: float
    reading: float
    u_new: float
    half_width: float = 0.0
    tolerance: float = 1.0
    basis: Basis = "here"
    incident: bool = False

    def __post_init__(self) -> None:
        _within("predicted", self.predicted, -FARTHEST, FARTHEST)
        _within("reading", self.reading, -FARTHEST, FARTHEST)
        _within("half_width", self.half_width, 0.0, FARTHEST)
        if not self.sd >= 0:
            raise ValueError("sd must be a number that is not negative")
        if not (isfinite(self.u_new) and self.u_new > 0 and self.tolerance > 0):
            raise ValueError("u_new and tolerance must be more than 0")
        if self.basis not in ("here", "elsewhere", "none"):
            raise ValueError(f"{self.basis!r} is no basis of a predicted offset")

    @property
    def counts(self) -> bool:
        """Whether its reading is evidence of the bath."""
        return self.basis != "none"

    @property
    def trusted(self) -> bool:
        return self.counts and self.sd <= TRUSTED_SD and not self.incident


@dataclass(frozen=True, slots=True)
class BathPrior:
    """What is believed of the new part of a bath's error before anybody reads.

    u: standard uncertainty of a bath made as it should be, 0.001 to 10 °C. bad_share: how many baths are not made so;
    warm_share: of those, how many err warm; warm, cold: by how much on average (exponential). All but u is judgement,
    without a source; `ice`, `boiling` and `flask` have starting values.
    """

    u: float
    bad_share: float = 0.15
    warm_share: float = 0.5
    warm: float = 1.0
    cold: float = 1.0

    def __post_init__(self) -> None:
        for name in ("u", "warm", "cold"):
            _within(name, getattr(self, name), 1e-3, 10.0)
        for name in ("bad_share", "warm_share"):
            _within(name, getattr(self, name), 0.0, 1.0)

    @property
    def allowed(self) -> float:
        """A bath is bad when its whole error is beyond this either way: three of its u, but 0.3 to 0.9 °C.

        Finer than 0.3 the thermometers of a kitchen don't tell; a bath 0.9 °C off would by itself put a thermometer
        that is right at the edge of a tolerance of 1 °C. Judgement.
        """
        return min(max(3 * self.u, 0.3), 0.9)


def ice(u: float = 0.12) -> BathPrior:
    """Ice and water: errs warm where it was left or not stirred, cold where salted or dry from the freezer.

    u: °C. Two of three bad ones warm; judgement, without a source.

    >>> ice().allowed
    0.36
    """
    return BathPrior(u, warm_share=2 / 3)


def boiling(u: float) -> BathPrior:
    """A boiling pot: errs low where it does not roll, either way by a mistaken pressure or elevation.

    u: of pot and pressure together, °C; 0.36 by elevation alone. One of three bad ones warm; judgement.
    """
    return BathPrior(u, warm_share=1 / 3, cold=1.5)


def flask(u: float) -> BathPrior:
    """A flask of hot water beside a reference: errs either way. u: of reference and unevenness together, °C."""
    return BathPrior(u)


@dataclass(frozen=True, slots=True)
class Tails:
    """How often a thermometer is not what its history says. Judgement.

    share: thrown off unnoticed; after_incident: after a reported one; by a normal spread of `spread`. broken: share of
    those of which nothing is left, or typed wrong; broken_spread: theirs.
    """

    share: float = 0.01
    after_incident: float = 0.3
    spread: float = 2.0
    broken: float = 0.001
    broken_spread: float = 20.0

    def __post_init__(self) -> None:
        for name in ("share", "after_incident", "broken"):
            _within(name, getattr(self, name), 0.0, 1.0)
        for name in ("spread", "broken_spread"):
            _within(name, getattr(self, name), 0.0, FARTHEST)
        if max(self.share, self.after_incident) + self.broken >= 1:
            raise ValueError("shares must leave some that are what their history says")


@dataclass(frozen=True, slots=True)
class Habit:
    """The part of the error that belongs to a site and method and is the same in each of its baths.

    mean, sd: of that part. between: spread of the evidence beyond what it stated. evidence: how many pieces it rests
    on; left_out: places of those that were gross.
    """

    mean: float = 0.0
    sd: float = 0.0
    between: float = 0.0
    evidence: int = 0
    left_out: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        _within("mean", self.mean, -10.0, 10.0)
        _within("sd", self.sd, 0.0, 10.0)

    def probability_beyond(self, allowed: float) -> float:
        """That the habitual error is beyond ± allowed, °C."""
        if self.sd == 0:
            return float(abs(self.mean) > allowed)
        return 0.5 * sum(erfc((allowed + side * self.mean) / self.sd / sqrt(2)) for side in (-1, 1))


@dataclass(frozen=True, slots=True)
class BathError:
    """Posterior of the whole error: mean, standard deviation, and quantiles at 2.5, 50 and 97.5 %."""

    mean: float
    sd: float
    low: float
    median: float
    high: float

    @property
    def added_u(self) -> float:
        """What it adds to the uncertainty of an offset that is not corrected for it (JCGM 100:2008, F.2.4.5)."""
        return hypot(self.mean, self.sd)


@dataclass(frozen=True, slots=True)
class Remaining:
    """What remains of a thermometer's offset once the bath is taken off.

    probability_out: that the true offset is beyond its tolerance; out: so likely that it fails whatever the bath
    (97.7 %, two standard deviations on one side). disagreement: probability that it is not what its history says;
    disagrees: more likely than not.
    """

    offset: float
    sd: float
    probability_out: float
    out: bool
    disagreement: float
    disagrees: bool


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The bath or the thermometers.

    error: of the bath, habit included. probability_bad: that it is beyond `allowed`. verdict: bad where that is more
    likely than not; good where today's new part is beyond it with 5 % at most; else, or with too few readings, too few
    to tell. (A habit that is poorly known makes no bath wait: no reading of today would tell.) remaining: of each
    thermometer in the order given. wanted: what would decide, or mend it. readings, trusted: how many of those given
    are evidence, and of these trusted.
    """

    error: BathError
    probability_bad: float
    allowed: float
    verdict: Verdict
    remaining: tuple[Remaining, ...]
    wanted: tuple[Wanted, ...]
    readings: int
    trusted: int

    @property
    def disagree(self) -> tuple[int, ...]:
        """Places of those that are not what their history says, in the order given."""
        return tuple(place for place, one in enumerate(self.remaining) if one.disagrees)
