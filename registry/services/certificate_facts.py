"""What a certificate's page says, from the entries that it rests on."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from sqlalchemy import Connection

from registry.compute.atmosphere import PressureSource, pressure_at_elevation
from registry.compute.check import plain
from registry.compute.conformity import conformance_probability
from registry.compute.schedule import RULES
from registry.compute.uncertainty import Component, standard_uncertainty
from registry.documents.facts import (
    Adjustment,
    BathFacts,
    CertificateFacts,
    Earlier,
    LimitFacts,
    Measured,
    MethodFacts,
    OutsidePoint,
    PageFacts,
    PeopleFacts,
    PersonFacts,
    PointResult,
    PressureFacts,
    ProofFacts,
    ReferenceFacts,
    ScaleFacts,
    StandingFacts,
    Superseded,
    ThermometerFacts,
)
from registry.journal import receipt, signing
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.records.places import SiteSet
from registry.records.rules import GroupSet, RuleSet, Tolerance, ToleranceSet
from registry.services import (
    baths,
    certificate_history,
    certificate_reach,
    people,
    places,
    thermometers,
)
from registry.services.history import last_adjustment
from registry.services.session import Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import certificates as store
from registry.store import queries
from registry.store.certificates import Measured as Made
from registry.store.queries import AdjustmentView, CheckView, EntryView, Fact
from registry.wording import say

WHY_DUE = RULES | {"check_first"}
JUDGED = ("accepted", "overruled")  # what a bath is judged as whose checks a certificate may be of
Doubt = Literal["", "counts_no_more", "bath_in_doubt"]


def of_entry(session: Session, connection: Connection, entry: EntryView) -> CertificateFacts:
    """Everything that a certificate's page says, from the entries that it rests on."""
    said = entry.payload
    of = thermometers.thermometer(connection, entry.subject)
    views = [view for one in said["checks"] if (view := queries.check(connection, one)) is not None]
    entries = [queries.entry_at(connection, view.chain_no, view.seq) for view in views]
    site = site_of(connection, entry)
    group = session.group(connection)
    return CertificateFacts(
        page=PageFacts(
            language=said["language"],
            region=said["region"],
            zone=site.payload.zone,
            paper=said["paper"],
            owner=group.payload.name,
            site=", ".join(part for part in (site.payload.name, site.payload.address) if part),
            units=("F", "C") if said["unit"] == "F" else ("C",),
            demo=session.demo,
            superseded=superseded(connection, entry, site.payload.zone),
            logo=queries.document(connection, said["logo"]) if "logo" in said else None,
        ),
        thermometer=_thermometer_facts(connection, of),
        results=tuple(
            _point_result(connection, of, view, check, entry.at) for view, check in zip(views, entries, strict=True)
        ),
        methods=_methods(connection, group.subject, entries, said["language"]),
        people=_people_facts(connection, entry, entries, views),
        proof=_proof(connection, entry, views),
        reach=certificate_reach.facts(connection, said, of, day_at(entry.at, site.payload.zone)),
        why_now=_why_now(entries[0], said["language"]),
        standing=_standing_facts(said),
        earlier=_earlier(connection, entry, site.payload.zone),
        history=certificate_history.facts(connection, entry, views),
        components=tuple(
            sorted({code for view, one in zip(views, entries, strict=True) for code in _codes(connection, view, one)})
        ),
    )


def _why_now(check: EntryView, language: str) -> str:
    """Why it was due, where the check says."""
    reason = check.payload.get("reason")
    return say(f"certificate.why.{reason}", language) if reason in WHY_DUE else ""


def _standing_facts(said: dict[str, Any]) -> StandingFacts | None:
    """As recorded at the issue; an entry of a time when it was not recorded says nothing of it."""
    outside = tuple(
        OutsidePoint(point=one["point"], outcome=one["outcome"], day=date.fromisoformat(one["day"]))
        for one in said.get("outside", ())
    )
    if "status" not in said and not outside:
        return None
    return StandingFacts(status=said.get("status", ""), only=said.get("only", ""), outside=outside)


