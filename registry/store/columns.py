"""Whether a chain is whole and the columns beside each text say what the text says, as fast as Python can tell.

`PlainWalk` only answers yes or no; where it says no, `registry.journal.verify` and `differing` name what is wrong. It
gets its speed from the canonical form, whose keys stand in a fixed order, so that most texts can be compared with
what they must begin and end with. What that does not settle is read as JSON; nothing is guessed.
"""

import json
from binascii import hexlify
from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import Any

from registry.records.kinds import KINDS, subject_of
from registry.store.reading import RawEntry

Seen = Callable[[int, dict[str, Any]], None]  # told seq and envelope of the entries that something else rests on

NOTED = frozenset({"chain_opened", "document_stored"})  # those, and all that this program does not know
_KEPT = 20_000  # how many needles are remembered before beginning anew
_NO_START = b"\x00"  # what no text has


class PlainWalk:
    """One pass over the entries that lie under one number."""

    def __init__(self, chain: str, first: int, before: bytes, seen: Seen) -> None:
        """`first` is the sequence number to begin with, `before` the hash of the entry that it follows."""
        self._chain, self._seen = chain, seen
        self._starts: dict[bytes, bytes] = {}
        self.last, self.hash = first - 1, before
        self.signature: bytes | None = None  # the one beside the last entry

    def holds(self, rows: Iterable[RawEntry]) -> bool:
        """Whether every row is as it must be; stops at the first that is not.

        All is inline since a call costs as much as a hash.
        """
        starts, needles = self._starts, _Needles()
        last, digest, signature = self.last, self.hash, self.signature
        before = hexlify(digest)
        for seq, kind, at, subject, hash, text, signature in rows:  # noqa: B007, the last one is kept
            last += 1
            digest = sha256(b"\x00" + text).digest()
            tail = b'"prev":"%b","seq":%d,"v":1}' % (before, last)
            if digest != hash or seq != last or not text.endswith(tail):
                return False
            needle = needles[subject]
            place = text.rfind(needle)
            if not (
                place > 0
                # After sixteen digits and a person's id the place of what comes next is fixed.
                and text.startswith(starts.get(kind) or self._start(kind), 72)
                and text.startswith(b'{"after":[],"at":%d,"by":"' % at)
                # The id is the payload's own where after it no object begins and one ends, just before `prev`.
                and text.find(b"}", place) == len(text) - len(tail) - 2
                and text.find(b"{", place) < 0
            ) and not self._holds_otherwise(seq, kind, at, subject, text):
                return False
            before = hexlify(digest)
        self.last, self.hash, self.signature = last, digest, signature
        return True

    def _start(self, kind: bytes) -> bytes:
        """What stands between `by` and the payload's first key."""
        name = kind.decode("utf-8", "replace")
        start = _NO_START
        if name in KINDS and name not in NOTED:
            start = f'","chain":"{self._chain}","kind":"{name}","kv":{KINDS[name].KV},"payload":{{'.encode()
        self._starts[kind] = start
        return start

    def _holds_otherwise(self, seq: int, kind: bytes, at: int, subject: bytes, text: bytes) -> bool:
        """The same for an entry of another shape: a bath's, one that replaces another, one to be noted."""
        start = self._start(kind)
        if (
            text.startswith(b'{"after":[],"at":%d,"by":"' % at)
            and text.startswith(start + b'"bath":"%b"' % hexlify(subject), 72)
            and b'"thermometer":"' not in text
        ):
            return True
        envelope = read(text)
        if envelope is None or differing(envelope, self._chain, kind, at, subject):
            return False
        if start == _NO_START or envelope["kv"] != KINDS[envelope["kind"]].KV:
            self._seen(seq, envelope)
        return True


class _Needles(dict[bytes, bytes]):
    """How a thermometer's id stands in the text of an entry about it, by the column's bytes.

    After a comma such a quotation mark can only begin a key: within a string it would be escaped.
    """

    def __missing__(self, subject: bytes) -> bytes:
        if len(self) > _KEPT:
            self.clear()
        needle = self[subject] = b',"thermometer":"%b"' % hexlify(subject)
        return needle


def read(text: bytes) -> dict[str, Any] | None:
    """The envelope that a text spells, None where it spells none."""
    try:
        envelope = json.loads(text)
    except (ValueError, RecursionError):
        return None
    whole = isinstance(envelope, dict) and isinstance(envelope.get("payload"), dict) and "kv" in envelope
    return envelope if whole else None


def differing(
    envelope: dict[str, Any], chain: str, kind: bytes, at: int, subject: bytes
) -> dict[str, tuple[str | int, str | int]]:
    """The columns that don't say what the text says: beside it, in it."""
    said = (
        ("chain", chain, envelope.get("chain")),
        ("kind", kind.decode("utf-8", "replace"), envelope.get("kind")),
        ("at", at, envelope.get("at")),
        ("subject", subject.hex(), subject_of(envelope["payload"], str(envelope.get("chain")))),
    )
    return {name: (beside, str(text)) for name, beside, text in said if beside != text}
