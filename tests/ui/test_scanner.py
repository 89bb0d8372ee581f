"""A scanner types like hands, only faster: its keys are one word, and its Enter records nothing.

Keys go to the window's handle, as the window system gives them, with a clock that stands between them as long as told.
"""

from dataclasses import dataclass, field

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests.services.kitchen import Kitchen
from tests.ui.looking import no_screen
from ui.asking import Dialogs
from ui.desk import Desk
from ui.forms import Field
from ui.frame import Frame
from ui.parts import Button
from ui.scanner import GAP_S, Scanner
from ui.shift.page import ShiftPage

HANDS_S = GAP_S + 0.001  # one who types as fast as anybody can
FAST_S = GAP_S - 0.001  # a slow scanner
ENTER, TAB = Qt.Key.Key_Return, Qt.Key.Key_Tab


@dataclass
class Keys:
    """Keys to one window, so many seconds after one another."""

    window: QWidget
    at: float = 100.0
    scans: list[str] = field(default_factory=list)

    def clock(self, _event: QKeyEvent) -> float:
        return self.at

    def press(self, key: str | Qt.Key, after: float) -> None:
        self.at += after
        QTest.keyClick(self.window.windowHandle(), key)

    def type(self, text: str, gap: float, first: float = 1.0) -> None:
        for n, key in enumerate(text):
            self.press(key, gap if n else first)

    def scan(self, code: str, end: Qt.Key = ENTER, gap: float = 0.005) -> None:
        self.type(code, gap)
        self.press(end, gap)


@pytest.fixture
def fields(qtbot: QtBot) -> tuple[Keys, QLineEdit, QLineEdit]:
    """A plain window with two fields, the first in focus, and a scanner's watch."""
    window = QWidget()
    lay, first, second = QVBoxLayout(window), QLineEdit(), QLineEdit()
    lay.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
    lay.addWidget(first)
    lay.addWidget(second)
    qtbot.addWidget(window)
    window.show()
    window.activateWindow()
    first.setFocus()
    qtbot.waitUntil(first.hasFocus)
    keys = Keys(window)
    scanner = Scanner(window, keys.clock)
    scanner.scanned.connect(keys.scans.append)
    window.windowHandle().installEventFilter(scanner)
    return keys, first, second


Fields = tuple[Keys, QLineEdit, QLineEdit]


@pytest.mark.parametrize("gap", [0.001, FAST_S, GAP_S])
def test_three_fast_keys_and_enter_are_a_scan(fields: Fields, gap: float) -> None:
    keys, first, _ = fields
    entered: list[str] = []
    first.returnPressed.connect(lambda: entered.append(first.text()))
    first.setText("12.5")
    keys.scan("AB1", gap=gap)
    assert keys.scans == ["AB1"]
    assert first.text() == "12.5"  # as it was
    assert entered == []  # the field never saw the Enter


def test_hands_are_never_a_scan(fields: Fields) -> None:
    keys, first, _ = fields
    entered: list[str] = []
    first.returnPressed.connect(lambda: entered.append(first.text()))
    keys.scan("12345", gap=HANDS_S)
    assert (keys.scans, entered) == ([], ["12345"])


@pytest.mark.parametrize(
    ("keys_gap", "enter_gap", "code"),
    [(0.005, HANDS_S, "AB12"), (0.005, 0.005, "AB"), (HANDS_S, 0.005, "AB12")],
    ids=["a late Enter", "two keys only", "only the Enter is fast"],
)
def test_what_is_like_a_scan_but_none(fields: Fields, keys_gap: float, enter_gap: float, code: str) -> None:
    keys, first, _ = fields
    keys.type(code, keys_gap)
    keys.press(ENTER, enter_gap)
    assert keys.scans == []
    assert first.text() == code


def test_tab_ends_a_scan_too_and_moves_nothing(fields: Fields) -> None:
    keys, first, second = fields
    keys.scan("AB12", TAB)
    assert keys.scans == ["AB12"]
    assert first.hasFocus()
    keys.press(TAB, 1.0)
    assert second.hasFocus()  # by itself it goes on as ever


