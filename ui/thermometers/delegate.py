"""Draws the cells of the table: type and tag id, marks with their words, figures at their right."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from ui import theme
from ui.desk import Desk
from ui.drawings import paint_drawing
from ui.marks import paint_mark
from ui.theme import Look
from ui.thermometers import cells
from ui.thermometers.model import ROW

PAD, TEXT, TAG, UNDER, MARK, DRAWING = 10, 15, 18, 13, 18, 36
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def row_height(look: Look) -> int:
    """High enough for a tag id over its type, or for two lines of words."""
    lines = QFontMetrics(look.font(TAG)).height() + QFontMetrics(look.font(UNDER)).height()
    return max(theme.ROW_TABLE, lines + 8)


class RowDelegate(QStyledItemDelegate):
    """One for all columns; the view draws the line below a row, once."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        return QSize(0, row_height(self.look))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        row, column = index.data(ROW), index.model().columns[index.column()]  # type: ignore[attr-defined]
        room: QRect = option.rect
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(room, self.look.pentint)
        if row is None:
            return
        painter.save()
        room = room.adjusted(PAD, 2, -PAD, -3)
        text = str(index.data() or "")
        if column == cells.FIRST:
            self._tag(painter, room, row.type, text)
        elif (mark := cells.mark_of(row, column)) is not None:
            side = self.look.text(MARK)
            where = QRectF(room.left(), room.center().y() + 1 - side / 2, side, side)
            paint_mark(painter, where, *mark, self.look)
            self._words(painter, room.adjusted(side + 8, 0, 0, 0), text)
        else:
            self._words(painter, room, text, right=column in cells.FIGURES)
        painter.restore()

    def _tag(self, painter: QPainter, room: QRect, kind: str, text: str) -> None:
        look, side = self.look, self.look.text(DRAWING)
        paint_drawing(painter, QRectF(room.left(), room.center().y() + 1 - side / 2, side, side), kind, look)
        room = room.adjusted(side + 10, 0, PAD, 0)
        large, small = QFontMetrics(look.font(TAG, bold=True)), QFontMetrics(look.font(UNDER))
        top = room.center().y() + 1 - (large.height() + small.height()) // 2
        painter.setFont(look.font(TAG, bold=True))
        painter.setPen(look.ink)
        painter.drawText(room.left(), top + large.ascent(), text)
        painter.setFont(look.font(UNDER))
        painter.setPen(look.muted)
        under = small.elidedText(self.desk.say(f"type.{kind}"), Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room.left(), top + large.height() + small.ascent(), under)

    def _words(self, painter: QPainter, room: QRect, text: str, *, right: bool = False) -> None:
        """In one line, else in two; what is longer than that is told whole by the tip and on its page."""
        painter.setFont(self.look.font(TEXT))
        painter.setPen(self.look.ink)
        lines = in_two(text, QFontMetrics(painter.font()), room.width())
        painter.drawText(room, RIGHT if right else LEFT, "\n".join(lines))


def in_two(text: str, metrics: QFontMetrics, width: int) -> list[str]:
    """A text as one line or two of this width, the last one cut with dots where it must be."""
    if metrics.horizontalAdvance(text) <= width:
        return [text]
    words = text.split(" ")
    first = next(
        (n for n in range(len(words) - 1, 0, -1) if metrics.horizontalAdvance(" ".join(words[:n])) <= width), 0
    )
    parts = [" ".join(words[:first]), " ".join(words[first:])] if first else [text]
    return [metrics.elidedText(one, Qt.TextElideMode.ElideRight, width) for one in parts]


def two_wide(text: str, metrics: QFontMetrics) -> int:
    """The least width in which a text stands in two lines."""
    words = text.split(" ")
    breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words) + 1)]
    return min(max(map(metrics.horizontalAdvance, two)) for two in breaks)
