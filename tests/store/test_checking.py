"""Nothing in a database can be changed behind the program's back without verifying naming it."""

import random
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from registry.journal import entry as journal_entry
from registry.journal.numbers import entry_number, installation_code
from registry.records.kinds import subject_of
from registry.store import checking, comparing, rebuild, tables
from registry.store.checking import Finding, Report
from registry.store.database import Database, open_database
from registry.store.errors import KnownError
from registry.store.keyfile import Marker
from tests.store.databases import append
from tests.store.kitchen import T, furnished, opened
from tests.store.story import Chain, id_of
from tests.store.tampering import other_byte, unguarded

Tamper = Callable[[sqlite3.Connection], Any]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A good database, closed; copies of it are spoilt."""
    path = tmp_path_factory.mktemp("whole") / "registry.db"
    kitchen = furnished(f"sqlite:///{path}")
    kitchen.database.close()
    sqlite3.connect(path).execute("PRAGMA wal_checkpoint(TRUNCATE)").connection.close()
    return path


def verified_after(
    whole: Path, folder: Path, change: Tamper, *, deep: bool = False, marker: Marker | None = None
) -> Report:
    path = folder / "spoilt.db"
    shutil.copyfile(whole, path)
    with unguarded(path) as connection:
        change(connection)
    database = open_database(path, read_only=True)
    report = checking.verify(database, deep=deep, marker=marker)
    database.close()
    path.unlink()
    return report


def chain_of(whole: Path) -> tuple[bytes, str]:
    """The key of the chain, and the number of its last entry."""
    database = open_database(whole, read_only=True)
    (head,) = checking.verify(database).heads
    database.close()
    chain = bytes.fromhex(head.chain)
    return chain, entry_number(installation_code(chain), head.seq)


def codes(report: Report) -> set[str]:
    return {finding.code for finding in report.findings}


def entries_of(whole: Path) -> list[sqlite3.Row]:
    connection = sqlite3.connect(whole)
    connection.row_factory = sqlite3.Row
    rows = connection.execute("SELECT * FROM entries ORDER BY seq").fetchall()
    connection.close()
    return rows


@pytest.mark.parametrize("deep", [False, True])
def test_what_the_program_wrote_is_good(whole: Path, tmp_path: Path, deep: bool) -> None:
    report = verified_after(whole, tmp_path, lambda _: None, deep=deep)
    assert report.findings == []
    assert report.good
    assert report.entries == len(entries_of(whole))
    assert report.documents == 1
    assert report.newer == 0
    assert [head.seq for head in report.heads] == [report.entries - 1]


def test_the_program_writes_what_verifies_on_either_database(database_url: str) -> None:
    kitchen = furnished(database_url)
    assert checking.verify(kitchen.database, deep=True).findings == []
    kitchen.database.close()


def test_any_byte_of_any_text_or_hash_is_named(whole: Path, tmp_path: Path) -> None:
    chosen = random.Random(3)
    for row in entries_of(whole):
        for column, code in (("text", "text_changed"), ("hash", "text_changed")):
            value = row[column].encode() if column == "text" else row[column]
            spoilt = other_byte(value, chosen.randrange(len(value)))
            given = spoilt.decode() if column == "text" else spoilt
            statement = f"UPDATE entries SET {column} = ? WHERE seq = ?"
            report = verified_after(
                whole, tmp_path, lambda connection, s=statement, g=given, q=row["seq"]: connection.execute(s, (g, q))
            )
            named = [one for one in report.findings if one.code == code]
            assert [one.seq for one in named] == [row["seq"]], (column, row["seq"], report.findings)


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("column", ["kind", "at", "subject"])
def test_any_column_that_copies_the_text_is_named(whole: Path, tmp_path: Path, column: str) -> None:
    changed = {
        "kind": lambda value: value[:-1] + "x",
        "at": lambda value: value + 1,
        "subject": lambda value: other_byte(value, 9),
    }
    for row in entries_of(whole):
        values = (changed[column](row[column]), row["seq"])
        statement = f"UPDATE entries SET {column} = ? WHERE seq = ?"
        report = verified_after(whole, tmp_path, lambda connection, s=statement, v=values: connection.execute(s, v))
        (finding,) = report.findings
        assert (finding.code, finding.seq, finding.values["column"]) == ("column_differs", row["seq"], column)
        assert finding.number is not None
        assert f"{row['seq']:04d}" in finding.number


@pytest.mark.slow
def test_a_kind_swapped_for_another_known_one_is_named(whole: Path, tmp_path: Path) -> None:
    """A quick look-up by kind must not believe the column."""
    for kind in ("reading_taken", "bath_made", "document_stored", "unheard_of"):
        for row in entries_of(whole)[::2]:
            if row["kind"] != kind:
                values = (kind, row["seq"])
                report = verified_after(
                    whole,
                    tmp_path,
                    lambda connection, v=values: connection.execute("UPDATE entries SET kind = ? WHERE seq = ?", v),
                )
                assert [one.seq for one in report.findings if one.code == "column_differs"] == [row["seq"]]


def test_a_changed_order_or_a_missing_entry_is_named(whole: Path, tmp_path: Path) -> None:
    last = entries_of(whole)[-1]["seq"]
    report = verified_after(whole, tmp_path, lambda c: c.execute("DELETE FROM entries WHERE seq = 5"))
    assert ("missing", 5) in {(one.code, one.seq) for one in report.findings}
    report = verified_after(
        whole, tmp_path, lambda c: c.execute("UPDATE entries SET seq = seq + 7 WHERE seq = ?", (last,))
    )
    assert codes(report) >= {"missing", "seq_differs"}
    report = verified_after(whole, tmp_path, lambda c: c.execute("UPDATE entries SET seq = -1 WHERE seq = 3"))
    assert not report.good
    report = verified_after(whole, tmp_path, lambda c: c.execute("DELETE FROM entries WHERE seq = ?", (last,)))
    assert codes(report) == {"end_unsigned"}
    report = verified_after(whole, tmp_path, lambda c: c.execute("DELETE FROM entries"))
    assert "chain_empty" in codes(report)


def test_an_end_that_was_cut_off_is_named_by_the_marker_beside_the_key(whole: Path, tmp_path: Path) -> None:
    rows = entries_of(whole)
    last = rows[-1]
    signed = [row["seq"] for row in rows if row["signature"] is not None]
    chain, number = chain_of(whole)
    marker = Marker("a" * 64, chain, last["seq"], last["hash"])
    for deep in (False, True):
        cut = signed[-2]  # what is left ends in a signature, as a whole record does
        report = verified_after(
            whole, tmp_path, lambda c, s=cut: c.execute("DELETE FROM entries WHERE seq > ?", (s,)),
            deep=deep, marker=marker,
        )  # fmt: skip
        (finding,) = [one for one in report.findings if one.code != "not_compared"]
        assert (finding.code, finding.seq, finding.number) == ("end_missing", last["seq"], number)
        assert finding.values["count"] == last["seq"] - cut
        assert report.findings[1:] == ([] if not deep else [Finding("not_compared")])


def test_a_marker_that_lags_or_stands_at_the_end_finds_nothing(whole: Path, tmp_path: Path) -> None:
    chain, _ = chain_of(whole)
    for row in entries_of(whole):
        marker = Marker("b" * 64, chain, row["seq"], row["hash"])
        assert verified_after(whole, tmp_path, lambda _: None, marker=marker).findings == []
    before_the_first = Marker("b" * 64, bytes(32), -1, bytes(32))
    assert verified_after(whole, tmp_path, lambda _: None, marker=before_the_first).good


def test_a_marker_of_another_end_is_named_and_one_of_another_chain_says_nothing(whole: Path, tmp_path: Path) -> None:
    chain, _ = chain_of(whole)
    other_end = Marker("a" * 64, chain, 3, bytes(32))
    report = verified_after(whole, tmp_path, lambda _: None, marker=other_end)
    assert [(one.code, one.seq) for one in report.findings] == [("end_differs", 3)]
    elsewhere = Marker("a" * 64, bytes(range(32)), 3, bytes(32))
    report = verified_after(whole, tmp_path, lambda _: None, marker=elsewhere)
    assert report.findings == []


def test_entries_under_no_chain_are_named(whole: Path, tmp_path: Path) -> None:
    copied = (
        "INSERT INTO entries (chain_no, seq, kind, at, subject, hash, text, signature) "
        "SELECT 9, seq, kind, at, subject, hash, text, signature FROM entries WHERE seq = 4"
    )
    report = verified_after(whole, tmp_path, lambda c: c.execute(copied))
    assert codes(report) == {"entry_of_no_chain"}
    report = verified_after(whole, tmp_path, lambda c: c.execute("DELETE FROM chains"))
    assert codes(report) == {"entry_of_no_chain"}


def test_another_key_or_signature_is_named(whole: Path, tmp_path: Path) -> None:
    last = entries_of(whole)[-1]
    spoilt = other_byte(last["signature"], 5)
    sign = "UPDATE entries SET signature = ? WHERE seq = ?"
    report = verified_after(whole, tmp_path, lambda c: c.execute(sign, (spoilt, last["seq"])))
    assert [(one.code, one.seq) for one in report.findings] == [("signature_bad", last["seq"])]
    report = verified_after(whole, tmp_path, lambda c: c.execute(sign, (None, last["seq"])))
    assert codes(report) == {"end_unsigned"}
    report = verified_after(whole, tmp_path, lambda c: c.execute("UPDATE chains SET chain = ?", (bytes(32),)))
    assert codes(report) >= {"column_differs", "signature_bad"}


def test_only_the_deep_pass_looks_at_signatures_before_the_last(whole: Path, tmp_path: Path) -> None:
    change = "UPDATE entries SET signature = zeroblob(64) WHERE seq = 1"
    assert verified_after(whole, tmp_path, lambda c: c.execute(change)).good
    report = verified_after(whole, tmp_path, lambda c: c.execute(change), deep=True)
    assert [(one.code, one.seq) for one in report.findings] == [("signature_bad", 1)]


def test_documents_and_names_beside_the_chain(whole: Path, tmp_path: Path) -> None:
    spoils = {
        "UPDATE documents SET bytes = CAST(bytes || x'00' AS BLOB)": {"document_changed", "document_length"},
        "UPDATE documents SET bytes = x'00'": {"document_changed", "document_length"},
        "UPDATE documents SET sha256 = zeroblob(32)": {"document_changed", "document_missing"},
        "DELETE FROM documents": {"document_missing"},
        "UPDATE detached SET text = replace(text, 'LM', 'LN')": {"detached_changed"},
        "UPDATE detached SET salt = zeroblob(16)": {"detached_changed"},
        "UPDATE detached SET fields_hash = zeroblob(32)": {"detached_changed"},
        "DELETE FROM detached": set(),  # what was erased is gone by right
    }
    for statement, expected in spoils.items():
        report = verified_after(whole, tmp_path, lambda c, s=statement: c.execute(s))
        assert codes(report) == expected, statement


def test_a_guard_that_is_gone_or_weakened_is_named(whole: Path, tmp_path: Path) -> None:
    path = tmp_path / "weak.db"
    for statement in (
        "DROP TRIGGER entries_no_update",
        "DROP INDEX ix_entries_subject",
        "ALTER TABLE checks ADD COLUMN note TEXT",
        "CREATE TABLE more (one INTEGER)",
    ):
        shutil.copyfile(whole, path)
        connection = sqlite3.connect(path)
        connection.execute(statement)
        connection.close()
        database = open_database(path, read_only=True)
        assert codes(checking.verify(database)) == {"schema_altered"}, statement
        database.close()


@pytest.mark.parametrize("every", [6, pytest.param(1, marks=pytest.mark.slow)])
def test_any_value_of_any_folded_row_is_named(whole: Path, tmp_path: Path, every: int) -> None:
    """Each column of the first row of each table (in the fast tests each sixth of them), and all of its rows gone."""
    shutil.copyfile(whole, path := tmp_path / "spoilt.db")
    database = open_database(path)
    for table in tables.PROJECTIONS:
        keys = table.primary_key.columns.keys()
        named_by = ", ".join(f'"{key}"' for key in keys)
        for column in list(table.c)[::-every]:
            number = f'coalesce("{column.name}", 7) + 1000'
            value = {"Text": "'~'", "Hex": "zeroblob(16)"}.get(type(column.type).__name__, number)
            first = f"({named_by}) = (SELECT {named_by} FROM {table.name} LIMIT 1)"
            found = differing_after(database, f'UPDATE {table.name} SET "{column.name}" = {value} WHERE {first}')
            assert found == {(table.name, "" if column.name in keys else column.name)}, column
        assert differing_after(database, f"DELETE FROM {table.name}") == {(table.name, "")}
    assert comparing.compare(database) == []  # each change was taken back
    database.close()


def differing_after(database: Database, statement: str) -> set[tuple[str, str]]:
    with database.writing() as connection:
        attempt = connection.begin_nested()
        assert connection.exec_driver_sql(statement).rowcount >= 1
        found = comparing.compare_in(connection, lambda _: True)
        attempt.rollback()
    return {(one.table, one.column) for one in found}


def test_the_deep_pass_names_the_folded_value_that_differs(whole: Path, tmp_path: Path) -> None:
    statement = "UPDATE thermometers SET status = 'retired' WHERE tag_id = 'LM214L'"
    assert verified_after(whole, tmp_path, lambda c: c.execute(statement)).good
    (finding,) = verified_after(whole, tmp_path, lambda c: c.execute(statement), deep=True).findings
    assert finding.code == "folded_differs"
    assert finding.values == {
        "table": "thermometers",
        "key": T,
        "column": "status",
        "found": "retired",
        "folded": "in_service",
    }


def test_an_index_that_lies_is_found_by_the_deep_pass(whole: Path, tmp_path: Path) -> None:
    """SQLite believes an index; so a file whose index tells another story shows other rows."""

    def change(connection: sqlite3.Connection) -> None:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(
            "UPDATE sqlite_master SET sql = replace(sql, '(subject)', '(at)') WHERE name = 'ix_entries_subject'"
        )

    report = verified_after(whole, tmp_path, change, deep=True)
    assert codes(report) >= {"schema_altered", "file_damaged"}


# --- what is no damage, and what only looks good -------------------------------------------------------------------


def test_newer_kinds_and_versions_are_counted_and_no_damage(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    other = Chain(3)
    other.write("chain_opened", {"name": "Test", "opened_because": "first_start", "program": "9"}, at=1)
    other.write("probe_melted", {"thermometer": T, "what": "all"}, at=2)
    other.write("incident_reported", {"thermometer": T, "shape": "bent"}, at=3, kv=2)
    append(kitchen.database, other, other.entries)
    for deep in (False, True):
        report = checking.verify(kitchen.database, deep=deep)
        assert (report.findings, report.newer) == ([], 2)
    kitchen.database.close()


def test_a_demo_chain_is_marked(tmp_path: Path) -> None:
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}", demo=True)
    report = checking.verify(kitchen.database)
    assert report.good
    assert report.demo == [kitchen.chain]
    kitchen.database.close()


def test_a_payload_without_its_form_is_named_by_the_deep_pass(tmp_path: Path) -> None:
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}")
    other = Chain(3)
    other.write("chain_opened", {"name": "Test", "opened_because": "first_start", "program": "9"}, at=1)
    other.write("incident_reported", {"thermometer": T, "shape": "bent"}, at=3)
    append(kitchen.database, other, other.entries)
    assert checking.verify(kitchen.database).good
    report = checking.verify(kitchen.database, deep=True)
    assert [(one.code, one.chain, one.seq) for one in report.findings] == [("payload_refused", other.chain, 1)]
    kitchen.database.close()


@pytest.mark.fast_cases(4)
@pytest.mark.parametrize(
    "payload",
    [
        {"thermometer": id_of("t", 1), "bath": id_of("b", 1)},
        {"bath": id_of("b", 1)},
        {"bath": id_of("b", 1), "components": {"thermometer": id_of("t", 1)}},
        {"beside": [{"shown": "1 C", "thermometer": id_of("t", 1)}], "site": id_of("s", 1)},
        {"part": id_of("p", 1), "zzz": {"thermometer": id_of("t", 1)}},
        {"name": f',"thermometer":"{id_of("t", 1)}"', "site": id_of("s", 1)},
        {"name": "a } brace", "thermometer": id_of("t", 1)},
        {"a": "{", "thermometer": id_of("t", 1), "z": "}"},
        {"thermometer": id_of("t", 1), "z": [{"thermometer": id_of("t", 2)}]},
        {"thermometer": "dial no 5", "station": id_of("f", 1)},
        {"thermometer": 5, "of": id_of("f", 1)},
        {"nothing": 1},
    ],
)
def test_the_quick_way_knows_the_subject_whatever_the_payload(tmp_path: Path, payload: dict[str, Any]) -> None:
    """Right columns are never refused; and of every id in the text but the right one it says no."""
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}")
    other = Chain(3)
    other.write("chain_opened", {"name": "Test", "opened_because": "first_start", "program": "9"}, at=1)
    entry = other.write("incident_reported", payload, at=1_772_548_200_000_000)
    append(kitchen.database, other, other.entries)
    assert checking.verify(kitchen.database).good
    right = subject_of(payload, other.chain)
    for wrong in {id_of(what, number) for what in "tbspf" for number in (1, 2)} - {right}:
        with unguarded(kitchen.path) as connection:
            connection.execute("UPDATE entries SET subject = ? WHERE hash = ?", (bytes.fromhex(wrong), entry.hash))
        (finding,) = checking.verify(kitchen.database).findings
        assert (finding.values["beside"], finding.values["text"]) == (wrong, right)
    kitchen.database.close()


def test_a_text_that_is_no_json_is_named_though_it_is_signed(tmp_path: Path) -> None:
    kitchen = opened(f"sqlite:///{tmp_path / 'registry.db'}")
    chain = Chain(0)
    with kitchen.database.reading() as connection:
        last = connection.exec_driver_sql("SELECT seq, hash FROM entries ORDER BY seq DESC LIMIT 1").one()
    text = b'{"after":[] and so on,' + journal_entry.tail(last.hash.hex(), last.seq + 1)
    hash = journal_entry.text_hash(text)
    signature = chain.sign_raw(last.seq + 1, hash)
    with unguarded(kitchen.path) as connection:
        connection.execute(
            "INSERT INTO entries (chain_no, seq, kind, at, subject, hash, text, signature) VALUES (1,?,?,?,?,?,?,?)",
            (last.seq + 1, "incident_reported", 5, bytes(16), hash, text.decode(), signature),
        )
    assert codes(checking.verify(kitchen.database)) == {"text_refused"}
    assert codes(checking.verify(kitchen.database, deep=True)) == {"text_refused", "not_compared"}
    with pytest.raises(KnownError) as refused:
        rebuild.rebuild(kitchen.database)
    assert refused.value.code == "damaged"
    kitchen.database.close()


def test_verifying_can_be_stopped(whole: Path, tmp_path: Path) -> None:
    database = open_database(whole, read_only=True)
    report = checking.verify(database, progress=lambda done: done < 0)
    assert not report.finished
    assert not report.good
    database.close()


def test_an_unfinished_rebuild_is_named(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    assert not rebuild.rebuild(kitchen.database, lambda _: False)
    assert codes(checking.verify(kitchen.database)) == {"rebuild_unfinished"}
    assert rebuild.finish(kitchen.database)
    assert checking.verify(kitchen.database, deep=True).good
    assert comparing.compare(kitchen.database) == []
    kitchen.database.close()
