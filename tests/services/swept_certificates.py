"""Certificates of the demo, each printed text held field by field against the journal's own payloads.

    python -m tests.services.swept_certificates --home DEMO --count 5000

DEMO is a folder with a demo that may be written to. What the page should say is worked out here from the entries, with
nothing of `registry.documents`: only how a number or a day is written is the program's.
"""

import argparse
import json
import re
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from random import Random
from typing import Any

import pikepdf
from sqlalchemy import select

from registry.documents.facts import Paper
from registry.journal.entry import text_hash
from registry.quantity import Reading, TemperatureDifference
from registry.services import certificate_facts, papers, people, places
from registry.services.problems import Refused
from registry.services.session import Actor, Session, actor_of, open_session
from registry.store import queries, tables
from registry.wording import format as written
from registry.wording import say
from tests.documents.reading import words_of

SUMS = "certificate.results.sums"


@dataclass
class Swept:
    """What came of it. wrong: one line for each field that the page does not say as the journal does."""

    issued: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    fields: int = 0
    rows: int = 0
    with_sentence: int = 0  # pages on which rounding forbids that each row adds up
    pages: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    seconds: float = 0.0  # of issuing alone


def checks_to_issue(session: Session, count: int, seed: int) -> list[tuple[str, str]]:
    """(thermometer, check) of so many checks drawn at random from those that count."""
    checks, bath = tables.checks.c, tables.baths.c
    query = (
        select(checks.thermometer, checks.check)
        .join_from(tables.checks, tables.baths, bath.bath == checks.bath)
        .where(checks.voided == 0, checks.outcome.is_not(None), bath.judged.in_(certificate_facts.JUDGED))
        .order_by(checks.chain_no, checks.seq)
    )
    with session.reading() as connection:
        found = [(row.thermometer, row.check) for row in connection.execute(query)]
    return Random(seed).sample(found, min(count, len(found)))


def sweep(session: Session, actor: Actor, count: int, *, seed: int = 1, most_s: float = 1e9) -> Swept:
    """Issue certificates by turns in both languages and on both papers until so many, or so many seconds."""
    swept, began = Swept(), time.monotonic()
    both_papers: tuple[Paper, ...] = ("a4", "letter")
    ways = [(language, paper) for language in ("en", "es") for paper in both_papers]
    for number, (thermometer, check) in enumerate(checks_to_issue(session, count, seed)):
        if time.monotonic() - began > most_s:
            break
        language, paper = ways[number % len(ways)]
        start = time.perf_counter()
        try:
            issued = papers.issue_certificate(
                session, actor, thermometer, checks=[check], language=language, paper=paper
            )
        except Refused as refused:
            problem = refused.problems[0]
            swept.refused[f"{problem.code} {problem.values}"] += 1
            continue
        swept.seconds += time.perf_counter() - start
        swept.issued += 1
        compare(session, issued.number, thermometer, issued.entry_hash, swept)
    return swept


def look_again(session: Session, *, most_s: float = 1e9) -> Swept:
    """Those that are issued already, each as it is kept."""
    swept, began = Swept(), time.monotonic()
    with session.reading() as connection:
        events = queries.events_of_kind(connection, "certificate_issued")
        found = [queries.entry_at(connection, one.chain_no, one.seq) for one in events]
    for entry in found:
        if time.monotonic() - began > most_s:
            break
        try:
            compare(session, entry.number, entry.subject, entry.hash, swept)
        except Refused as refused:  # ended while it was drawn: the next start draws it
            swept.refused[refused.problems[0].code] += 1
        else:
            swept.issued += 1
    return swept


