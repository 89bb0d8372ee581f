"""The standard atmosphere and pressure sources; the source stands beside each check."""

from math import exp, sqrt
from statistics import NormalDist

import fluids.atmosphere
import iapws
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.atmosphere import (
    N,
    PressureFigures,
    PressureSource,
    StationPressure,
    pressure_at_elevation,
    pressure_from_source,
    pressure_question,
    station_pressure,
)
from registry.compute.water import boiling_point, boiling_point_slope

EARTH_RADIUS_M = 6_356_766.0  # US Standard Atmosphere 1976


# ICAO Doc 7488 / ISO 2533 tables, hPa by geopotential height (from memory), to their last digit.
@pytest.mark.parametrize(
    ("metres", "hpa"), [(0, 1013.25), (1000, 898.746), (2000, 794.952), (3000, 701.085), (5000, 540.199)]
)
def test_against_printed_tables(metres: float, hpa: float) -> None:
    assert pressure_at_elevation(float(metres)) / 100 == pytest.approx(hpa, abs=5e-4)


# US Standard Atmosphere 1976, hPa by geometric altitude (from memory).
@pytest.mark.parametrize(("metres", "hpa"), [(1000, 898.76), (2000, 795.01), (3000, 701.21), (5000, 540.48)])
def test_against_the_us_standard_atmosphere(metres: float, hpa: float) -> None:
    geopotential = EARTH_RADIUS_M * metres / (EARTH_RADIUS_M + metres)
    assert pressure_at_elevation(geopotential) / 100 == pytest.approx(hpa, abs=6e-3)


def test_against_fluids() -> None:
    # fluids 1.3.1, US Standard Atmosphere 1976, takes geometric height; its gas constant differs by 0.03 Pa.
    heights = np.arange(-400.0, 5001.0, 100.0)
    geometric = EARTH_RADIUS_M * heights / (EARTH_RADIUS_M - heights)
    expected = [fluids.atmosphere.ATMOSPHERE_1976(height).P for height in geometric]
    np.testing.assert_allclose(pressure_at_elevation(heights), expected, rtol=0, atol=0.1)


# IF97 at ISA pressure: iapws 1.5.5 with fluids 1.3.1.
@pytest.mark.parametrize(
    ("metres", "celsius"), [(-400, 101.3025), (0, 99.9743), (300, 98.9774), (1600, 94.6496), (5000, 83.2549)]
)
def test_boiling_point_by_elevation(metres: float, celsius: float) -> None:
    assert boiling_point(pressure_at_elevation(float(metres))) == pytest.approx(celsius, abs=1e-3)


# Published handbook tables of the boiling point, °F by feet. NOAA/NASA-attributed table
# (en.wikipedia.org/wiki/High-altitude_cooking), straighthealth.com/how-to-calibrate-a-meat-thermometer,
# christianchefs.org/charts/highaltitude.html, Public Service Company of Colorado bulletin c. 1965
# (stiltner.org/food/dinealtd.htm), and FSIS 208 at 2000 ft, Colorado State University 203 at 5000 ft,
# foodsafety.gov 198 at 7500 ft. They differ among themselves by up to 0.7 °F.
HANDBOOKS = {
    0: (212, 212.0, 212.0, 212.0),
    500: (211.1, 211.1, 211.0),
    1000: (210.2, 210.2, 210.0),
    2000: (208.4, 208.4, 208.2, 208),
    3000: (206.6, 206.2, 206.4),
    4000: (204.8, 204.4, 204.6),
    5000: (203, 203.0, 202.6, 202.8, 203),
    5500: (202.0, 201.9),
    6000: (201.1, 201.1, 200.7, 201.0),
    7000: (199.3, 198.7, 199.2),
    7500: (198.3, 198),
    8000: (197.4, 197.4, 196.9, 197.5),
    9000: (195.5, 195.7),
    10000: (193.6, 193.6, 194.0, 194.0),
}


@pytest.mark.parametrize(("feet", "published"), HANDBOOKS.items())
def test_handbook_tables(feet: int, published: tuple[float, ...]) -> None:
    fahrenheit = boiling_point(pressure_at_elevation(feet * 0.3048)) * 1.8 + 32
    assert max(abs(fahrenheit - value) for value in published) <= 0.5


def test_rules_of_thumb() -> None:
    # Purdue University food safety fact sheet: about 1 °F per 550 ft.
    feet = np.arange(0.0, 10_001.0, 500.0)
    fahrenheit = boiling_point(pressure_at_elevation(feet * 0.3048)) * 1.8 + 32
    assert np.abs(fahrenheit - (212 - feet / 550)).max() < 0.17


