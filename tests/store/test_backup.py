"""A backup is the whole record in one file without the key; a new installation comes of it."""

import re
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from registry.journal.numbers import installation_code
from registry.store import backup, checking, comparing, queries, rebuild, succession
from registry.store.database import open_database
from registry.store.errors import KnownError
from tests.store.databases import folded
from tests.store.kitchen import Kitchen, furnished
from tests.store.story import PERSON, START, key
from tests.store.tampering import unguarded
from tests.store.test_bundles import report_incident


def made(kitchen: Kitchen, folder: Path) -> backup.Backup:
    done = backup.backup(kitchen.database, kitchen.signer.chain_no, folder, lambda: START)
    assert done is not None
    return done


def test_a_backup_is_the_same_record_in_one_file(database_url: str, tmp_path: Path) -> None:
    kitchen, folder = furnished(database_url), tmp_path / "backups"
    folder.mkdir()
    done = made(kitchen, folder)
    assert done.report.good
    assert [path.name for path in folder.iterdir()] == [done.path.name]
    (head,) = done.report.heads
    code = installation_code(bytes.fromhex(kitchen.chain))
    assert done.path.name == f"{code}-{head.seq}-{head.hash[:16]}-20260303T143000Z.db"
    copy = open_database(done.path, read_only=True)
    assert folded(copy) == folded(kitchen.database)
    assert checking.verify(copy, deep=True).good
    copy.close()
    kitchen.database.close()


def test_the_key_is_not_in_it(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    content = made(kitchen, tmp_path).path.read_bytes()
    raw = key(0).private_bytes(Encoding.Raw, PrivateFormat.Raw, NoEncryption())
    assert bytes.fromhex(kitchen.chain) in content
    assert raw not in content
    assert raw.hex().encode() not in content
    kitchen.database.close()


def test_a_full_disk_is_said_before_and_nothing_is_left(tmp_path: Path, small_disk: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    with pytest.raises(KnownError) as refused:
        made(kitchen, small_disk)
    assert refused.value.code == "disk_full"
    assert list(small_disk.iterdir()) == []
    kitchen.database.close()


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    with pytest.raises(KnownError):
        made(kitchen, tmp_path / "nowhere" / "copies")
    kitchen.database.close()


def test_a_copy_of_a_damaged_record_is_kept_and_says_so(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    with unguarded(kitchen.path) as connection:
        connection.execute("UPDATE entries SET at = 1 WHERE seq = 3")
    done = made(kitchen, tmp_path)
    assert done.path.exists()
    assert [one.code for one in done.report.findings] == ["column_differs"]
    kitchen.database.close()


def test_restored_and_succeeded_it_goes_on(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    saved, before = made(kitchen, tmp_path).path, folded(kitchen.database)
    kitchen.database.close()
    database, bundle = backup.restore(saved, tmp_path / "new.db")
    assert bundle.finished
    assert folded(database) == before
    with database.reading() as connection:
        old = succession.old_head(connection, 1)
    signer = succession.succeed(
        database, old, key(0), key(8), "restored", name="Harbour", program="1", by=PERSON, clock=kitchen.clock
    )
    again = Kitchen(database, signer, 8)
    again.record(
        (
            "site_set",
            {
                "site": "0195f3a0c00070000000007300000001",
                "name": "Harbour",
                "letters": "LM",
                "zone": "Europe/London",
                "elevation": "5 m",
                "pressure_source": "elevation",
            },
        )
    )
    report = checking.verify(database, deep=True)
    assert report.findings == []
    assert {(head.chain, head.seq) for head in report.heads} == {(old.chain, old.seq), (signer.chain, 2)}
    assert comparing.compare(database) == []
    database.close()


def test_a_spoilt_backup_is_not_restored(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    saved = made(kitchen, tmp_path).path
    with unguarded(saved) as connection:
        connection.execute("DELETE FROM entries WHERE seq = 4")
    database, bundle = backup.restore(saved, tmp_path / "new.db")
    assert not bundle.finished
    assert {one.code for one in bundle.report.findings} == {"missing"}
    assert checking.verify(database).entries == 0
    assert not rebuild.unfinished(database)
    database.close()
    kitchen.database.close()


def test_names_sort_by_what_they_hold(tmp_path: Path) -> None:
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    assert re.fullmatch(r"[A-Z]{4}-[0-9]+-[0-9a-f]{16}-[0-9]{8}T[0-9]{6}Z\.db", made(kitchen, tmp_path).path.name)
    kitchen.database.close()


def test_it_tells_how_far_it_has_got(database_url: str, tmp_path: Path) -> None:
    kitchen, told = furnished(database_url), []
    backup.backup(
        kitchen.database,
        kitchen.signer.chain_no,
        tmp_path,
        lambda: START,
        progress=lambda one: told.append(one) or True,
    )
    assert told == sorted(told)
    assert told[-1] == 100
    kitchen.database.close()


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("looks", [1, 2, 3])
def test_stopped_nothing_is_left(database_url: str, tmp_path: Path, looks: int) -> None:
    kitchen, folder = furnished(database_url), tmp_path / "copies"
    folder.mkdir()
    told: list[int] = []

    def go_on(percent: int) -> bool:
        told.append(percent)
        return len(told) < looks

    made_one = backup.backup(kitchen.database, kitchen.signer.chain_no, folder, lambda: START, progress=go_on)
    assert made_one is None
    assert (len(told), list(folder.iterdir())) == (looks, [])
    assert made(kitchen, folder).report.good  # and the next one is made
    kitchen.database.close()


def test_what_is_recorded_meanwhile_is_not_half_in_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One state is copied, page by page, while somebody goes on recording; it does not begin anew for that."""
    kitchen = furnished(f"sqlite:///{tmp_path / 'registry.db'}")
    monkeypatch.setattr(backup, "STEP_PAGES", 1)
    with kitchen.database.reading() as connection:
        before = queries.count_entries(connection)
    told: list[int] = []

    def record(percent: int) -> bool:
        if percent < 50 and len(told) % 5 == 0:
            report_incident(kitchen, len(told))
        told.append(percent)
        return True

    done = backup.backup(kitchen.database, kitchen.signer.chain_no, tmp_path, lambda: START, progress=record)
    assert done is not None
    assert done.report.good
    copy = open_database(done.path, read_only=True)
    assert checking.verify(copy, deep=True).good
    with copy.reading() as theirs, kitchen.database.reading() as ours:
        assert queries.count_entries(theirs) == before
        assert queries.count_entries(ours) > before + 3
    assert told == sorted(told)
    copy.close()
    kitchen.database.close()


def test_the_last_folder_of_its_path_is_made(database_url: str, tmp_path: Path) -> None:
    kitchen = furnished(database_url)
    assert made(kitchen, tmp_path / "copies").path.parent == tmp_path / "copies"
    kitchen.database.close()
