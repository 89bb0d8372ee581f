"""The warning over a real bath: from what its thermometers read beyond their last time."""

from decimal import Decimal

import pytest

from registry import resources
from registry.quantity import TemperatureDifference
from registry.services import bath_doubt, shift_list
from registry.services.bath_doubt import BathDoubt
from registry.wording import say
from tests.services.kitchen import DIAL_F, Kitchen


def doubt(kitchen: Kitchen, bath: str) -> BathDoubt | None:
    rows = shift_list.start_of_shift(kitchen.session, kitchen.site).rows
    return bath_doubt.most_one_way(rows, bath)


def tenths(value: str) -> TemperatureDifference:
    return TemperatureDifference(Decimal(value), "C")


def test_three_that_rose_together_warn_and_two_do_not(kitchen: Kitchen) -> None:
    first, second, third, fourth = (kitchen.enrol() for _ in range(4))
    bath = kitchen.ice()
    kitchen.key(bath, first, "0.7 C")
    kitchen.key(bath, second, "0.8 C")
    assert doubt(kitchen, bath) is None
    kitchen.key(bath, third, "0.9 C")
    found = doubt(kitchen, bath)
    assert found is not None
    assert (found.point, found.direction, found.count, found.of) == ("ice_point", "high", 3, 3)
    assert found.shift == tenths("0.8")
    assert {one.tag_id: one.move for one in found.dots} == {
        kitchen.tag(first): tenths("0.7"),
        kitchen.tag(second): tenths("0.8"),
        kitchen.tag(third): tenths("0.9"),
    }
    assert not any(one.from_last for one in found.dots)
    kitchen.key(bath, fourth, "0.0 C")
    again = doubt(kitchen, bath)
    assert again is not None
    assert (again.count, again.of) == (3, 4)
    kitchen.judge(bath, "condemned")
    assert doubt(kitchen, bath) is None


def test_what_always_reads_high_moved_only_as_far_as_it_moved(kitchen: Kitchen) -> None:
    habitual = [kitchen.enrol() for _ in range(3)]
    for one in habitual:
        kitchen.checked(one, "0.7 C")
    kitchen.clock.move(days=1)
    bath = kitchen.ice()
    for one in habitual:
        kitchen.key(bath, one, "0.7 C")
    assert doubt(kitchen, bath) is None
    other = kitchen.ice()
    for one in habitual:
        kitchen.key(other, one, "0.1 C")
    found = doubt(kitchen, other)
    assert found is not None
    assert (found.direction, found.shift) == ("low", tenths("-0.6"))
    assert all(one.from_last for one in found.dots)


def test_readings_that_wait_for_repeats_count_as_they_stand_and_fahrenheit_counts_in_celsius(kitchen: Kitchen) -> None:
    dials = [kitchen.dial(DIAL_F) for _ in range(3)]
    bath = kitchen.ice()
    for one in dials:
        assert kitchen.key(bath, one, "36 F").wants_more == 2
    found = doubt(kitchen, bath)
    assert found is not None
    # 4 °F is 20/9 °C, written to 4 decimals.
    assert {one.move for one in found.dots} == {tenths("2.2222")}


@pytest.mark.parametrize("point", ["ice_point", "boiling_point", "comparison"])
@pytest.mark.parametrize("direction", ["high", "low"])
def test_every_warning_has_its_sentences(point: str, direction: str) -> None:
    found = BathDoubt("b", point, "high" if direction == "high" else "low", 3, 4, tenths("0.8"), ())
    for language in resources.languages():
        why = say(found.why, language, count=3, of=4, shift="+0.8 °C")
        assert "3" in why
        assert "+0.8 °C" in why
        assert say(found.title, language)
        assert say(found.what_to_do, language)
        assert say(found.decide, language)
