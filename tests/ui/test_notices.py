"""What is due is told by itself: once, quietly, and never while somebody is at work or in quiet hours."""

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from registry.services import incidents, notices, settings
from registry.services.problems import KnownError
from tests.services.kitchen import Kitchen
from tests.ui.conftest import sit_down
from tests.ui.test_shift import press
from tests.ui.test_shift_safety import id_of
from ui.app import Opening
from ui.desk import Desk
from ui.frame import Frame
from ui.notices import CALM_S, LOOK_MS, Telling
from ui.parts import Button
from ui.shift.page import ShiftPage


class Watch:
    """A clock that stands until it is moved, in seconds."""

    at = 1000.0

    def __call__(self) -> float:
        return self.at


@pytest.fixture
def watch() -> Watch:
    return Watch()


@pytest.fixture
def telling(frame: Frame, desk: Desk, watch: Watch) -> Telling:
    """By noon of the new kitchen nothing was checked yet."""
    notices.set_quiet_hours(desk.local, "none")
    return Telling(frame, watch)


def text(frame: Frame) -> str:
    return "" if frame.notice.isHidden() else frame.notice.sentence.text()


def test_what_is_due_is_told_once_and_quietly(telling: Telling, frame: Frame) -> None:
    telling.tick()
    assert text(frame).startswith("Pier: 12 thermometers to check before they are used (")
    assert text(frame).endswith(" There is one more thing.")
    assert frame.notice.quiet
    (further,) = [one for one in frame.notice.findChildren(Button) if one.text() == "Next"]
    further.setFocus()
    QTest.keyClick(further, Qt.Key.Key_Return)
    assert text(frame) == "Pier: 12 thermometers to check in this shift."
    assert further.isHidden()
    frame.notice.hide()
    telling.tick()
    assert text(frame) == ""


def test_what_comes_up_later_stands_before_what_still_stands(telling: Telling, frame: Frame, kitchen: Kitchen) -> None:
    telling.tick()
    for n in range(3):
        kitchen.checked(id_of(kitchen, f"DIGI{n}"), "0.0 C")
    incidents.report_incident(kitchen.session, kitchen.lead, id_of(kitchen, "DIGI0"), "dropped")
    telling.tick()
    assert text(frame).startswith("Pier: 10 thermometers to check before they are used (")
    first, *rest = frame.notice._details.splitlines()
    assert first.startswith("Pier: 12 thermometers to check before")
    assert rest == ["Pier: 12 thermometers to check in this shift."]
    assert text(frame).endswith(" There are 2 more things.")


def test_nothing_comes_while_somebody_presses_keys(telling: Telling, frame: Frame, watch: Watch, desk: Desk) -> None:
    frame.scanner.touched.connect(telling.touched)
    key = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_A, Qt.KeyboardModifier.NoModifier, "a")
    frame.scanner.eventFilter(frame, key)
    watch.at += CALM_S - 1
    telling.tick()
    assert text(frame) == ""
    watch.at += 1
    telling.tick()
    assert text(frame).startswith("Pier: 12 thermometers")


def test_nothing_comes_between_the_digits_of_a_reading(telling: Telling, frame: Frame, kitchen: Kitchen) -> None:
    kitchen.ice()
    frame.activateWindow()
    page = frame.page
    assert isinstance(page, ShiftPage)
    page.read_again()
    page.list.focus_on(id_of(kitchen, "DIGI0"))
    press("0.")
    assert page.is_keying()
    telling.tick()
    assert text(frame) == ""
    press("1\n")
    telling.tick()
    assert text(frame).startswith("Pier: ")


def test_nothing_comes_over_an_answer_or_a_question(telling: Telling, frame: Frame, desk: Desk) -> None:
    desk.notice("Saved: a file")
    telling.tick()
    assert text(frame) == "Saved: a file"
    assert not frame.notice.quiet
    frame.notice.hide()
    telling.tick()  # put away, it is told: it did not count as said
    assert text(frame).startswith("Pier: 12 thermometers")


def test_somebody_who_begins_while_it_is_looked_is_not_disturbed(
    telling: Telling, frame: Frame, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = notices.now

    def slow(*asked: object) -> object:
        telling.touched()
        return now(*asked)  # type: ignore[arg-type]

    monkeypatch.setattr(notices, "now", slow)
    telling.tick()
    assert text(frame) == ""
    monkeypatch.undo()
    telling._touched = float("-inf")
    telling.tick()
    assert text(frame).startswith("Pier: 12 thermometers")


def test_in_quiet_hours_nothing_is_said(telling: Telling, frame: Frame, desk: Desk) -> None:
    notices.set_quiet_hours(desk.local, "00:00-23:59")
    telling.tick()
    assert text(frame) == ""
    notices.set_quiet_hours(desk.local, "none")
    telling.tick()
    assert text(frame).startswith("Pier: 12 thermometers")


def test_a_disk_that_is_busy_is_no_news(telling: Telling, frame: Frame, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(*_: object) -> object:
        raise KnownError("locked")

    monkeypatch.setattr(notices, "now", busy)
    telling.tick()
    assert text(frame) == ""
    monkeypatch.undo()
    telling.tick()
    assert text(frame).startswith("Pier: 12 thermometers")


def test_our_own_mistake_is_not_hidden(telling: Telling, monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_: object) -> object:
        raise ZeroDivisionError

    monkeypatch.setattr(notices, "now", wrong)
    with pytest.raises(ZeroDivisionError):
        telling._failed(ZeroDivisionError())


def test_who_only_looks_is_told_too_and_in_the_language_of_the_window(
    telling: Telling, frame: Frame, desk: Desk, kitchen: Kitchen
) -> None:
    sit_down(desk, kitchen, "auditor")
    settings.choose(desk.local, "language", "es")
    desk.rebuild.emit()
    telling.tick()
    assert text(frame).startswith("Pier: 12 termómetros por comprobar antes de usarlos (")
    assert text(frame).endswith(" Hay una cosa más.")
    settings.choose(desk.local, "language", "en")
    desk.rebuild.emit()
    assert text(frame).endswith(" There is one more thing.")
    assert text(frame).count("12 termómetros") == 1
    assert frame.notice.quiet
    assert QApplication.activeModalWidget() is None


def test_once_all_is_loaded_an_open_window_looks_every_few_minutes(frame: Frame) -> None:
    assert not frame.telling._timer.isActive()
    Opening(frame)._load_places(None)
    assert frame.telling._timer.isActive()
    assert frame.telling._timer.interval() == LOOK_MS
