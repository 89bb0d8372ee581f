"""Reading the projections: frozen records out, never a row or a session."""

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Generic, TypeVar

from sqlalchemy import Connection, Select, bindparam, func, select

from registry.journal.numbers import entry_number, installation_code
from registry.records.forms import Payload
from registry.records.kinds import KINDS
from registry.store import tables
from registry.store.errors import KnownError

P = TypeVar("P", bound=Payload)


@dataclass(frozen=True, slots=True)
class Fact(Generic[P]):
    """A standing fact: its payload as a record, when and by whom it was set, and the hash that replaces it names."""

    subject: str
    payload: P
    at: int
    by: str
    hash: str
    concurrent: bool = False  # another one counts as well: a question for the officer


@dataclass(frozen=True, slots=True)
class EntryView:
    """An entry as read back: its number for people, its hash, and the payload as plain data."""

    number: str
    chain: str
    chain_no: int
    seq: int
    kind: str
    at: int
    by: str
    subject: str
    hash: str
    after: tuple[str, ...]
    payload: dict[str, Any]
    text: str
    signature: bytes | None

    @property
    def done_at(self) -> int:
        performed: int = self.payload.get("performed_at", self.at)
        return performed


@dataclass(frozen=True, slots=True)
class CheckView:
    """One check as the projections hold it; `outcome` counts, `given` is what it would be in an accepted bath."""

    check: str
    thermometer: str
    bath: str | None
    point: str
    at: int
    chain_no: int
    seq: int
    offset: str | None
    u: str | None
    given: str | None
    outcome: str | None
    hot: bool
    voided: bool


@dataclass(frozen=True, slots=True)
class AdjustmentView:
    adjustment: str
    check: str | None
    thermometer: str
    bath: str | None
    point: str
    at: int
    chain_no: int
    seq: int
    offset: str | None
    given: str | None
    outcome: str | None
    hot: bool
    voided: bool


@dataclass(frozen=True, slots=True)
class BathView:
    bath: str
    site: str
    point: str
    at: int
    chain_no: int
    seq: int
    judged: str | None


@dataclass(frozen=True, slots=True)
class OpenReading:
    """A reading whose check (or adjustment) is not recorded yet."""

    reading: str
    fact: str
    bath: str
    thermometer: str
    at: int
    chain_no: int
    seq: int


@dataclass(frozen=True, slots=True)
class EventView:
    chain_no: int
    seq: int
    subject: str
    kind: str
    at: int
    detail: str | None
    hash: str
    voided: bool


@dataclass(frozen=True, slots=True)
class ThermometerRow:
    """The summary of one thermometer."""

    thermometer: str
    tag_id: str | None
    type: str | None
    scale: str | None
    hot: bool
    site: str | None
    station: str | None
    status: str
    enrolled_at: int | None
    last_check: str | None
    last_check_at: int | None
    last_offset: str | None
    last_outcome: str | None
    good_ice_at: int | None
    good_boil_at: int | None
    good_comparison_at: int | None
    good_hot_at: int | None
    failed_at: int | None
    incident_at: int | None
    incident: str | None
    adjusted_at: int | None
    reference_due: str | None

    @property
    def good_at(self) -> int | None:
        """The last good check at any point."""
        found = [at for at in (self.good_ice_at, self.good_boil_at, self.good_comparison_at) if at is not None]
        return max(found, default=None)

    @property
    def check_first(self) -> bool:
        """In use, but with a fail or an incident since: to be checked before it is used again."""
        in_use = self.status in ("in_service", "limited_use")
        return in_use and (self.failed_at is not None or self.incident_at is not None)

    @property
    def service_status(self) -> str:
        """The status with *check first* worked in."""
        return "check_first" if self.check_first else self.status


# --- facts ---------------------------------------------------------------------------------------------------

_F, _E, _C = tables.facts.c, tables.entries.c, tables.chains.c
_FACTS = select(_F.subject, _F.field, _F.at, _F.hash, _E.kind, _E.text).join_from(
    tables.facts, tables.entries, (_F.chain_no == _E.chain_no) & (_F.seq == _E.seq)
)
_OF_SUBJECT = _FACTS.where(_F.subject == bindparam("of"), _F.counts == 1).order_by(_F.at, _F.hash)
_OF_FIELD = _FACTS.where(_F.field == bindparam("named"), _F.counts == 1).order_by(_F.at, _F.hash)
_COUNTING = select(_F.hash).where(_F.subject == bindparam("of"), _F.field == bindparam("named"), _F.counts == 1)


