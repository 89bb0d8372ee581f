"""Mending a mistake: a later entry names the earlier one and says why; both show."""

from dataclasses import dataclass

from sqlalchemy import Connection

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
DAY_US = 86_400_000_000
OWN_FOR_US = DAY_US  # so long a lead voids what that same person said (judgement); later an officer does
WHY = ("mistyped", "wrong_thermometer", "wrong_bath", "not_done", "twice", "other_reason")


@dataclass(frozen=True, slots=True)
class Affected:
    """What rested on a voided entry and has to be looked at again, by number, and the thermometer's own state.

    uses: where it was allowed by its last good check. tags: printed from it. baths: whose reference rested on it.
    """

    entry: EntryView
    certificates: tuple[str, ...]
    stays_check_first: bool
    uses: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    baths: tuple[str, ...] = ()


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


def number_of_check(session: Session, check: str) -> str:
    """The number of the entry that recorded a check."""
    with session.reading() as connection:
        view = queries.check(connection, check)
        if view is None:
            raise refuse("check", "unknown_check")
        return queries.entry_at(connection, view.chain_no, view.seq).number


def number_of_adjustment(session: Session, thermometer: str, adjustment: str) -> str:
    """The number of the entry that recorded an adjustment."""
    with session.reading() as connection:
        found = [one for one in queries.adjustments_of(connection, thermometer) if one.adjustment == adjustment]
        if not found:
            raise refuse("adjustment", "unknown", value=adjustment)
        return queries.entry_at(connection, found[0].chain_no, found[0].seq).number


def void(
    session: Session, actor: Actor, number: str, why: str, *, words: str = "", instead: tuple[str, ...] = ()
) -> Affected:
    """Void one entry that adds up. Its adjustment stays; a voided fail stays *check first* until a good check.

    An officer voids anything; a lead only what that same person said within the last day.
    """
    if why not in WHY:
        raise refuse("why", "unknown", value=why)
    entry = find_entry(session, number)
    if not may_be_voided(entry):
        raise refuse("number", "replace_it_instead", value=number)
    own = entry.by == actor.person and session.clock() - entry.done_at <= OWN_FOR_US
    with session.recording(actor, "officer", *(("lead",) if own else ())) as entries:
        if queries.is_voided(entries.connection, entry.hash):
            raise refuse("number", "void_already", value=number)
        if entry.kind == "reading_taken" and _judged_by(entries.connection, entry):
            raise refuse("number", "void_the_check_instead", value=number)
        detached = entries.keep_detached({"note": words.strip()}) if words.strip() else None
        entries.add(
            Voided(of=entry.subject, entries=(entry.hash,), why=why, instead=instead or None, detached=detached)
        )
    with session.reading() as connection:
        return _affected(connection, entry)


def may_be_voided(entry: EntryView) -> bool:
    """What adds up is; of documents only a picture or a logo, since a certificate's page is what was issued."""
    is_picture = entry.kind == "document_stored" and entry.payload["document"] in ("picture", "logo")
    return entry.kind in VOIDABLE or is_picture


def _judged_by(connection: Connection, reading: EntryView) -> bool:
    """Whether a check or an adjustment that counts was worked out from this reading."""
    said = reading.payload
    view = queries.check(connection, said["check"]) if "check" in said else None
    found = [] if view is None or view.voided else [queries.entry_at(connection, view.chain_no, view.seq)]
    found += [
        queries.entry_at(connection, one.chain_no, one.seq)
        for one in queries.adjustments_of(connection, reading.subject)
        if one.adjustment == said.get("adjustment") and not one.voided
    ]
    return any(said["reading"] in one.payload.get("readings", ()) for one in found)


def _affected(connection: Connection, entry: EntryView) -> Affected:
    row, check = queries.thermometer(connection, entry.subject), entry.payload.get("check")
    rests = {"certificate_issued": [], "use_allowed": [], "tag_printed": []}  # type: dict[str, list[str]]
    for one in queries.events_of(connection, entry.subject, tuple(rests)):
        later = queries.entry_at(connection, one.chain_no, one.seq)
        on_check = entry.kind == "check_recorded" and later.payload.get("check") == check
        if entry.hash in later.payload.get("rests_on", ()) or on_check:
            rests[one.kind].append(later.number)
    baths = _baths_resting_on(connection, row.site, entry) if row is not None and row.site is not None else ()
    return Affected(
        entry,
        tuple(rests["certificate_issued"]),
        row is not None and row.check_first,
        tuple(rests["use_allowed"]),
        tuple(rests["tag_printed"]),
        baths,
    )


def _baths_resting_on(connection: Connection, site: str, entry: EntryView) -> tuple[str, ...]:
    """Comparison baths at its site whose house reference was trusted by this check."""
    if entry.kind != "check_recorded":
        return ()
    made = [one for one in queries.baths_at(connection, site, since=entry.done_at) if one.point == "comparison"]
    found = [queries.entry_at(connection, one.chain_no, one.seq) for one in reversed(made)]
    check = entry.payload["check"]
    return tuple(
        one.number for one in found if any(with_.get("check") == check for with_ in one.payload.get("beside", ()))
    )