# A physics tutorial's worked values, 1 inHg = 3386.389 Pa: 5045 ft and 30.20 inHg give 84 977 Pa;
# 7014 ft and 30.37 inHg give 79 375 Pa (formula AS = (p^0.1903 + 1.313e-5 h)^(1/0.1903)).
@pytest.mark.parametrize(("feet", "inhg", "pa"), [(5045, 30.20, 84_977), (7014, 30.37, 79_375)])
def test_station_pressure_against_worked_values(feet: float, inhg: float, pa: float) -> None:
    assert station_pressure(inhg * 3386.389, feet * 0.3048) == pytest.approx(pa, abs=2)


# US National Weather Service calculator form, and MetPy 1.7.1 altimeter_to_station_pressure (Smithsonian
# tables, 1951): hPa, m, Pa, Pa. Three forms in use agree within 1 hPa, 0.03 °C.
@pytest.mark.parametrize(
    ("setting", "metres", "nws", "smithsonian"),
    [
        (1013.25, 0, 101325.0, 101355.0),
        (1030, 250, 99981.8, 100021.2),
        (990, 250, 96099.0, 96116.4),
        (1020, 1000, 90467.1, 90511.2),
        (1000, 1000, 88693.2, 88696.5),
        (1015, 1500, 84693.3, 84728.7),
        (1024, 2240, 77961.1, 78035.3),
        (1005, 2240, 76514.5, 76511.7),
        (1013.25, 2640, 73364.4, 73395.0),
    ],
)
def test_station_pressure_against_other_forms(setting: float, metres: float, nws: float, smithsonian: float) -> None:
    pressure = station_pressure(setting * 100.0, float(metres))
    assert pressure == pytest.approx(nws, abs=100)
    assert pressure == pytest.approx(smithsonian, abs=100)
    assert boiling_point(pressure) == pytest.approx(boiling_point(smithsonian), abs=0.03)


def test_exponent() -> None:
    # ISO 2533: g0/(R L) = 5.255 879 81 with R = 287.052 87 J/(kg K).
    assert abs(1 / N - 5.25587981) < 1e-8


@given(st.floats(-500.0, 11_000.0))
def test_the_standard_setting_gives_the_standard_pressure(metres: float) -> None:
    assert station_pressure(101_325.0, metres) == pytest.approx(pressure_at_elevation(metres), rel=1e-12)


@given(st.floats(85_000.0, 110_000.0), st.floats(-500.0, 11_000.0))
def test_station_pressure_is_the_exact_inversion(setting: float, metres: float) -> None:
    # The altimeter setting by its definition: the height of the station pressure in the standard atmosphere,
    # less the elevation, is the height of the setting.
    def height(pa: float) -> float:
        return 288.15 / 0.0065 * (1 - (pa / 101_325.0) ** N)

    assert height(station_pressure(setting, metres)) - metres == pytest.approx(height(setting), abs=1e-6)


@given(st.floats(85_000.0, 110_000.0))
def test_at_sea_level_the_setting_is_the_pressure(setting: float) -> None:
    assert station_pressure(setting, 0.0) == pytest.approx(setting, rel=1e-12)


@pytest.mark.parametrize("metres", [-500.1, 11_000.1, float("nan"), float("inf")])
def test_elevation_out_of_range(metres: float) -> None:
    with pytest.raises(ValueError, match="between -500 and 11000"):
        pressure_at_elevation(metres)
    with pytest.raises(ValueError, match="between -500 and 11000"):
        station_pressure(101_325.0, metres)
    with pytest.raises(ValueError, match="between -500 and 11000"):
        pressure_at_elevation(np.array([0.0, metres]))


@pytest.mark.parametrize("setting", [84_999.0, 110_001.0, 1013.25, 29.92, float("nan")])
def test_setting_out_of_range(setting: float) -> None:
    with pytest.raises(ValueError, match="between 85000 and 110000"):
        station_pressure(setting, 100.0)


def test_arrays_broadcast() -> None:
    pressures = station_pressure(np.array([[99_000.0], [102_000.0]]), np.array([0.0, 300.0, 1600.0]))
    assert pressures.shape == (2, 3)
    assert pressures[1, 2] == pytest.approx(station_pressure(102_000.0, 1600.0), rel=1e-12)
    assert type(station_pressure(102_000, 1600)) is float


