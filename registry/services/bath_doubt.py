"""A warning that a bath may be off, from what its thermometers read beyond their last time; the lead decides."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from registry.compute import bath_warning
from registry.compute.check import written
from registry.quantity import TemperatureDifference
from registry.services.shift_row import ListRow
from registry.services.shift_said import CheckSaid


@dataclass(frozen=True, slots=True)
class Dot:
    """One thermometer in the plot: its move in °C; `from_last` says whether last time was known, else from nought."""

    thermometer: str
    tag_id: str
    digital: bool
    move: TemperatureDifference
    counts: bool
    from_last: bool


@dataclass(frozen=True, slots=True)
class BathDoubt:
    """Most in the bath are off the same way. shift: the median of all moves, °C, with its sign.

    The texts are codes: `title` names nothing, `why` names count, of and shift, `what_to_do` is a sentence for this
    kind of bath and this direction.
    """

    bath: str
    point: str
    direction: Literal["high", "low"]
    count: int
    of: int
    shift: TemperatureDifference
    dots: tuple[Dot, ...]

    @property
    def title(self) -> str:
        return "doubt.title"

    @property
    def why(self) -> str:
        return f"doubt.why.{self.direction}"

    @property
    def what_to_do(self) -> str:
        return f"doubt.what_to_do.{self.point}_{self.direction}"

    @property
    def decide(self) -> str:
        return "doubt.decide"


def most_one_way(rows: Sequence[ListRow], bath: str) -> BathDoubt | None:
    """Warn where at least three, and more than half, of those judged in a bath are off the same way.

    Counted is who is off by more than the standard uncertainty of its own check beyond last time's offset at this
    point, or beyond nought where none is known. The rule is a judgement (no source) and never decides anything: the
    lead judges the bath. Readings that still wait for their repeats count as they stand, so that the warning comes
    before everybody has been lifted out and stirred for nothing. The as-found readings are taken, never as-left ones.
    """
    judged = [(row, check) for row in rows if (check := _in(row, bath)) is not None]
    last = [row.last_at(check.point) for row, check in judged]
    moves = [
        bath_warning.move(
            check.row.judged.offset.to("C").value,
            check.row.judged.u.to("C").value,
            before.to("C").value if before else None,
        )
        for (_, check), before in zip(judged, last, strict=True)
    ]
    found = bath_warning.most_one_way(moves)
    if found is None:
        return None
    dots = tuple(
        Dot(row.thermometer, row.tag_id, row.digital, written(one.move, "C"), one.counts, before is not None)
        for (row, _), one, before in zip(judged, moves, last, strict=True)
    )
    point = judged[0][1].point
    return BathDoubt(bath, point, found.direction, found.count, found.of, written(found.median, "C"), dots)


def _in(row: ListRow, bath: str) -> CheckSaid | None:
    """The newest check of a row in this bath."""
    return next((one for one in reversed(row.checks) if one.bath == bath), None)