def superseded(connection: Connection, entry: EntryView, zone: str) -> Superseded | None:
    """What was said of a certificate later, or of what it rests on; the gravest of it."""
    amended = None
    for event in queries.events_of(connection, entry.subject, ("certificate_issued", "certificate_withdrawn")):
        if event.voided or event.hash == entry.hash:
            continue
        later = queries.entry_at(connection, event.chain_no, event.seq)
        day = day_at(later.at, zone)
        if entry.hash in later.after:
            kind: Literal["withdrawn", "superseded"] = (
                "withdrawn" if later.kind == "certificate_withdrawn" else "superseded"
            )
            return Superseded(number=later.number, day=day, kind=kind)
        if later.payload.get("amends") == entry.payload["certificate"]:
            amended = Superseded(number=later.number, day=day, kind="amended")
    found = doubt(entry.payload, store.measured(connection, entry.payload["checks"]))
    return Superseded(number=entry.number, day=day_at(entry.at, zone), kind=found) if found else amended


def doubt(said: dict[str, Any], made: Iterable[Made]) -> Doubt:
    """What has become of that which a certificate rests on: made void, or its bath judged otherwise.

    said: what its issue says; made: its checks and their adjustments, as they count now.
    """
    rests_on = [one for one in made if one.hash in said["rests_on"]]
    judged = {one.judged for one in rests_on if one.bath is not None}
    if any(one.voided for one in rests_on) or not judged <= {*JUDGED, "suspect"}:
        return "counts_no_more"
    return "bath_in_doubt" if "suspect" in judged else ""


def _earlier(connection: Connection, entry: EntryView, zone: str) -> Earlier | None:
    """The certificate that this one replaces or amends."""
    said = entry.payload
    wanted = said.get("replaces") or said.get("amends")
    if wanted is None:
        return None
    for event in queries.events_of(connection, entry.subject, ("certificate_issued",)):
        before = queries.entry_at(connection, event.chain_no, event.seq)
        if before.payload["certificate"] == wanted:
            what = say(f"certificate.change.{said['change']}", said["language"]) if "amends" in said else ""
            return Earlier(number=before.number, day=day_at(before.at, zone), what=what)
    return None


def site_of(connection: Connection, entry: EntryView) -> Fact[SiteSet]:
    """Where the checks of a certificate were made."""
    view = queries.check(connection, entry.payload["checks"][0])
    bath = view.bath if view is not None else None
    return places.site_named_by_id(connection, baths.made(connection, bath or "").payload["site"])


def _codes(connection: Connection, view: CheckView, check: EntryView) -> set[str]:
    return {*check.payload["components"], *baths.made(connection, view.bath or "").payload["components"]}


def _thermometer_facts(connection: Connection, of: Thermometer) -> ThermometerFacts:
    station = queries.facts_of(connection, of.row.station).get("station") if of.row.station else None
    sensor = of.sensor
    probe = ", ".join(part for part in (sensor.maker, sensor.model, sensor.serial) if part) if sensor else ""
    return ThermometerFacts(
        tag_id=of.tag_id,
        type=of.type.code,
        adjustable=bool(of.adjustments),
        scales=tuple(
            ScaleFacts(
                step=TemperatureDifference.from_text(one.step),
                lowest=Reading.from_text(one.lowest),
                highest=Reading.from_text(one.highest),
            )
            for one in of.facts.scales.values()
        ),
        maker=of.maker,
        model=of.model,
        serial=of.serial,
        probe=probe,
        condition=of.facts.condition or "",
        station=station.payload.name if station else "",
        in_use_since=date.fromisoformat(of.facts.in_use_since) if of.facts.in_use_since else None,
    )


def _point_result(
    connection: Connection, of: Thermometer, view: CheckView, check: EntryView, until: int
) -> PointResult:
    """What was found at a point. until: of the issue; what happened after it is on no page."""
    left = last_adjustment(connection, view)
    adjustment = None
    if left is not None:
        entry = queries.entry_at(connection, left.chain_no, left.seq)
        adjustment = Adjustment(
            how=entry.payload["how"],
            at=left.at,
            as_left=_measured(connection, of, entry, "as_left", _as_left_outcome(left))
            if "as_left" in entry.payload
            else None,
        )
    return PointResult(
        point=view.point,
        check_number=check.number,
        as_found=_measured(connection, of, check, "as_found", view.outcome or ""),
        adjustment=adjustment,
        turned_since=_turned_since(connection, view, left.at if left is not None else view.at, until),
    )


