"""Enrolling one and many: what was typed, pasted or read from a file, and what the journal holds after it."""

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from registry.records.thermometers import Price
from registry.services import thermometers
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.thermometers.enrol_many import DRAFT, EnrolMany
from ui.thermometers.enrol_one import EnrolOne
from ui.thermometers.grid_model import SHOWN
from ui.thermometers.page import ThermometersPage

ROWS = "\tThermistor probe\tC\t0,1\t\t\t\tGrill\tNembra\tN3\tS-1\nOLD7\tSonda de termopar\t\t\t\t\tPR\tprep\tPellgrin\n"


@pytest.fixture
def page(desk: Desk, kitchen: Kitchen, frame: Frame) -> ThermometersPage:
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    frame.activateWindow()
    frame.go("thermometers")
    found = frame.page
    assert isinstance(found, ThermometersPage)
    return found


def find(kitchen: Kitchen, tag: str) -> thermometers.Thermometer:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag)


# --- one -----------------------------------------------------------------------------------------------------


@pytest.fixture
def one(page: ThermometersPage) -> EnrolOne:
    QTest.mouseClick(page.table.one_button, Qt.MouseButton.LeftButton)
    return page.enrol_one


def test_what_is_usual_is_offered(one: EnrolOne) -> None:
    what, where = one.what.values(), one.where.values()
    assert (what["unit"], what["step"], what["range"], what["highest"]) == ("F", "0.1", "-40", "302")
    assert where["tag_id"].startswith("PR001")  # the site's letters, the first number, a check character
    QTest.mouseClick(one.types.buttons["bimetal_stem"], Qt.MouseButton.LeftButton)
    what = one.what.values()
    assert (what["step"], what["range"], what["highest"], what["adjusts"]) == ("1", "0", "220", "nut")


def test_its_price_is_recorded_and_a_wrong_one_is_refused_beside_its_field(one: EnrolOne, kitchen: Kitchen) -> None:
    tag = one.where.values()["tag_id"]
    one.where.fill({"price": "-3"})
    one.enrol()
    said = one.where.input("price").accessibleDescription()
    assert said == "-3 is below zero: type what it cost, or leave it empty."
    one.where.fill({"price": "24,90"})
    one.enrol()
    assert find(kitchen, tag).facts.price == Price(amount="24.90", currency="USD")


def test_what_was_typed_stays_when_another_type_is_chosen(one: EnrolOne) -> None:
    one.where.fill({"maker": "Odderby", "serial": "X-1"})
    one.what.fill({"step": "0.5"})
    QTest.mouseClick(one.types.buttons["infrared"], Qt.MouseButton.LeftButton)
    assert (one.where.values()["maker"], one.where.values()["serial"]) == ("Odderby", "X-1")
    assert (one.what.values()["step"], one.what.values()["highest"]) == ("0.5", "482")


def test_one_is_enrolled_once_and_its_page_shown(one: EnrolOne, page: ThermometersPage, kitchen: Kitchen) -> None:
    one.where.fill({"tag_id": "NEW1", "maker": "Nembra", "model": "N3", "serial": "S-1"})
    before = len(kitchen.entries("thermometer_set"))
    QTest.mouseClick(one.yes, Qt.MouseButton.LeftButton)
    assert len(kitchen.entries("thermometer_set")) == before + 1
    found = find(kitchen, "NEW1")
    assert (found.maker, found.model, found.serial) == ("Nembra", "N3", "S-1")
    assert found.facts.scales["F"].step == "0.1 dF"
    assert page.one.tag.text() == "NEW1"


@pytest.mark.slow
def test_both_scales_and_a_sensor_of_its_own(one: EnrolOne, kitchen: Kitchen) -> None:
    from ui.parts import Choice

    unit = one.what.input("unit")
    assert isinstance(unit, Choice)
    QTest.mouseClick(unit.button("both"), Qt.MouseButton.LeftButton)
    one.where.fill({"parts": "yes"})
    one.where.fill({"tag_id": "NEW2", "sensor_maker": "Tarquill", "sensor_serial": "T-9", "maker": "Kelvane"})
    QTest.mouseClick(one.yes, Qt.MouseButton.LeftButton)
    found = find(kitchen, "NEW2")
    assert set(found.facts.scales) == {"C", "F"}
    assert found.sensor is not None
    assert (found.maker, found.sensor.maker, found.sensor.serial) == ("Kelvane", "Tarquill", "T-9")


def test_what_is_wrong_stands_beside_its_field(one: EnrolOne, kitchen: Kitchen) -> None:
    before = kitchen.count()
    one.what.fill({"step": "0.1x"})
    QTest.mouseClick(one.yes, Qt.MouseButton.LeftButton)
    said = one.what.input("step").accessibleDescription()
    assert said == "0.1x is not a number: type digits with one point or comma, such as 0.5."
    one.what.fill({"step": "0.1"})
    one.where.fill({"tag_id": "DIGI0"})
    QTest.mouseClick(one.yes, Qt.MouseButton.LeftButton)
    assert one.where.input("tag_id").accessibleDescription() == "DIGI0 is taken already: choose another one."
    assert kitchen.count() == before
    assert one.where.values()["tag_id"] == "DIGI0"


