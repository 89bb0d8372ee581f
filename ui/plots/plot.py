"""A chart in the window, whose points are asked about by pointer and by arrow keys."""

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry import charts
from registry.charts import Chart, Spot
from ui.marks import box, disc, stroke
from ui.plots.chart import paint_chart
from ui.plots.sheet import chart_area, has_length, is_small
from ui.theme import Look

REACH = 14  # how near the pointer must come to a point
ZOOM = {Qt.Key.Key_Plus: 1, Qt.Key.Key_Equal: 1, Qt.Key.Key_Minus: -1}


class Plot(QWidget):
    """A chart whose points can be asked about by pointer and by arrow keys.

    `asked` tells the place of a point in `chart.points` (-1: none any more); the caller words it. `zoomed`: 1 for less
    time, -1 for more, by the plus and minus keys or the wheel with Ctrl.
    """

    asked = Signal(int)
    zoomed = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._look = look
        self._chart: Chart | None = None
        self._kept: list[int] = []  # points within the time shown
        self._chosen = -1
        self._drawn: QPixmap | None = None

    def show_chart(self, chart: Chart | None, name: str, description: str = "") -> None:
        """`name` and `description` are read aloud. A chart without words is for looking at only."""
        self._chart, self._drawn, self._chosen = chart, None, -1
        drawn = chart is not None and has_length(chart.time) and has_length(chart.value)
        self._kept = [n for n, at in enumerate(chart.points.at) if chart.time.holds(at)] if chart and drawn else []
        asks = chart is not None and not is_small(chart)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if asks else Qt.FocusPolicy.NoFocus)
        self.setMouseTracking(asks)
        self.setAccessibleName(name)
        self.setAccessibleDescription(description)
        self.updateGeometry()
        self.update()

    def chosen(self) -> int:
        return self._chosen

    def choose(self, point: int) -> None:
        """Put the ring round a point of the chart; -1 or one that isn't shown takes it away."""
        point = point if point in self._kept else -1
        if point != self._chosen:
            self._chosen = point
            self.update()
            self.asked.emit(point)

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
        key, last = event.key(), len(self._kept) - 1
        now = self._kept.index(self._chosen) if self._chosen in self._kept else last + 1
        moves = {
            Qt.Key.Key_Left: max(now - 1, 0),
            Qt.Key.Key_Right: min(now + 1, last),
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }
        if key in ZOOM:
            self.zoomed.emit(ZOOM[Qt.Key(key)])
        elif key == Qt.Key.Key_Escape and self._chosen >= 0:
            self.choose(-1)
        elif key in moves and self._kept:
            self.choose(self._kept[moves[Qt.Key(key)]])
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoomed.emit(1 if turned > 0 else -1)
        else:
            event.ignore()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self.choose(self._nearest(event.position()))

    def leaveEvent(self, event: QEvent) -> None:
        if not self.hasFocus():
            self.choose(-1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._drawn = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._chart is not None:
            painter.drawPixmap(0, 0, self._picture(self._chart))
            if self._chosen >= 0:
                x, y = self._where(self._chosen)
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

    def _where(self, point: int) -> Spot:
        assert self._chart is not None
        area = chart_area(self._room(), self._chart, self._look)
        points = self._chart.points
        x, y = charts.spot(self._chart, points.at[point], points.value[point])
        return area.left() + x * area.width(), area.top() + y * area.height()

    def _nearest(self, pointer: QPointF) -> int:
        def far(point: int) -> float:
            x, y = self._where(point)
            return (x - pointer.x()) ** 2 + (y - pointer.y()) ** 2

        if self._chart is None:
            return -1
        near = [point for point in self._kept if far(point) <= REACH**2]
        return min(near, key=far, default=-1)
