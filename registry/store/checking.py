"""Verifying a whole database: every chain, the columns beside the texts, the documents, and what was folded.

The plain pass reads every entry once. The deep one looks at every signature, at the form of every payload, and folds
the journal again to compare.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, select, text

from registry.journal import signing, verify as chain_verify
from registry.journal.numbers import entry_number, installation_code
from registry.records.forms import PayloadError
from registry.records.kinds import KINDS, read_payload
from registry.store import columns, database, reading, tables
from registry.store.comparing import compare_in
from registry.store.database import Database
from registry.store.locks import rebuilding
from registry.store.reading import ChainRow, RawEntry

Progress = Callable[[int], bool]  # told how many entries are done; answers False to stop

KEPT = 1000  # findings kept; where a million entries are wrong the first thousand will do


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
    newer: int = 0  # entries that need a newer program: no damage
    demo: list[str] = field(default_factory=list)  # chains whose key is public
    heads: list[Head] = field(default_factory=list)
    found: int = 0  # all findings, also those beyond the first KEPT
    findings: list[Finding] = field(default_factory=list)

    @property
    def good(self) -> bool:
        return self.finished and not self.found

    def note(self, finding: Finding) -> None:
        self.found += 1
        if len(self.findings) < KEPT:
            self.findings.append(finding)


def verify(opened: Database, *, deep: bool = False, progress: Progress | None = None) -> Report:
    """Verify everything in a database. It reads one state of it, whatever is written meanwhile."""
    with opened.reading() as connection:
        return _Verification(connection, deep, progress or (lambda _: True)).run()


def verify_journal(opened: Database, *, progress: Progress | None = None) -> Report:
    """Verify only what a journal is made of: chains, documents and detached text."""
    with opened.reading() as connection:
        return _Verification(connection, False, progress or (lambda _: True)).run(journal_only=True)


class _Stopped(Exception):
    pass


class _Verification:
    def __init__(self, connection: Connection, deep: bool, progress: Progress) -> None:
        self._connection, self._deep, self._progress = connection, deep, progress
        self._report = Report()
        self._chains = {chain.chain_no: chain for chain in reading.chains(connection)}
        self._named: dict[str, tuple[str, int, Any]] = {}  # documents that entries name: chain, seq, length

    def run(self, *, journal_only: bool = False) -> Report:
        try:
            for chain in self._chains.values():
                self._verify_chain(chain)
            self._verify_strays()
            self._verify_documents()
            self._verify_detached()
            if not journal_only:
                self._verify_rest()
        except _Stopped:
            return self._report
        self._report.finished = True
        return self._report

    def _note(self, code: str, chain: str | None = None, seq: int | None = None, **values: str | int) -> None:
        self._report.note(Finding(code, chain, seq, values))

    def _watched(self, rows: Iterator[RawEntry]) -> Iterator[RawEntry]:
        ...