@lru_cache(maxsize=4096)
def _read(kind: str, text: str) -> tuple[Any, str]:
    """A fact's record and who set it. The same text says the same for ever, and rules are asked for at each reading."""
    envelope = json.loads(text)
    return KINDS[kind].from_payload(envelope["payload"]), envelope["by"]


def _facts(rows: Iterator[Any]) -> dict[tuple[str, str], Fact[Any]]:
    """By (subject, field); of concurrent ones the larger (at, hash) holds for now."""
    found: dict[tuple[str, str], Fact[Any]] = {}
    for row in rows:
        payload, by = _read(row.kind, row.text)
        key = (row.subject, row.field)
        found[key] = Fact(row.subject, payload, row.at, by, row.hash, key in found)
    return found


def facts_of(connection: Connection, subject: str) -> dict[str, Fact[Any]]:
    """Every standing fact of a subject, by field."""
    rows = iter(connection.execute(_OF_SUBJECT, {"of": subject}))
    return {field: fact for (_, field), fact in _facts(rows).items()}


def facts_named(connection: Connection, field: str, _form: type[P]) -> list[Fact[P]]:
    """Every subject's standing fact of one name: all sites, all people."""
    return list(_facts(iter(connection.execute(_OF_FIELD, {"named": field}))).values())


def counting(connection: Connection, subject: str, field: str) -> list[str]:
    """The hashes that a new value has to name in its `after`."""
    return list(connection.execute(_COUNTING, {"of": subject, "named": field}).scalars())


# --- entries -------------------------------------------------------------------------------------------------

_ENTRY = select(_C.chain, *tables.entries.c).join_from(tables.entries, tables.chains, _C.chain_no == _E.chain_no)
_AT_PLACE = _ENTRY.where(_E.chain_no == bindparam("chain"), _E.seq == bindparam("place"))
_ABOUT = _ENTRY.where(_E.subject == bindparam("of")).order_by(_E.no)


def _entry(row: Any) -> EntryView:
    envelope = json.loads(row.text)
    return EntryView(
        entry_number(installation_code(bytes.fromhex(row.chain)), row.seq),
        row.chain,
        row.chain_no,
        row.seq,
        row.kind,
        row.at,
        envelope["by"],
        row.subject,
        row.hash,
        tuple(envelope["after"]),
        envelope["payload"],
        row.text,
        row.signature,
    )


def entry_at(connection: Connection, chain_no: int, seq: int) -> EntryView:
    """The entry that a list speaks of; KnownError where it is gone from the record."""
    found = connection.execute(_AT_PLACE, {"chain": chain_no, "place": seq}).first()
    if found is None:
        raise KnownError("entry_gone")
    return _entry(found)


def entries_about(connection: Connection, subject: str) -> list[EntryView]:
    """The story of a subject, in the order in which the entries came."""
    return [_entry(row) for row in connection.execute(_ABOUT, {"of": subject})]


def entry_by_number(connection: Connection, code: str, seq: int) -> EntryView | None:
    """By installation code and sequence number."""
    for row in connection.execute(select(_C.chain_no, _C.chain).order_by(_C.chain_no)):
        if installation_code(bytes.fromhex(row.chain)) == code:
            found = connection.execute(_AT_PLACE, {"chain": row.chain_no, "place": seq}).first()
            if found is not None:
                return _entry(found)
    return None


# --- projections ---------------------------------------------------------------------------------------------


def _check(row: Any) -> CheckView:
    columns: Any = (*row[:-2], bool(row.hot), bool(row.voided))  # they stand in the record's own order
    return CheckView(*columns)


def _checks(connection: Connection, query: Select[Any], asked: dict[str, Any]) -> list[CheckView]:
    return [_check(row) for row in connection.execute(query, asked)]


# A list asks these for each of its thermometers: made once, since making a statement costs more than running it.
_K = tables.checks.c
_ONE_CHECK = select(tables.checks).where(_K.check == bindparam("of"))
_CHECKS_IN = select(tables.checks).where(_K.bath == bindparam("of")).order_by(_K.at, _K.seq)
_CHECKS_OF = (
    select(tables.checks)
    .where(_K.thermometer == bindparam("of"), _K.at >= bindparam("since"), _K.at < bindparam("until"))
    .order_by(_K.at.desc(), _K.chain_no.desc(), _K.seq.desc())
)
_NEWEST_OF = _CHECKS_OF.limit(bindparam("newest"))
_ONE_BATH = select(tables.baths).where(tables.baths.c.bath == bindparam("of"))


def check(connection: Connection, check_id: str) -> CheckView | None:
    found = _checks(connection, _ONE_CHECK, {"of": check_id})
    return found[0] if found else None


