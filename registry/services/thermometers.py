"""Thermometers from purchase to retirement: enrol, amend, move, take out, put back, retire, change a part."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from sqlalchemy import Connection

from registry import resources
from registry.journal.numbers import normal_tag_id, tag_id_given, valid_tag_id
from registry.quantity import Reading, TemperatureDifference
from registry.records.outcomes import UNSETTLING
from registry.records.places import SiteSet
from registry.records.thermometers import (
    CertificatePoint,
    IncidentReported,
    OutsideCertificateSet,
    PartSet,
    PartsJoined,
    PlaceSet,
    Price,
    Scale,
    ServiceStatusSet,
    TagIdSet,
    TakenOut,
    ThermometerSet,
)
from registry.resource_tables import InstrumentType
from registry.services import places, prices
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import Actor, Session, clean, state_once
from registry.store import queries
from registry.store.queries import ThermometerRow
from registry.store.transaction import Transaction

STATUSES = ("in_service", "limited_use", "lost", "retired")
AWAY = ("lost", "out_of_use", "retired")
AMEND_WHY = ("mistyped", "changed", "wrong_type", "wrong_range", "other_reason")
# Why it is taken out, limited or retired; what happened to it is a reason too.
STATUS_WHY = (
    "outside",
    "unsteady",
    "damaged",
    "worn",
    "battery_flat",
    "sent_away",
    "spare",
    "other_reason",
    *UNSETTLING,
)


@dataclass(frozen=True, slots=True)
class ScaleGiven:
    """One scale of the instrument, in one unit."""

    step: TemperatureDifference
    lowest: Reading
    highest: Reading


@dataclass(frozen=True, slots=True)
class PartGiven:
    maker: str = ""
    model: str = ""
    serial: str = ""


@dataclass(frozen=True, slots=True)
class NewThermometer:
    """What is asked when a thermometer is enrolled; `tag_id` empty gives it the next one of its site.

    sensor: only where it parts from the indicator; then `whole` describes the indicator, or `indicator` is the id of
    a meter that another thermometer is read on already.
    """

    type: str
    scales: tuple[ScaleGiven, ...]
    site: str
    tag_id: str = ""
    station: str | None = None
    uses: tuple[str, ...] = ("hot", "cold")
    whole: PartGiven = PartGiven()
    sensor: PartGiven | None = None
    adjusts: str | None = None
    waterproof: bool = False
    in_use_since: date | None = None
    condition: str = ""
    indicator: str | None = None
    price: Price | None = None


@dataclass(frozen=True, slots=True)
class Thermometer:
    """A thermometer with what is known of it."""

    row: ThermometerRow
    facts: ThermometerSet
    type: InstrumentType
    parts: PartsJoined | None
    indicator: PartSet | None
    sensor: PartSet | None
    outside_certificate: OutsideCertificateSet | None

    @property
    def tag_id(self) -> str:
        return self.row.tag_id or ""

    @property
    def scale(self) -> str:
        """C, F or dual: what the tolerance is chosen by."""
        return "dual" if len(self.facts.scales) == 2 else next(iter(self.facts.scales))

    @property
    def maker(self) -> str:
        return (self.indicator.maker if self.indicator else self.facts.maker) or ""

    @property
    def model(self) -> str:
        return (self.indicator.model if self.indicator else self.facts.model) or ""

    @property
    def serial(self) -> str:
        return (self.indicator.serial if self.indicator else self.facts.serial) or ""

    @property
    def adjustments(self) -> tuple[str, ...]:
        """How this one can be adjusted, the usual way first: what its facts say, else what its type may have."""
        said = (self.facts.adjusts,) if self.facts.adjusts else self.type.adjustments
        return tuple(one for one in said if one != "none")

    @property
    def usual_adjustment(self) -> str | None:
        """The way that such a one usually has; None where few of its type can be adjusted and nothing is said of it."""
        first = self.facts.adjusts or next(iter(self.type.adjustments), "none")
        return None if first == "none" else first

    def step_as_read(self, unit: str) -> Decimal:
        """The finest that can be read: the display's step, or half a division of a scale."""
        step = Decimal(self.facts.scales[unit].step.split()[0])
        return step / 2 if self.type.read_to == "half_division" else step


