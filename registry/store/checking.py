"""Verifying a whole database: every chain, the columns beside the texts, the documents, and what was folded.

The plain pass reads every entry once. The deep one looks at every signature and at the form of every payload too, and
folds the journal again to compare.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, func, select, text

from registry.journal import signing
from registry.journal import verify as chain_verify
from registry.journal.numbers import entry_number, installation_code
from registry.records.forms import PayloadError
from registry.records.kinds import KINDS
from registry.store import columns, comparing, database, reading, tables
from registry.store.database import Database
from registry.store.keyfile import Marker
from registry.store.locks import rebuilding
from registry.store.reading import ChainRow

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

KEPT = 1000  # findings kept; where a million entries are wrong the first thousand will do
STEP = 20_000  # entries between two reports of progress


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that does not hold; where it is about an entry, which one."""

    code: str
    chain: str | None = None
    seq: int | None = None
    values: dict[str, str | int] = field(default_factory=dict)

    @property
    def number(self) -> str | None:
        """The number under which people quote that entry."""
        if self.chain is None or self.seq is None or self.seq < 0:
            return None
        return entry_number(installation_code(bytes.fromhex(self.chain)), self.seq)


@dataclass(frozen=True, slots=True)
class Head:
    """Where a chain ends, to be compared with what is known of it outside."""

    chain: str
    branch: int
    seq: int
    hash: str


@dataclass(slots=True)
class Report:
    """What a verification looked at and found; only `good` says that nothing was wrong."""

    finished: bool = False
    entries: int = 0
    documents: int = 0
    newer: int = 0  # entries that need a newer program, which is no damage
    demo: list[str] = field(default_factory=list)  # chains that say so in entry 0: anybody has their key
    heads: list[Head] = field(default_factory=list)
    found: int = 0  # all findings, also those beyond the first KEPT
    findings: list[Finding] = field(default_factory=list)

    @property
    def good(self) -> bool:
        return self.finished and not self.found

    def note(self, code: str, chain: str | None = None, seq: int | None = None, **values: str | int) -> None:
        self.found += 1
        if len(self.findings) < KEPT:
            self.findings.append(Finding(code, chain, seq, values))


def verify(
    opened: Database,
    *,
    deep: bool = False,
    journal_only: bool = False,
    marker: Marker | None = None,
    progress: Progress = lambda _: True,
) -> Report:
    """Verify one state of a database, whatever is written meanwhile; `finished` is False where it was stopped.

    `journal_only` leaves out what is not carried on to other databases: the schema and what was folded. `marker`: what
    lies beside the key and knows how far its chain had got, read before this is called: a database is never behind it.
    """
    report = Report()
    with reading.snapshot(opened) as connection:
        try:
            chains = _Chains(connection, report, deep, progress)
            chains.verify()
            if marker is not None:
                chains.compare_end(marker)
            if not journal_only:
                _verify_schema(connection, report, deep)
            if deep and not journal_only:
                _verify_projections(connection, report, progress)
        except comparing.Stopped:
            return report
    report.finished = True
    return report


