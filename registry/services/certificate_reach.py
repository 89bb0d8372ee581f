"""Readings to reach on a certificate: what the thermometer must show at each limit of food, as issued."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection

from registry import resources
from registry.documents.facts import Reach, ReachFacts
from registry.quantity import Reading
from registry.records import thermometers as records
from registry.records.rules import LimitSet
from registry.services import reach, rules, thermometer_page
from registry.services.session import Session
from registry.services.thermometer_page import UNPLANNED_DAYS
from registry.services.thermometers import Thermometer

MOST = 4  # temperatures side by side, the highest; who wants more looks at the thermometer's page


def to_issue(session: Session, connection: Connection, of: Thermometer) -> tuple[str, tuple[records.Reach, ...]] | None:
    """The limits in force and what it must show for them, one of each temperature; None where nothing can be said."""
    found = [one for one in thermometer_page.reaches(session, connection, of) if one.shown is not None]
    # Of those alike holding goes first: its words are the shortest and serve every food.
    ordered = sorted(found, key=lambda one: (one.step == "hot_holding", -found.index(one)))
    each = {(one.at, one.side): one for one in ordered}
    chosen = sorted(each.values(), key=lambda one: -one.at.value)[:MOST]
    if not chosen:
        return None
    limits = rules.rules_in_force(connection, of.row.site).limits.set
    return limits, tuple(records.Reach(limit=one.limit, shown=one.shown.text()) for one in chosen if one.shown)


def facts(connection: Connection, said: dict[str, Any], of: Thermometer, day: date) -> ReachFacts | None:
    """As a page shows them, from what the issuing entry says. day: of the issue."""
    if not said.get("reach"):
        return None
    limits: LimitSet = rules.set_used(connection, said["limits"])
    rows = [_row(limits, one) for one in said["reach"]]
    planned = date.fromisoformat(said["recheck_by"]) if "recheck_by" in said else day + timedelta(days=UNPLANNED_DAYS)
    known = thermometer_page.good_points(connection, of)
    only = known[0] if len(known) == 1 else None
    return ReachFacts(
        rows=tuple(rows),
        until=max(planned, day),  # of one that was overdue they were worked out for the day of the issue
        only_at=_reading(only.reference, rows) if only else None,
        share=Decimal(str(100 * of.type.scale_share.value)).normalize() if only else None,
    )


def _row(limits: LimitSet, said: dict[str, str]) -> Reach:
    limit = next(one for one in limits.limits if one.limit == said["limit"])
    shipped = {one.code.partition(".")[2]: one for one in resources.limits().values()}[limit.limit]
    shown = Reading.from_text(said["shown"])
    text = limit.fahrenheit if shown.unit == "F" else limit.celsius
    assert text is not None
    side = reach.side_of(limit)
    return Reach(step=shipped.step, food=shipped.food, side=side, limit=Reading.from_text(text), shown=shown)


def _reading(value: Any, rows: Sequence[Reach]) -> Reading:
    """A reference in the unit of the rows, to a tenth."""
    return Reading(Decimal(round(value * 10)).scaleb(-1), rows[0].shown.unit)
