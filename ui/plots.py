"""Draws the chart model: offsets over time, the days around a moment, the small one in a row, a pile of dots.

Texts stand beside what they name; where two would overlap the less important one moves, or is left out. Nothing here
works anything out beyond places in a rectangle.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry import charts
from registry.charts import AS_LEFT, Axis, Chart, DotPile, Lane, Placed, Spot, VLine
from ui.marks import box, crisp, disc, fill, outcome_colour, paint_outcome, paint_sign, polygon, stroke
from ui.theme import Look

TEXT = 14
LANE = 24
POINT, POINT_STRONG, POINT_SMALL, RING = 9, 14, 5, 11
DENSE = 400  # from so many points on, marks are stamped: a path for each would take too long
REACH = 14  # how near the pointer must come to a point


@dataclass(frozen=True)
class _Sheet:
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
    area = rect.adjusted(left, metrics.height() + 10, -2, -below)
    return QRectF(area.left(), area.top(), max(area.width(), 1.0), max(area.height(), 1.0))


def paint_chart(painter: QPainter, rect: QRectF, chart: Chart, look: Look) -> None:
    """Any chart of an instrument's offsets, with all its words; nothing where an axis has no length."""
    if not _has_length(chart.time) or not _has_length(chart.value):
        return
    sheet = _Sheet(painter, look, rect, chart_area(rect, chart, look), is_small(chart))
    placed = charts.spots(chart)
    sheet.marks.extend(_extent(sheet, one) for one in placed)
    painter.save()
    painter.setClipRect(rect.adjusted(-1, -1, 1, 1))
    _bands(sheet, chart)
    _value_axis(sheet, chart.value)
    _lines(sheet, chart)
    for vline in chart.vlines:
        _vline(sheet, chart, vline)
    if not sheet.small:
        _time_axis(sheet, chart)
        _lanes(sheet, chart)
    _bars(sheet, placed)
    _arrows(sheet, chart)
    _points(sheet, placed)
    _labels(sheet, chart)
    painter.restore()


def _has_length(axis: Axis) -> bool:
    return axis.low < axis.high


# --- bands, lines, axes --------------------------------------------------------------------------------------


def _pale(colour: QColor, share: float) -> QColor:
    pale = QColor(colour)
    pale.setAlphaF(share)
    return pale


def _bands(sheet: _Sheet, chart: Chart) -> None:
    look = sheet.look
    colours = {"tolerance": look.tol, "between": _pale(look.pen, 0.11), "forecast": _pale(look.ink, 0.09)}
    for band in chart.bands:
        path = polygon([sheet.point(spot) for spot in charts.outline(chart, band)], closed=True)
        fill(sheet.painter, path, colours.get(band.role, _pale(look.ink, 0.16)))


def _lines(sheet: _Sheet, chart: Chart) -> None:
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


def _vline(sheet: _Sheet, chart: Chart, vline: VLine) -> None:
    """Incidents end in their lane, today and a moment stand above the plot, checks beside a moment within it."""
    look, area, x = sheet.look, sheet.area, crisp(sheet.x(chart, vline.at))
    top, bottom, colour, weight = area.top(), area.bottom(), look.edge, 1.0
    dashes: tuple[float, ...] = ()
    if vline.role == "incident":
        colour, weight, dashes = look.caution, 1.2, (1.6, 2.2)
        bottom = _lane_y(sheet, chart, "incidents") - 6
    elif vline.role == "today":
        colour, weight = look.ink, 1.0
        top, bottom = (area.top(), area.bottom()) if sheet.small else (area.top() - 6, area.bottom() + 8)
    elif vline.role == "moment":
        colour, weight, top, bottom = look.pen, 2.4, area.top() - 6, area.bottom() + 10
    stroke(sheet.painter, polygon([(x, top), (x, bottom)]), colour, weight, dashes, flat=True)


def _value_axis(sheet: _Sheet, axis: Axis) -> None:
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
        _write(sheet, tick.label, place, "right", look.ink if tick.strong else look.muted, bold=tick.strong)
    if axis.title:
        place = QRectF(sheet.whole.left(), sheet.whole.top(), metrics.horizontalAdvance(axis.title) + 2, 20)
        _write(sheet, axis.title, place, "left", look.muted)
        sheet.taken.append(place)


