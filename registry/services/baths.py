"""Making a bath and judging it: one ice bath, boiling pot or comparison that one or more checks share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from types import MappingProxyType

from sqlalchemy import Connection

from registry import resources
from registry.compute import check, reference
from registry.compute.atmosphere import PRESSURE_GOOD_FOR, pressure_question
from registry.compute.atmosphere import PressureSource as PressureSource  # the window names it
from registry.compute.reference import Corrected, Reference
from registry.compute.uncertainty import resolution
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.records.baths import BathJudged, BathMade, Beside
from registry.records.places import SiteSet
from registry.records.thermometers import OutsideCertificateSet
from registry.services import rules, thermometers
from registry.services.problems import Problem, Refused, refuse
from registry.services.rules import RulesInForce
from registry.services.session import Actor, Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import BathView, CheckView, EntryView
from registry.store.transaction import Transaction

MOVED = 0.1  # °C: an error of a bath that moved by more is said again (judgement)
DAY_US = 86_400_000_000
MADE = {
    "ice_point": ("crushed_packed", "cubes_stirred", "cubes_careless", "slush_stirred"),
    "boiling_point": ("rolling_boil",),
    "comparison": ("hot_flask", "in_place"),
}
CONTAINERS = {
    "ice_point": ("bowl", "insulated_flask"),
    "boiling_point": ("metal_pot",),
    "comparison": ("insulated_flask", "metal_pot", "cup_beside_it", "in_its_place"),
}
JUDGED = ("accepted", "suspect", "condemned", "overruled")
DOUBTED = ("suspect", "condemned")
BY_DIAGNOSIS = "diagnose"
READ_IN_FOR_US = 2 * 3600 * 1_000_000  # how long a bath may be read in, from judgement


@dataclass(frozen=True, slots=True)
class NewBath:
    """What is said of a bath when it is made.

    pressure: as the source gives it; none for elevation alone. beside: tag ids of the reference thermometer(s) with
    what each shows. asked: codes of questions that the person answered with yes.
    """

    site: str
    point: str
    made: str
    container: str = ""
    pressure_source: PressureSource | None = None
    pressure: Pressure | None = None
    pressure_from: str = ""
    pressure_read_at: int | None = None
    beside: tuple[tuple[str, Reading], ...] = ()
    asked: frozenset[str] = frozenset()
    remade_from: str | None = None
    performed_at: int | None = None


def make_bath(session: Session, actor: Actor, new: NewBath, *, bath: str | None = None) -> str:
    """Record a bath with its reference temperature; returns its id. The same id twice records once.

    Refused: a container that superheats; a pressure too old, absent or out of range. Questioned (`asked` not
    holding the code): a pressure that is likelier to be of the other kind.
    """
    bath = bath or session.new_id()
    with session.recording(actor, "lead", "officer") as entries:
        if queries.bath(entries.connection, bath) is None:
            entries.add(_bath(session, entries.connection, bath, new))
    return bath


def _bath(session: Session, connection: Connection, bath: str, new: NewBath) -> BathMade:
    site_fact = queries.facts_of(connection, new.site).get("site")
    if site_fact is None:
        raise refuse("site", "unknown", value=new.site)
    site: SiteSet = site_fact.payload
    in_force = rules.rules_in_force(connection, new.site)
    made_at = session.clock() if new.performed_at is None else new.performed_at
    _refuse_unfit(session, new, made_at)
    container = new.container or CONTAINERS[new.point][0]
    beside: tuple[tuple[Beside, Corrected], ...] = ()
    if new.point == "ice_point":
        found = reference.ice_point(in_force.figure(f"bath.{new.made}"))
    elif new.point == "boiling_point":
        found = _boiling(site, in_force, new)
    else:
        today = day_at(made_at, site.zone)
        beside = tuple(_beside(session, connection, tag, shown, today, made_at) for tag, shown in new.beside)
        found = _comparison(connection, in_force, new, beside)
    source = _source(site, new) if new.point == "boiling_point" else None
    return BathMade(
        bath=bath,
        site=new.site,
        point=new.point,
        made=new.made,
        container=container,
        reference=f"{found.celsius:f} C",
        components={code: part.text() for code, part in found.components.items()},
        version=check.VERSION,
        figures=in_force.figures.set,
        dof=_dof(in_force, new.made),
        pressure_source=source.value if source else None,
        pressure=new.pressure.text() if source and new.pressure else None,
        pressure_from=new.pressure_from.strip() or None,
        pressure_read_at=(new.pressure_read_at or made_at) if source and new.pressure else None,
        station_pressure=None if found.station_pressure_pa is None else f"{found.station_pressure_pa:f} Pa",
        elevation=site.elevation if source else None,
        beside=tuple(one for one, _ in beside) or None,
        asked=tuple(sorted(new.asked)) or None,
        remade_from=new.remade_from,
        performed_at=new.performed_at,
    )


def _dof(in_force: RulesInForce, made: str) -> dict[str, str] | None:
    dof = in_force.bath_dof(made)
    return {"bath": f"{check.plain(dof):f}"} if isfinite(dof) else None


def _refuse_unfit(session: Session, new: NewBath, made_at: int) -> None:
    problems = []
    if new.point not in MADE:
        raise refuse("point", "unknown", value=new.point)
    if new.made not in MADE[new.point]:
        problems.append(Problem("made", "not_for_this_point", {"value": new.made}))
    known = resources.containers().get(new.container)
    if new.point == "boiling_point" and known is not None and not known.allowed:
        problems.append(Problem("container", f"refused_{known.why}"))
    elif new.container and new.container not in CONTAINERS[new.point]:
        problems.append(Problem("container", "unknown", {"value": new.container}))
    if made_at > session.clock():
        problems.append(Problem("performed_at", "in_the_future"))
    good_for = int(PRESSURE_GOOD_FOR.total_seconds() * 1e6)
    if new.pressure_read_at is not None and new.pressure_read_at > session.clock():
        problems.append(Problem("pressure_read_at", "in_the_future"))
    elif new.pressure_read_at is not None and abs(made_at - new.pressure_read_at) > good_for:
        problems.append(Problem("pressure_read_at", "too_old"))
    if problems:
        raise Refused(*problems)


def _source(site: SiteSet, new: NewBath) -> PressureSource:
    return new.pressure_source or PressureSource(site.pressure_source)


def _boiling(site: SiteSet, in_force: RulesInForce, new: NewBath) -> Reference:
    source, elevation = _source(site, new), Length.from_text(site.elevation).metres()
    if (new.pressure is None) != (source is PressureSource.ELEVATION):
        raise refuse("pressure", "needed" if new.pressure is None else "not_with_elevation_alone")
    typed = new.pressure.pascal() if new.pressure else None
    try:
        found = reference.boiling_point(
            source, typed, elevation, in_force.figure(f"bath.{new.made}"), in_force.pressure_figures()
        )
        mixed_up = typed is not None and pressure_question(typed, elevation, source.absolute)
    except ValueError:
        value = new.pressure.text() if new.pressure else site.elevation
        raise refuse("pressure", "out_of_range", value=value) from None
    if mixed_up and "pressure_kind" not in new.asked:
        raise refuse("pressure", "other_kind_is_likelier" if source.absolute else "room_is_likelier")
    return found


# --- comparison ----------------------------------------------------------------------------------------------


def _comparison(
    connection: Connection, in_force: RulesInForce, new: NewBath, beside: Sequence[tuple[Beside, Corrected]]
) -> Reference:
    counted = _refuse_reference(in_force, beside)
    steps = [_reading_u(connection, one) for one, _ in counted]
    return reference.comparison(
        [found for _, found in counted], in_force.figure(f"bath.{new.made}"), max(steps, default=0.0)
    )


def _refuse_reference(
    in_force: RulesInForce, beside: Sequence[tuple[Beside, Corrected]]
) -> Sequence[tuple[Beside, Corrected]]:
    """What may serve as the reference: those with an outside certificate, else two digitals; they have to agree."""
    if not beside:
        raise refuse("beside", "needed")
    if len({one.thermometer for one, _ in beside}) != len(beside):
        raise refuse("beside", "two_for_a_house_reference")
    shown = [found.celsius for _, found in beside]
    apart = max(shown) - min(shown)
    if apart > Fraction(str(in_force.figure("trust.house_reference_agree"))):
        raise refuse("beside", "house_reference_disagrees", value=f"{float(apart):.1f}")
    certified = [(one, found) for one, found in beside if one.outside_certificate is not None]
    if not certified and len(beside) != 2:
        raise refuse("beside", "two_for_a_house_reference")
    return certified or beside


def _reading_u(connection: Connection, beside: Beside) -> float:
    of = thermometers.thermometer(connection, beside.thermometer)
    unit = Reading.from_text(beside.shown).unit
    u = resolution(float(of.step_as_read(unit)))
    return u if unit == "C" else u * 5 / 9


def _beside(
    session: Session, connection: Connection, tag: str, shown: Reading, today: date, made_at: int
) -> tuple[Beside, Corrected]:
    """A reference thermometer and its corrected reading: by its outside certificate, else by today's check."""
    of = thermometers.find(connection, tag)
    if of.row.check_first or of.row.status != "in_service":
        raise refuse("beside", "reference_not_in_service", value=of.tag_id)
    if of.outside_certificate is not None:
        _refuse_changed_since(connection, of)
        found = _by_certificate(of.outside_certificate, of.tag_id, shown, today)
        return (
            Beside(
                thermometer=of.row.thermometer,
                shown=shown.text(),
                correction=found.correction.text(),
                outside_certificate=of.outside_certificate.outside_certificate,
            ),
            found,
        )
    trusted = _trusted_check(session, connection, of, made_at)
    from registry.services import tracking  # late: the first list does without it, and it takes 20 ms

    known = tracking.tracked(session, connection, [of])[of.row.thermometer]
    if not known.trusted(made_at, float(shown.celsius())):
        raise refuse("beside", "not_trusted", value=of.tag_id)
    return (
        Beside(thermometer=of.row.thermometer, shown=shown.text(), check=trusted.check),
        _by_own_check(connection, of, trusted, shown),
    )


