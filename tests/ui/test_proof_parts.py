"""The monthly log, the record verified, the certificates: what is shown, printed, reviewed, and found to be damaged."""

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from registry.services import mend, papers
from tests.services.kitchen import TUESDAY, Kitchen
from tests.ui.conftest import Answers, sit_down
from tests.ui.painting import LIGHT
from tests.ui.test_proof import digi
from ui.desk import Desk
from ui.frame import Frame
from ui.proof.about import LogOf
from ui.proof.cells import CellRow, Cells
from ui.proof.page import ProofPage
from ui.proof.pages import sheets
from ui.work import Threads


@pytest.fixture
def page(frame: Frame) -> ProofPage:
    frame.go("proof")
    assert isinstance(frame.page, ProofPage)
    return frame.page


def words_in(part: QWidget) -> list[str]:
    QApplication.sendPostedEvents()  # what was put into a layout that is in sight is shown by an event
    return [one.text() for one in part.findChildren(QLabel) if one.isVisibleTo(part)]


# --- the monthly log -----------------------------------------------------------------------------------------


def test_the_log_of_a_site_and_month(kitchen: Kitchen, frame: Frame) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    kitchen.checked(digi(kitchen, "DIGI1"), "9.0 C", "9.0 C", "9.0 C")
    kitchen.clock.move(days=1)
    frame.go("proof", LogOf(kitchen.site, TUESDAY))
    page = frame.page
    assert isinstance(page, ProofPage)
    assert page.choice.value == "log"
    # The others are new: they are asked for before their first use, not by the list of that day.
    assert page.log.sentence.accessibleName() == "0 missed, 2 checked, 1 outside their limits: Pier, March 2026."
    rows = page.log.table.cells.rows
    assert [row.texts[2] for row in rows] == ["DIGI0", "DIGI1"]
    assert [row.weight for row in rows] == ["", "bold"]
    assert page.log.reviewed.text() == "Nobody has recorded a review of this month."


def test_what_was_missed_stands_in_it_by_name(kitchen: Kitchen, page: ProofPage) -> None:
    for tag in ("DIGI0", "DIGI1"):
        kitchen.checked(digi(kitchen, tag), "0.2 C")
    kitchen.clock.move(days=1)
    kitchen.checked(digi(kitchen, "DIGI1"), "0.2 C")
    kitchen.clock.move(days=1)
    page.show_part("log")
    missed = [row.texts[:3] for row in page.log.table.cells.rows if row.texts[8] == "Missed"]
    others = {"DIGI0", "DIGI2", "DIGI3", "DIGF0", "DIGF1", "DIAL0", "DIAL1", "DIAL2", "DIAL3", "DIAF0", "DIAF1"}
    assert {row[0] for row in missed} == {"03/04/2026"}  # on the day before all but two were new
    assert sorted(row[2] for row in missed) == sorted(others)
    assert page.log.sentence.accessibleName().startswith("11 missed, 3 checked, 0 outside")


def test_other_months_are_gone_to_and_one_to_come_is_refused(frame: Frame, page: ProofPage) -> None:
    page.show_part("log")
    page.log._earlier()
    assert page.log.typed_month.text() == "February 2026"
    assert page.log.sentence.accessibleName() == "Nothing is on record for Pier in February 2026."
    page.log.typed_month.clear()
    QTest.keyClicks(page.log.typed_month, "3/2026")
    QTest.keyClick(page.log.typed_month, Qt.Key.Key_Return)
    assert page.log.typed_month.text() == "March 2026"
    page.log._later()
    assert frame.notice.isVisible()
    assert page.log.typed_month.text() == "March 2026"


