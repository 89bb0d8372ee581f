"""Which kinds of entry there are, whose story each belongs to, and which fact each replaces."""

import re
from collections.abc import Mapping
from typing import Any

from registry.records import baths, chain, food, papers, places, rules, thermometers
from registry.records.forms import Payload

_MODULES = (chain, rules, places, thermometers, baths, papers, food)
KINDS: Mapping[str, type[Payload]] = {
    found.KIND: found
    for module in _MODULES
    for found in vars(module).values()
    if isinstance(found, type) and issubclass(found, Payload) and found is not Payload
}

# One rule for every kind, also for those this program doesn't know yet: the first of these keys that is there.
_SUBJECT_KEYS = (
    "thermometer",
    "bath",
    "station",
    "shift",
    "person",
    "part",
    "of",
    "accepted",
    "group",
    "site",
    "import",
)


_starts_with_id = re.compile("[0-9a-f]{32}").match  # a newer kind may have words under one of these keys


def subject_of(payload: Mapping[str, Any], chain_key: str) -> str:
    """The id (32 hex) of the thing whose story an entry belongs to; the chain itself where nothing is named.

    `site` and `import` stand on many kinds beside what they are about, so they come last in the rule.
    """
    for key in _SUBJECT_KEYS:
        if isinstance(found := payload.get(key), str) and _starts_with_id(found):
            return found[:32]
    return chain_key[:32]


def fact_field(kind: str, payload: Mapping[str, Any]) -> str | None:
    """Which fact of its subject an entry replaces; None where it adds up (or is of a kind not known here)."""
    known = KINDS.get(kind)
    if known is None or known.FIELD is None:
        return None
    parts = (known.FIELD, payload.get("method"), payload.get("calendar"), payload.get("for_site"))
    return ":".join(part for part in parts if part)


def read_payload(kind: str, kv: int, payload: dict[str, Any]) -> Payload | None:
    """The payload as a record; None for kinds and versions that a newer program wrote."""
    known = KINDS.get(kind)
    return known.from_payload(payload) if known is not None and kv == known.KV else None
