"""Shifts in local time and what is due. Instants worked out by hand are in UTC.

Dates of the changes of clock: IANA time zone database (files europe, northamerica, southamerica, australasia,
asia). How rules, states and urgency go together is this program's own, so those tests have no outside source.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute import schedule
from registry.compute.schedule import Answer, DueItem, DueRule, History, Shift, ShiftTime

MINUTE = 60_000_000
HOUR = 60 * MINUTE
DAY = 24 * HOUR
EVERY_DAY = frozenset(range(7))
START = datetime(1970, 1, 1, tzinfo=UTC)


def us(text: str) -> int:
    """Microseconds of a UTC time such as "2026-03-29 01:00"."""
    return (datetime.fromisoformat(text).replace(tzinfo=UTC) - START) // timedelta(microseconds=1)


def minutes(text: str) -> int:
    return int(text[:2]) * 60 + int(text[3:])


def shift(name: str, start: str, end: str, **changes: Any) -> Shift:
    made = Shift(name.lower(), "harbour", name, minutes(start), minutes(end), EVERY_DAY, date(1980, 1, 1))
    return replace(made, **changes)


def on_day(zone: str, day: str, start: str, end: str) -> list[tuple[int, int]]:
    only = date.fromisoformat(day)
    one = shift("One", start, end, from_day=only, to_day=only)
    around = us(f"{day} 12:00")
    times = schedule.occurrences(one, zone, around - 4 * DAY, around + 4 * DAY)
    assert all(t.day == only for t in times)
    return [(t.begins_at, t.ends_at) for t in times]


BY_HAND = [
    # Rule EU: last Sundays of March and October at 01:00 UTC. Madrid +1, in summer +2.
    ("Europe/Madrid", "2026-03-28", "22:00", "06:00", "2026-03-28 21:00", "2026-03-29 04:00"),  # 7 hours
    ("Europe/Madrid", "2026-03-29", "02:30", "10:00", "2026-03-29 01:00", "2026-03-29 08:00"),
    ("Europe/Madrid", "2026-03-28", "22:00", "02:30", "2026-03-28 21:00", "2026-03-29 01:00"),
    ("Europe/Madrid", "2026-10-24", "22:00", "06:00", "2026-10-24 20:00", "2026-10-25 05:00"),  # 9 hours
    ("Europe/Madrid", "2026-10-25", "02:30", "10:00", "2026-10-25 00:30", "2026-10-25 09:00"),
    ("Europe/Madrid", "2026-10-24", "22:00", "02:30", "2026-10-24 20:00", "2026-10-25 01:30"),
    ("Europe/Madrid", "2026-10-25", "02:00", "03:00", "2026-10-25 00:00", "2026-10-25 02:00"),
    ("Europe/Madrid", "2026-10-25", "02:10", "02:20", "2026-10-25 00:10", "2026-10-25 01:20"),
    ("Europe/Madrid", "2026-10-24", "06:00", "06:00", "2026-10-24 04:00", "2026-10-25 05:00"),  # a whole day
    # Rule US: second Sunday of March, first of November, at 02:00 on the wall. Denver -7, in summer -6.
    ("America/Denver", "2026-03-07", "22:00", "06:00", "2026-03-08 05:00", "2026-03-08 12:00"),
    ("America/Denver", "2026-03-08", "02:30", "10:00", "2026-03-08 09:00", "2026-03-08 16:00"),
    ("America/Denver", "2026-10-31", "22:00", "06:00", "2026-11-01 04:00", "2026-11-01 13:00"),
    ("America/Denver", "2026-11-01", "01:30", "09:00", "2026-11-01 07:30", "2026-11-01 16:00"),
    ("America/Denver", "2026-10-31", "22:00", "01:30", "2026-11-01 04:00", "2026-11-01 08:30"),
    # Rule LH: first Sundays of October and April at 02:00 on the wall, by half an hour: +10:30 and +11.
    ("Australia/Lord_Howe", "2026-10-03", "22:00", "06:00", "2026-10-03 11:30", "2026-10-03 19:00"),  # 7.5 h
    ("Australia/Lord_Howe", "2026-10-04", "02:15", "10:00", "2026-10-03 15:30", "2026-10-03 23:00"),
    ("Australia/Lord_Howe", "2026-04-04", "22:00", "06:00", "2026-04-04 11:00", "2026-04-04 19:30"),  # 8.5 h
    ("Australia/Lord_Howe", "2026-04-05", "01:45", "10:00", "2026-04-04 14:45", "2026-04-04 23:30"),
    ("Australia/Lord_Howe", "2026-04-04", "22:00", "01:45", "2026-04-04 11:00", "2026-04-04 15:15"),
    # Nepal +5:45, until the end of 1985 +5:30: midnight leapt to 00:15. Colombia -5.
    ("Asia/Kathmandu", "2026-03-28", "22:00", "06:00", "2026-03-28 16:15", "2026-03-29 00:15"),
    ("Asia/Kathmandu", "1985-12-31", "22:00", "06:00", "1985-12-31 16:30", "1986-01-01 00:15"),
    ("Asia/Kathmandu", "1986-01-01", "00:00", "08:00", "1985-12-31 18:30", "1986-01-01 02:15"),
    ("America/Bogota", "2026-03-28", "22:00", "06:00", "2026-03-29 03:00", "2026-03-29 11:00"),
    ("America/Bogota", "2026-10-25", "02:30", "10:00", "2026-10-25 07:30", "2026-10-25 15:00"),
    # Samoa had no 30 December 2011 (-10 before, +14 after). Rule WS: 1 April 2012 at 04:00 back to +13,
    # 30 September 2012 at 03:00 on to +14.
    ("Pacific/Apia", "2011-12-29", "22:00", "06:00", "2011-12-30 08:00", "2011-12-30 10:00"),
    ("Pacific/Apia", "2011-12-30", "22:00", "06:00", "2011-12-30 10:00", "2011-12-30 16:00"),
    ("Pacific/Apia", "2012-03-31", "22:00", "06:00", "2012-03-31 08:00", "2012-03-31 17:00"),
    ("Pacific/Apia", "2012-09-29", "22:00", "06:00", "2012-09-29 09:00", "2012-09-29 16:00"),
    # Rule Cuba: 1 November 2026 at 01:00 back to midnight (-4, -5). Rule Chile: 6 September 2026, midnight
    # leaps to 01:00 (-4, -3); on 4 April 2026 midnight goes back to 23:00.
    ("America/Havana", "2026-11-01", "00:00", "08:00", "2026-11-01 04:00", "2026-11-01 13:00"),
    ("America/Santiago", "2026-09-06", "00:00", "08:00", "2026-09-06 04:00", "2026-09-06 11:00"),
    ("America/Santiago", "2026-04-04", "15:00", "23:30", "2026-04-04 18:00", "2026-04-05 03:30"),
]


@pytest.mark.parametrize(("zone", "day", "start", "end", "begins", "ends"), BY_HAND)
def test_a_shift_worked_out_by_hand(zone: str, day: str, start: str, end: str, begins: str, ends: str) -> None:
    assert on_day(zone, day, start, end) == [(us(begins), us(ends))]


@pytest.mark.parametrize(
    ("zone", "day", "start", "end"),
    [
        ("Europe/Madrid", "2026-03-29", "02:00", "03:00"),
        ("America/Denver", "2026-03-08", "02:10", "02:50"),
        ("Pacific/Apia", "2011-12-30", "09:00", "17:00"),
    ],
)
def test_a_shift_wholly_in_a_leap_does_not_occur(zone: str, day: str, start: str, end: str) -> None:
    assert on_day(zone, day, start, end) == []


def test_only_on_its_weekdays_and_days() -> None:
    weekend = shift("Brunch", "09:00", "15:00", weekdays=frozenset((5, 6)))  # 2026-03-02 is a Monday
    limited = replace(weekend, from_day=date(2026, 3, 8), to_day=date(2026, 3, 15))
    times = schedule.occurrences(limited, "Europe/Madrid", us("2026-03-01 00:00"), us("2026-04-01 00:00"))
    assert [t.day for t in times] == [date(2026, 3, 8), date(2026, 3, 14), date(2026, 3, 15)]


def test_a_window_takes_what_overlaps_it() -> None:
    night = shift("Night", "22:00", "06:00")
    begins, ends = us("2026-06-01 20:00"), us("2026-06-02 04:00")

    def days(from_us: int, to_us: int) -> list[date]:
        return [t.day for t in schedule.occurrences(night, "Europe/Madrid", from_us, to_us)]

    assert days(ends - 1, ends) == days(begins, begins + 1) == [date(2026, 6, 1)]
    assert days(ends, ends + HOUR) == days(begins - HOUR, begins) == []
    assert days(begins + HOUR, begins + HOUR) == days(begins + 2 * HOUR, begins + HOUR) == []


def test_a_site_s_shifts_come_in_order() -> None:
    shifts = (shift("Late", "14:00", "22:00"), shift("Early", "06:00", "14:00"))
    times = schedule.shift_times(shifts, "America/Bogota", us("2026-06-01 05:00"), us("2026-06-03 05:00"))
    assert [(t.day.day, t.shift.name) for t in times] == [
        (1, "Early"),
        (1, "Late"),
        (2, "Early"),
        (2, "Late"),
    ]


def test_shifts_that_begin_and_end_together_come_by_id() -> None:
    shifts = (shift("Grill", "06:00", "14:00"), shift("Cold", "06:00", "14:00"))
    times = schedule.shift_times(shifts, ZONE, us("2026-06-01 05:00"), us("2026-06-01 06:00"))
    assert [t.shift.id for t in times] == ["cold", "grill"]


def test_a_clock_set_back_past_midnight_hides_no_shift_of_the_day_already_begun() -> None:
    # Rule StJohns: 7 November 2010 at 00:01 back to 23:01 of the 6th, -2:30 to -3:30.
    early = shift("Early", "00:00", "08:00")
    times = schedule.occurrences(early, "America/St_Johns", us("2010-11-07 03:00"), us("2010-11-07 03:01"))
    assert [(t.day, t.begins_at) for t in times] == [(date(2010, 11, 7), us("2010-11-07 02:30"))]


def test_absurd_windows_are_cut_to_the_calendar() -> None:
    early = shift("Early", "06:00", "14:00", from_day=date(2199, 12, 30))
    times = schedule.occurrences(early, "America/Bogota", -(10**30), 10**30)
    assert [t.day for t in times][:2] == [date(2199, 12, 30), date(2199, 12, 31)]
    assert schedule.occurrences(replace(early, from_day=date.max), "America/Bogota", -(10**30), 10**30) == ()


@pytest.mark.parametrize("name", ["Europe", "", "Nowhere/Atlantis", "../etc/passwd", "/etc/passwd", "a\0b"])
def test_an_unknown_zone_is_refused_in_one_sentence(name: str) -> None:
    with pytest.raises(ValueError, match="there is no time zone"):
        schedule.time_zone(name)


@pytest.mark.parametrize(("start", "end"), [(-1, 60), (60, 1440), (1440, 60)])
def test_a_shift_outside_a_day_is_refused(start: int, end: int) -> None:
    with pytest.raises(ValueError, match="0 to 1439 minutes"):
        Shift("x", "harbour", "X", start, end, EVERY_DAY, date(2026, 1, 1))


@pytest.mark.parametrize(
    ("code", "days", "message"),
    [
        ("weekly", None, "no due rule"),
        ("every_days", None, "needs its number"),
        ("every_days", 0, "1 to 3660"),
        ("hot_point", 3661, "1 to 3660"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(code: str, days: int | None, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        DueRule(code, days=days)


# What is due, by hand. Madrid in winter is UTC+1: Early is 05:00 to 13:00 UTC, Late 13:00 to 21:00. ---------

ZONE = "Europe/Madrid"
EARLY, LATE = shift("Early", "06:00", "14:00"), shift("Late", "14:00", "22:00")
NOON = us("2026-02-10 11:00")  # a Tuesday
PLAN = (
    DueRule("each_shift"),
    DueRule("after_incident"),
    DueRule("after_adjustment"),
    DueRule("new"),
    DueRule("hot_point"),
    DueRule("reference_expiry"),
)
ICE_WEEKLY = DueRule("every_days", "ice_point", 7)
DIAL = History(
    thermometer="0195f3a0c00070008000000000000001",
    tag_id="LM214",
    type="bimetal",
    site="harbour",
    hot_use=True,
    enrolled_at=us("2025-01-01 08:00"),
    service_status="in_service",
    last_good_by_point={"ice_point": us("2026-02-09 08:00")},
    last_check_at=us("2026-02-09 08:00"),
    last_good_at=us("2026-02-09 08:00"),
    last_good_hot_at=us("2026-01-20 08:00"),
    checks_at=(us("2026-02-09 08:00"), us("2026-02-09 14:00")),
)


def times_around(now: int, *shifts: Shift) -> tuple[ShiftTime, ...]:
    return schedule.shift_times(shifts or (EARLY, LATE), ZONE, now - 30 * DAY, now + 3 * DAY)


def owed(
    history: History,
    *rules: DueRule,
    now: int = NOON,
    since: int | None = None,
    shifts: tuple[Shift, ...] = (),
) -> tuple[DueItem, ...]:
    since = now - 2 * DAY if since is None else since
    return schedule.due(history, rules, times_around(now, *shifts), ZONE, now, since)


def brief(items: tuple[DueItem, ...]) -> list[tuple[str, str, str | None, int]]:
    return [(i.code, i.state, i.shift, i.day.day) for i in items]


def the_one(items: tuple[DueItem, ...]) -> DueItem:
    assert len(items) == 1
    return items[0]


def test_each_shift_is_due_with_the_why_of_the_shift() -> None:
    item = the_one(owed(DIAL, DueRule("each_shift"), since=NOON))
    assert item == DueItem(
        thermometer=DIAL.thermometer,
        code="each_shift",
        point=None,
        state="due",
        opens_at=us("2026-02-10 04:00"),
        due_at=us("2026-02-10 13:00"),
        day=date(2026, 2, 10),
        shift="early",
        why=("each_shift", {"shift": "Early", "start": 360, "end": 840, "reason": ""}),
    )


@pytest.mark.parametrize(
    ("checked", "state"),
    [
        ("2026-02-10 03:59", "due"),
        ("2026-02-10 04:00", "done"),  # an hour before it begins
        ("2026-02-10 09:00", "done"),
        ("2026-02-10 13:00", "done"),
    ],
)
def test_a_check_from_an_hour_before_to_the_end_makes_a_shift_done(checked: str, state: str) -> None:
    history = replace(DIAL, checks_at=(us(checked),))
    assert the_one(owed(history, DueRule("each_shift"), since=NOON)).state == state
    latest = replace(DIAL, checks_at=(), last_check_at=us(checked))
    assert the_one(owed(latest, DueRule("each_shift"), since=NOON)).state == state


def test_a_shift_that_ended_without_a_check_is_missed() -> None:
    end, since = us("2026-02-10 13:00"), us("2026-02-10 06:00")
    for now, state in ((end, "due"), (end + 1, "missed")):
        item = the_one(owed(DIAL, DueRule("each_shift"), now=now, since=since, shifts=(EARLY,)))
        assert (item.state, item.shift, item.day) == (state, "early", date(2026, 2, 10))


def test_only_the_missed_of_late_are_listed_and_done_ones_drop_out() -> None:
    # Monday's two shifts were checked; Sunday's were not.
    monday_on = owed(DIAL, DueRule("each_shift"), since=us("2026-02-09 05:00"))
    assert brief(monday_on) == [("each_shift", "due", "early", 10)]
    sunday_on = owed(DIAL, DueRule("each_shift"), since=us("2026-02-08 05:00"))
    assert brief(sunday_on) == [
        ("each_shift", "due", "early", 10),
        ("each_shift", "missed", "early", 8),
        ("each_shift", "missed", "late", 8),
    ]


@pytest.mark.parametrize("code", ["not_used", "not_found", "no_reading", "station_closed", "lent"])
def test_an_answer_stands_for_its_shift_until_a_check(code: str) -> None:
    history = replace(DIAL, answers=(Answer("early", date(2026, 2, 10), code, "display dark"),))
    item = the_one(owed(history, DueRule("each_shift"), since=NOON))
    assert (item.state, item.why[1]["reason"]) == (code, "display dark")
    checked = replace(history, checks_at=(us("2026-02-10 10:00"),))
    assert the_one(owed(checked, DueRule("each_shift"), since=NOON)).state == "done"


def test_of_two_answers_the_later_counts_and_an_unknown_one_does_not() -> None:
    day = date(2026, 2, 10)
    answers = (Answer("early", day, "not_found"), Answer("early", day, "lent"), Answer("early", day, "eaten"))
    assert the_one(owed(replace(DIAL, answers=answers), DueRule("each_shift"), since=NOON)).state == "lent"


def test_an_answer_is_for_the_day_on_which_the_shift_begins() -> None:
    night, now = shift("Night", "22:00", "06:00"), us("2026-02-11 02:00")
    for day, state in ((10, "not_used"), (11, "due")):
        history = replace(DIAL, answers=(Answer("night", date(2026, 2, day), "not_used"),))
        item = the_one(owed(history, DueRule("each_shift"), now=now, since=now, shifts=(night,)))
        assert (item.state, item.day) == (state, date(2026, 2, 10))


def test_enrolled_within_a_shift_it_is_wanted_there_but_not_missed() -> None:
    history = replace(DIAL, enrolled_at=us("2026-02-10 10:00"), checks_at=(), last_check_at=None)
    each = DueRule("each_shift")
    assert brief(owed(history, each, shifts=(EARLY,))) == [("each_shift", "due", "early", 10)]
    assert brief(owed(history, each, shifts=(EARLY,), now=us("2026-02-10 20:00"))) == []


def test_another_site_s_shifts_are_not_wanted() -> None:
    assert owed(DIAL, DueRule("each_shift"), shifts=(replace(EARLY, site="hill"),)) == ()


@pytest.mark.parametrize(
    ("now", "state"),
    [
        ("2026-02-15 22:59", None),  # midnight in Madrid is 23:00 UTC
        ("2026-02-15 23:00", "due"),
        ("2026-02-16 22:59", "due"),
        ("2026-02-16 23:00", "overdue"),
    ],
)
def test_every_seven_days_is_due_through_that_local_day(now: str, state: str | None) -> None:
    items = owed(DIAL, ICE_WEEKLY, now=us(now))
    assert [i.state for i in items] == ([state] if state else [])
    for item in items:
        assert (item.point, item.day, item.due_at) == (
            "ice_point",
            date(2026, 2, 16),
            us("2026-02-16 23:00"),
        )
        assert item.why == ("every_days", {"days": 7, "good_at": us("2026-02-09 08:00")})


def test_days_are_counted_on_the_calendar_over_both_changes_of_clock() -> None:
    for good, opens, ends in (
        ("2026-03-28 08:00", "2026-03-28 23:00", "2026-03-29 22:00"),  # the day of 23 hours
        ("2026-10-24 08:00", "2026-10-24 22:00", "2026-10-25 23:00"),  # the day of 25
    ):
        history = replace(DIAL, last_good_by_point={"ice_point": us(good)})
        item = the_one(owed(history, DueRule("every_days", "ice_point", 1), now=us(opens)))
        assert (item.state, item.opens_at, item.due_at) == ("due", us(opens), us(ends))


def test_a_day_that_begins_in_a_leap_or_twice() -> None:
    # Chile 6 September 2026: midnight leaps to 01:00. Cuba 1 November 2026: midnight shows twice. (IANA)
    for zone, good, opens, ends in (
        ("America/Santiago", "2026-09-05 15:00", "2026-09-06 04:00", "2026-09-07 03:00"),
        ("America/Havana", "2026-10-31 15:00", "2026-11-01 04:00", "2026-11-02 05:00"),
    ):
        history = replace(DIAL, last_good_by_point={"ice_point": us(good)})
        rule = DueRule("every_days", "ice_point", 1)
        item = the_one(schedule.due(history, (rule,), (), zone, us(opens), 0))
        assert (item.opens_at, item.due_at) == (us(opens), us(ends))


def test_never_good_at_a_point_it_is_wanted_from_the_day_it_was_enrolled() -> None:
    item = the_one(owed(DIAL, DueRule("every_days", "boiling_point", 30)))
    assert (item.state, item.day) == ("overdue", date(2025, 1, 1))
    assert item.why == ("every_days_never", {"days": 30, "enrolled_at": us("2025-01-01 08:00")})


def test_any_point_will_do_where_the_rule_names_none() -> None:
    history = replace(DIAL, last_good_by_point={})
    item = the_one(owed(history, DueRule("every_days", days=1)))
    assert item.why == ("every_days", {"days": 1, "good_at": us("2026-02-09 08:00")})


def test_an_incident_is_due_at_once_and_comes_first() -> None:
    history = replace(DIAL, incident_at=us("2026-02-10 10:00"), incident_code="dropped")
    weekly_late = replace(history, last_good_by_point={"ice_point": us("2026-01-01 08:00")})
    items = owed(weekly_late, *PLAN, ICE_WEEKLY, since=NOON)
    assert [(i.code, i.state) for i in items] == [
        ("after_incident", "due"),
        ("every_days", "overdue"),
        ("each_shift", "due"),
    ]
    assert items[0].due_at == us("2026-02-10 10:00")
    assert items[0].why == ("incident", {"incident": "dropped", "incident_at": us("2026-02-10 10:00")})


def test_a_clock_set_back_hides_no_incident() -> None:
    history = replace(DIAL, incident_at=NOON + DAY, incident_code="dropped")
    assert the_one(owed(history, DueRule("after_incident"))).state == "due"


def test_check_first_holds_under_any_plan() -> None:
    failed = replace(DIAL, failed_at=us("2026-02-10 10:30"))
    assert the_one(owed(failed)).why == ("failed", {"failed_at": us("2026-02-10 10:30")})
    set_by_hand = replace(DIAL, service_status="check_first")
    assert the_one(owed(set_by_hand)).why == ("check_first", {})
    dropped = replace(set_by_hand, incident_at=NOON - HOUR, incident_code="dropped")
    assert the_one(owed(dropped)).code == "check_first"
    assert the_one(owed(dropped, DueRule("after_incident"))).code == "after_incident"


def test_a_failed_check_makes_no_new_one_beside_it() -> None:
    new = replace(DIAL, last_good_at=None, last_good_by_point={}, last_check_at=None, checks_at=())
    assert the_one(owed(new, DueRule("new"))).why == ("new", {"enrolled_at": us("2025-01-01 08:00")})
    assert [i.code for i in owed(replace(new, failed_at=NOON - HOUR), DueRule("new"))] == ["check_first"]
    assert owed(DIAL, DueRule("new")) == ()


def test_after_adjusting_the_next_shift_is_due_then_overdue() -> None:
    history = replace(DIAL, adjusted_at=us("2026-02-10 06:00"))  # within Early
    rule = DueRule("after_adjustment")
    assert owed(history, rule, now=us("2026-02-10 11:59")) == ()
    item = the_one(owed(history, rule, now=us("2026-02-10 12:00")))
    assert (item.state, item.shift, item.due_at) == ("due", "late", us("2026-02-10 21:00"))
    assert item.why == ("adjusted", {"adjusted_at": us("2026-02-10 06:00")})
    assert the_one(owed(history, rule, now=us("2026-02-10 21:01"))).state == "overdue"
    assert owed(replace(history, adjusted_checked_since=True), rule, now=us("2026-02-12 12:00")) == ()


def test_adjusted_before_opening_the_shift_about_to_begin_is_not_the_next() -> None:
    history, rule = replace(DIAL, adjusted_at=us("2026-02-10 04:30")), DueRule("after_adjustment")
    assert the_one(owed(history, rule, now=us("2026-02-10 12:00"))).shift == "late"
    # Another site's shifts change nothing.
    beside = (EARLY, LATE, shift("Noon", "10:00", "12:00", site="hill"))
    assert the_one(owed(history, rule, now=us("2026-02-10 12:00"), shifts=beside)).shift == "late"
    # At 13:30 local, within Early, Late is the next although its hour before has begun.
    within = replace(DIAL, adjusted_at=us("2026-02-10 12:30"))
    assert the_one(owed(within, rule, now=us("2026-02-10 12:30"))).shift == "late"


def test_after_adjusting_days_or_the_next_day_where_no_shift_is_known() -> None:
    history = replace(DIAL, adjusted_at=us("2026-02-10 06:00"))
    for rule, day in ((DueRule("after_adjustment"), 11), (DueRule("after_adjustment", days=3), 13)):
        item = schedule.next_due(history, (rule,), (), ZONE, NOON, 0)
        assert item
        assert (item.day, item.shift) == (date(2026, 2, day), None)
    item = the_one(owed(history, DueRule("after_adjustment"), now=us("2026-02-20 11:00")))
    assert (item.state, item.day) == ("overdue", date(2026, 2, 11))


def test_hot_point_every_90_days_for_hot_use_only() -> None:
    # 20 January and 90 days is 20 April.
    rule, day = DueRule("hot_point"), us("2026-04-20 08:00")
    item = the_one(owed(DIAL, rule, now=day))
    assert (item.state, item.why) == ("due", ("hot_point", {"days": 90, "good_at": us("2026-01-20 08:00")}))
    assert owed(DIAL, rule, now=day - DAY) == owed(replace(DIAL, hot_use=False), rule, now=day) == ()
    assert the_one(owed(replace(DIAL, last_good_hot_at=None), rule)).why[0] == "hot_point_never"


def test_a_hot_point_is_due_at_once_after_an_adjustment_elsewhere() -> None:
    # The whole scale moved: what was good at the hot point before says nothing any more.
    adjusted_at = us("2026-02-10 08:00")
    history, rule = replace(DIAL, adjusted_at=adjusted_at), DueRule("hot_point")
    assert owed(replace(history, last_good_hot_at=adjusted_at), rule) == ()  # read again there as left
    item = the_one(owed(history, rule))
    assert (item.state, item.day, item.why) == (
        "due",
        date(2026, 2, 10),
        ("adjusted_hot", {"adjusted_at": adjusted_at}),
    )
    assert the_one(owed(replace(history, last_good_hot_at=None), rule)) == item
    assert the_one(owed(history, rule, now=us("2026-02-11 12:00"))).state == "overdue"
    assert owed(replace(history, hot_use=False), rule) == ()


def test_a_point_that_an_adjustment_overtook_is_wanted_again_because_of_it() -> None:
    adjusted_at = us("2026-02-09 08:00")
    history = replace(DIAL, last_good_by_point={}, adjusted_at=adjusted_at)
    item = the_one(owed(history, DueRule("every_days", "boiling_point", 30)))
    assert item.why == ("adjusted_point", {"point": "boiling_point", "adjusted_at": adjusted_at})
    assert (item.state, item.day) == ("overdue", date(2026, 2, 9))


def test_known_to_be_outside_comes_before_an_earlier_drop() -> None:
    history = replace(DIAL, failed_at=NOON - HOUR, incident_at=NOON - DAY, incident_code="dropped")
    assert [i.code for i in owed(history, DueRule("after_incident"))] == ["check_first", "after_incident"]


def test_a_check_that_waits_for_its_bath_does_for_the_shift_while_it_is_on() -> None:
    waits = replace(DIAL, checks_at=(), last_check_at=None, waits_at=us("2026-02-10 10:00"))
    rule, since = DueRule("each_shift"), us("2026-02-10 05:00")
    assert [i.state for i in owed(waits, rule, now=us("2026-02-10 11:00"), since=since)] == ["done"]
    later = owed(waits, rule, now=us("2026-02-10 13:30"), since=since)
    assert {i.shift: i.state for i in later} == {"early": "missed", "late": "due"}


@pytest.mark.parametrize(
    ("now", "state"),
    [
        ("2026-01-28 12:00", None),
        ("2026-01-29 12:00", "due"),
        ("2026-02-28 12:00", "due"),
        ("2026-03-01 12:00", "overdue"),
    ],
)
def test_an_outside_certificate_is_asked_for_30_days_before_its_day(now: str, state: str | None) -> None:
    history = replace(DIAL, reference_due_day=date(2026, 2, 28))
    items = owed(history, DueRule("reference_expiry"), now=us(now))
    assert [i.state for i in items] == ([state] if state else [])
    assert all(i.why == ("reference_expiry", {"day": date(2026, 2, 28)}) for i in items)


@pytest.mark.parametrize("status", ["out_of_use", "lost", "retired"])
def test_what_is_not_in_service_owes_nothing(status: str) -> None:
    history = replace(DIAL, failed_at=NOON, incident_at=NOON, service_status=status)
    assert owed(history, *PLAN, ICE_WEEKLY) == ()
    assert schedule.next_due(history, PLAN, times_around(NOON), ZONE, NOON, NOON) is None
    assert owed(replace(history, service_status="limited_use"), *PLAN) != ()


@pytest.mark.parametrize(
    ("rule", "applies"),
    [
        (DueRule("new", types=frozenset({"bimetal", "thermistor"})), True),
        (DueRule("new", types=frozenset({"thermistor"})), False),
        (DueRule("new", sites=frozenset({"harbour"})), True),
        (DueRule("new", sites=frozenset({"hill"})), False),
        (DueRule("new", tags=frozenset({"LM214"})), True),
        (DueRule("new", tags=frozenset({"LM215"})), False),
        (DueRule("new", types=frozenset({"bimetal"}), sites=frozenset({"hill"})), False),
    ],
)
def test_a_rule_is_narrowed_by_type_site_and_tag(rule: DueRule, applies: bool) -> None:
    assert len(owed(replace(DIAL, last_good_at=None), rule)) == applies


def test_of_two_rules_of_one_kind_and_point_the_shorter_holds() -> None:
    rules = (replace(ICE_WEEKLY, days=30), ICE_WEEKLY, replace(ICE_WEEKLY, days=14))
    assert the_one(owed(DIAL, *rules, now=us("2026-03-30 12:00"))).why[1]["days"] == 7
    assert len(owed(DIAL, DueRule("each_shift"), DueRule("each_shift", tags=frozenset({"LM214"})))) == len(
        owed(DIAL, DueRule("each_shift"))
    )


def test_recheck_by_is_the_day_of_what_is_wanted_first() -> None:
    dated = (ICE_WEEKLY, DueRule("hot_point"))
    item = schedule.next_due(DIAL, dated, (), ZONE, NOON, NOON)
    assert item
    assert (item.code, item.day, item.state) == ("every_days", date(2026, 2, 16), "due")
    with_shifts = schedule.next_due(DIAL, (*dated, *PLAN), times_around(NOON), ZONE, NOON, NOON)
    assert with_shifts
    assert (with_shifts.shift, with_shifts.due_at) == ("early", us("2026-02-10 13:00"))
    done = replace(DIAL, checks_at=(NOON,))
    later = schedule.next_due(done, PLAN, times_around(NOON), ZONE, NOON, NOON)
    assert later
    assert (later.shift, later.due_at) == ("late", us("2026-02-10 21:00"))
    assert schedule.next_due(DIAL, (), (), ZONE, NOON, NOON) is None


def test_missed_counts_the_shifts_that_ended_in_a_week() -> None:
    monday = us("2026-02-01 23:00")  # Monday 2 February, local
    history = replace(
        DIAL,
        checks_at=tuple(us(f"2026-02-{day:02} 09:00") for day in range(2, 7)),  # Early, Monday to Friday
        answers=tuple(Answer("late", date(2026, 2, day), "not_used") for day in (2, 3)),
    )
    counted = schedule.missed(history, times_around(NOON), monday, monday + 7 * DAY, NOON)
    assert counted == {"done": 5, "not_used": 2, "missed": 7}
    # On Wednesday at 12:00 UTC Early of that day has not ended: five shifts have.
    so_far = schedule.missed(history, times_around(NOON), monday, monday + 7 * DAY, us("2026-02-04 12:00"))
    assert so_far == {"done": 2, "not_used": 2}


# Nothing that a record may hold stops it. ------------------------------------------------------------------

instants = st.one_of(st.none(), st.integers(), st.integers(NOON - 40 * DAY, NOON + 3 * DAY))
known = st.one_of(st.integers(), st.integers(NOON - 40 * DAY, NOON + 3 * DAY))
answer = st.builds(
    Answer, st.sampled_from(["early", "late", "?"]), st.dates(), st.sampled_from(["lent", "not_used", "?"])
)
histories = st.builds(
    History,
    thermometer=st.just("a"),
    tag_id=st.just("LM214"),
    type=st.just("bimetal"),
    site=st.just("harbour"),
    hot_use=st.booleans(),
    enrolled_at=known,
    service_status=st.sampled_from(["in_service", "check_first", "limited_use", "out_of_use", "unheard_of"]),
    last_good_by_point=st.dictionaries(st.sampled_from(["ice_point", "comparison", "?"]), known),
    last_check_at=instants,
    last_good_at=instants,
    last_good_hot_at=instants,
    incident_at=instants,
    failed_at=instants,
    adjusted_at=instants,
    adjusted_checked_since=st.booleans(),
    reference_due_day=st.one_of(st.none(), st.dates()),
    answers=st.lists(answer).map(tuple),
    checks_at=st.lists(known).map(tuple),
)
STATES = {"due", "overdue", "done", "missed", "not_used", "no_reading", "not_found", "station_closed", "lent"}
ZONES = ("Europe/Madrid", "Pacific/Apia", "Asia/Kathmandu", "America/Denver")
MADRID_TIMES = times_around(NOON)


@given(histories, known, known, st.sampled_from(ZONES))
def test_any_record_and_clock_are_taken(history: History, now: int, since: int, zone: str) -> None:
    plan = (*PLAN, ICE_WEEKLY, DueRule("every_days", days=3660), DueRule("every_days", "comparison", 1))
    items = schedule.due(history, plan, MADRID_TIMES, zone, now, since)
    following = schedule.next_due(history, plan, MADRID_TIMES, zone, now, since)
    assert {i.state for i in items} <= STATES
    assert all(i.opens_at <= i.due_at for i in items)
    overdue = [i for i in items if i.state == "overdue"]
    assert all(i.due_at <= now for i in overdue)
    open_now = [i.due_at for i in items if i.state in ("due", "overdue")]
    assert following is None or all(following.due_at <= due_at for due_at in open_now)
    assert (items == () and following is None) or history.service_status != "out_of_use"


# A slow and obvious second way: walk through time minute by minute and look at the clock on the wall. ------


class WallClock:
    """At which minutes (UTC, since 1970) the clock of a zone showed each local day and minute asked about."""

    def __init__(self, zone: str, first_day: date, days: int, wanted: set[int]) -> None:
        self.shown: dict[tuple[date, int], list[int]] = {}
        self.place = ZoneInfo(zone)
        start = (first_day - date(1970, 1, 1)).days * 1440
        before = self.look(start - 1)
        for minute in range(start, start + days * 1440):
            now = self.look(minute)
            while before + timedelta(minutes=1) < now:  # the clock leapt: what it left out counts as shown now
                before += timedelta(minutes=1)
                self.note(before, minute, wanted)
            self.note(now, minute, wanted)
            before = now

    def look(self, minute: int) -> datetime:
        return datetime.fromtimestamp(minute * 60, self.place).replace(tzinfo=None, fold=0)

    def note(self, wall: datetime, minute: int, wanted: set[int]) -> None:
        of_day = wall.hour * 60 + wall.minute
        if of_day in wanted:
            self.shown.setdefault((wall.date(), of_day), []).append(minute)

    def first(self, day: date, of_day: int) -> int:
        return self.shown[day + timedelta(days=of_day // 1440), of_day % 1440][0] * MINUTE

    def last(self, day: date, of_day: int) -> int:
        return self.shown[day + timedelta(days=of_day // 1440), of_day % 1440][-1] * MINUTE


ROSTER = (
    shift("Early", "06:00", "14:00"),
    shift("Late", "14:00", "22:30", weekdays=frozenset((0, 2, 3, 4, 5, 6))),
    shift("Night", "22:30", "01:45", weekdays=frozenset((3, 4, 5, 6))),
    shift("Bakery", "02:15", "06:00", weekdays=frozenset((0, 5, 6))),
)
WALKED_PLAN = (
    DueRule("each_shift"),
    DueRule("after_adjustment"),
    DueRule("after_incident"),
    DueRule("every_days", "ice_point", 2),
    DueRule("hot_point", days=5),
)


@dataclass
class Known:
    """What a simulated thermometer's record holds at an hour."""

    enrolled: int
    checks: list[int] = field(default_factory=list)
    good: int | None = None
    hot: int | None = None
    incident: int | None = None
    adjusted: int | None = None
    answers: list[Answer] = field(default_factory=list)

    def history(self) -> History:
        return replace(
            DIAL,
            enrolled_at=self.enrolled,
            checks_at=tuple(self.checks[-30:]),
            last_check_at=self.checks[-1] if self.checks else None,
            last_good_at=self.good,
            last_good_by_point={} if self.good is None else {"ice_point": self.good},
            last_good_hot_at=self.hot,
            incident_at=self.incident,
            incident_code="dropped" if self.incident else "",
            adjusted_at=self.adjusted,
            answers=tuple(self.answers[-30:]),
        )


