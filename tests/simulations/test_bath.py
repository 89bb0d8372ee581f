"""What is wanted of the diagnosis of a bath, on baths whose truth is known.

The fast ones draw 300 baths and allow three standard deviations of a share of so many beyond what is wanted; the slow
ones draw 5 000, and nothing is allowed beyond it. Seeds are fixed.
"""

from math import sqrt

import numpy as np
import pytest

from tests.simulations.bath import (
    BOIL,
    DIAL,
    DIALS,
    GATES,
    ICE,
    RIGHT,
    SIX,
    U_ICE,
    Gate,
    Wrong,
    by_mix,
    draw_bath,
    dropped_ones,
    good_error,
    habits,
    mistaken,
    remaining_right,
    swaps,
    while_reading,
)

FEW, MANY = 300, 5_000


def three_sd(share: float, number: int) -> float:
    """Three standard deviations of a share seen in so many baths: of 300, 0.012 for 0.005 and 0.052 for 0.9."""
    return 3 * sqrt(share * (1 - share) / number)


def called(gate: Gate) -> str:
    return f"{gate.name}: {gate.mix.name}"


@pytest.mark.fast_cases(5)
@pytest.mark.parametrize("gate", GATES, ids=called)
def test_roughly_as_wanted(gate: Gate) -> None:
    row = gate.seen(FEW)
    assert gate.low - three_sd(gate.low, FEW) <= row.figure <= gate.high + three_sd(gate.high, FEW), str(row)


@pytest.mark.slow
@pytest.mark.parametrize("gate", GATES, ids=called)
def test_as_wanted(gate: Gate) -> None:
    row = gate.seen(MANY)
    assert row.met, str(row)


@pytest.mark.parametrize("habitual", [0.7, -0.7])
@pytest.mark.parametrize("sites", [60, pytest.param(2000, marks=pytest.mark.slow)])
def test_a_habit_in_all_history_is_found(habitual: float, sites: int) -> None:
    found, covered, blind = habits("habit", habitual, sites, 0.8, 1.0)
    spare = 0.0 if sites > 1000 else three_sd(0.8, sites)
    assert found.figure >= 0.8 - spare, str(found)
    assert blind.figure < 0.02, str(blind)  # the thermometers of the place alone cannot know
    assert covered.figure > 0.75, str(covered)


@pytest.mark.slow
def test_sites_without_a_bad_habit_are_left_alone() -> None:
    called_bad, covered, _ = habits("habits of spread 0.1", None, 2000)
    assert called_bad.figure < 0.015, str(called_bad)
    assert 0.93 < covered.figure < 0.99, str(covered)


def test_the_dropped_one_is_named_and_hardly_any_other() -> None:
    named, others, failed = dropped_ones(FEW)
    assert named.figure > 0.8, str(named)
    assert others.figure < 0.02, str(others)
    assert failed.figure > 0.95, str(failed)


@pytest.mark.slow
def test_judged_again_at_each_reading_a_good_bath_is_seldom_called_bad_on_the_way() -> None:
    on_the_way, *found = while_reading(1500)
    assert on_the_way.figure < 0.02, str(on_the_way)
    assert found[0].figure > 0.8, str(found[0])


@pytest.mark.slow
@pytest.mark.parametrize("error", [0.7, 2.0])
def test_what_remains_is_right_in_a_bad_bath(error: float) -> None:
    inside, wrongly = remaining_right(3000, error)
    assert 0.93 <= inside.figure <= 0.97, str(inside)
    assert wrongly.met, str(wrongly)


@pytest.mark.slow
def test_a_question_about_swapped_rows_is_rare_where_none_are() -> None:
    asked, *found = swaps(2000)
    assert asked.met, str(asked)
    assert [row.figure for row in found] == sorted(row.figure for row in found)
    assert found[-1].figure > 0.9, str(found[-1])


@pytest.mark.slow
def test_a_pressure_mixed_up_is_named_from_300_metres_on() -> None:
    for metres, wanted in ((300.0, 0.6), (1000.0, 0.95)):
        mixed_up, well = mistaken(1000, metres)
        assert mixed_up.figure > wanted, str(mixed_up)
        assert well.figure < 0.01, str(well)


# --- the drawing itself ----------------------------------------------------------------------------------------


def test_good_baths_have_the_u_they_should() -> None:
    draw = np.random.default_rng(3)
    errors = [good_error(draw, U_ICE) for _ in range(4000)]
    assert np.std(errors) == pytest.approx(U_ICE, rel=0.04)
    assert np.mean(errors) == pytest.approx(0.0, abs=0.01)


def test_offsets_scatter_as_stated_or_as_wrong_as_wanted() -> None:
    def scatter(wrong: Wrong) -> float:
        draw, away = np.random.default_rng(5), []
        for _ in range(400):
            bath = draw_bath(draw, SIX, 0.0, wrong)
            away += [(offset - one.predicted) / one.sd for one, offset in zip(bath.told, bath.offsets, strict=True)]
        return float(np.percentile(np.abs(away), 68.27))

    assert scatter(RIGHT) == pytest.approx(1.03, abs=0.05)
    assert scatter(Wrong(understated=1.5)) == pytest.approx(1.54, abs=0.07)


def test_readings_lie_on_the_display() -> None:
    bath = draw_bath(np.random.default_rng(6), DIALS[1], 0.7)
    assert len(bath.told) == 6
    assert all(one.reading % DIAL.step == 0 and one.half_width == 0.5 for one in bath.told)


def test_the_dropped_one_is_the_only_one_thrown() -> None:
    bath = draw_bath(np.random.default_rng(7), SIX, 0.0, drop_one=True)
    assert abs(bath.offsets[bath.dropped] - bath.told[bath.dropped].predicted) > 0.5


def test_published_rows_add_up() -> None:
    for row in (*by_mix(DIALS[0], ICE, 0.7, 20), *by_mix(DIALS[0], BOIL, 1.2, 20)):
        assert sum(row.shares) == pytest.approx(1.0)
        assert "too few" in str(row)
