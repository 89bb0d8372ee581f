"""The fonts of printed pages, and how wide a text is in them.

The shipped face has proportional figures by default and reportlab applies no OpenType features, so a second
copy whose digits point at the tabular glyphs serves tables, ids and numbers. What the face lacks is drawn in
the fallback face; what both lack is refused, since reportlab would draw nothing and say nothing.
"""

from collections.abc import Sequence
from functools import cache, lru_cache

import uharfbuzz
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import ShapedStr, TTFont, shapeStr

from registry import resources
from registry.documents.facts import CannotPrint

REGULAR, BOLD, TABULAR, TABULAR_BOLD, FALLBACK = "text", "text-bold", "figures", "figures-bold", "fallback"
HARD_SPACE = "\N{NO-BREAK SPACE}"
# Kerning shows from this size up; below it costs more than it gives.
KERNED_FROM = 12
_FILES = {
    REGULAR: "AtkinsonHyperlegible-Regular",
    BOLD: "AtkinsonHyperlegible-Bold",
    TABULAR: "AtkinsonHyperlegible-Regular",
    TABULAR_BOLD: "AtkinsonHyperlegible-Bold",
    FALLBACK: "NotoSans-Regular",
}

Piece = tuple[str, str]  # font name and the text to be drawn in it


@cache
def register() -> None:
    """Make the fonts known to reportlab, once a process."""
    for name, file in _FILES.items():
        path = str(resources.font_path(file))
        font = TTFont(name, path)
        if name in (TABULAR, TABULAR_BOLD):
            _use_tabular_figures(font, path)
        pdfmetrics.registerFont(font)


def _use_tabular_figures(font: TTFont, path: str) -> None:
    # reportlab keeps faces by this name: under the old one the copy would silently be the original.
    font.face.name = font.face.name + b"-Tabular"
    shaper = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(path)))
    for digit in "0123456789":
        text = uharfbuzz.Buffer()
        text.add_str(digit)
        text.guess_segment_properties()
        uharfbuzz.shape(shaper, text, {"tnum": True})
        font.face.charToGlyph[ord(digit)] = text.glyph_infos[0].codepoint
        font.face.charWidths[ord(digit)] = text.glyph_positions[0].x_advance


def font_name(bold: bool, figures: bool) -> str:
    if figures:
        return TABULAR_BOLD if bold else TABULAR
    return BOLD if bold else REGULAR


@lru_cache(maxsize=4096)
def pieces(text: str, font: str) -> tuple[Piece, ...]:
    """The text in runs of one font each; CannotPrint names the characters that no font has."""
    register()
    found: list[list[str]] = []
    missing = set()
    for character in text:
        name = next((name for name in (font, FALLBACK) if _has(name, character)), None)
        if name is None:
            missing.add(character)
        elif found and found[-1][0] == name:
            found[-1][1] += character
        else:
            found.append([name, character])
    if missing:
        raise CannotPrint("missing_characters", characters=" ".join(sorted(missing)))
    return tuple((name, run) for name, run in found)


def _has(font: str, character: str) -> bool:
    return character == HARD_SPACE or ord(character) in pdfmetrics.getFont(font).face.charToGlyph


def shaped(piece: Piece, size: float) -> str:
    """The text to hand to reportlab, kerned where that shows."""
    font, text = piece
    return str.__str__(text) if size < KERNED_FROM or font not in (REGULAR, BOLD) else shapeStr(text, font, size)


@lru_cache(maxsize=16384)
def width(text: str, size: float, font: str) -> float:
    """In points, as it will be drawn."""
    return sum(_piece_width(piece, size) for piece in pieces(text, font))


def _piece_width(piece: Piece, size: float) -> float:
    drawn = shaped(piece, size)
    if isinstance(drawn, ShapedStr):
        return float(sum(each.x_advance for each in drawn.__shapeData__)) * size / 1000
    return float(pdfmetrics.stringWidth(drawn, piece[0], size))


def widest(texts: Sequence[str], size: float, font: str) -> float:
    return max((width(text, size, font) for text in texts), default=0.0)


def cap_height(size: float) -> float:
    """Height of a bold capital, in points."""
    register()
    return float(pdfmetrics.getFont(BOLD).face.capHeight) * size / 1000
