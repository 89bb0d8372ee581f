"""Folding entries into the projections: one way for a live transaction, an import, a bundle and a rebuild.

What a table holds is a function of the *set* of entries, whatever order they came in: rows of facts that add up
are independent of one another, what a fact counts for is settled by the hashes that others name, and the summary
of a thermometer is worked out from those rows. `fresh` entries were written by this very transaction, so nothing
can name them yet and the looking for it is left out.

An entry of a newer version, or whose payload does not have its form, has no effect; one of an unknown kind is an
event. One that belongs to an import counts once that is closed (`registry.store.imports`).
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, bindparam, delete, insert, select, tuple_, update
from sqlalchemy.dialects import sqlite

from registry.records.forms import PayloadError
from registry.records.kinds import KINDS, fact_field
from registry.records.outcomes import OUTSIDE
from registry.store import summary, tables
from registry.store.errors import KnownError

Row = dict[str, Any]
HOT_FROM = 60  # °C: the least of the flask that stands in for cooking limits


@dataclass(frozen=True, slots=True)
class Taken:
    """One entry as the fold wants it: where it stands and what it says."""

    chain_no: int
    seq: int
    kind: str
    at: int
    subject: str
    hash: str
    after: Sequence[str]
    payload: Row
    kv: int = 1

    @property
    def done_at(self) -> int:
        """When it was done, which is when it was recorded unless the entry says otherwise."""
        performed = self.payload.get("performed_at")
        if isinstance(performed, int):
            return performed
        # A clock that stood behind the journal tells no time: such entries stand where the journal had got to.
        behind = self.payload.get("clock_behind_us", 0)
        return self.at + behind if isinstance(behind, int) else self.at

    @property
    def waits(self) -> bool:
        """Whether it is one of an import's entries, which count all together or not at all."""
        return "import" in self.payload and self.kind not in ("import_opened", "import_closed")

    def may_act(self) -> bool:
        """Whether what it says may have an effect: not where it lacks its form or is of a newer version."""
        known = KINDS.get(self.kind)
        if known is None:
            return True
        try:
            known.check_payload(self.payload)
        except PayloadError:
            return False
        return self.kv == known.KV


def taken(row: Any) -> Taken:
    """From a row of `entries`; KnownError "damaged" where its text is none of ours."""
    try:
        said = json.loads(row.text)
        return Taken(
            row.chain_no, row.seq, row.kind, row.at, row.subject, row.hash, said["after"], said["payload"], said["kv"]
        )
    except (ValueError, TypeError, KeyError) as error:
        raise KnownError("damaged", chain_no=row.chain_no, seq=row.seq) from error


ENTRY_COLUMNS = tuple(
    tables.entries.c[name] for name in ("no", "chain_no", "seq", "kind", "at", "subject", "hash", "text")
)


_CLOSE = delete(tables.open_readings).where(tables.open_readings.c.fact == bindparam("closed"))


_ADJUSTED = tables.adjustments.c
_ITS_CHECK_IS_VOID = (
    select(tables.checks.c.check)
    .where(
        tables.checks.c.check == _ADJUSTED.check,
        tables.checks.c.thermometer == _ADJUSTED.thermometer,
        tables.checks.c.voided == 1,
    )
    .exists()
)
_NOT_MEASURED = {
    name: update(tables.adjustments)
    .where(_ADJUSTED[name].in_(bindparam("those", expanding=True)), _ITS_CHECK_IS_VOID)
    .values(offset=None, outcome=None)
    for name in ("check", "adjustment", "bath")
}
_MEASURED_AGAIN = (
    select(_ADJUSTED.adjustment, _ADJUSTED.bath, _ADJUSTED.given, tables.entries.c.text)
    .join_from(
        tables.adjustments,
        tables.entries,
        (tables.entries.c.chain_no == _ADJUSTED.chain_no) & (tables.entries.c.seq == _ADJUSTED.seq),
    )
    .where(
        _ADJUSTED.check.in_(bindparam("those", expanding=True)),
        _ADJUSTED.offset.is_(None),
        _ADJUSTED.given.is_not(None),
        ~_ITS_CHECK_IS_VOID,
    )
)
_MEASURE = (
    update(tables.adjustments)
    .where(_ADJUSTED.adjustment == bindparam("one"))
    .values(offset=bindparam("left"), outcome=bindparam("counts"))
)


