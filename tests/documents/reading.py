"""What a reader that is not ours finds in a PDF: text, boxes of characters, codes, fonts."""

from collections.abc import Iterator
from io import BytesIO
from itertools import combinations, product
from typing import Any

import pikepdf
import pypdfium2 as pdfium
import zxingcpp

MM = 72 / 25.4
Box = tuple[float, float, float, float]  # left, bottom, right, top, in points


def words_of(pdf: bytes) -> str:
    """All text, pages in order, with single plain spaces."""
    document = pdfium.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


def pages_of(pdf: bytes) -> int:
    return len(pdfium.PdfDocument(pdf))


def size_of(pdf: bytes) -> tuple[float, float]:
    width, height = pdfium.PdfDocument(pdf)[0].get_size()
    return width / MM, height / MM


def characters(pdf: bytes) -> list[list[tuple[str, Box]]]:
    """Of each page, every character that is not a space, with its box."""
    found = []
    for page in pdfium.PdfDocument(pdf):
        text = page.get_textpage()
        boxes = [(text.get_text_range(place, 1), text.get_charbox(place)) for place in range(text.count_chars())]
        found.append([(character, box) for character, box in boxes if character.strip()])
    return found


def overlaps(boxes: list[tuple[str, Box]]) -> list[str]:
    """Pairs of characters drawn over each other: more than a third of the narrower one's box."""
    near: dict[tuple[int, int], list[int]] = {}  # by squares of a centimetre or so: who shares none cannot overlap
    for place, (_, box) in enumerate(boxes):
        left, bottom, right, top = (int(side // 24) for side in box)
        for square in product(range(left, right + 1), range(bottom, top + 1)):
            near.setdefault(square, []).append(place)
    found = []
    for place, beside in sorted({pair for each in near.values() for pair in combinations(each, 2)}):
        (one, first), (other, second) = sorted((boxes[place], boxes[beside]), key=lambda each: each[1][0])
        if second[0] < first[2]:
            wide = min(first[2], second[2]) - second[0]
            high = min(first[3], second[3]) - max(first[1], second[1])
            narrow = min(first[2] - first[0], second[2] - second[0])
            low = min(first[3] - first[1], second[3] - second[1])
            if wide > narrow / 3 and high > low / 3 and low > 0:
                found.append(f"{one} over {other} at {first[0]:.0f}, {first[1]:.0f}")
    return found


def said_of(pdf: bytes) -> tuple[str, str]:
    """The language and the title that a reading program is told; empty where there is none."""
    with pikepdf.open(BytesIO(pdf)) as document:
        return str(document.Root.get("/Lang", "")), str(document.docinfo.get("/Title", ""))


def against_the_order(pdf: bytes) -> list[str]:
    """Where the text as a program takes it out leaps up on the page without going right, as to a next column."""
    found = []
    for page in characters(pdf):
        for place in range(1, len(page)):
            (_, (before, low, _, _)), (_, (left, bottom, _, _)) = page[place - 1 : place + 1]
            if bottom > low + 14 and left < before:  # points: more than a line
                found.append("".join(character for character, _ in page[place - 20 : place + 20]))
    return found


def codes_of(pdf: bytes, dpi: int) -> list[Any]:
    """Every code on every page, read from its pixels at this resolution."""
    found: list[Any] = []
    for page in pdfium.PdfDocument(pdf):
        picture = page.render(scale=dpi / 72, grayscale=True).to_pil()
        found += zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    return found


def fonts_of(pdf: bytes) -> Iterator[tuple[str, bool]]:
    """Name of every font in the file and whether it is embedded."""
    with pikepdf.open(BytesIO(pdf)) as document:
        for each in document.objects:
            if isinstance(each, pikepdf.Dictionary) and each.get("/Type") == "/Font":
                descriptor = each.get("/FontDescriptor", {})
                yield str(each.BaseFont), "/FontFile2" in descriptor


def rectangles_of(pdf: bytes) -> list[Box]:
    """Every rectangle on the first page: x, y of the lower left corner, width, height."""
    with pikepdf.open(BytesIO(pdf)) as document:
        found = []
        for operands, operator in pikepdf.parse_content_stream(document.pages[0]):
            if str(operator) == "re":
                x, y, width, height = (float(each) for each in operands)
                found.append((x, y, width, height))
        return found
