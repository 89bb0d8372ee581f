"""Quantities as typed. Forms: the project's own; conversions: the sources beside each check."""

import re
from contextlib import nullcontext
from decimal import Decimal
from fractions import Fraction
from typing import get_args

import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from registry.quantity import (
    Length,
    LengthUnit,
    NotAReading,
    Pressure,
    PressureUnit,
    Reading,
    TemperatureDifference,
    exact,
    mean_difference,
    parse_number,
    parse_reading,
    too_fine,
)

UNITS = st.sampled_from(["C", "F"])
READINGS = st.decimals(-9999, 9999, places=None, allow_nan=False).map(lambda d: round(d, 3)) | st.integers(
    -9999, 9999
).map(Decimal)


# --- readings ---


@pytest.mark.parametrize("text", ["-18.0 C", "33 F", "0.10 C", "0.1 C", "-0.0 C", "-0 F", "9999.999 C", "0 C"])
def test_text_keeps_the_digits_as_typed(text: str) -> None:
    assert Reading.from_text(text).text() == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "33",
        "33 K",
        "+33 F",
        "33F",
        "33  F",
        " 33 F",
        "33 F\n",
        "33,5 C",
        "−18 C",
        "007 C",
        "1e2 C",
        "NaN C",
        ".5 C",
        "5. C",
        "12345 C",
        "1.23456 C",
        "٣٣ C",
        "0.25 dC",
        "33 f",
        "1_0 C",
    ],
)
def test_any_other_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        Reading.from_text(text)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "12345", "1E-7", "1.23456"])
def test_a_reading_that_has_no_text_cannot_be_made(value: str) -> None:
    with pytest.raises(ValueError):
        Reading(Decimal(value), "C")


@given(READINGS, UNITS)
def test_reading_round_trip(value: Decimal, unit: str) -> None:
    text = Reading(value, unit).text()
    assert Reading.from_text(text).text() == text
    assert Reading.from_text(text).value == value


# Pairs that the definition of the degree Fahrenheit fixes, t_F = 9/5 t_C + 32 (NIST SP 811, B.8).
@pytest.mark.parametrize(
    ("text", "celsius"),
    [("32 F", 0), ("212 F", 100), ("-40 F", -40), ("-40 C", -40), ("33 F", Fraction(5, 9)), ("41.0 F", 5)],
)
def test_celsius_is_exact(text: str, celsius: Fraction) -> None:
    assert Reading.from_text(text).celsius() == celsius


# 99.974 °C and 211.954 °F: normal boiling point, IAPWS-IF97 (iapws 1.5.5); shown as 100.0 and 212.0.
@pytest.mark.parametrize(
    ("celsius", "unit", "shown"),
    [
        (99.9743, "C", "100.0 C"),
        (99.9743, "F", "212.0 F"),
        (0.0, "F", "32.0 F"),
        (-0.04, "C", "0.0 C"),
        (0.25, "C", "0.2 C"),
        (0.35, "C", "0.4 C"),
        (Fraction(1, 36), "F", "32.0 F"),
        (94.6496, "F", "202.4 F"),
    ],
)
def test_a_computed_temperature_is_shown_half_even_to_a_tenth_in_its_own_unit(
    celsius: float, unit: str, shown: str
) -> None:
    assert Reading.from_celsius(celsius, unit).text() == shown


def test_rounding_comes_after_the_change_of_unit() -> None:
    # 93.36 °C is 200.048 °F and shows 200.0; rounded to 93.4 °C first it would show 200.1.
    assert Reading.from_celsius(93.36, "F").text() == "200.0 F"


# --- differences ---


def test_reading_minus_reference_is_an_exact_difference_with_its_sign() -> None:
    offset = Reading.from_text("33 F") - Reading.from_text("32.0 F")
    assert offset == TemperatureDifference(Decimal("1.0"), "F")
    assert offset.text() == "1.0 dF"
    assert (Reading.from_text("-0.4 C") - Reading.from_text("0.0 C")).text() == "-0.4 dC"


