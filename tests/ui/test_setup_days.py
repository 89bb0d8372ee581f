"""Set-up: closed days, the smallest working set, quiet hours and the calendar file."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from icalendar import Calendar
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from registry.records.places import CalendarSet
from registry.services import calendars, notices, places, settings, thermometers
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers
from tests.ui.test_setup import buttons_in, press, problems_in, type_in, words_in
from tests.ui.test_setup import show as show
from tests.ui.test_shift_safety import id_of
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Button
from ui.setup.page import SetupPage
from ui.setup.shifts import ShiftsPart
from ui.setup.sites import SitesPart
from ui.setup.window import PaperPart, WindowPart

ENTER = Qt.Key.Key_Return
Show = Callable[..., SetupPage]


def shifts(show: Show, role: str = "officer") -> ShiftsPart:
    part = show("shifts", role).part
    assert isinstance(part, ShiftsPart)
    return part


def sites(show: Show, role: str = "officer") -> SitesPart:
    part = show("sites", role).part
    assert isinstance(part, SitesPart)
    return part


def named(part: ShiftsPart | SitesPart, name: str) -> Button:
    (found,) = [one for one in part.findChildren(Button) if one.accessibleName() == name and not one.isHidden()]
    return found


def to_come(kitchen: Kitchen) -> list[CalendarSet]:
    with kitchen.session.reading() as connection:
        return calendars.to_come(connection, kitchen.site, date(2026, 3, 3))


# --- closed days ---------------------------------------------------------------------------------------------


def test_closed_days_are_said_by_keys_alone(show: Show, kitchen: Kitchen) -> None:
    part = shifts(show)
    assert "No closed days to come." in words_in(part)
    button = named(part, "State closed days: Pier")
    button.setFocus()
    QTest.keyClick(button, ENTER)
    assert QApplication.focusWidget() is part.form.form.input("from_day")
    type_in(part.form.form, from_day="2026-12-24", to_day="2026-12-26")
    for _ in range(4):  # through what, kind and why, each as it stands
        QTest.keyClick(QApplication.focusWidget(), ENTER)
    part.form.button.setFocus()
    QTest.keyClick(part.form.button, ENTER)
    (found,) = to_come(kitchen)
    assert (found.from_day, found.to_day, found.calendar_kind, found.why) == (
        "2026-12-24",
        "2026-12-26",
        "closed",
        "holiday",
    )
    assert (found.shifts, found.stations) == (None, None)
    assert "December\u00a024, 2026 to December\u00a026, 2026" in words_in(part)
    assert {"The whole site: closed", "Holiday"} <= set(words_in(part))


def test_one_station_or_one_shift_alone(show: Show, kitchen: Kitchen) -> None:
    part = shifts(show)
    with kitchen.session.reading() as connection:
        grill = places.station_named(connection, kitchen.site, "Grill").subject
        (whole,) = [one.subject for one in places.shifts(connection, kitchen.site)]
    for what, kind in ((f"station {grill}", "closed"), (f"shift {whole}", "open")):
        press(named(part, "State closed days: Pier"))
        type_in(part.form.form, from_day="2026-03-05", to_day="2026-03-05", what=what, kind=kind, why="works")
        press(part.form.button)
    assert {(one.stations, one.shifts) for one in to_come(kitchen)} == {((grill,), None), (None, (whole,))}
    assert {"Grill: closed", "Whole day: open all the same", "March\u00a05, 2026"} <= set(words_in(part))


def test_days_that_cannot_be_are_said_beside_their_field_and_a_second_press_says_nothing_more(
    show: Show, kitchen: Kitchen
) -> None:
    part = shifts(show)
    press(named(part, "State closed days: Pier"))
    before = kitchen.count()
    type_in(part.form.form, from_day="2026-12-26", to_day="2026-12-24")
    press(part.form.button)
    assert problems_in(part.form.form) == ["The last day lies before the first: look at both."]
    assert kitchen.count() == before
    type_in(part.form.form, to_day="2026-12-26")
    form = part.form
    form.do()
    part.begin_closing(part._sites[0])
    part.leave()
    assert kitchen.count() == before + 1
    assert part.closing is None


def test_they_are_withdrawn_after_a_question(show: Show, kitchen: Kitchen, answers: Answers) -> None:
    calendars.state(kitchen.session, kitchen.officer, kitchen.site, date(2026, 12, 24), date(2026, 12, 24))
    part = shifts(show)
    days = "December\u00a024, 2026, The whole site: closed"
    answers.ready = [False, True]
    press(named(part, f"Withdraw: {days}"))
    assert len(to_come(kitchen)) == 1
    press(named(part, f"Withdraw: {days}"))
    assert answers.asked == [f"Withdraw these days: {days}?"] * 2
    assert to_come(kitchen) == []
    assert "No closed days to come." in words_in(part)


@pytest.mark.parametrize("role", ["lead", "auditor"])
def test_who_may_not_change_them_sees_them(show: Show, kitchen: Kitchen, role: str) -> None:
    calendars.state(kitchen.session, kitchen.officer, kitchen.site, date(2026, 12, 24), date(2026, 12, 24))
    part = shifts(show, role)
    assert "The whole site: closed" in words_in(part)
    assert part.findChildren(Button) == []


# --- the smallest working set --------------------------------------------------------------------------------


def test_what_a_station_needs_is_said_and_taken_back(show: Show, kitchen: Kitchen) -> None:
    part = sites(show)
    assert "Nothing said" in words_in(part)
    press(named(part, "How many are needed at least: Pier"))
    with kitchen.session.reading() as connection:
        grill = places.station_named(connection, kitchen.site, "Grill").subject
    for typed in ("", "two", "100", "-1"):
        type_in(part.form.form, station=grill, type="thermistor_probe", smallest=typed)
        press(part.form.button)
        assert len(problems_in(part.form.form)) == 1
    type_in(part.form.form, smallest="2")
    press(part.form.button)
    assert part.doing == ""
    assert "Grill: 2 of Thermistor probe" in words_in(part)
    press(named(part, "How many are needed at least: Pier"))
    assert "Grill: 2 of Thermistor probe" in words_in(part)
    type_in(part.form.form, station=grill, type="thermistor_probe", smallest="0")
    press(part.form.button)
    assert "Nothing said" in words_in(part)


def test_where_too_few_remain_stands_under_the_site(show: Show, kitchen: Kitchen) -> None:
    part = sites(show)
    press(named(part, "How many are needed at least: Pier"))
    with kitchen.session.reading() as connection:
        grill = places.station_named(connection, kitchen.site, "Grill").subject
    type_in(part.form.form, station=grill, type="thermistor_probe", smallest="3")
    press(part.form.button)
    assert not any("usable left" in one for one in words_in(part))
    thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, "DIGI0"), "spare")
    part.read_again()
    assert "Pier, Grill: 2 usable left of Thermistor probe; at least 3 needed." in words_in(part)


# --- quiet hours ---------------------------------------------------------------------------------------------


def test_quiet_hours_are_kept_on_this_computer(show: Show, desk: Desk, kitchen: Kitchen, frame: Frame) -> None:
    part = show("window", "lead").part
    assert isinstance(part, WindowPart)
    form, before = part.quiet.form, kitchen.count()
    assert form.values() == {"quiet_from": "21:00", "quiet_to": "05:00"}
    type_in(form, quiet_from="22.30", quiet_to="6:00")
    QTest.keyClick(QApplication.focusWidget(), ENTER)
    assert notices.quiet_hours(desk.local) == "22:30-06:00"
    assert frame.notice.sentence.text() == "Quiet hours: 22:30-06:00."
    type_in(part.quiet.form, quiet_from="", quiet_to="")
    press(part.quiet.button)
    assert notices.quiet_hours(desk.local) == "none"
    assert part.quiet.form.values() == {"quiet_from": "", "quiet_to": ""}
    assert kitchen.count() == before


def test_what_are_no_quiet_hours_is_said_beside_the_field(show: Show, desk: Desk) -> None:
    part = show("window", "lead").part
    assert isinstance(part, WindowPart)
    for begins, ends, count in (("25:00", "06:00", 1), ("22:00", "", 1), ("", "06:00", 1), ("22:00", "night", 1)):
        type_in(part.quiet.form, quiet_from=begins, quiet_to=ends)
        press(part.quiet.button)
        assert len(problems_in(part.quiet.form)) == count
    assert notices.quiet_hours(desk.local) == notices.USUAL_QUIET


def test_quiet_hours_stand_in_the_part_of_the_window_alone(show: Show) -> None:
    part = show("paper", "lead").part
    assert isinstance(part, PaperPart)
    assert not hasattr(part, "quiet")


# --- the calendar file ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["officer", "auditor"])
def test_the_calendar_of_a_site_is_saved(
    show: Show, kitchen: Kitchen, answers: Answers, tmp_path: Path, frame: Frame, role: str
) -> None:
    part = sites(show, role)
    file, before = tmp_path / "pier.ics", kitchen.count()
    answers.ready = [file]
    press(named(part, "Save calendar file: Pier"))
    assert answers.asked == ["Save calendar file"]
    assert list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))
    assert frame.notice.sentence.text() == f"Saved: {file}"
    assert kitchen.count() == before
    answers.ready = [None]  # not now; another press asks again
    press(named(part, "Save calendar file: Pier"))
    assert "Save calendar file" in buttons_in(part)


def test_it_is_in_the_language_of_the_window(show: Show, desk: Desk, answers: Answers, tmp_path: Path) -> None:
    settings.choose(desk.local, "language", "es")
    desk.rebuild.emit()
    file = tmp_path / "pier.ics"
    answers.ready = [file]
    press(named(sites(show), "Guardar archivo de calendario: Pier"))
    assert "por comprobar" in file.read_text("utf-8").replace("\r\n ", "")
