"""Years of history from a CSV or XLSX file: looked through whole, then recorded in short transactions."""

from array import array
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from sqlalchemy import Connection

from registry.records.places import PersonNamed, PersonSet
from registry.services import people, thermometers
from registry.services.csvfile import Table
from registry.services.import_cells import words_of
from registry.services.import_journal import (
    Imported,
    Progress,
    append,
    close,
    drop,
    importing,
    refuse_imported,
)
from registry.services.import_old_check import (
    COLUMNS,
    NOTE,
    REQUIRED,
    STANDS,
    OfFile,
    OldCheck,
    Reader,
    standing,
    stands_words,
)
from registry.services.import_rows import Layout, MixedOrders, Options, Problems, layout
from registry.services.problems import refuse
from registry.services.rehearsal import Said, rehearsing, say_again
from registry.services.session import SYSTEM, Actor, Session
from registry.store import queries
from registry.store.transaction import Transaction

STEP = 5000  # rows between two reports while checking


@dataclass(frozen=True, slots=True)
class HistoryPlan:
    """A history found good: what recording it will add. Shown to the person before anything is recorded.

    left_out: rows that do not count where they come from, beside `rows`. new_people: initials that nobody here bears.
    enrolled: thermometers enrolled by it, tag ids by theirs names.
    """

    layout: Layout
    reader: Reader
    rows: int
    first_at: int
    last_at: int
    stated: int
    judged: int
    new_people: tuple[str, ...]
    enrolled: tuple[str, ...]
    said: tuple[Said, ...]
    left_out: int = 0


def check_history(
    session: Session,
    connection: Connection,
    content: bytes | Table,
    options: Options = Options(),  # noqa: B008
    progress: Progress | None = None,
) -> HistoryPlan:
    """Read the whole file and look at each cell; Refused names the bad ones. Nothing is recorded.

    `progress` is told rows done of 0, since how many there are is not known yet.
    """
    found = layout(content, COLUMNS, REQUIRED, options, {STANDS: stands_words()})
    refuse_imported(connection, found.table.sha256)
    enrolled, said = _rehearse_enrolling(session, options)
    reader = Reader(session.clock(), found.table.sha256, options, enrolled, _by_initials(connection), connection)
    problems, times, orders = found.problems(), _Times(), MixedOrders(options.day_order)
    found.note_merged(problems)
    found.note_formulas(problems, options.asked)
    counts: Counter[str] = Counter()
    for row in found.rows(problems):
        if reader.leaves_out(row):
            counts["left_out"] += 1
            continue
        check = reader.read(row)
        orders.note(row.number, row.text("date"))
        if check is not None:
            times.note(check.body)
            counts.update({"stated", "outcome"} & check.body.keys())
        counts["rows"] += 1
        if progress and counts["rows"] % STEP == 0 and not progress(counts["rows"], 0):
            raise refuse("file", "cancelled")
    if not counts["rows"] and not problems.count:
        problems.add("file", "no_rows", 1)
    orders.tell(problems, "date")
    times.find_twice(connection, problems, options.asked)
    problems.refuse_any()
    reader.connection = None
    people_made = tuple(sorted(reader.new_people.values()))
    stated, judged = counts["stated"], counts["outcome"]
    tags = tuple(sorted(options.enrol))
    return HistoryPlan(
        found,
        reader,
        counts["rows"],
        times.first,
        times.last,
        stated,
        judged,
        people_made,
        tags,
        said,
        counts["left_out"],
    )


def _by_initials(connection: Connection) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for person in people.people(connection):
        if person.initials:
            found.setdefault(person.initials.upper(), []).append(person.person)
    return found


def _rehearse_enrolling(session: Session, options: Options) -> tuple[dict[str, OfFile], tuple[Said, ...]]:
    """The thermometers to be enrolled, as they will be, and what enrolling them says."""
    if not options.enrol:
        return {}, ()
    with rehearsing(session) as rehearsal:
        found = {}
        for name, new in options.enrol.items():
            made = thermometers.enrol(rehearsal, SYSTEM, new)
            found[name] = standing(rehearsal.connection, thermometers.thermometer(rehearsal.connection, made), {})
    return found, tuple(rehearsal.said)


