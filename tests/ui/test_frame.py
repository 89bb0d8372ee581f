"""The frame: where one is, who works here, what is told, and that a scan records nothing."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.services.people import Person
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.drift.page import DriftPage
from ui.frame import Frame
from ui.parts import Choice
from ui.places import PARTS
from ui.shift.page import ShiftPage
from ui.thermometers.page import ThermometersPage
from ui.work import AtOnce


def test_a_scan_of_an_unknown_tag_is_told(frame: Frame) -> None:
    frame.take_tag("NOSUCH")
    assert frame.notice.isVisible()
    assert frame.notice.sentence.text() == "No thermometer bears NOSUCH: look at its tag."


def test_who_only_looks_is_told_so(desk: Desk, kitchen: Kitchen, frame: Frame) -> None:
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    assert not hasattr(frame.column, "happened")


def test_another_person_sits_down(desk: Desk, kitchen: Kitchen, frame: Frame, answers: Answers) -> None:
    before: Person = desk.person
    answers.ready = [{"person": kitchen.officer.person}]
    frame.column.who_wanted.emit()
    assert answers.asked == ["Who works here, and where?"]
    assert desk.person.person == kitchen.officer.person != before.person
    assert desk.actor.may("officer")


def test_the_window_gets_small_and_large_again(frame: Frame) -> None:
    wide = frame.column.width()
    frame.resize(1024, 600)
    assert frame.small
    assert frame.column.width() < wide
    frame.resize(1280, 800)
    assert not frame.small


def test_the_unit_is_chosen_in_the_column(desk: Desk, frame: Frame) -> None:
    assert desk.unit == "F"  # the group's
    QTest.mouseClick(frame.column.findChild(Choice).button("C"), Qt.MouseButton.LeftButton)
    assert desk.unit == "C"
    assert frame.column.findChild(Choice).value == "C"


def test_a_notice_stands_until_it_is_put_away_whatever_is_drawn_anew(desk: Desk, frame: Frame) -> None:
    desk.notice("Something to be read.", "its details")
    desk.rebuild.emit()
    assert frame.notice.standing == ("Something to be read.", "its details")
    frame.resize(1024, 600)
    assert frame.notice.standing == ("Something to be read.", "its details")
    frame.notice.hide()
    desk.rebuild.emit()
    assert frame.notice.standing is None


class Slowly(AtOnce):
    """Pieces wait until the test wants the next."""

    def __init__(self) -> None:
        self.begun: list[Iterator[object]] = []

    def in_pieces(self, pieces: Iterator[object]) -> None:
        next(pieces)
        self.begun.append(pieces)

    def finish(self) -> None:
        for pieces in self.begun:
            for _ in pieces:
                pass


@pytest.fixture
def slowly(desk: Desk, frame: Frame) -> Slowly:
    """From here on pages are made as slowly as a test wants."""
    desk.jobs = Slowly()
    return desk.jobs


def test_while_a_page_is_made_the_one_before_stands(frame: Frame, slowly: Slowly) -> None:
    frame.go("thermometers")
    assert isinstance(frame.stack.currentWidget(), ShiftPage)
    assert (frame.place, frame.page) == ("thermometers", None)
    frame.read_again()  # something was recorded: nobody is there yet to read it
    slowly.finish()
    assert isinstance(frame.stack.currentWidget(), ThermometersPage)


def test_somebody_who_went_elsewhere_meanwhile_stays_there(frame: Frame, slowly: Slowly) -> None:
    frame.go("thermometers")
    frame.go("shift")
    slowly.finish()
    assert isinstance(frame.stack.currentWidget(), ShiftPage)
    frame.go("thermometers")  # it was made all the same
    assert isinstance(frame.stack.currentWidget(), ThermometersPage)


@pytest.mark.parametrize("meanwhile", ["gone to again", "drawn anew"])
def test_what_was_asked_for_is_shown_whatever_came_between(
    frame: Frame, slowly: Slowly, desk: Desk, meanwhile: str
) -> None:
    """A tag scanned while the page of thermometers is made opens that thermometer, on one page."""
    assert isinstance(frame.page, ShiftPage)
    thermometer = next(iter(frame.page.rows))
    frame.go("thermometers", None if meanwhile == "gone to again" else thermometer)
    if meanwhile == "gone to again":
        frame.go("thermometers", thermometer)
    else:
        desk.rebuild.emit()
    slowly.finish()
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert frame.stack.currentWidget() is page
    assert page.stack.currentWidget() is page.one
    assert page.one.thermometer == thermometer
    assert [type(one) for one in pages_of(frame)].count(ThermometersPage) == 1


def pages_of(frame: Frame) -> list[object]:
    return [frame.stack.widget(n) for n in range(frame.stack.count())]


def test_back_leads_where_one_came_from_with_the_keys_where_they_were(
    kitchen: Kitchen, desk: Desk, frame: Frame
) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.2 C")
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    frame.go("drift")
    drift = frame.page
    assert isinstance(drift, DriftPage)
    drift.ranking.links[0].setFocus()
    QTest.keyClick(drift.ranking.links[0], Qt.Key.Key_Return)
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.one.back.text() == "Back to Drift"
    QTest.keyClick(page.one.back, Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert frame.page is drift
    assert drift.ranking.links[0].hasFocus()
    for key in (Qt.Key.Key_Escape, Qt.Key.Key_Return):  # on the link, which has the keys
        QTest.keyClick(drift.ranking.links[0], Qt.Key.Key_Return)
        QTest.keyClick(page.one.back, key)
        assert frame.page is drift
    assert drift.ranking.links[0].hasFocus()


def test_nothing_leads_back_from_a_place_that_was_chosen(kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    probe = kitchen.enrol()
    desk.go("thermometers", probe)
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.one.back.text() == "Back to Start of shift"
    desk.rebuild.emit()  # another language, another size: it is still known
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.one.back.text() == "Back to Start of shift"
    frame.go("thermometers")
    page.show_one(probe)
    assert page.one.back.text() == "All thermometers"
    QTest.keyClick(page.one.back, Qt.Key.Key_Escape)
    assert frame.place == "thermometers"
    frame.go_back()
    assert frame.place == "thermometers"


def test_back_to_every_place_has_its_words(kitchen: Kitchen, frame: Frame) -> None:
    probe = kitchen.enrol()
    for place in sorted(set(PARTS) - {"thermometers"}):
        frame.go(place)
        frame.desk.go("thermometers", probe)
        page = frame.page
        assert isinstance(page, ThermometersPage)
        assert page.one.back.text().startswith("Back to ")
        frame.go_back()
        assert frame.place == place
