"""One by turns in each shift: who it is, on the due list and looking back alike."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from registry.quantity import Length
from registry.records.rules import PlanRule
from registry.services import (
    activity,
    calendars,
    checks,
    duelist,
    lists,
    notices,
    owed,
    places,
    plan_kept,
    rules,
    shift_list,
    thermometers,
)
from registry.services.places import NewSite
from registry.services.plan_kept import Asked
from registry.store import queries
from tests.services.kitchen import AIR_C, DAY_US, TUESDAY, ZONE, Kitchen
from tests.services.test_monthly_log import lines

EVERY_DAY = tuple(range(7))


@pytest.fixture
def shifts(kitchen: Kitchen) -> tuple[str, str]:
    """Every day from 06:00 to 14:00 and from 14:00 to 22:00; the clock stands at 05:30 on the 3rd."""
    early, late = (
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, begins, ends, EVERY_DAY, TUESDAY)
        for name, begins, ends in (("Early", "06:00", "14:00"), ("Late", "14:00", "22:00"))
    )
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    return early, late


def probes(kitchen: Kitchen, count: int) -> list[str]:
    """Digitals checked one after the other on the 3rd; then it is 05:30 on the 4th."""
    found = [kitchen.enrol(uses=("cold",)) for _ in range(count)]
    for one in found:
        kitchen.checked(one, "0.1 C")
    kitchen.clock.at = at("2026-03-04 10:30")
    return found


def at(utc: str) -> int:
    return int(datetime.fromisoformat(utc).replace(tzinfo=UTC).timestamp()) * 1_000_000


def in_turn(kitchen: Kitchen, state: str = "due") -> list[str]:
    """Who the due list asks for by turns now."""
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    return [one.row.thermometer for one in due if one.item.code == "sentinel" and one.item.state == state]


def looked_back(kitchen: Kitchen, days: int = 7) -> list[Asked]:
    now = kitchen.clock()
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        found = plan_kept.asked(
            connection, plan_kept.past(connection), site, now - days * DAY_US, now + DAY_US, now, on=True
        )
        return sorted((one for some in found for one in some), key=lambda one: one.shift.begins_at)


def turns(kitchen: Kitchen, days: int = 7) -> list[tuple[int, str, str, str]]:
    """(day, shift, thermometer, state) of all that was asked otherwise than by days."""
    return [
        (one.day.day, one.shift.shift.name, one.thermometer, one.state)
        for one in looked_back(kitchen, days)
        if not one.by_days
    ]


def test_each_is_in_turn_once_before_anybody_is_twice(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    digitals = probes(kitchen, 4)
    dial = kitchen.dial(uses=("cold",))
    seen = []
    for _ in range(6):
        (one,) = in_turn(kitchen)
        seen.append(one)
        kitchen.checked(one, "0.1 C")
        kitchen.clock.move(hours=8 if len(seen) % 2 else 16)
    assert seen == [*digitals, *digitals[:2]]
    assert [(who, state) for _, _, who, state in turns(kitchen) if who != dial][:6] == [(one, "done") for one in seen]


def test_its_turn_is_not_passed_on_by_its_check_or_its_end(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    first, second, third = probes(kitchen, 3)
    assert in_turn(kitchen) == [first]
    kitchen.clock.move(hours=1)
    check = kitchen.checked(first, "3.0 C", "3.0 C", "3.0 C")  # it failed
    thermometers.take_out(kitchen.session, kitchen.lead, first, "outside", check=check)
    assert in_turn(kitchen) == []
    kitchen.clock.move(hours=8)
    assert in_turn(kitchen) == [second]
    assert turns(kitchen) == [(4, "Early", first, "done"), (4, "Late", second, "open")]
    thermometers.take_out(kitchen.session, kitchen.lead, second, "damaged")
    assert in_turn(kitchen) == []  # nor to the third in this shift
    kitchen.clock.move(hours=16)
    assert in_turn(kitchen) == [third]


def test_nor_by_one_that_comes_or_its_being_moved_away(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    quay = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    first, second = probes(kitchen, 2)
    newcomer = kitchen.enrol(uses=("cold",))
    kitchen.checked(newcomer, "0.1 C")
    kitchen.clock.move(hours=1)
    assert in_turn(kitchen) == [first]
    thermometers.move(kitchen.session, kitchen.officer, first, quay)
    assert in_turn(kitchen) == []
    kitchen.clock.move(hours=8)
    assert in_turn(kitchen) == [second]
    kitchen.checked(second, "0.1 C")
    kitchen.clock.move(hours=16)
    assert in_turn(kitchen) == [newcomer]


def test_a_miss_leaves_the_turn_and_an_answer_passes_it_on(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    first, second, _ = probes(kitchen, 3)
    kitchen.clock.move(hours=9)  # the early shift ended
    assert (in_turn(kitchen, "missed"), in_turn(kitchen)) == ([first], [first])
    checks.not_checked(kitchen.session, kitchen.lead, first, kitchen.site, shifts[1], "2026-03-04", "not_used")
    assert (in_turn(kitchen, "not_used"), in_turn(kitchen)) == ([first], [])
    kitchen.clock.move(hours=15)
    assert in_turn(kitchen) == [second]
    assert turns(kitchen) == [
        (4, "Early", first, "missed"),
        (4, "Late", first, "not_used"),
        (5, "Early", second, "open"),
    ]


def test_who_is_wanted_by_days_that_day_is_not_asked_twice(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    """Six days later; on the seventh both are wanted by days and there is no sentinel; one check counts once."""
    first, second = probes(kitchen, 2)
    kitchen.clock.move(days=5)  # the 9th
    assert in_turn(kitchen) == [first]
    kitchen.checked(first, "0.1 C")
    kitchen.clock.move(days=1)  # the 10th: the second is wanted by days, so that the first is asked anew
    assert in_turn(kitchen) == [first]
    kitchen.checked(second, "0.1 C")
    kitchen.checked(first, "0.1 C")
    kitchen.clock.move(hours=9)
    assert in_turn(kitchen) == []  # both were looked at today
    kitchen.clock.move(hours=12)
    found = [(one.thermometer, one.day.day, one.state, one.by_days) for one in looked_back(kitchen, 2)]
    own = [one for one in found if one[1] in (9, 10) and one[2] == "done"]
    assert sorted(own) == sorted([(first, 9, "done", False), (second, 10, "done", True), (first, 10, "done", False)])


def test_a_closed_station_is_passed_over(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    grill = places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Grill")
    first, second = probes(kitchen, 2)
    thermometers.move(kitchen.session, kitchen.officer, first, kitchen.site, grill)
    kitchen.clock.move(hours=2)
    assert in_turn(kitchen) == [first]
    tomorrow = date(2026, 3, 5)
    calendars.state(kitchen.session, kitchen.officer, kitchen.site, tomorrow, tomorrow, kind="closed", stations=[grill])
    kitchen.clock.move(days=1)
    assert in_turn(kitchen) == [second]


def test_only_what_was_recorded_counts(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    """A risk-based plan of before has no rule `sentinel`."""
    probes(kitchen, 2)
    assert len(in_turn(kitchen)) == 1
    kitchen.plan(PlanRule(rule="every_days", days=7), PlanRule(rule="new"))
    assert in_turn(kitchen) == []


def test_what_hangs_in_its_place_is_taken_only_where_a_plan_says_so(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    air = kitchen.enrol(AIR_C, type="fixed_air", uses=("cold",), waterproof=True)
    kitchen.checked(air, "0 C")
    kitchen.clock.move(days=1)
    assert in_turn(kitchen) == []
    kitchen.plan(PlanRule(rule="every_days", days=30), PlanRule(rule="sentinel"))
    assert in_turn(kitchen) == [air]


def test_it_stands_on_the_list_of_the_shift_with_its_words(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    first, _ = probes(kitchen, 2)
    view = shift_list.start_of_shift(kitchen.session, kitchen.site)
    (row,) = view.rows
    assert (row.thermometer, row.wants[0].code, row.state) == (first, "sentinel", "waiting")
    (notice,) = [one for one in notices.now(kitchen.session) if one.code == "shift"]
    assert notice.tags == (kitchen.tag(first),)
    with kitchen.session.reading() as connection:
        found = owed.of_one(kitchen.session, connection, kitchen.row(first), "risk_based")
        days = owed.next_days(kitchen.session, connection, [kitchen.row(first)])
    assert [one.code for one in found.due] == ["sentinel"]
    assert (days[first], found.next.day if found.next else None) == (date(2026, 3, 10), date(2026, 3, 10))
    kitchen.checked(first, "0.1 C")
    (row,) = shift_list.start_of_shift(kitchen.session, kitchen.site).rows
    assert (row.wants[0].state, row.state) == ("done", "recorded")


def test_a_check_in_a_condemned_bath_leaves_it_open_and_keeps_the_next_turn(
    kitchen: Kitchen, shifts: tuple[str, str]
) -> None:
    first, second = probes(kitchen, 2)
    bath = kitchen.ice()
    kitchen.key(bath, first, "0.1 C")
    kitchen.clock.move(hours=9)
    assert in_turn(kitchen) == [second]
    kitchen.judge(bath, "condemned")
    assert (in_turn(kitchen), in_turn(kitchen, "missed")) == ([second], [first])
    assert [state for *_, state in turns(kitchen)] == ["missed", "open"]


def test_what_is_keyed_in_from_paper_later_does_not_pass_the_turn(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    """Nobody could have asked the second for a shift that was over when the paper came."""
    first, second = probes(kitchen, 2)
    kitchen.clock.move(hours=1)
    kitchen.checked(first, "0.1 C")
    kitchen.clock.move(hours=8)
    assert in_turn(kitchen) == [second]
    yesterday = at("2026-03-03 20:00")
    bath = kitchen.ice(performed_at=yesterday)
    for one in (first, second):
        kitchen.key(bath, one, "0.1 C", performed_at=yesterday)
    kitchen.judge(bath)
    assert (in_turn(kitchen), in_turn(kitchen, "missed")) == ([second], [])
    assert turns(kitchen) == [(4, "Early", first, "done"), (4, "Late", second, "open")]


def test_a_closed_list_names_it_and_log_and_activity_tell_it_once(kitchen: Kitchen, shifts: tuple[str, str]) -> None:
    first, _ = probes(kitchen, 2)
    kitchen.clock.move(hours=2)
    lists.close_list(kitchen.session, kitchen.lead, kitchen.site)
    assert kitchen.last("shift_closed").payload["not_done"] == [first]
    kitchen.clock.move(hours=8)  # the early shift ended, in the late one it is still open
    assert [(one.thermometer, one.day) for one in lines(kitchen, "missed")] == [(first, date(2026, 3, 4))]
    (site,) = activity.checks_by_week(kitchen.session, weeks=1).sites
    assert (site.total("missed"), site.total("open"), site.total("done")) == (1, 1, 2)


# --- a change of plan -----------------------------------------------------------------------------------------


def missed(kitchen: Kitchen) -> tuple[set[tuple[str, int, str]], set[tuple[str, int, str]]]:
    """What due list and looking back call missed in shifts of the last two days."""
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
        here = {one.thermometer for one in queries.thermometers(connection, site=kitchen.site)}
    told = {(one.row.thermometer, one.item.day.day, one.item.shift or "") for one in due if one.item.state == "missed"}
    since = kitchen.clock() - 2 * DAY_US
    back = {
        (one.thermometer, one.day.day, one.shift.shift.id)
        for one in looked_back(kitchen)
        if one.state == "missed" and not one.by_days and one.shift.ends_at >= since and one.thermometer in here
    }
    return told, back


@pytest.mark.parametrize("to", ["each_shift", "risk_based"])
def test_after_a_change_of_plan_both_call_the_same_missed(kitchen: Kitchen, shifts: tuple[str, str], to: str) -> None:
    if to == "risk_based":
        rules.set_plan(kitchen.session, kitchen.officer, "each_shift", TUESDAY)
    first, second = probes(kitchen, 2)
    kitchen.clock.move(hours=20)  # 01:30 on the 5th: both shifts of the 4th were missed
    before = missed(kitchen)
    rules.set_plan(kitchen.session, kitchen.officer, to, TUESDAY)
    assert missed(kitchen) == before
    told, back = before
    assert told == back
    each = {(one, 4, shift) for one in (first, second) for shift in shifts}
    late = {(one, 3, shifts[1]) for one in (first, second)}
    assert told == (each | late if to == "risk_based" else {(first, 4, shift) for shift in shifts})
    kitchen.clock.move(hours=14)  # 15:30: the early shift of the 5th went by under the new plan
    told, back = missed(kitchen)
    assert told == back
    assert (first, 5, shifts[0]) in told
