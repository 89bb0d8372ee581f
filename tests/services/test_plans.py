"""A recheck plan of one's own: set, changed a rule at a time, for the group or one site, and given back."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest

from registry.compute import schedule
from registry.quantity import Length
from registry.records.rules import PlanRule
from registry.services import (
    duelist,
    places,
    plan_kept,
    plan_problems,
    plans,
    replay,
    rules,
    thermometers,
)
from registry.services.places import NewSite
from registry.services.problems import Refused
from registry.services.session import Actor
from tests.services.kitchen import DAY_US, TUESDAY, ZONE, Kitchen

NEW, INCIDENT = PlanRule(rule="new"), PlanRule(rule="after_incident")
WEEKLY = PlanRule(rule="every_days", days=7)
ALWAYS = (NEW, INCIDENT)


def refused(act: Callable[[], object]) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as found:
        act()
    return [(one.field, one.code) for one in found.value.problems]


def plan_of(kitchen: Kitchen, site: str | None = None) -> plans.Standing:
    with kitchen.session.reading() as connection:
        return plans.standing(connection, site)


def own(kitchen: Kitchen, *those: PlanRule, site: str | None = None, sure: bool = True) -> None:
    plans.set_own_plan(kitchen.session, kitchen.officer, those, TUESDAY, site, sure=sure)


def add(kitchen: Kitchen, rule: PlanRule, since: date, site: str | None = None, actor: Actor | None = None) -> None:
    plans.change(kitchen.session, actor or kitchen.officer, plans.adding(rule), since, site)


def remove(kitchen: Kitchen, rule: PlanRule, since: date, *, sure: bool = False) -> None:
    plans.change(kitchen.session, kitchen.officer, plans.without(rule), since, sure=sure)


def due(kitchen: Kitchen) -> set[tuple[str, str]]:
    with kitchen.session.reading() as connection:
        return {(one.row.tag_id or "", one.item.code) for one in duelist.due_list(kitchen.session, connection)}


def another_site(kitchen: Kitchen, letters: str = "QY") -> str:
    return places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", letters, ZONE, Length(Decimal(5), "m")))


# --- rules are added, changed and removed --------------------------------------------------------------------


def test_a_rule_is_added_to_the_plan_in_force_changed_and_removed(kitchen: Kitchen) -> None:
    before = plan_of(kitchen).plan.rules
    add(kitchen, WEEKLY, TUESDAY)
    found = plan_of(kitchen)
    assert (found.plan.plan, found.plan.rules, found.own) == ("own", (*before, WEEKLY), False)
    plans.change(kitchen.session, kitchen.officer, plans.with_days(WEEKLY, 3), TUESDAY)
    thrice = PlanRule(rule="every_days", days=3)
    assert plan_of(kitchen).plan.rules == (*before, thrice)
    remove(kitchen, thrice, TUESDAY)
    assert plan_of(kitchen).plan.rules == before


def test_an_own_plan_asks_for_what_it_says(kitchen: Kitchen) -> None:
    dial, probe = kitchen.dial(), kitchen.enrol()
    for one in (dial, probe):
        kitchen.checked(one, "0.0 C" if one == probe else "0 C")
    own(
        kitchen,
        *ALWAYS,
        PlanRule(rule="every_days", days=2, types=("bimetal_stem",)),
        PlanRule(rule="every_days", days=5, thermometers=(probe,)),
    )
    kitchen.clock.move(days=3)
    assert due(kitchen) == {(kitchen.tag(dial), "every_days")}
    kitchen.clock.move(days=3)
    assert due(kitchen) == {(kitchen.tag(dial), "every_days"), (kitchen.tag(probe), "every_days")}


def test_two_who_change_different_rules_lose_neither(kitchen: Kitchen) -> None:
    monthly = PlanRule(rule="every_days", days=30, types=("oven",))
    add(kitchen, WEEKLY, TUESDAY)
    add(kitchen, monthly, TUESDAY, actor=kitchen.admin)
    assert plan_of(kitchen).plan.rules[-2:] == (WEEKLY, monthly)


def test_the_same_twice_is_not_recorded_twice(kitchen: Kitchen) -> None:
    own(kitchen, *ALWAYS, WEEKLY)
    count = kitchen.count()
    assert refused(lambda: own(kitchen, *ALWAYS, WEEKLY)) == [("plan", "same")]
    assert refused(lambda: add(kitchen, WEEKLY, TUESDAY)) == [("rule", "twice")]
    gone = PlanRule(rule="sentinel")
    assert refused(lambda: remove(kitchen, gone, TUESDAY)) == [("rule", "not_in_plan")]
    assert kitchen.count() == count


# --- for one site --------------------------------------------------------------------------------------------


def test_a_site_gets_its_own_plan_and_goes_back_to_the_groups_whatever_that_becomes(kitchen: Kitchen) -> None:
    quay = another_site(kitchen)
    group = plan_of(kitchen).plan.rules
    add(kitchen, WEEKLY, TUESDAY, quay)
    assert plan_of(kitchen, quay).plan.rules == (*group, WEEKLY)
    assert plan_of(kitchen, quay).own
    assert plan_of(kitchen, kitchen.site).plan.rules == group
    plans.back_to_group(kitchen.session, kitchen.officer, quay, TUESDAY)
    assert not plan_of(kitchen, quay).own
    kitchen.clock.move(minutes=1)
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    assert plan_of(kitchen, quay).plan.plan == "risk_based"
    back = plans.back_to_group
    assert refused(lambda: back(kitchen.session, kitchen.officer, quay, TUESDAY)) == [("site", "no_own_plan")]
    assert kitchen.verify().good


def test_looking_back_finds_which_plan_a_site_had_when(kitchen: Kitchen) -> None:
    """Its own while it had one, then what the group's became, though the entry by which it went back says otherwise."""
    before = kitchen.clock()
    own(kitchen, *ALWAYS, WEEKLY, site=kitchen.site)
    during = kitchen.clock()
    plans.back_to_group(kitchen.session, kitchen.officer, kitchen.site, TUESDAY)
    kitchen.clock.move(days=1)
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    after = kitchen.clock()
    with kitchen.session.reading() as connection:
        then = plan_kept.past(connection)
    codes = [{one.code for one in plan_kept.plan_at(then, kitchen.site, at) or ()} for at in (before, during, after)]
    assert ["each_shift" in one for one in codes] == [True, False, False]
    assert [one == {"new", "after_incident", "every_days"} for one in codes] == [False, True, False]
    assert "hot_point" in codes[2]


