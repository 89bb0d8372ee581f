"""Certificates as a reader that is not ours finds them: text, fonts, codes, the attached record."""

import re
import subprocess
import sys
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

from registry import resources
from registry.documents import sentences
from registry.documents.certificate import certificate
from registry.documents.facts import (
    Adjustment,
    CannotPrint,
    CertificateFacts,
    Earlier,
    OutsidePoint,
    PointResult,
    ReferenceFacts,
    StandingFacts,
    Superseded,
)
from registry.documents.words import Words
from registry.journal.entry import text_hash
from registry.journal.receipt import read_receipt
from registry.quantity import Reading
from registry.store.state import CLASSES
from registry.wording import say
from tests.documents import reading, samples
from tests.documents.samples import (
    BOIL,
    CHAIN,
    COMPARISON,
    LIMIT_C,
    USUAL,
    at,
    difference,
    measured,
    one_point,
)

# Whole words, any case: what an in-house check may not be called, in each language with its endings.
FORBIDDEN = re.compile(
    r"\b(accredited|certified|traceable|compliant|guaranteed|safe"
    r"|acreditad[oa]s?|certificad[oa]s?|trazables?|conformes?|garantizad[oa]s?|segur[oa]s?|inocu[oa]s?)\b",
    re.IGNORECASE,
)
NOT_MEASURED = Adjustment(how="reset", at=at(10, 6, 42))
GUARDED = replace(LIMIT_C, decision="guard_band")
SIMPLE = replace(LIMIT_C, decision="simple")
CASES: dict[str, CertificateFacts] = {
    "usual": USUAL,
    "spanish": samples.SPANISH,
    "longest": samples.LONGEST,
    "demo": samples.DEMO,
    "fahrenheit, two points": samples.FAHRENHEIT,
    "readings to reach": replace(USUAL, reach=samples.REACH),
    "what stood against it": replace(
        USUAL,
        standing=StandingFacts(
            status="limited_use",
            only="cold",
            outside=(
                OutsidePoint(point="boiling_point", outcome="fail", day=date(2026, 3, 2)),
                OutsidePoint(point="comparison_hot", outcome="conditional_fail", day=date(2026, 3, 3)),
            ),
        ),
    ),
    "negative, repeats, house reference, undecided": one_point(
        measured(
            "-118.5 C",
            "-118.4 C",
            "-118.6 C",
            reference="-117.2 C",
            bath=replace(COMPARISON, references=(ReferenceFacts(tag_id="LM001R"), ReferenceFacts(tag_id="LM002P"))),
            limits=GUARDED,
            outcome="cannot_decide",
            expanded=difference("1.2 dC"),
        ),
        would_decide=("repeats", "ice_point"),
    ),
    "dual, not measured": one_point(
        measured("33.9 F", reference="32.0 F", limits=replace(SIMPLE, scale="dual"), outcome="fail"),
        NOT_MEASURED,
    ),
    "no uncertainty, no serial": one_point(
        measured("0 C", reference="0.0 C", limits=SIMPLE, expanded=None, k=None),
        thermometer=replace(samples.THERMOMETER, serial=""),
        components=(),
    ),
    "boiling, not accepted": one_point(
        measured("98.9 C", reference="99.6 C", bath=BOIL, limits=GUARDED, outcome="not_accepted")
    ),
    "comparison, three digits": one_point(
        measured(
            "212.4 F",
            reference="212.0 F",
            bath=COMPARISON,
            limits=samples.LIMIT_F,
            expanded=difference("0.4 dF"),
        )
    ),
    "far off": one_point(measured("47.0 C", reference="0.0 C", limits=SIMPLE, outcome="fail"), NOT_MEASURED),
    "superseded": samples.with_page(USUAL, superseded=Superseded(number="LMHK440210", day=date(2026, 4, 14))),
    "withdrawn": samples.with_page(
        USUAL, superseded=Superseded(number="LMHK440210", day=date(2026, 4, 14), kind="withdrawn")
    ),
    "history, logo, readings to reach": replace(
        samples.with_page(USUAL, logo=samples.LOGO), history=samples.HISTORY, reach=samples.REACH
    ),
    "history, longest names, logo": replace(
        samples.with_page(samples.LONGEST, logo=samples.LOGO), history=samples.HISTORY, reach=samples.REACH
    ),
    "history, two points, °F": replace(
        samples.FAHRENHEIT,
        history=replace(
            samples.HISTORY,
            past=tuple(
                replace(
                    one,
                    reference=Reading.from_celsius(one.reference.celsius(), "F"),
                    offset=one.offset.to("F").rounded(2),
                    expanded=None,
                )
                for one in samples.HISTORY.past
            ),
        ),
    ),
    "40 readings": one_point(
        measured(
            *[f"{-18 + number % 7 * Decimal('0.1')} C" for number in range(40)], reference="-17.9 C", bath=COMPARISON
        )
    ),
    "amends": replace(USUAL, earlier=Earlier(number="LMHK40009", day=date(2026, 3, 1), what="the day was wrong")),
    "two points, all adjusted": replace(
        samples.LONGEST,
        reach=samples.REACH,
        results=(
            *USUAL.results,
            PointResult(
                point="boiling_point",
                check_number="LMHK41338",
                as_found=measured("98.5 C", reference="99.9 C", bath=BOIL, outcome="fail", chance=0.5),
                adjustment=Adjustment(
                    how="trim",
                    at=at(10, 7, 0),
                    as_left=measured("99.5 C", reference="99.9 C", bath=BOIL, k=Decimal("2.05"), chance=0.97),
                ),
            ),
        ),
    ),
}
WRITTEN = [("en", "en_GB"), ("es", "es_ES"), ("en", "en_US")]


