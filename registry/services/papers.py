"""Certificates and tags: issued from judged checks only, drawn outside any transaction, kept as they were drawn."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from sqlalchemy import Connection

from registry.compute.atmosphere import PressureSource, pressure_at_elevation
from registry.compute.check import plain
from registry.compute.conformity import conformance_probability
from registry.compute.uncertainty import Component, standard_uncertainty
from registry.documents.facts import (
    Adjustment,
    BathFacts,
    CannotPrint,
    CertificateFacts,
    IdentityFacts,
    LimitFacts,
    Measured,
    MethodFacts,
    OutsidePoint,
    PageFacts,
    Paper,
    PeopleFacts,
    PersonFacts,
    PointResult,
    PressureFacts,
    ProofFacts,
    ReferenceFacts,
    ScaleFacts,
    StandingFacts,
    StatusFacts,
    Superseded,
    ThermometerFacts,
)
from registry.journal import receipt, signing
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.records.outcomes import OUTSIDE
from registry.records.papers import CertificateIssued, CertificateWithdrawn, DocumentStored, StillOutside
from registry.records.rules import GroupSet, RuleSet, Tolerance, ToleranceSet
from registry.records.thermometers import TagPrinted
from registry.services import baths, certificate_reach, duelist, people, places, tag_reach, thermometers
from registry.services.history import last_adjustment
from registry.services.points_now import points_now
from registry.services.problems import refuse
from registry.services.reach import Reach
from registry.services.session import Actor, Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import AdjustmentView, CheckView, EntryView
from registry.wording import say

VERSION = 1
JUDGED = ("accepted", "overruled")
MEDIA = "application/pdf"


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate as kept: its number and, once drawn, its bytes."""

    number: str
    certificate: str
    thermometer: str
    issued_at: int
    entry_hash: str
    sha256: str | None
    replaced: bool


# --- issuing -------------------------------------------------------------------------------------------------


def issue_certificate(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    *,
    checks: Sequence[str] = (),
    language: str | None = None,
    paper: Paper | None = None,
    replaces: str | None = None,
    certificate: str | None = None,
) -> Issued:
    """Issue a certificate of judged checks (the latest at each point of the last day, where none are named).

    Two entries: the issue, whose hash and signature the page shows, and the stored page. A crash between them is
    mended at the next start (`store_missing`). Refused while a check waits for its bath. A second press with the same
    `certificate` id issues once.
    """
    with session.reading() as connection:
        before = [one for one in issued(connection, thermometer_id) if one.certificate == certificate]
    if before:
        found = before[0]
        return found if found.sha256 is not None else _store_page(session, actor, found.entry_hash, thermometer_id)
    with session.recording(actor, "lead", "officer") as entries:
        connection = entries.connection
        of = thermometers.thermometer(connection, thermometer_id)
        group = session.group(connection).payload
        views = _chosen(connection, thermometer_id, checks)
        old = _find_issued(connection, thermometer_id, replaces) if replaces else None
        reached = certificate_reach.to_issue(session, connection, of)
        status, only = _service_status(connection, of)
        entry = entries.add(
            CertificateIssued(
                thermometer=thermometer_id,
                certificate=certificate or session.new_id(),
                checks=tuple(one.check for one in views),
                rests_on=tuple(_rests_on(connection, views)),
                language=language or group.language,
                region=region_for(group, language or group.language),
                unit=group.unit,
                paper=paper or group.paper,
                version=VERSION,
                recheck_by=_iso(duelist.recheck_by(session, connection, of.row)),
                limits=reached[0] if reached else None,
                reach=reached[1] if reached else None,
                status=status,
                only=only,
                outside=tuple(_still_outside(connection, of, views)) or None,
                replaces=old.payload["certificate"] if old else None,
            ),
            after=(old.hash,) if old else (),
            issues=True,
        )
    return _store_page(session, actor, entry.hash.hex(), thermometer_id)


def region_for(group: GroupSet, language: str) -> str:
    """The group's region; for a page in another language that language as written in the group's country."""
    if group.region.startswith(f"{language}_"):
        return group.region
    from babel.localedata import exists  # late: most pages are in the group's language

    wanted = f"{language}_{group.country}"
    return wanted if exists(wanted) else group.region


def page_facts(
    session: Session, group: GroupSet, site: Sequence[str | None], language: str, zone: str, paper: Paper | None
) -> PageFacts:
    """Whose page it is and how it is written, for what is drawn anew each time. site: its name, then its address."""
    return PageFacts(
        language=language,
        region=region_for(group, language),
        zone=zone,
        paper=paper or ("letter" if group.paper == "letter" else "a4"),
        owner=group.name,
        site=", ".join(part for part in site if part),
        demo=session.demo,
    )


