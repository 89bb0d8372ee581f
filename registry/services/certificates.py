"""Finding issued certificates: by site, number, tag id or day, a page at a time; whether each still stands."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from typing import Literal

from sqlalchemy import Connection

from registry.journal import receipt
from registry.journal.numbers import entry_number, installation_code, normal_tag_id, read_entry_number
from registry.journal.text import EntryError
from registry.services import papers, people, places
from registry.services.certificate_facts import Doubt, doubt
from registry.services.papers import Issued
from registry.services.problems import refuse
from registry.services.session import Session, midnight
from registry.store import certificates as store
from registry.store import queries
from registry.store.certificates import Between, Followed, IssuedRow, Measured, Wanted


@dataclass(frozen=True, slots=True)
class Certificate:
    """One issued certificate. state: stands, replaced or withdrawn; `by_number`: the entry that ended it.

    tag_id, site: what the thermometer bears and where it is now. kept: as `papers.page_of` takes it; without a sha256
    its page is not stored yet. why: of a withdrawn one, a code. doubt: what has become of its checks since, none where
    they count as they did. amended_by: the number of the last that is to be read with it.
    """

    kept: Issued
    tag_id: str
    site: str
    initials: str
    name: str
    checks: int
    state: Literal["stands", "replaced", "withdrawn"]
    by_number: str = ""
    why: str = ""
    doubt: Doubt = ""
    amended_by: str = ""

    @property
    def number(self) -> str:
        return self.kept.number

    @property
    def standing(self) -> str:
        """Its state; of one that stands rather what is in doubt about it, or that it was amended."""
        if self.state != "stands":
            return self.state
        return self.doubt or ("amended" if self.amended_by else "stands")

    @property
    def told_by(self) -> str:
        """The number of what ended it, or else amended it."""
        return self.by_number or self.amended_by

    @property
    def stored(self) -> bool:
        return self.kept.sha256 is not None


@dataclass(frozen=True, slots=True)
class Found:
    """Some certificates of `count` that fit, the newest first; `after` asks for the next ones, None at the end."""

    certificates: tuple[Certificate, ...]
    count: int
    after: str | None


def find(
    session: Session,
    *,
    site: str | None = None,
    number: str | None = None,
    tag: str | None = None,
    from_day: date | None = None,
    to_day: date | None = None,
    limit: int = 200,
    after: str | None = None,
) -> Found:
    """Issued certificates that fit all that is asked; days are local ones of the site where the thermometer is now.

    number: of the issue, as printed. after: what the page before said.
    """
    if from_day is not None and to_day is not None and to_day < from_day:
        raise refuse("to_day", "before_from_day")
    with session.reading() as connection:
        wanted = _wanted(connection, site, number, tag, from_day, to_day)
        place = _place(connection, after) if after else None
        rows = store.issued(connection, wanted, limit + 1, place)
        more = len(rows) > limit
        rows = rows[:limit]
        return Found(
            tuple(_certificates(connection, rows)),
            store.count(connection, wanted),
            rows[-1].number if more else None,
        )


def numbered(session: Session, number: str) -> Certificate:
    """The certificate with a number, as printed."""
    found = find(session, number=number).certificates
    if not found:
        raise refuse("certificate", "unknown_certificate", value=number)
    return found[0]


def page(session: Session, number: str) -> bytes:
    """The page of a certificate, byte for byte as it was issued."""
    kept = numbered(session, number).kept
    with session.reading() as connection:
        return papers.page_of(connection, kept)


def copy(session: Session, number: str) -> bytes:
    """What is handed out of a certificate: the page as issued, crossed where it no longer stands."""
    kept = numbered(session, number).kept
    with session.reading() as connection:
        return papers.copy_of(connection, kept)


def of_file(session: Session, content: bytes) -> Certificate | None:
    """The certificate whose kept page is the same as these bytes; None where no page kept here is."""
    with session.reading() as connection:
        number = store.kept_as(connection, sha256(content).hexdigest())
    return numbered(session, number) if number else None


@dataclass(frozen=True, slots=True)
class CodeRead:
    """What the square code of a page says. number: of its entry, empty where no key known here signed it.

    here: whether that entry stands in the record as it was signed. certificate: where it is the issue of one.
    """

    number: str
    here: bool
    certificate: Certificate | None


def of_code(session: Session, text: str) -> CodeRead:
    """The square code held against the record; `text` as a scanner reads it, blanks and all."""
    try:
        read = receipt.read_receipt(text.strip("\r\n"))
    except EntryError:
        raise refuse("receipt", "not_a_receipt") from None
    with session.reading() as connection:
        for chain_no, chain in queries.chains(connection):
            if read.holds(bytes.fromhex(chain)):
                number = entry_number(installation_code(bytes.fromhex(chain)), read.seq)
                here = queries.hash_at(connection, chain_no, read.seq) == read.hash.hex()
                break
        else:
            return CodeRead("", False, None)
    found = find(session, number=number).certificates if here else ()
    return CodeRead(number, here, found[0] if found else None)


def naming(connection: Connection, thermometer: str, check: str) -> list[str]:
    """Numbers of the certificates that were issued of a check."""
    events = queries.events_of(connection, thermometer, ("certificate_issued",))
    entries = [queries.entry_at(connection, one.chain_no, one.seq) for one in events if not one.voided]
    return [one.number for one in entries if check in one.payload["checks"]]


def _wanted(
    connection: Connection,
    site: str | None,
    number: str | None,
    tag: str | None,
    from_day: date | None,
    to_day: date | None,
) -> Wanted:
    place = read_entry_number(number) if number else None
    if number and place is None:
        raise refuse("number", "not_a_number", value=number)
    chains = {installation_code(bytes.fromhex(chain)): chain for _, chain in queries.chains(connection)}
    days: tuple[Between, ...] = ()
    if from_day is not None or to_day is not None:
        sites = [one for one in places.sites(connection) if site in (None, one.subject)]
        days = tuple(_days(one.subject, one.payload.zone, from_day, to_day) for one in sites)
    return Wanted(
        site,
        normal_tag_id(tag) if tag else None,
        chains.get(place[0], "") if place else None,
        place[1] if place else None,
        days,
    )


def _days(site: str, zone: str, from_day: date | None, to_day: date | None) -> Between:
    first = midnight(from_day, zone) if from_day else 0
    last = midnight(to_day + timedelta(days=1), zone) if to_day else 2**62
    return Between(site, first, last)


def _place(connection: Connection, number: str) -> tuple[int, int, int]:
    place = read_entry_number(number)
    entry = queries.entry_by_number(connection, *place) if place else None
    if entry is None:
        raise refuse("number", "unknown_number", value=number)
    return entry.done_at, entry.chain_no, entry.seq


def _certificates(connection: Connection, rows: Sequence[IssuedRow]) -> list[Certificate]:
    known = {one.person: one for one in people.people(connection)}
    later = store.following(connection, {row.thermometer for row in rows})
    stored = {one.payload.get("entry"): one.payload["sha256"] for one in later if one.kind == "document_stored"}
    measured: dict[str, list[Measured]] = {}
    for made in store.measured(connection, {check for row in rows for check in row.payload["checks"]}):
        measured.setdefault(made.check, []).append(made)
    amended = {one.payload["amends"]: one.number for one in later if "amends" in one.payload}
    ended: dict[str, Followed] = {}
    for one in later:
        ended |= dict.fromkeys(one.after, one)
    found = []
    for row in rows:
        end = ended.get(row.hash)
        person = known.get(row.by)
        kept = Issued(
            row.number,
            row.payload["certificate"],
            row.thermometer,
            row.at,
            row.hash,
            stored.get(row.hash),
            end is not None,
        )
        found.append(
            Certificate(
                kept,
                row.tag_id or "",
                row.site or "",
                person.initials if person else "",
                person.name if person else "",
                len(row.payload["checks"]),
                _state(end),
                end.number if end else "",
                end.payload.get("why", "") if end else "",
                doubt(row.payload, [one for check in row.payload["checks"] for one in measured.get(check, ())]),
                amended.get(row.payload["certificate"], ""),
            )
        )
    return found


def _state(end: Followed | None) -> Literal["stands", "replaced", "withdrawn"]:
    if end is None:
        return "stands"
    return "withdrawn" if end.kind == "certificate_withdrawn" else "replaced"
