"""What we do when one is off on paper: one page, also with every type and the longest names."""

from dataclasses import replace

import pytest

from registry.documents.site_facts import MustRead, WhenOffFacts
from registry.documents.when_off import when_off
from tests.documents import reading, samples
from tests.documents.test_shift_sheet import BOIL_C, BOIL_F, ICE_C, ICE_F
from tests.documents.test_wall_list import PAGE

FACTS = WhenOffFacts(
    page=PAGE,
    as_of="The rules as they stand on March 3, 2026.",
    limits=("A food thermometer marked in °C may be off by at most 1\u00a0°C.", "**Simple acceptance** decides."),
    ice_at="In ice and water",
    boil_at="At the boil: 99.6\u00a0°C or 211.2\u00a0°F, usual at 120\u00a0m",
    must_read=(
        MustRead(types=("bimetal_stem",), ice=(ICE_F,), boil=(BOIL_F,)),
        MustRead(types=("thermistor_probe", "thermocouple_probe"), ice=(ICE_C, ICE_F), boil=(BOIL_C, BOIL_F)),
        MustRead(types=("infrared",), ice=(ICE_C,), boil=()),
    ),
    must_read_note="At the boil the pressure decides.",
    steps=tuple(f"**Step {n}.** " + "What is done then, in so many words that it takes a second line. " * 2
                for n in range(1, 9)),
    told="**Olga Ibarra (OI)**: at once.",
    cautions=("Boiling water and steam scald.", "Never eat the bath's ice."),
)  # fmt: skip


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_all_of_it_stands_on_one_page_and_nothing_over_anything_else(paper: str, language: str) -> None:
    page = replace(PAGE, paper=paper, language=language, owner=samples.LONGEST.page.owner)  # type: ignore[arg-type]
    pdf = when_off(replace(FACTS, page=page))
    text = reading.words_of(pdf)
    assert reading.pages_of(pdf) == 1
    for said in ("Step 8.", "Olga Ibarra (OI)", "Simple acceptance decides.", "211.2 °F", "Never eat"):
        assert said in text
    assert text.endswith("End of the page" if language == "en" else "Fin de la página")
    for boxes in reading.characters(pdf):
        assert reading.overlaps(boxes) == []


def test_what_is_too_much_goes_to_a_second_page_between_parts() -> None:
    rows = FACTS.must_read * 7
    pdf = when_off(replace(FACTS, must_read=rows))
    assert reading.pages_of(pdf) == 2
    assert "Page 2 of 2" in reading.words_of(pdf)


def test_every_font_is_embedded_and_the_same_facts_give_the_same_bytes() -> None:
    pdf = when_off(FACTS)
    assert pdf == when_off(FACTS)
    assert all(embedded for _, embedded in reading.fonts_of(pdf))