def test_a_sites_plan_starts_from_the_groups_rules_that_are_for_it(kitchen: Kitchen) -> None:
    quay = another_site(kitchen)
    here = PlanRule(rule="every_days", days=2, sites=(kitchen.site,))
    own(kitchen, *ALWAYS, here, PlanRule(rule="every_days", days=9, sites=(quay,)))
    add(kitchen, PlanRule(rule="sentinel"), TUESDAY, kitchen.site)
    found = plan_of(kitchen, kitchen.site).plan.rules
    assert found == (*ALWAYS, PlanRule(rule="every_days", days=2), PlanRule(rule="sentinel"))


def test_a_site_may_have_a_shipped_plan(kitchen: Kitchen) -> None:
    plans.set_shipped_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY, kitchen.site)
    assert plan_of(kitchen, kitchen.site).plan.plan == "risk_based"
    assert plan_of(kitchen).plan.plan == "each_shift"


# --- what stands against it ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "problem"),
    [
        (PlanRule(rule="whenever"), ("rule", "choose")),
        (PlanRule(rule="every_days"), ("days", "needed")),
        (PlanRule(rule="every_days", days=0), ("days", "from_to")),
        (PlanRule(rule="every_days", days=-7), ("days", "from_to")),
        (PlanRule(rule="every_days", days=3661), ("days", "from_to")),
        (PlanRule(rule="each_shift", days=3), ("days", "not_for_this_rule")),
        (PlanRule(rule="forecast", days=3), ("days", "not_for_this_rule")),
        (PlanRule(rule="every_days", days=3, types=("spoon",)), ("types", "choose")),
        (PlanRule(rule="every_days", days=3, sites=("0" * 32,)), ("sites", "unknown")),
        (PlanRule(rule="every_days", days=3, thermometers=("0" * 32,)), ("tags", "unknown")),
        (PlanRule(rule="every_days", days=3, thermometers=("0" * 32,) * 61), ("tags", "too_many")),
        (PlanRule(rule="every_days", days=3, points=("steam",)), ("point", "choose")),
        (PlanRule(rule="each_shift", points=("ice_point",)), ("point", "not_for_this_rule")),
        (PlanRule(rule="every_days", days=3, points=("ice_point",), types=("fry",)), ("point", "not_for_types")),
    ],
)
def test_a_rule_that_says_nothing_possible_is_refused(
    kitchen: Kitchen, rule: PlanRule, problem: tuple[str, str]
) -> None:
    count = kitchen.count()
    assert refused(lambda: add(kitchen, rule, TUESDAY)) == [problem]
    assert kitchen.count() == count


