"""An officer has looked through a site's checks of some days, and says so."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection

from registry.records.chain import Head
from registry.records.places import Reviewed
from registry.services import baths, places
from registry.services.problems import refuse
from registry.services.session import Actor, Session, day_at
from registry.store import queries


def review(session: Session, actor: Actor, site: str, from_day: date, to_day: date) -> None:
    """An officer has looked through a site's checks of these days; the heads say how far the record went then."""
    if to_day < from_day:
        raise refuse("to_day", "before_from_day")
    with session.recording(actor, "officer") as entries:
        places.site_named_by_id(entries.connection, site)
        heads = queries.heads(entries.connection)
        reviewed = Reviewed(
            site=site,
            from_day=from_day.isoformat(),
            to_day=to_day.isoformat(),
            heads=tuple(Head(chain=chain, seq=seq, hash=hash_) for chain, seq, hash_ in heads),
        )
        if not _reviewed_just_now(entries.connection, actor, reviewed):
            entries.add(reviewed)


def reviewer(connection: Connection, places_of: Sequence[tuple[int, int]]) -> str | None:
    """Who last looked all of these through: entries of one site by chain number and seq; None where nobody did.

    A look at one's own work is none.
    """
    wanted = [queries.entry_at(connection, chain_no, seq) for chain_no, seq in places_of]
    site = baths.made(connection, wanted[0].payload["bath"]).payload["site"]
    zone = places.site_named_by_id(connection, site).payload.zone
    days = [day_at(one.done_at, zone).isoformat() for one in wanted]
    did = {one.payload.get("done_by", one.by) for one in wanted}
    for event in reversed(queries.events_of(connection, site, ("reviewed",))):
        if event.voided:
            continue
        entry = queries.entry_at(connection, event.chain_no, event.seq)
        said, person = entry.payload, entry.payload.get("done_by", entry.by)
        seen = {one["chain"]: one["seq"] for one in said["heads"]}
        all_seen = all(one.seq <= seen.get(one.chain, -1) for one in wanted)
        if all_seen and said["from_day"] <= min(days) and max(days) <= said["to_day"] and person not in did:
            return str(person)
    return None


def _reviewed_just_now(connection: Connection, actor: Actor, again: Reviewed) -> bool:
    """Whether the last thing recorded anywhere is this very review: a second press."""
    events = [one for one in queries.events_of(connection, again.site, ("reviewed",)) if not one.voided]
    if not events:
        return False
    last = queries.entry_at(connection, events[-1].chain_no, events[-1].seq)
    said = last.payload
    if (last.by, said["from_day"], said["to_day"]) != (actor.person, again.from_day, again.to_day):
        return False
    before = {one["chain"]: (one["seq"], one["hash"]) for one in said["heads"]} | {last.chain: (last.seq, last.hash)}
    return before == {one.chain: (one.seq, one.hash) for one in again.heads}
