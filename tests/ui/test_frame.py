"""The frame: where one is, who works here, what is told, and that a scan records nothing."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.services.people import Person
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Choice


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