# --- sources ---


def test_mixing_up_the_kinds_of_pressure_costs_degrees() -> None:
    # 1020 hPa at 1000 m: 904.87 hPa in the room, 96.835 °C; taken as the room's own 100.160 °C (iapws 1.5.5).
    right = pressure_from_source(PressureSource.ALTIMETER_SETTING, 102_000.0, 1000.0)
    wrong = pressure_from_source(PressureSource.ROOM_BAROMETER, 102_000.0)
    assert boiling_point(right.pressure_pa) == pytest.approx(96.835, abs=1e-3)
    assert boiling_point(wrong.pressure_pa) == pytest.approx(100.160, abs=1e-3)


@pytest.mark.parametrize("source", [PressureSource.ROOM_BAROMETER, PressureSource.HOUSEHOLD_ABSOLUTE])
def test_absolute_sources_stand_as_typed(source: PressureSource) -> None:
    assert pressure_from_source(source, 84_000.0).pressure_pa == 84_000.0
    assert pressure_from_source(source, 84_000.0, 1600.0).pressure_pa == 84_000.0


@pytest.mark.parametrize(
    "source",
    [PressureSource.HOUSEHOLD_SEA_LEVEL, PressureSource.ALTIMETER_SETTING, PressureSource.WEATHER_REPORT],
)
def test_sea_level_sources_are_brought_to_the_site(source: PressureSource) -> None:
    # 1020 hPa at 1000 m: 90 511.2 Pa by the Smithsonian form (MetPy 1.7.1), which adds 30 Pa.
    assert pressure_from_source(source, 102_000.0, 1000.0).pressure_pa == pytest.approx(90_511.2, abs=30)


# The starting figures are from judgement: an own barometer ±1 hPa rectangular, an altimeter setting 0.75 hPa,
# elevation alone 8 hPa. What they come to in °C: half the difference of T_s(p ± u), iapws 1.5.5.
@pytest.mark.parametrize(
    ("source", "metres", "u_pa"),
    [
        (PressureSource.ROOM_BAROMETER, 0, 57.735),
        (PressureSource.ALTIMETER_SETTING, 0, 75),
        (PressureSource.ELEVATION, 0, 800),
        (PressureSource.ELEVATION, 1600, 800),
        (PressureSource.ELEVATION, 4000, 800),
    ],
)
def test_uncertainty_of_the_boiling_point_by_source(source: PressureSource, metres: float, u_pa: float) -> None:
    found = pressure_from_source(source, 101_325.0, float(metres))
    assert found.u_pa == pytest.approx(u_pa, abs=1e-3)
    low, high = (iapws.iapws97._TSat_P((found.pressure_pa + sign * u_pa) / 1e6) for sign in (-1, 1))
    assert found.u_pa * boiling_point_slope(found.pressure_pa) == pytest.approx((high - low) / 2, abs=1e-4)


def test_a_reduced_pressure_is_wider_above_500_m() -> None:
    def u(source: PressureSource, metres: float) -> float:
        return pressure_from_source(source, 101_325.0, metres).u_pa

    report, setting = PressureSource.WEATHER_REPORT, PressureSource.ALTIMETER_SETTING
    assert u(setting, 0.0) == u(setting, 500.0) == u(setting, 1600.0) == 75.0
    assert u(report, -100.0) == u(report, 0.0) == u(report, 500.0) == 200.0
    # 0.6 hPa for every 100 m above 500 m, from judgement, and no leap where it begins.
    assert u(report, 600.0) == pytest.approx(260.0)
    assert u(report, 500.1) == pytest.approx(200.06)
    assert u(PressureSource.HOUSEHOLD_SEA_LEVEL, 1600.0) > u(report, 1600.0)


def test_a_report_at_1600_m_is_as_wide_as_what_reports_say_there() -> None:
    # Hypsometric equation: a station at 834.0 hPa is reported as 1030.8 hPa at 258 K and 1000.7 hPa at 300 K;
    # rectangular over that spread (common practice, no source).
    wide = (1030.8 - 1000.7) * 100 / sqrt(12)
    assert pressure_from_source(PressureSource.WEATHER_REPORT, 101_325.0, 1600.0).u_pa == pytest.approx(wide, rel=0.02)


