"""Appending to the journal: entries, their projections and the signature that ends them, in one transaction."""

import json
import secrets
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Connection, bindparam, delete, func, insert, select

from registry.journal import entry as journal_entry
from registry.journal import signing
from registry.journal import text as canonical
from registry.journal.entry import Entry
from registry.records.forms import Payload
from registry.records.kinds import fact_field, subject_of
from registry.store import queries, tables
from registry.store.database import Database
from registry.store.fold import Fold, Taken
from registry.store.locks import lock_chain, lock_entries, rebuilding

Clock = Callable[[], int]  # microseconds UTC
Random = Callable[[int], bytes]


@dataclass(frozen=True, slots=True)
class Signer:
    """An installation's key and the chain that it signs."""

    private_key: Ed25519PrivateKey
    chain: str
    chain_no: int


@dataclass(frozen=True, slots=True)
class HeadRow:
    """The last entry of a chain: its number, its hash and how late the chain had got (seq -1 for an empty chain)."""

    seq: int
    hash: str
    at: int


# Made once: making a statement costs more than running it, and each transaction asks for its head.
_HEAD = (
    select(tables.entries.c.seq, tables.entries.c.hash, tables.entries.c.at, tables.entries.c.text)
    .where(tables.entries.c.chain_no == bindparam("chain"))
    .order_by(tables.entries.c.seq.desc())
    .limit(1)
)


def head(connection: Connection, chain_no: int) -> HeadRow:
    row = connection.execute(_HEAD, {"chain": chain_no}).first()
    if row is None:
        return HeadRow(-1, "0" * 64, 0)
    behind = json.loads(row.text)["payload"].get("clock_behind_us", 0) if "clock_behind_us" in row.text else 0
    return HeadRow(row.seq, row.hash, row.at + behind)


def new_chain(connection: Connection, chain: str, branch: int = 0, **fork: int | None) -> int:
    """A local number for a chain; of a branch, where it forks off (`forks_from`, `forks_at`)."""
    highest = select(func.coalesce(func.max(tables.chains.c.chain_no), 0))
    chain_no: int = connection.execute(highest).scalar_one() + 1
    connection.execute(insert(tables.chains).values(chain_no=chain_no, chain=chain, branch=branch, **fork))
    return chain_no


def chain_number(connection: Connection, chain: str) -> int | None:
    chains = tables.chains.c
    return connection.execute(select(chains.chain_no).where(chains.chain == chain, chains.branch == 0)).scalar()


class Transaction:
    """Collects entries in their order; `finish` writes them with one signature at the end."""

    def __init__(
        self, connection: Connection, signer: Signer, clock: Clock, by: str, random: Random = secrets.token_bytes
    ) -> None:
        self.connection, self._signer, self._clock, self._by = connection, signer, clock, by
        self._random = random
        lock_chain(connection, signer.chain_no)
        self._head = head(connection, signer.chain_no)
        self._written: list[tuple[Entry, Taken, bool]] = []

    def add(self, payload: Payload, *, after: Iterable[str] = (), issues: bool = False) -> Entry:
        """One more entry, which gets a signature of its own where it issues a certificate."""
        at = self._clock()
        body = payload.as_payload()
        if at < self._head.at:
            body["clock_behind_us"] = self._head.at - at
        entry = journal_entry.make(
            after=after,
            at=at,
            by=self._by,
            chain=self._signer.chain,
            kind=payload.KIND,
            kv=payload.KV,
            payload=body,
            prev=self._head.hash,
            seq=self._head.seq + 1,
        )
        self._head = HeadRow(entry.seq, entry.hash.hex(), max(at, self._head.at))
        self._written.append((entry, self._taken(entry), issues))
        return entry

    def replace(self, payload: Payload) -> Entry:
        """A new value of a fact: it names every one that counts now."""
        body = payload.as_payload()
        subject, field = subject_of(body, self._signer.chain), fact_field(payload.KIND, body)
        if field is None:
            raise ValueError(f"{payload.KIND} adds up, it does not replace")
        after = set(queries.counting(self.connection, subject, field))
        for entry, taken, _ in self._written:  # written in this transaction, not folded yet
            if taken.subject == subject and fact_field(taken.kind, taken.payload) == field:
                after.difference_update(entry.after)
                after.add(taken.hash)
        return self.add(payload, after=after)

    def keep_detached(self, fields: dict[str, str]) -> str:
        """Keep names or free text beside the chain; the hash is what an entry may hold."""
        salt = self._random(16)
        text_bytes = canonical.encode(fields)
        fields_hash = sha256(salt + text_bytes).hexdigest()
        row = {"fields_hash": fields_hash, "salt": salt, "text": text_bytes.decode()}
        self.connection.execute(insert(tables.detached), row)
        return fields_hash

    def erase_detached(self, hashes: Iterable[str]) -> None:
        """Remove clear text for good; the entries that hold its hash stay as they are."""
        table = tables.detached
        self.connection.execute(delete(table).where(table.c.fields_hash.in_(list(hashes))))

    def keep_document(self, content: bytes) -> str:
        """Keep the bytes of a document under their SHA-256, which is given back."""
        digest = sha256(content).hexdigest()
        table = tables.documents
        if self.connection.execute(select(table.c.sha256).where(table.c.sha256 == digest)).first() is None:
            self.connection.execute(insert(table), {"sha256": digest, "bytes": content})
        return digest

    def _taken(self, entry: Entry) -> Taken:
        subject = subject_of(entry.payload, entry.chain)
        return Taken(
            self._signer.chain_no,
            entry.seq,
            entry.kind,
            entry.at,
            subject,
            entry.hash.hex(),
            entry.after,
            entry.payload,
        )

    @property
    def entries(self) -> list[Entry]:
        return [entry for entry, _, _ in self._written]

    def finish(self) -> HeadRow:
        """Write what was collected; says where the chain stands now."""
        if self._written:
            self._insert_entries()
            self._fold()
        return self._head

    def _insert_entries(self) -> None:
        last = self._written[-1][0]
        rows = [
            {
                "chain_no": taken.chain_no,
                "seq": taken.seq,
                "kind": taken.kind,
                "at": taken.at,
                "subject": taken.subject,
                "hash": taken.hash,
                "text": entry.text.decode(),
                "signature": self._sign(entry) if issues or entry is last else None,
            }
            for entry, taken, issues in self._written
        ]
        self.connection.execute(insert(tables.entries), rows)

    def _fold(self) -> None:
        if rebuilding(self.connection):
            return
        written = [taken for _, taken, _ in self._written]
        lock_entries(self.connection, written)
        fold = Fold(self.connection, fresh=True)
        for taken in written:
            fold.take(taken)
        fold.flush()

    def _sign(self, entry: Entry) -> bytes:
        return signing.sign_head(self._signer.private_key, bytes.fromhex(self._signer.chain), entry.seq, entry.hash)


@contextmanager
def appending(
    database: Database, signer: Signer, clock: Clock, by: str, random: Random = secrets.token_bytes
) -> Iterator[Transaction]:
    """A transaction on the signer's own chain; what was added is durable when the block has ended."""
    with database.writing() as connection:
        transaction = Transaction(connection, signer, clock, by, random)
        yield transaction
        transaction.finish()
