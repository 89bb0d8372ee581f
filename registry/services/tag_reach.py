"""Readings to reach on a status tag: one for each use, that of the strictest limit, so that it serves every food."""

from collections.abc import Sequence
from typing import Literal

from sqlalchemy import Connection

from registry.documents.facts import Cell
from registry.records import thermometers as records
from registry.services import reach, rules, thermometer_page
from registry.services.session import Session
from registry.services.thermometers import Thermometer

USES: dict[str, Literal["cook", "hot", "cold"]] = {"cooking": "cook", "hot_holding": "hot", "cold_holding": "cold"}


def strictest(found: Sequence[reach.Reach]) -> list[reach.Reach]:
    """Of each use the limit that asks most. Where nothing can be said of that one, a lesser one would mislead: none."""
    chosen = []
    for step in USES:
        those = [one for one in found if one.step == step]
        asks = [-one.at.value if one.side == reach.COLD_SIDE else one.at.value for one in those]
        most = [one for one, asked in zip(those, asks, strict=True) if asked == max(asks)]
        chosen += most[:1] if all(one.shown is not None for one in most) else []
    return chosen


def to_print(session: Session, connection: Connection, of: Thermometer) -> list[reach.Reach]:
    """What the tag of a thermometer shows, worked out up to its next check."""
    return strictest(thermometer_page.reaches(session, connection, of))


def cell(one: reach.Reach) -> Cell:
    assert one.shown is not None
    side: Literal["at_least", "at_most"] = "at_most" if one.side == reach.COLD_SIDE else "at_least"
    return Cell(use=USES[one.step], side=side, limit=one.at, shown=one.shown)


def said(
    connection: Connection, of: Thermometer, found: Sequence[reach.Reach]
) -> tuple[str | None, tuple[records.Reach, ...] | None]:
    """The limits in force and what was printed for them, as an entry keeps it; None where nothing was."""
    if not found:
        return None, None
    limits = rules.rules_in_force(connection, of.row.site).limits.set
    return limits, tuple(records.Reach(limit=one.limit, shown=one.shown.text()) for one in found if one.shown)
