"""Where a thermometer goes, and what an outcome rests on, on its page; and what is done behind the window."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.services import tracking
from tests.services.kitchen import DAY_US, Kitchen
from tests.ui.conftest import Answers
from tests.ui.test_shift import press
from tests.ui.test_shift_safety import id_of
from ui.app import Opening
from ui.desk import Desk
from ui.frame import Frame
from ui.shift.page import ShiftPage
from ui.thermometers.page import ThermometersPage


def one(frame: Frame, kitchen: Kitchen, tag: str) -> ThermometersPage:
    frame.go("thermometers", id_of(kitchen, tag))
    page = frame.page
    assert isinstance(page, ThermometersPage)
    return page


def test_never_measured(frame: Frame, kitchen: Kitchen) -> None:
    shown = one(frame, kitchen, "DIGI0").one.outlook
    assert shown.goes.text() == "Not measured yet, so nothing is known of it."
    assert shown.known.isHidden()
    assert shown.budget.isHidden()
    assert shown.changes.isHidden()


def test_where_it_goes_and_what_it_rests_on(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    for shown in ("0.1 C", "0.2 C", "0.1 C"):
        kitchen.checked(id_of(kitchen, "DIGI0"), shown)
        kitchen.clock.at += 7 * DAY_US
    part = one(frame, kitchen, "DIGI0").one.outlook
    assert part.goes.text().startswith("Steady: no drift to speak of")
    assert "By all its 3 checks it is off by +0.1" in part.known.text()
    assert "at the ice point. Chance that it is out of tolerance there today: under 1\u00a0%." in part.known.text()
    answers.ready = [True, True]
    part.budget.click()
    assert answers.asked[-1].startswith("What the uncertainty of check ")
    part.changes.click()
    assert answers.asked[-1] == "Sudden changes"


def test_the_plot_holds_what_was_tracked_and_what_is_forecast(frame: Frame, kitchen: Kitchen) -> None:
    for shown in ("0.1 C", "0.2 C", "0.1 C"):
        kitchen.checked(id_of(kitchen, "DIGI0"), shown)
        kitchen.clock.at += 7 * DAY_US
    chart = one(frame, kitchen, "DIGI0").one.plotted._chart
    assert {band.role for band in chart.bands} == {"tolerance", "tracked", "forecast"}


def test_models_are_learned_behind_the_window(frame: Frame, kitchen: Kitchen, desk: Desk) -> None:
    for shown in ("0.1 C", "0.3 C", "0.2 C", "0.1 C", "0.3 C", "0.2 C", "0.1 C", "0.3 C", "0.2 C", "0.1 C", "0.2 C"):
        kitchen.checked(id_of(kitchen, "DIGI0"), shown)
        kitchen.clock.at += DAY_US
    opening = Opening(frame)
    opening._work_behind()
    kitchen.session.kept.clear()
    with kitchen.session.reading() as connection:
        assert tracking.learn(kitchen.session, connection) == 0  # it is done already
    assert desk.is_open


def test_a_press_on_a_row_s_outcome_says_what_it_rests_on(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    frame.activateWindow()
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    frame.go("shift")
    page = frame.page
    assert isinstance(page, ShiftPage)
    here = page.list.rows[page.list.current]
    assert not here.answering.ask.isVisible()
    QTest.mouseClick(here.answering, Qt.MouseButton.LeftButton)
    assert answers.asked == []  # nothing was read yet
    press("33.0\n" if here.unit_now == "F" else "0.1\n")
    answers.ready = [True]
    QTest.mouseClick(here.answering.ask, Qt.MouseButton.LeftButton)
    assert answers.asked[-1].startswith("What the uncertainty of check ")
    assert here.row.tag_id in answers.asked[-1]
    answers.ready = [True]
    here.answering.ask.setFocus()
    QTest.keyClick(here.answering.ask, Qt.Key.Key_Return)
    assert len(answers.asked) == 2
