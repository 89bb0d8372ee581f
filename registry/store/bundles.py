"""Taking the journal of another database into this one: entries with their signatures, detached text, documents.

All of it is verified first. Entries are known by (chain, seq, hash), so that taking the same again changes nothing.
Where one chain has two different entries in one place, both are kept: from there on, a branch.
"""

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from sqlalchemy import Connection, delete, insert, select

from registry.journal import entry as journal_entry
from registry.journal.entry import Entry
from registry.journal.text import EntryError
from registry.records.kinds import subject_of
from registry.store import checking, imports, reading, tables
from registry.store.checking import Head, Report
from registry.store.database import Database
from registry.store.errors import KnownError
from registry.store.fold import Fold, Taken
from registry.store.locks import lock_chain, lock_entries, rebuilding
from registry.store.reading import ChainRow, RawEntry
from registry.store.transaction import head, new_chain

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

STEP = 100  # entries in one transaction, and on to the next signed one
PAUSE_S = 0.002  # lets whoever records a check go first


@dataclass(frozen=True, slots=True)
class Alarm:
    """One chain has two different entries in one place: its key was used in two places, or somebody forged."""

    chain: str
    seq: int
    branch: int


@dataclass(slots=True)
class Bundle:
    """What came of taking one. Where `report` is not good nothing was taken."""

    report: Report
    finished: bool = False
    entries: int = 0
    documents: int = 0
    refused: list[str] = field(default_factory=list)  # demo chains, which have no place among real ones
    alarms: list[Alarm] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)  # what `heads_seen` has to say


class _Stopped(Exception):
    pass


def take(database: Database, source: Database, *, fold: bool = True, progress: Progress = lambda _: True) -> Bundle:
    """Take what `source` has and `database` has not; without `fold` a rebuild has to follow."""
    bundle = Bundle(checking.verify(source, journal_only=True, progress=progress))
    usable = bundle.report.finished and all(one.code == "branched" for one in bundle.report.findings)
    if not usable:
        return bundle
    bundle.heads = bundle.report.heads
    try:
        with reading.snapshot(source) as theirs:
            whole = _Taking(database, theirs, bundle, fold, progress).run()
    except _Stopped:
        return bundle
    bundle.finished = (not fold or imports.fold_pending_imports(database, progress)) and whole
    return bundle


