"""A large registry, made quickly: real entries, linked and signed, written past the services.

The services write one check in milliseconds, which would take a day for ten million. The texts here are spelled
directly and are what the services write, to the byte (`test_fill` holds that); what is folded comes from a rebuild.
"""

import json
import secrets
import sqlite3
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from registry.compute.check import uncertainty
from registry.journal import signing
from registry.journal.ids import new_id
from registry.quantity import Length, Reading, TemperatureDifference
from registry.services import places, rules, start, thermometers
from registry.services.session import Actor, Session
from registry.store import summary, transaction

FIRST_US = 1_700_000_000_000_000
BATH_US = 60_000_000
IN_A_BATH = 10
BATHS_A_TRANSACTION = 50


def kitchen(home: Path, count: int) -> tuple[Session, Actor, str, list[str]]:
    """A registry with one site and `count` digital thermometers."""
    session, actor = start.first_start(home, start.FirstStart("Large group", "ES", "Ada Rey", "AR"))
    site = places.add_site(session, actor, places.NewSite("North", "NO", "Europe/Madrid", Length.from_text("120 m")))
    scale = thermometers.ScaleGiven(
        TemperatureDifference.from_text("0.1 dC"), Reading.from_text("-40 C"), Reading.from_text("150 C")
    )
    found = [
        thermometers.enrol(
            session,
            actor,
            thermometers.NewThermometer("thermistor_probe", (scale,), site, tag_id=f"NO{number:06d}"),
        )
        for number in range(count)
    ]
    return session, actor, site, found


class _Chain:
    """The end of a chain while entries are spelled behind it."""

    def __init__(self, session: Session, actor: Actor) -> None:
        assert session.signer is not None
        self.signer, self.by = session.signer, actor.person
        with session.reading() as connection:
            head = transaction.head(connection, session.signer.chain_no)
        self.seq, self.prev = head.seq, head.hash

    def row(self, at: int, kind: str, subject: str, payload: str) -> list[object]:
        self.seq += 1
        text = (
            f'{{"after":[],"at":{at},"by":"{self.by}","chain":"{self.signer.chain}","kind":"{kind}","kv":1,'
            f'"payload":{payload},"prev":"{self.prev}","seq":{self.seq},"v":1}}'
        )
        digest = sha256(b"\x00" + text.encode()).digest()
        self.prev = digest.hex()
        return [self.signer.chain_no, self.seq, kind, at, bytes.fromhex(subject), digest, text, None]

    def sign(self, row: list[object]) -> None:
        digest = row[5]
        assert isinstance(digest, bytes)
        row[7] = signing.sign_head(self.signer.private_key, bytes.fromhex(self.signer.chain), self.seq, digest)


