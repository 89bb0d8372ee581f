"""A small database as the program itself writes one: every sort of row, documents and a name beside the chain."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

from registry.journal.entry import Entry
from registry.records.kinds import KINDS
from registry.store import imports, transaction
from registry.store.database import Database
from registry.store.transaction import Signer, Transaction
from tests.store.databases import create
from tests.store.story import PERSON, START, Chain, id_of, key

T, U, BATH, CHECK, OTHER_CHECK, SITE = (id_of(what, 1) for what in ("t", "u", "b", "c", "d", "s"))
SCALE = {"step": "0.1 dC", "lowest": "-50 C", "highest": "150 C"}
JUDGED: dict[str, Any] = {
    "bath": BATH,
    "reference": "0.0 C",
    "components": {"repeatability": "0.05 dC", "resolution": "0.0289 dC"},
    "offset": "0.4 dC",
    "u": "0.0764 dC",
    "k": "2",
    "decision": "simple",
    "tolerance": "1 dC",
    "outcome": "pass",
    "version": 1,
}


@dataclass
class Kitchen:
    """An installation with its key."""

    database: Database
    signer: Signer
    number: int

    @property
    def path(self) -> Path:
        assert self.database.path is not None
        return self.database.path

    @property
    def chain(self) -> str:
        return self.signer.chain

    def record(self, *payloads: tuple[str, dict[str, Any]]) -> list[Entry]:
        """Payloads of some kinds, in one transaction."""
        with transaction.appending(self.database, self.signer, self.clock, PERSON) as entries:
            made = [self.add(entries, kind, payload) for kind, payload in payloads]
        return made

    @staticmethod
    def add(entries: Transaction, kind: str, payload: dict[str, Any]) -> Entry:
        form = KINDS[kind].from_payload(payload)
        return entries.replace(form) if form.FIELD else entries.add(form)

    def clock(self) -> int:
        return next(_TICKS)


_TICKS: Iterator[int] = count(START, 60_000_000)


def opened(url: str, number: int = 0, **opening: Any) -> Kitchen:
    """A database with the first entries of its chain."""
    database, chain = create(url), Chain(number).chain
    with database.writing() as connection:
        signer = Signer(key(number), chain, transaction.new_chain(connection, chain))
    kitchen = Kitchen(database, signer, number)
    kitchen.record(
        ("chain_opened", {"name": "Harbour kitchen", "opened_because": "first_start", "program": "1"} | opening),
        ("installation_accepted", {"accepted": chain, "whole_group": True}),
    )
    return kitchen


def furnished(url: str, number: int = 0, **opening: Any) -> Kitchen:
    """The same with two thermometers, a bath, checks, an adjustment, an import, a certificate and a name."""
    kitchen = opened(url, number, **opening)
    record_checks(kitchen)
    record_papers(kitchen)
    record_import(kitchen)
    return kitchen


def record_checks(kitchen: Kitchen) -> None:
    for thermometer, tag_id in ((T, "LM214L"), (U, "LM215J")):
        kitchen.record(
            ("thermometer_set", {"thermometer": thermometer, "type": "dial", "scales": {"C": SCALE}, "uses": ["hot"]}),
            ("tag_id_set", {"thermometer": thermometer, "tag_id": tag_id}),
            ("place_set", {"thermometer": thermometer, "site": SITE}),
        )
    bath = {"made": "crushed_ice", "container": "pot", "reference": "0 C", "components": {"bath": "0.02 dC"}}
    kitchen.record(("bath_made", {"bath": BATH, "site": SITE, "point": "ice_point", "version": 1} | bath))
    for thermometer, check, outcome in ((T, CHECK, "pass"), (U, OTHER_CHECK, "fail")):
        reading = {"thermometer": thermometer, "bath": BATH, "role": "as_found", "check": check, "shown": "0.4 C"}
        kitchen.record(("reading_taken", reading | {"reading": id_of("r", int(check, 16) % 1000)}))
        about = {"thermometer": thermometer, "check": check, "point": "ice_point", "as_found": ["0.4 C"]}
        kitchen.record(("check_recorded", about | JUDGED | {"outcome": outcome}))
    kitchen.record(
        ("bath_judged", {"bath": BATH, "judged": "accepted", "judged_by": "closing", "outcomes": {CHECK: "pass"}}),
        ("reading_taken", reading | {"reading": id_of("r", 77), "check": id_of("c", 77)}),
        ("incident_reported", {"thermometer": T, "incident": id_of("i", 1), "what": "dropped"}),
    )
    left = {"thermometer": U, "adjustment": id_of("a", 1), "point": "ice_point", "how": "nut", "check": OTHER_CHECK}
    kitchen.record(("adjusted", left | {"as_left": ["0.1 C"]} | JUDGED | {"offset": "0.1 dC"}))
    (wrong,) = kitchen.record(("incident_reported", {"thermometer": T, "incident": id_of("i", 2), "what": "bent"}))
    kitchen.record(("tag_id_set", {"thermometer": U, "tag_id": "LM216H"}))
    kitchen.record(("voided", {"of": T, "entries": [wrong.hash.hex()], "why": "slip"}))


def record_papers(kitchen: Kitchen) -> None:
    with transaction.appending(kitchen.database, kitchen.signer, kitchen.clock, PERSON) as entries:
        fields_hash = entries.keep_detached({"initials": "LM", "name": "Lena Moor"})
        entries.replace(KINDS["person_named"].from_payload({"person": PERSON, "fields_hash": fields_hash}))
        content = b"%PDF-1.7 a certificate"
        stored = {"of": T, "document": "certificate", "sha256": entries.keep_document(content), "length": len(content)}
        entries.add(KINDS["document_stored"].from_payload(stored | {"media": "application/pdf"}))


def record_import(kitchen: Kitchen) -> None:
    named = id_of("m", 1)
    about = {"thermometer": T, "check": id_of("c", 50), "point": "ice_point", "as_found": ["0.2 C"], "stated": "pass"}
    kitchen.record(
        ("import_opened", {"import": named, "import_kind": "history", "sha256": "0" * 64, "rows": 1}),
        ("check_recorded", about | {"import": named, "row": 2, "performed_at": START - 86_400_000_000}),
        ("import_closed", {"import": named, "entries": 1}),
    )
    imports.fold_pending_imports(kitchen.database)
