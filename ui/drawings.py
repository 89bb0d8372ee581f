"""Line drawings: instrument types, how each is adjusted, how a bath is made, the baths themselves.

The files name colours by meaning and leave the weight of a line open, so one file serves light, dark and every size.
No words are in them: the length beside a bath is drawn here, around the caller's text.
"""

import re
from functools import cache

from PySide6.QtCore import QByteArray, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QSizePolicy, QWidget

from registry import resources
from ui.marks import polygon, stroke
from ui.theme import Look

_COLOURS = ("muted", "pen", "sheet", "ice", "water", "facet")
_VIEW = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
_WEIGHT = re.compile(r"var\(--line\)|calc\(var\(--line\)\*([\d.]+)\)")


@cache
def _text(name: str) -> str:
    """The drawing as it ships; nothing for a name that has none."""
    try:
        return resources.drawing_path(name).read_text("utf-8")
    except KeyError:
        return ""


@cache
def _grid(name: str) -> tuple[float, float]:
    """Width and height of its grid, in units of the file."""
    found = _VIEW.search(_text(name))
    return (float(found[1]), float(found[2])) if found else (48.0, 48.0)


@cache
def _renderer(name: str, weight: float, colours: tuple[str, ...]) -> QSvgRenderer:
    """One drawing in these colours (ink, then `_COLOURS`), its lines `weight` units of its grid thick."""
    text = _WEIGHT.sub(lambda found: f"{weight * float(found[1] or 1):.2f}", _text(name))
    text = text.replace("currentColor", colours[0])
    for token, colour in zip(_COLOURS, colours[1:], strict=True):
        text = text.replace(f"var(--{token})", colour)
    renderer = QSvgRenderer()
    renderer.load(QByteArray(text.encode()))
    return renderer


def line_weight(size: float) -> float:
    """How thick a line is in a drawing `size` px high: 1.6 at 40, 1.9 at 76."""
    return min(max(1.6 + (size - 40) * 0.3 / 36, 1.3), 2.4)


def fitted(rect: QRectF, name: str) -> QRectF:
    """Where in `rect` the drawing stands: whole, in the middle."""
    wide, high = _grid(name)
    scale = min(rect.width() / wide, rect.height() / high)
    placed = QRectF(0, 0, wide * scale, high * scale)
    placed.moveCenter(rect.center())
    return placed


def paint_drawing(painter: QPainter, rect: QRectF, name: str, look: Look, colour: QColor | None = None) -> None:
    """The drawing of that name; `colour` in place of ink. Draws nothing where there is none or no room."""
    placed = fitted(rect, name)
    if not _text(name) or placed.height() < 1:
        return
    units = line_weight(placed.height()) * _grid(name)[1] / placed.height()
    ink = (colour or look.ink).name()
    colours = (ink, *(getattr(look, token).name() for token in _COLOURS))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _renderer(name, round(units, 2), colours).render(painter, placed)


def paint_length(painter: QPainter, rect: QRectF, text: str, look: Look) -> None:
    """A length upright along the left edge of `rect`, its text running up beside it."""
    x, top, bottom = rect.left() + 5, rect.top() + 1, rect.bottom() - 1
    for line in ([(x, top), (x, bottom)], [(x - 4, top), (x + 4, top)], [(x - 4, bottom), (x + 4, bottom)]):
        stroke(painter, polygon(line), look.muted, 1.2)
    painter.save()
    painter.setFont(look.font(14))
    painter.setPen(look.muted)
    height = QFontMetricsF(painter.font()).height()
    painter.translate(QPointF(x + 6 + height / 2, rect.center().y()))
    painter.rotate(-90)
    room = QRectF(-rect.height(), -height / 2, 2 * rect.height(), height)
    painter.drawText(room, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


# From the surface to the deepest tip, as shares of the height of the drawing.
DEPTHS = {"bath_ice": (0.35, 0.85), "bath_boiling": (0.44, 0.75), "bath_comparison": (0.42, 0.79)}


def paint_bath(painter: QPainter, rect: QRectF, name: str, look: Look, depth: str = "") -> None:
    """A bath standing on the lower edge of `rect`, with how deep the probes stand in it in the caller's words."""
    room = QRectF(rect)
    if depth:
        room.setWidth(max(rect.width() - look.text(30), 1))
    placed = fitted(room, name)
    placed.moveBottom(rect.bottom())
    paint_drawing(painter, placed, name, look)
    if depth:
        top, bottom = DEPTHS.get(name, (0.4, 0.8))
        high = placed.height()
        where = QRectF(placed.right() + 4, placed.top() + top * high, look.text(26), (bottom - top) * high)
        paint_length(painter, where, depth, look)


class Drawing(QWidget):
    """One drawing of fixed size; `name` is read aloud, empty where words beside it say the same."""

    def __init__(self, look: Look, size: QSize, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFixedSize(size)
        self._look, self._drawing, self._depth = look, "", ""

    def show_drawing(self, drawing: str, name: str = "", depth: str = "") -> None:
        """`depth`: the words beside a bath's probes."""
        self._drawing, self._depth = drawing, depth
        self.setAccessibleName(name)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._drawing.startswith("bath_"):
            paint_bath(painter, QRectF(self.rect()), self._drawing, self._look, self._depth)
        else:
            paint_drawing(painter, QRectF(self.rect()), self._drawing, self._look)
        painter.end()
