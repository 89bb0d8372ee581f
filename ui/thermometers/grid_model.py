"""The grid's model: rows to fill, always with some empty ones at the end; pasted text fills from a cell on."""

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from registry.services.csvfile import normal
from ui.desk import Desk
from ui.thermometers import grid_rows
from ui.thermometers.grid_rows import COLUMNS, Around, GridRow

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
SAID = "said"  # the first column: what is wrong with the row, or that it is enrolled
SHOWN = (SAID, *COLUMNS)
SPARE = 4  # empty rows kept at the end
MOST = 2000  # rows
PROBLEM, OFFERED = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1


class GridModel(QAbstractTableModel):
    filled = Signal()  # what stands in the grid has changed

    def __init__(self, desk: Desk, new_id: Callable[[], str], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk, self._new_id = desk, new_id
        self.around: Around | None = None
        self.rows: list[GridRow] = []

    def show_rows(self, rows: Sequence[GridRow], around: Around) -> None:
        self.beginResetModel()
        self.around = around
        self.rows = list(rows)
        self._add_spare()
        self._look_at(self.rows)
        self.endResetModel()

    def _add_spare(self) -> int:
        """Empty rows at the end, as many as there should be; how many were added."""
        last = next((n for n in range(len(self.rows), 0, -1) if not self.rows[n - 1].is_empty), 0)
        missing = min(max(last + SPARE, 8), MOST) - len(self.rows)
        self.rows += [GridRow(self._new_id()) for _ in range(missing)]
        return max(missing, 0)

    def _look_at(self, rows: Sequence[GridRow]) -> None:
        for row in rows:
            if row.waits and self.around is not None:
                grid_rows.read(row, self.around)
            else:
                row.problems = {}
        grid_rows.same_tags(self.rows)

    # --- what the view asks ----------------------------------------------------------------------------------

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(SHOWN)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if role != Qt.ItemDataRole.DisplayRole or section < 0:
            return None
        if orientation == Qt.Orientation.Vertical:
            return str(section + 1)
        return self.desk.say(f"enrol.column.{SHOWN[section]}") if section < len(SHOWN) else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self.rows):
            return None
        row, column = self.rows[index.row()], SHOWN[index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return self.said(row) if column == SAID else row.cells.get(column, "")
        if role in (PROBLEM, Qt.ItemDataRole.ToolTipRole):
            if column == SAID:
                return self.said(row) if row.problems else None
            problem = row.problems.get(column)
            return self.desk.say_problem(problem) if problem is not None else None
        if role == OFFERED:
            if column == SAID or row.cells.get(column) or row.tag or self.around is None:
                return ""
            return grid_rows.offered(row, column, self.around)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self._aloud(row, column, index)
        return None

    def said(self, row: GridRow) -> str:
        if row.tag:
            return self.desk.say("enrol.row_done", tag=row.tag)
        first = next((one for one in COLUMNS if one in row.problems), None)
        if first is None:
            return "" if row.is_empty else self.desk.say("enrol.row_good")
        head = self.desk.say(f"enrol.column.{first}")
        return self.desk.say("enrol.row_wrong", column=head, what=self.desk.say_problem(row.problems[first]))

    def _aloud(self, row: GridRow, column: str, index: Index) -> str:
        head = self.headerData(index.column(), Qt.Orientation.Horizontal)
        problem = row.problems.get(column)
        wrong = f". {self.desk.say_problem(problem)}" if problem is not None else ""
        return f"{head}: {self.data(index) or ''}{wrong}"

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        found = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        fixed = SHOWN[index.column()] == SAID or bool(self.rows[index.row()].tag)
        return found if fixed else found | Qt.ItemFlag.ItemIsEditable

    # --- filling ---------------------------------------------------------------------------------------------

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not self.flags(index) & Qt.ItemFlag.ItemIsEditable:
            return False
        self.put([(index.row(), SHOWN[index.column()], str(value))])
        return True

    def put(self, cells: Sequence[tuple[int, str, str]]) -> None:
        """Write cells, each (row, column, text); rows that are enrolled stay as they are."""
        needed = max((row for row, _, _ in cells), default=-1) + 1
        if needed > len(self.rows):
            self._extend(needed)
        changed = set()
        for number, column, text in cells:
            row = self.rows[number]
            if not row.tag:
                row.cells[column] = text.strip()
                changed.add(number)
        self._look_at([self.rows[number] for number in changed])
        self._extend(0)
        self.tell()

    def _extend(self, needed: int) -> None:
        """More rows: as many as are needed, and some empty ones."""
        first = len(self.rows)
        last = next((n for n in range(first, 0, -1) if not self.rows[n - 1].is_empty), 0)
        wanted = min(max(needed, last + SPARE), MOST)
        if wanted > first:
            self.beginInsertRows(NO_PARENT, first, wanted - 1)
            self.rows += [GridRow(self._new_id()) for _ in range(wanted - first)]
            self.endInsertRows()

    def tell(self) -> None:
        """All that is shown may be another."""
        self.dataChanged.emit(self.index(0, 0), self.index(len(self.rows) - 1, len(SHOWN) - 1))
        self.filled.emit()

    def paste(self, text: str, row: int, column: int) -> int:
        """Rows of cells parted by tabs; a first row of column titles says where each goes. How many rows it was."""
        lines = [line.split("\t") for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
        while lines and not any(cell.strip() for cell in lines[-1]):
            lines.pop()
        titles = [grid_rows.column_names().get(normal(cell)) for cell in lines[0]] if lines else []
        if len(titles) > 1 and sum(one is not None for one in titles) > len(titles) // 2:
            lines, columns = lines[1:], titles
        else:
            columns = list(SHOWN[max(column, 1) :])
        self.put(
            [
                (row + n, name, cell)
                for n, line in enumerate(lines[: MOST - row])
                for name, cell in zip(columns, line, strict=False)
                if name is not None
            ]
        )
        return len(lines)

    def first_empty(self) -> int:
        """The row after the last one that holds something."""
        return next((n for n in range(len(self.rows), 0, -1) if not self.rows[n - 1].is_empty), 0)

    def forget_done(self) -> None:
        """Take the enrolled rows out."""
        assert self.around is not None
        self.show_rows([row for row in self.rows if row.waits], self.around)
        self.filled.emit()
