"""Starting and ending: what is loaded when, what hinders, and that nothing half-done is left behind."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, current_thread, main_thread
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from registry.services import settings, shift_list, troubles
from registry.services.problems import KnownError
from registry.services.session import Session, open_session
from registry.services.shift_list import ShiftView
from registry.store.local import LOCAL_NAME
from registry.wording import refusals
from tests.robustness.test_opening import garbled, statement
from tests.services.kitchen import MACHINE, Kitchen
from tests.ui.conftest import Answers
from ui.app import Opening
from ui.desk import Desk
from ui.frame import Frame, dress
from ui.parts import Button, Words
from ui.setup.first_start import FirstStartPage
from ui.shift.page import ShiftPage
from ui.trouble import CannotOpen
from ui.work import AtOnce, Job, Progress, Runner, Threads

LONG_S = 20
ROOT = Path(__file__).resolve().parents[2]
HEAVY = {"babel", "cryptography", "numpy", "reportlab", "scipy", "sqlalchemy"}
# What a list does without, 20 to 150 ms each on two slow cores: it is loaded once that is there, or where it is used.
AFTER_THE_LIST = {
    "fontpkg",
    "numpy",
    "registry.compute.drift",
    "registry.services.upkeep",
    "registry.store.backup",
    "reportlab",
    "scipy",
    "sqlalchemy.dialects.postgresql",
    "sqlalchemy.orm",
    "ui.plots",
}

# --- in a process of its own ----------------------------------------------------------------------------------

WINDOW = """
import json, os, sys
from pathlib import Path
from threading import current_thread, main_thread
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QDialog, QPlainTextEdit

app = QApplication([])
made_beside = []  # modules with classes of Qt's that were imported in another thread than the window's

def watch(event, details):
    if event == "import" and details[0].startswith(("ui.", "PySide6.")) and current_thread() is not main_thread():
        made_beside.append(details[0])

sys.addaudithook(watch)
import ui.app

opened_in = []
def opener(home):
    from registry.services.session import open_session
    opened_in.append(current_thread() is main_thread())
    ui.app.load_services()
    return open_session(home, machine="a" * 64)
ui.app.Opening.__init__.__defaults__ = (opener,)

def loaded():
    return sorted({name.split(".")[0] for name in sys.modules} | set(sys.modules))

def say(**told):
    print(json.dumps(told), flush=True)
    os._exit(0)

starting = ui.app.Starting(Path(sys.argv[1]))

def when_open(then):
    def look():
        if starting.frame is not None and starting.frame.page is not None:
            beat.stop()
            then(starting.frame)
    beat = QTimer(starting)
    beat.timeout.connect(look)
    beat.start(5)
"""


def in_a_process(home: Path, then: str) -> dict[str, Any]:
    """What a fresh window process says before it ends."""
    code = f"{WINDOW}\n{then}\nstarting.window.show()\napp.exec()\n"
    command = [sys.executable, "-c", code, str(home)]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


@pytest.fixture
def closed(kitchen: Kitchen) -> Path:
    """The kitchen's folder, as nobody has it open; a lead worked there last."""
    settings.remember(settings.local_file(kitchen.home), "person", kitchen.lead.person)
    kitchen.session.close()
    return kitchen.home


def test_the_first_paint_comes_before_all_that_is_heavy(closed: Path) -> None:
    told = in_a_process(closed, "starting.window.first_painted.connect(lambda: say(loaded=loaded(), opened=opened_in))")
    assert HEAVY & set(told["loaded"]) == set()
    assert {"ui.frame", "ui.shift"} & set(told["loaded"]) == set()
    assert told["opened"] == []


