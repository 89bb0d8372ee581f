"""Start of shift against slips: no reading is lost, recorded twice, or taken for another thermometer's or bath's."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from registry.quantity import Length
from registry.services import incidents, people, places, thermometers
from registry.services.drafts import WindowDrafts
from registry.services.places import NewSite
from registry.services.problems import KnownError
from tests.services.kitchen import DIGITAL_C, DIGITAL_F, TUESDAY, ZONE, Kitchen
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_shift import click, focused, in_bath, page, press, row, shown
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Words
from ui.shift.field import ReadingField
from ui.shift.opened import Adjusting, Instead
from ui.shift.page import ShiftPage
from ui.tags.page import TagsPage

__all__ = ["page"]  # the fixture


def id_of(kitchen: Kitchen, tag: str) -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


def by_another(kitchen: Kitchen, page: ShiftPage, tag: str, *readings: str) -> str:
    """Recorded in another window, of which this one hears nothing."""
    assert page.view is not None
    assert page.view.bath is not None
    return kitchen.key(page.view.bath.bath, id_of(kitchen, tag), *readings).check


def notices(desk: Desk) -> list[str]:
    told: list[str] = []
    desk.noticed.connect(lambda sentence, _details: told.append(sentence))
    return told


def taken(kitchen: Kitchen) -> list[str]:
    return [one.payload["shown"] for one in kitchen.entries("reading_taken")]


def held_enter(times: int) -> None:
    """Enter held down: the first press, then the repeats that the keyboard sends to whatever has the focus."""
    for n in range(times):
        where = QApplication.focusWidget()
        assert where is not None
        key = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "\r", n > 0)
        QCoreApplication.sendEvent(where, key)


def no_bounce() -> None:
    """The focus came a while ago."""
    where = QApplication.focusWidget()
    assert isinstance(where, ReadingField)
    where._came = float("-inf")


def scan(frame: Frame, code: str) -> None:
    """As a scanner does: its keys pass the window's filter, then reach the field; its end is taken away."""
    now = [1000.0]
    frame.scanner._clock = lambda _event: now[0]
    for key in code:
        now[0] += 0.01
        event = QKeyEvent(QEvent.Type.KeyPress, ord(key), Qt.KeyboardModifier.NoModifier, key)
        assert not frame.scanner.eventFilter(frame, event)
        press(key)
    now[0] += 0.01
    assert frame.scanner.eventFilter(
        frame, QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "\r")
    )


def only(kitchen: Kitchen, page: ShiftPage, frame: Frame, tag: str) -> None:
    """Into the field of one row."""
    frame.take_tag(tag)
    assert focused() == f"What {tag} shows"


# --- digits and their bath -----------------------------------------------------------------------------------


