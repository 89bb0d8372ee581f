"""The photo on a thermometer's page: added, enlarged and taken back by keys, and told of to those who only look."""

from pathlib import Path

import pytest
from PIL import Image
from PySide6.QtCore import QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_thermometers_doing import of, opened
from ui.desk import Desk
from ui.frame import Frame
from ui.thermometers import picture as picture_module
from ui.thermometers.picture import PictureShown, decoded
from ui.work import Job

ENTER, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Escape


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "photo.jpg"
    Image.new("RGB", (800, 600), (40, 90, 160)).save(path)
    return path


def shown(frame: Frame, kitchen: Kitchen, tag: str = "DIGI0") -> PictureShown:
    return opened(frame, kitchen, tag).picture


def test_a_photo_is_added_by_keys_and_stands_beside_the_facts(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path
) -> None:
    part = shown(frame, kitchen)
    assert not part.isVisible()
    assert part.add.text() == "Add a photo"
    answers.ready = [photo]
    part.add.setFocus()
    QTest.keyClick(part.add, ENTER)
    stored = kitchen.last("document_stored")
    assert (stored.payload["of"], stored.payload["document"], stored.by) == (
        of(kitchen, "DIGI0"), "picture", kitchen.lead.person,
    )  # fmt: skip
    assert part.isVisible()
    assert part.small.isVisible()
    assert part.small.accessibleName() == "Photo of DIGI0"
    assert part.told.text() == "Photo kept on March\u00a03, 2026 by Leo Quist."
    assert "enlarge" in part.small.accessibleDescription()
    assert part.add.text() == "Another photo"
    assert frame.notice.sentence.text() == "The photo is kept. Where and with what it was taken is not."
    ratio = part.small.width() / part.small.height()
    assert ratio == pytest.approx(800 / 600, rel=0.02)


def test_enter_enlarges_it_and_escape_makes_it_small_again(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path
) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo]
    part._ask()
    part.small.setFocus()
    QTest.keyClick(part.small, ENTER)
    assert (part.large.isVisible(), part.small.isVisible()) == (True, False)
    assert QApplication.focusWidget() is part.large
    assert part.large.heightForWidth(400) == 300
    QTest.keyClick(part.large, ESCAPE)
    assert (part.large.isVisible(), part.small.isVisible()) == (False, True)
    assert QApplication.focusWidget() is part.small
    assert opened(frame, kitchen, "DIGI0").isVisible()  # Escape did not leave the page


def test_another_thermometer_shows_its_own(frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo]
    part._ask()
    QTest.keyClick(part.small, ENTER)
    other = shown(frame, kitchen, "DIAL0")
    assert not other.isVisible()
    assert not other.large.isVisible()
    assert shown(frame, kitchen).small.isVisible()


def test_who_kept_it_takes_it_back_with_a_reason(frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo, "wrong_thermometer"]
    part._ask()
    part.take_back.setFocus()
    QTest.keyClick(part.take_back, ENTER)
    void = kitchen.last("voided")
    assert (void.payload["entries"], void.payload["why"]) == (
        [kitchen.last("document_stored").hash], "wrong_thermometer",
    )  # fmt: skip
    assert not part.isVisible()
    assert QApplication.focusWidget() is part.add
    assert part.add.text() == "Add a photo"


def test_a_lead_does_not_take_back_anothers_or_yesterdays(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path, desk: Desk
) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo]
    part._ask()
    assert part.take_back.isVisible()
    kitchen.clock.move(days=1, hours=1)
    frame.read_again()
    assert part.take_back.isHidden()
    sit_down(desk, kitchen, "officer")
    frame.read_again()
    assert part.take_back.isVisible()


def test_an_auditor_sees_it_and_adds_none(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path, desk: Desk
) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo]
    part._ask()
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    part = shown(frame, kitchen)
    assert part.small.isVisible()
    assert part.add.isHidden()
    assert part.take_back.isHidden()


def test_no_picture_is_refused_in_a_sentence(frame: Frame, kitchen: Kitchen, answers: Answers, tmp_path: Path) -> None:
    letter = tmp_path / "photo.jpg"
    letter.write_text("a letter")
    part = shown(frame, kitchen)
    answers.ready = [letter, tmp_path / "none.jpg"]
    before = kitchen.count()
    part._ask()
    assert frame.notice.sentence.text() == (
        "This file is no JPEG, PNG or WebP picture: choose another, or save it as JPEG first."
    )
    part._ask()
    assert frame.notice.sentence.text().startswith("There is no such file")
    assert kitchen.count() == before
    assert part.add.isEnabled()


def test_a_second_press_while_one_is_read_does_nothing(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path, desk: Desk
) -> None:
    held: list[Job] = []
    desk.jobs.start = lambda job: held.append(job) or job  # type: ignore[method-assign,assignment,func-returns-value]
    part = shown(frame, kitchen)
    answers.ready = [photo, photo]
    part._ask()
    part._ask()
    assert (len(held), part.add.isEnabled(), part.add.text()) == (1, False, "Reading the photo…")
    desk.rebuild.emit()  # drawn anew meanwhile
    held[0].run()
    part = shown(frame, kitchen)
    assert part.add.isEnabled()
    assert part.small.isVisible()


def test_it_is_told_in_the_story_and_voided_there(
    frame: Frame, kitchen: Kitchen, answers: Answers, photo: Path
) -> None:
    part = shown(frame, kitchen)
    answers.ready = [photo]
    part._ask()
    one = opened(frame, kitchen, "DIGI0")
    assert one.story.lines.data(one.story.lines.index(0)) == "Photo added"
    answers.ready = [{"why": "twice"}]
    one.story.setCurrentIndex(one.story.lines.index(0))
    QTest.keyClick(one.story, ENTER)
    number = kitchen.last("document_stored").number
    assert one.story.lines.data(one.story.lines.index(0)) == f"Entry {number} was voided: recorded twice"
    assert one.story.lines.data(one.story.lines.index(1)) == "Void: Photo added"


def test_bytes_of_another_kind_are_not_decoded(tmp_path: Path) -> None:
    """A bundle may bring what another program kept."""
    big, png, svg = tmp_path / "big.jpg", tmp_path / "small.png", b"<svg xmlns='http://www.w3.org/2000/svg'/>"
    Image.new("L", (picture_module.MOST_SHOWN + 1, 8)).save(big)
    Image.new("L", (8, 8)).save(png)
    assert [decoded(one).isNull() for one in (big.read_bytes(), png.read_bytes(), svg, b"")] == [True] * 4
    Image.new("L", (80, 60)).save(tmp_path / "good.jpg")
    assert decoded((tmp_path / "good.jpg").read_bytes()).size() == QSize(80, 60)
