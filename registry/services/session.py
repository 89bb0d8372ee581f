"""The registry of one installation, open: its database, its key, its clock, and who is at work."""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import Any
from unicodedata import normalize
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from registry.journal import signing
from registry.journal.ids import IdSource
from registry.journal.text import EntryError
from registry.records.forms import Payload, PayloadError
from registry.records.kinds import fact_field, subject_of
from registry.records.places import PersonSet, SiteSet
from registry.records.rules import GroupSet
from registry.services.clock import now_us
from registry.services.problems import refuse
from registry.store import keyfile, queries, transaction
from registry.store.cache import CACHE_NAME, Cache
from registry.store.database import Database, open_database
from registry.store.errors import KnownError
from registry.store.queries import EntryView, Fact
from registry.store.transaction import Signer, Transaction

DATABASE_NAME, KEY_NAME = "registry.db", "registry.key"
ROLES = ("lead", "officer", "auditor", "administrator")


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does something: a person's id with the roles held, or the program itself (`system`)."""

    person: str
    roles: frozenset[str]

    def may(self, *wanted: str) -> bool:
        """Whether one of these roles is held; an administrator may do whatever a lead or an officer may."""
        return bool(self.roles & {*wanted, "administrator"})


SYSTEM = Actor("system", frozenset(ROLES))


@dataclass
class Session:
    """An open registry. `signer` is None where it may only be looked at, and `why_read_only` says why."""

    database: Database
    home: Path | None
    signer: Signer | None
    clock: Callable[[], int]
    ids: IdSource
    random: Callable[[int], bytes]
    machine: str
    why_read_only: str | None = None
    kept: dict[str, Any] = field(default_factory=dict)  # what services have worked out so far and may forget

    def new_id(self) -> str:
        return self.ids.new()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        with self.database.reading() as connection:
            yield connection

    @contextmanager
    def recording(self, actor: Actor, *roles: str) -> Iterator[Transaction]:
        """One short transaction on this installation's chain, by somebody who holds one of the roles."""
        if not actor.may(*roles):
            raise refuse("actor", "not_allowed", roles=", ".join(roles))
        if self.signer is None:
            raise KnownError("read_only")
        opening = transaction.appending(self.database, self.signer, self.clock, actor.person, self.random)
        with _as_refused(), opening as opened:
            yield opened
        if entries := opened.entries:
            with suppress(KnownError):  # it is recorded all the same, and the marker may lag
                self._mark(entries[-1].seq, entries[-1].hash)

    def _mark(self, seq: int, entry_hash: bytes, *, sync: bool = False) -> None:
        """Tell the marker beside the key how far its chain has got."""
        if self.home is None or self.signer is None:
            return
        marker = keyfile.Marker(self.machine, bytes.fromhex(self.signer.chain), seq, entry_hash)
        marker.save(keyfile.marker_path(self.home / KEY_NAME), sync=sync)

    def close(self) -> None:
        self.database.close()

    @cached_property
    def cache(self) -> Cache:
        path = self.home / CACHE_NAME if self.home is not None else None
        return Cache(path, read_only=self.signer is None)

    # --- what most services ask for ---------------------------------------------------------------------------

    @cached_property
    def demo(self) -> bool:
        """Whether any chain here says in its entry 0 that it is a demo."""
        with self.reading() as connection:
            opened = queries.events_of_kind(connection, "chain_opened")
            return any(queries.entry_at(connection, one.chain_no, 0).payload.get("demo") for one in opened)

    def group(self, connection: Connection) -> Fact[GroupSet]:
        found = queries.facts_named(connection, "group", GroupSet)
        if not found:
            raise refuse("group", "not_started")
        return found[0]

    def zone(self, site: SiteSet) -> ZoneInfo:
        return ZoneInfo(site.zone)

    def today(self, site: SiteSet) -> date:
        return day_at(self.clock(), site.zone)


@contextmanager
def _as_refused() -> Iterator[None]:
    """What no entry can hold is refused beside its key, rather than ending the program."""
    try:
        yield
    except PayloadError as error:
        raise refuse(error.key, "not_valid", value=f"{error.value!s:.80}") from None
    except EntryError as error:  # it holds no text that somebody typed
        raise refuse(
            str(error.values.get("key") or error.values.get("field") or "text"), "not_valid", value=""
        ) from None


