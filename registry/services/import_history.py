"""Years of history from a CSV file: checks with what is known of them, and no more.

A check without a known reference has no offset. At the ice point the reference is 0.0 °C. An outcome that the source
states is kept as *stated*; where it states none and the offset is known, simple acceptance at the tolerance in force
decides, and the entry says so. Uncertainty is never made up afterwards.
"""

from array import array
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any

from sqlalchemy import Connection

from registry.compute import check as method
from registry.compute.conformity import decide
from registry.quantity import Reading, TemperatureDifference, Unit, mean_difference, too_fine
from registry.records.baths import CheckRecorded
from registry.records.places import PersonNamed, PersonSet, SiteSet
from registry.resource_tables import Point
from registry.services import import_cells as cells
from registry.services import people, places, rules, thermometers
from registry.services.checks import UNIT_MIX_UP
from registry.services.import_cells import BadCell, Layout, Options, Problems, Row
from registry.services.import_journal import (
    SYSTEM,
    Imported,
    Progress,
    Said,
    append,
    close,
    drop,
    importing,
    refuse_imported,
    rehearsing,
    say_again,
)
from registry.services.problems import refuse
from registry.services.session import Actor, Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import Fact
from registry.store.transaction import Transaction

COLUMNS = ("tag", "date", "time", "point", "readings", "unit", "reference", "outcome", "site", "initials", "note")
REQUIRED = ("tag", "date", "readings")
POINTS: tuple[Point, ...] = ("ice_point", "boiling_point", "comparison")
OUTCOMES = ("pass", "conditional_pass", "conditional_fail", "fail", "not_accepted", "cannot_decide")
STEP = 5000  # rows between two reports while checking
ICE: Mapping[str, Reading] = {"C": Reading.from_text("0.0 C"), "F": Reading.from_text("32.0 F")}


@dataclass(frozen=True, slots=True)
class _Of:
    """A thermometer of the file, with what its old checks are judged by."""

    thermometer: Thermometer
    tolerance: TemperatureDifference | None
    tolerances: str


@dataclass(slots=True)
class _Reader:
    """Rows of a history become checks; what was looked up once is kept, so that a second pass reads the same."""

    now: int
    sha256: str
    options: Options
    of: dict[str, _Of]
    sites: dict[str, Fact[SiteSet]]
    people: dict[str, list[str]]
    connection: Connection | None  # in the first pass
    new_people: dict[str, str] = field(default_factory=dict)  # initials by id
    _known: dict[tuple[Any, ...], dict[str, Any]] = field(default_factory=dict)

    def read(self, row: Row) -> CheckRecorded | None:
        """The check of a row, without its note; none where a cell is wrong, which `row` then notes."""
        of = row.take("tag", self._thermometer, needed=True)
        site = row.take("site", self._site) or (self._own_site(row, of) if of and not row.text("site") else None)
        when = row.take("date", lambda text: self._when(text, row.text("time"), site), needed=True) if site else None
        person = row.take("initials", lambda text: self._person(text, row, when[0] if when else 0))
        row.take("note", lambda text: cells.words_of(text, 2000))
        what = self._what(row, of) if of else None
        if not row.good or of is None or site is None or when is None or what is None:
            return None
        at, day_only, _ = when
        return CheckRecorded(
            thermometer=of.thermometer.row.thermometer,
            check=cells.derived_id(self.sha256, at, "check", row.number),
            performed_at=at,
            day_only=day_only or None,
            done_by=person,
            site=site.subject,
            row=row.number,
            **what,
        )

    # --- who, where, when -------------------------------------------------------------------------------------

    def _thermometer(self, text: str) -> _Of:
        tag = self.options.tags.get(text, text)
        if tag not in self.of:
            assert self.connection is not None
            self.of[tag] = _standing(self.connection, thermometers.find(self.connection, tag))
        return self.of[tag]

    def _site(self, text: str) -> Fact[SiteSet]:
        if text not in self.sites:
            assert self.connection is not None
            self.sites[text] = places.site_named(self.connection, text)
        return self.sites[text]

    def _own_site(self, row: Row, of: _Of) -> Fact[SiteSet] | None:
        """The site that the file is of, else the one where the thermometer is now."""
        if self.options.site:
            return row.take_said("site", self.options.site, self._site)
        own = of.thermometer.row.site or ""
        if own not in self.sites:
            assert self.connection is not None
            self.sites[own] = places.site_named_by_id(self.connection, own)
        return self.sites[own]

    def _when(self, day: str, time: str, site: Fact[SiteSet]) -> tuple[int, bool, date]:
        at, day_only, on = cells.instant_of(day, time, site.payload.zone, self.options.day_order)
        cells.refuse_when(at, day_only, on, self.now, day_at(self.now, site.payload.zone))
        return at, day_only, on

    def _person(self, text: str, row: Row, at: int) -> str:
        initials = cells.words_of(text, 6)
        known = self.people.get(initials.upper(), [])
        if len(known) > 1:
            raise BadCell("two_people")
        if not known:
            new = cells.derived_id(self.sha256, max(at, 0), "person", initials.upper())
            self.new_people[new] = initials
            self.people[initials.upper()] = known = [new]
        return known[0]

    # --- what was read ----------------------------------------------------------------------------------------

    def _what(self, row: Row, of: _Of) -> dict[str, Any] | None:
        """Point, readings and outcome. The same cells come again and again, so what they say is kept."""
        said = tuple(row.text(column) for column in ("point", "readings", "unit", "reference", "outcome"))
        key = (of.thermometer.row.thermometer, *said)
        if key not in self._known:
            found = self._read_what(row, of)
            if found is None:
                return None
            if len(self._known) > 50_000:
                self._known.clear()
            self._known[key] = found
        return self._known[key]

    def _read_what(self, row: Row, of: _Of) -> dict[str, Any] | None:
        point = row.take_said("point", row.text("point") or self.options.point, _point)
        unit = row.take("unit", cells.unit_of) or self.options.unit
        readings = row.take("readings", lambda text: cells.readings_of(text, unit), needed=True)
        reference = row.take("reference", lambda text: cells.readings_of(text, unit))
        stated = row.take("outcome", self._outcome)
        if not row.good or point is None or readings is None:
            return None
        if len({one.unit for one in readings}) > 1 or (
            reference and {one.unit for one in reference} != {readings[0].unit}
        ):
            row.bad("readings", "two_units")
            return None
        if reference and len(reference) > 1:
            row.bad("reference", "one_reference")
            return None
        expected = reference[0] if reference else ICE[readings[0].unit] if point == "ice_point" else None
        self._question(row, of.thermometer, readings, expected)
        return _frozen(of, point, readings, expected, stated, self.options.judge)

    def _outcome(self, text: str) -> str:
        return cells.code_of(self.options.outcomes.get(text, text), cells.words_for("outcome", OUTCOMES))

    def _question(self, row: Row, of: Thermometer, readings: tuple[Reading, ...], expected: Reading | None) -> None:
        scale = of.facts.scales.get(readings[0].unit)
        if scale is None:
            row.bad("readings", "not_its_unit", tag=of.tag_id)
            return
        lowest, highest = Reading.from_text(scale.lowest).value, Reading.from_text(scale.highest).value
        step = of.step_as_read(readings[0].unit)
        for shown in readings:
            codes = {
                "off_scale": not lowest <= shown.value <= highest,
                "too_fine": too_fine(shown, step),
                "other_unit": expected is not None and _likely_other_unit(shown, expected),
            }
            for code, holds in codes.items():
                if holds and code not in self.options.asked:
                    row.bad("readings", code, tag=of.tag_id)


