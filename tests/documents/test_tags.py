"""Tags as a reader that is not ours finds them: what they say, where it stands, codes at printers' resolutions."""

import random
from dataclasses import replace
from datetime import date

import pypdfium2 as pdfium
import pytest
import zxingcpp

from registry.documents.designs import SHEETS, SIZES
from registry.documents.facts import CannotPrint, Cell, IdentityFacts, StatusFacts
from registry.documents.tags import identity_tag, status_tag, tag_sheet
from registry.journal.numbers import entry_number, tag_id_given
from registry.quantity import Reading, TemperatureDifference
from tests.documents import reading, samples
from tests.documents.samples import CELLS, IDENTITY, LIMITED, OUT, USE
from tests.documents.test_certificate import FORBIDDEN

SPANISH = {"language": "es", "region": "es_ES"}
FAHRENHEIT = (
    Cell(use="cook", side="at_least", limit=Reading.from_text("165 F"), shown=Reading.from_text("168.2 F")),
    Cell(use="cold", side="at_most", limit=Reading.from_text("41 F"), shown=Reading.from_text("39.6 F")),
)
IDENTITIES = {
    "usual": IDENTITY,
    "spanish": replace(IDENTITY, language="es", owner="Coop. de Comedores Nuestra Señora de las Encinas"),
    "demo": replace(IDENTITY, demo=True),
    "longest": replace(IDENTITY, tag_id="WMWMWM123456", owner=samples.LONGEST.page.owner, language="es"),
}
STATUSES = {
    "use": USE,
    "limited": LIMITED,
    "out": OUT,
    "check first": replace(OUT, status="check_first", why="", give_to=""),
    "spanish use": replace(USE, **SPANISH),
    "spanish limited": replace(LIMITED, **SPANISH),
    "spanish out": replace(OUT, why="Marca 3,5\u00a0°C de más.", give_to="F. J. Fernández", **SPANISH),
    "demo use": replace(USE, demo=True),
    "demo limited": replace(LIMITED, demo=True),
    "demo out": replace(OUT, demo=True),
    "long id": replace(USE, tag_id="WMWMWM123456", number="LMHK1234567X"),
    "long id limited": replace(LIMITED, tag_id="WMWMWM123456", **SPANISH),
    "long id out": replace(OUT, tag_id="WMWMWM123456", demo=True),
    "no cells": replace(USE, cells=(), outcome="conditional_pass", point="boiling_point", **SPANISH),
    "fahrenheit": replace(USE, cells=FAHRENHEIT, region="en_US", recheck_by=date(2026, 9, 17)),
    "correction": replace(USE, cells=FAHRENHEIT[:1], correction=TemperatureDifference.from_text("-1.4 dF")),
    "no recheck": replace(USE, recheck_by=None),
    "overdue": replace(USE, first="now"),
    "hot first": replace(USE, first="hot", cells=(), outcome="pass", point="ice_point"),
    "spanish hot first": replace(USE, first="hot", cells=(), outcome="pass", point="ice_point", **SPANISH),
    "long name": replace(
        OUT,
        why="Marca 3,5\u00a0°C de más.",
        give_to="Francisco Javier Fernández de Villavicencio Montesinos",
        **SPANISH,
    ),
}


def every_tag(size: str) -> dict[str, bytes]:
    found = {name: identity_tag(facts, size) for name, facts in IDENTITIES.items()}
    return found | {f"status {name}": status_tag(facts, size) for name, facts in STATUSES.items()}


@pytest.mark.parametrize("size", SIZES)
def test_an_identity_tag_says_whose_and_which(size: str) -> None:
    text = reading.words_of(identity_tag(IDENTITY, size))
    for said in ("Thermometer", "LM214L", "Bimetal stem", "Lindmoor Community Kitchens"):
        assert said in text
    assert "Termómetro" in reading.words_of(identity_tag(IDENTITIES["spanish"], size))


@pytest.mark.parametrize("size", ["38.1x21.2", "50x25"])
def test_a_tag_for_use_says_until_when_and_what_it_must_show(size: str) -> None:
    text = reading.words_of(status_tag(USE, size))
    for said in (
        "USE",
        "LM214L",
        "17 Mar 2026",
        "10 Mar",
        "IO",
        "LMHK4127X",
        "cook 74 °C",
        "min 75.5",
        "max 4.0",
    ):
        assert said in text, said
    text = reading.words_of(status_tag(STATUSES["spanish use"], size))
    for said in ("USAR", "vence 17 mar 2026", "10 mar", "coc. 74 °C", "mín 75,5", "frío 5 °C", "máx 4,0"):
        assert said in text, said