def every_way(facts: CertificateFacts) -> list[CertificateFacts]:
    return [
        samples.with_page(facts, language=language, region=region, paper=paper)
        for language, region in WRITTEN
        for paper in ("a4", "letter")
    ]


@cache
def printed(name: str) -> tuple[bytes, ...]:
    """A case in both languages and on both papers."""
    return tuple(certificate(each) for each in every_way(CASES[name]))


def test_the_text_says_the_facts() -> None:
    text = reading.words_of(certificate(USUAL))
    for said in (
        "Lindmoor Community Kitchens",
        "Quarry Lane Kitchen, 14 Quarry Lane, Lindmoor",
        "No. LMHK41352",
        "Page 1 of 1",
        "Certificate of in-house thermometer check",
        "It is not a laboratory’s calibration certificate and makes no claim of conformity with ISO/IEC 17025.",
        "The results hold for this thermometer, at the points shown, on the date shown.",
        "LM214L",
        "Bimetal stem",
        "offset +2.5 °C at the ice point",
        "offset 0.0 °C at the ice point",
        "Reading Reference Offset Correction U Chance",
        "2.5 0.0 +2.5 – 0.45 <0.1 %",
        "0.0 0.0 0.0 0.0 0.45 >99.9 %",
        "10 March 2026, 06:38",
        "10 March 2026, 06:47",
        "Varnholt, model BS 125",
        "0931177",
        "−10 to 110 °C, in steps of 1 °C",
        "4 November 2024",
        "Ice point, 0.0 °C, the same at every elevation. Crushed ice, packed to the bottom, drained and "
        "stirred; standard uncertainty of the bath 0.058 °C. Bath LMHK4096H was shared with 5 other thermometers.",
        "In-house method ICE, edition 3: stem 60 mm deep",
        "Adjusted by the nut under the dial, 10 March 2026, 06:42.",
        "±1 °C, for a food thermometer marked in °C (owner’s rule LMHK01002, in force since 2 September 2025, "
        "after FDA Food Code 2022, 4-203.11(A)).",
        "the limit less U, here 0.55 °C; the chance that a pass is wrong is then at most 2.5 %.",
        "U is the expanded uncertainty: k = 2.02 times the standard uncertainty, for a coverage of 95.45 %. "
        "It counts the bath, the scale as read, repeatability and heat along the stem.",
        "Ines Okafor (IO), kitchen lead",
        "Tomas Brandt (TB), safety officer",
        "10 March 2026, 06:39 and 06:48, UTC+0",
        "11 March 2026, 09:21, UTC+0",
        "17 March 2026: the owner’s own date, not a result of this check.",
        "check LMHK4127X",
        "Copy only as a whole.",
        "End of certificate LMHK41352",
    ):
        assert said in text, said
    assert USUAL.proof.entry_hash in text.replace(" ", "")
    assert USUAL.proof.key_fingerprint in text.replace(" ", "")


