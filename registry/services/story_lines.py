"""The story of a thermometer as lines of one list: checks, adjustments, incidents, moves, papers, and all else."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from registry.services import history
from registry.services.history import CheckLine
from registry.store import queries, story
from registry.store.queries import AdjustmentView, EntryView


@dataclass(frozen=True, slots=True)
class StoryEntry:
    """One line of the story. code: check, adjusted, or what `CODES` makes of the entry's kind.

    values: for a check its `CheckLine` under `line`; else the entry's payload, for an adjustment whose check is void
    with `check_void`, for a move with where it was before (from_site, from_station), for what voids another with that
    one's kind, number and what happened (voided_kind, voided_number, voided_what). by: a person's id or `system`;
    day_only: the time of day is not known.
    """

    number: str
    at: int
    by: str
    code: str
    values: Mapping[str, Any]
    voided: bool
    day_only: bool = False


CODES = {
    "incident_reported": "incident",
    "place_set": "moved",
    "thermometer_set": "amended",  # the first: enrolled
    "tag_id_set": "retagged",
    "taken_out": "taken_out",
    "service_status_set": "status",
    "parts_joined": "parts",
    "outside_certificate_set": "outside_certificate",
    "certificate_issued": "certificate",
    "certificate_withdrawn": "certificate_withdrawn",
    "tag_printed": "tag",
    "reading_taken": "no_reading",
    "document_stored": "picture",
}


def lines(connection: Connection, thermometer_id: str, newest: int | None) -> list[StoryEntry]:
    """Checks, adjustments and all else in one, the newest first."""
    views = queries.checks_of(connection, thermometer_id, newest=newest)
    turned = queries.adjustments_of(connection, thermometer_id)
    found = [_check_entry(line) for line in history.check_lines(connection, views, turned)]
    found += [_adjusted_entry(connection, one) for one in (turned if newest is None else turned[-newest:])]
    found += _other_entries(connection, thermometer_id, newest)
    found.sort(key=lambda one: one.at, reverse=True)
    return found if newest is None else found[:newest]


def _check_entry(line: CheckLine) -> StoryEntry:
    return StoryEntry(line.number, line.at, line.by, "check", {"line": line}, line.voided, line.day_only)


def _adjusted_entry(connection: Connection, view: AdjustmentView) -> StoryEntry:
    entry = queries.entry_at(connection, view.chain_no, view.seq)
    values = {**entry.payload, "outcome_now": view.outcome}
    if view.offset is None and "offset" in values:  # its check is void: as left it is not known
        values = {name: value for name, value in values.items() if name != "offset"} | {"check_void": True}
    by = entry.payload.get("done_by", entry.by)
    return StoryEntry(entry.number, view.at, by, "adjusted", values, view.voided)


def _other_entries(connection: Connection, thermometer_id: str, newest: int | None) -> list[StoryEntry]:
    void = story.voided(connection, thermometer_id)
    entries = story.entries(connection, thermometer_id, newest)
    by_hash = {one.hash: one for one in entries}
    found = []
    for one in entries:
        code = CODES.get(one.kind, one.kind)
        values = dict(one.payload)
        if one.kind == "thermometer_set" and not one.after:
            code = "enrolled"
        elif one.kind == "place_set" and one.after:
            before = by_hash.get(one.after[0]) or queries.entry_hashed(connection, thermometer_id, one.after[0])
            values |= {"from_site": before.payload["site"], "from_station": before.payload.get("station")}
        elif one.kind == "voided":
            first = one.payload["entries"][0]
            of = by_hash.get(first) or story.hashed(connection, thermometer_id, first)
            values |= _voided_entry(of) if of is not None else {}
        by = one.payload.get("done_by", one.by)
        voided = (one.chain_no, one.seq) in void
        found.append(StoryEntry(one.number, one.done_at, by, code, values, voided, one.payload.get("day_only", False)))
    return found


def _voided_entry(of: EntryView) -> dict[str, Any]:
    return {"voided_kind": of.kind, "voided_number": of.number, "voided_what": of.payload.get("what")}
