"""The certificate in DCC 3.3.0: valid by the published schema, the numbers of the facts, no more said than the page.

The schema is not ours to ship: its folder is named by DCC_XSD_DIR, and what needs it is skipped where that is unset.
"""

import os
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest

from registry.documents.dcc import dcc
from registry.documents.dcc_parts import Exchange, number
from registry.documents.dcc_results import CONFORMITY
from registry.documents.facts import CannotPrint, CertificateFacts, Earlier, Measured, PersonFacts, Superseded
from registry.quantity import Pressure
from registry.wording import say
from tests.documents import samples
from tests.documents.samples import BOIL, COMPARISON, USUAL, at, measured, one_point, with_page
from tests.documents.test_certificate import CASES, FORBIDDEN, GUARDED, SIMPLE, WRITTEN

MORE = Exchange(country="GB", site="Quarry Lane Kitchen", address="14 Quarry Lane, Lindmoor", release="v0.1.0")
SPACES = {"dcc": "https://ptb.de/dcc", "si": "https://ptb.de/si"}
ALL = CASES | {
    "ice only": one_point(measured("0.10 C", reference="0.0 C")),
    "negative": one_point(measured("-18.5 C", reference="-18.0 C", bath=COMPARISON)),
    "three digits": one_point(measured("101.2 C", reference="99.9 C", bath=BOIL, outcome="fail")),
    "other scripts": replace(
        with_page(USUAL, owner="東京 <厨房> & Кухня", site="مطبخ"),
        people=replace(
            samples.PEOPLE, checked_by=PersonFacts(name="Ἀθηνᾶ Ελένη 🌡", initials="ΑΕ", role="lead"), reviewed_by=None
        ),
    ),
    "name erased": replace(
        USUAL, people=replace(samples.PEOPLE, checked_by=PersonFacts(name="", initials="", role="lead"))
    ),
    "entered by another": replace(
        USUAL, people=replace(samples.PEOPLE, keyed_by=PersonFacts(name="Ole Dahl", initials="OD", role="lead"))
    ),
}


@pytest.fixture(scope="module")
def schema() -> Any:
    folder = os.environ.get("DCC_XSD_DIR")
    if not folder:
        pytest.skip("DCC_XSD_DIR is not set: it names the folder with v3.3.0/dcc.xsd, which is not ours to ship")
    import xmlschema

    return xmlschema.XMLSchema(Path(folder) / "v3.3.0" / "dcc.xsd")


def read(facts: CertificateFacts, more: Exchange = MORE) -> Element:
    return ElementTree.fromstring(dcc(facts, more))


def texts(root: Element, path: str) -> list[str]:
    return [one.text or "" for one in root.findall(path, SPACES)]


def only(root: Element, path: str) -> str:
    (one,) = texts(root, path)
    return one


def lists(root: Element) -> list[Element]:
    """As found before adjusting, then the results, point by point."""
    return root.findall(".//dcc:list", SPACES)


def quantity(of: Element, ref_type: str) -> Element:
    found = of.find(f"dcc:quantity[@refType='{ref_type}']", SPACES)
    assert found is not None
    return found


def refusal(facts: CertificateFacts, **more: str) -> CannotPrint:
    with pytest.raises(CannotPrint) as refused:
        dcc(facts, replace(MORE, **more))  # type: ignore[arg-type]
    return refused.value


@pytest.mark.parametrize("name", ALL)
def test_it_is_valid_in_every_language(name: str, schema: Any) -> None:
    for language, region in WRITTEN:
        facts = with_page(ALL[name], language=language, region=region)
        schema.validate(dcc(facts, MORE).decode().partition("\n")[2])


def test_the_schema_does_find_what_is_wrong(schema: Any) -> None:
    text = dcc(USUAL, MORE).decode().partition("\n")[2]
    for old, new in (("<si:value>2.5<", "<si:value>2,5<"), (">GB<", ">GBR<"), (">2.02<", ">0.5<"), (">fail<", ">bad<")):
        assert old in text
        assert not schema.is_valid(text.replace(old, new, 1)), new


