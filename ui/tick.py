"""A box to tick, with a tick drawn by hand and words that wrap beside it."""

from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QCheckBox, QSizePolicy

from ui import theme
from ui.theme import Look

SIDE, GAP = 22, 10  # the box at 100 % text, and what parts it from the words
TICK = ((6.0, 11.5), (9.6, 15.4), (16.2, 6.8))  # on a grid of 22


class Tick(QCheckBox):
    """`under`: what it means, muted beneath its words. The whole of it is pressed."""

    def __init__(self, look: Look, words: str, under: str = "") -> None:
        super().__init__(words)
        self.look, self._under = look, under
        self.setFont(look.font(15))
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def _texts(self, width: int) -> tuple[QRect, QRect]:
        """Where the words and what is under them stand, from 0, 0, in so much room."""
        wrap, room = Qt.TextFlag.TextWordWrap, QRect(0, 0, max(1, width - self._left()), 9999)
        words = QFontMetrics(self.font()).boundingRect(room, wrap, self.text())
        under = QFontMetrics(self.look.font(13)).boundingRect(room, wrap, self._under) if self._under else QRect()
        return words, under.translated(0, words.height() + 2)

    def _side(self) -> int:
        return self.look.text(SIDE)

    def _left(self) -> int:
        return self._side() + GAP

    def sizeHint(self) -> QSize:
        metrics, small = QFontMetrics(self.font()), QFontMetrics(self.look.font(13))
        natural = max(metrics.horizontalAdvance(self.text()), small.horizontalAdvance(self._under)) + 2
        width = self._left() + min(natural, self.look.text(300))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        words = [QFontMetrics(self.font()).horizontalAdvance(word) for word in self.text().split(" ")]
        return QSize(self._left() + max(words) + 2, theme.DESK)

    def heightForWidth(self, width: int) -> int:
        words, under = self._texts(width)
        return max(theme.DESK, self.minimumHeight(), words.height() + (under.height() + 2 if self._under else 0) + 8)

    def hitButton(self, pos: QPoint) -> bool:
        return self.rect().contains(pos)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        words, under = self._texts(self.width())
        top = (self.height() - words.height() - (under.height() + 2 if self._under else 0)) // 2
        line = QFontMetrics(self.font()).height()
        self._paint_box(painter, QRectF(0, top + (line - self._side()) / 2, self._side(), self._side()))
        painter.setPen(self.look.ink if self.isEnabled() else self.look.muted)
        painter.setFont(self.font())
        painter.drawText(words.translated(self._left(), top), Qt.TextFlag.TextWordWrap, self.text())
        painter.setPen(self.look.muted)
        painter.setFont(self.look.font(13))
        painter.drawText(under.translated(self._left(), top), Qt.TextFlag.TextWordWrap, self._under)
        painter.end()

    def _paint_box(self, painter: QPainter, square: QRectF) -> None:
        look, ticked = self.look, self.isChecked()
        colour, weight, dash = look.edge, 1.0, Qt.PenStyle.SolidLine
        if not self.isEnabled():
            dash = Qt.PenStyle.DashLine
        elif self.hasFocus():
            colour, weight = look.pen, 3.0
        elif ticked or self.isDown():
            colour, weight = look.ink, 2.0
        painter.setPen(QPen(colour, weight, dash))
        painter.setBrush(look.level if self.isDown() else look.field if self.isEnabled() else Qt.BrushStyle.NoBrush)
        inset = weight / 2
        painter.drawRoundedRect(square.adjusted(inset, inset, -inset, -inset), 4, 4)
        if ticked:
            ink, unit = look.ink if self.isEnabled() else look.muted, square.width() / SIDE
            pen = QPen(ink, 3 * unit, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin)
            painter.setPen(pen)
            painter.drawPolyline([square.topLeft() + QPointF(x * unit, y * unit) for x, y in TICK])
