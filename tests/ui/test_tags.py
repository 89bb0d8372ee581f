"""The page of tags: which are offered, the page as it will be printed, where the sheet begins, saved and printed."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QImage
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from registry.services import settings, tag_printing, tag_setup
from registry.services.problems import KnownError
from registry.services.table import Wanted
from registry.services.tag_printing import Asked
from registry.services.tag_setup import Setup
from tests.documents import reading
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui import pdf
from ui.desk import Desk
from ui.frame import Frame
from ui.tags.about import ALL, About
from ui.tags.page import TagsPage
from ui.tags.printer import print_pages
from ui.tick import Tick


@dataclass
class Paper:
    """A printer that prints into a file, and one that is not there."""

    path: Path
    there: tuple[str, ...] = ("Label printer",)
    asked: list[str] = field(default_factory=list)

    def names(self) -> list[str]:
        return list(self.there)

    def printer(self, name: str) -> QPrinter:
        self.asked.append(name)
        made = QPrinter(QPrinter.PrinterMode.HighResolution)
        made.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        made.setOutputFileName(str(self.path))
        return made


def of(kitchen: Kitchen, tag: str) -> str:
    from registry.services import thermometers

    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


@pytest.fixture
def page(frame: Frame, kitchen: Kitchen) -> TagsPage:
    for tag in ("DIGI0", "DIGI1", "DIAL0"):
        kitchen.checked(of(kitchen, tag), "0 C")
    return gone_to(frame, About())


def gone_to(frame: Frame, about: object) -> TagsPage:
    frame.go("tags", about)
    page = frame.page
    assert isinstance(page, TagsPage)
    return page


def choose(page: TagsPage, label: str) -> None:
    box = page.how.labels.input("label")
    assert isinstance(box, QComboBox)
    box.setCurrentIndex(box.findData(label))


def type_in(widget: QWidget, text: str) -> None:
    assert isinstance(widget, QLineEdit)
    widget.selectAll()
    QTest.keyClicks(widget, text)


def ticks(page: TagsPage) -> list[Tick]:
    return page.which.each.findChildren(Tick)


def notices(desk: Desk) -> list[str]:
    told: list[str] = []
    desk.noticed.connect(lambda sentence, _: told.append(sentence))
    return told


# --- which -----------------------------------------------------------------------------------------------------


def test_those_that_want_one_are_offered_with_why(page: TagsPage) -> None:
    assert page.sentence.accessibleName() == "3 new tags are wanted now."
    assert [one.text() for one in ticks(page)] == ["DIAL0, Grill", "DIGI0, Grill", "DIGI1, Prep"]
    assert page.told.text() == "3 status tags"
    assert page.preview.picture is not None
    assert "DIAL0" in page.preview.picture.text


def test_one_that_is_unticked_is_not_printed(
    page: TagsPage, kitchen: Kitchen, answers: Answers, tmp_path: Path
) -> None:
    ticks(page)[0].click()
    assert page.told.text() == "2 status tags"
    answers.ready = [tmp_path / "tags.pdf"]
    page.save_button.click()
    assert "DIAL0" not in reading.words_of((tmp_path / "tags.pdf").read_bytes())
    assert len(kitchen.entries("tag_printed")) == 2


def test_identity_tags_of_all_and_of_one_station(page: TagsPage) -> None:
    assert page.which.form is not None
    page.which.form.input("which").button("all").click()  # type: ignore[attr-defined]
    page.which.form.input("kind").button("both").click()  # type: ignore[attr-defined]
    assert page.told.text() == "3 status tags, 12 identity tags"
    assert page.problem.text().count("It has not been checked yet") == 6
    station = page.which.form.input("station")
    assert isinstance(station, QComboBox)
    station.setCurrentIndex(station.findText("Prep"))
    assert page.told.text() == "1 status tag, 6 identity tags"


def test_from_the_table_whoever_it_is_narrowed_to(frame: Frame, kitchen: Kitchen) -> None:
    page = gone_to(frame, About(narrowed=Wanted(text="DIGI"), kind="identity"))
    assert page.told.text() == "4 identity tags"
    frame.go("thermometers")
    frame.page.table.tags_button.click()  # type: ignore[union-attr]
    assert isinstance(frame.page, TagsPage)


def test_from_a_thermometer_its_own_tag(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    frame.go("thermometers", of(kitchen, "DIGI0"))
    answers.ready = ["status"]
    frame.page.one.doing.printing.choose(frame.page.one.page)  # type: ignore[union-attr]
    page = frame.page
    assert isinstance(page, TagsPage)
    assert page.told.text() == "1 status tag"
    page.back.click()
    assert frame.place == "thermometers"


def test_none_that_wants_one_and_an_auditor_who_only_looks(frame: Frame, desk: Desk, kitchen: Kitchen) -> None:
    page = gone_to(frame, About())
    assert page.sentence.accessibleName() == "No new tag is wanted now."
    assert not page.print_button.isEnabled()
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    page = gone_to(frame, About(kind="identity", which=ALL))
    assert page.preview.picture is not None
    assert not page.save_button.isEnabled()
    assert not page.may_not.isHidden()


# --- on what ---------------------------------------------------------------------------------------------------


def test_the_sheet_begins_where_it_is_pressed_or_by_the_arrows(page: TagsPage) -> None:
    choose(page, "a4_63.5x38.1")
    sheet = page.how.sheet
    QTest.mouseClick(sheet, Qt.MouseButton.LeftButton, pos=sheet.box(5).center().toPoint())
    assert page.how.start == 5
    assert page.how.place.text().startswith("Begins at label 5 of 21")
    sheet.setFocus()
    for key, wanted in (("Key_Right", 6), ("Key_Down", 9), ("Key_Up", 6), ("Key_Left", 5), ("Key_End", 21)):
        QTest.keyClick(sheet, getattr(Qt.Key, key))
        assert page.how.start == wanted
    QTest.keyClick(sheet, Qt.Key.Key_Right)
    assert page.how.start == 21
    QTest.keyClick(sheet, Qt.Key.Key_Home)
    assert page.how.start == 1
    QTest.mouseClick(sheet, Qt.MouseButton.LeftButton, pos=QPoint(1, 1))
    assert page.how.start == 1


def test_the_preview_is_the_very_page(page: TagsPage, kitchen: Kitchen) -> None:
    choose(page, "letter_50.8x25.4")
    page.how.sheet.chosen.emit(3)
    picture = page.preview.picture
    assert picture is not None
    drawn = tag_printing.draw(kitchen.session, page.which.asked(), page.how.setup(), page.batch)
    assert picture.image == pdf.picture(drawn.pdf, 0, 203).image


def test_a_roll_of_ones_own_and_one_label_after_another(page: TagsPage) -> None:
    choose(page, settings.OWN_ROLL)
    assert not page.how.roll.isHidden()
    assert page.how.sheet.isHidden()
    type_in(page.how.roll.input("roll_width"), "63,5")
    type_in(page.how.roll.input("roll_height"), "40")
    assert page.how.setup().stock == "63.5x40"
    assert page.page_words.text() == "Page 1 of 3"
    page.later.click()
    assert page.page_words.text() == "Page 2 of 3"
    assert page.preview.picture is not None
    assert "DIGI0" in page.preview.picture.text


def test_what_is_wrong_is_said_and_nothing_is_printed(page: TagsPage, answers: Answers) -> None:
    type_in(page.how.trim.input("trim_right"), "9")
    assert "farther than a trim goes" in page.problem.text()
    assert not page.save_button.isEnabled()
    type_in(page.how.trim.input("trim_right"), "-0,5")
    assert page.save_button.isEnabled()
    choose(page, "letter_44.4x12.7")
    assert "does not fit" in page.problem.text()
    assert answers.asked == []


@pytest.mark.slow
def test_what_is_chosen_is_there_the_next_time(
    page: TagsPage, frame: Frame, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    choose(page, "a4_70x37")
    type_in(page.how.trim.input("trim_down"), "1.5")
    answers.ready = [tmp_path / "tags.pdf"]
    page.save_button.click()
    assert tag_setup.setup_here(desk.local).stock == "a4_70x37"
    desk.rebuild.emit()
    again = gone_to(frame, About(which=ALL))
    assert again.how.setup() == page.how.setup()


# --- doing it --------------------------------------------------------------------------------------------------


def test_a_file_is_written_and_then_recorded(
    page: TagsPage, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    told = notices(desk)
    answers.ready = [tmp_path / "nowhere" / "tags.pdf"]
    page.save_button.click()
    assert kitchen.entries("tag_printed") == []
    answers.ready = [None]  # the dialog is cancelled
    page.save_button.click()
    assert kitchen.entries("tag_printed") == []
    answers.ready = [tmp_path / "tags.pdf"]
    page.save_button.click()
    assert len(kitchen.entries("tag_printed")) == 3
    assert told[-1] == f"Saved: {tmp_path / 'tags.pdf'}"
    assert page.sentence.accessibleName() == "No new tag is wanted now."


def test_tags_go_to_the_printer_dot_by_dot_and_are_recorded(
    page: TagsPage, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    printers = Paper(tmp_path / "printed.pdf")
    page.printers = printers  # type: ignore[assignment]
    told = notices(desk)
    answers.ready = ["Label printer"]
    page.print_button.click()
    assert printers.asked == ["Label printer"]
    printed = (tmp_path / "printed.pdf").read_bytes()
    assert reading.pages_of(printed) == 3
    assert reading.size_of(printed) == pytest.approx((50, 25), abs=0.4)
    numbers = {one.number for one in kitchen.entries("check_recorded")}
    assert {code.text for code in reading.codes_of(printed, 300)} == numbers
    assert len(kitchen.entries("tag_printed")) == 3
    assert told == ["Sent to Label printer: 3 status tags."]


@pytest.mark.qt_log_ignore("QPainter::begin")
def test_without_a_printer_it_says_so_in_a_sentence(
    page: TagsPage, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    page.printers = Paper(tmp_path / "x.pdf", there=())  # type: ignore[assignment]
    told = notices(desk)
    page.print_button.click()
    page.printers = Paper(tmp_path / "no" / "such" / "x.pdf")  # type: ignore[assignment]
    answers.ready = ["Label printer"]
    page.print_button.click()
    assert len(told) == 2
    assert all(one.startswith("There is no printer on this computer, or it takes nothing now") for one in told)
    answers.ready = [None]
    page.print_button.click()
    assert kitchen.entries("tag_printed") == []


def test_printed_modules_are_the_dots_of_the_page(kitchen: Kitchen, tmp_path: Path, qapp: Any) -> None:
    """What a printer of 300 dpi is handed is the page at 300 dpi, pixel by pixel."""
    one = kitchen.enrol()
    drawn = tag_printing.draw(kitchen.session, [Asked(one, "identity")], Setup())
    printer = Paper(tmp_path / "out.pdf").printer("any")
    print_pages(printer, drawn.pdf, 300, (50, 25), lambda _: True)
    wanted = pdf.picture(drawn.pdf, 0, 300).image
    import io

    import pikepdf

    with pikepdf.open(io.BytesIO((tmp_path / "out.pdf").read_bytes())) as document:
        (image,) = document.pages[0].get_images().values()
        found = pikepdf.PdfImage(image).as_pil_image().convert("L")
    assert found.size == (wanted.width(), wanted.height())
    shown = QImage(found.tobytes(), *found.size, found.width, QImage.Format.Format_Grayscale8)
    assert shown == wanted


@pytest.mark.qt_log_ignore("QPainter::begin")
def test_a_printer_that_takes_nothing_is_a_known_trouble(tmp_path: Path, kitchen: Kitchen, qapp: Any) -> None:
    one = kitchen.enrol()
    drawn = tag_printing.draw(kitchen.session, [Asked(one, "identity")], Setup())
    with pytest.raises(KnownError, match="no_printer"):
        print_pages(Paper(tmp_path / "no" / "x.pdf").printer("any"), drawn.pdf, 300, (50, 25), lambda _: True)


def test_the_calibration_page_is_saved_and_not_recorded(
    page: TagsPage, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    told, before = notices(desk), kitchen.count()
    answers.ready = [tmp_path / "roll.pdf", tmp_path / "sheet.pdf"]
    page.calibrate_button.click()
    assert "scales run inwards" in told[-1]
    choose(page, "a4_63.5x38.1")
    page.calibrate_button.click()
    assert "100" in reading.words_of((tmp_path / "sheet.pdf").read_bytes())
    assert kitchen.count() == before


# --- where it is kept ------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_choices_outlive_another_look_and_size(page: TagsPage, frame: Frame, desk: Desk, qtbot: QtBot) -> None:
    choose(page, "a4_63.5x38.1")
    page.how.sheet.chosen.emit(7)
    ticks(page)[1].click()
    desk.choose("theme", "dark")
    again = frame.page
    assert isinstance(again, TagsPage)
    assert again is not page
    assert (again.how.start, again.how.stock) == (7, "a4_63.5x38.1")
    assert [one.isChecked() for one in ticks(again)] == [True, False, True]
    frame.resize(1024, 600)
    small = frame.page
    assert isinstance(small, TagsPage)
    assert small.how.start == 7
    assert small.told.text() == "2 status tags"


# --- from the end of a shift -----------------------------------------------------------------------------------


def test_the_end_of_a_list_says_how_many_want_a_tag(
    frame: Frame, kitchen: Kitchen, desk: Desk, answers: Answers
) -> None:
    frame.go("shift")
    shift = frame.page
    bath = kitchen.ice()
    for tag in ("DIGI0", "DIGI1"):
        kitchen.key(bath, of(kitchen, tag), "0.1 C")
    kitchen.judge(bath)
    shift.read_again()  # type: ignore[union-attr]
    told = notices(desk)
    answers.ready = [True]
    shift.foot.end.click()  # type: ignore[union-attr]
    assert told == ["2 thermometers want a new status tag: press Print tags."]
    shift.foot.print.click()  # type: ignore[union-attr]
    page = frame.page
    assert isinstance(page, TagsPage)
    assert [one.text() for one in ticks(page)] == ["DIGI0, Grill", "DIGI1, Prep"]
