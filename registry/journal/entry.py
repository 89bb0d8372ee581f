"""One entry of the journal: its envelope, its canonical text and its hash."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from registry.journal.text import MAX_INTEGER, EntryError, decode, encode

VERSION = 1  # of the envelope; a kind has its own, `kv`
NO_HASH = bytes(32)  # what entry 0 of a chain follows

_LEAF = sha256(b"\x00")
_hash_hex = re.compile(r"[0-9a-f]{64}").fullmatch
_id_hex = re.compile(r"[0-9a-f]{32}").fullmatch
_snake_case = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*").fullmatch


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry as recorded; `text` is what was hashed and signed, the other fields are read off it."""

    after: tuple[str, ...]  # hashes of the entries that this one replaces
    at: int  # microseconds since 1970, UTC
    by: str  # a person's id, or "system"
    chain: str  # the installation's public key
    kind: str
    kv: int
    payload: dict[str, Any]
    prev: str
    seq: int
    text: bytes
    hash: bytes


def make(
    *,
    after: Iterable[str] = (),
    at: int,
    by: str,
    chain: str,
    kind: str,
    kv: int,
    payload: dict[str, Any],
    prev: str,
    seq: int,
) -> Entry:
    """A new entry with its text and hash; EntryError names the field that is not as it must be."""
    fields: dict[str, Any] = {
        "after": sorted(after),
        "at": at,
        "by": by,
        "chain": chain,
        "kind": kind,
        "kv": kv,
        "payload": payload,
        "prev": prev,
        "seq": seq,
        "v": VERSION,
    }
    _check_fields(fields)
    return _entry(fields, encode(fields))


def read(text: bytes) -> Entry:
    """The entry that `text` spells; refuses every other spelling and every other envelope."""
    fields = decode(text)
    _check_fields(fields)
    return _entry(fields, text)


def text_hash(text: bytes) -> bytes:
    """SHA-256(0x00 || text), which is also the leaf hash of RFC 6962 section 2.1."""
    hash = _LEAF.copy()  # a tenth faster than putting the two together
    hash.update(text)
    return hash.digest()


def tail(prev: str, seq: int) -> bytes:
    """How the text of entry `seq` that follows `prev` must end: these keys sort last.

    >>> tail("ab", 7)
    b'"prev":"ab","seq":7,"v":1}'
    """
    return f'"prev":"{prev}","seq":{seq},"v":1}}'.encode()


def _entry(fields: dict[str, Any], text: bytes) -> Entry:
    given = {name: value for name, value in fields.items() if name not in ("after", "v")}
    return Entry(after=tuple(fields["after"]), text=text, hash=text_hash(text), **given)


def _check_fields(fields: Mapping[str, Any]) -> None:
    version = fields.get("v")
    if type(version) is int and version > VERSION:
        raise EntryError("needs_a_newer_program", v=version)
    if fields.keys() != _FIELDS.keys():
        raise EntryError("fields_differ", names=" ".join(sorted(fields.keys() ^ _FIELDS.keys())))
    for name, holds in _FIELDS.items():
        if not holds(fields[name]):
            raise EntryError("field_not_valid", field=name)
    if (fields["seq"] == 0) != (fields["prev"] == NO_HASH.hex()):
        raise EntryError("field_not_valid", field="prev")


def _whole(least: int) -> Callable[[object], bool]:
    # type() rather than isinstance(): True must not pass for 1.
    return lambda value: type(value) is int and least <= value <= MAX_INTEGER


def _matching(pattern: Callable[[str], object]) -> Callable[[object], bool]:
    return lambda value: isinstance(value, str) and pattern(value) is not None


def _hashes(value: object) -> bool:
    return isinstance(value, list) and all(map(_is_hash, value)) and value == sorted(set(value))


_is_hash = _matching(_hash_hex)
_is_id = _matching(_id_hex)
_FIELDS: dict[str, Callable[[Any], bool]] = {
    "after": _hashes,
    "at": _whole(0),
    "by": lambda value: value == "system" or _is_id(value),
    "chain": _is_hash,
    "kind": _matching(_snake_case),
    "kv": _whole(1),
    "payload": lambda value: isinstance(value, dict),
    "prev": _is_hash,
    "seq": _whole(0),
    "v": lambda value: type(value) is int and value == VERSION,
}
