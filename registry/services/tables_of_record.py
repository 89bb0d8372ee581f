"""Certificates, people and baths, as they go out to spreadsheets."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from registry.quantity import Reading
from registry.services import certificates, lookup, people, places
from registry.services.certificates import Certificate
from registry.services.session import Session
from registry.services.spreadsheet_out import TableOut, Value
from registry.services.table_words import Words, degree, local


def all_certificates(session: Session, words: Words, wanted: Mapping[str, Any]) -> TableOut:
    """Every certificate that fits, the newest first; `wanted` as `certificates.find` takes it."""
    found: list[Certificate] = []
    after = None
    while True:
        page = certificates.find(session, **wanted, limit=1000, after=after)
        found += page.certificates
        after = page.after
        if after is None:
            break
    with session.reading() as connection:
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    columns = ("number", "tag", "issued", "initials", "state", "page")
    rows = [
        [
            one.number,
            one.tag_id,
            local(one.kept.issued_at, zones.get(one.site, "UTC")),
            one.initials,
            words.say(f"certificates.state.{one.standing}", number=one.told_by),
            words.say("certificates.kept" if one.stored else "certificates.not_kept"),
        ]
        for one in found
    ]
    return words.out("certificates", columns, rows)


def all_people(session: Session, words: Words) -> TableOut:
    """Everyone who is known, with what each may do; as the import takes them."""
    with session.reading() as connection:
        found, names = people.people(connection), places.names(connection)
    rows = [
        [
            one.initials,
            one.name,
            "; ".join(words.say(f"role.{role}") for role in one.roles),
            "; ".join(names.get(site, "") for site in one.sites),
            date.fromisoformat(one.left) if one.left else None,
        ]
        for one in found
    ]
    return words.out("people", ("initials", "name", "roles", "site", "left"), rows)


def baths(session: Session, words: Words, site: str, days: int) -> TableOut:
    """A site's baths of the last days, the newest first."""
    columns = ("number", "site", "point", "made", "reference", "unit", "made_at", "judged", "checks")
    with session.reading() as connection:
        at = places.site_named_by_id(connection, site).payload
        rows: list[list[Value]] = []
        for bath, entry in lookup.recent_baths(session, connection, site, days):
            reference = Reading.from_text(entry.payload["reference"])
            rows.append(
                [
                    entry.number,
                    at.name,
                    words.say(f"point.{bath.point}"),
                    words.say(f"log.made.{entry.payload['made']}"),
                    reference.value,
                    degree(reference.unit),
                    local(bath.at, at.zone),
                    words.say(f"cli.bath_state.{bath.judged or 'open'}"),
                    len(lookup.checks_in(connection, bath.bath)),
                ]
            )
    return words.out("baths", columns, rows)
