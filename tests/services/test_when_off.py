"""What we do when one is off: from the rules in force, the people and the elevation of a site."""

from datetime import date
from decimal import Decimal

import pytest

from registry.quantity import Length, TemperatureDifference
from registry.services import people, places, rules, when_off
from registry.services.places import NewSite
from tests.documents.reading import pages_of, words_of
from tests.services.kitchen import DIAL_F, ZONE, Kitchen


def said(kitchen: Kitchen, language: str = "en", site: str = "") -> str:
    return words_of(when_off.printed(kitchen.session, site or kitchen.site, language=language))


def test_who_is_told_stands_by_name_and_only_who_is_in_charge_here(kitchen: Kitchen) -> None:
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Mole", "MO", ZONE, Length(Decimal(3), "m")))
    people.add_person(kitchen.session, kitchen.admin, "Nils Ode", "NO", ("officer",), (other,))
    left = people.add_person(kitchen.session, kitchen.admin, "Pia Rask", "PR", ("officer",))
    people.person_left(kitchen.session, kitchen.admin, left, date(2026, 3, 3))
    assert "Olga Ibarra (OI): at once" in said(kitchen)
    assert "Nils Ode" not in said(kitchen)
    assert "Pia Rask" not in said(kitchen)
    assert "Nils Ode (NO) and Olga Ibarra (OI)" in said(kitchen, site=other)
    kitchen_left = said(kitchen, "es")
    assert "Olga Ibarra (OI): enseguida" in kitchen_left


def test_without_an_officer_it_says_so(kitchen: Kitchen) -> None:
    people.person_left(kitchen.session, kitchen.admin, kitchen.officer.person, date(2026, 3, 3))
    assert "Nobody is named as such" in said(kitchen)


def test_the_range_that_passes_is_that_of_this_elevation(kitchen: Kitchen) -> None:
    kitchen.dial(DIAL_F)
    found = said(kitchen)
    assert "30 to 34 °F" in found
    assert "usual at 120 m" in found
    # 120 m, ISO 2533: 998.9 hPa, boiling at 99.60 °C, 211.3 (tests); a dial in steps of 2 °F is read to 1.
    assert "99.6 °C or 211.2 °F" in found
    assert "210 to 213 °F" in found
    high = places.add_site(kitchen.session, kitchen.admin, NewSite("Ridge", "RI", ZONE, Length(Decimal(1600), "m")))
    kitchen.dial(DIAL_F, site=high)
    assert "210 to 213 °F" not in said(kitchen, site=high)


def test_the_limits_of_what_is_here_with_their_source(kitchen: Kitchen) -> None:
    kitchen.dial(DIAL_F)
    found = said(kitchen)
    assert "marked in °F only may be off by at most 2 °F (FDA Food Code" in found
    assert "marked in °C may" not in found
    kitchen.enrol()
    assert "marked in °C may be off by at most 1 °C" in said(kitchen)


def test_the_owners_own_limit_and_types_without_any(kitchen: Kitchen) -> None:
    kitchen.enrol(DIAL_F, type="oven")
    assert "No limit is set for: oven dial" in said(kitchen)
    rules.set_owner_tolerance(
        kitchen.session, kitchen.officer, "F", TemperatureDifference.from_text("10 dF"), date(2026, 3, 3)
    )
    assert "at most 10 °F, the owner’s own limit" in said(kitchen)


@pytest.mark.parametrize("decision", rules.DECISIONS)
@pytest.mark.parametrize("language", ["en", "es"])
def test_how_it_is_decided_and_how_often_it_is_read_again(kitchen: Kitchen, decision: str, language: str) -> None:
    rules.set_decision(kitchen.session, kitchen.officer, decision, date(2026, 3, 3))
    kitchen.dial()
    found = said(kitchen, language)
    wanted = {
        "simple": ("Simple acceptance", "aceptación simple"),
        "guard_band": ("A guard band", "banda de guarda"),
        "four_outcomes": ("Four outcomes", "cuatro resultados"),
    }[decision]
    assert wanted[language == "es"] in found
    assert ("Read it 2 times more", "Léalo 2 veces más")[language == "es"] in found


def test_how_the_types_here_are_adjusted(kitchen: Kitchen) -> None:
    kitchen.dial()
    kitchen.enrol(type="infrared")
    found = said(kitchen)
    assert "By its nut: bimetal stem." in found
    assert "Not at all, so out of use: infrared." in found


def test_what_adjust_takes_for_a_type_the_page_does_not_call_out_of_use(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.enrol(type="fixed_air", tag_id="AIR1")
    found, spanish = said(kitchen), said(kitchen, "es")
    assert "Some can be (reset and trim), see the maker’s instructions; else out of use: thermistor probe." in found
    assert "Some can be (trim), see the maker’s instructions; else out of use: fixed, for air" in found
    assert "Not at all" not in found
    assert "Algunos modelos sí (puesta a cero y corrección)" in spanish
    check = kitchen.checked(one, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "reset", "0 C")  # and it is taken
    kitchen.enrol(adjusts="trim")
    assert "By its trim: thermistor probe." in said(kitchen)
    kitchen.enrol(adjusts="none")
    assert "Not at all, so out of use: thermistor probe." in said(kitchen)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_is_one_page_also_before_a_thermometer_is_enrolled(kitchen: Kitchen, paper: str) -> None:
    page = when_off.printed(kitchen.session, kitchen.site, language="es", paper=paper)  # type: ignore[arg-type]
    assert pages_of(page) == 1
