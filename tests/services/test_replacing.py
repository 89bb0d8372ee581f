"""What is to be replaced and why, with what it cost where that is known."""

from dataclasses import replace

import pytest

from registry import resources
from registry.records.thermometers import Price
from registry.services import fleet, replacing, thermometers
from registry.services.replacing import Replacing, ToReplace
from registry.services.thermometers import PartGiven
from registry.services.words import replacing as words
from tests.services.kitchen import DIAL_C, Kitchen

EUR = Price(amount="24.90", currency="EUR")


def found(kitchen: Kitchen) -> Replacing:
    ranked = fleet.ranking(kitchen.session, limit=None, histories=False)
    return replacing.to_replace(kitchen.session, ranked)


def whys(kitchen: Kitchen) -> dict[str, str]:
    return {one.thermometer: one.why for one in found(kitchen).rows}


def fails(kitchen: Kitchen, thermometer: str) -> str:
    return kitchen.checked(thermometer, "9 C", "9 C", "9 C")


def test_what_failed_is_named_where_no_adjustment_mends_it(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    glass, dial, good = kitchen.enrol(DIAL_C, type="liquid_in_glass"), kitchen.dial(DIAL_C), kitchen.dial(DIAL_C)
    kitchen.checked(good, "0 C")
    assert found(kitchen).rows == ()
    fails(kitchen, glass)
    check = fails(kitchen, dial)
    assert whys(kitchen) == {glass: "failed"}  # the dial has a nut
    kitchen.adjust(check, "nut", "3 C")
    assert whys(kitchen) == {glass: "failed", dial: "not_held"}


def test_taken_out_of_use_it_stays_on_the_list_until_it_is_retired(kitchen: Kitchen) -> None:
    glass, dial, spare = kitchen.enrol(DIAL_C, type="liquid_in_glass"), kitchen.dial(DIAL_C), kitchen.dial(DIAL_C)
    for one, why in ((glass, "outside"), (dial, "damaged"), (spare, "spare")):
        thermometers.take_out(kitchen.session, kitchen.lead, one, why)
    assert whys(kitchen) == {glass: "outside", dial: "damaged"}
    for one in (glass, dial):
        thermometers.set_status(kitchen.session, kitchen.officer, one, "retired", why="worn")
    assert found(kitchen).rows == ()


def test_one_that_can_be_adjusted_is_not_replaced_because_it_was_outside(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    check = fails(kitchen, dial)
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "outside", check)
    assert found(kitchen).rows == ()


def test_one_of_a_model_that_wears_is_named_once_it_was_outside_again_and_again(kitchen: Kitchen) -> None:
    """It goes 0.7 °C a week and is set right each time."""
    dial = kitchen.dial(DIAL_C, whole=PartGiven("Brisa", "B2"))
    for _ in range(2):
        for shown in ("0 C", "0.5 C", "1 C"):
            kitchen.checked(dial, shown)
            kitchen.clock.move(days=7)
        check = kitchen.checked(dial, "2 C", "2 C", "2 C")
        kitchen.adjust(check, "nut", "0 C")
        kitchen.clock.move(days=7)
    assert whys(kitchen) == {}  # on two days so far
    for shown in ("0.5 C", "1 C"):
        kitchen.checked(dial, shown)
        kitchen.clock.move(days=7)
    kitchen.adjust(kitchen.checked(dial, "2 C", "2 C", "2 C"), "nut", "0 C")
    (one,) = found(kitchen).rows
    assert (one.thermometer, one.why, one.times) == (dial, "again", 3)


def test_the_price_of_another_of_its_model_serves_and_is_said_to(kitchen: Kitchen) -> None:
    whole = PartGiven("Brisa", "B2")
    bought = kitchen.enrol(DIAL_C, type="liquid_in_glass", whole=whole, price=EUR)
    like = kitchen.enrol(DIAL_C, type="liquid_in_glass", whole=PartGiven("BRISA", "b2"))
    other = kitchen.enrol(DIAL_C, type="liquid_in_glass", whole=PartGiven("Brisa", "B3"))
    own = kitchen.enrol(DIAL_C, type="liquid_in_glass", price=Price(amount="30", currency="USD"))
    bare = kitchen.enrol(DIAL_C, type="liquid_in_glass")
    for one in (like, other, own, bare):
        fails(kitchen, one)
    rows = {one.thermometer: one for one in found(kitchen).rows}
    assert (rows[like].price, rows[like].like) == (EUR, kitchen.tag(bought))
    assert (rows[own].price, rows[own].like) == (Price(amount="30", currency="USD"), "")
    assert (rows[other].price, rows[bare].price) == (None, None)
    for language, region in (("en", "en_IE"), ("es", "es_ES")):
        said = words.price(rows[like], language, region)
        assert kitchen.tag(bought) in said
        assert said != words.price(replace(rows[like], like=""), language, region)


def test_currencies_are_not_added_and_it_is_said_of_how_many_the_price_is_known() -> None:
    prices = (EUR, Price(amount="5.1", currency="EUR"), Price(amount="30", currency="USD"), None, None)
    rows = tuple(ToReplace(str(n), f"T{n}", "", "oven", "", "", "failed", price=one) for n, one in enumerate(prices))
    those = Replacing(rows)
    assert those.known == 3
    assert those.sums == (Price(amount="30.00", currency="EUR"), Price(amount="30", currency="USD"))
    assert words.sums(those, "en", "en_IE") == "Price known for 3 of 5; sum: €30.00, US$30.00."
    assert (
        words.sums(those, "es", "es_ES")
        == "Precio conocido de 3 de 5; suma: 30,00\N{NO-BREAK SPACE}€, 30,00\N{NO-BREAK SPACE}US$."
    )
    assert words.sums(Replacing(rows[3:]), "en", "en_IE") == "The price is known for none of the 2."


@pytest.mark.parametrize("why", replacing.WHYS)
def test_each_reason_is_one_sentence_in_both_languages(why: str) -> None:
    one = ToReplace("", "T1", "", "oven", "", "", why, times=3)
    for language in resources.languages():
        said = words.why(one, language)
        assert said.endswith(".")
        assert said.count(".") == 1