def enrol(session: Session, actor: Actor, new: NewThermometer, *, thermometer: str | None = None) -> str:
    """Enrol a thermometer; returns its id. A second press with the same id records once."""
    problems = _problems(new)
    if problems:
        raise Refused(*problems)
    thermometer = thermometer or session.new_id()
    with session.recording(actor, "officer") as entries:
        if queries.thermometer(entries.connection, thermometer) is None:
            _record_new(session, entries, thermometer, new)
    return thermometer


def _record_new(session: Session, entries: Transaction, thermometer: str, new: NewThermometer) -> None:
    site = queries.facts_of(entries.connection, new.site).get("site")
    if site is None:
        raise refuse("site", "unknown", value=new.site)
    if new.station is not None:
        _refuse_unknown_station(entries.connection, new.site, new.station)
    tag_id = normal_tag_id(new.tag_id) if new.tag_id else next_tag_id(entries.connection, site.payload)
    _refuse_borne(entries.connection, tag_id, thermometer)
    entries.replace(_facts(thermometer, new))
    if new.sensor is not None:
        indicator, sensor = new.indicator or session.new_id(), session.new_id()
        if new.indicator is None:
            entries.replace(_part(indicator, "indicator", new.whole))
        elif (shared := _standing_part(entries.connection, indicator)) is None or shared.part_kind != "indicator":
            raise refuse("indicator", "unknown", value=indicator)
        entries.replace(_part(sensor, "sensor", new.sensor))
        entries.replace(PartsJoined(thermometer=thermometer, indicator=indicator, sensor=sensor))
    entries.replace(TagIdSet(thermometer=thermometer, tag_id=tag_id))
    entries.replace(PlaceSet(thermometer=thermometer, site=new.site, station=new.station))


def _facts(thermometer: str, new: NewThermometer) -> ThermometerSet:
    whole = PartGiven() if new.sensor is not None else new.whole
    return ThermometerSet(
        thermometer=thermometer,
        type=new.type,
        scales={
            one.step.unit: Scale(step=one.step.text(), lowest=one.lowest.text(), highest=one.highest.text())
            for one in new.scales
        },
        uses=new.uses,
        maker=clean(whole.maker) or None,
        model=clean(whole.model) or None,
        serial=clean(whole.serial) or None,
        adjusts=new.adjusts,
        waterproof=True if new.waterproof else None,
        in_use_since=new.in_use_since.isoformat() if new.in_use_since else None,
        condition=clean(new.condition) or None,
        price=new.price,
    )


def _part(part: str, kind: str, given: PartGiven) -> PartSet:
    return PartSet(
        part=part,
        part_kind=kind,
        maker=clean(given.maker) or None,
        model=clean(given.model) or None,
        serial=clean(given.serial) or None,
    )


def _problems(new: NewThermometer) -> list[Problem]:
    problems = []
    known = resources.instrument_types().get(new.type)
    if known is None:
        problems.append(Problem("type", "unknown", {"value": new.type}))
    if not new.scales or len({one.step.unit for one in new.scales}) != len(new.scales):
        problems.append(Problem("scale", "empty"))
    for one in new.scales:
        if {one.step.unit, one.lowest.unit, one.highest.unit} != {one.step.unit}:
            problems.append(Problem("scale", "two_units"))
        elif not Decimal("0.001") <= one.step.value <= 50:
            problems.append(Problem("step", "not_valid", {"value": one.step.text()}))
        elif not one.lowest.value < one.highest.value:
            problems.append(Problem("range", "lowest_not_below_highest"))
    if new.tag_id and not valid_tag_id(normal_tag_id(new.tag_id)):
        problems.append(Problem("tag_id", "not_valid", {"value": new.tag_id}))
    if known is not None and new.adjusts is not None and new.adjusts not in known.adjustments:
        problems.append(Problem("adjusts", "not_for_this_type", {"value": new.adjusts}))
    problems += [Problem("uses", "unknown", {"value": one}) for one in new.uses if one not in ("hot", "cold")]
    if new.sensor is not None and known is not None and not known.sensor_parts:
        problems.append(Problem("sensor", "does_not_part"))
    return problems + prices.problems(new.price)