def live_an_hour(known: Known, running: list[ShiftTime], at: int, random: Random) -> None:
    """What happens to it at `at`: now and then a check, an adjustment, an incident, an answer."""
    what = random.random()
    if what < 0.08:
        known.checks.append(at)
        known.good, known.incident, known.adjusted = at, None, None
        known.hot = at if what < 0.02 else known.hot
    elif what < 0.10:
        known.checks.append(at)
        known.adjusted = at
    elif what < 0.11:
        known.incident = at
    elif what < 0.14 and running:
        known.answers.append(Answer(running[0].shift.id, running[0].day, random.choice(["lent", "not_found"])))


Expected = set[tuple[str, str, str | None, int, int]]


def expected_due(known: Known, walked: list[ShiftTime], clock: WallClock, now: int, since: int) -> Expected:
    """(code, state, shift, opens_at, due_at) as a person with the roster on the wall would say it."""
    found: Expected = set()
    checks = known.checks[-30:]  # more than there are in the days looked at
    for t in walked:
        opens = t.begins_at - HOUR
        checked = any(opens <= check <= t.ends_at for check in checks)
        said = [a.code for a in known.answers if (a.shift, a.day) == (t.shift.id, t.day)]
        over = now > t.ends_at
        there = known.enrolled <= t.begins_at or (not over and known.enrolled <= t.ends_at)
        if opens > now or t.ends_at < since or (checked and over) or not (checked or said or there):
            continue
        state = "done" if checked else said[-1] if said else "missed" if over else "due"
        found.add(("each_shift", state, t.shift.id, opens, t.ends_at))
    for code, days, good in (("every_days", 2, known.good), ("hot_point", 5, known.hot)):
        from_at, wait = (known.enrolled, 0) if good is None else (good, days)
        if code == "hot_point" and known.adjusted is not None and (good is None or good < known.adjusted):
            from_at, wait = known.adjusted, 0
        day = clock.look(from_at // MINUTE).date() + timedelta(days=wait)
        opens, ends = clock.first(day, 0), clock.first(day + timedelta(days=1), 0)
        if now >= opens:
            found.add((code, "overdue" if now >= ends else "due", None, opens, ends))
    if known.incident is not None:
        found.add(("after_incident", "due", None, known.incident, known.incident))
    if known.adjusted is not None and known.adjusted >= since:
        at = known.adjusted
        in_shift = any(t.begins_at <= at <= t.ends_at for t in walked)
        t = next(t for t in walked if t.begins_at > (at if in_shift else at + HOUR))
        if now >= max(at, t.begins_at - HOUR):
            state = "overdue" if now > t.ends_at else "due"
            found.add(("after_adjustment", state, t.shift.id, max(at, t.begins_at - HOUR), t.ends_at))
    return found


def walked_shifts(clock: WallClock, first_day: date, days: int) -> Iterator[ShiftTime]:
    for day in (first_day + timedelta(days=n) for n in range(days)):
        for one in ROSTER:
            end = one.end + (1440 if one.end <= one.start else 0)
            begins, ends = clock.first(day, one.start), clock.last(day, end)
            if day.weekday() in one.weekdays and begins < ends:
                yield ShiftTime(one, day, begins, ends)


def walk_and_compare(zone: str, first_day: date, days: int) -> int:
    """Every hour of these days: what is due by the program and by the walk. Returns how many items agreed."""
    boundaries = {0} | {m for one in ROSTER for m in (one.start, one.end)}
    clock = WallClock(zone, first_day - timedelta(days=12), days + 30, boundaries)
    walked = sorted(
        walked_shifts(clock, first_day - timedelta(days=10), days + 20),
        key=lambda t: (t.begins_at, t.ends_at),
    )
    start, random, agreed = clock.first(first_day, 0), Random(zone), 0
    known = Known(enrolled=start + 5 * HOUR)
    for today in range(start, start + days * DAY, DAY):
        near = [t for t in walked if today - 5 * DAY < t.ends_at and t.begins_at < today + 5 * DAY]
        times = schedule.shift_times(ROSTER, zone, today - 5 * DAY, today + 5 * DAY)
        assert list(times) == near
        for now in range(today, today + DAY, HOUR):
            since = now - 4 * DAY
            items = schedule.due(known.history(), WALKED_PLAN, times, zone, now, since)
            settled = [i for i in items if i.code != "after_adjustment" or (known.adjusted or 0) >= since]
            got = {(i.code, i.state, i.shift, i.opens_at, i.due_at) for i in settled}
            assert got == expected_due(known, near, clock, now, since), (zone, now)
            agreed += len(got)
            running = [t for t in near if t.begins_at <= now <= t.ends_at]
            live_an_hour(known, running, now + random.randrange(60) * MINUTE, random)
    return agreed


@pytest.mark.fast_cases(3)
@pytest.mark.parametrize(
    ("zone", "first_day"),
    [
        ("Europe/Madrid", date(2026, 3, 27)),
        ("Europe/Madrid", date(2026, 10, 23)),
        ("America/Denver", date(2026, 3, 6)),
        ("America/Denver", date(2026, 10, 30)),
        ("Australia/Lord_Howe", date(2026, 4, 3)),
        ("Australia/Lord_Howe", date(2026, 10, 2)),
        ("Pacific/Apia", date(2011, 12, 28)),
        ("Pacific/Apia", date(2012, 3, 30)),
        ("Asia/Kathmandu", date(2026, 3, 27)),
        ("America/Bogota", date(2026, 3, 27)),
    ],
)
def test_every_hour_of_a_weekend_as_walked_minute_by_minute(zone: str, first_day: date) -> None:
    assert walk_and_compare(zone, first_day, 5) > 5 * 24


def test_of_two_notices_of_an_outside_certificate_the_longer_asks_first() -> None:
    short, long = DueRule("reference_expiry", days=10), DueRule("reference_expiry", days=60)
    for plan in ((short, long), (long, short)):
        assert schedule.rules_for(plan, "bimetal_stem", "s", "LM1") == [long]
