"""Thermometers and people from a file: each row is tried out on the services, then said again under the import's id."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection

from registry.services.csvfile import Table
from registry.services.import_journal import Import, Imported, Progress, append, close, drop, importing, refuse_imported
from registry.services.import_rows import Layout, Options, Problems, Row, layout
from registry.services.problems import Refused, refuse
from registry.services.rehearsal import Rehearsal, Said, rehearsing
from registry.services.session import Actor, Session
from registry.store.transaction import Transaction

MAX_ROWS = 2000  # they are tried out in one transaction


@dataclass(frozen=True, slots=True)
class ThingsPlan:
    """A file of thermometers or people found good. items: what is recorded, in order; named: tag ids or initials."""

    kind: str
    layout: Layout
    rows: int
    named: tuple[str, ...]
    items: tuple[Any, ...] = field(repr=False)


def try_out(
    session: Session,
    connection: Connection,
    content: bytes | Table,
    options: Options,
    columns: Collection[str],
    required: Collection[str],
    row_done: Callable[[Rehearsal, Row], None],
    about: Mapping[str, str],
    at_the_end: Callable[[Problems], None] = lambda problems: None,
    watched: Mapping[str, Collection[str]] = MappingProxyType({}),
) -> tuple[Layout, int, tuple[Said, ...]]:
    """Read each row and have `row_done` say it in a rehearsal; Refused names each bad cell. Nothing is recorded.

    about: what a service says a problem is about, as a column. watched: as `layout` takes it.
    """
    found = layout(content, columns, required, options, watched)
    refuse_imported(connection, found.table.sha256)
    problems = found.problems()
    found.note_merged(problems)
    found.note_formulas(problems, options.asked)
    rows = 0
    with rehearsing(session) as rehearsal:
        for row in found.rows(problems):
            rows += 1
            if rows > MAX_ROWS:
                raise refuse("file", "too_many_rows", limit=MAX_ROWS)
            rehearsal.row = row.number
            try:
                row_done(rehearsal, row)
            except Refused as refused:
                row.refused(refused, columns=about)
    if not rows and not problems.count:
        problems.add("file", "no_rows", 1)
    at_the_end(problems)
    problems.refuse_any()
    return found, rows, tuple(rehearsal.said)


def record(
    session: Session,
    actor: Actor,
    plan: ThingsPlan,
    say: Callable[[Import], Callable[[Transaction, Any], None]],
    progress: Progress | None = None,
) -> Imported:
    """Record what was found good; nothing counts where it is cancelled."""
    tell = progress or (lambda done, total: True)
    total = len(plan.items)
    with importing(session, actor, ("officer",), plan.kind, plan.layout.table.sha256, plan.rows) as started:
        if not append(started, plan.items, say(started), lambda count: tell(count, total)):
            drop(started)
            return Imported(started.import_, plan.rows, started.entries, 0, cancelled=True)
        close(started)
    people = plan.rows if plan.kind == "people" else 0
    return Imported(started.import_, plan.rows, started.entries, 0, people)
