"""What is to be replaced and why, with what it cost where that is known."""

from dataclasses import replace

import pytest

from registry import resources
from registry.records.thermometers import Price
from registry.services import fleet, incidents, mend, replacing, thermometers
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


def test_what_a_slip_or_a_bath_that_nobody_judged_says_is_no_reason(kitchen: Kitchen) -> None:
    """They have to be checked, and that may be all."""
    mistyped, waits = kitchen.enrol(DIAL_C, type="liquid_in_glass"), kitchen.enrol(DIAL_C, type="liquid_in_glass")
    fails(kitchen, mistyped)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    kitchen.key(kitchen.ice(), waits, "9 C", "9 C", "9 C")
    assert {kitchen.row(one).failed_at is not None for one in (mistyped, waits)} == {True}
    assert found(kitchen).rows == ()


def test_what_did_not_hold_once_and_was_good_since_has_the_nut_before_it(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    kitchen.adjust(fails(kitchen, dial), "nut", "3 C")
    assert whys(kitchen) == {dial: "not_held"}
    kitchen.clock.move(days=1)
    kitchen.checked(dial, "0 C")
    kitchen.clock.move(days=1)
    check = fails(kitchen, dial)
    assert whys(kitchen) == {}
    kitchen.adjust(check, "nut", "3 C")
    assert whys(kitchen) == {dial: "not_held"}


def test_a_new_sensor_wants_a_check_and_no_other_thermometer(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(type="thermocouple_probe", adjusts="none")
    fails(kitchen, probe)
    assert whys(kitchen) == {probe: "failed"}
    kitchen.clock.move(days=1)
    thermometers.change_sensor(kitchen.session, kitchen.lead, probe, PartGiven("Brisa", "", "1"))
    assert kitchen.row(probe).failed_at is not None
    assert whys(kitchen) == {}


def test_what_nobody_checked_for_long_wants_a_check(kitchen: Kitchen) -> None:
    """It may be out because nobody knows; what is known of it is right."""
    dropped, forgotten = (kitchen.enrol(DIAL_C, type="liquid_in_glass") for _ in range(2))
    kitchen.always({dropped: "0 C", forgotten: "0 C"}, 4)
    for _ in range(3):
        incidents.report_incident(kitchen.session, kitchen.lead, dropped, "dropped")
        kitchen.clock.move(days=1)
    kitchen.clock.move(days=9000)
    ranked = fleet.ranking(kitchen.session, limit=None, histories=False)
    assert max(one.outlook.out or 0 for one in ranked.rows) > 0.5
    assert found(kitchen).rows == ()


def test_what_went_outside_since_its_last_check_is_named_where_it_is_not_adjusted(kitchen: Kitchen) -> None:
    """0.2 °C a week and never found outside."""
    bare, reset = kitchen.enrol(adjusts="none"), kitchen.enrol(adjusts="reset")
    for n in range(10):
        kitchen.always(dict.fromkeys((bare, reset), f"{(2 * n - 8) / 10} C"), times=1)
    assert whys(kitchen) == {}
    kitchen.clock.move(days=250)
    assert whys(kitchen) == {bare: "out"}


def test_where_the_sensor_is_a_part_both_are_to_be_alike_for_its_price(kitchen: Kitchen) -> None:
    def parted(sensor: PartGiven, **more: object) -> str:
        return kitchen.enrol(
            type="thermocouple_probe", adjusts="none", whole=PartGiven("Brisa", "M1"), sensor=sensor, **more
        )

    parted(PartGiven(), price=EUR)
    bare = parted(PartGiven())
    bought = parted(PartGiven("Brisa", "K1"), price=Price(amount="70", currency="EUR"))
    like, other = parted(PartGiven("brisa", "k1")), parted(PartGiven("Brisa", "K2"))
    for one in (bare, like, other):
        fails(kitchen, one)
    rows = {one.thermometer: one for one in found(kitchen).rows}
    assert (rows[bare].price, rows[other].price) == (None, None)  # of the first nobody knows what sensor that was
    assert (rows[like].price and rows[like].price.amount, rows[like].like) == ("70", kitchen.tag(bought))


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
