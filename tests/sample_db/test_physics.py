"""The simulator's own physics, against published numbers and against the program's other formulas."""

from decimal import Decimal

import pytest

from registry.compute import water
from sample_db import physics, scenario
from sample_db.scenario import DAY_US, Model

DIAL = Model("dial", "bimetal_stem", "Nobody", "None", {"F": ("2 dF", "0 F", "220 F")}, 0.4, 0.1, 0.3, 0.0, 0.0, 1.0)


def instrument(model: Model = DIAL, offset: float = 0.0, days: int = 10) -> physics.Instrument:
    return physics.make_instrument(1, "one", model, Decimal(1), 0, days, offset)


def test_water_boils_where_the_published_formulation_says() -> None:
    # 99.974 °C at 101 325 Pa: IAPWS-95 and IF97 alike.
    assert physics.boils_at(101_325) == pytest.approx(99.974, abs=0.001)


@pytest.mark.parametrize("pascal", [60_000, 73_000, 84_000, 95_000, 105_000])
def test_wagner_and_pruss_agree_with_if97(pascal: float) -> None:
    # Two independent fits to the same data: Wagner and Pruss (1993) equation (1), IAPWS-IF97 equation (31).
    assert physics.boils_at(pascal) == pytest.approx(water.boiling_point(float(pascal)), abs=0.005)


def test_pressure_falls_with_elevation_as_in_the_standard_atmosphere() -> None:
    # ISO 2533:1975, table: 89 874.6 Pa at 1000 m.
    assert physics.pressure_at(101_325, 1000) == pytest.approx(89_874.6, abs=1)
    assert physics.pressure_at(101_325, 0) == 101_325


def test_a_dial_shows_half_divisions_of_its_own_scale() -> None:
    assert instrument(offset=0.4).shows(0.0, 0).text() == "33 F"  # 32.72 °F, read to 1 °F
    assert instrument().shows(100.0, 0).text() == "212 F"


def test_offsets_drift_jump_and_lean_with_temperature() -> None:
    worn = physics.Instrument(DIAL, 0, [0.1, 0.2, 0.3], 0.01, Decimal(1), physics.random_of(1, "noise"))
    worn.jumps.append((2 * DAY_US, -1.0, "dropped"))
    assert worn.true_offset(DAY_US) == pytest.approx(0.2)
    assert worn.true_offset(DAY_US, 50.0) == pytest.approx(0.7)
    assert worn.true_offset(2 * DAY_US) == pytest.approx(-0.7)
    assert worn.true_offset(90 * DAY_US) == pytest.approx(-0.7)  # beyond its days it stays


def test_one_more_thermometer_disturbs_no_other() -> None:
    first = instrument().walk
    physics.make_instrument(1, "another", DIAL, Decimal(1), 0, 10)
    assert instrument().walk == first
    assert physics.make_instrument(1, "another", DIAL, Decimal(1), 0, 10, 0.0).walk != first


def test_weather_stays_within_what_a_barometer_may_say() -> None:
    found = physics.sea_level_pressures(scenario.load().seed, "highspar", 730)
    assert physics.LIGHTEST_PA <= min(found) < 100_500
    assert 102_500 < max(found) <= physics.HEAVIEST_PA
