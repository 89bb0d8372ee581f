"""Trying out what services will say, by the services themselves, before any of it is recorded."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import cached_property

from sqlalchemy import Connection

from registry.records.forms import Payload
from registry.records.kinds import read_payload
from registry.services.problems import KnownError
from registry.services.session import Actor, Session
from registry.store.cache import CACHE_NAME, Cache
from registry.store.transaction import Transaction


@dataclass(frozen=True, slots=True)
class Said:
    """What a service recorded in a rehearsal: to be said again under the import's id."""

    payload: Payload
    after: tuple[str, ...]
    hash: str
    row: int | None


@dataclass(kw_only=True)
class Rehearsal(Session):
    """A session in which all that is recorded lies in one transaction, undone at its end.

    row: of the file, for what is recorded from now on.
    """

    connection: Connection
    said: list[Said]
    row: int | None = None

    @cached_property
    def cache(self) -> Cache:
        """Looked into, and never written: what is tried out is undone."""
        return Cache(self.home / CACHE_NAME if self.home is not None else None, read_only=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        yield self.connection

    @contextmanager
    def recording(self, actor: Actor, *roles: str) -> Iterator[Transaction]:
        assert self.signer is not None
        opened = Transaction(self.connection, self.signer, self.clock, actor.person, self.random)
        yield opened
        opened.finish()
        for entry in opened.entries:
            payload = read_payload(entry.kind, entry.kv, entry.payload)
            assert payload is not None
            self.said.append(Said(payload, entry.after, entry.hash.hex(), self.row))


class _Undo(Exception):
    pass


@contextmanager
def rehearsing(session: Session) -> Iterator[Rehearsal]:
    """Try out what services will say, by the services themselves: nothing of it stays."""
    if session.signer is None:
        raise KnownError("read_only")
    with suppress(_Undo), session.database.writing() as connection:
        yield Rehearsal(
            session.database,
            session.home,
            session.signer,
            session.clock,
            session.ids,
            session.random,
            session.machine,
            connection=connection,
            said=[],
        )
        raise _Undo


def say_again(entries: Transaction, said: Said, import_: str, hashes: dict[str, str]) -> None:
    """Record what was said in a rehearsal; `hashes` leads from the rehearsed entries to the recorded ones."""
    payload = replace(said.payload, import_=import_, row=said.row, clock_behind_us=None)
    entry = entries.add(payload, after=[hashes.get(one, one) for one in said.after])
    hashes[said.hash] = entry.hash.hex()
