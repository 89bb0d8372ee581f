"""Full disks, what may only be read, locks, a clock set back: one known trouble, nothing half saved, the draft kept."""

import json
import os
import pwd
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy.exc import DBAPIError

from registry.services import upkeep
from registry.services.session import open_session
from registry.store import comparing
from registry.store.drafts import Drafts
from registry.store.errors import KnownError
from tests.robustness.acts import Act, perform
from tests.services.kitchen import MACHINE, Clock, Kitchen, another
from tests.store.conftest import mount

STEP = 8192  # bytes: a page


def reading(kitchen: Kitchen, bath: str, thermometer: str, shown: str = "0.4 C") -> Act:
    ids = {"check": kitchen.session.new_id(), "reading": kitchen.session.new_id()}
    return {"act": "reading", "bath": bath, "thermometer": thermometer, "shown": shown, "last": False} | ids


@contextmanager
def troubles(kitchen: Kitchen, code: str) -> Iterator[None]:
    """What is done inside meets this trouble and leaves nothing behind."""
    before = kitchen.count()
    with pytest.raises(KnownError) as caught:
        yield
    assert caught.value.code == code
    assert kitchen.count() == before


def trouble_in(kitchen: Kitchen, act: Act) -> str | None:
    """The trouble that an act meets, if any."""
    try:
        perform(kitchen.session, kitchen.lead, act)
    except KnownError as trouble:
        return trouble.code
    return None


def is_whole(kitchen: Kitchen) -> None:
    assert kitchen.verify().findings == []
    assert comparing.compare(kitchen.session.database) == []


# --- full ----------------------------------------------------------------------------------------------------


@pytest.fixture
def on_a_small_disk(tmp_path: Path, first_kitchen: Kitchen, own_mounts: None) -> Iterator[Kitchen]:
    place = tmp_path / "disk"
    place.mkdir()
    mount("-t", "tmpfs", "-o", "size=6m", "tmpfs", str(place))
    opened = another(first_kitchen, place / "kitchen")
    yield opened
    opened.session.close()
    subprocess.run(["umount", str(place)], check=True)


def fill(disk: Path, leave: int = 0) -> Path:
    """Use up the disk, but for some bytes."""
    filler = disk / "filler"
    with filler.open("ab", buffering=0) as file:
        for size in (1 << 16, 4096):
            try:
                while True:
                    file.write(bytes(size))
            except OSError:
                continue
    os.truncate(filler, filler.stat().st_size - leave)
    return filler


def test_on_a_full_disk_the_draft_is_kept_and_nothing_half_saved(on_a_small_disk: Kitchen) -> None:
    kitchen, disk = on_a_small_disk, on_a_small_disk.home.parent
    bath, probe = kitchen.ice(), kitchen.enrol()
    act = reading(kitchen, bath, probe)
    with Drafts.open(kitchen.home / "drafts") as drafts:
        filler = fill(disk)
        drafts.save(json.dumps(act).encode())
        for _ in range(3):
            with troubles(kitchen, "disk_full"):
                perform(kitchen.session, kitchen.lead, act)
        with troubles(kitchen, "disk_full"):
            upkeep.back_up(kitchen.session, kitchen.officer, disk)
        assert not [path for path in disk.iterdir() if path.suffix in (".db", ".partial")]
        kept = drafts.load()
    filler.unlink()
    assert kept is not None
    assert perform(kitchen.session, kitchen.lead, json.loads(kept)).recorded
    assert len(kitchen.entries("check_recorded")) == 1
    is_whole(kitchen)


