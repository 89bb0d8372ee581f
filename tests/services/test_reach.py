"""Readings to reach: limit, offset and uncertainty in the unit of the dial, never looser than the limit."""

from decimal import Decimal
from fractions import Fraction
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.quantity import Reading
from registry.services import reach, rules, thermometer_page, thermometers
from registry.services.reach import Known, Reach
from tests.services.kitchen import DIGITAL_C, DIGITAL_F, Kitchen, scale


def c(text: str) -> Reading:
    return Reading.from_text(f"{text} C")


def test_the_one_sided_factor() -> None:
    assert pytest.approx(NormalDist().inv_cdf(0.95), abs=5e-4) == reach.ONE_SIDED


@pytest.mark.parametrize(
    ("limit", "side", "offset", "u", "shown"),
    [  # worked by hand: limit + offset + 1.645 u upwards, limit + offset - 1.645 u downwards
        ("74", "at_least", "0.6", 0.1, "74.8"),  # 74.7645
        ("74", "at_least", "0", 0.0, "74.0"),
        ("74", "at_least", "-0.9", 0.1, "74.0"),  # 73.2645: never looser than the limit
        ("5", "at_most", "-0.6", 0.1, "4.2"),  # 4.2355
        ("5", "at_most", "0.6", 0.1, "5.0"),  # 5.4355
        ("54.4", "at_least", "0", 0.0, "54.4"),
        ("-18", "at_most", "0.1", 0.1, "-18.1"),  # -18.0645
    ],
)
def test_by_hand(limit: str, side: str, offset: str, u: float, shown: str) -> None:
    _, found = reach.reading_to_reach(c(limit), side, Fraction(offset), u, Decimal("0.1"))
    assert found == c(shown)


@given(
    st.decimals(-40, 150, places=1),
    st.sampled_from(["at_least", "at_most"]),
    st.fractions(-5, 5, max_denominator=1000),
    st.floats(0, 3),
    st.sampled_from([Decimal("0.1"), Decimal("0.5"), Decimal(1), Decimal(2)]),
)
def test_the_safe_side_of_both(limit: Decimal, side: str, offset: Fraction, u: float, step: Decimal) -> None:
    unrounded, shown = reach.reading_to_reach(Reading(limit, "C"), side, offset, u, step)
    if side == "at_least":
        assert shown.value >= max(limit, unrounded)
        assert shown.value == limit or shown.value < unrounded + Fraction(step)
    else:
        assert shown.value <= min(limit, unrounded)
        assert shown.value == limit or shown.value > unrounded - Fraction(step)


ICE = Known("ice_point", Fraction(0), Fraction("0.2"), 0.1)
BOIL = Known("boiling_point", Fraction(100), Fraction("1.2"), 0.3)


def test_between_two_points_the_offset_lies_on_their_line() -> None:
    offset, u, rests_on = reach.predicted([ICE, BOIL], Fraction(75), 0.01)
    assert offset == Fraction("0.95")
    assert u == pytest.approx((0.3**2 + 0.25**2) ** 0.5)  # the larger u, and 1 % of the 25 to the nearest
    assert rests_on == ("ice_point", "boiling_point")


def test_beyond_the_points_the_nearest_counts_and_its_distance() -> None:
    offset, u, rests_on = reach.predicted([ICE, BOIL], Fraction(-18), 0.01)
    assert (offset, rests_on) == (Fraction("0.2"), ("ice_point",))
    assert u == pytest.approx((0.1**2 + 0.18**2) ** 0.5)


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


def test_nothing_beyond_the_scale(kitchen: Kitchen) -> None:
    of = kitchen.enrol(scale("0.1 dC", "-40.0 C", "74.0 C"))
    with kitchen.session.reading() as connection:
        found = thermometers.thermometer(connection, of)
        in_force = rules.rules_in_force(connection, kitchen.site)
    by_limit = {one.limit: one for one in reach.readings_to_reach(found, in_force, [ICE, BOIL], "C")}
    assert (by_limit["cook_poultry"].shown, by_limit["cook_poultry"].missing) == (None, "off_its_scale")
    assert by_limit["cook_ground"].shown is not None


def test_the_cold_side_and_what_stands_instead_is_left_out(kitchen: Kitchen) -> None:
    found = reaching(kitchen, kitchen.enrol(DIGITAL_C))
    assert {one.side for one in found.values()} == {"at_least"}
    assert "cook_ground" in found
    assert not {"cook_ground_63", "cool_first", "rinse_manual"} & found.keys()