def _refuse_changed_since(connection: Connection, of: Thermometer) -> None:
    """An outside certificate speaks of the thermometer as it was: adjusted or repaired since, it is another."""
    assert of.outside_certificate is not None
    issued = datetime.fromisoformat(of.outside_certificate.issued).replace(tzinfo=UTC).timestamp() * 1e6 + DAY_US
    changes = ("sensor_changed", "opened", "bent", "water_inside")
    events = queries.events_of(connection, of.row.thermometer, ("incident_reported",), since=int(issued))
    adjusted = of.row.adjusted_at is not None and of.row.adjusted_at > issued
    if adjusted or any(one.detail in changes and not one.voided for one in events):
        raise refuse("beside", "changed_since_certified", value=of.tag_id)


def _by_certificate(certificate: OutsideCertificateSet, tag_id: str, shown: Reading, today: date) -> Corrected:
    points = [
        reference.CertificatePoint(
            float(Reading.from_text(point.temperature).celsius()),
            _celsius(point.correction),
            _celsius(point.expanded) / float(point.k),
        )
        for point in certificate.points
    ]
    try:
        return reference.corrected(
            shown,
            points,
            date.fromisoformat(certificate.issued),
            date.fromisoformat(certificate.due) if certificate.due else None,
            today,
            _celsius(certificate.drift_allowance) if certificate.drift_allowance else 0.0,
        )
    except ValueError:
        raise refuse("beside", "outside_certificate_range", value=tag_id) from None