def test_spanish_writes_commas_and_days_in_figures() -> None:
    text = reading.words_of(certificate(samples.SPANISH))
    for said in (
        "Constancia de comprobación interna de termómetro",
        "No apto",
        "desviación +2,5 °C en el punto de hielo",
        "2,5 0,0 +2,5 – 0,45 <0,1 %",
        "Punto de hielo, 0,0 °C, igual a cualquier altitud.",
        "10-03-2026, 7:38",
        "antes del 17-03-2026: fecha del propietario, no un resultado.",
        "Fin de la constancia LMHK41352",
    ):
        assert said in text, said


def test_fahrenheit_is_judged_and_celsius_beside_it_for_information() -> None:
    text = reading.words_of(certificate(samples.FAHRENHEIT))
    for said in (
        "°F 31.17 32.0 −0.83 +0.83 0.24 >99.9 %",
        "°C −0.46 0.00 −0.46 +0.46 0.13",
        "Readings as typed: 31.2, 31.1, 31.2 °F",
        "Judged in °F; °C is converted for information.",
        "It cannot be adjusted: as left is as found.",
        "Boiling point, 205.7 °F (96.5 °C), by IAPWS-IF97 from a station pressure of 893.2 hPa, read from this "
        "room’s barometer SB002Y at 9:20 AM. The site stands at 1 048 m, where 893.5 hPa is usual.",
        "Conditional pass",
        "March 10, 2026",
    ):
        assert said in text, said


def test_what_was_read_in_fahrenheit_and_judged_in_celsius() -> None:
    """1.9 °F is 1.0556 °C: outside ±1 °C, and the page shows why."""
    text = reading.words_of(certificate(CASES["dual, not measured"]))
    assert "33.9 32.0 +1.9 –" in text
    assert "1.06 0.00 +1.06 –" in text
    assert "Read in °F, judged in °C: the offset is converted exactly." in text
    assert "Not measured" in text
    assert "It was not read again after that, so as left is not known." in text


def test_without_uncertainty_the_page_says_so() -> None:
    text = reading.words_of(certificate(CASES["no uncertainty, no serial"]))
    assert "Uncertainty was not evaluated for this check." in text
    assert "Serial no. none recorded" in text
    assert "Reading Reference Offset Correction As found" in text
    assert "Offset, limits ±1 °C" in text
    assert " 0 0.0 0.0 0.0 " in text  # the reading as typed, without a decimal


def test_a_check_that_cannot_decide_says_what_would() -> None:
    text = reading.words_of(certificate(CASES["negative, repeats, house reference, undecided"]))
    assert "This check cannot decide: U is wider than the limit. What would: repeat readings and the ice point." in text
    assert "House reference: LM001R and LM002P" in text
    assert "−118.50 −117.2 −1.30 +1.30 1.2" in text
    assert "Readings as typed: −118.5, −118.4, −118.6 °C" in text


def test_with_readings_to_reach_of_one_point_it_is_one_page_of_a4_in_both_languages() -> None:
    reach = replace(samples.REACH, only_at=Reading.from_text("0 C"), share=Decimal("0.5"))
    for facts in (samples.USUAL, samples.SPANISH):
        page = replace(facts.page, paper="a4")
        assert reading.pages_of(certificate(replace(facts, reach=reach, page=page))) == 1


def test_readings_to_reach_stand_there_only_when_handed_in() -> None:
    assert say("certificate.section.reach", "en") not in reading.words_of(certificate(USUAL))
    text = reading.words_of(certificate(CASES["readings to reach"]))
    assert "Food must be 74 °C" in text
    assert "It must show 75.5 °C" in text
    assert "Local rules come first." in text


