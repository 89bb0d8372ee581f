"""The scenario says what it has to, and nothing that the program would not know."""

from collections import Counter

import pytest

from registry import resources
from sample_db import scenario
from sample_db.scenario import Scenario

PLANTED = {
    "bad_bath",
    "warm_habit",
    "wrong_elevation",
    "barometer_mistyped",
    "skips",
    "wears_badly",
    "noisy_but_fine",
    "label_swap",
    "sensor_swapped",
    "invented",
    "unreported_drop",
    "reported_drop",
    "lost",
}


@pytest.fixture(scope="module")
def whole() -> Scenario:
    return scenario.load()


def test_five_kitchens_from_the_sea_to_2600_metres(whole: Scenario) -> None:
    heights = sorted(site.true_elevation for site in whole.sites)
    assert len(heights) == 5
    assert heights[0] < 10
    assert heights[-1] == 2600


def test_some_sixty_thermometers_of_every_type(whole: Scenario) -> None:
    given = [one for site in whole.sites for one in site.thermometers]
    types = Counter(whole.models[one.model].type for one in given)
    assert 55 <= len(given) <= 65
    assert set(types) == set(resources.instrument_types())
    assert len({one.key for one in given}) == len(given)


def test_scales_of_one_unit_and_of_both(whole: Scenario) -> None:
    assert {tuple(sorted(one.scales)) for one in whole.models.values()} == {("C",), ("F",), ("C", "F")}


def test_the_worn_model_has_enough_instruments_to_be_seen_as_a_model(whole: Scenario) -> None:
    (event,) = whole.planted("wears_badly")
    bearers = [one for site in whole.sites for one in site.thermometers if one.model == event.numbers["model"]]
    assert len(bearers) >= 10


def test_everything_is_planted_somewhere(whole: Scenario) -> None:
    assert {one.kind for one in whole.events} == PLANTED


def test_the_small_one_is_one_kitchen_and_part_of_the_whole(whole: Scenario) -> None:
    small = scenario.load(small=True)
    assert len(small.sites) == 1
    assert small.sites[0] in whole.sites
    assert set(map(repr, small.events)) < set(map(repr, whole.events))
    assert len(small.days) < 40
    assert small.ends_at == whole.ends_at


def test_tags_need_letters_of_their_own(whole: Scenario) -> None:
    assert len({site.letters for site in whole.sites}) == len(whole.sites)
