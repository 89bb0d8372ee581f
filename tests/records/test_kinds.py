"""Every kind of entry: payloads saved long ago that must keep loading for ever, and the page that lists the kinds."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

from registry.journal import text
from registry.records.forms import Payload, PayloadError
from registry.records.kinds import KINDS, fact_field, read_payload, subject_of

ROOT = Path(__file__).resolve().parents[2]
SAVED = ROOT / "tests" / "data" / "entries"
CHAIN = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
# A file is never changed. A new version of a kind gets a file of its own beside the old one.
SAMPLES = sorted(path.name.removesuffix(".json") for path in SAVED.glob("*.json"))


def saved(name: str) -> dict[str, dict[str, Any]]:
    """`fullest` has every key, `least` only those that have to be there."""
    found: dict[str, dict[str, Any]] = json.loads((SAVED / f"{name}.json").read_text(encoding="utf-8"))
    return found


def kind_and_version(name: str) -> tuple[str, int]:
    kind, _, version = name.rpartition(".v")
    return kind, int(version)


def keys_of(form: Any) -> dict[str, bool]:
    """The keys of a payload or a record in one, and whether they have to be there."""
    hints = get_type_hints(form, include_extras=True)
    return {one.name.rstrip("_"): type(None) not in get_args(hints[one.name]) for one in fields(form)}


COMMON = set(keys_of(Payload))


# --- saved payloads ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_a_saved_payload_loads_and_says_what_it_said(name: str) -> None:
    kind, version = kind_and_version(name)
    for payload in saved(name).values():
        read = read_payload(kind, version, payload)
        assert read is not None
        assert read.as_payload() == payload
        assert text.decode(text.encode(payload)) == payload  # and has a canonical text


@pytest.mark.parametrize("name", SAMPLES)
def test_every_key_is_saved_and_no_key_became_needed(name: str) -> None:
    kind, version = kind_and_version(name)
    if version == KINDS[kind].KV:
        keys = keys_of(KINDS[kind])
        assert set(saved(name)["fullest"]) == set(keys)
        assert set(saved(name)["least"]) == {key for key, required in keys.items() if required}


def test_every_kind_is_saved() -> None:
    assert {kind_and_version(name)[0] for name in SAMPLES} == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_each_key_that_has_to_be_there_is_missed(kind: str) -> None:
    least = saved(f"{kind}.v1")["least"]
    for key in least:
        with pytest.raises(PayloadError, match=key):
            KINDS[kind].from_payload({other: least[other] for other in least if other != key})


# --- kinds that a newer program wrote ------------------------------------------------------------------------


def test_other_kinds_and_versions_wait_for_a_newer_program() -> None:
    assert read_payload("fridge_opened", 1, {"fridge": "x"}) is None
    assert read_payload("bath_made", 2, saved("bath_made.v1")["least"]) is None
    assert fact_field("fridge_opened", {}) is None


# --- whose story, and which fact -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("payload", "subject"),
    [
        ({"site": "a" * 32, "station": "b" * 32}, "b" * 32),
        ({"bath": "b" * 32, "thermometer": "a" * 32}, "a" * 32),
        ({"person": "b" * 32, "site": "a" * 32, "import": "c" * 32}, "b" * 32),
        ({"accepted": "ab" * 32, "group": "c" * 32}, "ab" * 16),
        ({"import": "c" * 32, "rows": 1}, "c" * 32),
        ({"group": "a few words", "site": "a" * 32}, "a" * 32),
        ({"name": "Harbour kitchen"}, CHAIN[:32]),
    ],
)
def test_whose_story_an_entry_belongs_to(payload: dict[str, Any], subject: str) -> None:
    assert subject_of(payload, CHAIN) == subject


def test_a_fact_is_one_for_each_method_site_and_calendar() -> None:
    group, site = "a" * 32, "b" * 32
    assert fact_field("tolerance_set", {"group": group}) == "tolerances"
    assert fact_field("tolerance_set", {"group": group, "for_site": site}) == f"tolerances:{site}"
    assert fact_field("method_set", {"method": "ice", "for_site": site}) == f"method:ice:{site}"
    assert fact_field("calendar_set", {"calendar": group}) == f"calendar:{group}"
    assert fact_field("taken_out", {}) == fact_field("service_status_set", {}) == "service_status"
    assert fact_field("check_recorded", {"method": "ice"}) is None


# --- the page that lists them --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Listed:
    """A kind as its row on the page says it."""

    kind: str
    payload: str
    order: str


def rows() -> Iterator[Listed]:
    """The rows of the tables; one that lists two kinds gives each its part of the payload."""
    for line in (ROOT / "docs" / "entries.md").read_text(encoding="utf-8").splitlines():
        if not line.startswith("| `"):
            continue
        kinds, payload, order = (cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1])
        names = re.findall(r"`(\w+)`", kinds)
        yield from (Listed(*each, order) for each in zip(names, payload.split(" · "), strict=True))


LISTED = {row.kind: row for row in rows()}
# What stands between keys, and whether the keys after it belong to some entries only.
PHRASES = {"; boiling:": True, "; comparison:": True, "then, left out only by imports:": True}
PHRASES |= {"and, unless not_measured, all that a check has:": True, "; `after` names the issuing entry": False}


def listed_keys(payload: str) -> dict[str, bool | None]:
    """Each key with whether it has to be there; None where that depends on the entry."""
    depends, found = False, {}
    for part in re.split("(" + "|".join(map(re.escape, PHRASES)) + ")", payload):
        depends |= PHRASES.get(part, False)
        if part in PHRASES:
            found |= {"not_measured": False} if "not_measured" in part else {}
            continue
        for word in re.split(r"[,;]|\bor\b", without_insides(part)):
            if key := word.strip():
                found[key.rstrip("?")] = False if key.endswith("?") else None if depends else True
    return found


def without_insides(part: str) -> str:
    """Without what stands in brackets of any sort, the innermost first."""
    while (shorter := re.sub(r"\([^()\[\]{}]*\)|\[[^()\[\]{}]*\]|\{[^()\[\]{}]*\}", "", part)) != part:
        part = shorter
    return re.sub(r"\s+", " ", part)


def test_the_page_lists_exactly_the_kinds() -> None:
    assert list(LISTED) == list(dict.fromkeys(row.kind for row in rows()))
    assert set(LISTED) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_lists_exactly_its_keys(kind: str) -> None:
    own = {key: required for key, required in keys_of(KINDS[kind]).items() if key not in COMMON or required}
    listed = listed_keys(LISTED[kind].payload)
    assert set(listed) == set(own) | (set(listed) & COMMON)
    told = {key: required for key, required in listed.items() if required is not None}
    assert told == {key: keys_of(KINDS[kind])[key] for key in told}


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_says_whether_it_adds_or_replaces(kind: str) -> None:
    assert LISTED[kind].order.startswith("replaces") == (KINDS[kind].FIELD is not None)


def test_the_page_lists_the_keys_that_all_may_have() -> None:
    page = (ROOT / "docs" / "entries.md").read_text(encoding="utf-8")
    (everywhere,) = re.findall(r"\*\*Everywhere allowed\*\*: (.*?)\n\*\*Forms", page, re.DOTALL)
    assert set(re.findall(r"`(\w+)`", everywhere)) - {"at"} == COMMON


def records_in(form: Any) -> Iterator[tuple[str, type]]:
    """The records within a payload, by the key that holds them."""
    hints = get_type_hints(form, include_extras=True)
    for one in fields(form):
        found = [hints[one.name]]
        while found:
            hint = found.pop()
            if isinstance(hint, type) and is_dataclass(hint):
                yield one.name.rstrip("_"), hint
            found += get_args(hint)


INSIDE = [(kind, key, record) for kind, form in KINDS.items() for key, record in records_in(form)]


@pytest.mark.parametrize(("kind", "key", "record"), INSIDE, ids=[f"{kind}.{key}" for kind, key, _ in INSIDE])
def test_the_page_lists_the_keys_of_records_within(kind: str, key: str, record: type) -> None:
    payload = LISTED[kind].payload
    (inside,) = re.findall(rf"(?:^|[ ,;]){key}\??\s+\[?\{{((?:[^{{}}]|\{{[^{{}}]*\}})*)\}}", payload)
    if "{" in inside:  # records by a code, an id or a unit
        inside = inside[inside.index("{") + 1 : inside.rindex("}")]
    assert listed_keys(inside) == keys_of(record)
