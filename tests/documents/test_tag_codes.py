"""Codes as the pixels of a printer show them, found by another's reader: turned, blurred, small; whole dots."""

import random
from dataclasses import replace
from functools import cache
from typing import Any

import pypdfium2 as pdfium
import pytest
import zxingcpp
from PIL import Image, ImageChops, ImageFilter

from registry.documents.codes import BAR_DOTS, QUIETS, TAG_DOTS, Coding, Kind, symbol
from registry.documents.facts import TagFacts
from registry.documents.tags import Printing, print_tags
from registry.journal.numbers import entry_number, tag_id_given
from tests.documents.samples import IDENTITY, LIMITED, OUT, USE

KINDS: tuple[Kind, ...] = ("qr", "datamatrix", "code128")
FORMATS = {
    "qr": zxingcpp.BarcodeFormat.QRCode,
    "datamatrix": zxingcpp.BarcodeFormat.DataMatrix,
    "code128": zxingcpp.BarcodeFormat.Code128,
}
DPIS = (203, 300, 600)
# A label that holds each: bars take a strip of their own.
STOCK = {"qr": "38.1x21.2", "datamatrix": "38.1x21.2", "code128": "50x35"}
TAGS: dict[str, TagFacts] = {"identity": IDENTITY, "use": USE, "limited": LIMITED, "out": OUT}


@cache
def drawn(name: str, kind: Kind, dpi: int, stock: str = "") -> Image.Image:
    return picture(TAGS[name], kind, dpi, stock)


def picture(tag: TagFacts, kind: Kind, dpi: int, stock: str = "") -> Image.Image:
    """A tag as the printer's own dots."""
    pdf = print_tags([tag], Printing(stock or STOCK[kind], Coding(kind, dpi)))
    return rendered(pdf, dpi)


def rendered(pdf: bytes, dpi: int) -> Image.Image:
    """The first page, a pixel a dot: it is whole dots wide, which rounding up would make one more."""
    page = pdfium.PdfDocument(pdf)[0]
    return page.render(scale=dpi / 72 - 1e-6, grayscale=True).to_pil().copy()


def read(shown: Image.Image, kind: Kind) -> list[str]:
    return [one.text for one in zxingcpp.read_barcodes(shown, formats=FORMATS[kind])]


def said(tag: TagFacts) -> str:
    return tag.tag_id if tag is IDENTITY else tag.number  # type: ignore[union-attr]


def on_paper(shown: Image.Image) -> Image.Image:
    """With white around it, as a label on its backing."""
    edge = shown.width // 4
    paper = Image.new("L", (shown.width + 2 * edge, shown.height + 2 * edge), 255)
    paper.paste(shown, (edge, edge))
    return paper


@pytest.mark.fast_cases(12)
@pytest.mark.parametrize("name", TAGS)
@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_code_is_read_as_printed(kind: Kind, dpi: int, name: str) -> None:
    assert read(drawn(name, kind, dpi), kind) == [said(TAGS[name])]


@pytest.mark.fast_cases(9)
@pytest.mark.parametrize("degrees", [90, 180, 7])
@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_code_is_read_turned(kind: Kind, dpi: int, degrees: int) -> None:
    turned = on_paper(drawn("use", kind, dpi)).rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    assert read(turned, kind) == [USE.number]


@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_code_is_read_slightly_blurred(kind: Kind, dpi: int) -> None:
    """By a fifth of a module, as ink that spreads or a camera that is not quite sharp."""
    dots = BAR_DOTS[dpi] if kind == "code128" else TAG_DOTS[dpi]
    blurred = drawn("use", kind, dpi).filter(ImageFilter.GaussianBlur(dots / 5))
    assert read(blurred, kind) == [USE.number]


@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_code_is_read_at_seven_tenths_of_its_size(kind: Kind, dpi: int) -> None:
    """As a copy made smaller, or a camera from farther away."""
    whole = drawn("use", kind, dpi)
    if kind == "code128" and dpi == 203:  # of two dots a bar seven tenths leave nothing, were a camera no finer
        whole = whole.resize((2 * whole.width, 2 * whole.height), Image.Resampling.NEAREST)
    size = (round(whole.width * 0.7), round(whole.height * 0.7))
    assert read(whole.resize(size, Image.Resampling.BOX), kind) == [USE.number]


