"""Something happened: who is picked, what one press records, what is said at once, and taking it back."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from registry.records.outcomes import UNSETTLING
from registry.services import places, thermometers, working_set
from registry.services.thermometers import PartGiven
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui import theme
from ui.desk import Desk
from ui.frame import Frame
from ui.happened.answer import Answer
from ui.happened.icons import CODES
from ui.happened.page import PARTS, HappenedPage
from ui.happened.report import WHY_OUT, ReportPart
from ui.happened.tile import Tile
from ui.parts import Button, Choice


@pytest.fixture
def page(frame: Frame) -> HappenedPage:
    frame.go("happened")
    assert isinstance(frame.page, HappenedPage)
    return frame.page


@pytest.fixture
def report(page: HappenedPage) -> ReportPart:
    part = page.part("report")
    assert isinstance(part, ReportPart)
    return part


def of_tag(kitchen: Kitchen, tag: str) -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


def tile(report: ReportPart, name: str) -> Tile:
    return next(one for one in report.tiles if one.objectName() == name)


def click(widget: QWidget) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


def said(report: ReportPart) -> str:
    assert report.answer is not None
    return report.answer.sentence.accessibleName()


def answer(report: ReportPart) -> Answer:
    assert report.answer is not None
    return report.answer


# --- which one -----------------------------------------------------------------------------------------------


def test_it_opens_with_its_question_and_ways_to_the_rest(page: HappenedPage) -> None:
    assert page.title.text() == "Something happened: to which thermometer?"
    links = [one.text() for one in page.findChildren(Button) if one.kind == "link" and one.isVisible()]
    assert links == ["The inspector is here", "Paper shift sheet", "No bath can be had"]


def test_the_list_stands_by_station_and_is_narrowed_by_typing(page: HappenedPage, report: ReportPart) -> None:
    def shown() -> list[str]:
        return [one.text() for one in report.picker.findChildren(Tile) if one.isVisibleTo(report)]

    assert shown()[:2] == ["DIAF0", "DIAL0"]  # the grill's come first, in the order of their tag ids
    assert len(shown()) == 12
    QTest.keyClicks(report.picker.field.field, "digi")
    assert shown() == ["DIGI0", "DIGI2", "DIGI1", "DIGI3"]


def test_a_tag_typed_with_enter_picks(page: HappenedPage, report: ReportPart) -> None:
    field = report.picker.field.field
    QTest.keyClicks(field, "digi1")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert page.title.text() == "What happened to DIGI1?"


def test_where_several_fit_none_is_taken(report: ReportPart, kitchen: Kitchen) -> None:
    field = report.picker.field.field
    QTest.keyClicks(field, "digi")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert report.picked is None
    assert field.accessibleDescription() == "4 have that in their tag id. Go on typing, or touch the one."
    QTest.keyClicks(field, "1")
    assert not report.picker.field._problem.isVisible()


def test_enter_held_down_since_the_tag_was_typed_reports_nothing(report: ReportPart, kitchen: Kitchen) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    held = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "\r", autorep=True)
    QApplication.sendEvent(report.tiles[0], held)
    assert kitchen.entries("incident_reported") == []


def test_an_unknown_tag_is_told_beneath_and_stays(report: ReportPart) -> None:
    field = report.picker.field.field
    QTest.keyClicks(field, "NOSUCH")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert report.picked is None
    assert field.text() == "NOSUCH"
    assert field.accessibleDescription() == "No thermometer bears NOSUCH: look at its tag."
    said = [one.text() for one in report.picker.findChildren(QLabel) if one.isVisible()]
    assert said == ["Scan its tag, type its tag id, or touch it below", field.accessibleDescription()]  # once


def test_a_scan_picks(frame: Frame, page: HappenedPage) -> None:
    frame.take_tag("DIAL2")
    assert page.title.text() == "What happened to DIAL2?"


def test_gone_to_about_one_it_asks_what(frame: Frame, kitchen: Kitchen) -> None:
    frame.go("happened", of_tag(kitchen, "DIGI0"))
    assert isinstance(frame.page, HappenedPage)
    assert frame.page.title.text() == "What happened to DIGI0?"


# --- what ----------------------------------------------------------------------------------------------------


def test_every_incident_of_the_vocabulary_has_its_button_and_drawing(report: ReportPart, kitchen: Kitchen) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    assert [one.objectName() for one in report.tiles] == [*UNSETTLING, "take_out"]
    assert set(UNSETTLING) <= set(CODES)


def test_one_press_records_and_says_whether_it_may_be_used(report: ReportPart, kitchen: Kitchen) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    report.pick(thermometer)
    click(tile(report, "dropped"))
    (entry,) = kitchen.entries("incident_reported")
    assert (entry.subject, entry.payload["what"], entry.by) == (thermometer, "dropped", kitchen.lead.person)
    assert said(report) == "DIGI0 may not be used before it is checked."


def test_by_keyboard_alone(frame: Frame, report: ReportPart, kitchen: Kitchen) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    assert frame.focusWidget() is report.tiles[0]
    QTest.keyClick(frame.focusWidget(), Qt.Key.Key_Tab)
    QTest.keyClick(frame.focusWidget(), Qt.Key.Key_Return)
    assert kitchen.last("incident_reported").payload["what"] == "bumped"
    assert frame.focusWidget() is answer(report).button("check_now")


def test_a_double_press_records_once(report: ReportPart, kitchen: Kitchen) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    pressed = tile(report, "bent")
    pressed.click()
    pressed.click()
    assert len(kitchen.entries("incident_reported")) == 1


def test_earlier_today_takes_the_time_typed(report: ReportPart, kitchen: Kitchen) -> None:
    kitchen.clock.move(hours=2)  # 07:30 local time now, in New York: UTC is 5 hours ahead in March
    report.pick(of_tag(kitchen, "DIGI0"))
    click(report.when.choice.button("earlier"))
    QTest.keyClicks(report.when.field, "06:10")
    click(tile(report, "dropped"))
    at = kitchen.last("incident_reported").payload["performed_at"]
    assert at % 86_400_000_000 == (11 * 60 + 10) * 60_000_000


@pytest.mark.parametrize(("code", "minutes"), [("quarter", 15), ("hour", 60)])
def test_a_while_ago_takes_a_touch_and_no_keys(report: ReportPart, kitchen: Kitchen, code: str, minutes: int) -> None:
    kitchen.clock.move(hours=2)  # it was enrolled by then
    report.pick(of_tag(kitchen, "DIGI0"))
    click(report.when.choice.button(code))
    assert not report.when.field.isVisible()
    click(tile(report, "dropped"))
    at = kitchen.last("incident_reported").payload["performed_at"]
    assert at == pytest.approx(kitchen.clock() - minutes * 60_000_000, abs=1_000_000)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("23:59", "That time has not come yet: look at the day and the time."),
        ("25:00", "25:00 is not a time of day: type it as 14:30."),
        ("", "This is still empty: fill it in."),
    ],
)
def test_a_time_that_cannot_be_is_refused_beside_its_field(
    report: ReportPart, kitchen: Kitchen, typed: str, told: str
) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    click(report.when.choice.button("earlier"))
    QTest.keyClicks(report.when.field, typed)
    click(tile(report, "dropped"))
    assert kitchen.entries("incident_reported") == []
    assert report.when.problem.text() == told
    assert report.when.field.text() == typed


def test_a_meters_trouble_is_told_of_its_other_probes(report: ReportPart, kitchen: Kitchen, frame: Frame) -> None:
    with kitchen.session.reading() as connection:
        grill = places.station_named(connection, kitchen.site, "Grill").subject
    working_set.set_smallest(kitchen.session, kitchen.officer, grill, {"thermocouple_probe": 1})
    first = kitchen.enrol(tag_id="METER1", type="thermocouple_probe", sensor=PartGiven(serial="S1"))
    with kitchen.session.reading() as connection:
        parts = thermometers.thermometer(connection, first).parts
    assert parts is not None
    more = {"sensor": PartGiven(serial="S2"), "indicator": parts.indicator, "station": grill}
    second = kitchen.enrol(tag_id="METER2", type="thermocouple_probe", **more)
    report.pick(first)
    click(tile(report, "battery_changed"))
    assert [one.subject for one in kitchen.entries("incident_reported")] == [first, second]
    assert "METER2 is read on the same meter and has to be checked first too." in texts(report)
    assert frame.notice.sentence.text() == "Pier, Grill: 0 usable left of Thermocouple probe; at least 1 needed."


def texts(widget: QWidget) -> list[str]:
    from ui.parts import Words

    return [one.text() for one in widget.findChildren(Words) if one.isVisibleTo(widget)]


def test_check_it_now_goes_to_the_shift(frame: Frame, desk: Desk, report: ReportPart, kitchen: Kitchen) -> None:
    gone: list[tuple[str, Any]] = []
    thermometer = of_tag(kitchen, "DIGI0")
    report.pick(thermometer)
    click(tile(report, "dropped"))
    desk.wanted.connect(lambda place, about: gone.append((place, about)))
    click(answer(report).button("check_now"))
    assert gone == [("shift", thermometer)]


def test_lost_counts_as_lost_and_then_only_found_is_asked(report: ReportPart, kitchen: Kitchen) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    report.pick(thermometer)
    click(tile(report, "lost"))
    assert said(report) == "DIGI0 may not be used: it counts as lost."
    report.pick(thermometer)
    assert [one.objectName() for one in report.tiles] == ["found"]
    click(tile(report, "found"))
    assert kitchen.row(thermometer).service_status == "check_first"


# --- out of use ----------------------------------------------------------------------------------------------


def test_it_is_taken_out_of_use_with_a_reason(report: ReportPart, kitchen: Kitchen, page: HappenedPage) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    report.pick(thermometer)
    click(tile(report, "take_out"))
    assert page.title.text() == "Why is DIGI0 taken out of use?"
    assert [one.objectName() for one in report.tiles] == list(WHY_OUT)
    click(tile(report, "worn"))
    entry = kitchen.last("taken_out")
    assert (entry.subject, entry.payload["why"]) == (thermometer, "worn")
    assert said(report) == "DIGI0 may not be used: it is out of use."


def test_from_the_answer_what_happened_is_the_reason(report: ReportPart, kitchen: Kitchen) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "water_inside"))
    click(answer(report).button("take_it_out"))
    assert kitchen.last("taken_out").payload["why"] == "water_inside"


def all_but(kitchen: Kitchen, *kept: str) -> None:
    """Every other thermometer at the grill goes out of use."""
    for tag in ("DIGI0", "DIGI2", "DIGF0", "DIAL0", "DIAL2", "DIAF0"):
        if tag not in kept:
            thermometers.take_out(kitchen.session, kitchen.lead, of_tag(kitchen, tag), "spare")


def test_before_the_last_one_of_a_station_goes_that_is_asked(
    report: ReportPart, kitchen: Kitchen, answers: Answers
) -> None:
    all_but(kitchen, "DIGI0")
    count = len(kitchen.entries("taken_out"))
    report.pick(of_tag(kitchen, "DIGI0"))
    answers.ready = [False, True]
    report.take_out("damaged")
    assert answers.asked == ["DIGI0 is the last one ready for use at Grill. Take it out of use all the same?"]
    assert len(kitchen.entries("taken_out")) == count
    report.take_out("damaged")
    assert len(kitchen.entries("taken_out")) == count + 1
    assert "No other thermometer at Grill is ready for use." in texts(report)


def test_one_of_limited_use_is_not_counted_among_those_that_a_station_needs(
    report: ReportPart, kitchen: Kitchen, answers: Answers
) -> None:
    station = kitchen.row(of_tag(kitchen, "DIGI0")).station
    assert station is not None
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 2})
    thermometers.set_status(kitchen.session, kitchen.officer, of_tag(kitchen, "DIGI2"), "limited_use", only="cold")
    report.pick(of_tag(kitchen, "DIGI0"))
    answers.ready = [True]
    report.take_out("damaged")
    words = (
        "Grill is to keep 2 of this type ready for use and would be left with 1. Take DIGI0 out of use all the same?"
    )
    assert answers.asked == [words]
    assert "Of its type Grill is to keep 2 ready for use; without this one it has 1." in texts(report)


def test_one_of_several_goes_without_a_question(report: ReportPart, kitchen: Kitchen, answers: Answers) -> None:
    all_but(kitchen, "DIGI0", "DIAL0")
    report.pick(of_tag(kitchen, "DIGI0"))
    report.take_out("damaged")
    assert answers.asked == []
    assert kitchen.row(of_tag(kitchen, "DIGI0")).status == "out_of_use"


def test_put_back_it_is_to_be_checked_first(report: ReportPart, kitchen: Kitchen) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    thermometers.take_out(kitchen.session, kitchen.lead, thermometer, "spare")
    report.pick(thermometer)
    click(tile(report, "put_back"))
    assert said(report) == "DIGI0 may not be used before it is checked."


# --- taking it back ------------------------------------------------------------------------------------------


def test_undo_is_a_correcting_entry_told_first(report: ReportPart, kitchen: Kitchen, answers: Answers) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    report.pick(thermometer)
    click(tile(report, "dropped"))
    reported = kitchen.last("incident_reported")
    answers.ready = [True]
    click(answer(report).button("undo"))
    assert answers.asked == ["Take back what was recorded for DIGI0?"]
    voided = kitchen.last("voided").payload
    assert (voided["entries"], voided["why"]) == ([reported.hash], "not_done")
    assert kitchen.row(thermometer).service_status == "in_service"
    assert said(report) == "DIGI0 may be used."


def test_undo_not_agreed_to_leaves_it(report: ReportPart, kitchen: Kitchen, answers: Answers) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "dropped"))
    answers.ready = [False]
    click(answer(report).button("undo"))
    assert kitchen.entries("voided") == []


def test_what_else_stands_against_it_is_told_before_undo(report: ReportPart, kitchen: Kitchen) -> None:
    from ui.happened import undo

    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "dropped"))
    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "bent"))
    assert report.done is not None
    told = undo.affects(report.desk, report.done)
    assert "Something else stands against DIGI0: to be checked first all the same." in told


@pytest.mark.parametrize(("what", "status"), [("lost", "check_first"), ("found", "lost")])
def test_undoing_lost_and_found_states_the_status_anew(
    report: ReportPart, kitchen: Kitchen, answers: Answers, what: str, status: str
) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    if what == "found":
        thermometers.set_status(kitchen.session, kitchen.lead, thermometer, "lost")
    report.pick(thermometer)
    click(tile(report, what))
    answers.ready = [True]
    click(answer(report).button("undo"))
    assert kitchen.row(thermometer).service_status == status


def test_undoing_out_of_use_keeps_a_limit(report: ReportPart, kitchen: Kitchen, answers: Answers, desk: Desk) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    thermometers.set_status(kitchen.session, kitchen.officer, thermometer, "limited_use", only="cold")
    sit_down(desk, kitchen, "officer")
    report.pick(thermometer)
    report.take_out("worn")
    answers.ready = [True]
    click(answer(report).button("undo"))
    assert kitchen.row(thermometer).status == "limited_use"
    assert kitchen.last("service_status_set").payload["only"] == "cold"


def test_somebody_elses_report_is_not_taken_back_by_a_lead(
    report: ReportPart, kitchen: Kitchen, answers: Answers, frame: Frame, monkeypatch: pytest.MonkeyPatch
) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "dropped"))
    kitchen.clock.move(days=2)  # a lead takes back only what was said within the last day
    answers.ready = [True]
    click(answer(report).button("undo"))
    assert kitchen.entries("voided") == []
    assert frame.notice.isVisible()


def test_what_rests_on_a_report_is_told(report: ReportPart, kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    from registry.services.history import StoryLine
    from ui.happened import undo

    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "dropped"))
    done = report.done
    assert done is not None
    reported = kitchen.last("incident_reported")
    with kitchen.session.reading() as connection:
        story = undo.history.story(kitchen.session, connection, done.thermometer)
    later = StoryLine("N1", 0, "", "tag_printed", {"rests_on": [reported.hash]}, False)
    monkeypatch.setattr(undo.history, "story", lambda *_, **__: replace(story, rest=(*story.rest, later)))
    assert undo.resting(report.desk, done) == ["N1"]
    assert "These rest on the report and have to be looked at again: N1." in undo.affects(report.desk, done)


# --- the page ------------------------------------------------------------------------------------------------


def test_who_only_looks_is_told_who_reports(desk: Desk, kitchen: Kitchen, frame: Frame) -> None:
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    frame.go("happened")
    assert isinstance(frame.page, HappenedPage)
    assert frame.page.title.text() == "Whoever only looks reports nothing here: a lead or an officer does."
    assert not frame.page.scanned("DIGI0")


def test_the_answer_stands_when_the_window_is_made_anew(
    frame: Frame, desk: Desk, report: ReportPart, kitchen: Kitchen
) -> None:
    report.pick(of_tag(kitchen, "DIGI0"))
    click(tile(report, "dropped"))
    desk.choose("theme", "dark")
    assert isinstance(frame.page, HappenedPage)
    again = frame.page.part("report")
    assert isinstance(again, ReportPart)
    assert said(again) == "DIGI0 may not be used before it is checked."


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("zoom", ["100", "200"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_what_is_pressed_is_large_enough(
    frame: Frame, desk: Desk, kitchen: Kitchen, qtbot: QtBot, zoom: str, language: str
) -> None:
    desk.choose("language", language)
    desk.choose("text_size", zoom)
    frame.go("happened", of_tag(kitchen, "DIGI0"))
    page = frame.page
    assert isinstance(page, HappenedPage)
    for name in PARTS:
        part = page.show_part(name)
        part.start()
        qtbot.waitUntil(lambda part=part: min(one.height() for one in part.findChildren(Button)) >= theme.TOUCH)
        for kind in (Tile, Button, Choice):
            for one in part.findChildren(kind):
                if one.isVisible():
                    assert one.height() >= theme.TOUCH, (name, one.accessibleName())
                    assert one.width() >= one.minimumSizeHint().width(), (name, one.accessibleName())
