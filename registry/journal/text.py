"""Canonical text (RFC 8785) of the subset of JSON that the journal uses.

No floats, no null, integers below 2^53, ASCII keys, strings in Unicode normalization form C. Within that
subset Python's own encoder writes what RFC 8785 asks for: its keys sort by UTF-16 units, which for ASCII is
the order Python sorts in, and its number rules only differ for floats.
"""

import json
import unicodedata
from typing import Any

MAX_BYTES = 64 * 1024
MAX_DEPTH = 15  # objects and arrays within one another, the outermost included
MAX_INTEGER = 2**53 - 1  # RFC 8785 3.2.2.3: what every reader of JSON holds exactly

_ENCODER = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"), check_circular=False
)
_DECODER = json.JSONDecoder()


class EntryError(ValueError):
    """Bytes or fields that are no entry of ours.

    `code` is stable and worded elsewhere; `values` are what the sentence needs. Neither holds text that
    somebody typed, so that no name gets into a log.
    """

    def __init__(self, code: str, /, **values: str | int) -> None:
        super().__init__(code)
        self.code = code
        self.values = values

    def __str__(self) -> str:
        return " ".join([self.code, *(f"{name}={value}" for name, value in self.values.items())])


def encode(envelope: dict[str, Any]) -> bytes:
    """The canonical text of `envelope`; refuses with EntryError what the subset leaves out.

    >>> encode({"b": "-18.0 C", "a": [1, True]})
    b'{"a":[1,true],"b":"-18.0 C"}'
    """
    if not isinstance(envelope, dict):
        raise EntryError("not_an_object")
    _check(envelope, "", 1)
    try:
        text = _ENCODER.encode(envelope).encode("utf-8")
    except UnicodeEncodeError:
        raise EntryError("lone_surrogate") from None
    if len(text) > MAX_BYTES:
        raise EntryError("text_too_long", length=len(text), limit=MAX_BYTES)
    return text


def decode(text: bytes) -> dict[str, Any]:
    """The object that `text` spells, if it is spelt as `encode` would spell it.

    Comparing with the encoding refuses doubled keys, blanks, other escapes and other numbers in one go.
    """
    if len(text) > MAX_BYTES:
        raise EntryError("text_too_long", length=len(text), limit=MAX_BYTES)
    try:
        value = _DECODER.decode(text.decode("utf-8"))
    except UnicodeDecodeError:
        raise EntryError("not_utf8") from None
    except RecursionError:
        raise EntryError("too_deep", limit=MAX_DEPTH) from None
    except ValueError:
        raise EntryError("not_json") from None
    if not isinstance(value, dict):
        raise EntryError("not_an_object")
    if encode(value) != text:
        raise EntryError("not_canonical")
    return value


def _check(value: object, key: str, depth: int) -> None:
    """Refuse what has no place in an entry; `key` is the nearest key, for the message."""
    if isinstance(value, str):
        if not value.isascii() and not unicodedata.is_normalized("NFC", value):
            raise EntryError("not_nfc", key=key)
    elif isinstance(value, int):  # bool is one of them
        if not -MAX_INTEGER <= value <= MAX_INTEGER:
            raise EntryError("integer_too_large", key=key)
    elif isinstance(value, dict):
        _check_depth(depth)
        for name, item in value.items():
            if not isinstance(name, str):
                raise EntryError("key_not_text", key=key)
            if not name.isascii():
                raise EntryError("key_not_ascii", key=key)
            _check(item, name, depth + 1)
    elif isinstance(value, (list, tuple)):
        _check_depth(depth)
        for item in value:
            _check(item, key, depth + 1)
    else:
        raise EntryError("no_such_value", key=key, type=type(value).__name__)


def _check_depth(depth: int) -> None:
    if depth > MAX_DEPTH:
        raise EntryError("too_deep", limit=MAX_DEPTH)
