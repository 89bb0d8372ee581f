"""The past gone through again with another plan, against cases worked out by hand."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from registry.compute.drift import Event
from registry.compute.schedule import Shift, ShiftTime
from registry.records.rules import PlanRule
from registry.services import incidents, places, replay
from registry.services.plan_cost import SECONDS_A_CHECK
from registry.services.replay import Spell, crossing, how_many, round_of, under, with_turns
from registry.services.words import replay as words
from tests.services.kitchen import DAY_US, HOUR_US, TUESDAY, Kitchen

EVERY_DAY = tuple(range(7))
FIRST = date(1970, 1, 5)


def shifts(days: int, closed: tuple[int, ...] = ()) -> list[ShiftTime]:
    """One shift a day, six hours from 06:00 UTC, but on closed days."""
    shift = Shift("e", "s", "Early", 360, 720, frozenset(range(7)), FIRST)
    found = []
    for n in range(days):
        if n not in closed:
            at = (n + 4) * DAY_US + 6 * HOUR_US
            found.append(ShiftTime(shift, FIRST + timedelta(n), at, at + 6 * HOUR_US))
    return found


def test_before_the_first_thermometer_a_day_is_told_and_no_date_of_the_far_future(kitchen: Kitchen) -> None:
    found = replay.replay(kitchen.session, "risk_based")
    assert (found.first, found.last, found.thermometers) == (TUESDAY - timedelta(1), TUESDAY - timedelta(1), 0)


# --- since when it was outside -------------------------------------------------------------------------------


def test_a_line_goes_out_between_two_checks() -> None:
    assert crossing([(0, 0.2), (10, 1.2)], [], 1.0) == pytest.approx(8.0)
    assert crossing([(0, -0.2), (10, -1.2)], [], 1.0) == pytest.approx(8.0)


def test_one_that_passed_by_luck_was_out_already() -> None:
    assert crossing([(0, 0.0), (10, 1.2), (20, 1.4)], [], 1.0) == pytest.approx(10 / 1.2)


def test_from_one_side_to_the_other_it_was_inside_on_its_way() -> None:
    assert crossing([(0, -2.0), (10, 2.0)], [], 1.0) == pytest.approx(7.5)


def test_an_adjustment_sets_the_line_anew_and_an_incident_is_when_it_jumped() -> None:
    turned = Event(0.0, "adjusted", as_left=0.0, u=0.1)
    assert crossing([(0, 3.0), (10, 2.0)], [turned], 1.0) == pytest.approx(5.0)
    left_out = Event(0.0, "adjusted", as_left=1.5, u=0.1)
    assert crossing([(0, 3.0), (10, 2.0)], [left_out], 1.0) == 0.0
    assert crossing([(0, 0.0), (10, 2.0)], [Event(3.0, "incident")], 1.0) == 3.0


def test_a_reading_alone_that_was_outside_is_no_time_outside() -> None:
    assert crossing([(0, 0.0), (10, 0.4)], [], 1.0) == 10


# --- when a plan would have found it -------------------------------------------------------------------------


def spell(begins: float, found: float) -> Spell:
    """Days from the first shift's midnight."""
    start = 4 * DAY_US
    return Spell("t", start + round(begins * DAY_US), start, start + round(found * DAY_US))


def test_each_shift_finds_it_at_its_next_beginning() -> None:
    # Out from noon of day 2, found on day 9 at 06:30; the shift of day 3 begins at 06:00.
    found = under("each_shift", shifts(20), spell(2.5, 9.271))
    assert (found.days, found.found) == (pytest.approx(0.75), 1.0)


def test_a_weekly_round_finds_it_on_each_of_its_days_alike() -> None:
    # From 18 hours before the next shift on: 0.75, 1.75 ... 6.75 days; on the day on which it was found at 06:30.
    found = under(7, shifts(60), spell(20.5, 60.0))
    assert found.days == pytest.approx(0.75 + 3.0)
    same = under(7, shifts(60), spell(20.5, 24.27))
    assert same.days == pytest.approx((0.75 + 1.75 + 2.75 + 3.77 + 4.75 + 5.75 + 6.75) / 7)


def test_a_closed_day_puts_the_round_off() -> None:
    every = under("each_shift", shifts(20, closed=(3, 4)), spell(2.5, 9.3))
    assert every.days == pytest.approx(2.75)


