"""What the window makes of a look at the bath: rows keyed into each other are asked about, and nothing is done."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from registry.services import bath_watch, thermometers
from registry.services.bath_watch import BathWatch
from registry.services.problems import KnownError
from registry.store import queries
from tests.services.kitchen import DAY_US, DIGITAL_C, Kitchen
from tests.ui.test_shift import press
from tests.ui.test_shift_safety import id_of, notices
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Button
from ui.shift.band import Band
from ui.shift.page import ShiftPage

OFFSETS = {"NARD0": 0.8, "NARD1": -0.7, "NARD2": 0.1, "NARD3": 0.0}


@pytest.fixture
def known(frame: Frame, kitchen: Kitchen) -> ShiftPage:
    """Four digitals, two of which read far apart from each other, always the same way."""
    for tag in OFFSETS:
        kitchen.enrol(DIGITAL_C, tag_id=tag)
    kitchen.always({id_of(kitchen, tag): f"{offset} C" for tag, offset in OFFSETS.items()}, 6)
    with kitchen.session.reading() as connection:
        others = [row for row in queries.thermometers(connection, site=kitchen.site) if row.tag_id not in OFFSETS]
    for other in others:
        thermometers.take_out(kitchen.session, kitchen.lead, other.thermometer, "worn")
    kitchen.clock.at += DAY_US  # what was taken out today stands on today's list
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    frame.activateWindow()
    frame.go("shift")
    page = frame.page
    assert isinstance(page, ShiftPage)
    return page


def read(page: ShiftPage, kitchen: Kitchen, shown: dict[str, str]) -> None:
    for tag, text in shown.items():
        page.list.focus_on(id_of(kitchen, tag))
        press(text + "\n")


def asked(page: ShiftPage) -> QWidget | None:
    item = page.band.itemAt(0)
    return item.widget() if item is not None else None


def button(root: QWidget, text: str) -> Button:
    return next(one for one in root.findChildren(Button) if one.text() == text)


def test_rows_keyed_into_each_other_are_asked_about_once_all_is_read(known: ShiftPage, kitchen: Kitchen) -> None:
    read(known, kitchen, {"NARD0": "-0.7", "NARD1": "0.8", "NARD2": "0.1"})
    assert asked(known) is None
    read(known, kitchen, {"NARD3": "0.0"})
    band = asked(known)
    assert band is not None
    assert "was one keyed into the other" in band.accessibleName()
    assert {"NARD0", "NARD1"} <= set(band.accessibleName().replace(",", " ").split())
    recorded = len(kitchen.entries("check_recorded"))
    to_row = button(band, "To the row of NARD1")
    QTest.mouseClick(to_row, Qt.MouseButton.LeftButton)
    assert known.list.current == id_of(kitchen, "NARD1")
    band = asked(known)
    assert band is not None
    QTest.mouseClick(button(band, "The rows are right"), Qt.MouseButton.LeftButton)
    assert asked(known) is None
    known.read_again()
    assert asked(known) is None
    assert len(kitchen.entries("check_recorded")) == recorded
    assert kitchen.entries("voided") == []


def test_as_always_nothing_is_asked(known: ShiftPage, kitchen: Kitchen) -> None:
    read(known, kitchen, {tag: str(offset) for tag, offset in OFFSETS.items()})
    assert asked(known) is None


@pytest.mark.slow
def test_a_look_that_failed_is_taken_again(
    known: ShiftPage, kitchen: Kitchen, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The record was busy while the last reading was looked at: the band must not stand on what was known before."""
    read(known, kitchen, {tag: f"{offset + 0.8:.1f}" for tag, offset in list(OFFSETS.items())[:3]})
    judge, failing = bath_watch.judge, [True, True]

    def busy(*given: Any, **more: Any) -> BathWatch:
        if failing and failing.pop():
            raise KnownError("busy")
        return judge(*given, **more)

    monkeypatch.setattr(bath_watch, "judge", busy)
    told = notices(desk)
    read(known, kitchen, {"NARD3": "0.8"})
    assert known.watching._found is not None
    assert len(known.watching._found.those) == 3
    known.read_again()
    assert len(known.watching._found.those) == 3
    known.read_again()
    assert len(known.watching._found.those) == 4
    assert len(told) == 1  # it is told once


@pytest.mark.slow
def test_a_bath_that_is_sure_no_more_waits_for_a_person(known: ShiftPage, kitchen: Kitchen) -> None:
    """Nothing speaks clearly against it, so there is no band; but nobody is told that all is answered."""
    read(known, kitchen, {"NARD2": "0.1", "NARD3": "0.0"})
    assert kitchen.last("bath_judged").payload["judged"] == "accepted"
    new = [kitchen.enrol(DIGITAL_C, tag_id=f"PARD{n}") for n in range(2)]
    known.read_again()
    for one in new:
        known.list.focus_on(one)
        press("0.9\n")
    for tag in ("NARD2", "NARD3"):
        kitchen.key(known.now.bath.bath, id_of(kitchen, tag), "1.0 C")  # type: ignore[union-attr]
    known.read_again()
    assert kitchen.last("bath_judged").payload["judged"] == "suspect"
    assert known.foot.good.isVisible() or known.band.count() == 1
    assert "has its answer" not in known.foot.to_go.text()


def test_a_bad_bath_costs_two_presses_and_decides_nothing(known: ShiftPage, kitchen: Kitchen) -> None:
    """Warm ice: nobody passes or fails by it; it is made anew by two presses, and all are read again."""
    keys: list[str] = []
    for tag, offset in OFFSETS.items():
        known.list.focus_on(id_of(kitchen, tag))
        press(f"{min(offset + 0.8, 1.0):.1f}\n", count=keys)
    assert isinstance(asked(known), Band)
    assert known.foot.to_go.text().startswith("The bath is in doubt: see above.")
    assert "has its answer" not in known.foot.to_go.text()
    assert {one.payload["judged"] for one in kitchen.entries("bath_judged")[-1:]} == {"suspect"}
    outcomes = [kitchen.check(one.payload["check"]).outcome for one in kitchen.entries("check_recorded")[-4:]]
    assert outcomes == [None] * 4
    answers_ = {row.answering.accessibleName().partition(".")[0] for row in known.list.rows.values()}
    assert answers_ == {"Waits"}
    extra: list[str] = []
    band = asked(known)
    assert isinstance(band, Band)
    assert band.remake.hasFocus()
    band.remake.came = float("-inf")  # a while ago
    press("\n", count=extra)
    press("\n", count=extra)  # the bath is ready, the probes are in
    assert len(extra) <= 3
    kitchen.clock.move(minutes=4)
    for tag, offset in OFFSETS.items():
        known.list.focus_on(id_of(kitchen, tag))
        press(f"{offset:.1f}\n")
    assert asked(known) is None
    outcomes = [kitchen.check(one.payload["check"]).outcome for one in kitchen.entries("check_recorded")]
    assert outcomes[-8:] == [None] * 4 + ["pass"] * 4
    assert {row.answering.accessibleName().partition(".")[0] for row in known.list.rows.values()} == {"Use"}
