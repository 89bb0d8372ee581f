"""A site's habit, elevations that contradict, pressures mixed up, swapped rows, and the order of reading."""

from dataclasses import replace
from math import inf, nan

import pytest

from registry.compute.bath import (
    Habit,
    InBath,
    Pin,
    ToRead,
    diagnose,
    habit,
    ice,
    misfit_elevation,
    pressure_mistake,
    reading_order,
    swapped,
)

# --- habit -----------------------------------------------------------------------------------------------------


def test_with_nothing_to_pin_it_the_habit_is_what_sites_have() -> None:
    assert habit([], usual=0.3) == Habit(0.0, 0.3)
    with pytest.raises(ValueError, match="sd"):
        habit([], usual=inf)


def test_more_pins_leave_less_uncertainty_and_less_of_the_prior() -> None:
    one, six = habit([Pin(0.7, 0.3)]), habit([Pin(0.7, 0.3)] * 6)
    assert one.sd > six.sd
    assert one.mean < six.mean < 0.7


def test_pins_of_one_model_count_for_less_than_as_many_models() -> None:
    alike = habit([Pin(0.7, 0.1, "A")] * 4, model_u=0.3)
    apart = habit([Pin(0.7, 0.1, name) for name in "ABCD"], model_u=0.3)
    unnamed = habit([Pin(0.7, 0.1)] * 4, model_u=0.3)
    assert alike.sd > apart.sd > 0
    assert unnamed.sd < apart.sd  # nothing is known to make them alike


def test_what_all_pins_share_does_not_average_out() -> None:
    pins = [Pin(0.2, 0.1) for _ in range(100)]
    assert habit(pins, common_u=0.1, usual=inf).sd == pytest.approx((0.1**2 + 0.1**2 / 100) ** 0.5, rel=1e-6)


def test_pins_that_disagree_widen_it() -> None:
    found = habit([Pin(0.0, 0.1), Pin(0.3, 0.1), Pin(-0.3, 0.1), Pin(0.1, 0.1)])
    assert found.between > 0.1
    assert found.sd > 0.1 / 2


def test_a_gross_one_is_left_out_and_named() -> None:
    found = habit([Pin(0.1, 0.3), Pin(3.0, 0.3), Pin(0.0, 0.3), Pin(0.2, 0.3)], usual=inf)
    assert (found.left_out, found.evidence) == ((1,), 3)
    assert found.mean == pytest.approx(0.1)


@pytest.mark.parametrize("wrong", [(nan, 0.1), (0.0, 0.0), (0.0, -1.0), (0.0, inf)])
def test_a_pin_that_cannot_be_is_refused(wrong: tuple[float, float]) -> None:
    with pytest.raises(ValueError):
        Pin(*wrong)


def test_negative_figures_are_refused() -> None:
    with pytest.raises(ValueError, match="common_u"):
        habit([Pin(0.0, 0.1)], common_u=-0.1)


# --- elevation and pressure ------------------------------------------------------------------------------------


def test_a_boiling_that_fits_does_not_contradict() -> None:
    fit = misfit_elevation(99.568, 0.1, 0.3, 120.0)
    assert not fit.contradicts
    assert fit.low_m < fit.elevation_m < 120 < fit.high_m


def test_with_a_measured_pressure_the_misfit_is_height_beside_the_sites() -> None:
    # 100.3 °C by a barometer on a fine day: the same misfit as by elevation, not an elevation below the sea.
    assert misfit_elevation(100.3, -1.65, 0.3, 120.0).elevation_m == pytest.approx(620, abs=20)


@pytest.mark.parametrize("wrong", [{"error": nan}, {"sd": 0.0}, {"reference": 400.0}])
def test_a_misfit_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError):
        misfit_elevation(**({"reference": 99.5, "error": 0.0, "sd": 0.3, "elevation_m": 120.0} | wrong))


def test_a_pressure_mixed_up_is_told_from_a_lazy_boil() -> None:
    mixed_up = pressure_mistake(-3.3, 0.15, 0.29, 102_000.0, 1000.0, absolute=True)
    lazy = pressure_mistake(-1.2, 0.15, 0.29, 102_000.0, 1000.0, absolute=True)
    well = pressure_mistake(0.1, 0.15, 0.29, 102_000.0, 1000.0, absolute=True)
    assert mixed_up.probability > 0.8
    assert max(lazy.probability, well.probability) < 0.01


def test_the_other_way_round_the_error_is_warm() -> None:
    found = pressure_mistake(3.0, 0.15, 0.29, 90_000.0, 1000.0, absolute=False)
    assert found.error > 3
    assert found.probability > 0.8