def test_what_no_check_finds_within_the_period_is_cut_at_its_end() -> None:
    found = under(30, shifts(20), spell(10.5, 12.3))
    assert 0 < found.found < 1
    assert under(None, shifts(20), spell(10.5, 12.3)).found == 0.0
    assert under(None, shifts(20), spell(10.5, 12.3)).days == pytest.approx(9.0)


def test_the_round_counts_worked_days_and_the_first_after_its_day() -> None:
    days = [one.day.day for one in round_of(3, shifts(10, closed=(3,)))]
    assert days == [5, 9, 12]  # the fourth day is closed
    assert how_many({"a": "each_shift", "b": 3, "c": None}, dict.fromkeys("abc", shifts(10))) == 14
    assert round_of(3, []) == []


def test_with_one_by_turns_in_each_shift() -> None:
    """Three weekly ones, one shift a day: each every three days, and none of them ever by its day but the first."""
    found = with_turns(dict.fromkeys("abc", 7), dict.fromkeys("abc", shifts(9)), shifts(9))
    days = {one: [(time.day - FIRST).days for time in times] for one, times in found.items()}
    # a by its day on the first; b, wanted on the next, as its sentinel; then who was looked at longest ago, of one
    # shift the lower id.
    assert days == {"a": [0, 2, 5, 8], "b": [0, 3, 6], "c": [1, 4, 7]}
    alone = with_turns({"a": 7}, {"a": shifts(4)}, shifts(4))
    assert [(time.day - FIRST).days for time in alone["a"]] == [0, 1, 2, 3]


# --- a kitchen -----------------------------------------------------------------------------------------------


def a_month(kitchen: Kitchen, *, turns: bool = False) -> str:
    """Weekly checks of one digital that is 2 °C off from the third week on; found on the fourth check."""
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY)
    kitchen.by_risk(turns=turns)
    probe = kitchen.enrol()
    kitchen.clock.move(hours=1)
    kitchen.always({probe: "0.0 C"}, 6)
    bath = kitchen.ice()
    row = kitchen.key(bath, probe, "2.0 C", "2.0 C", "2.0 C")
    kitchen.judge(bath)
    assert kitchen.check(row.check).outcome == "fail"
    kitchen.clock.move(days=3)
    return probe


def test_a_month_with_each_shift_instead(kitchen: Kitchen) -> None:
    probe = a_month(kitchen)
    found = replay.replay(kitchen.session, "each_shift")
    (one,) = found.spells
    assert one.spell.thermometer == probe
    assert 35 * DAY_US < one.spell.begins_at - one.spell.not_before + 35 * DAY_US < 42 * DAY_US
    assert (found.plan_in_force, found.thermometers, found.as_it_went.checks, found.missed) == ("risk_based", 1, 7, 0)
    assert (found.first, found.last) == (TUESDAY, TUESDAY + timedelta(44))
    assert (found.kept.checks, found.other.checks) == (7, 45)
    assert found.other.hours_a_year == pytest.approx(45 * SECONDS_A_CHECK / 3600 * 365.25 / 45)
    assert one.other.days < 1.0 < one.kept.days < 8.0
    assert found.as_it_went.days_outside == pytest.approx(one.spell.days)
    assert found.as_it_went.days_outside <= found.as_it_went.at_most == pytest.approx(7.0, abs=0.01)
    same = replay.replay(kitchen.session, "in_force")
    assert same.kept == same.other
    assert replay.replay(kitchen.session, "each_shift", ["elsewhere"]).thermometers == 0
    stopped = replay.replay(kitchen.session, "each_shift", progress=lambda n: False)
    assert not stopped.finished
    with kitchen.refuses(("plan", "choose")):
        replay.replay(kitchen.session, "never")
    with kitchen.refuses(("days", "choose")):
        replay.replay(kitchen.session, "each_shift", days=0)


def test_the_plan_in_force_finds_it_by_turns(kitchen: Kitchen) -> None:
    """The only digital is the sentinel of each day: as often as in each shift."""
    a_month(kitchen, turns=True)
    found = replay.replay(kitchen.session, "each_shift")
    assert (found.kept.checks, found.other.checks, found.missed) == (45, 45, 38)
    assert found.kept.days_outside == pytest.approx(found.other.days_outside)