def _time_axis(sheet: _Sheet, chart: Chart) -> None:
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
            _write(sheet, tick.label, place, "left", look.ink if tick.strong else look.muted, bold=tick.strong)
            free = x + 5 + width + 8


def _axis_y(sheet: _Sheet, chart: Chart) -> float:
    return sheet.area.bottom() + 14 + len(chart.lanes) * sheet.look.text(LANE)


# --- lanes ---------------------------------------------------------------------------------------------------


def _lane_y(sheet: _Sheet, chart: Chart, code: str) -> float:
    """The middle of a lane; where there is none, so that a line to it ends with the plot, a little below that."""
    for number, lane in enumerate(chart.lanes):
        if lane.code == code:
            return sheet.area.bottom() + 10 + (number + 0.5) * sheet.look.text(LANE)
    return sheet.area.bottom() + 6


def _lanes(sheet: _Sheet, chart: Chart) -> None:
    look, area = sheet.look, sheet.area
    ends = [sheet.x(chart, vline.at) for vline in chart.vlines if vline.role == "today"] or [area.right()]
    for lane in chart.lanes:
        y = crisp(_lane_y(sheet, chart, lane.code))
        stroke(sheet.painter, polygon([(area.left(), y), (ends[0], y)]), look.line, 1)
        place = QRectF(sheet.whole.left(), y - 12, area.left() - sheet.whole.left(), 24)
        _write(sheet, lane.text, place, "left", look.muted)
        _ticks(sheet, chart, lane, y)
        _lane_marks(sheet, chart, lane, y)