def test_an_officer_reviews_and_nobody_else(kitchen: Kitchen, desk: Desk, frame: Frame, answers: Answers) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    frame.go("proof", LogOf(kitchen.site, TUESDAY))
    page = frame.page
    assert isinstance(page, ProofPage)
    answers.ready = [False, True]
    page.log.review.click()
    assert kitchen.entries("reviewed") == []
    page.log.review.click()
    assert answers.asked[-1] == "Record that you looked through Pier, March\u00a01, 2026 to March\u00a03, 2026?"
    said = kitchen.last("reviewed")
    assert (said.payload["from_day"], said.payload["to_day"], said.by) == (
        "2026-03-01", "2026-03-03", kitchen.officer.person,
    )  # fmt: skip
    assert page.log.reviewed.text().startswith("Reviewed by Olga Ibarra (OI), ")
    sit_down(desk, kitchen, "lead")
    desk.rebuild.emit()
    assert isinstance(frame.page, ProofPage)
    assert not frame.page.log.review.isVisible()


def test_the_log_is_printed(kitchen: Kitchen, page: ProofPage, answers: Answers, tmp_path: Path) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    page.show_part("log")
    answers.ready = [tmp_path / "log.pdf"]
    page.log.print.click()
    found = sheets((tmp_path / "log.pdf").read_bytes())
    assert "DIGI0" in found[0].text


