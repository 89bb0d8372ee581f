"""Checks done and missed by site and week: a cell fills from its foot with what was done, the figure was missed."""

from datetime import date, datetime

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QGridLayout, QSizePolicy, QWidget

from registry.services.activity import Activity, SiteWeeks, Week
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.drift import wording
from ui.parts import LINK, Button, Words, on_press
from ui.plots.walk import Walk, move_of
from ui.theme import Look

WIDEST = 230  # px at 100 % text, that the name of a site takes in one line


class Cell(QAbstractButton):
    """One site in one week. Tab comes to one cell of the grid; arrow keys go on from there."""

    moved = Signal(int, int)
    told = Signal(str)

    def __init__(self, look: Look, week: Week, words: str) -> None:
        super().__init__()
        self.look, self.week = look, week
        self.share = wording.share_done(week)
        self.setText(str(week.missed) if week.missed else "")
        self.setAccessibleName(words)
        self.setToolTip(words)
        self.setFont(look.font(15, bold=True))
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.font())
        return QSize(metrics.horizontalAdvance("000") + 8, max(theme.DESK, metrics.height() + 16))

    def minimumSizeHint(self) -> QSize:
        return QSize(QFontMetrics(self.font()).horizontalAdvance("00") + 8, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        elif (way := move_of(event)) is not None:
            self.moved.emit(*way)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.told.emit(self.accessibleName())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_cell(painter, QRectF(self.rect()), self.share, self.text(), self.look, known=self.week.known)
        if self.hasFocus():
            painter.setPen(QPen(self.look.pen, 3))
            painter.drawRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.end()


def paint_cell(
    painter: QPainter, rect: QRectF, share: float | None, figure: str, look: Look, *, known: bool = True
) -> None:
    """share: of what was asked, what was done; None where nothing was. Not known: a broken outline."""
    box = rect.adjusted(2, 2, -2, -2)
    if share is not None:
        high = box.height() * min(max(share, 0.0), 1.0)
        painter.fillRect(QRectF(box.left(), box.bottom() - high, box.width(), high), look.level)
    if share is None or share < 1 or figure:
        dash = Qt.PenStyle.SolidLine if known else Qt.PenStyle.DashLine
        painter.setPen(QPen(look.edge if share is not None or not known else look.line, 1, dash))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
    if figure:
        painter.setFont(look.font(15, bold=True))
        painter.setPen(look.ink)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, figure)


class Grid(QWidget):
    """The whole grid. `site_wanted` tells which site, and the Monday of the week that was pressed (None: the site)."""

    site_wanted = Signal(str, object)
    told = Signal(str)

    def __init__(self, desk: Desk, activity: Activity, *, narrow: bool) -> None:
        super().__init__()
        self.desk, self._narrow = desk, narrow
        self.cells: list[list[Cell]] = []
        self.names: list[Button] = []
        self._sites = [one.site for one in activity.sites]
        self.setAccessibleName(desk.say("drift.grid"))
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(0)
        worst = wording.worst_of(activity)
        for number, site in enumerate(activity.sites):
            self._add(number, site, bold=site is worst)
        if activity.sites:
            self._add_days(activity.sites[0])
        self._walk = Walk(self, self.cells)
        self._walk.told.connect(self.told)

    def _add(self, number: int, site: SiteWeeks, *, bold: bool) -> None:
        desk, look = self.desk, self.desk.look
        at = number * 2 if self._narrow else number
        font = look.font(15, bold=bold)
        name = Button(look, in_lines(site.name, QFontMetrics(font), look.text(WIDEST)), LINK)
        name.setFont(font)
        name.setAccessibleName(desk.say("drift.to_log", site=site.name))
        on_press(name, lambda: self.site_wanted.emit(site.site, None))
        self.names.append(name)
        total = desk.say(
            "drift.total",
            missed=format.number(site.total("missed"), desk.region),
            wanted=format.number(site.total("asked"), desk.region),
        )
        sum_ = Words(look, total, 15, bold=bold, wrap=False)
        if self._narrow:
            weeks = len(site.weeks)
            wide = max(1, 3 * weeks // 4)  # columns of the name; the sum has the others
            self._grid.addWidget(name, at, 0, 1, wide)
            self._grid.addWidget(sum_, at, wide, 1, weeks + 1 - wide, Qt.AlignmentFlag.AlignRight)
        else:
            self._grid.addWidget(name, at, 0)
            widest = max(self._grid.columnMinimumWidth(0), name.sizeHint().width() + 16)
            self._grid.setColumnMinimumWidth(0, widest)
            self._grid.addWidget(sum_, at, len(site.weeks) + 1)
            sum_.setContentsMargins(12, 0, 0, 0)
        row = [self._cell(site, week) for week in site.weeks]
        for column, cell in enumerate(row, 1):
            self._grid.addWidget(cell, at + self._narrow, column)
            self._grid.setColumnStretch(column, 1)
        self.cells.append(row)

    def _cell(self, site: SiteWeeks, week: Week) -> Cell:
        cell = Cell(self.desk.look, week, wording.told(self.desk, site, week))
        on_press(cell, lambda: self.site_wanted.emit(site.site, week.monday))
        return cell

    def _add_days(self, site: SiteWeeks) -> None:
        """Every fourth Monday under its week, and which one is this week."""
        look, at = self.desk.look, self._grid.rowCount()
        last = len(site.weeks)
        for column, week in enumerate(site.weeks, 1):
            if (last - column) % 4 == 3 and last - column > (4 if look.narrow else 1):
                day = Words(look, self.desk.say("drift.week_of", day=_short(self.desk, week)), 14, colour="muted")
                day.setWordWrap(False)
                self._grid.addWidget(day, at, column, 1, 3)
        this = Words(look, self.desk.say("drift.this_week"), 14, colour="muted", wrap=False)
        self._grid.addWidget(this, at, max(1, last - 2), 1, 3, Qt.AlignmentFlag.AlignRight)

    def focused(self) -> tuple[str, date | None] | None:
        """Which site has the keys, and the Monday of the week (None: its name); None where nothing here has."""
        for site, name, row in zip(self._sites, self.names, self.cells, strict=True):
            if name.hasFocus():
                return site, None
            if found := next((cell for cell in row if cell.hasFocus()), None):
                return site, found.week.monday
        return None

    def focus_on(self, site: str, monday: date | None) -> None:
        """Give the keys to what `focused` told, in a grid made anew; where that week is gone, to the site's last."""
        if site not in self._sites:
            return
        row = self._sites.index(site)
        if monday is None:
            self.names[row].setFocus(Qt.FocusReason.OtherFocusReason)
            return
        last = len(self.cells[row]) - 1
        column = next((n for n, cell in enumerate(self.cells[row]) if cell.week.monday == monday), last)
        self._walk.stand_on(row, column, Qt.FocusReason.OtherFocusReason)


def in_lines(name: str, metrics: QFontMetrics, widest: int) -> str:
    """A name in as many lines as the width asks for; no word is cut."""
    lines: list[str] = []
    for word in name.split():
        if lines and metrics.horizontalAdvance(f"{lines[-1]} {word}") <= widest:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return "\n".join(lines)


def _short(desk: Desk, week: Week) -> str:
    return format.on_axis("week", datetime.combine(week.monday, datetime.min.time()), False, desk.language)
