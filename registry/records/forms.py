"""The forms that values take in entry payloads, and the check that a payload has them.

A payload class states its keys and their forms as annotations; everything in it is kept as the canonical text
(`"0.4 C"`, `"1013.2 hPa"`, 32 hex digits), since that text is what gets signed.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from functools import cache
from types import UnionType
from typing import Annotated, Any, ClassVar, Self, Union, get_args, get_origin, get_type_hints
from unicodedata import normalize

from registry import quantity

# To Python all of these are text; the second word is what `PATTERNS` checks.
Id = Annotated[str, "id"]  # 32 hex: a subject or a fact
Hash = Annotated[str, "hash"]  # 64 hex: SHA-256 or a public key
Signature = Annotated[str, "signature"]  # 128 hex
Code = Annotated[str, "code"]  # snake_case
Day = Annotated[str, "day"]  # 2026-03-03
LocalTime = Annotated[str, "local_time"]  # 06:00
Temperature = Annotated[str, "temperature"]  # "-18.0 C", digits as typed
Difference = Annotated[str, "difference"]  # "0.4 dC"
Pressure = Annotated[str, "pressure"]  # "1013.2 hPa"
Length = Annotated[str, "length"]  # "120 m"
Number = Annotated[str, "number"]  # a plain decimal: k, shares, counts with a fraction
Name = str  # text for people, 1 to 2000 characters
TagId = Annotated[str, "tag_id"]
Instant = int  # microseconds UTC

PATTERNS: dict[str, str] = {
    "id": r"[0-9a-f]{32}",
    "hash": r"[0-9a-f]{64}",
    "signature": r"[0-9a-f]{128}",
    "code": r"[a-z][a-z0-9]*(_[a-z0-9]+)*",
    "local_time": r"([01][0-9]|2[0-3]):[0-5][0-9]",
    "temperature": quantity.READING.pattern,
    "difference": quantity.DIFFERENCE.pattern,
    "pressure": quantity.PRESSURE.pattern,
    "length": quantity.LENGTH.pattern,
    "number": r"-?[0-9]{1,9}(\.[0-9]{1,6})?",
    "tag_id": r"[A-Z][A-Z0-9]{1,11}",
}

Check = Callable[[Any], bool]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a payload: its attribute here, whether it has to be there, its check and its reader."""

    name: str
    required: bool
    check: Check
    read: Callable[[Any], Any]


class PayloadError(ValueError):
    """A payload does not have its form: `key` names where, `kind` which entry."""

    def __init__(self, kind: str, key: str, value: object = None) -> None:
        super().__init__(f"{kind}: {key} does not have its form: {value!r:.80}")
        self.kind, self.key, self.value = kind, key, value


def _is_day(value: Any) -> bool:
    if not (isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value)):
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value) <= 2000 and normalize("NFC", value) == value


def _is_integer(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) < 2**53


def _check_named(name: str) -> Check:
    if name == "day":
        return _is_day
    matches = re.compile(PATTERNS[name]).fullmatch
    return lambda value: isinstance(value, str) and matches(value) is not None


def _check_of(form: Any) -> Check:
    """The check for one annotation; containers check what they hold."""
    if get_origin(form) is Annotated:
        return _check_named(get_args(form)[1])
    if form is str:
        return _is_text
    if form is int:
        return _is_integer
    if form is bool:
        return lambda value: value is True  # what does not apply is left out, never false
    origin, inner = get_origin(form), get_args(form)
    if origin is tuple:
        each = _check_of(inner[0])
        return lambda value: isinstance(value, tuple | list) and all(map(each, value))
    if origin in (dict, Mapping):
        each_key, each_value = _check_of(inner[0]), _check_of(inner[1])
        return lambda value: (
            isinstance(value, dict) and all(map(each_key, value)) and all(map(each_value, value.values()))
        )
    if origin in (Union, UnionType):
        checks = [_check_of(one) for one in inner if one is not type(None)]
        return checks[0] if len(checks) == 1 else lambda value: any(check(value) for check in checks)
    if is_dataclass(form):
        return lambda value: (
            _part_fits(form, _plain(value))
            if _class(value) is form
            else isinstance(value, dict) and _part_fits(form, value)
        )
    raise TypeError(f"no check for {form!r}")


