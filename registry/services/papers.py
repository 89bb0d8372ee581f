"""Certificates: issued from judged checks only, drawn outside any transaction, kept as they were drawn."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from registry.documents.facts import Paper
from registry.records.outcomes import OUTSIDE
from registry.records.papers import CertificateIssued, CertificateWithdrawn, DocumentStored, StillOutside
from registry.services import (
    baths,
    certificate_facts,
    certificate_reach,
    duelist,
    logos,
    pages,
    places,
    reviews,
    thermometers,
)
from registry.services.history import last_adjustment
from registry.services.pages import iso
from registry.services.points_now import points_now
from registry.services.problems import refuse
from registry.services.session import Actor, Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import AdjustmentView, CheckView, EntryView

VERSION = 1
# What an amendment puts right, and why a certificate is withdrawn; each is a sentence's end on paper and screen.
CHANGES = ("owner", "place", "thermometer", "people", "recheck", "something_else")
WHY_WITHDRAWN = ("wrong_thermometer", "wrong_check", "check_voided", "bath_in_doubt", "not_handed_out", "other_reason")
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


def issue_certificate(
    session: Session,
    actor: Actor,
    thermometer_id: str,
    *,
    checks: Sequence[str] = (),
    language: str | None = None,
    paper: Paper | None = None,
    replaces: str | None = None,
    amends: str | None = None,
    change: str = "",
    once: bool = False,
    certificate: str | None = None,
) -> Issued:
    """Issue a certificate of judged checks (the latest at each point of the last day, where none are named).

    Two entries: the issue, whose hash and signature the page shows, and the stored page. A crash between them is
    mended at the next start (`store_missing`). Refused while a check waits for its bath. A second press with the same
    `certificate` id issues once. replaces: the number of one that this one stands in the place of. amends: of one that
    stands beside it and is to be read with it; change: a code of CHANGES, what in it is put right. An amendment is of
    the same checks where none are named. once: refused where one that stands says all that this one would.
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
        old = find_standing(connection, thermometer_id, replaces) if replaces else None
        first = _to_amend(connection, thermometer_id, amends, change) if amends else None
        views = _chosen(connection, thermometer_id, checks or (first.payload["checks"] if first else ()))
        if once and old is None and first is None:
            _refuse_second(connection, thermometer_id, views)
        reached = certificate_reach.to_issue(session, connection, of)
        status, only = _service_status(connection, of)
        entry = entries.add(
            CertificateIssued(
                thermometer=thermometer_id,
                certificate=certificate or session.new_id(),
                checks=tuple(one.check for one in views),
                rests_on=tuple(_rests_on(connection, views)),
                language=language or group.language,
                region=pages.region_for(group, language or group.language),
                unit=group.unit,
                paper=paper or group.paper,
                version=VERSION,
                recheck_by=iso(duelist.recheck_by(session, connection, of.row)),
                limits=reached[0] if reached else None,
                reach=reached[1] if reached else None,
                status=status,
                only=only,
                outside=tuple(_still_outside(connection, of, views)) or None,
                reviewed_by=reviews.reviewer(
                    connection, [(one.chain_no, one.seq) for one in _entries_of(connection, views)]
                ),
                replaces=old.payload["certificate"] if old else None,
                amends=first.payload["certificate"] if first else None,
                change=change if first else None,
                logo=logos.standing_hash(connection),
            ),
            after=(old.hash,) if old else (),
            issues=True,
        )
    return _store_page(session, actor, entry.hash.hex(), thermometer_id)


def _to_amend(connection: Connection, thermometer_id: str, number: str, change: str) -> EntryView:
    if change not in CHANGES:
        raise refuse("change", "choose", value=change, choices=", ".join(CHANGES))
    return find_standing(connection, thermometer_id, number)


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
        if "condemned" in judged:
            raise refuse("checks", "bath_condemned")
        if "suspect" in judged:
            raise refuse("checks", "bath_in_doubt")
        if judged[0] not in certificate_facts.JUDGED or None in judged or view.outcome is None:
            raise refuse("checks", "bath_not_judged")
    return sorted(views, key=lambda view: (view.at, view.seq))


