"""A reading before Enter: it is foretold as it will be recorded, and what goes in here no more is known."""

from decimal import Decimal
from random import Random

import pytest

from registry.quantity import Reading, TemperatureDifference
from registry.services import checks, places, shift_keyed
from registry.services.problems import Refused
from tests.services.kitchen import DIAL_C, DIAL_F, DIGITAL_C, DIGITAL_F, TUESDAY, Kitchen, scale
from tests.services.test_shift_list import row, view, with_shift


def test_what_the_row_says_before_enter_is_what_is_recorded(kitchen: Kitchen) -> None:
    """Invented readings over many types and units: never another outcome than the one recorded."""
    random = Random(20261125)
    those = [
        (kitchen.enrol(), "C", 1),
        (kitchen.enrol(DIGITAL_C, DIGITAL_F), "F", 1),
        (kitchen.dial(DIAL_F), "F", 0),
        (kitchen.dial(DIAL_C), "C", 0),
    ]
    seen = set()
    for _ in range(6):
        bath = kitchen.ice("cubes_stirred")
        foretold = {}
        for thermometer, unit, places_ in those:
            check, before = kitchen.session.new_id(), ()
            spread = 4 if unit == "F" else 2
            while True:
                value = Decimal(f"{random.uniform(-spread, spread):.{places_}f}") + (32 if unit == "F" else 0)
                shown = Reading(value + 0, "F" if unit == "F" else "C")
                found = shift_keyed.provisional(kitchen.session, bath, thermometer, shown, before)
                asked = frozenset(found.questions)
                taken = kitchen.key(bath, thermometer, shown.text(), check=check, asked=asked)
                assert asked <= {"far_apart"}
                assert (found.judged, found.unsteady, found.wants_more) == (
                    taken.judged,
                    taken.unsteady,
                    taken.wants_more,
                )
                before = (*before, shown)
                if taken.recorded:
                    break
            foretold[check] = found
        kitchen.judge(bath)
        with kitchen.session.reading() as connection:
            for check, found in foretold.items():
                recorded = checks.recorded_row(connection, check)
                assert (found.word, found.judged.outcome) == (recorded.lead_word, recorded.judged.outcome)
                assert found.judged.u == recorded.judged.u
                seen.add(found.word)
        kitchen.clock.move(hours=1)
    assert {"use", "adjust_or_do_not_use"} <= seen


def test_odd_readings_are_questioned_before_enter_as_after(kitchen: Kitchen) -> None:
    made, bath = kitchen.enrol(), kitchen.ice()
    for shown, code in (("0.05 C", "too_fine"), ("33 C", "other_unit"), ("200.0 C", "off_scale")):
        found = shift_keyed.provisional(kitchen.session, bath, made, Reading.from_text(shown))
        assert code in found.questions
        with pytest.raises(Refused) as refused:
            kitchen.key(bath, made, shown)
        assert tuple(one.code for one in refused.value.problems) == found.questions


def test_pairs_in_cooling_water_are_foretold_with_the_reference_of_each(kitchen: Kitchen) -> None:
    first, second, third = (kitchen.enrol() for _ in range(3))
    ice = kitchen.ice()
    for one in (first, second):
        kitchen.key(ice, one, "0.0 C")
    kitchen.judge(ice)
    bath = kitchen.flask((first, "65.0 C"), (second, "65.0 C"))
    check, before = kitchen.session.new_id(), ()
    for shown, beside in (("67.0 C", "65.0 C"), ("66.0 C", "64.0 C"), ("65.0 C", "63.0 C")):
        kitchen.clock.move(minutes=1)
        pairs = tuple((kitchen.tag(one), Reading.from_text(beside)) for one in (first, second))
        reading = Reading.from_text(shown)
        found = shift_keyed.provisional(kitchen.session, bath, third, reading, before, beside=pairs)
        taken = kitchen.key(bath, third, shown, check=check, beside=pairs)
        assert (found.judged, found.wants_more) == (taken.judged, taken.wants_more)
        before = (*before, reading)
    assert found.judged.offset == TemperatureDifference(Decimal(2), "C")


def test_what_could_not_be_taken_is_refused_before_enter_too(kitchen: Kitchen) -> None:
    made, oven = kitchen.enrol(), kitchen.enrol(scale("10 dC", "50 C", "300 C"), type="oven")
    bath = kitchen.ice()
    for thermometer, shown, before, code in (
        (made, "32.0 F", (), "not_its_unit"),
        (oven, "0 C", (), "not_for_this_type"),
        (made, "32.0 F", (Reading.from_text("1.5 C"),), "same_unit_as_first"),
    ):
        with pytest.raises(Refused) as refused:
            shift_keyed.provisional(kitchen.session, bath, thermometer, Reading.from_text(shown), before)
        assert refused.value.problems[0].code == code


# --- two windows, and what a crash left ----------------------------------------------------------------------


def test_what_another_window_read_meanwhile_is_known(kitchen: Kitchen) -> None:
    with_shift(kitchen)
    probe, bath = kitchen.enrol(), kitchen.ice()
    seen = view(kitchen)
    before = row(kitchen, probe)
    shift_keyed.refuse_said_meanwhile(kitchen.session, bath, before, seen.since)
    kitchen.key(bath, probe, "9.0 C")  # it waits for its repeats
    with kitchen.refuses(("check", "said_meanwhile")):
        shift_keyed.refuse_said_meanwhile(kitchen.session, bath, before, seen.since)
    shift_keyed.refuse_said_meanwhile(kitchen.session, bath, row(kitchen, probe), seen.since)


def test_a_check_of_the_shift_before_in_the_same_bath_is_no_news(kitchen: Kitchen) -> None:
    probe, bath = kitchen.enrol(), kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")  # 05:30; the list of this shift opens at 05:45
    every = tuple(range(7))
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:45", "14:00", every, TUESDAY)
    kitchen.clock.move(minutes=30)
    seen = view(kitchen)
    found = row(kitchen, probe)
    assert found.state == "waiting"
    shift_keyed.refuse_said_meanwhile(kitchen.session, bath, found, seen.since)


def test_a_reading_is_known_by_its_id(kitchen: Kitchen) -> None:
    probe, bath, reading = kitchen.enrol(), kitchen.ice(), kitchen.session.new_id()
    assert not shift_keyed.is_taken(kitchen.session, probe, reading)
    kitchen.key(bath, probe, "0.1 C", reading=reading)
    assert shift_keyed.is_taken(kitchen.session, probe, reading)