def test_the_large_tag_writes_the_side_in_words() -> None:
    text = reading.words_of(status_tag(USE, "63.5x37"))
    for said in ("cook 74 °C 75.5 or more", "hot 57 °C 58.0 or more", "cold 5 °C 4.0 or less"):
        assert said in text, said


@pytest.mark.parametrize("size", SIZES)
def test_a_limited_tag_says_for_what_and_shows_no_other_figure(size: str) -> None:
    text = reading.words_of(status_tag(LIMITED, size))
    for said in ("LIMITED USE", "LM207J", "cold food only", "4.0"):
        assert said in text, said
    assert "74" not in text
    assert "USO LIMITADO" in reading.words_of(status_tag(STATUSES["spanish limited"], size))


@pytest.mark.parametrize("size", SIZES)
def test_a_tag_not_to_be_used_says_why_and_who_gets_it(size: str) -> None:
    text = reading.words_of(status_tag(OUT, size))
    for said in (
        "DO NOT USE LM219B",
        "3.5 °C off, cannot be adjusted.",
        "Give it to Tomas Brandt.",
        "LMHK4129X",
    ):
        assert said in text, said
    text = reading.words_of(status_tag(STATUSES["check first"], size))
    assert "DO NOT USE" in text
    assert "Check first." in text
    assert "NO USAR" in reading.words_of(status_tag(STATUSES["spanish out"], size))


@pytest.mark.parametrize("status", ["lost", "retired"])
def test_lost_and_retired_get_no_tag(status: str) -> None:
    with pytest.raises(CannotPrint) as refused:
        status_tag(replace(USE, status=status))
    assert (refused.value.code, refused.value.values) == ("no_tag", {"status": status})


def test_a_correction_stands_in_its_own_cell() -> None:
    text = reading.words_of(status_tag(STATUSES["correction"]))
    assert "other: add" in text
    assert "−1.4 °F" in text


def test_without_cells_the_tag_names_the_outcome_at_its_point() -> None:
    text = reading.words_of(status_tag(STATUSES["no cells"]))
    assert "Apto con reserva en el punto de ebullición" in text


@pytest.mark.parametrize("size", SIZES)
def test_demo_tags_say_so(size: str) -> None:
    for name, tag in every_tag(size).items():
        demo = "demo" in name or name == "status long id out"
        assert ("DEMO" in reading.words_of(tag)) == demo, name


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("size", SIZES)
def test_nothing_stands_over_something_else_or_near_the_edge(size: str) -> None:
    design = SIZES[size]
    width, height = design.width * reading.MM, design.height * reading.MM
    for name, tag in every_tag(size).items():
        assert reading.size_of(tag) == pytest.approx((design.width, design.height), abs=0.1)
        (page,) = reading.characters(tag)
        assert reading.overlaps(page) == [], name
        for character, (left, bottom, right, top) in page:
            assert left > 1 * reading.MM, (name, character)
            assert right < width - 1 * reading.MM, (name, character)
            assert bottom > 0.3 * reading.MM, (name, character)
            assert top < height - 0.6 * reading.MM, (name, character)


def test_a_long_name_is_left_out_before_the_reason_is() -> None:
    assert "Entregar a Francisco Javier" in reading.words_of(status_tag(STATUSES["long name"], "50x25"))
    small = reading.words_of(status_tag(STATUSES["long name"], "38.1x21.2"))
    assert "Marca 3,5 °C de más." in small
    assert "Entregar" not in small


def test_more_cells_than_fit_are_refused() -> None:
    with pytest.raises(CannotPrint) as refused:
        status_tag(replace(USE, cells=(*CELLS, *CELLS)))
    assert refused.value.code == "too_wide"


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("size", SIZES)
def test_fonts_are_embedded_bytes_are_the_same_and_no_word_claims_too_much(size: str) -> None:
    again = every_tag(size)
    for name, tag in every_tag(size).items():
        fonts = list(reading.fonts_of(tag))
        assert fonts
        assert all(embedded for _, embedded in fonts)
        assert tag == again[name]
        assert FORBIDDEN.search(reading.words_of(tag)) is None, name


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("size", SIZES)
def test_the_code_is_the_id_or_the_number(size: str, dpi: int) -> None:
    for facts in (IDENTITY, IDENTITIES["longest"]):
        assert [code.text for code in reading.codes_of(identity_tag(facts, size, dpi), dpi)] == [facts.tag_id]
    for name in ("use", "limited", "out", "demo out", "long id"):
        facts = STATUSES[name]
        assert [code.text for code in reading.codes_of(status_tag(facts, size, dpi), dpi)] == [facts.number]


