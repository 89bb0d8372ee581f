"""A table of texts: as wide as its words, a few columns wrapping, rows opened by Enter or a press."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from registry.wording import format
from ui import theme
from ui.theme import Look

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
BOTTOM = Qt.AlignmentFlag.AlignBottom
PAD = 20  # what a cell keeps free at both sides, its own and the style's
TEXT = 14
NAMING = 3  # columns that say which row it is


@dataclass(frozen=True, slots=True)
class CellRow:
    """weight: bold for what one looks for, grey for what does not count, or nothing."""

    texts: tuple[str, ...]
    weight: str = ""


class CellModel(QAbstractTableModel):
    def __init__(self, look: Look, heads: Sequence[str], figures: Collection[int] = ()) -> None:
        super().__init__()
        self._heads, self._figures = list(heads), set(figures)
        self._look = look
        self._bold = look.font(TEXT, bold=True)
        self._broken: set[int] = set()
        self.stacked = False  # one cell a row, that holds all of its texts
        self.rows: list[CellRow] = []

    def break_heads(self, columns: set[int]) -> None:
        """Heads whose words stand one under the other, since their column is narrower."""
        if columns != self._broken:
            self._broken = columns
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(self._heads) - 1)

    def stack(self, stacked: bool) -> None:
        if stacked != self.stacked:
            self.beginResetModel()
            self.stacked = stacked
            self.endResetModel()

    def together(self, row: CellRow) -> str:
        """A row's texts with their heads; the first ones say which row it is and stand without."""
        named = ", ".join(text for text in row.texts[:NAMING] if text)
        pairs = list(zip(self._heads, row.texts, strict=True))[NAMING:]
        rest = "; ".join(f"{head}:{format.HARD_SPACE}{text}" for head, text in pairs if text)
        return f"{named}\n{rest}" if rest else named

    @property
    def heads(self) -> int:
        return len(self._heads)

    def head(self, column: int) -> str:
        return self._heads[column]

    def show_rows(self, rows: Sequence[CellRow]) -> None:
        self.beginResetModel()
        self.rows = list(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else 1 if self.stacked else len(self._heads)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row = self.rows[index.row()]
        if self.stacked and role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self.together(row)
        if self.stacked and role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.DisplayRole:
            return row.texts[index.column()]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self._heads[index.column()]}: {row.texts[index.column()]}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._across(index.column()) | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.FontRole and row.weight == "bold":
            return self._bold
        if role == Qt.ItemDataRole.ForegroundRole and row.weight == "grey":
            return self._look.muted
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(self._heads):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            head = self._heads[section]
            return head.replace(" ", "\n") if section in self._broken else head
        return self._across(section) | BOTTOM if role == Qt.ItemDataRole.TextAlignmentRole else None

    def _across(self, column: int) -> Qt.AlignmentFlag:
        return Qt.AlignmentFlag.AlignRight if column in self._figures else Qt.AlignmentFlag.AlignLeft


class Cells(QTableView):
    """wrapping: the columns whose words go on in a second line where there is little room.

    one_press: one press opens a row, as for what is there to be opened; else two.
    """

    opened = Signal(int)

    def __init__(
        self,
        look: Look,
        name: str,
        heads: Sequence[str],
        *,
        figures: Collection[int] = (),
        wrapping: Sequence[int] = (),
        one_press: bool = False,
    ) -> None:
        super().__init__()
        self.look = look
        self._wrapping = tuple(wrapping)
        self.cells = CellModel(look, heads, figures)
        self.cells.setParent(self)
        self.setModel(self.cells)
        self.setAccessibleName(name)
        self.setFont(look.font(TEXT))
        self.setStyleSheet(
            "QTableView { border: 3px solid transparent; }"
            f"QTableView:focus {{ border: 3px solid {look.pen.name()}; }}"
            f"QTableView::item {{ border-bottom: 1px solid {look.line.name()}; padding: 0 4px; }}"
            "QHeaderView::section { padding: 8px 7px; }"
            f"QTableView::item:selected {{ background: {look.pentint.name()}; color: {look.ink.name()}; }}"
        )
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self._row_height())
        header = self.horizontalHeader()
        header.setFont(look.font(TEXT))
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setHighlightSections(False)
        header.setTextElideMode(Qt.TextElideMode.ElideNone)
        header.setMinimumSectionSize(24)
        (self.clicked if one_press else self.doubleClicked).connect(self._pressed)

    def _row_height(self) -> int:
        return max(theme.DESK, self.look.text(TEXT) * 2 + 12)

    def show_rows(self, rows: Sequence[CellRow]) -> None:
        self.cells.show_rows(rows)
        self._fit()
        if rows:
            self.setCurrentIndex(self.cells.index(0, 0))
        self.scrollToTop()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.opened.emit(self.currentIndex().row())
        else:
            super().keyPressEvent(event)

    def _pressed(self, index: QModelIndex) -> None:
        self.opened.emit(index.row())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Each column as wide as its widest text; the wrapping ones share what is left, down to their longest word.

        Where even that is too wide all of a row stands in one cell.
        """
        metrics = QFontMetrics(self.look.font(TEXT, bold=True))
        asked, least = [], []
        for column in range(self.cells.heads):
            head = self.cells.head(column)
            texts = {row.texts[column] for row in self.cells.rows}
            words = {word for text in texts for word in text.split(" ")} if column in self._wrapping else texts
            heads = set(head.split(" "))  # they wrap in every column
            asked.append(max(map(metrics.horizontalAdvance, heads | texts)) + PAD)
            least.append(max(map(metrics.horizontalAdvance, heads | words)) + PAD)
        room = self.viewport().width()
        give = sum(asked[one] - least[one] for one in self._wrapping)
        self._stack(sum(asked) - give > room)
        if self.cells.stacked:
            self.setColumnWidth(0, room)
            self._set_heights([0])
            return
        over = sum(asked) - room
        for column, wide in enumerate(asked):
            if over > 0 and give > 0 and column in self._wrapping:
                wide -= round((wide - least[column]) * min(over / give, 1.0))
            elif over < 0 and self._wrapping and column == self._wrapping[-1]:
                wide -= over
            self.setColumnWidth(column, wide)
        needs = [metrics.horizontalAdvance(self.cells.head(one)) for one in range(len(asked))]
        broken = {one for one, wide in enumerate(needs) if wide > self.columnWidth(one) - PAD}
        self.cells.break_heads(broken)
        self.horizontalHeader().setFixedHeight(metrics.height() * (2 if broken else 1) + 20)
        self._set_heights(self._wrapping)

    def _stack(self, stacked: bool) -> None:
        here = self.currentIndex().row()
        self.cells.stack(stacked)
        self.horizontalHeader().setVisible(not stacked)
        if self.currentIndex().row() != here:
            self.setCurrentIndex(self.cells.index(here, 0))

    def _set_heights(self, wrapping: Sequence[int]) -> None:
        usual = self._row_height()
        plain, bold = (QFontMetrics(self.look.font(TEXT, bold=heavy)) for heavy in (False, True))
        for number, row in enumerate(self.cells.rows):
            metrics = bold if row.weight == "bold" else plain
            texts = [self.cells.together(row)] if self.cells.stacked else row.texts
            lines = [
                metrics.boundingRect(0, 0, self.columnWidth(one) - PAD, 9999, Qt.TextFlag.TextWordWrap, texts[one])
                for one in wrapping
                if self.cells.stacked or metrics.horizontalAdvance(texts[one]) > self.columnWidth(one) - PAD
            ]
            high = max([usual, *(line.height() + 12 for line in lines)])
            if self.rowHeight(number) != high:
                self.setRowHeight(number, high)
