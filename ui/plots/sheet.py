"""What a chart is painted on: its rectangle, where offsets stand in it, and where words stand already."""

from dataclasses import dataclass, field

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from registry.charts import Axis, Chart, Spot
from ui.theme import Look

TEXT = 14
LANE = 24


@dataclass(frozen=True)
class Sheet:
    """What a chart is painted on. area: where offsets stand; taken: where words stand already."""

    painter: QPainter
    look: Look
    whole: QRectF
    area: QRectF
    small: bool
    taken: list[QRectF] = field(default_factory=list)
    # x, top and bottom of each mark, px, in order of x: words keep off them where they can.
    marks: list[tuple[float, float, float]] = field(default_factory=list)
    levels: list[float] = field(default_factory=list)  # y of nought and limits

    def point(self, spot: Spot) -> tuple[float, float]:
        return self.area.left() + spot[0] * self.area.width(), self.area.top() + spot[1] * self.area.height()

    def x(self, chart: Chart, at: float) -> float:
        return self.area.left() + chart.time.place(at) * self.area.width()

    def write(
        self, text: str, place: QRectF, side: str, colour: QColor, *, bold: bool = False, halo: bool = False
    ) -> None:
        """Words in the middle of the height of `place`, at its left or right, or centred."""
        painter = self.painter
        across = {"left": Qt.AlignmentFlag.AlignLeft, "right": Qt.AlignmentFlag.AlignRight}
        painter.setFont(self.look.font(TEXT, bold=bold))
        flags = across.get(side, Qt.AlignmentFlag.AlignHCenter) | Qt.AlignmentFlag.AlignVCenter
        if halo:  # lifts words off lines, and off marks that they could not keep clear of
            painter.setPen(self.look.sheet)
            for right, down in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (1, 1), (-1, 1), (1, -1)):
                painter.drawText(place.translated(right, down), flags | Qt.TextFlag.TextDontClip, text)
        painter.setPen(colour)
        painter.drawText(place, flags | Qt.TextFlag.TextDontClip, text)


def is_small(chart: Chart) -> bool:
    """One without words."""
    return not (chart.value.ticks or chart.time.ticks or chart.lanes)


def chart_area(rect: QRectF, chart: Chart, look: Look) -> QRectF:
    """Where offsets and time stand, once words at the left, above and below have their room."""
    if is_small(chart):
        return rect.adjusted(0, 2, 0, -2)
    metrics, bold = QFontMetricsF(look.font(TEXT)), QFontMetricsF(look.font(TEXT, bold=True))
    words = [tick.label for tick in chart.value.ticks] + [lane.text for lane in chart.lanes]
    left = max([bold.horizontalAdvance(text) for text in words], default=0.0) + 12
    below = metrics.height() + 12 + 14 + len(chart.lanes) * look.text(LANE)
    area = rect.adjusted(left, metrics.height() + 10, -8, -below)  # a mark at the end is whole
    return QRectF(area.left(), area.top(), max(area.width(), 1.0), max(area.height(), 1.0))


def has_length(axis: Axis) -> bool:
    return axis.low < axis.high


def pale(colour: QColor, share: float) -> QColor:
    made = QColor(colour)
    made.setAlphaF(share)
    return made