def checks_in(connection: Connection, bath: str) -> list[CheckView]:
    return _checks(connection, _CHECKS_IN, {"of": bath})


def checks_of(
    connection: Connection, thermometer: str, *, since: int = 0, until: int = 2**62, newest: int | None = None
) -> list[CheckView]:
    """A thermometer's checks in time order; with `newest` only so many, the latest."""
    asked: dict[str, Any] = {"of": thermometer, "since": since, "until": until}
    if newest is None:
        return _checks(connection, _CHECKS_OF, asked)[::-1]
    return _checks(connection, _NEWEST_OF, asked | {"newest": newest})[::-1]


def _adjustments(connection: Connection, query: Select[Any]) -> list[AdjustmentView]:
    return [
        AdjustmentView(**{**row._mapping, "hot": bool(row.hot), "voided": bool(row.voided)})
        for row in connection.execute(query)
    ]


def adjustments_in(connection: Connection, bath: str) -> list[AdjustmentView]:
    return _adjustments(connection, select(tables.adjustments).where(tables.adjustments.c.bath == bath))


def adjustments_of(connection: Connection, thermometer: str) -> list[AdjustmentView]:
    adjustments = tables.adjustments.c
    query = select(tables.adjustments).where(adjustments.thermometer == thermometer)
    return _adjustments(connection, query.order_by(adjustments.at, adjustments.seq))


def bath(connection: Connection, bath_id: str) -> BathView | None:
    row = connection.execute(_ONE_BATH, {"of": bath_id}).first()
    return BathView(**row._mapping) if row else None


def baths_at(connection: Connection, site: str, *, since: int, judged: bool | None = None) -> list[BathView]:
    """A site's baths made since an instant, the newest first; only judged or only open ones where asked."""
    baths = tables.baths.c
    query = select(tables.baths).where(baths.site == site, baths.at >= since).order_by(baths.at.desc())
    if judged is not None:
        query = query.where(baths.judged.is_not(None) if judged else baths.judged.is_(None))
    return [BathView(**row._mapping) for row in connection.execute(query)]


def open_readings(connection: Connection, bath_id: str) -> list[OpenReading]:
    readings = tables.open_readings.c
    query = select(tables.open_readings).where(readings.bath == bath_id).order_by(readings.at, readings.seq)
    return [OpenReading(**row._mapping) for row in connection.execute(query)]


def open_readings_for(connection: Connection, fact: str) -> list[OpenReading]:
    """The readings taken for a check or an adjustment that is not recorded yet."""
    readings = tables.open_readings.c
    query = select(tables.open_readings).where(readings.fact == fact).order_by(readings.at, readings.seq)
    return [OpenReading(**row._mapping) for row in connection.execute(query)]


def events_of(connection: Connection, subject: str, kinds: Collection[str] = (), *, since: int = 0) -> list[EventView]:
    events = tables.events.c
    query = select(tables.events).where(events.subject == subject, events.at >= since)
    if kinds:
        query = query.where(events.kind.in_(kinds))
    query = query.order_by(events.at, events.chain_no, events.seq)
    return [EventView(**{**row._mapping, "voided": bool(row.voided)}) for row in connection.execute(query)]


def events_of_kind(connection: Connection, kind: str, *, since: int = 0, until: int = 2**62) -> list[EventView]:
    """Every subject's events of one kind in a period, in time order."""
    events = tables.events.c
    query = select(tables.events).where(events.kind == kind, events.at >= since, events.at < until)
    query = query.order_by(events.at, events.chain_no, events.seq)
    return [EventView(**{**row._mapping, "voided": bool(row.voided)}) for row in connection.execute(query)]


_LATELY = (
    select(_E.text)
    .where(_E.subject == bindparam("of"), _E.kind == bindparam("said"))
    .order_by(_E.no.desc())
    .limit(bindparam("newest"))
)


def said_lately(connection: Connection, subject: str, kind: str, key: str, value: str, newest: int = 20) -> bool:
    """Whether one of the last entries of a kind about a subject has this in its payload: a second press."""
    found = connection.execute(_LATELY, {"of": subject, "said": kind, "newest": newest}).scalars()
    return any(json.loads(text)["payload"].get(key) == value for text in found)


def _thermometer(row: Any) -> ThermometerRow:
    return ThermometerRow(*row)


def _thermometers(connection: Connection, query: Select[Any], **values: Any) -> list[ThermometerRow]:
    # Ten thousand rows for a due list: the columns stand in the record's own order, so no names are looked up.
    return [ThermometerRow(*row) for row in connection.execute(query, values)]


