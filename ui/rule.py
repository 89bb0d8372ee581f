"""The graduated rule: one offset against its limits, the same drawing in a row and, turned on end, in a plot.

Its scale is twice the limit each side; what lies beyond stands at the end.
"""

from typing import TypedDict, Unpack

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from ui.marks import box, crisp, disc, fill, outcome_colour, paint_outcome, polygon, stroke
from ui.theme import Look

BAND, POST, NOUGHT, MARK = 20, 24, 12, 13  # heights, px at 100 %
LAST = 6  # length of the tick of last time, above the posts
U_HEIGHT, U_ALPHA = 7, 115


class RuleValues(TypedDict, total=False):
    """All in one unit. `expanded` is U; `last` the offset of last time, shown only once today's is keyed."""

    tolerance: float
    offset: float | None
    expanded: float | None
    last: float | None
    outcome: str | None
    high: bool | None
    waiting: bool
    label: str


def paint_rule(
    painter: QPainter,
    rect: QRectF,
    look: Look,
    *,
    tolerance: float,
    offset: float | None = None,
    expanded: float | None = None,
    last: float | None = None,
    outcome: str | None = None,
    high: bool | None = None,
    waiting: bool = False,
    label: str = "",
) -> None:
    """`waiting`: no reading yet, so limits and nought stand back; an offset without outcome is an open ring."""
    words = QFontMetricsF(look.font(13)).height() if label else 0.0
    y = crisp(rect.top() + (rect.height() - words) / 2 + LAST / 2)
    x, reach = crisp(rect.center().x()), max(rect.width() / 2 - MARK / 2, 1.0)
    quiet = look.edge if waiting else look.ink
    post = _place(tolerance, tolerance, reach)
    fill(painter, box(x - post, y - BAND / 2, 2 * post, BAND), look.tol)
    stroke(painter, polygon([(rect.left(), y), (rect.right(), y)]), look.edge, 1)
    _upright(painter, x, y, NOUGHT, quiet, 1)
    for side in (-post, post):
        _upright(painter, x + side, y, POST, quiet, 1.6)
    if last is not None:
        at = x + _place(last, tolerance, reach)
        _upright(painter, at, y - POST / 2 - LAST / 2 + 1, LAST, look.muted, 1.6)
    if offset is not None:
        at = x + _place(offset, tolerance, reach)
        _bar(painter, x, y, reach, offset, expanded, tolerance, outcome_colour(outcome, look))
        _mark(painter, at, y, outcome, high if high is not None else offset > 0, look)
    if label:
        painter.setFont(look.font(13))
        painter.setPen(look.muted)
        below = QRectF(rect.left() - 20, y + POST / 2 + 1, rect.width() + 40, words)
        painter.drawText(below, Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop, label)


def _place(value: float, tolerance: float, reach: float) -> float:
    """How far right of nought, px: half the reach is the limit. Without a limit all but nought is at the ends."""
    share = value / (2 * tolerance) if tolerance > 0 else float(value > 0) - float(value < 0)
    return min(max(share, -1.0), 1.0) * reach


def _upright(painter: QPainter, x: float, y: float, height: float, colour: QColor, weight: float) -> None:
    stroke(painter, polygon([(crisp(x), y - height / 2), (crisp(x), y + height / 2)]), colour, weight, flat=True)


def _bar(
    painter: QPainter,
    x: float,
    y: float,
    reach: float,
    offset: float,
    expanded: float | None,
    tolerance: float,
    colour: QColor,
) -> None:
    """Offset less U to offset plus U, as far as the rule goes."""
    if not expanded:
        return
    left, right = (_place(offset + sign * expanded, tolerance, reach) for sign in (-1, 1))
    pale = QColor(colour)
    pale.setAlpha(U_ALPHA)
    fill(painter, box(x + left, y - U_HEIGHT / 2, right - left, U_HEIGHT), pale)


def _mark(painter: QPainter, x: float, y: float, outcome: str | None, high: bool, look: Look) -> None:
    if outcome in (None, "waits", "cannot_decide"):
        fill(painter, disc(x, y, MARK / 2 - 1), look.field)
        stroke(painter, disc(x, y, MARK / 2 - 1.5), look.ink, 1.6)
    else:
        paint_outcome(painter, QRectF(x - MARK / 2, y - MARK / 2, MARK, MARK), outcome, high, look)


class Rule(QWidget):
    """One rule in a row. The caller says in words what it shows."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._look = look
        self._values: RuleValues = {"tolerance": 0.0, "waiting": True}

    def set_values(self, *, name: str, description: str = "", **values: Unpack[RuleValues]) -> None:
        """`name` and `description` are read aloud; the rest as `paint_rule` takes it."""
        self._values = {"tolerance": 0.0, **values}
        self.setAccessibleName(name)
        self.setAccessibleDescription(description)
        self.update()

    def sizeHint(self) -> QSize:
        words = QFontMetricsF(self._look.font(13)).height()
        return QSize(max(104, self._look.text(104)), round(POST + LAST + 4 + words))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_rule(painter, QRectF(self.rect()), self._look, **self._values)
        painter.end()
