"""Set-up: each part shows what stands, records what is changed, and says why not to who may not."""

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from registry.records.places import ShiftSet
from registry.services import people, pins, places, set_up, settings, thermometers, upkeep
from registry.services.people import Person
from registry.services.problems import Refused
from registry.services.rules import RulesInForce, rules_in_force
from registry.services.session import open_session
from tests.services.kitchen import Kitchen
from tests.services.sheets import xlsx
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.forms import Form
from ui.frame import Frame
from ui.parts import Button, Choice, Words
from ui.setup.carrying import CarryOn
from ui.setup.copies import CopiesPart
from ui.setup.importing import ImportPart
from ui.setup.inline import Inline
from ui.setup.page import PARTS, SetupPage
from ui.setup.people import PeoplePart
from ui.setup.record import RecordPart
from ui.setup.rules import RulesPart
from ui.setup.shifts import ShiftsPart
from ui.setup.sites import SitesPart
from ui.setup.window import WindowPart
from ui.work import Job

ENTER = Qt.Key.Key_Return


@pytest.fixture
def show(desk: Desk, kitchen: Kitchen, frame: Frame) -> Callable[..., SetupPage]:
    """Go to a part of Set-up as somebody of a role."""

    def shown(part: str, role: str = "admin") -> SetupPage:
        sit_down(desk, kitchen, role)
        frame.go("setup", part)
        assert isinstance(frame.page, SetupPage)
        return frame.page

    return shown