def test_the_list_comes_before_statistics_and_paper(closed: Path) -> None:
    """The registry was opened beside the window; what judges a reading is loaded once the list is there.

    No class of Qt's is made beside the window: of a hundred starts ten ended in a segmentation fault (PySide6 6.11.3).
    """
    then = """
def shown(frame):
    at_list, judging = loaded(), QTimer(starting)
    def look():
        if "ui.happened.page" in sys.modules:  # the last
            say(at_list=at_list, later=loaded(), place=type(frame.page).__name__, main=opened_in, beside=made_beside)
    judging.timeout.connect(look)
    judging.start(5)
when_open(shown)
"""
    told = in_a_process(closed, then)
    assert told["place"] == "ShiftPage"
    assert told["main"] == [False]
    assert AFTER_THE_LIST & set(told["at_list"]) == set()
    assert "scipy.special" in told["later"]
    assert "reportlab" not in told["later"]
    assert told["beside"] == []


def test_our_mistake_is_told_in_one_sheet_logged_without_names_and_the_window_goes_on(closed: Path) -> None:
    """Raised in a slot and again in the next: the log holds where and of which kind, and nothing anybody typed."""
    then = """
def mistake():
    person, reading = "Leo Quist", "33.1 F"
    raise LookupError(f"{person} read {reading} with DIGF0")

def shown(frame):
    QTimer.singleShot(0, mistake)
    QTimer.singleShot(0, mistake)
    QTimer.singleShot(50, lambda: after(frame))

def after(frame):
    sheets = [one for one in QApplication.topLevelWidgets() if isinstance(one, QDialog)]
    text = sheets[0].findChild(QPlainTextEdit).toPlainText()
    frame.go("setup")
    when_open(lambda _: say(sheets=len(sheets), text=text, place=type(frame.page).__name__))

when_open(shown)
"""
    told = in_a_process(closed, then)
    log = (closed / troubles.LOG_NAME).read_text("utf-8")
    assert (told["sheets"], told["place"]) == (1, "SetupPage")
    assert log.count("LookupError") == 2
    for kept in (log, told["text"]):
        assert "LookupError" in kept
        for private in ("Leo", "Quist", "33.1", "DIGF0"):
            assert private not in kept


# --- in this process ------------------------------------------------------------------------------------------


Begin = Callable[..., tuple[Frame, Opening]]


@pytest.fixture
def begin(qapp: QApplication, kitchen: Kitchen) -> Iterator[Begin]:
    """Show a window on a folder, as the program does once its parts are loaded."""
    desks: list[Desk] = []

    def opened(home: Path) -> Session:
        return open_session(home, clock=kitchen.clock, machine=MACHINE)

    def made(home: Path, jobs: Runner | None = None, opener: Callable[[Path], Session] = opened) -> Any:
        desk = Desk(home, jobs or AtOnce())
        desks.append(desk)
        settings.choose(desk.local, "theme", "light")
        desk.ask = Answers()
        dress(desk)
        frame = Frame(desk)
        frame.resize(1280, 800)
        opening = Opening(frame, opener)
        frame.show()
        return frame, opening

    yield made
    for desk in desks:
        desk.close()


def alone(frame: Frame) -> Any:
    return frame.stack.currentWidget()


def words(page: Any) -> list[str]:
    return [one.text() for one in page.findChildren(Words)]


def test_it_opens_in_a_thread_at_the_first_paint(qtbot: QtBot, closed: Path, begin: Begin, kitchen: Kitchen) -> None:
    where: list[bool] = []

    def opener(home: Path) -> Session:
        where.append(current_thread() is main_thread())
        return open_session(home, clock=kitchen.clock, machine=MACHINE)

    frame, _ = begin(closed, Threads(), opener)
    qtbot.waitUntil(lambda: frame.page is not None)
    assert where == [False]
    assert isinstance(frame.page, ShiftPage)
    assert frame.desk.person.person == kitchen.lead.person
    assert len(frame.page.rows) == 12


