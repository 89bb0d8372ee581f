"""Closed days of sites, shifts and stations: what is due, what was missed, and what a later word cannot undo."""

from datetime import date, timedelta

import pytest

from registry.records.rules import PlanRule, PlanSet
from registry.services import calendars, duelist, owed, places, rules, site_calendar
from registry.services.duelist import Due
from registry.wording.due import why_due
from tests.services.kitchen import TUESDAY, Kitchen
from tests.services.test_plan_kept import EVERY_DAY, states

WEDNESDAY, THURSDAY = TUESDAY + timedelta(1), TUESDAY + timedelta(2)


@pytest.fixture
def early(kitchen: Kitchen) -> str:
    return places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY
    )


def close(kitchen: Kitchen, first: date, last: date | None = None, **more: object) -> str:
    return calendars.state(kitchen.session, kitchen.officer, kitchen.site, first, last or first, **more)  # type: ignore[arg-type]


def duelist_day(kitchen: Kitchen, thermometer: str) -> date:
    with kitchen.session.reading() as connection:
        day = duelist.recheck_by(kitchen.session, connection, kitchen.row(thermometer))
    assert day is not None
    return day


def due(kitchen: Kitchen, thermometer: str) -> list[Due]:
    with kitchen.session.reading() as connection:
        found = duelist.due_list(kitchen.session, connection, kitchen.site)
    return [one for one in found if one.row.thermometer == thermometer]


