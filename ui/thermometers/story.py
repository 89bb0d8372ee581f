"""The story at the right: a list of lines, the newest first, each with its mark, when, who, and what happened."""

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from registry.quantity import Unit
from registry.services.story_lines import StoryEntry
from registry.services.thermometer_page import ThermometerPage
from ui.desk import Desk
from ui.marks import paint_mark
from ui.thermometers import story_words

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
LINE = Qt.ItemDataRole.UserRole
MARK, TEXT, SMALL, LEFT, GAP = 14, 15, 14, 32, 16


class StoryModel(QAbstractListModel):
    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.lines: Sequence[StoryEntry] = ()
        self.names: Mapping[str, str] = {}
        self.zone = "UTC"
        self.unit: Unit = "C"

    def show_page(self, page: ThermometerPage) -> None:
        self.beginResetModel()
        self.lines, self.names, self.zone, self.unit = page.story, page.names, page.zone, page.unit
        self.endResetModel()

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self.lines):
            return None
        line = self.lines[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return story_words.sentence(self.desk, line, self.names, self.unit)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return story_words.aloud(self.desk, line, self.names, self.zone, self.unit)
        return line if role == LINE else None


class _LineDelegate(QStyledItemDelegate):
    """When and who in one muted line, or in two where they don't fit; below it the sentence, as long as it is."""

    def __init__(self, desk: Desk, model: StoryModel) -> None:
        super().__init__()
        self.desk, self.look, self._model = desk, desk.look, model
        self.width = 0

    def _heads(self, line: StoryEntry, width: int) -> list[str]:
        when = story_words.when(self.desk, line, self._model.zone)
        who = story_words.who(self.desk, line, self._model.names)
        fits = QFontMetrics(self.look.font(SMALL)).horizontalAdvance(f"{when}   {who}") <= width
        return [when, who] if fits else [when, "", who]

    def _sentence(self, text: str, width: int) -> QRect:
        metrics = QFontMetrics(self.look.font(TEXT))
        return metrics.boundingRect(QRect(0, 0, max(width, 10), 10_000), Qt.TextFlag.TextWordWrap, text)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        line = index.data(LINE)
        if line is None:
            return QSize(0, 0)
        width = self.width - self.look.text(LEFT) - 12
        heads = 2 if len(self._heads(line, width)) == 3 else 1
        small = QFontMetrics(self.look.font(SMALL)).height()
        return QSize(0, heads * small + self._sentence(str(index.data()), width).height() + GAP + 2)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        line, look = index.data(LINE), self.look
        room: QRect = option.rect
        state = option.state
        if line is None:
            return
        painter.save()
        inner = room.adjusted(look.text(LEFT), GAP // 2, -12, 0)
        self._thread(painter, room, index)
        side = look.text(MARK)
        small = QFontMetrics(look.font(SMALL))
        where = QRectF(room.left() + 6, inner.top() + (small.height() - side) / 2, side, side)
        paint_mark(painter, where, *story_words.mark(line), look)
        painter.setFont(look.font(SMALL))
        painter.setPen(look.muted)
        heads = self._heads(line, inner.width())
        painter.drawText(inner, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, heads[0])
        if len(heads) == 2:
            painter.drawText(inner, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop, heads[1])
        else:
            below = inner.adjusted(0, small.height(), 0, 0)
            painter.drawText(below, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, heads[2])
        inner = inner.adjusted(0, small.height() * (2 if len(heads) == 3 else 1), 0, 0)
        painter.setFont(look.font(TEXT))
        painter.setPen(look.muted if line.voided else look.ink)
        painter.drawText(inner, Qt.TextFlag.TextWordWrap, str(index.data()))
        if state & QStyle.StateFlag.State_HasFocus and state & QStyle.StateFlag.State_Selected:
            painter.setPen(QPen(look.pen, 3))
            painter.drawRect(QRectF(room).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.restore()

    def _thread(self, painter: QPainter, room: QRect, index: Index) -> None:
        """A faint line that leads from mark to mark."""
        look = self.look
        x = room.left() + 6 + look.text(MARK) // 2
        middle = room.top() + GAP // 2 + QFontMetrics(look.font(SMALL)).height() // 2
        gap = look.text(MARK) // 2 + 4
        if index.row() > 0:
            painter.fillRect(x, room.top(), 1, middle - gap - room.top(), look.line)
        if index.row() < len(self._model.lines) - 1:
            painter.fillRect(x, middle + gap, 1, room.bottom() - middle - gap + 1, look.line)


class Story(QListView):
    """Enter or two presses open a line. `whole`: as high as all its lines, for a page that scrolls as one."""

    line_opened = Signal(object)

    def __init__(self, desk: Desk, *, whole: bool) -> None:
        super().__init__()
        self.lines = StoryModel(desk)
        self.lines.setParent(self)
        self._delegate = _LineDelegate(desk, self.lines)
        self._whole = whole
        self.setModel(self.lines)
        self.setItemDelegate(self._delegate)
        self.setAccessibleName(desk.say("thermometers.story"))
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setMouseTracking(False)
        if whole:
            self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.doubleClicked.connect(self._open)

    def show_page(self, page: ThermometerPage) -> None:
        self._delegate.width = self.viewport().width()
        self.lines.show_page(page)
        self._fit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self._open(self.currentIndex())
        elif event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def _open(self, index: QModelIndex) -> None:
        self.line_opened.emit(self.lines.lines[index.row()])

    def resizeEvent(self, event: QResizeEvent) -> None:
        if event.size().width() != self._delegate.width:
            self._delegate.width = event.size().width()
            self.scheduleDelayedItemsLayout()
            self._fit()
        super().resizeEvent(event)

    def _fit(self) -> None:
        """Each line is as high as its words at this width."""
        if self._whole:
            heights = [self.sizeHintForRow(n) for n in range(self.lines.rowCount())]
            self.setFixedHeight(sum(heights) + 4)
