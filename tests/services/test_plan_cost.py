"""What a plan costs, by hand: checks a year at 40 seconds each."""

from collections import Counter

import pytest

from registry.services.plan_cost import Regular, hours_a_year

YEAR = 365.25
ICE, BOIL = ("ice_point",), ("boiling_point",)


def checks(*rules: Regular, shifts: float = 7, count: int = 1) -> float:
    """A year, of dials alone."""
    return hours_a_year(rules, Counter({"bimetal_stem": count}), shifts) * 3600 / 40


def test_each_point_that_is_named_costs_its_own_checks() -> None:
    weekly, monthly = Regular("every_days", 7, (), ICE), Regular("every_days", 30, (), BOIL)
    assert checks(weekly, monthly) == pytest.approx(YEAR / 7 + YEAR / 30)
    assert checks(Regular("every_days", 7, (), (*ICE, *BOIL)), count=2) == pytest.approx(4 * YEAR / 7)


def test_a_check_at_a_named_point_does_for_a_rule_that_names_none() -> None:
    ice, boil = Regular("every_days", 7, (), ICE), Regular("every_days", 7, (), BOIL)
    assert checks(ice, Regular("every_days", 3, ())) == pytest.approx(YEAR / 3)
    assert checks(ice, boil, Regular("every_days", 6, ())) == pytest.approx(2 * YEAR / 7)
    assert checks(ice, boil, Regular("each_shift", None, ())) == pytest.approx(YEAR)


def test_of_several_for_one_point_the_one_that_asks_most_often_counts() -> None:
    assert checks(Regular("every_days", 7, (), ICE), Regular("every_days", 2, (), ICE)) == pytest.approx(YEAR / 2)


def test_by_turns_costs_only_where_there_are_days_of_more_than_one() -> None:
    turns = Regular("sentinel", None, ())
    assert checks(turns) == 0
    assert checks(turns, Regular("every_days", 1, ()), shifts=14) == pytest.approx(YEAR)
    assert checks(turns, Regular("each_shift", None, ()), Regular("every_days", 7, ())) == pytest.approx(YEAR)
    assert checks(turns, Regular("every_days", 7, ()), count=7) > YEAR