def test_a_closed_day_asks_for_nothing_and_misses_nothing(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    close(kitchen, WEDNESDAY, why="holiday")
    kitchen.clock.move(days=1, hours=1)
    assert due(kitchen, probe) == []
    kitchen.clock.move(days=2)
    assert states(kitchen, probe) == [(3, "done"), (5, "missed")]
    assert [one.item.day for one in due(kitchen, probe) if one.item.state == "missed"] == [THURSDAY]


def test_what_was_missed_already_is_not_closed_afterwards(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    kitchen.clock.move(days=2)
    close(kitchen, WEDNESDAY)
    assert states(kitchen, probe) == [(3, "done"), (4, "missed")]
    kitchen.clock.move(hours=6)  # in Thursday's shift it still counts
    close(kitchen, THURSDAY)
    kitchen.clock.move(days=1)
    assert states(kitchen, probe) == [(3, "done"), (4, "missed")]


def test_an_exception_opens_and_a_calendar_is_stated_anew(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    holidays = close(kitchen, WEDNESDAY, WEDNESDAY + timedelta(6))
    close(kitchen, THURSDAY, kind="open")
    kitchen.clock.move(days=4)
    assert states(kitchen, probe) == [(3, "done"), (5, "missed")]
    close(kitchen, WEDNESDAY, kind="open", calendar=holidays)  # taken back, from now on
    kitchen.clock.move(days=2)
    assert states(kitchen, probe)[2:] == [(7, "missed"), (8, "missed")]


def test_withdrawn_it_says_nothing_more_and_changes_nothing_that_is_over(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    holidays = close(kitchen, WEDNESDAY, WEDNESDAY + timedelta(4))
    friday = close(kitchen, WEDNESDAY + timedelta(2))
    kitchen.clock.move(days=1, hours=12)  # Wednesday's shift has ended, closed
    calendars.withdraw(kitchen.session, kitchen.officer, kitchen.site, holidays)
    kitchen.clock.move(days=3)
    # Thursday and Saturday are worked again; Friday stays closed by another word, as no exception would have left it.
    assert states(kitchen, probe) == [(3, "done"), (5, "missed"), (7, "missed")]
    with kitchen.refuses(("calendar", "unknown")):
        calendars.withdraw(kitchen.session, kitchen.officer, kitchen.site, holidays)
    with kitchen.refuses(("calendar", "is_past")):
        calendars.withdraw(kitchen.session, kitchen.officer, kitchen.site, friday)
    with kitchen.refuses(("actor", "not_allowed")):
        calendars.withdraw(kitchen.session, kitchen.lead, kitchen.site, friday)


def test_what_is_to_come_is_listed(kitchen: Kitchen) -> None:
    later, now_ = close(kitchen, THURSDAY, why="works"), close(kitchen, TUESDAY, WEDNESDAY)
    gone = close(kitchen, WEDNESDAY)
    calendars.withdraw(kitchen.session, kitchen.officer, kitchen.site, gone)
    with kitchen.session.reading() as connection:
        found = calendars.to_come(connection, kitchen.site, WEDNESDAY)
        rest = calendars.to_come(connection, kitchen.site, THURSDAY)
    assert [one.calendar for one in found] == [now_, later]
    assert [one.calendar for one in rest] == [later]


def test_one_shift_or_one_station_alone(kitchen: Kitchen, early: str) -> None:
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Late", "15:00", "22:00", EVERY_DAY, TUESDAY)
    grill, bar = (places.add_station(kitchen.session, kitchen.officer, kitchen.site, name) for name in ("Grill", "Bar"))
    at_grill, at_bar = (kitchen.enrol(uses=("cold",), station=one) for one in (grill, bar))
    for one in (at_grill, at_bar):
        kitchen.checked(one, "0.0 C")
    close(kitchen, WEDNESDAY, shifts=[early])
    close(kitchen, THURSDAY, stations=[bar])
    kitchen.clock.move(days=2, hours=1)
    assert [one.item.state for one in due(kitchen, at_bar) if one.item.day == THURSDAY] == ["station_closed"]
    with kitchen.session.reading() as connection:  # on its page it owes nothing today, as on tags
        days = owed.next_days(kitchen.session, connection, [kitchen.row(at_bar), kitchen.row(at_grill)])
        on_page = owed.of_one(kitchen.session, connection, kitchen.row(at_bar), "each_shift")
    assert days[at_grill] == THURSDAY
    assert days[at_bar] == duelist_day(kitchen, at_bar) > THURSDAY
    assert [one.state for one in on_page.due] == []
    assert [one.item.state for one in due(kitchen, at_grill) if one.item.day == THURSDAY] == ["due"]
    kitchen.clock.move(days=1)
    assert states(kitchen, at_grill)[2:] == [(4, "missed"), (5, "missed"), (5, "missed")]
    assert states(kitchen, at_bar)[2:] == [(4, "missed"), (5, "station_closed"), (5, "station_closed")]


def test_what_is_due_by_days_waits_for_the_first_open_day(kitchen: Kitchen, early: str) -> None:
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    week_on = TUESDAY + timedelta(7)
    close(kitchen, week_on, week_on + timedelta(2))
    kitchen.clock.move(days=9)
    assert [one.item.state for one in due(kitchen, probe)] == ["due"]
    with kitchen.session.reading() as connection:
        assert duelist.recheck_by(kitchen.session, connection, kitchen.row(probe)) == week_on + timedelta(3)
        assert owed.next_days(kitchen.session, connection, [kitchen.row(probe)]) == {probe: week_on + timedelta(3)}
        of_one = owed.of_one(kitchen.session, connection, kitchen.row(probe), "risk_based")
    assert of_one.next is not None
    assert of_one.next.day == week_on + timedelta(3)
    assert [one.state for one in of_one.due] == ["due"]
    kitchen.clock.move(days=1, hours=12)
    assert [one.item.state for one in due(kitchen, probe)] == ["due"]
    kitchen.clock.move(days=1)
    assert [one.item.state for one in due(kitchen, probe)] == ["overdue"]


def test_the_calendar_file_leaves_out_what_is_closed(kitchen: Kitchen, early: str) -> None:
    kitchen.checked(kitchen.enrol(uses=("cold",)), "0.0 C")
    close(kitchen, WEDNESDAY)
    found = site_calendar.coming(kitchen.session, kitchen.site)
    assert next(one.day for one in found.entries if one.kind == "shift") == THURSDAY


def test_what_cannot_be_is_refused(kitchen: Kitchen, early: str) -> None:
    with kitchen.refuses(("to_day", "before_from_day"), ("kind", "choose"), ("why", "choose")):
        close(kitchen, THURSDAY, WEDNESDAY, kind="half", why="rain")
    with kitchen.refuses(("to_day", "too_far")):
        close(kitchen, TUESDAY, TUESDAY + timedelta(401))
    with kitchen.refuses(("shift", "unknown")):
        close(kitchen, TUESDAY, shifts=[kitchen.site])
    with kitchen.refuses(("station", "unknown")):
        close(kitchen, TUESDAY, stations=[early])
    first = close(kitchen, WEDNESDAY)
    before = kitchen.count()
    close(kitchen, WEDNESDAY, calendar=first)  # a second press
    assert kitchen.count() == before


# --- by forecast ------------------------------------------------------------------------------------------


def test_by_the_day_on_which_its_track_says_that_it_may_be_out(kitchen: Kitchen, early: str) -> None:
    """A plan with a forecast asks for a check by that day; one without tracks nobody."""
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    probe = kitchen.enrol(uses=("cold",))
    kitchen.clock.move(hours=1)
    for n in range(6):  # 0.1 °C more each week
        kitchen.checked(probe, f"{n / 10:.1f} C")
        kitchen.clock.move(days=7)
    assert {one.item.code for one in due(kitchen, probe)} == {"every_days", "sentinel"}
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        group = kitchen.session.group(entries.connection).subject
        by_forecast = (PlanRule(rule="forecast"),)
        entries.replace(
            PlanSet(group=group, set=kitchen.session.new_id(), plan="own", rules=by_forecast, since="2026-04-14")
        )
    with kitchen.session.reading() as connection:
        row = kitchen.row(probe)
        day = duelist.recheck_by(kitchen.session, connection, row)
        at = duelist.at_site(connection, places.site_named_by_id(connection, kitchen.site), kitchen.clock())
        assert duelist.forecast_days(kitchen.session, connection, at, [row]) == {probe: day}
        assert owed.next_days(kitchen.session, connection, [row]) == {probe: day}
        by_page = owed.of_one(kitchen.session, connection, row, "own").next
    assert by_page is not None
    assert by_page.day == day
    assert day is not None
    coming = site_calendar.coming(kitchen.session, kitchen.site)
    assert [one.day for one in coming.entries if one.kind == "due"] == [max(day, date(2026, 4, 14))]
    kitchen.clock.move(days=max((day - date(2026, 4, 14)).days, 0))
    (item,) = [one.item for one in due(kitchen, probe)]
    assert (item.code, item.state, item.why) == ("forecast", "due", ("forecast", {"day": item.day}))
    assert why_due(*item.why, "en", "en_US", "UTC").startswith("May be out of tolerance by ")
