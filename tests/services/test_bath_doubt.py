"""What the band says over a bath that its thermometers speak against."""

from decimal import Decimal

import pytest

from registry import resources
from registry.quantity import TemperatureDifference
from registry.services import bath_doubt, bath_watch
from registry.services.bath_doubt import BathDoubt
from registry.services.words import watch as words
from tests.services.kitchen import DAY_US, DIAL_F, Kitchen


def doubt(kitchen: Kitchen, bath: str) -> BathDoubt | None:
    with kitchen.session.reading() as connection:
        return bath_doubt.doubt_of(bath_watch.watch(kitchen.session, connection, bath))


def known(kitchen: Kitchen, offsets: tuple[float, ...], **more: object) -> list[str]:
    """Thermometers with four weekly checks each at these offsets."""
    those = [kitchen.enrol(**more) for _ in offsets]  # type: ignore[arg-type]
    for _ in range(4):
        bath = kitchen.ice()
        for one, offset in zip(those, offsets, strict=True):
            kitchen.key(bath, one, f"{offset} C")
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US
    return those


def test_three_that_rose_together_are_believed_before_the_bath(kitchen: Kitchen) -> None:
    those = known(kitchen, (0.0, 0.3, -0.2))
    bath = kitchen.ice()
    for one, shown in zip(those, ("0.8 C", "1.1 C", "0.6 C"), strict=True):
        kitchen.key(bath, one, shown)
    found = doubt(kitchen, bath)
    assert found is not None
    assert (found.direction, found.bath) == ("high", bath)
    assert float(found.shift.value) == pytest.approx(0.8, abs=0.1)
    assert [float(dot.move.value) for dot in found.dots] == pytest.approx([0.8, 0.8, 0.8], abs=0.1)
    assert all(dot.counts and dot.digital for dot in found.dots)


def test_one_alone_and_good_ones_raise_no_doubt(kitchen: Kitchen) -> None:
    those = known(kitchen, (0.0, 0.3, -0.2, 0.1))
    bath = kitchen.ice()
    kitchen.key(bath, those[0], "0.9 C")
    assert doubt(kitchen, bath) is None
    for one, shown in zip(those[1:], ("0.3 C", "-0.2 C", "0.1 C"), strict=True):
        kitchen.key(bath, one, shown)
    assert doubt(kitchen, bath) is None


def test_readings_that_wait_for_their_repeats_count_as_they_stand(kitchen: Kitchen) -> None:
    those = known(kitchen, (0.4, 0.5, 0.3))
    bath = kitchen.ice()
    for one, shown in zip(those, ("1.3 C", "1.4 C", "1.2 C"), strict=True):
        assert kitchen.key(bath, one, shown).wants_more
    found = doubt(kitchen, bath)
    assert found is not None
    assert float(found.shift.value) == pytest.approx(0.9, abs=0.1)


def test_who_disagrees_with_the_others_is_named_apart(kitchen: Kitchen) -> None:
    those = known(kitchen, (0.0, 0.0, 0.0, 0.0))
    bath = kitchen.ice()
    for one, shown in zip(those, ("0.8 C", "0.8 C", "0.9 C", "-3.0 C"), strict=True):
        kitchen.key(bath, one, shown)
    found = doubt(kitchen, bath)
    assert found is not None
    assert [dot.counts for dot in found.dots] == [True, True, True, False]


@pytest.mark.parametrize("language", resources.languages())
@pytest.mark.parametrize("off", [0.9, -0.9])
def test_the_band_says_why_and_what_to_do(kitchen: Kitchen, language: str, off: float) -> None:
    those = known(kitchen, (0.0, 0.0, 0.0))
    bath = kitchen.ice()
    for one in those:
        kitchen.key(bath, one, f"{off} C")
    found = doubt(kitchen, bath)
    assert found is not None
    said = words.sentences(found.watch, language, "en_US")
    assert len(said) == 2
    assert all(said)
    assert words.title(found.watch, language)
    assert ("+" in said[0]) == (off > 0)


def test_a_fahrenheit_dial_counts_in_celsius(kitchen: Kitchen) -> None:
    those = known(kitchen, (0.0, 0.0, 0.0))
    dial = kitchen.dial(DIAL_F)
    bath = kitchen.ice()
    for one in those:
        kitchen.key(bath, one, "0.9 C")
    kitchen.key(bath, dial, "34 F")
    found = doubt(kitchen, bath)
    assert found is not None
    move = found.dots[-1].move
    assert move.unit == "C"
    assert TemperatureDifference(Decimal("1.1111"), "C") == move