def runs(line: list[int]) -> list[tuple[int, int]]:
    """Grey value and length of each run of equal pixels."""
    found: list[tuple[int, int]] = []
    for value in line:
        if found and found[-1][0] == value:
            found[-1] = (value, found[-1][1] + 1)
        else:
            found.append((value, 1))
    return found


def code_box(shown: Image.Image, kind: Kind) -> tuple[int, int, int, int]:
    """Where the reader says that the code lies, a little larger."""
    (found,) = zxingcpp.read_barcodes(shown, formats=FORMATS[kind])
    corners = [
        found.position.top_left, found.position.top_right, found.position.bottom_left, found.position.bottom_right
    ]  # fmt: skip
    xs, ys = [one.x for one in corners], [one.y for one in corners]
    return min(xs) - 6, min(ys) - 6, max(xs) + 6, max(ys) + 6


def exact_box(shown: Image.Image, kind: Kind) -> tuple[int, int, int, int]:
    """The code to the pixel. Of bars, the rows halfway alone."""
    left, top, right, bottom = code_box(shown, kind)
    if kind == "code128":
        top, bottom = (top + bottom) // 2 - 2, (top + bottom) // 2 + 2
    inner = ImageChops.invert(shown.crop((left, top, right, bottom)).point([0] * 128 + [255] * 128)).getbbox()
    assert inner is not None
    return left + inner[0], top + inner[1], left + inner[2], top + inner[3]


@pytest.mark.fast_cases(13)
@pytest.mark.parametrize("trim", [(0.0, 0.0), (0.37, -0.21)])
@pytest.mark.parametrize("stock", ["50x25", "38.1x21.2", "44.4x12.7", "a4_48.5x25.4", "letter_66.7x25.4"])
@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", ["qr", "datamatrix"])
def test_every_module_is_whole_dots_on_the_rendered_page(
    kind: Kind, dpi: int, stock: str, trim: tuple[float, float]
) -> None:
    """Black and white alone, in runs of whole modules, wherever the label lies."""
    start = 1 if "_" not in stock else 7
    pdf = print_tags([IDENTITY], Printing(stock, Coding(kind, dpi), start, trim))
    shown = rendered(pdf, dpi)
    code = shown.crop(code_box(shown, kind))
    # A page's size is written with few decimals, which tinges an edge by a step or two of 255.
    assert sum(code.histogram()[4:252]) == 0
    sharp = code.point([0] * 128 + [255] * 128)
    modules = sharp.crop(ImageChops.invert(sharp).getbbox())
    dots, across = TAG_DOTS[dpi], symbol(IDENTITY.tag_id, kind).across - 2 * QUIETS[kind]
    assert modules.size == (across * dots, across * dots)
    pixels = list(modules.tobytes())
    rows = [pixels[at : at + modules.width] for at in range(0, len(pixels), modules.width)]
    for line in [*rows, *map(list, zip(*rows, strict=True))]:
        assert all(length % dots == 0 for _, length in runs(line))


