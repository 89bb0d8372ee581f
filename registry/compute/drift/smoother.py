"""What is known of the past once later checks are in: each row's state given all of them.

The backward pass in the form that inverts no matrix, so that it also serves where nothing walks; it gives what
Rauch, Tung and Striebel's gives. Source: Durbin and Koopman (2nd edition, 2012), sections 4.4 and 5.3.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from registry.compute.drift.filter import Row
from registry.compute.drift.records import Observation
from registry.compute.drift.state import State

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass
class _Later:
    """What later readings say: r = r0 + r1 / infinity, and the same of its covariance."""

    r0: "Array"
    r1: "Array"
    n0: "Array"
    n1: "Array"
    n2: "Array"

    def before(self, t: "Array") -> "_Later":
        """Carried back over a transition."""
        carry = t.T
        return _Later(carry @ self.r0, carry @ self.r1, carry @ self.n0 @ t, carry @ self.n1 @ t, carry @ self.n2 @ t)


def smoothed(rows: Sequence[Row]) -> list[State]:
    """The state at each row, without an adjustment made there, given everything before and after it."""
    import numpy as np

    nothing, none = np.zeros(3), np.zeros((3, 3))
    later = unknown = _Later(nothing, nothing, none, none, none)
    found = []
    for row in reversed(rows):
        if row.observed:
            later = _with_reading(later, row)
        found.append(_state(row, later))
        later = unknown if row.fresh else later.before(_transition(row))
    return found[::-1]


def _with_reading(later: _Later, row: Row) -> _Later:
    import numpy as np

    assert isinstance(row.item, Observation)
    z, m = np.array([1.0, row.item.temperature, 0.0]), np.array(row.m)
    if row.first:
        return _with_first_reading(later, row, z, m)
    keeps = np.eye(3) - row.lesson.shrink * np.outer(m, z)
    r0 = z * row.lesson.shift + keeps.T @ later.r0
    n0 = np.outer(z, z) * row.lesson.shrink + keeps.T @ later.n0 @ keeps
    return _Later(r0, later.r1, n0, later.n1 @ keeps, later.n2)


def _with_first_reading(later: _Later, row: Row, z: "Array", m: "Array") -> _Later:
    import numpy as np

    assert row.diffuse_before is not None
    endless = _matrix(row.diffuse_before) @ z
    f_endless, f = float(z @ endless), row.variance
    gain = endless / f_endless
    keeps, twists = np.eye(3) - np.outer(gain, z), -np.outer((m - gain * f) / f_endless, z)
    zz = np.outer(z, z)
    crossed = keeps.T @ later.n1 @ twists
    return _Later(
        keeps.T @ later.r0,
        z * row.miss / f_endless + keeps.T @ later.r1 + twists.T @ later.r0,
        keeps.T @ later.n0 @ keeps,
        zz / f_endless + keeps.T @ later.n1 @ keeps + twists.T @ later.n0 @ keeps,
        -zz * f / f_endless**2 + twists.T @ later.n0 @ twists + crossed + crossed.T + keeps.T @ later.n2 @ keeps,
    )


def _transition(row: Row) -> "Array":
    import numpy as np

    grown = np.eye(3)
    grown[0, 2] = row.days
    if row.move is None:
        return grown
    moves = np.eye(3)
    moves[0, :2] = row.move.keep, row.move.lean
    return moves @ grown


def _state(row: Row, later: _Later) -> State:
    import numpy as np

    p = _matrix(row.before)
    mean = _vector(row.before) + p @ later.r0
    covariance = p - p @ later.n0 @ p
    if row.diffuse_before:
        endless = _matrix(row.diffuse_before)
        mean = mean + endless @ later.r1
        crossed = endless @ later.n1 @ p
        covariance = covariance - crossed - crossed.T - endless @ later.n2 @ endless
    return State(*mean.tolist(), *covariance[np.triu_indices(3)].tolist())


def _vector(state: State) -> "Array":
    import numpy as np

    return np.array(state[:3])


def _matrix(state: State) -> "Array":
    import numpy as np

    _, _, _, oo, os, orr, ss, sr, rr = state
    return np.array([[oo, os, orr], [os, ss, sr], [orr, sr, rr]])