def _turned_since(connection: Connection, view: CheckView, read_at: int, until: int) -> int | None:
    """When another check last had it adjusted after it was read here: that moves the whole scale."""
    turned = queries.adjustments_of(connection, view.thermometer)
    later = [one.at for one in turned if one.check != view.check and not one.voided and read_at < one.at <= until]
    return max(later, default=None)


def _as_left_outcome(left: AdjustmentView) -> str:
    """What was read and has no outcome (its bath decides nothing for it) is printed as undecided, not as unread."""
    return left.outcome or "cannot_decide"


def _measured(
    connection: Connection,
    of: Thermometer,
    entry: EntryView,
    role: Literal["as_found", "as_left"],
    outcome: str,
) -> Measured:
    said = entry.payload
    offset, u, tolerance = (TemperatureDifference.from_text(said[key]) for key in ("offset", "u", "tolerance"))
    k = Decimal(said["k"])
    return Measured(
        readings=tuple(map(Reading.from_text, said[role])),
        reference=Reading.from_text(said["reference"]),
        offset=offset,
        outcome=outcome,
        at=entry.done_at,
        bath=_bath_facts(connection, said["bath"]),
        limits=_limit_facts(connection, of, said),
        expanded=TemperatureDifference(plain(Fraction(u.value) * Fraction(k)), u.unit),
        k=k,
        chance=conformance_probability(float(offset.value), float(u.value), float(tolerance.value)),
        bias=TemperatureDifference.from_text(said["bias"]) if "bias" in said else None,
    )


def _bath_facts(connection: Connection, bath: str) -> BathFacts:
    entry = baths.made(connection, bath)
    said = entry.payload
    view = queries.bath(connection, bath)
    parts = [
        Component(code, float(TemperatureDifference.from_text(text).value)) for code, text in said["components"].items()
    ]
    judged: Any = view.judged if view else "accepted"
    return BathFacts(
        number=entry.number,
        point=said["point"],
        made=said["made"],
        u=TemperatureDifference(plain(standard_uncertainty(parts)), "C"),
        judged=judged,
        others=max(len({one.thermometer for one in queries.checks_in(connection, bath)}) - 1, 0),
        pressure=_pressure_facts(said, entry.done_at) if said["point"] == "boiling_point" else None,
        references=tuple(_reference_facts(connection, one, entry) for one in said.get("beside", ())),
    )


def _pressure_facts(said: dict[str, Any], made_at: int) -> PressureFacts:
    from_where = said.get("pressure_from", "")
    in_the_room = PressureSource(said["pressure_source"]).absolute
    elevation = Length.from_text(said["elevation"])
    usual = Decimal(round(pressure_at_elevation(elevation.metres()) / 10)) / 10
    return PressureFacts(
        source=said["pressure_source"],
        station=_in_hpa(Pressure.from_text(said["station_pressure"])),
        elevation=elevation,
        usual=Pressure(usual, "hPa"),
        stated=Pressure.from_text(said["pressure"]) if "pressure" in said else None,
        barometer=from_where if in_the_room else "",
        place="" if in_the_room else from_where,
        read_at=said.get("pressure_read_at", made_at),
    )


def _in_hpa(pressure: Pressure) -> Pressure:
    return Pressure(Decimal(round(pressure.pascal() / 10)) / 10, "hPa")


def _reference_facts(connection: Connection, beside: dict[str, Any], bath: EntryView) -> ReferenceFacts:
    of = thermometers.thermometer(connection, beside["thermometer"])
    wanted = beside.get("outside_certificate")
    found = next(
        (
            one.payload
            for one in queries.entries_about(connection, beside["thermometer"])
            if wanted and one.payload.get("outside_certificate") == wanted
        ),
        None,
    )
    if found is None:
        return ReferenceFacts(tag_id=of.tag_id)
    due = found.get("due")
    zone = places.site_named_by_id(connection, bath.payload["site"]).payload.zone
    return ReferenceFacts(
        tag_id=of.tag_id,
        certificate_number=found["certificate_number"],
        issuer=found["issuer"],
        issued=date.fromisoformat(found["issued"]),
        past_due=due is not None and day_at(bath.done_at, zone) > date.fromisoformat(due),
    )