class _Chains:
    """The chains of a database and the documents that their entries name."""

    def __init__(self, connection: Connection, report: Report, deep: bool, progress: Progress) -> None:
        self._connection, self._report, self._deep, self._progress = connection, report, deep, progress
        self._known = {chain.chain_no: chain for chain in reading.chains(connection)}
        self._noted: dict[int, dict[str, Any]] = {}  # of the chain at hand: seq and envelope
        self._documents: list[tuple[str, int, str, int]] = []  # chain, seq, SHA-256, length

    def verify(self) -> None:
        for chain in self._known.values():
            self._noted = {}
            if self._deep or not self._holds(chain):
                self._examine(chain)
            self._use_noted(chain)
        self._find_strays()
        self._verify_documents()
        self._verify_detached()

    def _holds(self, chain: ChainRow) -> bool:
        """The quick way: whether all of a chain is as it must be, without saying what is not."""
        before = self._hash_before(chain)
        walk = columns.PlainWalk(chain.chain, chain.first, before, self._noted.__setitem__)
        seen = walk.last - 1
        while walk.last > seen:
            self._tell(max(0, walk.last - chain.first))
            seen = max(walk.last, chain.first - 1)
            if not walk.holds(reading.entries(self._connection, chain.chain_no, seen + 1, seen + 1 + STEP)):
                return False
        key = bytes.fromhex(chain.chain)
        signature = walk.signature or b""
        if chain.branch or not signing.head_holds(key, walk.last, walk.hash, signature):
            return False
        self._report.entries += walk.last + 1 - chain.first
        self._report.heads.append(Head(chain.chain, chain.branch, walk.last, walk.hash.hex()))
        return True

    def _hash_before(self, chain: ChainRow) -> bytes:
        found = reading.hash_at(self._connection, chain, chain.first - 1, self._known)
        return bytes.fromhex(found) if found else bytes(32)

    def _tell(self, of_this_chain: int) -> None:
        if not self._progress(self._report.entries + of_this_chain):
            raise comparing.Stopped

    # --- the slow way, which names what is wrong ---------------------------------------------------------------

    def _examine(self, chain: ChainRow) -> None:
        before = self._report.found
        self._noted = {}
        walked = chain_verify.walk(self._looked_at(chain), deep=self._deep)
        for finding in walked.findings:
            if finding.seq >= chain.first - 1:  # what a branch forks off from has its own findings
                self._report.note(finding.code, chain.chain, finding.seq, **finding.detail)
        self._report.found += walked.found - len(walked.findings)
        for head in walked.heads:
            self._report.heads.append(Head(chain.chain, chain.branch, head.seq, head.hash.hex()))
        if not walked.heads:
            self._report.note("chain_empty", chain.chain)
        if chain.branch:
            self._report.note("branched", chain.chain, chain.first, branch=chain.branch)
        if self._report.found == before and not self._deep:
            raise AssertionError("the quick way refuses a chain in which the slow one finds nothing")

    def _looked_at(self, chain: ChainRow) -> Iterator[chain_verify.Row]:
        key = bytes.fromhex(chain.chain)
        rows = reading.whole_chain(self._connection, chain, self._known)
        for count, (seq, kind, at, subject, hash, entry_text, signature) in enumerate(rows):
            if count % STEP == 0:
                self._tell(0)
            if seq >= chain.first:
                self._report.entries += 1
                self._look_beside(chain.chain, seq, kind, at, subject, entry_text)
            yield key, seq, entry_text, hash, signature

    def _look_beside(self, chain: str, seq: int, kind: bytes, at: int, subject: bytes, entry_text: bytes) -> None:
        """Compare the columns with the text; in the deep pass the payload with its form too."""
        envelope = columns.read(entry_text)
        if envelope is None:
            if not self._deep:  # else the walk says so
                self._report.note("text_refused", chain, seq, reason="not_json")
            return
        for column, (beside, said) in columns.differing(envelope, chain, kind, at, subject).items():
            self._report.note("column_differs", chain, seq, column=column, beside=beside, text=said)
        known = KINDS.get(str(envelope.get("kind")))
        if known is None or envelope["kv"] != known.KV or known.KIND in columns.NOTED:
            self._noted[seq] = envelope
        elif self._deep:
            self._look_at_form(chain, seq, envelope)

    def _look_at_form(self, chain: str, seq: int, envelope: dict[str, Any]) -> None:
        try:
            KINDS[envelope["kind"]].check_payload(envelope["payload"])
        except PayloadError as error:
            self._report.note("payload_refused", chain, seq, kind=error.kind, key=error.key)

    # --- what entries say of one another and of documents ------------------------------------------------------

    def _use_noted(self, chain: ChainRow) -> None:
        for seq, envelope in self._noted.items():
            payload = envelope["payload"]
            known = KINDS.get(str(envelope.get("kind")))
            if known is None or envelope["kv"] != known.KV:
                self._report.newer += 1
                continue
            try:
                known.check_payload(payload)
            except PayloadError as error:
                self._report.note("payload_refused", chain.chain, seq, kind=error.kind, key=error.key)
                continue
            if envelope["kind"] == "document_stored":
                self._documents.append((chain.chain, seq, payload["sha256"], payload["length"]))
            elif seq == 0:
                self._use_opening(chain, payload)

    def _use_opening(self, chain: ChainRow, payload: dict[str, Any]) -> None:
        if payload.get("demo"):
            self._report.demo.append(chain.chain)
        if (old := payload.get("predecessor")) is None:
            return
        signature = payload.get("old_key_signature")
        if signature is not None and not _succession_holds(chain.chain, old, signature):
            self._report.note("succession_bad", chain.chain, 0)
        here = [one for one in self._known.values() if one.chain == old["chain"]]
        hashes = {reading.hash_at(self._connection, one, old["seq"], self._known) for one in here} - {None}
        if hashes and old["hash"] not in hashes:
            self._report.note("predecessor_differs", chain.chain, 0, old_chain=old["chain"], old_seq=old["seq"])

    def compare_end(self, marker: Marker) -> None:
        """Whether the chain of the key beside the record still holds what this key is known to have signed.

        Where that chain is not here at all, the key is another record's, and says nothing of this one.
        """
        chain = marker.chain.hex()
        here = [one for one in self._known.values() if one.chain == chain]
        last = max((one.seq for one in self._report.heads if one.chain == chain), default=-1)
        if here and marker.seq > last:
            self._report.note(
                "end_missing",
                chain,
                marker.seq,
                count=marker.seq - last,
                installation=installation_code(marker.chain),
                number=entry_number(installation_code(marker.chain), marker.seq),
            )
        elif here and marker.seq >= 0 and not any(one.chain == chain for one in self._report.findings):
            hashes = {reading.hash_at(self._connection, one, marker.seq, self._known) for one in here}
            if marker.hash.hex() not in hashes:
                self._report.note("end_differs", chain, marker.seq)

    def _find_strays(self) -> None:
        """Entries under a number that no chain has, or before the place where their branch begins."""
        entries = tables.entries.c
        total = self._connection.execute(select(func.count()).select_from(tables.entries)).scalar_one()
        if total == self._report.entries:
            return
        query = select(entries.no, entries.chain_no, entries.seq).order_by(entries.no)
        strays = (row for row in self._connection.execute(query) if not self._belongs(row.chain_no, row.seq))
        for row in strays:
            self._report.note("entry_of_no_chain", no=row.no, chain_no=row.chain_no, seq=row.seq)

    def _belongs(self, chain_no: int, seq: int) -> bool:
        return chain_no in self._known and seq >= self._known[chain_no].first

    def _verify_documents(self) -> None:
        table = tables.documents
        lengths: dict[str, int] = {}
        query = select(table.c.sha256, table.c.bytes).execution_options(yield_per=1)
        for named, content in self._connection.execute(query):
            lengths[named] = len(content)
            if sha256(content).hexdigest() != named:
                self._report.note("document_changed", sha256=named)
        self._report.documents = len(lengths)
        for chain, seq, named, length in self._documents:
            if named not in lengths:
                self._report.note("document_missing", chain, seq, sha256=named)
            elif lengths[named] != length:
                self._report.note("document_length", chain, seq, sha256=named, length=lengths[named], said=length)

    def _verify_detached(self) -> None:
        table = tables.detached
        for row in self._connection.execute(select(table)):
            if sha256(row.salt + row.text.encode()).hexdigest() != row.fields_hash:
                self._report.note("detached_changed", fields_hash=row.fields_hash)