def _ticks(sheet: _Sheet, chart: Chart, lane: Lane, y: float) -> None:
    """Checks, one upright each; where they stand too close they become a hatching."""
    places = {round(sheet.x(chart, mark.at) * 2) / 2 for mark in lane.marks if mark.mark == "check"}
    weight = 1.4
    if len(places) * 4 > sheet.area.width():
        places, weight = {round(x / 2) * 2.0 for x in places}, 0.8
    sheet.painter.setPen(QPen(sheet.look.ink, weight, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    sheet.painter.drawLines([QLineF(x + 0.5, y - 5, x + 0.5, y + 5) for x in sorted(places)])


def _lane_marks(sheet: _Sheet, chart: Chart, lane: Lane, y: float) -> None:
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
            _write(sheet, mark.text, place, "left", look.caution)
        sign = {"move": "moved"}.get(mark.mark, mark.mark)
        paint_sign(sheet.painter, QRectF(x - side / 2, y - side / 2, side, side), sign, look)


# --- points and arrows ---------------------------------------------------------------------------------------


def _arrows(sheet: _Sheet, chart: Chart) -> None:
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


def _extent(sheet: _Sheet, one: Placed) -> tuple[float, float, float]:
    x, y = sheet.point((one.x, one.y))
    ends = [sheet.point((one.x, end))[1] for end in one.bar or ()]
    return x, min([y - POINT / 2, *ends]), max([y + POINT / 2, *ends])


def _crowded(sheet: _Sheet, placed: Sequence[Placed]) -> bool:
    return len(placed) * (POINT + 1) > sheet.area.width()


def _bars(sheet: _Sheet, placed: Sequence[Placed]) -> None:
    """U up and down of each mark; where marks stand close together their bars stand back."""
    weight, share = (1.0, 0.4) if _crowded(sheet, placed) else (1.6, 1.0)
    lines: dict[int, list[QLineF]] = {}
    for one in placed:
        if one.bar and not sheet.small:
            x, top = sheet.point((one.x, one.bar[0]))
            _, bottom = sheet.point((one.x, one.bar[1]))
            lines.setdefault(outcome_colour(one.mark, sheet.look).rgb(), []).append(QLineF(x, top, x, bottom))
    for rgb, bars in lines.items():
        colour = _pale(QColor.fromRgb(rgb), share)
        # Soft edges on thousands of thin bars take longer than all the rest.
        sheet.painter.setRenderHint(QPainter.RenderHint.Antialiasing, len(placed) < DENSE)
        sheet.painter.setPen(QPen(colour, weight, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        sheet.painter.drawLines(bars)


def _points(sheet: _Sheet, placed: Sequence[Placed]) -> None:
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


def _mark(painter: QPainter, where: QRectF, mark: str, high: bool, sheet: _Sheet) -> None:
    if mark == AS_LEFT:
        paint_sign(painter, where, "as_left", sheet.look)
    elif sheet.small and mark not in ("fail", "conditional_fail"):
        fill(painter, disc(where.center().x(), where.center().y(), where.width() * 0.36), sheet.look.muted)
    else:
        paint_outcome(painter, where, mark, high, sheet.look)


def _stamp(sheet: _Sheet, mark: str, high: bool, side: float) -> QPixmap:
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


# --- words ---------------------------------------------------------------------------------------------------


def _write(
    sheet: _Sheet, text: str, place: QRectF, side: str, colour: QColor, *, bold: bool = False, halo: bool = False
) -> None:
    """Words in the middle of the height of `place`, at its left or right, or centred."""
    painter = sheet.painter
    across = {"left": Qt.AlignmentFlag.AlignLeft, "right": Qt.AlignmentFlag.AlignRight}
    painter.setFont(sheet.look.font(TEXT, bold=bold))
    flags = across.get(side, Qt.AlignmentFlag.AlignHCenter) | Qt.AlignmentFlag.AlignVCenter
    if halo:  # lifts words off lines, and off marks that they could not keep clear of
        painter.setPen(sheet.look.sheet)
        for right, down in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (1, 1), (-1, 1), (1, -1)):
            painter.drawText(place.translated(right, down), flags | Qt.TextFlag.TextDontClip, text)
    painter.setPen(colour)
    painter.drawText(place, flags | Qt.TextFlag.TextDontClip, text)


def _labels(sheet: _Sheet, chart: Chart) -> None:
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


def _above(sheet: _Sheet, text: str, x: float, colour: QColor) -> None:
    metrics = QFontMetricsF(sheet.look.font(TEXT, bold=True))
    width = metrics.horizontalAdvance(text) + 2
    left = min(max(x - width / 2, sheet.whole.left()), sheet.whole.right() - width)
    place = QRectF(left, sheet.area.top() - 8 - metrics.height(), width, metrics.height())
    if not any(place.intersects(other) for other in sheet.taken):
        _write(sheet, text, place, "middle", colour, bold=True)
        sheet.taken.append(place)


def _beside(sheet: _Sheet, text: str, spot: Spot, anchor: str, colour: QColor) -> None:
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
        _write(sheet, text, best, "left", colour, halo=True)
        sheet.taken.append(best)


def _covered(sheet: _Sheet, place: QRectF) -> int:
    """How much words would stand on: marks, and half as much for a line through them."""
    first = bisect_left(sheet.marks, (place.left() - POINT / 2,))
    last = bisect_right(sheet.marks, (place.right() + POINT / 2,))
    marks = sum(top <= place.bottom() and bottom >= place.top() for _, top, bottom in sheet.marks[first:last])
    return 2 * marks + any(place.top() + 3 < level < place.bottom() - 3 for level in sheet.levels)


# --- the pile of dots ----------------------------------------------------------------------------------------


def paint_pile(
    painter: QPainter,
    rect: QRectF,
    pile: DotPile,
    look: Look,
    *,
    nought: str = "",
    together: Collection[str] = (),
    agreed: str = "",
    names: Mapping[str, str] | None = None,
) -> None:
    """How far each moved since last time. nought: words at the line of no move; together: keys of those that moved
    alike, `agreed` the words above them; names: words above single dots, by key."""
    metrics = QFontMetricsF(look.font(TEXT))
    area = rect.adjusted(8, 2, -8, -2 * metrics.height() - 12)
    sheet = _Sheet(painter, look, rect, area, small=False)
    if not _has_length(pile.value):
        return
    painter.save()
    _pile_axis(sheet, pile)
    step = min(max((area.height() - metrics.height() - 8) / max(pile.highest, 1), 1.0), 12.0)
    floor = area.bottom() - 3 - step / 2
    places = {dot.key: (_pile_x(sheet, pile, dot.value), floor - dot.level * step) for dot in pile.dots}
    _pile_words(sheet, nought, _pile_x(sheet, pile, 0.0), area.top() + metrics.height(), look.ink)
    alike = [places[key] for key in together if key in places]
    if alike:
        left, right = min(x for x, _ in alike) - 10, max(x for x, _ in alike) + 10
        top = min(y for _, y in alike) - step / 2 - 3
        fill(painter, box(left, top, right - left, area.bottom() - top, 4), _pale(look.caution, 0.24))
        _pile_words(sheet, agreed, (left + right) / 2, top - 2, look.caution, bold=True)
    for x, y in places.values():
        stroke(painter, disc(x, y, step * 0.4), look.ink, 1.6)
    for key, words in (names or {}).items():
        if key in places:
            _pile_words(sheet, words, places[key][0], places[key][1] - step / 2 - 2, look.muted)
    painter.restore()


def _pile_x(sheet: _Sheet, pile: DotPile, value: float) -> float:
    return sheet.area.left() + pile.value.place(value) * sheet.area.width()


def _pile_axis(sheet: _Sheet, pile: DotPile) -> None:
    look, area = sheet.look, sheet.area
    high = QFontMetricsF(look.font(TEXT)).height()
    stroke(sheet.painter, polygon([(area.left(), area.bottom()), (area.right(), area.bottom())]), look.edge, 1)
    x = _pile_x(sheet, pile, 0.0)
    stroke(sheet.painter, polygon([(x, area.top() + high + 4), (x, area.bottom() + 6)]), look.ink, 1.6, flat=True)
    free = sheet.whole.left()
    for tick in pile.value.ticks:
        x = _pile_x(sheet, pile, tick.at)
        stroke(sheet.painter, polygon([(x, area.bottom()), (x, area.bottom() + 5)]), look.edge, 1, flat=True)
        width = QFontMetricsF(look.font(TEXT)).horizontalAdvance(tick.label)
        if x - width / 2 >= free and x + width / 2 <= sheet.whole.right():
            _write(sheet, tick.label, QRectF(x - width / 2, area.bottom() + 6, width, high), "middle", look.muted)
            free = x + width / 2 + 6
    place = QRectF(sheet.whole.left(), area.bottom() + 8 + high, sheet.whole.width(), high)
    _write(sheet, pile.value.title, place, "middle", look.muted)


def _pile_words(sheet: _Sheet, text: str, x: float, bottom: float, colour: QColor, *, bold: bool = False) -> None:
    """Centred over a place, kept within the picture; left out where other words stand."""
    metrics = QFontMetricsF(sheet.look.font(TEXT, bold=bold))
    width = metrics.horizontalAdvance(text) + 2
    left = min(max(x - width / 2, sheet.whole.left()), max(sheet.whole.right() - width, sheet.whole.left()))
    place = QRectF(left, bottom - metrics.height(), width, metrics.height())
    if text and not any(place.intersects(other) for other in sheet.taken):
        _write(sheet, text, place, "middle", colour, bold=bold)
        sheet.taken.append(place)


# --- widgets -------------------------------------------------------------------------------------------------


class Plot(QWidget):
    """A chart whose points can be asked about by pointer and by arrow keys.

    `asked` tells the place of a point in `chart.points` (-1: none any more); the caller words it.
    """

    asked = Signal(int)

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
        drawn = chart is not None and _has_length(chart.time) and _has_length(chart.value)
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
        return self._size(90, 30, 360, 110)

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
        if key == Qt.Key.Key_Escape and self._chosen >= 0:
            self.choose(-1)
        elif key in moves and self._kept:
            self.choose(self._kept[moves[Qt.Key(key)]])
        else:
            super().keyPressEvent(event)

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


class Pile(QWidget):
    """The dots of a bath. The caller says in words what they show."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._look = look
        self._pile: DotPile | None = None
        self._words: tuple[str, Collection[str], str, Mapping[str, str]] = ("", (), "", {})

    def show_pile(
        self,
        pile: DotPile,
        name: str,
        *,
        nought: str = "",
        together: Collection[str] = (),
        agreed: str = "",
        names: Mapping[str, str] | None = None,
    ) -> None:
        self._pile, self._words = pile, (nought, together, agreed, names or {})
        self.setAccessibleName(name)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(300, 150)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._pile is not None:
            painter = QPainter(self)
            nought, together, agreed, names = self._words
            paint_pile(
                painter,
                QRectF(self.rect()),
                self._pile,
                self._look,
                nought=nought,
                together=together,
                agreed=agreed,
                names=names,
            )
            painter.end()
