"""The officer's weekly review by keys alone: how many presses it takes, and whether what is shown is what services say.

The counts are what the window takes today (measured, no source); more of them is a step back.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from registry.quantity import Length
from registry.services import activity, csvfile, fleet, intervals, overview, places, replay
from registry.services.places import NewSite
from registry.services.words import fleet as fleet_words
from registry.services.words import intervals as interval_words
from registry.services.words import replay as replay_words
from tests.services.kitchen import ZONE, Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.drift.page import DriftPage
from ui.frame import Frame
from ui.proof.page import ProofPage
from ui.thermometers.page import ThermometersPage

MOST_TABS = 200
PRESSES = {
    "open": 3,
    "worst row and back": 13,
    "narrow by site": 7,
    "another day": 2,
    "what the advice rests on": 20,
    "replay another rule": 2,
    "print": 17,
    "spreadsheet": 2,
    "a missed week": 7,
}  # without what is typed or chosen in the sheets that come up
EVERY_DAY = tuple(range(7))


@dataclass
class Keys:
    """Somebody who has a keyboard and nothing else; each press is counted."""

    frame: Frame
    presses: int = 0
    by_step: dict[str, int] = field(default_factory=dict)

    def press(self, *keys: Qt.Key) -> None:
        for key in keys:
            self.presses += 1
            QTest.keyClick(QApplication.focusWidget() or self.frame, key)
            QApplication.sendPostedEvents()  # what was made is laid out before the next press

    def to(self, wanted: QWidget, key: Qt.Key = Qt.Key.Key_Tab) -> None:
        """By Tab, or Shift and Tab, to something; it must be met."""
        for _ in range(MOST_TABS):
            if wanted.hasFocus():
                return
            self.press(key)
        raise AssertionError(f"{wanted.accessibleName()} is not met by keys")

    def step(self, name: str) -> None:
        """What was pressed since the step before belongs to this one."""
        self.by_step[name] = self.presses - sum(self.by_step.values())


def two_sites(kitchen: Kitchen) -> str:
    """Weeks of checks at Pier and at Mill, where some were missed; one drifts, one failed. The id of Mill."""
    session = kitchen.session
    mill = places.add_site(session, kitchen.admin, NewSite("Mill", "ML", ZONE, Length(Decimal(10), "m")))
    today = session.today(places_of(kitchen)[0])
    places.add_shift(session, kitchen.admin, mill, "Morning", "00:00", "23:59", EVERY_DAY, today)
    goes, stays, failed = kitchen.enrol(), kitchen.enrol(), kitchen.enrol()
    at_mill = kitchen.enrol(site=mill)
    for n in range(6):
        kitchen.checked(goes, f"{0.15 * n:.1f} C")
        kitchen.checked(stays, "0.0 C")
        kitchen.checked(at_mill, "0.2 C")
        kitchen.clock.move(days=7)
    kitchen.checked(failed, "5 C", "5 C", "5 C")
    return mill


def places_of(kitchen: Kitchen) -> list[places.SiteSet]:
    with kitchen.session.reading() as connection:
        return [one.payload for one in places.sites(connection)]


def drift_page(frame: Frame) -> DriftPage:
    assert isinstance(frame.page, DriftPage)
    return frame.page


def told(kitchen: Kitchen, day: date | None = None, **asked: str) -> str:
    """The sentence that the services give of a ranking."""
    found = fleet.ranking(kitchen.session, day, **asked)
    when = fleet_words.day_meant(found.day, fleet.today(kitchen.session, asked.get("site")), "en", "en_US")
    return fleet_words.headline(found, when, "en", "en_US").replace("*", "")


@pytest.mark.slow
def test_the_weekly_review(kitchen: Kitchen, desk: Desk, frame: Frame, answers: Answers, tmp_path: Path) -> None:
    mill = two_sites(kitchen)
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    session, keys = kitchen.session, Keys(frame)

    # Open Drift, and read the sentence.
    frame.column.places["shift"].setFocus()
    keys.to(frame.column.places["drift"])
    keys.press(Qt.Key.Key_Return)
    page = drift_page(frame)
    assert page.sentence.accessibleName() == told(kitchen)
    ranked = fleet.ranking(session)
    assert [one.thermometer for one in page.ranked.rows] == [one.thermometer for one in ranked.rows]  # type: ignore[union-attr]
    keys.step("open")

    # To the row of the worst, and back.
    worst = ranked.rows[0]
    link = next(one for one in page.ranking.links if one.text() == worst.tag_id)
    keys.to(link)
    keys.press(Qt.Key.Key_Return)
    assert isinstance(frame.page, ThermometersPage)
    assert frame.page.one.thermometer == worst.thermometer
    assert frame.page.one.back.hasFocus()
    keys.press(Qt.Key.Key_Return)
    assert drift_page(frame) is page
    assert QApplication.focusWidget().text() == worst.tag_id
    keys.step("worst row and back")

    # Only one site.
    keys.to(page.site, Qt.Key.Key_Backtab)
    keys.press(Qt.Key.Key_Down)
    assert page.site.currentData() in (kitchen.site, mill)
    while page.site.currentData() != mill:
        keys.press(Qt.Key.Key_Down)
    assert page.sentence.accessibleName() == told(kitchen, site=mill)
    weeks = activity.checks_by_week(session, [mill], weeks=12)
    assert [one.name for one in page.weeks.weeks.sites] == ["Mill"]  # type: ignore[union-attr]
    assert page.weeks.weeks.sites[0].total("missed") == weeks.sites[0].total("missed") > 0  # type: ignore[union-attr]
    keys.step("narrow by site")

    # By another day.
    day = fleet.today(session, mill) + timedelta(days=90)
    answers.ready = [{"by_day": day.isoformat()}]
    keys.to(page.by_day, Qt.Key.Key_Backtab)
    keys.press(Qt.Key.Key_Return)
    assert page.sentence.accessibleName() == told(kitchen, day, site=mill)
    keys.step("another day")

    # What the advice rests on.
    answers.ready = [True]
    keys.to(page.recheck.why)
    keys.press(Qt.Key.Key_Return)
    for one in intervals.by_group(session, "type", [mill]):
        for line in interval_words.reasons(one, "en", "en_US"):
            assert line in answers.details[-1]
    for site in intervals.plans_kept(session, [mill]):
        assert interval_words.kept(site, "en", "en_US") in answers.details[-1]
    keys.step("what the advice rests on")

    # Another rule.
    answers.ready = ["risk_based", True]
    keys.to(page.recheck.another)
    keys.press(Qt.Key.Key_Return)
    again = replay_words.sentences(replay.replay(session, "risk_based", [mill]), "Mill", "en", "en_US")
    assert answers.details[-1] == "\n".join(again)
    keys.step("replay another rule")

    # A page for the manager.
    paper = tmp_path / "page.pdf"
    answers.ready = [paper]
    keys.to(page.paper, Qt.Key.Key_Backtab)
    keys.press(Qt.Key.Key_Return)
    with pypdfium2.PdfDocument(paper) as document:
        printed = " ".join(document[0].get_textpage().get_text_bounded().split())
    answer = overview.overview_facts(session, mill, by_day=day).answer.replace("**", "")
    assert answer.replace("\u00a0", " ") in printed.replace("\u00a0", " ")
    keys.step("print")

    # The ranking as a spreadsheet.
    table = tmp_path / "ranking.xlsx"
    answers.ready = [table]
    keys.to(page.save)
    keys.press(Qt.Key.Key_Return)
    saved = [cells for _, cells in csvfile.open_table(table.read_bytes(), (), asking=True).rows()]
    found = fleet.ranking(session, day, site=mill, limit=None)
    assert [cells[0] for cells in saved] == [one.tag_id for one in (*found.rows, *found.failed)]
    keys.step("spreadsheet")

    # A missed week, in its log.
    grid = page.weeks.grid
    assert grid is not None
    keys.to(grid.cells[0][-1])
    keys.press(Qt.Key.Key_Left)
    cell = grid.cells[0][-2]
    assert cell.week.missed > 0
    assert page.weeks.told.text() == cell.accessibleName()
    keys.press(Qt.Key.Key_Return)
    assert isinstance(frame.page, ProofPage)
    assert frame.page.log.log is not None
    assert frame.page.log.log.site == mill
    assert frame.page.log.log.first_day == cell.week.monday.replace(day=1)
    keys.step("a missed week")

    assert keys.by_step == PRESSES