def _celsius(text: str) -> float:
    return float(Fraction(TemperatureDifference.from_text(text).to("C").value))


def _trusted_check(session: Session, connection: Connection, of: Thermometer, made_at: int) -> CheckView:
    """A digital's pass in a judged bath today, which the house reference rests on."""
    if not of.type.digital:
        raise refuse("beside", "house_reference_of_digitals", value=of.tag_id)
    recent = queries.checks_of(connection, of.row.thermometer, since=made_at - DAY_US, newest=20)
    good = [one for one in recent if one.outcome == "pass" and not one.voided and one.bath is not None]
    if not good:
        raise refuse("beside", "not_passed_today", value=of.tag_id)
    return good[-1]


def _by_own_check(connection: Connection, of: Thermometer, trusted: CheckView, shown: Reading) -> Corrected:
    """A house reference is taken as it reads; its last offset and scale term stay in the uncertainty."""
    assert trusted.offset is not None
    assert trusted.u is not None
    said = queries.entry_at(connection, trusted.chain_no, trusted.seq).payload
    checked_at = float(said.get("exact", "0 C").split()[0])
    scale = of.type.scale_share.value * abs(float(shown.celsius()) - checked_at)
    u = (_celsius(trusted.u) ** 2 + scale**2 + _celsius(trusted.offset) ** 2 / 3) ** 0.5
    return Corrected(shown.celsius(), TemperatureDifference(Decimal(0), "C"), u, 0.0)


