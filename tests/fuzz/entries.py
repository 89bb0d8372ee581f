"""Texts of entries with anything done to them: each is refused, or is canonical and gives the same bytes again."""

import json
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.journal import entry as journal_entry
from registry.journal import signing, verify
from registry.journal.entry import Entry
from registry.journal.text import MAX_DEPTH, EntryError, decode, encode
from registry.records.forms import PayloadError
from registry.records.kinds import KINDS, read_payload, subject_of
from registry.store import columns, reading
from tests.fuzz import driving
from tests.fuzz.typing_errors import ODD, typed_number

SAVED = Path(__file__).resolve().parents[1] / "data" / "entries"
PAYLOADS = [
    (kind, payload)
    for path in sorted(SAVED.glob("*.json"))
    for kind in [path.name.split(".")[0]]
    for payload in json.loads(path.read_text(encoding="utf-8")).values()
    if isinstance(payload, dict) and kind in KINDS
]
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
CHAIN = signing.public_bytes(KEY).hex()
IDS = ("0195f3a0c00070008000000000000001", "0195f3a0c0007000800000000000000a")
INTEGERS = (0, -1, 1, 2**31, 2**53 - 1, 2**53, 2**63, 10**400)
# Spellings that another reader of JSON may take, and what may deceive whoever looks for keys in a text.
SPELLINGS = (
    b"NaN",
    b"Infinity",
    b"-0",
    b"1.0",
    b"1e2",
    b"01",
    b"null",
    b"true",
    b'"\\u0041"',
    b'"\\/"',
    b" ",
    b"\xef\xbb\xbf",
)
BAITS = (
    f',"thermometer":"{IDS[0]}"',
    '"thermometer":"',
    f'"bath":"{IDS[1]}"',
    '}},"prev":"',
    "{",
    "}",
    '\\"',
    '"seq":0,"v":1}',
    "\N{ANGSTROM SIGN}",
    "e\N{COMBINING ACUTE ACCENT}",
)


# --- making --------------------------------------------------------------------------------------------------


def value(random: Random, depth: int = 0) -> Any:
    """Something for a payload; now and then what no entry may hold."""
    match random.randrange(12 if depth < MAX_DEPTH + 3 else 8):
        case 0:
            return random.choice((*INTEGERS, random.getrandbits(60)))
        case 1:
            return random.choice((True, False))
        case 2:
            return random.choice((None, 0.5, float("nan"), b"bytes")) if random.random() < 0.1 else "0.4 C"
        case 3 | 4:
            return random.choice((*ODD, typed_number(random))) if random.random() < 0.2 else typed_number(random)
        case 5 | 6:
            return random.choice((*BAITS, *IDS))
        case 7:
            return "x" * random.choice((1, 100, 70_000))
        case 8 | 9:
            return [value(random, depth + 1) for _ in range(random.choice((0, 1, 1, 2)))]
        case _:
            return {key(random): value(random, depth + 1) for _ in range(random.choice((1, 1, 2, 3)))}


def key(random: Random) -> str:
    known = ("thermometer", "bath", "import", "part", "reading", "after", "prev", "payload", "a", "")
    return random.choice(known) if random.random() < 0.95 else random.choice((*ODD, *BAITS))


def payload(random: Random) -> tuple[str, dict[str, Any]]:
    """Mostly a saved payload, with something changed in it or not."""
    kind, saved = random.choice(PAYLOADS)
    changed: dict[str, Any] = json.loads(json.dumps(saved))
    for _ in range(random.choice((0, 0, 1, 2))):
        name = random.choice((*changed, key(random))) if changed else key(random)
        if random.random() < 0.2:
            changed.pop(name, None)
        else:
            changed[name] = value(random, 1)
    return random.choice((kind, kind, kind, "chain_opened", "something_new")), changed


def made(random: Random, prev: str, seq: int) -> Entry | None:
    """An entry; none where what was drawn may not be in one."""
    kind, about = payload(random)
    after = [random.randbytes(32).hex() for _ in range(random.choice((0, 0, 0, 1, 2)))]
    at, by = random.choice((0, 10**14, 1_772_548_200_000_000)), random.choice(("system", *IDS))
    kv = random.choice((1, 1, 1, 1, 2, 99))
    try:
        return journal_entry.make(
            after=after, at=at, by=by, chain=CHAIN, kind=kind, kv=kv, payload=about, prev=prev, seq=seq
        )
    except EntryError:
        return None


# --- spoiling ------------------------------------------------------------------------------------------------


def flip(random: Random, text: bytes) -> bytes:
    place = random.randrange(len(text))
    return (
        text[:place]
        + bytes([random.choice((text[place] ^ 1 << random.randrange(8), *b'"{}[],:\\ 0'))])
        + text[place + 1 :]
    )


def drop_or_double(random: Random, text: bytes) -> bytes:
    start = random.randrange(len(text))
    end = start + random.choice((1, 2, 10, 300))
    return text[:start] + text[start:end] * random.choice((0, 2)) + text[end:]


def splice(random: Random, text: bytes) -> bytes:
    """Another spelling, or bait, where a value may begin."""
    places = [place + 1 for place, byte in enumerate(text) if byte in b":,[{"] or [0]
    start = random.choice(places)
    return text[:start] + random.choice((*SPELLINGS, *(one.encode() for one in BAITS))) + text[start:]


