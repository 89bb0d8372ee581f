"""A paper shift sheet: printed to a file, keyed in by keyboard alone, kept at every key, recorded whole or not."""

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.services import thermometers
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers
from ui.desk import Desk
from ui.frame import Frame
from ui.happened.entering import Entering
from ui.happened.grid import SheetGrid
from ui.happened.keyed import DRAFT
from ui.happened.page import HappenedPage
from ui.happened.sheet import SheetPart

TAGS = ["DIGF0", "DIGI0", "DIGI2", "DIGF1", "DIGI1", "DIGI3", "DIAF0", "DIAL0", "DIAL2", "DIAF1", "DIAL1", "DIAL3"]


def part_of(frame: Frame) -> SheetPart:
    assert isinstance(frame.page, HappenedPage)
    part = frame.page.show_part("sheet")
    assert isinstance(part, SheetPart)
    return part


def part_anew(frame: Frame, desk: Desk) -> Entering:
    """The page made anew, with its list read again."""
    desk.choose("theme", "dark")
    made = part_of(frame)
    made.start()
    return made.entering


@pytest.fixture
def part(frame: Frame) -> SheetPart:
    frame.go("happened")
    made = part_of(frame)
    made.start()
    return made


@pytest.fixture
def entering(part: SheetPart) -> Entering:
    return part.entering


@pytest.fixture
def grid(entering: Entering) -> SheetGrid:
    return entering.grid


def key_in(entering: Entering, time: str, *readings: str) -> None:
    """The time on top, then the readings down the column, Enter after each."""
    QTest.keyClicks(entering.head.ice_at, time)
    entering.grid.focus_on(0, "reading")
    for shown in readings:
        cell = entering.window().focusWidget()
        QTest.keyClicks(cell, shown)
        QTest.keyClick(cell, Qt.Key.Key_Return)


def said(entering: Entering, line: int) -> str:
    problem = entering.grid.problem(line)
    return problem.text() if not problem.isHidden() else ""


def test_where_the_text_is_large_a_lines_cells_are_stacked_and_keep_what_was_typed(
    frame: Frame, desk: Desk, entering: Entering
) -> None:
    assert not entering.grid.stacked
    key_in(entering, "05:30", "0.1", "0.2")
    desk.choose("text_size", "200")
    frame.resize(1024, 600)
    again = part_of(frame).entering
    grid = again.grid
    assert grid.stacked
    assert [grid.cells[n]["reading"].text() for n in (0, 1, 2)] == ["0.1", "0.2", ""]  # type: ignore[union-attr]
    cells = list(grid.cells[0].values())
    assert cells[-1].y() != cells[0].y() or cells[-1].parentWidget().y() > cells[0].parentWidget().y()
    assert again.width() >= max(one.parentWidget().geometry().right() for one in cells)
    grid.focus_on(0, "reading")
    QTest.keyClick(grid.cells[0]["reading"], Qt.Key.Key_Return)
    assert grid.cells[1]["reading"].hasFocus()  # down its column as ever


@pytest.mark.slow
def test_a_wider_window_puts_them_side_by_side_again(frame: Frame, desk: Desk, part: SheetPart) -> None:
    desk.choose("text_size", "150")
    frame.resize(1000, 700)
    entering = part_of(frame).entering
    assert entering.grid.stacked
    entering.grid.focus_on(2, "time")
    QTest.keyClicks(entering.grid.cells[2]["time"], "05:31")
    frame.resize(1700, 700)
    assert not entering.grid.stacked
    assert entering.grid.cells[2]["time"].text() == "05:31"  # type: ignore[union-attr]
    assert entering.grid.cells[2]["time"].hasFocus()


# --- printing ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", [0, -1])
def test_the_sheet_is_saved_where_somebody_says(
    part: SheetPart, answers: Answers, tmp_path: Path, kitchen: Kitchen, which: int
) -> None:
    before = kitchen.count()
    part.which.setCurrentIndex(which % part.which.count())
    answers.ready = [tmp_path / "sheet.pdf"]
    part.print.click()
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert kitchen.count() == before