def test_a_line_goes_to_its_thermometer(
    kitchen: Kitchen, desk: Desk, frame: Frame, page: ProofPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    page.show_part("log")
    went: list[tuple[str, object]] = []
    monkeypatch.setattr(frame, "go", lambda place, about: went.append((place, about)))
    desk.wanted.disconnect()
    desk.wanted.connect(lambda place, about: went.append((place, about)))
    QTest.keyClick(page.log.table, Qt.Key.Key_Return)
    assert went == [("thermometers", digi(kitchen))]


def test_no_word_of_the_table_is_cut(kitchen: Kitchen, frame: Frame, page: ProofPage) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    kitchen.clock.move(days=1)
    page.show_part("log")
    table = page.log.table
    metrics = table.fontMetrics()
    for number, row in enumerate(table.cells.rows):
        for column, words in enumerate(row.texts):
            widest = max(metrics.horizontalAdvance(word) for word in words.split(" "))
            assert widest < table.columnWidth(column), (number, column, words)


# --- the record ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("deep", [False, True])
def test_a_whole_record_is_said_to_be_whole(kitchen: Kitchen, page: ProofPage, deep: bool) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    page.show_part("record")
    (page.record.deep if deep else page.record.plain).click()
    assert page.record.sentence.accessibleName() == "Whole."
    words = words_in(page.record)
    passed = f"{kitchen.count()} entries were read"
    (first,) = [one for one in words if one.startswith(passed)]
    assert first.startswith(f"{passed} with every signature, ") is deep
    assert "None was changed, removed or put in later" in first
    assert any(one.startswith(f"The last entry is {kitchen.entries()[-1].number}, ") for one in words)
    assert not any("demo" in one for one in words)


def test_what_was_found_stands_after_another_language(desk: Desk, frame: Frame, page: ProofPage) -> None:
    page.show_part("record")
    page.record.plain.click()
    desk.choose("language", "es")
    again = frame.page
    assert isinstance(again, ProofPage)
    assert again.choice.value == "record"
    assert again.record.sentence.accessibleName() == "Entero."


def test_what_verifying_cannot_show_is_in_sight_before_it_is_asked_for(page: ProofPage) -> None:
    page.show_part("record")
    words = " ".join(words_in(page.record))
    assert "Whether the end was cut off" in words
    assert "Whether somebody copied the key" in words
    assert "whoever can use this account can use its key" in words


def tamper(kitchen: Kitchen, statement: str) -> None:
    """As somebody with the file would, past its guards."""
    with closing(sqlite3.connect(kitchen.home / "registry.db")) as connection, connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(statement)


def test_a_changed_entry_is_named_and_what_it_means(kitchen: Kitchen, page: ProofPage) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    changed = kitchen.last("check_recorded")
    tamper(kitchen, f"UPDATE entries SET text = replace(text, '0.2 C', '0.1 C') WHERE seq = {changed.seq}")
    page.show_part("record")
    page.record.plain.click()
    assert page.record.sentence.accessibleName().startswith("Not whole.")
    rows = [row.texts for row in page.record.findings.cells.rows]
    assert (changed.number, "Its text was changed") in rows
    words = words_in(page.record)
    assert any(one.startswith("Entries were changed, removed or put in") for one in words)
    assert any(one.startswith("Keep this folder as it is") for one in words)
    assert not any("None was changed" in one for one in words)


def test_an_end_that_was_cut_off_is_named(kitchen: Kitchen, page: ProofPage) -> None:
    before = kitchen.entries()[-1].seq
    kitchen.checked(digi(kitchen), "0.2 C")
    last = kitchen.entries()[-1]
    tamper(kitchen, f"DELETE FROM entries WHERE seq > {before}")
    page.show_part("record")
    page.record.deep.click()
    assert page.record.sentence.accessibleName().startswith("Not whole.")
    said = dict(row.texts for row in page.record.findings.cells.rows)[last.number]
    assert f"missing, {last.seq - before} in all: its key signed up to number {last.number}" in said
    words = words_in(page.record)
    assert any(one.startswith("The key that signs this record knows of more than is here") for one in words)
    assert not any("None was changed" in one for one in words)


def test_verifying_goes_on_beside_the_window_and_is_stopped(
    kitchen: Kitchen, desk: Desk, frame: Frame, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    from threading import Event

    from registry.services import proof_page

    begun, go_on = Event(), Event()
    real = proof_page.verify

    def slow(session, *, deep, progress):  # type: ignore[no-untyped-def]
        begun.set()
        go_on.wait(20)
        return real(session, deep=deep, progress=progress)

    monkeypatch.setattr(proof_page, "verify", slow)
    threads = Threads()
    desk.jobs = threads
    try:
        frame.go("proof")
        qtbot.waitUntil(lambda: isinstance(frame.page, ProofPage))
        page = frame.page
        assert isinstance(page, ProofPage)
        page.show_part("record")
        page.record.plain.click()
        assert begun.wait(20)
        assert page.record.stop.isVisible()
        assert not page.record.plain.isVisible()
        page.record.stop.click()
        go_on.set()
        qtbot.waitUntil(lambda: page.record.plain.isVisible())
        assert page.record.sentence.accessibleName() == "Stopped before the end. This says nothing of the rest."
        assert page.record.looked is None
    finally:
        go_on.set()
        threads.close()


@pytest.mark.slow
def test_the_month_has_room_for_its_name_in_every_language(desk: Desk, frame: Frame, page: ProofPage) -> None:
    desk.choose("language", "es")
    desk.choose("text_size", "200")
    again = frame.page
    assert isinstance(again, ProofPage)
    again.log.about(desk.site.subject, date(2025, 9, 1))
    field = again.log.typed_month
    assert field.text() == "septiembre de 2025"
    assert field.width() >= field.fontMetrics().horizontalAdvance(field.text()) + 24


# --- a table that is too wide --------------------------------------------------------------------------------


def test_a_table_with_no_room_for_its_columns_has_all_of_a_row_in_one_cell(qtbot: QtBot) -> None:
    heads = ("Day", "Time", "Tag", "Expected", "Off by", "Action")
    table = Cells(LIGHT, "Log", heads, figures=(3, 4), wrapping=(5,))
    table.resize(900, 300)
    table.show()
    row = ("2026-03-04", "05:31", "PR001R", "0.0 °C", "+1.3 °C", "adjusted by its nut and read again")
    table.show_rows([CellRow(row), CellRow(("2026-03-05", "", "PR002R", "", "", ""))])
    table.setCurrentIndex(table.model().index(1, 0))
    assert table.model().columnCount() == 6
    usual = table.rowHeight(0)
    table.resize(330, 300)
    model = table.model()
    assert model.columnCount() == 1
    assert table.horizontalScrollBar().maximum() == 0
    told = model.index(0, 0).data()
    assert told.split("\n")[0] == "2026-03-04, 05:31, PR001R"
    assert "Off by:\N{NO-BREAK SPACE}+1.3 °C; Action:" in told
    assert model.index(1, 0).data() == "2026-03-05, PR002R"  # nothing is said of what is empty
    assert model.index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole) == told
    assert table.rowHeight(0) > usual
    assert table.currentIndex().row() == 1
    with qtbot.waitSignal(table.opened) as opened:
        QTest.keyClick(table, Qt.Key.Key_Return)
    assert opened.args == [1]
    table.resize(900, 300)
    assert model.columnCount() == 6
    assert not table.horizontalHeader().isHidden()


# --- certificates --------------------------------------------------------------------------------------------


def issued(kitchen: Kitchen, tag: str = "DIGI0") -> str:
    one = digi(kitchen, tag)
    kitchen.checked(one, "0.2 C")
    return papers.issue_certificate(kitchen.session, kitchen.officer, one).number


def test_certificates_are_found_and_shown_as_they_were_issued(
    kitchen: Kitchen, page: ProofPage, answers: Answers, tmp_path: Path
) -> None:
    number = issued(kitchen)
    issued(kitchen, "DIGI1")
    page.show_part("certificates")
    assert page.certificates.sentence.accessibleName() == "2 certificates fit; 2 shown."
    page.certificates.fields["tag"].setFocus()
    page.certificates.fields["tag"].setText("digi0")
    QTest.keyClick(page.certificates.fields["tag"], Qt.Key.Key_Return)
    assert [row.texts[:2] for row in page.certificates.table.cells.rows] == [(number, "DIGI0")]
    QTest.keyClick(page.certificates.table, Qt.Key.Key_Return)
    assert page.certificates.stack.currentIndex() == 1
    assert page.certificates.title.accessibleName().endswith("It stands.")
    answers.ready = [tmp_path / "page.pdf"]
    page.certificates._save()
    with kitchen.session.reading() as connection:
        (kept,) = papers.issued(connection, digi(kitchen))
        assert (tmp_path / "page.pdf").read_bytes() == papers.page_of(connection, kept)
    QTest.keyClick(page.certificates.back, Qt.Key.Key_Escape)
    assert page.certificates.stack.currentIndex() == 0


def test_a_page_is_drawn_with_its_words(kitchen: Kitchen) -> None:
    issued(kitchen)
    with kitchen.session.reading() as connection:
        (kept,) = papers.issued(connection, digi(kitchen))
        (sheet,) = sheets(papers.page_of(connection, kept))
    # US letter, 612 x 792 points
    assert abs(sheet.image.width() / sheet.image.height() - 612 / 792) < 0.002
    dark = sum(sheet.image.pixelColor(x, y).lightness() < 80 for x in range(0, 1460, 5) for y in range(0, 1890, 5))
    assert 300 < dark < 60_000
    assert "DIGI0" in sheet.text


def test_one_that_rests_on_a_voided_check_says_so_in_the_list_and_over_its_page(
    kitchen: Kitchen, page: ProofPage
) -> None:
    issued(kitchen)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    page.show_part("certificates")
    (row,) = page.certificates.table.cells.rows
    assert row.texts[4] == "rests on a check that counts no more"
    QTest.keyClick(page.certificates.table, Qt.Key.Key_Return)
    title = page.certificates.title.accessibleName()
    assert title.endswith("It rests on a check that counts no more: do not rely on this page.")


def test_one_that_was_withdrawn_or_replaced_says_so(kitchen: Kitchen, page: ProofPage) -> None:
    one = digi(kitchen)
    first = issued(kitchen)
    second = papers.issue_certificate(kitchen.session, kitchen.officer, one, replaces=first).number
    papers.withdraw_certificate(kitchen.session, kitchen.officer, one, second, "other_reason")
    page.show_part("certificates")
    states = {row.texts[0]: (row.texts[4], row.weight) for row in page.certificates.table.cells.rows}
    ended = kitchen.last("certificate_withdrawn").number
    assert states == {first: (f"replaced by {second}", "grey"), second: (f"withdrawn ({ended})", "grey")}
    page.certificates._opened(0)
    assert f"Withdrawn by entry {ended}: this page no longer counts." in page.certificates.title.accessibleName()


def test_days_that_do_not_fit_are_told(frame: Frame, page: ProofPage) -> None:
    page.show_part("certificates")
    page.certificates.fill({"from_day": "2026-03-03", "to_day": "2026-03-01"})
    page.certificates.read_again()
    assert frame.notice.sentence.text() == "The last day lies before the first: look at both."
    assert page.certificates.values()["to_day"] == "2026-03-01"