def _as_given(facts: ThermometerSet) -> NewThermometer:
    """The facts as they would be keyed in, so that a changed statement is tested like a first one."""
    scales = tuple(
        ScaleGiven(
            TemperatureDifference.from_text(one.step), Reading.from_text(one.lowest), Reading.from_text(one.highest)
        )
        for one in facts.scales.values()
    )
    return NewThermometer(
        type=facts.type, scales=scales, site="", uses=facts.uses, adjusts=facts.adjusts, price=facts.price
    )


def next_tag_id(connection: Connection, site: SiteSet) -> str:
    """The first free number with the site's letters and a check character."""
    taken = {row.tag_id for row in queries.thermometers(connection)}
    n = 1
    while (found := tag_id_given(site.letters, n)) in taken:
        n += 1
    return found


def find(connection: Connection, tag_id: str) -> Thermometer:
    """By tag id, typed or scanned; refused where none bears it, or where two living ones do."""
    wanted = normal_tag_id(tag_id)
    # What can be no tag id is not looked for: it may hold what no database takes.
    rows = queries.thermometers_tagged(connection, wanted) if valid_tag_id(wanted) else []
    living = [row for row in rows if row.status not in ("retired", "lost")] or rows
    if not living:
        raise refuse("tag_id", "unknown_tag", value=tag_id)
    if len(living) > 1:
        raise refuse("tag_id", "two_bear_it", value=tag_id)
    return thermometer(connection, living[0].thermometer)


def thermometer(connection: Connection, thermometer_id: str) -> Thermometer:
    """One thermometer with everything that is known of it."""
    row = queries.thermometer(connection, thermometer_id)
    facts = queries.facts_of(connection, thermometer_id)
    if row is None or "facts" not in facts:
        raise refuse("thermometer", "unknown_thermometer")
    joined: PartsJoined | None = facts["parts"].payload if "parts" in facts else None
    certificate = facts.get("outside_certificate")
    what: ThermometerSet = facts["facts"].payload
    return Thermometer(
        row,
        what,
        resources.instrument_types()[what.type],
        joined,
        _standing_part(connection, joined.indicator if joined else None),
        _standing_part(connection, joined.sensor if joined else None),
        certificate.payload if certificate else None,
    )


def _standing_part(connection: Connection, part: str | None) -> PartSet | None:
    found = queries.facts_of(connection, part).get("part") if part else None
    return found.payload if found else None


def with_shared_parts(connection: Connection, of: Thermometer) -> dict[str, list[str]]:
    """The other thermometers that share the indicator or sensor of this one, by part."""
    mine = {part for part in (of.parts and of.parts.indicator, of.parts and of.parts.sensor) if part}
    shared: dict[str, list[str]] = defaultdict(list)
    for fact in queries.facts_named(connection, "parts", PartsJoined):
        for part in (fact.payload.indicator, fact.payload.sensor):
            if part in mine and fact.subject != of.row.thermometer:
                shared[part].append(fact.subject)
    return shared


# --- what becomes of it --------------------------------------------------------------------------------------


def amend(session: Session, actor: Actor, thermometer_id: str, changed: ThermometerSet, why: str) -> None:
    """State what it is anew: a wrong range, another condition; the earlier statement stays in its story."""
    _refuse_unknown_why(why, AMEND_WHY)
    if problems := _problems(_as_given(changed)):
        raise Refused(*problems)
    with session.recording(actor, "officer") as entries:
        _refuse_unknown(entries.connection, thermometer_id)
        state_once(entries, replace(changed, thermometer=thermometer_id, why=why))


def retag(session: Session, actor: Actor, thermometer_id: str, tag_id: str) -> None:
    wanted = normal_tag_id(tag_id)
    if not valid_tag_id(wanted):
        raise refuse("tag_id", "not_valid", value=tag_id)
    with session.recording(actor, "officer") as entries:
        _refuse_borne(entries.connection, wanted, thermometer_id)
        _refuse_unknown(entries.connection, thermometer_id)
        state_once(entries, TagIdSet(thermometer=thermometer_id, tag_id=wanted))


