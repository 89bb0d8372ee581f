"""What is known of the past once later checks are in: each row's state given all of them.

The backward pass in the form that inverts no matrix, so that it also serves where nothing walks; it gives what
Rauch, Tung and Striebel's gives. The same lines serve one thermometer and many at once: then each number is an array.
Source: Durbin and Koopman (2nd edition, 2012), sections 4.4 and 5.3.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from registry.compute.drift.filter import Row
from registry.compute.drift.reading import Lesson
from registry.compute.drift.records import Observation
from registry.compute.drift.state import Number, State

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

UPPER = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


class Past(NamedTuple):
    """Of a row, what the way back asks for: see `filter.Row`. keep, lean: of its move, 1 and 0 where it had none."""

    days: Number
    keep: Number
    lean: Number
    before: State
    diffuse_before: State | None
    temperature: Number
    m: tuple[Number, Number, Number]
    miss: Number
    variance: Number
    lesson: Lesson


class Endless(NamedTuple):
    """Of what later readings say, the part that matters where something was infinite; nought until then."""

    r1: "Array"
    n1: "Array"
    n2: "Array"


@dataclass
class Later:
    """What later readings say: r = r0 + r1 / infinity, and the same of its covariance; shapes (..., 3), (..., 3, 3)."""

    r0: "Array"
    n0: "Array"
    endless: Endless | None = None

    def before(self, past: Past) -> "Later":
        """Carried back over a row's transition."""
        t = _transition(past)
        carry = turned(t)
        found = Later(times(carry, self.r0), carry @ self.n0 @ t)
        if self.endless:
            r1, n1, n2 = self.endless
            found.endless = Endless(times(carry, r1), carry @ n1 @ t, carry @ n2 @ t)
        return found

    def full(self) -> Endless:
        import numpy as np

        return self.endless or Endless(np.zeros_like(self.r0), np.zeros_like(self.n0), np.zeros_like(self.n0))

    def picked(self, those: Any) -> "Later":
        return Later(self.r0[those], self.n0[those], Endless(*(one[those] for one in self.full())))

    def put(self, those: Any, other: "Later") -> None:
        self.r0[those], self.n0[those] = other.r0, other.n0
        if self.endless or other.endless:
            self.endless = self.full()
            for one, new in zip(self.endless, other.full(), strict=True):
                one[those] = new


def nothing_later(*shape: int) -> Later:
    import numpy as np

    return Later(np.zeros((*shape, 3)), np.zeros((*shape, 3, 3)))


def smoothed(rows: Sequence[Row]) -> list[State]:
    """The state at each row, without an adjustment made there, given everything before and after it."""
    later, found = nothing_later(), []
    for row in reversed(rows):
        past = _past(row)
        if row.observed:
            later = (with_first_reading if row.first else with_reading)(later, past)
        found.append(State(*map(float, state(past, later))))
        later = nothing_later() if row.fresh else later.before(past)
    return found[::-1]


def _past(row: Row) -> Past:
    keep, lean = (row.move.keep, row.move.lean) if row.move else (1.0, 0.0)
    temperature = row.item.temperature if isinstance(row.item, Observation) else 0.0
    before, diffuse = row.before, row.diffuse_before
    return Past(row.days, keep, lean, before, diffuse, temperature, row.m, row.miss, row.variance, row.lesson)


def with_reading(later: Later, past: Past) -> Later:
    import numpy as np

    z, m, shrink = _looks(past.temperature), _together(past.m), _wide(past.lesson.shrink)
    keeps = np.eye(3) - shrink * outer(m, z)
    carry = turned(keeps)
    r0 = z * np.asarray(past.lesson.shift)[..., None] + times(carry, later.r0)
    n0 = outer(z, z) * shrink + carry @ later.n0 @ keeps
    endless = later.endless and later.endless._replace(n1=later.endless.n1 @ keeps)
    return Later(r0, n0, endless)


def with_first_reading(later: Later, past: Past) -> Later:
    import numpy as np

    assert past.diffuse_before is not None
    z, m = _looks(past.temperature), _together(past.m)
    endless = times(_matrix(past.diffuse_before), z)
    f_endless = (z * endless).sum(axis=-1)
    f = np.asarray(past.variance)
    gain = endless / f_endless[..., None]
    keeps = np.eye(3) - outer(gain, z)
    twists = -outer((m - gain * f[..., None]) / f_endless[..., None], z)
    carry, twisted, zz = turned(keeps), turned(twists), outer(z, z)
    r1, n1, n2 = later.full()
    crossed = carry @ n1 @ twists
    return Later(
        times(carry, later.r0),
        carry @ later.n0 @ keeps,
        Endless(
            z * (np.asarray(past.miss) / f_endless)[..., None] + times(carry, r1) + times(twisted, later.r0),
            zz / _wide(f_endless) + carry @ n1 @ keeps + twisted @ later.n0 @ keeps,
            twisted @ later.n0 @ twists + crossed + turned(crossed) + carry @ n2 @ keeps - zz * _wide(f / f_endless**2),
        ),
    )


def state(past: Past, later: Later) -> State:
    """The state at a row given what it and later readings say."""
    p = _matrix(past.before)
    mean = _together(past.before[:3]) + times(p, later.r0)
    covariance = p - p @ later.n0 @ p
    if past.diffuse_before and later.endless:
        endless, (r1, n1, n2) = _matrix(past.diffuse_before), later.endless
        mean = mean + times(endless, r1)
        crossed = endless @ n1 @ p
        covariance = covariance - crossed - turned(crossed) - endless @ n2 @ endless
    return State(*(mean[..., i] for i in range(3)), *(covariance[..., i, j] for i, j in UPPER))


def _transition(past: Past) -> "Array":
    import numpy as np

    found = np.zeros((*np.shape(past.days), 3, 3))
    found[..., 0, 0], found[..., 0, 1], found[..., 0, 2] = past.keep, past.lean, past.keep * past.days
    found[..., 1, 1] = found[..., 2, 2] = 1.0
    return found


def times(matrix: "Array", vector: "Array") -> "Array":
    return (matrix @ vector[..., None])[..., 0]


def outer(one: "Array", other: "Array") -> "Array":
    return one[..., :, None] * other[..., None, :]


def turned(matrix: "Array") -> "Array":
    return matrix.swapaxes(-1, -2)


def _wide(number: Number) -> "Array":
    import numpy as np

    return np.asarray(number)[..., None, None]


def _together(numbers: Sequence[Number]) -> "Array":
    import numpy as np

    return np.array(numbers).T


def _looks(temperature: Number) -> "Array":
    import numpy as np

    found = np.zeros((*np.shape(temperature), 3))
    found[..., 0], found[..., 1] = 1.0, temperature
    return found


def _matrix(one: State) -> "Array":
    _, _, _, oo, os, orr, ss, sr, rr = one
    flat = _together((oo, os, orr, os, ss, sr, orr, sr, rr))
    return flat.reshape(*flat.shape[:-1], 3, 3)
