"""The table as it is looked at: heads that sort, columns as wide as their words, one line below each row."""

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from registry import resources
from ui import theme
from ui.desk import Desk
from ui.marks import LEAD, SERVICE, paint_sign
from ui.thermometers import cells, delegate
from ui.thermometers.filters import OUTCOMES
from ui.thermometers.model import TableModel

HEAD = 14
LEAST, MOST = 110, 280  # of a column that takes or gives room, px at 100 %


class Heads(QHeaderView):
    """Words of the columns; the one that sorts is in ink, with an arrow that says which way."""

    def __init__(self, desk: Desk, model: TableModel) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.look, self._model = desk.look, model
        self.setSectionsClickable(True)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumSectionSize(24)
        self.setFixedHeight(max(theme.DESK, QFontMetrics(self.look.font(HEAD)).height() + 16))

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        look, asked = self.look, self._model.asked
        if not 0 <= section < len(self._model.columns):
            return
        column = self._model.columns[section]
        sorts = column == asked.sort
        painter.save()
        painter.fillRect(rect, look.sheet)
        painter.setFont(look.font(HEAD, bold=sorts))
        painter.setPen(look.ink if sorts else look.muted)
        room = rect.adjusted(delegate.PAD, 0, -delegate.PAD, 0)
        right = column in cells.FIGURES
        words = str(self._model.headerData(section, Qt.Orientation.Horizontal) or "")
        painter.drawText(room, delegate.RIGHT if right else delegate.LEFT, words)
        if sorts:
            side = look.text(10)
            width = QFontMetrics(painter.font()).horizontalAdvance(words)
            left = room.right() - width - side - 6 if right else room.left() + width + 6
            where = QRectF(left, rect.center().y() + 1 - side / 2, side, side)
            paint_sign(painter, where, "down" if asked.descending else "up", look)
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, look.line)
        painter.restore()