def test_the_first_list_is_read_once_and_beside_the_window(
    qtbot: QtBot, closed: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[bool] = []
    really = shift_list.start_of_shift

    def counted(*given: Any) -> ShiftView:
        read.append(current_thread() is main_thread())
        return really(*given)

    monkeypatch.setattr(shift_list, "start_of_shift", counted)
    frame, _ = begin(closed, Threads())
    qtbot.waitUntil(lambda: frame.page is not None)
    page = frame.page
    assert isinstance(page, ShiftPage)
    assert read == [False]
    assert [one.row for one in page.list.rows.values()] == list(page.rows.values())
    assert len(page.rows) == 12


def test_a_first_list_that_cannot_be_read_is_said(
    qtbot: QtBot, closed: Path, begin: Begin, monkeypatch: pytest.MonkeyPatch
) -> None:
    def damaged(*_: object) -> ShiftView:
        raise KnownError("damaged")

    with monkeypatch.context() as patch:
        patch.setattr(shift_list, "start_of_shift", damaged)
        frame, _ = begin(closed)
        qtbot.waitUntil(lambda: isinstance(alone(frame), CannotOpen))
    (closed / "registry.db").rename(closed / "moved.db")  # nobody holds it
    (closed / "moved.db").rename(closed / "registry.db")
    press_again(frame)
    qtbot.waitUntil(lambda: frame.desk.is_open)
    assert isinstance(frame.page, ShiftPage)


def test_where_nothing_lies_the_first_start_asks(qtbot: QtBot, begin: Begin, tmp_path: Path) -> None:
    frame, _ = begin(tmp_path / "nothing here")
    qtbot.waitUntil(lambda: isinstance(alone(frame), FirstStartPage))
    assert not frame.column.isEnabled()
    frame.go("proof")
    assert isinstance(alone(frame), FirstStartPage)


def newer(path: Path) -> None:
    statement(path, "PRAGMA user_version=9000")


@pytest.mark.parametrize(("spoil", "code"), [(garbled, "damaged"), (newer, "newer_file")], ids=["damaged", "newer"])
def test_what_hinders_is_said_and_once_mended_it_opens(
    qtbot: QtBot, begin: Begin, closed: Path, spoil: Callable[[Path], object], code: str
) -> None:
    path = closed / "registry.db"
    good = path.read_bytes()
    spoil(path)
    bad = path.read_bytes()
    frame, _ = begin(closed)
    qtbot.waitUntil(lambda: isinstance(alone(frame), CannotOpen))
    assert refusals.trouble(code, "en") in words(alone(frame))
    press_again(frame)
    assert refusals.trouble(code, "en") in words(alone(frame))  # still
    assert path.read_bytes() == bad
    path.write_bytes(good)
    press_again(frame)
    qtbot.waitUntil(lambda: frame.desk.is_open)
    assert isinstance(frame.page, ShiftPage)
    assert frame.column.isEnabled()


def press_again(frame: Frame) -> None:
    QTest.mouseClick(alone(frame).findChild(Button), Qt.MouseButton.LeftButton)


def test_one_that_is_in_use_elsewhere_opens_when_it_is_free(
    qtbot: QtBot, begin: Begin, closed: Path, kitchen: Kitchen
) -> None:
    busy = [True]

    def opener(home: Path) -> Session:
        if busy.pop():
            busy.append(False)
            raise KnownError("locked", path=str(home / "registry.db"))
        return open_session(home, clock=kitchen.clock, machine=MACHINE)

    frame, _ = begin(closed, None, opener)
    qtbot.waitUntil(lambda: isinstance(alone(frame), CannotOpen))
    assert {refusals.trouble("locked", "en"), str(closed / "registry.db")} <= set(words(alone(frame)))
    press_again(frame)
    qtbot.waitUntil(lambda: frame.desk.is_open)


def test_a_damaged_local_file_is_said_too(qtbot: QtBot, begin: Begin, closed: Path) -> None:
    path = closed / LOCAL_NAME
    good = path.read_bytes()
    path.write_bytes(b"neither settings nor PINs " * 100)
    frame, _ = begin(closed)
    qtbot.waitUntil(lambda: isinstance(alone(frame), CannotOpen))
    assert not frame.desk.is_open
    path.write_bytes(good)
    press_again(frame)
    qtbot.waitUntil(lambda: frame.desk.is_open)


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda home: (home / "registry.key").unlink(), "key_missing"),
        (lambda home: (home / "registry.key.marker").unlink(), "unmarked"),
    ],
    ids=["key gone", "marker gone"],
)
def test_one_that_may_only_be_looked_at_opens_and_says_so(
    qtbot: QtBot, begin: Begin, closed: Path, kitchen: Kitchen, spoil: Callable[[Path], object], why: str
) -> None:
    spoil(closed)
    frame, _ = begin(closed)
    qtbot.waitUntil(lambda: frame.desk.is_open)
    assert frame.notice.isVisible()
    assert frame.notice.sentence.text() == refusals.trouble(why, "en")
    page = frame.page
    assert isinstance(page, ShiftPage)
    assert len(page.rows) == 12
    assert not page.now.may
    assert all(one.field.isReadOnly() for one in page.list.rows.values())