@contextmanager
def _refusing() -> Iterator[None]:
    """A page that cannot be drawn is refused with what stands in its way: a character, a name too long."""
    try:
        yield
    except CannotPrint as problem:
        raise refuse("page", problem.code, **problem.values) from None


def _chosen(connection: Connection, thermometer_id: str, wanted: Sequence[str]) -> list[CheckView]:
    """The checks a certificate is of, in time order; refused where one is void, another's, or waits."""
    if wanted:
        views = [view for one in wanted if (view := queries.check(connection, one)) is not None]
        if len(views) != len(wanted) or any(view.thermometer != thermometer_id for view in views):
            raise refuse("checks", "unknown_check")
    else:
        views = _latest(connection, thermometer_id)
    if not views:
        raise refuse("checks", "none_yet")
    for view in views:
        if view.voided:
            raise refuse("checks", "is_void")
        if view.bath is None:
            raise refuse("checks", "imported")
        left = last_adjustment(connection, view)
        judged = [_judged(connection, one) for one in (view.bath, left.bath if left else None) if one is not None]
        if "suspect" in judged:
            raise refuse("checks", "bath_in_doubt")
        if judged[0] not in JUDGED or None in judged or view.outcome is None:
            raise refuse("checks", "bath_not_judged")
    return sorted(views, key=lambda view: (view.at, view.seq))


def _judged(connection: Connection, bath: str) -> str | None:
    found = queries.bath(connection, bath)
    return found.judged if found is not None else None


def _latest(connection: Connection, thermometer_id: str) -> list[CheckView]:
    """The last check, and the last at each other point of the day before it."""
    recent = [one for one in queries.checks_of(connection, thermometer_id, newest=12) if not one.voided]
    if not recent:
        return []
    since = recent[-1].at - baths.DAY_US
    return list({one.point: one for one in recent if one.at >= since and one.bath is not None}.values())


def _rests_on(connection: Connection, views: Sequence[CheckView]) -> list[str]:
    """Hashes of the entries that the page is made from: checks, their adjustments, baths and judgements."""
    found = []
    for view in views:
        found.append(queries.entry_at(connection, view.chain_no, view.seq).hash)
        if (left := last_adjustment(connection, view)) is not None:
            found.append(queries.entry_at(connection, left.chain_no, left.seq).hash)
        if view.bath is not None:
            found.append(baths.made(connection, view.bath).hash)
            found += queries.counting(connection, view.bath, "judgement")
    return list(dict.fromkeys(found))


def _service_status(connection: Connection, of: Thermometer) -> tuple[str | None, str | None]:
    """What a page has to say of its status, and for what food alone it is; none of one in service."""
    status = of.row.service_status
    return status if status != "in_service" else None, thermometers.limited_to(connection, of.row.thermometer)


def _still_outside(connection: Connection, of: Thermometer, views: Sequence[CheckView]) -> Iterator[StillOutside]:
    """Points where it was last read outside its limits, and not in one of these checks."""
    shown: dict[str, int] = {}
    for view in views:
        left = last_adjustment(connection, view)
        where = view.point if view.point != "comparison" else f"comparison_{'hot' if view.hot else 'cold'}"
        shown[where] = max(shown.get(where, 0), view.at, left.at if left else 0)
    zone = places.site_named_by_id(connection, baths.made(connection, views[0].bath or "").payload["site"]).payload.zone
    for one in points_now(connection, of.row.thermometer):
        if one.outcome in OUTSIDE and one.at > shown.get(one.where, -1):
            yield StillOutside(point=one.where, outcome=one.outcome, day=day_at(one.at, zone).isoformat())


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _store_page(session: Session, actor: Actor, entry_hash: str, thermometer_id: str) -> Issued:
    from registry.documents.certificate import certificate as draw  # late: reportlab

    with session.reading() as connection:
        entry = queries.entry_hashed(connection, thermometer_id, entry_hash)
        facts = certificate_facts(session, connection, entry)
    with _refusing():
        page = draw(facts)  # outside any transaction: it takes as long as it takes
    with session.recording(actor, "lead", "officer") as entries:
        entries.add(
            DocumentStored(
                of=thermometer_id,
                entry=entry_hash,
                document="certificate",
                sha256=entries.keep_document(page),
                length=len(page),
                media=MEDIA,
            )
        )
    with session.reading() as connection:
        return next(one for one in issued(connection, thermometer_id) if one.entry_hash == entry_hash)