def test_wherever_the_disk_gets_full_an_act_is_recorded_whole_or_not_at_all(on_a_small_disk: Kitchen) -> None:
    kitchen, disk = on_a_small_disk, on_a_small_disk.home.parent
    bath, probe = kitchen.ice(), kitchen.enrol()
    recorded = 0
    for leave in range(0, 24 * STEP, STEP // 2):
        # A log that has been written back is begun anew, so that what is left is needed.
        with closing(sqlite3.connect(kitchen.home / "registry.db")) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        filler, act, before = fill(disk, leave), reading(kitchen, bath, probe), kitchen.count()
        trouble = trouble_in(kitchen, act)
        assert trouble in (None, "disk_full")
        assert kitchen.count() == before + (0 if trouble else 2)
        recorded += trouble is None
        filler.unlink()
        perform(kitchen.session, kitchen.lead, act)
        assert kitchen.count() == before + 2
    assert 0 < recorded < 48
    is_whole(kitchen)


def test_opening_on_a_full_disk_says_so_and_harms_nothing(on_a_small_disk: Kitchen) -> None:
    kitchen, disk = on_a_small_disk, on_a_small_disk.home.parent
    kitchen.session.close()
    filler = fill(disk)
    with pytest.raises(KnownError) as caught:
        kitchen.reopen()
    assert caught.value.code == "disk_full"
    filler.unlink()
    kitchen.reopen()
    assert kitchen.session.why_read_only is None
    is_whole(kitchen)


def test_a_database_that_may_not_grow_is_a_full_disk(kitchen: Kitchen) -> None:
    """SQLite's own limit gives SQLITE_FULL where no small disk can be had."""
    bath, probe = kitchen.ice(), kitchen.enrol()
    acts = [reading(kitchen, bath, probe) for _ in range(300)]
    with kitchen.session.database.writing() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1")  # as many as there are
    before = kitchen.count()
    met = [trouble_in(kitchen, act) for act in acts]
    done = met.index("disk_full")
    assert set(met[done:]) == {"disk_full"}
    assert kitchen.count() == before + 2 * done
    with kitchen.session.database.writing() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1000000")
    assert [trouble_in(kitchen, act) for act in acts[: done + 1]] == [None] * (done + 1)
    assert kitchen.count() == before + 2 * done + 2
    is_whole(kitchen)


@pytest.mark.parametrize(
    ("result", "code"),
    [
        # Result codes of SQLite: https://sqlite.org/rescode.html
        (sqlite3.SQLITE_FULL, "disk_full"),
        (sqlite3.SQLITE_IOERR_WRITE, "disk_full"),
        (sqlite3.SQLITE_IOERR_SHMSIZE, "disk_full"),
        (sqlite3.SQLITE_IOERR_FSYNC, "disk_failing"),
        (sqlite3.SQLITE_IOERR_READ, "disk_failing"),
        (sqlite3.SQLITE_BUSY, "locked"),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, "locked"),
        (sqlite3.SQLITE_READONLY_DBMOVED, "read_only"),
        (sqlite3.SQLITE_CANTOPEN, "cannot_open"),
        (sqlite3.SQLITE_CORRUPT_INDEX, "damaged"),
        (sqlite3.SQLITE_NOTADB, "not_ours"),
    ],
)
def test_an_error_of_the_database_while_recording(kitchen: Kitchen, result: int, code: str) -> None:
    error = sqlite3.OperationalError("as the database says")
    error.sqlite_errorcode = result
    with troubles(kitchen, code), kitchen.session.recording(kitchen.lead, "lead"):
        raise DBAPIError("INSERT", None, error)


def test_an_error_that_nobody_can_mend_stays_our_own(kitchen: Kitchen) -> None:
    error = sqlite3.IntegrityError("as the database says")
    error.sqlite_errorcode = sqlite3.SQLITE_CONSTRAINT_UNIQUE
    with pytest.raises(DBAPIError), kitchen.session.recording(kitchen.lead, "lead"):
        raise DBAPIError("INSERT", None, error)


# --- to be read only -----------------------------------------------------------------------------------------


@contextmanager
def ordinary_account(folder: Path) -> Iterator[None]:
    """Work as somebody whom permissions bind; as root that is nobody, who is given the folder."""
    if os.geteuid() != 0:
        yield
        return
    nobody = pwd.getpwnam("nobody").pw_uid
    for path in [folder, *folder.rglob("*")]:
        os.chown(path, nobody, -1)
    os.seteuid(nobody)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def of_somebody(first_kitchen: Kitchen) -> Iterator[Kitchen]:
    """A kitchen that is closed, in a folder that an ordinary account may reach, worked in by one."""
    above = Path(tempfile.mkdtemp())
    above.chmod(0o755)
    opened = another(first_kitchen, above / "kitchen")
    opened.session.close()
    with ordinary_account(above):
        yield opened
        opened.session.close()
        for path in (opened.home, *opened.home.iterdir()):
            path.chmod(0o700)
    shutil.rmtree(above)


def test_a_file_that_may_not_be_written(of_somebody: Kitchen) -> None:
    (of_somebody.home / "registry.db").chmod(0o444)
    assert of_somebody.reopen().why_read_only == "read_only"
    with troubles(of_somebody, "read_only"):
        of_somebody.ice()
    of_somebody.session.close()
    for path in of_somebody.home.glob("registry.db*"):  # its log is made with the same permissions
        path.chmod(0o644)
    of_somebody.reopen()
    of_somebody.ice()
    is_whole(of_somebody)


def test_a_folder_that_may_not_be_written(of_somebody: Kitchen) -> None:
    of_somebody.home.chmod(0o555)
    with pytest.raises(KnownError) as caught:
        of_somebody.reopen()
    assert caught.value.code == "read_only"
    with pytest.raises(KnownError) as caught:
        Drafts.open(of_somebody.home / "drafts")
    assert caught.value.code == "read_only"
    of_somebody.home.chmod(0o755)
    of_somebody.reopen()
    of_somebody.ice()
    is_whole(of_somebody)


def test_a_key_that_may_not_be_read(of_somebody: Kitchen) -> None:
    (of_somebody.home / "registry.key").chmod(0)
    assert of_somebody.reopen().why_read_only == "read_only"
    with troubles(of_somebody, "read_only"):
        of_somebody.ice()


