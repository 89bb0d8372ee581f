"""What is believed before anybody reads: of a bath, of a site's habit, of how often a thermometer is thrown off. °C."""

from dataclasses import dataclass
from math import erfc, sqrt

from registry.compute.arrays import within


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
            within(getattr(self, name), 1e-3, 10.0, name)
        for name in ("bad_share", "warm_share"):
            within(getattr(self, name), 0.0, 1.0, name)

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
            within(getattr(self, name), 0.0, 1.0, name)
        for name in ("spread", "broken_spread"):
            within(getattr(self, name), 0.0, 200.0, name)
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
        within(self.mean, -10.0, 10.0, "mean")
        within(self.sd, 0.0, 10.0, "sd")

    def probability_beyond(self, allowed: float) -> float:
        """That the habitual error is beyond ± allowed, °C."""
        if self.sd == 0:
            return float(abs(self.mean) > allowed)
        return 0.5 * sum(erfc((allowed + side * self.mean) / self.sd / sqrt(2)) for side in (-1, 1))
