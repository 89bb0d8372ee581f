"""The grid to fill: keys as in a spreadsheet; grey is what an empty cell stands for, and what is wrong is marked."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRect, Qt
from PySide6.QtGui import QFontMetrics, QGuiApplication, QKeyEvent, QKeySequence, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCompleter,
    QHeaderView,
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from registry import resources
from ui import theme
from ui.desk import Desk
from ui.thermometers import grid_rows
from ui.thermometers.delegate import in_two
from ui.thermometers.grid_model import OFFERED, PROBLEM, SAID, SHOWN, GridModel

Index = QModelIndex | QPersistentModelIndex
TEXT, PAD = 15, 8
WIDE = {SAID: 260, "type": 170, "site": 150, "station": 130, "maker": 120, "model": 110, "condition": 200}
CROSS = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft


class _CellDelegate(QStyledItemDelegate):
    def __init__(self, desk: Desk, model: GridModel) -> None:
        super().__init__()
        self.desk, self.look, self._model = desk, desk.look, model

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        look = self.look
        room: QRect = option.rect
        chosen = option.state & QStyle.StateFlag.State_Selected
        focused = option.state & QStyle.StateFlag.State_HasFocus
        said, problem = SHOWN[index.column()] == SAID, index.data(PROBLEM)
        painter.save()
        painter.fillRect(room, look.pentint if chosen else look.sheet if said else look.field)
        text, colour = str(index.data() or ""), look.ink if said else look.pen
        if not text:
            text, colour = str(index.data(OFFERED) or ""), look.muted
        if said and self._model.rows[index.row()].problems:
            colour = look.caution
        painter.setFont(look.font(TEXT if not said else 14))
        painter.setPen(colour)
        inner = room.adjusted(PAD, 1, -PAD, -1)
        painter.drawText(inner, CROSS, "\n".join(in_two(text, QFontMetrics(painter.font()), inner.width())))
        if problem and not said:
            painter.setPen(QPen(look.caution, 2, Qt.PenStyle.DashLine))
            y = room.bottom() - 4
            painter.drawLine(QPointF(room.left() + 4, y), QPointF(room.right() - 4, y))
        if focused:
            painter.setPen(QPen(look.pen, 3))
            painter.drawRect(room.adjusted(1, 1, -2, -2))
        painter.restore()

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor = QLineEdit(parent)
        editor.setFont(self.look.font(TEXT))
        editor.setAccessibleName(str(self._model.headerData(index.column(), Qt.Orientation.Horizontal)))
        if words := self._words(SHOWN[index.column()]):
            completer = QCompleter(words, editor)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            if (popup := completer.popup()) is not None:
                popup.setFont(self.look.font(TEXT))
            editor.setCompleter(completer)
        return editor

    def _words(self, column: str) -> list[str]:
        """What may be chosen, as it is called here."""
        say, around = self.desk.say, self._model.around
        if column == "type":
            return [say(f"type.{one}") for one in resources.instrument_types()]
        if column in ("site", "station") and around is not None:
            found = around.sites if column == "site" else around.stations
            return sorted({one.payload.name for one in found})
        codes = {
            "unit": ("°C", "°F"),
            "adjusts": tuple(say(f"thermometers.adjusts.{one}") for one in grid_rows.ADJUSTS),
            "uses": tuple(say(f"thermometers.uses.{one}") for one in grid_rows.USES),
            "waterproof": tuple(say(f"thermometers.{one}") for one in grid_rows.YES_NO),
        }
        return list(codes.get(column, ()))


class Grid(QTableView):
    def __init__(self, desk: Desk, model: GridModel) -> None:
        super().__init__()
        self.desk, self.look, self._model = desk, desk.look, model
        self.setModel(model)
        self._delegate = _CellDelegate(desk, model)
        self.setItemDelegate(self._delegate)
        self.setAccessibleName(desk.say("enrol.grid"))
        self.setFont(desk.look.font(TEXT))
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(triggers.AnyKeyPressed | triggers.DoubleClicked | triggers.EditKeyPressed)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.setStyleSheet(f"QTableCornerButton::section {{ background: {desk.look.sheet.name()}; border: none; }}")
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        rows, heads = self.verticalHeader(), self.horizontalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(max(theme.DESK, QFontMetrics(desk.look.font(TEXT)).height() * 2 + 6))
        heads.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        heads.setHighlightSections(False)
        heads.setDefaultAlignment(CROSS)
        self.fit()

    def fit(self) -> None:
        metrics = QFontMetrics(self.look.font(14))
        for n, column in enumerate(SHOWN):
            head = metrics.horizontalAdvance(str(self._model.headerData(n, Qt.Orientation.Horizontal))) + 28
            self.setColumnWidth(n, max(head, self.look.text(WIDE.get(column, 90))))

    def begin(self) -> None:
        """The focus where one goes on filling in."""
        row = min(self._model.first_empty(), self._model.rowCount() - 1)
        self.setCurrentIndex(self._model.index(row, SHOWN.index("type")))
        self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        index = self.currentIndex()
        if event.matches(QKeySequence.StandardKey.Paste):
            text = QGuiApplication.clipboard().text()
            self._model.paste(text, max(index.row(), 0), max(index.column(), 1))
        elif event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self._chosen_text())
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            chosen = [one for one in self.selectedIndexes() if SHOWN[one.column()] != SAID]
            self._model.put([(one.row(), SHOWN[one.column()], "") for one in chosen])
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.state() != QAbstractItemView.State.EditingState and index.flags() & Qt.ItemFlag.ItemIsEditable:
                self.edit(index)
        elif event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def _chosen_text(self) -> str:
        chosen = self.selectedIndexes()
        rows = sorted({one.row() for one in chosen})
        columns = sorted({one.column() for one in chosen})
        return "\n".join(
            "\t".join(str(self._model.index(row, column).data() or "") for column in columns) for row in rows
        )
