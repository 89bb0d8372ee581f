"""The table's model: pages of rows by key, fetched beside the window as they come into sight."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from registry.services import people, table
from registry.services.table import SORTS, Key, TableRow, Wanted
from ui.desk import Desk
from ui.thermometers import cells
from ui.work import Progress

Index = QModelIndex | QPersistentModelIndex
NO_PARENT = QModelIndex()
EVERY = Wanted()  # nothing is left out
ROW = Qt.ItemDataRole.UserRole  # the whole row, for who draws it


@dataclass(frozen=True, slots=True)
class Asked:
    """What the table shows: narrowed to this, in this order, with these columns."""

    wanted: Wanted = EVERY
    sort: str = cells.FIRST
    descending: bool = False
    columns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Arrived:
    number: int
    page: table.Page
    names: Mapping[str, str]
    among: frozenset[str] | None
    first: bool


class TableModel(QAbstractTableModel):
    """What was shown stays until the first page of what was asked for has arrived."""

    arrived = Signal()  # rows came, or were replaced

    def __init__(self, desk: Desk, parent: QObject | None = None, *, small: bool = False) -> None:
        super().__init__(parent)
        self.desk = desk
        self.asked = Asked(columns=tuple(cells.chosen_columns(desk, small=small)))
        self.columns = self.asked.columns
        self.rows: list[TableRow] = []
        self.of = self.every = 0
        self.known = False  # whether any page has arrived yet
        self._names: Mapping[str, str] = {}
        self._said: dict[tuple[int, int], str] = {}  # what was said of cells: painting asks again and again
        self._among: frozenset[str] | None = None
        self._next: Key | None = None
        self._number = 0  # of the last question: what answers an earlier one is dropped
        self._waiting = False

    # --- asking ----------------------------------------------------------------------------------------------

    def ask(self, asked: Asked) -> None:
        """Show something else, from its first page on."""
        self.asked = asked
        self._ask(None, table.PAGE)

    def ask_again(self) -> None:
        """The same as it is recorded now, as far as it had been fetched."""
        self._ask(None, max(table.PAGE, len(self.rows)))

    def canFetchMore(self, parent: Index = NO_PARENT) -> bool:
        return not parent.isValid() and self._next is not None and not self._waiting

    def fetchMore(self, parent: Index = NO_PARENT) -> None:
        if self.canFetchMore(parent):
            self._ask(self._next, table.PAGE)

    def _ask(self, after: Key | None, size: int) -> None:
        self._number += 1
        self._waiting = True
        number, asked, among, session = self._number, self.asked, self._among, self.desk.session

        def read(_: Progress) -> _Arrived:
            with session.reading() as connection:
                owing = among if after is not None else None
                if asked.wanted.due is not None and owing is None:
                    owing = table.owing(session, connection, asked.wanted)
                page = table.page(
                    session,
                    connection,
                    asked.wanted,
                    sort=asked.sort,
                    descending=asked.descending,
                    after=after,
                    size=size,
                    among=owing,
                    columns=asked.columns,
                )
                names = {one.person: one.initials for one in people.people(connection)} if after is None else {}
            return _Arrived(number, page, names, owing, after is None)

        self.desk.in_background(read, self._take, self._failed)

    def _failed(self, error: Exception) -> None:
        self._waiting = False
        self.desk.notice_of(error)

    def _take(self, arrived: Any) -> None:
        if arrived.number != self._number:
            return
        self._waiting = False
        if arrived.first:
            self._start_with(arrived)
        elif arrived.page.rows:
            first = len(self.rows)
            self.beginInsertRows(NO_PARENT, first, first + len(arrived.page.rows) - 1)
            self.rows += arrived.page.rows
            self._next = arrived.page.next
            self.endInsertRows()
        else:
            self._next = arrived.page.next
        self.of, self.every = arrived.page.of, arrived.page.every
        self.arrived.emit()

    def _start_with(self, arrived: _Arrived) -> None:
        self.beginResetModel()
        self.columns, self.known = self.asked.columns, True
        self.rows, self._next = list(arrived.page.rows), arrived.page.next
        self._names, self._among = arrived.names, arrived.among
        self._said.clear()
        self.endResetModel()

    # --- what the view asks ----------------------------------------------------------------------------------

    def rowCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NO_PARENT) -> int:
        return 0 if parent.isValid() else len(self.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self.rows):
            return None
        row, column = self.rows[index.row()], self.columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(index.row(), index.column())
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            whole = cells.whole(self.desk, row, column, self._text(index.row(), index.column()))
            return whole if role == Qt.ItemDataRole.ToolTipRole else f"{self.head(column)}: {whole}"
        return row if role == ROW else None

    def _text(self, row: int, column: int) -> str:
        if (row, column) not in self._said:
            self._said[row, column] = cells.cell(self.desk, self.rows[row], self.columns[column], self._names)
        return self._said[row, column]

    def head(self, column: str) -> str:
        return self.desk.say(f"thermometers.head.{column}")

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        wants = role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole)
        if orientation == Qt.Orientation.Horizontal and wants and 0 <= section < len(self.columns):
            return self.head(self.columns[section])
        return None

    def sortable(self, section: int) -> bool:
        return 0 <= section < len(self.columns) and self.columns[section] in SORTS

    def place_of(self, thermometer: str) -> int:
        """In which row it stands; -1 where it was not fetched."""
        return next((n for n, row in enumerate(self.rows) if row.thermometer == thermometer), -1)
