"""One shift's readings from a CSV file: a paper sheet keyed in, or what another system took.

The file is tried out on the services themselves in a transaction that is undone, so that it is judged exactly as if
each line had been given by hand. What they said then is recorded under the import's id and counts once that is closed.
"""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from registry.records.baths import CheckRecorded
from registry.services.csvfile import Table
from registry.services.import_journal import (
    Imported,
    Progress,
    append,
    close,
    drop,
    importing,
    refuse_imported,
)
from registry.services.import_rows import Layout, MixedOrders, Options, layout
from registry.services.import_sheet import COLUMNS, REQUIRED, Line, Reader, baths_of
from registry.services.import_trial import Trial
from registry.services.problems import refuse
from registry.services.rehearsal import Said, rehearsing, say_again
from registry.services.session import Actor, Session

MAX_ROWS = 200  # a shift has tens; they are tried out in one transaction


@dataclass(frozen=True, slots=True)
class ShiftPlan:
    """A shift found good: what recording it will add, and the checks as they are judged."""

    layout: Layout
    rows: int
    said: tuple[Said, ...]

    @property
    def checks(self) -> tuple[CheckRecorded, ...]:
        return tuple(one.payload for one in self.said if isinstance(one.payload, CheckRecorded))


def check_shift(
    session: Session,
    connection: Connection,
    content: bytes | Table,
    options: Options = Options(),  # noqa: B008
) -> ShiftPlan:
    """Read the whole file and try it out; Refused names each bad cell. Nothing is recorded."""
    found = layout(content, COLUMNS, REQUIRED if options.initials else (*REQUIRED, "initials"), options)
    refuse_imported(connection, found.table.sha256)
    problems, orders = found.problems(), MixedOrders(options.day_order)
    found.note_merged(problems)
    found.note_formulas(problems, options.asked)
    reader = Reader(session, connection, options)
    rows = 0
    lines = []
    for row in found.rows(problems):
        rows += 1
        if rows > MAX_ROWS:
            raise refuse("file", "too_many_rows", limit=MAX_ROWS)
        orders.note(row.number, row.text("date"))
        if (line := reader.read(row)) is not None:
            lines.append(line)
    if not rows and not problems.count:
        problems.add("file", "no_rows", 1)
    orders.tell(problems, "date")
    _note_twice(lines, options)
    with rehearsing(session) as rehearsal:
        trial = Trial(rehearsal, found.table.sha256, options)
        for bath in baths_of([line for line in lines if line.role != "not_checked"], options):
            trial.bath(bath)
        for line in lines:
            if line.role == "not_checked":
                trial.not_checked(line)
    problems.refuse_any()
    return ShiftPlan(found, rows, tuple(rehearsal.said))


def _note_twice(lines: list[Line], options: Options) -> None:
    """The same thermometer at the same moment in the same bath and role is likely one reading keyed in twice."""
    seen: dict[tuple[Any, ...], int] = {}
    for line in lines:
        key = (line.thermometer, line.at, line.role, line.row.text("bath"), line.row.text("point"))
        if line.role != "repeat" and key in seen and "twice" not in options.asked:
            line.row.bad("tag", "twice", other=seen[key])
        seen.setdefault(key, line.row.number)


def record_shift(session: Session, actor: Actor, plan: ShiftPlan, progress: Progress | None = None) -> Imported:
    """Record a shift that was found good; by the actor, done by whoever each row names."""
    tell = progress or (lambda done, total: True)
    total, hashes = len(plan.said), dict[str, str]()
    with importing(session, actor, ("lead", "officer"), "shift", plan.layout.table.sha256, plan.rows) as started:
        done = append(
            started,
            plan.said,
            lambda entries, said: say_again(entries, said, started.import_, hashes),
            lambda count: tell(count, total),
        )
        if not done:
            drop(started)
            return Imported(started.import_, plan.rows, started.entries, 0, cancelled=True)
        close(started)
    return Imported(started.import_, plan.rows, started.entries, len(plan.checks))