def test_a_difference_of_zero_has_no_sign() -> None:
    assert (Reading.from_text("-0.0 C") - Reading.from_text("0.0 C")).text() == "0.0 dC"


def test_readings_in_two_units_have_no_difference() -> None:
    with pytest.raises(ValueError, match="°C and °F"):
        Reading.from_text("0 C") - Reading.from_text("32 F")


def test_a_temperature_and_a_difference_do_not_mix() -> None:
    reading, offset = Reading.from_text("33 F"), TemperatureDifference.from_text("1 dF")
    with pytest.raises(TypeError):
        reading - offset  # type: ignore[operator]
    with pytest.raises(TypeError):
        reading + offset  # type: ignore[operator]
    with pytest.raises(ValueError):
        TemperatureDifference.from_text("33 F")
    assert reading != TemperatureDifference(Decimal(33), "F")
    assert not hasattr(offset, "celsius")


def test_a_difference_is_scaled_and_never_shifted_by_32() -> None:
    # A kelvin is 9/5 of a degree Fahrenheit (NIST SP 811, B.8); a tolerance of 1 °C is not 33.8 °F.
    assert TemperatureDifference.from_text("1 dC").to("F").value == Fraction(9, 5)
    assert TemperatureDifference.from_text("0 dC").to("F").value == 0
    assert TemperatureDifference.from_text("2 dF").to("C").value == Fraction(10, 9)
    assert TemperatureDifference.from_text("2 dF").to("C").rounded(4).text() == "1.1111 dC"


@given(st.fractions(-1000, 1000), UNITS)
def test_difference_there_and_back(value: Fraction, unit: str) -> None:
    difference = TemperatureDifference(value, unit)
    assert difference.to("F").to("C").to(unit) == difference


@given(READINGS, READINGS)
def test_the_difference_of_two_readings_is_the_same_in_both_units(first: Decimal, second: Decimal) -> None:
    left, right = Reading(first, "F"), Reading(second, "F")
    assert (left - right).to("C").value == left.celsius() - right.celsius()


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        ("0.00005", 4, "0.0000 dC"),
        ("0.00015", 4, "0.0002 dC"),
        ("-0.00005", 4, "0.0000 dC"),
        ("0.25", 1, "0.2 dC"),
        ("0.25", 4, "0.2500 dC"),
        ("-12.34565", 4, "-12.3456 dC"),
    ],
)
def test_rounding_is_half_even_with_all_its_places(value: str, places: int, text: str) -> None:
    assert TemperatureDifference(Decimal(value), "C").rounded(places).text() == text
    assert TemperatureDifference(Fraction(value), "C").rounded(places).text() == text


@given(st.fractions(-9999, 9999), UNITS)
def test_difference_round_trip(value: Fraction, unit: str) -> None:
    rounded = TemperatureDifference(value, unit).rounded(4)
    assert TemperatureDifference.from_text(rounded.text()) == rounded
    assert abs(Fraction(rounded.value) - value) <= Fraction(1, 20000)


@pytest.mark.parametrize("text", ["0.25 C", "0.25 dK", "0.25dC", "+0.25 dC", "0.25001 dC", "1/3 dC", "01 dC"])
def test_any_other_text_of_a_difference_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        TemperatureDifference.from_text(text)


def test_a_difference_too_long_to_write_says_so() -> None:
    for value in (Fraction(1, 3), Decimal("0.12345")):
        with pytest.raises(ValueError):
            TemperatureDifference(value, "C").text()
    with pytest.raises(ValueError):
        TemperatureDifference(Decimal("NaN"), "C")


def test_the_mean_of_three_is_exact() -> None:
    reference = Reading.from_text("32.0 F")
    three = [Reading.from_text(text) - reference for text in ("34.5 F", "34.0 F", "34.1 F")]
    assert mean_difference(three) == TemperatureDifference(Fraction(66, 30), "F")
    with pytest.raises(ValueError):
        mean_difference([*three, TemperatureDifference.from_text("1 dC")])


# --- pressures and lengths ---


