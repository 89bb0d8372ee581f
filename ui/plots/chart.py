"""A whole chart of offsets, painted in its order; nothing is worked out beyond places in a rectangle."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from registry import charts
from registry.charts import Chart
from ui.plots.axes import paint_bands, paint_lines, paint_time_axis, paint_upright, paint_value_axis
from ui.plots.labels import paint_labels
from ui.plots.lanes import paint_lanes
from ui.plots.points import extent, paint_arrows, paint_bars, paint_points
from ui.plots.sheet import Sheet, chart_area, has_length, is_small
from ui.theme import Look


def paint_chart(painter: QPainter, rect: QRectF, chart: Chart, look: Look) -> None:
    """Any chart of an instrument's offsets, with all its words; nothing where an axis has no length."""
    if not has_length(chart.time) or not has_length(chart.value):
        return
    sheet = Sheet(painter, look, rect, chart_area(rect, chart, look), is_small(chart))
    placed = charts.spots(chart)
    sheet.marks.extend(extent(sheet, one) for one in placed)
    painter.save()
    painter.setClipRect(rect.adjusted(-1, -1, 1, 1))
    paint_bands(sheet, chart)
    paint_value_axis(sheet, chart.value)
    paint_lines(sheet, chart)
    for vline in chart.vlines:
        paint_upright(sheet, chart, vline)
    if not sheet.small:
        paint_time_axis(sheet, chart)
        paint_lanes(sheet, chart)
    paint_bars(sheet, placed)
    paint_arrows(sheet, chart)
    paint_points(sheet, placed)
    paint_labels(sheet, chart)
    painter.restore()