def test_the_longest_and_shortest_days_are_taken(kitchen: Kitchen) -> None:
    own(kitchen, *ALWAYS, PlanRule(rule="every_days", days=1), PlanRule(rule="hot_point", days=3660))
    assert len(plan_of(kitchen).plan.rules) == 4


def test_a_plan_of_nothing_and_a_huge_one_are_refused(kitchen: Kitchen) -> None:
    assert refused(lambda: own(kitchen)) == [("rule", "empty")]
    many = [PlanRule(rule="every_days", days=n) for n in range(1, 62)]
    assert refused(lambda: own(kitchen, *many)) == [("plan", "too_many")]


@pytest.mark.parametrize("code", plan_problems.ALWAYS)
def test_what_is_new_or_had_an_incident_is_always_asked_for(kitchen: Kitchen, code: str) -> None:
    gone = PlanRule(rule=code)
    assert refused(lambda: remove(kitchen, gone, TUESDAY, sure=True)) == [("rule", "always_asked")]
    narrowed = [PlanRule(rule=code, types=("oven",)), *(one for one in ALWAYS if one.rule != code), WEEKLY]
    assert refused(lambda: own(kitchen, *narrowed)) == [("rule", "always_asked")]


def test_what_would_no_longer_be_checked_regularly_is_named_and_may_be_confirmed(kitchen: Kitchen) -> None:
    kitchen.dial()
    kitchen.enrol()
    probes = PlanRule(rule="every_days", days=7, types=("thermistor_probe",))
    with pytest.raises(Refused) as found:
        own(kitchen, *ALWAYS, probes, sure=False)
    (problem,) = found.value.problems
    assert (problem.code, problem.values) == ("asks_nothing", {"types": ("bimetal_stem",)})
    own(kitchen, *ALWAYS, probes)
    add(kitchen, PlanRule(rule="forecast"), TUESDAY)  # not asked again


def test_by_turns_alone_asks_for_nobody_and_is_no_reason_not_to_warn(kitchen: Kitchen) -> None:
    """The turn goes among those that are wanted by days; without days nobody has one."""
    kitchen.checked(kitchen.enrol(uses=("cold",)), "0.1 C")
    weekly = PlanRule(rule="every_days", days=7, types=("thermistor_probe",))
    own(kitchen, *ALWAYS, weekly, PlanRule(rule="sentinel"))
    kitchen.clock.move(days=30)
    with pytest.raises(Refused) as caught:
        remove(kitchen, weekly, TUESDAY)
    assert [(one.field, one.code) for one in caught.value.problems] == [("plan", "asks_nothing")]


