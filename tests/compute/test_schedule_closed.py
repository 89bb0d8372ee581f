"""Closed days, forecasts and turns: by hand over both changes of clock, and against a plain calendar."""

from datetime import UTC, date, datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.schedule import DueRule, History, Looked, by_turns, coming, due, in_turn, next_due, waited_longest

HOUR_US = 3_600_000_000
WEEKLY = (DueRule("every_days", days=7),)


def at(local: str, zone: str) -> int:
    return int(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp()) * 1_000_000


def checked(local: str, zone: str) -> History:
    good = at(local, zone)
    return History("t", "t", "dial", "s", False, 0, "in_service", {"ice_point": good}, last_good_at=good)


def state(history: History, local: str, zone: str, closed: frozenset[date]) -> str | None:
    found = due(history, WEEKLY, (), zone, at(local, zone), 0, closed)
    return found[0].state if found else None


@pytest.mark.parametrize(
    ("good", "closed", "now", "wanted"),
    [
        # Madrid leaps on Sunday 29 March 2026 at 02:00: Saturday to Monday closed, 71 hours; due through Tuesday.
        ("2026-03-21T09:00", ("2026-03-28", "2026-03-29", "2026-03-30"), "2026-03-27T23:59", None),
        ("2026-03-21T09:00", ("2026-03-28", "2026-03-29", "2026-03-30"), "2026-03-28T00:00", "due"),
        ("2026-03-21T09:00", ("2026-03-28", "2026-03-29", "2026-03-30"), "2026-03-31T23:59", "due"),
        ("2026-03-21T09:00", ("2026-03-28", "2026-03-29", "2026-03-30"), "2026-04-01T00:00", "overdue"),
        # It is set back on Sunday 25 October 2026 at 03:00: the same weekend, 73 hours.
        ("2026-10-17T09:00", ("2026-10-24", "2026-10-25", "2026-10-26"), "2026-10-27T23:59", "due"),
        ("2026-10-17T09:00", ("2026-10-24", "2026-10-25", "2026-10-26"), "2026-10-28T00:00", "overdue"),
        # A closed day before it or after it changes nothing.
        ("2026-10-17T09:00", ("2026-10-23", "2026-10-25"), "2026-10-24T23:59", "due"),
        ("2026-10-17T09:00", ("2026-10-23", "2026-10-25"), "2026-10-25T00:00", "overdue"),
    ],
)
def test_what_is_due_on_a_closed_day_waits_for_the_first_open_one(
    good: str, closed: tuple[str, ...], now: str, wanted: str | None
) -> None:
    days = frozenset(map(date.fromisoformat, closed))
    assert state(checked(good, "Europe/Madrid"), now, "Europe/Madrid", days) == wanted


def test_a_forecast_is_due_on_its_day_and_overdue_after_it() -> None:
    plan = (DueRule("forecast"),)
    history = History("t", "t", "dial", "s", False, 0, "in_service", {}, forecast_day=date(2026, 3, 29))
    zone = "Europe/Madrid"
    for now, wanted in (("2026-03-28T23:59", ()), ("2026-03-29T00:00", ("due",)), ("2026-03-30T00:00", ("overdue",))):
        assert tuple(one.state for one in due(history, plan, (), zone, at(now, zone), 0)) == wanted
    item = next_due(history, plan, (), zone, 5, 0)
    assert item is not None
    assert (item.day, item.why) == (date(2026, 3, 29), ("forecast", {"day": date(2026, 3, 29)}))
    assert coming(History("t", "t", "dial", "s", False, 0, "in_service", {}), plan, (), zone, 5, 0) == ()


def test_what_comes_is_everything_open_in_order() -> None:
    plan = (DueRule("every_days", days=9), DueRule("hot_point", days=3), DueRule("new"))
    history = History(
        "t", "t", "dial", "s", True, 0, "in_service", {"ice_point": 0}, last_good_at=0, last_good_hot_at=0
    )
    found = coming(history, plan, (), "UTC", 5, 0)
    assert [(one.code, one.day.isoformat()) for one in found] == [
        ("hot_point", "1970-01-04"),
        ("every_days", "1970-01-10"),
    ]