def _reader_of(form: Any) -> Callable[[Any], Any]:
    """What turns plain data of that form back into records and tuples."""
    origin, inner = get_origin(form), get_args(form)
    if origin is tuple:
        each = _reader_of(inner[0])
        return lambda value: tuple(map(each, value))
    if origin in (dict, Mapping):
        each = _reader_of(inner[1])
        return lambda value: {key: each(one) for key, one in value.items()}
    if origin in (Union, UnionType):
        return _reader_of(next(one for one in inner if one is not type(None)))
    if is_dataclass(form):
        return lambda value: value if _class(value) is form else _record(form, value)
    return lambda value: value


def _record(form: Any, value: dict[str, Any]) -> Any:
    known = _keys_of(form)
    return form(**{known[key].name: known[key].read(one) for key, one in value.items()})


def _class(value: Any) -> Any:
    return type(value)


def _part_fits(form: Any, value: dict[str, Any]) -> bool:
    known = _keys_of(form)
    return value.keys() <= known.keys() and all(
        one.check(value[key]) if key in value else not one.required for key, one in known.items()
    )


@cache
def _keys_of(form: Any) -> dict[str, Key]:
    """By payload key. A trailing underscore keeps Python's own words apart."""
    hints = get_type_hints(form, include_extras=True)
    return {
        field.name.rstrip("_"): Key(
            field.name,
            type(None) not in get_args(hints[field.name]),
            _check_of(hints[field.name]),
            _reader_of(hints[field.name]),
        )
        for field in fields(form)
    }


def _plain(value: Any) -> Any:
    """Tuples become lists and small records become dicts, so that the text can be written."""
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if is_dataclass(value):
        return {
            key: _plain(found)
            for key, one in _keys_of(_class(value)).items()
            if (found := getattr(value, one.name)) is not None
        }
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Payload:
    """What one entry says. Keys every kind may have stand here; a subclass adds its own."""

    KIND: ClassVar[str]
    KV: ClassVar[int] = 1
    FIELD: ClassVar[str | None] = None  # which fact it replaces; None: it adds up

    performed_at: Instant | None = None
    day_only: bool | None = None
    done_by: Id | None = None
    site: Id | None = None
    import_: Id | None = None
    row: int | None = None
    past: bool | None = None
    clock_behind_us: int | None = None
    detached: Hash | None = None

    def as_payload(self) -> dict[str, Any]:
        """The payload as it goes into the text; refuses what does not have its form."""
        payload: dict[str, Any] = {}
        for key, one in _keys_of(_class(self)).items():
            value = getattr(self, one.name)
            if value is None:
                if one.required:
                    raise PayloadError(self.KIND, key)
            elif one.check(value):
                payload[key] = _plain(value)
            else:
                raise PayloadError(self.KIND, key, value)
        return payload

    @classmethod
    def check_payload(cls, payload: dict[str, Any]) -> None:
        """Refuse unknown keys, missing ones and wrong forms."""
        form: Any = cls
        known = _keys_of(form)
        for key in payload:
            if key not in known:
                raise PayloadError(cls.KIND, key, payload[key])
        for key, one in known.items():
            if key in payload:
                if not one.check(payload[key]):
                    raise PayloadError(cls.KIND, key, payload[key])
            elif one.required:
                raise PayloadError(cls.KIND, key)

    @classmethod
    def from_payload(cls, payload: dict[str, Any]) -> Self:
        """Read back; refuses what `check_payload` refuses."""
        cls.check_payload(payload)
        form: Any = cls
        found: Self = _record(form, payload)
        return found