# NIST SP 811 (2008), appendix B.8: inch of mercury, conventional, 3.386 389 E+03 Pa; millimetre of mercury,
# conventional, 1.333 224 E+02 Pa; millibar 1.0 E+02 Pa. The publication is quoted from memory.
@pytest.mark.parametrize(
    ("text", "pascal"),
    [
        ("1 inHg", 3386.389),
        ("1 mmHg", 133.3224),
        ("1013.25 hPa", 101325.0),
        ("101.325 kPa", 101325.0),
        ("101325 Pa", 101325.0),
        ("1013.25 mbar", 101325.0),
        ("29.92 inHg", 29.92 * 3386.389),
    ],
)
def test_pascal_against_published_factors(text: str, pascal: float) -> None:
    assert Pressure.from_text(text).pascal() == pytest.approx(pascal, rel=3e-7)
    assert Pressure.from_text(text).text() == text


def test_760_mmhg_is_an_atmosphere() -> None:
    # scipy.constants (CODATA) takes mmHg as atm/760; conventional mercury differs by 1.4e-7.
    assert Pressure.from_text("760 mmHg").pascal() == pytest.approx(760 * scipy.constants.mmHg, rel=2e-7)


def test_metres() -> None:
    assert Length.from_text("400 ft").metres() == pytest.approx(400 * scipy.constants.foot, rel=1e-15)
    assert Length.from_text("-120.5 m").metres() == -120.5


@pytest.mark.parametrize("text", ["-1 hPa", "29,92 inHg", "1013.2 bar", "1013.2", "0101325 Pa", "1234567 Pa"])
def test_any_other_text_of_a_pressure_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        Pressure.from_text(text)


@pytest.mark.parametrize("text", ["120 km", "+120 m", "120m", "1,609 m", "120 C"])
def test_any_other_text_of_a_length_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        Length.from_text(text)


@given(st.integers(0, 99_999_999), st.integers(0, 2), st.sampled_from(get_args(PressureUnit)))
def test_pressure_round_trip(digits: int, places: int, unit: PressureUnit) -> None:
    pressure = Pressure(Decimal(digits % 10 ** (6 + places)).scaleb(-places), unit)
    assert Pressure.from_text(pressure.text()) == pressure
    assert Pressure.typed(f"{pressure.value:f}", unit).text() == pressure.text()


@given(st.integers(-999_999, 999_999), st.sampled_from(get_args(LengthUnit)))
def test_length_round_trip(digits: int, unit: LengthUnit) -> None:
    length = Length.typed(str(digits), unit)
    assert Length.from_text(length.text()) == length


@pytest.mark.parametrize(
    ("typed", "unit", "text"),
    [("1013,2", "hPa", "1013.2 hPa"), (" 29.921 ", "inHg", "29.921 inHg"), ("101,325", "kPa", "101.325 kPa")],
)
def test_typed_pressures(typed: str, unit: PressureUnit, text: str) -> None:
    assert Pressure.typed(typed, unit).text() == text


@pytest.mark.parametrize(
    ("typed", "unit", "code"),
    [
        ("1,013", "hPa", "group_separator"),
        ("101,325", "Pa", "group_separator"),
        ("-3", "hPa", "negative"),
        ("1.013,2", "hPa", "group_separator"),
        ("1013.255", "hPa", "too_many_digits"),
        ("", "Pa", "empty"),
    ],
)
def test_refused_pressures(typed: str, unit: PressureUnit, code: str) -> None:
    with pytest.raises(NotAReading) as refused:
        Pressure.typed(typed, unit)
    assert refused.value.code == code


def test_a_grouped_elevation_does_not_become_a_small_one() -> None:
    with pytest.raises(NotAReading) as refused:
        Length.typed("1,609", "m")
    assert refused.value.code == "group_separator"


