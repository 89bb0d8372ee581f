"""What a site's baths have in common, and pairs that took each other's level."""

from collections.abc import Sequence
from random import Random

import pytest

from registry.services import bath_watch, habits, mend, mix_ups
from registry.services.baths import PressureSource
from registry.services.habits import SiteHabit
from tests.services.kitchen import DAY_US, Kitchen


def at_site(kitchen: Kitchen, point: str) -> SiteHabit:
    with kitchen.session.reading() as connection:
        found = habits.at_site(kitchen.session, connection, kitchen.site)
    return next(one for one in found if one.point == point)


def checked(kitchen: Kitchen, those: Sequence[str], baths: int, error: float, seed: int = 1) -> None:
    draw = Random(seed)
    for _ in range(baths):
        bath = kitchen.ice()
        for number, one in enumerate(those):
            shown = f"{0.1 * (number % 3 - 1) + error + draw.gauss(0, 0.05):.1f} C"
            kitchen.key(bath, one, *[shown] * (3 if error > 1 else 1))
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US


def test_good_ice_has_no_habit_to_speak_of(kitchen: Kitchen) -> None:
    checked(kitchen, [kitchen.enrol() for _ in range(5)], 4, error=0.0)
    found = at_site(kitchen, "ice_point")
    assert not found.notable
    assert (found.baths, found.changes) == (4, ())


def test_ice_that_is_always_warm_is_told(kitchen: Kitchen) -> None:
    checked(kitchen, [kitchen.enrol() for _ in range(8)], 4, error=0.8)
    found = at_site(kitchen, "ice_point")
    assert found.notable
    assert found.habit.mean == pytest.approx(0.7, abs=0.2)  # drawn towards nought by what is usual among sites


@pytest.mark.slow
def test_a_habit_that_began_one_day(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(6)]
    checked(kitchen, those, 8, error=0.0)
    began = kitchen.clock.at
    checked(kitchen, those, 8, error=0.4, seed=2)
    (change,) = at_site(kitchen, "ice_point").changes
    assert change.shift == pytest.approx(0.4, abs=0.12)
    assert change.thermometers == 6
    assert abs(change.at - began) <= 14 * DAY_US


def test_a_boiling_that_fits_another_elevation(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(6)]
    checked(kitchen, those, 1, error=0.0)
    for _ in range(3):
        bath = kitchen.boil(pressure_source=PressureSource.ELEVATION)
        for number, one in enumerate(those):  # as at 620 m, where the site says 120 m: 1.65 °C lower
            kitchen.key(bath, one, *[f"{99.6 - 1.7 + 0.1 * (number % 3 - 1):.1f} C"] * 3)
        kitchen.judge(bath, "condemned")  # what was refused tells of it all the same
        kitchen.clock.at += 7 * DAY_US
    found = at_site(kitchen, "boiling_point")
    assert found.notable
    assert found.fits is not None
    assert found.fits.contradicts
    assert found.fits.low_m < 620 < found.fits.high_m


def test_two_tags_that_changed_places(kitchen: Kitchen) -> None:
    first, second, *others = [kitchen.enrol() for _ in range(4)]
    for week in range(16):
        swapped = week >= 8
        bath = kitchen.ice()
        kitchen.key(bath, second if swapped else first, "0.6 C")
        kitchen.key(bath, first if swapped else second, "-0.5 C")
        for one in others:
            kitchen.key(bath, one, "0.1 C")
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US
    with kitchen.session.reading() as connection:
        (found,) = mix_ups.at_site(kitchen.session, connection, kitchen.site)
    assert set(found.thermometers) == {first, second}
    assert abs(found.since - (kitchen.clock.at - 8 * 7 * DAY_US)) <= 14 * DAY_US


# --- what a habit must not do --------------------------------------------------------------------------------


def test_a_condemned_bath_makes_no_habit_that_blames_good_ones(kitchen: Kitchen) -> None:
    """Warm water called ice and condemned: neither the next good bath nor its thermometers are to suffer for it."""
    those = [kitchen.enrol() for _ in range(4)]
    warm = kitchen.ice()
    for one in those:
        kitchen.key(warm, one, *["9.0 C"] * 3)
    kitchen.judge(warm, "condemned")
    kitchen.clock.at += DAY_US
    checked(kitchen, those, 3, error=0.0)
    assert not at_site(kitchen, "ice_point").notable
    good = kitchen.ice()
    for number, one in enumerate(those):
        kitchen.key(good, one, f"{0.1 * (number % 3 - 1):.1f} C")
    found = bath_watch.judge(kitchen.session, kitchen.lead, good)
    assert found.diagnosis.verdict == "good"
    assert found.out_even_so == ()


def test_a_gross_bath_that_was_accepted_moves_no_habit(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(4)]
    checked(kitchen, those, 1, error=6.0)  # nobody minded; their fails are on record
    checked(kitchen, those, 4, error=0.0)
    assert abs(at_site(kitchen, "ice_point").habit.mean) < 0.3


def test_two_baths_make_no_habit(kitchen: Kitchen) -> None:
    checked(kitchen, [kitchen.enrol() for _ in range(8)], 2, error=0.8)
    assert not at_site(kitchen, "ice_point").notable


def test_what_was_corrected_in_the_record_frees_the_kitchen_at_once(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(4)]
    checked(kitchen, those, 2, error=0.9)
    bath = kitchen.ice()
    with kitchen.session.reading() as connection:
        before = habits.habit_of(kitchen.session, connection, kitchen.site, "ice_point", bath)
    assert before.mean > 0.3
    for one in kitchen.entries("check_recorded"):
        mend.void(kitchen.session, kitchen.officer, one.number, "mistyped")
    with kitchen.session.reading() as connection:
        assert habits.habit_of(kitchen.session, connection, kitchen.site, "ice_point", bath).mean == 0.0
