"""An old check from one row of a history: what is known of it, and no more.

A check without a known reference has no offset. At the ice point the reference is 0.0 °C. An outcome that the source
states is kept as *stated*; where it states none and the offset is known, simple acceptance at the tolerance in force
decides, and the entry says so. Uncertainty is never made up afterwards.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import Connection

from registry.compute import check as method
from registry.compute.conformity import decide
from registry.quantity import Reading, TemperatureDifference, Unit, mean_difference, too_fine
from registry.records.baths import CheckRecorded
from registry.records.forms import Payload
from registry.records.places import SiteSet
from registry.resource_tables import Point
from registry.services import import_cells as cells
from registry.services import places, rules, thermometers
from registry.services.checks import far_off
from registry.services.csvfile import normal
from registry.services.import_cells import BadCell
from registry.services.import_rows import Options, Row
from registry.services.rules import RulesInForce
from registry.services.session import day_at
from registry.services.thermometers import Thermometer
from registry.store.queries import Fact

COLUMNS = (
    "tag", "date", "time", "point", "readings", "unit", "reference", "outcome", "site", "initials", "note", "stands",
)  # fmt: skip
# What our own tables of checks hold beside that: nothing that an old check is made of.
INFORMATIVE = (
    "number", "offset", "expanded", "tolerance", "offset_unit", "rule", "adjusted", "as_left", "as_left_unit",
    "as_left_outcome",
)  # fmt: skip
REQUIRED = ("tag", "date", "readings")
NOTE = 2000  # characters
POINTS: tuple[Point, ...] = ("ice_point", "boiling_point", "comparison")
OUTCOMES = ("pass", "conditional_pass", "conditional_fail", "fail", "not_accepted", "cannot_decide")
# Outcomes that say on which side of the limits a reading was; the others may be of either.
INSIDE, OUTSIDE = ("pass", "conditional_pass"), ("fail", "conditional_fail")
KEPT = 50_000  # rows remembered for what they say beside the time; most say what another has said
STANDS = "stands"  # whether a check counts where the file comes from
NOT_COUNTING = "not_counting"  # the question whether rows that do not are left out
_NOT_WHEN = tuple(column for column in COLUMNS if column not in ("date", "time", "note", STANDS))
ICE: Mapping[str, Reading] = {"C": Reading.from_text("0.0 C"), "F": Reading.from_text("32.0 F")}


@dataclass(frozen=True, slots=True)
class OfFile:
    """A thermometer of the file, with what its old checks are judged by."""

    thermometer: Thermometer
    tolerance: TemperatureDifference | None
    tolerances: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCheck(Payload):
    """A `check_recorded` of a history, whose form was looked at once for all rows that say the same."""

    KIND: ClassVar = CheckRecorded.KIND
    body: dict[str, Any]

    def as_payload(self) -> dict[str, Any]:
        return self.body


@dataclass(frozen=True, slots=True)
class _Same:
    """What rows with the same cells have in common, all but when: a part of their entries."""

    body: dict[str, Any]
    zone: str


@dataclass(slots=True)
class Reader:
    """Rows of a history become checks; what was looked up once is kept, so that a second pass reads the same.

    import_: under which they are recorded, in the second pass.
    """

    now: int
    sha256: str
    options: Options
    of: dict[str, OfFile]
    people: dict[str, list[str]]
    connection: Connection | None  # in the first pass
    sites: dict[str, Fact[SiteSet]] = field(default_factory=dict)
    rules: dict[str | None, RulesInForce] = field(default_factory=dict)
    new_people: dict[str, str] = field(default_factory=dict)  # initials by id
    import_: str | None = None
    _known: dict[tuple[str, ...], _Same] = field(default_factory=dict)

    def read(self, row: Row) -> OldCheck | None:
        """The check of a row, without its note; none where a cell is wrong, which `row` then notes."""
        key = tuple([row.text(column) for column in _NOT_WHEN])
        same = self._known.get(key)
        if same is None and (same := self._same(row)) is not None:
            if len(self._known) > KEPT:
                self._known.clear()
            self._known[key] = same
        when = row.take("date", lambda text: self._when(text, row.text("time"), same), needed=True)
        row.take("note", lambda text: cells.words_of(text, NOTE))
        if not row.good or when is None or same is None:
            return None
        at, day_only = when
        check = cells.derived_id(self.sha256, at, "check", row.number)
        body = {**same.body, "check": check, "performed_at": at, "row": row.number}
        if day_only:
            body["day_only"] = True
        if self.import_ is not None:
            body["import"] = self.import_
        return OldCheck(body=body)

    def _same(self, row: Row) -> _Same | None:
        of = row.take("tag", self._thermometer, needed=True)
        site = row.take("site", self._site) or (self._own_site(row, of) if of and not row.text("site") else None)
        initials = row.text("initials") or self.options.initials
        person = row.take_said("initials", initials, self._person) if initials else None
        what = self._what(row, of)
        if not row.good or of is None or site is None or what is None:
            return None
        # Its form is looked at here; what comes with each row is an id and whole numbers.
        thermometer = of.thermometer.row.thermometer
        whole = CheckRecorded(thermometer=thermometer, check=thermometer, done_by=person, site=site.subject, **what)
        return _Same(whole.as_payload(), site.payload.zone)

    def leaves_out(self, row: Row) -> bool:
        """Whether a row is a check that does not count where it comes from: void, waiting or of a condemned bath.

        Taken in it would count here. It is noted, unless the person said that such rows are left out.
        """
        stands = row.take(STANDS, lambda text: cells.code_of(text, stands_words()))
        if stands in (None, "yes"):
            return False
        if NOT_COUNTING not in self.options.asked:
            row.bad(STANDS, NOT_COUNTING)
        return True

    # --- who, where, when -------------------------------------------------------------------------------------

    def _thermometer(self, text: str) -> OfFile:
        tag = self.options.tags.get(text, text)
        if tag not in self.of:
            assert self.connection is not None
            self.of[tag] = standing(self.connection, thermometers.find(self.connection, tag), self.rules)
        return self.of[tag]

    def _site(self, text: str) -> Fact[SiteSet]:
        if text not in self.sites:
            assert self.connection is not None
            self.sites[text] = places.site_named(self.connection, text)
        return self.sites[text]

    def _own_site(self, row: Row, of: OfFile) -> Fact[SiteSet] | None:
        """The site that the file is of, else the one where the thermometer is now."""
        if self.options.site:
            return row.take_said("site", self.options.site, self._site)
        own = of.thermometer.row.site or ""
        if own not in self.sites:
            assert self.connection is not None
            self.sites[own] = places.site_named_by_id(self.connection, own)
        return self.sites[own]

    def _when(self, day: str, time: str, same: _Same | None) -> tuple[int, bool]:
        zone = same.zone if same else "UTC"  # of a row that is bad anyway only the cell's form is looked at
        at, day_only, on = cells.instant_of(day, time, zone, self.options.day_order)
        if at > self.now or at < 0:
            cells.refuse_when(at, day_only, on, self.now, day_at(self.now, zone))
        return at, day_only

    def _person(self, text: str) -> str:
        initials = cells.words_of(text, 6)
        known = self.people.get(initials.upper(), [])
        if len(known) > 1:
            raise BadCell("two_people")
        if not known:
            new = cells.derived_id(self.sha256, 0, "person", initials.upper())
            self.new_people[new] = initials
            self.people[initials.upper()] = known = [new]
        return known[0]

    # --- what was read ----------------------------------------------------------------------------------------

    def _what(self, row: Row, of: OfFile | None) -> dict[str, Any] | None:
        """Point, readings and outcome."""
        point = row.take_said("point", row.text("point") or self.options.point, _point)
        in_row = row.take("unit", cells.unit_of)
        unit = row.unit("readings", in_row, self.options.unit)
        beside = row.unit("reference", in_row, self.options.unit) if "reference" in row.units else unit
        readings = row.take("readings", lambda text: cells.readings_of(text, unit), needed=True)
        reference = row.take("reference", lambda text: cells.readings_of(text, beside))
        stated = row.take("outcome", self._outcome)
        if of is None or point is None or readings is None or not row.good:
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
        found = _frozen(of, point, readings, expected, stated, self.options.judge)
        self._question_outcome(row, of, found)
        return found

    def _outcome(self, text: str) -> str:
        return cells.code_of(self.options.outcomes.get(text, text), cells.words_for("outcome", OUTCOMES))

    def _question_outcome(self, row: Row, of: OfFile, found: dict[str, Any]) -> None:
        """Note a stated outcome that the reading speaks against by the tolerance in force, unless told to take it."""
        offset, stated = found.get("offset"), found["stated"]
        if offset is None or of.tolerance is None or "outcome_against" in self.options.asked:
            return
        difference = TemperatureDifference.from_text(offset)  # in the unit of the tolerance
        by_reading = decide(difference.value, Decimal(0), of.tolerance.value, "simple")
        if stated in (OUTSIDE if by_reading == "pass" else INSIDE):
            row.bad(
                "outcome",
                "outcome_against",
                offset=offset.replace(" d", " "),
                limit=of.tolerance.text().replace(" d", " "),
            )

    def _question(self, row: Row, of: Thermometer, readings: tuple[Reading, ...], expected: Reading | None) -> None:
        scale = of.facts.scales.get(readings[0].unit)
        if scale is None:
            row.bad("readings", "not_its_unit", tag=of.tag_id)
            return
        lowest, highest = Reading.from_text(scale.lowest).value, Reading.from_text(scale.highest).value
        step = of.step_as_read(readings[0].unit)
        for shown in readings:
            on_scale = lowest <= shown.value <= highest
            codes = {
                "off_scale": not on_scale,
                "too_fine": too_fine(shown, step),
                "other_unit": expected is not None and far_off(shown, expected.celsius(), on_scale=on_scale),
            }
            for code, holds in codes.items():
                if holds and code not in self.options.asked:
                    row.bad("readings", code, tag=of.tag_id)


def stands_words() -> Mapping[str, str]:
    """Whether a check counts, by the words that our own tables have for it."""
    return {**cells.words_for("cli.counts", ("yes", "no", "waits")), **cells.words_for("cli", ("void",))}


def _point(text: str) -> str:
    if not text:
        raise BadCell("missing")
    return cells.code_of(rules.METHODS.get(normal(text), text), cells.words_for("point", POINTS))


def standing(connection: Connection, of: Thermometer, known: dict[str | None, RulesInForce]) -> OfFile:
    """What old checks of a thermometer are judged by; `known` keeps the rules of sites looked up before."""
    if of.row.site not in known:
        known[of.row.site] = rules.rules_in_force(connection, of.row.site)
    in_force = known[of.row.site]
    found = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
    tolerance = TemperatureDifference.from_text(found.tolerance) if found else None
    return OfFile(of, tolerance, in_force.tolerances.set)


def _frozen(
    of: OfFile,
    point: str,
    readings: tuple[Reading, ...],
    expected: Reading | None,
    stated: str | None,
    judge: bool,
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
