"""What the diagnosis of a bath is told and what it answers, as frozen records.

°C throughout. The error of a bath is its true temperature minus the nominal reference: what a reading minus reference
shows is the thermometer's own offset plus that error. Warm is positive. Figures that start with a judgement say so.
"""

from dataclasses import dataclass
from math import hypot, isfinite
from typing import Literal

from registry.compute.arrays import within

Basis = Literal["here", "elsewhere", "none"]
Verdict = Literal["good", "bad", "too_few"]
Wanted = Literal["trusted", "readings", "read_again", "remake"]

TRUSTED_SD = 0.25  # °C
ENOUGH_TRUSTED, ENOUGH_READINGS = 2, 3


# A reading farther from its reference is a slip of the keys in any unit, and would leave no digits to reckon with.
FARTHEST = 200.0


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
        within(self.predicted, -FARTHEST, FARTHEST, "predicted")
        within(self.reading, -FARTHEST, FARTHEST, "reading")
        within(self.half_width, 0.0, FARTHEST, "half_width")
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
    likely than not, or two to one where only the habit says so and not today's new part; good where one of the two is
    beyond it with 5 % at most; else, or with too few readings, too few to tell. (So a habit that is poorly known makes
    no bath wait: no reading of today would tell.) remaining: of each thermometer in the order given. wanted: what would
    decide, or mend it. readings, trusted: how many of those given are evidence, and of these trusted.
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
