"""An import in the journal: opened, appended in short transactions, closed. Until it is closed nothing of it counts.

One that was cut off is ended as dropped before the same file is imported again; what its notes and names said is
erased then.
"""

import json
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import islice
from typing import TypeVar

from sqlalchemy import Connection

from registry.records.chain import ImportClosed, ImportOpened
from registry.services.problems import KnownError, refuse
from registry.services.session import Actor, Session
from registry.store import queries, reading
from registry.store.imports import fold_pending_imports
from registry.store.transaction import Transaction

T = TypeVar("T")
Progress = Callable[[int, int], bool]  # how much of how much is done; answers False to stop
TARGET_S = 0.04  # what a transaction should take; the promise is under 0.1
PAUSE_S = 0.005  # between two, so that whoever keys in a reading goes first
FIRST, LEAST, MOST = 50, 10, 2000  # entries in a transaction


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import came to; nothing counts where it was cancelled."""

    import_: str
    rows: int
    entries: int
    checks: int
    people: int = 0
    cancelled: bool = False


@dataclass(slots=True)
class Import:
    """An import being written; `entries` counts what it holds so far."""

    session: Session
    actor: Actor
    roles: tuple[str, ...]
    import_: str
    opened: int
    entries: int = 0

    @contextmanager
    def recording(self) -> Iterator[Transaction]:
        with self.session.recording(self.actor, *self.roles) as opened:
            yield opened
            added = len(opened.entries)
        self.entries += added


# --- which there are -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Known:
    """An import as the journal tells it; `ended` is None, closed or dropped."""

    chain_no: int
    import_: str
    opened: int
    number: str
    sha256: str
    ended: str | None


def known_imports(connection: Connection) -> list[Known]:
    """Every import of every chain, in time order."""
    ends: dict[tuple[int, str], str] = {}
    for event in queries.events_of_kind(connection, "import_closed"):
        said = queries.entry_at(connection, event.chain_no, event.seq).payload
        ends.setdefault((event.chain_no, said["import"]), "dropped" if said.get("dropped") else "closed")
    found = []
    for event in queries.events_of_kind(connection, "import_opened"):
        entry = queries.entry_at(connection, event.chain_no, event.seq)
        named = entry.payload["import"]
        ended = ends.get((event.chain_no, named))
        found.append(Known(event.chain_no, named, event.seq, entry.number, entry.payload["sha256"], ended))
    return found


def refuse_imported(connection: Connection, sha256: str) -> None:
    """A file counts once, whatever it was imported as."""
    for one in known_imports(connection):
        if one.sha256 == sha256 and one.ended == "closed":
            raise refuse("file", "imported_already", value=one.number)


# --- writing -------------------------------------------------------------------------------------------------


@contextmanager
def importing(
    session: Session, actor: Actor, roles: tuple[str, ...], kind: str, sha256: str, rows: int
) -> Iterator[Import]:
    """An import from its opening on; the block ends it by `close` or `drop`. What is raised in it drops it."""
    with session.recording(actor, *roles) as entries:
        refuse_imported(entries.connection, sha256)
        left = [one for one in known_imports(entries.connection) if one.sha256 == sha256 and one.ended is None]
    for one in left:
        if session.signer is not None and one.chain_no == session.signer.chain_no:
            drop(Import(session, actor, roles, one.import_, one.opened))
    import_ = session.new_id()
    with session.recording(actor, *roles) as entries:
        opened = entries.add(ImportOpened(import_=import_, import_kind=kind, sha256=sha256, rows=rows)).seq
    started = Import(session, actor, roles, import_, opened)
    try:
        yield started
    except Exception:
        with suppress(KnownError):  # a full disk: the next import of this file drops it
            drop(started)
        raise


def append(
    into: Import,
    items: Iterable[T],
    record: Callable[[Transaction, T], None],
    progress: Callable[[int], bool],
    pause: Callable[[float], None] = time.sleep,
) -> bool:
    """Record items in transactions of about TARGET_S; False where `progress` stopped it."""
    rest, size, done = iter(items), FIRST, 0
    while some := list(islice(rest, size)):  # read outside the transaction, which then only writes
        began = time.perf_counter()
        with into.recording() as entries:
            for item in some:
                record(entries, item)
        took = time.perf_counter() - began
        done += len(some)
        size = max(LEAST, min(MOST, 2 * size, int(size * TARGET_S / took)))
        if not progress(done):
            return False
        pause(PAUSE_S)
    return True


def close(done: Import, folded: Callable[[int], bool] = lambda _: True) -> None:
    """End an import: it counts from now on, and what it says is brought into the lists."""
    with done.session.recording(done.actor, *done.roles) as entries:
        ended = {one.import_: one.ended for one in known_imports(entries.connection)}
        if ended.get(done.import_) is not None:  # the same file was begun anew elsewhere
            raise refuse("file", "dropped_meanwhile")
        entries.add(ImportClosed(import_=done.import_, entries=done.entries))
    fold_pending_imports(done.session.database, folded)


def drop(left: Import) -> None:
    """End an import that shall never count, and erase the words that lie beside its entries."""
    assert left.session.signer is not None
    with left.session.reading() as connection:
        written, hashes = _written(connection, left.session.signer.chain_no, left)
    for start in range(0, len(hashes), 500):
        with left.session.recording(left.actor, *left.roles) as entries:
            entries.erase_detached(hashes[start : start + 500])
    with left.session.recording(left.actor, *left.roles) as entries:
        ended = {one.import_: one.ended for one in known_imports(entries.connection)}
        if ended.get(left.import_) is None:
            entries.add(ImportClosed(import_=left.import_, entries=written, dropped=True))


def _written(connection: Connection, chain_no: int, of: Import) -> tuple[int, list[str]]:
    """How many entries an import has, and the hashes of the words beside them."""
    needle, count, hashes = f'"import":"{of.import_}"'.encode(), 0, []
    for _, kind, _, _, _, text, _ in reading.entries(connection, chain_no, of.opened + 1):
        if needle in text and kind not in (b"import_opened", b"import_closed"):
            count += 1
            payload = json.loads(text)["payload"]
            hashes += [payload[key] for key in ("detached", "fields_hash") if key in payload]
    return count, hashes
