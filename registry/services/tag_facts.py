"""What stands on a thermometer's tags: gathered from its record, or refused with what stands in the way."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from registry.documents.facts import IdentityFacts, StatusFacts
from registry.records.outcomes import GOOD, UNSETTLING
from registry.records.thermometers import TagPrinted
from registry.services import duelist, people, places, tag_reach, thermometers
from registry.services.history import last_adjustment
from registry.services.pages import iso
from registry.services.problems import refuse
from registry.services.reach import Reach
from registry.services.session import Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import CheckView
from registry.wording import say

IN_USE = ("in_service", "limited_use")  # whose tags say USE


def identity(session: Session, connection: Connection, thermometer_id: str) -> IdentityFacts:
    of = thermometers.thermometer(connection, thermometer_id)
    group = session.group(connection).payload
    return IdentityFacts(
        tag_id=of.tag_id, type=of.type.code, owner=group.name, language=group.language, demo=session.demo
    )


def identity_entry(thermometer_id: str, run: str, stock: str) -> TagPrinted:
    return TagPrinted(thermometer=thermometer_id, print=run, tag="identity", stock=stock)


def status(
    session: Session, connection: Connection, thermometer_id: str, run: str, stock: str
) -> tuple[StatusFacts, TagPrinted]:
    """What a status tag says after the last judged check, and the entry that keeps what was printed.

    Refused where it would say that it may be used and its last check does not bear that out.
    """
    of = thermometers.thermometer(connection, thermometer_id)
    found = duelist.recheck(session, connection, of.row)
    site = places.site_named_by_id(connection, of.row.site or "")
    only = thermometers.limited_to(connection, thermometer_id) if of.row.service_status == "limited_use" else None
    first = found.first_of(only or "", session.today(site.payload))
    # They hold until the recheck date: past it a tag would promise what nothing shows, as a list on the wall would.
    reached = [] if first else tag_reach.to_print(session, connection, of)
    facts, check = _status_facts(session, connection, of, reached)
    facts = replace(facts, recheck_by=found.by, first=first)
    limits, said = tag_reach.said(connection, of, reached)
    entry = TagPrinted(
        thermometer=thermometer_id,
        print=run,
        tag="status",
        stock=stock,
        status=facts.status,
        check=check,
        recheck_by=iso(facts.recheck_by),
        limits=limits,
        reach=said,
    )
    return facts, entry


def _outcome_now(connection: Connection, view: CheckView) -> str:
    """As left where it was adjusted, else as found; empty where that was not read or decides nothing."""
    left = last_adjustment(connection, view)
    return (view.outcome if left is None else left.outcome) or ""


def _status_facts(
    session: Session, connection: Connection, of: Thermometer, reached: Sequence[Reach]
) -> tuple[StatusFacts, str]:
    thermometer_id = of.row.thermometer
    if of.row.status in ("lost", "retired"):
        raise refuse("thermometer", "no_tag_for_this", value=of.tag_id)
    recent = [one for one in queries.checks_of(connection, thermometer_id, newest=12) if not one.voided]
    if not recent:
        raise refuse("checks", "none_yet")
    if recent[-1].bath is not None and recent[-1].outcome is None:
        bath = queries.bath(connection, recent[-1].bath)
        known = {"condemned": "bath_condemned", "suspect": "bath_in_doubt"}
        raise refuse("checks", known.get(bath.judged or "" if bath else "", "bath_not_judged"))
    outcome = _outcome_now(connection, recent[-1])
    if of.row.service_status in IN_USE and outcome not in GOOD:
        raise refuse("checks", "not_shown_right")
    last = queries.entry_at(connection, recent[-1].chain_no, recent[-1].seq)
    group, site = session.group(connection).payload, places.site_named_by_id(connection, of.row.site or "")
    everybody = {one.person: one for one in people.people(connection)}
    who = everybody.get(last.payload.get("done_by", last.by))
    only: Any = thermometers.limited_to(connection, thermometer_id) or ""
    why, give_to = _why_out(connection, of, group.language)
    facts = StatusFacts(
        tag_id=of.tag_id,
        status=of.row.service_status,
        number=last.number,
        checked=day_at(last.done_at, site.payload.zone),
        initials=who.initials if who else "",
        language=group.language,
        region=group.region,
        outcome=outcome,
        point=recent[-1].point,
        cells=tuple(map(tag_reach.cell, reached)),
        only=only if of.row.service_status == "limited_use" else "",
        why=why,
        give_to=everybody[give_to].name if give_to in everybody else "",
        demo=session.demo,
    )
    return facts, recent[-1].check


def _why_out(connection: Connection, of: Thermometer, language: str) -> tuple[str, str]:
    """Of one that was taken out: the reason as a sentence, and who is to get it; else nothing."""
    fact = queries.facts_of(connection, of.row.thermometer).get("service_status")
    if of.row.service_status != "out_of_use" or fact is None or fact.payload.KIND != "taken_out":
        return "", ""
    why = fact.payload.why
    words = say(f"incident.{why}" if why in UNSETTLING else f"out_of_use.{why}", language)
    return f"{words}.", fact.payload.give_to or ""