def _refuse_second(connection: Connection, thermometer_id: str, views: Sequence[CheckView]) -> None:
    """Two of the same checks beside each other leave open which of them counts."""
    of_it = set(_rests_on(connection, views))
    for one in reversed(issued(connection, thermometer_id)):
        before = queries.entry_hashed(connection, thermometer_id, one.entry_hash).payload
        if not one.replaced and of_it <= set(before["rests_on"]):
            raise refuse("certificate", "stands_already", number=one.number)


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


def _entries_of(connection: Connection, views: Sequence[CheckView]) -> Iterator[CheckView | AdjustmentView]:
    """The checks and what was read after adjusting."""
    for view in views:
        yield view
        if (left := last_adjustment(connection, view)) is not None:
            yield left


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


def of_latest(connection: Connection, thermometer_id: str) -> tuple[str, ...]:
    """Hashes of the entries of its latest check, which a certificate would rest on; refused as issuing is."""
    return tuple(_rests_on(connection, _chosen(connection, thermometer_id, ())[-1:]))


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


def _store_page(session: Session, actor: Actor, entry_hash: str, thermometer_id: str) -> Issued:
    from registry.documents.certificate import certificate as draw  # late: reportlab

    with session.reading() as connection:
        entry = queries.entry_hashed(connection, thermometer_id, entry_hash)
        facts = certificate_facts.of_entry(session, connection, entry)
    # What is kept is the page as issued, also where a crash left it to be drawn after it was replaced.
    facts = replace(facts, page=replace(facts.page, superseded=None))
    with pages.refusing():
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


def withdraw_certificate(session: Session, actor: Actor, thermometer_id: str, number: str, why: str) -> EntryView:
    """An officer takes a certificate back; its number is not used again. why: a code of WHY_WITHDRAWN."""
    with session.recording(actor, "officer") as entries:
        if why not in WHY_WITHDRAWN:
            raise refuse("why", "unknown", value=why)
        old = find_standing(entries.connection, thermometer_id, number)
        withdrawn = entries.add(
            CertificateWithdrawn(thermometer=thermometer_id, certificate=old.payload["certificate"], why=why),
            after=(old.hash,),
        )
    with session.reading() as connection:
        return queries.entry_hashed(connection, thermometer_id, withdrawn.hash.hex())


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


def find_standing(connection: Connection, thermometer_id: str, number: str) -> EntryView:
    """An issued certificate that was neither replaced nor withdrawn."""
    found = _find_issued(connection, thermometer_id, number)
    ended = certificate_facts.superseded(connection, found, certificate_facts.site_of(connection, found).payload.zone)
    if ended is not None and ended.kind == "superseded":
        raise refuse("certificate", "is_superseded", value=found.number, number=ended.number)
    if ended is not None and ended.kind == "withdrawn":
        raise refuse("certificate", "is_withdrawn", value=found.number, number=ended.number)
    return found


def page_of(connection: Connection, kept: Issued) -> bytes:
    """The bytes as they were issued."""
    page = queries.document(connection, kept.sha256) if kept.sha256 else None
    if page is None:
        raise refuse("certificate", "not_stored", value=kept.number)
    return page


def copy_of(connection: Connection, kept: Issued) -> bytes:
    """What is handed out of a certificate: the bytes as issued, crossed or marked where it no longer stands so."""
    page = page_of(connection, kept)
    entry = queries.entry_hashed(connection, kept.thermometer, kept.entry_hash)
    site = certificate_facts.site_of(connection, entry).payload
    ended = certificate_facts.superseded(connection, entry, site.zone)
    if ended is None:
        return page
    from registry.documents.overlay import crossed  # late: reportlab

    said = entry.payload
    demo = bool(queries.entry_at(connection, entry.chain_no, 0).payload.get("demo"))
    return crossed(page, ended, said["language"], said["region"], site.zone, demo=demo)
