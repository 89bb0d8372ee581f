"""What the plan asked for in a past period, with what stood then."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest

from registry.compute import schedule
from registry.quantity import Length
from registry.records.rules import PlanRule, PlanSet
from registry.services import checks, duelist, mend, places, plan_kept, rules, thermometers
from registry.services.places import NewShift, NewSite
from registry.services.plan_kept import Asked
from tests.services.kitchen import DAY_US, TUESDAY, ZONE, Kitchen
from tests.services.test_monthly_log import lines

EVERY_DAY = tuple(range(7))


@pytest.fixture
def early(kitchen: Kitchen) -> str:
    """Every day from 06:00 to 14:00."""
    return places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY
    )


def by_risk(kitchen: Kitchen) -> None:
    """Dials every day, digitals every seven days, from now on."""
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)


def asked(kitchen: Kitchen, days: int = 7, *, before: int = 0) -> list[Asked]:
    """What was asked in the last days, by day and thermometer."""
    now = kitchen.clock()
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        then = plan_kept.past(connection)
        found = plan_kept.asked(connection, then, site, now - days * DAY_US, now - before * DAY_US, now)
        return sorted((one for some in found for one in some), key=lambda one: (one.day, one.thermometer))


def states(kitchen: Kitchen, thermometer: str, days: int = 7) -> list[tuple[int, str]]:
    """(day of the month, state)"""
    return [(one.day.day, one.state) for one in asked(kitchen, days) if one.thermometer == thermometer]


def next_morning(kitchen: Kitchen, days: int = 1) -> None:
    """To 05:30 of a later day."""
    kitchen.clock.move(days=days)


def test_each_shift_that_ended_is_done_or_missed(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    next_morning(kitchen, 3)
    assert states(kitchen, probe) == [(3, "done"), (4, "missed"), (5, "missed")]


def in_the_evening(kitchen: Kitchen) -> dict[str, str]:
    """What the due list says of each shift that ended today and was not done; then it is the next morning."""
    kitchen.clock.move(hours=12)
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
        today = kitchen.session.today(places.site_named_by_id(connection, kitchen.site).payload)
    kitchen.clock.move(hours=12)
    wanted = ("each_shift", today)
    return {one.row.thermometer: one.item.state for one in due if (one.item.code, one.item.day) == wanted}


def test_it_counts_as_the_due_list_does(kitchen: Kitchen, early: str) -> None:
    """The same shifts, as the due list told of them each evening; what is done is not on it any more."""
    first, second = kitchen.enrol(), kitchen.dial()
    kitchen.checked(first, "0.1 C")
    checks.not_checked(kitchen.session, kitchen.lead, second, kitchen.site, early, "2026-03-03", "not_used")
    told = [in_the_evening(kitchen), in_the_evening(kitchen)]
    kitchen.checked(second, "0 C")
    told += [in_the_evening(kitchen), in_the_evening(kitchen)]
    for thermometer in (first, second):
        assert [state for _, state in states(kitchen, thermometer)] == [one.get(thermometer, "done") for one in told]
    assert states(kitchen, second) == [(3, "not_used"), (4, "missed"), (5, "done"), (6, "missed")]


def test_a_check_in_a_condemned_bath_did_nothing(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    next_morning(kitchen)
    condemned = kitchen.ice()
    kitchen.key(condemned, probe, "0.1 C")
    kitchen.judge(condemned, "condemned")
    next_morning(kitchen)
    assert states(kitchen, probe) == [(3, "done"), (4, "missed")]


def test_one_enrolled_within_a_shift_can_do_it_and_cannot_miss_it(kitchen: Kitchen, early: str) -> None:
    kitchen.clock.move(hours=3)  # 08:30
    checked, lazy = kitchen.enrol(), kitchen.enrol()
    kitchen.checked(checked, "0.1 C")
    next_morning(kitchen, 2)
    assert states(kitchen, checked) == [(3, "done"), (4, "missed")]
    assert states(kitchen, lazy) == [(4, "missed")]


def test_what_was_said_instead_is_its_state_with_its_reason(kitchen: Kitchen, early: str) -> None:
    lent, flat, slip = kitchen.enrol(), kitchen.enrol(), kitchen.enrol()
    for one, why in ((lent, "lent"), (slip, "not_used")):
        checks.not_checked(kitchen.session, kitchen.lead, one, kitchen.site, early, "2026-03-03", why)
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), flat, "battery_flat")
    said = next(one for one in kitchen.entries("not_checked") if one.subject == slip)
    mend.void(kitchen.session, kitchen.officer, said.number, "wrong_thermometer")
    next_morning(kitchen)
    found = {one.thermometer: (one.state, one.reason) for one in asked(kitchen)}
    assert found == {lent: ("lent", ""), flat: ("no_reading", "battery_flat"), slip: ("missed", "")}


def test_a_check_in_a_condemned_bath_or_a_voided_one_did_not_do_it(kitchen: Kitchen, early: str) -> None:
    bad, slip = kitchen.enrol(), kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, bad, "0.1 C")
    kitchen.judge(bath, "condemned")
    kitchen.checked(slip, "0.1 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "not_done")
    next_morning(kitchen)
    assert states(kitchen, bad) == states(kitchen, slip) == [(3, "missed")]


def test_it_owes_nothing_while_out_of_use_elsewhere_or_not_yet_there(kitchen: Kitchen, early: str) -> None:
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    out, moved = kitchen.enrol(), kitchen.enrol()
    next_morning(kitchen)
    thermometers.take_out(kitchen.session, kitchen.lead, out, "damaged")
    thermometers.move(kitchen.session, kitchen.officer, moved, other)
    next_morning(kitchen)
    late = kitchen.enrol()
    next_morning(kitchen)
    assert states(kitchen, out) == [(3, "missed")]
    assert states(kitchen, moved) == [(3, "missed")]  # what it owes there is the other site's
    assert states(kitchen, late) == [(5, "missed")]


def test_by_days_one_miss_is_counted_for_each_interval(kitchen: Kitchen, early: str) -> None:
    """The risk-based plan wants this digital every seven days, the dial every day; in between it has the turn."""
    by_risk(kitchen)
    digital, dial = kitchen.enrol(), kitchen.dial()
    kitchen.checked(digital, "0.1 C")
    kitchen.checked(dial, "0 C")
    next_morning(kitchen, 16)  # the 19th: wanted on the 10th and, missed then, on the 17th
    found = [one for one in asked(kitchen, 17) if one.thermometer == digital]
    assert [(one.day.day, one.state) for one in found if one.by_days] == [(3, "done"), (10, "missed"), (17, "missed")]
    turns = [(one.day.day, one.state) for one in found if not one.by_days]
    assert turns == [(day, "missed") for day in range(4, 10)]
    assert states(kitchen, dial, 17) == [(3, "done"), *((day, "missed") for day in range(4, 19))]


def test_by_days_a_late_check_begins_a_new_interval(kitchen: Kitchen, early: str) -> None:
    by_risk(kitchen)
    digital = kitchen.enrol()
    kitchen.checked(digital, "0.1 C")
    next_morning(kitchen, 9)
    kitchen.checked(digital, "0.1 C")  # the 12th
    next_morning(kitchen, 8)
    found = [(one.day.day, one.state) for one in asked(kitchen, 18) if one.thermometer == digital and one.by_days]
    assert found == [(3, "done"), (10, "missed"), (12, "done"), (19, "missed")]


def test_by_days_only_days_that_are_worked_count(kitchen: Kitchen) -> None:
    """Wanted every day, in a kitchen that works on Tuesdays: once a week."""
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", (1,), TUESDAY)
    by_risk(kitchen)
    dial = kitchen.dial()
    next_morning(kitchen, 15)
    assert states(kitchen, dial, 16) == [(3, "missed"), (10, "missed"), (17, "missed")]


def test_by_days_what_was_said_leaves_it_wanted_on_the_next_day(kitchen: Kitchen, early: str) -> None:
    by_risk(kitchen)
    digital = kitchen.enrol()
    checks.not_checked(kitchen.session, kitchen.lead, digital, kitchen.site, early, "2026-03-03", "not_found")
    next_morning(kitchen, 2)
    assert states(kitchen, digital) == [(3, "not_found"), (4, "missed")]


def test_an_older_plan_holds_for_its_own_time(kitchen: Kitchen, early: str) -> None:
    digital = kitchen.enrol()
    next_morning(kitchen, 2)
    by_risk(kitchen)
    next_morning(kitchen, 3)
    found = [(one.day.day, one.by_days) for one in asked(kitchen) if one.thermometer == digital]
    assert found == [(3, False), (4, False), (5, True)]


def test_a_changed_shift_is_asked_for_as_it_stood(kitchen: Kitchen, early: str) -> None:
    """A check at 06:10 did the shift of its day, though that begins at 20:00 since; none is missed for the change."""
    probe, lazy = kitchen.enrol(), kitchen.enrol()
    for _ in range(2):  # the 3rd and the 4th
        kitchen.clock.move(minutes=40)
        kitchen.checked(probe, "0.1 C")
        kitchen.clock.move(hours=23, minutes=20)
    kitchen.clock.move(hours=4)  # the 5th, 09:30: it is on
    new = NewShift("Evening", "20:00", "23:00", (3, 4))
    places.change_shift(kitchen.session, kitchen.officer, early, new)  # Thursdays and Fridays
    before = [(3, "done"), (4, "done")]
    kitchen.clock.move(days=5)  # Tuesday the 10th
    assert states(kitchen, probe) == [*before, (5, "missed"), (6, "missed")]
    assert states(kitchen, lazy) == [(3, "missed"), (4, "missed"), (5, "missed"), (6, "missed")]
    hours = [(one.day.day, one.shift.shift.name, one.shift.shift.start // 60) for one in asked(kitchen)]
    assert sorted(set(hours)) == [(3, "Early", 6), (4, "Early", 6), (5, "Early", 6), (6, "Evening", 20)]


def test_an_ended_shift_misses_nothing_more(kitchen: Kitchen, early: str) -> None:
    probe = kitchen.enrol()
    kitchen.clock.move(days=1, hours=4)  # the 4th, 09:30
    places.end_shift(kitchen.session, kitchen.officer, early, date(2026, 3, 4))
    kitchen.clock.move(days=4)
    assert states(kitchen, probe) == [(3, "missed"), (4, "missed")]
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    assert [one.item.code for one in due if one.item.code == "each_shift"] == []


def test_the_due_list_tells_no_miss_that_a_change_made(kitchen: Kitchen) -> None:
    """From working days to every day, said on a Monday: nobody missed the Sunday before."""
    working = tuple(range(5))
    shift = places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", working, TUESDAY
    )
    kitchen.enrol()
    kitchen.clock.move(days=6)  # Monday the 9th, 05:30
    places.change_shift(kitchen.session, kitchen.officer, shift, NewShift("Early", "06:00", "14:00", EVERY_DAY))
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    assert {one.item.day.day for one in due if one.item.code == "each_shift" and one.item.state == "missed"} == set()
    assert len(asked(kitchen)) == 4  # Tuesday to Friday


def test_a_shift_that_is_not_over_asks_nothing_yet(kitchen: Kitchen, early: str) -> None:
    kitchen.enrol()
    kitchen.clock.move(hours=5)
    assert asked(kitchen) == []
    assert [one.day for one in _worked(kitchen)] == []
    kitchen.clock.move(hours=5)
    assert [one.day for one in _worked(kitchen)] == [date(2026, 3, 3)]


def _worked(kitchen: Kitchen) -> Iterator[schedule.ShiftTime]:
    now = kitchen.clock()
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        yield from plan_kept.shifts_worked(plan_kept.past(connection), site, now - DAY_US, now)


def test_by_days_at_a_point_a_check_elsewhere_does_not_do(kitchen: Kitchen, early: str) -> None:
    """As the due list asks: ice every two days, boiling every three."""
    kitchen.plan(
        PlanRule(rule="every_days", days=2, points=("ice_point",)),
        PlanRule(rule="every_days", days=3, points=("boiling_point",)),
    )
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    kitchen.key(bath := kitchen.boil(), probe, "99.6 C")
    kitchen.judge(bath)
    for _ in range(4):
        next_morning(kitchen)
        kitchen.checked(probe, "0.1 C")
    next_morning(kitchen)  # the 8th
    found = [(one.point, one.day.day, one.state) for one in asked(kitchen) if one.by_days]
    assert [one for one in found if one[0] == "boiling_point"] == [
        ("boiling_point", 3, "done"),
        ("boiling_point", 6, "missed"),
    ]
    assert [one for one in found if one[0] == "ice_point"] == [("ice_point", day, "done") for day in range(3, 8)]
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    assert [(one.item.point, one.item.state) for one in due if one.item.code == "every_days"] == [
        ("boiling_point", "overdue")
    ]


def test_who_could_not_be_read_between_two_shifts_is_answered_for_one(kitchen: Kitchen, early: str) -> None:
    """At 13:30 the next shift takes checks already; it is that one's answer before and after it ended."""
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Late", "14:00", "22:00", EVERY_DAY, TUESDAY)
    probe = kitchen.enrol()
    kitchen.clock.move(hours=8)
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), probe, "battery_flat")
    kitchen.clock.move(hours=3)
    assert [(one.shift.shift.name, one.state) for one in asked(kitchen)] == [("Early", "missed")]
    next_morning(kitchen)
    found = sorted((one.shift.shift.name, one.state) for one in asked(kitchen))
    assert found == [("Early", "missed"), ("Early", "missed"), ("Late", "no_reading")]


