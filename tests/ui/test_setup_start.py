"""The first start: one page of questions, after which the registry is ready; what was typed stays on a refusal."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from registry.services import people, places, plan_cost, settings, upkeep
from registry.services.people import find_person
from registry.services.session import Session
from registry.services.start import FirstStart, first_start
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers
from ui.app import Opening
from ui.desk import Desk
from ui.forms import Form
from ui.frame import Frame
from ui.parts import Scroll
from ui.setup import country, demo
from ui.setup.first_start import FirstStartPage
from ui.setup.restoring import Restoring
from ui.work import AtOnce

ENTER = Qt.Key.Key_Return


@pytest.fixture(autouse=True)
def american(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A computer whose own settings say English and United States, with nothing among the user's data."""
    for name in ("LC_ALL", "LC_MESSAGES", "LC_MEASUREMENT"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "en_US.UTF-8")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def new_desk(qapp: QApplication, tmp_path: Path) -> Iterator[Desk]:
    """A desk at a folder in which nothing lies yet."""
    made = Desk(tmp_path / "new", AtOnce())
    settings.choose(made.local, "theme", "light")
    made.ask = Answers()
    yield made
    made.close()


@pytest.fixture
def window(new_desk: Desk) -> Iterator[Frame]:
    """The window at that desk, as it opens."""
    frame = Frame(new_desk)
    frame.resize(1280, 800)
    frame.show()
    Opening(frame).open()
    yield frame
    frame.hide()
    frame.deleteLater()


def page_of(window: Frame) -> FirstStartPage:
    found = window.stack.currentWidget()
    assert isinstance(found, FirstStartPage)
    return found


def field(page: FirstStartPage | Restoring, name: str) -> QLineEdit:
    forms = page.asked.forms if isinstance(page, FirstStartPage) else [page.form]
    found = next(form.input(name) for form in forms if name in form.values())
    assert isinstance(found, QLineEdit)
    return found


def type_in(page: FirstStartPage | Restoring, **typed: str) -> None:
    for name, value in typed.items():
        field(page, name).setFocus()
        QTest.keyClicks(field(page, name), value)


def fill(page: FirstStartPage) -> None:
    type_in(page, group_name="Lobo Kitchens", administrator="Ana Ruiz", initials="AR", name="Harbour")
    type_in(page, elevation="120", shift="Early", start="6:00", end="14:00")


def shown_problems(page: FirstStartPage | Form) -> list[str]:
    forms = page.asked.forms if isinstance(page, FirstStartPage) else [page]
    labels = [label for form in forms for label in form._problems.values()]
    return [label.text() for label in labels if not label.isHidden()]


def opened(desk: Desk) -> Session:
    assert desk.is_open
    return desk.session


def test_one_begins_at_the_first_question(new_desk: Desk, window: Frame) -> None:
    """The ways to a demo and a backup stand before it, and are not what an Enter presses."""
    page = page_of(window)
    assert window.focusWidget() is page.asked.language_box.button("en")
    QTest.keyClick(window.focusWidget(), ENTER)
    assert not new_desk.is_open
    assert window.focusWidget() is page.asked.forms[0].input("country")


def test_a_few_answers_and_start_of_shift_is_ready(new_desk: Desk, window: Frame) -> None:
    fill(page_of(window))
    QTest.keyClick(page_of(window).begin, ENTER)
    session = opened(new_desk)
    with session.reading() as connection:
        group = session.group(connection).payload
        (site,) = places.sites(connection)
        (shift,) = places.shifts(connection)
        who = find_person(connection, "AR")
    assert (group.name, group.country, group.jurisdiction) == ("Lobo Kitchens", "US", "us_fda_2022")
    assert (group.unit, group.paper, group.language) == ("F", "letter", "en")
    assert (site.payload.name, site.payload.letters, site.payload.elevation) == ("Harbour", "HA", "120 m")
    assert (shift.payload.name, shift.payload.start, shift.payload.end) == ("Early", "06:00", "14:00")
    assert (shift.payload.site, shift.payload.weekdays) == (site.subject, tuple(range(7)))
    assert who.roles == ("administrator",)
    assert (new_desk.person.person, new_desk.site.subject) == (who.person, site.subject)
    assert (window.place, window.stack.currentWidget()) == ("shift", window.page)


def test_enter_goes_through_the_page_and_begins(new_desk: Desk, window: Frame) -> None:
    page = page_of(window)
    fill(page)
    field(page, "group_name").setFocus()
    seen = set()
    for _ in range(40):
        if new_desk.is_open:
            break
        focus = QApplication.focusWidget()
        seen.add(focus.accessibleName())
        QTest.keyClick(focus, ENTER)
    assert new_desk.is_open
    assert {"Your name", "Two letters", "Elevation above the sea", "Name of the shift", "To"} <= seen