def _refuse_borne(connection: Connection, tag_id: str, by: str) -> None:
    """One that is lost keeps its tag id: it may be found with its label on."""
    for row in queries.thermometers_tagged(connection, tag_id):
        if row.thermometer != by and row.status != "retired":
            raise refuse("tag_id", "taken", value=tag_id)


def move(session: Session, actor: Actor, thermometer_id: str, site: str, station: str | None = None) -> None:
    """Move it to another site or station."""
    with session.recording(actor, "lead", "officer") as entries:
        if "site" not in queries.facts_of(entries.connection, site):
            raise refuse("site", "unknown", value=site)
        if station is not None:
            _refuse_unknown_station(entries.connection, site, station)
        _refuse_unknown(entries.connection, thermometer_id)
        state_once(entries, PlaceSet(thermometer=thermometer_id, site=site, station=station))


def _refuse_unknown(connection: Connection, thermometer_id: str) -> None:
    if queries.thermometer(connection, thermometer_id) is None:
        raise refuse("thermometer", "unknown_thermometer")


def _refuse_unknown_why(why: str | None, known: tuple[str, ...]) -> None:
    if why is not None and why not in known:
        raise refuse("why", "unknown", value=why)


def _refuse_unknown_station(connection: Connection, site: str, station: str) -> None:
    if station not in {one.subject for one in places.stations(connection, site)}:
        raise refuse("station", "unknown", value=station)


def take_out(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    why: str,
    check: str | None = None,
    give_to: str | None = None,
) -> None:
    """Take it out of use; it owes nothing until it is put back."""
    _refuse_unknown_why(why, STATUS_WHY)
    with session.recording(actor, "lead", "officer") as entries:
        found = thermometer(entries.connection, thermometer_id)
        if found.row.status == "retired":
            raise refuse("thermometer", "is_retired", value=found.tag_id)
        state_once(entries, TakenOut(thermometer=thermometer_id, why=why, check=check, give_to=give_to))


def set_status(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    status: str,
    why: str | None = None,
    only: str | None = None,
) -> None:
    """Put it back in service, limit its use, or say that it is lost or retired.

    Whoever comes back from being lost, out of use or retired is *check first* until it passes. Only an officer
    lifts a limit or brings a retired one back; put back by a lead, one whose use was limited is limited again.
    """
    if status not in STATUSES:
        raise refuse("status", "unknown", value=status)
    if (status == "limited_use") != (only is not None) or only not in (None, "cold", "hot"):
        raise refuse("only", "cold_or_hot")
    _refuse_unknown_why(why, STATUS_WHY)
    roles = ("lead", "officer") if status in ("in_service", "lost") else ("officer",)
    with session.recording(actor, *roles) as entries:
        found = thermometer(entries.connection, thermometer_id)
        before, back = found.row.status, status in ("in_service", "limited_use")
        if before == "retired" and status == "lost":
            raise refuse("thermometer", "is_retired", value=found.tag_id)
        if before in ("retired", "limited_use") and back and not actor.may("officer"):
            raise refuse("actor", "not_allowed", roles="officer")
        if back and before in AWAY:
            refuse_taken_tag(entries.connection, found)
        if status == "in_service" and not actor.may("officer"):
            only = limit_before(entries.connection, thermometer_id)
            status = "limited_use" if only else status
        what = _unsettled_by(entries.connection, found) if back else None
        said = state_once(entries, ServiceStatusSet(thermometer=thermometer_id, status=status, why=why, only=only))
        if said and what is not None:
            entries.add(IncidentReported(thermometer=thermometer_id, incident=session.new_id(), what=what))


def refuse_taken_tag(connection: Connection, of: Thermometer) -> None:
    """While it was away its tag id may have gone to another."""
    for row in queries.thermometers_tagged(connection, of.tag_id):
        if row.thermometer != of.row.thermometer and row.status not in ("retired", "lost"):
            raise refuse("tag_id", "taken", value=of.tag_id)


def limited_to(connection: Connection, thermometer_id: str) -> str | None:
    """The food alone that it may be used for, cold or hot; None where its use is not limited."""
    standing = queries.facts_of(connection, thermometer_id).get("service_status")
    only: str | None = getattr(standing.payload, "only", None) if standing else None
    return only