def test_two_windows_on_one_registry_keep_their_own_drafts(
    qtbot: QtBot, begin: Begin, kitchen: Kitchen, closed: Path
) -> None:
    """Each finds its own after a crash: a process that ends lets go of its drafts without a word."""
    session = open_session(closed, clock=kitchen.clock, machine=MACHINE)
    kitchen.session = session
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    session.close()
    frames = [begin(closed)[0] for _ in range(2)]
    for frame, text in zip(frames, ("31.", "0."), strict=True):
        qtbot.waitUntil(lambda frame=frame: frame.desk.is_open)  # type: ignore[misc]
        row = field_of(frame, "DIGF1" if text == "31." else "DIGI1")
        QTest.keyClicks(row, text)
    assert [field_of(frame, "DIGF1").text() for frame in frames] == ["31.", ""]
    assert [field_of(frame, "DIGI1").text() for frame in frames] == ["", "0."]
    for frame in frames:
        frame.desk.close()
    again = [begin(closed)[0] for _ in range(2)]
    found = []
    for frame in again:
        qtbot.waitUntil(lambda frame=frame: frame.desk.is_open)  # type: ignore[misc]
        found.append((field_of(frame, "DIGF1").text(), field_of(frame, "DIGI1").text()))
    assert sorted(found) == [("", "0."), ("31.", "")]


def field_of(frame: Frame, tag: str) -> Any:
    page = frame.page
    assert isinstance(page, ShiftPage)
    return next(one.field for one in page.list.rows.values() if one.row.tag_id == tag)


# --- closing --------------------------------------------------------------------------------------------------


def test_closing_in_the_middle_of_a_job_waits_for_it(
    qtbot: QtBot, begin: Begin, closed: Path, kitchen: Kitchen
) -> None:
    frame, opening = begin(closed, Threads())
    qtbot.waitUntil(lambda: frame.desk.is_open)
    began, wrote = Event(), []

    def work(progress: Progress) -> None:
        began.set()
        while progress(0):
            pass
        wrote.append("put back as it was")

    frame.desk.jobs.start(Job(work))
    assert began.wait(LONG_S)
    assert frame.close()
    assert wrote == ["put back as it was"]
    opening._opened(open_session(closed, clock=kitchen.clock, machine=MACHINE))  # told of too late
    assert not frame.desk.is_open
    assert frame.close()  # once more does no harm


class Held(Threads):
    """Threads whose closing lets go what the job of a test waits for, once that job is cancelled."""

    def __init__(self, go_on: Event) -> None:
        super().__init__()
        self.go_on = go_on

    def close(self) -> None:
        for job, _ in self._running:
            job.cancel()
        self.go_on.set()
        super().close()


def test_closed_while_it_opens_it_leaves_nothing_open(
    qtbot: QtBot, begin: Begin, closed: Path, kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    began, go_on, shut = Event(), Event(), []
    really = Session.close
    monkeypatch.setattr(Session, "close", lambda self: (shut.append(self), really(self)))

    def opener(home: Path) -> Session:
        session = open_session(home, clock=kitchen.clock, machine=MACHINE)
        began.set()
        assert go_on.wait(LONG_S)
        return session

    frame, _ = begin(closed, Held(go_on), opener)
    qtbot.waitUntil(began.is_set)
    assert frame.close()
    assert len(shut) == 1
    assert not frame.desk.is_open
    (closed / "registry.db").rename(closed / "moved.db")  # nobody holds it
