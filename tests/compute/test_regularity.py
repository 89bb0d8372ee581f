"""Too regular to be true: chances against simulation and a library, and how often honest visits are named."""

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson_binom

from registry.compute.regularity import (
    ALPHA,
    LEAST,
    Honest,
    Keyed,
    by_habit,
    regularity,
    repeat_chance,
    sign,
    tail,
)


@pytest.mark.parametrize(("step", "sd"), [(0.1, 0.06), (0.1, 0.03), (1.0, 0.15), (0.05, 0.2)])
def test_the_chance_of_a_repeat_against_drawn_readings(step: float, sd: float) -> None:
    draw = np.random.default_rng(1)
    rounded = np.round(draw.normal(0, sd, (2, 200_000)) / step)
    assert (rounded[0] == rounded[1]).mean() == pytest.approx(repeat_chance(step, sd), abs=0.005)
    for middle in (0.1, 0.3, 0.5):  # elsewhere in the step it is less
        moved = np.round(draw.normal(middle * step, sd, (2, 200_000)) / step)
        assert (moved[0] == moved[1]).mean() < repeat_chance(step, sd) + 0.005


def test_without_noise_it_always_repeats() -> None:
    assert repeat_chance(0.1, 0.0) == 1.0
    for step, sd in ((0.0, 0.1), (0.1, -0.1), (0.1, float("nan"))):
        with pytest.raises(ValueError, match="step must be"):
            repeat_chance(step, sd)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=12), st.integers(0, 12))
def test_the_tail_is_a_poisson_binomials(chances: list[float], seen: int) -> None:
    assert tail(chances, seen) == pytest.approx(min(poisson_binom.sf(seen - 1, chances), 1.0), abs=1e-12)


def test_the_tail_of_equal_chances_is_binomial() -> None:
    assert tail([0.3] * 9, 7) == pytest.approx(sum(comb(9, n) * 0.3**n * 0.7 ** (9 - n) for n in (7, 8, 9)), rel=1e-12)
    assert tail([0.3], 2) == 0.0
    with pytest.raises(ValueError, match="between 0 and 1"):
        tail([1.1], 1)


def test_a_habit_counts_as_honest_once_it_was_seen_often() -> None:
    assert by_habit(0.05, 19, 19) == 0.05
    assert by_habit(0.05, 20, 20) == 21 / 22
    assert by_habit(0.4, 1, 40) == 0.4
    with pytest.raises(ValueError, match="above 0"):
        Honest(early=0.0)


def visit(repeats: int, of: int, early: int = 0, chance: float = 0.4, finer: int = 0) -> list[Keyed]:
    return [Keyed(n < repeats, chance, n < early, n < finer, n if not early else 0) for n in range(of)]


def test_what_makes_a_visit_notable() -> None:
    assert regularity(visit(9, 9, 9)).notable
    assert not regularity(visit(3, 9, 9)).notable  # keyed from paper, and not repeated
    assert not regularity(visit(9, 9, 0)).notable  # 0.4 to the ninth alone is no proof among ten thousand
    assert regularity(visit(14, 14, 0)).notable
    assert not regularity(visit(3, 3, 3)).notable
    assert not regularity(visit(9, 9, 9, chance=0.9)).notable  # coarse dials repeat
    assert regularity(visit(9, 9, 0, finer=9)).notable
    assert not regularity([]).notable
    assert sign([], 0).p == 1.0


@pytest.mark.slow
def test_of_honest_visits_fewer_are_named_than_is_said() -> None:
    """Twelve thermometers, a drifting bath, readings 40 s apart; then the same keyed from paper in one go."""
    draw, visits, n = np.random.default_rng(4), 10_000, 12
    steps, sds = np.array([0.1] * 8 + [0.556] * 4), np.array([0.06] * 8 + [0.2] * 4)
    chances = [repeat_chance(step, sd / 2) for step, sd in zip(steps, sds, strict=True)]
    offsets, last = draw.normal(0, 0.2, n), np.zeros(n)
    named = {"at the bath": 0, "from paper": 0}
    for number in range(visits):
        offsets += draw.normal(0, 0.01, n)
        shown = np.round((offsets + abs(draw.normal(0.03, 0.03)) + draw.normal(0, sds)) / steps)
        repeats = [bool(one) for one in shown == last]
        at_bath = [
            Keyed(again, chance, False, False, k)
            for k, (again, chance) in enumerate(zip(repeats, chances, strict=True))
        ]
        paper = [Keyed(again, chance, True, False, 0) for again, chance in zip(repeats, chances, strict=True)]
        if number:
            named["at the bath"] += regularity(at_bath).notable
            named["from paper"] += regularity(paper, Honest(early=0.99, same_minute=0.99)).notable
        last = shown
    # One is said to be named at most; three would be one chance in fifty.
    assert named["at the bath"] <= 2 * ALPHA * visits
    assert named["from paper"] <= 2 * ALPHA * visits


def test_a_visit_of_last_times_readings_is_found() -> None:
    """Nine thermometers of which two are coarse: all repeated, keyed at once."""
    chances = [repeat_chance(0.1, 0.05)] * 7 + [repeat_chance(1.0, 0.125)] * 2
    assert regularity([Keyed(True, chance, True, False, 0) for chance in chances]).notable
    assert LEAST == 4
