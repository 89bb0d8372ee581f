"""Two thermometers side by side: an inspector's and ours, and two of ours where no bath can be had."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from registry.services import thermometers
from tests.services.kitchen import Kitchen
from ui.desk import Desk
from ui.frame import Frame
from ui.happened.agree import AgreePart
from ui.happened.inspector import InspectorPart
from ui.happened.page import HappenedPage
from ui.happened.shown import ShownField
from ui.parts import Button, Words


def of_tag(kitchen: Kitchen, tag: str) -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag).row.thermometer


def to(frame: Frame, name: str) -> Any:
    frame.go("happened")
    assert isinstance(frame.page, HappenedPage)
    part = frame.page.show_part(name)
    part.start()
    return part


@pytest.fixture
def inspector(frame: Frame) -> InspectorPart:
    part = to(frame, "inspector")
    assert isinstance(part, InspectorPart)
    return part


@pytest.fixture
def agree(frame: Frame) -> AgreePart:
    part = to(frame, "agree")
    assert isinstance(part, AgreePart)
    return part


def key(shown: ShownField, text: str) -> None:
    shown.field.setFocus()
    QTest.keyClicks(shown.field, text)


def texts(part: Any) -> list[str]:
    return [one.text() for one in part.findChildren(Words) if one.isVisible()]


# --- the inspector is here -----------------------------------------------------------------------------------


def test_both_are_recorded_and_how_far_apart_is_told(inspector: InspectorPart, kitchen: Kitchen) -> None:
    inspector.pick(of_tag(kitchen, "DIGI0"))
    key(inspector.ours, "0,4")
    inspector.theirs.restore(("", "C"))
    key(inspector.theirs, "-0.1")
    QTest.keyClick(inspector.theirs.field, Qt.Key.Key_Return)
    said = kitchen.last("side_by_side").payload
    assert (said["shown"], said["theirs"], said["whose"]) == ("0.4 C", "-0.1 C", "inspector")
    assert inspector.sentence.accessibleName() == "DIGI0 reads 0.5\N{NO-BREAK SPACE}°C higher than theirs."
    assert any(one.startswith("Recorded, not judged") for one in texts(inspector))
    assert "DIGI0 has not been checked yet." in texts(inspector)


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize(
    ("ours", "theirs", "unit", "told"),
    [
        ("33", "0.0", "C", "DIAF0 reads 1.0\N{NO-BREAK SPACE}°F higher than theirs."),
        ("32", "0.5", "C", "DIAF0 reads 0.9\N{NO-BREAK SPACE}°F lower than theirs."),
        ("32", "0.0", "C", "DIAF0 and theirs read the same."),
        ("34", "32.75", "F", "DIAF0 reads 1.25\N{NO-BREAK SPACE}°F higher than theirs."),
    ],
)
def test_theirs_has_its_own_unit(
    inspector: InspectorPart, kitchen: Kitchen, ours: str, theirs: str, unit: str, told: str
) -> None:
    inspector.pick(of_tag(kitchen, "DIAF0"))
    assert inspector.ours.unit == "F"  # the dial's own
    inspector.theirs.restore((theirs, unit))
    key(inspector.ours, ours)
    inspector.record()
    assert inspector.sentence.accessibleName() == told


def test_a_second_press_records_once_and_another_pair_is_another(inspector: InspectorPart, kitchen: Kitchen) -> None:
    inspector.pick(of_tag(kitchen, "DIGI0"))
    key(inspector.ours, "0.4")
    key(inspector.theirs, "0.1")
    inspector.record()
    inspector.record()
    assert len(kitchen.entries("side_by_side")) == 1
    key(inspector.theirs, "2")
    inspector.record()
    assert len(kitchen.entries("side_by_side")) == 2


def test_nothing_but_a_number_goes_in(inspector: InspectorPart, kitchen: Kitchen) -> None:
    inspector.pick(of_tag(kitchen, "DIGI0"))
    key(inspector.ours, "a1e2.3456")
    assert inspector.ours.field.text() == "12.345"
    key(inspector.theirs, "-")
    inspector.record()
    assert kitchen.entries("side_by_side") == []


def test_a_doubtful_one_is_typed_again(inspector: InspectorPart, kitchen: Kitchen) -> None:
    inspector.pick(of_tag(kitchen, "DIGI0"))
    key(inspector.ours, "0.25")
    key(inspector.theirs, "0.1")
    inspector.record()
    assert inspector.ours.field.text() == ""
    assert "finer digits" in inspector.ours.problem.text()
    inspector.record()  # Enter alone does not record it
    assert kitchen.entries("side_by_side") == []
    key(inspector.ours, "0.25")
    inspector.record()
    assert kitchen.last("side_by_side").payload["shown"] == "0.25 C"


def test_without_a_thermometer_it_asks_for_one(inspector: InspectorPart, kitchen: Kitchen) -> None:
    key(inspector.ours, "0.4")
    key(inspector.theirs, "0.1")
    inspector.record()
    assert kitchen.entries("side_by_side") == []
    assert "Say first which thermometer." in texts(inspector)


def test_from_there_to_the_proof_and_its_last_check(inspector: InspectorPart, kitchen: Kitchen, desk: Desk) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    kitchen.checked(thermometer, "0.1 C")
    inspector.pick(thermometer)
    key(inspector.ours, "0.4")
    key(inspector.theirs, "0.1")
    inspector.record()
    assert any(one.startswith("Its last check: Ice point, ") and one.endswith("Pass.") for one in texts(inspector))
    gone: list[tuple[str, Any]] = []
    desk.wanted.disconnect()  # the place itself is another matter
    desk.wanted.connect(lambda place, about: gone.append((place, about)))
    proof = next(one for one in inspector.findChildren(Button) if one.text() == "Show the proof of DIGI0")
    proof.click()
    assert gone == [("proof", thermometer)]


def test_a_scan_picks(frame: Frame, inspector: InspectorPart) -> None:
    frame.take_tag("DIAL2")
    assert inspector.picked is not None
    assert inspector.picked.tag_id == "DIAL2"


def test_what_was_told_stands_when_the_window_is_made_anew(
    frame: Frame, desk: Desk, inspector: InspectorPart, kitchen: Kitchen
) -> None:
    inspector.pick(of_tag(kitchen, "DIGI0"))
    key(inspector.ours, "0.4")
    key(inspector.theirs, "0.1")
    inspector.theirs.restore(("0.1", "C"))
    inspector.record()
    desk.choose("theme", "dark")
    assert isinstance(frame.page, HappenedPage)
    again = frame.page.part("inspector")
    assert isinstance(again, InspectorPart)
    assert again.sentence.accessibleName() == "DIGI0 reads 0.3\N{NO-BREAK SPACE}°C higher than theirs."


# --- no bath can be had --------------------------------------------------------------------------------------


def ask(agree: AgreePart, kitchen: Kitchen, use: tuple[str, str], other: tuple[str, str]) -> None:
    for one, (tag, shown) in ((agree.use, use), (agree.other, other)):
        one.pick(of_tag(kitchen, tag))
        key(one.shown, shown)
    agree.allow()


def test_by_its_last_good_check(agree: AgreePart, kitchen: Kitchen) -> None:
    for tag in ("DIAL0", "DIGI0"):
        kitchen.checked(of_tag(kitchen, tag), "0 C" if tag == "DIAL0" else "0.1 C")
    ask(agree, kitchen, ("DIAL0", "4"), ("DIGI0", "3.8"))
    said = kitchen.last("use_allowed").payload
    assert (said["basis"], said["thermometer"]) == ("last_good_check", of_tag(kitchen, "DIAL0"))
    assert agree.sentence.accessibleName().startswith("DIAL0 may be used until the shift ends at 11:59")
    assert agree.more[0].text().startswith("It goes by its last good check")


def test_two_that_agree_move_the_limits(agree: AgreePart, kitchen: Kitchen) -> None:
    ask(agree, kitchen, ("DIAF0", "40"), ("DIGI0", "4.2"))
    assert kitchen.last("use_allowed").payload["basis"] == "two_agree"
    # The kitchen's own rule: limits moved by 2 °C, which is 3.6 °F on this dial.
    assert "Cook 3.6\N{NO-BREAK SPACE}°F hotter" in agree.more[0].text()


def test_two_that_disagree_may_not_and_why_is_said(agree: AgreePart, kitchen: Kitchen) -> None:
    ask(agree, kitchen, ("DIAL0", "9"), ("DIGI0", "3.8"))
    assert kitchen.entries("use_allowed") == []
    assert agree.sentence.accessibleName() == "DIAL0 may not be used on this basis."
    assert agree.more[0].text() == "The two are 5.2 °C apart, which is too far: use neither, and check both."


def test_one_cannot_vouch_for_itself(agree: AgreePart, kitchen: Kitchen) -> None:
    ask(agree, kitchen, ("DIAL0", "4"), ("DIAL0", "4"))
    assert kitchen.entries("use_allowed") == []
    assert agree.more[0].text() == "Name another thermometer that hangs in the same water."


def test_two_presses_allow_once(agree: AgreePart, kitchen: Kitchen) -> None:
    ask(agree, kitchen, ("DIAL0", "4"), ("DIGI0", "3.8"))
    agree.allow()
    assert len(kitchen.entries("use_allowed")) == 1


def test_scans_pick_one_then_the_other(frame: Frame, agree: AgreePart) -> None:
    frame.take_tag("DIAL2")
    frame.take_tag("DIGI0")
    assert agree.use.picked is not None
    assert agree.other.picked is not None
    assert (agree.use.picked.tag_id, agree.other.picked.tag_id) == ("DIAL2", "DIGI0")


def test_from_a_report_it_comes_with_that_thermometer(frame: Frame, kitchen: Kitchen) -> None:
    thermometer = of_tag(kitchen, "DIGI0")
    frame.go("happened", thermometer)
    page = frame.page
    assert isinstance(page, HappenedPage)
    report: Any = page.part("report")
    report.report("dropped")
    report.answer.button("no_bath").click()
    part = page.part("agree")
    assert page.part_name == "agree"
    assert isinstance(part, AgreePart)
    assert part.use.picked is not None
    assert part.use.picked.tag_id == "DIGI0"
