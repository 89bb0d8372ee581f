"""Reference temperatures of the three baths against published tables."""

from datetime import date
from fractions import Fraction
from math import hypot, sqrt

import iapws
import pytest

from registry.compute.atmosphere import PressureFigures, PressureSource
from registry.compute.reference import (
    CertificatePoint,
    Corrected,
    boiling_point,
    comparison,
    corrected,
    ice_point,
    mean,
)
from registry.quantity import Reading, TemperatureDifference

FIGURES = PressureFigures()
ISSUED, A_YEAR_ON = date(2025, 3, 3), date(2026, 3, 3)


def boil(source: PressureSource, typed_pa: float | None, elevation_m: float) -> float:
    return float(boiling_point(source, typed_pa, elevation_m, 0.5, FIGURES).celsius)


def test_ice_is_zero_and_its_half_width_rectangular() -> None:
    # ITS-90 within 0.01 °C; a/√3 after JCGM 100:2008, 4.3.7.
    found = ice_point(0.3)
    assert found.celsius == 0
    assert {code: part.text() for code, part in found.components.items()} == {"bath": "0.1732 dC"}
    assert found.station_pressure_pa is None


# ISO 2533:1975 and IAPWS R7-97(2012), both to their printed digits (fluids 1.3.1, iapws 1.5.5).
@pytest.mark.parametrize(
    ("elevation_m", "pascal", "celsius"),
    [
        (-400.0, 106223.43, 101.3025),
        (0.0, 101325.00, 99.9743),
        (1000.0, 89874.56, 96.6488),
        (1600.0, 83523.53, 94.6496),
        (3000.0, 70108.53, 89.9723),
        (5000.0, 54019.89, 83.2549),
    ],
)
def test_boiling_by_elevation_alone(elevation_m: float, pascal: float, celsius: float) -> None:
    found = boiling_point(PressureSource.ELEVATION, None, elevation_m, 0.5, FIGURES)
    assert float(found.celsius) == pytest.approx(celsius, abs=1.01e-4)
    assert float(found.station_pressure_pa or 0) == pytest.approx(pascal, abs=0.06)


# Agencies' and handbooks' figures up to 10 000 ft, each within 0.5 °F: FSIS, Colorado State University,
# foodsafety.gov, and a handbook table in tenths.
@pytest.mark.parametrize(
    ("feet", "fahrenheit"),
    [(0, 212.0), (1000, 210.2), (2000, 208.0), (3000, 206.4), (5000, 203.0), (7500, 198.0), (10000, 194.0)],
)
def test_boiling_within_half_a_degree_of_handbooks(feet: float, fahrenheit: float) -> None:
    assert boil(PressureSource.ELEVATION, None, feet * 0.3048) * 1.8 + 32 == pytest.approx(fahrenheit, abs=0.5)


# The definition of an altimeter setting, solved for the room; T by IF97.
@pytest.mark.parametrize(
    ("setting_pa", "elevation_m", "celsius"),
    [
        (101325.0, 500.0, 98.312),
        (103000.0, 250.0, 99.604),
        (102000.0, 1000.0, 96.835),
        (100500.0, 2240.0, 92.284),
    ],
)
def test_boiling_by_an_altimeter_setting(setting_pa: float, elevation_m: float, celsius: float) -> None:
    assert boil(PressureSource.ALTIMETER_SETTING, setting_pa, elevation_m) == pytest.approx(celsius, abs=6e-4)


def test_an_absolute_pressure_takes_no_elevation() -> None:
    # The largest mistake there is: 1020 hPa at 1000 m is 100.160 °C in the room, 96.835 °C as a setting.
    assert boil(PressureSource.ROOM_BAROMETER, 102000.0, 1000.0) == pytest.approx(100.160, abs=6e-4)


# 8 hPa either way of the pressure at 0, 1600 and 4000 m, through IF97 as iapws 1.5.5 codes it.
@pytest.mark.parametrize(("elevation_m", "pascal"), [(0.0, 101325.0), (1600.0, 83523.53), (4000.0, 61640.21)])
def test_weather_is_in_the_budget(elevation_m: float, pascal: float) -> None:
    found = boiling_point(PressureSource.ELEVATION, None, elevation_m, 0.5, FIGURES)
    above, below = (iapws.iapws97._TSat_P((pascal + by) / 1e6) for by in (800.0, -800.0))
    assert float(found.components["pressure"].value) == pytest.approx((above - below) / 2, abs=6e-5)
    assert found.components["bath"].text() == "0.2887 dC"


def test_a_barometer_in_the_room_leaves_little() -> None:
    found = boiling_point(PressureSource.ROOM_BAROMETER, 101325.0, 0.0, 0.5, FIGURES)
    assert float(found.components["pressure"].value) == pytest.approx(0.016, abs=5e-4)


def test_what_a_source_cannot_be_is_refused() -> None:
    for source, typed, elevation in (
        (PressureSource.ROOM_BAROMETER, None, 0.0),
        (PressureSource.ROOM_BAROMETER, 1013.0, 0.0),
        (PressureSource.ALTIMETER_SETTING, 70000.0, 0.0),
        (PressureSource.ELEVATION, None, 12000.0),
    ):
        with pytest.raises(ValueError):
            boil(source, typed, elevation)


