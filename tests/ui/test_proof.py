"""Was it right then: the question in a sentence, the answer and no more than is on record, both checks, the paper."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from registry.services import history, incidents, thermometers
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.proof.page import PARTS, ProofPage

# The list that drops down under the tag is a window of its own, which the screen of tests can't raise.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (raise|grabbing)")


@pytest.fixture
def page(frame: Frame) -> ProofPage:
    frame.go("proof")
    assert isinstance(frame.page, ProofPage)
    return frame.page


def digi(kitchen: Kitchen, tag: str = "DIGI0") -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


def words_in(page: ProofPage) -> list[str]:
    QApplication.sendPostedEvents()  # what was put into a layout that is in sight is shown by an event
    return [one.text() for one in page.answer.findChildren(QLabel) if one.isVisibleTo(page)]


def checked_around(kitchen: Kitchen, first: str = "0.2 C", then: str = "0.3 C") -> tuple[str, int]:
    """A thermometer with a check, and another two days later; the id, and an instant in between."""
    one = digi(kitchen)
    kitchen.checked(one, *([first] * 3 if first.startswith("9") else [first]))
    between = kitchen.clock.move(hours=24)
    kitchen.clock.move(hours=24)
    kitchen.checked(one, *([then] * 3 if then.startswith("9") else [then]))
    return one, between


def test_the_question_is_typed_and_enter_answers(kitchen: Kitchen, page: ProofPage) -> None:
    one, _ = checked_around(kitchen)
    fields = page.answer.question.fields
    assert fields["tag"].hasFocus()
    QTest.keyClicks(fields["tag"], "digi0")
    QTest.keyClicks(fields["day"], "3/4/2026")
    QTest.keyClicks(fields["time"], "5:30 am")
    QTest.keyClick(fields["time"], Qt.Key.Key_Return)
    assert page.answer.about is not None
    assert page.answer.about[0] == one
    # 05:30 in New York, still standard time then, is 10:30 UTC
    assert page.answer.about[1] == 1_772_620_200_000_000
    assert page.answer.sentence.accessibleName() == "Yes. DIGI0 was right then."
    assert {name: field.text() for name, field in fields.items()} == {
        "tag": "DIGI0", "day": "March\u00a04, 2026", "time": "5:30\u00a0AM",
    }  # fmt: skip


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize(
    ("said", "where", "sentence"),
    [
        (("", "", ""), "tag", "Type or scan the tag id of the thermometer."),
        (("DIGI0", "", ""), "day", "Type the day that is asked about."),
        (("DIGI0", "3/3/2026", ""), "time", "Type the time of day that is asked about."),
        (("NOSUCH", "3/3/2026", "5:00 am"), "tag", "No thermometer bears NOSUCH: look at its tag."),
        (("DIGI0", "13/13/2026", "5:00 am"), "day", "13/13/2026 is not a day: type it as 2026-03-03."),
        (("DIGI0", "3/3/2026", "25:00"), "time", "25:00 is not a time of day: type it as 14:30."),
        (("DIGI0", "3/9/2027", "5:00 am"), "time", "That time has not come yet: look at the day and the time."),
    ],
)
def test_what_is_not_clear_is_refused_beside_its_field(
    page: ProofPage, said: tuple[str, str, str], where: str, sentence: str
) -> None:
    question = page.answer.question
    question.fill(dict(zip(("tag", "day", "time"), said, strict=True)))
    question.ask_now()
    assert question.problem.text() == sentence
    assert question.problem.isVisible()
    assert question.fields[where].hasFocus()
    assert question.fields[where].accessibleDescription() == sentence
    assert page.answer.about is None
    assert tuple(question.values().values()) == said


def test_the_tag_is_completed_from_what_is_typed(page: ProofPage) -> None:
    tag = page.answer.question.fields["tag"]
    QTest.keyClicks(tag, "DIAL")
    completer = tag.completer()
    assert completer is not None
    model = completer.model()
    offered = [model.index(n, 0).data() for n in range(model.rowCount())]
    assert offered == ["DIAL0", "DIAL1", "DIAL2", "DIAL3"]
    completer.popup().hide()  # type: ignore[union-attr]


def test_both_checks_stand_side_by_side(kitchen: Kitchen, page: ProofPage) -> None:
    one, at = checked_around(kitchen)
    page.show_about((one, at))
    words = words_in(page)
    assert words.count("Leo Quist (LQ)") == 2
    assert {"0.2\u00a0°C", "0.3\u00a0°C"} <= set(words)
    with kitchen.session.reading() as connection:
        numbers = [line.number for line in history.story(kitchen.session, connection, one).checks]
    assert all(any(text.startswith(f"{number}, ") for text in words) for number in numbers)
    assert "Nothing is on record in between that may have moved it." in words


def test_yes_says_how_far_off_the_check_before_found_it(kitchen: Kitchen, page: ProofPage) -> None:
    one, at = checked_around(kitchen)
    page.show_about((one, at))
    said = [
        label.accessibleName() for label in page.answer.findChildren(QLabel) if "check before found" in label.text()
    ]
    assert len(said) == 1
    assert said[0].startswith("The check before found it reading 0.2\u00a0°C high, ±")
    assert said[0].endswith("; the limit was ±1\u00a0°C.")


@pytest.mark.parametrize(
    ("first", "then", "answer"),
    [
        ("9.0 C", "0.3 C", "No. DIGI0 had been found outside its limits, and was not put right by then."),
        ("0.2 C", "9.0 C", "Not known. The record does not show whether DIGI0 was right then."),
    ],
)
def test_never_more_than_the_record_says(kitchen: Kitchen, page: ProofPage, first: str, then: str, answer: str) -> None:
    one, at = checked_around(kitchen, first, then)
    page.show_about((one, at))
    assert page.answer.sentence.accessibleName() == answer


def test_one_that_was_never_checked_is_not_known(kitchen: Kitchen, page: ProofPage) -> None:
    page.show_about((digi(kitchen), kitchen.clock.at))
    assert page.answer.sentence.accessibleName() == "Not known. No check of this thermometer is on record."


def test_an_incident_in_between_is_named(kitchen: Kitchen, page: ProofPage) -> None:
    one = digi(kitchen)
    kitchen.checked(one, "0.2 C")
    at = kitchen.clock.move(hours=5)
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    kitchen.clock.move(hours=5)
    kitchen.checked(one, "0.2 C")
    page.show_about((one, at))
    number = kitchen.last("incident_reported").number
    assert [text for text in words_in(page) if text.startswith("In between: Dropped,") and f"(entry {number})" in text]
    assert page.answer.sentence.accessibleName().startswith("Not known.")


def test_several_points_are_told_apart(kitchen: Kitchen, page: ProofPage) -> None:
    one, at = checked_around(kitchen)
    bath = kitchen.boil(pressure=None)
    kitchen.key(bath, one, "99.6 C")
    kitchen.judge(bath)
    page.show_about((one, at))
    assert page.answer.sentence.accessibleName() == (
        "Yes, at one of its 2 points. What is known of the others stands below."
    )
    assert page.answer.choice.value == "ice_point"
    QTest.mouseClick(page.answer.choice.button("boiling_point"), Qt.MouseButton.LeftButton)
    assert "none that counts" in words_in(page)


def test_what_was_entered_only_later_was_not_known_then(kitchen: Kitchen, page: ProofPage) -> None:
    one = digi(kitchen)
    kitchen.checked(one, "0.2 C")
    dropped = kitchen.clock.move(hours=5)
    at = kitchen.clock.move(hours=1)
    kitchen.clock.move(hours=2)
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped", performed_at=dropped)
    page.show_about((one, at))
    number = kitchen.last("incident_reported").number
    assert [text for text in words_in(page) if text.startswith(f"Not known then: entry {number} about ")]


def test_the_plot_names_a_check_by_arrow_keys(kitchen: Kitchen, page: ProofPage) -> None:
    one, at = checked_around(kitchen)
    page.show_about((one, at))
    page.answer.plot.setFocus()
    QTest.keyClick(page.answer.plot, Qt.Key.Key_Home)
    assert page.answer.asked_point.text() == "March\u00a03, 2026, 5:30\u00a0AM: +0.2\u00a0°C, Pass."


def test_the_answer_is_printed(kitchen: Kitchen, page: ProofPage, answers: Answers, tmp_path: Path) -> None:
    one, at = checked_around(kitchen)
    page.show_about((one, at))
    answers.ready = [tmp_path / "answer.pdf"]
    page.answer._print()
    assert answers.asked == ["Print this answer"]
    assert (tmp_path / "answer.pdf").read_bytes().startswith(b"%PDF")


def test_a_scan_goes_into_the_question(frame: Frame, page: ProofPage) -> None:
    frame.take_tag("DIAL2")
    assert page.answer.question.fields["tag"].text() == "DIAL2"
    assert page.answer.question.fields["day"].hasFocus()
    assert frame.place == "proof"


@pytest.mark.slow
def test_what_was_asked_stands_after_another_theme(kitchen: Kitchen, desk: Desk, frame: Frame, page: ProofPage) -> None:
    one, at = checked_around(kitchen)
    page.show_about((one, at))
    desk.choose("theme", "dark")
    again = frame.page
    assert isinstance(again, ProofPage)
    assert again is not page
    assert again.answer.about == (one, at)
    assert again.answer.sentence.accessibleName() == "Yes. DIGI0 was right then."


def test_looking_changes_nothing(kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    one, at = checked_around(kitchen)
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    before = kitchen.count()
    frame.go("proof", (one, at))
    page = frame.page
    assert isinstance(page, ProofPage)
    for name in PARTS:
        QTest.mouseClick(page.choice.button(name), Qt.MouseButton.LeftButton)
        assert [one for one in PARTS if page.part(one).isVisible()] == [name]
    page.record._verify_deep()
    assert not page.log.review.isVisible()
    assert kitchen.count() == before


def test_no_word_of_the_question_is_clipped(desk: Desk, frame: Frame, page: ProofPage) -> None:
    for size, language in (("100", "es"), ("200", "es"), ("200", "en")):
        desk.choose("language", language)
        desk.choose("text_size", size)
        frame.resize(1024, 700)
        again = frame.page
        assert isinstance(again, ProofPage)
        question = again.answer.question
        parts = [one for one in question.findChildren(QWidget) if one.isVisible() and one.parent() is question]
        assert len(parts) > 6
        for part in parts:
            assert part.geometry().right() <= question.width(), (size, language)
            assert part.geometry().bottom() <= question.height(), (size, language)
            wraps = isinstance(part, QLabel) and part.wordWrap()
            assert wraps or part.width() >= part.sizeHint().width() or part in question.fields.values()


def test_what_had_the_focus_hands_it_to_the_choice_and_not_to_the_column(frame: Frame, page: ProofPage) -> None:
    page.answer.question.fields["tag"].setFocus()
    page.show_part("record")
    assert frame.focusWidget() is page.choice.button("record")


@pytest.mark.slow
def test_at_large_text_the_page_alone_is_scrolled_and_each_part_is_as_high_as_it_needs(
    kitchen: Kitchen, desk: Desk, frame: Frame, qtbot: QtBot
) -> None:
    about = checked_around(kitchen)
    desk.choose("text_size", "200")
    frame.resize(1024, 600)
    frame.go("proof", about)
    page = frame.page
    assert isinstance(page, ProofPage)
    inner = [one for one in page.answer.findChildren(QScrollArea) if one.isVisible()]
    assert inner == []
    outer = next(one for one in page.findChildren(QScrollArea) if one.isVisible())
    qtbot.waitUntil(lambda: outer.widget().height() > 1600)
    page.show_part("record")
    qtbot.waitUntil(lambda: outer.widget().height() < 1400)  # not as high as the longest of them