_T = tables.thermometers.c
_ALL = select(tables.thermometers).order_by(_T.tag_id, _T.thermometer)
_ONE = _ALL.where(_T.thermometer == bindparam("of"))


def thermometer(connection: Connection, thermometer_id: str) -> ThermometerRow | None:
    found = _thermometers(connection, _ONE, of=thermometer_id)
    return found[0] if found else None


def thermometers_tagged(connection: Connection, tag_id: str) -> list[ThermometerRow]:
    """All that bear this tag id, retired ones included, the living first."""
    found = _thermometers(connection, _ALL.where(_T.tag_id == bindparam("tag")), tag=tag_id)
    return sorted(found, key=lambda row: row.status in ("retired", "lost"))


def thermometers(
    connection: Connection,
    *,
    site: str | None = None,
    statuses: Sequence[str] = (),
) -> list[ThermometerRow]:
    query = _ALL
    if site is not None:
        query = query.where(_T.site == site)
    if statuses:
        query = query.where(_T.status.in_(statuses))
    return _thermometers(connection, query)


def count_entries(connection: Connection) -> int:
    return connection.execute(select(func.count()).select_from(tables.entries)).scalar_one()


def detached(connection: Connection, hashes: Collection[str]) -> dict[str, dict[str, Any]]:
    """The clear text that lies beside, for those that are still there."""
    table = tables.detached
    rows = connection.execute(select(table).where(table.c.fields_hash.in_(hashes)))
    return {row.fields_hash: json.loads(row.text) for row in rows}


def document(connection: Connection, sha256: str) -> bytes | None:
    found = connection.execute(select(tables.documents.c.bytes).where(tables.documents.c.sha256 == sha256)).scalar()
    return None if found is None else bytes(found)


def hash_at(connection: Connection, chain_no: int, seq: int) -> str | None:
    return connection.execute(select(_E.hash).where(_E.chain_no == chain_no, _E.seq == seq)).scalar()


def heads(connection: Connection) -> list[tuple[str, int, str]]:
    """(chain, sequence number, hash) of the last entry of every chain here."""
    last = select(_E.chain_no, func.max(_E.seq).label("last")).group_by(_E.chain_no).subquery()
    query = (
        select(_C.chain, _E.seq, _E.hash)
        .join_from(tables.entries, last, (_E.chain_no == last.c.chain_no) & (_E.seq == last.c.last))
        .join(tables.chains, _C.chain_no == _E.chain_no)
        .order_by(_C.chain_no)
    )
    return [(row.chain, row.seq, row.hash) for row in connection.execute(query)]


def is_voided(connection: Connection, entry_hash: str) -> bool:
    table = tables.voided
    return connection.execute(select(table.c.hash).where(table.c.hash == entry_hash)).first() is not None


def is_replaced(connection: Connection, entry_hash: str) -> bool:
    """Whether another entry names this one in its `after`."""
    table = tables.replaced
    return connection.execute(select(table.c.hash).where(table.c.hash == entry_hash)).first() is not None


def entry_hashed(connection: Connection, subject: str, entry_hash: str) -> EntryView:
    """The entry with this hash, of a subject whose story it belongs to."""
    return _entry(connection.execute(_ENTRY.where(_E.subject == subject, _E.hash == entry_hash)).one())


def entries_hashed(connection: Connection, hashes: Sequence[str], subjects: Collection[str] = ()) -> list[EntryView]:
    """Entries by hash, in the order asked for. There is an index for `subjects` alone: name those they belong to."""
    query = _ENTRY.where(_E.hash.in_(hashes))
    if subjects:
        query = query.where(_E.subject.in_(subjects))
    found = {one.hash: one for one in map(_entry, connection.execute(query))}
    return [found[one] for one in hashes if one in found]


def chains(connection: Connection) -> list[tuple[int, str]]:
    """(local number, key) of every chain here, branches left out."""
    query = select(_C.chain_no, _C.chain).where(_C.branch == 0).order_by(_C.chain_no)
    return [(row.chain_no, row.chain) for row in connection.execute(query)]


def predecessors(connection: Connection) -> set[str]:
    """The chains that another one here says it carries on."""
    first = (entry_at(connection, event.chain_no, event.seq) for event in events_of_kind(connection, "chain_opened"))
    return {one.payload["predecessor"]["chain"] for one in first if "predecessor" in one.payload}


def latest_at(connection: Connection) -> int:
    """When the last entries of the chains here were recorded, the latest of them."""
    heads = select(func.max(_E.no).label("no")).group_by(_E.chain_no).subquery()
    query = select(func.max(_E.at)).join_from(tables.entries, heads, _E.no == heads.c.no)
    return connection.execute(query).scalar() or 0
