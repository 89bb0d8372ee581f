"""Entries: the fixed vector, the envelope's rules, the hash."""

import pickle
from hashlib import sha256
from typing import Any

import pytest
import rfc8785

from registry.journal.entry import Entry, make, read, tail, text_hash
from registry.journal.text import EntryError
from tests.journal.vectors import FIRST, FIRST_HASH, FIRST_TEXT, SECOND, SECOND_HASH, SECOND_TEXT


@pytest.mark.parametrize(
    ("fields", "text", "hash"), [(FIRST, FIRST_TEXT, FIRST_HASH), (SECOND, SECOND_TEXT, SECOND_HASH)]
)
def test_the_vector(fields: dict[str, Any], text: bytes, hash: str) -> None:
    entry = make(**fields)
    assert entry.text == text
    assert entry.hash.hex() == hash
    assert read(text) == entry
    assert entry.payload == fields["payload"]
    assert (entry.after, entry.seq, entry.prev) == ((), fields["seq"], fields["prev"])


def test_hash_is_a_merkle_leaf() -> None:
    # RFC 6962 section 2.1: the leaf hash is SHA-256(0x00 || d); that of the empty string is published in
    # the reference tests of certificate transparency.
    assert text_hash(b"").hex() == "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"
    assert text_hash(FIRST_TEXT) == sha256(b"\x00" + FIRST_TEXT).digest()


def test_the_tail_shows_the_link() -> None:
    assert SECOND_TEXT.endswith(tail(FIRST_HASH, 1))
    assert not SECOND_TEXT.endswith(tail(FIRST_HASH, 11))
    assert not SECOND_TEXT.endswith(tail(SECOND_HASH, 1))


def test_after_is_sorted_on_the_way_in() -> None:
    low, high = "0a" * 32, "f0" * 32
    assert make(**SECOND, after=[high, low]).after == (low, high)


BAD: list[tuple[str, Any]] = [
    ("after", ["0A" * 32]),
    ("after", ["0a" * 31]),
    ("after", ["0a" * 32, "0a" * 32]),
    ("at", -1),
    ("at", True),
    ("at", "1"),
    ("at", 2**53),
    ("by", "System"),
    ("by", "0195f3a0c0007000800000000000000"),
    ("by", "0195F3A0C00070008000000000000001"),
    ("by", "0195f3a0c00070008000000000000001\n"),
    ("chain", SECOND["chain"][:-1]),
    ("chain", bytes(32)),
    ("kind", "Check"),
    ("kind", "check__recorded"),
    ("kind", "check_recorded_"),
    ("kind", "check-recorded"),
    ("kind", ""),
    ("kv", 0),
    ("kv", True),
    ("payload", []),
    ("prev", "0" * 63),
    ("prev", "0" * 64),  # only entry 0 follows nothing
    ("seq", -1),
    ("seq", 0),  # and entry 0 follows nothing else
]


@pytest.mark.parametrize(("field", "value"), BAD)
def test_a_field_that_is_not_as_it_must_be_is_named(field: str, value: object) -> None:
    with pytest.raises(EntryError) as made:
        make(**{**SECOND, field: value})
    assert made.value.code == "field_not_valid"
    assert made.value.values["field"] in (field, "prev")


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"after": ["f0" * 32, "0a" * 32]}, "field_not_valid"),
        ({"seq": -1}, "field_not_valid"),
        ({"kind": "Check"}, "field_not_valid"),
        ({"v": 0}, "field_not_valid"),
        ({"v": True}, "field_not_valid"),
        ({"v": "1"}, "field_not_valid"),
        ({"v": 2}, "needs_a_newer_program"),
        ({"v": 2, "colour": "red"}, "needs_a_newer_program"),
        ({"colour": "red"}, "fields_differ"),
    ],
)
def test_reading_refuses_another_envelope(change: dict[str, Any], code: str) -> None:
    text = rfc8785.dumps({"after": [], "v": 1, **SECOND, **change})
    with pytest.raises(EntryError) as caught:
        read(text)
    assert caught.value.code == code


@pytest.mark.parametrize("field", ["after", "v", *SECOND])
def test_reading_refuses_a_missing_field(field: str) -> None:
    fields = {"after": [], "v": 1, **SECOND}
    del fields[field]
    with pytest.raises(EntryError) as caught:
        read(rfc8785.dumps(fields))
    assert (caught.value.code, caught.value.values) == ("fields_differ", {"names": field})


def test_kinds_and_their_versions_need_not_be_known() -> None:
    entry = make(**{**SECOND, "kind": "moon_landed", "kv": 77})
    assert read(entry.text) == entry


def test_an_entry_cannot_be_changed() -> None:
    entry = make(**FIRST)
    with pytest.raises(AttributeError):
        entry.seq = 5  # type: ignore[misc]
    assert isinstance(entry, Entry)


def test_an_error_comes_whole_out_of_another_process() -> None:
    error = pickle.loads(pickle.dumps(EntryError("field_not_valid", field="at")))
    assert (error.code, error.values) == ("field_not_valid", {"field": "at"})
