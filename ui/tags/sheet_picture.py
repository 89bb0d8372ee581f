"""A small picture of a sheet of labels: which are gone, where it begins, which will be printed."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry.services.tag_setup import Sheet
from ui.theme import Look

HIGH = 260  # px at 100 %
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


class SheetPicture(QWidget):
    """A label is chosen by a press, or by the arrow keys, Home and End; it counts from 1."""

    chosen = Signal(int)

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look, self._name = look, name
        self.form: Sheet | None = None
        self.start, self.count = 1, 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_sheet(self, form: Sheet, start: int, count: int, said: str) -> None:
        """count: how many tags there are to print. said: the place in words."""
        self.form, self.start, self.count = form, min(start, form.labels), count
        wide, high = PAPERS[form.paper]
        tall = self.look.text(HIGH)
        self.setFixedSize(QSize(round(tall * wide / high) + 8, tall + 8))
        self.setAccessibleName(self._name)
        self.setAccessibleDescription(said)
        self.setToolTip(said)
        self.update()

    def box(self, label: int) -> QRectF:
        """Where a label is drawn; 1 is the first."""
        assert self.form is not None
        scale = (self.height() - 8) / PAPERS[self.form.paper][1]
        left, top = self.form.place(label - 1)
        return QRectF(4 + left * scale, 4 + top * scale, self.form.width * scale, self.form.height * scale)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.form is None:
            return
        look, painter = self.look, QPainter(self)
        paper = QRectF(self.rect()).adjusted(3.5, 3.5, -3.5, -3.5)
        painter.setPen(QPen(look.edge, 1))
        painter.setBrush(look.field)
        painter.drawRect(paper)
        for label in range(1, self.form.labels + 1):
            self._paint_label(painter, label)
        start = self.box(self.start).adjusted(1, 1, -1, -1)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.pen, 2.5))
        painter.drawRect(start)
        if self.hasFocus():
            painter.setPen(QPen(look.pen, 3))
            painter.drawRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.end()

    def _paint_label(self, painter: QPainter, label: int) -> None:
        """Gone: an empty broken outline. To be printed: filled. Left over: an outline."""
        look, box = self.look, self.box(label).adjusted(0.5, 0.5, -0.5, -0.5)
        gone = label < self.start
        printed = self.start <= label < self.start + self.count
        painter.setPen(QPen(look.edge, 1, Qt.PenStyle.DotLine if gone else Qt.PenStyle.SolidLine))
        painter.setBrush(look.level if printed else Qt.BrushStyle.NoBrush)
        painter.drawRect(box)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self.form is None:
            return
        at = event.position()
        for label in range(1, self.form.labels + 1):
            if self.box(label).contains(at):
                self.chosen.emit(label)
                return

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.form is None:
            return
        columns, last = self.form.columns, self.form.labels
        step = {
            Qt.Key.Key_Left: self.start - 1,
            Qt.Key.Key_Right: self.start + 1,
            Qt.Key.Key_Up: self.start - columns,
            Qt.Key.Key_Down: self.start + columns,
            Qt.Key.Key_Home: 1,
            Qt.Key.Key_End: last,
        }
        wanted = step.get(Qt.Key(event.key()))
        if wanted is None:
            super().keyPressEvent(event)
        elif 1 <= wanted <= last:
            self.chosen.emit(wanted)