def clean(text: str) -> str:
    """Free text as the journal keeps it: no blanks around it, letters composed (NFC)."""
    return normalize("NFC", text.strip())


def state_once(entries: Transaction, payload: Payload) -> bool:
    """State a fact anew, unless it stands just so already: a second press. Whether it was recorded."""
    body = payload.as_payload()
    standing = queries.facts_of(entries.connection, subject_of(body, "")).get(fact_field(payload.KIND, body) or "")
    if standing is not None and standing.payload.KIND == payload.KIND and not standing.concurrent:
        said = standing.payload.as_payload()
        said.pop("clock_behind_us", None)
        if said == body:
            return False
    entries.replace(payload)
    return True


def recorded(connection: Connection, subject: str, kind: str, key: str, value: str | None) -> EntryView | None:
    """The entry that a first press left, by the id that it was given."""
    if value is None or not queries.said_lately(connection, subject, kind, key, value):
        return None
    about = reversed(queries.entries_about(connection, subject))
    return next((one for one in about if one.kind == kind and one.payload.get(key) == value), None)


def day_at(at: int, zone: str) -> date:
    """The local day of an instant."""
    return datetime.fromtimestamp(at / 1e6, ZoneInfo(zone)).date()


def midnight(day: date, zone: str) -> int:
    """The instant at which a local day begins."""
    return int(datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).timestamp()) * 1_000_000


def open_session(
    target: Path | str,
    *,
    key_path: Path | None = None,
    clock: Callable[[], int] = now_us,
    random: Callable[[int], bytes] = secrets.token_bytes,
    read_only: bool = False,
    machine: str | None = None,
) -> Session:
    """Open the registry in a folder (SQLite), or the database of a URL whose key lies at `key_path`.

    It may only be looked at where the key is missing, or where marker and database don't agree: a copied folder,
    a restored file. A person then says what happened (`registry.services.succession`).
    """
    home = target if isinstance(target, Path) else (key_path.parent if key_path else None)
    database = open_database(target / DATABASE_NAME if isinstance(target, Path) else target, read_only=read_only)
    session = Session(
        database,
        home,
        None,
        clock,
        IdSource(clock, random),
        random,
        machine or keyfile.machine_id(),
        "asked_for",
    )
    try:
        if not read_only and home is not None:
            session = _with_key(session, key_path or home / KEY_NAME)
        return _at_its_end(session) if clock is now_us and session.demo else session
    except BaseException:
        database.close()
        raise


def _at_its_end(session: Session) -> Session:
    """A demo's clock goes on from its last entry: its invented days end on a fixed date, whenever it is looked at."""
    with session.reading() as connection:
        last = queries.latest_at(connection)
    behind = max(now_us() - last, 0)

    def clock() -> int:
        return now_us() - behind

    return replace(session, clock=clock, ids=IdSource(clock, session.random))


def _with_key(session: Session, key_path: Path) -> Session:
    try:
        key = keyfile.KeyFile.load(key_path).private_key
        marker = keyfile.Marker.load(keyfile.marker_path(key_path))
    except KnownError as problem:
        return replace(session, why_read_only=problem.code)
    chain = signing.public_bytes(key)
    with session.reading() as connection:
        chain_no = transaction.chain_number(connection, chain.hex())
        head = transaction.head(connection, chain_no) if chain_no is not None else None

        def hash_at(seq: int) -> bytes | None:
            found = queries.hash_at(connection, chain_no, seq) if chain_no is not None else None
            return bytes.fromhex(found) if found else None

        standing = keyfile.compare(marker, session.machine, chain, head.seq if head else -1, hash_at)
    if chain_no is None:
        return replace(session, why_read_only="key_of_another_chain")
    if not keyfile.may_write(standing):
        return replace(session, why_read_only=standing)
    if not session.database.may_write():
        return replace(session, why_read_only="read_only")
    return replace(session, signer=Signer(key, chain.hex(), chain_no), why_read_only=None)


def actor_of(connection: Connection, person: str) -> Actor:
    """The roles that a person holds now; refused for one who is unknown or has left."""
    fact: Fact[Any] | None = queries.facts_of(connection, person).get("person")
    if fact is None or not isinstance(fact.payload, PersonSet):
        raise refuse("actor", "unknown_person")
    if fact.payload.left is not None:
        raise refuse("actor", "has_left")
    return Actor(person, frozenset(fact.payload.roles))