def _by_500(values: Iterable[str]) -> Iterator[list[str]]:
    """In pieces that a statement's parameters can hold."""
    rest = iter(values)
    while some := list(islice(rest, 500)):
        yield some


class Fold:
    """Takes entries, then writes what they change in one `flush`."""

    def __init__(self, connection: Connection, *, fresh: bool = False) -> None:
        self.connection, self.fresh = connection, fresh
        self._rows: dict[Table, list[Row]] = defaultdict(list)
        self._places: dict[str, _Place] = {}  # where the row of an entry is, for voiding
        self._consumed: set[str] = set()  # facts whose readings are no longer open
        self._checked: list[Row] = []
        self._facts_of: set[str] = set()
        self._history_of: set[str] = set()
        self._baths: set[str] = set()
        self._ended: set[str] = set()  # baths of which a judgement no longer counts
        self._adjustments: set[str] = set()
        self._void_checks: set[str] = set()
        self._imports: list[Taken] = []
        self._voids: list[Taken] = []

    def take(self, entry: Taken, *, closed: bool = False) -> None:
        """Note what an entry changes; `closed` says that the import which it belongs to is."""
        if entry.waits and not closed:
            return
        self._rows[tables.replaced] += [{"hash": one} for one in entry.after]
        if not self.fresh and not entry.may_act():  # what this transaction made may
            return
        if (field := fact_field(entry.kind, entry.payload)) is not None:
            self._take_fact(entry, field)
        else:
            _TAKERS.get(entry.kind, Fold._take_event)(self, entry)

    # --- what each sort of entry adds -------------------------------------------------------------------------

    def _take_fact(self, entry: Taken, field: str) -> None:
        self._rows[tables.facts].append(
            _where(entry)
            | {
                "hash": entry.hash,
                "subject": entry.subject,
                "field": field,
                "at": entry.at,
                "counts": 0 if entry.payload.get("past") else 1,
            }
        )
        if field == "judgement":
            self._baths.add(entry.subject)
        elif "thermometer" in entry.payload:
            self._facts_of.add(entry.subject)

    def _take_bath(self, entry: Taken) -> None:
        bath = entry.payload
        self._rows[tables.baths].append(
            _where(entry)
            | {"bath": bath["bath"], "site": bath["site"], "point": bath["point"], "at": entry.done_at}
            | {"judged": None}
        )
        self._baths.add(bath["bath"])

    def _take_reading(self, entry: Taken) -> None:
        reading = entry.payload
        if not _is_open(reading):
            self._take_event(entry)
            return
        self._places[entry.hash] = _Place(tables.open_readings, "reading", reading["reading"], *_at(entry))
        self._rows[tables.open_readings].append(
            _where(entry)
            | {
                "reading": reading["reading"],
                "fact": reading.get("adjustment") or reading["check"],
                "bath": reading["bath"],
                "thermometer": reading["thermometer"],
                "at": entry.done_at,
            }
        )

    def _take_check(self, entry: Taken) -> None:
        check = entry.payload
        row = (
            _where(entry)
            | {
                "check": check["check"],
                "thermometer": check["thermometer"],
                "bath": check.get("bath"),
                "point": check["point"],
                "at": entry.done_at,
                "offset": check.get("offset"),
                "u": check.get("u"),
            }
            | _outcomes(check)
        )
        self._rows[tables.checks].append(row)
        self._checked.append(row)
        self._places[entry.hash] = _Place(tables.checks, "check", check["check"], *_at(entry))
        self._consumed.add(check["check"])
        if "bath" in check:
            self._baths.add(check["bath"])
        if not self.fresh or "bath" not in check or check.get("outcome") in OUTSIDE:
            self._history_of.add(check["thermometer"])

    def _take_adjustment(self, entry: Taken) -> None:
        adjusted = entry.payload
        self._rows[tables.adjustments].append(
            _where(entry)
            | {
                "adjustment": adjusted["adjustment"],
                "check": adjusted.get("check"),
                "thermometer": adjusted["thermometer"],
                "bath": adjusted.get("bath"),
                "point": adjusted["point"],
                "at": entry.done_at,
                "offset": adjusted.get("offset"),
            }
            | _outcomes(adjusted)
        )
        place = _Place(tables.adjustments, "adjustment", adjusted["adjustment"], *_at(entry))
        self._places[entry.hash] = place
        self._consumed.add(adjusted["adjustment"])
        self._adjustments.add(adjusted["adjustment"])
        if "bath" in adjusted:
            self._baths.add(adjusted["bath"])
        self._history_of.add(adjusted["thermometer"])

    def _take_void(self, entry: Taken) -> None:
        self._voids.append(entry)
        self._rows[tables.voided] += [{"hash": one, "subject": entry.subject} for one in entry.payload["entries"]]

    def _take_import(self, entry: Taken) -> None:
        self._imports.append(entry)
        self._take_event(entry)

    def _take_event(self, entry: Taken) -> None:
        payload = entry.payload
        found = (payload[key] for key in _DETAILS if isinstance(payload.get(key), str))
        self._rows[tables.events].append(
            _where(entry)
            | {
                "subject": entry.subject,
                "kind": entry.kind,
                "at": entry.done_at,
                "detail": next(found, None),
                "hash": entry.hash,
                "voided": 0,
            }
        )
        self._places[entry.hash] = _Place(tables.events, "hash", entry.hash, *_at(entry))
        if entry.kind == "incident_reported":
            self._history_of.add(entry.subject)

    # --- writing ----------------------------------------------------------------------------------------------

    def flush(self, *, summarise: bool = True) -> None:
        """Write the rows, settle what counts, then bring the touched thermometers up to date.

        A rebuild leaves the summaries out and makes them once for each thermometer when all is folded.
        """
        self._insert_facts()
        self._insert_open_readings()
        for table in (tables.baths, tables.checks, tables.adjustments, tables.events):
            self._insert(table, self._rows.pop(table, []))
        self._settle_voids()
        self._settle_judgements()
        self._settle_as_left()
        self._settle_imports()
        if summarise:
            self._summarise()

    @property
    def touched(self) -> set[str]:
        """Thermometers whose summary is no longer right, once all is flushed (and ids of other things)."""
        return self._history_of | self._facts_of

    def _summarise(self) -> None:
        latest = {row["thermometer"]: row for row in self._checked if row["thermometer"] not in self._history_of}
        for thermometer in sorted(self._facts_of):
            summary.write_facts(self.connection, thermometer)
        for thermometer in sorted(self.touched):
            summary.write_history(self.connection, thermometer)
        if latest:
            summary.note_checks(self.connection, latest.values())

    def _insert(self, table: Table, rows: list[Row]) -> None:
        if not rows:
            return
        statement: Any = insert(table)
        if not self.fresh and table.primary_key.columns.keys()[0] in _MADE_TWICE:
            statement = self._first_of_two(table)
        self.connection.execute(statement, rows)

    def _first_of_two(self, table: Table) -> Any:
        """Where a folder was copied, one id may be recorded by both copies: the first in time stands."""
        statement: Any = self._dialect.insert(table)
        new, key = statement.excluded, table.primary_key.columns.keys()
        earlier = tuple_(new.at, new.chain_no, new.seq) < tuple_(table.c.at, table.c.chain_no, table.c.seq)
        values = {name: new[name] for name in table.c.keys() if name not in key}  # noqa: SIM118
        return statement.on_conflict_do_update(index_elements=key, set_=values, where=earlier)

    @property
    def _dialect(self) -> Any:
        if self.connection.dialect.name == "sqlite":
            return sqlite
        from sqlalchemy.dialects import postgresql  # late: a window's start would wait 25 ms for what few use

        return postgresql

    def _insert_new(self, table: Table) -> list[str]:
        """Insert hashes, some of which may stand there already; all of them are given back."""
        rows = self._rows.pop(table, [])
        if rows:
            self.connection.execute(self._dialect.insert(table).on_conflict_do_nothing(), rows)
        return [row["hash"] for row in rows]

    def _insert_facts(self) -> None:
        rows = self._rows.pop(tables.facts, [])
        self._insert(tables.facts, rows)
        gone = self._insert_new(tables.replaced)
        if not self.fresh:
            gone += self._among(tables.replaced.c.hash, [row["hash"] for row in rows])
        facts = tables.facts.c
        for some in _by_500(gone):
            ends = update(tables.facts).where(facts.hash.in_(some), facts.counts == 1).values(counts=0)
            for subject, field in self.connection.execute(ends.returning(facts.subject, facts.field)):
                self._note_end(subject, field)

    def _note_end(self, subject: str, field: str) -> None:
        """A fact no longer counts, whatever it was that named it."""
        if field == "judgement":
            self._ended.add(subject)
        elif field in summary.FIELDS:
            self._facts_of.add(subject)

    def _insert_open_readings(self) -> None:
        rows = [row for row in self._rows.pop(tables.open_readings, []) if row["fact"] not in self._consumed]
        if not self.fresh:
            wanted = {row["fact"] for row in rows}
            closed = set(self._among(tables.checks.c.check, wanted))
            closed.update(self._among(tables.adjustments.c.adjustment, wanted))
            rows = [row for row in rows if row["fact"] not in closed]
        if self._consumed:
            self.connection.execute(_CLOSE, [{"closed": one} for one in sorted(self._consumed)])
        self._insert(tables.open_readings, rows)

    def _among(self, column: Any, values: Iterable[str]) -> list[str]:
        found: list[str] = []
        for some in _by_500(values):
            found += self.connection.execute(select(column).where(column.in_(some))).scalars()
        return found

    def _settle_voids(self) -> None:
        self._insert_new(tables.voided)
        named = {(one, entry.subject) for entry in self._voids for one in entry.payload["entries"]}
        for entry in self._voids:
            self._places.update(self._find_voided(entry))
        if not self.fresh:
            named |= self._voided_before()
        for one, subject in named:
            place = self._places.get(one)
            if place is not None and place.subject == subject:
                self._mark_void(place)

    def _find_voided(self, entry: Taken) -> dict[str, "_Place"]:
        """Where the rows of voided entries are, of those that have come already."""
        query = select(*ENTRY_COLUMNS).where(
            tables.entries.c.subject == entry.subject, tables.entries.c.hash.in_(entry.payload["entries"])
        )
        return {one.hash: _place(one) for one in map(taken, self.connection.execute(query))}

    def _voided_before(self) -> set[tuple[str, str]]:
        voided = tables.voided.c
        found: set[tuple[str, str]] = set()
        for some in _by_500(self._places):
            query = select(voided.hash, voided.subject).where(voided.hash.in_(some))
            found.update((row.hash, row.subject) for row in self.connection.execute(query))
        return found

    def _mark_void(self, place: "_Place") -> None:
        table = place.table
        if table is tables.open_readings:
            self.connection.execute(delete(table).where(table.c.reading == place.value))
            return
        mine = table.c[place.key] == place.value, table.c.chain_no == place.chain_no, table.c.seq == place.seq
        self.connection.execute(update(table).where(*mine).values(voided=1))
        self._history_of.add(place.subject)
        if table is tables.checks:
            self._void_checks.add(place.value)

    def _settle_judgements(self) -> None:
        for some in _by_500(sorted(self._baths | self._ended)):
            judged = dict.fromkeys(self._ended & set(some)) | dict(summary.judgements(self.connection, some))
            self._history_of |= summary.write_judgements(self.connection, judged)

    def _settle_as_left(self) -> None:
        """An adjustment whose check is void was made, and how it left the thermometer is not known by it."""
        touched = {"check": self._void_checks, "adjustment": self._adjustments, "bath": self._baths | self._ended}
        for name, those in touched.items():
            for some in _by_500(sorted(those)):
                self.connection.execute(_NOT_MEASURED[name], {"those": some})
        if not self.fresh:
            for some in _by_500(row["check"] for row in self._checked):
                self._measure_again(some)

    def _measure_again(self, checks: list[str]) -> None:
        """Where a void check gave way to an earlier copy of it, which is not void."""
        rows = self.connection.execute(_MEASURED_AGAIN, {"those": checks}).all()
        judged = summary.judgements(self.connection, {row.bath for row in rows if row.bath}) if rows else {}
        for row in rows:
            outcome = judged.get(row.bath, {}).get("as_left", {}).get(row.adjustment) if row.bath else row.given
            left = json.loads(row.text)["payload"].get("offset")
            self.connection.execute(_MEASURE, {"one": row.adjustment, "left": left, "counts": outcome})

    def _settle_imports(self) -> None:
        """Note where imports begin and end; of two ends the first counts."""
        imports = tables.imports.c
        for entry in self._imports:
            of = {"chain_no": entry.chain_no, "import": entry.payload["import"]}
            if entry.kind == "import_opened":
                row = of | {"opened": entry.seq, "folded": entry.seq, "counts": 0}
                self.connection.execute(self._dialect.insert(tables.imports).on_conflict_do_nothing(), row)
            else:
                mine = imports.chain_no == entry.chain_no, imports["import"] == entry.payload["import"]
                ends = update(tables.imports).where(*mine, imports.closed.is_(None))
                counts = 0 if entry.payload.get("dropped") else 1
                self.connection.execute(ends.values(closed=entry.seq, counts=counts))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the row of an entry that may be voided is."""

    table: Table
    key: str
    value: str
    subject: str
    chain_no: int
    seq: int


def _place(entry: Taken) -> _Place:
    table, key = _TABLES.get(entry.kind, (tables.events, "hash"))
    if entry.kind == "reading_taken" and not _is_open(entry.payload):
        table, key = tables.events, "hash"
    value = entry.payload.get(key)
    if not isinstance(value, str):  # an event, or a payload that has no row
        table, key, value = tables.events, "hash", entry.hash
    return _Place(table, key, value, *_at(entry))


def _is_open(reading: Row) -> bool:
    """Whether it waits for the check or the adjustment that it began; a trial, or none read, leads to nothing."""
    begun = "check" in reading or "adjustment" in reading
    return begun and reading.get("role") not in ("no_reading", "trial")


def _at(entry: Taken) -> tuple[str, int, int]:
    return entry.subject, entry.chain_no, entry.seq


def _where(entry: Taken) -> Row:
    return {"chain_no": entry.chain_no, "seq": entry.seq}


def _outcomes(judged: Row) -> Row:
    """The outcome given, and the one that counts: none yet where a bath has to be judged first."""
    given = judged.get("outcome") or judged.get("stated")
    outcome = None if "bath" in judged else given
    return {"given": given, "outcome": outcome, "hot": int(_is_hot(judged)), "voided": 0}


def _is_hot(judged: Row) -> bool:
    """Whether it says something about hot food; a fridge's comparison does not."""
    if judged["point"] == "comparison":
        return Decimal(judged.get("exact", "0 C").split()[0]) >= HOT_FROM
    return bool(judged["point"] == "boiling_point")


_TAKERS = {
    "bath_made": Fold._take_bath,
    "reading_taken": Fold._take_reading,
    "check_recorded": Fold._take_check,
    "adjusted": Fold._take_adjustment,
    "voided": Fold._take_void,
    "import_opened": Fold._take_import,
    "import_closed": Fold._take_import,
}
_TABLES = {
    "check_recorded": (tables.checks, "check"),
    "adjusted": (tables.adjustments, "adjustment"),
    "reading_taken": (tables.open_readings, "reading"),
}
_MADE_TWICE = ("bath", "check", "adjustment", "reading")
_DETAILS = ("what", "why", "basis", "tag", "document")  # the code of an event that people filter by