def test_a_code_holds_capitals_and_digits_only() -> None:
    with pytest.raises(ValueError, match="capitals"):
        identity_tag(replace(IDENTITY, tag_id="lm-1"))


# Sheets

MANY: list[IdentityFacts | StatusFacts] = [
    replace(IDENTITY, tag_id=tag_id_given("LM", number)) for number in range(1, 31)
]


@pytest.mark.fast_cases(4)
@pytest.mark.parametrize("sheet", SHEETS)
def test_every_code_on_a_sheet_stands_on_its_label(sheet: str) -> None:
    form, start = SHEETS[sheet], 3
    pdf = tag_sheet(MANY, sheet, start=start, dpi=300, batch="Start of shift")
    labels = form.columns * form.rows
    assert reading.pages_of(pdf) == -(-(len(MANY) + start - 1) // labels)
    seen = []
    for number, page in enumerate(pdfium.PdfDocument(pdf)):
        picture = page.render(scale=300 / 72, grayscale=True).to_pil()
        for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
            x, y = code.position.top_left.x / 300 * 25.4, code.position.top_left.y / 300 * 25.4
            column, row = int((x - form.left) // form.pitch_x), int((y - form.top) // form.pitch_y)
            assert x - form.left - column * form.pitch_x < form.width
            assert 0 <= column < form.columns
            assert 0 <= row < form.rows
            seen.append((number * labels + row * form.columns + column, code.text))
    assert sorted(seen) == [(place, tag.tag_id) for place, tag in enumerate(MANY, start - 1)]


def test_the_narrow_label_takes_identity_tags_alone() -> None:
    """12.7 mm are too low for what a status tag must say; an identity tag has a design for it."""
    with pytest.raises(CannotPrint) as refused:
        tag_sheet([USE], "letter_44.4x12.7")
    assert refused.value.code == "status_needs_more"
    for name, facts in IDENTITIES.items():
        text = reading.words_of(tag_sheet([facts], "letter_44.4x12.7"))
        assert facts.tag_id in text, name
        assert ("DEMO" in text) == facts.demo


@pytest.mark.parametrize("size", ["24x12.7", "30x8.9"])
def test_a_roll_that_is_too_small_is_refused(size: str) -> None:
    with pytest.raises(CannotPrint) as refused:
        identity_tag(IDENTITY, size)
    assert refused.value.code in ("label_too_small", "unknown_stock")


@pytest.mark.parametrize("start", [0, 22])
def test_a_sheet_starts_at_a_label_that_it_has(start: int) -> None:
    with pytest.raises(ValueError, match="1 to 21"):
        tag_sheet([USE], "a4_63.5x38.1", start=start)


def test_a_sheet_lies_within_its_paper() -> None:
    papers = {"a4": (210, 297), "letter": (215.9, 279.4)}
    for name, form in SHEETS.items():
        width, height = papers[form.paper]
        assert form.left + (form.columns - 1) * form.pitch_x + form.width <= width + 0.01, name
        assert form.top + (form.rows - 1) * form.pitch_y + form.height <= height + 0.01, name


@pytest.mark.slow
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_200_codes_are_read_back(dpi: int) -> None:
    chosen = random.Random(f"codes {dpi}")
    for _ in range(200):
        letters = "".join(chosen.choices("ABCDEFGHJKLMNPQRSTUVWXYZ", k=4))
        identity = replace(IDENTITY, tag_id=tag_id_given(letters[:2], chosen.randrange(10**6)))
        number = entry_number(letters, chosen.randrange(10**7))
        size = chosen.choice(list(SIZES))
        assert [code.text for code in reading.codes_of(identity_tag(identity, size, dpi), dpi)] == [identity.tag_id]
        status = replace(USE, number=number)
        assert [code.text for code in reading.codes_of(status_tag(status, size, dpi), dpi)] == [number]


@pytest.mark.parametrize("size", SIZES)
def test_a_recheck_day_that_has_passed_is_not_printed_as_the_next_one(size: str) -> None:
    text = reading.words_of(status_tag(replace(USE, first="now"), size))
    assert "recheck now" in text
    assert "recheck by" not in text
    assert "due" not in text.split()