def test_a_pressure_that_cannot_be_at_sea_level_was_not_mixed_up() -> None:
    assert pressure_mistake(-3.0, 0.15, 0.29, 78_000.0, 2240.0, absolute=True).probability == 0.0


# --- swapped rows ----------------------------------------------------------------------------------------------

ROWS = [
    InBath(0.6, 0.1, 0.6, 0.06, 0.05),
    InBath(-0.3, 0.15, -0.3, 0.08, 0.05),
    InBath(0.0, 0.1, 0.1, 0.06, 0.05),
    InBath(0.2, 0.5, 0.0, 0.15, 0.5),
]


def exchanged(rows: list[InBath], a: int, b: int) -> list[InBath]:
    again = list(rows)
    again[a], again[b] = replace(rows[a], reading=rows[b].reading), replace(rows[b], reading=rows[a].reading)
    return again


def test_rows_that_fit_ask_nothing() -> None:
    assert swapped(ROWS, ice()) == ()
    assert swapped(ROWS[:1], ice()) == ()


def test_readings_in_each_others_rows_are_asked_about() -> None:
    (found,) = swapped(exchanged(ROWS, 0, 1), ice())
    assert (found.first, found.second) == (0, 1)
    assert found.ratio > 6 / 0.005


def test_even_when_the_bath_is_off() -> None:
    warm = [replace(one, reading=one.reading + 1.0) for one in exchanged(ROWS, 0, 1)]
    assert [(one.first, one.second) for one in swapped(warm, ice())] == [(0, 1)]


def test_a_new_one_is_expected_to_show_the_habit_as_well() -> None:
    # With ice that is ever 1.0 too warm a certified one at 1.0 fits its row; without that it would fit the other's.
    rows = [InBath(0.0, 0.05, 1.0, 0.06, 0.05, basis="elsewhere"), InBath(1.0, 0.05, 1.0, 0.06, 0.05), *ROWS[2:]]
    assert swapped(rows, ice(), Habit(1.0, 0.05)) == ()
    mixed = [replace(rows[0], reading=0.6), replace(rows[1], predicted=0.6), *ROWS[2:]]
    assert swapped(mixed, ice(), Habit(1.0, 0.05)) != ()


def test_two_dropped_ones_are_not_a_swap() -> None:
    assert swapped([replace(ROWS[0], reading=2.5), replace(ROWS[1], reading=3.0), *ROWS[2:]], ice()) == ()


def test_places_are_those_of_the_list_given() -> None:
    none = InBath(0.0, inf, 1.0, 0.06, 0.05, basis="none")
    found = swapped([none, *exchanged(ROWS, 0, 1)], ice())
    assert [(one.first, one.second) for one in found] == [(1, 2)]


def test_the_ratio_is_that_of_the_whole_likelihoods() -> None:
    # The same ratio the long way: each arrangement's likelihood by summing over the bath's error.
    import numpy as np

    from registry.compute.bath import Tails
    from registry.compute.bath.likelihood import grid, mixture, prior

    def whole(rows: list[InBath]) -> float:
        logs = np.log(mixture(rows, Tails()).chances(grid()).sum(axis=0)).sum(axis=0)
        return float((prior(grid(), ice()) * np.exp(logs)).sum())

    rows = exchanged(ROWS, 0, 1)
    (found,) = swapped(rows, ice())
    assert found.ratio == pytest.approx(whole(exchanged(rows, 0, 1)) / whole(rows), rel=1e-9)


# --- order of reading ------------------------------------------------------------------------------------------


def test_steadiest_first_whatever_the_step_says_alone() -> None:
    waiting = [
        ToRead(0.6, 0.15, 0.5),
        ToRead(0.2, 0.06, 0.05),
        ToRead(0.1, 0.06, 0.5),
        ToRead(0.05, 0.05, 0.05, incident=True),
        ToRead(0.0, 0.05, 0.05, counts=False),
        ToRead(inf, 0.06, 0.05),
    ]
    assert reading_order(waiting) == (1, 2, 0, 5, 3, 4)


def test_equals_stay_as_they_were() -> None:
    assert reading_order([ToRead(0.1, 0.1)] * 4) == (0, 1, 2, 3)


def test_two_read_in_that_order_are_enough_to_judge() -> None:
    given = [InBath(0.0, 0.7, 0.5, 0.15, 0.5), InBath(0.0, 0.1, 0.0, 0.06, 0.05), InBath(0.0, 0.2, 0.1, 0.06, 0.05)]
    order = reading_order([ToRead(one.sd, one.u_new, one.half_width, one.incident, one.counts) for one in given])
    assert diagnose([given[place] for place in order[:2]], ice()).verdict == "good"
    assert diagnose(given[:2], ice()).verdict == "too_few"