def double_key(random: Random, text: bytes) -> bytes:
    """A key that stands twice: readers differ in which of the two they take."""
    start = random.choice([place for place, byte in enumerate(text) if byte in b"{"] or [0])
    name = random.choice((b"after", b"at", b"kind", b"payload", b"thermometer", b"v", b"seq"))
    return text[: start + 1] + b'"%b":%b,' % (name, random.choice((b"1", b"[]", b'"x"', b"{}"))) + text[start + 1 :]


def nest(random: Random, text: bytes) -> bytes:
    deep = random.choice((MAX_DEPTH, 100, 30_000))
    return text.replace(b'"payload":{', b'"payload":{"a":' + b"[" * deep + b"]" * deep + b",", 1)


def respell(random: Random, text: bytes) -> bytes:
    """The same value otherwise written: keys in another order, blanks, escapes, another encoding."""
    try:
        fields = json.loads(text)
        names = list(fields)
        random.shuffle(names)
        fields = {name: fields[name] for name in names}
        written = json.dumps(fields, ensure_ascii=random.random() < 0.5, indent=random.choice((None, 1)))
        return written.encode(random.choice(("utf-8", "utf-8", "utf-16", "utf-8-sig")))
    except (ValueError, RecursionError, AttributeError, TypeError):
        return text


SPOILERS: list[Callable[[Random, bytes], bytes]] = [flip, flip, drop_or_double, splice, double_key, nest, respell]


# --- looking -------------------------------------------------------------------------------------------------


def case(random: Random) -> str:
    chain_holds(random)
    entry = (
        made(random, bytes(32).hex(), 0) if random.random() < 0.5 else made(random, "ab" * 32, random.randrange(1, 99))
    )
    if entry is None:
        return "could not be made"
    text = entry.text
    for _ in range(random.choice((0, 1, 1, 1, 2, 5))):
        text = random.choice(SPOILERS)(random, text) or b"{}"
    columns.read(text)
    try:
        found = journal_entry.read(text)
    except EntryError as refused:
        return f"refused: {refused.code}"
    is_canonical(found, text)
    return "taken as it was" if text == entry.text else "taken as another"


def is_canonical(found: Entry, text: bytes) -> None:
    """Spelt as RFC 8785 asks for, by that reference library, and the same when made again from its fields."""
    fields = json.loads(text.decode(), object_pairs_hook=no_key_twice)
    assert rfc8785.dumps(fields) == text
    assert encode(decode(text)) == text == found.text
    names = ("after", "at", "by", "chain", "kind", "kv", "payload", "prev", "seq")
    again = journal_entry.make(**{name: getattr(found, name) for name in names})
    assert (again.text, again.hash) == (text, found.hash)
    try:
        record = read_payload(found.kind, found.kv, found.payload)
    except PayloadError:
        return
    assert record is None or encode(record.as_payload()) == encode(found.payload)


def no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    assert len(dict(pairs)) == len(pairs)
    return dict(pairs)


def chain_holds(random: Random) -> None:
    """The quick look at a chain says no only where the slow one names something, whatever the payloads hold.

    It says yes only where nothing is to be named, but for a text that is no entry though its own key signed it.
    """
    prev, rows = bytes(32).hex(), []
    for seq in range(random.randrange(1, 5)):
        entry = None
        while entry is None:
            entry = made(random, prev, seq)
        prev = entry.hash.hex()
        rows.append(_row(random, entry))
    quick = columns.PlainWalk(CHAIN, 0, bytes(32), lambda seq, envelope: None).holds(rows)
    named, otherwise = _slowly(rows)
    assert not named if quick else named or otherwise, rows


def _row(random: Random, entry: Entry) -> reading.RawEntry:
    """As it lies in the database, with a column or the text changed now and then."""
    subject = subject_of(entry.payload, CHAIN)
    if random.random() < 0.2:
        subject = random.choice((*IDS, CHAIN[:32]))
    kind = entry.kind if random.random() < 0.9 else random.choice(tuple(KINDS))
    at = entry.at + (random.random() < 0.05)
    text = entry.text if random.random() < 0.9 else flip(random, entry.text)
    hash = entry.hash if random.random() < 0.5 else journal_entry.text_hash(text)
    signature = signing.sign_head(KEY, bytes.fromhex(CHAIN), entry.seq, hash)
    return entry.seq, kind.encode(), at, bytes.fromhex(subject), hash, text, signature


def _slowly(rows: list[reading.RawEntry]) -> tuple[set[str], bool]:
    """What is wrong with the chain and the columns beside entries; and whether a text that is none is named."""
    chain = bytes.fromhex(CHAIN)
    walked = verify.walk((chain, seq, text, hash, signed) for seq, _, _, _, hash, text, signed in rows)
    found, otherwise = {finding.code for finding in walked.findings}, False
    for _, kind, at, subject, _, text, _ in rows:
        envelope = columns.read(text)
        differs = envelope is None or columns.differing(envelope, CHAIN, kind, at, subject).keys()
        try:
            journal_entry.read(text)
        except EntryError:
            otherwise |= bool(differs)
        else:
            assert differs is not True
            found |= differs
    return found, otherwise


if __name__ == "__main__":
    driving.by_hand(case, __doc__)