def test_after_a_reported_incident_no_plan_is_sooner(kitchen: Kitchen) -> None:
    probe = a_month(kitchen)
    row = kitchen.row(probe)
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    found = replay.replay(kitchen.session, "each_shift")
    assert (len(found.spells), found.by_incident) == (1, 0)  # it came after
    assert row.failed_at is not None
    other = kitchen.enrol()
    kitchen.always({other: "0.0 C"}, 1, days=3)
    incidents.report_incident(kitchen.session, kitchen.lead, other, "dropped")
    kitchen.clock.move(days=1)
    bath = kitchen.ice()
    kitchen.key(bath, other, "3.0 C", "3.0 C", "3.0 C")
    kitchen.judge(bath)
    kitchen.clock.move(days=1)
    found = replay.replay(kitchen.session, "each_shift")
    assert (len(found.spells), found.by_incident) == (1, 1)


def test_in_words(kitchen: Kitchen) -> None:
    probe = a_month(kitchen)
    found = replay.replay(kitchen.session, "each_shift")
    lines = words.sentences(found, "Pier", "en", "en_US")
    assert lines[0] == "Pier, March\N{NO-BREAK SPACE}3, 2026 to April\N{NO-BREAK SPACE}16, 2026: 1 thermometer."
    assert lines[1].startswith("As it went: 7 checks made, 0 missed, 0.6 hours a year; 1 found outside, after ")
    assert lines[4].startswith("It asks 3.4 hours a year more, for ")
    assert "incident" not in lines[5]
    told = words.spell(found.spells[0], "es", "es_ES")
    assert told.startswith(f"{kitchen.tag(probe)}: fuera desde hacia el ")
    same = words.sentences(replay.replay(kitchen.session, "in_force"), "", "es", "es_ES")
    assert len(same) == 4
    assert same[0].startswith("Todos los centros, ")
    alone = words.spell(found.spells[0], "en", "en_US", alone=True)
    assert ", in force " in alone
    assert "instead" not in alone


def test_a_shipped_plan_that_has_gained_rules_stands_beside_the_one_of_its_name(kitchen: Kitchen) -> None:
    a_month(kitchen)
    found = replay.replay(kitchen.session, "each_shift")
    same_name = replace(found, plan_in_force="each_shift")
    assert words.against(same_name)
    assert words.sentences(same_name, "Pier", "en", "en_US")[3].startswith("Instead, ")
    assert not words.against(replace(same_name, other=same_name.kept))
    assert not words.against(replay.replay(kitchen.session, "in_force"))


def test_plans_that_come_to_the_same_are_said_to(kitchen: Kitchen) -> None:
    a_month(kitchen)
    found = replay.replay(kitchen.session, "each_shift")
    same = words.sentences(replace(found, other=found.kept), "Pier", "en", "en_US")
    assert any(line.startswith("It asks as many hours a year, and leaves as many days") for line in same)
    assert not any("0.0" in line for line in same)


def test_only_what_was_left_out_is_counted_as_not_compared(kitchen: Kitchen) -> None:
    a_month(kitchen)
    found = replace(replay.replay(kitchen.session, "each_shift"), by_incident=1, by_chance=0, unknown=2)
    lines = words.sentences(found, "Pier", "en", "en_US")
    told = "one found after a reported incident, at which every plan looks at once; 2 of which nobody knows since when"
    assert f"Not compared: {told}." in lines
    spanish = words.sentences(replace(found, by_chance=1, by_incident=0, unknown=0), "Pier", "es", "es_ES")
    assert "No se comparan: uno encontrado por una comprobación, aunque según las demás seguía dentro." in spanish


def test_each_point_that_a_plan_names_has_its_own_checks(kitchen: Kitchen) -> None:
    """Twelve days with one shift each: ice on six of them, boiling on four."""
    session, officer = kitchen.session, kitchen.officer
    places.add_shift(session, officer, kitchen.site, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY)
    kitchen.enrol()
    kitchen.plan(
        PlanRule(rule="every_days", days=2, points=("ice_point",)),
        PlanRule(rule="every_days", days=3, points=("boiling_point",)),
    )
    kitchen.clock.move(days=12)
    found = replay.replay(session, "in_force")
    assert (found.kept.checks, found.other.checks) == (10, 10)
