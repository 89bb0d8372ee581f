"""Contact sheets: about twenty pictures on a page, each with its caption."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QImage, QPainter

from ui import theme

ACROSS, DOWN = 4, 5
WIDTH, HEIGHT, CAPTION, GAP = 640, 400, 28, 16


def draw(pictures: Sequence[tuple[str, Path]], out: Path) -> None:
    """Pages `contact-01.png` and so on, in the order of the pictures."""
    each = ACROSS * DOWN
    for number, start in enumerate(range(0, len(pictures), each), 1):
        _page(pictures[start : start + each]).save(str(out / f"contact-{number:02d}.png"))


def _page(pictures: Sequence[tuple[str, Path]]) -> QImage:
    look = theme.look()
    rows = -(-len(pictures) // ACROSS)
    page = QImage(GAP + ACROSS * (WIDTH + GAP), GAP + rows * (HEIGHT + CAPTION + GAP), QImage.Format.Format_RGB32)
    page.fill(look.level)
    painter = QPainter(page)
    painter.setFont(look.font(18))
    painter.setPen(look.ink)
    for number, (caption, path) in enumerate(pictures):
        left = GAP + number % ACROSS * (WIDTH + GAP)
        top = GAP + number // ACROSS * (HEIGHT + CAPTION + GAP)
        painter.drawText(QRect(left, top, WIDTH, CAPTION), Qt.AlignmentFlag.AlignVCenter, caption)
        smooth = Qt.TransformationMode.SmoothTransformation
        small = QImage(str(path)).scaled(WIDTH, HEIGHT, Qt.AspectRatioMode.KeepAspectRatio, smooth)
        small.setDevicePixelRatio(1)
        painter.drawImage(left, top + CAPTION, small)
    painter.end()
    return page