def read_beside(
    session: Session, connection: Connection, bath: EntryView, pairs: Sequence[tuple[str, Reading]], at: int
) -> tuple[tuple[Beside, ...], Decimal]:
    """Reference thermometers read at the same moment as a reading: what they showed, and the reference then, °C.

    The water of a flask cools and a cold room swings, so each reading may bring its own reference.
    """
    site: SiteSet = queries.facts_of(connection, bath.payload["site"])["site"].payload
    today = day_at(at, site.zone)
    found = [_beside(session, connection, tag, shown, today, at) for tag, shown in pairs]
    if {one.thermometer for one, _ in found} != {one["thermometer"] for one in bath.payload.get("beside", ())}:
        raise refuse("beside", "not_the_baths")
    counted = _refuse_reference(rules.rules_in_force(connection, bath.payload["site"]), found)
    return tuple(one for one, _ in found), reference.mean([one.celsius for _, one in counted])


# --- judging -------------------------------------------------------------------------------------------------


def made(connection: Connection, bath: str) -> EntryView:
    """The entry that made a bath."""
    found = queries.bath(connection, bath)
    if found is None:
        raise refuse("bath", "unknown_bath")
    return queries.entry_at(connection, found.chain_no, found.seq)


def open_baths(session: Session, connection: Connection, site: str) -> list[BathView]:
    """A site's baths of the last day that nobody has judged, the newest first."""
    return queries.baths_at(connection, site, since=session.clock() - DAY_US, judged=False)


def read_on_in(session: Session, connection: Connection, site: str) -> list[BathView]:
    """The bath made last at a site, where the diagnosis alone has judged it and it may still be read in; or none.

    An earlier one is not meant once another was made, whatever became of that; nor one of a shift closed since.
    """
    newest = queries.baths_at(connection, site, since=session.clock() - READ_IN_FOR_US)[:1]
    return [
        one
        for one in newest
        if _judged_by(connection, one.bath) == BY_DIAGNOSIS and not _closed_since(connection, site, one.at)
    ]


def _closed_since(connection: Connection, site: str, at: int) -> bool:
    """Whether a shift of a site was closed after an instant."""
    closed = [one for one in queries.events_of_kind(connection, "shift_closed", since=at) if not one.voided]
    return any(queries.entry_at(connection, one.chain_no, one.seq).payload["site"] == site for one in closed)


def _judged_by(connection: Connection, bath: str) -> str:
    standing = queries.facts_of(connection, bath).get("judgement")
    return standing.payload.judged_by if standing is not None else ""


@dataclass(frozen=True, slots=True)
class Diagnosed:
    """What the diagnosis of a bath found, as it is recorded; °C.

    error: the bath's; added_u: what it adds to each uncertainty. out: checks that fail whatever the bath. prior: what
    was believed before, by code. trusted: thermometers that it rested on.
    """

    judged: str
    error: TemperatureDifference
    added_u: TemperatureDifference
    out: tuple[str, ...]
    prior: Mapping[str, TemperatureDifference]
    trusted: tuple[str, ...]
    version: int


def judge_bath(
    session: Session,
    actor: Actor,
    bath: str,
    judged: str,
    *,
    why: str | None = None,
    by: str = "person",
    found: Diagnosed | None = None,
) -> dict[str, str]:
    """Judge a bath: accepted, condemned, or overruled with a reason; says the outcome each check then has.

    A condemned bath decides nothing: its checks wait for another. Only who was out whatever the bath, as `found` or as
    it stands recorded, stays failed until a good check says otherwise (`bath_watch.condemn` finds it). Only the
    diagnosis calls one suspect. The same said again by the same person, nothing having come since, records once.
    """
    if judged not in JUDGED or judged == "suspect":
        raise refuse("judged", "unknown", value=judged)
    if judged == "overruled" and not why:
        raise refuse("why", "needed")
    with session.recording(actor, "lead", "officer") as entries:
        standing = queries.facts_of(entries.connection, bath).get("judgement")
        if by == "closing" and standing is not None:  # a person was quicker
            before: BathJudged = standing.payload
            return before.outcomes
        said = _judgement(entries.connection, bath, judged, why, by)
        if judged == "condemned" and found is not None:
            said = _diagnosed(said, found)
        elif judged == "condemned" and standing is not None and standing.payload.judged in DOUBTED:
            said = _as_before(said, standing.payload)
        if not _said_already(entries.connection, said, actor.person):
            entries.replace(said)
        return said.outcomes