def test_a_scan_while_a_number_is_half_typed_gives_it_back(fields: Fields) -> None:
    keys, first, _ = fields
    keys.type("12", HANDS_S)
    keys.scan("34567")
    assert (keys.scans, first.text()) == (["34567"], "12")
    keys.type("3", HANDS_S)
    keys.press(ENTER, HANDS_S)
    assert (keys.scans, first.text()) == (["34567"], "123")


def test_capitals_come_with_shift_and_start_a_scan_of_their_own(fields: Fields) -> None:
    """The shift key of the first capital comes at once before it: what hands typed earlier is none of the code."""
    keys, first, _ = fields
    keys.type("12", HANDS_S)
    keys.press(Qt.Key.Key_Shift, 1.0)
    for key in "ABC":
        keys.press(key, 0.005)
        keys.press(Qt.Key.Key_Shift, 0.005)
    keys.press(ENTER, 0.005)
    assert (keys.scans, first.text()) == (["ABC"], "12")


def test_two_scans_running_are_two(fields: Fields) -> None:
    keys, first, _ = fields
    keys.scan("AB12")
    keys.scan("CD34")
    assert keys.scans == ["AB12", "CD34"]
    assert first.text() == ""


def test_rubbing_out_is_no_part_of_a_scan(fields: Fields) -> None:
    keys, first, _ = fields
    keys.type("123", 0.005)
    keys.press(Qt.Key.Key_Backspace, 0.005)
    keys.press(ENTER, 0.005)
    assert (keys.scans, first.text()) == ([], "12")


# --- on the list ---------------------------------------------------------------------------------------------


@pytest.fixture
def at_the_bath(frame: Frame, kitchen: Kitchen) -> tuple[Keys, ShiftPage]:
    """The list with its bath, the focus in the first field; keys come to the frame's own watch."""
    frame.activateWindow()
    frame.go("shift")
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    frame.go("shift")
    page = frame.page
    assert isinstance(page, ShiftPage)
    keys = Keys(frame)
    frame.scanner._clock = keys.clock
    return keys, page


AtBath = tuple[Keys, ShiftPage]


def tag_in_hand(page: ShiftPage) -> str:
    return page.rows[page.list.current].tag_id


def test_a_scan_goes_to_its_row_and_records_nothing(at_the_bath: AtBath, kitchen: Kitchen) -> None:
    keys, page = at_the_bath
    before = kitchen.count()
    keys.scan("DIAL3")
    assert tag_in_hand(page) == "DIAL3"
    assert kitchen.count() == before


def test_a_scan_in_the_middle_of_a_reading_never_records_it_nor_spoils_it(
    at_the_bath: AtBath, kitchen: Kitchen, desk: Desk
) -> None:
    """The digits of the code do not stay in the field, nor in the draft that a crash would leave."""
    keys, page = at_the_bath
    here = tag_in_hand(page)
    keys.type("32.", HANDS_S)
    before = kitchen.count()
    keys.scan("DIAL3")
    assert kitchen.count() == before
    assert tag_in_hand(page) == "DIAL3"
    row = next(one for one in page.rows.values() if one.tag_id == here)
    assert page.keying.of(row).text == "32."
    assert page.list.rows[row.thermometer].field.text() == "32."
    desk.rebuild.emit()  # a page made anew reads what the draft holds
    again = desk.drafts
    assert again is not None
    assert [one["text"] for one in texts_in(again._kept)] == ["32."]
    keys.scan(here)
    keys.type("32.1", HANDS_S)  # what stood there is written over
    keys.press(ENTER, HANDS_S)
    assert [one.payload["shown"] for one in kitchen.entries("reading_taken")] == ["32.1 F"]


def texts_in(kept: object) -> list[dict[str, str]]:
    """Every field with a text in what the drafts hold."""
    if not isinstance(kept, dict):
        return []
    if kept.get("text"):
        return [kept]
    return [found for one in kept.values() for found in texts_in(one)]


