"""Bands, lines and uprights of a chart, and the figures of its two axes."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QFontMetricsF

from registry import charts
from registry.charts import Axis, Chart, VLine
from ui.marks import crisp, fill, polygon, stroke
from ui.plots.lanes import lane_y
from ui.plots.sheet import LANE, TEXT, Sheet, pale


def paint_bands(sheet: Sheet, chart: Chart) -> None:
    look = sheet.look
    colours = {"tolerance": look.tol, "between": pale(look.pen, 0.11), "forecast": pale(look.ink, 0.09)}
    for band in chart.bands:
        path = polygon([sheet.point(spot) for spot in charts.outline(chart, band)], closed=True)
        fill(sheet.painter, path, colours.get(band.role, pale(look.ink, 0.16)))


def paint_lines(sheet: Sheet, chart: Chart) -> None:
    look = sheet.look
    kinds = {"limit": (look.edge, 1.0) if sheet.small else (look.ink, 1.6), "nought": (look.edge, 1.0)}
    for line in chart.lines:
        if line.role == "nought" and sheet.small:
            continue
        colour, weight = kinds.get(line.role, (look.ink, 1.8))
        places = [sheet.point(spot) for spot in charts.trail(chart, line)]
        if line.role in kinds:
            places = [(x, crisp(y)) for x, y in places]
            sheet.levels.extend(y for _, y in places[:1])
        dashes = (3.0, 3.0) if line.role == "forecast" else ()
        stroke(sheet.painter, polygon(places), colour, weight, dashes)


def paint_upright(sheet: Sheet, chart: Chart, vline: VLine) -> None:
    """Incidents end in their lane, today and a moment stand above the plot, checks beside a moment within it."""
    look, area, x = sheet.look, sheet.area, crisp(sheet.x(chart, vline.at))
    top, bottom, colour, weight = area.top(), area.bottom(), look.edge, 1.0
    dashes: tuple[float, ...] = ()
    if vline.role == "incident":
        colour, weight, dashes = look.caution, 1.2, (1.6, 2.2)
        bottom = lane_y(sheet, chart, "incidents") - 6
    elif vline.role == "today":
        colour, weight = look.ink, 1.0
        top, bottom = (area.top(), area.bottom()) if sheet.small else (area.top() - 6, area.bottom() + 8)
    elif vline.role == "moment":
        colour, weight, top, bottom = look.pen, 2.4, area.top() - 6, area.bottom() + 10
    stroke(sheet.painter, polygon([(x, top), (x, bottom)]), colour, weight, dashes, flat=True)


def paint_value_axis(sheet: Sheet, axis: Axis) -> None:
    """A faint line and a figure for each tick; limits and nought keep theirs where there is little room."""
    look, area, painter = sheet.look, sheet.area, sheet.painter
    metrics = QFontMetricsF(look.font(TEXT))
    used: list[float] = []
    for tick in sorted(axis.ticks, key=lambda each: (not each.strong, each.at != 0, abs(each.at))):
        y = crisp(area.bottom() - axis.place(tick.at) * area.height())
        if any(abs(y - other) < metrics.height() * 0.9 for other in used):
            continue
        used.append(y)
        if not tick.strong and tick.at:
            stroke(painter, polygon([(area.left(), y), (area.right(), y)]), look.line, 1)
        place = QRectF(sheet.whole.left(), y - 12, area.left() - 10 - sheet.whole.left(), 24)
        sheet.write(tick.label, place, "right", look.ink if tick.strong else look.muted, bold=tick.strong)
    if axis.title:
        place = QRectF(sheet.whole.left(), sheet.whole.top(), metrics.horizontalAdvance(axis.title) + 2, 20)
        sheet.write(axis.title, place, "left", look.muted)
        sheet.taken.append(place)


def paint_time_axis(sheet: Sheet, chart: Chart) -> None:
    """Figures stand right of their tick; one that would run into the next, or off the edge, is left out."""
    look, y = sheet.look, crisp(_axis_y(sheet, chart))
    stroke(sheet.painter, polygon([(sheet.area.left(), y), (sheet.area.right(), y)]), look.edge, 1)
    free = sheet.area.left() - 1
    for tick in chart.time.ticks:
        x = crisp(sheet.x(chart, tick.at))
        stroke(sheet.painter, polygon([(x, y), (x, y + (8 if tick.label else 4))]), look.edge, 1, flat=True)
        width = QFontMetricsF(look.font(TEXT, bold=tick.strong)).horizontalAdvance(tick.label)
        if tick.label and x > free and x + 5 + width <= sheet.whole.right():
            place = QRectF(x + 5, y + 4, width + 2, sheet.whole.bottom() - y - 4)
            sheet.write(tick.label, place, "left", look.ink if tick.strong else look.muted, bold=tick.strong)
            free = x + 5 + width + 8


def _axis_y(sheet: Sheet, chart: Chart) -> float:
    return sheet.area.bottom() + 14 + len(chart.lanes) * sheet.look.text(LANE)
