"""What the window makes of a look at the bath: rows keyed into each other are asked about, and nothing is done."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from registry.services import thermometers
from registry.store import queries
from tests.services.kitchen import DAY_US, DIGITAL_C, Kitchen
from tests.ui.test_shift import press
from tests.ui.test_shift_safety import id_of
from ui.frame import Frame
from ui.parts import Button
from ui.shift.page import ShiftPage

OFFSETS = {"NARD0": 0.8, "NARD1": -0.7, "NARD2": 0.1, "NARD3": 0.0}


@pytest.fixture
def known(frame: Frame, kitchen: Kitchen) -> ShiftPage:
    """Four digitals, two of which read far apart from each other, always the same way."""
    for tag in OFFSETS:
        kitchen.enrol(DIGITAL_C, tag_id=tag)
    for _ in range(6):
        bath = kitchen.ice()
        for tag, offset in OFFSETS.items():
            kitchen.key(bath, id_of(kitchen, tag), f"{offset} C")
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US
    with kitchen.session.reading() as connection:
        others = [row for row in queries.thermometers(connection, site=kitchen.site) if row.tag_id not in OFFSETS]
    for other in others:
        thermometers.take_out(kitchen.session, kitchen.lead, other.thermometer, "worn")
    kitchen.clock.at += DAY_US  # what was taken out today stands on today's list
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    frame.activateWindow()
    frame.go("shift")
    page = frame.page
    assert isinstance(page, ShiftPage)
    return page


def read(page: ShiftPage, kitchen: Kitchen, shown: dict[str, str]) -> None:
    for tag, text in shown.items():
        page.list.focus_on(id_of(kitchen, tag))
        press(text + "\n")


def asked(page: ShiftPage) -> QWidget | None:
    item = page.band.itemAt(0)
    return item.widget() if item is not None else None


def button(root: QWidget, text: str) -> Button:
    return next(one for one in root.findChildren(Button) if one.text() == text)


def test_rows_keyed_into_each_other_are_asked_about_once_all_is_read(known: ShiftPage, kitchen: Kitchen) -> None:
    read(known, kitchen, {"NARD0": "-0.7", "NARD1": "0.8", "NARD2": "0.1"})
    assert asked(known) is None
    read(known, kitchen, {"NARD3": "0.0"})
    band = asked(known)
    assert band is not None
    assert "was one keyed into the other" in band.accessibleName()
    assert {"NARD0", "NARD1"} <= set(band.accessibleName().replace(",", " ").split())
    recorded = len(kitchen.entries("check_recorded"))
    to_row = button(band, "To the row of NARD1")
    QTest.mouseClick(to_row, Qt.MouseButton.LeftButton)
    assert known.list.current == id_of(kitchen, "NARD1")
    band = asked(known)
    assert band is not None
    QTest.mouseClick(button(band, "The rows are right"), Qt.MouseButton.LeftButton)
    assert asked(known) is None
    known.read_again()
    assert asked(known) is None
    assert len(kitchen.entries("check_recorded")) == recorded
    assert kitchen.entries("voided") == []


def test_as_always_nothing_is_asked(known: ShiftPage, kitchen: Kitchen) -> None:
    read(known, kitchen, {tag: str(offset) for tag, offset in OFFSETS.items()})
    assert asked(known) is None
