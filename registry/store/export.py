"""The whole record for other programs: JSON lines that prove themselves, and a table of the checks."""

import csv
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, TextIO

from sqlalchemy import Connection, Select, and_, select

from registry.journal.numbers import entry_number, installation_code
from registry.store import reading, tables
from registry.store.database import Database

CHECK_COLUMNS = (
    "number",
    "performed_utc",
    "site",
    "station",
    "thermometer",
    "tag_id",
    "point",
    "as_found",
    "reference",
    "reading_unit",
    "offset",
    "u",
    "k",
    "tolerance",
    "offset_unit",
    "decision",
    "bath_judged",
    "outcome",
    "voided",
    "adjustment",
    "as_left",
    "as_left_offset",
    "as_left_outcome",
    "initials",
)


def journal_lines(database: Database) -> Iterator[str]:
    """One line an entry: `entry` holds its text as it was signed, so that its hash can be made again from it.

    `hash` is SHA-256 over a zero byte and that text, `signature` is there where one stands beside the entry, `branch`
    where the chain was seen with two different entries.
    """
    with reading.snapshot(database) as connection:
        for chain in reading.chains(connection):
            branch = f',"branch":{chain.branch}' if chain.branch else ""
            for _, _, _, _, hash, text, signature in reading.entries(connection, chain.chain_no, chain.first):
                signed = f',"signature":"{signature.hex()}"' if signature else ""
                yield f'{{"entry":{text.decode()},"hash":"{hash.hex()}"{signed}{branch}}}\n'


def write_journal(database: Database, file: TextIO) -> int:
    """Write the journal as JSON lines; says how many."""
    count = 0
    for line in journal_lines(database):
        file.write(line)
        count += 1
    return count


def write_checks(database: Database, file: TextIO) -> int:
    """Write every check as a row of comma-separated values, by thermometer and time; says how many rows.

    Numbers keep their digits as recorded, with a point; instants are UTC. One that was adjusted twice has two rows.
    Open the file with `newline=""`.
    """
    writer = csv.DictWriter(file, CHECK_COLUMNS, restval="")
    writer.writeheader()
    count = 0
    with reading.snapshot(database) as connection:
        names, initials = _names(connection), _initials(connection)
        codes = {one.chain_no: installation_code(bytes.fromhex(one.chain)) for one in reading.chains(connection)}
        for row in connection.execute(_CHECKS.execution_options(yield_per=500)):
            writer.writerow(_line(row, names, initials, codes[row.chain_no]))
            count += 1
    return count


def _query() -> Select[Any]:
    checks, baths, thermometers = tables.checks, tables.baths, tables.thermometers
    entries, adjusted = tables.entries, tables.adjustments
    adjusting = entries.alias("adjusting")
    return (
        select(
            *(checks.c[name] for name in ("chain_no", "seq", "thermometer", "point", "at", "outcome", "voided")),
            *(thermometers.c[name] for name in ("tag_id", "site", "station")),
            baths.c.judged,
            baths.c.site.label("bath_site"),
            adjusted.c.outcome.label("as_left_outcome"),
            entries.c.text,
            adjusting.c.text.label("adjusting"),
        )
        .join_from(checks, entries, (entries.c.chain_no == checks.c.chain_no) & (entries.c.seq == checks.c.seq))
        .outerjoin(baths, baths.c.bath == checks.c.bath)
        .outerjoin(thermometers, thermometers.c.thermometer == checks.c.thermometer)
        .outerjoin(adjusted, and_(adjusted.c.check == checks.c.check, adjusted.c.voided == 0))
        .outerjoin(adjusting, (adjusting.c.chain_no == adjusted.c.chain_no) & (adjusting.c.seq == adjusted.c.seq))
        .order_by(checks.c.thermometer, checks.c.at, checks.c.check, adjusted.c.at)
    )


_CHECKS = _query()


def _line(row: Any, names: dict[str, str], initials: dict[str, str], code: str) -> dict[str, str]:
    envelope = json.loads(row.text)
    check = envelope["payload"]
    left = json.loads(row.adjusting)["payload"] if row.adjusting else {}
    return {
        "number": entry_number(code, row.seq),
        "performed_utc": datetime.fromtimestamp(row.at / 1e6, UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "site": names.get(row.bath_site or check.get("site") or row.site, ""),
        "station": names.get(row.station, ""),
        "thermometer": row.thermometer,
        "tag_id": row.tag_id or "",
        "point": row.point,
        "as_found": "; ".join(_number(one) for one in check["as_found"]),
        "reference": _number(check.get("reference")),
        "reading_unit": check["as_found"][0].split()[-1] if check["as_found"] else "",
        "offset": _number(check.get("offset")),
        "u": _number(check.get("u")),
        "k": check.get("k", ""),
        "tolerance": _number(check.get("tolerance")),
        "offset_unit": (check.get("offset") or "").removeprefix(_number(check.get("offset"))).strip(" d"),
        "decision": check.get("decision", ""),
        "bath_judged": row.judged or "",
        "outcome": row.outcome or "",
        "voided": "voided" if row.voided else "",
        "adjustment": left.get("how", ""),
        "as_left": "; ".join(_number(one) for one in left.get("as_left", ())),
        "as_left_offset": _number(left.get("offset")),
        "as_left_outcome": row.as_left_outcome or "",
        "initials": initials.get(check.get("done_by") or envelope["by"], ""),
    }


def _number(value: str | None) -> str:
    """The digits of a value with its unit."""
    return value.split()[0] if value else ""


def _standing(connection: Connection, field: str) -> Iterator[tuple[str, dict[str, Any]]]:
    facts, entries = tables.facts.c, tables.entries.c
    query = (
        select(facts.subject, entries.text)
        .join_from(tables.facts, tables.entries, (facts.chain_no == entries.chain_no) & (facts.seq == entries.seq))
        .where(facts.field == field, facts.counts == 1)
        .order_by(facts.at, facts.hash)
    )
    for row in connection.execute(query):
        yield row.subject, json.loads(row.text)["payload"]


def _names(connection: Connection) -> dict[str, str]:
    """What sites and stations are called, by their ids."""
    return {
        subject: _plain(payload["name"])
        for field in ("site", "station")
        for subject, payload in _standing(connection, field)
    }


def _initials(connection: Connection) -> dict[str, str]:
    """Of the people whose names were not erased."""
    detached = tables.detached.c
    known = dict(connection.execute(select(detached.fields_hash, detached.text)).all())
    return {
        subject: _plain(json.loads(known[payload["fields_hash"]]).get("initials", ""))
        for subject, payload in _standing(connection, "name")
        if payload["fields_hash"] in known
    }


def _plain(words: str) -> str:
    """What people typed, so that no spreadsheet takes it for a formula."""
    return f"'{words}" if words.startswith(("=", "+", "-", "@", "\t", "\r")) else words
