"""Judging every recorded check again with today's code, from nothing but what was frozen when it was recorded."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, select

from registry.journal.numbers import entry_number, installation_code
from registry.store import columns, reading, tables
from registry.store.database import Database

# Given the payloads of a check (or an adjustment) and of its bath: the fields as it would write them today.
Judge = Callable[[dict[str, Any], dict[str, Any] | None], Mapping[str, Any]]
Progress = Callable[[int], bool]  # told how many entries were passed; answers False to stop

STEP = 10_000
_KINDS = {b"check_recorded": "check", b"adjusted": "adjustment"}


@dataclass(frozen=True, slots=True)
class Otherwise:
    """An entry that today's code would judge otherwise: each field as recorded and as it would be."""

    number: str
    kind: str
    fact: str  # the check's or the adjustment's id
    fields: dict[str, tuple[Any, Any]]


def recompute(database: Database, judge: Judge, progress: Progress = lambda _: True) -> Iterator[Otherwise]:
    """Every entry that would be judged otherwise; those that froze no inputs (imported ones) are passed over."""
    with reading.snapshot(database) as connection:
        bath_of = lru_cache(maxsize=1000)(lambda bath: _bath(connection, bath))
        passed = 0
        for chain in reading.chains(connection):
            code = installation_code(bytes.fromhex(chain.chain))
            for seq, kind, _, _, _, text, _ in reading.entries(connection, chain.chain_no):
                passed += 1
                if passed % STEP == 0 and not progress(passed):
                    return
                if kind not in _KINDS or (payload := _frozen(text)) is None:
                    continue
                today = judge(payload, bath_of(payload["bath"]) if "bath" in payload else None)
                fields = {key: (payload.get(key), now) for key, now in today.items() if payload.get(key) != now}
                if fields:
                    fact = payload[_KINDS[kind]]
                    yield Otherwise(entry_number(code, seq), kind.decode(), fact, fields)


def _frozen(text: bytes) -> dict[str, Any] | None:
    """The payload where it holds what a judgement is made from."""
    envelope = columns.read(text)
    payload: dict[str, Any] = envelope["payload"] if envelope and envelope["kv"] == 1 else {}
    return payload if {"reference", "components", "tolerance", "decision"} <= payload.keys() else None


def _bath(connection: Connection, bath: str) -> dict[str, Any] | None:
    baths, entries = tables.baths.c, tables.entries.c
    query = (
        select(entries.text)
        .join_from(tables.baths, tables.entries, (baths.chain_no == entries.chain_no) & (baths.seq == entries.seq))
        .where(baths.bath == bath)
    )
    found = connection.execute(query).scalar()
    payload: dict[str, Any] | None = json.loads(found)["payload"] if found else None
    return payload