def test_what_is_missing_is_said_at_once_and_what_was_typed_stays(new_desk: Desk, window: Frame) -> None:
    page = page_of(window)
    type_in(page, group_name="Lobo Kitchens", elevation="high", start="6:00", end="25:00")
    page.asked.days.choose(())
    QTest.mouseClick(page.begin, Qt.MouseButton.LeftButton)
    assert not new_desk.is_open
    assert not (new_desk.home / "registry.db").exists()
    said = shown_problems(page)
    assert any(one.startswith("high is not an elevation") for one in said)
    assert len(said) == 6  # your name, initials, kitchen, letters, elevation, shift
    assert page.asked.days._problem.isVisibleTo(page)
    assert page.asked.values()["group_name"] == "Lobo Kitchens"
    assert QApplication.focusWidget() is field(page, "administrator")


def test_a_site_refused_by_the_service_makes_the_group_once(new_desk: Desk, window: Frame) -> None:
    page = page_of(window)
    fill(page)
    field(page, "letters").setText("H1")
    QTest.keyClick(page.begin, ENTER)
    assert shown_problems(page) == ["A site takes two letters, such as KI, which begin its tag ids."]
    assert not field(page, "group_name").isEnabled()  # it is made already
    field(page, "letters").setText("HB")
    QTest.keyClick(page.begin, ENTER)
    with opened(new_desk).reading() as connection:
        assert [one.payload.letters for one in places.sites(connection)] == ["HB"]
        assert [one.initials for one in people.people(connection)] == ["AR"]
        assert len(places.shifts(connection)) == 1


def test_begun_at_the_command_line_only_its_kitchen_is_asked_for(new_desk: Desk, qapp: QApplication) -> None:
    asked = FirstStart("Lobo Kitchens", "ES", "Ana Ruiz", "AR")
    first_start(new_desk.home, asked)[0].close()
    frame = Frame(new_desk)
    frame.resize(1280, 800)
    frame.show()
    Opening(frame).open()
    page = page_of(frame)
    assert page.only_kitchen
    type_in(page, name="Puerto", elevation="12", shift="Early", start="0600", end="14:00")
    QTest.keyClick(page.begin, ENTER)
    assert new_desk.site.payload.name == "Puerto"
    assert new_desk.site.payload.zone in dict(country.zones_of("ES"))


def test_a_first_start_cut_off_before_its_first_entry_asks_again(new_desk: Desk, qapp: QApplication) -> None:
    from registry.store import database

    new_desk.home.mkdir(exist_ok=True)
    database.create(new_desk.home / "registry.db").close()
    frame = Frame(new_desk)
    frame.resize(1280, 800)
    frame.show()
    Opening(frame).open()
    page = page_of(frame)
    assert not page.only_kitchen
    fill(page)
    QTest.keyClick(page.begin, ENTER)
    assert new_desk.site.payload.name == "Harbour"


def test_the_language_is_taken_at_once_and_what_was_typed_is_kept(window: Frame) -> None:
    page = page_of(window)
    fill(page)
    QTest.mouseClick(page.asked.language_box.button("es"), Qt.MouseButton.LeftButton)
    assert page.begin.text() == "Empezar"
    values = page.asked.values()
    assert (values["language"], values["group_name"], values["country"]) == ("es", "Lobo Kitchens", "US")


def test_a_smaller_window_keeps_the_page(window: Frame) -> None:
    fill(page_of(window))
    window.resize(1024, 600)
    assert window.small
    assert page_of(window).asked.values()["group_name"] == "Lobo Kitchens"


def test_a_country_is_told_before_it_is_taken(window: Frame) -> None:
    page = page_of(window)
    assert page.asked.told.text().startswith(
        "With it come: FDA Food Code 2022; a food thermometer may be off by at most ±2"
    )
    box = page.asked._about_group.input("country")
    assert isinstance(box, QComboBox)
    box.setCurrentIndex(box.findData("ES"))
    assert "Real Decreto 1021/2022" in page.asked.told.text()
    assert "°C; paper A4; days written like 31-03-2026." in page.asked.told.text()
    assert not page.asked._rules.isVisibleTo(page)  # one code only
    assert page.asked.values()["zone"] in ("Africa/Ceuta", "Atlantic/Canary", "Europe/Madrid")


def test_a_state_with_a_code_of_its_own_is_offered(new_desk: Desk, window: Frame) -> None:
    page = page_of(window)
    fill(page)
    box = page.asked._rules.input("jurisdiction")
    assert isinstance(box, QComboBox)
    assert [box.itemData(n) for n in range(box.count())] == ["us_fda_2022", "us_ny", "us_nv", "us_mn"]
    box.setCurrentIndex(1)
    QTest.keyClick(page.begin, ENTER)
    assert new_desk.group.jurisdiction == "us_ny"


def test_countries_are_named_in_the_language() -> None:
    # names by Unicode CLDR, territories
    assert dict(country.countries("es"))["DE"] == "Alemania"
    assert country.countries("en")[-1] == ("ZZ", "Any other country")
    names = [name for _, name in country.countries("es")][:-1]
    assert names.index("España") < names.index("Estados Unidos") < names.index("Francia")