def _point(text: str) -> str:
    if not text:
        raise BadCell("missing")
    return cells.code_of(rules.METHODS.get(cells.normal(text), text), cells.words_for("point", POINTS))


def _likely_other_unit(shown: Reading, expected: Reading) -> bool:
    other = Reading(shown.value, "F" if shown.unit == "C" else "C")
    off, off_in_other = (abs(one.celsius() - expected.celsius()) for one in (shown, other))
    return off > UNIT_MIX_UP and off_in_other < UNIT_MIX_UP / 3


def _standing(connection: Connection, of: Thermometer) -> _Of:
    in_force = rules.rules_in_force(connection, of.row.site)
    found = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
    tolerance = TemperatureDifference.from_text(found.tolerance) if found else None
    return _Of(of, tolerance, in_force.tolerances.set)


def _frozen(
    of: _Of, point: str, readings: tuple[Reading, ...], expected: Reading | None, stated: str | None, judge: bool
) -> dict[str, Any]:
    """What is known of an old check, for its entry."""
    found: dict[str, Any] = {"point": point, "as_found": tuple(one.text() for one in readings), "stated": stated}
    if expected is None:
        return found
    exact = method.plain(expected.celsius())
    found |= {"reference": expected.text(), "exact": f"{exact:f} C" if exact else None}
    kind = of.thermometer.type
    if kind.surface or kind.allowed(point) is None:  # its reading there is not meant to be the reference
        return found
    unit: Unit = of.tolerance.unit if of.tolerance else readings[0].unit
    offset = mean_difference([one - expected for one in readings]).to(unit)
    found["offset"] = method.written(offset.value, unit).text()
    if stated is None and judge and of.tolerance is not None:
        found |= {
            "decision": "simple",
            "tolerance": of.tolerance.text(),
            "tolerances": of.tolerances,
            "outcome": decide(offset.value, Decimal(0), of.tolerance.value, "simple"),
        }
    return found


