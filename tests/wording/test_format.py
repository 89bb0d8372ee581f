"""Numbers, temperatures, dates and times by region. Expectations: CLDR and the project's own style."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction

import pytest
from babel.numbers import parse_decimal
from hypothesis import given
from hypothesis import strategies as st

from registry import resources
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.wording import format as fmt

REGIONS = sorted({each.region for each in resources.countries().values()})


def at(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp()) * 1_000_000  # type: ignore[misc, arg-type]


@pytest.mark.parametrize(
    ("text", "region", "shown"),
    [
        ("0.4 C", "en_GB", "0.4\u00a0°C"),
        ("0.4 C", "es_ES", "0,4\u00a0°C"),
        ("-18.0 C", "es_ES", "\u221218,0\u00a0°C"),
        ("0.10 C", "en_US", "0.10\u00a0°C"),  # digits as typed
        ("33 F", "en_US", "33\u00a0°F"),
        ("0.4 C", "es_MX", "0.4\u00a0°C"),  # CLDR: Mexico writes a point
        ("0.4 C", "es_AR", "0,4\u00a0°C"),
    ],
)
def test_a_temperature_by_region(text: str, region: str, shown: str) -> None:
    assert fmt.temperature(Reading.from_text(text), region) == shown


@pytest.mark.parametrize(
    ("value", "places", "region", "shown"),
    [
        (Decimal("0.4"), 1, "en_GB", "+0.4\u00a0°C"),
        (Decimal("-0.8"), 1, "es_ES", "\u22120,8\u00a0°C"),
        (Decimal("0"), 1, "en_GB", "0.0\u00a0°C"),
        (Decimal("-0.0"), 1, "en_GB", "0.0\u00a0°C"),
        (Decimal("-0.04"), 1, "en_GB", "0.0\u00a0°C"),  # a sign on what is shown as zero would say too much
        (Decimal("0.05"), 1, "en_GB", "0.0\u00a0°C"),  # half-even
        (Decimal("0.15"), 1, "en_GB", "+0.2\u00a0°C"),
        (Fraction(1, 3), 2, "es_ES", "+0,33\u00a0°C"),
        (Decimal("1"), 0, "en_US", "+1\u00a0°C"),
    ],
)
def test_an_offset_is_signed(value: Decimal | Fraction, places: int, region: str, shown: str) -> None:
    assert fmt.offset(TemperatureDifference(value, "C"), region, places) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [  # GUM 7.2.6: two significant digits at most
        ("0.4512", "±0.45"),
        ("0.4", "±0.40"),
        ("0.996", "±1.0"),
        ("0.0964", "±0.096"),
        ("1.25", "±1.2"),
        ("12.6", "±13"),
        ("124", "±120"),
    ],
)
def test_an_expanded_uncertainty_has_two_digits(value: str, shown: str) -> None:
    assert fmt.expanded(TemperatureDifference(Decimal(value), "F"), "en_US") == f"{shown}\u00a0°F"


@pytest.mark.parametrize("value", ["0", "-0.1"])
def test_an_uncertainty_that_is_not_positive_is_refused(value: str) -> None:
    with pytest.raises(ValueError):
        fmt.expanded(TemperatureDifference(Decimal(value), "C"), "en_US")


def test_a_difference_is_never_shown_as_a_temperature_nor_the_other_way() -> None:
    reading, difference = Reading.from_text("1 C"), TemperatureDifference.from_text("1 dC")
    with pytest.raises(TypeError):
        fmt.temperature(difference, "en_US")  # type: ignore[arg-type]
    for shown in (fmt.offset, fmt.expanded):
        with pytest.raises(TypeError):
            shown(reading, "en_US")  # type: ignore[operator]


def test_a_limit_keeps_the_digits_of_its_rule() -> None:
    assert fmt.limit(TemperatureDifference.from_text("1.5 dC"), "es_ES") == "±1,5\u00a0°C"
    assert fmt.limit(TemperatureDifference.from_text("2 dF"), "en_US") == "±2\u00a0°F"


def test_pressures_and_elevations_as_typed() -> None:
    assert fmt.typed(Pressure.from_text("29.92 inHg"), "en_US") == "29.92\u00a0inHg"
    assert fmt.typed(Pressure.from_text("1013.2 hPa"), "es_ES") == "1\u00a0013,2\u00a0hPa"
    assert fmt.typed(Length.from_text("-3 m"), "en_GB") == "\u22123\u00a0m"


@given(st.decimals(-99999, 99999, places=2, allow_nan=False), st.sampled_from(REGIONS))
def test_a_number_reads_back_as_itself(value: Decimal, region: str) -> None:
    """By Babel's own parser, once the spaces of thousands and the true minus are made plain."""
    shown = fmt.number(value, region)
    plain = shown.replace(fmt.HARD_SPACE, "").replace(fmt.MINUS, "")
    sign = -1 if shown.startswith(fmt.MINUS) else 1
    assert sign * parse_decimal(plain, locale=region) == value


