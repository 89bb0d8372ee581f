"""A scanner types like a keyboard, but faster than hands: its keys are taken together and its Enter records nothing."""

import time
from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLineEdit

GAP_S = 0.050
FEWEST_KEYS = 3
_ENDS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab)
TOUCHES = (QEvent.Type.KeyPress, QEvent.Type.MouseButtonPress, QEvent.Type.TouchBegin, QEvent.Type.Wheel)
_HELD = (Qt.Key.Key_Shift, Qt.Key.Key_Control, Qt.Key.Key_Alt, Qt.Key.Key_AltGr, Qt.Key.Key_Meta, Qt.Key.Key_CapsLock)


def pressed_at(event: QKeyEvent) -> float:
    """When a key was pressed, in seconds, as the window system says: what waited in a queue was not typed fast."""
    return event.timestamp() / 1000 or time.monotonic()


class Scanner(QObject):
    """Watches the keys of one window. The field that had the focus gets back what it held before the scan.

    keeps: what was scanned stays in its field, as on a sheet that asks for a tag; only the Enter is taken away.
    """

    scanned = Signal(str)
    touched = Signal()  # by a key, or a press

    def __init__(
        self, parent: QObject, clock: Callable[[QKeyEvent], float] = pressed_at, *, keeps: bool = False
    ) -> None:
        super().__init__(parent)
        self._clock, self._keeps = clock, keeps
        self._keys = ""
        self._last = float("-inf")
        self._field: QLineEdit | None = None
        self._held = ""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in TOUCHES:
            self.touched.emit()
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        if event.key() in _HELD:  # a capital letter comes with them; they are no keys of the code
            return False
        now = self._clock(event)
        fast, self._last = 0 <= now - self._last <= GAP_S, now
        if event.key() in _ENDS:
            return self._ended(fast)
        if not event.text().isprintable() or not event.text():
            self._keys = ""
            return False
        if not fast:
            self._begin()
        self._keys += event.text()
        return False

    def _begin(self) -> None:
        self._keys = ""
        field = QApplication.focusWidget()
        self._field = field if isinstance(field, QLineEdit) else None
        self._held = self._field.text() if self._field is not None else ""

    def _ended(self, fast: bool) -> bool:
        keys, self._keys = self._keys, ""
        if not fast or len(keys) < FEWEST_KEYS:
            return False
        if self._field is not None and not self._field.isReadOnly() and not self._keeps:
            self._field.setText(self._held)
        self.scanned.emit(keys)
        return True
