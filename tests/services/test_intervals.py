"""Which checks tell how long thermometers hold, what they say together, and what that means for the plan."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from registry.records.rules import PlanRule
from registry.services import incidents, intervals, places, thermometers
from registry.services.intervals import Advice, Interval, PlanKept, Round, advice, fitted_to, rounds
from registry.services.thermometers import PartGiven
from registry.services.words import intervals as words
from registry.store.tracking import Happened, Measured
from tests.services.kitchen import DAY_US, TUESDAY, Kitchen

# --- which checks count --------------------------------------------------------------------------------------


def check(day: float, outcome: str | None = "pass", judged: str = "accepted", point: str = "ice_point") -> Measured:
    said = {"check": f"c{day}", "point": point, "offset": "0.4 dC", "tolerance": "1 dC", "as_found": ["0.4 C"]}
    return Measured("t", int(day * DAY_US), "b", judged, outcome, False, said)


def adjusted(day: float, at: Measured, outcome: str = "pass") -> Measured:
    return replace(at, at=int(day * DAY_US), outcome=outcome)


def always(before: int, at: int, point: str) -> str:
    return ""


def found(
    checks: list[Measured],
    turned: list[Measured] | None = None,
    happened: list[float] | None = None,
    in_turn: Callable[[int, int, str], str] = always,
) -> tuple[list[tuple[float, bool]], dict[str, int], int]:
    drops = [Happened("t", int(day * DAY_US), "dropped") for day in happened or ()]
    of = rounds("t", checks, turned or [], drops, in_turn, {})
    return [(one.days, one.good) for one in of.counted], dict(of.left_out), of.set_inside


def test_each_check_of_the_round_ends_an_interval_that_the_one_before_began() -> None:
    assert found([check(0), check(7), check(15, "fail")]) == ([(7.0, True), (8.0, False)], {"first": 1}, 0)


def test_what_began_outside_does_not_count_unless_it_was_set_right() -> None:
    out = check(7, "fail")
    assert found([check(0), out, check(14)])[1] == {"first": 1, "was_outside": 1}
    mended = found([check(0), out, check(14)], [adjusted(7.01, out)])
    assert mended == ([(7.0, False), (6.99, True)], {"first": 1}, 0)
    still_out = found([check(0), out, check(14)], [adjusted(7.01, out, "fail")])
    assert still_out[1] == {"first": 1, "adjusted": 1}


def test_what_was_set_without_its_check_is_not_known() -> None:
    of_another = adjusted(9, check(3))
    assert found([check(0), check(7), check(14)], [of_another])[1] == {"first": 1, "adjusted": 1}


def test_setting_one_that_is_inside_is_counted() -> None:
    assert found([check(0), check(7), check(14)], [adjusted(7.01, check(7))])[2] == 1


def test_an_incident_in_between_leaves_out_the_next() -> None:
    assert found([check(0), check(7), check(14)], happened=[3]) == ([(7.0, True)], {"first": 1, "incident": 1}, 0)


def test_a_check_in_a_doubtful_bath_neither_ends_nor_begins_one() -> None:
    for bad in (check(7, judged="suspect"), check(7, None, judged="condemned"), check(7, "cannot_decide")):
        assert found([check(0), bad, check(14)]) == ([(14.0, True)], {"first": 1, "bath": 1}, 0)


def test_only_the_usual_point_counts() -> None:
    hot = check(8, "fail", point="boiling_point")
    assert found([check(0), check(7), hot, check(14), check(21)]) == (
        [(7.0, True), (7.0, True)],
        {"first": 1, "other_point": 1, "was_outside": 1},
        0,
    )


def test_what_nobody_asked_for_is_out_of_turn_and_begins_anew() -> None:
    """Somebody who doubts one looks early, and finds more outside than a round does."""

    def weekly(before: int, at: int, point: str) -> str:
        return "" if at - before >= 7 * DAY_US else "out_of_turn"

    assert found([check(0), check(3, "fail"), check(10)], in_turn=weekly)[1] == {
        "first": 1,
        "out_of_turn": 1,
        "was_outside": 1,
    }
    assert found([check(0), check(3), check(10)], in_turn=weekly) == (
        [(7.0, True)],
        {"first": 1, "out_of_turn": 1},
        0,
    )


# --- what follows --------------------------------------------------------------------------------------------


def some(days: float, checks: int, failures: int) -> list[Round]:
    return [Round(days, n >= failures, 0.4, 1.0) for n in range(checks)]


@pytest.mark.parametrize(
    ("days", "checks", "failures", "now", "wanted"),
    [
        (14, 200, 16, 14, Advice("shorter", 8, 14)),
        (7, 500, 5, 7, Advice("longer", 14, 7)),
        (7, 60, 2, 7, Advice("keep_few", None, 7)),
        (7, 200, 9, 7, Advice("keep", None, 7)),
        (7, 30, 0, 7, Advice("keep_none", None, 7)),
        (7, 500, 0, 7, Advice("longer", 14, 7)),
        (7, 9, 5, 7, Advice("too_few", None, 7)),
        (2, 100, 20, 2, Advice("each_shift", None, 2)),
        (1, 100, 20, 1, Advice("replace", None, 1)),
        (7, 500, 0, None, Advice("no_rule")),
    ],
)
def test_advice(days: float, checks: int, failures: int, now: float | None, wanted: Advice) -> None:
    assert advice(fitted_to(some(days, checks, failures)), None, now, False) == wanted


def test_longer_is_never_more_than_the_cautious_end_and_twice_what_is_in_force() -> None:
    fitted = fitted_to([*some(7, 500, 5), *some(60, 6, 0)])
    assert fitted is not None
    assert fitted.longest == 60
    assert advice(fitted, None, 7, False).days == 14
    assert fitted.low > 14
    near = fitted_to(some(7, 200, 4))
    assert near is not None
    assert near.interval > 7 > near.low / 1.5
    assert advice(near, None, 7, False).says in ("keep_few", "longer")


def test_one_long_pause_is_no_longest_interval() -> None:
    fitted = fitted_to([*some(1, 500, 1), *some(200, 1, 0)])
    assert fitted is not None
    assert fitted.longest == 1


def test_where_they_are_set_inside_the_trackers_word_counts() -> None:
    fitted = fitted_to(some(30, 500, 3))
    assert advice(fitted, 20, 30, False) == Advice("shorter", 20, 30)
    assert advice(fitted, 45, 30, False) == Advice("longer", 45, 30)


# --- from the record -----------------------------------------------------------------------------------------


def weekly_digitals(kitchen: Kitchen, times: int = 6, most: int = 3, *more: PlanRule, turns: bool = False) -> list[str]:
    kitchen.by_risk(*more, turns=turns)
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", tuple(range(7)), TUESDAY
    )
    probes = [kitchen.enrol(whole=PartGiven("Brisa", "S2")) for _ in range(most)]
    kitchen.clock.move(hours=1)
    kitchen.always(dict.fromkeys(probes, "0.1 C"), times)
    return probes


def of_digitals(kitchen: Kitchen, by: str = "type", **more: Any) -> Interval:
    return next(one for one in intervals.by_group(kitchen.session, by, **more) if one.checks)


def test_the_round_of_a_kitchen_by_type_model_and_site(kitchen: Kitchen) -> None:
    probes = weekly_digitals(kitchen)
    dial = kitchen.dial()
    incidents.report_incident(kitchen.session, kitchen.lead, probes[0], "dropped")
    kitchen.always(dict.fromkeys(probes, "0.1 C"), 1)
    kitchen.checked(dial, "0 C")
    one = of_digitals(kitchen)
    assert (one.key, one.thermometers, one.checks, one.failures) == ("thermistor_probe", 3, 17, 0)
    assert one.left_out == {"first": 3, "incident": 1}
    assert one.fit is not None
    assert (one.fit.longest, one.fit.curve) == (7.0, None)
    assert one.fit.interval == pytest.approx(7 * 17 * 0.0512933 / 2.995732, rel=1e-6)
    assert one.advice == Advice("keep_none", None, 7)
    assert one.staircase == 8.75
    assert of_digitals(kitchen, "model").key == "Brisa S2"
    site = of_digitals(kitchen, "site")
    assert (site.key, site.advice.says) == (kitchen.site, "mixed")
    assert intervals.by_group(kitchen.session, "type", ["elsewhere"]) == []
    assert of_digitals(kitchen, target=0.9).fit != one.fit
    with kitchen.refuses(("by", "choose")):
        intervals.by_group(kitchen.session, "colour")
    with kitchen.refuses(("target", "out_of_range")):
        intervals.by_group(kitchen.session, target=0.2)


def test_longer_is_advised_by_type_only(kitchen: Kitchen) -> None:
    """Digitals that never fail must not speak for dials that were hardly checked."""
    places.add_shift(kitchen.session, kitchen.admin, kitchen.site, "Day", "06:00", "20:00", tuple(range(7)), TUESDAY)
    probes, dial = [kitchen.enrol() for _ in range(6)], kitchen.dial()
    kitchen.always(dict.fromkeys(probes, "0.1 C"), 9)
    assert of_digitals(kitchen).advice == Advice("longer", 2, None)
    kitchen.checked(dial, "0 C")
    for by in ("site", "model"):
        assert of_digitals(kitchen, by).advice == Advice("types_differ", None, None)
    assert of_digitals(kitchen).advice == Advice("longer", 2, None)


def test_before_any_plan_and_out_of_turn_is_told(kitchen: Kitchen) -> None:
    probe = weekly_digitals(kitchen, times=2, most=1)[0]
    kitchen.clock.move(days=-4)
    kitchen.checked(probe, "0.1 C")  # three days after the last
    assert of_digitals(kitchen).left_out == {"first": 1, "out_of_turn": 1}


def test_a_check_by_turns_is_of_the_round(kitchen: Kitchen) -> None:
    """The plan picked it, so nobody doubted it; of two the other one's early check is out of turn."""
    first, second = weekly_digitals(kitchen, times=2, most=2, turns=True)
    kitchen.clock.move(days=-4)
    kitchen.checked(second, "0.1 C")
    kitchen.checked(first, "0.1 C")
    one = of_digitals(kitchen)
    assert (one.checks, one.left_out) == (3, {"first": 2, "out_of_turn": 1})
    with kitchen.session.reading() as connection:
        those = [thermometers.thermometer(connection, each) for each in (first, second)]
        found = {each.thermometer: each for each in intervals.rounds_of(connection, those)}
    assert [round(each.days) for each in found[first].counted] == [7, 3]