# --- by turns ------------------------------------------------------------------------------------------------


def test_who_is_taken_by_turns() -> None:
    """More rarely than daily by every rule, and not each shift."""
    sentinel = DueRule("sentinel", types=frozenset(("probe",)))
    weekly = DueRule("every_days", days=7)
    assert by_turns((sentinel, weekly), "probe", "s", "t") == (weekly,)
    assert by_turns((sentinel, weekly), "dial", "s", "t") == ()
    assert by_turns((weekly,), "probe", "s", "t") == ()
    assert by_turns((sentinel, weekly, DueRule("each_shift")), "probe", "s", "t") == ()
    assert by_turns((sentinel, weekly, DueRule("every_days", "ice_point", 1)), "probe", "s", "t") == ()
    assert by_turns((sentinel, DueRule("new")), "probe", "s", "t") == ()


@given(st.integers(1, 9), st.integers(1, 3), st.lists(st.tuples(st.integers(0, 60), st.integers(0, 8)), max_size=9))
def test_nobody_gets_a_second_turn_before_the_others(many: int, shifts: int, changes: list[tuple[int, int]]) -> None:
    """Over 60 days with so many shifts each, some are taken away and put back at random."""
    first, away, looked = date(2026, 3, 1), set[str](), {f"t{n}": n - 100 for n in range(many)}
    turns: list[tuple[str, frozenset[str]]] = []
    for n in range(60):
        away ^= {f"t{which}" for when, which in changes if when == n}
        for shift in range(shifts):
            here = sorted(set(looked) - away)
            order = waited_longest({one: looked[one] for one in here})
            those = [Looked(one, first + timedelta(looked[one] // 10), date.max) for one in order]
            one = in_turn(first + timedelta(n), those)
            assert (one is None) == (len([each for each in those if each.on < first + timedelta(n)]) == 0)
            if one is not None:
                turns.append((one, frozenset(here)))
                looked[one] = n * 10 + shift
    for n, (one, _) in enumerate(turns):
        later = next((m for m in range(n + 1, len(turns)) if turns[m][0] == one), None)
        if later is not None:
            between = turns[n : later + 1]
            always_there = frozenset.intersection(*(here for _, here in between))
            assert always_there <= {each for each, _ in between}


def test_one_wanted_by_days_on_that_day_is_passed_over() -> None:
    day, before = date(2026, 3, 3), date(2026, 3, 2)
    those = [Looked("a", before, day), Looked("b", before, day + timedelta(1))]
    assert in_turn(day, those) == "b"
    assert in_turn(day, those[:1]) is None
    assert in_turn(day, [Looked("b", day, date.max)]) is None  # looked at today


@pytest.mark.slow
@pytest.mark.parametrize(
    "zone",
    ["Europe/Madrid", "America/Denver", "Australia/Lord_Howe", "Asia/Kathmandu", "America/Bogota", "Pacific/Apia"],
)
def test_every_hour_of_two_years_with_closed_days_against_a_plain_calendar(zone: str) -> None:
    """The reference knows only what day it is somewhere, and counts days on fingers."""
    draw, first = Random(zone), date(2025, 1, 1)
    closed = frozenset(first + timedelta(n) for n in range(760) if draw.random() < 0.3)
    place, start = ZoneInfo(zone), int(datetime(2025, 1, 1, tzinfo=UTC).timestamp()) * 1_000_000
    good, looked = start, 0
    for hour in range(1, 730 * 24):
        now = start + hour * HOUR_US
        today = datetime.fromtimestamp(now // 1_000_000, place).date()
        opens = datetime.fromtimestamp(good // 1_000_000, place).date() + timedelta(7)
        last = opens
        while last in closed:
            last += timedelta(1)
        wanted = None if today < opens else "due" if today <= last else "overdue"
        history = History("t", "t", "dial", "s", False, 0, "in_service", {"ice_point": good}, last_good_at=good)
        found = due(history, WEEKLY, (), zone, now, 0, closed)
        assert (found[0].state if found else None) == wanted, (zone, now)
        looked += 1
        if draw.random() < 0.004:  # checked again
            good = now
    assert looked == 730 * 24 - 1