def _succession_holds(chain: str, old: dict[str, Any], signature: str) -> bool:
    old_chain, new_chain, hash = (bytes.fromhex(one) for one in (old["chain"], chain, old["hash"]))
    return signing.succession_holds(old_chain, new_chain, old["seq"], hash, bytes.fromhex(signature))


def _verify_schema(connection: Connection, report: Report, deep: bool) -> None:
    for name in database.altered(connection):
        report.note("schema_altered", name=name)
    if rebuilding(connection):
        report.note("rebuild_unfinished")
    if deep and connection.dialect.name == "sqlite":
        for line in connection.execute(text("PRAGMA integrity_check(100)")).scalars():
            if line != "ok":
                report.note("file_damaged", line=line)


# Where texts are not what was signed, or gone, folding them says nothing about what was folded from the right ones.
_UNFIT_TO_FOLD = {
    "text_changed",
    "text_refused",
    "not_an_entry",
    "column_differs",
    "row_malformed",
    "end_missing",
}


def _verify_projections(connection: Connection, report: Report, progress: Progress) -> None:
    if not _UNFIT_TO_FOLD.isdisjoint(one.code for one in report.findings):
        report.note("not_compared")
        return
    for one in comparing.compare_in(connection, progress):
        found, folded = one.found or "", one.folded or ""
        report.note("folded_differs", table=one.table, key=one.key, column=one.column, found=found, folded=folded)
