"""What other programs are given: lines that prove themselves, and a table that a spreadsheet opens."""

import csv
import io
import json
from pathlib import Path

from registry.journal.entry import text_hash
from registry.journal.signing import head_holds
from registry.journal.text import encode
from registry.store import export
from tests.store.kitchen import SITE, T, furnished


def test_each_line_gives_back_what_was_hashed_and_signed(database_url: str) -> None:
    kitchen, file = furnished(database_url), io.StringIO()
    count = export.write_journal(kitchen.database, file)
    lines = [json.loads(line) for line in file.getvalue().splitlines()]
    assert len(lines) == count > 20
    before, signed = "0" * 64, 0
    for seq, line in enumerate(lines):
        entry = line["entry"]
        text = encode(entry)
        assert text_hash(text).hex() == line["hash"]
        assert (entry["seq"], entry["prev"]) == (seq, before)
        before = line["hash"]
        if "signature" in line:
            signature = bytes.fromhex(line["signature"])
            assert head_holds(bytes.fromhex(entry["chain"]), seq, bytes.fromhex(before), signature)
            signed += 1
    assert "signature" in lines[-1]
    assert signed > 5
    kitchen.database.close()


def test_checks_as_a_table(database_url: str) -> None:
    kitchen, file = furnished(database_url), io.StringIO(newline="")
    site = {"site": SITE, "name": "=Harbour", "letters": "LM", "zone": "Europe/London", "elevation": "5 m"}
    kitchen.record(("site_set", site | {"pressure_source": "elevation"}))
    assert export.write_checks(kitchen.database, file) == 3
    rows = list(csv.DictReader(io.StringIO(file.getvalue(), newline="")))
    imported, recorded, adjusted = rows
    assert imported["thermometer"] == recorded["thermometer"] == T
    assert (imported["as_found"], imported["outcome"], imported["offset"]) == ("0.2", "pass", "")
    assert {
        name: recorded[name] for name in ("tag_id", "as_found", "reading_unit", "reference", "offset", "u", "k")
    } == {
        "tag_id": "LM214L",
        "as_found": "0.4",
        "reading_unit": "C",
        "reference": "0.0",
        "offset": "0.4",
        "u": "0.0764",
        "k": "2",
    }
    assert (recorded["offset_unit"], recorded["tolerance"], recorded["outcome"]) == ("C", "1", "pass")
    assert (recorded["initials"], recorded["site"], recorded["bath_judged"]) == ("LM", "'=Harbour", "accepted")
    assert recorded["performed_utc"].endswith("Z")
    assert (adjusted["adjustment"], adjusted["as_left"], adjusted["as_left_offset"]) == ("nut", "0.1", "0.1")
    kitchen.database.close()


def test_a_branch_is_marked(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    assert not any('"branch"' in line for line in export.journal_lines(kitchen.database))
    kitchen.database.close()
