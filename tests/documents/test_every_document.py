"""What holds for every printed page: no words that claim too much, embedded fonts, a demo that says so, the end."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from registry.documents import finish, overlay
from registry.documents.answer_sheet import answer_sheet
from registry.documents.certificate import certificate
from registry.documents.facts import Superseded
from registry.documents.monthly_log import monthly_log
from registry.documents.overview import overview
from registry.documents.shift_sheet import shift_sheet
from registry.documents.tags import identity_tag, status_tag
from registry.documents.wall_list import wall_list
from registry.documents.when_off import when_off
from registry.wording import say
from tests.documents import (
    reading,
    samples,
    test_answer_sheet,
    test_monthly_log,
    test_shift_sheet,
    test_wall_list,
    test_when_off,
)
from tests.documents.test_certificate import FORBIDDEN

REGIONS = {"en": "en_GB", "es": "es_ES"}
SHEET = test_shift_sheet.facts(test_shift_sheet.DUAL, test_shift_sheet.DIAL, test_shift_sheet.OVEN)
ANSWER = test_answer_sheet.facts(test_answer_sheet.point("At the ice point: right."))
# Of each kind: what draws it, its facts with a page, and the code of its last line.
PAGES: dict[str, tuple[Callable[[Any], bytes], Any, str]] = {
    "certificate": (certificate, replace(samples.USUAL, reach=samples.REACH), "certificate.end"),
    "certificate, two points": (certificate, samples.FAHRENHEIT, "certificate.end"),
    "shift sheet": (shift_sheet, SHEET, "sheet.end"),
    "monthly log": (monthly_log, test_monthly_log.facts(test_monthly_log.row(outcome="")), "log.end"),
    "empty monthly log": (monthly_log, test_monthly_log.facts(), "log.end"),
    "answer": (answer_sheet, ANSWER, "answer.end"),
    "list for the wall": (wall_list, test_wall_list.MIXED, "wall.end"),
    "forty on the wall": (wall_list, test_wall_list.FORTY, "wall.end"),
    "when one is off": (when_off, test_when_off.FACTS, "off.end"),
    "overview": (overview, samples.OVERVIEW, "overview.end"),
}
TAGS: dict[str, Callable[[str, bool], bytes]] = {
    "identity tag": lambda language, demo: identity_tag(
        replace(samples.IDENTITY, language=language, demo=demo), "63.5x37"
    ),
    **{
        f"status tag, {facts.status}": lambda language, demo, facts=facts: status_tag(  # type: ignore[misc]
            replace(facts, language=language, region=REGIONS[language], why="", demo=demo), "63.5x37"
        )
        for facts in (samples.USE, samples.LIMITED, samples.OUT)
    },
}


def drawn(kind: str, language: str, *, demo: bool = False) -> bytes:
    if kind in TAGS:
        return TAGS[kind](language, demo)
    draw, facts, _ = PAGES[kind]
    return draw(replace(facts, page=replace(facts.page, language=language, region=REGIONS[language], demo=demo)))


@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", [*PAGES, *TAGS])
def test_nothing_is_claimed_that_was_not_earned(kind: str, language: str) -> None:
    text = reading.words_of(drawn(kind, language))
    assert len(text) > 10
    assert FORBIDDEN.findall(text) == []


@pytest.mark.fast_cases(9)
@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", [*PAGES, *TAGS])
def test_every_font_is_embedded_and_the_same_facts_give_the_same_bytes(kind: str, language: str) -> None:
    pdf = drawn(kind, language)
    fonts = list(reading.fonts_of(pdf))
    assert fonts
    assert all(embedded for _, embedded in fonts), fonts
    assert drawn(kind, language) == pdf


@pytest.mark.fast_cases(9)
@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", [*PAGES, *TAGS])
def test_a_demo_says_so_in_words_on_every_page(kind: str, language: str) -> None:
    pdf = drawn(kind, language, demo=True)
    said = say("tag.demo" if kind in TAGS else "certificate.demo_strip", language)
    assert reading.words_of(pdf).count(said) >= reading.pages_of(pdf)
    assert said not in reading.words_of(drawn(kind, language))


@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", [*PAGES, *TAGS])
def test_a_reading_program_is_told_its_language_and_title(kind: str, language: str) -> None:
    told, title = reading.said_of(drawn(kind, language))
    assert told == language
    assert title.strip()


def test_so_it_is_of_a_crossed_copy_and_of_pages_joined() -> None:
    page = drawn("certificate", "es")
    ended = Superseded(number="LMHK41399", day=date(2026, 3, 20))
    crossed = overlay.crossed(page, ended, "es", "es_ES", "Europe/Madrid", demo=False)
    assert reading.said_of(crossed) == reading.said_of(finish.joined([page, page])) == reading.said_of(page)


@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", PAGES)
def test_its_text_comes_out_in_the_order_in_which_it_is_read(kind: str, language: str) -> None:
    assert reading.against_the_order(drawn(kind, language)) == []


@pytest.mark.parametrize("language", REGIONS)
def test_readings_to_reach_come_out_line_by_line_behind_their_labels(language: str) -> None:
    text = reading.words_of(drawn("certificate", language))
    parts = [say(f"certificate.reach.{one}", language) for one in ("limit", "shown")]
    limits, shown = ["74", "68", "57", "5"], ["75.5", "69.0", "58.0", "4.0"]
    for label, numbers in zip(parts, (limits, shown), strict=True):
        after = text[text.index(label) + len(label) :]
        found = [one.replace(",", ".") for one in after.split() if one[0].isdigit()]
        assert found[:4] == numbers


@pytest.mark.parametrize("language", REGIONS)
@pytest.mark.parametrize("kind", PAGES)
def test_each_page_has_its_number_and_the_last_one_the_end(kind: str, language: str) -> None:
    pdf = drawn(kind, language)
    text, pages = reading.words_of(pdf), reading.pages_of(pdf)
    for number in range(1, pages + 1):
        assert say("certificate.page", language, page=number, pages=pages) in text
    assert text.count(say(PAGES[kind][2], language, number="LMHK41352")) == 1
