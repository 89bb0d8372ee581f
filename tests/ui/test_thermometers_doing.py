"""What is done from a thermometer's page, by role: what was asked, and what the journal holds after it."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.quantity import Reading
from registry.services import certificates, incidents, mend, papers, thermometers, vouching, working_set
from registry.services.vouching import Beside
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers, sit_down
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Button
from ui.tags.page import TagsPage
from ui.thermometers import issuing, voiding
from ui.thermometers.one import OnePart
from ui.thermometers.page import ThermometersPage

ISO = "2026-03-03"


def of(kitchen: Kitchen, tag: str) -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


def opened(frame: Frame, kitchen: Kitchen, tag: str) -> OnePart:
    frame.go("thermometers", of(kitchen, tag))
    page = frame.page
    assert isinstance(page, ThermometersPage)
    return page.one


def button(one: OnePart, name: str) -> Button:
    return next(found for found in one.findChildren(Button) if found.objectName() == name and found.isVisible())


def press(one: OnePart, name: str) -> None:
    QTest.mouseClick(button(one, name), Qt.MouseButton.LeftButton)


def names(one: OnePart) -> list[str]:
    return [found.objectName() for found in one.findChildren(Button) if found.objectName() and found.isVisible()]


@pytest.fixture
def officer(desk: Desk, kitchen: Kitchen, frame: Frame) -> Desk:
    sit_down(desk, kitchen, "officer")
    desk.rebuild.emit()
    return desk


# --- the buttons ---------------------------------------------------------------------------------------------


def test_a_lead_does_not_retire(frame: Frame, kitchen: Kitchen, desk: Desk) -> None:
    one = opened(frame, kitchen, "DIGI0")
    assert names(one) == ["check_now", "report", "move", "print", "more"]
    assert one.page is not None
    assert one.doing.offered(one.page) == ["take_out", "change_sensor", "void"]


def test_an_officer_may_do_all(frame: Frame, kitchen: Kitchen, officer: Desk) -> None:
    one = opened(frame, kitchen, "DIAL0")
    assert names(one) == ["check_now", "report", "move", "print", "retire", "more"]
    assert one.page is not None
    wanted = ["take_out", "limit", "amend", "retag", "outside_certificate", "void"]
    assert one.doing.offered(one.page) == wanted


def test_check_now_goes_to_the_list_with_it(frame: Frame, kitchen: Kitchen) -> None:
    press(opened(frame, kitchen, "DIGI3"), "check_now")
    assert frame.place == "shift"


def test_report_goes_to_something_happened(frame: Frame, kitchen: Kitchen, desk: Desk) -> None:
    one = opened(frame, kitchen, "DIGI3")
    wanted: list[tuple[str, object]] = []
    desk.wanted.disconnect(frame._go_on)
    desk.wanted.connect(lambda place, about: wanted.append((place, about)))
    press(one, "report")
    assert wanted == [("happened", of(kitchen, "DIGI3"))]


def test_a_lost_one_is_not_checked_and_the_page_says_why(frame: Frame, kitchen: Kitchen) -> None:
    thermometers.set_status(kitchen.session, kitchen.lead, of(kitchen, "DIGI0"), "lost")
    one = opened(frame, kitchen, "DIGI0")
    assert not button(one, "check_now").isEnabled()
    assert one.why_not.text() == "It is lost: say that it was found, then check it."


# --- moving and status ---------------------------------------------------------------------------------------


def test_it_is_moved_to_another_station(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    with kitchen.session.reading() as connection:
        to = thermometers.find(connection, "DIGI1").row.station
    answers.ready = [{"place": f"{kitchen.site} {to}"}]
    press(one, "move")
    assert answers.asked == ["Where is DIGI0 now?"]
    assert kitchen.row(of(kitchen, "DIGI0")).station == to
    assert one.place.text() == "Prep, Pier"
    assert str(one.story.lines.index(0, 0).data()) == "Moved from Grill to Prep"


def test_it_is_taken_out_put_back_and_then_checked_first(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["take_out", {"why": "damaged"}]
    press(one, "more")
    assert kitchen.row(of(kitchen, "DIGI0")).status == "out_of_use"
    assert str(one.story.lines.index(0, 0).data()) == "Taken out of use: damaged"
    assert one.due.text() == "Not in use: it owes no check."
    answers.ready = ["put_back", True]
    press(one, "more")
    assert kitchen.row(of(kitchen, "DIGI0")).service_status == "check_first"


def test_nothing_is_done_without_an_answer(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    one, before = opened(frame, kitchen, "DIGI0"), kitchen.count()
    answers.ready = [None, None, None, None]
    for name in ("move", "print", "retire", "more"):
        press(one, name)
    assert len(answers.asked) == 4
    assert kitchen.count() == before


def test_it_is_retired_with_a_reason(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIAL1")
    answers.ready = [{"why": "worn"}]
    press(one, "retire")
    said = kitchen.last("service_status_set").payload
    assert (said["status"], said["why"]) == ("retired", "worn")
    assert "retire" not in names(one)
    assert one.why_not.text() == "It is retired: put it back first, then check it."


@pytest.mark.slow
def test_where_too_few_remain_it_is_said(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    with kitchen.session.reading() as connection:
        grill = thermometers.find(connection, "DIGI0").row.station
    assert grill is not None
    working_set.set_smallest(kitchen.session, kitchen.officer, grill, {"thermistor_probe": 3})
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["limit", {"only": "cold", "why": "outside"}]
    press(one, "more")
    assert frame.notice.isVisible()
    assert frame.notice.sentence.text() == "Pier, Grill: 2 usable left of Thermistor probe; at least 3 needed."
    frame.notice.hide()
    answers.ready = ["take_out", {"why": "damaged"}]
    press(one, "more")
    assert frame.notice.isVisible()
    frame.notice.hide()
    one = opened(frame, kitchen, "DIAL0")
    answers.ready = [{"why": "worn"}]
    press(one, "retire")
    assert not frame.notice.isVisible()  # none is asked of its type


@pytest.mark.slow
def test_its_use_is_limited_and_the_limit_lifted(
    frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers
) -> None:
    one = opened(frame, kitchen, "DIAL1")
    answers.ready = ["limit", {"only": "cold", "why": "outside"}]
    press(one, "more")
    assert one.status.text() == "Limited use: cold food only"
    answers.ready = ["lift_limit", True]
    press(one, "more")
    assert kitchen.row(of(kitchen, "DIAL1")).status == "in_service"


# --- stating anew --------------------------------------------------------------------------------------------


def test_what_it_is_is_stated_anew(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["amend", {"maker": "Odderby", "step": "0.5", "highest": "200", "why": "wrong_range"}]
    press(one, "more")
    said = kitchen.last("thermometer_set").payload
    assert said["maker"] == "Odderby"
    assert said["scales"] == {"C": {"step": "0.5 dC", "lowest": "-40.0 C", "highest": "200 C"}}
    assert str(one.story.lines.index(0, 0).data()) == "Stated anew: the range was wrong"
    assert one.what.text() == "Odderby, Thermistor probe"


def test_a_wrong_range_is_refused_beside_its_fields(
    frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers
) -> None:
    one, before = opened(frame, kitchen, "DIGI0"), kitchen.count()
    answers.ready = ["amend", {"range": "300", "highest": "200"}, "amend", {"step": "O.1", "highest": ""}]
    press(one, "more")
    press(one, "more")
    assert answers.problems == ["range: lowest_not_below_highest", "highest: empty"]
    assert kitchen.count() == before


def test_another_tag_id(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["retag", {"tag_id": "digi1"}, "retag", {"tag_id": "new1"}]
    press(one, "more")
    assert answers.problems == ["tag_id: taken"]
    press(one, "more")
    assert one.tag.text() == kitchen.tag(of(kitchen, "NEW1")) == "NEW1"


def test_another_sensor_asks_for_a_check(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["change_sensor", {"sensor_maker": "Tarquill", "sensor_serial": "S-9"}]
    press(one, "more")
    assert kitchen.last("part_set").payload["serial"] == "S-9"
    assert kitchen.row(of(kitchen, "DIGI0")).service_status == "check_first"


def test_an_outside_certificate_is_stated(frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    said = {
        "certificate_number": "QX-1",
        "issuer": "Quillmark (invented)",
        "issued": "2026-01-10",
        "due": "2027-01-10",
        "points": "0 0.1 0.05 2\n100; -0.1; 0.08; 2",
        "drift": "0.05",
    }
    answers.ready = ["outside_certificate", said | {"points": "0 0.1"}, "outside_certificate", said]
    press(one, "more")
    assert answers.problems == ["points: not_a_point"]
    press(one, "more")
    kept = kitchen.last("outside_certificate_set").payload
    assert kept["points"] == [
        {"temperature": "0 C", "correction": "0.1 dC", "expanded": "0.05 dC", "k": "2"},
        {"temperature": "100 C", "correction": "-0.1 dC", "expanded": "0.08 dC", "k": "2"},
    ]
    assert (kept["drift_allowance"], kept["due"]) == ("0.05 dC", "2027-01-10")


# --- printing ------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_certificates_are_saved(frame: Frame, kitchen: Kitchen, desk: Desk, answers: Answers, tmp_path: Path) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["issue", tmp_path / "issue.pdf"]
    press(one, "print")
    assert (tmp_path / "issue.pdf").read_bytes().startswith(b"%PDF")
    number = kitchen.last("certificate_issued").number
    answers.ready = [f"again {number}", tmp_path / "again.pdf"]
    press(one, "print")
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "issue.pdf").read_bytes()
    assert len(kitchen.entries("certificate_issued")) == 1
    answers.ready = [f"replace {number}", tmp_path / "next.pdf"]
    press(one, "print")
    assert len(kitchen.entries("certificate_issued")) == 2
    assert frame.notice.sentence.text() == f"Saved: {tmp_path / 'next.pdf'}"


def test_a_copy_of_a_certificate_whose_check_was_voided_is_offered_with_a_warning(
    kitchen: Kitchen, desk: Desk, frame: Frame
) -> None:
    one = of(kitchen, "DIGI0")
    kitchen.checked(one, "0.1 C")
    papers.issue_certificate(kitchen.session, kitchen.officer, one)
    (good,) = certificates.find(kitchen.session).certificates
    assert issuing._again_words(desk, good).endswith("as it was issued")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    (void,) = certificates.find(kitchen.session).certificates
    assert issuing._again_words(desk, void).endswith("crossed as not valid; it rests on a check that counts no more")


@pytest.mark.parametrize("what", ["identity", "status"])
def test_a_tag_is_printed_on_the_page_of_tags(
    frame: Frame, kitchen: Kitchen, answers: Answers, tmp_path: Path, what: str
) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = [what, tmp_path / "tag.pdf"]
    press(one, "print")
    assert isinstance(frame.page, TagsPage)
    frame.page.save_button.click()
    assert (tmp_path / "tag.pdf").read_bytes().startswith(b"%PDF")
    assert [entry.payload["tag"] for entry in kitchen.entries("tag_printed")] == [what]


def test_a_status_tag_before_any_check_is_refused(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["status"]
    press(one, "print")
    assert isinstance(frame.page, TagsPage)
    assert frame.page.problem.text() == "It has not been checked yet: check it first."
    assert not frame.page.save_button.isEnabled()
    assert kitchen.entries("tag_printed") == []


# --- voiding -------------------------------------------------------------------------------------------------


def test_what_rests_on_an_entry_is_told_before_it_is_void(
    frame: Frame, kitchen: Kitchen, officer: Desk, answers: Answers, tmp_path: Path
) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["issue", tmp_path / "page.pdf"]
    press(one, "print")
    certificate, check = kitchen.last("certificate_issued").number, kitchen.last("check_recorded").number
    assert one.page is not None
    line = next(found for found in one.page.story if found.number == check)
    assert voiding.consequences(officer, one.page, line) == [
        "The entry stays in the record with its reason, and counts no more.",
        "If it was outside, the thermometer stays check first until a good check.",
        f"These rest on it and have to be looked at again: {certificate}.",
    ]
    answers.ready = ["void", check, {"why": "wrong_thermometer", "words": "swapped at the bath"}]
    press(one, "more")
    assert kitchen.last("voided").payload["why"] == "wrong_thermometer"
    assert f"Look at these again: {certificate}." in frame.notice.sentence.text()
    assert one.answer.accessibleName() == "It has not been checked yet."
    void = next(found for found in one.page.story if found.number == check)
    assert void.voided


def test_a_line_is_opened_by_enter_and_voided_by_who_said_it(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    one = opened(frame, kitchen, "DIGI0")
    frame.activateWindow()
    one.story.setFocus()
    one.story.setCurrentIndex(one.story.lines.index(0, 0))
    answers.ready = [{"why": "not_done"}]
    QTest.keyClick(one.story, Qt.Key.Key_Return)
    assert kitchen.last("voided").payload["why"] == "not_done"
    one.story.setCurrentIndex(one.story.lines.index(one.story.lines.rowCount() - 1, 0))
    QTest.keyClick(one.story, Qt.Key.Key_Return)  # enrolled by somebody else: only told
    assert "Olga Ibarra: Enrolled. Entry " in frame.notice.sentence.text()


def test_a_lead_voids_nothing_of_yesterday(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    kitchen.clock.move(hours=25)
    one, before = opened(frame, kitchen, "DIGI0"), kitchen.count()
    answers.ready = ["void"]
    press(one, "more")
    assert frame.notice.sentence.text() == "A lead voids only their own entries of the last day: ask a safety officer."
    assert kitchen.count() == before


def test_an_auditor_reads_a_line_and_changes_nothing(
    desk: Desk, kitchen: Kitchen, frame: Frame, answers: Answers
) -> None:
    kitchen.checked(of(kitchen, "DIGI0"), "0.1 C")
    sit_down(desk, kitchen, "auditor")
    desk.rebuild.emit()
    one, before = opened(frame, kitchen, "DIGI0"), kitchen.count()
    assert names(one) == []
    one.story.setCurrentIndex(one.story.lines.index(0, 0))
    QTest.keyClick(one.story, Qt.Key.Key_Return)
    assert answers.asked == []
    assert kitchen.count() == before


def test_the_story_says_which_report_was_taken_back(frame: Frame, kitchen: Kitchen, answers: Answers) -> None:
    incidents.report_incident(kitchen.session, kitchen.lead, of(kitchen, "DIGI0"), "dropped")
    one = opened(frame, kitchen, "DIGI0")
    answers.ready = ["void", kitchen.last("incident_reported").number, {"why": "not_done"}]
    press(one, "more")
    told = [one.story.lines.data(one.story.lines.index(n)) for n in range(2)]
    assert told == ["A report was taken back (dropped): not done", "Void: Dropped: to be checked before its next use"]


@pytest.mark.slow
def test_beside_the_inspectors_and_an_allowed_use_are_taken_back(
    frame: Frame, kitchen: Kitchen, answers: Answers, desk: Desk
) -> None:
    first, second, shown = of(kitchen, "DIGI0"), of(kitchen, "DIGI1"), Reading.from_text("20.0 C")
    for each in (first, second):
        kitchen.checked(each, "0.1 C")
    vouching.allow_use(kitchen.session, kitchen.lead, Beside(first, shown, second, shown))
    vouching.side_by_side(kitchen.session, kitchen.lead, first, shown, Reading.from_text("21.5 C"), "inspector")
    for code, sentence in (
        ("use_allowed", "It is then no longer said that it may be used until the end of that shift"),
        ("side_by_side", "What the other one showed is then no longer set against it."),
    ):
        one = opened(frame, kitchen, "DIGI0")
        assert one.page is not None
        line = next(found for found in one.page.story if found.code == code)
        assert any(each.startswith(sentence) for each in voiding.consequences(desk, one.page, line))
        answers.ready = ["void", line.number, {"why": "mistyped"}]
        press(one, "more")
        assert kitchen.last("voided").payload["entries"] == [kitchen.last(code).hash]
        again = opened(frame, kitchen, "DIGI0").page
        assert again is not None
        assert [found.voided for found in again.story if found.code == code] == [True]
    kitchen.clock.move(hours=25)
    vouching.side_by_side(kitchen.session, kitchen.officer, first, shown, shown, "inspector")
    one = opened(frame, kitchen, "DIGI0")
    assert one.page is not None
    (newest,) = [found for found in one.page.story if found.code == "side_by_side" and not found.voided]
    assert not voiding.may_void(desk, newest, kitchen.lead)  # somebody else's
