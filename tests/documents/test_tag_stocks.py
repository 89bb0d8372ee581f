"""Sheets and rolls: where each label lies, trimmed or not; the narrow one; type sizes; the calibration page."""

import re
from dataclasses import replace
from io import BytesIO

import pikepdf
import pypdfium2 as pdfium
import pytest
from PIL import Image

from registry.documents.calibration import calibration_page
from registry.documents.codes import Coding, Kind
from registry.documents.designs import SHEETS, SIZES, Roll, stock_named
from registry.documents.facts import CannotPrint, TagFacts
from registry.documents.tags import Printing, print_tags
from tests.documents import reading
from tests.documents.samples import IDENTITY, USE
from tests.documents.test_certificate import FORBIDDEN
from tests.documents.test_tags import IDENTITIES, STATUSES

MM = reading.MM
EDGE = 20  # pixels of white around a page
EVERY: dict[str, TagFacts] = {**IDENTITIES, **STATUSES}


def cut(shown: Image.Image, left: float, top: float, width: float, height: float) -> Image.Image:
    x1, y1, x2, y2 = (round(each * 10) + EDGE for each in (left, top, left + width, top + height))
    return shown.crop((x1, y1, x2, y2))


@pytest.mark.fast_cases(8)
@pytest.mark.parametrize("trim", [(0.0, 0.0), (1.2, -0.8)])
@pytest.mark.parametrize("sheet", SHEETS)
def test_each_tag_lies_inside_its_cut(sheet: str, trim: tuple[float, float]) -> None:
    """With a trim all of them are moved by it, and by nothing else: white remains between them."""
    form = SHEETS[sheet]
    pdf = print_tags([IDENTITY] * form.labels, Printing(sheet, Coding(dpi=600), trim=trim))
    assert reading.pages_of(pdf) == 1
    page = pdfium.PdfDocument(pdf)[0].render(scale=10 / MM, grayscale=True).to_pil()
    shown = Image.new("L", (page.width + 2 * EDGE, page.height + 2 * EDGE), 255)
    shown.paste(page, (EDGE, EDGE))
    for label in range(form.labels):
        left, top = (at + by for at, by in zip(form.place(label), trim, strict=True))
        on_it = cut(shown, left, top, form.width, form.height)
        box = on_it.point([255] * 128 + [0] * 128).getbbox()
        assert box is not None
        assert box[0] >= 10, (label, "nothing but white a millimetre from the cut")
        assert box[1] >= 8
        assert box[2] <= form.width * 10 - 9
        assert box[3] <= form.height * 10 - 6
        shown.paste(Image.new("L", on_it.size, 255), (round(left * 10) + EDGE, round(top * 10) + EDGE))
    assert shown.getextrema()[0] > 128, "something lies outside every cut"


def test_a_part_used_sheet_is_gone_on_with_and_the_next_begins_at_its_first() -> None:
    many = [replace(IDENTITY, tag_id=f"LM{number:03}") for number in range(20)]
    pdf = print_tags(many, Printing("a4_63.5x38.1", Coding(), start=6, batch="Pier"))
    assert reading.pages_of(pdf) == 2
    words = [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(pdf)]
    assert "sheet 1 of 2" in words[0]
    assert "sheet 2 of 2" in words[1]
    assert ("LM015" in words[0], "LM016" in words[0], "LM016" in words[1]) == (True, False, True)


@pytest.mark.parametrize(("name", "size"), [("50x25", (50, 25)), ("60.5x40", (60.5, 40)), ("104x20.25", (104, 20.25))])
def test_a_roll_is_named_by_its_size(name: str, size: tuple[float, float]) -> None:
    assert stock_named(name) == Roll(*size)


@pytest.mark.parametrize("name", ["50", "50x", "x25", "5x25", "50x500", "500x25", "a4", "50 x 25", "50x25x3", "-50x25"])
def test_anything_else_is_no_stock(name: str) -> None:
    assert stock_named(name) is None
    with pytest.raises(CannotPrint):
        print_tags([IDENTITY], Printing(name))


@pytest.mark.parametrize("size", ["50x25", "60x40", "100x50", "44.4x12.7", "104x150"])
def test_a_roll_has_one_label_a_page_of_its_own_size(size: str) -> None:
    pdf = print_tags([IDENTITY, IDENTITY], Printing(size))
    assert reading.pages_of(pdf) == 2
    assert reading.size_of(pdf) == pytest.approx([float(each) for each in size.split("x")], abs=0.07)


# --- what stands on each, as small as it may be ---------------------------------------------------------------

STOCKS: list[tuple[str, Kind]] = [(size, kind) for size in SIZES for kind in ("qr", "datamatrix")]
STOCKS += [("50x35", "code128"), ("63.5x38.1", "code128"), ("101.6x50.8", "code128")]
NARROW: list[tuple[str, Kind]] = [("44.4x12.7", "qr"), ("44.4x12.7", "datamatrix"), ("30x10", "datamatrix")]


