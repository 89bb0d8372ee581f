"""The page of an answer: what fits, where it breaks, what is refused."""

from typing import Any

import pytest

from registry.documents.answer_sheet import AnswerFacts, PointFacts, SideFacts, answer_sheet
from registry.documents.facts import CannotPrint, PageFacts
from tests.documents import reading

HEADS = ("when", "bath", "showed")
SIDE = SideFacts(
    {"when": "3 March 2026, 06:44", "bath": "Crushed ice, packed to the bottom, drained and stirred (KQBH12345678X)",
     "showed": "325.25; 325.25; 325.25\u00a0°F"}
)  # fmt: skip


def facts(*points: PointFacts, paper: Any = "a4", title: str = "Was thermometer TM014K right?") -> AnswerFacts:
    named: Any = {"language": "en", "region": "en_GB", "zone": "UTC", "owner": "Tidemill", "site": "Quay"}
    page = PageFacts(**named, paper=paper)
    return AnswerFacts(page, title, "Dial", "Yes.", "What it is.", points, "None at all.", HEADS, ("Made.",))


def point(said: str, before: SideFacts = SIDE, after: SideFacts = SIDE) -> PointFacts:
    return PointFacts(said, "In between: dropped.", before, after)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_all_that_it_is_handed_is_on_it_and_nothing_over_anything_else(paper: str) -> None:
    pdf = answer_sheet(facts(point("Ice point: right."), point("Boiling point: not known."), paper=paper))
    text = reading.words_of(pdf)
    for said in ("Was thermometer TM014K right?", "Yes.", "Ice point: right.", "Boiling point: not known.", "Made."):
        assert said in text
    assert text.count("KQBH12345678X") == 4
    assert reading.pages_of(pdf) == 1
    for boxes in reading.characters(pdf):
        assert reading.overlaps(boxes) == []


def test_a_side_without_a_check_says_so_once() -> None:
    absent = SideFacts({}, "none that counts")
    text = reading.words_of(answer_sheet(facts(point("Ice point.", before=absent))))
    assert text.count("none that counts") == 1
    text = reading.words_of(answer_sheet(facts(point("Ice point.", absent, SideFacts({}, "none yet")))))
    assert (text.count("none that counts"), text.count("none yet")) == (1, 1)


def test_it_breaks_between_points_and_numbers_its_pages() -> None:
    pdf = answer_sheet(facts(*(point(f"Point {n}.") for n in range(9))))
    text = reading.words_of(pdf)
    pages = reading.pages_of(pdf)
    assert pages > 1
    assert f"Page {pages} of {pages}" in text
    assert text.count("Was thermometer TM014K right?") == pages
    assert text.endswith("End of the answer")


def test_without_a_check_it_says_that() -> None:
    assert "None at all." in reading.words_of(answer_sheet(facts()))


def test_what_no_font_has_is_refused() -> None:
    with pytest.raises(CannotPrint) as refused:
        answer_sheet(facts(title="\N{SNOWMAN}"))
    assert refused.value.code == "missing_characters"


def test_every_font_is_embedded_and_the_same_facts_give_the_same_bytes() -> None:
    pdf = answer_sheet(facts(point("Ice point.")))
    assert pdf == answer_sheet(facts(point("Ice point.")))
    fonts = list(reading.fonts_of(pdf))
    assert fonts
    assert all(embedded for _, embedded in fonts)
