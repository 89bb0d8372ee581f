"""Set-up, Rules: the recheck plan as rules in plain words, and how each is added, changed and removed."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from registry.quantity import Length
from registry.records.rules import PlanRule
from registry.services import places, plans
from registry.services.places import NewSite
from tests.services.kitchen import TUESDAY, ZONE, Kitchen
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_setup import press, problems_in, type_in, words_in
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Button
from ui.setup.page import SetupPage
from ui.setup.plan import PlanSection
from ui.setup.rules import RulesPart

ALWAYS = (PlanRule(rule="new"), PlanRule(rule="after_incident"))


@pytest.fixture
def shown(desk: Desk, kitchen: Kitchen, frame: Frame) -> Callable[..., RulesPart]:
    def go(role: str = "officer") -> RulesPart:
        sit_down(desk, kitchen, role)
        frame.go("setup", "rules")
        assert isinstance(frame.page, SetupPage)
        assert isinstance(frame.page.part, RulesPart)
        return frame.page.part

    return go


def in_force(kitchen: Kitchen, site: str | None = None) -> plans.Standing:
    with kitchen.session.reading() as connection:
        return plans.standing(connection, site)


def named(part: RulesPart, name: str) -> Button:
    return next(one for one in part.findChildren(Button) if one.accessibleName().startswith(name))


def test_every_rule_stands_in_plain_words(shown: Callable[..., RulesPart]) -> None:
    words = words_in(shown("lead"))
    for said in ("In each shift", "When new here, before the first use", "After an incident, before the next use"):
        assert said in words
    assert "The hot point every 90 days, of what is used on hot food" in words


def test_a_rule_is_added_with_its_hours_said_first(
    shown: Callable[..., RulesPart], kitchen: Kitchen, answers: Answers
) -> None:
    section = shown().plan_section
    press(section.add)
    assert section.form is not None
    type_in(section.form.form, rule="every_days", days="1", types="bimetal_stem", point="ice_point")
    answers.ready = [False]
    press(section.form.button)
    assert answers.asked == ["Every day, at the ice point (Bimetal stem): recheck so?"]
    # twelve each shift, one shift a day, 40 s each: 48.7 h; dials daily come on top of nothing
    assert answers.details[0].startswith("About 49 hours a year, now 49")
    assert in_force(kitchen).plan.plan == "each_shift"
    answers.ready = [True]
    press(section.form.button)
    found = in_force(kitchen).plan
    wanted = PlanRule(rule="every_days", days=1, points=("ice_point",), types=("bimetal_stem",))
    assert (found.plan, found.rules[-1]) == ("own", wanted)
    assert section.doing == ""


def test_what_is_wrong_stands_beneath_its_field(shown: Callable[..., RulesPart], kitchen: Kitchen) -> None:
    section = shown().plan_section
    count = kitchen.count()
    press(section.add)
    for typed, said in (
        ({"days": ""}, "Say every how many days."),
        ({"days": "soon"}, "soon is not a whole number of days: type one such as 7."),
        ({"days": "4000"}, "That number of days cannot be kept: give 1 to 3660."),
        ({"days": "3", "tags": "ZZ9"}, "No thermometer bears ZZ9: look at its tag."),
    ):
        assert section.form is not None
        type_in(section.form.form, **typed)
        press(section.form.button)
        assert problems_in(section.form.form) == [said]
    assert kitchen.count() == count


def test_days_are_changed_and_a_rule_removed(
    shown: Callable[..., RulesPart], kitchen: Kitchen, answers: Answers
) -> None:
    part = shown()
    press(named(part, "Change days: The hot point every 90 days"))
    section = part.plan_section
    assert section.form is not None
    type_in(section.form.form, days="30")
    answers.ready = [True]
    press(section.form.button)
    assert PlanRule(rule="hot_point", days=30) in in_force(kitchen).plan.rules
    answers.ready = [True]
    press(named(part, "Remove: In each shift"))
    assert "no longer be checked regularly: Bimetal stem; Thermistor probe" in answers.details[-1]
    assert not [one for one in in_force(kitchen).plan.rules if one.rule == "each_shift"]


def test_what_keeps_a_lying_one_out_cannot_be_removed(shown: Callable[..., RulesPart]) -> None:
    names = [one.accessibleName() for one in shown().findChildren(Button)]
    assert "Remove: In each shift, All" in names
    assert not [one for one in names if one.startswith(("Remove: When new", "Remove: After an incident"))]


def test_a_site_gets_its_own_plan_and_goes_back(
    shown: Callable[..., RulesPart], kitchen: Kitchen, answers: Answers
) -> None:
    quay = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    part = shown()
    section = part.plan_section
    section.show(quay)
    assert any("Quay follows the group’s plan." in one for one in words_in(part))
    answers.ready = [True]
    section.ask("add", plans.adding(PlanRule(rule="forecast")), PlanRule(rule="forecast"), TUESDAY)
    assert "Quay then has a plan of its own" in answers.details[-1]
    assert in_force(kitchen, quay).own
    assert in_force(kitchen).plan.plan == "each_shift"
    answers.ready = [True]
    press(section.back)
    assert not in_force(kitchen, quay).own


def test_who_may_not_change_it_sees_no_buttons(shown: Callable[..., RulesPart]) -> None:
    names = [one.accessibleName() for one in shown("auditor").findChildren(Button)]
    assert not [one for one in names if one.startswith(("Change days", "Remove"))]


def test_hours_are_those_of_the_thermometers_that_a_rule_is_for(
    shown: Callable[..., RulesPart], kitchen: Kitchen
) -> None:
    one = PlanRule(rule="every_days", days=1, thermometers=(kitchen.enrol(),))
    section: PlanSection = shown().plan_section
    # by hand: one of thirteen, daily, 40 s a check: 365.25 x 40 s = 4.06 h
    assert section.hours([one]) == "4"
    with kitchen.session.reading() as connection:
        hours = plans.hours_a_year(connection, [one], None, "2026-03-03")
    assert hours == pytest.approx(4.058, abs=0.001)


def test_it_is_looked_back_on_before_it_is_chosen(
    shown: Callable[..., RulesPart], kitchen: Kitchen, answers: Answers
) -> None:
    section = shown().plan_section
    press(section.add)
    assert section.form is not None
    type_in(section.form.form, rule="forecast")
    answers.ready = [True]
    section.form.look_back()
    assert "The changed plan" in answers.details[-1]
    assert in_force(kitchen).plan.plan == "each_shift"