def test_a_scan_of_digits_alone_is_no_reading(at_the_bath: AtBath, kitchen: Kitchen) -> None:
    """A code of digits would pass for a number; it is looked up as a tag."""
    keys, _ = at_the_bath
    before = kitchen.count()
    keys.scan("0321")
    assert kitchen.count() == before
    frame = keys.window
    assert isinstance(frame, Frame)
    assert "0321" in frame.notice.sentence.text()


def test_fast_hands_record(at_the_bath: AtBath, kitchen: Kitchen) -> None:
    keys, _ = at_the_bath
    keys.type("32", HANDS_S)
    keys.press(ENTER, HANDS_S)
    assert [one.payload["shown"] for one in kitchen.entries("reading_taken")] == ["32 F"]


# --- on a sheet ----------------------------------------------------------------------------------------------


@no_screen
def test_a_scan_presses_nothing_on_a_sheet(frame: Frame, desk: Desk) -> None:
    """A sheet is a window of its own: the Enter behind the code would press what has the focus."""
    chosen: list[str] = []
    asking = Dialogs(frame, desk)
    asking.choose("Why?", [("one", "One"), ("two", "Two")], chosen.append)
    asking.sure("Sure?", "Yes", lambda: chosen.append("yes"))
    for sheet in frame.findChildren(QDialog):
        keys = Keys(sheet)
        sheet._scanner._clock = keys.clock  # type: ignore[attr-defined]
        for button in sheet.findChildren(Button):
            button.setFocus()
            keys.scan("DIAL3")
            assert sheet.isVisible()
    assert chosen == []


@no_screen
def test_a_scan_fills_the_field_of_a_sheet_and_hands_it_in_no_sooner_than_hands_do(frame: Frame, desk: Desk) -> None:
    filled: list[dict[str, str]] = []
    Dialogs(frame, desk).fill("Which?", [Field("tag", "Tag id")], "Go on", filled.append)
    (sheet,) = frame.findChildren(QDialog)
    keys = Keys(sheet)
    sheet._scanner._clock = keys.clock
    sheet.findChild(QLineEdit).setFocus()
    keys.scan("DIAL3")
    assert filled == []
    keys.press(ENTER, 1.0)
    assert filled == [{"tag": "DIAL3"}]


# --- without a clock of a test's -------------------------------------------------------------------------------


def key(code: Qt.Key, text: str, at_ms: int) -> QKeyEvent:
    event = QKeyEvent(QKeyEvent.Type.KeyPress, code, Qt.KeyboardModifier.NoModifier, text)
    event.setTimestamp(at_ms)
    return event


@pytest.mark.parametrize(("gap_ms", "scanned"), [(20, ["1234"]), (90, [])], ids=["a scanner", "hands"])
def test_keys_that_waited_in_a_queue_are_taken_by_when_they_were_pressed(
    qtbot: QtBot, gap_ms: int, scanned: list[str]
) -> None:
    """A window that was busy gets them all at once; hands are not taken for a scanner, nor a scanner for hands."""
    scans: list[str] = []
    watched = QWidget()
    qtbot.addWidget(watched)
    scanner = Scanner(watched)
    scanner.scanned.connect(scans.append)
    codes = [(Qt.Key(ord(digit)), digit) for digit in "1234"] + [(ENTER, "\r")]
    taken = [scanner.eventFilter(watched, key(*one, 1000 + n * gap_ms)) for n, one in enumerate(codes)]
    assert scans == scanned
    assert taken == [False] * 4 + [bool(scanned)]


def test_a_clock_that_begins_anew_makes_no_scan(qtbot: QtBot) -> None:
    """The window system's milliseconds run over after 49 days."""
    watched = QWidget()
    qtbot.addWidget(watched)
    scanner = Scanner(watched)
    times = (2**32 - 200, 2**32 - 100, 5, 105, 205)
    codes = [(Qt.Key(ord(digit)), digit) for digit in "1234"] + [(ENTER, "\r")]
    assert not any(scanner.eventFilter(watched, key(*one, at)) for one, at in zip(codes, times, strict=True))
