"""Adjusting: only what is outside, only in a judged bath, only as the type allows; as left counts."""

from fractions import Fraction
from typing import Any

import pytest

from registry.quantity import TemperatureDifference
from registry.services import checks, incidents, mend, thermometers
from tests.services.kitchen import Kitchen


def outside(
    kitchen: Kitchen, type: str = "bimetal_stem", judged: str = "accepted", **more: Any
) -> tuple[str, str, str]:
    """(thermometer, bath, check) of one found 3 °C high."""
    made = kitchen.dial(**more) if type == "bimetal_stem" else kitchen.enrol(type=type, **more)
    bath = kitchen.ice()
    shown = "3 C" if type == "bimetal_stem" else "3.0 C"
    check = kitchen.key(bath, made, shown, shown, shown).check
    if judged:
        kitchen.judge(bath, judged, why="ice_seen" if judged == "overruled" else None)
    return made, bath, check


def test_as_found_stays_and_as_left_counts(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial, _, check = outside(kitchen)
    assert kitchen.row(dial).service_status == "check_first"
    judged = kitchen.adjust(check, "nut", "0.5 C")
    assert (judged.outcome, judged.offset.value) == ("pass", Fraction(1, 2))
    assert kitchen.row(dial).service_status == "in_service"
    assert (kitchen.check(check).outcome, kitchen.check(check).offset) == ("fail", "3 dC")
    said = kitchen.last("adjusted").payload
    assert (said["as_left"], said["offset"], said["outcome"], said["check"]) == (["0.5 C"], "0.5 dC", "pass", check)
    assert said["readings"] == [kitchen.last("reading_taken").payload["reading"]]
    assert kitchen.last("reading_taken").payload["role"] == "as_left"
    judgement = kitchen.last("bath_judged").payload
    assert judgement["as_left"] == {said["adjustment"]: "pass"}
    assert judgement["outcomes"] == {check: "fail"}
    assert kitchen.row(dial).good_at == kitchen.last("adjusted").at
    assert kitchen.verify().good


def test_as_left_outside_it_stays_check_first(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    assert kitchen.adjust(check, "nut", "-1.5 C").outcome == "fail"
    assert kitchen.row(dial).service_status == "check_first"
    assert kitchen.adjust(check, "nut", "0.5 C").outcome == "pass"
    assert kitchen.row(dial).service_status == "in_service"


def test_adjusted_and_not_measured_it_stays_check_first(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    assert kitchen.adjust(check, "nut", None) is None
    said = kitchen.last("adjusted").payload
    assert said["not_measured"] is True
    assert not {"offset", "u", "outcome", "as_left"} & said.keys()
    assert kitchen.row(dial).service_status == "check_first"
    kitchen.checked(dial, "0 C")
    assert kitchen.row(dial).service_status == "in_service"


def test_turned_again_and_not_measured_it_is_no_longer_known_to_be_right(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial, _, check = outside(kitchen)
    kitchen.adjust(check, "nut", "0.5 C")
    assert kitchen.row(dial).service_status == "in_service"
    kitchen.adjust(check, "nut", None)
    assert kitchen.row(dial).service_status == "check_first"
    assert kitchen.verify().good


def test_a_pass_at_the_boil_is_overtaken_by_turning_the_nut_at_the_ice(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial, pot, ice = kitchen.dial(), kitchen.boil(), kitchen.ice()
    kitchen.key(pot, dial, "99.5 C")
    kitchen.judge(pot)
    check = kitchen.key(ice, dial, "3 C", "3 C", "3 C").check
    kitchen.judge(ice)
    assert kitchen.row(dial).good_boil_at is not None
    kitchen.adjust(check, "nut", "0 C")
    assert (kitchen.row(dial).good_boil_at, kitchen.row(dial).good_hot_at) == (None, None)
    assert kitchen.row(dial).good_ice_at == kitchen.last("adjusted").at
    assert kitchen.verify().good


def test_inside_the_limit_there_is_nothing_to_adjust(kitchen: Kitchen) -> None:
    # Adjusting on one reading near the limit makes more dials wrong than right.
    dial = kitchen.dial()
    check = kitchen.checked(dial, "1 C")
    with kitchen.refuses(("check", "inside_nothing_to_adjust")):
        kitchen.adjust(check, "nut", "0 C")


@pytest.mark.parametrize(
    ("judged", "may"), [("", False), ("condemned", False), ("accepted", True), ("overruled", True)]
)
def test_only_in_a_judged_bath(kitchen: Kitchen, judged: str, may: bool) -> None:
    _, _, check = outside(kitchen, judged=judged)
    if may:
        assert kitchen.adjust(check, "nut", "0 C").outcome == "pass"
    else:
        with kitchen.refuses(("bath", "judge_it_first")):
            kitchen.adjust(check, "nut", "0 C")


@pytest.mark.parametrize(
    ("type", "how", "may"),
    [
        ("bimetal_stem", "nut", True),
        ("bimetal_stem", "reset", False),
        ("thermistor_probe", "reset", True),
        ("thermistor_probe", "trim", True),
        ("thermistor_probe", "nut", False),
        ("thermistor_probe", "none", False),
        ("liquid_in_glass", "nut", False),
        ("liquid_in_glass", "none", False),
    ],
)
def test_only_as_its_type_allows(kitchen: Kitchen, type: str, how: str, may: bool) -> None:
    _, _, check = outside(kitchen, type)
    as_left = "0 C" if type == "bimetal_stem" else "0.0 C"
    if may:
        assert kitchen.adjust(check, how, as_left).outcome == "pass"
    else:
        never = type == "liquid_in_glass"
        with kitchen.refuses(("how", "cannot_be_adjusted" if never else "cannot_be_adjusted_so")):
            kitchen.adjust(check, how, as_left)


def test_a_trim_is_kept_as_entered(kitchen: Kitchen) -> None:
    _, _, check = outside(kitchen, "thermistor_probe")
    kitchen.adjust(check, "trim", "0.0 C", trim=TemperatureDifference.from_text("-3.0 dC"))
    assert kitchen.last("adjusted").payload["trim"] == {"to": "-3.0 dC"}


def test_a_second_press_records_once(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    given = kitchen.adjusted(check, "nut", "0.5 C")
    first, second = (checks.adjust(kitchen.session, kitchen.lead, given) for _ in range(2))
    assert first is not None
    assert second is not None
    assert (first.outcome, first.reference, first.k) == (second.outcome, second.reference, second.k)
    assert len(kitchen.entries("adjusted")) == 1
    assert [one.payload["role"] for one in kitchen.entries("reading_taken")] == [
        "as_found",
        "repeat",
        "repeat",
        "as_left",
    ]
    assert kitchen.row(dial).service_status == "in_service"


@pytest.mark.parametrize(("as_left", "code"), [("0.3 C", "too_fine"), ("-19 C", "off_scale")])
def test_as_left_readings_are_questioned_too(kitchen: Kitchen, as_left: str, code: str) -> None:
    _, _, check = outside(kitchen)
    with kitchen.refuses(("as_left", code)):
        kitchen.adjust(check, "nut", as_left)
    kitchen.adjust(check, "nut", as_left, asked=frozenset((code,)))
    assert kitchen.last("reading_taken").payload["asked"] == [code]


def test_a_retired_one_is_not_adjusted(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    thermometers.set_status(kitchen.session, kitchen.officer, dial, "retired")
    with kitchen.refuses(("thermometer", "is_retired")):
        kitchen.adjust(check, "nut", "0 C")


def test_a_voided_check_is_no_reason_to_adjust(kitchen: Kitchen) -> None:
    _, _, check = outside(kitchen)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    with kitchen.refuses(("check", "is_void")):
        kitchen.adjust(check, "nut", "0 C")


def test_as_left_is_read_while_the_bath_is_good(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    kitchen.clock.move(hours=2.1)
    with kitchen.refuses(("bath", "too_old")):
        kitchen.adjust(check, "nut", "0 C")
    kitchen.adjust(check, "nut", None)
    assert kitchen.row(dial).service_status == "check_first"


def test_a_check_that_is_not_there(kitchen: Kitchen) -> None:
    with kitchen.refuses(("check", "unknown_check")):
        kitchen.adjust("0" * 32, "nut", "0 C")


def test_a_condemned_bath_takes_its_as_left_outcome_along(kitchen: Kitchen) -> None:
    dial, bath, check = outside(kitchen)
    kitchen.adjust(check, "nut", "0.5 C")
    kitchen.judge(bath, "condemned")
    assert kitchen.row(dial).good_at is None
    assert kitchen.row(dial).service_status == "check_first"  # it was turned, by a bath that says nothing
    assert kitchen.verify().good


def test_an_incident_after_adjusting_asks_for_a_check_all_the_same(kitchen: Kitchen) -> None:
    dial, _, check = outside(kitchen)
    kitchen.adjust(check, "nut", "0.5 C")
    incidents.report_incident(kitchen.session, kitchen.lead, dial, "dropped")
    assert kitchen.row(dial).service_status == "check_first"


def test_a_voided_adjustment_no_longer_counts(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial, _, check = outside(kitchen)
    kitchen.adjust(check, "nut", "0.5 C")
    affected = mend.void(kitchen.session, kitchen.officer, kitchen.last("adjusted").number, "mistyped")
    assert affected.stays_check_first
    assert kitchen.row(dial).service_status == "check_first"
    assert kitchen.verify().good


def test_its_own_facts_go_before_its_type(kitchen: Kitchen) -> None:
    fixed = kitchen.enrol(adjusts="none")
    check = kitchen.checked(fixed, "1.5 C", "1.5 C", "1.5 C")
    with kitchen.refuses(("how", "cannot_be_adjusted")):
        kitchen.adjust(check, "reset", "0.0 C")
    trimmed = kitchen.enrol(adjusts="trim")
    check = kitchen.checked(trimmed, "1.5 C", "1.5 C", "1.5 C")
    with kitchen.refuses(("how", "cannot_be_adjusted_so")):
        kitchen.adjust(check, "reset", "0.0 C")
    assert kitchen.adjust(check, "trim", "0.0 C").outcome == "pass"
