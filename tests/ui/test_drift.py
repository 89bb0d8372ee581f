"""Drift as far as it goes: the sentence, the grid by keys, what a cell says, where the offsets lie."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from zipfile import ZipFile

import pypdfium2
import pytest
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QEnterEvent, QFontMetrics, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from registry.quantity import Length, TemperatureDifference
from registry.services import activity as services_activity
from registry.services import incidents, mend, places, thermometers
from registry.services.activity import Activity, Offsets, SiteWeeks, Week
from registry.services.fleet import LIKELY
from registry.services.places import NewSite
from registry.services.problems import KnownError
from tests.services.kitchen import ZONE, Kitchen
from tests.ui.conftest import Answers, sit_down
from tests.ui.painting import LIGHT, count, picture
from tests.ui.test_newest import Held
from ui.desk import Desk
from ui.drift import wording
from ui.drift.grid import Grid, in_lines, paint_cell
from ui.drift.page import DriftPage
from ui.drift.spread import Interval, IntervalLine, interval, paint_interval
from ui.frame import Frame
from ui.parts import Button, Scroll, Words
from ui.proof.page import ProofPage
from ui.thermometers.page import ThermometersPage

MONDAY = date(2026, 3, 2)


def some(name: str, *missed: int, wanted: int = 10) -> SiteWeeks:
    weeks = [Week(MONDAY + timedelta(weeks=n), wanted, wanted - each, each) for n, each in enumerate(missed)]
    return SiteWeeks(name.lower(), name, tuple(weeks))


def activity(*sites: SiteWeeks) -> Activity:
    return Activity(sites, True)


def digi(kitchen: Kitchen, tag: str = "DIGI0") -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


@pytest.fixture
def page(frame: Frame) -> DriftPage:
    frame.go("drift")
    assert isinstance(frame.page, DriftPage)
    return frame.page


# --- the sentence --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sites", "sentence"),
    [
        ((some("Pier", 0, 0), some("Mill", 0, 0)), "*None* of 40 checks was missed in the last 2 weeks."),
        (
            (some("Pier", 1, 0), some("Mill", 5, 6)),
            "*12 of 40* checks were missed in the last 2 weeks, most of them at *Mill*.",
        ),
        (
            (some("Pier", 2, 1), some("Mill", 2, 2), some("Dock", 3, 0)),
            "*10 of 60* checks were missed in the last 2 weeks, more at *Mill* than at any other site.",
        ),
        ((some("Pier", 2, 2), some("Mill", 2, 2)), "*8 of 40* checks were missed in the last 2 weeks."),
        ((some("Pier", 2, 2),), "*4 of 20* checks were missed in the last 2 weeks."),
        ((some("Pier", 1, 0), some("Mill", 0, 0)), "*1 of 40* checks was missed in the last 2 weeks, at *Pier*."),
        (
            (some("Pier", 0, 0, wanted=0),),
            "The recheck plan wanted no check in the last 2 weeks, as far as it is on record.",
        ),
    ],
)
def test_the_sentence_says_what_was_missed_and_where(desk: Desk, sites: tuple[SiteWeeks, ...], sentence: str) -> None:
    assert wording.headline(desk, activity(*sites)) == sentence


# --- a cell --------------------------------------------------------------------------------------------------


def test_a_cell_fills_with_what_was_done_of_what_could_be() -> None:
    week = Week(MONDAY, wanted=10, done=6, missed=2, not_used=2)
    assert wording.share_done(week) == 0.75
    assert wording.share_done(replace(week, done=8, missed=0)) == 1.0
    assert wording.share_done(Week(MONDAY, wanted=3, not_used=3)) is None
    assert wording.share_done(Week(MONDAY, why="no_shifts")) is None


def test_sentence_and_row_count_alike_while_a_shift_is_on(desk: Desk) -> None:
    weeks = (Week(MONDAY, wanted=12, done=5, missed=6, open=1),)
    found = activity(SiteWeeks("pier", "Pier", weeks))
    grid = Grid(desk, found, narrow=False)
    assert wording.headline(desk, found).startswith("*6 of 11* checks")
    assert "6 of 11" in [one.text() for one in grid.findChildren(QLabel)]
    assert wording.told(desk, found.sites[0], weeks[0]) == (
        "Pier, week from 03/02/2026: 11 wanted, 5 done, 6 missed. One is wanted in the shift that is on."
    )
    grid.deleteLater()


def test_a_cell_in_words_leaves_nothing_out(desk: Desk) -> None:
    week = Week(MONDAY, wanted=10, done=5, missed=2, not_used=1, not_found=2)
    assert wording.told(desk, some("Pier"), week) == (
        "Pier, week from 03/02/2026: 10 wanted, 5 done, 2 missed. One was not used. 2 were not found."
    )
    unknown = Week(MONDAY, why="no_plan")
    assert wording.told(desk, some("Pier"), unknown) == (
        "Pier, week from 03/02/2026: not known, no recheck plan is on record."
    )


@pytest.mark.parametrize(("share", "filled"), [(None, 0.0), (0.0, 0.0), (0.5, 0.5), (1.0, 1.0)])
def test_it_fills_from_its_foot(share: float | None, filled: float) -> None:
    image = picture(lambda painter, rect: paint_cell(painter, rect, share, "", LIGHT), 44, 44)
    inside = 40 * 40
    assert count(image, LIGHT.level) / inside == pytest.approx(filled, abs=0.08)
    if share == 0.5:
        assert image.pixel(22, 38) == LIGHT.level.rgb()
        assert image.pixel(22, 8) == LIGHT.sheet.rgb()


def test_the_figure_is_what_was_missed() -> None:
    def with_figure(painter: QPainter, rect: QRectF) -> None:
        paint_cell(painter, rect, 1.0, "7", LIGHT)

    assert count(picture(with_figure, 44, 44), LIGHT.ink) > 10
    assert count(picture(lambda painter, rect: paint_cell(painter, rect, 1.0, "", LIGHT), 44, 44), LIGHT.ink) == 0


# --- the page on a real record -------------------------------------------------------------------------------


def test_a_quiet_kitchen_is_said_to_have_missed_nothing(kitchen: Kitchen, page: DriftPage) -> None:
    assert page.weeks.sentence.accessibleName() == (
        "The recheck plan wanted no check in the last 12 weeks, as far as it is on record."
    )


def test_missed_checks_are_counted_and_lead_to_the_log(
    kitchen: Kitchen, desk: Desk, frame: Frame, page: DriftPage
) -> None:
    for tag in ("DIGI0", "DIGI1"):
        kitchen.checked(digi(kitchen, tag), "0.2 C")
    kitchen.clock.move(days=1)
    kitchen.checked(digi(kitchen, "DIGI1"), "0.2 C")
    kitchen.clock.move(days=1)
    desk.recorded.emit()
    assert page.weeks.sentence.accessibleName().startswith("11 of ")
    assert page.weeks.unknown.text() == (
        "11 of 12 site weeks are not counted: no shifts or no recheck plan were on record."
    )
    assert page.weeks.grid is not None
    (row,) = page.weeks.grid.cells
    assert [cell.text() for cell in row] == [""] * 11 + ["11"]
    assert ", so far: " in row[-1].accessibleName()
    assert "11 missed." in row[-1].accessibleName()
    assert "not known, no shifts are on record." in row[0].accessibleName()
    row[-1].setFocus()
    assert page.weeks.told.text() == row[-1].accessibleName()
    QTest.keyClick(row[-1], Qt.Key.Key_Return)
    assert frame.place == "proof"
    proof = frame.page
    assert isinstance(proof, ProofPage)
    assert proof.choice.value == "log"
    assert proof.log.log is not None
    assert (proof.log.log.site, proof.log.log.first_day) == (kitchen.site, date(2026, 3, 1))


def test_arrow_keys_go_through_the_grid_and_tab_meets_it_once(frame: Frame, page: DriftPage) -> None:
    assert page.weeks.grid is not None
    (row,) = page.weeks.grid.cells
    row[-1].setFocus()
    QTest.keyClick(row[-1], Qt.Key.Key_Left)
    assert row[-2].hasFocus()
    QTest.keyClick(row[-2], Qt.Key.Key_Up)
    assert row[-2].hasFocus()
    by_tab = [cell for cell in row if cell.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert by_tab == [row[-2]]


# --- who may be out soonest ----------------------------------------------------------------------------------


def worn(kitchen: Kitchen) -> list[str]:
    """Three that are checked five times: one drifts toward its limit, one is steady, one failed."""
    goes, stays, failed = (digi(kitchen, f"DIGI{n}") for n in range(3))
    for n in range(5):
        kitchen.checked(goes, f"{0.2 * n:.1f} C")
        kitchen.checked(stays, "0.0 C")
        kitchen.clock.move(days=7)
    kitchen.checked(failed, "5 C", "5 C", "5 C")
    return [goes, stays, failed]


def test_the_sentence_and_the_rows_say_who_may_be_out(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    assert (
        page.sentence.accessibleName()
        == "No thermometer in use was measured yet, so nothing is known of where they go."
    )
    worn(kitchen)
    frame.read_again()
    ranked = page.ranked
    assert ranked is not None
    assert [one.tag_id for one in ranked.rows] == ["DIGI0", "DIGI1"]
    first, second = (one.by_day or 0.0 for one in ranked.rows)
    assert first > LIKELY > second
    assert page.sentence.accessibleName() == (
        "1 of 2 thermometers may be out by May\u00a07. 1 failed and stays out until a good check."
    )
    names = [one.accessibleName() for one in page.ranking.links]
    assert names[0] == "DIGI2: failed"  # no chance is told of it
    assert names[1].startswith("DIGI0: chance to be out ")
    assert names[1].endswith(", worst point: ice")
    told = [one.text() for one in page.ranking.findChildren(Words)]
    assert "One failed and was not mended since" in told


def test_a_row_leads_to_its_thermometer(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    goes, *_ = worn(kitchen)
    frame.read_again()
    link = page.ranking.links[1]
    link.setFocus()
    QTest.keyClick(link, Qt.Key.Key_Return)
    assert isinstance(frame.page, ThermometersPage)
    assert frame.page.one.thermometer == goes


@pytest.mark.slow
def test_another_day_is_asked_for_and_one_that_has_passed_is_refused(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers
) -> None:
    worn(kitchen)
    frame.read_again()
    before = page.ranked
    assert before is not None
    answers.ready = [{"by_day": "2020-01-01"}, {"by_day": (before.day + timedelta(days=60)).isoformat()}]
    QTest.mouseClick(page.by_day, Qt.MouseButton.LeftButton)
    assert answers.problems == ["by_day: not_ahead"]
    assert page.ranked is before
    QTest.mouseClick(page.by_day, Qt.MouseButton.LeftButton)
    assert page.ranked is not None
    assert page.ranked.day == before.day + timedelta(days=60)
    assert (page.ranked.rows[0].by_day or 0.0) > (before.rows[0].by_day or 1.0)


def test_it_is_narrowed_by_type(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    worn(kitchen)
    kitchen.checked(digi(kitchen, "DIAL0"), "0.0 C")
    frame.read_again()
    assert page.ranked is not None
    assert page.ranked.of == 3
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    assert [one.tag_id for one in page.ranked.rows] == ["DIAL0"]
    assert page.ranked.failed == ()


def test_a_longer_choice_is_shown_whole(frame: Frame, page: DriftPage) -> None:
    QApplication.sendPostedEvents()
    page.type.setCurrentIndex(page.type.findData("liquid_in_glass"))
    QApplication.sendPostedEvents()
    words = page.type.fontMetrics().horizontalAdvance(page.type.currentText())
    assert page.type.width() >= words + 40  # the arrow and the margins


def test_models_are_drawn_and_told_with_their_interval(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    worn(kitchen)
    frame.read_again()
    lines = [one.accessibleName() for one in page.groups.findChildren(IntervalLine)]
    assert len(lines) == 1
    assert " a month, between " in lines[0]


def test_each_line_is_told_by_pointer_and_by_keys(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    kitchen.checked(kitchen.dial(), "1 C")
    kitchen.checked(kitchen.enrol(), "0.2 C")
    frame.read_again()
    page.offsets.choose("type")
    spread = page.offsets.spread
    assert spread is not None
    lines = spread.findChildren(IntervalLine)
    told = spread.told
    assert [one.focusPolicy() for one in lines].count(Qt.FocusPolicy.StrongFocus) == 1
    said = []
    lines[0].setFocus()
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_Up):
        said.append(told.text())
        QTest.keyClick(frame.focusWidget(), key)
    assert said[:2] == [one.accessibleName() for one in lines[:2]]
    assert frame.focusWidget() is lines[len(lines) - 2]
    QApplication.sendEvent(lines[-1], QEnterEvent(QPointF(), QPointF(), QPointF()))
    assert told.text() == lines[-1].accessibleName()


def test_the_recheck_rule_rests_on_what_is_told_behind_a_press(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers
) -> None:
    worn(kitchen)
    frame.read_again()
    answers.ready = [True, "risk_based", True]
    QTest.mouseClick(page.recheck.why, Qt.MouseButton.LeftButton)
    assert "Thermistor probe: " in answers.details[-1]
    QTest.mouseClick(page.recheck.another, Qt.MouseButton.LeftButton)
    assert "As it went: " in answers.details[-1]
    assert "if every check had been made" in answers.details[-1]


@pytest.mark.slow
def test_the_page_for_the_manager_is_drawn(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers, tmp_path: Path
) -> None:
    worn(kitchen)
    frame.read_again()
    answers.ready = [tmp_path / "overview.pdf"]
    QTest.mouseClick(page.paper, Qt.MouseButton.LeftButton)
    assert (tmp_path / "overview.pdf").read_bytes().startswith(b"%PDF")


def test_who_looks_only_sees_it_all(kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    before = kitchen.count()
    frame.go("drift")
    assert isinstance(frame.page, DriftPage)
    assert frame.page.weeks.grid is not None
    assert kitchen.count() == before


# --- where offsets lie ---------------------------------------------------------------------------------------


def difference(text: str) -> TemperatureDifference:
    return TemperatureDifference(Decimal(text), "C")


def test_quartiles_in_the_unit_that_is_shown() -> None:
    one = Offsets("x", 5, 0, 0, difference("-0.5"), difference("0.5"), difference("1.0"))
    # A difference of 1 °C is one of 1.8 °F (SI Brochure, 9th ed., 2.3.1: the degree Celsius; 9/5 by definition)
    assert interval(one, "F") == Interval(-0.9, 0.9, 1.8)
    assert interval(one, "C") == Interval(-0.5, 0.5, 1.0)
    assert interval(Offsets("x", 2, 0, 0, None, None, None), "C") is None


@pytest.mark.parametrize(("found", "full"), [(Interval(0.2, 0.4, 0.6), True), (Interval(-0.2, 0.4, 0.6), False)])
def test_the_point_is_full_where_the_line_leaves_nought_out(found: Interval, full: bool) -> None:
    image = picture(lambda painter, rect: paint_interval(painter, rect, found, 1.0, LIGHT), 201, 30)
    middle = image.pixel(round(100.5 + 0.4 * 100.5), 15)
    assert (middle == LIGHT.ink.rgb()) is full
    assert image.pixel(round(100.5 + 0.55 * 100.5), 15) == LIGHT.ink.rgb()  # the line
    assert image.pixel(180, 15) == LIGHT.sheet.rgb()


@pytest.mark.parametrize("found", [None, Interval(0, 0, 0), Interval(-1e9, 1e9, 1e9)])
def test_painters_take_empty_and_extreme_values(found: Interval | None) -> None:
    for reach in (1.0, 0.0):
        image = picture(lambda painter, rect, reach=reach: paint_interval(painter, rect, found, reach, LIGHT), 60, 30)
        assert count(image, LIGHT.ink) > 0


def test_groups_are_told_with_how_many_and_how_many_outside(kitchen: Kitchen, desk: Desk, page: DriftPage) -> None:
    for n in range(3):
        kitchen.checked(digi(kitchen, f"DIGI{n}"), f"0.{n + 1} C")
    kitchen.checked(digi(kitchen, "DIAL0"), "9 C", "9 C", "9 C")
    desk.recorded.emit()
    lines = [one.accessibleName() for one in page.offsets.spread.findChildren(IntervalLine)]
    assert lines == [
        # 0.1, 0.2 and 0.3 °C by linear interpolation: 0.15, 0.2, 0.25; shown in °F
        "Thermistor probe: 3 thermometers, 0 outside, 3 without a check;"
        " lower quartile +0.27\u00a0°F, median +0.36\u00a0°F, upper quartile +0.45\u00a0°F.",
        "Bimetal stem: one thermometer, 1 outside, 5 without a check; too few to say where they lie.",
    ]
    QTest.mouseClick(page.offsets.by.button("site"), Qt.MouseButton.LeftButton)
    (line,) = [one.accessibleName() for one in page.offsets.spread.findChildren(IntervalLine) if one.isEnabled()][-1:]
    assert line.startswith("Pier: 4 thermometers, 1 outside, 8 without a check")


def test_lines_are_told_in_words_at_a_press(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    worn(kitchen)
    kitchen.checked(digi(kitchen, "DIAL0"), "0.0 C")
    frame.read_again()
    spread = page.offsets.spread
    assert spread is not None
    first, second = spread.findChildren(IntervalLine)
    assert spread.told.summary.isHidden()
    QTest.keyClick(spread.told.press, Qt.Key.Key_Return)
    assert not spread.told.summary.isHidden()
    assert spread.told.summary.text() == f"{first.accessibleName()} {second.accessibleName()}"


def test_small_plots_are_read_by_keys_without_saying_an_outcome(
    kitchen: Kitchen, frame: Frame, page: DriftPage
) -> None:
    worn(kitchen)
    frame.read_again()
    QApplication.sendPostedEvents()
    first, second = page.ranking.plots
    assert [bool(one.focusPolicy() & Qt.FocusPolicy.TabFocus) for one in (first, second)] == [True, False]
    first.setFocus()
    QTest.keyClick(first, Qt.Key.Key_Left)
    assert first.accessibleDescription() == "March\u00a031, 2026: +1.4\u00a0°F"
    QTest.keyClick(first, Qt.Key.Key_Down)
    assert second.hasFocus()
    QTest.keyClick(second, Qt.Key.Key_Home)
    assert second.accessibleDescription() == "March\u00a03, 2026: 0.0\u00a0°F"


# --- reports taken back --------------------------------------------------------------------------------------


def test_nothing_is_said_where_no_report_was_taken_back(page: DriftPage) -> None:
    assert page.taken_back.isHidden()


def test_a_report_that_its_lead_took_back_is_told_and_leads_to_its_thermometer(
    kitchen: Kitchen, frame: Frame, page: DriftPage
) -> None:
    probe = digi(kitchen)
    for what in ("dropped", "bumped"):
        incidents.report_incident(kitchen.session, kitchen.lead, probe, what)
    for who, entry in zip((kitchen.lead, kitchen.officer), kitchen.entries("incident_reported"), strict=True):
        mend.void(kitchen.session, who, entry.number, "not_done")
    frame.read_again()
    assert not page.taken_back.isHidden()
    told = [one.text() for one in page.taken_back.findChildren(QLabel)]
    assert told[:2] == [
        "Reports taken back",
        "2 reports of something that happened were taken back in the last 12 weeks. The thermometers count since as if "
        "nothing had happened: ask why where you doubt it.",
    ]
    assert told[2].startswith("Bumped: reported by Leo Quist on March\u00a03, 2026")
    assert "taken back by Olga Ibarra on" in told[2]
    assert told[3].startswith("Dropped: reported on ")
    assert told[3].endswith(", both by Leo Quist (not done).")
    line = page.taken_back.findChildren(Button)[-1]
    assert line.accessibleName() == f"DIGI0: {told[3]}"
    line.setFocus()
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert isinstance(frame.page, ThermometersPage)
    assert frame.page.one.thermometer == probe


def test_a_long_name_of_a_site_stands_in_lines_and_keeps_its_words() -> None:
    metrics = QFontMetrics(LIGHT.font(15))
    name = "Universitätsklinikum Nordwestküche, Haus 4, Untergeschoss"
    said = in_lines(name, metrics, 230)
    assert said.split() == name.split()
    lines = said.split("\n")
    assert len(lines) > 1
    assert all(metrics.horizontalAdvance(line) <= 230 for line in lines)
    assert in_lines("Pier", metrics, 230) == "Pier"
    assert in_lines("Untergeschoss", metrics, 20) == "Untergeschoss"


def test_habits_and_swapped_tags_are_told(frame: Frame, kitchen: Kitchen) -> None:
    """Ice that is always warm, by what new thermometers read in it."""
    frame.go("drift")
    page = frame.page
    assert isinstance(page, DriftPage)
    assert page.baths.isHidden()
    those = [kitchen.enrol() for _ in range(8)]
    kitchen.always(dict.fromkeys(those, "0.8 C"), 4)
    page.read_again()
    told = [one.text() for one in page.baths.findChildren(Words)]
    assert "Pier" in told
    assert any(one.startswith("The ice of this kitchen reads +0.") for one in told)


# --- of what is asked for now, and of nothing else -----------------------------------------------------------


@pytest.fixture
def held(desk: Desk, page: DriftPage) -> Iterator[Held]:
    """From here on jobs wait until the test lets them run."""
    before, desk.jobs = desk.jobs, Held()
    yield desk.jobs
    desk.jobs = before


def run_all(held: Held, *, last_first: bool = False) -> None:
    while held.jobs:
        held.jobs.pop(-1 if last_first else 0).run()


def test_an_answer_of_an_earlier_choice_is_not_shown(
    kitchen: Kitchen, frame: Frame, page: DriftPage, held: Held
) -> None:
    worn(kitchen)
    kitchen.checked(digi(kitchen, "DIAL0"), "0.0 C")
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    assert page.sentence.accessibleName() == "Working out where all thermometers go…"
    page.type.setCurrentIndex(page.type.findData("thermistor_probe"))
    run_all(held, last_first=True)
    assert page.ranked is not None
    assert [one.tag_id for one in page.ranked.rows] == ["DIGI0", "DIGI1"]
    page.groups.by.button("maker").click()
    page.groups.by.button("type").click()
    run_all(held, last_first=True)
    told = [one.accessibleName() for one in page.groups.findChildren(IntervalLine)]
    assert told[-1].startswith("Thermistor probe: ")


def test_until_an_answer_is_there_nothing_of_other_thermometers_stands_in_its_place(
    kitchen: Kitchen, frame: Frame, page: DriftPage, held: Held, answers: Answers
) -> None:
    worn(kitchen)
    frame.read_again()
    run_all(held)
    assert page.recheck._advised is not None
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    assert page.ranking.isHidden()
    assert page.ranked is None
    QTest.mouseClick(page.recheck.why, Qt.MouseButton.LeftButton)
    assert answers.asked == []
    for part in (page.recheck, page.groups):
        assert part.findChildren(Words)[-1].text() == "Working it out…"
    run_all(held)
    assert not page.ranking.isHidden()
    assert page.recheck._advised is not None


def test_how_many_weeks_concerns_the_weeks_only(page: DriftPage, held: Held) -> None:
    before = page.ranked
    page.period.button("4").click()
    assert len(held.jobs) == 1
    run_all(held)
    assert page.ranked is before
    assert page.weeks.weeks is not None
    assert len(page.weeks.weeks.sites[0].weeks) == 4


def test_what_could_not_be_worked_out_is_not_said_to_be_on_its_way(
    page: DriftPage, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object, **__: object) -> None:
        raise KnownError("locked")

    monkeypatch.setattr("registry.services.fleet.ranking", locked)
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    run_all(held)
    assert page.sentence.accessibleName() == "Where they go could not be worked out just now."


def test_what_is_replayed_bears_the_name_of_its_own_site(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers, held: Held
) -> None:
    page.site.setCurrentIndex(page.site.findData(kitchen.site))
    run_all(held)
    page._replay("risk_based")
    page.site.setCurrentIndex(0)  # all sites, while it is worked out
    answers.ready = [True]
    run_all(held)
    assert answers.details[-1].startswith("Pier, ")


def test_more_rows_are_asked_for_without_working_out_all_else(page: DriftPage, held: Held) -> None:
    page.more()
    (job,) = held.jobs
    job.run()
    assert held.jobs == [job]


def narrow(page: DriftPage, *, site: str = "", type: str = "") -> None:
    if site:
        page.site.setCurrentIndex(page.site.findData(site))
    if type:
        page.type.setCurrentIndex(page.type.findData(type))


def desk_says(page: DriftPage, code: str) -> str:
    return page.desk.say(f"drift.{code}")


@pytest.mark.slow
def test_a_type_narrows_weeks_offsets_and_reports_too(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    worn(kitchen)
    kitchen.checked(digi(kitchen, "DIAL0"), "0.0 C")
    incidents.report_incident(kitchen.session, kitchen.lead, digi(kitchen), "dropped")
    mend.void(kitchen.session, kitchen.lead, kitchen.last("incident_reported").number, "not_done")
    frame.read_again()
    assert not page.taken_back.isHidden()
    narrow(page, type="bimetal_stem")
    weeks = services_activity.checks_by_week(kitchen.session, weeks=12, type="bimetal_stem")
    assert page.weeks.weeks == weeks
    assert (
        0 < weeks.sites[0].total("wanted") < services_activity.checks_by_week(kitchen.session).sites[0].total("wanted")
    )
    page.offsets.choose("type")
    (line,) = page.offsets.spread.findChildren(IntervalLine)  # type: ignore[union-attr]
    assert line.accessibleName().startswith("Bimetal stem: one thermometer, 0 outside, 5 without a check")
    assert page.taken_back.isHidden()


@pytest.mark.slow
def test_what_cannot_be_narrowed_by_type_says_so(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    those = [kitchen.enrol() for _ in range(8)]
    kitchen.always(dict.fromkeys(those, "0.8 C"), 4)
    frame.read_again()

    def told() -> list[str]:
        QApplication.sendPostedEvents()  # what was just made is shown
        return [one.text() for one in page.findChildren(Words) if one.isVisibleTo(page)]

    assert not any(desk_says(page, "all_types") in one for one in told())
    assert desk_says(page, "recheck_all_types") not in told()
    narrow(page, type="bimetal_stem")
    assert f"{desk_says(page, 'baths_how')} {desk_says(page, 'all_types')}" in told()
    assert desk_says(page, "recheck_all_types") in told()
    assert {one.key for one in page.recheck._advised.intervals} <= {"bimetal_stem"}  # type: ignore[union-attr]


@pytest.mark.parametrize("size", [(1280, 800), (1024, 600)])
def test_how_it_is_narrowed_stays_in_sight_and_is_taken_back(
    frame: Frame, page: DriftPage, kitchen: Kitchen, size: tuple[int, int]
) -> None:
    frame.resize(*size)
    page = frame.page  # type: ignore[assignment]
    row = page.narrowed
    weeks = "" if size[0] == 1024 else " Checks by week and failed checks: the last {} weeks."
    assert row.words.accessibleName() == f"All sites and types.{weeks.format(12)}"
    assert row.all.isHidden()
    narrow(page, site=kitchen.site, type="oven")
    page.period.button("4").click()
    assert row.words.accessibleName() == f"Narrowed to Pier and Oven dial.{weeks.format(4)}"
    assert not any(isinstance(one, Scroll) for one in parents(row, page))  # it never scrolls away
    row.all.setFocus()
    QTest.keyClick(row.all, Qt.Key.Key_Return)
    assert (page.site.currentData(), page.type.currentData()) == ("", "")
    assert row.words.accessibleName() == f"All sites and types.{weeks.format(4)}"
    assert page.site.hasFocus()
    assert len(page.weeks.weeks.sites[0].weeks) == 4  # type: ignore[union-attr]


def parents(widget: QWidget, end: QWidget) -> Iterator[QWidget]:
    while (above := widget.parentWidget()) is not None and above is not end:
        yield above
        widget = above


@pytest.mark.slow
def test_what_is_saved_and_printed_says_how_it_is_narrowed(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers, tmp_path: Path
) -> None:
    worn(kitchen)
    frame.read_again()
    narrow(page, site=kitchen.site, type="thermistor_probe")
    wanted = "Narrowed to Pier and Thermistor probe."
    for part in (page, page.weeks, page.offsets, page.failures, page.replacing):
        assert part.save.narrowed[0] == "PR-thermistor_probe"  # type: ignore[attr-defined]
        in_weeks = part in (page.weeks, page.failures)
        assert part.save.narrowed[1] == (f"{wanted} The last 12 weeks." if in_weeks else wanted)  # type: ignore[attr-defined]
    file = tmp_path / "x.xlsx"
    answers.ready = [file]
    page.weeks.save.ask()
    assert answers.suggested[-1] == "checks-by-week-PR-thermistor_probe.xlsx"
    with ZipFile(file) as book:
        assert wanted in book.read("xl/worksheets/sheet1.xml").decode()
    paper = tmp_path / "x.pdf"
    answers.ready = [paper]
    page._print()
    with pypdfium2.PdfDocument(paper) as document:
        assert "only this type: Thermistor probe" in document[0].get_textpage().get_text_bounded()


@pytest.mark.slow
def test_baths_and_reports_taken_back_are_of_the_site_that_is_chosen(
    kitchen: Kitchen, frame: Frame, page: DriftPage
) -> None:
    mill = places.add_site(kitchen.session, kitchen.admin, NewSite("Mill", "ML", ZONE, Length(Decimal(10), "m")))
    frame.draw_anew()
    page = frame.page  # type: ignore[assignment]
    incidents.report_incident(kitchen.session, kitchen.lead, digi(kitchen), "dropped")
    mend.void(kitchen.session, kitchen.lead, kitchen.last("incident_reported").number, "not_done")
    those = [kitchen.enrol() for _ in range(8)]
    kitchen.always(dict.fromkeys(those, "0.8 C"), 4)
    frame.read_again()
    assert not page.taken_back.isHidden()
    assert not page.baths.isHidden()
    page.site.setCurrentIndex(page.site.findData(mill))
    assert page.taken_back.isHidden()
    assert page.baths.isHidden()


def test_one_that_something_happened_to_is_to_be_checked_first(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    """Its chance alone would read as an excuse."""
    _, stays, _ = worn(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, stays, "dropped")
    frame.read_again()
    assert page.sentence.accessibleName().endswith(" 1 must be checked first: something happened to it.")
    assert any(one.accessibleName().startswith("DIGI1: check first, ") for one in page.ranking.links)
    assert [one.text() for one in page.ranking.findChildren(Words)].count("check first") == 1


@pytest.mark.slow
def test_a_day_that_passed_meanwhile_gives_way_to_the_usual_one(
    kitchen: Kitchen, frame: Frame, page: DriftPage, answers: Answers
) -> None:
    worn(kitchen)
    frame.read_again()
    assert page.ranked is not None
    usual = page.ranked.day
    answers.ready = [{"by_day": (usual - timedelta(days=29)).isoformat()}]
    QTest.mouseClick(page.by_day, Qt.MouseButton.LeftButton)
    assert page.ranked.day == usual - timedelta(days=29)
    kitchen.clock.move(days=3)
    frame.read_again()
    assert page.ranked.day == usual + timedelta(days=3)


@pytest.mark.slow
def test_what_was_chosen_outlives_a_window_made_anew(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    worn(kitchen)
    page.type.setCurrentIndex(page.type.findData("bimetal_stem"))
    page.period.button("8").click()
    frame.draw_anew()
    made = frame.page
    assert isinstance(made, DriftPage)
    assert made is not page
    assert (made.type.currentData(), made.period.value) == ("bimetal_stem", "8")
    assert made.ranked is not None
    assert made.ranked.of == 0
    assert made.weeks.weeks is not None
    assert len(made.weeks.weeks.sites[0].weeks) == 8


# --- the keys stay where they are ----------------------------------------------------------------------------


@pytest.mark.slow
def test_the_keys_stay_on_the_same_thermometer_when_rows_are_drawn_anew(
    kitchen: Kitchen, frame: Frame, page: DriftPage
) -> None:
    worn(kitchen)
    frame.read_again()
    old = page.ranking.links[2]
    assert old.text() == "DIGI1"
    old.setFocus()
    kitchen.checked(digi(kitchen, "DIGI3"), "0.9 C")  # comes before it
    frame.read_again()
    now = QApplication.focusWidget()
    assert isinstance(now, Button)
    assert now is not old
    assert now.text() == "DIGI1"


@pytest.mark.slow
def test_after_more_the_keys_are_on_the_first_new_row(
    kitchen: Kitchen, frame: Frame, page: DriftPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    worn(kitchen)
    monkeypatch.setattr(page, "_shown", 1)
    frame.read_again()
    QApplication.sendPostedEvents()  # laid out, so that it takes keys
    assert page.ranking.more is not None
    page.ranking.more.setFocus()
    QTest.keyClick(page.ranking.more, Qt.Key.Key_Return)
    assert page.ranking.more is None
    assert page.ranking.links[2].hasFocus()
    assert page.ranking.links[2].text() == "DIGI1"


def test_the_keys_stay_on_the_same_week(frame: Frame, page: DriftPage) -> None:
    assert page.weeks.grid is not None
    page.weeks.grid.cells[0][-1].setFocus()
    QTest.keyClick(page.weeks.grid.cells[0][-1], Qt.Key.Key_Left)
    monday = page.weeks.grid.cells[0][-2].week.monday
    frame.read_again()
    now = QApplication.focusWidget()
    assert now is page.weeks.grid.cells[0][-2]
    assert page.weeks.grid.cells[0][-2].week.monday == monday
    page.weeks.grid.names[0].setFocus()
    frame.read_again()
    assert page.weeks.grid.names[0].hasFocus()


def test_who_comes_back_stands_on_the_failure_that_led_away(kitchen: Kitchen, frame: Frame, page: DriftPage) -> None:
    """Where nothing was recorded meanwhile nothing is drawn anew, and the keys stay."""
    worn(kitchen)
    frame.read_again()
    QApplication.sendPostedEvents()  # its rows are shown
    (link,) = (one for one in page.failures.findChildren(Button) if one.text() == "DIGI2" and not one.isHidden())
    link.setFocus()
    QTest.keyClick(link, Qt.Key.Key_Return)
    assert isinstance(frame.page, ThermometersPage)
    frame.go_back()
    assert frame.page is page
    assert link.hasFocus()
