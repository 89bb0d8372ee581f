"""Bias of infrared thermometers, against figures computed elsewhere and the physics' own limits."""

import pytest

from registry.compute.infrared import ROOM_C, emissivity_bias


def test_ice_is_shown_too_cold_by_the_known_amount():
    # -0.6 to -1.1 °C for emissivity 0.97 to 0.98 against 0.95 set, room 25 to 30 °C: computed independently,
    # no public-authority source found.
    low, high = emissivity_bias(0.0)
    assert (round(low, 1), round(high, 1)) == (-1.1, -0.6)


def test_hot_food_is_shown_too_warm():
    low, high = emissivity_bias(65.0)
    assert 0 < low < high < 1.5


def test_nothing_is_off_at_the_temperature_of_the_room():
    # In a room of its own temperature a surface looks the same whatever its emissivity (Kirchhoff).
    low, high = emissivity_bias(sum(ROOM_C) / 2)
    assert low < 0 < high
    assert high - low < 0.25


@pytest.mark.parametrize("celsius", [-101.0, 401.0, float("nan")])
def test_out_of_range_is_refused(celsius):
    with pytest.raises(ValueError, match="between"):
        emissivity_bias(celsius)
