"""Days, times and months as people type them. What regions write comes from Unicode CLDR, as babel carries it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.services.problems import Refused
from registry.wording import format
from ui.proof import typed

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "region", "language", "wanted"),
    [
        ("2026-03-04", "en_US", "en", date(2026, 3, 4)),
        ("20260304", "es_ES", "es", date(2026, 3, 4)),
        ("3/4/2026", "en_US", "en", date(2026, 3, 4)),  # CLDR: M/d/yy
        ("3/4/2026", "en_GB", "en", date(2026, 4, 3)),  # CLDR: dd/MM/y
        ("04-03-26", "es_ES", "es", date(2026, 3, 4)),  # CLDR: d/M/yy
        ("4.3.2026", "de_DE", "en", date(2026, 3, 4)),
        ("March 4, 2026", "en_US", "en", date(2026, 3, 4)),
        ("4th of March 2026", "en_GB", "en", date(2026, 3, 4)),
        ("4 de marzo de 2026", "en_US", "es", date(2026, 3, 4)),
        ("4 mar", "es_ES", "en", date(2026, 3, 4)),
        ("12/31", "en_US", "en", date(2025, 12, 31)),  # the last that has come
    ],
)
def test_a_day_in_the_order_of_the_region(text: str, region: str, language: str, wanted: date) -> None:
    assert typed.day(text, region, language, TODAY) == wanted


@pytest.mark.parametrize(
    "text", ["", "13/13/2026", "31/2/2026", "2026", "yesterday", "3 Brumaire", "1/2/3/4", "2026-3-"]
)
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(Refused) as refused:
        typed.day(text, "en_US", "en", TODAY)
    assert [(one.field, one.code) for one in refused.value.problems] == [("day", "not_a_day")]


@given(
    day=st.dates(date(2000, 1, 1), date(2099, 12, 31)),
    region=st.sampled_from(["en_US", "en_GB", "en_IE", "en_CA", "es_ES", "es_MX", "es_US", "de_DE", "fr_FR", "sv_SE"]),
)
def test_a_day_as_the_window_writes_it_is_read_again(day: date, region: str) -> None:
    assert typed.day(format.day(day, region), region, "en", TODAY) == day
    assert typed.day(format.short_day(day, region), region, "es", TODAY) == day


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("14:30", "14:30"),
        ("9.05", "09:05"),
        ("1430", "14:30"),
        ("14h30", "14:30"),
        ("2:30 PM", "14:30"),
        ("2:30\u202fPM", "14:30"),
        ("12 am", "00:00"),
        ("12:15 p. m.", "12:15"),
        ("0:00", "00:00"),
        ("6:00 a.m.", "06:00"),
    ],
)
def test_a_time_in_either_clock(text: str, wanted: str) -> None:
    assert typed.time(text) == wanted


@pytest.mark.parametrize("text", ["", "9", "24:00", "13 pm", "0:30 pm", "12:60", "half past two", "2:3"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(Refused) as refused:
        typed.time(text)
    assert [(one.field, one.code) for one in refused.value.problems] == [("time", "not_a_time")]


@given(minute=st.integers(0, 1439), region=st.sampled_from(["en_US", "en_GB", "es_ES", "es_MX", "es_US", "de_DE"]))
def test_a_time_as_the_window_writes_it_is_read_again(minute: int, region: str) -> None:
    at = 1_772_496_000_000_000 + minute * 60_000_000  # 2026-03-03 00:00 UTC, and so many minutes
    assert typed.time(format.clock(at, "UTC", region)) == f"{minute // 60:02d}:{minute % 60:02d}"


@pytest.mark.parametrize(
    "text", ["2026-03", "3/2026", "03.2026", "March 2026", "marzo de 2026", "mar 2026", "March", "2026-03-17"]
)
def test_a_month(text: str) -> None:
    assert typed.month(text, "en_GB", "es", TODAY) == date(2026, 3, 1)


@pytest.mark.parametrize("text", ["", "2026", "13/2026", "Smarch 2026"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(Refused) as refused:
        typed.month(text, "en_GB", "en", TODAY)
    assert [(one.field, one.code) for one in refused.value.problems] == [("month", "not_a_month")]


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_the_months_around(day: date) -> None:
    first = day.replace(day=1)
    before, after = typed.month_before(first), typed.month_after(first)
    assert before.day == after.day == 1
    assert before + timedelta(days=1) <= first - timedelta(days=27)
    assert typed.month_before(after) == first == typed.month_after(before)
