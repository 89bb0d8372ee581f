"""Failed checks and what to replace, as the officer sees them in Drift."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel

from registry.quantity import TemperatureDifference
from registry.records.thermometers import Price
from registry.services import thermometers
from registry.services.failures import Done, Failure, Failures
from registry.services.replacing import Replacing, ToReplace
from tests.services.kitchen import DIAL_C, Kitchen
from tests.ui.conftest import Answers
from ui.desk import Desk
from ui.drift import failures, replacing
from ui.drift.failures import FailuresPart
from ui.drift.page import DriftPage
from ui.drift.replacing import ReplacingPart
from ui.frame import Frame
from ui.parts import Button

NOON = 1_772_548_200_000_000


def failure(n: int, now: str = "good", done: tuple[Done, ...] = ()) -> Failure:
    return Failure(
        f"{n:032x}", "", f"{n:032x}", f"T{n:03d}", "bimetal_stem", "", "", "", "UTC", NOON + n, False, "ice_point",
        "fail",
        TemperatureDifference.from_text("3 dC"), False, NOON - 1, done, now, NOON if now != "open" else None,
    )  # fmt: skip


def texts(part: FailuresPart | ReplacingPart) -> list[str]:
    return [one.text() for one in part.findChildren(QLabel) if not one.isHidden()]


def test_what_is_not_resolved_stands_first_and_is_never_left_out(desk: Desk) -> None:
    part = FailuresPart(desk)
    still = failures.MOST + 2
    rows = tuple(failure(n, "good" if n < 3 else "open") for n in range(still + 3))
    part.show_failures(Failures(12, rows))
    tags = [one.text() for one in part.findChildren(Button) if one.text().startswith("T")]
    assert tags == [f"T{n:03d}" for n in range(3, still + 3)]
    said = " ".join(texts(part))
    assert "3 more are in the spreadsheet." in said
    assert "Food judged with it since the last good check is not looked back at by this program" in said
    part.deleteLater()


def test_nothing_failed_is_one_sentence(desk: Desk) -> None:
    part = FailuresPart(desk)
    part.show_failures(Failures(4, ()))
    assert part.told.text() == "No check failed in the last 4 weeks."
    assert part.look_back.isHidden()
    assert part.save.isHidden()
    part.deleteLater()


def test_prices_are_told_with_of_how_many_they_are_known(desk: Desk) -> None:
    part = ReplacingPart(desk)
    price = Price(amount="12.5", currency="USD")
    rows = [ToReplace(f"{n}", f"T{n}", "", "oven", "", "", "failed") for n in range(replacing.MOST)]
    rows += [ToReplace("a", "TA", "", "oven", "Brisa", "B2", "damaged", price=price, like="T9")]
    part.show_replacing(Replacing((rows[-1], *rows[:-1])))
    said = texts(part)
    assert "$12.50, as T9 cost" in said
    assert "It was taken out of use as damaged." in said
    assert "One more is in the spreadsheet." in said
    assert part.sums.text() == f"Price known for 1 of {replacing.MOST + 1}; sum: $12.50."
    part.wait()
    assert part.sums.isHidden()
    part.show_replacing(Replacing(()))
    assert "Nothing on record asks for replacing any." in texts(part)
    part.deleteLater()


@pytest.fixture
def page(frame: Frame, kitchen: Kitchen) -> DriftPage:
    glass = kitchen.enrol(DIAL_C, tag_id="GLASS1", type="liquid_in_glass")
    kitchen.checked(glass, "9 C", "9 C", "9 C")
    kitchen.clock.move(hours=1)
    thermometers.take_out(kitchen.session, kitchen.lead, glass, "outside")
    kitchen.clock.move(hours=1)
    frame.go("drift")
    assert isinstance(frame.page, DriftPage)
    return frame.page


def test_one_that_failed_and_was_taken_out_of_use_stands_in_drift(
    page: DriftPage, frame: Frame, answers: Answers, tmp_path: Path
) -> None:
    assert any("Taken out of use on" in one for one in texts(page.failures))
    assert "It was taken out of use because it was outside, and its kind is not adjusted." in texts(page.replacing)
    for part, name in ((page.failures, "failed"), (page.replacing, "replace")):
        file = tmp_path / f"{name}.csv"
        answers.ready.append(file)
        part.save.ask()
        assert "GLASS1" in file.read_text(encoding="utf-8-sig")
    page.type.setCurrentIndex(page.type.findData("oven"))
    assert page.failures.told.text() == "No check failed in the last 12 weeks."
    assert "GLASS1" not in " ".join(texts(page.replacing))
