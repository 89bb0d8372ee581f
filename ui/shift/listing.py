"""The list: its heads, one row for each thermometer, and the one that is being written."""

from collections.abc import Iterator, Sequence

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from registry.services.shift_row import ListRow
from ui.desk import Desk
from ui.parts import Scroll, Words, holding
from ui.parts import column as column_of
from ui.shift.row import RowWidget
from ui.shift.row_parts import Columns

ROWS_AT_ONCE = 4


class Rows(QWidget):
    """What holds the rows; it tells when something has opened or closed under one of them."""

    resized = Signal()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.resized.emit()


class ShiftList(QWidget):
    """Rows in their order; those that stay are kept, with their focus, when the list is read again."""

    current_changed = Signal(object)  # a row, or None
    keyed = Signal(str, str)  # thermometer, text
    entered = Signal(str)
    unit_chosen = Signal(str, str)
    instead_wanted = Signal(str)
    mend_wanted = Signal(str)

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk = desk
        self.columns = Columns(desk.look, small=small)
        self.rows: dict[str, RowWidget] = {}
        self._inner = Rows()
        self._inner.resized.connect(self._show_current)
        self._column = QVBoxLayout(self._inner)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self.empty = Words(desk.look, "", 20, colour="muted")
        self.empty.setContentsMargins(24, 24, 24, 24)
        self._column.addWidget(self.empty)
        self._column.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        if not small:
            column.addLayout(self._heads())
        self.above = QVBoxLayout()  # what stands above the rows and is scrolled with them, where room is short
        self.area = Scroll(holding(column_of(self.above, self._inner, None, space=0)))
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        column.addWidget(self.area, 1)

    def _heads(self) -> QHBoxLayout:
        """Heads over the figures; the columns that explain themselves have none."""
        line, columns, look = QHBoxLayout(), self.columns, self.desk.look
        line.setContentsMargins(24, 14, 4, 2)
        line.setSpacing(8)

        def head(code: str, width: int, side: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignRight) -> Words:
            made = Words(look, self.desk.say(code), 14, colour="muted", wrap=False)
            made.setAlignment(side)
            made.setMinimumWidth(width)
            return made

        line.addSpacing(columns.drawing)
        line.addWidget(head("shift.head_thermometer", 60, Qt.AlignmentFlag.AlignLeft), 2)
        line.addWidget(head("shift.head_last", columns.last))
        line.addWidget(head("shift.head_shows", columns.field))
        line.addSpacing(columns.unit)
        line.addWidget(head("shift.head_off", columns.off))
        line.addWidget(head("shift.head_limits", columns.rule, Qt.AlignmentFlag.AlignHCenter))
        line.addWidget(head("shift.head_answer", columns.answer, Qt.AlignmentFlag.AlignLeft), 3)
        return line

    def make_ahead(self, rows: Sequence[ListRow]) -> Iterator[None]:
        """Widgets of rows that will be shown, a few at a time: a dozen at once would hold up a key."""
        for n, row in enumerate(rows):
            if n % ROWS_AT_ONCE == ROWS_AT_ONCE - 1:
                yield
            self.rows[row.thermometer] = self._made(row)

    def set_rows(self, rows: Sequence[ListRow]) -> None:
        """Make the widgets of new rows and amended dials, drop those gone, keep the others where they are."""
        wanted = [one.thermometer for one in rows]
        dials = {one.thermometer: (one.type, one.scales) for one in rows}
        gone = [one for one, made in self.rows.items() if dials.get(one) != (made.row.type, made.row.scales)]
        for thermometer in gone:
            widget = self.rows.pop(thermometer)
            self._column.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        for n, row in enumerate(rows):
            if row.thermometer not in self.rows:
                self.rows[row.thermometer] = self._made(row)
            widget = self.rows[row.thermometer]
            if self._column.indexOf(widget) != n:
                self._column.insertWidget(n, widget)
        self.empty.setVisible(not rows)
        previous: RowWidget | None = None
        for thermometer in wanted:  # Tab walks in the order of the list, whatever order rows were made in
            if previous is not None:
                QWidget.setTabOrder(previous.field, self.rows[thermometer].field)
            previous = self.rows[thermometer]

    def _made(self, row: ListRow) -> RowWidget:
        widget = RowWidget(self.desk, row, self.columns)
        name = row.thermometer
        widget.setObjectName(name)
        widget.keyed.connect(self._keyed)
        widget.entered.connect(self._entered)
        widget.unit_chosen.connect(self._unit)
        widget.instead_wanted.connect(self._instead)
        widget.mend_wanted.connect(self._mend)
        widget.field.focused.connect(self._focused)
        widget.field.up.connect(self._up)
        widget.field.down.connect(self._down)
        return widget

    def _sender(self) -> str:
        sender: QObject | None = self.sender()
        while sender is not None and not isinstance(sender, RowWidget):
            sender = sender.parent()
        return sender.objectName() if sender is not None else ""

    def _keyed(self, text: str) -> None:
        self.keyed.emit(self._sender(), text)

    def _entered(self) -> None:
        self.entered.emit(self._sender())

    def _unit(self, unit: str) -> None:
        self.unit_chosen.emit(self._sender(), unit)

    def _instead(self) -> None:
        self.instead_wanted.emit(self._sender())

    def _mend(self) -> None:
        self.mend_wanted.emit(self._sender())

    def _focused(self) -> None:
        self.make_current(self._sender())

    def make_current(self, thermometer: str) -> None:
        for name, widget in self.rows.items():
            widget.set_current(name == thermometer)
        self.current_changed.emit(self.rows[thermometer].row if thermometer in self.rows else None)

    @property
    def current(self) -> str:
        return next((name for name, widget in self.rows.items() if widget.current), "")

    def _ordered(self) -> list[str]:
        items = [self._column.itemAt(n) for n in range(self._column.count())]
        widgets = [one.widget() for one in items if one is not None]
        return [one.objectName() for one in widgets if isinstance(one, RowWidget)]

    def _up(self) -> None:
        self._step(-1)

    def _down(self) -> None:
        self._step(1)

    def _step(self, by: int) -> None:
        ordered = self._ordered()
        here = ordered.index(self._sender()) if self._sender() in ordered else 0
        if 0 <= here + by < len(ordered):
            self.focus_on(ordered[here + by])

    def focus_on(self, thermometer: str) -> None:
        if thermometer in self.rows:
            field = self.rows[thermometer].field
            field.setFocus()
            if not field.isReadOnly():
                field.selectAll()
            self.show_whole(thermometer)

    def show_whole(self, thermometer: str) -> None:
        """Scroll to a row with what stands open under it: now, and once the layout has found room for that."""
        self._scroll_to(thermometer)
        QTimer.singleShot(0, self, lambda: self._scroll_to(thermometer))

    def _show_current(self) -> None:
        self._scroll_to(self.current)

    def _scroll_to(self, thermometer: str) -> None:
        if thermometer in self.rows:
            self.area.ensureWidgetVisible(self.rows[thermometer], 0, 40)

    def next_waiting(self, after: str) -> str:
        """The next row that wants a reading, below first, then from the top; "" where none does."""
        ordered = self._ordered()
        start = ordered.index(after) + 1 if after in ordered else 0
        for thermometer in ordered[start:] + ordered[:start]:
            row = self.rows[thermometer].row
            if row.state in ("waiting", "partly") and row.problem is None and thermometer != after:
                return thermometer
        return ""
