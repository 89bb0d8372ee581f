"""The marks of single checks by outcome, their uncertainty, and the way from as found to as left."""

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap

from registry import charts
from registry.charts import AS_LEFT, Chart, Placed
from ui.marks import disc, fill, outcome_colour, paint_outcome, paint_sign, polygon, stroke
from ui.plots.sheet import Sheet, pale

POINT, POINT_STRONG, POINT_SMALL, RING = 9, 14, 5, 11
DENSE = 400  # from so many points on, marks are stamped: a path for each would take too long


def paint_arrows(sheet: Sheet, chart: Chart) -> None:
    """From as found to as left, in pen, short of both marks."""
    for arrow in chart.arrows:
        x, start = sheet.point(charts.spot(chart, arrow.at, arrow.as_found))
        _, end = sheet.point(charts.spot(chart, arrow.at, arrow.as_left))
        way = 1 if end > start else -1
        if sheet.small or abs(end - start) < 20:
            continue
        tip = end - way * 8
        stroke(sheet.painter, polygon([(x, start + way * 8), (x, tip)]), sheet.look.pen, 1.6)
        stroke(sheet.painter, polygon([(x - 4, tip - way * 5), (x, tip), (x + 4, tip - way * 5)]), sheet.look.pen, 1.6)


def extent(sheet: Sheet, one: Placed) -> tuple[float, float, float]:
    x, y = sheet.point((one.x, one.y))
    ends = [sheet.point((one.x, end))[1] for end in one.bar or ()]
    return x, min([y - POINT / 2, *ends]), max([y + POINT / 2, *ends])


def _crowded(sheet: Sheet, placed: Sequence[Placed]) -> bool:
    return len(placed) * (POINT + 1) > sheet.area.width()


def paint_bars(sheet: Sheet, placed: Sequence[Placed]) -> None:
    """U up and down of each mark; where marks stand close together their bars stand back."""
    weight, share = (1.0, 0.4) if _crowded(sheet, placed) else (1.6, 1.0)
    lines: dict[int, list[QLineF]] = {}
    for one in placed:
        if one.bar and not sheet.small:
            x, top = sheet.point((one.x, one.bar[0]))
            _, bottom = sheet.point((one.x, one.bar[1]))
            lines.setdefault(outcome_colour(one.mark, sheet.look).rgb(), []).append(QLineF(x, top, x, bottom))
    for rgb, bars in lines.items():
        colour = pale(QColor.fromRgb(rgb), share)
        # Soft edges on thousands of thin bars take longer than all the rest.
        sheet.painter.setRenderHint(QPainter.RenderHint.Antialiasing, len(placed) < DENSE)
        sheet.painter.setPen(QPen(colour, weight, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        sheet.painter.drawLines(bars)


def paint_points(sheet: Sheet, placed: Sequence[Placed]) -> None:
    """Marks by outcome, then the rings of as left, which lie on top."""
    less = 2 if _crowded(sheet, placed) and not sheet.small else 0
    stamps: dict[tuple[str, bool, float], QPixmap] = {}
    for one in sorted(placed, key=lambda each: each.mark == AS_LEFT):
        side = _side(one, sheet.small) - less
        x, y = sheet.point((one.x, one.y))
        where = QRectF(x - side / 2, y - side / 2, side, side)
        if len(placed) < DENSE:
            _mark(sheet.painter, where, one.mark, one.high, sheet)
            continue
        key = (one.mark, one.high, side)
        if key not in stamps:
            stamps[key] = _stamp(sheet, *key)
        sheet.painter.drawPixmap(where.topLeft(), stamps[key])


def _side(one: Placed, small: bool) -> float:
    """How large a mark is. In a small plot what passes is a dot, so that what doesn't is seen."""
    if small:
        return POINT_SMALL if one.mark not in ("fail", "conditional_fail", AS_LEFT) else POINT - 1
    if one.mark == AS_LEFT:
        return RING
    return POINT_STRONG if one.strong else POINT + (1 if one.mark in ("fail", "conditional_fail") else 0)


def _mark(painter: QPainter, where: QRectF, mark: str, high: bool, sheet: Sheet) -> None:
    if mark == AS_LEFT:
        paint_sign(painter, where, "as_left", sheet.look)
    elif sheet.small and mark not in ("fail", "conditional_fail"):
        fill(painter, disc(where.center().x(), where.center().y(), where.width() * 0.36), sheet.look.muted)
    else:
        paint_outcome(painter, where, mark, high, sheet.look)


def _stamp(sheet: Sheet, mark: str, high: bool, side: float) -> QPixmap:
    """A mark as a picture, as fine as what it is painted on."""
    device = sheet.painter.device()
    ratio = device.devicePixelRatio() if device is not None else 1.0
    stamp = QPixmap(QSize(round(side * ratio) + 1, round(side * ratio) + 1))
    stamp.setDevicePixelRatio(ratio)
    stamp.fill(Qt.GlobalColor.transparent)
    painter = QPainter(stamp)
    _mark(painter, QRectF(0, 0, side, side), mark, high, sheet)
    painter.end()
    return stamp
