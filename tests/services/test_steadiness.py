"""The steadiest first: two trusted readings judge a bath, so they are read first (common practice, no source)."""

from pathlib import Path

import pytest

from registry.services import bath_watch, incidents, places, shift_list
from registry.store.cache import CACHE_NAME
from tests.services.kitchen import DAY_US, TUESDAY, Kitchen


@pytest.fixture
def known(kitchen: Kitchen) -> tuple[str, list[str]]:
    """One digital with a history, and four new ones whose stations come before; all read in the last bath."""
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Morning", "06:00", "14:00", tuple(range(7)), TUESDAY
    )
    stations = [places.add_station(kitchen.session, kitchen.officer, kitchen.site, name) for name in ("Bar", "Wok")]
    new = [kitchen.enrol(station=stations[0]) for _ in range(4)]
    steady = kitchen.enrol(station=stations[1])
    for _ in range(5):
        kitchen.checked(steady, "0.1 C")
        kitchen.clock.at += 7 * DAY_US
    bath = kitchen.ice()
    for one in (*new, steady):
        kitchen.key(bath, one, "0.1 C")
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    kitchen.clock.at += DAY_US
    return steady, new


def listed(kitchen: Kitchen) -> list[str]:
    return [one.thermometer for one in shift_list.start_of_shift(kitchen.session, kitchen.site).rows]


def test_the_one_that_is_known_best_stands_first(kitchen: Kitchen, known: tuple[str, list[str]]) -> None:
    steady, new = known
    assert listed(kitchen)[0] == steady
    assert sorted(listed(kitchen)) == sorted([steady, *new])


def test_no_row_moves_while_its_list_stands_and_after_a_drop_it_comes_no_more_first(
    kitchen: Kitchen, known: tuple[str, list[str]]
) -> None:
    steady, _ = known
    before = listed(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, steady, "dropped")
    assert listed(kitchen) == before
    kitchen.clock.at += DAY_US
    assert listed(kitchen)[-1] == steady


def test_one_that_was_scanned_first_settles_nothing(kitchen: Kitchen, known: tuple[str, list[str]]) -> None:
    steady, new = known
    assert shift_list.row_for(kitchen.session, kitchen.site, kitchen.tag(new[0])).thermometer == new[0]
    assert listed(kitchen)[0] == steady


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("kept", [None, "[]", "7", '{"x": 1}', "no words of ours", '[["x", "a", 1, 2]]'])
def test_without_what_was_kept_or_with_something_else_it_stands_by_station(
    kitchen: Kitchen, known: tuple[str, list[str]], kept: str | None
) -> None:
    steady, _ = known
    subject = f"steadiness of {kitchen.site}"
    if kept is None:
        Path(kitchen.home / CACHE_NAME).unlink()
    else:
        kitchen.session.cache.keep(subject, "1", kept)
    assert listed(kitchen)[-1] == steady