def test_a_usual_check_is_one_page_and_two_points_go_on_between_sections() -> None:
    for name in ("usual", "spanish", "longest", "readings to reach", "dual, not measured"):
        assert [reading.pages_of(each) for each in printed(name) if reading.size_of(each)[1] > 290] == [
            1,
            1,
            1,
        ], name
    two = certificate(CASES["two points, all adjusted"])
    text = reading.words_of(two)
    assert reading.pages_of(two) == 2
    for said in (
        "Página 1 de 2",
        "Sigue en la página 2",
        "Página 2 de 2",
        "termómetro, termómetro BG158XABCDEF",
    ):
        assert said in text, said
    assert text.count("Fin de la constancia") == 1


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_paper(paper: str, size: tuple[float, float]) -> None:
    assert reading.size_of(certificate(samples.with_page(USUAL, paper=paper))) == pytest.approx(size, abs=0.1)


@pytest.mark.fast_cases(6)
@pytest.mark.parametrize("name", sorted({*CASES} - {"demo", "superseded", "withdrawn"}))  # those are crossed on purpose
def test_nothing_stands_outside_the_margins_or_over_something_else(name: str) -> None:
    for pdf in printed(name):
        width, height = (each * reading.MM for each in reading.size_of(pdf))
        for page in reading.characters(pdf):
            left = min(box[0] for _, box in page)
            right = max(box[2] for _, box in page)
            assert left > 19.5 * reading.MM
            assert right < width - 14.5 * reading.MM
            assert min(box[1] for _, box in page) > 9.5 * reading.MM
            assert max(box[3] for _, box in page) < height - 9.5 * reading.MM
            assert reading.overlaps(page) == []


@pytest.mark.fast_cases(7)
@pytest.mark.parametrize("name", CASES)
def test_no_page_claims_what_was_not_earned(name: str) -> None:
    for pdf in printed(name):
        assert FORBIDDEN.search(reading.words_of(pdf)) is None


@pytest.mark.fast_cases(6)
@pytest.mark.parametrize("name", CASES)
def test_only_embedded_fonts(name: str) -> None:
    for pdf in printed(name):
        fonts = list(reading.fonts_of(pdf))
        assert fonts
        assert all(embedded for _, embedded in fonts)
        assert not any("Helvetica" in font for font, _ in fonts)


def test_same_facts_same_bytes_also_in_another_process(tmp_path: Path) -> None:
    script = (
        "import sys; from tests.documents import samples; from registry.documents.certificate import certificate;"
        "certificate(samples.SPANISH); open(sys.argv[1], 'wb').write(certificate(samples.FAHRENHEIT))"
    )
    root = Path(__file__).resolve().parents[2]
    subprocess.run([sys.executable, "-c", script, str(tmp_path / "one.pdf")], cwd=root, check=True)
    assert certificate(samples.FAHRENHEIT) == (tmp_path / "one.pdf").read_bytes()
    assert certificate(samples.FAHRENHEIT) != certificate(samples.USUAL)


def test_language_title_number_and_date_are_in_the_file() -> None:
    with pikepdf.open(BytesIO(certificate(samples.SPANISH))) as document:
        assert str(document.Root.Lang) == "es"
        assert str(document.docinfo["/Title"]) == say("certificate.title", "es")
        assert str(document.docinfo["/Subject"]) == "LMHK41352"
        assert str(document.docinfo["/CreationDate"]) == "D:20260311092100Z"


def test_the_record_is_attached_in_the_bytes_that_were_hashed() -> None:
    with pikepdf.open(BytesIO(certificate(USUAL))) as document:
        attached = document.attachments["record.json"]
        assert str(attached.obj.AFRelationship) == "/Data"
        record = attached.get_file().read_bytes()
    first, second = record.removeprefix(b"[").removesuffix(b"]\n").split(b",\n")
    assert (first, second) == USUAL.proof.entries
    assert text_hash(first).hex() == USUAL.proof.entry_hash


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("name", ["usual", "demo", "fahrenheit, two points"])
def test_the_square_code_is_the_receipt(name: str, dpi: int) -> None:
    (code,) = reading.codes_of(printed(name)[0], dpi)
    receipt = read_receipt(code.text)
    assert receipt.holds(CHAIN)
    assert receipt.hash.hex() == USUAL.proof.entry_hash