def test_a_plan_that_replaces_another_holds_though_its_clock_was_behind(kitchen: Kitchen, early: str) -> None:
    kitchen.clock.move(hours=5)
    rules.set_plan(kitchen.session, kitchen.officer, "each_shift", TUESDAY)
    kitchen.clock.move(hours=-3)
    by_risk(kitchen)
    kitchen.clock.move(days=1)
    with kitchen.session.reading() as connection:
        now = rules.due_rules(rules.rules_in_force(connection, kitchen.site).plan)
        assert plan_kept.plan_at(plan_kept.past(connection), kitchen.site, kitchen.clock()) == now


def test_one_missed_at_two_points_on_a_day_is_one_line_of_the_log(kitchen: Kitchen, early: str) -> None:
    kitchen.plan(PlanRule(rule="every_days", days=2, points=("ice_point", "boiling_point")))
    probe = kitchen.enrol()
    next_morning(kitchen)
    assert [one.state for one in asked(kitchen)] == ["missed", "missed"]
    assert [one.thermometer for one in lines(kitchen, "missed")] == [probe]


@pytest.mark.parametrize("first", ["each_shift", "risk_based"])
def test_of_two_plans_stated_at_once_both_take_the_same(kitchen: Kitchen, early: str, first: str) -> None:
    """Two installations, neither of which knew of the other: the later holds until somebody answers."""
    second = "risk_based" if first == "each_shift" else "each_shift"
    probe = kitchen.enrol(uses=("cold",))
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        group = kitchen.session.group(entries.connection).subject
        for code in (first, second):
            plan = rules.shipped_plan(code)
            one = PlanSet(group=group, set=kitchen.session.new_id(), plan=code, rules=plan, since="2026-03-03")
            entries.add(one, after=set())
    kitchen.clock.move(hours=10)
    with kitchen.session.reading() as connection:
        assert rules.rules_in_force(connection, kitchen.site).plan.plan == second
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    missed = [one.item.shift for one in due if one.item.state == "missed"]
    assert missed == [one.shift.shift.id for one in asked(kitchen) if one.state == "missed" and not one.by_days]
    assert missed == ([early] if second == "each_shift" else [])
    assert {one.row.thermometer for one in due} == {probe}
