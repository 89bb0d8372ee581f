"""Fonts, wrapping and sums on paper."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.documents import fonts, sentences
from registry.documents.facts import CannotPrint
from registry.documents.page import NOTE, TEXT, Page, plain, wrap
from registry.documents.results import notes_of, rows_of
from registry.documents.words import Words
from registry.quantity import Reading
from registry.wording import say
from tests.documents import samples
from tests.documents.samples import LIMIT_C, LIMIT_F, measured, one_point

WORDS = st.lists(st.text(st.characters(codec="latin-1", categories=("L", "N")), min_size=1, max_size=40), min_size=1)


def shown(line: list[tuple[str, bool]]) -> str:
    return "".join(text for text, _ in line)


@pytest.mark.parametrize("font", [fonts.TABULAR, fonts.TABULAR_BOLD])
def test_tabular_figures_are_all_as_wide(font: str) -> None:
    assert len({fonts.width(digit, 10, font) for digit in "0123456789"}) == 1


def test_figures_in_sentences_are_proportional() -> None:
    """402 and 648 units in the regular face, as its own tables say."""
    assert fonts.width("1", 1000, fonts.REGULAR) == pytest.approx(402)
    assert fonts.width("0", 1000, fonts.REGULAR) == pytest.approx(648)


def test_a_letter_the_face_lacks_comes_from_the_other_one() -> None:
    assert fonts.pieces("Kiwi Ж", fonts.BOLD) == ((fonts.BOLD, "Kiwi "), (fonts.FALLBACK, "Ж"))
    with pytest.raises(CannotPrint) as refused:
        fonts.pieces("a🧊b\n", fonts.REGULAR)
    assert refused.value.values == {"characters": "\n 🧊"}


@given(WORDS, st.integers(40, 400))
def test_lines_keep_every_word_and_their_width(typed: list[str], width: int) -> None:
    try:
        lines = wrap(" ".join(typed), width, TEXT)
    except CannotPrint:
        return  # a letter that no font has
    assert "".join(shown(line) for line in lines).replace(" ", "") == "".join(typed)
    assert all(fonts.width(shown(line), TEXT.size, fonts.REGULAR) <= width + 0.01 for line in lines)


def test_a_hard_space_does_not_break_and_a_long_word_does() -> None:
    lines = wrap("at most 100\u00a0°C", fonts.width("at most 100", 9, fonts.REGULAR) + 1, NOTE)
    assert [shown(line) for line in lines] == ["at most", "100\u00a0°C"]
    lines = wrap("x" * 60, 50, NOTE)
    assert len(lines) > 3
    assert "".join(map(shown, lines)) == "x" * 60


def test_bold_may_change_inside_a_word() -> None:
    (line,) = wrap("**Ice point, 0.0\u00a0°C**, the same", 400, TEXT)
    assert line == [("Ice point, 0.0\u00a0°C", True), (", the same", False)]
    assert wrap(plain("a ** b"), 400, TEXT) == [[("a * * b", False)]]


def test_a_short_last_line_takes_words_from_the_one_before() -> None:
    words = "one two three four five six seven eight i"
    width = fonts.width(words, TEXT.size, fonts.BOLD)  # less than all words and their spaces need
    full = fonts.width("one two three four five six seven eight", TEXT.size, fonts.REGULAR)
    lines = [shown(line) for line in wrap(words, full + 5, TEXT)]
    assert full + 5 < width
    assert lines == ["one two three four five six", "seven eight i"]


def test_text_wider_than_its_column_is_refused() -> None:
    page = Page(200, 200)
    with pytest.raises(CannotPrint) as refused:
        page.text(0, 10, "wider than this", TEXT, within=20)
    assert refused.value.code == "too_wide"
    with pytest.raises(CannotPrint):
        page.text(195, 10, "beyond the edge", TEXT)
    with pytest.raises(CannotPrint):
        page.text(5, 10, "before the edge", TEXT, "right")


# Sums on paper

TYPED = st.decimals(-200, 200, places=1).map(lambda value: f"{value + 0:f}")


def figures(text: str) -> Decimal:
    return Decimal(text.replace("\u2212", "-").replace("\u00a0", "").lstrip("+"))


@given(
    st.lists(TYPED, min_size=1, max_size=3),
    st.decimals(-200, 200, places=1),
    st.sampled_from(["C", "F"]),
    st.sampled_from([LIMIT_C, LIMIT_F]),
)
def test_what_is_printed_adds_up_or_the_page_says_why_not(typed, reference, unit, limits) -> None:  # type: ignore[no-untyped-def]
    against = f"{reference + 0:f} {unit}"
    more = {"expanded": None, "k": None}
    found = measured(*(f"{each} {unit}" for each in typed), reference=against, limits=limits, **more)
    facts = samples.with_page(one_point(found), units=("C", "F"))
    words = Words("en", "en_GB", "UTC")
    rows = rows_of(facts, words)
    lines = [line.texts for row in rows for line in row.lines]
    assert len(lines) == 2
    sums = [figures(line["reading"]) - figures(line["reference"]) == figures(line["offset"]) for line in lines]
    for line in lines:
        assert figures(line["correction"]) == -figures(line["offset"])
    assert (say("certificate.results.sums", "en") in notes_of(facts, rows, words)) == (not all(sums))


@given(TYPED, st.decimals(-200, 200, places=1), st.sampled_from(["C", "F"]))
def test_one_reading_always_adds_up_in_its_own_unit(typed: str, reference: Decimal, unit: str) -> None:
    limits = LIMIT_C if unit == "C" else LIMIT_F
    more = {"expanded": None, "k": None}
    found = measured(f"{typed} {unit}", reference=f"{reference + 0:f} {unit}", limits=limits, **more)
    (row,) = rows_of(one_point(found), Words("en", "en_GB", "UTC"))
    (line,) = row.lines
    assert line.adds_up()
    assert figures(line.texts["reading"]) == Reading.from_text(f"{typed} {unit}").value


def test_a_row_that_does_not_add_up() -> None:
    """Mean 0.1333 is printed 0.13, in °F 32.24; 32.24 less 32.00 is 0.24, and so it is here; 0.05 is not so lucky."""
    words = Words("en", "en_GB", "UTC")
    facts = samples.with_page(one_point(measured("0.3 C", reference="0.1 C")), units=("C", "F"))
    (row,) = rows_of(facts, words)
    assert row.lines[1].texts["reading"] == "32.54"
    assert row.lines[1].texts["reference"] == "32.18"
    assert row.lines[1].texts["offset"] == "+0.36"
    three = one_point(measured("0.1 C", "0.2 C", "0.2 C", reference="0.1 C"))
    facts = samples.with_page(three, units=("C", "F"))
    (row,) = rows_of(facts, words)
    # 32.30 - 32.18 = 0.12, and the exact mean offset of 0.0667 °C is 0.12 °F
    assert row.lines[1].texts["offset"] == "+0.12"


def test_signs_are_real_and_none_stands_on_nought() -> None:
    words = Words("es", "es_ES", "UTC")
    (row,) = rows_of(one_point(measured("-0.5 C", reference="0.0 C")), words)
    assert row.lines[0].texts["offset"] == "\u22120,5"
    assert row.lines[0].texts["correction"] == "+0,5"
    (row,) = rows_of(one_point(measured("0.0 C", reference="0.0 C")), words)
    assert row.lines[0].texts["offset"] == row.lines[0].texts["correction"] == "0,0"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "<0.1 %"),
        (0.0009, "<0.1 %"),
        (0.0044, "0.4 %"),
        (0.914, "91 %"),
        (0.995, "99.5 %"),
        (1.0, ">99.9 %"),
    ],
)
def test_a_chance_in_percent(share: float, text: str) -> None:
    assert Words("en", "en_GB", "UTC").chance(share) == text.replace(" ", "\u00a0")


def test_typed_digits_stay_as_they_are() -> None:
    (row,) = rows_of(one_point(replace(measured("2.50 C", reference="0.0 C"))), Words("en", "en_GB", "UTC"))
    assert row.lines[0].texts["reading"] == "2.50"
    assert row.lines[0].texts["offset"] == "+2.50"


def test_what_failed_is_offered_no_correction() -> None:
    failed = one_point(measured("1.6 C", "1.5 C", "1.6 C", reference="0.0 C", outcome="fail"))
    words = Words("en", "en_GB", "UTC")
    rows = rows_of(failed, words)
    assert [line.texts["correction"] for row in rows for line in row.lines] == ["–"]
    assert say("certificate.results.no_correction", "en") in notes_of(failed, rows, words)
    good = one_point(measured("0.6 C", reference="0.0 C"))
    assert say("certificate.results.no_correction", "en") not in notes_of(good, rows_of(good, words), words)


def test_a_fail_on_one_reading_says_that_its_repeats_are_missing() -> None:
    words = Words("en", "en_GB", "UTC")
    told = say("certificate.method.one_reading", "en")
    once = one_point(measured("1.6 C", reference="0.0 C", outcome="fail"))
    confirmed = one_point(measured("1.6 C", "1.5 C", "1.6 C", reference="0.0 C", outcome="fail"))
    good = one_point(measured("0.6 C", reference="0.0 C"))
    found = [" ".join(sentences.method(each, words)) for each in (once, confirmed, good)]
    assert [told in each for each in found] == [True, False, False]