@pytest.mark.parametrize("name", ALL)
def test_same_facts_same_bytes_and_no_blanks_around_a_text(name: str) -> None:
    made = dcc(ALL[name], MORE)
    assert made == dcc(ALL[name], MORE)
    root = ElementTree.fromstring(made)
    for one in root.iter():
        if len(one) == 0:
            assert one.text, one.tag
            assert one.text == one.text.strip()


def as_found_and_left(facts: CertificateFacts) -> list[Measured]:
    found = []
    for one in facts.results:
        found.append(one.as_found)
        if one.adjustment and one.adjustment.as_left:
            found.append(one.adjustment.as_left)
    return found


@pytest.mark.parametrize("name", ALL)
def test_the_numbers_are_those_of_the_facts(name: str) -> None:
    """Each worked out here from the facts; 273.15 K is 0 °C by definition."""
    facts = ALL[name]
    found = lists(read(facts))
    expected = as_found_and_left(facts)
    assert len(found) == len(expected)
    half = Fraction(1, 20_000)  # of the fourth decimal
    for of, one in zip(found, expected, strict=True):
        mean = sum(each.celsius() for each in one.readings) / len(one.readings)
        for ref_type, celsius in (("basic_referenceValue", one.reference.celsius()), ("basic_measuredValue", mean)):
            kelvin, degrees = texts(quantity(of, ref_type), "si:hybrid/si:real/si:value")
            units = texts(quantity(of, ref_type), "si:hybrid/si:real/si:unit")
            assert units == ["\\kelvin", "\\degreecelsius"]
            assert Fraction(kelvin) - Fraction(degrees) == Fraction("273.15")
            assert abs(Fraction(degrees) - celsius) <= half
        times = texts(of, ".//si:dateTime")
        assert {datetime.fromisoformat(each).astimezone(UTC).timestamp() for each in times} == {one.at / 1_000_000}
        offset = quantity(of, "basic_measurementError")
        assert only(offset, "si:real/si:unit") == "\\kelvin"
        assert abs(Fraction(only(offset, "si:real/si:value")) - one.exact_offset.to("C").value) <= half
        for element, value in (
            ("valueExpandedMU", one.expanded and Fraction(one.expanded.to("C").value)),
            ("coverageFactor", one.k and Fraction(one.k)),
            ("coverageProbability", one.expanded and Fraction("0.9545")),
        ):
            said = texts(offset, f".//si:{element}")
            assert len(said) == (value is not None)
            assert all(abs(Fraction(each) - Fraction(value or 0)) <= half for each in said)
        assert texts(offset, ".//dcc:conformity") == [CONFORMITY[each] for each in [one.outcome] if each in CONFORMITY]


def test_digits_stay_as_typed_and_numbers_have_a_point() -> None:
    root = read(with_page(ALL["ice only"], language="es", region="es_ES"))
    assert texts(quantity(lists(root)[0], "basic_measuredValue"), ".//si:value") == ["273.25", "0.10"]
    root = read(with_page(ALL["negative"], language="es", region="es_ES"))
    assert texts(quantity(lists(root)[0], "basic_measuredValue"), ".//si:value") == ["254.65", "-18.5"]
    assert only(quantity(lists(root)[0], "basic_measurementError"), "si:real/si:value") == "-0.5"
    assert texts(quantity(lists(read(ALL["three digits"]))[0], "basic_measuredValue"), ".//si:value") == [
        "374.35",
        "101.2",
    ]
    assert [number(Fraction(1, 3)), number(Decimal("-0.00001")), number(Decimal("1E+2"))] == ["0.3333", "0", "100"]


def test_fahrenheit_is_converted_and_said_as_typed() -> None:
    first = lists(read(samples.FAHRENHEIT))[0]
    reading = quantity(first, "basic_measuredValue")
    # (31.2 + 31.1 + 31.2) / 3 °F less 32, times 5/9: -0.4629… °C; 0.24 °F is 0.1333 K
    assert texts(reading, ".//si:value") == ["272.687", "-0.463"]
    assert only(reading, "dcc:description/dcc:content") == "Readings as typed: 31.2, 31.1, 31.2\u00a0°F"
    assert only(first, ".//si:valueExpandedMU") == "0.1333"


