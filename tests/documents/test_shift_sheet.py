"""The printed shift sheet: what stands on it, in both languages and on both papers, read back from the PDF."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pikepdf
import pypdfium2 as pdfium
import pytest

from registry.documents.facts import CannotPrint, PageFacts, Paper
from registry.documents.sheet_facts import BathBlank, LineFacts, SheetFacts, SpanFacts
from registry.documents.shift_sheet import COLUMNS, PAPERS, shift_sheet
from registry.quantity import Length, Reading
from registry.wording import say
from tests.documents.reading import characters, overlaps, pages_of, size_of, words_of

MM = 72 / 25.4


def span(lowest: str, highest: str) -> SpanFacts:
    return SpanFacts(lowest=Reading.from_text(lowest), highest=Reading.from_text(highest))


ICE_C, ICE_F = span("-1.0 C", "1.0 C"), span("30 F", "34 F")
BOIL_C, BOIL_F = span("98.6 C", "100.6 C"), span("209 F", "213 F")
DUAL = LineFacts(
    tag_id="PR0018",
    station="Grill",
    type="thermocouple_probe",
    units=("C", "F"),
    ice=(ICE_C, span("30.2 F", "33.8 F")),
    boil=(BOIL_C, span("209.4 F", "213.0 F")),
)
DIAL = LineFacts(tag_id="PR0026", station="", type="bimetal_stem", units=("F",), ice=(ICE_F,), boil=(BOIL_F,))
OVEN = LineFacts(tag_id="PR0034", station="Bakery", type="oven", units=("C",), ice=(), boil=())


def baths() -> tuple[BathBlank, ...]:
    ice = BathBlank(
        point="ice_point",
        made=("crushed_packed", "cubes_stirred", "cubes_careless", "slush_stirred"),
        reference=(Reading.from_text("0.0 C"), Reading.from_text("32.0 F")),
        spans=(ICE_C, ICE_F),
        elevation=None,
    )
    boil = BathBlank(
        point="boiling_point",
        made=("rolling_boil",),
        reference=(Reading.from_text("99.6 C"), Reading.from_text("211.2 F")),
        spans=(BOIL_C, BOIL_F),
        elevation=Length(Decimal(120), "m"),
    )
    return ice, boil


def facts(*lines: LineFacts, language: str = "en", paper: Paper = "a4", demo: bool = False) -> SheetFacts:
    region = "en_GB" if language == "en" else "es_ES"
    page = PageFacts(
        language=language,
        region=region,
        zone="Europe/Madrid",
        paper=paper,
        owner="Harbour Kitchens",
        site="Pier",
        demo=demo,
    )
    cautions = ("sanitise_first", "stems_at_once", "scalding", "never_boil_to_ice", "bath_ice_never_eaten")
    return SheetFacts(
        page=page,
        shift="Morning",
        hours="06:00 to 14:00",
        day=date(2026, 3, 3),
        baths=baths(),
        lines=lines or (DUAL, DIAL, OVEN),
        cautions=cautions,
    )


def test_a_sheet_names_shift_thermometers_and_the_range_that_passes_for_each() -> None:
    found = words_of(shift_sheet(facts()))
    for said in (
        "Shift sheet",
        "Harbour Kitchens, Pier",
        "Shift: Morning, 06:00 to 14:00",
        "Day: 3 March 2026",
        "Bath 1. Ice point: 0.0 °C or 32.0 °F",
        "Most must read −1.0 to 1.0 °C, 30 to 34 °F",
        "Bath 2. Boiling point: 99.6 °C or 211.2 °F",
        "Usual at 120 m.",
        "PR0018",
        "Thermocouple probe",
        "30.2 to 33.8 °F",
        "209 to 213 °F",
        "Oven dial",
    ):
        assert said in found


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_cautions_and_how_to_fill_it_in_stand_on_every_page(language: str, paper: Paper) -> None:
    pdf = shift_sheet(facts(*[DUAL] * 40, language=language, paper=paper))
    document = pdfium.PdfDocument(pdf)
    assert len(document) > 2
    for page in document:
        text = " ".join(page.get_textpage().get_text_range().split())
        for code in ("scalding", "sanitise_first", "bath_ice_never_eaten", "local_codes_first"):
            assert " ".join(say(f"caution.{code}", language).split()) in text
        assert say("sheet.title", language) in text
    width, height = size_of(pdf)
    assert (width, height) == pytest.approx(PAPERS[paper][:2], abs=0.1)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_drawn_over_anything_or_off_the_page(language: str, paper: Paper) -> None:
    long = replace(
        DUAL, tag_id="HARBOUR00012", station="Cold preparation room behind the long corridor", type="rtd_probe"
    )
    pdf = shift_sheet(facts(DUAL, long, DIAL, OVEN, language=language, paper=paper))
    width, height = (each * MM for each in PAPERS[paper][:2])
    for page in characters(pdf):
        assert overlaps(page) == []
        for _, (left, bottom, right, top) in page:
            assert left >= 8 * MM
            assert right <= width - 8 * MM
            assert bottom >= 5 * MM
            assert top <= height - 5 * MM


@pytest.mark.parametrize("language", ["en", "es"])
def test_heads_of_columns_are_not_broken_inside_a_word(language: str) -> None:
    """On both papers: a broken word would stand in two pieces."""
    found = words_of(shift_sheet(facts(language=language, paper="letter")))
    for column in COLUMNS:
        if not column.upright:
            assert say(f"sheet.column.{column.code}", language) in found


def test_every_thermometer_stands_on_it_once_in_the_order_given() -> None:
    lines = [replace(DIAL, tag_id=f"PR{n:03d}A") for n in range(60)]
    found = words_of(shift_sheet(facts(*lines)))
    places = [found.index(one.tag_id) for one in lines]
    assert places == sorted(places)
    assert all(found.count(one.tag_id) == 1 for one in lines)


def test_columns_stand_in_the_order_in_which_a_shift_is_imported() -> None:
    """docs/importing.md: bath, time, tag, reading, unit, (as left, how adjusted), why not, initials."""
    order = [one.code for one in COLUMNS]
    imported = ("bath", "time", "tag", "reading", "repeat_1", "repeat_2", "unit", "as_left", "adjusted", "not_used",
                "not_found", "no_reading", "initials")  # fmt: skip
    assert [one for one in order if one in imported] == list(imported)


def test_a_demo_says_so_twice_and_a_real_one_never() -> None:
    assert say("certificate.demo_strip", "en") in words_of(shift_sheet(facts(demo=True)))
    assert "DEMO" not in words_of(shift_sheet(facts()))


def test_the_same_facts_give_the_same_bytes_and_every_font_is_embedded() -> None:
    pdf = shift_sheet(facts())
    assert shift_sheet(facts()) == pdf
    with pikepdf.open(BytesIO(pdf)) as document:
        for font in document.pages[0].Resources.Font.values():
            whole = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            assert "/FontFile2" in whole.FontDescriptor
        assert document.Root.Lang == "en"


def test_a_sheet_in_stock_leaves_shift_and_day_to_the_pen() -> None:
    found = words_of(shift_sheet(replace(facts(), shift="", hours="", day=None)))
    assert "Morning" not in found
    assert "2026" not in found
    assert "Filled in by" in found


def test_ten_of_the_tallest_usual_lines_fit_on_a_page() -> None:
    assert pages_of(shift_sheet(facts(*[DUAL] * 10))) == 1
    assert pages_of(shift_sheet(facts(*[DUAL] * 20))) == 2


def test_letters_that_no_font_has_are_refused_rather_than_left_out() -> None:
    with pytest.raises(CannotPrint) as refused:
        shift_sheet(facts(replace(DIAL, station="料理場")))
    assert refused.value.code == "missing_characters"