def test_of_a_rule_for_one_point_only_its_own_checks_are_in_turn(kitchen: Kitchen) -> None:
    """Daily at the boiling point asks for no ice: an ice check after three days is out of turn."""
    daily = PlanRule(rule="every_days", days=1, points=("boiling_point",))
    (probe,) = weekly_digitals(kitchen, 2, 1, daily)
    kitchen.clock.move(days=-4)
    kitchen.checked(probe, "0.1 C")
    one = of_digitals(kitchen)
    assert one.left_out == {"first": 1, "out_of_turn": 1}
    assert one.advice.now == 7


def test_each_shift_where_no_shift_is_on_record_is_not_each_day(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.always({probe: "0.1 C"}, 9)
    assert of_digitals(kitchen).advice == Advice("no_shifts")


def test_set_while_inside_the_tracker_is_asked(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    """The program sets nothing that is inside, so of its own record none is; what is asked then is tried as if."""
    weekly_digitals(kitchen, times=13, most=1)
    assert of_digitals(kitchen).method == "observed"
    monkeypatch.setattr(intervals, "RE_ZEROED", 0.0)
    one = of_digitals(kitchen)
    assert (one.method, one.checks) == ("tracked", 12)
    assert one.passage is not None
    assert 7 <= one.passage <= 14
    assert one.advice == advice(one.fit, one.passage, 7, False)


# --- how the plan is kept ------------------------------------------------------------------------------------


def test_a_plan_kept_under_80_percent_for_a_month_is_to_be_changed(kitchen: Kitchen) -> None:
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", tuple(range(7)), TUESDAY
    )
    probe = kitchen.enrol()
    kitchen.clock.move(hours=1)
    for n in range(35):
        if n % 4:
            kitchen.checked(probe, "0.1 C")
        kitchen.clock.move(days=1)
    (site,) = intervals.plans_kept(kitchen.session)
    assert (site.asked, site.plan) == (30, "each_shift")
    assert site.share is not None
    assert 0.7 < site.share < 0.8
    assert site.change
    assert intervals.plans_kept(kitchen.session, ["elsewhere"]) == []


def test_little_asked_is_too_little_to_say() -> None:
    few = PlanKept("s", "Pier", 19, 1, "each_shift")
    assert not few.change
    assert not PlanKept("s", "Pier", 20, 16, "each_shift").change
    assert PlanKept("s", "Pier", 20, 15, "each_shift").change
    assert words.kept(few, "en", "en_US").startswith("Pier: 19 checks were asked for")


# --- in words ------------------------------------------------------------------------------------------------


def test_advice_is_one_plain_sentence() -> None:
    fitted = fitted_to(some(14, 200, 16))
    one = Interval(
        "d", "type", 9, 200, 16, {"first": 9}, fitted, "observed", None, None, False, Advice("shorter", 9, 14)
    )
    assert words.advice(one, "Dials", "en") == "Dials: every 9 days, not every 14 days."
    assert words.advice(one, "Esferas", "es") == "Esferas: cada 9 días, no cada 14 días."
    kept = replace(one, advice=Advice("keep_few", None, 1))
    assert words.advice(kept, "Dials", "en") == "Dials: keep every day; too few failures to say."
    to_shift = replace(one, each_shift=True, advice=Advice("keep", None, None))
    assert words.advice(to_shift, "Dials", "en") == "Dials: keep each shift."
    told = list(words.reasons(one, "en", "en_US"))
    assert told[0] == "16 of 200 checks found one outside."
    assert told[1].startswith("95\N{NO-BREAK SPACE}% still right after 8 days (")
    assert told[2] == "Left out: 9 for being the first of a thermometer."


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_advice_and_ground_has_its_sentence(language: str) -> None:
    says = (
        "shorter",
        "longer",
        "each_shift",
        "replace",
        "keep",
        "keep_few",
        "keep_none",
        "too_few",
        "mixed",
        "types_differ",
        "no_rule",
        "no_shifts",
    )
    fits = [
        fitted_to(some(14, 200, 16)),
        fitted_to(some(7, 60, 1)),
        fitted_to(some(7, 30, 0)),
        fitted_to(some(1, 90, 30)),
    ]
    for fitted in [*fits, None]:
        for said in says:
            failures = fitted.failures if fitted else 0
            left = dict.fromkeys(intervals.LEFT_OUT, 1)
            one = Interval(
                "d", "type", 9, 200, failures, left, fitted, "observed", None, None, False, Advice(said, 9, 14)
            )
            assert words.advice(one, "X", language).startswith("X: ")
            lines = 1 if fitted is None else 2 if said == "mixed" else 3
            assert len(list(words.reasons(one, language, "en_US"))) == lines
    tracked = replace(one, fit=fits[0], passage=20)
    assert "20" in list(words.reasons(tracked, language, "en_US"))[1]


def test_that_nothing_is_advised_is_no_praise_where_little_is_known() -> None:
    one = Interval("d", "type", 9, 3, 0, {}, None, "observed", None, None, False, Advice("too_few"))
    kept = replace(one, advice=Advice("keep_none", None, 7))
    assert (
        words.nothing([], "en") == words.nothing([one], "en") == "Too little is on record to say whether it is right."
    )
    assert words.nothing([one, kept], "en") == "The record gives no reason to change it."


def test_a_share_is_cut_down() -> None:
    assert words.percent(0.799, "en", "en_US") == "79\N{NO-BREAK SPACE}%"
    assert words.percent(0.999, "es", "es_ES") == "99,9\N{NO-BREAK SPACE}%"
    assert words.percent(1.0, "en", "en_US") == "100\N{NO-BREAK SPACE}%"
    assert words.percent(0.95, "en", "en_US") == "95\N{NO-BREAK SPACE}%"
