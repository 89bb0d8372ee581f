"""One thermometer's story and offsets, read no further than a page needs them.

A thermometer checked each shift has thousands of entries, and reading their texts costs more than all else.
"""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, and_, func, or_, select

from registry.store import tables
from registry.store.queries import EntryView, _entry

_E, _CHECKS, _EVENTS, _FACTS = tables.entries.c, tables.checks.c, tables.events.c, tables.facts.c


@dataclass(frozen=True, slots=True)
class Offset:
    """One check as a plot needs it, and where its entry is."""

    at: int
    chain_no: int
    seq: int
    point: str
    hot: bool
    offset: str | None
    outcome: str | None


def offsets(connection: Connection, thermometer: str) -> list[Offset]:
    """Every check of a thermometer that is not voided, in time order."""
    query = (
        select(_CHECKS.at, _CHECKS.chain_no, _CHECKS.seq, _CHECKS.point, _CHECKS.hot, _CHECKS.offset, _CHECKS.outcome)
        .where(_CHECKS.thermometer == thermometer, _CHECKS.voided == 0)
        .order_by(_CHECKS.at, _CHECKS.chain_no, _CHECKS.seq)
    )
    return [
        Offset(at, chain_no, seq, point, bool(hot), offset, outcome)
        for at, chain_no, seq, point, hot, offset, outcome in connection.execute(query)
    ]


def happened(connection: Connection, thermometer: str) -> list[tuple[int, str]]:
    """Incidents by their code, `paper` and `move`, in time order; what was voided is left out.

    Where it was put first is no move.
    """
    kinds = ("incident_reported", "certificate_issued")
    events = (
        select(_EVENTS.at, _EVENTS.kind, _EVENTS.detail)
        .where(_EVENTS.subject == thermometer, _EVENTS.kind.in_(kinds), _EVENTS.voided == 0)
        .order_by(_EVENTS.at)
    )
    found = [
        (at, "paper" if kind == "certificate_issued" else detail) for at, kind, detail in connection.execute(events)
    ]
    places = (
        select(_FACTS.at, _FACTS.field)
        .where(_FACTS.subject == thermometer, _FACTS.field.in_(("place", "outside_certificate")))
        .order_by(_FACTS.at)
    )
    rows = connection.execute(places).all()
    moves = [(at, "move") for at, field in rows if field == "place"][1:]
    papers = [(at, "paper") for at, field in rows if field == "outside_certificate"]
    return sorted([*found, *moves, *papers])


# --- as lines ------------------------------------------------------------------------------------------------

# Told by checks and adjustments themselves, or by another entry.
_TOLD_ELSEWHERE = ("check_recorded", "adjusted", "reading_taken", "document_stored")
_SAID_AT_ENROLMENT = ("tag_id_set", "place_set", "parts_joined")
_REPLACES_NOTHING = '{"after":[],'  # how the canonical text of such an entry begins


def entries(connection: Connection, thermometer: str, newest: int | None = None) -> list[EntryView]:
    """Entries about a thermometer but for its checks, adjustments and plain readings, the newest first."""
    chain = select(tables.chains.c.chain).where(tables.chains.c.chain_no == _E.chain_no).scalar_subquery()
    query = select(chain.label("chain"), *_E).where(_E.subject == thermometer, _told())
    query = query.order_by(_E.no.desc())
    rows = connection.execute(query if newest is None else query.limit(newest))
    return [_entry(row) for row in rows]


def _told() -> ColumnElement[bool]:
    """Enrolment is one line; a reading is told of only where none could be had: it has its reason beside it then.

    Of documents only a picture is: a certificate's page goes with its issue.
    """
    # By its primary key: by subject too, each reading would look through all events of the thermometer.
    no_reading = (
        select(_EVENTS.seq)
        .where(_EVENTS.chain_no == _E.chain_no, _EVENTS.seq == _E.seq, _EVENTS.detail.is_not(None))
        .exists()
    )
    picture = (
        select(_EVENTS.seq)
        .where(_EVENTS.chain_no == _E.chain_no, _EVENTS.seq == _E.seq, _EVENTS.detail == "picture")
        .exists()
    )
    first = and_(_E.kind.in_(_SAID_AT_ENROLMENT), _E.text.startswith(_REPLACES_NOTHING, autoescape=True))
    return or_(
        and_(_E.kind.not_in(_TOLD_ELSEWHERE), ~first),
        and_(_E.kind == "reading_taken", no_reading),
        and_(_E.kind == "document_stored", picture),
    )


def count(connection: Connection, thermometer: str) -> int:
    """How many lines its whole story has."""
    query = select(func.count()).where(_E.subject == thermometer)
    query = query.where(or_(_told(), _E.kind.in_(("check_recorded", "adjusted"))))
    found: int = connection.execute(query).scalar_one()
    return found


def hashed(connection: Connection, subject: str, entry_hash: str) -> EntryView | None:
    """The entry with this hash, where it is here: what another chain names may come later."""
    chain = select(tables.chains.c.chain).where(tables.chains.c.chain_no == _E.chain_no).scalar_subquery()
    query = select(chain.label("chain"), *_E).where(_E.subject == subject, _E.hash == entry_hash)
    row = connection.execute(query).first()
    return None if row is None else _entry(row)


def voiding(connection: Connection, thermometer: str) -> dict[str, EntryView]:
    """What took back what: each correcting entry of a thermometer by the hashes that it names, the first one said."""
    chain = select(tables.chains.c.chain).where(tables.chains.c.chain_no == _E.chain_no).scalar_subquery()
    query = select(chain.label("chain"), *_E).where(_E.subject == thermometer, _E.kind == "voided")
    found: dict[str, EntryView] = {}
    for row in connection.execute(query.order_by(_E.at, _E.no)):
        entry = _entry(row)
        for one in entry.payload["entries"]:
            found.setdefault(one, entry)
    return found


def voided(connection: Connection, thermometer: str) -> set[tuple[int, int]]:
    """Where the entries are, (chain, seq) by local number, that a later one voids, checks and adjustments aside."""
    query = select(_EVENTS.chain_no, _EVENTS.seq).where(_EVENTS.subject == thermometer, _EVENTS.voided == 1)
    return {(chain_no, seq) for chain_no, seq in connection.execute(query)}