def test_the_shifts_of_today_and_tomorrow_can_be_printed(part: SheetPart) -> None:
    words = [part.which.itemText(n) for n in range(part.which.count())]
    assert words[0] == "What is wanted now"
    assert [one.split(",")[0] for one in words[1:-1]] == ["Whole day", "Whole day"]


def test_a_folder_that_is_not_there_is_told(part: SheetPart, answers: Answers, tmp_path: Path, frame: Frame) -> None:
    answers.ready = [tmp_path / "none" / "sheet.pdf"]
    part.print.click()
    assert frame.notice.isVisible()


# --- keying in -----------------------------------------------------------------------------------------------


def test_the_lines_stand_in_the_order_of_the_sheet(grid: SheetGrid) -> None:
    assert [one.row.tag_id for one in grid.lines] == TAGS


def test_by_keyboard_alone_down_the_column_to_the_button(entering: Entering, kitchen: Kitchen) -> None:
    shown = ["32.4", "0.1", "0.2", "31.8", "0.0", "-0.1", "32", "0", "0", "33", "1", "0"]
    key_in(entering, "05:20", *shown)
    assert entering.window().focusWidget() is entering.button
    QTest.keyClick(entering.button, Qt.Key.Key_Return)
    checks = kitchen.entries("check_recorded")
    assert sorted(one.payload["as_found"][0] for one in checks) == sorted(
        f"{text} {'F' if tag.startswith(('DIGF', 'DIAF')) else 'C'}" for tag, text in zip(TAGS, shown, strict=True)
    )
    assert {one.payload["done_by"] for one in checks} == {kitchen.lead.person}
    assert [one.payload["made"] for one in kitchen.entries("bath_made")] == ["crushed_packed"]


def test_up_and_down_stay_in_the_column(entering: Entering, grid: SheetGrid) -> None:
    grid.focus_on(0, "as_left")
    QTest.keyClick(entering.window().focusWidget(), Qt.Key.Key_Down)
    assert entering.window().focusWidget() is grid.cells[1]["as_left"]
    QTest.keyClick(entering.window().focusWidget(), Qt.Key.Key_Up)
    assert entering.window().focusWidget() is grid.cells[0]["as_left"]


def test_nothing_but_a_number_goes_into_a_reading(grid: SheetGrid) -> None:
    cell = grid.cells[0]["reading"]
    QTest.keyClicks(cell, "x3e2.45678")
    assert cell.text() == "32.456"  # type: ignore[union-attr]


@pytest.mark.slow
def test_repeats_adjustment_and_reasons_are_recorded(entering: Entering, grid: SheetGrid, kitchen: Kitchen) -> None:
    line = TAGS.index("DIAL0")
    QTest.keyClicks(entering.head.ice_at, "05:20")
    for name, text in (("reading", "3"), ("repeat_1", "3"), ("repeat_2", "3"), ("as_left", "0")):
        QTest.keyClicks(grid.cells[line][name], text)
    grid.focus_on(line, "adjusted")
    QTest.keyClick(grid.cells[line]["adjusted"], Qt.Key.Key_Down)  # the nut: the only way for this one
    absent: Any = grid.cells[0]["instead"]
    absent.setCurrentIndex(absent.findData("not_found"))
    entering.record()
    (adjusted,) = kitchen.entries("adjusted")
    assert (adjusted.payload["how"], adjusted.payload["as_left"]) == ("nut", ["0 C"])
    assert kitchen.last("check_recorded").payload["as_found"] == ["3 C", "3 C", "3 C"]
    assert kitchen.last("not_checked").payload["why"] == "not_found"