def test_as_found_stands_before_the_adjustment_and_as_left_in_the_results() -> None:
    root = read(USUAL)
    condition = ".//dcc:influenceCondition[@refType='basic_adjustment']"
    assert texts(root, f"{condition}/dcc:status") == ["beforeAdjustment"]
    assert texts(root, f"{condition}//dcc:quantity[@refType='basic_measurementError']/si:real/si:value") == ["2.5"]
    assert only(root, ".//dcc:result/dcc:name/dcc:content") == "As left"
    assert texts(root, ".//dcc:result//dcc:quantity[@refType='basic_measurementError']/si:real/si:value") == ["0"]


def test_what_was_not_adjusted_stands_in_the_results_as_found() -> None:
    root = read(samples.FAHRENHEIT)
    assert texts(root, ".//dcc:status") == []
    assert texts(root, ".//dcc:result/dcc:name/dcc:content") == ["As found and as left"] * 2
    # of two points one adjusted: what the other would read afterwards was not looked at
    both = replace(USUAL, results=(*USUAL.results, samples.FAHRENHEIT.results[1]))
    assert texts(read(both), ".//dcc:result/dcc:name/dcc:content") == ["As left", "As found"]


def test_adjusted_and_not_read_again_is_said_and_no_number_stands_for_it() -> None:
    root = read(CASES["far off"])
    assert "as left is not known" in only(root, ".//dcc:result//dcc:text/dcc:content")
    assert len(lists(root)) == 1
    assert "adjust it, or do not use it" in only(
        quantity(lists(root)[0], "basic_measurementError"), "dcc:description/dcc:content"
    )


def test_a_point_read_before_another_check_turned_the_nut_has_no_number_as_left() -> None:
    (first, *rest) = samples.FAHRENHEIT.results
    turned = replace(samples.FAHRENHEIT, results=(replace(first, turned_since=first.as_found.at + 60_000_000), *rest))
    root = read(turned)
    assert texts(root, ".//dcc:influenceCondition[@refType='basic_adjustment']/dcc:status") == ["beforeAdjustment"]
    assert "as left there is not known" in only(root, ".//dcc:result//dcc:text/dcc:content")
    assert texts(root, ".//dcc:result/dcc:name/dcc:content") == ["As left", "As found"]


def test_uncertainty_that_was_not_evaluated_is_left_out_and_said() -> None:
    root = read(CASES["no uncertainty, no serial"])
    assert texts(root, ".//si:measurementUncertaintyUnivariate") == []
    said = [one for one in texts(root, ".//dcc:content") if "Uncertainty was not evaluated" in one]
    assert len(said) == 2


def test_the_pressure_in_the_room_in_pascal() -> None:
    root = read(samples.FAHRENHEIT)
    value = only(root, ".//dcc:influenceCondition//si:value")
    assert (value, only(root, ".//dcc:influenceCondition//si:unit")) == ("89320", "\\pascal")
    assert BOIL.pressure is not None
    inches = replace(BOIL, pressure=replace(BOIL.pressure, station=Pressure.from_text("29.921 inHg")))
    root = read(one_point(measured("99.9 C", reference="99.9 C", bath=inches)))
    # 29.921 inHg of 3386.388640341 Pa each (NIST SP 811): 101 324.1345 Pa
    assert only(root, ".//dcc:influenceCondition//si:value") == "101324.1345"


def test_a_comparison_names_the_certificate_from_outside_and_says_no_more() -> None:
    root = read(CASES["comparison, three digits"])
    equipment = ".//dcc:measuringEquipment/dcc:identifications/dcc:identification"
    assert texts(root, f"{equipment}/dcc:value") == ["LM001R", "K-2025-0417"]
    assert texts(root, f"{equipment}/dcc:name/dcc:content")[1] == "Certificate of Ostvik Metrology, 12\u00a0June 2025"
    house = read(CASES["negative, repeats, house reference, undecided"])
    assert texts(house, f"{equipment}/dcc:value") == ["LM001R", "LM002P"]


