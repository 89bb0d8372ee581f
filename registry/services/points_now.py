"""How a thermometer stands now at each class of point: by its last check there, or as left by an adjustment since."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from registry.services.table import how_left
from registry.services.thermometer_page import CLASSES, where_of
from registry.store import queries, story
from registry.store.queries import AdjustmentView
from registry.store.story import Offset


@dataclass(frozen=True, slots=True)
class PointNow:
    """What was read there last.

    where: one of `thermometer_page.CLASSES`. outcome: None where it waits or was not
    read. left: `judged`, `waits` or `not_measured` where it was adjusted there since, else empty; as_found: what had
    been found then. day_only: the time of day is not known. overtaken: it was adjusted at another point since, which
    moved the whole scale.
    """

    where: str
    point: str
    at: int
    outcome: str | None
    left: str
    as_found: str | None
    day_only: bool
    overtaken: bool


def points_now(connection: Connection, thermometer: str) -> list[PointNow]:
    """Each class of point where it was ever read, the latest first."""
    checked = {where_of(one): one for one in story.offsets(connection, thermometer)}
    turned = queries.adjustments_of(connection, thermometer)
    found = [_now(connection, where, checked.get(where), turned) for where in CLASSES]
    return sorted((one for one in found if one is not None), key=lambda one: one.at, reverse=True)


def _now(connection: Connection, where: str, check: Offset | None, turned: Sequence[AdjustmentView]) -> PointNow | None:
    adjusted = next((one for one in reversed(turned) if where_of(one) == where), None)
    if adjusted is not None and (check is None or adjusted.at >= check.at):
        left = (None, None) if adjusted.voided else (adjusted.outcome, adjusted.offset)
        found = check.outcome if check else None
        last: Offset | AdjustmentView = adjusted
        outcome, how = left[0], how_left(left)
    elif check is not None:
        last, outcome, how, found = check, check.outcome, "", None
    else:
        return None
    day_only = queries.entry_at(connection, last.chain_no, last.seq).payload.get("day_only", False)
    overtaken = bool(turned) and where_of(turned[-1]) != where and turned[-1].at >= last.at
    return PointNow(where, last.point, last.at, outcome, how, found, day_only, overtaken)
