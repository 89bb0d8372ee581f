"""A certificate's file from outside, held against the record: the very page, or another page with a genuine record."""

import subprocess
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Literal

from sqlalchemy import Connection

from registry.journal import entry as journal
from registry.journal.entry import Entry
from registry.journal.text import EntryError
from registry.services import apart, certificate_facts, certificates, papers, pictures
from registry.services.certificates import Certificate
from registry.services.problems import refuse
from registry.services.session import Session
from registry.store import certificates as store
from registry.store import queries
from registry.wording import format

MOST_FILE = 20_000_000  # bytes; a certificate has about 60 000
SECONDS = 20
# The key of the demo group is public, and so nothing that it signed is a record: see `sample_db`.
DEMO_CHAIN = "11b43f6da075c643279f47520a5f81025b4eb0efbc6498dd4b68a8670089d855"

Answer = Literal[
    "same",  # to the byte the page that was issued here
    "copy",  # to the byte what is handed out here of one that no longer stands as issued: its page, crossed or marked
    "record_here",  # another page, but the record attached to it is the one kept here
    "record_changed",  # the record attached names an entry of ours that says something else
    "key_unknown",  # it is of an installation that is not known here
    "demo",  # it is of the demo
    "no_record",  # no page of ours: no record attached, or none that can be read
    "joined",  # it says that it is several pages joined to be printed
    "html",  # a certificate as HTML or XML is written anew each time, and nothing can be compared
    "xml",
    "not_a_pdf",
    "record_too_large",
]


@dataclass(frozen=True, slots=True)
class Verified:
    """What a file is. certificate: as kept here; says: what the genuine record says, in lines of words."""

    answer: Answer
    certificate: Certificate | None = None
    says: tuple[str, ...] = ()


def read_file(path: Path) -> bytes:
    """The bytes of a file, its size looked at first; KnownError where it cannot be read."""
    content = pictures.read_file(path, MOST_FILE)
    if len(content) > MOST_FILE:
        raise refuse("page", "file_too_large", most=MOST_FILE // 1_000_000)
    return content


def verify_page(session: Session, content: bytes, language: str, region: str) -> Verified:
    """Whether bytes from outside are a certificate's page as issued here, and else what became of its record."""
    with session.reading() as connection:
        number = store.kept_as(connection, sha256(content).hexdigest())
    if number is not None:
        return Verified("same", certificates.numbered(session, number))
    word, found = _attached(content)
    if word != "record":
        return Verified(word)
    try:
        entries = read_record(found)
    except EntryError:
        return Verified("record_changed")
    issue = entries[0]
    if issue.chain == DEMO_CHAIN and not session.demo:
        return Verified("demo")
    with session.reading() as connection:
        known = {chain: number for number, chain in queries.chains(connection)}
        if issue.chain not in known:
            return Verified("key_unknown")
        if not _genuine(connection, entries, known):
            return Verified("record_changed")
        view = queries.entry_at(connection, known[issue.chain], issue.seq)
        says = tuple(_says(session, connection, view, language, region))
    of = certificates.numbered(session, view.number)
    return Verified("copy" if content == _handed_out(session, of) else "record_here", of, says)


def _handed_out(session: Session, of: Certificate) -> bytes:
    """The page as it is handed out now, made again from the bytes that were kept; nothing where none are."""
    if not of.stored:
        return b""
    with session.reading() as connection:
        return papers.copy_of(connection, of.kept)


def read_record(record: bytes) -> list[Entry]:
    """The entries of an attached record, the issue first; EntryError where one is not spelt as an entry is."""
    if not (record.startswith(b"[") and record.endswith(b"]\n")):
        raise EntryError("not_a_record")
    entries = [journal.read(text) for text in record[1:-2].split(b",\n")]
    if entries[0].kind != "certificate_issued":
        raise EntryError("not_a_record")
    return entries


def _genuine(connection: Connection, entries: list[Entry], known: dict[str, int]) -> bool:
    """Whether each entry stands here as it is, and they are those that the issue rests on."""
    issue, *rest = entries
    here = all(
        one.chain in known and queries.hash_at(connection, known[one.chain], one.seq) == one.hash.hex()
        for one in entries
    )
    return here and {one.hash.hex() for one in rest} == set(issue.payload.get("rests_on", ()))


def _says(session: Session, connection: Connection, entry: queries.EntryView, language: str, region: str) -> list[str]:
    """Whose it is and what was found, from the record and not from the page."""
    from registry.documents.words import Words  # late: reportlab

    facts = certificate_facts.of_entry(session, connection, entry)
    words = Words(language, format.region_in(language, region), facts.page.zone)
    issued, thermometer = words.instant(facts.people.issued_at), facts.thermometer.tag_id
    said = [words.say("verify.issued", number=entry.number, owner=facts.page.owner, site=facts.page.site, at=issued)]
    for result in facts.results:
        stages = [("as_found", result.as_found)]
        if result.adjustment and result.adjustment.as_left:
            stages.append(("as_left", result.adjustment.as_left))
        for stage, measured in stages:
            typed = ", ".join(words.number(one.value) for one in measured.readings)
            values = {
                "tag": thermometer,
                "point": words.say(f"point.{result.point}"),
                "at": words.instant(measured.at),
                "readings": f"{typed}\N{NO-BREAK SPACE}°{measured.unit}",
                "reference": words.temperature(measured.reference),
                "limit": words.limit(measured.limits.tolerance),
                "outcome": words.say(f"outcome.{measured.outcome}"),
            }
            said.append(words.say(f"verify.{stage}", **values))
    return said


def _other_form(content: bytes) -> Answer:
    """What begins as the other forms do that a certificate is written in."""
    start = content[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<!doctype html", b"<html")):
        return "html"
    return "xml" if start.startswith(b"<?xml") else "not_a_pdf"


def _attached(content: bytes) -> tuple[Answer | Literal["record"], bytes]:
    """The attached record, read by a process of its own that may be ended."""
    if b"%PDF-" not in content[:1024]:
        return _other_form(content), b""
    try:
        code, said = apart.run("page_reader", content, seconds=SECONDS)
    except subprocess.TimeoutExpired:
        return "no_record", b""
    word, _, found = said.partition(b"\n")
    words: tuple[Answer | Literal["record"], ...] = ("record", "record_too_large", "joined", "not_a_pdf")
    for known in words:
        if code == 0 and word == known.encode():
            return known, found
    return "no_record", b""