def test_a_plan_begins_when_it_is_recorded_never_later(kitchen: Kitchen) -> None:
    kitchen.clock.move(days=2)
    late = TUESDAY + timedelta(days=4)
    assert refused(lambda: add(kitchen, WEEKLY, late)) == [("since", "plan_from_now")]
    add(kitchen, WEEKLY, date(2020, 1, 1))
    assert plan_of(kitchen).plan.since == "2020-01-01"


def test_a_retired_thermometer_is_not_named_but_one_that_retired_since_bars_no_change(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    named = PlanRule(rule="every_days", days=3, thermometers=(probe,))
    add(kitchen, named, TUESDAY)
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "retired")
    add(kitchen, WEEKLY, TUESDAY)
    again = PlanRule(rule="hot_point", days=3, thermometers=(probe,))
    assert refused(lambda: add(kitchen, again, TUESDAY)) == [("tags", "retired")]


def test_in_a_sites_plan_a_thermometer_of_another_site_is_not_named(kitchen: Kitchen) -> None:
    quay, probe = another_site(kitchen), kitchen.enrol()
    rule = PlanRule(rule="forecast", thermometers=(probe,))
    assert refused(lambda: add(kitchen, rule, TUESDAY, quay)) == [("tags", "at_another_site")]
    add(kitchen, rule, TUESDAY, kitchen.site)


def test_a_rule_for_a_site_that_has_its_own_plan_would_change_nothing(kitchen: Kitchen) -> None:
    own(kitchen, *ALWAYS, WEEKLY, site=kitchen.site)
    rule = PlanRule(rule="every_days", days=3, sites=(kitchen.site,))
    assert refused(lambda: add(kitchen, rule, TUESDAY)) == [("sites", "has_own_plan")]
    assert refused(lambda: add(kitchen, rule, TUESDAY, kitchen.site)) == [("sites", "of_group_only")]


def test_only_officers_set_a_plan(kitchen: Kitchen) -> None:
    for actor in (kitchen.lead, kitchen.auditor):
        for act in (
            lambda who: plans.set_own_plan(kitchen.session, who, (), TUESDAY),
            lambda who: plans.change(kitchen.session, who, plans.adding(WEEKLY), TUESDAY),
            lambda who: plans.change(kitchen.session, who, plans.without(NEW), TUESDAY),
            lambda who: plans.set_shipped_plan(kitchen.session, who, "risk_based", TUESDAY, kitchen.site),
            lambda who: plans.back_to_group(kitchen.session, who, kitchen.site, TUESDAY),
        ):
            assert refused(lambda act=act, who=actor: act(who)) == [("actor", "not_allowed")]


# --- replayed ------------------------------------------------------------------------------------------------


def test_a_plan_of_ones_own_is_replayed(kitchen: Kitchen) -> None:
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", range(7), TUESDAY)
    kitchen.enrol()
    kitchen.clock.at += 30 * DAY_US
    found = replay.replay(kitchen.session, "changed", days=28, own=(*ALWAYS, WEEKLY))
    assert (found.kept.checks, found.other.checks) == (28, 4)  # by hand: each shift of 28 days, and one in each seven
    assert found.plan == "changed"


def test_two_sites_with_plans_of_their_own_have_not_one_plan(kitchen: Kitchen) -> None:
    quay = another_site(kitchen)
    own(kitchen, *ALWAYS, WEEKLY, site=kitchen.site)
    own(kitchen, *ALWAYS, PlanRule(rule="each_shift"), site=quay)
    assert replay.replay(kitchen.session, "in_force").plan_in_force == ""
    assert replay.replay(kitchen.session, "in_force", [quay]).plan_in_force == "own"


def test_every_rule_code_may_stand_in_a_plan_of_ones_own(kitchen: Kitchen) -> None:
    days = {"every_days": 7}
    own(kitchen, *(PlanRule(rule=code, days=days.get(code)) for code in sorted(schedule.RULES)))
    assert {one.rule for one in plan_of(kitchen).plan.rules} == schedule.RULES