def press(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def type_in(form: Form, **typed: str) -> None:
    for name, value in typed.items():
        made = form.input(name)
        if isinstance(made, QLineEdit):
            made.setFocus()
            made.clear()
            QTest.keyClicks(made, value)
        else:
            form.fill({name: value})


def problems_in(form: Form) -> list[str]:
    return [one.text() for one in form._problems.values() if not one.isHidden()]


def words_in(page: QWidget) -> list[str]:
    return [one.text() for one in page.findChildren(Words) if not one.isHidden()]


def buttons_in(page: QWidget) -> list[str]:
    return [one.text() for one in page.findChildren(Button) if not one.isHidden()]


def in_force(kitchen: Kitchen) -> RulesInForce:
    with kitchen.session.reading() as connection:
        return rules_in_force(connection)


def person(kitchen: Kitchen, who: str) -> Person:
    with kitchen.session.reading() as connection:
        return next(one for one in people.people(connection) if one.person == who)


# --- all parts -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", list(PARTS))
def test_every_part_is_shown_under_its_own_title(show: Callable[..., SetupPage], part: str) -> None:
    page = show(part)
    assert (page.shown, type(page.part)) == (part, PARTS[part])
    assert page._buttons[part].isChecked()
    assert page._title.text() == page.desk.say(f"setup.title.{part}")


@pytest.mark.parametrize("part", ["sites", "shifts", "people", "rules", "copies", "import"])
def test_an_auditor_sees_why_nothing_can_be_changed(
    show: Callable[..., SetupPage], kitchen: Kitchen, part: str
) -> None:
    before = kitchen.count()
    page = show(part, "auditor")
    assert page.part is not None
    assert any(one.startswith("You can look; to change it takes one of these roles:") for one in words_in(page.part))
    assert page.part.findChildren(Inline) == []
    shown = f"Show all {len(in_force(kitchen).limits.limits)} temperatures"
    assert set(buttons_in(page.part)) <= {"Open", shown, "When one is off: what we do", "Save calendar file"}
    assert kitchen.count() == before


def test_in_a_small_window_the_parts_are_a_list_above(show: Callable[..., SetupPage], frame: Frame) -> None:
    show("rules")
    frame.resize(1024, 600)
    page = frame.page
    assert isinstance(page, SetupPage)
    assert (page.shown, page._box.currentData()) == ("rules", "rules")
    page._box.setFocus()
    QTest.keyClick(page._box, Qt.Key.Key_Home)
    page._box.activated.emit(page._box.currentIndex())
    assert isinstance(page.part, WindowPart)


def test_arrow_keys_go_from_part_to_part(show: Callable[..., SetupPage]) -> None:
    page = show("window")
    page._buttons["window"].setFocus()
    QTest.keyClick(page._buttons["window"], Qt.Key.Key_Down)
    assert page._buttons["sites"].hasFocus()


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize("part", list(PARTS))
def test_no_part_is_wider_than_the_window_at_200_percent(
    show: Callable[..., SetupPage], desk: Desk, frame: Frame, part: str, qtbot: QtBot
) -> None:
    settings.choose(desk.local, "language", "es")
    settings.choose(desk.local, "text_size", "200")
    show(part)
    desk.rebuild.emit()
    frame.resize(1279, 800)  # the window says anew how wide it is
    page = frame.page
    assert isinstance(page, SetupPage)
    assert page.part is not None
    qtbot.waitUntil(page.part.isVisible)
    assert page._title.font().pixelSize() == 52
    assert page._scroll.widget().minimumSizeHint().width() <= page._scroll.viewport().width()


# --- this window ---------------------------------------------------------------------------------------------


def test_a_setting_takes_effect_at_once_and_keeps_the_focus(
    show: Callable[..., SetupPage], desk: Desk, frame: Frame
) -> None:
    part = show("window").part
    assert isinstance(part, WindowPart)
    choice = part.form.input("language")
    assert isinstance(choice, Choice)
    press(choice.button("es"))
    assert desk.setting("language") == "es"
    page = frame.page
    assert isinstance(page, SetupPage)
    assert page._title.text() == "Cómo se ve y habla esta ventana"
    assert isinstance(page.part, WindowPart)
    again = page.part.form.input("language")
    assert isinstance(again, Choice)
    assert again.button("es").hasFocus()


def test_every_declared_setting_has_its_row(show: Callable[..., SetupPage]) -> None:
    found: set[str] = set()
    for name in ("window", "paper"):
        part = show(name).part
        assert isinstance(part, WindowPart)
        found |= set(part.form.values())
    assert found == set(settings.SETTINGS)


def test_paper_is_chosen_for_this_computer(show: Callable[..., SetupPage], desk: Desk) -> None:
    part = show("paper", "lead").part
    assert isinstance(part, WindowPart)
    choice = part.form.input("paper")
    assert isinstance(choice, Choice)
    press(choice.button("a4"))
    assert desk.setting("paper") == "a4"


# --- sites, stations, shifts ---------------------------------------------------------------------------------


def test_a_site_is_added_once(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("sites").part
    assert isinstance(part, SitesPart)
    press(part.add)
    type_in(part.form.form, name="Dock", letters="dk", elevation="1200", elevation_unit="ft")
    form, before = part.form, kitchen.count()
    form.do()
    form.do()  # a second press
    assert kitchen.count() == before + 1
    with kitchen.session.reading() as connection:
        dock = places.site_named(connection, "DK").payload
    assert (dock.name, dock.elevation, dock.pressure_source) == ("Dock", "1200 ft", "elevation")


def test_a_site_that_is_refused_says_so_beside_its_fields(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("sites").part
    assert isinstance(part, SitesPart)
    press(part.add)
    type_in(part.form.form, name="Pier", letters="PR", elevation="20000")
    before = kitchen.count()
    press(part.form.button)
    assert kitchen.count() == before
    assert len(problems_in(part.form.form)) == 3  # name and letters are taken, and no kitchen is so high
    assert part.form.form.values()["elevation"] == "20000"


def test_a_changed_site_shows_in_the_column(show: Callable[..., SetupPage], desk: Desk, kitchen: Kitchen) -> None:
    part = show("sites").part
    assert isinstance(part, SitesPart)
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
    part.begin("change", site)
    type_in(part.form.form, name="Long Pier", pressure_source="weather_report")
    press(part.form.button)
    assert (desk.site.payload.name, desk.site.payload.pressure_source) == ("Long Pier", "weather_report")
    assert desk.site.payload.elevation == "120 m"


def test_a_sites_address_is_asked_shown_and_kept_as_one_line(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("sites").part
    assert isinstance(part, SitesPart)
    press(part.add)
    type_in(part.form.form, name="Dock", letters="dk", elevation="12", address=" 4 Dock Road,\n\nOstvik ")
    press(part.form.button)
    assert "4 Dock Road, Ostvik" in words_in(part)
    with kitchen.session.reading() as connection:
        dock = places.site_named(connection, "DK")
    assert dock.payload.address == "4 Dock Road, Ostvik"
    part.begin("change", dock)
    assert part.form.form.values()["address"] == "4 Dock Road, Ostvik"
    type_in(part.form.form, name="East Dock")
    press(part.form.button)
    with kitchen.session.reading() as connection:
        dock = places.site_named(connection, "DK")
    assert (dock.payload.name, dock.payload.address) == ("East Dock", "4 Dock Road, Ostvik")
    part.begin("change", dock)
    type_in(part.form.form, address="")
    press(part.form.button)
    with kitchen.session.reading() as connection:
        assert places.site_named(connection, "DK").payload.address is None


def test_a_station_is_added_by_keys_alone(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("sites").part
    assert isinstance(part, SitesPart)
    with kitchen.session.reading() as connection:
        part.begin("station", places.site_named_by_id(connection, kitchen.site))
    QTest.keyClicks(QApplication.focusWidget(), "Cold room")
    QTest.keyClick(QApplication.focusWidget(), ENTER)
    with kitchen.session.reading() as connection:
        assert "Cold room" in [one.payload.name for one in places.stations(connection, kitchen.site)]
    assert part.doing == ""


def test_a_shift_over_midnight_on_some_days(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("shifts").part
    assert isinstance(part, ShiftsPart)
    press(part.add)
    type_in(part.form.form, shift="Night", start="22.00", end="6:00", from_day="2026-04-01")
    for n in range(5):
        part.days.boxes[n].setChecked(False)
    press(part.form.button)
    with kitchen.session.reading() as connection:
        night = places.shift_named(connection, kitchen.site, "Night").payload
    assert (night.start, night.end, night.weekdays, night.from_day) == ("22:00", "06:00", (5, 6), "2026-04-01")


def test_a_shift_on_no_day_is_refused_beside_the_days(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("shifts").part
    assert isinstance(part, ShiftsPart)
    press(part.add)
    type_in(part.form.form, shift="Never", start="6", end="14:00")
    part.days.choose(())
    before = kitchen.count()
    press(part.form.button)
    assert kitchen.count() == before
    assert not part.days._problem.isHidden()
    assert problems_in(part.form.form) == ["6 is not a time of day: type it as 14:30."]


# --- people --------------------------------------------------------------------------------------------------


def test_a_person_is_added_with_roles(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    press(part.add)
    type_in(part.form.form, name="Rosa Vela", initials="RV", role_lead="yes", role_officer="yes")
    press(part.form.button)
    with kitchen.session.reading() as connection:
        rosa = people.find_person(connection, "RV")
    assert (rosa.name, set(rosa.roles)) == ("Rosa Vela", {"lead", "officer"})


def test_an_officer_is_not_offered_to_make_an_administrator(show: Callable[..., SetupPage]) -> None:
    part = show("people", "officer").part
    assert isinstance(part, PeoplePart)
    press(part.add)
    assert "role_administrator" not in part.form.form.values()


def test_training_is_recorded_and_listed(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    type_in(part.shown.training.form, kind="Ice point", day="2026-03-02")
    press(part.shown.training.button)
    with kitchen.session.reading() as connection:
        found = set_up.trainings(connection, kitchen.lead.person)
    assert [(one.kind, one.day, one.until) for one in found] == [("ice_point", date(2026, 3, 2), None)]
    assert "Ice point" in words_in(part)


@pytest.mark.slow
def test_a_pin_is_typed_twice(show: Callable[..., SetupPage], desk: Desk, kitchen: Kitchen) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    type_in(part.shown.pin.form, pin="2580", again="2581")
    press(part.shown.pin.button)
    assert problems_in(part.shown.pin.form) == ["The two PINs differ: type both again."]
    assert not pins.has_pin(desk.local, kitchen.lead.person)
    type_in(part.shown.pin.form, again="2580")
    press(part.shown.pin.button)
    pins.check_pin(desk.local, kitchen.lead.person, "2580")
    with pytest.raises(Refused):
        pins.check_pin(desk.local, kitchen.lead.person, "2581")


def test_a_lead_sets_only_the_own_pin(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people", "lead").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.officer.person)
    assert part.findChildren(Inline) == []
    part.open(kitchen.lead.person)
    assert [one for one in part.findChildren(Inline) if not one.isHidden()] == [part.shown.pin]


def test_who_has_left_stands_apart(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    type_in(part.shown.leaving.form, day="2026-03-03")
    press(part.shown.leaving.button)
    assert person(kitchen, kitchen.lead.person).left == "2026-03-03"
    press(part.back)
    assert "Not working here now" in words_in(part)


def test_the_last_administrator_stays(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.admin.person)
    press(part.shown.leaving.button)
    assert person(kitchen, kitchen.admin.person).left is None
    assert "Somebody has to administer this registry: make another administrator first." in words_in(part)


def test_a_name_is_erased_only_when_one_is_sure(
    show: Callable[..., SetupPage], kitchen: Kitchen, answers: Answers
) -> None:
    part = show("people").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    answers.ready = [False, True]
    press(part.shown.erase)
    assert person(kitchen, kitchen.lead.person).name == "Leo Quist"
    press(part.shown.erase)
    assert person(kitchen, kitchen.lead.person).name == ""
    assert kitchen.verify().good


# --- rules ---------------------------------------------------------------------------------------------------


def test_rules_name_their_sources(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("rules", "lead").part
    assert isinstance(part, RulesPart)
    words = words_in(part)
    assert "Local codes come first." in words
    assert "FDA Food Code 2022" in words
    assert any("4-203.11(A)" in one for one in words)
    part.show_limits()
    assert len([one for one in words_in(part) if one.startswith(("at least", "at most"))]) == len(
        in_force(kitchen).limits.limits
    )


def test_an_own_limit_counts_from_its_day(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("rules").part
    assert isinstance(part, RulesPart)
    type_in(part.own.form, scale="C", tolerance="2,5", since="2026-03-05")
    press(part.own.button)
    found = in_force(kitchen)
    own = found.tolerance("owner", "C")
    assert own is not None
    assert (own.tolerance, found.tolerances.since) == ("2.5 dC", "2026-03-05")


def test_an_own_limit_that_is_no_number_stays_to_be_mended(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("rules").part
    assert isinstance(part, RulesPart)
    type_in(part.own.form, tolerance="two")
    before = kitchen.count()
    press(part.own.button)
    assert problems_in(part.own.form) == ["two is not a number: type digits with one point or comma, such as 0.5."]
    assert kitchen.count() == before


def test_decision_and_plan_are_chosen(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("rules", "officer").part
    assert isinstance(part, RulesPart)
    type_in(part.decision.form, decision="four_outcomes")
    press(part.decision.button)
    type_in(part.plan_section.shipped.form, plan="risk_based")
    press(part.plan_section.shipped.button)
    found = in_force(kitchen)
    assert (found.rule.decision, found.plan.plan) == ("four_outcomes", "risk_based")


def test_hours_a_year_are_those_of_the_thermometers_in_use(show: Callable[..., SetupPage]) -> None:
    part = show("rules").part
    assert isinstance(part, RulesPart)
    # by hand: twelve in use, one shift every day, 40 s each: 12 x 365.25 x 40 s = 48.7 h
    assert "Each shift, for what is used in it: about 49 hours a year." in words_in(part)
    # six dials daily, six digitals weekly: (6 x 365.25 + 6 x 52.18) x 40 s = 27.8 h
    assert any(one.startswith("By risk: ") and one.endswith(": about 28 hours a year.") for one in words_in(part))


# --- changed later ---------------------------------------------------------------------------------------------


def shift_of(kitchen: Kitchen) -> ShiftSet:
    with kitchen.session.reading() as connection:
        (found,) = places.shifts(connection, kitchen.site)
    return found.payload


def test_a_shift_is_changed_by_keys_alone(show: Callable[..., SetupPage], kitchen: Kitchen, qtbot: QtBot) -> None:
    part = show("shifts", "officer").part
    assert isinstance(part, ShiftsPart)
    before = shift_of(kitchen)
    (change,) = [one for one in part.findChildren(Button) if one.accessibleName() == "Change Whole day"]
    change.setFocus()
    QTest.keyClick(change, ENTER)
    name = part.form.form.input("shift")
    assert isinstance(name, QLineEdit)
    assert (name.text(), part.days.chosen()) == ("Whole day", tuple(range(7)))
    type_in(part.form.form, shift="Daytime", start="6:30", end="2200")
    part.days.boxes[6].setChecked(False)
    part.form.button.setFocus()
    QTest.keyClick(part.form.button, ENTER)
    now = shift_of(kitchen)
    assert (now.name, now.start, now.end, now.weekdays) == ("Daytime", "06:30", "22:00", tuple(range(6)))
    assert (now.shift, now.from_day) == (before.shift, before.from_day)
    assert "Daytime" in words_in(part)


def test_what_is_wrong_with_a_changed_shift_is_said_beside_it(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("shifts", "officer").part
    assert isinstance(part, ShiftsPart)
    part.change(shift_of(kitchen).shift)
    before = kitchen.count()
    type_in(part.form.form, start="25:00")
    part.days.choose([])
    press(part.form.button)
    assert problems_in(part.form.form) == ["25:00 is not a time of day: type it as 14:30."]
    assert not part.days._problem.isHidden()
    assert kitchen.count() == before


def test_a_shift_is_ended_and_taken_up_again(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("shifts", "officer").part
    assert isinstance(part, ShiftsPart)
    shift = shift_of(kitchen).shift
    part.change(shift)
    type_in(part.ending.form, last_day="2026-02-01")
    press(part.ending.button)
    assert problems_in(part.ending.form)[0].startswith("2026-02-01 is past:")
    type_in(part.ending.form, last_day="2026-03-05")
    press(part.ending.button)
    assert shift_of(kitchen).to_day == "2026-03-05"
    assert "from March\u00a03, 2026 until March\u00a05, 2026" in words_in(part)
    part.change(shift)
    press(part.goes_on)
    assert shift_of(kitchen).to_day is None
    assert "from March\u00a03, 2026" in words_in(part)


def test_a_lead_sees_shifts_and_changes_none(show: Callable[..., SetupPage]) -> None:
    part = show("shifts", "lead").part
    assert isinstance(part, ShiftsPart)
    assert "Whole day" in words_in(part)
    assert part.findChildren(Button) == []


def test_roles_are_changed_on_a_persons_page(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("people", "officer").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    press(part.shown.change)
    form = part.shown.roles_form
    assert QApplication.focusWidget() is form.form.input("role_lead")
    assert form.form.values() == {"role_lead": "yes", "role_officer": "", "role_auditor": ""}
    form.form.fill({"role_lead": ""})
    press(form.button)
    assert form.form._general.text() == "Choose at least one role."
    form.form.fill({"role_lead": "yes", "role_officer": "yes"})
    press(form.button)
    assert person(kitchen, kitchen.lead.person).roles == ("lead", "officer")
    part.open(kitchen.admin.person)
    assert "Only an administrator changes what an administrator may do." in words_in(part.shown)


def test_ones_own_roles_count_at_once(
    show: Callable[..., SetupPage], kitchen: Kitchen, desk: Desk, frame: Frame
) -> None:
    part = show("people", "officer").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.officer.person)
    part.shown.change_roles(True)
    part.shown.roles_form.form.fill({"role_lead": "yes", "role_officer": ""})
    press(part.shown.roles_form.button)
    assert (desk.actor.roles, desk.person.roles) == (frozenset({"lead"}), ("lead",))
    assert isinstance(frame.page, SetupPage)
    assert frame.page.part is not None
    assert not frame.page.part.may_change


def test_a_training_is_taken_back(show: Callable[..., SetupPage], kitchen: Kitchen, answers: Answers) -> None:
    part = show("people", "officer").part
    assert isinstance(part, PeoplePart)
    part.open(kitchen.lead.person)
    type_in(part.shown.training.form, kind="Hygiene", day="2024-02-29", years="3")
    press(part.shown.training.button)
    assert kitchen.last("person_trained").payload["until"] == "2027-02-28"
    assert "February\u00a028, 2027" in words_in(part.shown)
    (back,) = [one for one in part.shown.findChildren(Button) if one.text() == "Take back"]
    assert back.accessibleName() == "Take back: Hygiene, February\u00a029, 2024"
    answers.ready = ["not_done"]
    back.setFocus()
    QTest.keyClick(back, ENTER)
    assert kitchen.last("voided").payload["entries"] == [kitchen.last("person_trained").hash]
    assert "None recorded." in words_in(part.shown)


def test_the_group_is_renamed_by_an_officer(show: Callable[..., SetupPage], kitchen: Kitchen, desk: Desk) -> None:
    part = show("record", "officer").part
    assert isinstance(part, RecordPart)
    type_in(part.group.form, group_name="")
    press(part.group.button)
    assert problems_in(part.group.form) == ["Give the group of kitchens a name."]
    type_in(part.group.form, group_name="Wharf Kitchens")
    press(part.group.button)
    assert kitchen.last("group_set").payload["name"] == desk.group.name == "Wharf Kitchens"
    assert "Wharf Kitchens" in words_in(part)
    lead = show("record", "lead").part
    assert lead is not None
    assert lead.findChildren(Inline) == []


# --- copies, the record, carrying on -------------------------------------------------------------------------


def test_a_copy_is_made_and_remembered(
    show: Callable[..., SetupPage], desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    part = show("copies", "lead").part
    assert isinstance(part, CopiesPart)
    assert "No back-up was made from this computer yet." in words_in(part)
    folder = tmp_path / "copies"
    folder.mkdir()
    answers.ready = [folder]
    press(part.button)
    (made,) = folder.glob("*.db")
    assert part.answer.text().startswith("A copy of ")
    assert str(made) in part.answer.text()
    assert set_up.last_backup(desk.local) is not None
    assert any(one.startswith("Last backed up on ") for one in words_in(part))


def test_a_copy_into_a_place_that_is_not_there_says_so(
    show: Callable[..., SetupPage], desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    part = show("copies").part
    assert isinstance(part, CopiesPart)
    answers.ready = [tmp_path / "nowhere" / "deeper"]
    press(part.button)
    assert part.answer.text() == "There is no such file or folder, or it cannot be used: look at its name."
    assert set_up.last_backup(desk.local) is None


def test_the_record_says_what_it_is(show: Callable[..., SetupPage], kitchen: Kitchen) -> None:
    part = show("record", "auditor").part
    assert isinstance(part, RecordPart)
    words = words_in(part)
    assert {"This is a record of real checks.", "This computer", str(kitchen.home / "registry.db")} <= set(words)
    assert kitchen.last("chain_opened").number[:4] in words


@pytest.fixture
def elsewhere(desk: Desk, kitchen: Kitchen) -> None:
    """The folder was carried to another computer."""
    kitchen.session.close()
    kitchen.session = desk.session = open_session(kitchen.home, clock=kitchen.clock, machine="b" * 64)
    assert desk.session.why_read_only == "elsewhere"


@pytest.mark.usefixtures("elsewhere")
def test_a_moved_registry_goes_on_by_an_administrators_word(
    show: Callable[..., SetupPage], desk: Desk, kitchen: Kitchen, frame: Frame
) -> None:
    page = show("rules")
    band = page.findChild(CarryOn)
    assert band.form.values()["because"] == "moved"
    assert page.part is not None
    assert page.part.findChildren(Inline) == []
    type_in(band.form, name="Office laptop")
    QTest.keyClick(band.button, ENTER)
    kitchen.session = desk.session
    assert desk.session.why_read_only is None
    assert desk.session.signer is not None
    assert frame.page is not None
    assert [one for one in frame.page.findChildren(CarryOn) if not one.isHidden()] == []
    with desk.session.reading() as connection:
        found = set_up.installations(desk.session, connection)
    assert [one.name for one in found if one.own] == ["Office laptop"]
    places.add_station(desk.session, desk.actor, kitchen.site, "Bar")  # it records again


@pytest.mark.usefixtures("elsewhere")
def test_a_lead_is_told_that_an_administrator_carries_on(show: Callable[..., SetupPage]) -> None:
    band = show("window", "lead").findChild(CarryOn)
    assert "Let an administrator sign in, at the top of the column on the left." in words_in(band)
    assert band.findChildren(Form) == []


@pytest.mark.usefixtures("elsewhere")
def test_a_wrong_chain_code_is_refused_and_it_stays_open(show: Callable[..., SetupPage], desk: Desk) -> None:
    band = show("record").findChild(CarryOn)
    type_in(band.form, chain="XXXX")
    press(band.button)
    assert problems_in(band.form)[0].startswith("More than one record can be carried on: name one of ")
    assert band.button.isEnabled()
    with desk.session.reading() as connection:
        assert places.sites(connection)


class Held:
    """Keeps each job until it is told to run it."""

    def __init__(self) -> None:
        self.jobs: list[Job] = []

    def start(self, job: Job) -> Job:
        self.jobs.append(job)
        return job

    def in_pieces(self, pieces: Iterator[object]) -> None:
        for _ in pieces:
            pass

    def close(self) -> None:
        pass


def test_a_copy_goes_on_while_the_window_is_drawn_anew(
    show: Callable[..., SetupPage], desk: Desk, frame: Frame, answers: Answers, tmp_path: Path
) -> None:
    desk.jobs = held = Held()
    part = show("copies").part
    assert isinstance(part, CopiesPart)
    answers.ready = [tmp_path, tmp_path]
    part.ask()
    part.ask()  # a second press
    desk.choose("language", "es")
    assert isinstance(frame.page, SetupPage)
    anew = frame.page.part
    assert isinstance(anew, CopiesPart)
    assert not anew.button.isEnabled()
    (job,) = held.jobs
    job.run()
    assert anew.button.isEnabled()
    assert anew.answer.text().startswith("Copia de ")
    assert len(list(tmp_path.glob("*.db"))) == 1


def test_a_copy_tells_how_far_it_is_and_is_cancelled(
    show: Callable[..., SetupPage], desk: Desk, frame: Frame, answers: Answers, tmp_path: Path
) -> None:
    desk.jobs = held = Held()
    part = show("copies").part
    assert isinstance(part, CopiesPart)
    answers.ready = [tmp_path]
    part.button.setFocus()
    QTest.keyClick(part.button, ENTER)
    (job,) = held.jobs
    assert QApplication.focusWidget() is part.cancel
    seen: list[int] = []

    def look(percent: int) -> None:
        seen.append(part.bar.value())
        if percent >= 50:
            QTest.keyClick(part.cancel, ENTER)

    job.progressed.connect(look)
    job.run()
    assert seen[-1] >= 50
    assert part.answer.text() == "Cancelled: nothing of the copy is left."
    assert [one for one in tmp_path.iterdir() if ".db" in one.name or "partial" in one.name] == []
    assert set_up.last_backup(desk.local) is None
    assert QApplication.focusWidget() is part.button
    assert part.button.isEnabled()


def test_cancelled_too_late_the_copy_is_there_and_told_of(
    show: Callable[..., SetupPage], desk: Desk, answers: Answers, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.jobs = held = Held()
    part = show("copies").part
    assert isinstance(part, CopiesPart)
    answers.ready = [tmp_path]
    part.ask()
    (job,) = held.jobs
    real = upkeep.back_up

    def late(*said: object) -> object:
        made = real(*said)  # type: ignore[arg-type]
        part.run.cancel()
        return made

    monkeypatch.setattr(upkeep, "back_up", late)
    job.run()
    assert part.answer.text().startswith("A copy of ")
    assert len(list(tmp_path.glob("*.db"))) == 1


@pytest.mark.usefixtures("elsewhere")
def test_a_carrying_on_ends_well_though_the_window_is_drawn_anew(
    show: Callable[..., SetupPage], desk: Desk, kitchen: Kitchen
) -> None:
    desk.jobs = held = Held()
    band = show("record").findChild(CarryOn)
    band.do()
    band.do()
    desk.choose("text_size", "150")
    (job,) = held.jobs
    job.run()
    kitchen.session = desk.session
    assert desk.session.signer is not None


# --- import --------------------------------------------------------------------------------------------------

HISTORY = """tag,date,point,reading,unit,outcome,initials,shelf
{tag},2025-11-03,ice,0.4,C,,ZZ,a
OLD-7,2025-11-04,ice,1.5,C,broken,LQ,b
"""


@pytest.fixture
def history(kitchen: Kitchen, tmp_path: Path) -> Path:
    file = tmp_path / "old.csv"
    file.write_text(HISTORY.format(tag="DIGI0"), encoding="utf-8")
    return file


def test_a_history_is_looked_through_asked_about_and_recorded(
    show: Callable[..., SetupPage], kitchen: Kitchen, answers: Answers, history: Path
) -> None:
    part = show("import", "officer").part
    assert isinstance(part, ImportPart)
    answers.ready = [history]
    part.ask()
    before = kitchen.count()
    press(part.button)
    assert part.matching is not None
    assert part.matching.values()["column:shelf"] == ""  # nothing is guessed of it
    assert part.matching.values()["column:reading"] == "readings"
    press(part.button)
    assert part.run.plan is None  # it is asked until it is said
    part.matching.choose("shelf", "leave_out")
    press(part.button)
    assert part.asked.values() == {"tag:OLD-7": "", "outcome:broken": ""}  # no outcome is offered
    type_in(part.asked, **{"tag:OLD-7": "DIGI1", "outcome:broken": "fail"})
    press(part.button)
    assert part.run.plan is not None
    assert kitchen.count() == before  # rehearsed only
    assert "2 rows, and all can be imported. Nothing was recorded yet." in words_in(part)
    assert "New initials, known by these only: ZZ." in words_in(part)
    press(part.record_button)
    assert "2 rows imported." in words_in(part)
    assert [one.payload["row"] for one in kitchen.entries("check_recorded")] == [2, 3]
    assert kitchen.verify().good


def test_what_readings_and_formulas_leave_open_is_asked_in_the_window(
    show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path
) -> None:
    part = show("import", "officer").part
    assert isinstance(part, ImportPart)
    file = tmp_path / "old.xlsx"
    rows = [["DIGI0", "2025-11-03", 3.2, "pass"], ["DIGI0", "2025-11-04", ("=A9", 0), ""]]
    file.write_bytes(xlsx(["tag", "date", "reading", "outcome"], *rows))
    type_in(part.form, file=str(file), unit="C", point="ice_point")
    press(part.button)
    assert set(part.asked.values()) == {"asked:outcome_against", "asked:formula"}
    type_in(part.asked, **{"asked:outcome_against": "yes"})
    press(part.button)
    assert part.run.plan is None
    type_in(part.asked, **{"asked:formula": "yes"})
    press(part.button)
    assert part.run.plan is not None


@pytest.mark.slow
def test_columns_matched_once_are_known_the_next_time_and_can_be_said_otherwise(
    show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path
) -> None:
    part = show("import", "officer").part
    assert isinstance(part, ImportPart)
    for day, presses in (("2025-11-03", 2), ("2025-11-04", 1)):
        file = tmp_path / f"{day}.xlsx"
        file.write_bytes(xlsx(["Probe", "Day", "Value"], ["DIGI0", day, -0.4]))
        type_in(part.form, file=str(file), unit="C", point="ice_point")
        for _ in range(presses):
            press(part.button)
            if part.run.plan is None and part.matching is not None:
                for title, code in (("Probe", "tag"), ("Day", "date"), ("Value", "readings")):
                    part.matching.choose(title, code)
        assert part.run.plan is not None
        assert {"Probe", "DIGI0", "tag", "Value", "-0.4", "reading"} <= set(words_in(part))
        if presses == 1:  # once more from the plan to the columns, and on
            part.run.look_at_columns()
            assert part.matching is not None
            assert part.matching.values() == {"column:Probe": "tag", "column:Day": "date", "column:Value": "readings"}
            part.matching.choose("Value", "note")
            press(part.button)
            assert any("The column readings is missing." in one for one in words_in(part))
            part.matching.choose("Value", "readings")
            press(part.button)
        press(part.record_button)
        part.run.start_over()
    assert [one.payload["as_found"] for one in kitchen.entries("check_recorded")] == [["-0.4 C"]] * 2


def test_which_sheet_is_asked_and_a_picture_is_refused(
    show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path
) -> None:
    part = show("import", "officer").part
    assert isinstance(part, ImportPart)
    picture, file = tmp_path / "photo.xlsx", tmp_path / "two.xlsx"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    type_in(part.form, file=str(picture), unit="C", point="ice_point")
    press(part.button)
    assert "This is neither a CSV file nor a spreadsheet: choose one that is." in words_in(part)
    rows = (["tag", "date", "reading"], ["DIGI0", "2025-11-03", 0.1])
    file.write_bytes(xlsx(*rows, more=lambda book, _: book.add_worksheet("Old").write(0, 0, "notes")))
    type_in(part.form, file=str(file))
    press(part.button)
    assert part.asked.values() == {"sheet:": "Checks"}
    press(part.button)
    assert part.run.plan is not None


@pytest.mark.parametrize("kind", ["thermometers", "people"])
def test_thermometers_and_people_come_from_a_file(
    show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path, kind: str
) -> None:
    part = show("import", "officer").part
    assert isinstance(part, ImportPart)
    file = tmp_path / "new.xlsx"
    rows = {
        "thermometers": (["tag id", "type"], ["NEW1", "Bimetal stem"], ["NEW2", "bimetal_stem"]),
        "people": (["initials", "name"], ["QQ", "Quin"], ["RR", "Ros"]),
    }
    file.write_bytes(xlsx(*rows[kind]))
    choice = part.form.input("kind")
    assert isinstance(choice, Choice)
    QTest.mouseClick(choice.button(kind), Qt.MouseButton.LeftButton)
    fields = set(part.form.values())
    assert fields == {"file", "kind", "site"} | ({"unit", "day_order"} if kind == "thermometers" else set())
    assert part.form.values()["kind"] == kind
    type_in(part.form, file=str(file), **({"unit": "F"} if kind == "thermometers" else {}))
    press(part.button)
    asked = {"thermometers": "asked:usual_scale", "people": "asked:all_leads"}[kind]
    assert set(part.asked.values()) == {asked}
    type_in(part.asked, **{asked: "yes"})
    press(part.button)
    words = {
        "thermometers": "It enrols 2 thermometers, such as NEW1, NEW2.",
        "people": "It adds 2 people, such as QQ, RR.",
    }
    assert words[kind] in words_in(part)
    press(part.record_button)
    assert "2 rows imported." in words_in(part)
    assert kitchen.verify().good
    with kitchen.session.reading() as connection:
        if kind == "people":
            assert people.find_person(connection, "RR").roles == ("lead",)
        else:
            assert set(thermometers.find(connection, "NEW2").facts.scales) == {"F"}


def test_the_same_file_is_not_recorded_twice(show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "one.csv"
    file.write_text("tag,date,reading\nDIGI0,2025-11-03,0.4\n", encoding="utf-8")
    part = show("import").part
    assert isinstance(part, ImportPart)
    for _ in range(2):
        type_in(part.form, file=str(file), unit="C", point="ice_point", initials="LQ")
        press(part.button)
        if part.run.plan is not None:
            press(part.record_button)
            part.run.start_over()
    assert len(kitchen.entries("check_recorded")) == 1
    assert any(one.startswith("This file was imported already, as entry ") for one in words_in(part))


def test_a_shift_is_imported_by_a_lead(show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "shift.csv"
    file.write_text(
        "point,how made,date,time,tag,reading,unit,initials\n"
        "ice,crushed packed,2026-03-03,05:10,DIGI0,0.2,C,LQ\n"
        "ice,crushed packed,2026-03-03,05:11,DIGI1,-0.1,C,LQ\n",
        encoding="utf-8",
    )
    part = show("import", "lead").part
    assert isinstance(part, ImportPart)
    type_in(part.form, file=str(file))
    assert part.form.values()["kind"] == "shift"
    press(part.button)
    assert "It makes 2 checks." in words_in(part)
    press(part.record_button)
    assert [one.payload["outcome"] for one in kitchen.entries("check_recorded")] == ["pass", "pass"]


def test_cancelled_in_the_middle_nothing_counts(
    show: Callable[..., SetupPage], kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "one.csv"
    file.write_text("tag,date,reading\nDIGI0,2025-11-03,0.4\n", encoding="utf-8")
    part = show("import").part
    assert isinstance(part, ImportPart)
    type_in(part.form, file=str(file), unit="C", point="ice_point", initials="LQ")
    press(part.button)
    from ui import work

    monkeypatch.setattr(work.Job, "_went_on", lambda self, done: False)
    press(part.record_button)
    assert "Cancelled. Nothing was recorded." in words_in(part)
    with kitchen.session.reading() as connection:
        found = thermometers.find(connection, "DIGI0")
    assert found.row.last_outcome is None
    assert kitchen.verify().good


def test_a_file_that_is_not_there_says_so(show: Callable[..., SetupPage], tmp_path: Path) -> None:
    part = show("import").part
    assert isinstance(part, ImportPart)
    press(part.button)
    assert problems_in(part.form) == ["Choose the file first."]
    type_in(part.form, file=str(tmp_path / "nowhere.csv"))
    press(part.button)
    assert "There is no such file or folder, or it cannot be used: look at its name." in words_in(part)


def test_an_import_goes_on_while_one_looks_elsewhere(
    show: Callable[..., SetupPage], desk: Desk, kitchen: Kitchen, frame: Frame, tmp_path: Path
) -> None:
    file = tmp_path / "one.csv"
    file.write_text("tag,date,reading\nDIGI0,2025-11-03,0.4\n", encoding="utf-8")
    part = show("import").part
    assert isinstance(part, ImportPart)
    type_in(part.form, file=str(file), unit="C", point="ice_point", initials="LQ")
    press(part.button)
    desk.jobs = held = Held()
    press(part.record_button)
    part.run.record()  # a second press
    page = show("rules")
    desk.choose("theme", "dark")
    page = show("import")
    assert isinstance(page.part, ImportPart)
    assert "Recording. Cancelled, nothing of it counts." in words_in(page.part)
    (job,) = held.jobs
    job.run()
    assert "One row imported." in words_in(page.part)
    assert len(kitchen.entries("check_recorded")) == 1


def test_a_file_being_described_is_kept_when_the_window_is_drawn_anew(
    show: Callable[..., SetupPage], desk: Desk, frame: Frame
) -> None:
    part = show("import").part
    assert isinstance(part, ImportPart)
    type_in(part.form, file="old.csv", initials="LQ")
    desk.choose("language", "es")
    assert isinstance(frame.page, SetupPage)
    assert isinstance(frame.page.part, ImportPart)
    values = frame.page.part.form.values()
    assert (values["file"], values["initials"]) == ("old.csv", "LQ")