def limit_before(connection: Connection, thermometer_id: str) -> str | None:
    """What it was limited to before it went away, cold or hot; None where it was in service or retired."""
    for one in reversed(queries.entries_about(connection, thermometer_id)):
        said = one.payload
        if one.kind == "service_status_set" and said["status"] != "lost" and not said.get("past"):
            limit: str | None = said.get("only")
            return limit
    return None


def _unsettled_by(connection: Connection, of: Thermometer) -> str | None:
    """Why it has to be checked before it is used again: what it was taken out after, else that it was away.

    Put out because a check was outside, it was at hand all the while: a pass since then is enough.
    """
    standing = queries.facts_of(connection, of.row.thermometer).get("service_status")
    if of.row.status not in AWAY or standing is None:
        return None
    why = standing.payload.why
    if of.row.status == "out_of_use" and why == "outside" and (of.row.good_at or 0) > standing.at:
        return None
    return why if of.row.status == "out_of_use" and why in UNSETTLING else "found"


def change_sensor(
    session: Session, actor: Actor, thermometer_id: str, new: PartGiven, *, sensor: str | None = None
) -> None:
    """Another sensor on the same indicator: a new part, and an incident that asks for a check first.

    A second press with the same `sensor` id records once.
    """
    sensor = sensor or session.new_id()
    with session.recording(actor, "lead", "officer") as entries:
        found = thermometer(entries.connection, thermometer_id)
        if not found.type.sensor_parts:
            raise refuse("sensor", "does_not_part")
        if _standing_part(entries.connection, sensor) is not None:
            return
        entries.replace(_part(sensor, "sensor", new))
        entries.replace(
            PartsJoined(
                thermometer=thermometer_id,
                indicator=found.parts.indicator if found.parts else None,
                sensor=sensor,
                why="sensor_changed",
            )
        )
        entries.add(
            IncidentReported(thermometer=thermometer_id, incident=session.new_id(), what="sensor_changed", part=sensor)
        )


@dataclass(frozen=True, slots=True)
class OutsideCertificate:
    """A certificate from outside, as its page says; drift_allowance a year."""

    number: str
    issuer: str
    issued: date
    points: tuple[tuple[Reading, TemperatureDifference, TemperatureDifference, Decimal], ...]
    due: date | None = None
    drift_allowance: TemperatureDifference | None = None


def add_outside_certificate(session: Session, actor: Actor, thermometer_id: str, given: OutsideCertificate) -> None:
    """Make it a reference thermometer: its corrections at points, each (temperature, correction, U, k).

    What stands already is not said again: a second press.
    """
    problems = []
    if not given.number.strip() or not given.issuer.strip():
        problems.append(Problem("certificate_number", "empty"))
    if not given.points:
        problems.append(Problem("points", "empty"))
    if given.due is not None and given.due <= given.issued:
        problems.append(Problem("due", "before_issued"))
    for at, correction, expanded, k in given.points:
        if not (at.unit == correction.unit == expanded.unit and expanded.value >= 0 and k > 0):
            problems.append(Problem("points", "not_valid", {"value": at.text()}))
    if problems:
        raise Refused(*problems)
    with session.recording(actor, "officer") as entries:
        _refuse_unknown(entries.connection, thermometer_id)
        standing = queries.facts_of(entries.connection, thermometer_id).get("outside_certificate")
        certificate = OutsideCertificateSet(
            thermometer=thermometer_id,
            outside_certificate=standing.payload.outside_certificate if standing else session.new_id(),
            certificate_number=clean(given.number),
            issuer=clean(given.issuer),
            issued=given.issued.isoformat(),
            due=given.due.isoformat() if given.due else None,
            points=tuple(
                CertificatePoint(
                    temperature=at.text(),
                    correction=correction.text(),
                    expanded=expanded.text(),
                    k=f"{k:f}",
                )
                for at, correction, expanded, k in given.points
            ),
            drift_allowance=given.drift_allowance.text() if given.drift_allowance else None,
        )
        if standing is None or standing.payload.as_payload() != certificate.as_payload():
            entries.replace(replace(certificate, outside_certificate=session.new_id()))