class _Taking:
    """One bundle being taken: `theirs` is one state of the source, ours changes as we go."""

    def __init__(self, database: Database, theirs: Connection, bundle: Bundle, fold: bool, tell: Progress) -> None:
        self._database, self._theirs, self._bundle, self._fold, self._tell = database, theirs, bundle, fold, tell
        self._known = {chain.chain_no: chain for chain in reading.chains(theirs)}

    def run(self) -> bool:
        """Whether all that was wanted could be taken."""
        unwelcome = set(self._bundle.report.demo) if self._is_real() else set()
        self._bundle.refused = sorted(unwelcome)
        wanted = [chain for chain in self._known.values() if chain.chain not in unwelcome]
        self._take_documents()  # before the entries that name them, so that stopping leaves nothing missing
        whole = [self._take_chain(chain) for chain in wanted]
        self._take_detached()
        return all(whole)

    def _is_real(self) -> bool:
        """Whether ours is a real group's: demo chains, whose key anybody has, have no place in it."""
        with self._database.reading() as ours:
            firsts = [reading.first_payload(ours, chain) for chain in reading.chains(ours)]
        return any(payload is not None for payload in firsts) and not any(one and one.get("demo") for one in firsts)

    # --- chains ------------------------------------------------------------------------------------------------

    def _take_chain(self, chain: ChainRow) -> bool:
        """Whether it came whole: an entry that is none of ours ends it."""
        with self._database.reading() as ours:
            place = self._place(ours, chain)
        rows = reading.whole_chain(self._theirs, chain, self._known, since=place.common + 1)
        for batch in _batches(rows):
            entries = []
            for seq, *_, text, signature in batch:
                try:
                    entries.append((journal_entry.read(text), signature))
                except EntryError as error:
                    self._bundle.report.note("text_refused", chain.chain, seq, reason=error.code)
                    return False
            with self._database.writing() as connection:
                place = self._append(connection, chain, place, entries)
            self._bundle.entries += len(entries)
            if not self._tell(self._bundle.entries):
                raise _Stopped
            time.sleep(PAUSE_S)
        return True

    def _place(self, ours: Connection, chain: ChainRow) -> "_Place":
        """Where the entries of one of their chains go on here."""
        here = {one.chain_no: one for one in reading.chains(ours)}
        same_key = (one for one in here.values() if one.chain == chain.chain)
        places = [_Place(one, self._common(ours, one, here, chain)) for one in same_key]
        return max(places, key=lambda place: place.common, default=_Place(None, -1))

    def _common(self, ours: Connection, one: ChainRow, here: dict[int, ChainRow], chain: ChainRow) -> int:
        """The last entry that both have: before it they have all in common, after it nothing."""
        low, high = -1, min(head(self._theirs, chain.chain_no).seq, head(ours, one.chain_no).seq)
        while low < high:
            middle = (low + high + 1) // 2
            theirs = reading.hash_at(self._theirs, chain, middle, self._known)
            if theirs == reading.hash_at(ours, one, middle, here):
                low = middle
            else:
                high = middle - 1
        return low

    def _append(
        self, connection: Connection, chain: ChainRow, place: "_Place", entries: list[tuple[Entry, bytes | None]]
    ) -> "_Place":
        """Append entries and fold them; says where the next ones go."""
        if place.ours is not None:
            lock_chain(connection, place.ours.chain_no)
        chain_no = self._number(connection, chain, place, entries[0][0])
        append(connection, chain_no, entries, fold=self._fold)
        known = {one.chain_no: one for one in reading.chains(connection)}
        return _Place(known[chain_no], entries[-1][0].seq)

    def _number(self, connection: Connection, chain: ChainRow, place: "_Place", first: Entry) -> int:
        """The local number to append under: the chain's own, or a new one for a chain or branch not here yet."""
        if place.ours is None:
            return new_chain(connection, chain.chain)
        known = {one.chain_no: one for one in reading.chains(connection)}
        if head(connection, place.ours.chain_no).seq == place.common:
            return place.ours.chain_no
        if reading.hash_at(connection, place.ours, first.seq, known) == first.hash.hex():
            raise KnownError("locked")  # somebody else is taking the same at this moment
        branch = 1 + max(one.branch for one in known.values() if one.chain == chain.chain)
        self._bundle.alarms.append(Alarm(chain.chain, place.common + 1, branch))
        holder = reading.holder(place.ours, place.common, known)
        return new_chain(connection, chain.chain, branch, forks_from=holder.chain_no, forks_at=place.common + 1)

    # --- what lies beside --------------------------------------------------------------------------------------

    def _take_detached(self) -> None:
        table = tables.detached
        with self._database.writing() as connection:
            erased = set(self._erased(connection))
            connection.execute(delete(table).where(table.c.fields_hash.in_(erased)))
            here = set(connection.execute(select(table.c.fields_hash)).scalars()) | erased
            rows = [dict(row._mapping) for row in self._theirs.execute(select(table)) if row.fields_hash not in here]
            if rows:
                connection.execute(insert(table), rows)

    def _erased(self, connection: Connection) -> Iterator[str]:
        """Hashes of what is to stay erased, though a bundle may still bring its words."""
        query = select(tables.entries.c.text).where(tables.entries.c.kind == "person_erased")
        for text in connection.execute(query).scalars():
            yield from journal_entry.read(text.encode()).payload["hashes"]

    def _take_documents(self) -> None:
        table = tables.documents
        with self._database.reading() as ours:
            here = set(ours.execute(select(table.c.sha256)).scalars())
        for named in set(self._theirs.execute(select(table.c.sha256)).scalars()) - here:
            content = self._theirs.execute(select(table.c.bytes).where(table.c.sha256 == named)).scalar_one()
            with self._database.writing() as connection:
                connection.execute(insert(table), {"sha256": named, "bytes": content})
            self._bundle.documents += 1


@dataclass(frozen=True, slots=True)
class _Place:
    """Which of our chains begins as theirs does, and the last entry that both have."""

    ours: ChainRow | None
    common: int


def append(
    connection: Connection, chain_no: int, entries: list[tuple[Entry, bytes | None]], *, fold: bool = True
) -> None:
    """Append entries of whatever chain with their signatures, and fold them unless a rebuild does."""
    taken = [_taken(entry, chain_no) for entry, _ in entries]
    rows = [_row(one, entry, signature) for one, (entry, signature) in zip(taken, entries, strict=True)]
    connection.execute(insert(tables.entries), rows)
    if fold and not rebuilding(connection):
        lock_entries(connection, taken)
        folding = Fold(connection)
        for one in taken:
            folding.take(one)
        folding.flush()


def _batches(rows: Iterable[RawEntry]) -> Iterator[list[RawEntry]]:
    """Some entries at a time, each time up to a signed one: a chain that ends unsigned counts as damaged."""
    batch: list[RawEntry] = []
    for raw in rows:
        batch.append(raw)
        if len(batch) >= STEP and raw[6] is not None:
            yield batch
            batch = []
    if batch:
        yield batch


def _taken(entry: Entry, chain_no: int) -> Taken:
    subject = subject_of(entry.payload, entry.chain)
    where = chain_no, entry.seq, entry.kind, entry.at, subject
    return Taken(*where, entry.hash.hex(), entry.after, entry.payload, entry.kv)


def _row(taken: Taken, entry: Entry, signature: bytes | None) -> dict[str, object]:
    names = ("chain_no", "seq", "kind", "at", "subject", "hash")
    return {name: getattr(taken, name) for name in names} | {"text": entry.text.decode(), "signature": signature}