# --- what people type ---


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("99,8", "99.8 C"),
        ("99.8", "99.8 C"),
        (" 0.10\t", "0.10 C"),
        ("\u221218", "-18 C"),
        ("-0.0", "-0.0 C"),
        ("-0", "-0 C"),
        ("1.234", "1.234 C"),
        ("9999,999", "9999.999 C"),
        ("007", "7 C"),
        ("\u00a05\u00a0", "5 C"),
    ],
)
def test_typed_readings(typed: str, text: str) -> None:
    assert parse_reading(typed, "C").text() == text


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("", "empty"),
        ("  ", "empty"),
        ("1,234.5", "group_separator"),
        ("1.234,5", "group_separator"),
        ("1 234", "group_separator"),
        ("1'234", "group_separator"),
        ("1.234.567", "group_separator"),
        ("12345", "too_many_digits"),
        ("1.2345", "too_many_digits"),
        ("9" * 5000, "too_many_digits"),
        *[(text, "not_a_number") for text in ("+5", "5.", ".5", "5..1", "--5", "5 C", "5°", "1e1", "nan")],
        *[(text, "not_a_number") for text in ("٣٣", "5\n6", "½", "0x10", "1_0", "–5", "LM214", "inf", "5\x00")],
    ],
)
def test_refused_readings(typed: str, code: str) -> None:
    with pytest.raises(NotAReading) as refused:
        parse_reading(typed, "C")
    assert (refused.value.code, refused.value.typed) == (code, typed)


@given(st.text() | st.text("-−0123456789.,' ", max_size=9))
def test_anything_typed_is_a_reading_or_refused(typed: str) -> None:
    accepted = re.fullmatch("[-−]?[0-9]{1,4}([.,][0-9]{1,3})?", typed.strip())
    with nullcontext() if accepted else pytest.raises(NotAReading):
        reading = parse_reading(typed, "F")
        assert Reading.from_text(reading.text()) == reading


@given(READINGS, st.booleans())
def test_both_decimal_marks_are_one_number(value: Decimal, comma: bool) -> None:
    typed = f"{value:f}"
    assert parse_reading(typed.replace(".", ",") if comma else typed, "C").text() == f"{typed} C"


def test_numbers_take_six_digits() -> None:
    assert parse_number("101325") == Decimal(101325)
    with pytest.raises(NotAReading):
        parse_number("1013250")


# --- finer than the instrument ---


# 99.8 against a step of 0.1 is where a test with floats goes wrong: 99.8 % 0.1 is 0.0999...
@pytest.mark.parametrize(
    ("typed", "step", "fine"),
    [
        ("99.8", "0.1", False),
        ("99.85", "0.1", True),
        ("99.80", "0.1", True),
        ("33", "1", False),
        ("33.5", "1", True),
        ("33.0", "1", True),
        ("33.5", "0.5", False),
        ("33.3", "0.5", True),
        ("33", "0.1", False),
        ("33", "2", True),
        ("34", "2", False),
        ("40", "10", False),
        ("41", "10", True),
        ("-0.4", "0.2", False),
        ("-0.3", "0.2", True),
        ("0.3", "0.10", False),
        ("-0.0", "0.1", False),
    ],
)
def test_too_fine(typed: str, step: str, fine: bool) -> None:
    assert too_fine(parse_reading(typed, "F"), Decimal(step)) is fine


@given(st.integers(-90_000, 90_000), st.sampled_from(["0.1", "0.2", "0.5", "1", "2", "0.01"]))
def test_whole_steps_are_never_too_fine(count: int, step: str) -> None:
    value = (count % 999) * Decimal(step)
    assert not too_fine(Reading(value, "C"), Decimal(step))
    assert too_fine(Reading(value + Decimal("0.001"), "C"), Decimal(step))


@pytest.mark.parametrize("step", ["0", "-0.1", "NaN"])
def test_a_step_is_positive(step: str) -> None:
    with pytest.raises((ValueError, ArithmeticError)):
        too_fine(parse_reading("1", "C"), Decimal(step))


# --- exact numbers ---


def test_a_float_is_its_shortest_decimal_text() -> None:
    assert exact(0.1) == Fraction(1, 10)
    assert exact(0.1 + 0.2) != Fraction(3, 10)
    assert exact(3) == 3


@pytest.mark.parametrize("number", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-Infinity"), Decimal("sNaN")])
def test_what_is_not_finite_is_refused(number: float) -> None:
    with pytest.raises(ValueError):
        exact(number)
