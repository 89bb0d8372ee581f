"""What a group has in common, against published results and statsmodels; and the pull of few data."""

from math import inf, log, sqrt

import numpy as np
import pytest
from scipy.stats import binomtest
from statsmodels.stats.meta_analysis import combine_effects

from registry.compute.drift.effects import ALIKE, Effect, combined, pulled, share

# Thirteen trials of BCG vaccine (Colditz and others 1994, JAMA 271, 698, as in table I of van Houwelingen, Arends and
# Stijnen 2002, Statistics in Medicine 21, 589): ill and well among the vaccinated, ill and well among the others.
BCG = (
    (4, 119, 11, 128),
    (6, 300, 29, 274),
    (3, 228, 11, 209),
    (62, 13536, 248, 12619),
    (33, 5036, 47, 5761),
    (180, 1361, 372, 1079),
    (8, 2537, 10, 619),
    (505, 87886, 499, 87892),
    (29, 7470, 45, 7232),
    (17, 1699, 65, 1600),
    (186, 50448, 141, 27197),
    (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
)


def log_risks() -> tuple[list[float], list[float]]:
    """Logarithm of the relative risk of each trial, and its standard deviation."""
    values = [log(a / (a + b)) - log(c / (c + d)) for a, b, c, d in BCG]
    return values, [sqrt(1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)) for a, b, c, d in BCG]


def test_the_published_example() -> None:
    # DerSimonian and Laird's estimate for these trials as metafor prints it (Viechtbauer 2010, Journal of Statistical
    # Software 36, 3; from memory): 0.3088 and -0.7141 with 0.1787. The same paper's REML: 0.3132, -0.7145, 0.1798.
    found = combined(*log_risks())
    assert found.spread**2 == pytest.approx(0.3088, abs=5e-5)
    assert (found.mean, found.sd, found.count) == (
        pytest.approx(-0.7141, abs=5e-5),
        pytest.approx(0.1787, abs=5e-5),
        13,
    )
    assert (found.low, found.high) == (pytest.approx(-1.0644, abs=1e-4), pytest.approx(-0.3638, abs=1e-4))


@pytest.mark.parametrize("seed", range(20))
def test_it_equals_statsmodels(seed: int) -> None:
    draw = np.random.default_rng(seed)
    count = int(draw.integers(2, 30))
    sds = draw.uniform(0.01, 0.5, count)
    values = draw.normal(0.1, float(draw.choice([0.0, 0.05, 0.5])), count) + draw.normal(0, sds)
    with np.errstate(invalid="ignore"):  # it takes roots of what it leaves below nought
        theirs = combine_effects(values, sds**2, method_re="chi2")
    found = combined(values.tolist(), sds.tolist())
    alike = theirs.tau2 <= 0  # then all differ by no more than their own uncertainty: its fixed effect
    assert found.spread**2 == pytest.approx(max(theirs.tau2, 0.0), rel=1e-9, abs=1e-12)
    assert found.mean == pytest.approx(theirs.mean_effect_fe if alike else theirs.mean_effect_re, rel=1e-9)
    assert found.sd == pytest.approx(theirs.sd_eff_w_fe if alike else theirs.sd_eff_w_re, rel=1e-9)


def test_one_alone_is_itself() -> None:
    assert combined([0.3], [0.1]) == Effect(pytest.approx(0.3), pytest.approx(0.1), 0.0, 1)
    with pytest.raises(ValueError, match="nothing"):
        combined([], [])


def test_few_are_pulled_and_many_are_not() -> None:
    draw = np.random.default_rng(4)
    sizes = []
    for count in (1, 3, 30, 1000):
        values = (0.5 + draw.normal(0, 0.1, count)).tolist()
        sizes.append(pulled(values, [0.2] * count, mean=0.0, apart=0.1, spread=0.1).mean)
    assert sizes == sorted(sizes)
    assert sizes[0] < 0.2
    assert sizes[-1] == pytest.approx(0.5, abs=0.02)


def test_the_pull_is_that_of_two_normal_distributions() -> None:
    found = pulled([0.4], [0.1], mean=0.1, apart=0.2, spread=0.05)
    own = 0.1**2 + 0.05**2  # one alone tells nothing of the spread: what is believed of it counts
    assert found.mean == pytest.approx((0.4 / own + 0.1 / 0.04) / (1 / own + 1 / 0.04))
    assert found.sd == pytest.approx(1 / sqrt(1 / own + 1 / 0.04))
    assert found.spread == pytest.approx(0.05)
    assert pulled([0.4], [0.1], mean=0.1, apart=inf, spread=0.05).mean == pytest.approx(0.4)
    assert pulled([0.4], [0.1], mean=0.1, apart=0.0, spread=0.05).mean == 0.1
    assert pulled([], [], mean=0.1, apart=0.2, spread=0.05) == Effect(0.1, 0.2, 0.05, 0)


def test_the_spread_is_pulled_too() -> None:
    values, sds = [0.0, 1.0, 2.0, 3.0], [0.01] * 4
    own = combined(values, sds).spread ** 2
    found = pulled(values, sds, mean=0.0, apart=inf, spread=0.1)
    assert found.spread**2 == pytest.approx((3 * own + ALIKE * 0.01) / (3 + ALIKE))


def test_intervals_cover_what_they_should() -> None:
    """Groups drawn as is believed of them: 95 in 100 intervals hold the group's true mean."""
    draw = np.random.default_rng(8)
    held, rounds = 0, 4000
    for _ in range(rounds):
        truth, count = draw.normal(0.0, 0.1), int(draw.integers(1, 6))
        sds = draw.uniform(0.02, 0.2, count)
        values = truth + draw.normal(0, 0.05, count) + draw.normal(0, sds)
        found = pulled(values.tolist(), sds.tolist(), mean=0.0, apart=0.1, spread=0.05)
        held += found.low <= truth <= found.high
    assert 0.935 < held / rounds < 0.965


@pytest.mark.parametrize(("count", "of"), [(0, 5), (1, 20), (7, 9), (5, 5)])
def test_a_share_has_the_exact_interval(count: int, of: int) -> None:
    theirs = binomtest(count, of).proportion_ci(method="exact")
    assert share(count, of) == (pytest.approx(theirs.low), pytest.approx(theirs.high))
