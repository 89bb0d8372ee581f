"""Ticks: 1-2-5 for values, the calendar for time."""

from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.charts import DAY_US, Tick, nice_step, time_ticks, value_ticks
from tests.charts.samples import MADRID, WORDS, instant


@given(st.floats(1e-6, 1e9), st.integers(1, 50))
def test_a_step_is_the_smallest_of_1_2_5_that_is_enough(span: float, most: int) -> None:
    step = nice_step(span, most)
    assert step.as_tuple().digits in ((1,), (2,), (5,))
    assert Decimal(repr(span)) <= step * most
    smaller = step / 2 if step.as_tuple().digits != (5,) else step * 2 / 5
    assert Decimal(repr(span)) > smaller * most


@pytest.mark.parametrize("span", [0.0, -1.0, float("nan"), float("inf")])
def test_no_step_without_a_span(span: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        nice_step(span, 5)


@given(st.floats(0.01, 1e4))
def test_value_ticks_are_exact_multiples_within_the_ends_with_nought(end: float) -> None:
    ticks = value_ticks(-end, end)
    step = nice_step(2 * end, 7)
    assert Decimal(0) in ticks
    assert all(one % step == 0 and abs(one) <= Decimal(repr(end)) for one in ticks)
    assert 3 <= len(ticks) <= 8


def local(ticks: list[Tick], zone: str = MADRID) -> list[str]:
    return [f"{datetime.fromtimestamp(one.at / 1e6, ZoneInfo(zone)):%Y-%m-%d %H:%M}" for one in ticks if one.label]


def ticks(low: str, high: str, zone: str = MADRID, **more: int) -> list[Tick]:
    return time_ticks(instant(low, zone), instant(high, zone), zone, WORDS.time, **more)


def test_days_are_local_midnights_over_a_change_of_the_clock() -> None:
    # EU rule: summer time begins on the last Sunday of March at 01:00 UTC, so that 29 March 2026 has 23 hours.
    found = ticks("2026-03-27 12:00", "2026-04-01 12:00")
    assert local(found) == [f"2026-03-{day} 00:00" for day in (28, 29, 30, 31)] + ["2026-04-01 00:00"]
    hours = [(b.at - a.at) / (DAY_US / 24) for a, b in pairwise(found)]
    assert hours == [24, 23, 24, 24]


def test_hours_leave_out_the_one_that_is_leapt_over() -> None:
    found = local(ticks("2026-03-28 23:30", "2026-03-29 06:30"))
    assert found == [f"2026-03-29 0{hour}:00" for hour in (0, 1, 3, 4, 5, 6)]


def test_hours_on_the_night_when_one_comes_twice() -> None:
    found = ticks("2026-10-25 00:00", "2026-10-25 05:30")
    assert local(found) == [f"2026-10-25 0{hour}:00" for hour in range(6)]
    assert len({one.at for one in found}) == 6


def test_a_day_that_begins_without_a_midnight_has_its_tick_all_the_same() -> None:
    # IANA: São Paulo leapt from 00:00 to 01:00 on 4 November 2018.
    found = ticks("2018-11-02 12:00", "2018-11-06 12:00", "America/Sao_Paulo")
    assert local(found, "America/Sao_Paulo") == [
        "2018-11-03 00:00",
        "2018-11-04 01:00",
        "2018-11-05 00:00",
        "2018-11-06 00:00",
    ]


def test_weeks_begin_on_mondays() -> None:
    found = local(ticks("2026-02-01 00:00", "2026-03-20 00:00"))
    assert [datetime.fromisoformat(one).weekday() for one in found] == [0] * len(found)
    assert found[0] == "2026-02-02 00:00"


def test_a_leap_day_is_a_day() -> None:
    assert "2024-02-29 00:00" in local(ticks("2024-02-27 06:00", "2024-03-02 06:00"))
    assert "2026-02-29 00:00" not in local(ticks("2026-02-27 06:00", "2026-03-02 06:00"))


def test_quarters_have_months_between() -> None:
    found = ticks("2024-12-10 00:00", "2026-06-20 00:00")
    assert [one.label for one in found if one.label][:2] == [
        "quarter 2025-01-01 00:00 first",
        "quarter 2025-04-01 00:00",
    ]
    assert len([one for one in found if not one.label]) == 12
    assert [one.at for one in found] == sorted({one.at for one in found})


def test_years_apart() -> None:
    found = local(ticks("1999-06-01 00:00", "2026-06-01 00:00"))
    assert found == [f"{year}-01-01 00:00" for year in (2000, 2005, 2010, 2015, 2020, 2025)]


@given(
    st.integers(instant("1971-01-01"), instant("2190-01-01")),
    st.floats(0.1, 40_000),
    st.sampled_from([MADRID, "America/New_York", "Pacific/Apia", "Asia/Kathmandu", "Australia/Lord_Howe"]),
)
def test_there_are_never_more_labels_than_fit(low: int, days: float, zone: str) -> None:
    high = low + int(days * DAY_US)
    found = time_ticks(low, high, zone, WORDS.time)
    assert len([one for one in found if one.label]) <= 11  # nine steps, a short month or a change of the clock
    assert all(low <= one.at <= high for one in found)
    assert [one.at for one in found] == sorted({one.at for one in found})