@pytest.mark.parametrize(
    ("region", "long", "short"),
    [  # CLDR order; Spanish regions with hyphens (the project's style)
        ("en_US", "March\u00a04, 2026", "03/04/2026"),
        ("en_GB", "4\u00a0March 2026", "04/03/2026"),
        ("es_ES", "04-03-2026", "04-03-2026"),
        ("es_US", "4\u00a0de marzo de 2026", "03/04/2026"),  # Spanish words in a country of another language
        ("es_GB", "4\u00a0de marzo de 2026", "04/03/2026"),  # CLDR has no es_GB
        ("en_ES", "4\u00a0March 2026", "04-03-2026"),
        ("en_MX", "March\u00a04, 2026", "04-03-2026"),
        ("de_DE", "04.03.2026", "04.03.2026"),
        ("fr_FR", "04/03/2026", "04/03/2026"),
        ("sv_SE", "2026-03-04", "2026-03-04"),
    ],
)
def test_a_day_by_region(region: str, long: str, short: str) -> None:
    assert fmt.day(date(2026, 3, 4), region) == long
    assert fmt.short_day(date(2026, 3, 4), region) == short


@pytest.mark.parametrize("region", REGIONS)
def test_every_region_writes_the_whole_date_and_hard_spaces_only(region: str) -> None:
    shown = fmt.short_day(date(2026, 3, 4), region)
    assert sorted(re.findall("[0-9]+", shown)) == ["03", "04", "2026"]
    assert not {" ", "\u202f", "\u2009"} & set(fmt.clock(at(2026, 3, 4, 14, 30), "UTC", region))


@pytest.mark.parametrize(
    ("zone", "region", "shown"),
    [  # IANA: Madrid +1 in winter, Chicago -6, Kathmandu +5:45
        ("Europe/Madrid", "es_ES", "03-03-2026, 15:30"),
        ("America/Chicago", "en_US", "March\u00a03, 2026, 8:30\u00a0AM"),
        ("Asia/Kathmandu", "en_GB", "3\u00a0March 2026, 20:15"),
        ("America/Chicago", "es_US", "3\u00a0de marzo de 2026, 8:30\u00a0a.m."),
        ("Europe/London", "es_GB", "3\u00a0de marzo de 2026, 14:30"),
        ("America/Bogota", "en_CO", "March\u00a03, 2026, 9:30\u00a0AM"),  # Colombia's clock, said in English
    ],
)
def test_an_instant_in_its_zone(zone: str, region: str, shown: str) -> None:
    assert fmt.instant(at(2026, 3, 3, 14, 30), zone, region) == shown


def test_figures_stay_the_countrys_whatever_language_is_around() -> None:
    for own in REGIONS:
        for language in resources.languages():
            here = fmt.region_in(language, own)
            assert fmt.number(Decimal("-1048.5"), here) == fmt.number(Decimal("-1048.5"), own), here
            assert fmt.short_day(date(2026, 3, 4), here) == fmt.short_day(date(2026, 3, 4), own), here


def test_an_instant_over_midnight_and_after_the_clock_went_forward() -> None:
    assert fmt.instant(at(2026, 3, 29, 0, 59), "Europe/Madrid", "es_ES") == "29-03-2026, 1:59"
    assert fmt.instant(at(2026, 3, 29, 1, 0), "Europe/Madrid", "es_ES") == "29-03-2026, 3:00"
    assert fmt.instant(at(2026, 3, 3, 23, 30), "Europe/Madrid", "es_ES") == "04-03-2026, 0:30"