def test_no_outcome_is_given_a_better_word_than_it_has() -> None:
    """What cannot be decided has no word in the format, so it has none here but in the sentence."""
    root = read(CASES["negative, repeats, house reference, undecided"])
    assert texts(root, ".//dcc:conformity") == []
    assert only(root, ".//dcc:metaData/dcc:name/dcc:content") == say("outcome.cannot_decide", "en")
    for outcome, word in (("not_accepted", "noPass"), ("conditional_fail", "conditionalFail"), ("fail", "fail")):
        limits = replace(GUARDED, decision="four_outcomes") if "conditional" in outcome else GUARDED
        root = read(one_point(measured("0.9 C", reference="0.0 C", limits=limits, outcome=outcome)))
        assert texts(root, ".//dcc:conformity") == [word]
    root = read(one_point(measured("0.9 C", reference="0.0 C", limits=SIMPLE)))
    assert "Uncertainty is not counted" in only(root, ".//dcc:metaData/dcc:declaration/dcc:content")


@pytest.mark.parametrize("name", ALL)
def test_it_claims_nothing_that_the_page_does_not(name: str) -> None:
    for language, region in WRITTEN[:2]:
        root = read(with_page(ALL[name], language=language, region=region))
        assert texts(root, ".//dcc:traceable") == ["false"]
        said = [*texts(root, ".//dcc:content"), *texts(root, ".//dcc:role")]
        assert [one for one in said if FORBIDDEN.search(one)] == []
        scope = root.find(".//dcc:statement/dcc:declaration/dcc:content", SPACES)
        assert scope is not None
        assert (scope.text or "").startswith(say("certificate.scope", language))
        assert {one.get("lang") for one in root.findall(".//dcc:content", SPACES)} == {language}
        assert texts(root, ".//dcc:usedLangCodeISO639_1") == [language]


def test_whose_where_when_and_by_which_program() -> None:
    root = read(USUAL, replace(MORE, country="ES", address=" Camino Viejo 3, Lugo "))
    core = root.find(".//dcc:coreData", SPACES)
    assert core is not None
    assert only(core, "dcc:uniqueIdentifier") == USUAL.proof.number
    assert texts(core, ".//dcc:identification/dcc:value")[0] == f"sha256:{USUAL.proof.entry_hash}"
    days = [only(core, f"dcc:{one}") for one in ("beginPerformanceDate", "endPerformanceDate", "issueDate")]
    assert days == ["2026-03-10", "2026-03-10", "2026-03-11"]
    assert texts(root, ".//dcc:countryCode") == ["ES", "ES"]
    assert texts(root, ".//dcc:location/dcc:further/dcc:content") == ["Camino Viejo 3, Lugo"] * 2
    assert "not a calibration laboratory" in only(root, ".//dcc:calibrationLaboratory//dcc:name/dcc:content")
    assert only(root, ".//dcc:software/dcc:release") == "v0.1.0"
    people = zip(texts(root, ".//dcc:role"), texts(root, ".//dcc:person/dcc:name/dcc:content"), strict=True)
    assert list(people) == [("Checked by", "Ines Okafor"), ("Reviewed by", "Tomas Brandt")]
    assert texts(root, ".//dcc:item//dcc:identification/dcc:value") == ["0931177", "LM214L"]


def test_days_are_those_of_the_kitchen() -> None:
    late = one_point(measured("0.1 C", reference="0.0 C", at=at(10, 23, 30)))
    assert only(read(late), ".//dcc:beginPerformanceDate") == "2026-03-10"
    assert only(read(with_page(late, zone="Europe/Madrid")), ".//dcc:beginPerformanceDate") == "2026-03-11"


def test_the_recheck_date_is_the_owner_s_own() -> None:
    recheck = ".//dcc:statement[@refType='basic_recalibration']"
    root = read(USUAL)
    assert only(root, f"{recheck}/dcc:date") == "2026-03-17"
    assert "the owner’s own date, not a result of this check" in only(root, f"{recheck}//dcc:content")
    overdue = replace(USUAL, people=replace(samples.PEOPLE, recheck_by=date(2026, 3, 1)))
    assert only(read(overdue), f"{recheck}//dcc:content").startswith("Recheck overdue: since 1\u00a0March 2026")
    none = replace(USUAL, people=replace(samples.PEOPLE, recheck_by=None))
    assert read(none).find(recheck, SPACES) is None


