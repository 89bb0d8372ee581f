"""Walking over chains and naming what does not hold: text, order, links, signatures."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter

from registry.journal.entry import NO_HASH, VERSION, read, tail, text_hash
from registry.journal.signing import head_holds
from registry.journal.text import EntryError

Row = tuple[bytes, int, bytes, bytes, bytes | None]  # chain, seq, text, hash beside it, head signature
_Signed = tuple[int, tuple[bytes, ...], bytes]  # seq, hashes it may be over, signature
Progress = Callable[[int], bool]  # told how many rows are done; answers False to stop

KEPT = 1000  # findings kept in a report; a chain of millions may be wrong throughout

_TAIL = re.compile(rb'"prev":"([0-9a-f]{64})","seq":(0|[1-9][0-9]{0,15}),"v":([1-9][0-9]{0,15})\}\Z')


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that does not hold, at entry `seq` of `chain`."""

    code: str
    chain: bytes
    seq: int
    detail: dict[str, str | int]


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry met of a chain, to be compared with what is known of it outside."""

    chain: bytes
    seq: int
    hash: bytes


@dataclass(slots=True)
class Report:
    """What a walk found; only `good` says that nothing was wrong."""

    finished: bool = False
    entries: int = 0
    found: int = 0  # all findings, also those beyond the first KEPT
    findings: list[Finding] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Every row was looked at and everything held."""
        return self.finished and not self.found

    def note(self, code: str, chain: bytes, seq: int, **detail: str | int) -> None:
        """Write down one finding."""
        self.found += 1
        if len(self.findings) < KEPT:
            self.findings.append(Finding(code, chain, seq, detail))


class _Stopped(Exception):
    pass


def walk(rows: Iterable[Row], *, deep: bool = False, progress: Progress | None = None, every: int = 10_000) -> Report:
    """Verify `rows`, which come by chain and then by seq, each chain from its entry 0.

    Looked at are the hash of each text, its link to the one before, and the last head signature of each
    chain, which vouches for all before it; with `deep` every head signature and every field of the
    envelope too. `progress` is called before every so many rows and stops the walk by answering False.
    """
    report = Report()
    try:
        for chain, of_chain in groupby(_counted(rows, report, progress, every), itemgetter(0)):
            _walk_chain(chain, of_chain, deep, report)
    except _Stopped:
        return report
    report.finished = True
    return report


def _counted(rows: Iterable[Row], report: Report, progress: Progress | None, every: int) -> Iterator[Row]:
    # One at a time: rows gathered in lists leave the processor's cache and take a quarter longer.
    done = 0
    try:
        for row in rows:
            if done % every == 0 and progress is not None and not progress(done):
                raise _Stopped
            yield row
            done += 1
    finally:
        report.entries = done


def _walk_chain(chain: bytes, rows: Iterable[Row], deep: bool, report: Report) -> None:
    last = -1
    hashes: tuple[bytes, ...] = (NO_HASH,)  # of that entry; two where they differ, to name damage once
    signed: _Signed | None = None
    for _, seq, text, column, signature in rows:
        if not (type(seq) is int and type(text) is type(column) is bytes):
            report.note("row_malformed", chain, last + 1)
            continue
        if seq != last + 1 or not text.endswith(tail(hashes[0].hex(), seq)):
            _note_break(report, chain, seq, text, last, hashes)
        digest = text_hash(text)
        if digest == column:
            now: tuple[bytes, ...] = (digest,)
        else:
            now = (digest, column)
            report.note("text_changed", chain, seq, text=digest.hex(), beside=column.hex())
        if deep:
            _note_text(report, chain, seq, text)
            if signature is not None:
                _note_signature(report, chain, (seq, now, signature))
        if seq < last:
            continue
        hashes = (*hashes, *now) if seq == last else now  # the next may follow either of two branches
        last = seq
        if signature is not None:
            signed = (seq, now, signature)
    if last >= 0:
        report.heads.append(Head(chain, last, hashes[0]))
    if signed is None or signed[0] != last:
        report.note("end_unsigned", chain, last, signed=-1 if signed is None else signed[0])
    if signed is not None and not deep:
        _note_signature(report, chain, signed)


def _note_break(report: Report, chain: bytes, seq: int, text: bytes, last: int, hashes: tuple[bytes, ...]) -> None:
    """Name why entry `seq` does not follow entry `last`."""
    if seq > last + 1:
        report.note("missing", chain, last + 1, until=seq - 1)
    elif seq <= last:
        report.note("repeated", chain, seq, last=last)
    said = _TAIL.search(text, max(0, len(text) - 128))
    if said is None:
        report.note("not_an_entry", chain, seq)
    elif int(said[3]) != VERSION:
        report.note("needs_a_newer_program", chain, seq, v=int(said[3]))
    elif int(said[2]) != seq:
        report.note("seq_differs", chain, seq, text=int(said[2]))
    elif seq == last + 1 and said[1].decode() not in [hash.hex() for hash in hashes]:
        report.note("link_broken", chain, seq, text=said[1].decode(), before=hashes[0].hex())


def _note_signature(report: Report, chain: bytes, signed: _Signed) -> None:
    seq, hashes, signature = signed
    if not any(head_holds(chain, seq, hash, signature) for hash in hashes):
        report.note("signature_bad", chain, seq)


def _note_text(report: Report, chain: bytes, seq: int, text: bytes) -> None:
    try:
        entry = read(text)
    except EntryError as error:
        report.note("text_refused", chain, seq, reason=error.code)
    else:
        if entry.chain != chain.hex():
            report.note("chain_differs", chain, seq, text=entry.chain)