def sizes_of(pdf: bytes) -> set[float]:
    """Every size of type, in points."""
    with pikepdf.open(BytesIO(pdf)) as document:
        commands = [
            (str(operator), operands)
            for page in document.pages
            for operands, operator in pikepdf.parse_content_stream(page)
        ]
    return {float(operands[1]) for operator, operands in commands if operator == "Tf"}


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize(("size", "kind"), STOCKS)
def test_no_type_is_smaller_than_six_points(size: str, kind: Kind) -> None:
    for name, facts in EVERY.items():
        assert min(sizes_of(print_tags([facts], Printing(size, Coding(kind))))) >= 6, name


@pytest.mark.parametrize(("size", "kind"), [("50x25", "qr"), ("38.1x21.2", "qr"), ("44.4x12.7", "qr"), *NARROW[1:2]])
def test_the_id_has_capitals_of_four_millimetres(size: str, kind: Kind) -> None:
    """Atkinson Hyperlegible's capitals are 0.668 of its size: read at arm's length."""
    largest = max(sizes_of(print_tags([IDENTITY], Printing(size, Coding(kind)))))
    assert largest * 0.668 / MM >= 3.99


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize(("size", "kind"), [*STOCKS, *NARROW])
def test_nothing_stands_over_something_else_whatever_the_code(size: str, kind: Kind) -> None:
    found = dict(IDENTITIES if (size, kind) in NARROW else EVERY)
    if size == "30x10":  # an id of twelve wide letters does not fit there
        with pytest.raises(CannotPrint):
            print_tags([found.pop("longest")], Printing(size, Coding(kind)))
    for name, facts in found.items():
        pdf = print_tags([facts], Printing(size, Coding(kind)))
        (page,) = reading.characters(pdf)
        assert reading.overlaps(page) == [], name
        assert all(embedded for _, embedded in reading.fonts_of(pdf))
        assert FORBIDDEN.search(reading.words_of(pdf)) is None


def test_bars_wider_than_the_label_are_refused_with_their_width() -> None:
    with pytest.raises(CannotPrint) as refused:
        print_tags([IDENTITIES["longest"]], Printing("38.1x21.2", Coding("code128")))
    assert refused.value.code == "code_too_wide"
    assert 38 < float(refused.value.values["width"]) < 50


def test_a_status_tag_with_bars_wants_a_higher_label() -> None:
    with pytest.raises(CannotPrint) as refused:
        print_tags([USE], Printing("50x25", Coding("code128")))
    assert refused.value.code == "status_needs_more"
    assert "LM214L" in reading.words_of(print_tags([USE], Printing("50x34", Coding("code128"))))


# --- the calibration page --------------------------------------------------------------------------------------


@pytest.mark.fast_cases(9)
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("stock", [*SHEETS, "50x25", "25x10", "100x60"])
def test_a_calibration_page_for_every_stock(stock: str, language: str) -> None:
    pdf = calibration_page(stock, language)
    assert reading.pages_of(pdf) == 1
    assert all(embedded for _, embedded in reading.fonts_of(pdf))
    words = reading.words_of(pdf)
    assert FORBIDDEN.search(words) is None
    if stock in SHEETS:
        assert re.search(r"100\u00a0mm|100 mm", words)


def test_the_figures_over_an_edge_lie_where_they_say() -> None:
    """Nought on the first label's left and upper edge, each further tick half a millimetre on."""
    form = SHEETS["a4_63.5x38.1"]
    lines = strokes(calibration_page("a4_63.5x38.1", "en"), 297)
    middle = form.top + form.height / 2
    ticks = sorted(
        {round(x1, 2) for x1, y1, x2, y2 in lines if abs(x1 - x2) < 0.01 and y1 < middle < y2 and y2 - y1 < 4}
    )
    assert ticks == pytest.approx([form.left + half / 2 for half in range(-10, 11)], abs=0.02)


def test_the_ruler_is_a_hundred_millimetres() -> None:
    lines = strokes(calibration_page("letter_66.7x25.4", "en"), 279.4)
    assert any(x2 - x1 == pytest.approx(100, abs=0.01) and y1 == pytest.approx(y2) for x1, y1, x2, y2 in lines)


def strokes(pdf: bytes, high: float) -> list[tuple[float, float, float, float]]:
    """Straight lines of two points, in mm from the upper left corner, each from its lesser end."""
    found, start = [], (0.0, 0.0)
    with pikepdf.open(BytesIO(pdf)) as document:
        for operands, operator in pikepdf.parse_content_stream(document.pages[0]):
            if str(operator) == "m":
                start = (float(operands[0]) / MM, high - float(operands[1]) / MM)
            elif str(operator) == "l":
                end = (float(operands[0]) / MM, high - float(operands[1]) / MM)
                (x1, x2), (y1, y2) = sorted((start[0], end[0])), sorted((start[1], end[1]))
                found.append((x1, y1, x2, y2))
    return found