def test_the_demo_says_so_in_names_and_in_a_declaration() -> None:
    root = read(samples.DEMO)
    for path in (".//dcc:item", ".//dcc:calibrationLaboratory/dcc:contact", ".//dcc:customer", ".//dcc:result"):
        assert all(one.startswith("DEMO: ") for one in texts(root, f"{path}/dcc:name/dcc:content")), path
    assert say("certificate.demo_strip", "en") in texts(root, ".//dcc:declaration/dcc:content")
    assert not re.search("DEMO", dcc(USUAL, MORE).decode())


def test_one_that_no_longer_stands_says_so() -> None:
    for kind in ("superseded", "withdrawn", "counts_no_more", "amended", "bath_in_doubt"):
        crossed = kind not in ("amended", "bath_in_doubt")
        mark = f"{say(f'certificate.{kind}', 'en')}: " if crossed else ""
        ended = Superseded(number="LMHK440210", day=date(2026, 4, 14), kind=kind)  # type: ignore[arg-type]
        root = read(with_page(USUAL, superseded=ended))
        assert only(root, ".//dcc:item/dcc:name/dcc:content") == f"{mark}Bimetal stem"
        strip = say(f"certificate.{kind}_strip", "en", number="LMHK440210", day="14\u00a0April 2026")
        assert strip in texts(root, ".//dcc:declaration/dcc:content")


def test_an_outcome_that_counts_no_more_is_given_no_word(schema: Any) -> None:
    facts = one_point(measured("0.1 C", reference="0.0 C", outcome=""))
    assert texts(read(facts), ".//dcc:conformity") == []
    schema.validate(dcc(facts, MORE).decode().partition("\n")[2])


def test_what_it_amends_or_replaces() -> None:
    changed = ".//dcc:reportAmendedSubstituted"
    root = read(CASES["amends"])
    assert (only(root, f"{changed}/dcc:typeOfChange"), only(root, f"{changed}/dcc:replacedUniqueIdentifier")) == (
        "amended",
        "LMHK40009",
    )
    root = read(replace(USUAL, earlier=Earlier(number="LMHK40009", day=date(2026, 3, 1))))
    assert only(root, f"{changed}/dcc:typeOfChange") == "substituted"


def test_what_stood_against_it_and_the_readings_to_reach_are_kept() -> None:
    said = texts(read(CASES["what stood against it"]), ".//dcc:declaration/dcc:content")
    assert any("allowed for cold food only" in one for one in said)
    said = texts(read(CASES["readings to reach"]), ".//dcc:declaration/dcc:content")
    reach = "Cooking, Poultry: food must be at least 74\u00a0°C; it must show at least 75.5\u00a0°C.\n"
    assert any(one.startswith(reach) and "The owner’s opinion" in one for one in said)


def test_whether_it_still_says_what_the_page_says() -> None:
    assert "This file gives programs that read DCC" in dcc(USUAL, MORE).decode()
    assert "the record as it stands now" in dcc(USUAL, replace(MORE, same_as_issued=False)).decode()


def test_a_name_that_was_erased_is_not_made_up() -> None:
    assert texts(read(ALL["name erased"]), ".//dcc:person/dcc:name/dcc:content")[0] == "name erased or not known"


@pytest.mark.parametrize("country", ["", "ZZ", "150", "es"])
def test_without_a_country_it_is_refused(country: str) -> None:
    assert refusal(USUAL, country=country).code == "no_country"


@pytest.mark.parametrize("address", ["", " \n"])
def test_without_an_address_it_is_refused(address: str) -> None:
    refused = refusal(USUAL, address=address)
    assert (refused.code, refused.values) == ("no_address", {"site": "Quarry Lane Kitchen"})


def test_what_no_xml_may_hold_is_refused() -> None:
    refused = refusal(with_page(USUAL, owner="Lind\x0bmoor\ufffe"))
    assert (refused.code, refused.values) == ("missing_characters", {"characters": "U+000B U+FFFE"})