# --- comparison ----------------------------------------------------------------------------------------------

POINTS = (
    CertificatePoint(100.0, -0.30, 0.15),
    CertificatePoint(0.0, 0.10, 0.05),
    CertificatePoint(50.0, 0.0, 0.05),
)


@pytest.mark.parametrize(
    ("shown", "celsius", "correction", "u"),
    [
        ("0.0 C", "0.1", "0.1 dC", 0.05),  # at a point: its own correction, added
        ("25.0 C", "25.05", "0.05 dC", 0.05),
        ("75.0 C", "74.85", "-0.15 dC", 0.10),
        ("167.0 F", "74.85", "-0.15 dC", 0.10),  # 167 °F is 75 °C
        ("100.0 C", "99.7", "-0.3 dC", 0.15),
    ],
)
def test_corrections_are_interpolated_and_added(shown: str, celsius: str, correction: str, u: float) -> None:
    # Straight lines between the points, worked by hand; correction = -offset, added to the reading.
    found = corrected(Reading.from_text(shown), POINTS, ISSUED, None, A_YEAR_ON, 0.0)
    assert found.celsius == Fraction(celsius)
    assert found.correction.text() == correction
    assert found.u == pytest.approx(u, abs=1e-12)
    assert found.u_drift == 0.0


@pytest.mark.parametrize("shown", ["-0.1 C", "100.1 C", "212.1 F"])
def test_outside_its_points_a_certificate_says_nothing(shown: str) -> None:
    with pytest.raises(ValueError, match="range"):
        corrected(Reading.from_text(shown), POINTS, ISSUED, None, A_YEAR_ON, 0.0)


def test_a_certificate_of_no_points_and_one_from_tomorrow() -> None:
    with pytest.raises(ValueError, match="range"):
        corrected(Reading.from_text("0.0 C"), (), ISSUED, None, A_YEAR_ON, 0.0)
    with pytest.raises(ValueError, match="before"):
        corrected(Reading.from_text("0.0 C"), POINTS, A_YEAR_ON, None, ISSUED, 0.0)


def test_drift_grows_by_the_year_and_doubles_past_the_date() -> None:
    # 0.2 °C a year rectangular, 365 days of 365.25; the doubling is judgement.
    shown = Reading.from_text("50.0 C")
    a_year = 0.2 / sqrt(3) * 365 / 365.25
    in_time = corrected(shown, POINTS, ISSUED, A_YEAR_ON, A_YEAR_ON, 0.2)
    past = corrected(shown, POINTS, ISSUED, date(2026, 3, 2), A_YEAR_ON, 0.2)
    assert in_time.u_drift == pytest.approx(a_year, rel=1e-12)
    assert past.u_drift == pytest.approx(2 * a_year, rel=1e-12)
    assert past.celsius == in_time.celsius


def test_past_its_date_a_certificate_that_states_no_drift_widens_all_the_same() -> None:
    # 0.1 °C a year rectangular where none is stated, doubled as any: both judgement.
    shown, past_due = Reading.from_text("50.0 C"), date(2026, 3, 2)
    least = 2 * 0.1 / sqrt(3) * 365 / 365.25
    assert corrected(shown, POINTS, ISSUED, past_due, A_YEAR_ON, 0.0).u_drift == pytest.approx(least, rel=1e-12)
    assert corrected(shown, POINTS, ISSUED, A_YEAR_ON, A_YEAR_ON, 0.0).u_drift == 0.0  # its last day
    given = corrected(shown, POINTS, ISSUED, past_due, A_YEAR_ON, 0.0, unstated_drift=0.3)
    assert given.u_drift == pytest.approx(3 * least, rel=1e-12)


def beside(celsius: str, u: float, u_drift: float = 0.0) -> Corrected:
    return Corrected(Fraction(celsius), TemperatureDifference.from_text("0 dC"), u, u_drift)


def test_one_reference_thermometer() -> None:
    found = comparison([beside("65.05", 0.1, 0.06)], 0.2, 0.0289)
    assert str(found.celsius) == "65.05"
    assert {code: part.text() for code, part in found.components.items()} == {
        "bath": "0.1155 dC",
        "reference": f"{hypot(0.1, 0.0289):.4f} dC",
        "reference_drift": "0.06 dC",
    }


def test_two_of_a_house_reference_do_not_average_out() -> None:
    # Mean of 65.0 and 65.4; the larger u, and half of what they differ, rectangular.
    found = comparison([beside("65", 0.1), beside("65.4", 0.2)], 0.2, 0.0289)
    assert str(found.celsius) == "65.2"
    wanted = sqrt(0.2**2 + (0.2 / sqrt(3)) ** 2 + 0.0289**2)
    assert float(found.components["reference"].value) == pytest.approx(wanted, abs=5e-5)
    with pytest.raises(ValueError, match="needs a reference"):
        comparison([], 0.2, 0.0)


def test_mean_of_three_pairs() -> None:
    assert str(mean([Fraction(4), Fraction("4.1"), Fraction("4.3")])) == "4.1333"
