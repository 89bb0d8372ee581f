"""Earlier offsets on a certificate: what was found before, and what happened between."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute.check import plain
from registry.documents.facts import HistoryFacts, Past
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.store import queries
from registry.store.queries import CheckView, EntryView

LEAST, MOST = 2, 20  # fewer earlier checks are no history; more do not fit beside one another (a judgement)


def facts(connection: Connection, entry: EntryView, views: Sequence[CheckView]) -> HistoryFacts | None:
    """Checks before those of the certificate, as they count; None where there are too few. entry: of the issue."""
    first = queries.entry_at(connection, views[0].chain_no, views[0].seq).payload
    unit = TemperatureDifference.from_text(first["tolerance"]).unit
    own = {view.check for view in views}
    until = min(view.at for view in views)
    recent = queries.checks_of(connection, entry.subject, until=until, newest=MOST + len(own))
    counting = [one for one in recent if one.check not in own and one.outcome is not None and not one.voided]
    past = [_past(connection, one, unit) for one in counting[-MOST:] if one.offset is not None and one.u is not None]
    if len(past) < LEAST:
        return None
    since, last = past[0].at, max(view.at for view in views)
    happened = [
        (one.at, one.detail)
        for one in queries.events_of(connection, entry.subject, ("incident_reported",), since=since)
        if one.at <= last and not one.voided and one.detail
    ]
    turned = [
        (one.at, "adjusted")
        for one in queries.adjustments_of(connection, entry.subject)
        if since <= one.at < until and not one.voided
    ]
    return HistoryFacts(past=tuple(past), happened=tuple(sorted([*happened, *turned])))


def _past(connection: Connection, view: CheckView, unit: Unit) -> Past:
    said = queries.entry_at(connection, view.chain_no, view.seq).payload
    u = TemperatureDifference.from_text(said["u"])
    expanded = TemperatureDifference(plain(Fraction(u.value) * Fraction(Decimal(said["k"]))), u.unit)
    return Past(
        at=view.at,
        point=view.point,
        reference=Reading.from_celsius(Reading.from_text(said["reference"]).celsius(), unit),
        offset=TemperatureDifference.from_text(said["offset"]).to(unit).rounded(4),
        expanded=expanded.to(unit).rounded(4),
    )
