"""Whether Qt's calls give back the references they take: a release of PySide6 (6.12.0) lost one to None a call.

On Python 3.11 None is an ordinary object with a count: each call that returns nothing took one reference away, and
after some five thousand the program ended in the middle. From Python 3.12 on None is immortal, so that its count
tells nothing and nothing can end of it.
"""

import sys
from collections.abc import Callable

import pytest
from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit

CALLS = 1000  # fewer than end such a program, which then tells its fault rather than dying of it
OTHERS = 100  # what anything else that runs meanwhile may add to or take from the count

pytestmark = pytest.mark.skipif(sys.version_info >= (3, 12), reason="None has no count from Python 3.12 on")


class Told(QObject):
    said = Signal()

    def hear(self) -> None:
        """Nothing to do: what counts is the way here."""


def drift(call: Callable[[], object]) -> int:
    """By how much the count of None has changed after so many calls; what a call returns is let go."""
    call()
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        call()
    return sys.getrefcount(None) - before


def test_the_count_shows_a_lost_reference() -> None:
    """The check can fail: as many references kept as calls made are seen, and gone again once let go."""
    kept: list[None] = []
    assert drift(lambda: kept.append(None)) == CALLS
    assert drift(lambda: kept.pop() if kept else None) == -CALLS


def test_calls_that_return_nothing_lose_none(qapp: QApplication) -> None:
    label, line, timer, parent = QLabel(), QLineEdit(), QTimer(), QObject()
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    calls: list[Callable[[], object]] = [
        lambda: label.setText("0.1"),
        lambda: line.setReadOnly(False),
        lambda: timer.setInterval(10),
        lambda: parent.setObjectName("list"),
        lambda: image.fill(QColor(1, 2, 3)),
        label.update,
        line.clear,
    ]
    for number, call in enumerate(calls):
        assert abs(drift(call)) < OTHERS, number


def test_signals_and_slots_lose_none(qapp: QApplication) -> None:
    told = Told()
    told.said.connect(told.hear)
    assert abs(drift(told.said.emit)) < OTHERS
    told.said.disconnect()
    assert abs(drift(told.said.emit)) < OTHERS


def test_overridden_events_lose_none(qapp: QApplication) -> None:
    """Qt calls Python, which returns nothing: as each paint of ours does."""

    class Own(QLabel):
        painted = 0

        def paintEvent(self, event: object) -> None:
            Own.painted += 1

    own, image = Own(), QImage(8, 8, QImage.Format.Format_RGB32)
    own.resize(8, 8)

    assert abs(drift(lambda: own.render(image))) < OTHERS
    assert Own.painted == CALLS + 1
