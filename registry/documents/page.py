"""A page to draw on: points, y from the top, embedded fonts only, nothing outside the page.

Text with `**` around a part sets that part bold. A page without a canvas only measures.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from io import BytesIO
from typing import Any

from registry.documents import fonts
from registry.documents.facts import CannotPrint

MM = 72 / 25.4
# Upright pages, mm: width, height, right, top and bottom margin; the left one has room for ring-binder holes.
PAPERS = {"a4": (210.0, 297.0, 15.0, 12.0, 11.0), "letter": (215.9, 279.4, 16.0, 11.0, 10.0)}
LEFT = 20.0

INK, LABEL, RULE, INSIDE, ACCENT, WHITE = "#16191C", "#4B5259", "#8B9299", "#E9ECEE", "#0B4B52", "#FFFFFF"


@dataclass(frozen=True, slots=True)
class Style:
    """How a text is set: size and leading in points; `figures`: tabular ones."""

    size: float
    leading: float
    colour: str = INK
    bold: bool = False
    figures: bool = False

    @property
    def font(self) -> str:
        return fonts.font_name(self.bold, self.figures)


TEXT = Style(9.5, 11.5)
NOTE = Style(9, 11)
LABELS = replace(NOTE, colour=LABEL)
HEADING = replace(NOTE, colour=ACCENT, bold=True)

Run = tuple[str, bool]  # a text and whether it is bold
Line = list[Run]


SIDE, GUTTER = 34 * MM, 4 * MM


@dataclass(frozen=True, slots=True)
class Grid:
    """Left and right edge of what is printed, in points."""

    left: float
    right: float

    @property
    def main(self) -> float:
        return self.left + SIDE + GUTTER

    @property
    def width(self) -> float:
        """Of the main column."""
        return self.right - self.main


@cache
def ink(colour: str) -> tuple[float, ...]:
    """A colour as red, green and blue of 1, which the canvas takes without reading the text of it again."""
    return tuple(int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))


class Page:
    """One sheet in the making. `canvas` is reportlab's, or None to measure only."""

    def __init__(self, width: float, height: float, canvas: Any = None) -> None:
        self.width = width
        self.height = height
        self.canvas = canvas

    def text(
        self, x: float, y: float, text: str, style: Style, align: str = "left", within: float | None = None
    ) -> float:
        """One line with its baseline at y; returns its width. `align` says what of it stands at x.

        CannotPrint where it is wider than `within`, or would stand outside the page.
        """
        width = fonts.width(text, style.size, style.font)
        start = x - width * {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
        room = self.width if within is None else within
        if width > room + 0.01 or start < -0.01 or start + width > self.width + 0.01:
            raise CannotPrint("too_wide", text=text)
        if self.canvas is not None and text:
            self._draw(start, y, text, style)
        return width

    def upright(self, x: float, y: float, text: str, style: Style) -> None:
        """A line that reads upwards, its middle at (x, y)."""
        if self.canvas is not None:
            half = fonts.width(text, style.size, style.font) / 2
            self.canvas.saveState()
            self.canvas.translate(x, self.height - y)
            self.canvas.rotate(90)
            Page(self.width, 0, self.canvas)._draw(-half, fonts.cap_height(style.size) / 2, text, style)
            self.canvas.restoreState()

    def _draw(self, x: float, y: float, text: str, style: Style) -> None:
        pieces = fonts.pieces(text, style.font)
        # The fallback face has no bold: its letters are drawn with an outline as well.
        heavy = style.bold and any(font == fonts.FALLBACK for font, _ in pieces)
        if heavy:
            self.canvas.setLineWidth(style.size / 30)
            self.canvas.setStrokeColor(ink(style.colour))
        drawing = self.canvas.beginText(x, self.height - y)
        drawing.setFillColor(ink(style.colour))
        for piece in pieces:
            drawing.setFont(piece[0], style.size)
            if heavy:
                drawing.setTextRenderMode(2 if piece[0] == fonts.FALLBACK else 0)
            drawing.textOut(fonts.shaped(piece, style.size))
        if heavy:
            drawing.setTextRenderMode(0)
        self.canvas.drawText(drawing)

    def paragraph(self, x: float, y: float, markup: str, width: float, style: Style) -> float:
        """Wrapped lines, the first with its baseline at y; returns the last one's baseline."""
        baseline = y
        for number, line in enumerate(wrap(markup, width, style)):
            at, baseline = x, y + number * style.leading
            for text, bold in line:
                at += self.text(at, baseline, text, replace(style, bold=bold or style.bold))
        return baseline

    def line(self, x1: float, y1: float, x2: float, y2: float, weight: float, colour: str = INK) -> None:
        if self.canvas is not None:
            self.canvas.setStrokeColor(ink(colour))
            self.canvas.setLineWidth(weight)
            self.canvas.line(x1, self.height - y1, x2, self.height - y2)

    def rect(self, x: float, y: float, width: float, height: float, fill: str = INK) -> None:
        """A filled rectangle with its upper left corner at (x, y)."""
        if self.canvas is not None:
            self.canvas.setFillColor(ink(fill))
            self.canvas.rect(x, self.height - y - height, width, height, stroke=0, fill=1)

    def circle(self, x: float, y: float, radius: float, fill: str = INK, weight: float = 0) -> None:
        """A disc, or with a weight a ring of that line in ink whose inside has the fill."""
        if self.canvas is not None:
            self.canvas.setFillColor(ink(fill))
            self.canvas.setStrokeColor(ink(INK))
            self.canvas.setLineWidth(weight)
            self.canvas.circle(x, self.height - y, radius, stroke=int(weight > 0), fill=1)

    def arc(self, x: float, y: float, radius: float, start: float, extent: float, weight: float = 0) -> None:
        """Part of a circle, degrees against the clock from three o'clock: filled, or with a weight a line."""
        if self.canvas is not None:
            box = (x - radius, self.height - y - radius, x + radius, self.height - y + radius)
            path = self.canvas.beginPath()
            path.arc(*box, startAng=start, extent=extent)
            self.canvas.setFillColor(ink(INK))
            self.canvas.setStrokeColor(ink(INK))
            self.canvas.setLineWidth(weight)
            self.canvas.drawPath(path, stroke=int(weight > 0), fill=int(weight == 0))

    def shape(
        self, points: list[tuple[float, float]], fill: str | None = INK, weight: float = 0, line: str = INK
    ) -> None:
        """A closed outline through the points; filled, stroked or both."""
        if self.canvas is not None:
            self.canvas.drawPath(self._path(points, closed=True), **self._ink(fill, weight, line))

    def stroke(self, points: list[tuple[float, float]], weight: float, colour: str = INK) -> None:
        """An open line through the points, with round joins."""
        if self.canvas is not None:
            self.canvas.saveState()
            self.canvas.setLineJoin(1)
            self.canvas.drawPath(self._path(points, closed=False), **self._ink(None, weight, colour))
            self.canvas.restoreState()

    def _path(self, points: list[tuple[float, float]], closed: bool) -> Any:
        path = self.canvas.beginPath()
        path.moveTo(points[0][0], self.height - points[0][1])
        for x, y in points[1:]:
            path.lineTo(x, self.height - y)
        if closed:
            path.close()
        return path

    def _ink(self, fill: str | None, weight: float, line: str) -> dict[str, int]:
        self.canvas.setFillColor(ink(fill or INK))
        self.canvas.setStrokeColor(ink(line))
        self.canvas.setLineWidth(weight)
        return {"fill": int(fill is not None), "stroke": int(weight > 0)}

    def picture(self, x: float, y: float, png: bytes, width: float, height: float) -> float:
        """A bitmap within that room, its upper left corner at (x, y); returns its width.

        Its pixels are no larger than at 150 dpi.
        """
        from reportlab.lib.utils import ImageReader

        image = ImageReader(BytesIO(png))
        wide, high = image.getSize()
        scale = min(width / wide, height / high, 72 / 150)
        if self.canvas is not None:
            self.canvas.drawImage(image, x, self.height - y - high * scale, wide * scale, high * scale)
        return float(wide * scale)

    def outlines(self, text: str, weight: float, colour: str) -> None:
        """A word from corner to corner in outlines, for a page that is not to count."""
        if self.canvas is None:
            return
        length = 0.74 * math.hypot(self.width, self.height)
        size = 1000 * length / fonts.width(text, 1000, fonts.BOLD)
        self.canvas.saveState()
        self.canvas.translate(self.width / 2, self.height / 2)
        self.canvas.rotate(math.degrees(math.atan2(self.height, self.width)))
        drawing = self.canvas.beginText(-length / 2, -fonts.cap_height(size) / 2)
        drawing.setFont(fonts.BOLD, size)
        drawing.setTextRenderMode(1)
        drawing.setStrokeColor(ink(colour))
        self.canvas.setLineWidth(weight)
        drawing.textOut(text)
        self.canvas.drawText(drawing)
        self.canvas.restoreState()


def plain(text: str) -> str:
    """Text from a person as markup: two stars in it set nothing bold."""
    return text.replace("**", "* *")


@lru_cache(maxsize=2048)
def wrap(markup: str, width: float, style: Style) -> list[Line]:
    """The markup in lines no wider than `width`, broken at plain spaces, a too long word inside it.

    They are kept, since each is asked for when a page is measured and when it is drawn: look, don't touch.
    """
    lines = _fill([part for word in _words(markup) for part in _broken(word, width, style)], width, style)
    _mend_last(lines, width, style)
    return [_joined(line) for line in lines]


def _words(markup: str) -> Iterator[Line]:
    """Words as runs: one may change weight inside, such as a bold number before a comma."""
    word: Line = []
    for number, part in enumerate(markup.split("**")):
        for place, text in enumerate(re.split(r"[ \t\r\n]+", part)):
            if place and word:
                yield word
                word = []
            if text:
                word.append((text, number % 2 == 1))
    if word:
        yield word


def _width(word: Line, style: Style) -> float:
    return sum(fonts.width(text, style.size, fonts.font_name(bold or style.bold, style.figures)) for text, bold in word)


def _broken(word: Line, width: float, style: Style) -> Iterator[Line]:
    if _width(word, style) <= width:
        yield word
        return
    part: Line = []
    for text, bold in word:
        for character in text:
            if part and _width([*part, (character, bold)], style) > width:
                yield _merged(part)
                part = []
            part.append((character, bold))
    yield _merged(part)


def _fill(words: list[Line], width: float, style: Style) -> list[list[Line]]:
    lines: list[list[Line]] = []
    space = fonts.width(" ", style.size, fonts.BOLD)  # the wider of the two
    room = 0.0
    for word in words:
        wide = _width(word, style)
        if lines and wide + space <= room:
            lines[-1].append(word)
            room -= wide + space
        else:
            lines.append([word])
            room = width - wide
    return lines


def _mend_last(lines: list[list[Line]], width: float, style: Style) -> None:
    """Rather than a last line under a fifth of the width, move words down to it."""
    if len(lines) < 2:
        return

    def wide(line: list[Line]) -> float:
        return _width(_joined(line), style)

    while wide(lines[-1]) < width / 5 and len(lines[-2]) > 2:
        longer = [lines[-2][-1], *lines[-1]]
        if wide(longer) > width:
            return
        lines[-1] = longer
        lines[-2].pop()


def _joined(words: list[Line]) -> Line:
    line: Line = []
    for word in words:
        if line:
            line.append((" ", line[-1][1] and word[0][1]))
        line += word
    return _merged(line)


def _merged(line: Line) -> Line:
    merged: Line = []
    for text, bold in line:
        if merged and merged[-1][1] == bold:
            merged[-1] = (merged[-1][0] + text, bold)
        else:
            merged.append((text, bold))
    return merged
