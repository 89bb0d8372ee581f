"""Folders and files not as they were left: each opens, or opens to be looked at only, or says one thing why not."""

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from registry.services import start
from registry.services.session import open_session
from registry.store import keyfile
from registry.store.database import APPLICATION_ID, SCHEMA_VERSION
from registry.store.errors import KnownError
from tests.robustness.test_half_started import ASKED
from tests.services.kitchen import MACHINE, Kitchen

NOISE = Random(5).randbytes(9000)
Spoil = Callable[[Path], object]


def files_in(home: Path) -> dict[str, bytes | None]:
    return {path.name: path.read_bytes() if path.is_file() else None for path in home.iterdir()}


def statement(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        for one in statements:
            connection.execute(one)
        connection.commit()


def another_database(path: Path) -> None:
    path.unlink()
    statement(path, "CREATE TABLE recipes (name TEXT)", "INSERT INTO recipes VALUES ('soup')")


def garbled(path: Path) -> None:
    """All but the first page, which says what the tables are."""
    content = path.read_bytes()
    path.write_bytes(content[:8192] + bytes(255 - byte for byte in content[8192:]))


def folder_instead(path: Path) -> None:
    path.unlink()
    path.mkdir()


DATABASES: list[tuple[str, Spoil, str]] = [
    ("another program's database", another_database, "not_ours"),
    (
        "our mark on another database",
        lambda path: (another_database(path), statement(path, f"PRAGMA application_id={APPLICATION_ID}")),
        "not_ours",
    ),
    ("another mark", lambda path: statement(path, "PRAGMA application_id=7"), "not_ours"),
    ("a letter", lambda path: path.write_text("Dear customer, " * 900), "not_ours"),
    ("two letters", lambda path: path.write_text("hi"), "not_ours"),
    ("noise", lambda path: path.write_bytes(NOISE), "not_ours"),
    ("nothing", lambda path: path.write_bytes(b""), "not_ours"),
    ("a folder", folder_instead, "missing"),
    ("gone", lambda path: path.unlink(), "missing"),
    ("newer", lambda path: statement(path, f"PRAGMA user_version={SCHEMA_VERSION + 1}"), "newer_file"),
    ("half of it", lambda path: os.truncate(path, path.stat().st_size // 2), "damaged"),
    ("its first page", lambda path: os.truncate(path, 8192), "damaged"),
    ("garbled", garbled, "damaged"),
]


@pytest.mark.parametrize(("spoil", "code"), [one[1:] for one in DATABASES], ids=[one[0] for one in DATABASES])
def test_a_database_that_is_none_is_said_and_left_as_it_was(kitchen: Kitchen, spoil: Spoil, code: str) -> None:
    kitchen.session.close()
    spoil(kitchen.home / "registry.db")
    before = files_in(kitchen.home)
    with pytest.raises(KnownError) as caught:
        open_session(kitchen.home, clock=kitchen.clock, machine=MACHINE)
    assert caught.value.code == code
    assert files_in(kitchen.home) == before


@pytest.mark.parametrize("table", ["chains", "entries", "detached", "documents"])
def test_without_a_table_of_the_record_it_is_no_registry(kitchen: Kitchen, table: str) -> None:
    kitchen.session.close()
    statement(kitchen.home / "registry.db", f"DROP TABLE {table}")
    with pytest.raises(KnownError) as caught:
        open_session(kitchen.home, clock=kitchen.clock, machine=MACHINE)
    assert caught.value.code == "not_ours"


def other_key(path: Path) -> None:
    """The key of another registry, with its own marker."""
    start.first_start(path.parent / "other", ASKED, machine=MACHINE)[0].close()
    for name in ("registry.key", "registry.key.marker"):
        shutil.copy(path.parent / "other" / name, path.parent / name)


def remark(path: Path, **changed: object) -> None:
    """Write the marker anew with something else in it."""
    marker_path = keyfile.marker_path(path)
    old = keyfile.Marker.load(marker_path)
    assert old is not None
    fields = {"machine": old.machine, "chain": old.chain, "seq": old.seq, "hash": old.hash} | changed
    keyfile.Marker(**fields).save(marker_path)  # type: ignore[arg-type]


KEYS: list[tuple[str, Spoil, str]] = [
    ("no key", lambda path: path.unlink(), "key_missing"),
    ("an empty key", lambda path: path.write_bytes(b""), "key_damaged"),
    ("half a key", lambda path: os.truncate(path, 60), "key_damaged"),
    ("noise for a key", lambda path: path.write_bytes(NOISE), "key_damaged"),
    ("a folder for a key", folder_instead, "key_damaged"),
    ("the key of another chain", other_key, "key_of_another_chain"),
    ("no marker", lambda path: keyfile.marker_path(path).unlink(), "unmarked"),
    ("an empty marker", lambda path: keyfile.marker_path(path).write_bytes(b""), "unmarked"),
    ("noise for a marker", lambda path: keyfile.marker_path(path).write_bytes(NOISE), "unmarked"),
    ("a folder for a marker", lambda path: folder_instead(keyfile.marker_path(path)), "unmarked"),
    ("another computer", lambda path: remark(path, machine="b" * 64), "elsewhere"),
    ("another chain's marker", lambda path: remark(path, chain=bytes(32)), "other_chain"),
    ("a marker further on", lambda path: remark(path, seq=10_000), "behind"),
    ("another entry at its place", lambda path: remark(path, hash=bytes(32)), "branched"),
]


@pytest.mark.fast_cases(5)
@pytest.mark.parametrize(("spoil", "why"), [one[1:] for one in KEYS], ids=[one[0] for one in KEYS])
def test_with_another_key_or_marker_it_may_only_be_looked_at(kitchen: Kitchen, spoil: Spoil, why: str) -> None:
    probe = kitchen.enrol()
    kitchen.session.close()
    spoil(kitchen.home / "registry.key")
    assert kitchen.reopen().why_read_only == why
    before = kitchen.count()
    with pytest.raises(KnownError, match="read_only"):
        kitchen.ice()
    assert kitchen.count() == before
    assert kitchen.tag(probe).startswith("PR")  # it can be looked at
    # What the key is known to have signed and is not here does not hold; all else is no damage.
    named = {"behind": {"end_missing", "not_compared"}, "branched": {"end_differs"}}
    assert {one.code for one in kitchen.verify().findings} == named.get(why, set())


@pytest.mark.parametrize("lost", [1, 5])
def test_a_marker_that_lags_does_no_harm(kitchen: Kitchen, lost: int) -> None:
    """As after a power cut that came before the marker had reached the disk."""
    last = kitchen.entries()[-1 - lost]
    kitchen.session.close()
    remark(kitchen.home / "registry.key", seq=last.seq, hash=bytes.fromhex(last.hash))
    assert kitchen.reopen().why_read_only is None
    kitchen.ice()
    assert kitchen.verify().good


def test_a_restored_copy_may_only_be_looked_at(kitchen: Kitchen) -> None:
    kitchen.session.close()
    older = (kitchen.home / "registry.db").read_bytes()
    kitchen.reopen()
    probe = kitchen.enrol()
    kitchen.session.close()
    (kitchen.home / "registry.db").write_bytes(older)
    assert kitchen.reopen().why_read_only == "behind"
    with pytest.raises(KnownError, match="read_only"):
        kitchen.enrol()
    assert probe not in {one.subject for one in kitchen.entries()}
    assert {one.code for one in kitchen.verify().findings} == {"end_missing", "not_compared"}
