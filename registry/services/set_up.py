"""What Set-up shows and no other service says: the installations of this record, its file, who was trained when."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

from sqlalchemy import Connection

from registry.journal.numbers import installation_code
from registry.records.places import SiteSet
from registry.services.problems import refuse
from registry.services.session import DATABASE_NAME, Actor, Session, clean, state_once
from registry.store import queries
from registry.store.local import Local

LAST_BACKUP = "last.backup"
OF_ONE_ENTRY = ("performed_at", "done_by", "clock_behind_us", "import_", "row", "detached")


@dataclass(frozen=True, slots=True)
class Installation:
    """One chain of the record: what its computer is called, its code, how many entries, whether it is this one's."""

    name: str
    code: str
    entries: int
    since: int  # when its first entry was written, UTC microseconds
    own: bool


def installations(session: Session, connection: Connection) -> list[Installation]:
    """Every installation that has written in this record, in the order in which they came."""
    ends = {chain: seq for chain, seq, _ in queries.heads(connection)}
    own = session.signer.chain if session.signer else ""
    found = []
    for chain_no, chain in queries.chains(connection):
        if chain not in ends:
            continue
        opened = queries.entry_at(connection, chain_no, 0)
        code = installation_code(bytes.fromhex(chain))
        found.append(Installation(opened.payload["name"], code, ends[chain] + 1, opened.at, chain == own))
    return found


def size_of(session: Session) -> int | None:
    """Bytes of the registry's file with what is not folded into it yet; None where it lies on a server."""
    if session.home is None:
        return None
    parts = (session.home / f"{DATABASE_NAME}{end}" for end in ("", "-wal"))
    return sum(part.stat().st_size for part in parts if part.is_file()) or None


@dataclass(frozen=True, slots=True)
class Training:
    """What a person was trained in. number: of its entry, by which it is voided where it was wrong."""

    kind: str
    day: date
    until: date | None
    number: str


def trainings(connection: Connection, person: str) -> list[Training]:
    """What a person was trained in, the latest first; what was voided is left out."""
    found = [
        Training(
            one.payload["training_kind"],
            date.fromisoformat(one.payload["day"]),
            date.fromisoformat(one.payload["until"]) if "until" in one.payload else None,
            one.number,
        )
        for one in queries.entries_about(connection, person)
        if one.kind == "person_trained" and not queries.is_voided(connection, one.hash)
    ]
    return sorted(found, key=lambda one: (one.day, one.kind), reverse=True)


def rename_group(session: Session, actor: Actor, name: str) -> None:
    """Give the group another name; all else that was stated of it stays. What was printed keeps the old one."""
    if not name.strip():
        raise refuse("group_name", "empty")
    with session.recording(actor, "officer") as entries:
        old = session.group(entries.connection).payload
        # How and when the old one was stated is its own.
        own: dict[str, Any] = dict.fromkeys(OF_ONE_ENTRY)
        state_once(entries, replace(old, name=clean(name), **own))


def last_backup(local: Local) -> int | None:
    """When this computer last made a good copy, UTC microseconds; None where it is not known."""
    kept = local.setting(LAST_BACKUP)
    return int(kept) if kept is not None and kept.isdigit() else None


def remember_backup(local: Local, at: int) -> None:
    local.set_setting(LAST_BACKUP, str(at))


def how_far(session: Session) -> Literal["not_begun", "no_site", "ready"]:
    """How far a first start has got: one may be cut off before its first entry, or before its first site."""
    with session.reading() as connection:
        if not queries.events_of_kind(connection, "chain_opened"):
            return "not_begun"
        return "ready" if queries.facts_named(connection, "site", SiteSet) else "no_site"