def _bath(chain: _Chain, site: str, sets: tuple[str, str, str], some: list[str], at: int) -> Iterator[list[object]]:
    bath = new_id(at, secrets.token_bytes)
    yield chain.row(
        at,
        "bath_made",
        bath,
        f'{{"bath":"{bath}","components":{{"bath":"0.0577 dC"}},"container":"bowl","made":"crushed_packed",'
        f'"point":"ice_point","reference":"0 C","site":"{site}","version":1}}',
    )
    outcomes = []
    rule, tolerances, method = sets
    for place, thermometer in enumerate(some):
        now = at + place * 1_000_000
        check, reading = new_id(now, secrets.token_bytes), new_id(now, secrets.token_bytes)
        tenth = (at // BATH_US + place) % 9
        yield chain.row(
            now,
            "reading_taken",
            thermometer,
            f'{{"bath":"{bath}","check":"{check}","reading":"{reading}","role":"as_found","shown":"0.{tenth} C",'
            f'"thermometer":"{thermometer}"}}',
        )
        yield chain.row(
            now,
            "check_recorded",
            thermometer,
            f'{{"as_found":["0.{tenth} C"],"bath":"{bath}","check":"{check}","components":{{"repeatability":"0.1 dC",'
            f'"resolution":"0.0289 dC","stem":"0.03 dC"}},"decision":"simple","dof":{{"repeatability":"50"}},'
            f'"k":"{K}","method":"{method}",'
            f'"offset":"{f"0.{tenth}" if tenth else "0"} dC","outcome":"pass","point":"ice_point",'
            f'"readings":["{reading}"],"reference":"0.0 C","rule":"{rule}","thermometer":"{thermometer}",'
            f'"tolerance":"1 dC","tolerances":"{tolerances}","u":"{U}","version":1}}',
        )
        outcomes.append((check, "pass"))
    yield chain.row(
        at + BATH_US // 2,
        "bath_judged",
        bath,
        f'{{"bath":"{bath}","judged":"accepted","judged_by":"person","outcomes":{{'
        + ",".join(f'"{check}":"{outcome}"' for check, outcome in sorted(outcomes))
        + "}}",
    )


def _difference(text: str) -> TemperatureDifference:
    return TemperatureDifference.from_text(text)


_PARTS = {"bath": "0.0577 dC", "repeatability": "0.1 dC", "resolution": "0.0289 dC", "stem": "0.03 dC"}
_U, _K = uncertainty({code: _difference(text) for code, text in _PARTS.items()}, {"repeatability": 50.0}, 1, "C")
U, K = _U.text(), f"{_K:f}"


_INSERT_ENTRY = (
    "INSERT INTO entries (chain_no, seq, kind, at, subject, hash, text, signature) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)


def fill(
    session: Session, actor: Actor, site: str, found: list[str], checks: int, *, fold: bool = False, tell: bool = False
) -> None:
    """Append `checks` checks to the journal, one round of all thermometers after another.

    fold: write the folded rows of checks and baths too, as a rebuild would, and the summaries at the end.
    """
    assert session.database.path is not None
    with session.reading() as connection:
        in_force = rules.rules_in_force(connection, site)
    sets = (in_force.rule.set, in_force.tolerances.set, in_force.methods["ice"].set)
    chain = _Chain(session, actor)
    connection = sqlite3.connect(session.database.path, isolation_level=None)
    for pragma in ("recursive_triggers=ON", "synchronous=OFF", "cache_size=-400000"):
        connection.execute(f"PRAGMA {pragma}")
    at, made = FIRST_US, 0
    rows: list[list[object]] = []
    while made < checks:
        begin = made % len(found)
        some = found[begin : begin + IN_A_BATH]
        rows += _bath(chain, site, sets, some, at)
        at, made = at + BATH_US, made + len(some)
        if len(rows) >= BATHS_A_TRANSACTION * (2 * IN_A_BATH + 2) or made >= checks:
            chain.sign(rows[-1])
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany(_INSERT_ENTRY, rows)
            if fold:
                _fold(connection, rows)
            connection.execute("COMMIT")
            rows = []
            if tell and made % 500_000 < IN_A_BATH * BATHS_A_TRANSACTION:
                print(f"{made} checks", file=sys.stderr, flush=True)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    if fold:
        with session.database.writing() as writing:
            for some in (found[start : start + 500] for start in range(0, len(found), 500)):
                summary.write(writing, some)


def _fold(connection: sqlite3.Connection, rows: list[list[object]]) -> None:
    """The rows that these entries fold to; `test_fill` compares them with a rebuild."""
    checks, baths, facts = [], [], []
    for chain_no, seq, kind, at, subject, digest, text, _ in rows:
        if kind == "reading_taken":
            continue
        assert isinstance(text, str)
        payload = json.loads(text)["payload"]
        if kind == "check_recorded":
            check, bath = bytes.fromhex(payload["check"]), bytes.fromhex(payload["bath"])
            judged = (payload["outcome"], payload["outcome"], 0, 0)
            checks.append(
                (check, subject, bath, "ice_point", at, chain_no, seq, payload["offset"], payload["u"], *judged)
            )
        elif kind == "bath_made":
            baths.append((subject, bytes.fromhex(payload["site"]), "ice_point", at, chain_no, seq, "accepted"))
        else:
            facts.append((digest, subject, "judgement", chain_no, seq, at, 1))
    for table, columns, values in (
        (
            "checks",
            '"check", thermometer, bath, point, at, chain_no, seq, "offset", u, given, outcome, hot, voided',
            checks,
        ),
        ("baths", "bath, site, point, at, chain_no, seq, judged", baths),
        ("facts", "hash, subject, field, chain_no, seq, at, counts", facts),
    ):
        marks = ", ".join("?" * (columns.count(",") + 1))
        connection.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", values)