def test_another_like_it_gets_the_next_tag_id(one: EnrolOne, kitchen: Kitchen) -> None:
    one.where.fill({"maker": "Nembra", "serial": "S-1"})
    first = one.where.values()["tag_id"]
    QTest.mouseClick(one.again, Qt.MouseButton.LeftButton)
    values = one.where.values()
    assert (values["maker"], values["serial"]) == ("Nembra", "")
    assert values["tag_id"] not in ("", first)
    one.where.fill({"serial": "S-2"})
    QTest.mouseClick(one.again, Qt.MouseButton.LeftButton)
    assert [find(kitchen, tag).serial for tag in (first, values["tag_id"])] == ["S-1", "S-2"]


def test_a_reference_asks_for_its_certificate_next(one: EnrolOne, answers: Answers) -> None:
    one.where.fill({"tag_id": "REF1", "reference": "yes"})
    answers.ready = [None]
    QTest.mouseClick(one.yes, Qt.MouseButton.LeftButton)
    assert answers.asked == ["Outside certificate of REF1"]


@pytest.mark.slow
def test_what_is_being_filled_in_survives_another_look(one: EnrolOne, desk: Desk, frame: Frame) -> None:
    one.where.fill({"serial": "S-77"})
    QTest.mouseClick(one.types.buttons["infrared"], Qt.MouseButton.LeftButton)
    desk.choose("theme", "dark")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.stack.currentWidget() is page.enrol_one
    assert page.enrol_one.types.value == "infrared"
    assert page.enrol_one.where.values()["serial"] == "S-77"


# --- many ----------------------------------------------------------------------------------------------------


@pytest.fixture
def many(page: ThermometersPage) -> EnrolMany:
    QTest.mouseClick(page.table.many_button, Qt.MouseButton.LeftButton)
    return page.enrol_many


def cell(many: EnrolMany, row: int, column: str) -> str:
    return str(many.model.index(row, SHOWN.index(column)).data() or "")


def paste(many: EnrolMany, text: str, row: int = 0, column: str = "tag_id") -> None:
    QGuiApplication.clipboard().setText(text)
    many.grid.setCurrentIndex(many.model.index(row, SHOWN.index(column)))
    many.grid.setFocus()
    QTest.keyClick(many.grid, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)


@pytest.mark.slow
def test_the_grid_is_a_model_like_any(many: EnrolMany, qtmodeltester: Any) -> None:
    paste(many, ROWS)
    qtmodeltester.check(many.model)


def test_a_cell_is_typed(many: EnrolMany, qtbot: QtBot) -> None:
    many.grid.setCurrentIndex(many.model.index(0, SHOWN.index("maker")))
    QTest.keyClick(many.grid, Qt.Key.Key_Return)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, "Nembra")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: cell(many, 0, "maker") == "Nembra")
    assert cell(many, 0, "said") == "Type: This is still empty: fill it in."
    assert not many.yes.isEnabled()


def test_pasted_rows_are_read_in_either_language(many: EnrolMany) -> None:
    paste(many, ROWS)
    assert [cell(many, n, "said") for n in range(3)] == ["Ready", "Ready", ""]
    assert many.sentence.text() == "2 rows are ready. Nothing is recorded before you say so."
    assert many.yes.isEnabled()


def test_titles_in_the_first_row_say_where_each_goes(many: EnrolMany) -> None:
    paste(many, "Número de serie\tTipo\tPuesto\nS-5\tInfrared\tGrill\n")
    assert (cell(many, 0, "serial"), cell(many, 0, "type"), cell(many, 0, "station")) == ("S-5", "Infrared", "Grill")


def test_many_are_enrolled_once_however_often_it_is_pressed(
    many: EnrolMany, kitchen: Kitchen, answers: Answers
) -> None:
    before = len(kitchen.entries("thermometer_set"))
    paste(many, ROWS)
    answers.ready = [False, True]
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    assert answers.asked == ["Enrol these 2 thermometers?"]
    assert len(kitchen.entries("thermometer_set")) == before  # tried, and nothing of it stays
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    assert len(kitchen.entries("thermometer_set")) == before + 2
    many.record()
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    assert len(kitchen.entries("thermometer_set")) == before + 2
    assert cell(many, 1, "said") == "Enrolled: OLD7"
    found = find(kitchen, "OLD7")
    assert (found.type.code, found.maker, found.row.site) == ("thermocouple_probe", "Pellgrin", kitchen.site)
    assert found.facts.scales["F"].step == "0.1 dF"  # as is usual, in the unit of this desk
    first = find(kitchen, cell(many, 0, "said").removeprefix("Enrolled: "))
    assert (first.serial, first.facts.scales["C"].step) == ("S-1", "0.1 dC")
    assert many.sentence.text() == "2 thermometers are enrolled."