@pytest.mark.parametrize(("language", "region"), WRITTEN[:2])
def test_demo_and_superseded_are_marked_on_every_page(language: str, region: str) -> None:
    for more in ({"demo": True}, {"superseded": Superseded(number="LMHK440210", day=date(2026, 4, 14))}):
        facts = samples.with_page(CASES["two points, all adjusted"], language=language, region=region, **more)
        pdf = certificate(facts)
        kind = "demo" if "demo" in more else "superseded"
        day = "14 April 2026" if region == "en_GB" else "14-04-2026"
        strip = say(f"certificate.{kind}_strip", language, number="LMHK440210", day=day)
        assert reading.pages_of(pdf) == 2
        assert reading.words_of(pdf).count(strip) == 2
        # The outlines and the strip.
        assert reading.words_of(pdf).count(say(f"certificate.{kind}", language)) == 4
        assert strip not in reading.words_of(certificate(samples.FAHRENHEIT))


@pytest.mark.parametrize("decision", ["simple", "guard_band", "four_outcomes"])
@pytest.mark.parametrize("outcome", ["pass", "conditional_pass", "conditional_fail", "fail", "not_accepted"])
def test_every_outcome_has_its_sign_and_word(decision: str, outcome: str) -> None:
    facts = one_point(measured("0.9 C", reference="0.0 C", limits=replace(LIMIT_C, decision=decision), outcome=outcome))
    assert f" {say(f'outcome.{outcome}', 'en')} offset +0.9 °C" in reading.words_of(certificate(facts))


def test_earlier_offsets_of_two_points_stand_with_the_result_and_how_it_is_known_goes_to_page_2() -> None:
    text = reading.words_of(certificate(CASES["history, two points, °F"]))
    first = text.index("Continued on page 2")
    for said in ("Offsets so far", "Along the scale"):
        assert text.index(said) < first, said
    assert text.index("Page 2 of 2") < text.index("Uncertainty")


def test_of_one_point_a_single_page_comes_before_the_plot_of_its_past() -> None:
    """A usual check is one page: the plot stands where it fits, low where need be, else it is left out."""
    without = certificate(replace(USUAL, reach=samples.REACH))
    assert reading.pages_of(without) == 1
    full = certificate(replace(USUAL, history=samples.HISTORY, reach=samples.REACH))
    assert reading.pages_of(full) == 1
    assert "Offsets so far" not in reading.words_of(full)
    bare = replace(USUAL, history=samples.HISTORY, components=(), people=replace(USUAL.people, reviewed_by=None))
    fits = certificate(samples.with_page(bare, paper="a4"))
    assert (reading.pages_of(fits), "Offsets so far" in reading.words_of(fits)) == (1, True)


def test_the_logo_is_a_picture_on_the_first_page_alone() -> None:
    two_pages = samples.with_page(CASES["history, two points, °F"], logo=samples.LOGO)
    with pikepdf.open(BytesIO(certificate(two_pages))) as document:
        assert [len(page.get_images()) for page in document.pages] == [1, 0]
        (image,) = document.pages[0].get_images().values()
        assert (int(image.Width), int(image.Height)) == (200, 60)


def test_a_very_long_strip_becomes_two() -> None:
    ended = Superseded(number="LMHK440210", day=date(2026, 9, 24), kind="withdrawn")
    facts = samples.with_page(USUAL, demo=True, superseded=ended, language="es", region="es_US", paper="a4")
    text = reading.words_of(certificate(facts))
    assert "DATOS DE DEMOSTRACIÓN: no es una comprobación real RETIRADA el 24 de septiembre de 2026" in text


def test_an_unknown_outcome_is_refused() -> None:
    with pytest.raises((KeyError, ValueError)):
        certificate(one_point(measured("0.9 C", reference="0.0 C", outcome="passed")))