@pytest.mark.parametrize("dpi", DPIS)
def test_every_bar_is_whole_dots_on_the_rendered_page(dpi: int) -> None:
    shown = drawn("identity", "code128", dpi, "50x25")
    _, top, _, bottom = code_box(shown, "code128")
    middle = (top + bottom) // 2
    line = [shown.getpixel((x, middle)) for x in range(shown.width)]
    assert all(one < 4 or one > 251 for one in line if isinstance(one, int))
    found = runs([int(one) // 128 for one in line if isinstance(one, int)])
    quiet, bars = (found[0], found[-1]), found[1:-1]
    assert all(length % BAR_DOTS[dpi] == 0 for _, length in bars)
    assert sum(length for _, length in bars) == len(symbol(IDENTITY.tag_id, "code128").rows[0]) * BAR_DOTS[dpi]
    assert all(length >= QUIETS["code128"] * BAR_DOTS[dpi] for _, length in quiet)


@pytest.mark.parametrize("kind", KINDS)
def test_the_quiet_zone_is_white(kind: Kind) -> None:
    """4, 1 and 10 modules: ISO/IEC 18004, 16022 and 15417."""
    for name in TAGS:
        dpi = 300
        shown = drawn(name, kind, dpi)
        dots = BAR_DOTS[dpi] if kind == "code128" else TAG_DOTS[dpi]
        left, top, right, bottom = exact_box(shown, kind)
        quiet = QUIETS[kind] * dots
        above = 0 if kind == "code128" else quiet  # bars want none above and below
        around = shown.crop((left - quiet, top - above, right + quiet, bottom + above)).point([0] * 128 + [255] * 128)
        inside = Image.new("L", (right - left, bottom - top), 255)
        around.paste(inside, (quiet, above))
        assert around.getextrema() == (255, 255), name


@pytest.mark.parametrize("kind", KINDS)
def test_codes_hold_capitals_and_digits_only(kind: Kind) -> None:
    with pytest.raises(ValueError, match="capitals"):
        symbol("lm-1", kind)


def test_codes_are_square_and_no_larger_than_they_need_be() -> None:
    assert [len(symbol(text, "qr").rows) for text in ("LM214L", "LMHK4127X", "WMWMWM123456")] == [21, 21, 21]
    sizes = [
        (len(one.rows), len(one.rows[0])) for one in (symbol("LM214L", "datamatrix"), symbol("LMHK4127X", "datamatrix"))
    ]
    assert sizes == [(12, 12), (14, 14)]


# By colour or without: word, sign and id stay


@pytest.mark.parametrize("name", ["use", "limited", "out"])
def test_a_tag_is_black_and_white_alone(name: str) -> None:
    """A render in greys and one in colours are equal, and nothing but edges of letters is neither black nor white."""
    pdf = print_tags([TAGS[name]], Printing("50x25"))
    page = pdfium.PdfDocument(pdf)[0]
    grey = page.render(scale=8, grayscale=True).to_pil().copy()
    colour = page.render(scale=8).to_pil().convert("RGB")
    for channel in colour.split():
        assert ImageChops.difference(grey, channel).getextrema()[1] <= 1
    histogram: list[Any] = grey.histogram()
    assert sum(histogram[:8]) + sum(histogram[248:]) > 0.9 * grey.width * grey.height
    assert sum(histogram[8:64]) < 0.03 * grey.width * grey.height  # dark grey would be printed in specks


def test_the_more_ink_the_less_use() -> None:
    """Without a word read: the sign alone has more black from use to limited use to do not use."""
    ink = []
    for name in ("use", "limited", "out"):
        shown = drawn(name, "qr", 300, "50x25")
        sign = shown.crop((0, 0, round(14 / 25.4 * 300), round(13 / 25.4 * 300)))
        ink.append(
            255 - sum(value * count for value, count in enumerate(sign.histogram())) / (sign.width * sign.height)
        )
    assert ink[0] * 1.5 < ink[1]
    assert ink[1] * 1.2 < ink[2]


@pytest.mark.slow
@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_thousand_random_ids_are_read_back(kind: Kind, dpi: int) -> None:
    chosen = random.Random(f"{kind} {dpi}")
    ids = [
        tag_id_given("".join(chosen.choices("ABCDEFGHJKLMNPQRSTUVWXYZ", k=2)), chosen.randrange(10**6))
        for _ in range(56)
    ]
    numbers = [
        entry_number("".join(chosen.choices("ABCDEFGHJKLMNPQRSTUVWXYZ", k=4)), chosen.randrange(10**6))
        for _ in range(56)
    ]
    for text in ids:
        assert read(picture(replace(IDENTITY, tag_id=text), kind, dpi), kind) == [text]
    for text in numbers:
        assert read(picture(replace(USE, number=text), kind, dpi), kind) == [text]