@pytest.mark.parametrize(
    ("plan", "shifts", "hours"),
    [  # by hand: checks x 40 s; 12 x 365.25; four dials a day, and of 8 digitals one a shift: with 7 shifts a week
        # that saves 6 / 7 of a check by days each, with 14 all of them
        ("each_shift", 7, 12 * 365.25 * 40 / 3600),
        ("each_shift", 14, 2 * 12 * 365.25 * 40 / 3600),
        ("risk_based", 7, (4 * 365.25 + 8 * 365.25 / 7 + 365.25 / 7) * 40 / 3600),
        ("risk_based", 14, (4 * 365.25 + 2 * 365.25) * 40 / 3600),
    ],
)
def test_what_a_plan_costs(plan: str, shifts: int, hours: float) -> None:
    assert plan_cost.hours_a_year(plan_cost.of_shipped(plan), plan_cost.TWELVE, shifts) == pytest.approx(hours)


# --- the demo and a backup -----------------------------------------------------------------------------------


def test_where_no_demo_is_built_it_says_how(new_desk: Desk, window: Frame) -> None:
    page = page_of(window)
    page.try_demo()
    assert "./run demo" in page.demo_told.text()
    assert not new_desk.is_open


def test_the_demo_opens_in_its_own_folder(new_desk: Desk, window: Frame) -> None:
    home = settings.default_home().with_name(demo.FOLDERS[0])
    session, actor = first_start(home, FirstStart("Copper", "US", "Ida Voss", "IV"), demo=True)
    site = places.NewSite("Yard", "YA", "America/Denver", _metres(), "elevation")
    places.add_site(session, actor, site)
    session.close()
    page_of(window).try_demo()
    assert new_desk.demo
    assert new_desk.home == home
    assert new_desk.local.path.parent == home


def _metres() -> places.Length:
    return places.Length.from_text("1600 m")


@pytest.fixture
def backup(kitchen: Kitchen, tmp_path: Path) -> Path:
    folder = tmp_path / "copies"
    folder.mkdir()
    return upkeep.back_up(kitchen.session, kitchen.admin, folder).path


def restoring_of(window: Frame) -> Restoring:
    page_of(window).show_restoring()
    return page_of(window).restoring


def test_a_backup_is_restored_and_goes_on(new_desk: Desk, window: Frame, backup: Path) -> None:
    page = restoring_of(window)
    type_in(page, file=str(backup))
    QTest.keyClick(page.button, ENTER)
    session = opened(new_desk)
    assert new_desk.group.name == "Harbour Kitchens"
    assert session.signer is not None
    assert not (new_desk.home / "restoring").exists()
    assert upkeep.verify(session).good


def test_a_spoilt_backup_leaves_nothing_and_another_is_taken(new_desk: Desk, window: Frame, backup: Path) -> None:
    spoilt = backup.with_name("spoilt.db")
    spoilt.write_bytes(b"no registry at all")
    page = restoring_of(window)
    type_in(page, file=str(spoilt))
    QTest.keyClick(page.button, ENTER)
    assert page.trouble.text() == "This file is not a registry: name another one."
    assert not (new_desk.home / "registry.db").exists()
    assert not (new_desk.home / "registry.key").exists()
    field(page, "file").setText(str(backup))
    QTest.keyClick(page.button, ENTER)
    assert new_desk.is_open


def test_back_from_restoring_what_was_typed_is_there(window: Frame) -> None:
    fill(page_of(window))
    page = restoring_of(window)
    QTest.mouseClick(page.back, Qt.MouseButton.LeftButton)
    assert page_of(window).asked.values()["shift"] == "Early"


def test_without_a_file_it_is_asked_for(new_desk: Desk, window: Frame) -> None:
    page = restoring_of(window)
    QTest.keyClick(page.button, ENTER)
    assert shown_problems(page.form) == ["Choose the file first."]
    assert not new_desk.is_open


def test_a_restore_that_is_cancelled_leaves_nothing(new_desk: Desk, backup: Path) -> None:
    from registry.services.problems import Refused
    from registry.services.upkeep import CarryingOn
    from ui.setup.restoring import restore

    with pytest.raises(Refused):
        restore(backup, new_desk.home, CarryingOn("restored", "Here"), lambda _: False)
    assert [one.name for one in new_desk.home.iterdir()] == ["local.db"]


@pytest.mark.parametrize("size", ["100", "200"])
def test_nothing_is_cut_off_at_any_text_size(new_desk: Desk, size: str, qtbot: QtBot) -> None:
    settings.choose(new_desk.local, "text_size", size)
    frame = Frame(new_desk)
    frame.resize(1024, 600)
    Opening(frame)
    frame.show()
    qtbot.waitUntil(lambda: isinstance(frame.stack.currentWidget(), FirstStartPage))  # it opens at its first paint
    page = page_of(frame)
    QTest.mouseClick(page.asked.language_box.button("es"), Qt.MouseButton.LeftButton)
    page.do()  # with every refusal in sight
    qtbot.waitUntil(page.begin.isVisible)
    scroll = page.findChildren(Scroll)[-1]
    # Too narrow for two columns it takes one, once it is told how wide it is.
    qtbot.waitUntil(lambda: scroll.widget().minimumSizeHint().width() <= scroll.viewport().width())
    assert page.asked.isVisible()