def test_a_marker_that_may_not_be_written_lags(of_somebody: Kitchen) -> None:
    """What is recorded is recorded: the marker only says how far the chain had got at least."""
    (of_somebody.home / "registry.key.marker").chmod(0o444)
    before = of_somebody.reopen() and of_somebody.count()
    of_somebody.ice()
    assert of_somebody.count() == before + 1
    assert of_somebody.reopen().why_read_only is None


def test_a_disk_that_turns_read_only_at_work(on_a_small_disk: Kitchen) -> None:
    kitchen, disk = on_a_small_disk, str(on_a_small_disk.home.parent)
    kitchen.ice()
    for how, may in (("ro", False), ("rw", True)):
        kitchen.session.close()  # a disk in use cannot be changed over
        mount("-o", f"remount,{how}", disk)
        if may:
            kitchen.reopen()
            kitchen.ice()
        else:
            with pytest.raises(KnownError) as caught:
                kitchen.reopen()
            assert caught.value.code == "read_only"
    assert len(kitchen.entries("bath_made")) == 2
    is_whole(kitchen)


# --- locked --------------------------------------------------------------------------------------------------


@contextmanager
def held(kitchen: Kitchen) -> Iterator[sqlite3.Connection]:
    """Another program is writing."""
    with closing(sqlite3.connect(kitchen.home / "registry.db", isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield other


def wait_ms(kitchen: Kitchen, milliseconds: int) -> None:
    with kitchen.session.database.writing() as connection:
        connection.exec_driver_sql(f"PRAGMA busy_timeout={milliseconds}")


def test_a_lock_that_is_not_let_go_is_said(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    act = reading(kitchen, bath, probe)
    wait_ms(kitchen, 30)
    with held(kitchen), troubles(kitchen, "locked"):
        perform(kitchen.session, kitchen.lead, act)
    assert perform(kitchen.session, kitchen.lead, act).recorded
    is_whole(kitchen)


def test_a_lock_that_is_let_go_in_time_is_waited_for(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    act, done, started = reading(kitchen, bath, probe), Event(), Event()

    def record() -> None:
        started.set()
        perform(kitchen.session, kitchen.lead, act)
        done.set()

    thread = Thread(target=record)
    with held(kitchen) as other:
        thread.start()
        assert started.wait(5)
        assert not done.wait(0.2)
        other.execute("COMMIT")
    thread.join(5)
    assert done.is_set()
    assert len(kitchen.entries("check_recorded")) == 1


def test_while_somebody_writes_others_read_and_open(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    with held(kitchen):
        assert kitchen.tag(probe)
        second = open_session(kitchen.home, clock=kitchen.clock, machine=MACHINE)
        assert second.why_read_only is None
        second.close()


# --- the clock -----------------------------------------------------------------------------------------------


def back(clock: Clock) -> None:
    clock.move(hours=-1)


def far_back(clock: Clock) -> None:
    clock.move(days=-400)


@pytest.mark.parametrize("set_back", [back, far_back])
def test_a_clock_set_back_between_two_acts(kitchen: Kitchen, set_back: Callable[[Clock], None]) -> None:
    bath, dial = kitchen.ice(), kitchen.dial()
    first = reading(kitchen, bath, dial, "4 C")
    perform(kitchen.session, kitchen.lead, first)
    last = kitchen.entries()[-1]
    set_back(kitchen.clock)
    for _ in range(2):
        row = perform(kitchen.session, kitchen.lead, first | {"reading": kitchen.session.new_id()})
    assert (row.recorded, len(row.readings)) == (True, 3)
    kitchen.judge(bath)
    after = kitchen.entries()[last.seq + 1 :]
    # Each says how far the clock stands behind the latest that the chain had got to.
    assert {one.at + one.payload["clock_behind_us"] for one in after} == {last.at}
    assert last.at - after[0].at > 3_500_000_000
    assert after[0].text.endswith(f'"prev":"{last.hash}","seq":{last.seq + 1},"v":1}}')
    assert kitchen.row(dial).last_outcome == "fail"
    assert kitchen.reopen().why_read_only is None
    is_whole(kitchen)


def test_a_judgement_pressed_twice_stands_once_also_with_the_clock_set_back(kitchen: Kitchen) -> None:
    bath, probe = kitchen.ice(), kitchen.enrol()
    kitchen.key(bath, probe, "0.4 C")
    kitchen.clock.move(hours=-1)
    for _ in range(2):
        kitchen.judge(bath)
    assert len(kitchen.entries("bath_judged")) == 1
    kitchen.judge(bath, "condemned")
    kitchen.judge(bath)  # another mind is another judgement
    assert [one.payload["judged"] for one in kitchen.entries("bath_judged")] == ["accepted", "condemned", "accepted"]
    other = replace(kitchen, lead=kitchen.officer)
    other.judge(bath)  # and so is another person's
    assert len(kitchen.entries("bath_judged")) == 4