def test_a_questioned_reading_is_asked_beside_its_line_as_it_is_typed(
    entering: Entering, grid: SheetGrid, kitchen: Kitchen
) -> None:
    before = kitchen.count()
    key_in(entering, "05:20", "400")
    assert said(entering, 0).startswith("400\N{NO-BREAK SPACE}°F is beyond what this thermometer can show")
    entering.record()
    assert kitchen.count() == before
    assert grid.cells[0]["reading"].text() == "400"  # type: ignore[union-attr]
    assert not grid.stands(0).isHidden()


def test_what_stands_so_on_the_paper_is_recorded(entering: Entering, grid: SheetGrid, kitchen: Kitchen) -> None:
    key_in(entering, "05:20", "32.25", "0.1")
    entering.record()
    assert kitchen.entries("check_recorded") == []
    grid.stands(0).click()
    entering.record()
    found = {one.payload["shown"]: one.payload.get("asked") for one in kitchen.entries("reading_taken")}
    assert found == {"32.25 F": ["too_fine"], "0.1 C": None}
    assert len(kitchen.entries("check_recorded")) == 2


def test_a_likely_other_unit_is_asked_though_another_line_stands_so(
    entering: Entering, grid: SheetGrid, kitchen: Kitchen
) -> None:
    before = kitchen.count()
    key_in(entering, "05:20", "32.25", "32.0")  # the second one is a digital in °C
    grid.stands(0).click()
    entering.record()
    assert "looks like a reading in the other unit" in said(entering, 1)
    assert kitchen.count() == before


@pytest.mark.slow
def test_another_question_of_the_same_line_is_asked_too(entering: Entering, grid: SheetGrid, kitchen: Kitchen) -> None:
    before = kitchen.count()
    key_in(entering, "05:20", "32.4", "32.05")  # the second one is a digital in °C that shows tenths
    grid.stands(1).click()
    entering.record()
    assert "looks like a reading in the other unit" in said(entering, 1)
    assert not grid.stands(1).isChecked()
    assert kitchen.count() == before
    grid.stands(1).click()
    entering.record()
    asked = [one.payload.get("asked") for one in kitchen.entries("reading_taken")]
    assert ["other_unit", "too_fine"] in asked


def test_typing_on_asks_anew(entering: Entering, grid: SheetGrid) -> None:
    key_in(entering, "05:20", "32.25")
    grid.stands(0).click()
    assert grid.lines[0].stands
    cell = grid.cells[0]["reading"]
    cell.setFocus()
    QTest.keyClick(cell, Qt.Key.Key_Backspace)
    assert not grid.lines[0].stands
    assert said(entering, 0) == ""


@pytest.mark.parametrize(
    ("time", "told"),
    [("", "holds no time of day"), ("23:50", "lies in the future")],
)
def test_a_time_that_cannot_be_is_refused_and_nothing_is_lost(
    entering: Entering, grid: SheetGrid, kitchen: Kitchen, time: str, told: str
) -> None:
    before = kitchen.count()
    key_in(entering, time, "32.4")
    entering.record()
    assert kitchen.count() == before
    assert told in said(entering, 0) or told.replace("holds no", "has no") in said(entering, 0)
    assert grid.cells[0]["reading"].text() == "32.4"  # type: ignore[union-attr]


def test_an_empty_sheet_is_told(entering: Entering, kitchen: Kitchen) -> None:
    before = kitchen.count()
    entering.record()
    assert entering.problem.text() == "Nothing is keyed in yet."
    assert kitchen.count() == before


def test_a_day_that_is_none_is_told_on_top(entering: Entering) -> None:
    key_in(entering, "05:20", "32.4")
    entering.head.day.setText("3 March")
    entering.record()
    assert entering.head.problem.text() == "3 March is not a day: type it as 2026-03-03."