def store_missing(session: Session, actor: Actor) -> list[Issued]:
    """Draw and store the pages of certificates that a crash left without one."""
    with session.reading() as connection:
        events = queries.events_of_kind(connection, "certificate_issued")
        missing = [
            (one.hash, one.subject)
            for one in events
            if not any(kept.entry_hash == one.hash and kept.sha256 for kept in issued(connection, one.subject))
        ]
    return [_store_page(session, actor, entry_hash, subject) for entry_hash, subject in missing]


def withdraw_certificate(session: Session, actor: Actor, thermometer_id: str, number: str, why: str) -> None:
    with session.recording(actor, "officer") as entries:
        old = _find_issued(entries.connection, thermometer_id, number)
        entries.add(
            CertificateWithdrawn(thermometer=thermometer_id, certificate=old.payload["certificate"], why=why),
            after=(old.hash,),
        )


def issued(connection: Connection, thermometer_id: str) -> list[Issued]:
    """The certificates of a thermometer, the oldest first."""
    stored = {}
    found = []
    for event in queries.events_of(connection, thermometer_id, ("certificate_issued", "document_stored")):
        entry = queries.entry_at(connection, event.chain_no, event.seq)
        if event.kind == "document_stored":
            stored[entry.payload.get("entry")] = entry.payload["sha256"]
        else:
            found.append(entry)
    return [
        Issued(
            one.number,
            one.payload["certificate"],
            thermometer_id,
            one.at,
            one.hash,
            stored.get(one.hash),
            queries.is_replaced(connection, one.hash),
        )
        for one in found
    ]


def _find_issued(connection: Connection, thermometer_id: str, number: str) -> EntryView:
    for event in queries.events_of(connection, thermometer_id, ("certificate_issued",)):
        entry = queries.entry_at(connection, event.chain_no, event.seq)
        if number in (entry.number, entry.payload["certificate"]):
            return entry
    raise refuse("certificate", "unknown_certificate", value=number)


def page_of(connection: Connection, kept: Issued) -> bytes:
    """The bytes as they were issued."""
    page = queries.document(connection, kept.sha256) if kept.sha256 else None
    if page is None:
        raise refuse("certificate", "not_stored", value=kept.number)
    return page


# --- facts for the page --------------------------------------------------------------------------------------


def certificate_facts(session: Session, connection: Connection, entry: EntryView) -> CertificateFacts:
    """Everything that a certificate's page says, from the entries that it rests on."""
    said = entry.payload
    of = thermometers.thermometer(connection, entry.subject)
    views = [view for one in said["checks"] if (view := queries.check(connection, one)) is not None]
    entries = [queries.entry_at(connection, view.chain_no, view.seq) for view in views]
    site = places.site_named_by_id(connection, baths.made(connection, views[0].bath or "").payload["site"])
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
            superseded=_superseded(connection, entry, site.payload.zone),
        ),
        thermometer=_thermometer_facts(connection, of),
        results=tuple(_point_result(connection, of, view, check) for view, check in zip(views, entries, strict=True)),
        methods=_methods(connection, group.subject, entries, said["language"]),
        people=_people_facts(connection, entry, entries, views),
        proof=_proof(session, connection, entry),
        reach=certificate_reach.facts(connection, said, of, day_at(entry.at, site.payload.zone)),
        standing=_standing_facts(said),
        components=tuple(
            sorted({code for view, one in zip(views, entries, strict=True) for code in _codes(connection, view, one)})
        ),
    )


def _standing_facts(said: dict[str, Any]) -> StandingFacts | None:
    """As recorded at the issue; an entry of a time when it was not recorded says nothing of it."""
    outside = tuple(
        OutsidePoint(point=one["point"], outcome=one["outcome"], day=date.fromisoformat(one["day"]))
        for one in said.get("outside", ())
    )
    if "status" not in said and not outside:
        return None
    return StandingFacts(status=said.get("status", ""), only=said.get("only", ""), outside=outside)


def _superseded(connection: Connection, entry: EntryView, zone: str) -> Superseded | None:
    for event in queries.events_of(connection, entry.subject, ("certificate_issued",)):
        later = queries.entry_at(connection, event.chain_no, event.seq)
        if entry.hash in later.after:
            return Superseded(number=later.number, day=day_at(later.at, zone))
    return None


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


def _point_result(connection: Connection, of: Thermometer, view: CheckView, check: EntryView) -> PointResult:
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
    )


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
        recheck_by=date.fromisoformat(recheck) if recheck else None,
    )


