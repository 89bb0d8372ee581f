"""What thermometers cost: what is taken as a price, and that it comes back as it was typed.

Decimals of a currency: ISO 4217 (JPY none, KWD three), by Babel's list.
"""

from dataclasses import replace

import pytest

from registry import resources
from registry.records.thermometers import Price
from registry.services import prices, thermometers
from registry.services.problems import Refused
from registry.wording import refusals
from tests.services.kitchen import DIGITAL_C, Kitchen


@pytest.mark.parametrize(
    ("typed", "amount", "currency"),
    [
        ("24.90", "24.90", "USD"),
        (" 24,90 eur ", "24.90", "EUR"),
        ("24.9EUR", "24.9", "EUR"),
        ("0", "0", "USD"),
        ("120 JPY", "120", "JPY"),
        ("1.234 KWD", "1.234", "KWD"),
        ("12345678,50", "12345678.50", "USD"),
    ],
)
def test_a_price_is_taken_with_either_decimal_mark(typed: str, amount: str, currency: str) -> None:
    assert prices.read(typed, "USD") == Price(amount=amount, currency=currency)


@pytest.mark.parametrize("typed", ["", "  ", "none", "None"])
def test_no_price(typed: str) -> None:
    assert prices.read(typed, "USD") is None


@pytest.mark.parametrize(
    ("typed", "usual", "code"),
    [
        ("abc", "USD", "not_a_price"),
        ("EUR", "USD", "not_a_price"),
        ("\N{EURO SIGN} 24.90", "USD", "not_a_price"),
        ("1,234.50", "USD", "not_a_price"),
        ("1e3", "USD", "not_a_price"),
        ("NaN", "USD", "not_a_price"),
        ("-3", "USD", "price_negative"),
        ("\N{MINUS SIGN}3 EUR", "USD", "price_negative"),
        ("123456789", "USD", "price_digits"),
        ("120.5 JPY", "USD", "price_digits"),
        ("1.2345 KWD", "USD", "price_digits"),
        ("12 ABC", "USD", "currency_unknown"),
        ("12", "", "currency_unsaid"),
    ],
)
def test_what_is_no_price_is_refused_in_one_sentence(typed: str, usual: str, code: str) -> None:
    with pytest.raises(Refused) as caught:
        prices.read(typed, usual)
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("price", code)
    for language in resources.languages():
        said = refusals.problem(problem.field, problem.code, problem.values, language)
        assert said.endswith(".")
        assert "{" not in said


def test_the_countrys_currency_is_usual() -> None:
    found = {one: prices.usual_currency(one) for one in resources.countries()}
    assert (found["US"], found["ES"], found["MX"], found["JP"], found["ZZ"]) == ("USD", "EUR", "MXN", "JPY", "")
    assert [one for one, currency in found.items() if not currency] == ["ZZ"]


def test_a_price_is_enrolled_amended_and_taken_away(kitchen: Kitchen) -> None:
    price = Price(amount="24.90", currency="EUR")
    one = kitchen.enrol(DIGITAL_C, price=price)
    assert facts(kitchen, one).price == price
    for said in (Price(amount="30", currency="USD"), None):
        changed = replace(facts(kitchen, one), price=said)
        thermometers.amend(kitchen.session, kitchen.officer, one, changed, "mistyped")
        assert facts(kitchen, one).price == said
    assert kitchen.verify().good


@pytest.mark.parametrize(
    ("price", "code"),
    [
        (Price(amount="-1", currency="EUR"), "price_negative"),
        (Price(amount="1.001", currency="EUR"), "not_a_price"),
        (Price(amount="1", currency="eur"), "currency_unknown"),
    ],
)
def test_the_services_refuse_a_wrong_one_themselves(kitchen: Kitchen, price: Price, code: str) -> None:
    with kitchen.refuses(("price", code)):
        kitchen.enrol(DIGITAL_C, price=price)
    one = kitchen.enrol(DIGITAL_C)
    with kitchen.refuses(("price", code)):
        thermometers.amend(kitchen.session, kitchen.officer, one, replace(facts(kitchen, one), price=price), "mistyped")


def facts(kitchen: Kitchen, one: str) -> thermometers.ThermometerSet:
    with kitchen.session.reading() as connection:
        return thermometers.thermometer(connection, one).facts
