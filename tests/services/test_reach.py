"""Readings to reach: limit, offset and uncertainty in the unit of the dial, never looser than the limit."""

from fractions import Fraction

from registry.quantity import Reading
from registry.services import reach, rules, thermometer_page, thermometers, tracking
from registry.services.reach import Known, Reach
from tests.services.kitchen import DIGITAL_C, DIGITAL_F, Kitchen, scale


def c(text: str) -> Reading:
    return Reading.from_text(f"{text} C")


ICE, BOIL = Known("ice_point", Fraction(0)), Known("boiling_point", Fraction(100))


# --- on the page ---------------------------------------------------------------------------------------------


def reaching(kitchen: Kitchen, of: str) -> dict[str, Reach]:
    with kitchen.session.reading() as connection:
        shown = thermometer_page.page(kitchen.session, connection, of)
    return {one.limit: one for one in shown.reach}


def boiled(kitchen: Kitchen, of: str, shown: str) -> None:
    bath = kitchen.boil()
    kitchen.key(bath, of, shown)
    kitchen.judge(bath)
    kitchen.clock.move(minutes=5)


def test_cooking_needs_a_hot_point(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    poultry = reaching(kitchen, of)["cook_poultry"]
    assert (poultry.step, poultry.food, poultry.side) == ("cooking", "poultry", "at_least")
    assert (poultry.at, poultry.shown, poultry.missing) == (c("74"), None, "comparison_hot")
    boiled(kitchen, of, "100.1 C")
    poultry = reaching(kitchen, of)["cook_poultry"]
    assert poultry.shown is not None
    assert poultry.shown.value > 74
    assert (poultry.missing, poultry.rests_on) == ("", ("ice_point", "boiling_point"))


def test_one_hot_point_serves_what_is_near_it(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    boiled(kitchen, of, "99.6 C")
    found = reaching(kitchen, of)
    assert found["cook_poultry"].rests_on == ("boiling_point",)  # 26 °C away
    assert (found["hot"].shown, found["hot"].missing) == (None, "comparison_hot")  # 43 °C away


def test_a_dial_in_fahrenheit_is_told_in_fahrenheit(kitchen: Kitchen) -> None:
    of = kitchen.enrol(DIGITAL_F)
    boiled(kitchen, of, "212.3 F")
    poultry = reaching(kitchen, of)["cook_poultry"]
    assert poultry.at == Reading.from_text("165 F")  # the rule's own figure
    assert poultry.shown is not None
    assert poultry.shown.unit == "F"
    assert 165 < poultry.shown.value < 168


def test_nothing_where_it_may_not_be_used(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    boiled(kitchen, of, "99.6 C")
    kitchen.checked(of, "1.9 C", "1.9 C", "1.9 C")
    assert {one.missing for one in reaching(kitchen, of).values()} == {"check_first"}
    thermometers.take_out(kitchen.session, kitchen.lead, of, "outside")
    assert {one.missing for one in reaching(kitchen, of).values()} == {"not_in_use"}


def test_two_cold_points_say_nothing_of_cooking(kitchen: Kitchen) -> None:
    """Ice and a cold flask are 4 °C apart: no line through them is to be trusted 70 °C away."""
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    with kitchen.session.reading() as connection:
        found = thermometers.thermometer(connection, of)
        in_force = rules.rules_in_force(connection, kitchen.site)
        followed = tracking.tracked(kitchen.session, connection, [found])[of]
    cold = Known("comparison_cold", Fraction(4))
    by_limit = {
        one.limit: one for one in reach.readings_to_reach(followed, in_force, [ICE, cold], "C", kitchen.clock.at)
    }
    assert (by_limit["cook_poultry"].shown, by_limit["cook_poultry"].missing) == (None, "comparison_hot")


def test_limited_to_cold_food_nothing_is_said_of_hot(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    boiled(kitchen, of, "99.6 C")
    kitchen.checked(of, "0.0 C")
    thermometers.set_status(kitchen.session, kitchen.officer, of, "limited_use", only="cold")
    assert {one.missing for one in reaching(kitchen, of).values()} == {"limited"}
    thermometers.set_status(kitchen.session, kitchen.officer, of, "limited_use", only="hot")
    assert reaching(kitchen, of)["cook_poultry"].shown is not None


def test_nothing_beyond_the_scale(kitchen: Kitchen) -> None:
    of = kitchen.enrol(scale("0.1 dC", "-40.0 C", "74.0 C"))
    kitchen.checked(of, "0.0 C")
    with kitchen.session.reading() as connection:
        found = thermometers.thermometer(connection, of)
        in_force = rules.rules_in_force(connection, kitchen.site)
        followed = tracking.tracked(kitchen.session, connection, [found])[of]
    now = kitchen.clock.at
    by_limit = {one.limit: one for one in reach.readings_to_reach(followed, in_force, [ICE, BOIL], "C", now)}
    assert (by_limit["cook_poultry"].shown, by_limit["cook_poultry"].missing) == (None, "off_its_scale")
    assert by_limit["cook_ground"].shown is not None


def test_the_cold_side_and_what_stands_instead_is_left_out(kitchen: Kitchen) -> None:
    found = reaching(kitchen, kitchen.enrol(DIGITAL_C))
    assert {one.side for one in found.values()} == {"at_least"}
    assert "cook_ground" in found
    assert not {"cook_ground_63", "cool_first", "rinse_manual"} & found.keys()