def _proof(session: Session, connection: Connection, entry: EntryView) -> ProofFacts:
    chain, entry_hash = bytes.fromhex(entry.chain), bytes.fromhex(entry.hash)
    texts = [entry.text.encode()]
    texts += [one.text.encode() for one in queries.entries_hashed(connection, entry.payload["rests_on"])]
    return ProofFacts(
        number=entry.number,
        entry_hash=entry.hash,
        key_fingerprint=signing.fingerprint(chain).hex(),
        receipt=receipt.receipt_text(chain, entry.seq, entry_hash, entry.signature or b""),
        entries=tuple(texts),
    )


# --- tags ----------------------------------------------------------------------------------------------------


def print_identity_tag(session: Session, actor: Actor, thermometer_id: str, size: str = "50x25") -> bytes:
    """Draw a permanent tag and record that it was printed."""
    from registry.documents import tags  # late: reportlab

    with session.reading() as connection:
        of = thermometers.thermometer(connection, thermometer_id)
        group = session.group(connection).payload
        facts = IdentityFacts(
            tag_id=of.tag_id, type=of.type.code, owner=group.name, language=group.language, demo=session.demo
        )
    with _refusing():
        page = tags.identity_tag(facts, size)
    with session.recording(actor, "lead", "officer") as entries:
        entries.add(TagPrinted(thermometer=thermometer_id, print=session.new_id(), tag="identity", stock=_stock(size)))
    return page


def _stock(size: str) -> str:
    """A label's size as the record names it: 38.1x21.2 mm is label_38_1x21_2."""
    return f"label_{size}".replace(".", "_")


def print_status_tag(session: Session, actor: Actor, thermometer_id: str, size: str = "50x25") -> bytes:
    """Draw a status tag of the last judged check and record that it was printed.

    Refused for lost and retired ones, and while the last check waits for its bath.
    """
    from registry.documents import tags  # late: reportlab

    with session.reading() as connection:
        of = thermometers.thermometer(connection, thermometer_id)
        reached = tag_reach.to_print(session, connection, of)
        facts, check = _status_facts(session, connection, thermometer_id, reached)
        limits, said = tag_reach.said(connection, of, reached)
    with _refusing():
        page = tags.status_tag(facts, size)
    with session.recording(actor, "lead", "officer") as entries:
        entries.add(
            TagPrinted(
                thermometer=thermometer_id,
                print=session.new_id(),
                tag="status",
                stock=_stock(size),
                status=facts.status,
                check=check,
                recheck_by=_iso(facts.recheck_by),
                limits=limits,
                reach=said,
            )
        )
    return page


def print_status_tags(session: Session, actor: Actor, thermometer_ids: Sequence[str], size: str = "50x25") -> bytes:
    """The status tags of several, one a page, in the order given."""
    from registry.documents import finish

    return finish.joined([print_status_tag(session, actor, one, size) for one in thermometer_ids])


def _outcome_now(connection: Connection, view: CheckView) -> str:
    """As left where it was adjusted and read again, else as found."""
    left = last_adjustment(connection, view)
    return (left.outcome if left is not None else None) or view.outcome or ""


def _status_facts(
    session: Session, connection: Connection, thermometer_id: str, reached: Sequence[Reach]
) -> tuple[StatusFacts, str]:
    of = thermometers.thermometer(connection, thermometer_id)
    if of.row.status in ("lost", "retired"):
        raise refuse("thermometer", "no_tag_for_this", value=of.tag_id)
    recent = [one for one in queries.checks_of(connection, thermometer_id, newest=12) if not one.voided]
    if not recent:
        raise refuse("checks", "none_yet")
    if recent[-1].bath is not None and recent[-1].outcome is None:
        raise refuse("checks", "bath_not_judged")
    last = queries.entry_at(connection, recent[-1].chain_no, recent[-1].seq)
    group, site = session.group(connection).payload, places.site_named_by_id(connection, of.row.site or "")
    who = next((one for one in people.people(connection) if one.person == last.payload.get("done_by", last.by)), None)
    only: Any = thermometers.limited_to(connection, thermometer_id) or ""
    facts = StatusFacts(
        tag_id=of.tag_id,
        status=of.row.service_status,
        number=last.number,
        checked=day_at(last.done_at, site.payload.zone),
        initials=who.initials if who else "",
        language=group.language,
        region=group.region,
        recheck_by=duelist.recheck_by(session, connection, of.row),
        outcome=_outcome_now(connection, recent[-1]),
        point=recent[-1].point,
        cells=tuple(map(tag_reach.cell, reached)),
        only=only if of.row.service_status == "limited_use" else "",
        demo=session.demo,
    )
    return facts, recent[-1].check