def test_digits_of_one_bath_are_never_recorded_in_another(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    in_bath(page, kitchen)
    press("33.0\n1.4")  # DIGF0 is recorded, DIGI0 only typed
    told = notices(desk)
    page.judging.judge_and_make_another("condemned")
    press("\n")
    assert told == ["Typed but not recorded, and this bath or row takes it no more: DIGI0 1.4 °C. Read it again."]
    assert shown(page, "DIGI0")[0] == ""
    press("32.1\n")
    assert [one.payload["bath"] for one in kitchen.entries("reading_taken")] == [
        one.subject for one in kitchen.entries("bath_made")
    ]


def test_a_repeat_in_another_bath_begins_a_check_of_its_own(
    page: ShiftPage, kitchen: Kitchen, frame: Frame, answers: Answers
) -> None:
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIAL0")
    press("2\n2")  # the first is recorded, the repeat only typed
    answers.ready = ["condemned"]
    page.judging.ask_for_another()
    press("\n")
    only(kitchen, page, frame, "DIAL0")
    assert row(kitchen, "DIAL0").state == "waiting"
    press("0\n")
    check = row(kitchen, "DIAL0").check
    assert check is not None
    assert [one.text() for one in check.row.readings] == ["0 C"]
    assert kitchen.verify().good


def test_yesterdays_digits_do_not_wait_for_todays_bath(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    in_bath(page, kitchen)
    press("33.0")
    kitchen.clock.move(days=1)
    kitchen.ice()
    desk = page.desk
    told = notices(desk)
    desk.rebuild.emit()
    assert "DIGF0 33.0 °F" in told[0]
    assert isinstance(frame.page, ShiftPage)
    assert shown(frame.page, "DIGF0") == ("", "", "")
    press("\n")
    assert taken(kitchen) == []


def test_a_bath_that_gets_too_old_while_typing(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    in_bath(page, kitchen)
    press("33.0")
    kitchen.clock.move(hours=2)
    told = notices(desk)
    press("\n")
    assert taken(kitchen) == []
    assert "more than two hours ago" in told[0] or "more than two hours ago" in told[-1]
    assert any("DIGF0 33.0 °F" in one for one in told)
    assert all(one.field.isReadOnly() for one in page.list.rows.values())


def test_a_list_left_open_overnight_says_nothing_of_today(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.0\n")
    page.foot.good.click()
    assert shown(page, "DIGF0")[2] == "Use"
    kitchen.clock.move(days=1)
    page.look_again()
    assert shown(page, "DIGF0")[2] == ""
    assert row(kitchen, "DIGF0").state == "waiting"


def test_the_shift_that_is_closed_says_nothing_of_the_next(page: ShiftPage, kitchen: Kitchen, answers: Answers) -> None:
    in_bath(page, kitchen)
    press("33.0\n")
    answers.ready = [True]
    page.foot.end.click()
    assert page.foot.sentence.text().startswith("1\u00a0checked")
    kitchen.clock.move(days=1)
    page.look_again()
    assert page.foot.sentence.text() == "0 of 12 checked"


# --- what others do meanwhile --------------------------------------------------------------------------------


def test_read_in_another_window_meanwhile_it_is_not_recorded_again(
    page: ShiftPage, kitchen: Kitchen, desk: Desk
) -> None:
    in_bath(page, kitchen)
    press("32.1")
    by_another(kitchen, page, "DIGF0", "33.0 F")
    told = notices(desk)
    press("\n")
    assert taken(kitchen) == ["33.0 F"]
    assert "DIGF0 has been read by somebody else meanwhile" in told[0] + told[-1]
    assert any("DIGF0 32.1 °F" in one for one in told)
    assert shown(page, "DIGF0")[0] == "33.0"


def test_taken_out_in_another_window_its_digits_are_told(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    in_bath(page, kitchen)
    press("32.1")
    thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, "DIGF0"), "damaged")
    told = notices(desk)
    page.read_again()
    assert "DIGF0 32.1 °F" in told[0]
    assert shown(page, "DIGF0")[2].startswith("Out of use")


def test_a_scale_that_is_amended_while_digits_stand(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    """The digits were read in the unit that the dial has no more: they are never taken in another."""
    in_bath(page, kitchen)
    press("32.1")
    with kitchen.session.reading() as connection:
        probe, celsius = (thermometers.find(connection, tag) for tag in ("DIGF0", "DIGI0"))
    changed = replace(probe.facts, scales=celsius.facts.scales)
    thermometers.amend(kitchen.session, kitchen.officer, probe.row.thermometer, changed, "wrong_range")
    told = notices(desk)
    page.read_again()
    assert "DIGF0 32.1 °F" in told[0]
    only(kitchen, page, page.window(), "DIGF0")  # type: ignore[arg-type]
    press("0.1\n")
    assert taken(kitchen) == ["0.1 C"]


def test_a_check_made_in_a_unit_amended_away_can_still_be_shown(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.0\n")
    with kitchen.session.reading() as connection:
        probe, celsius = (thermometers.find(connection, tag) for tag in ("DIGF0", "DIGI0"))
    changed = replace(probe.facts, scales=celsius.facts.scales)
    thermometers.amend(kitchen.session, kitchen.officer, probe.row.thermometer, changed, "wrong_range")
    page.read_again()
    assert shown(page, "DIGF0")[0] == "33.0"


# --- units ---------------------------------------------------------------------------------------------------


def dual(kitchen: Kitchen, page: ShiftPage, frame: Frame) -> str:
    kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="DUAL0")
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DUAL0")
    return id_of(kitchen, "DUAL0")


def test_the_unit_is_the_one_that_stands_beside_the_field(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    """Pressed before a digit, between digits, and after all are rubbed out: what is shown is what is recorded."""
    widget = page.list.rows[dual(kitchen, page, frame)]
    assert widget.unit.text() == "°F"  # type: ignore[attr-defined]
    click(widget.unit)
    assert widget.unit.text() == "°C"  # type: ignore[attr-defined]
    press("3")
    QTest.keyClick(widget.field, Qt.Key.Key_Backspace)
    assert widget.unit.text() == "°C"  # type: ignore[attr-defined]
    press("0.2")
    click(widget.unit)
    assert widget.unit.text() == "°F"  # type: ignore[attr-defined]
    click(widget.unit)
    press("0.3\n")  # the field was selected: typed anew
    assert taken(kitchen) == ["0.3 C"]


def test_repeats_are_read_in_the_unit_of_the_first(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    widget = page.list.rows[dual(kitchen, page, frame)]
    click(widget.unit)
    press("2.0\n")
    assert not widget.unit.isEnabled()
    press("2.1\n2.0\n")
    assert taken(kitchen) == ["2.0 C", "2.1 C", "2.0 C"]


def test_a_dual_dial_read_in_the_other_unit_is_asked_about(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    widget = page.list.rows[dual(kitchen, page, frame)]
    press("0.3\n")  # °F stands there, the dial shows °C
    assert taken(kitchen) == []
    assert shown(page, "DUAL0")[2].startswith("Type it again")
    click(widget.unit)
    press("0.3\n")
    assert taken(kitchen) == ["0.3 C"]


# --- keys that come twice ------------------------------------------------------------------------------------


def test_enter_held_down_records_one_reading_and_presses_no_button(page: ShiftPage, kitchen: Kitchen) -> None:
    for tag in [one.tag_id for one in page.rows.values() if one.tag_id != "DIGF0"]:
        thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, tag), "spare")
    page.read_again()
    held_enter(3)
    assert len(kitchen.entries("bath_made")) == 1
    kitchen.clock.move(minutes=4)
    press("33.0")
    held_enter(20)
    assert focused() == "The bath is good"
    assert taken(kitchen) == ["33.0 F"]
    assert kitchen.entries("bath_judged") == []
    assert kitchen.entries("shift_closed") == []


def test_record_pressed_twice_on_the_pad_leaves_half_a_row_alone(
    frame: Frame, page: ShiftPage, kitchen: Kitchen
) -> None:
    frame.resize(1024, 600)
    found = frame.page
    assert isinstance(found, ShiftPage)
    press("\n")
    kitchen.clock.move(minutes=4)
    only(kitchen, found, frame, "DIGI0")
    press("3")  # half of a reading is left standing
    only(kitchen, found, frame, "DIGF0")
    press("33.0")
    click(found.pad.record_key)
    assert focused() == "What DIGI0 shows"
    click(found.pad.record_key)
    assert taken(kitchen) == ["33.0 F"]
    assert found.keying.typed_for() == [id_of(kitchen, "DIGI0")]


def test_digits_left_standing_promise_nothing(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.0")
    assert shown(page, "DIGF0")[2].startswith("Use")
    where = QApplication.focusWidget()
    assert where is not None
    QTest.keyClick(where, Qt.Key.Key_Down)
    assert shown(page, "DIGF0")[2] == "Not recorded yet. press Enter in its field"
    assert page.foot.sentence.text() == "0 of 12 checked"


def test_an_empty_questioned_field_is_not_passed_by_enter(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("0.5\n\n\n")
    assert focused() == "What DIGF0 shows"
    press("0.6\n")  # another slip is asked about anew
    assert taken(kitchen) == []
    press("32.6\n")
    assert kitchen.last("reading_taken").payload == {
        **kitchen.last("reading_taken").payload,
        "shown": "32.6 F",
    }
    assert "asked" not in kitchen.last("reading_taken").payload


# --- a scan in the middle ------------------------------------------------------------------------------------


def test_a_scan_in_the_middle_leaves_the_digits_that_stood_there(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    kitchen.enrol(DIGITAL_F, tag_id="Q34567")
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIGF0")
    press("3")
    scan(frame, "Q34567")
    assert focused() == "What Q34567 shows"
    only(kitchen, page, frame, "DIGF0")
    assert shown(page, "DIGF0")[0] == "3"
    assert page.keying.of(page.rows[id_of(kitchen, "DIGF0")]).text == "3"


# --- site, person, window ------------------------------------------------------------------------------------


def test_half_a_row_outlives_a_visit_to_another_site(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    desk = page.desk
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length.typed("5", "m")))
    kitchen.enrol(site=other, tag_id="QUAY0", in_use_since=TUESDAY)
    in_bath(page, kitchen)
    press("33.")
    here = desk.site
    desk.site = next(one for one in desk.sites() if one.subject == other)
    desk.rebuild.emit()
    kitchen.session.clock()
    bath = frame.page
    assert isinstance(bath, ShiftPage)
    bath.bath.first_field().click()  # type: ignore[union-attr]
    frame.take_tag("QUAY0")
    press("0.2")
    desk.site = here
    desk.rebuild.emit()
    again = frame.page
    assert isinstance(again, ShiftPage)
    assert shown(again, "DIGF0")[0] == "33."


def test_what_follows_a_new_look_goes_on_in_the_same_row(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    """Dusk turns the system's theme over while somebody types: the rest of the digits belongs to the same row."""
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIAL3")
    press("-")
    page.desk.rebuild.emit()
    assert focused() == "What DIAL3 shows"
    press("1\n")
    assert taken(kitchen) == ["-1 C"]


def test_a_scanned_row_outlives_a_new_look_and_a_crash(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    in_bath(page, kitchen)
    kitchen.enrol(tag_id="EXTRA1")
    only(kitchen, page, frame, "EXTRA1")
    press("0.")
    page.desk.rebuild.emit()
    assert focused() == "What EXTRA1 shows"
    fresh = ShiftPage(page.desk)  # nothing but the drafts file knows of it
    fresh.read_again()
    assert shown(fresh, "EXTRA1")[0] == "0."
    fresh.deleteLater()


@pytest.mark.slow
def test_another_person_with_half_a_row_signs_what_they_enter(
    page: ShiftPage, kitchen: Kitchen, desk: Desk, frame: Frame
) -> None:
    in_bath(page, kitchen)
    press("33.0")
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    press("\n")
    assert taken(kitchen) == []
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    frame.take_tag("DIGF0")
    no_bounce()
    press("\n")
    assert kitchen.last("reading_taken").by == kitchen.officer.person
    assert taken(kitchen) == ["33.0 F"]


def test_two_windows_that_crashed_leave_no_draft_behind(kitchen: Kitchen, desk: Desk) -> None:
    """The second window's drafts lie in a file of their own: it is found, although the first one is free."""
    assert desk.drafts is not None
    second = WindowDrafts.open(kitchen.home)
    second.keep("shift x", {"fields": {}})
    second.close()
    desk.drafts.close()
    desk.drafts = WindowDrafts.open(kitchen.home)
    assert desk.drafts.get("shift x") == {"fields": {}}


# --- crashes and full disks ----------------------------------------------------------------------------------


@pytest.mark.slow
def test_recorded_but_not_put_away_it_is_not_recorded_again(
    page: ShiftPage, kitchen: Kitchen, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the journal and the draft the power fails: the draft is known by its id, and a repeat is no copy."""
    in_bath(page, kitchen)
    press("36.0")
    assert desk.drafts is not None
    with monkeypatch.context() as patch:
        patch.setattr(desk.drafts, "keep", _full)
        press("\n")
    assert taken(kitchen) == ["36.0 F"]
    assert "Outside so far" in shown(page, "DIGF0")[2]
    again = ShiftPage(desk)
    again.read_again()
    assert shown(again, "DIGF0")[0] == ""
    again.deleteLater()
    press("36.0\n36.0\n")
    assert taken(kitchen) == ["36.0 F"] * 3


def _full(*_: object) -> None:
    raise KnownError("disk_full")


def test_a_draft_of_another_version_does_not_keep_the_page_shut(desk: Desk, kitchen: Kitchen) -> None:
    assert desk.drafts is not None
    desk.drafts.keep(f"shift {kitchen.site}", {"fields": {"x": {"text": "1", "colour": "red"}}})
    page = ShiftPage(desk)
    page.read_again()
    assert page.keying.typed_for() == []
    page.deleteLater()


# --- adjusting -----------------------------------------------------------------------------------------------


def outside(page: ShiftPage, kitchen: Kitchen, frame: Frame, tag: str = "DIAL0") -> Adjusting:
    in_bath(page, kitchen)
    only(kitchen, page, frame, tag)
    press("3\n3\n3\n")
    page.foot.good.click()
    return part_of(page, kitchen, tag)


def part_of(page: ShiftPage, kitchen: Kitchen, tag: str) -> Adjusting:
    part = page.below.adjusting(id_of(kitchen, tag))
    assert part is not None
    return part


def test_a_reading_as_left_is_kept_like_any_other(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    outside(page, kitchen, frame).field.setFocus()
    press("0.")
    page.desk.rebuild.emit()
    again = frame.page
    assert isinstance(again, ShiftPage)
    assert focused() == "What DIAL0 shows as left"
    press("5\n")
    assert kitchen.last("adjusted").payload["as_left"] == ["0.5 C"]


@pytest.mark.slow
def test_as_left_outside_is_adjusted_again(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    outside(page, kitchen, frame).field.setFocus()
    press("2\n")
    assert shown(page, "DIAL0")[2].startswith("Adjust or do not use")
    part_of(page, kitchen, "DIAL0").field.setFocus()
    press("0\n")
    assert [one.payload["as_left"] for one in kitchen.entries("adjusted")] == [["2 C"], ["0 C"]]
    assert shown(page, "DIAL0") == (
        "3",
        "+3.0\u00a0°C",
        "Use. as left 0\u00a0°C",
    )  # what it was found at stays in sight
    rule = page.list.rows[id_of(kitchen, "DIAL0")].rule
    assert rule.accessibleDescription() == "Off by 0.0\u00a0°C"  # its mark is that of the word


@pytest.mark.slow
def test_a_mistyped_reading_as_left_is_voided_alone_and_asked_again(
    page: ShiftPage, kitchen: Kitchen, frame: Frame, answers: Answers
) -> None:
    """Voiding the check instead would leave the wrong reading as left standing, and the thermometer in use."""
    outside(page, kitchen, frame).field.setFocus()
    press("0\n")
    answers.ready = [True]
    page.list.mend_wanted.emit(id_of(kitchen, "DIAL0"))
    assert answers.asked == ["Was the reading of DIAL0 as left mistyped?"]
    assert not kitchen.check(kitchen.last("check_recorded").payload["check"]).voided
    assert kitchen.row(id_of(kitchen, "DIAL0")).service_status == "check_first"
    assert shown(page, "DIAL0")[2].startswith("Adjust or do not use")
    part_of(page, kitchen, "DIAL0").field.setFocus()
    press("1\n")
    assert [one.payload["as_left"] for one in kitchen.entries("adjusted")] == [["0 C"], ["1 C"]]


def test_adjusting_in_a_bath_condemned_since_is_refused_and_told(
    page: ShiftPage, kitchen: Kitchen, frame: Frame, desk: Desk
) -> None:
    part = outside(page, kitchen, frame)
    part.field.setFocus()
    press("0")
    assert page.view is not None
    assert page.view.bath is not None
    kitchen.judge(page.view.bath.bath, "condemned")
    told = notices(desk)
    press("\n")
    assert kitchen.entries("adjusted") == []
    assert told
    page.read_again()
    assert any("DIAL0 0 °C" in one for one in told)


def test_a_reading_as_left_that_comes_too_late_stays_in_its_field(
    page: ShiftPage, kitchen: Kitchen, frame: Frame, desk: Desk
) -> None:
    part = outside(page, kitchen, frame)
    part.field.setFocus()
    press("0")
    kitchen.clock.move(hours=2)
    press("\n")
    assert kitchen.entries("adjusted") == []
    assert part.field.text() == "0"


@pytest.mark.slow
def test_outside_in_a_bath_too_old_it_is_read_anew_in_the_next_one(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    """Without a way to read it again the only way out would be to void a fail that is true."""
    outside(page, kitchen, frame)
    kitchen.clock.move(hours=2)
    page.look_again()
    page._to_start()
    press("\n")
    widget = page.list.rows[id_of(kitchen, "DIAL0")]
    page.list.focus_on(id_of(kitchen, "DIAL0"))
    assert widget.mend.text() == "Read it after all"
    click(widget.mend)
    press("0\n")
    assert kitchen.entries("voided") == []
    check = row(kitchen, "DIAL0").check
    assert check is not None
    assert [one.text() for one in check.row.readings] == ["0 C"]


@pytest.mark.slow
def test_the_pad_writes_where_its_head_says(frame: Frame, page: ShiftPage, kitchen: Kitchen) -> None:
    """Two are to be adjusted: the digits go to the one whose field has the focus, and the head names it."""
    outside(page, kitchen, frame, "DIAL0")
    only(kitchen, page, frame, "DIAL1")
    press("3\n3\n3\n")
    frame.resize(1024, 600)
    found = frame.page
    assert isinstance(found, ShiftPage)
    part = part_of(found, kitchen, "DIAL1")
    part.field.setFocus()
    assert found.pad._tag.text() == "DIAL1"
    click(next(one for one in found.pad.findChildren(QWidget) if getattr(one, "text", str)() == "1"))
    click(found.pad.record_key)
    last = kitchen.last("adjusted")
    assert (last.subject, last.payload["as_left"]) == (id_of(kitchen, "DIAL1"), ["1 C"])


# --- instead of a reading, and the end -----------------------------------------------------------------------


def test_no_reading_is_not_said_over_digits_or_an_answer(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    press("33.0")
    page.pad.instead.emit()
    assert page.list.findChild(Instead) is None
    press("\n")
    page.list.focus_on(id_of(kitchen, "DIGF0"))
    page.pad.instead.emit()
    assert page.list.findChild(Instead) is None


def test_not_found_then_found(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    in_bath(page, kitchen)
    page.list.rows[page.list.current].instead.click()
    part = page.list.findChild(Instead)
    assert part is not None
    part.said.emit("not_checked", "not_found")
    page.list.mend_wanted.emit(id_of(kitchen, "DIGF0"))
    assert focused() == "What DIGF0 shows"
    press("33.0\n")
    assert (row(kitchen, "DIGF0").state, taken(kitchen)) == ("recorded", ["33.0 F"])


def test_the_list_is_not_closed_over_digits(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    in_bath(page, kitchen)
    press("33.0\n0.1")
    told = notices(desk)
    page.foot.end.click()
    assert told == ["Typed but not recorded: DIGI0. Press Enter in the field or rub the digits out, then finish."]
    assert focused() == "What DIGI0 shows"
    assert kitchen.entries("shift_closed") == []


@pytest.mark.slow
def test_checked_and_taken_out_counts_as_both(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    outside(page, kitchen, frame)
    thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, "DIAL0"), "outside")
    thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, "DIAL1"), "damaged")
    page.read_again()
    assert page.foot.sentence.text() == "1 of 12 checked, 2 out of use"


@pytest.mark.slow
def test_papers_that_rest_on_a_voided_check_are_named(
    page: ShiftPage, frame: Frame, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: object
) -> None:
    in_bath(page, kitchen)
    press("33.0\n")
    page.foot.good.click()
    page.foot.print.click()
    assert isinstance(frame.page, TagsPage)
    answers.ready = [tmp_path / "tags.pdf", True]  # type: ignore[operator]
    frame.page.save_button.click()
    frame.go("shift")
    told = notices(desk)
    page.list.mend_wanted.emit(id_of(kitchen, "DIGF0"))
    tag = kitchen.last("tag_printed").number
    assert told == [f"Numbers {tag} rested on it: take back what is printed, and read again."]


def test_a_lead_voids_the_own_reading_of_today_and_nobody_elses(
    page: ShiftPage, kitchen: Kitchen, desk: Desk, frame: Frame, answers: Answers
) -> None:
    outside(page, kitchen, frame)
    added = people.add_person(kitchen.session, kitchen.admin, "Mia Roth", "MR", ("lead",))
    desk.actor = type(kitchen.lead)(added, kitchen.lead.roles)
    answers.ready = [True, True]
    page.list.mend_wanted.emit(id_of(kitchen, "DIAL0"))
    assert kitchen.entries("voided") == []
    desk.actor = kitchen.lead
    page.list.mend_wanted.emit(id_of(kitchen, "DIAL0"))
    assert len(kitchen.entries("voided")) == 1
    # A voided fail is no reason to trust it, and the row says so until it is read again.
    assert kitchen.row(id_of(kitchen, "DIAL0")).service_status == "check_first"
    assert shown(page, "DIAL0")[2].startswith("Check first")


# --- comparison ----------------------------------------------------------------------------------------------


@pytest.fixture
def flask(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> str:
    """Two digitals that passed today, in a flask at 0 °C beside which the others are read."""
    for tag in ("DIGI0", "DIGI1"):
        kitchen.checked(id_of(kitchen, tag), "0.0 C")
    bath = kitchen.flask((id_of(kitchen, "DIGI0"), "62.0 C"), (id_of(kitchen, "DIGI1"), "62.0 C"))
    kitchen.clock.move(minutes=3)
    page.read_again()
    return bath


def test_a_reference_read_too_long_ago_judges_nothing(
    page: ShiftPage, kitchen: Kitchen, flask: str, frame: Frame
) -> None:
    only(kitchen, page, frame, "DIGI2")
    press("62.0")
    assert shown(page, "DIGI2")[1] == ""  # no provisional answer by water that has cooled
    press("\n")
    assert taken(kitchen) == ["0.0 C", "0.0 C"]
    assert focused() == "DIGI0 shows now"
    press("60.0\n60.1\n")
    assert focused() == "What DIGI2 shows"
    assert shown(page, "DIGI2")[1] != ""
    press("62.0\n")
    found = kitchen.last("reading_taken").payload
    assert found["shown"] == "62.0 C"
    assert [one["shown"] for one in found["beside"]] == ["60.0 C", "60.1 C"]


def test_one_fresh_reference_does_not_freshen_the_other(page: ShiftPage, kitchen: Kitchen, flask: str) -> None:
    first, second = (field for _, _, field in page.beside._fields)
    first.setFocus()
    press("62.0\n61.9\n")
    assert len(page.beside.pairs()) == 2
    kitchen.clock.move(minutes=3)
    second.setFocus()
    second.selectAll()
    press("60.0")
    assert page.beside.pairs() == ()


def test_an_incident_meanwhile_shows_in_its_row(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, id_of(kitchen, "DIGI0"), "dropped")
    kitchen.clock.move(minutes=6)
    page.look_again()
    assert shown(page, "DIGI0")[2].startswith("Check first")


def test_dropped_after_a_good_check_its_row_asks_for_another(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    assert page.view is not None
    assert page.view.bath is not None
    by_another(kitchen, page, "DIGI0", "0.1 C")
    kitchen.judge(page.view.bath.bath)
    page.read_again()
    assert shown(page, "DIGI0")[2].startswith("Use")
    incidents.report_incident(kitchen.session, kitchen.lead, id_of(kitchen, "DIGI0"), "dropped")
    page.read_again()
    field, _, answer = shown(page, "DIGI0")
    assert (field, answer.startswith("Check first. Dropped")) == ("", True)
    assert "DIGI0" in page.foot.to_go.text()
    by_another(kitchen, page, "DIGI0", "0.1 C")
    page.read_again()
    assert shown(page, "DIGI0")[2].startswith("Use")


def test_good_at_one_point_and_failed_at_another_is_not_to_be_used(page: ShiftPage, kitchen: Kitchen) -> None:
    kitchen.checked(id_of(kitchen, "DIAL0"), "3 C", "3 C", "3 C")
    boil = kitchen.boil()
    kitchen.key(boil, id_of(kitchen, "DIAL0"), "100 C")
    page.read_again()
    assert shown(page, "DIAL0")[2] == "Adjust or do not use. Fail at the ice point"
    kitchen.judge(boil)
    page.read_again()
    assert shown(page, "DIAL0")[2] == "Adjust or do not use. Fail at the ice point"


def test_failed_at_another_point_in_an_earlier_shift_it_is_checked_first(page: ShiftPage, kitchen: Kitchen) -> None:
    kitchen.checked(id_of(kitchen, "DIAL0"), "3 C", "3 C", "3 C")
    kitchen.clock.move(days=1)
    boil = kitchen.boil()
    kitchen.key(boil, id_of(kitchen, "DIAL0"), "100 C")
    kitchen.judge(boil)
    page.read_again()
    assert shown(page, "DIAL0")[2] == "Check first. failed at another point"


def test_no_range_stands_there_that_is_wrong_for_some(page: ShiftPage, kitchen: Kitchen) -> None:
    """±1 °C and ±2 °F (FDA Food Code 2022, 4-203.11): one with both scales is judged in °C, 1.8 °F."""
    kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="DUAL0")
    kitchen.ice()
    page.read_again()
    told = [one.text() for one in page.bath.findChildren(Words)]
    assert "must read −1.0 to 1.0 °C" in told
    assert "DUAL0: 30.2 to 33.8\u00a0°F" in told
    assert "the others: 30.0 to 34.0\u00a0°F" in told
    assert not any(one.startswith("must read 30") for one in told)


def test_a_repeat_far_from_the_first_is_asked_about_and_taken_when_typed_again(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIGI0")
    press("14.0\n")
    press("0.1\n")
    assert page.now.problems[id_of(kitchen, "DIGI0")] == (
        "14.0\u00a0°C and 0.1\u00a0°C are far apart; was one of them mistyped? "
        "Look at it and type the reading once more."
    )
    press("\n\n")
    assert taken(kitchen) == ["14.0 C"]
    press("0.1\n")
    assert taken(kitchen) == ["14.0 C", "0.1 C"]
    press("0.1\n")
    assert len(kitchen.entries("check_recorded")) == 1


def test_a_reading_far_from_the_bath_is_asked_about_and_taken_when_typed_again(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIGI0")
    press("50.0\n")
    assert page.now.problems[id_of(kitchen, "DIGI0")].startswith("50.0\u00a0°C is far from what it should show here;")
    press("\n\n")
    assert taken(kitchen) == []
    press("50.0\n")
    assert kitchen.last("reading_taken").payload["asked"] == ["other_unit"]


def test_what_was_typed_is_echoed_as_people_there_write_it(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    in_bath(page, kitchen)
    desk.group = replace(desk.group, region="de_DE")
    press("32,25\n")
    assert page.now.problems[id_of(kitchen, "DIGF0")].startswith("32,25\u00a0°F has finer digits")


def test_the_unit_of_a_reference_with_two_is_never_guessed(page: ShiftPage, kitchen: Kitchen) -> None:
    kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="DUAL0")
    kitchen.checked(id_of(kitchen, "DUAL0"), "0.0 C")
    kitchen.checked(id_of(kitchen, "DIGI0"), "0.0 C")
    page.make_another()
    making = page.bath.findChild(QWidget, "making")
    assert making is not None
    making._choose("comparison")  # type: ignore[attr-defined]
    values = {"tag": "DUAL0", "shows": "62.0", "tag_2": "DIGI0", "shows_2": "62.0"}
    making._form.fill(values)  # type: ignore[attr-defined]
    before = len(kitchen.entries("bath_made"))
    making.make()  # type: ignore[attr-defined]
    assert len(kitchen.entries("bath_made")) == before
    making._form.fill({"shows": "62.0 C"})  # type: ignore[attr-defined]
    making.make()  # type: ignore[attr-defined]
    assert [one["shown"] for one in kitchen.last("bath_made").payload["beside"]] == ["62.0 C", "62.0 C"]


# --- the band ------------------------------------------------------------------------------------------------


def test_the_warning_counts_what_others_read(page: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(page, kitchen)
    for tag, reading in (("DIGI0", "0.9 C"), ("DIGI1", "0.8 C"), ("DIGI2", "0.9 C")):
        by_another(kitchen, page, tag, reading)
    assert page.band.count() == 0
    press("32.0\n")
    assert page.band.count() == 1
    assert not page.foot.good.isVisible()


def test_a_bath_in_doubt_is_not_called_good_in_passing(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    """Neither by finishing the list nor by making another: the lead says so, with the reason."""
    in_bath(page, kitchen)
    press("33.6\n0.9\n0.9\n")
    told = notices(desk)
    page.foot.end.click()
    page.judging.ask_for_another()
    assert told == ["The bath is in doubt: say first whether it is remade or good all the same."] * 2
    assert {one.payload["judged"] for one in kitchen.entries("bath_judged")} == {"suspect"}
    assert kitchen.entries("shift_closed") == []


def test_judged_while_a_check_waits_for_its_repeats(page: ShiftPage, kitchen: Kitchen, frame: Frame) -> None:
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIAL0")
    press("3\n")
    page.foot.good.click()
    assert shown(page, "DIAL0")[2].startswith("Outside so far")
    page.list.focus_on(id_of(kitchen, "DIAL0"))
    press("3\n3\n")
    assert shown(page, "DIAL0")[2].startswith("Adjust or do not use")
    assert kitchen.row(id_of(kitchen, "DIAL0")).service_status == "check_first"


def test_repeats_are_not_said_to_have_been_in_since_the_bath_was_made(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(page, kitchen)
    only(kitchen, page, frame, "DIAL0")
    press("3\n3\n3\n")
    put_in = [one.payload.get("put_in_at") for one in kitchen.entries("reading_taken")]
    assert put_in[0] is not None
    assert put_in[1:] == [None, None]


def test_the_shift_ends_while_somebody_types(page: ShiftPage, kitchen: Kitchen) -> None:
    """The reading is recorded once, by its bath; the list then is the next shift's."""
    kitchen.clock.move(hours=18, minutes=15)  # 23:45 local
    page.look_again()
    in_bath(page, kitchen)
    press("33.0")
    kitchen.clock.move(minutes=30)
    press("\n")
    assert taken(kitchen) == ["33.0 F"]
    assert len(kitchen.entries("check_recorded")) == 1
