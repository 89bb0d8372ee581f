"""Identity and status tags: drawn, and what was printed recorded."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection

from registry.documents.facts import (
    IdentityFacts,
    StatusFacts,
)
from registry.records.thermometers import TagPrinted
from registry.services import duelist, pages, people, places, tag_reach, thermometers
from registry.services.history import last_adjustment
from registry.services.pages import iso
from registry.services.problems import refuse
from registry.services.reach import Reach
from registry.services.session import Actor, Session, day_at
from registry.store import queries
from registry.store.queries import CheckView


def print_identity_tag(session: Session, actor: Actor, thermometer_id: str, size: str = "50x25") -> bytes:
    """Draw a permanent tag and record that it was printed."""
    from registry.documents import tags  # late: reportlab

    with session.reading() as connection:
        of = thermometers.thermometer(connection, thermometer_id)
        group = session.group(connection).payload
        facts = IdentityFacts(
            tag_id=of.tag_id, type=of.type.code, owner=group.name, language=group.language, demo=session.demo
        )
    with pages.refusing():
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
    with pages.refusing():
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
                recheck_by=iso(facts.recheck_by),
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
