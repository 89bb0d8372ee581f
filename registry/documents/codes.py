"""Square codes: a QR code as one path of merged runs, each module a whole number of printer dots."""

from math import ceil
from typing import Any

import segno

from registry.documents.page import WHITE, Page

QUIET = 4  # modules on every side, ISO/IEC 18004
# Dots for one module of a tag's code: 0.375 mm where a printer cannot make 0.4, else 0.423 mm.
TAG_DOTS = {203: 3, 300: 5, 600: 10}
WIDE_DOTS = {203: 4, 300: 6, 600: 12}  # half a millimetre, where there is room
RECEIPT_MODULE = 1.2  # points: 5 dots at 300 dpi, 10 at 600
RECEIPT_SIDE = 45  # modules of version 7


def tag_code(text: str) -> Any:
    """The code on a tag: the highest correction for 10 characters or fewer, one less for longer ones."""
    if text != text.upper() or not text.isascii() or not text.isalnum():
        raise ValueError("a tag's code holds capitals and digits only")
    return segno.make_qr(text, version=1, error="h" if len(text) <= 10 else "q", mode="alphanumeric", boost_error=False)


def draw_receipt(page: Page, receipt: str, x: float, y: float) -> float:
    """The receipt of 162 Base45 characters as version 7-M, its quiet zone's upper edge at y; returns the lower.

    The margin of the page is the quiet zone's left side.
    """
    quiet = QUIET * RECEIPT_MODULE
    if page.canvas is not None:
        code = segno.make_qr(receipt, version=7, error="m", mode="alphanumeric", boost_error=False)
        draw_code(page, code, x, y + quiet, RECEIPT_MODULE)
    return y + quiet + RECEIPT_SIDE * RECEIPT_MODULE


def field(code: Any, module: float) -> float:
    """Side of the code with its quiet zone, in points."""
    return float(code.symbol_size(border=QUIET)[0]) * module


def draw_tag_code(page: Page, text: str, dpi: int, wide: bool) -> float:
    """The code in the upper right corner of a label; returns where its quiet zone begins on the left.

    The quiet zone reaches the edges of the label, where nothing is printed.
    """
    code = tag_code(text)
    module = (WIDE_DOTS if wide else TAG_DOTS)[dpi] * 72 / dpi
    modules = field(code, module) - 2 * QUIET * module
    left = page.width - QUIET * module - modules - 72 / dpi
    draw_code(page, code, left, QUIET * module, module, dpi)
    return left - QUIET * module


def draw_code(page: Page, code: Any, x: float, y: float, module: float, dpi: int = 300) -> None:
    """The modules, without the quiet zone, its upper left corner at (x, y) or just right of and below.

    The corner is put on the printer's grid of dots, else a module would be a dot wider here than there.
    """
    if page.canvas is None:
        return
    dot = 72 / dpi
    left = ceil(x / dot - 1e-6) * dot
    top = page.height - ceil(y / dot - 1e-6) * dot
    side = field(code, module)
    page.rect(left - QUIET * module, page.height - top - QUIET * module, side, side, WHITE)
    path = page.canvas.beginPath()
    for row, bits in enumerate(code.matrix):
        start = 0
        while start < len(bits):
            end = start
            while end < len(bits) and bits[end]:
                end += 1
            if end > start:
                path.rect(left + start * module, top - (row + 1) * module, (end - start) * module, module)
            start = end + 1
    page.canvas.setFillColor("#000000")
    page.canvas.drawPath(path, stroke=0, fill=1)