class _Times:
    """When each thermometer was checked at each point, small enough for millions of rows."""

    def __init__(self) -> None:
        self.first, self.last = 2**62, -1
        self._at: dict[tuple[str, str], tuple[array[int], array[int]]] = {}

    def note(self, check: dict[str, Any]) -> None:
        at = check["performed_at"]
        self.first, self.last = min(self.first, at), max(self.last, at)
        key = (check["thermometer"], check["point"])
        if key not in self._at:
            self._at[key] = (array("q"), array("q"))
        ats, rows = self._at[key]
        ats.append(at)
        rows.append(check["row"])

    def find_twice(self, connection: Connection, problems: Problems, asked: frozenset[str]) -> None:
        """One thermometer checked twice at one moment, in the file or here already, is likely one check."""
        for (thermometer, point), (ats, rows) in self._at.items():
            order = sorted(range(len(ats)), key=lambda place: (ats[place], rows[place]))
            if "twice" not in asked:
                for one, other in pairwise(order):
                    if ats[one] == ats[other]:
                        problems.add("date", "twice", rows[other], other=rows[one])
            if "recorded_already" not in asked:
                here = {
                    one.at
                    for one in queries.checks_of(connection, thermometer)
                    if one.point == point and not one.voided
                }
                for place in order if here else ():
                    if ats[place] in here:
                        problems.add("date", "recorded_already", rows[place])


# --- recording -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Person:
    person: str
    initials: str


def record_history(session: Session, actor: Actor, plan: HistoryPlan, progress: Progress | None = None) -> Imported:
    """Record a history that was found good. Cancelled where `progress` answers False: then nothing of it counts.

    Progress counts each row twice: when it is recorded and when the lists take it up; only the first can be stopped.
    """
    tell = progress or (lambda done, total: True)
    total = 2 * plan.rows
    hashes: dict[str, str] = {}
    with importing(session, actor, ("officer",), "history", plan.layout.table.sha256, plan.rows) as started:

        def record(entries: Transaction, item: Any) -> None:
            if isinstance(item, OldCheck):
                entries.add(item)
            elif isinstance(item, Said):
                say_again(entries, item, started.import_, hashes)
            elif isinstance(item, _Person):
                _record_person(entries, item, started.import_)
            else:
                check, note = item
                entries.add(OldCheck(body=check.body | {"detached": entries.keep_detached({"note": note})}))

        done = append(started, _items(plan, started.import_), record, lambda rows: tell(min(rows, plan.rows), total))
        if not done:
            drop(started)
            return Imported(started.import_, plan.rows, started.entries, 0, cancelled=True)
        close(started, lambda folded: tell(plan.rows + min(folded, plan.rows), total) or True)
    return Imported(started.import_, plan.rows, started.entries, plan.rows, len(plan.new_people))


def _items(plan: HistoryPlan, import_: str) -> Iterator[Any]:
    """What is recorded, in order: thermometers, people, then each check, with its note where it has one."""
    plan.reader.import_ = import_
    yield from plan.said
    for person, initials in plan.reader.new_people.items():
        yield _Person(person, initials)
    for row in plan.layout.rows(plan.layout.problems()):
        if plan.reader.leaves_out(row):
            continue
        check = plan.reader.read(row)
        assert check is not None  # it was good when the file was checked, and the bytes are the same
        note = row.text("note")
        yield (check, words_of(note, NOTE)) if note else check


def _record_person(entries: Transaction, who: _Person, import_: str) -> None:
    """Somebody of whom only the initials are known; holds no role."""
    entries.add(PersonSet(person=who.person, roles=(), import_=import_))
    fields_hash = entries.keep_detached({"initials": who.initials, "name": ""})
    entries.add(PersonNamed(person=who.person, fields_hash=fields_hash, import_=import_))
