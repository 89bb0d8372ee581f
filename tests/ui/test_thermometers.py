"""The table of thermometers and the page of one, by keys: what is shown is what the registry holds."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from registry.services import mend, settings, table, thermometers
from registry.services.table import Key, Page, TableRow, Wanted
from tests.services.kitchen import DIAL_C, DIGITAL_C, DIGITAL_F, Kitchen, another
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.thermometers import cells, delegate, facts
from ui.thermometers.model import ROW, Asked, TableModel
from ui.thermometers.page import ThermometersPage


@pytest.fixture
def page(frame: Frame) -> ThermometersPage:
    frame.activateWindow()
    frame.go("thermometers")
    found = frame.page
    assert isinstance(found, ThermometersPage)
    return found


def shown(page: ThermometersPage) -> list[str]:
    """Tag ids in the order of the rows."""
    model = page.table.model
    return [str(model.index(n, 0).data()) for n in range(model.rowCount())]


def press(key: Qt.Key) -> None:
    where = QApplication.focusWidget()
    assert where is not None
    QTest.keyClick(where, key)


# --- the table -----------------------------------------------------------------------------------------------


def test_the_sentence_counts_what_is_in_use_and_waits(page: ThermometersPage, kitchen: Kitchen) -> None:
    assert page.table.sentence.accessibleName() == "12 of 12 thermometers are in use; 12 wait for a check."
    with kitchen.session.reading() as connection:
        dial = thermometers.find(connection, "DIAL0").row.thermometer
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "damaged")
    page.read_again()
    assert page.table.sentence.accessibleName() == "11 of 12 thermometers are in use; 11 wait for a check."


def test_the_count_is_always_said(page: ThermometersPage) -> None:
    assert page.table.count.text() == "12 of 12"
    page.table.filters.search.setText("DIG")
    press_enter(page)
    assert page.table.count.text() == "6 of 6 that fit, 12 in all"
    assert shown(page) == ["DIGF0", "DIGF1", "DIGI0", "DIGI1", "DIGI2", "DIGI3"]


def press_enter(page: ThermometersPage) -> None:
    page.table.filters.search.setFocus()
    press(Qt.Key.Key_Return)


def test_each_filter_narrows_in_the_database(page: ThermometersPage, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        dial = thermometers.find(connection, "DIAL1").row
    thermometers.set_status(kitchen.session, kitchen.officer, dial.thermometer, "limited_use", only="cold")
    kitchen.checked(dial.thermometer, "0 C")
    lists = page.table.filters.lists

    def narrowed(name: str, value: str) -> list[str]:
        lists[name].setCurrentIndex(lists[name].findData(value))
        found = shown(page)
        lists[name].setCurrentIndex(0)
        return found

    assert narrowed("type", "bimetal_stem") == [f"DIAF{n}" for n in range(2)] + [f"DIAL{n}" for n in range(4)]
    assert narrowed("status", "limited_use") == ["DIAL1"]
    assert narrowed("outcome", "pass") == ["DIAL1"]
    assert narrowed("station", dial.station or "") == ["DIAF1", "DIAL1", "DIAL3", "DIGF1", "DIGI1", "DIGI3"]
    with kitchen.session.reading() as connection:
        spare = thermometers.find(connection, "DIGI0").row.thermometer
    thermometers.take_out(kitchen.session, kitchen.lead, spare, "spare")
    assert narrowed("due", "open") == [tag for tag in shown(page) if tag != "DIGI0"]
    assert narrowed("site", kitchen.site) == shown(page)
    assert len(shown(page)) == 12


def test_where_nothing_fits_a_sentence_says_what_to_do(page: ThermometersPage) -> None:
    page.table.filters.search.setText("nowhere")
    press_enter(page)
    assert page.table.stack.currentIndex() == 1
    assert page.table.nothing.text() == "No thermometer fits what the table is narrowed to."
    QTest.mouseClick(page.table.clear_button, Qt.MouseButton.LeftButton)
    assert page.table.stack.currentIndex() == 0
    assert len(shown(page)) == 12


def test_heads_sort_one_way_and_the_other(page: ThermometersPage) -> None:
    page.table.view.horizontalHeader().sectionClicked.emit(0)  # as a press on it does
    assert shown(page)[0] == "DIGI3"
    page.table.view.horizontalHeader().sectionClicked.emit(0)
    assert shown(page)[0] == "DIAF0"
    due = page.table.model.columns.index("next_due")
    page.table.view.horizontalHeader().sectionClicked.emit(due)  # not worked out in the database, so no order
    assert page.table.model.asked.sort == "tag_id"


def test_columns_and_order_are_chosen_and_remembered(
    page: ThermometersPage, desk: Desk, answers: Answers, frame: Frame
) -> None:
    answers.ready = [{"maker": "yes", "site": "", "status": "", "sort": "type", "way": "down"}]
    page.table.choose_columns()
    wanted = ("tag_id", "station", "maker", "last_outcome", "last_offset", "last_check_at", "next_due")
    assert page.table.model.columns == wanted
    assert shown(page)[0].startswith("DIA")  # dials are the least steady: last in the order of types
    assert settings.remembered(desk.local, "columns") == ",".join(wanted[1:])
    frame.draw_anew()
    again = frame.page
    assert isinstance(again, ThermometersPage)
    assert again.table.model.columns == wanted
    assert again.table.model.asked.sort == "type"


def test_enter_opens_a_row_and_escape_goes_back_to_it(page: ThermometersPage) -> None:
    assert QApplication.focusWidget() is page.table.view
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    assert page.one.tag.text() == shown(page)[2] == "DIAL0"
    press(Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is page.table.view
    assert page.table.view.currentIndex().row() == 2


def test_two_presses_open_a_row(page: ThermometersPage) -> None:
    where = page.table.view.visualRect(page.table.model.index(4, 1)).center()
    QTest.mouseClick(page.table.view.viewport(), Qt.MouseButton.LeftButton, pos=where)
    QTest.mouseDClick(page.table.view.viewport(), Qt.MouseButton.LeftButton, pos=where)
    assert page.one.tag.text() == shown(page)[4]
    QTest.mouseClick(page.one.back, Qt.MouseButton.LeftButton)
    assert page.stack.currentWidget() is page.table


def test_a_slash_goes_to_the_search_and_down_to_the_rows(page: ThermometersPage) -> None:
    QTest.keyClicks(page.table.view, "/")
    assert QApplication.focusWidget() is page.table.filters.search
    press(Qt.Key.Key_Down)
    assert QApplication.focusWidget() is page.table.view


def test_an_empty_registry_offers_to_enrol(desk: Desk, tmp_path: Path, kitchen: Kitchen, frame: Frame) -> None:
    empty = Page((), None, 0, 0, 0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(table, "page", lambda *_, **__: empty)
        frame.go("thermometers")
        page = frame.page
        assert isinstance(page, ThermometersPage)
        assert page.table.nothing.text().startswith("A safety officer or an administrator enrols them.")
        assert page.table.first_button.isHidden()
        sit_down(desk, kitchen, "officer")
        desk.rebuild.emit()
        page = frame.page
        assert isinstance(page, ThermometersPage)
        assert page.table.sentence.accessibleName() == "No thermometer is enrolled yet."
        assert page.table.nothing.text().startswith("Enrol the first one")
        assert page.table.first_button.isVisible()


def test_an_auditor_gets_no_way_to_enrol(desk: Desk, kitchen: Kitchen, frame: Frame) -> None:
    sit_down(desk, kitchen, "auditor")
    frame.go("thermometers")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.table.one_button.isHidden()
    assert page.table.many_button.isHidden()
    frame.go("thermometers", page.table.model.rows[0].thermometer)
    assert page.one.buttons.count() == 0
    assert page.one.why_not.isHidden()


# --- pages by key --------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def first_many(first_dozen: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """The same kitchen with 238 more, closed."""
    opened = another(first_dozen, tmp_path_factory.mktemp("many") / "kitchen")
    for n in range(238):
        opened.dial(DIAL_C, tag_id=f"X{n:03}")
    opened.session.close()
    return opened


@pytest.fixture
def many(first_many: Kitchen, tmp_path: Path) -> Iterator[Kitchen]:
    opened = another(first_many, tmp_path / "many")
    yield opened
    opened.session.close()


def test_rows_are_fetched_by_two_hundred(desk: Desk, many: Kitchen, qtmodeltester: Any) -> None:
    desk.session = many.session
    model = TableModel(desk)
    model.ask(model.asked)
    assert (model.rowCount(), model.of, model.every) == (200, 250, 250)
    assert model.canFetchMore()
    model.fetchMore()
    assert model.rowCount() == 250
    assert not model.canFetchMore()
    assert [row.tag_id for row in model.rows] == sorted(row.tag_id for row in model.rows)
    qtmodeltester.check(model)


@pytest.mark.slow
def test_reading_again_keeps_what_was_fetched(desk: Desk, many: Kitchen) -> None:
    desk.session = many.session
    model = TableModel(desk)
    model.ask(model.asked)
    model.fetchMore()
    with many.session.reading() as connection:
        last = thermometers.find(connection, "X237").row.thermometer
    thermometers.set_status(many.session, many.officer, last, "retired", "worn")
    model.ask_again()
    assert model.rowCount() == 250
    assert model.rows[model.place_of(last)].status == "retired"


@pytest.fixture
def thousands(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """A table of 4 500 rows by key, without a registry behind it; the size of each page that was asked for."""
    with desk.session.reading() as connection:
        one = table.page(desk.session, connection).rows[0]
    rows = [replace(one, thermometer=f"{n:032x}", tag_id=f"T{n:05}") for n in range(4500)]
    asked: list[int] = []

    def page(_session: Any, _connection: Any, _wanted: Wanted, *, after: Key | None, size: int, **_: Any) -> Page:
        asked.append(size)
        first = int(after.thermometer, 16) + 1 if after else 0
        here = rows[first : first + size]
        more = Key("", here[-1].tag_id, here[-1].thermometer) if first + size < len(rows) else None
        return Page(tuple(here), more, len(here), len(rows), len(rows))

    monkeypatch.setattr(table, "page", page)
    return asked


@pytest.mark.slow
def test_thousands_come_page_by_page(desk: Desk, thousands: list[int], qtmodeltester: Any) -> None:
    model = TableModel(desk)
    model.ask(model.asked)
    assert model.rowCount() == 200
    while model.canFetchMore():
        model.fetchMore()
    assert model.rowCount() == len({row.thermometer for row in model.rows}) == 4500
    assert thousands == [200] * 23
    qtmodeltester.check(model)


def test_an_answer_that_comes_too_late_is_dropped(desk: Desk) -> None:
    """Asked again before it came: the earlier one is not shown."""
    waiting: list[tuple[Any, Any]] = []

    class Later:
        def start(self, job: Any) -> Any:
            waiting.append(job)
            return job

        def close(self) -> None:
            pass

    desk.jobs = Later()
    model = TableModel(desk)
    model.ask(Asked(Wanted(text="DIAL"), columns=model.asked.columns))
    model.ask(Asked(Wanted(text="DIGF"), columns=model.asked.columns))
    assert not model.canFetchMore()
    waiting[1].run()
    waiting[0].run()
    assert [row.tag_id for row in model.rows] == ["DIGF0", "DIGF1"]


def test_every_column_has_its_head_and_says_something(desk: Desk, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIAL0").row.thermometer
    kitchen.checked(of, "0 C")
    model = TableModel(desk)
    model.ask(Asked(Wanted(text="DIAL0"), columns=(cells.FIRST, *cells.CHOSEN_FROM)))
    said = {column: model.index(0, n).data() for n, column in enumerate(model.columns)}
    assert said["tag_id"] == "DIAL0"
    assert (said["site"], said["station"], said["type"]) == ("Pier", "Grill", "Bimetal stem")
    assert (said["status"], said["last_outcome"], said["last_offset"]) == ("In service", "Pass", "0.0\u00a0°F")
    assert said["last_check_at"] == "03/03/2026"
    assert said["checked_by"] == "LQ"
    assert said["next_due"] == "03/03/2026"  # new here, and its hot point is still to come
    heads = {model.headerData(n, Qt.Orientation.Horizontal) for n in range(model.columnCount())}
    assert len(heads) == len(model.columns)
    row = model.index(0, 0).data(ROW)
    assert isinstance(row, TableRow)
    assert cells.mark_of(row, "last_outcome") == ("outcome", "pass", False)
    assert model.data(QModelIndex()) is None


def test_who_was_adjusted_stands_as_left_and_the_tip_says_what_was_found(desk: Desk, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIAL0").row.thermometer
    check = kitchen.checked(of, "3 C", "3 C", "3 C")
    kitchen.clock.move(minutes=2)
    kitchen.adjust(check, "nut", "0 C")
    model = TableModel(desk)
    model.ask(Asked(Wanted(outcome="pass"), columns=(cells.FIRST, "status", "last_outcome", "last_offset")))
    assert [row.tag_id for row in model.rows] == ["DIAL0"]
    said = [model.index(0, n).data() for n in range(4)]
    assert said == ["DIAL0", "In service", "Pass as left", "0.0\u00a0°F"]
    outcome = model.index(0, 2)
    assert outcome.data(Qt.ItemDataRole.ToolTipRole) == "Pass as left, adjusted; as found: Fail"
    assert outcome.data(Qt.ItemDataRole.AccessibleTextRole) == "Last outcome: Pass as left, adjusted; as found: Fail"
    assert cells.mark_of(model.rows[0], "last_outcome") == ("outcome", "pass", False)
    model.ask(Asked(Wanted(outcome="fail"), columns=model.asked.columns))
    assert model.rows == []


@pytest.mark.slow
def test_the_usual_columns_stand_side_by_side_in_a_small_window_in_spanish(frame: Frame, desk: Desk) -> None:
    desk.choose("language", "es")
    frame.resize(1024, 600)
    frame.show()
    frame.go("thermometers")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    listing = page.table.view
    listing.grab()
    assert listing.model().rowCount() > 0
    assert listing.horizontalScrollBar().maximum() == 0


@pytest.mark.slow
def test_no_row_is_cut_at_twice_the_text(page: ThermometersPage, desk: Desk, frame: Frame) -> None:
    desk.choose("text_size", "200")
    again = frame.page
    assert isinstance(again, ThermometersPage)
    view = again.table.view
    assert view.rowHeight(0) == delegate.row_height(desk.look) >= 80
    assert view.columnWidth(0) > desk.look.text(36) + 60


# --- one -----------------------------------------------------------------------------------------------------


def open_one(frame: Frame, kitchen: Kitchen, tag: str) -> ThermometersPage:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, tag).row.thermometer
    frame.go("thermometers", of)
    page = frame.page
    assert isinstance(page, ThermometersPage)
    return page


def test_one_never_checked_says_so(frame: Frame, kitchen: Kitchen) -> None:
    one = open_one(frame, kitchen, "DIGI0").one
    assert one.answer.accessibleName() == "It has not been checked yet."
    assert one.plotted.plot.isHidden()
    assert one.plotted.no_checks.isVisible()
    assert one.due.text() == "Wanted now: New here; Each shift; Hot point every 90 days (none yet)."
    assert [str(one.story.lines.index(0, 0).data())] == ["Enrolled"]


def test_one_that_shows_both_is_told_in_fahrenheit_all_over_its_page(frame: Frame, kitchen: Kitchen) -> None:
    """Its limit is stated as ±1 °C; 1 °C of difference is 1.8 °F, and 35 °F is 3 °F above ice."""
    of = kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="DUAL0")
    kitchen.checked(of, "35.0 F", "35.0 F", "35.0 F")
    one = open_one(frame, kitchen, "DUAL0").one
    said = one.answer.accessibleName()
    assert "3.00\u00a0°F high" in said
    assert "the limit is ±1.8\u00a0°F." in said
    assert "°C" not in said
    assert str(one.story.lines.index(0, 0).data()) == "Fail at the ice point: +3.00\u00a0°F"
    assert one.page is not None
    assert dict(facts.facts(one.desk, one.page))["Limit"].startswith("±1.8\u00a0°F, stated as ±1\u00a0°C (")


def test_what_its_use_is_limited_to_is_told_on_a_failing_one_too(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI0").row.thermometer
    thermometers.set_status(kitchen.session, kitchen.officer, of, "limited_use", only="cold")
    kitchen.checked(of, "3.0 C", "3.0 C", "3.0 C")
    one = open_one(frame, kitchen, "DIGI0").one
    assert one.status.text() == "Check first. Limited use: cold food only"
    assert one.page is not None
    assert dict(facts.facts(one.desk, one.page))["Used for"].endswith(". Limited use: cold food only")


def test_adjusted_because_of_a_check_that_is_void_it_is_not_measured(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIAL0").row.thermometer
    check = kitchen.checked(of, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    mend.void(kitchen.session, kitchen.officer, mend.number_of_check(kitchen.session, check), "mistyped")
    one = open_one(frame, kitchen, "DIAL0").one
    assert one.answer.accessibleName() == "It was adjusted and not read since: check it before it is used."
    assert "Nut turned, not measured: its check is void" in [
        str(one.story.lines.index(n, 0).data()) for n in range(one.story.lines.rowCount())
    ]


def test_the_answer_names_point_offset_uncertainty_and_limit(frame: Frame, kitchen: Kitchen) -> None:
    """U by the registry itself (checked against published values elsewhere); the sentence has its two digits."""
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI0").row.thermometer
    kitchen.checked(of, "0.4 C")
    one = open_one(frame, kitchen, "DIGI0").one
    assert one.page is not None
    expanded = one.page.sentence.expanded
    assert expanded is not None
    assert one.answer.accessibleName() == (
        f"Pass at the ice point. It reads 0.4\u00a0°C high, ±{float(expanded.value):.2g}\u00a0°C; "
        "the limit is ±1\u00a0°C."
    )
    assert one.basis.text().endswith("as found; reference 0.0\u00a0°C; by simple acceptance.")
    assert one.status.text() == "In service"
    assert one.plotted.plot.isVisible()
    assert str(one.story.lines.index(0, 0).data()) == "Pass at the ice point: +0.4\u00a0°C"


def test_a_fail_is_told_with_its_triangle_and_what_is_wanted(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIAL2").row.thermometer
    check = kitchen.checked(of, "3 C", "3 C", "3 C")
    one = open_one(frame, kitchen, "DIAL2").one
    assert one.answer.accessibleName().startswith("Fail at the ice point. It reads 3.0\u00a0°C high")
    assert one.mark._mark == ("outcome", "fail", True)
    assert one.status.text() == "Check first"
    kitchen.adjust(check, "nut", "0 C")
    frame.read_again()
    assert one.answer.accessibleName().startswith("Pass at the ice point. It reads what it should")
    assert "as left" in one.basis.text()
    assert str(one.story.lines.index(0, 0).data()) == "Nut turned: as left 0.0\u00a0°C, pass"


def test_all_entries_are_shown_when_asked_for(frame: Frame, kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ui.thermometers.one.NEWEST", 3)
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI1").row.thermometer
    for _ in range(4):
        kitchen.checked(of, "0.0 C")
        kitchen.clock.move(hours=3)
    one = open_one(frame, kitchen, "DIGI1").one
    assert (one.story.lines.rowCount(), one.all.text()) == (3, "All 5 entries")
    QTest.mouseClick(one.all, Qt.MouseButton.LeftButton)
    assert one.story.lines.rowCount() == 5
    assert one.all.isHidden()


def test_the_plot_is_read_by_keys(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI1").row.thermometer
    kitchen.checked(of, "0.2 C")
    kitchen.clock.move(hours=30)
    one = open_one(frame, kitchen, "DIGI1").one
    one.plotted.plot.setFocus()
    QTest.keyClick(one.plotted.plot, Qt.Key.Key_Left)
    assert one.plotted.asked_of.text().endswith(": +0.2\u00a0°C, Pass")


def test_the_plot_shows_less_of_its_time_by_keys_and_says_so_aloud(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI1").row.thermometer
    for shown in ("0.2 C", "-0.3 C", "0.1 C"):
        kitchen.checked(of, shown)
        kitchen.clock.move(days=40)
    one = open_one(frame, kitchen, "DIGI1").one
    plot = one.plotted.plot
    assert "3 checks from " in plot.accessibleDescription()
    assert "between −0.3\u00a0°C and +0.2\u00a0°C, last +0.1\u00a0°C" in plot.accessibleDescription()
    plot.setFocus()
    QTest.keyClick(plot, Qt.Key.Key_Plus)
    assert "2 checks from " in plot.accessibleDescription()
    QTest.keyClick(plot, Qt.Key.Key_Plus)
    assert "No check in this time." in plot.accessibleDescription()
    QTest.keyClick(plot, Qt.Key.Key_Plus)
    QTest.keyClick(plot, Qt.Key.Key_Minus)
    QTest.keyClick(plot, Qt.Key.Key_Minus)
    assert "3 checks from " in plot.accessibleDescription()


def test_one_check_alone_that_was_outside_is_read_aloud_as_that(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI1").row.thermometer
    kitchen.checked(of, "5 C", "5 C", "5 C")
    plot = open_one(frame, kitchen, "DIGI1").one.plotted.plot
    assert "; one outside its limits." in plot.accessibleDescription()


def test_a_point_is_chosen_where_there_are_several(frame: Frame, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "DIGI2").row.thermometer
    kitchen.checked(of, "0.1 C")
    bath = kitchen.boil(pressure_source=None)
    kitchen.key(bath, of, "99.6 C")
    kitchen.judge(bath)
    page = open_one(frame, kitchen, "DIGI2")
    from ui.parts import Choice

    (choice,) = page.one.plotted.plot.parentWidget().findChildren(Choice)
    QTest.mouseClick(choice.button("boiling_point"), Qt.MouseButton.LeftButton)
    assert page.one.plotted.plot.accessibleName() == "Offsets of DIGI2: Boiling point"


@pytest.mark.slow
def test_whoever_goes_elsewhere_comes_back_to_the_same(frame: Frame, kitchen: Kitchen, desk: Desk) -> None:
    open_one(frame, kitchen, "DIAL3")
    desk.choose("theme", "dark")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.one.tag.text() == "DIAL3"
    frame.resize(1024, 600)
    page = frame.page
    assert isinstance(page, ThermometersPage)
    assert page.one.tag.text() == "DIAL3"
    frame.go("thermometers")
    assert page.stack.currentWidget() is page.table
