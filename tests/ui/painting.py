"""What tests of painters share: paint on a picture of known ground, and look at its pixels."""

from collections.abc import Callable

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from ui import theme

LIGHT, DARK = theme.look(), theme.look(dark=True)
Paint = Callable[[QPainter, QRectF], object]


def picture(paint: Paint, width: int = 40, height: int = 40, look: theme.Look = LIGHT) -> QImage:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(look.sheet)
    painter = QPainter(image)
    paint(painter, QRectF(0, 0, width, height))
    painter.end()
    return image


def nearly(image: QImage, colour: QColor, far: int = 70) -> list[tuple[int, int]]:
    """Every pixel whose channels differ by no more than `far`: thin lines have soft edges."""
    found = []
    for x in range(image.width()):
        for y in range(image.height()):
            rgb = image.pixel(x, y)
            red, green, blue = rgb >> 16 & 255, rgb >> 8 & 255, rgb & 255
            if max(abs(red - colour.red()), abs(green - colour.green()), abs(blue - colour.blue())) <= far:
                found.append((x, y))
    return found


def count(image: QImage, colour: QColor) -> int:
    """How many pixels have exactly this colour."""
    return sum(image.pixel(x, y) == colour.rgb() for x in range(image.width()) for y in range(image.height()))


def columns(image: QImage, colour: QColor) -> list[int]:
    """Every x where a pixel has exactly this colour."""
    return [x for x in range(image.width()) if any(image.pixel(x, y) == colour.rgb() for y in range(image.height()))]


def rows(image: QImage, colour: QColor) -> list[int]:
    return [y for y in range(image.height()) if any(image.pixel(x, y) == colour.rgb() for x in range(image.width()))]