def judge_by_diagnosis(session: Session, actor: Actor, bath: str, found: Diagnosed) -> bool:
    """Record what the diagnosis found, unless a person has judged the bath or this stands already; whether it was."""
    with session.recording(actor, "lead", "officer") as entries:
        standing = queries.facts_of(entries.connection, bath).get("judgement")
        if standing is not None and standing.payload.judged_by != BY_DIAGNOSIS:
            return False
        said = _diagnosed(_judgement(entries.connection, bath, found.judged, None, BY_DIAGNOSIS), found)
        if standing is not None and _alike(standing.payload, said):
            return False
        entries.replace(said)
        return True


def _diagnosed(said: BathJudged, found: Diagnosed) -> BathJudged:
    """A judgement with what the diagnosis found; in a bath that does not count only those fail that are out even so."""
    return replace(
        said,
        version=found.version,
        error=found.error.text(),
        added_u=found.added_u.text(),
        prior={code: part.text() for code, part in found.prior.items()},
        trusted=tuple(sorted(found.trusted)) or None,
        outcomes=dict.fromkeys(found.out, "fail") if said.judged in DOUBTED else said.outcomes,
    )


def _as_before(said: BathJudged, before: BathJudged) -> BathJudged:
    """A judgement with what the one before it found, and in a bath that does not count with its fails."""
    return replace(
        said,
        version=before.version,
        error=before.error,
        added_u=before.added_u,
        prior=before.prior,
        trusted=before.trusted,
        outcomes=before.outcomes if before.judged in DOUBTED else said.outcomes,
    )


def _alike(before: BathJudged, now: BathJudged) -> bool:
    """Whether nothing changed that decides something: figures that moved a little are not said again."""
    told = [(one.judged, one.outcomes, one.as_left, one.trusted) for one in (before, now)]
    moved = abs(_celsius(before.error or "0 dC") - _celsius(now.error or "0 dC"))
    return told[0] == told[1] and moved <= MOVED


def _said_already(connection: Connection, said: BathJudged, by: str) -> bool:
    """Whether this is what stands, word for word, and from the same person."""
    standing = queries.facts_of(connection, said.bath).get("judgement")
    if standing is None or standing.concurrent:
        return False
    return standing.by == by and replace(standing.payload, clock_behind_us=None) == said


def _judgement(
    connection: Connection,
    bath: str,
    judged: str,
    why: str | None,
    by: str,
    new_check: Mapping[str, str] = MappingProxyType({}),
    new_as_left: Mapping[str, str] = MappingProxyType({}),
) -> BathJudged:
    if queries.bath(connection, bath) is None:
        raise refuse("bath", "unknown_bath")
    counts = judged in ("accepted", "overruled")
    outcomes = {one.check: one.given for one in queries.checks_in(connection, bath)} | dict(new_check)
    as_left = {one.adjustment: one.given for one in queries.adjustments_in(connection, bath)} | dict(new_as_left)
    return BathJudged(
        bath=bath,
        judged=judged,
        judged_by=by,
        outcomes=_decided(outcomes) if counts else {},
        as_left=(_decided(as_left) if counts else {}) or None,
        why=why,
    )


def _decided(outcomes: Mapping[str, str | None]) -> dict[str, str]:
    """What waits is left out: an adjustment not measured, a check that cannot decide."""
    return {one: outcome for one, outcome in outcomes.items() if outcome and outcome != "cannot_decide"}


def judge_again(
    entries: Transaction,
    bath: str,
    *,
    check: Mapping[str, str] = MappingProxyType({}),
    as_left: Mapping[str, str] = MappingProxyType({}),
) -> None:
    """A check or adjustment just added to a bath already judged is judged as the bath was."""
    standing = queries.facts_of(entries.connection, bath).get("judgement")
    if standing is not None:
        before: BathJudged = standing.payload
        said = _judgement(entries.connection, bath, before.judged, before.why, before.judged_by, check, as_left)
        entries.replace(_as_before(said, before))  # until the diagnosis looks again, nobody else fails in one in doubt