def test_the_widening_is_the_effect_of_the_air_outside() -> None:
    # Hypsometric equation (any meteorology text): sea-level pressure of a station at 834.0 hPa, 1600 m, with
    # a mean air temperature 10 °C above or below that of the standard atmosphere, 282.95 K.
    def reduced(kelvin: float) -> float:
        return 83_400.0 * exp(9.80665 * 1600 / (287.05287 * kelvin))

    spread = (reduced(272.95) - reduced(292.95)) / 2
    wider = pressure_from_source(PressureSource.WEATHER_REPORT, 101_325.0, 1600.0).u_pa
    assert wider - 200 == pytest.approx(spread, rel=0.05)


def test_figures_are_data() -> None:
    table = {"elevation_u_pa": 500.0, "room_barometer_half_width_pa": 60.0}
    figures = PressureFigures(**table)
    assert pressure_from_source(PressureSource.ELEVATION, None, 0.0, figures) == StationPressure(101_325.0, 500.0)
    room = pressure_from_source(PressureSource.ROOM_BAROMETER, 1e5, None, figures)
    assert room.u_pa == pytest.approx(60 / sqrt(3))


@pytest.mark.parametrize(
    ("source", "typed", "metres"),
    [
        (PressureSource.ELEVATION, 1e5, None),
        (PressureSource.ALTIMETER_SETTING, 1e5, None),
        (PressureSource.ALTIMETER_SETTING, None, 0.0),
        (PressureSource.ROOM_BAROMETER, None, 0.0),
        (PressureSource.ROOM_BAROMETER, 1013.25, None),
        (PressureSource.ROOM_BAROMETER, float("nan"), None),
    ],
)
def test_what_a_source_needs(source: PressureSource, typed: float | None, metres: float | None) -> None:
    with pytest.raises(ValueError):
        pressure_from_source(source, typed, metres)


# --- which kind was typed ---


# Two normal hypotheses with a standard deviation of 8 hPa each: share of sea-level pressures typed as the
# room's that is caught, and share of true ones questioned needlessly; whole figures from a simulation.
@pytest.mark.parametrize(
    ("metres", "caught", "needless", "last_digit"),
    [(150, 0.87, 0.13, 0.01), (200, 0.93, 0.07, 0.01), (300, 0.987, 0.013, 0.001), (400, 0.998, 0.002, 0.001)],
)
def test_the_question_catches_what_it_should(metres: float, caught: float, needless: float, last_digit: float) -> None:
    draws, chance = 20_000, np.random.default_rng(20260303)
    at_sea_level = chance.normal(101_325.0, 800.0, draws)
    at_site = chance.normal(pressure_at_elevation(float(metres)), 800.0, draws)
    error = 3 * sqrt(caught * (1 - caught) / draws) + last_digit / 2
    assert pressure_question(at_sea_level, float(metres)).mean() == pytest.approx(caught, abs=error)
    assert pressure_question(at_site, float(metres)).mean() == pytest.approx(needless, abs=error)
    # The other way about: the room's own pressure typed as one reduced to sea level.
    assert pressure_question(at_site, float(metres), absolute=False).mean() == pytest.approx(caught, abs=error)
    assert pressure_question(at_sea_level, float(metres), absolute=False).mean() == pytest.approx(needless, abs=error)


@pytest.mark.parametrize("metres", [-400.0, 60.0, 300.0, 1600.0])
def test_the_question_turns_where_two_normal_densities_cross(metres: float) -> None:
    site = NormalDist(pressure_at_elevation(metres), 800.0)
    sea_level = NormalDist(101_325.0, 800.0)
    for pa in np.linspace(80_000.0, 109_000.0, 400).tolist():
        likelier = sea_level.pdf(pa) > site.pdf(pa)
        if max(sea_level.pdf(pa), site.pdf(pa)) > 0:
            assert pressure_question(pa, metres) is likelier


def test_near_sea_level_nothing_is_asked() -> None:
    assert not any(pressure_question(pa, metres) for pa in (97_000.0, 104_000.0) for metres in (0.0, 29.9, -29.9))
    # There a mix-up costs less than the 0.1 °C to which the boiling point is shown.
    assert boiling_point(101_325.0) - boiling_point(pressure_at_elevation(30.0)) < 0.1


def test_a_question_of_one_pressure_is_a_plain_answer() -> None:
    assert pressure_question(102_000.0, 1000.0) is True
    assert pressure_question(90_000.0, 1000.0) is False
    assert pressure_question(90_000.0, 1000.0, absolute=False) is True
    with pytest.raises(ValueError):
        pressure_question(float("nan"), 1000.0)
    with pytest.raises(ValueError):
        pressure_question(1013.25, 1000.0)
