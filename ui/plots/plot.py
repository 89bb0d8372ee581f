"""A chart in the window, whose points are asked about by pointer and by arrow keys."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry import charts
from registry.charts import Chart, Spot
from ui.marks import box, disc, stroke
from ui.plots.asked import Asked
from ui.plots.chart import paint_chart
from ui.plots.sheet import chart_area, has_length, is_small
from ui.theme import Look

ZOOM = {Qt.Key.Key_Plus: 1, Qt.Key.Key_Equal: 1, Qt.Key.Key_Minus: -1}


class Plot(Asked):
    """A chart whose points can be asked about by pointer and by arrow keys.

    `asked` tells the place of a point in `chart.points`. `zoomed`: 1 for less time, -1 for more, by the plus and minus
    keys or the wheel with Ctrl. A small chart is for looking at only, unless it was given `words` of its points.
    """

    zoomed = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None, *, beside: bool = False) -> None:
        super().__init__(look, parent, beside=beside)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._chart: Chart | None = None
        self._drawn: QPixmap | None = None

    def show_chart(self, chart: Chart | None, name: str, description: str = "") -> None:
        """`name` and `description` are read aloud."""
        self._chart, self._drawn = chart, None
        drawn = chart is not None and has_length(chart.time) and has_length(chart.value)
        kept = [n for n, at in enumerate(chart.points.at) if chart.time.holds(at)] if chart and drawn else []
        asks = chart is not None and (not is_small(chart) or self.words is not None)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if asks else Qt.FocusPolicy.NoFocus)
        self.setMouseTracking(asks)
        self.show_marks(kept, name, description)
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return self._size(180, 46, 640, 220)

    def minimumSizeHint(self) -> QSize:
        return self._size(90, 30, 300, 110)

    def _size(self, small_wide: int, small_high: int, wide: int, area_high: int) -> QSize:
        """A chart with words has the room of its words and so many px for its offsets."""
        if self._chart is None or is_small(self._chart):
            return QSize(small_wide, small_high)
        room = QRectF(0, 0, 1000, 1000)
        words = room.height() - chart_area(room, self._chart, self._look).height()
        return QSize(self._look.text(wide), round(words) + 10 + area_high)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in ZOOM:
            self.zoomed.emit(ZOOM[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoomed.emit(1 if turned > 0 else -1)
        else:
            event.ignore()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._drawn = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._chart is not None:
            painter.drawPixmap(0, 0, self._picture(self._chart))
            if self._chosen >= 0:
                x, y = self.place_of(self._chosen)
                stroke(painter, disc(x, y, 10), self._look.pen, 3)
        if self.hasFocus() and self._chosen < 0:
            stroke(painter, box(1.5, 1.5, self.width() - 3, self.height() - 3, 6), self._look.pen, 3)
        painter.end()

    def _picture(self, chart: Chart) -> QPixmap:
        """Painted once for a size, so that moving the ring costs nothing."""
        ratio = self.devicePixelRatio()
        if self._drawn is None or self._drawn.devicePixelRatio() != ratio:
            self._drawn = QPixmap(self.size() * ratio)
            self._drawn.setDevicePixelRatio(ratio)
            self._drawn.fill(Qt.GlobalColor.transparent)
            painter = QPainter(self._drawn)
            paint_chart(painter, self._room(), chart, self._look)
            painter.end()
        return self._drawn

    def _room(self) -> QRectF:
        inset = 0 if self._chart is None or is_small(self._chart) else 5
        return QRectF(self.rect()).adjusted(inset, inset, -inset, -inset)

    def place_of(self, number: int) -> Spot:
        assert self._chart is not None
        area = chart_area(self._room(), self._chart, self._look)
        points = self._chart.points
        x, y = charts.spot(self._chart, points.at[number], points.value[number])
        return area.left() + x * area.width(), area.top() + y * area.height()
