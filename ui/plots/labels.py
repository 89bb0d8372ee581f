"""Texts beside what they name; where two would overlap the less important one moves, or is left out."""

from bisect import bisect_left, bisect_right

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QFontMetricsF

from registry import charts
from registry.charts import AS_LEFT, Chart, Spot
from ui.plots.points import POINT
from ui.plots.sheet import TEXT, Sheet


def paint_labels(sheet: Sheet, chart: Chart) -> None:
    """The most important first: what a line above the plot is, then labels as they come, then lines within."""
    look, area = sheet.look, sheet.area
    for vline in chart.vlines:
        if vline.text and vline.role in ("today", "moment"):
            _above(sheet, vline.text, sheet.x(chart, vline.at), look.pen if vline.role == "moment" else look.ink)
    for label in chart.labels:
        spot = sheet.point(charts.spot(chart, label.at, label.value))
        colour = {AS_LEFT: look.pen, "limit": look.muted}.get(label.role, look.ink)
        _beside(sheet, label.text, spot, label.anchor, colour)
    limits = [sheet.point(charts.trail(chart, line)[0])[1] for line in chart.lines if line.role == "limit"]
    floor = max(limits, default=area.bottom())
    moments = [vline.at for vline in chart.vlines if vline.role == "moment"]
    for vline in chart.vlines:
        if vline.text and vline.role == "check":
            before = bool(moments) and vline.at < moments[0]
            spot = (sheet.x(chart, vline.at), floor - 14)
            _beside(sheet, vline.text, spot, "left" if before else "right", look.ink)
    for vline in chart.vlines:
        if vline.text and vline.role == "incident":
            _beside(sheet, vline.text, (sheet.x(chart, vline.at), area.top() + 10), "right", look.caution)


def _above(sheet: Sheet, text: str, x: float, colour: QColor) -> None:
    metrics = QFontMetricsF(sheet.look.font(TEXT, bold=True))
    width = metrics.horizontalAdvance(text) + 2
    top, last = sheet.area.top() - 8 - metrics.height(), sheet.whole.right() - width
    place = QRectF(min(max(x - width / 2, sheet.whole.left()), last), top, width, metrics.height())
    ends = [other.right() for other in sheet.taken if place.intersects(other)]
    if ends and max(ends) + 8 <= x + 24:  # still near its line, right of what stands there already
        place.moveLeft(max(ends) + 8)
    if not any(place.intersects(other) for other in sheet.taken):
        sheet.write(text, place, "middle", colour, bold=True)
        sheet.taken.append(place)


def _beside(sheet: Sheet, text: str, spot: Spot, anchor: str, colour: QColor) -> None:
    """On the wanted side of a place, else on one where it is free of words; left out where there is none."""
    metrics = QFontMetricsF(sheet.look.font(TEXT))
    wide, high = metrics.horizontalAdvance(text) + 2, metrics.height()
    x, y = spot
    sides = {
        "right": [QRectF(x + 12, y - high / 2 + down * high, wide, high) for down in (0, 0.8, -0.8, 1.5, -1.5)],
        "left": [QRectF(x - 12 - wide, y - high / 2 + down * high, wide, high) for down in (0, 0.8, -0.8, 1.5, -1.5)],
        "above": [QRectF(x + 6, y - high - 1, wide, high)],
        "below": [QRectF(x + 6, y + 2, wide, high)],
    }
    wanted = sides.pop(anchor, [])
    room = QRectF(sheet.area.left(), sheet.whole.top(), sheet.whole.right() - sheet.area.left(), 0)
    room.setBottom(sheet.area.bottom() + 6)
    free = [
        place
        for place in [*wanted, *(each for side in sides.values() for each in side)]
        if room.contains(place) and not any(place.intersects(other) for other in sheet.taken)
    ]
    if free:
        best = min(free, key=lambda place: _covered(sheet, place))
        sheet.write(text, best, "left", colour, halo=True)
        sheet.taken.append(best)


def _covered(sheet: Sheet, place: QRectF) -> int:
    """How much words would stand on: marks, and half as much for a line through them."""
    first = bisect_left(sheet.marks, (place.left() - POINT / 2,))
    last = bisect_right(sheet.marks, (place.right() + POINT / 2,))
    marks = sum(top <= place.bottom() and bottom >= place.top() for _, top, bottom in sheet.marks[first:last])
    return 2 * marks + any(place.top() + 3 < level < place.bottom() - 3 for level in sheet.levels)
