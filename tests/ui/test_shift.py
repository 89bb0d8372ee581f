"""Start of shift by real key presses: what a row says is what the journal holds."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from registry.services import lookup, shift_list, working_set
from registry.services.shift_row import ListRow
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.shift.field import ReadingField
from ui.shift.foot import Meant
from ui.shift.opened import Adjusting, Instead
from ui.shift.page import ShiftPage


def press(keys: str, *, count: list[str] | None = None) -> None:
    """Type at whatever has the focus; a new line is Enter."""
    for key in keys:
        where = QApplication.focusWidget()
        assert where is not None
        if key == "\n":
            QTest.keyClick(where, Qt.Key.Key_Return)
        else:
            QTest.keyClick(where, key)
        if count is not None:
            count.append(key)


def after_a_while() -> None:
    """The focus came where it is longer ago than a second press of the same Enter takes."""
    where = QApplication.focusWidget()
    if isinstance(where, ReadingField):
        where._came = float("-inf")
    elif isinstance(where, Meant):
        where.came = float("-inf")


@pytest.fixture
def page(frame: Frame) -> ShiftPage:
    frame.activateWindow()
    frame.go("shift")
    found = frame.page
    assert isinstance(found, ShiftPage)
    return found


def focused() -> str:
    where = QApplication.focusWidget()
    if where is None:
        return ""
    return where.accessibleName() or (where.text() if isinstance(where, QAbstractButton) else "")


def row(kitchen: Kitchen, tag: str) -> ListRow:
    found = shift_list.start_of_shift(kitchen.session, kitchen.site).row(tag)
    assert found is not None
    return found


def shown(page: ShiftPage, tag: str) -> tuple[str, str, str]:
    """What the row of a tag says: what it shows, off by, its answer."""
    widget = next(one for one in page.list.rows.values() if one.row.tag_id == tag)
    return widget.field.text(), widget.off.text(), widget.answering.accessibleName()


def in_bath(page: ShiftPage, kitchen: Kitchen) -> None:
    press("\n")  # the bath is ready
    kitchen.clock.move(minutes=4)


def test_twelve_in_one_bath_by_keys_alone(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    """One key a row beyond the digits; one is outside, confirmed, adjusted; the journal holds what the row said."""
    assert focused() == "Bath is ready, probes are in"
    in_bath(page, kitchen)
    readings = ("33.0", "0.1", "0.2", "31.8", "0.0", "-0.1", "32", "2", "1", "34", "0", "0")
    keys: list[str] = []
    for text in readings:
        assert focused().startswith("What ")
        press(f"{text}\n", count=keys)
        if text == "2":
            assert "Outside so far" in shown(page, "DIAL0")[2]
            press("2\n2\n")  # the repeats of the one that is outside
    assert len(keys) == sum(len(one) + 1 for one in readings)
    assert all(one.state == "recorded" for one in page.rows.values())
    # The bath was judged by what was read in it: nobody presses for that.
    assert kitchen.last("bath_judged").payload["judged_by"] == "diagnose"
    assert focused() == "What DIAL0 shows as left"
    press("0\n")
    for one in shift_list.start_of_shift(kitchen.session, kitchen.site).rows:
        assert one.check is not None
        text, off, answer = shown(page, one.tag_id)
        assert text == f"{one.check.row.readings[-1].value}".replace("-", "−")
        assert off == desk.offset(one.check.row.judged.offset.to(one.check.row.readings[0].unit))
        word = one.check.as_left.word if one.check.as_left else one.check.row.lead_word
        assert answer.startswith(desk.say(f"lead.{word}"))
    left = row(kitchen, "DIAL0").check
    assert left is not None
    assert left.as_left is not None
    assert (left.outcome, left.as_left.outcome, left.as_left.word) == ("fail", "pass", "use")
    assert page.foot.sentence.text() == "12 of 12 checked, 1 adjusted"
    assert kitchen.verify().good


def test_before_the_bath_is_judged_nothing_is_promised(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.0")
    assert shown(page, "DIGF0")[2].startswith("Use")  # provisional, while it is being written
    press("\n")
    assert shown(page, "DIGF0")[2] == "Waits. then: Use"


def test_enter_twice_records_once(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("32.1")
    field = QApplication.focusWidget()
    assert field is not None
    QTest.keyClick(field, Qt.Key.Key_Return)
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert len(kitchen.entries("reading_taken")) == 1
    assert len(kitchen.entries("check_recorded")) == 1


def test_a_likely_mix_up_is_asked_about_and_enter_alone_does_not_take_it(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("0.5\n")  # a °F digital that is said to show 0.5
    assert "or is the dial in the other unit?" in page.now.problems[next(iter(page.now.problems))]
    assert "32" not in page.now.problems[next(iter(page.now.problems))]  # the right answer is never offered
    press("\n\n")
    assert kitchen.entries("reading_taken") == []
    press("0.5\n")  # typed again: it does show that
    taken = kitchen.last("reading_taken")
    assert (taken.payload["shown"], taken.payload["asked"]) == ("0.5 F", ["other_unit"])


def test_letters_never_become_a_number(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("3x2,1e\n")
    assert kitchen.last("reading_taken").payload["shown"] == "32.1 F"


def test_last_time_shows_only_once_the_reading_is_keyed(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    in_bath(page, kitchen)
    press("33.0\n")
    page.foot.good.click()
    kitchen.clock.move(days=1)
    frame.go("shift")
    press("\n")
    widget = next(one for one in page.list.rows.values() if one.row.tag_id == "DIGF0")
    assert widget.last.text() == ""
    press("32.0")
    assert widget.last.text() == "+1.0\u00a0°F"


def test_what_stands_instead_of_a_reading(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    page.list.rows[page.list.current].instead.click()
    part = page.list.findChild(Instead)
    part.said.emit("not_checked", "not_found")
    assert row(kitchen, "DIGF0").state == "not_found"
    assert focused() == "What DIGI0 shows"
    page.list.rows[page.list.current].instead.click()
    page.list.findChild(Instead).said.emit("no_reading", "battery_flat")
    assert shown(page, "DIGI0")[2] == "No reading. The battery is flat"
    assert kitchen.last("reading_taken").payload["why"] == "battery_flat"


def test_out_of_use_with_a_reason(page: ShiftPage, kitchen: Kitchen, answers: Answers) -> None:
    in_bath(page, kitchen)
    press("36.0\n36.0\n36.1\n")
    page.foot.good.click()
    answers.ready = ["outside"]
    page.list.findChild(Adjusting).out_of_use.emit()
    assert row(kitchen, "DIGF0").state == "out_of_use"
    assert shown(page, "DIGF0")[2] == "Out of use. as found 36.1\u00a0°F"


def test_taken_out_it_is_said_where_too_few_remain(
    page: ShiftPage, kitchen: Kitchen, answers: Answers, frame: Frame
) -> None:
    station = kitchen.row(row(kitchen, "DIGF0").thermometer).station
    assert station is not None
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 3})
    in_bath(page, kitchen)
    press("36.0\n36.0\n36.1\n")
    page.foot.good.click()
    answers.ready = ["outside"]
    page.list.findChild(Adjusting).out_of_use.emit()
    assert frame.notice.sentence.text().endswith(": 2 usable left of Thermistor probe; at least 3 needed.")


def test_a_bath_off_is_remade_and_its_readings_decide_nothing(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.6\n0.9\n0.9\n")
    assert page.band.count() == 1
    assert not page.foot.good.isVisible()
    page.band.itemAt(0).widget().remade.emit()
    assert kitchen.last("bath_judged").payload["judged"] == "condemned"
    assert focused() == "Bath is ready, probes are in"
    press("\n")
    assert row(kitchen, "DIGF0").state == "waiting"
    assert len(kitchen.entries("reading_taken")) == 3


def test_a_bath_is_good_all_the_same_with_a_reason(page: ShiftPage, kitchen: Kitchen, answers: Answers) -> None:
    in_bath(page, kitchen)
    press("33.6\n0.9\n0.9\n")
    answers.ready = ["reference_agrees"]
    page.band.itemAt(0).widget().overruled.emit()
    judged = kitchen.last("bath_judged").payload
    assert (judged["judged"], judged["why"]) == ("overruled", "reference_agrees")


def test_what_is_being_keyed_survives(page: ShiftPage, kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    """A crash is a new page on the same drafts; the ids stay, so what was recorded meanwhile is not recorded twice."""
    in_bath(page, kitchen)
    press("33.")
    before = page.keying.of(page.rows[page.list.current])
    desk.rebuild.emit()
    again = frame.page
    assert isinstance(again, ShiftPage)
    assert again is not page
    assert again.keying.of(row(kitchen, "DIGF0")) == before
    assert shown(again, "DIGF0")[0] == "33."


def test_mistyped_is_voided_and_asked_anew(page: ShiftPage, kitchen: Kitchen, answers: Answers) -> None:
    in_bath(page, kitchen)
    press("33.1\n")
    answers.ready = [True]
    page.list.mend_wanted.emit(row(kitchen, "DIGF0").thermometer)
    assert row(kitchen, "DIGF0").state == "waiting"
    assert kitchen.last("voided").payload["why"] == "mistyped"
    press("32.1\n")
    check = row(kitchen, "DIGF0").check
    assert check is not None
    assert [one.text() for one in check.row.readings] == ["32.1 F"]


def test_finishing_names_what_was_not_checked(page: ShiftPage, kitchen: Kitchen, answers: Answers) -> None:
    in_bath(page, kitchen)
    press("33.0\n0.1\n")
    answers.ready = [True]
    page.foot.end.click()
    assert answers.asked == ["10 thermometers have no answer yet. Finish the list all the same?"]
    assert page.foot.sentence.text().startswith("2\u00a0checked, 0\u00a0adjusted, 0\u00a0out of use")
    assert "DIAL3" in page.foot.to_go.text()
    assert len(kitchen.last("shift_closed").payload["not_done"]) == 10
    assert kitchen.last("bath_judged").payload["judged_by"] == "closing"


def test_a_scanned_tag_gets_the_focus_and_one_not_wanted_is_added(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(page, kitchen)
    frame.take_tag("DIAL3")
    assert focused() == "What DIAL3 shows"
    extra = kitchen.enrol(tag_id="EXTRA1", in_use_since=None)
    with kitchen.session.reading() as connection:
        assert lookup.last_check(connection, extra) is None
    frame.take_tag("EXTRA1")
    assert focused() == "What EXTRA1 shows"


def test_on_the_number_pad_by_clicks_in_a_small_window(frame: Frame, page: ShiftPage, kitchen: Kitchen) -> None:
    frame.resize(1024, 600)
    found = frame.page
    assert isinstance(found, ShiftPage)
    assert found.small
    click(found.bath.first_field())
    kitchen.clock.move(minutes=4)
    assert found.pad.isVisible()
    for text in ("33.0", "0.1", "−0.2"):
        for key in text:
            click(next(one for one in found.pad.findChildren(QWidget) if getattr(one, "text", str)() == key))
        click(found.pad.record_key)
    shown_now = [one.payload["shown"] for one in kitchen.entries("reading_taken")]
    assert shown_now == ["33.0 F", "0.1 C", "-0.2 C"]


def click(widget: QWidget | None) -> None:
    assert widget is not None
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


def test_an_auditor_looks_and_changes_nothing(desk: Desk, kitchen: Kitchen, frame: Frame) -> None:
    kitchen.ice()
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    page = frame.page
    assert isinstance(page, ShiftPage)
    assert all(one.field.isReadOnly() for one in page.list.rows.values())
    for button in (page.foot.good, page.foot.bad, page.foot.end, page.foot.print):
        assert not button.isVisible()


def test_a_boiling_bath_asks_where_the_pressure_comes_from(page: ShiftPage, kitchen: Kitchen) -> None:
    making = page.bath.findChild(QWidget, "making")
    assert making is not None
    making._choose("boiling_point")
    making._form.fill({"pressure_source": "room_barometer", "pressure": "", "unit": "hPa"})
    making.make()
    assert kitchen.entries("bath_made") == []
    making._form.fill({"pressure": "1001.5"})
    making.make()
    made = kitchen.last("bath_made").payload
    assert (made["pressure_source"], made["pressure"]) == ("room_barometer", "1001.5 hPa")