@pytest.mark.slow
def test_the_same_row_recorded_again_is_recorded_once(many: EnrolMany, kitchen: Kitchen, answers: Answers) -> None:
    """As after a crash between recording and taking note of it."""
    paste(many, ROWS)
    answers.ready = [True]
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    count = kitchen.count()
    for row in many.model.rows:
        row.tag = ""
    many.record()
    assert kitchen.count() == count
    assert cell(many, 1, "said") == "Enrolled: OLD7"


def test_what_is_wrong_is_marked_in_its_cell_and_nothing_is_lost(many: EnrolMany, kitchen: Kitchen) -> None:
    paste(many, "DIGI0\tInfrared\nTWO\tInfrared\ntwo\tInfrared\n\tSpoon\n\tInfrared\tK\t\t\t\tNowhere\n")
    said = [cell(many, n, "said") for n in range(5)]
    assert said[0] == said[1] == "Ready"
    assert said[2] == "Tag id: two is taken already: choose another one."
    assert said[3].startswith("Type: Spoon is no type")
    assert set(many.model.rows[4].problems) == {"unit", "site"}
    assert many.sentence.text() == "Something is wrong in 3 of 5 rows; it is marked in their cells."
    assert cell(many, 3, "type") == "Spoon"
    many.grid.setCurrentIndex(many.model.index(3, SHOWN.index("type")))
    assert many.cell.text().startswith("Spoon is no type")


def test_what_the_registry_has_against_a_row_is_shown_before_anything_is_recorded(
    many: EnrolMany, kitchen: Kitchen
) -> None:
    before = kitchen.count()
    paste(many, "DIGI0\tInfrared\nTWO\tInfrared\n")
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    assert cell(many, 0, "said") == "Tag id: DIGI0 is taken already: choose another one."
    assert kitchen.count() == before
    assert not many.yes.isEnabled()


@pytest.mark.slow
def test_what_is_in_the_grid_outlives_the_window(many: EnrolMany, desk: Desk, frame: Frame) -> None:
    paste(many, ROWS)
    assert desk.drafts is not None
    kept = desk.drafts.get(DRAFT)
    assert [row["cells"]["type"] for row in kept] == ["Thermistor probe", "Sonda de termopar"]
    desk.choose("theme", "dark")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.stack.currentWidget() is page.enrol_many
    assert cell(page.enrol_many, 1, "tag_id") == "OLD7"
    assert [row.id for row in page.enrol_many.model.rows[:2]] == [row["id"] for row in kept]


def test_cells_are_emptied_by_delete(many: EnrolMany) -> None:
    paste(many, ROWS)
    many.grid.selectRow(0)
    QTest.keyClick(many.grid, Qt.Key.Key_Delete)
    assert many.model.rows[0].is_empty
    assert many.sentence.text() == "One row is ready. Nothing is recorded before you say so."


def test_a_spreadsheet_comes_into_the_grid(
    many: EnrolMany, kitchen: Kitchen, answers: Answers, frame: Frame, tmp_path: Path
) -> None:
    file = tmp_path / "list.csv"
    file.write_text("tag id;type;colour;serial\nCSV1;bimetal_stem;red;B-1\nCSV2;Infrared;;I-1\n", encoding="utf-8")
    answers.ready = [file, True]
    before = kitchen.count()
    QTest.mouseClick(many.file_button, Qt.MouseButton.LeftButton)
    assert frame.notice.sentence.text() == (
        "2 rows were taken from the file; nothing is recorded yet. "
        "These columns are not known here and were left out: colour."
    )
    assert kitchen.count() == before
    QTest.mouseClick(many.yes, Qt.MouseButton.LeftButton)
    assert [find(kitchen, tag).serial for tag in ("CSV1", "CSV2")] == ["B-1", "I-1"]


def test_a_file_in_another_encoding_asks_for_it(many: EnrolMany, answers: Answers, tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_bytes("type;maker\nInfrared;Peña\n".encode("cp1252"))
    answers.ready = [file, "cp1252"]
    QTest.mouseClick(many.file_button, Qt.MouseButton.LeftButton)
    assert cell(many, 0, "maker") == "Peña"


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("content", [b"", b"nothing;known\n1;2\n", b"\x00\x01"])
def test_what_is_no_list_is_told(
    content: bytes, many: EnrolMany, answers: Answers, frame: Frame, tmp_path: Path
) -> None:
    file = tmp_path / "list.csv"
    file.write_bytes(content)
    answers.ready = [file]
    QTest.mouseClick(many.file_button, Qt.MouseButton.LeftButton)
    assert frame.notice.isVisible()
    assert many.model.first_empty() == 0


def test_stopped_in_the_middle_the_enrolled_ones_stay(
    many: EnrolMany, kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    paste(many, "A1\tInfrared\nA2\tInfrared\nA3\tInfrared\n")
    enrol = thermometers.enrol

    def then_stop(*given: Any, **more: Any) -> str:
        many._stop()
        return enrol(*given, **more)

    monkeypatch.setattr(thermometers, "enrol", then_stop)
    many.record()
    assert [row.tag for row in many.model.rows[:3]] == ["A1", "", ""]
    assert many.sentence.text() == "2 rows are ready. Nothing is recorded before you say so."
    assert find(kitchen, "A1").type.code == "infrared"
