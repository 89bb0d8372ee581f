"""Codes: modules drawn as one path of merged runs, each a whole number of printer dots wide."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil
from typing import Any, Literal

import segno

from registry.documents.facts import CannotPrint
from registry.documents.page import MM, WHITE, Page, ink

QUIET = 4  # modules on every side of a QR code, ISO/IEC 18004
Kind = Literal["qr", "datamatrix", "code128"]
# Quiet zones in modules: ISO/IEC 18004, ISO/IEC 16022, ISO/IEC 15417.
QUIETS: dict[Kind, int] = {"qr": QUIET, "datamatrix": 1, "code128": 10}
# Dots for one module of a tag's code: 0.375 mm where a printer cannot make 0.4, else 0.423 mm.
TAG_DOTS = {203: 3, 300: 5, 600: 10}
WIDE_DOTS = {203: 4, 300: 6, 600: 12}  # half a millimetre, where there is room
BAR_DOTS = {203: 2, 300: 3, 600: 6}  # 0.25 mm, which old laser scanners read: common practice, no source
BARS_HIGH, STRIP = 6.5, 9.0  # mm: the bars of a Code 128, and what they take at the foot of a label
RECEIPT_MODULE = 1.2  # points: 5 dots at 300 dpi, 10 at 600
RECEIPT_SIDE = 45  # modules of version 7


@dataclass(frozen=True, slots=True)
class Coding:
    """How a tag's code is drawn. `dpi`: the printer's dots an inch: 203, 300 or 600."""

    kind: Kind = "qr"
    dpi: int = 300

    @property
    def dot(self) -> float:
        """One dot, in points."""
        return 72 / self.dpi

    def whole(self, points: float) -> float:
        """The nearest whole number of dots, in points."""
        return round(points / self.dot) * self.dot


@dataclass(frozen=True, slots=True)
class Symbol:
    """Modules row by row, black where true; `quiet`: modules kept white around it."""

    rows: tuple[tuple[bool, ...], ...]
    quiet: int

    @property
    def across(self) -> int:
        return len(self.rows[0]) + 2 * self.quiet


@lru_cache(maxsize=4096)
def symbol(text: str, kind: Kind) -> Symbol:
    """The code of a tag id or a record's number.

    QR: the highest correction for 10 characters or fewer, one less for longer ones, always 21 modules.
    """
    if text != text.upper() or not text.isascii() or not text.isalnum():
        raise ValueError("a tag's code holds capitals and digits only")
    rows: Sequence[Sequence[Any]]
    if kind == "qr":
        error = "h" if len(text) <= 10 else "q"
        rows = segno.make_qr(text, version=1, error=error, mode="alphanumeric", boost_error=False).matrix
    elif kind == "datamatrix":
        from ppf.datamatrix import DataMatrix  # late: few print them

        rows = DataMatrix(text).matrix
    else:
        rows = [_bars(text)]
    return Symbol(tuple(tuple(map(bool, row)) for row in rows), QUIETS[kind])


def _bars(text: str) -> list[bool]:
    """Code 128 as modules; reportlab tells its bars and spaces as letters, A a width of one."""
    from reportlab.graphics.barcode.code128 import Code128

    made = Code128(text, quiet=0)
    made.validate()
    made.encode()
    made.decompose()
    widths = [(one.isupper(), ord(one.upper()) - ord("A") + 1) for one in made.decomposed]
    return [bar for bar, width in widths for _ in range(width)]


def draw_receipt(page: Page, receipt: str, x: float, y: float) -> float:
    """The receipt of 162 Base45 characters as version 7-M, its quiet zone's upper edge at y; returns the lower.

    The margin of the page is the quiet zone's left side.
    """
    quiet = QUIET * RECEIPT_MODULE
    if page.canvas is not None:
        code = segno.make_qr(receipt, version=7, error="m", mode="alphanumeric", boost_error=False)
        draw_code(page, code, x, y + quiet, RECEIPT_MODULE)
    return y + quiet + RECEIPT_SIDE * RECEIPT_MODULE


def draw_tag_code(page: Page, text: str, coding: Coding, wide: bool, *, middle: bool = False) -> float:
    """A square code in the upper right corner of a label, or at half its height; where its quiet zone begins.

    The quiet zone reaches the edges of the label, where nothing is printed. Bars stand in a strip of their own, below
    what this page is: for them the whole width is left.
    """
    if coding.kind == "code128":
        return page.width
    found = symbol(text, coding.kind)
    module = (WIDE_DOTS if wide else TAG_DOTS)[coding.dpi] * coding.dot
    side, quiet = found.across * module, found.quiet * module
    edge = max(0.0, 1.2 * MM - quiet)  # a label's cut is not exact: nothing stands nearer to it
    if side + 2 * edge > page.height + coding.dot:
        raise CannotPrint("label_too_small", width=f"{page.width / MM:g}", height=f"{page.height / MM:g}")
    top = max(0.0, (page.height - side) / 2) if middle else edge
    left = page.width - edge - side
    _draw(page, found.rows, left + quiet - coding.dot, top + quiet, module, module, coding.dpi, quiet)
    return left - coding.dot


def draw_bars(page: Page, text: str, coding: Coding) -> None:
    """A Code 128 in the middle of the strip at a label's foot; CannotPrint where it is wider than the label."""
    found = symbol(text, coding.kind)
    module = BAR_DOTS[coding.dpi] * coding.dot
    wide, quiet = found.across * module, found.quiet * module
    if wide > page.width:
        raise CannotPrint("code_too_wide", text=text, width=f"{wide / MM:.0f}")
    left = (page.width - wide) / 2 + quiet
    top = page.height - (STRIP - 1.2) * MM
    _draw(page, found.rows, left, top, module, coding.whole(BARS_HIGH * MM), coding.dpi, 0)


def draw_code(page: Page, code: Any, x: float, y: float, module: float, dpi: int = 300) -> None:
    """A code of segno, without the quiet zone, its upper left corner at (x, y) or just right of and below."""
    _draw(page, code.matrix, x, y, module, module, dpi, QUIET * module)


def _draw(
    page: Page,
    rows: Sequence[Sequence[Any]],
    x: float,
    y: float,
    wide: float,
    high: float,
    dpi: int,
    quiet: float,
) -> None:
    """Modules so wide and high; the corner is put on the printer's grid of dots, else some would be a dot wider."""
    if page.canvas is None:
        return
    dot = 72 / dpi
    left = ceil(x / dot - 1e-6) * dot
    top = page.height - ceil(y / dot - 1e-6) * dot
    across, down = len(rows[0]) * wide, len(rows) * high
    if quiet:
        page.rect(left - quiet, page.height - top - quiet, across + 2 * quiet, down + 2 * quiet, WHITE)
    page.canvas.setFillColor(ink("#000000"))
    page.canvas.saveState()
    page.canvas.transform(wide, 0, 0, high, left, top - down)
    page.canvas.addLiteral(_runs(tuple(tuple(map(bool, row)) for row in rows)))
    page.canvas.restoreState()


@lru_cache(maxsize=4096)
def _runs(rows: tuple[tuple[bool, ...], ...]) -> str:
    """Black runs as rectangles of whole modules, counted from the lower left: few figures, and quickly written."""
    found = []
    for up, bits in enumerate(reversed(rows)):
        start = 0
        while start < len(bits):
            end = start
            while end < len(bits) and bits[end]:
                end += 1
            if end > start:
                found.append(f"{start} {up} {end - start} 1 re")
            start = end + 1
    return " ".join([*found, "f"])
