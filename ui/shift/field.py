"""The field that a reading is written in: large, on its decimal mark, nothing but a number goes in."""

import time
from collections.abc import Callable

from PySide6.QtCore import QRegularExpression, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QRegularExpressionValidator
from PySide6.QtWidgets import QLineEdit, QSizePolicy

from ui import theme
from ui.theme import Look

_PARTS = QRegularExpression("-?[0-9]{0,4}([.,][0-9]{0,3})?")
_MINUS = {"−": "-", "–": "-"}
BOUNCE_S = 0.3  # so soon after the focus came by itself no Enter is meant for what it came to (judgement)


class ReadingField(QLineEdit):
    """Digits as typed. One Enter is told and does nothing else; arrows go to the rows above and below."""

    entered = Signal()
    keyed = Signal(str)
    up = Signal()
    down = Signal()
    focused = Signal()
    left = Signal()

    def __init__(
        self,
        look: Look,
        name: str,
        *,
        places: int = 1,
        size: float = 30,
        height: int = 48,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__()
        self.look, self.places, self._size = look, places, size
        self._clock, self._came, self._touched = clock, 0.0, False
        self.setAccessibleName(name)
        self.setValidator(QRegularExpressionValidator(_PARTS, self))
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setInputMethodHints(Qt.InputMethodHint.ImhFormattedNumbersOnly)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        metrics = QFontMetrics(look.font(size, bold=True))
        self.setFixedSize(metrics.horizontalAdvance("−88.88") + 20, max(height, metrics.height() + 8, theme.TOUCH))
        self.setFont(look.font(size))
        self.textChanged.connect(self._edited)  # whoever changed it: a scan puts back what it overwrote
        self._dress()

    def set_size(self, size: float, height: int) -> None:
        """Larger while it is the current one in a small window."""
        self._size = size
        metrics = QFontMetrics(self.look.font(size, bold=True))
        self.setFixedSize(metrics.horizontalAdvance("−88.88") + 20, max(height, metrics.height() + 8, theme.TOUCH))
        self._dress()

    def baseline(self) -> int:
        """How far below its top edge the digits stand."""
        metrics = QFontMetrics(self.look.font(self._size))
        return (self.height() - metrics.height()) // 2 + metrics.ascent()

    def write(self, text: str) -> None:
        """Put a text in, as from a draft, without telling."""
        with QSignalBlocker(self):
            self.setText(text)
        self._align()

    def set_written(self, written: bool) -> None:
        """Written: the frame goes and the figures stay pen; nothing more is typed here."""
        if written != self.isReadOnly():
            self.setReadOnly(written)
            self._dress()

    def press(self, key: str) -> None:
        """A key of the number pad: a digit, the minus, the mark, or `back`."""
        if key == "back":
            self.backspace()
        elif key == "-":
            text = self.text()
            self.setText(text[1:] if text.startswith("-") else f"-{text}")
        else:
            self.insert(key)

    def enter(self) -> None:
        """A second press of the Enter that ended the row before says nothing of this one, nor goes past it."""
        if self._touched or self._clock() - self._came >= BOUNCE_S:
            self.entered.emit()

    def _edited(self, text: str) -> None:
        self._touched = True
        self._align()
        self.keyed.emit(text)

    def _align(self) -> None:
        """The decimal mark stands on one axis: room is left for decimals not typed yet."""
        typed = self.text().replace(",", ".")
        _, mark, decimals = typed.partition(".")
        missing = "0" * max(0, self.places - len(decimals))
        if self.places and not mark:
            missing = "." + missing
        self.setTextMargins(0, 0, QFontMetrics(self.font()).horizontalAdvance(missing), 0)

    def _dress(self) -> None:
        look, here = self.look, self.hasFocus() and not self.isReadOnly()
        self.setFont(look.font(self._size, bold=here))
        edge = f"border: 3px solid {look.pen.name()}; padding: 0 4px;"
        if self.isReadOnly():
            rest = "border: none; padding: 3px 7px;"
            self.setStyleSheet(self._sheet("transparent", here, rest))
            self._align()
            return
        rest = f"border: 1px solid {look.line.name()}; border-bottom: 2px solid {look.edge.name()}; padding: 2px 6px;"
        self.setStyleSheet(self._sheet(look.field.name(), here, edge if here else rest))
        self._align()

    def _sheet(self, ground: str, here: bool, edge: str) -> str:
        look, weight = self.look, "bold" if here else "normal"
        return (
            f"QLineEdit {{ background: {ground}; color: {look.pen.name()}; border-radius: 6px; {edge}"
            f" font-size: {look.text(self._size)}px; font-weight: {weight}; }}"
        )

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._came, self._touched = self._clock(), False
        self._dress()
        self.focused.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._dress()
        self.left.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat():  # held down, it would run through the rows and into the button after them
                self.enter()
        elif key == Qt.Key.Key_Up:
            self.up.emit()
        elif key == Qt.Key.Key_Down:
            self.down.emit()
        elif event.text() in _MINUS:
            self.press("-")
        else:
            super().keyPressEvent(event)