class Listing(QTableView):
    """`opened` tells the thermometer of the row where Enter was pressed or that was pressed twice."""

    opened = Signal(str)
    sort_wanted = Signal(str)

    def __init__(self, desk: Desk, model: TableModel) -> None:
        super().__init__()
        self.desk, self.look, self._model = desk, desk.look, model
        self.setModel(model)
        self._delegate = delegate.RowDelegate(desk)
        self.setItemDelegate(self._delegate)
        self.setAccessibleName(desk.say("thermometers.table"))
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(delegate.row_height(self.look))
        self.setHorizontalHeader(Heads(desk, model))
        self.horizontalHeader().sectionClicked.connect(self._head_pressed)
        self.doubleClicked.connect(self._pressed)
        model.modelReset.connect(self.fit)

    # --- opening, sorting ------------------------------------------------------------------------------------

    def current(self) -> str:
        """The thermometer of the current row."""
        row = self.currentIndex().row()
        return self._model.rows[row].thermometer if 0 <= row < len(self._model.rows) else ""

    def put_on(self, thermometer: str) -> None:
        """Make its row the current one, else the first."""
        place = max(self._model.place_of(thermometer), 0)
        if self._model.rows:
            self.setCurrentIndex(self._model.index(place, 0))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current():
            self.opened.emit(self.current())
        elif event.key() == Qt.Key.Key_Escape or event.text() == "/":
            event.ignore()  # the page goes on from here
        else:
            super().keyPressEvent(event)

    def _pressed(self, index: QModelIndex) -> None:
        self.opened.emit(self._model.rows[index.row()].thermometer)

    def _head_pressed(self, section: int) -> None:
        if self._model.sortable(section):
            self.sort_wanted.emit(self._model.columns[section])

    # --- widths ----------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit()

    def fit(self) -> None:
        """Each column as wide as what stands in it; names take what is left, or give way."""
        columns = self._model.columns
        wide = {one: self._wanted(one) for one in columns}
        if sum(wide.values()) > self.viewport().width():  # only the head that sorts keeps room for its arrow
            wide = {one: self._wanted(one, arrow=one == self._model.asked.sort) for one in columns}
        roomy = [one for one in columns if one in cells.ROOMY] or list(columns[-1:])
        spare = self.viewport().width() - sum(wide.values())
        if spare < 0:
            self._take_from(roomy, wide, -spare)
            still = sum(wide.values()) - self.viewport().width()
            if still > 0:  # then types under their tag ids give way: they end with dots
                wide[cells.FIRST] = max(wide[cells.FIRST] - still, self._tags_wide())
        else:
            self._give_to(roomy, wide, spare)
        for n, one in enumerate(columns):
            self.setColumnWidth(n, wide[one])

    def _take_from(self, roomy: Sequence[str], wide: dict[str, int], missing: int) -> None:
        """From those that can give, who can give least first."""
        in_order = sorted(roomy, key=lambda one: wide[one] - self._least(wide[one]))
        for n, one in enumerate(in_order):
            taken = min(-(-missing // (len(in_order) - n)), wide[one] - self._least(wide[one]))
            wide[one] -= taken
            missing -= taken

    def _give_to(self, roomy: Sequence[str], wide: dict[str, int], spare: int) -> None:
        """To the names up to a width that reads well; what is left then, to all alike."""
        for n, one in enumerate(roomy):
            given = max(0, min(spare // (len(roomy) - n), self.look.text(MOST) - wide[one]))
            wide[one] += given
            spare -= given
        for n, one in enumerate(wide):
            given = spare // (len(wide) - n)
            wide[one] += given
            spare -= given

    def _least(self, wide: int) -> int:
        return min(wide, self.look.text(LEAST))

    def _tags_wide(self) -> int:
        """What the first column needs for its tag ids alone."""
        tags = [row.tag_id for row in self._model.rows[:200]] or ["MM000M"]
        widest = max(map(QFontMetrics(self.look.font(delegate.TAG, bold=True)).horizontalAdvance, tags))
        return self.look.text(delegate.DRAWING) + 10 + widest + 2 * delegate.PAD

    def _wanted(self, column: str, *, arrow: bool = True) -> int:
        look, say = self.look, self.desk.say
        metrics = QFontMetrics(look.font(delegate.TEXT))
        head = QFontMetrics(look.font(HEAD, bold=True)).horizontalAdvance(self._model.head(column))
        head += look.text(18) if arrow else 0
        if column == cells.FIRST:
            small = QFontMetrics(look.font(delegate.UNDER))
            under = max(small.horizontalAdvance(say(f"type.{one}")) for one in resources.instrument_types())
            beside = look.text(delegate.DRAWING) + 10 + under
            return max(max(head, beside) + 2 * delegate.PAD, self._tags_wide())
        mark, place = look.text(delegate.MARK) + 8, self._model.columns.index(column)
        if column == "status":
            usual = metrics.horizontalAdvance(say("status.in_service"))  # in one line, the rare long ones in two
            widest = mark + max(usual, *(delegate.two_wide(say(f"status.{one}"), metrics) for one in SERVICE))
        elif column == "last_outcome":
            words = [*(say(f"outcome.{one}") for one in OUTCOMES), say(f"lead.{LEAD[4]}")]
            words += [str(self._model.index(n, place).data() or "") for n in range(min(len(self._model.rows), 60))]
            widest = mark + max(delegate.two_wide(one, metrics) for one in words)
        else:
            texts = {str(self._model.index(n, place).data() or "") for n in range(min(len(self._model.rows), 60))}
            widest = max(map(metrics.horizontalAdvance, texts), default=0)
            widest = min(widest, look.text(MOST)) if column in cells.ROOMY else widest
        return max(head, widest) + 2 * delegate.PAD + 2

    # --- drawing ---------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter, width = QPainter(self.viewport()), self.viewport().width()
        first, high = self.rowAt(0), self.viewport().height()
        for row in range(max(first, 0), len(self._model.rows) if first >= 0 else 0):
            bottom = self.rowViewportPosition(row) + self.rowHeight(row)
            painter.fillRect(0, bottom - 1, width, 1, self.look.line)
            if bottom > high:
                break
        if self.hasFocus() and self.currentIndex().isValid():
            top, row_high = self.rowViewportPosition(self.currentIndex().row()), self.rowHeight(0)
            painter.setPen(QPen(self.look.pen, 3))
            painter.drawRect(QRectF(1.5, top + 1.5, width - 3, row_high - 4))
        painter.end()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if not self.currentIndex().isValid():
            self.put_on("")
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.viewport().update()
