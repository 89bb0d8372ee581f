"""A small drawing for each thing that may happen to a thermometer; the words beside it say the same."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter

from ui.marks import box, disc, fill, paint_service, polygon, stroke
from ui.theme import Look

Line = Sequence[tuple[float, float]]

# Lines on a grid of 24; a closed one ends where it began.
_BATTERY: tuple[Line, ...] = (((2, 7), (19, 7), (19, 17), (2, 17), (2, 7)), ((22, 10), (22, 14)))
_LINES: dict[str, tuple[Line, ...]] = {
    "dropped": (((2, 21), (22, 21)), ((12, 2), (12, 14)), ((8, 10), (12, 14), (16, 10)), ((5, 18), (7, 16))),
    "bumped": (((20, 2), (20, 22)), ((2, 12), (15, 12)), ((11, 8), (15, 12), (11, 16))),
    "temperature_shock": (((2, 18), (9, 18), (9, 5), (16, 5), (16, 18), (22, 18)),),
    "battery_changed": (*_BATTERY, ((10.5, 9.5), (10.5, 14.5)), ((8, 12), (13, 12))),
    "battery_low": _BATTERY,
    "sensor_changed": (((3, 8), (20, 8)), ((16, 4), (20, 8), (16, 12)), ((21, 17), (4, 17)),
                       ((8, 13), (4, 17), (8, 21))),
    "bent": (((8, 2), (8, 12), (11, 16), (18, 21)),),
    "water_inside": (((12, 2), (6, 12), (6, 16), (9, 20), (15, 20), (18, 16), (18, 12), (12, 2)),),
    "opened": (((3, 11), (3, 21), (21, 21), (21, 11)), ((3, 11), (16, 3))),
    "lent": (((13, 4), (3, 4), (3, 20), (13, 20)), ((8, 12), (22, 12)), ((18, 8), (22, 12), (18, 16))),
    "found": (((6, 12), (11, 17), (21, 5)),),
}  # fmt: skip
CODES = (*_LINES, "unit_switched", "lost", "out_of_use", "in_service")


def paint_icon(painter: QPainter, rect: QRectF, code: str, look: Look, colour: QColor | None = None) -> None:
    """The drawing of an incident's code; of a service status its sign. Nothing for a code that has none."""
    ink, side = colour or look.ink, min(rect.width(), rect.height())
    left, top, scale = rect.center().x() - side / 2, rect.center().y() - side / 2, side / 24
    weight = max(1.6, scale * 1.6)
    for line in _LINES.get(code, ()):
        stroke(painter, polygon([(left + x * scale, top + y * scale) for x, y in line]), ink, weight)
    if code == "battery_low":
        fill(painter, box(left + 4.5 * scale, top + 9.5 * scale, 3 * scale, 5 * scale), ink)
    elif code == "bent":
        fill(painter, disc(left + 8 * scale, top + 3.5 * scale, 3 * scale), ink)
    elif code in ("lost", "out_of_use", "in_service"):
        paint_service(painter, rect, code, look)
    elif code == "unit_switched":
        painter.setPen(ink)
        painter.setFont(look.font(side / look.zoom * 0.5, bold=True))
        painter.drawText(rect, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, "°C")
        painter.drawText(rect, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom, "°F")
