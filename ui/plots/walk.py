"""Several controls in rows, of which Tab comes to one: arrow keys go on from there, and each is told in words."""

from collections.abc import Sequence
from typing import Protocol

from PySide6.QtCore import QObject, Qt, Signal, SignalInstance
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

MOVES = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}


class Stop(Protocol):
    """moved: rows down and columns to the right; told: its words, as the keys come to it."""

    moved: SignalInstance
    told: SignalInstance


def move_of(event: QKeyEvent) -> tuple[int, int] | None:
    """Which way an arrow key leads; with another key held down it is somebody else's."""
    held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    return MOVES.get(Qt.Key(event.key())) if held == Qt.KeyboardModifier.NoModifier else None


class Walk(QObject):
    told = Signal(str)

    def __init__(self, parent: QWidget, rows: Sequence[Sequence[QWidget]]) -> None:
        """rows: of widgets that are a `Stop` each; Tab comes to the last of the first row."""
        super().__init__(parent)
        self.rows = [list(row) for row in rows if row]
        for one in self._all():
            one.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
            one.moved.connect(self._move)  # type: ignore[attr-defined]
            one.told.connect(self.told)  # type: ignore[attr-defined]
        if self.rows:
            self.rows[0][-1].setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def _all(self) -> list[QWidget]:
        return [one for row in self.rows for one in row]

    def _move(self, down: int, right: int) -> None:
        now = self.sender()
        row = next(n for n, some in enumerate(self.rows) if now in some)
        self.stand_on(row + down, self.rows[row].index(now) + right)  # type: ignore[arg-type]

    def stand_on(self, row: int, column: int, why: Qt.FocusReason = Qt.FocusReason.TabFocusReason) -> None:
        """Give it the keys; it alone is then met by Tab."""
        row = min(max(row, 0), len(self.rows) - 1)
        column = min(max(column, 0), len(self.rows[row]) - 1)
        for one in self._all():
            one.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.rows[row][column].setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.rows[row][column].setFocus(why)
