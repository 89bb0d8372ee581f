"""A large button for wet hands: a drawing, a word, and beneath it what else is to be known."""

from collections.abc import Callable

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy

from ui.parts import Pressed
from ui.theme import Look

Painted = Callable[[QPainter, QRectF], None]
HEIGHT, SIDE, INSET = 60, 34, 12


class Tile(Pressed):
    """Words of up to two lines; with `under`, one line and a muted one. `painted` draws into a square at the left."""

    def __init__(
        self, look: Look, words: str, painted: Painted | None = None, under: str = "", *, size: float = 17
    ) -> None:
        super().__init__()
        self.look, self._painted, self._under = look, painted, under
        self.setText(words)
        self.setAccessibleName(f"{words}. {under}" if under else words)
        self.setFont(look.font(size, bold=True))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)

    def _side(self) -> int:
        return self.look.text(SIDE) + INSET if self._painted is not None else 0

    def _widest(self) -> int:
        """The longer of two lines, broken where they come out most alike."""
        metrics, words = QFontMetrics(self.font()), self.text().split(" ")
        breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words) + 1)]
        if self._under:
            breaks = breaks[-1:]
        return min(max(metrics.horizontalAdvance(one) for one in two) for two in breaks)

    def sizeHint(self) -> QSize:
        metrics, small = QFontMetrics(self.font()), QFontMetrics(self.look.font(14))
        wide = max(self._widest(), small.horizontalAdvance(self._under))
        lines = metrics.height() + small.height() if self._under else 2 * metrics.height()
        return QSize(wide + self._side() + 2 * INSET + 4, max(HEIGHT, lines + 12))

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self.look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        focus = self.hasFocus() and not self.isDown()
        colour, width = (look.pen, 3) if focus else (look.ink, 2) if self.isDown() else (look.edge, 1)
        if not self.isEnabled():
            painter.setPen(QPen(look.edge, 1, Qt.PenStyle.DashLine))
        else:
            painter.setPen(QPen(colour, width))
            painter.setBrush(look.level if self.isDown() else look.field)
        inset = painter.pen().widthF() / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(inset, inset, -inset, -inset), 6, 6)
        if self._painted is not None:
            side = look.text(SIDE)
            self._painted(painter, QRectF(INSET, (self.height() - side) / 2, side, side))
        self._write(painter, self.rect().adjusted(self._side() + INSET, 4, -6, -4))
        painter.end()

    def _write(self, painter: QPainter, room: QRect) -> None:
        look, level = self.look, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.setPen(look.ink if self.isEnabled() else look.muted)
        painter.setFont(self.font())
        if not self._under:
            painter.drawText(room, level | Qt.TextFlag.TextWordWrap, self.text())
            return
        high, small = QFontMetrics(self.font()).height(), QFontMetrics(look.font(14)).height()
        top = round((self.height() - high - small) / 2)
        painter.drawText(room.left(), top + QFontMetrics(self.font()).ascent(), self.text())
        painter.setFont(look.font(14))
        painter.setPen(look.ink if self.isDown() else look.muted)
        painter.drawText(room.left(), top + high + QFontMetrics(look.font(14)).ascent(), self._under)