def _rule_entry(connection: Connection, said: dict[str, Any], key: str) -> EntryView:
    """The entry of the rule version that a check names."""
    group = queries.facts_named(connection, "group", GroupSet)[0].subject
    return next(one for one in queries.entries_about(connection, group) if one.payload.get("set") == said[key])


def _limit_facts(connection: Connection, of: Thermometer, said: dict[str, Any]) -> LimitFacts:
    tolerances = ToleranceSet.from_payload(_rule_entry(connection, said, "tolerances").payload)
    rule_entry = _rule_entry(connection, said, "rule")
    rule = RuleSet.from_payload(rule_entry.payload)
    tolerance = TemperatureDifference.from_text(said["tolerance"])
    used = _tolerance_used(tolerances, of, tolerance)
    return LimitFacts(
        tolerance=tolerance,
        tolerance_class=used.class_ if used else of.facts.class_ or of.type.tolerance_class,
        scale=used.scale if used else of.scale,
        rule_number=rule_entry.number,
        since=date.fromisoformat(rule.since),
        source=", ".join(part for part in (used.source, used.place) if part) if used else "",
        decision=said["decision"],
    )


def _tolerance_used(tolerances: ToleranceSet, of: Thermometer, tolerance: TemperatureDifference) -> Tolerance | None:
    """The row that the check was judged by: its number as frozen; of equal ones the thermometer's own class and scale.

    The thermometer's facts may have changed since, so they alone would name another row.
    """
    own = (of.facts.class_ or of.type.tolerance_class, of.scale)
    same = [one for one in tolerances.tolerances if TemperatureDifference.from_text(one.tolerance) == tolerance]
    return max(same, key=lambda one: (one.class_ == own[0], one.scale == own[1]), default=None)


def _methods(connection: Connection, group: str, checks: Sequence[EntryView], language: str) -> tuple[MethodFacts, ...]:
    found: dict[str, MethodFacts] = {}
    for check in checks:
        said = _rule_entry(connection, check.payload, "method").payload
        found[said["set"]] = MethodFacts(
            name=say(f"method.name.{said['method']}", language),
            edition=said["edition"],
            steps=said["steps"].get(language, ""),
        )
    return tuple(found.values())


def _people_facts(
    connection: Connection, entry: EntryView, checks: Sequence[EntryView], views: Sequence[CheckView]
) -> PeopleFacts:
    known = {one.person: one for one in people.people(connection)}

    def person(person_id: str) -> PersonFacts:
        one = known.get(person_id)
        return PersonFacts(
            name=one.name if one else "",
            initials=one.initials if one else "",
            role=one.roles[0] if one and one.roles else "",
        )

    done_by = checks[-1].payload.get("done_by")
    recorded = []
    for view, check in zip(views, checks, strict=True):
        recorded.append(check.at)
        left = last_adjustment(connection, view)
        entered = queries.entry_at(connection, left.chain_no, left.seq) if left is not None else None
        if entered is not None and "as_left" in entered.payload:
            recorded.append(entered.at)
    recheck = entry.payload.get("recheck_by")
    return PeopleFacts(
        checked_by=person(done_by or checks[-1].by),
        recorded_at=tuple(recorded),
        issued_at=entry.at,
        keyed_by=person(checks[-1].by) if done_by and done_by != checks[-1].by else None,
        reviewed_by=person(entry.payload["reviewed_by"]) if "reviewed_by" in entry.payload else None,
        recheck_by=date.fromisoformat(recheck) if recheck else None,
    )


def _proof(connection: Connection, entry: EntryView, views: Sequence[CheckView]) -> ProofFacts:
    chain, entry_hash = bytes.fromhex(entry.chain), bytes.fromhex(entry.hash)
    turned = queries.adjustments_of(connection, entry.subject)
    in_baths = [*(one.bath for one in views), *(one.bath for one in turned)]
    subjects = {entry.subject, *(bath for bath in in_baths if bath is not None)}
    texts = [entry.text.encode()]
    texts += [one.text.encode() for one in queries.entries_hashed(connection, entry.payload["rests_on"], subjects)]
    return ProofFacts(
        number=entry.number,
        entry_hash=entry.hash,
        key_fingerprint=signing.fingerprint(chain).hex(),
        receipt=receipt.receipt_text(chain, entry.seq, entry_hash, entry.signature or b""),
        entries=tuple(texts),
    )
