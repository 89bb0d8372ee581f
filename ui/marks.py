"""Marks that stand beside words: outcomes, the lead's word, service status, and the signs of the story and of keys.

Outcomes: round is inside, pointed is outside and points the way it reads; full is sure, half is not surely. Service
status: the more ink, the less use. Painters are handed all they draw, fit the largest square in the middle of
`rect`, and draw nothing for a code they don't know.
"""

from collections.abc import Sequence
from math import cos, floor, pi, sin

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui.theme import Look

Points = Sequence[tuple[float, float]]
OUTCOMES = ("pass", "conditional_pass", "not_accepted", "conditional_fail", "fail", "cannot_decide", "waits")
LEAD = ("use", "use_near_limit", "use_unsteady", "adjust_or_do_not_use", "waits", "use_by_last_good_check")
SERVICE = ("in_service", "limited_use", "out_of_use", "check_first", "lost", "retired")
DISC = 0.86  # of half the square: a disc looks as large as a triangle that fills it


def fill(painter: QPainter, path: QPainterPath, colour: QColor) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillPath(path, colour)


def stroke(
    painter: QPainter,
    path: QPainterPath,
    colour: QColor,
    weight: float,
    dashes: Sequence[float] = (),
    *,
    flat: bool = False,
) -> None:
    """A line along a path, `weight` px; `dashes` in multiples of the weight; `flat` ends it where it ends."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    cap = Qt.PenCapStyle.FlatCap if flat or dashes else Qt.PenCapStyle.RoundCap
    pen = QPen(colour, weight, Qt.PenStyle.SolidLine, cap, Qt.PenJoinStyle.RoundJoin)
    if dashes:
        pen.setDashPattern(list(dashes))
    painter.strokePath(path, pen)


def crisp(place: float) -> float:
    """The middle of the pixel, so that an upright or level line of 1 px is not smeared over two."""
    return floor(place) + 0.5


def polygon(points: Points, *, closed: bool = False) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, y) for x, y in points]))
    if closed:
        path.closeSubpath()
    return path


def disc(x: float, y: float, radius: float) -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(QPointF(x, y), radius, radius)
    return path


def box(left: float, top: float, width: float, height: float, radius: float = 0.0) -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(left, top, width, height), radius, radius)
    return path


def outcome_colour(outcome: str | None, look: Look) -> QColor:
    """The side it is on; muted where none is known."""
    if outcome in ("pass", "conditional_pass", "not_accepted"):
        return look.within
    return look.outside if outcome in ("fail", "conditional_fail") else look.muted


def paint_outcome(painter: QPainter, rect: QRectF, outcome: str, high: bool | None, look: Look) -> None:
    """An outcome by its code, or `waits`; `high`: how it reads, which turns the triangles (unknown: up)."""
    x, y, r, weight = _square(rect)
    colour = outcome_colour(outcome, look)
    if outcome == "pass":
        fill(painter, disc(x, y, r * DISC), colour)
    elif outcome in ("conditional_pass", "not_accepted"):
        _half(painter, disc(x, y, r * DISC - weight / 2), (x, y, r), colour, weight, look.sheet)
    elif outcome == "conditional_fail":
        _half(painter, _triangle(x, y, r - weight / 2, high), (x, y, r), colour, weight, look.sheet)
    elif outcome == "fail":
        path = _triangle(x, y, r - weight / 2, high)
        fill(painter, path, colour)
        stroke(painter, path, colour, weight)
    elif outcome in ("waits", "cannot_decide"):
        _broken_ring(painter, x, y, r * DISC - weight * 0.6, colour, weight * 1.2)


def paint_lead(painter: QPainter, rect: QRectF, word: str, high: bool | None, look: Look) -> None:
    """The mark beside the one word that the lead is told."""
    x, y, r, weight = _square(rect)
    side = -1 if high is False else 1
    if word == "use":
        fill(painter, disc(x, y, r * DISC), look.within)
    elif word == "use_near_limit":  # a disc that all but touches its limit, as on the rule
        fill(painter, disc(x - side * r * 0.3, y, r * 0.66), look.within)
        post = polygon([(x + side * r * 0.78, y - r * 0.9), (x + side * r * 0.78, y + r * 0.9)])
        stroke(painter, post, look.within, weight, flat=True)
    elif word == "use_unsteady":  # two readings that don't lie on each other
        fill(painter, disc(x - r * 0.36, y, r * 0.6), look.within)
        stroke(painter, disc(x + r * 0.36, y, r * 0.6 - weight / 2), look.within, weight)
    elif word == "adjust_or_do_not_use":
        paint_outcome(painter, rect, "fail", high, look)
    elif word == "waits":
        paint_outcome(painter, rect, "waits", None, look)
    elif word == "use_by_last_good_check":  # today's waits, the last good one holds inside it
        paint_outcome(painter, rect, "waits", None, look)
        fill(painter, disc(x, y, r * 0.42), look.within)


def paint_service(painter: QPainter, rect: QRectF, status: str, look: Look) -> None:
    """Service status: the three signs of the tags, and what is neither in a kitchen nor ready for use."""
    x, y, r, weight = _square(rect)
    half = r * 0.84
    square = box(x - half + weight / 2, y - half + weight / 2, 2 * half - weight, 2 * half - weight)
    if status == "in_service":
        stroke(painter, disc(x, y, r * 0.9 - weight / 2), look.ink, weight)
        stroke(painter, polygon(_scaled(_TAG_TICK, x, y, r)), look.ink, max(r * 0.2, 1.4))
    elif status == "limited_use":
        fill(painter, box(x - half, y - half, half, 2 * half), look.ink)
        stroke(painter, square, look.ink, weight)
    elif status == "out_of_use":
        fill(painter, box(x - half, y - half, 2 * half, 2 * half), look.ink)
        for cross in _CROSS:
            stroke(painter, polygon(_scaled(cross, x, y, r * 0.76)), look.sheet, max(r * 0.25, 1.6), flat=True)
    elif status == "check_first":
        _diamond(painter, x, y, r, look.caution, weight)
    elif status == "lost":
        stroke(painter, square, look.muted, weight, (2.0, 1.6))
    elif status == "retired":
        stroke(painter, square, look.muted, weight)
        stroke(painter, polygon([(x - half * 0.45, y), (x + half * 0.45, y)]), look.muted, weight)


def paint_sign(painter: QPainter, rect: QRectF, sign: str, look: Look, colour: QColor | None = None) -> None:
    """A sign of the story or of a key; `colour` where it isn't the sign's own."""
    x, y, r, weight = _square(rect)
    ink = colour or look.ink
    if sign == "as_left":
        fill(painter, disc(x, y, r * DISC - weight / 2), look.sheet)
        stroke(painter, disc(x, y, r * DISC - weight / 2), colour or look.pen, weight)
    elif sign == "incident":
        _diamond(painter, x, y, r * 0.94, colour or look.caution, weight)
    elif sign == "enrolled":
        fill(painter, disc(x, y, r * 0.5), ink)
    elif sign == "paper":
        fill(painter, box(x - r * 0.68, y - r * 0.9, r * 1.36, r * 1.8, r * 0.14), look.sheet)
        stroke(painter, box(x - r * 0.68, y - r * 0.9, r * 1.36, r * 1.8, r * 0.14), ink, weight)
    elif sign == "scanner":
        for left, width in _BARS:
            fill(painter, box(x + left * r, y - r * 0.8, width * r, r * 1.6), ink)
    for line in _STROKES.get(sign, ()):
        stroke(painter, polygon(_scaled(line, x, y, r)), ink, weight)


def key_cap_size(text: str, look: Look) -> QSize:
    metrics = QFontMetricsF(look.font(13, bold=True))
    return QSize(round(metrics.horizontalAdvance(text)) + look.text(36), round(metrics.height()) + look.text(4))


def paint_key_cap(painter: QPainter, rect: QRectF, text: str, look: Look) -> None:
    """A key with its word and the sign of return, as it stands under the answer of the row being written."""
    frame = box(rect.x() + 0.5, rect.y() + 0.5, rect.width() - 1, rect.height() - 1, 4)
    fill(painter, frame, look.field)
    stroke(painter, frame, look.pen, 1)
    painter.setFont(look.font(13, bold=True))
    painter.setPen(look.pen)
    room = rect.adjusted(look.text(8), 0, -look.text(24), 0)
    painter.drawText(room, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
    side = look.text(12)
    arrow = QRectF(rect.right() - side - look.text(8), rect.center().y() - side / 2, side, side)
    paint_sign(painter, arrow, "enter", look, look.pen)


def paint_mark(painter: QPainter, rect: QRectF, kind: str, code: str, high: bool | None, look: Look) -> None:
    """Any mark by kind (`outcome`, `lead`, `service`, `sign`) and code: one door for widgets and delegates."""
    if kind == "outcome":
        paint_outcome(painter, rect, code, high, look)
    elif kind == "lead":
        paint_lead(painter, rect, code, high, look)
    elif kind == "service":
        paint_service(painter, rect, code, look)
    elif kind == "sign":
        paint_sign(painter, rect, code, look)


class Mark(QWidget):
    """A mark of fixed size that tells its word to who can't see it."""

    def __init__(self, look: Look, size: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFixedSize(size, size)
        self._look, self._mark = look, ("", "", None)

    _mark: tuple[str, str, bool | None]

    def show_mark(self, kind: str, code: str, name: str, high: bool | None = None) -> None:
        """`name`: what is read aloud; empty where the word stands beside it anyway."""
        self._mark = (kind, code, high)
        self.setAccessibleName(name)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_mark(painter, QRectF(self.rect()), *self._mark, self._look)
        painter.end()


def _square(rect: QRectF) -> tuple[float, float, float, float]:
    """Centre, half the side of the largest square in it, and the weight of a line that suits its size."""
    side = min(rect.width(), rect.height())
    return rect.center().x(), rect.center().y(), side / 2, max(1.2, side * 0.11)


def _scaled(points: Points, x: float, y: float, r: float) -> list[tuple[float, float]]:
    return [(x + left * r, y + down * r) for left, down in points]


def _triangle(x: float, y: float, r: float, high: bool | None) -> QPainterPath:
    turn = -1 if high is False else 1
    return polygon([(x - r, y + turn * r * 0.84), (x, y - turn * r * 0.9), (x + r, y + turn * r * 0.84)], closed=True)


def _half(
    painter: QPainter,
    path: QPainterPath,
    square: tuple[float, float, float],
    colour: QColor,
    weight: float,
    ground: QColor,
) -> None:
    """The outline, its left half filled; the other half covers what lies below."""
    x, y, r = square
    fill(painter, path, ground)
    fill(painter, path.intersected(box(x - r, y - r, r, 2 * r)), colour)
    stroke(painter, path, colour, weight)


def _broken_ring(painter: QPainter, x: float, y: float, r: float, colour: QColor, weight: float) -> None:
    for start in range(0, 360, 60):  # six pieces of 40 degrees, as on paper
        path = QPainterPath()
        path.arcMoveTo(x - r, y - r, 2 * r, 2 * r, start + 10)
        path.arcTo(x - r, y - r, 2 * r, 2 * r, start + 10, 40)
        stroke(painter, path, colour, weight, flat=True)


def _diamond(painter: QPainter, x: float, y: float, r: float, colour: QColor, weight: float) -> None:
    reach = r - weight * 0.7
    stroke(painter, polygon(_scaled([(0, -1), (1, 0), (0, 1), (-1, 0)], x, y, reach), closed=True), colour, weight)


# Signs drawn as lines, in halves of the square from its middle.
_TAG_TICK = ((-0.4, 0.02), (-0.1, 0.32), (0.42, -0.32))
_CROSS = (((-0.55, -0.55), (0.55, 0.55)), ((-0.55, 0.55), (0.55, -0.55)))
_ARROW = (((0.0, 0.8), (0.0, -0.8)), ((-0.5, -0.3), (0.0, -0.8), (0.5, -0.3)))  # up


def _turned(lines: Sequence[Points], quarters: int) -> tuple[Points, ...]:
    """The same lines turned clockwise."""
    c, s = round(cos(quarters * pi / 2)), round(sin(quarters * pi / 2))
    return tuple([(x * c - y * s, x * s + y * c) for x, y in line] for line in lines)


_STROKES: dict[str, Sequence[Points]] = {
    "up": _ARROW,
    "right": _turned(_ARROW, 1),
    "down": _turned(_ARROW, 2),
    "left": _turned(_ARROW, 3),
    "moved": _turned(_ARROW, 1),
    "open": (((-0.6, -0.3), (0.0, 0.3), (0.6, -0.3)),),
    "closed": (((-0.3, -0.6), (0.3, 0.0), (-0.3, 0.6)),),
    "tick": (((-0.75, 0.05), (-0.2, 0.6), (0.8, -0.6)),),
    "cross": _CROSS,
    "plus": (((-0.7, 0.0), (0.7, 0.0)), ((0.0, -0.7), (0.0, 0.7))),
    "minus": (((-0.7, 0.0), (0.7, 0.0)),),
    "enter": (((0.75, -0.7), (0.75, 0.2), (-0.8, 0.2)), ((-0.35, -0.25), (-0.8, 0.2), (-0.35, 0.65))),
    "rub_out": (
        ((-0.92, 0.0), (-0.4, -0.62), (0.92, -0.62), (0.92, 0.62), (-0.4, 0.62), (-0.92, 0.0)),
        ((0.02, -0.25), (0.5, 0.25)),
        ((0.02, 0.25), (0.5, -0.25)),
    ),
    "paper": (((-0.3, -0.34), (0.3, -0.34)), ((-0.3, 0.08), (0.3, 0.08)), ((-0.3, 0.5), (0.05, 0.5))),
}
_BARS = ((-0.95, 0.1), (-0.7, 0.26), (-0.3, 0.1), (-0.06, 0.18), (0.26, 0.1), (0.5, 0.26), (0.86, 0.1))
SIGNS = ("as_left", "incident", "enrolled", "scanner", *_STROKES)
