"""The gates on fleets whose truth is known, on fewer fleets than the printed tables so that they end in minutes."""

import numpy as np
import pytest

from tests.simulations.drift import MIXES, Mix, Seen, coverage, false_steps, incidents, out_as_forecast, steps_found
from tests.simulations.fleets import DIAL, draw_truth, make_fleet

FLEETS = 60


def test_fleets_differ_and_a_seed_repeats_them() -> None:
    def first(seed: int) -> list[float]:
        return make_fleet(np.random.default_rng(seed), DIAL, 1).lives[0].true

    assert first(1) == first(1) != first(2)


def test_truths_are_drawn_around_the_type_and_not_the_type() -> None:
    draw = np.random.default_rng(4)
    walks = np.log([draw_truth(DIAL, draw).offset_walk / DIAL.prior.centre.offset_walk for _ in range(2000)])
    assert walks.mean() == pytest.approx(0.0, abs=0.06)
    assert walks.std() == pytest.approx(DIAL.prior.log_walk, rel=0.06)


def test_a_row_says_whether_it_is_met() -> None:
    assert "NOT MET" in str(Seen("x", 0.9, 0.93, 0.97, 10))
    assert "NOT MET" not in str(Seen("x", 0.95, 0.93, 0.97, 10))


# Known and published: with few instruments the type's word counts, and here the type is wrong.
TOO_FEW = pytest.mark.xfail(reason="forecasts cover less where few instruments meet a misjudged type", strict=True)


def marked(mix: Mix) -> object:
    misjudged = mix.wrong.walk > 1 and mix.instruments < 10
    return pytest.param(mix, id=mix.name, marks=[TOO_FEW] if misjudged else [])


@pytest.mark.slow
@pytest.mark.parametrize("mix", [marked(mix) for mix in MIXES])
def test_bands_cover_what_they_say(mix: Mix) -> None:
    missed = [str(row) for row in coverage(mix, FLEETS) if not row.met]
    assert missed == []


@pytest.mark.slow
def test_those_forecast_out_are_out_as_often() -> None:
    (row,) = out_as_forecast(4 * FLEETS)
    assert row.number > 300
    assert row.met, str(row)


@pytest.mark.slow
@pytest.mark.parametrize("gap", [1.0, 7.0])
def test_false_steps_are_rare(gap: float) -> None:
    row = false_steps(FLEETS // 2, gap)
    assert row.met, str(row)


@pytest.mark.slow
@pytest.mark.parametrize(("u", "checks", "wanted"), [(0.15, 3, 0.95), (0.25, 6, 0.90)])
def test_steps_are_found(u: float, checks: int, wanted: float) -> None:
    row = steps_found(20, u, 0.8, checks, wanted)
    assert row.met, str(row)


@pytest.mark.slow
def test_an_incident_that_did_nothing_is_said_to_have_stepped_in_one_of_twenty() -> None:
    row = incidents(FLEETS, 0.0)
    assert row.met, str(row)
