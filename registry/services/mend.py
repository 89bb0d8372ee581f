"""Mending a mistake: a later entry names the earlier one and says why; both show."""

from dataclasses import dataclass

from registry.journal.numbers import read_entry_number
from registry.records.baths import Voided
from registry.services.problems import refuse
from registry.services.session import Actor, Session
from registry.store import queries
from registry.store.queries import EntryView

VOIDABLE = (
    "reading_taken",
    "check_recorded",
    "adjusted",
    "incident_reported",
    "not_checked",
    "use_allowed",
    "side_by_side",
    "tag_printed",
    "reviewed",
    "shift_closed",
    "person_trained",
)
WHY = ("mistyped", "wrong_thermometer", "wrong_bath", "not_done", "twice", "other_reason")


@dataclass(frozen=True, slots=True)
class Affected:
    """What rested on a voided entry and has to be looked at again: certificates by number, the check's own state."""

    entry: EntryView
    certificates: tuple[str, ...]
    stays_check_first: bool


def find_entry(session: Session, number: str) -> EntryView:
    """The entry with a number as people quote it (check character and all)."""
    place = read_entry_number(number)
    if place is None:
        raise refuse("number", "not_a_number", value=number)
    with session.reading() as connection:
        found = queries.entry_by_number(connection, *place)
    if found is None:
        raise refuse("number", "unknown_number", value=number)
    return found


def void(
    session: Session, actor: Actor, number: str, why: str, *, words: str = "", instead: tuple[str, ...] = ()
) -> Affected:
    """Void one entry that adds up. Its adjustment stays; a voided fail stays *check first* until a good check."""
    if why not in WHY:
        raise refuse("why", "unknown", value=why)
    entry = find_entry(session, number)
    if entry.kind not in VOIDABLE:
        raise refuse("number", "replace_it_instead", value=number)
    with session.recording(actor, "officer") as entries:
        if queries.is_voided(entries.connection, entry.hash):
            raise refuse("number", "void_already", value=number)
        detached = entries.keep_detached({"note": words.strip()}) if words.strip() else None
        entries.add(
            Voided(of=entry.subject, entries=(entry.hash,), why=why, instead=instead or None, detached=detached)
        )
    with session.reading() as connection:
        row = queries.thermometer(connection, entry.subject)
        certificates = [
            queries.entry_at(connection, one.chain_no, one.seq)
            for one in queries.events_of(connection, entry.subject, ("certificate_issued",))
        ]
        rest = tuple(one.number for one in certificates if entry.hash in one.payload.get("rests_on", ()))
    return Affected(entry, rest, row is not None and row.check_first)