# --- checking the whole file ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class HistoryPlan:
    """A history found good: what recording it will add. Shown to the person before anything is recorded.

    new_people: initials that nobody here bears. enrolled: thermometers enrolled by it, tag ids by theirs names.
    """

    layout: Layout
    reader: _Reader
    rows: int
    first_at: int
    last_at: int
    stated: int
    judged: int
    new_people: tuple[str, ...]
    enrolled: tuple[str, ...]
    said: tuple[Said, ...]


def check_history(
    session: Session,
    connection: Connection,
    content: bytes,
    options: Options = Options(),  # noqa: B008
    progress: Progress | None = None,
) -> HistoryPlan:
    """Read the whole file and look at each cell; Refused names the bad ones. Nothing is recorded.

    `progress` is told rows done of 0, since how many there are is not known yet.
    """
    layout = cells.layout(content, COLUMNS, REQUIRED, options)
    refuse_imported(connection, layout.table.sha256)
    enrolled, said = _rehearse_enrolling(session, options)
    reader = _Reader(session.clock(), layout.table.sha256, options, enrolled, {}, _by_initials(connection), connection)
    problems, times = Problems(layout.titles), _Times()
    counts: Counter[str] = Counter()
    for row in layout.rows(problems):
        check = reader.read(row)
        if check is not None:
            times.note(check)
            counts[("stated" if check.stated else "judged") if check.stated or check.outcome else "open"] += 1
        counts["rows"] += 1
        if progress and counts["rows"] % STEP == 0 and not progress(counts["rows"], 0):
            raise refuse("file", "cancelled")
    if not counts["rows"]:
        problems.add("file", "no_rows", 1)
    times.find_twice(connection, problems, options.asked)
    problems.refuse_any()
    reader.connection = None
    people_made = tuple(sorted(reader.new_people.values()))
    stated, judged = counts["stated"], counts["judged"]
    tags = tuple(sorted(options.enrol))
    return HistoryPlan(layout, reader, counts["rows"], times.first, times.last, stated, judged, people_made, tags, said)


def _by_initials(connection: Connection) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for person in people.people(connection):
        if person.initials:
            found.setdefault(person.initials.upper(), []).append(person.person)
    return found


def _rehearse_enrolling(session: Session, options: Options) -> tuple[dict[str, _Of], tuple[Said, ...]]:
    """The thermometers to be enrolled, as they will be, and what enrolling them says."""
    if not options.enrol:
        return {}, ()
    with rehearsing(session) as rehearsal:
        found = {}
        for name, new in options.enrol.items():
            made = thermometers.enrol(rehearsal, SYSTEM, new)
            found[name] = _standing(rehearsal.connection, thermometers.thermometer(rehearsal.connection, made))
    return found, tuple(rehearsal.said)


class _Times:
    """When each thermometer was checked at each point, small enough for millions of rows."""

    def __init__(self) -> None:
        self.first, self.last = 2**62, -1
        self._at: dict[tuple[str, str], tuple[array[int], array[int]]] = {}

    def note(self, check: CheckRecorded) -> None:
        at, row = check.performed_at or 0, check.row or 0
        self.first, self.last = min(self.first, at), max(self.last, at)
        key = (check.thermometer, check.point)
        if key not in self._at:
            self._at[key] = (array("q"), array("q"))
        ats, rows = self._at[key]
        ats.append(at)
        rows.append(row)

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
            if isinstance(item, CheckRecorded):
                entries.add(item)
            elif isinstance(item, Said):
                say_again(entries, item, started.import_, hashes)
            elif isinstance(item, _Person):
                _record_person(entries, item, started.import_)
            else:
                check, note = item
                entries.add(replace(check, detached=entries.keep_detached({"note": note})))

        done = append(started, _items(plan, started.import_), record, lambda rows: tell(min(rows, plan.rows), total))
        if not done:
            drop(started)
            return Imported(started.import_, plan.rows, started.entries, 0, cancelled=True)
        close(started, lambda folded: tell(plan.rows + min(folded, plan.rows), total) or True)
    return Imported(started.import_, plan.rows, started.entries, plan.rows, len(plan.new_people))


def _items(plan: HistoryPlan, import_: str) -> Iterator[Any]:
    """What is recorded, in order: thermometers, people, then each check, with its note where it has one."""
    yield from plan.said
    for person, initials in plan.reader.new_people.items():
        yield _Person(person, initials)
    for row in plan.layout.rows(Problems(plan.layout.titles)):
        check = plan.reader.read(row)
        assert check is not None  # it was good when the file was checked, and the bytes are the same
        check = replace(check, import_=import_)
        note = row.text("note")
        yield (check, cells.words_of(note, 2000)) if note else check


def _record_person(entries: Transaction, who: _Person, import_: str) -> None:
    """Somebody of whom only the initials are known; holds no role."""
    entries.add(PersonSet(person=who.person, roles=(), import_=import_))
    fields_hash = entries.keep_detached({"initials": who.initials, "name": ""})
    entries.add(PersonNamed(person=who.person, fields_hash=fields_hash, import_=import_))