@pytest.mark.parametrize(
    "source",
    ["household_absolute", "household_sea_level", "altimeter_setting", "weather_report", "elevation"],
)
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_source_of_pressure_is_worded(source: str, language: str) -> None:
    pressure = BOIL.pressure
    assert pressure is not None
    bath = replace(BOIL, pressure=replace(pressure, source=source, stated=pressure.usual, place="Juniper Field"))
    facts = samples.with_page(one_point(measured("96.4 C", reference="96.5 C", bath=bath)), language=language)
    text = reading.words_of(certificate(facts))
    assert "893.2 hPa" in text
    assert ("Juniper Field" in text) == (source == "altimeter_setting")


def test_a_sentence_that_ends_in_an_abbreviation_has_one_full_stop() -> None:
    facts = samples.with_page(samples.FAHRENHEIT, language="es", region="es_US")
    assert "SB002Y a las 9:20 a.m. El centro" in reading.words_of(certificate(facts))


def test_a_name_in_another_script_is_printed_and_one_that_no_font_has_is_refused() -> None:
    greek = samples.with_page(USUAL, owner="Ταβέρνα Ωκεανός, Кухня №5")
    assert "Ταβέρνα Ωκεανός, Кухня №5" in reading.words_of(certificate(greek))
    with pytest.raises(CannotPrint) as refused:
        certificate(samples.with_page(USUAL, owner="厨房 Kitchen"))
    assert refused.value.code == "missing_characters"
    assert refused.value.values == {"characters": "厨 房"}


def test_a_bold_name_in_another_script_is_drawn_with_an_outline() -> None:
    with pikepdf.open(BytesIO(certificate(samples.with_page(USUAL, owner="Кухня", site="Кухня")))) as document:
        modes = [
            int(operands[0])
            for operands, operator in pikepdf.parse_content_stream(document.pages[0])
            if str(operator) == "Tr"
        ]
    assert modes == [2, 0]  # the owner's, which is bold, and not the place's


def test_stars_in_a_name_do_not_set_the_rest_bold() -> None:
    text = reading.words_of(certificate(samples.with_page(USUAL, owner="The ** Grill")))
    assert "The * * Grill" in text


def test_every_status_and_point_that_can_stand_against_it_has_its_sentence() -> None:
    statuses = [("limited_use", "hot"), ("limited_use", "cold"), ("check_first", "cold")]
    statuses += [(one, "") for one in ("", "check_first", "limited_use", "out_of_use", "lost", "retired")]
    outside = tuple(OutsidePoint(point=one, outcome="fail", day=date(2026, 3, 2)) for one in CLASSES)
    for language in resources.languages():
        words = Words(language, "en_GB" if language == "en" else "es_ES", "UTC")
        for status, only in statuses:
            standing = StandingFacts(status=status, only=only, outside=outside)
            assert len(sentences.standing(replace(USUAL, standing=standing), words)) > 100


def test_facts_that_contradict_each_other_are_refused() -> None:
    right = measured("2.5 C", reference="0.0 C")
    with pytest.raises(ValueError, match="offset is not that"):
        replace(right, offset=difference("2.4 dC"))
    with pytest.raises(ValueError, match="unit of the limit"):
        replace(right, offset=difference("4.5 dF"))
    with pytest.raises(ValueError, match="no difference"):
        replace(right, reference=samples.Reading.from_text("32.0 F"))
    with pytest.raises(ValueError, match="together"):
        replace(right, k=None)
    with pytest.raises(ValueError, match="pressure"):
        replace(BOIL, pressure=None)


def test_no_sentence_of_certificates_is_kept_for_nothing() -> None:
    """Each code stands in the source, or begins as one that is put together there ends."""
    folder = Path(__file__).resolve().parents[2] / "registry" / "documents"
    source = "\n".join(file.read_text(encoding="utf-8") for file in folder.glob("*.py"))
    codes = {code.removesuffix(".one").removesuffix(".other") for code in resources.texts("en")}
    built = re.compile(
        r"(band\.(unchanged|found|left|offset)|results\.(as_|never_|not_)|source|would|part|adjusted_|tag\.only_|limits|standing|change|why\.|history|(superseded|withdrawn|amended|counts_no_more|bath_in_doubt))"
    )
    for code in sorted(each for each in codes if each.startswith(("certificate.", "tag."))):
        assert built.search(code) or re.search(rf"\b{code.rsplit('.', 1)[1]}\b", source), code