def compare(session: Session, number: str, thermometer: str, entry_hash: str, swept: Swept) -> None:
    with session.reading() as connection:
        issue = queries.entry_hashed(connection, thermometer, entry_hash)
        kept = next(one for one in papers.issued(connection, thermometer) if one.number == number)
        pdf = papers.page_of(connection, kept)
        text = words_of(pdf)
        wanted = list(_wanted(session, connection, issue, pdf))
    with pikepdf.open(BytesIO(pdf)) as opened:
        swept.pages[len(opened.pages)] += 1
    plain = text.replace("\N{NO-BREAK SPACE}", " ")
    tight = plain.replace(" ", "")
    for name, said in wanted:
        swept.fields += 1
        if said.replace("\N{NO-BREAK SPACE}", " ").replace(" ", "") not in tight:
            swept.wrong.append(f"{number} {name}: {said!r}")
    sums = say(SUMS, issue.payload["language"])
    _add_up(plain, issue.payload["region"], sums in plain, number, swept)


def _add_up(text: str, region: str, sentence: bool, number: str, swept: Swept) -> None:
    """The printed figures of each row: reading less reference is the offset, or the fixed sentence stands there."""
    point = "," if written.number(Decimal("0.5"), region) == "0,5" else "."
    figure = rf"[−+]?\d+(?:{re.escape(point)}\d+)?"
    found = re.findall(rf"(?<![\d,.])({figure}) ({figure}) ({figure}) (?=({figure}|–) )", text)
    figures = [([_number(one, point) for one in row[:3]], row[3]) for row in found]
    # The ticks of an axis look alike, but for the correction, which is minus the offset.
    rows = [row for row, fourth in figures if fourth == "–" or _number(fourth, point) == -row[2]]
    swept.rows += len(rows)
    swept.with_sentence += sentence
    if not rows:
        swept.wrong.append(f"{number} no row of figures was found")
    if not sentence and any(reading - reference != offset for reading, reference, offset in rows):
        swept.wrong.append(f"{number} the sums do not add up: {rows}")
    if sentence and all(reading - reference == offset for reading, reference, offset in rows):
        swept.wrong.append(f"{number} the sums add up and the page says that they may not: {rows}")


def _number(text: str, point: str) -> Decimal:
    return Decimal(text.replace("−", "-").replace(point, "."))


def _wanted(session: Session, connection: Any, issue: Any, pdf: bytes) -> Iterator[tuple[str, str]]:
    """Each field's name and what the page has to say, from the entries."""
    said = issue.payload
    language, region = said["language"], said["region"]
    row = queries.thermometer(connection, issue.subject)
    assert row is not None
    facts = queries.facts_of(connection, issue.subject)["facts"].payload
    views = [view for one in said["checks"] if (view := queries.check(connection, one)) is not None]
    bath = next(one for one in queries.entries_about(connection, views[0].bath or "") if one.kind == "bath_made")
    site = places.site_named_by_id(connection, bath.payload["site"]).payload
    group = session.group(connection).payload
    yield "number", issue.number
    yield "owner", group.name
    yield "site", site.name
    yield "title", say("certificate.title", language)
    yield "scope", say("certificate.scope", language)
    yield "tag id", row.tag_id or ""
    yield "type", say(f"type.{row.type}", language)
    yield "maker", facts.maker or ""
    yield "serial", facts.serial or ""
    yield "issued", written.instant(issue.at, site.zone, region)
    yield "hash", issue.hash
    yield "bath", bath.number
    yield "made", say(f"bath.{bath.payload['made']}", language)
    if "recheck_by" in said:
        yield "recheck", written.day(date.fromisoformat(said["recheck_by"]), region)
    for one in said.get("reach", ()):
        yield f"reach {one['limit']}", written.temperature(Reading.from_text(one["shown"]), region)
    known = {one.person: one for one in people.people(connection)}
    for view in views:
        check = queries.entry_at(connection, view.chain_no, view.seq)
        yield "check's number", check.number
        person = known[check.payload.get("done_by", check.by)]
        yield "person", f"{person.name} ({person.initials})"
        turned = [one for one in queries.adjustments_of(connection, issue.subject) if one.check == view.check]
        left = [queries.entry_at(connection, one.chain_no, one.seq) for one in turned if not one.voided]
        measured = [("as_found", check, view.outcome)]
        measured += (
            [("as_left", left[-1], turned[-1].outcome or "cannot_decide")]
            if left and "as_left" in left[-1].payload
            else []
        )
        places_shown = max(_places(one.payload[role]) for role, one, _ in measured)
        for role, entry, outcome in measured:
            yield from _figures(entry, role, outcome or "", region, language, site.zone, places_shown)
    yield from _record(issue, pdf)


