"""Canonical text against RFC 8785, its published samples and the reference library rfc8785."""

import json
import unicodedata
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from registry.journal.text import MAX_BYTES, MAX_DEPTH, EntryError, decode, encode

TEXTS = st.text(st.characters(exclude_categories=["Cs"])).map(lambda text: unicodedata.normalize("NFC", text))
KEYS = st.text(st.characters(max_codepoint=127), max_size=8)
INTEGERS = st.integers(-(2**53) + 1, 2**53 - 1)
VALUES = st.recursive(
    TEXTS | INTEGERS | st.booleans(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)
OBJECTS = st.dictionaries(KEYS, VALUES, max_size=5)


def code_of(action: Any, *arguments: Any) -> str:
    with pytest.raises(EntryError) as caught:
        action(*arguments)
    return caught.value.code


@given(OBJECTS)
def test_it_writes_what_the_reference_library_writes(value: dict[str, Any]) -> None:
    assert encode(value) == rfc8785.dumps(value)


@given(OBJECTS)
def test_text_reads_back_as_the_same_value(value: dict[str, Any]) -> None:
    assert decode(encode(value)) == value


@given(OBJECTS, st.data())
def test_a_changed_byte_is_never_taken_for_another_spelling(value: dict[str, Any], data: Any) -> None:
    text = bytearray(encode(value))
    at = data.draw(st.integers(0, len(text) - 1))
    text[at] = data.draw(st.integers(0, 255))
    try:
        read = decode(bytes(text))
    except EntryError:
        return
    assert rfc8785.dumps(read) == bytes(text)


def test_escapes_of_the_rfc_sample() -> None:
    # RFC 8785 section 3.2.2, the member "string" (its numbers and null are outside our subset).
    given_text = r'{"string": "\u20ac$\u000F\u000aA' + r"'" + r'\u0042\u0022\u005c\\\"\/"}'
    expected = '{"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert encode(json.loads(given_text)) == expected.encode()


def test_key_order_of_the_rfc_sample() -> None:
    # RFC 8785 section 3.2.3, the members whose keys are ASCII.
    value = {"\r": "Carriage Return", "1": "One"}
    assert encode(value) == b'{"\\r":"Carriage Return","1":"One"}'


@pytest.mark.parametrize(
    ("number", "spelt"),
    # RFC 8785 appendix B, the rows that are integers below 2^53 and not negative zero.
    [(0, b"0"), (9007199254740991, b"9007199254740991"), (-9007199254740991, b"-9007199254740991")],
)
def test_integers_of_the_rfc_table(number: int, spelt: bytes) -> None:
    assert encode({"n": number}) == b'{"n":' + spelt + b"}"


def test_characters_that_other_writers_escape() -> None:
    # RFC 8785 section 3.2.2.2: only quote, backslash and U+0000 to U+001F are escaped.
    value = {"t": "\x7f\u2028/<é😀\b\f\t\x1f"}
    assert encode(value) == '{"t":"\x7f\u2028/<é😀\\b\\f\\t\\u001f"}'.encode()


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ({"n": 1.0}, "no_such_value"),
        ({"n": float("nan")}, "no_such_value"),
        ({"n": [{"deep": None}]}, "no_such_value"),
        ({"n": b"x"}, "no_such_value"),
        ({"n": 2**53}, "integer_too_large"),
        ({"n": [-(2**53)]}, "integer_too_large"),
        ({"é": 1}, "key_not_ascii"),
        ({1: 1}, "key_not_text"),
        ({"t": "e\u0301"}, "not_nfc"),
        ({"t": "\ud800"}, "lone_surrogate"),
        (["t"], "not_an_object"),
    ],
)
def test_what_the_subset_leaves_out_is_refused(value: Any, code: str) -> None:
    assert code_of(encode, value) == code


def test_a_mark_after_an_escape_is_no_reason_to_refuse() -> None:
    # As bytes "\n" and U+0303 stand as "n" and a tilde; the string itself is in form C.
    assert decode(encode({"t": "\n\u0303"})) == {"t": "\n\u0303"}


def test_an_error_names_the_key_but_shows_no_text() -> None:
    with pytest.raises(EntryError) as caught:
        encode({"payload": {"name": ["Jose\u0301"]}})
    assert caught.value.values == {"key": "name"}
    assert str(caught.value) == "not_nfc key=name"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (b'{"a":1,"a":1}', "not_canonical"),
        (b'{"b":1,"a":1}', "not_canonical"),
        (b'{"a": 1}', "not_canonical"),
        (b'{"a":1}\n', "not_canonical"),
        (b'{"a":-0}', "not_canonical"),
        (b'{"a":"\\u0041"}', "not_canonical"),
        (b'{"a":"\\/"}', "not_canonical"),
        (b'{"a":"\\u001F"}', "not_canonical"),
        (b'{"a":"\\ud83d\\ude00"}', "not_canonical"),
        (b'{"a":"\\ud83d"}', "lone_surrogate"),
        (b'{"a":NaN}', "no_such_value"),
        (b'{"a":-Infinity}', "no_such_value"),
        (b'{"a":1.0}', "no_such_value"),
        (b'{"a":1e2}', "no_such_value"),
        (b'{"a":null}', "no_such_value"),
        (b'{"a":9007199254740992}', "integer_too_large"),
        (b'{"a":' + b"9" * 5000 + b"}", "not_json"),
        (b'{"a":01}', "not_json"),
        (b'{"a":"\n"}', "not_json"),
        (b'\xef\xbb\xbf{"a":1}', "not_json"),
        (b'{"a":1}{}', "not_json"),
        (b"", "not_json"),
        (b'{"a":"\xff"}', "not_utf8"),
        (b'{"a":"\xed\xa0\x80"}', "not_utf8"),
        (b'{"a":"\xc0\xaf"}', "not_utf8"),
        (b"[]", "not_an_object"),
        (b'"a"', "not_an_object"),
        (b'{"a":"e\xcc\x81"}', "not_nfc"),
        (b"[" * 60_000, "too_deep"),
    ],
)
def test_other_spellings_are_refused(text: bytes, code: str) -> None:
    assert code_of(decode, text) == code


def nested(levels: int) -> dict[str, Any]:
    value: dict[str, Any] = {}
    for _ in range(levels - 1):
        value = {"a": value}
    return value


def test_depth_stays_under_sixteen() -> None:
    assert MAX_DEPTH == 15
    assert decode(encode(nested(15))) == nested(15)
    assert code_of(encode, nested(16)) == "too_deep"
    assert code_of(decode, json.dumps(nested(16), separators=(",", ":")).encode()) == "too_deep"


def test_a_value_that_holds_itself_is_refused() -> None:
    value: dict[str, Any] = {}
    value["a"] = [value]
    assert code_of(encode, value) == "too_deep"


def test_length_ends_at_64_kib() -> None:
    assert MAX_BYTES == 65536
    longest = {"a": "x" * (65536 - len('{"a":""}'))}
    text = encode(longest)
    assert len(text) == 65536
    assert decode(text) == longest
    assert code_of(encode, {"a": longest["a"] + "x"}) == "text_too_long"
    assert code_of(decode, text[:-2] + b'x"}') == "text_too_long"
