"""The lanes beneath the offsets: checks, incidents, papers and moves, on the same time."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPen

from registry.charts import Chart, Lane
from ui.marks import box, crisp, fill, paint_sign, polygon, stroke
from ui.plots.sheet import LANE, TEXT, Sheet


def lane_y(sheet: Sheet, chart: Chart, code: str) -> float:
    """The middle of a lane; where there is none, so that a line to it ends with the plot, a little below that."""
    for number, lane in enumerate(chart.lanes):
        if lane.code == code:
            return sheet.area.bottom() + 10 + (number + 0.5) * sheet.look.text(LANE)
    return sheet.area.bottom() + 6


def paint_lanes(sheet: Sheet, chart: Chart) -> None:
    look, area = sheet.look, sheet.area
    ends = [sheet.x(chart, vline.at) for vline in chart.vlines if vline.role == "today"] or [area.right()]
    for lane in chart.lanes:
        y = crisp(lane_y(sheet, chart, lane.code))
        stroke(sheet.painter, polygon([(area.left(), y), (ends[0], y)]), look.line, 1)
        place = QRectF(sheet.whole.left(), y - 12, area.left() - sheet.whole.left(), 24)
        sheet.write(lane.text, place, "left", look.muted)
        _ticks(sheet, chart, lane, y)
        _lane_marks(sheet, chart, lane, y)


def _ticks(sheet: Sheet, chart: Chart, lane: Lane, y: float) -> None:
    """Checks, one upright each; where they stand too close they become a hatching."""
    places = {round(sheet.x(chart, mark.at) * 2) / 2 for mark in lane.marks if mark.mark == "check"}
    weight = 1.4
    if len(places) * 4 > sheet.area.width():
        places, weight = {round(x / 2) * 2.0 for x in places}, 0.8
    sheet.painter.setPen(QPen(sheet.look.ink, weight, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    sheet.painter.drawLines([QLineF(x + 0.5, y - 5, x + 0.5, y + 5) for x in sorted(places)])


def _lane_marks(sheet: Sheet, chart: Chart, lane: Lane, y: float) -> None:
    look, side = sheet.look, sheet.look.text(13)
    marks = [mark for mark in lane.marks if mark.mark != "check"]
    free = sheet.area.left()
    for number, mark in enumerate(marks):
        x = sheet.x(chart, mark.at)
        after = sheet.x(chart, marks[number + 1].at) - side / 2 if number + 1 < len(marks) else sheet.whole.right()
        width = QFontMetricsF(look.font(TEXT)).horizontalAdvance(mark.text)
        place = QRectF(x + side / 2 + 4, y - 12, width + 4, 24)
        if mark.text and place.right() <= after and x >= free:
            fill(sheet.painter, box(place.x() - 2, y - 1, width + 4, 2), look.sheet)
            sheet.write(mark.text, place, "left", look.caution)
        sign = {"move": "moved"}.get(mark.mark, mark.mark)
        paint_sign(sheet.painter, QRectF(x - side / 2, y - side / 2, side, side), sign, look)
