"""Marks in one picture, asked about one at a time: by pointer, and by arrow keys; what is read is told as text."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QFocusEvent,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QWidget

from registry.charts import Spot
from ui.parts import Words
from ui.plots.walk import move_of
from ui.theme import Look

REACH = 14  # px, how near the pointer must come to a mark
GAP = 8  # px, between a mark and the words beside it


class Asked(QWidget):
    """`asked` tells the number of a mark (-1: none any more), `told` its words where `words` gives them.

    The words are also the widget's accessible description as long as the mark is asked about. beside: they are shown
    beside the mark, where there is no line for them. `moved`: up or down, to what stands above or below.
    """

    asked = Signal(int)
    told = Signal(str)
    moved = Signal(int, int)

    def __init__(self, look: Look, parent: QWidget | None = None, *, beside: bool = False) -> None:
        super().__init__(parent)
        self._look = look
        self.words: Callable[[int], str] | None = None
        self._numbers: list[int] = []  # of the marks that are shown, from left to right
        self._chosen = -1
        self._summary = ""
        self._beside = beside
        self._tip: Tip | None = None

    def show_marks(self, numbers: Sequence[int], name: str, summary: str) -> None:
        """name and summary are read aloud; the summary gives way to a mark that is asked about."""
        self._numbers, self._chosen, self._summary = list(numbers), -1, summary
        self.setAccessibleName(name)
        self.setAccessibleDescription(summary)
        self._tell_beside("")

    def place_of(self, number: int) -> Spot:
        """Where a mark stands in the widget, px."""
        raise NotImplementedError

    def chosen(self) -> int:
        return self._chosen

    def choose(self, number: int) -> None:
        """Put the ring round a mark; -1 or one that isn't shown takes it away."""
        number = number if number in self._numbers else -1
        if number == self._chosen:
            return
        self._chosen = number
        self.update()
        self.asked.emit(number)
        if self.words is not None:
            self._tell(self.words(number) if number >= 0 else "")

    def _tell(self, said: str) -> None:
        self.setAccessibleDescription(said or self._summary)
        if said and self.hasFocus() and QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))
        self._tell_beside(said)
        self.told.emit(said)

    def _tell_beside(self, said: str) -> None:
        if said and self._beside:
            self._tip = self._tip or Tip(self._look, self)
            spot = QPointF(*self.place_of(self._chosen)).toPoint()
            self._tip.stand(said, self.mapTo(self.window(), spot), self.mapTo(self.window(), QPoint(0, 0)).x())
        elif self._tip is not None:
            self._tip.hide()

    # --- keys and pointer ------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, last = event.key(), len(self._numbers) - 1
        now = self._numbers.index(self._chosen) if self._chosen in self._numbers else last + 1
        moves = {
            Qt.Key.Key_Left: max(now - 1, 0),
            Qt.Key.Key_Right: min(now + 1, last),
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }
        way = move_of(event)
        if key == Qt.Key.Key_Escape and self._chosen >= 0:
            self.choose(-1)
        elif way is not None and way[0]:
            self.moved.emit(*way)
        elif key in moves and self._numbers and not event.modifiers() & Qt.KeyboardModifier.AltModifier:
            self.choose(self._numbers[moves[Qt.Key(key)]])
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if self._beside:
            self.choose(-1)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self.choose(self._nearest(event.position()))

    def leaveEvent(self, event: QEvent) -> None:
        if not self.hasFocus():
            self.choose(-1)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._tell_beside("")

    def _nearest(self, pointer: QPointF) -> int:
        def far(number: int) -> float:
            x, y = self.place_of(number)
            return (x - pointer.x()) ** 2 + (y - pointer.y()) ** 2

        near = [number for number in self._numbers if far(number) <= REACH**2]
        return min(near, key=far, default=-1)


class Tip(Words):
    """Words beside a mark, over the window; they take neither keys nor pointer."""

    def __init__(self, look: Look, of: QWidget) -> None:
        super().__init__(look, "", 14, wrap=False)
        self.setParent(of.window())
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setContentsMargins(8, 5, 8, 5)
        of.destroyed.connect(self.deleteLater)

    def stand(self, said: str, at: QPoint, left: int) -> None:
        """Above the place, or below it where there is no room; not left of the picture, where its name may stand."""
        self.setText(said)
        self.adjustSize()
        room = self.window().rect()
        x = max(min(max(at.x() - self.width() // 2, left), room.width() - self.width() - 4), 4)
        above = at.y() - self.height() - GAP
        self.move(x, above if above >= 4 else at.y() + GAP)
        self.show()
        self.raise_()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.field)
        painter.setPen(QPen(self.look.ink, 1))
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
        super().paintEvent(event)