def _figures(
    entry: Any, role: str, outcome: str, region: str, language: str, zone: str, places_shown: int
) -> Iterator[tuple[str, str]]:
    """The row of one measurement: the mean, the reference as used, their difference."""
    said = entry.payload
    typed = [Reading.from_text(one) for one in said[role]]
    reference = Reading.from_text(said["reference"])
    mean = sum((Fraction(one.value) for one in typed), Fraction(0)) / len(typed)
    shown = written.number(typed[0].value, region)
    if len(typed) > 1:
        shown = written.number(Decimal(round(mean * 10**places_shown)).scaleb(-places_shown), region)
        yield f"{role} typed", ", ".join(written.number(one.value, region) for one in typed)
    offset = TemperatureDifference(mean - Fraction(reference.value), reference.unit)
    printed = written.offset(offset, region, places_shown).rsplit("\N{NO-BREAK SPACE}", 1)[0]
    yield f"{role} row", f"{shown} {written.number(reference.value, region)} {printed}"
    yield f"{role} time", written.instant(entry.done_at, zone, region)
    yield f"{role} outcome", say(f"outcome.{outcome}", language)
    yield f"{role} limit", written.limit(TemperatureDifference.from_text(said["tolerance"]), region)
    u = TemperatureDifference.from_text(said["u"])
    expanded = TemperatureDifference(Fraction(u.value) * Fraction(Decimal(said["k"])), u.unit).to(reference.unit)
    yield f"{role} U", written.expanded(expanded, region).lstrip("±").rsplit("\N{NO-BREAK SPACE}", 1)[0]


def _places(typed: Sequence[str]) -> int:
    decimals = max(-int(Reading.from_text(one).value.as_tuple().exponent) for one in typed)
    return max(1, decimals) + (len(typed) > 1)


def _record(issue: Any, pdf: bytes) -> Iterator[tuple[str, str]]:
    """The attached record: every text hashes to what the issue says, the issue first."""
    with pikepdf.open(BytesIO(pdf)) as opened:
        record = opened.attachments["record.json"].get_file().read_bytes()
    hashes = [text_hash(one).hex() for one in record[1:-2].split(b",\n")]
    if [hashes[0], *sorted(hashes[1:])] != [issue.hash, *sorted(issue.payload["rests_on"])]:
        yield "attached record", "is not what the issue rests on"


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--home", type=Path, required=True)
    asked.add_argument("--count", type=int, default=5000)
    asked.add_argument("--seconds", type=float, default=1e9, help="no longer than this")
    asked.add_argument("--issued", action="store_true", help="issue none: look at those that are there")
    given = asked.parse_args()
    session = open_session(given.home)
    if given.issued:
        swept = look_again(session, most_s=given.seconds)
    else:
        swept = sweep(session, officer_of(session), given.count, most_s=given.seconds)
    told = {
        "issued": swept.issued,
        "refused": dict(swept.refused),
        "fields": swept.fields,
        "rows": swept.rows,
        "with the sentence about sums": swept.with_sentence,
        "pages": dict(swept.pages),
        "a second": round(swept.issued / swept.seconds, 1) if swept.seconds else None,
        "wrong": len(swept.wrong),
    }
    print(json.dumps(told, indent=1))
    print("\n".join(swept.wrong[:40]))
    session.close()


def officer_of(session: Session) -> Actor:
    """Somebody who may issue."""
    with session.reading() as connection:
        found = [actor_of(connection, one.person) for one in people.people(connection) if one.left is None]
    return next(one for one in found if one.may("officer"))


if __name__ == "__main__":
    main()
