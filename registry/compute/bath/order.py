"""In which order to read the thermometers of a bath, so that it can be judged after as few as possible."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt


@dataclass(frozen=True, slots=True)
class ToRead:
    """One that is about to be read.

    sd: of its predicted offset; u_new: of one reading; half_width: half a step, all °C. incident: since its last good
    check. counts: whether its reading will be evidence (see `InBath`).
    """

    sd: float
    u_new: float
    half_width: float = 0.0
    incident: bool = False
    counts: bool = True


def reading_order(waiting: Sequence[ToRead]) -> tuple[int, ...]:
    """Places in the order given, steadiest first, whatever their station.

    The steadiest is the one whose reading tells most of the bath: the least of prediction, reading and rounding in
    quadrature. Those with an incident come after all others, those that are no evidence last. Equals stay in order.

    >>> reading_order([ToRead(0.6, 0.1, 0.5), ToRead(0.1, 0.06, 0.05), ToRead(0.05, 0.05, 0.05, incident=True)])
    (1, 0, 2)
    """

    def unsteady(place: int) -> tuple[bool, bool, float]:
        one = waiting[place]
        return not one.counts, one.incident, hypot(one.sd, one.u_new, one.half_width / sqrt(3))

    return tuple(sorted(range(len(waiting)), key=unsteady))