@pytest.mark.slow
def test_a_boil_is_recorded_with_its_pressure(entering: Entering, grid: SheetGrid, kitchen: Kitchen) -> None:
    head = entering.head
    head.baths.setCurrentIndex(head.baths.findData("both"))
    head.baths.activated.emit(head.baths.currentIndex())
    head.source.setCurrentIndex(head.source.findData("room_barometer"))
    head.unit.setCurrentIndex(head.unit.findData("hPa"))
    for field, text in ((head.ice_at, "05:10"), (head.boil_at, "05:20"), (head.pressure, "1000")):
        QTest.keyClicks(field, text)
    for name, text in (("bath", "2"), ("reading", "211.3")):
        QTest.keyClicks(grid.cells[0][name], text)
    QTest.keyClicks(grid.cells[1]["reading"], "0.1")
    entering.record()
    assert [one.payload["point"] for one in kitchen.entries("bath_made")] == ["ice_point", "boiling_point"]
    assert kitchen.last("bath_made").payload["pressure"] == "1000 hPa"


@pytest.mark.slow
def test_a_pressure_that_is_none_is_told_on_top(entering: Entering, grid: SheetGrid) -> None:
    head = entering.head
    head.baths.setCurrentIndex(head.baths.findData("boil"))
    head.baths.activated.emit(head.baths.currentIndex())
    head.source.setCurrentIndex(head.source.findData("room_barometer"))
    QTest.keyClicks(head.boil_at, "05:20")
    QTest.keyClicks(grid.cells[0]["reading"], "211.3")
    entering.record()
    assert "is needed for this bath" in head.problem.text()


@pytest.mark.slow
def test_one_more_line_is_added_by_its_tag(
    frame: Frame, desk: Desk, entering: Entering, grid: SheetGrid, kitchen: Kitchen
) -> None:
    with kitchen.session.reading() as connection:
        extra = thermometers.find(connection, "DIAL3").row.thermometer
    thermometers.take_out(kitchen.session, kitchen.lead, extra, "spare")  # so it stands on no list
    again = part_anew(frame, desk)
    assert [one.row.tag_id for one in again.grid.lines] == TAGS[:-1]
    frame.take_tag("DIAL3")
    assert [one.row.tag_id for one in again.grid.lines] == TAGS
    assert again.window().focusWidget() is again.grid.cells[-1]["reading"]
    head = again.head
    head.baths.setCurrentIndex(head.baths.findData("both"))
    head.baths.activated.emit(head.baths.currentIndex())  # the list is read anew, and the line stays
    assert [one.row.tag_id for one in again.grid.lines] == TAGS
    frame.take_tag(TAGS[0])
    assert len(again.grid.lines) == len(TAGS)
    assert again.window().focusWidget() is again.grid.cells[0]["reading"]


# --- drafts --------------------------------------------------------------------------------------------------


def test_every_key_is_kept_and_comes_back(frame: Frame, desk: Desk, entering: Entering) -> None:
    key_in(entering, "05:20", "32.4", "0.1")
    assert desk.drafts is not None
    assert desk.drafts.get(DRAFT)["lines"]["DIGF0"]["reading"] == "32.4"
    again = part_anew(frame, desk)
    assert again is not entering
    assert again.head.ice_at.text() == "05:20"
    assert [one.cells["reading"] for one in again.grid.lines[:2]] == ["32.4", "0.1"]


@pytest.mark.slow
def test_the_draft_is_forgotten_once_it_is_recorded(desk: Desk, entering: Entering, grid: SheetGrid) -> None:
    key_in(entering, "05:20", "32.4")
    entering.record()
    assert desk.drafts is not None
    assert desk.drafts.get(DRAFT) is None
    assert entering.result is not None
    assert entering.result.sentence.text() == "The sheet is recorded: one check."
    assert not any(one.says for one in grid.lines)


@pytest.mark.slow
def test_the_same_sheet_again_is_refused(entering: Entering, grid: SheetGrid, kitchen: Kitchen) -> None:
    key_in(entering, "05:20", "32.4")
    entering.record()
    QTest.keyClicks(grid.cells[0]["reading"], "32.4")
    count = kitchen.count()
    entering.record()
    assert kitchen.count() == count
    assert "imported already" in entering.problem.text()
    assert grid.cells[0]["reading"].text() == "32.4"  # type: ignore[union-attr]
