"""Certificates of a whole site in the window: asked first, stopped in the middle, told afterwards; papers to pin up."""

from pathlib import Path
from threading import Event
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from registry.services import batch_certificates, papers
from registry.services.table import Wanted
from tests.documents.reading import pages_of, words_of
from tests.services.kitchen import Kitchen
from tests.services.test_exchange import with_address
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_proof import digi
from ui.desk import Desk
from ui.frame import Frame
from ui.happened.page import HappenedPage
from ui.happened.sheet import SheetPart
from ui.proof.batch import IssuingPart
from ui.proof.certificates import CertificatesPart
from ui.proof.page import ProofPage
from ui.setup.page import SetupPage
from ui.setup.rules import RulesPart
from ui.thermometers.page import ThermometersPage
from ui.work import Threads


@pytest.fixture
def part(frame: Frame) -> CertificatesPart:
    frame.go("proof")
    assert isinstance(frame.page, ProofPage)
    frame.page.show_part("certificates")
    return frame.page.certificates


def told(part: CertificatesPart) -> str:
    (found,) = part.findChildren(IssuingPart)
    assert not found.isHidden()
    return found.answer.text()


def test_one_file_of_all_that_lack_one_and_who_gets_none(
    kitchen: Kitchen, part: CertificatesPart, answers: Answers, tmp_path: Path
) -> None:
    for tag in ("DIGI0", "DIGI1"):
        kitchen.checked(digi(kitchen, tag), "0.2 C")
    answers.ready = ["file", tmp_path / "all"]
    part.batch.click()
    assert answers.asked[0].startswith("Issue 2 certificates, of the latest checks that have none yet?")
    assert "10 thermometers can get none now" in answers.asked[0]
    assert pages_of((tmp_path / "all.pdf").read_bytes()) == 2  # its ending was left out, and it is a file all the same
    assert told(part).startswith("2 certificates issued. Written:")
    assert "DIAL0 gets none: it has not been checked yet." in told(part)
    assert len(part.table.cells.rows) == 2  # the list shows them at once


def test_a_second_press_offers_those_that_there_are(
    kitchen: Kitchen, part: CertificatesPart, answers: Answers, tmp_path: Path
) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    answers.ready = ["folder", tmp_path, "all", tmp_path / "all.pdf"]
    part.batch.click()
    assert len(list(tmp_path.glob("DIGI0-*.pdf"))) == 1
    part.batch.click()
    assert pages_of((tmp_path / "all.pdf").read_bytes()) == 1
    assert told(part).startswith("0 certificates issued.")
    assert len(kitchen.entries("certificate_issued")) == 1


def test_nobody_can_get_one(kitchen: Kitchen, part: CertificatesPart, answers: Answers) -> None:
    part.batch.click()
    assert answers.asked == []
    assert told(part).startswith("No thermometer here can get a certificate now.")


def test_stopped_it_says_how_many_are_left_and_what_was_issued_is_kept(
    kitchen: Kitchen,
    desk: Desk,
    part: CertificatesPart,
    answers: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    for tag in ("DIGI0", "DIGI1", "DIGI2"):
        kitchen.checked(digi(kitchen, tag), "0.2 C")
    issue, begun, pressed = papers.issue_certificate, Event(), Event()

    def issue_slowly(*given: Any, **more: Any) -> papers.Issued:
        begun.set()
        assert pressed.wait(30)  # the first one is being drawn when stop is pressed
        return issue(*given, **more)

    monkeypatch.setattr(papers, "issue_certificate", issue_slowly)
    threads = Threads()
    desk.jobs = threads
    answers.ready = ["folder", tmp_path / "folder"]
    part.batch.click()
    qtbot.waitUntil(begun.is_set, timeout=30_000)
    (running,) = part.findChildren(IssuingPart)
    assert not running.cancel.isHidden()
    assert running.said.text() == "0 of 3"
    with qtbot.waitSignal(desk.recorded, timeout=60_000):
        running.cancel.click()
        pressed.set()
    threads.close()
    assert told(part).startswith("One certificate issued. Stopped: 2 are left. Press again to issue those only.")
    assert len(list((tmp_path / "folder").iterdir())) == 1
    found = batch_certificates.missing(kitchen.session, Wanted(site=kitchen.site))
    assert [one.tag_id for one in found.wanting] == ["DIGI1", "DIGI2"]


def test_whoever_only_looks_is_offered_none(kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    frame.go("proof")
    assert isinstance(frame.page, ProofPage)
    frame.page.show_part("certificates")
    assert frame.page.certificates.batch.isHidden()


def test_the_page_of_a_certificate_is_saved_as_html_too(
    kitchen: Kitchen, part: CertificatesPart, answers: Answers, tmp_path: Path
) -> None:
    one = digi(kitchen)
    kitchen.checked(one, "0.2 C")
    kept = papers.issue_certificate(kitchen.session, kitchen.lead, one)
    part.read_again()
    part.table.opened.emit(0)
    answers.ready = [tmp_path / "page.html"]
    part.html.click()
    text = (tmp_path / "page.html").read_text("utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert kept.number in text
    assert "This file says the same as the page that was issued" in text


def test_it_is_saved_in_the_exchange_format_once_the_site_has_an_address(
    kitchen: Kitchen, part: CertificatesPart, frame: Frame, answers: Answers, tmp_path: Path
) -> None:
    one = digi(kitchen)
    kitchen.checked(one, "0.2 C")
    kept = papers.issue_certificate(kitchen.session, kitchen.lead, one)
    part.read_again()
    part.table.opened.emit(0)
    part.dcc.click()
    assert answers.asked == []  # refused before a file is asked for
    assert "site change --address" in frame.notice.sentence.text()
    with_address(kitchen)
    answers.ready = [tmp_path / "page.xml"]
    part.dcc.click()
    assert f">{kept.number}</dcc:uniqueIdentifier>" in (tmp_path / "page.xml").read_text("utf-8")


# --- to pin up -----------------------------------------------------------------------------------------------


def test_the_list_for_the_wall_from_the_table(kitchen: Kitchen, frame: Frame, answers: Answers, tmp_path: Path) -> None:
    kitchen.checked(digi(kitchen), "0.2 C")
    frame.go("thermometers")
    assert isinstance(frame.page, ThermometersPage)
    answers.ready = [tmp_path / "wall.pdf"]
    frame.page.table.wall_button.click()
    assert "DIGI0" in words_of((tmp_path / "wall.pdf").read_bytes())


def test_both_where_the_paper_sheet_is_printed(frame: Frame, answers: Answers, tmp_path: Path) -> None:
    frame.go("happened")
    assert isinstance(frame.page, HappenedPage)
    part = frame.page.show_part("sheet")
    assert isinstance(part, SheetPart)
    answers.ready = [tmp_path / "wall.pdf", tmp_path / "off.pdf"]
    part.wall.click()
    part.off.click()
    assert "Not checked yet: check it first." in words_of((tmp_path / "wall.pdf").read_bytes())
    assert "Olga Ibarra (OI)" in words_of((tmp_path / "off.pdf").read_bytes())


def test_what_we_do_when_one_is_off_from_the_rules(frame: Frame, answers: Answers, tmp_path: Path) -> None:
    frame.go("setup")
    assert isinstance(frame.page, SetupPage)
    frame.page.show_part("rules")
    answers.ready = [tmp_path / "off.pdf"]
    (part,) = frame.page.findChildren(RulesPart)
    part.off.click()
    assert "what we do" in words_of((tmp_path / "off.pdf").read_bytes())
