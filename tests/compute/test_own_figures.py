"""A kitchen's own figures from an afternoon's readings."""

from math import hypot, inf, sqrt

import numpy as np
import pytest
from scipy import stats

from registry.compute.own_figures import Cell, boiling, ice, repeatability


def test_pooled_as_the_within_mean_square_of_an_analysis_of_variance() -> None:
    # scipy's one-way analysis of variance: F = between / within mean square, so within = between / F.
    groups = [[0.12, 0.31, 0.22], [0.51, 0.43, 0.62], [-0.11, 0.02, -0.23], [0.0, 0.2, 0.14]]
    cells = [Cell(str(n), "1", "", tuple(group), 0.01) for n, group in enumerate(groups)]
    means, grand = [np.mean(group) for group in groups], np.mean(groups)
    between = 3 * sum((one - grand) ** 2 for one in means) / (len(groups) - 1)
    within = between / stats.f_oneway(*groups).statistic
    found = repeatability(cells)
    assert found.u == pytest.approx(sqrt(within), rel=1e-9)
    assert (found.dof, found.readings, found.baths) == (8, 12, 1)


def test_a_coarse_display_hides_no_scatter() -> None:
    # JCGM 100:2008 F.2.2.1: rounding to a step is a rectangular distribution, step over root 12.
    found = repeatability([Cell("dial", "1", "", (1.0, 1.0, 1.0), 1.0)])
    assert found.u == pytest.approx(1 / sqrt(12))


def test_simulated_readings_give_the_truth_back() -> None:
    draw = np.random.default_rng(2)
    offsets = draw.normal(0, 0.4, 10)
    cells = []
    for made, error, spread in (("packed", 0.0, 0.0), ("stirred", 0.1, 0.05), ("careless", 0.35, 0.1)):
        for bath in range(12):
            off = draw.normal(error, spread)
            for number, offset in enumerate(offsets):
                readings = tuple(offset + off + draw.normal(0, 0.08, 3))
                cells.append(Cell(str(number), f"{made}{bath}", made, readings, 0.0))
    assert repeatability(cells).u == pytest.approx(0.08, rel=0.06)  # 720 degrees of freedom
    careless = ice(cells, "careless", "packed", 0.05)
    assert careless.mean == pytest.approx(0.35, abs=0.09)  # three standard errors of twelve baths
    assert careless.u == pytest.approx(hypot(careless.mean, 0.1, 0.05), abs=0.05)
    assert ice(cells, "stirred", "packed", 0.05).u < careless.u


def test_one_bath_of_a_kind_shows_no_spread() -> None:
    cells = [Cell("A", "1", "packed", (0.1,), 0.1), Cell("A", "2", "careless", (0.4,), 0.1)]
    found = ice(cells, "careless", "packed", 0.06)
    assert (found.mean, found.dof) == (pytest.approx(0.3), inf)
    assert found.u == pytest.approx(hypot(0.3, 0.06))  # a known error that is not corrected, JCGM 100:2008 F.2.4.5


def test_pots_against_the_boiling_point() -> None:
    # By hand: pots at -0.2, -0.4, -0.6 by one thermometer that reads 0.1 in ice; mean -0.4, variance 0.04.
    cells = [Cell("A", pot, pot, (off + 0.1,), 0.1) for pot, off in (("a", -0.2), ("b", -0.4), ("c", -0.6))]
    found = boiling(cells, {"A": 0.1}, 0.003)
    assert found.mean == pytest.approx(-0.4)
    assert found.u == pytest.approx(sqrt(0.4**2 + 0.2**2 + 0.3**2))
    assert found.dof == pytest.approx(found.u**4 / (0.2**4 / 2))  # Welch-Satterthwaite, JCGM 100:2008 (G.2b)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="twice"):
        repeatability([Cell("A", "1", "", (0.1,), 0.1)])
    with pytest.raises(ValueError, match="careless"):
        ice([Cell("A", "1", "packed", (0.1,), 0.1)], "careless", "packed", 0.05)
    with pytest.raises(ValueError, match="ice"):
        boiling([Cell("A", "1", "pot", (0.1,), 0.1)], {}, 0.003)
    for wrong in ((), (float("nan"),)):
        with pytest.raises(ValueError, match="finite"):
            Cell("A", "1", "", wrong, 0.1)
