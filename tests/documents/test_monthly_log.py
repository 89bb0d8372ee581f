"""The pages of the monthly log: what fits, what wraps, what is refused."""

from datetime import date

import pypdfium2 as pdfium
import pytest

from registry.documents.facts import CannotPrint, PageFacts
from registry.documents.monthly_log import COLUMNS, LogFacts, Row, monthly_log
from tests.documents import reading

CELLS = {
    "day": "03/03/2026", "time": "12:30\u00a0p.m.", "tag": "WSWSWSWS0123", "method": "In place, with reference",
    "expected": "−118.5\u00a0°F", "actual": "325.25; 325.25; 325.25\u00a0°F", "off_by": "−118.56\u00a0°F",
    "limit": "±10.5\u00a0°F", "outcome": "No apto con reserva (cuatro resultados); baño juzgado de nuevo",
    "as_left": "−118.50\u00a0°F, Conditional pass", "action": "after: Temperature shock; adjusted: nut; out of use",
    "who": "ABCDEF", "number": "KQBH12345678X",
}  # fmt: skip
PAGE = {"language": "en", "region": "en_US", "zone": "UTC", "owner": "Harbour Kitchens", "site": "Pier"}


def row(weight: str = "", **changed: str) -> Row:
    return Row(tuple((CELLS | changed)[code] for code in COLUMNS), weight, date(2026, 3, 3))


def facts(*rows: Row, paper: str = "a4", **more: str) -> LogFacts:
    page = PageFacts(**(PAGE | {"paper": paper} | more))  # type: ignore[arg-type]
    return LogFacts(page, "March 2026", rows, ("**A note.** Told.",), ("Nobody.",), False, ("Made from none.",))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_longest_texts_fit(paper: str) -> None:
    pdf = monthly_log(facts(row(), row("bold"), row("grey"), paper=paper))
    text = reading.words_of(pdf)
    for word in ("KQBH12345678X", "03/03/2026", "325.25", "reserva", "shock"):
        assert text.count(word) >= 3, word
    for word in ("WSWSWSWS0123", "ABCDEF"):  # a tag id or initials as long as may be take two lines
        assert text.replace(" ", "").count(word) == 3


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_drawn_over_anything_else(paper: str) -> None:
    for boxes in reading.characters(monthly_log(facts(row(), row("bold"), paper=paper))):
        assert boxes
        assert reading.overlaps(boxes) == []


def test_an_empty_month_is_a_page() -> None:
    text = reading.words_of(monthly_log(facts()))
    assert "Page 1 of 1" in text
    assert "A note. Told." in text
    assert "End of the log" in text


def test_what_stands_below_goes_over_to_a_page_of_its_own() -> None:
    short = row(tag="WS001R", actual="32\u00a0°F", action="", outcome="Pass", as_left="", method="Ice", who="MQ")
    pages = 1
    for lines in range(10, 30):
        pdf = monthly_log(facts(*[short] * lines))
        if (pages := reading.pages_of(pdf)) > 1:
            break
    assert pages == 2
    with pdfium.PdfDocument(pdf) as document:
        first, second = (page.get_textpage().get_text_range() for page in document)
    assert first.count("WS001R") == lines
    assert "Page 2 of 2" in second
    assert "End of the log" in second
    assert "Expected" not in second  # no heads without lines


@pytest.mark.parametrize("code", ["expected", "off_by", "limit", "time"])
def test_a_number_that_has_no_room_is_refused_and_not_cut(code: str) -> None:
    with pytest.raises(CannotPrint) as refused:
        monthly_log(facts(row(**{code: "1234567890123456"})))
    assert refused.value.code == "too_wide"


def test_what_no_font_has_is_refused() -> None:
    with pytest.raises(CannotPrint) as refused:
        monthly_log(facts(row(tag="\N{SNOWMAN}")))
    assert refused.value.code == "missing_characters"


def test_every_font_is_embedded() -> None:
    fonts = reading.fonts_of(monthly_log(facts(row(), demo="yes")))
    assert fonts
    assert all(embedded for _, embedded in fonts)
