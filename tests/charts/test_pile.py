"""The pile of dots: one dot each, piled where they moved alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.charts import dot_pile
from registry.quantity import TemperatureDifference
from tests.charts.samples import WORDS, dc, df


@given(st.lists(st.integers(-400, 400), max_size=40))
def test_each_has_one_dot_near_where_it_moved(tenths: list[int]) -> None:
    moves = [(f"T{n}", dc(f"{tenth / 10:.1f}")) for n, tenth in enumerate(tenths)]
    pile = dot_pile(moves, WORDS, "C")
    assert {dot.key for dot in pile.dots} == {key for key, _ in moves}
    assert len({(dot.value, dot.level) for dot in pile.dots}) == len(moves)
    moved = dict(moves)
    for dot in pile.dots:
        assert pile.value.holds(dot.value)
        # Two dozen columns at least for all of them, and a dot no farther off than half of one.
        span = max([2.5, *map(abs, tenths)]) / 10 * 2
        assert abs(dot.value - float(moved[dot.key].value)) <= span / 24 * 2.5 / 2 + 1e-9
    assert pile.highest == max((dot.level + 1 for dot in pile.dots), default=0)
    assert pile.value.low < 0 < pile.value.high


def test_levels_fill_from_the_bottom() -> None:
    pile = dot_pile([("A", dc("0.7")), ("B", dc("0.7")), ("C", dc("0.7")), ("D", dc("0.0"))], WORDS, "C")
    assert sorted((dot.value, dot.level) for dot in pile.dots) == [
        (0.0, 0),
        *((pytest.approx(0.7, abs=0.03), n) for n in range(3)),
    ]
    assert pile.highest == 3


def test_none_and_one() -> None:
    empty = dot_pile([], WORDS, "C")
    assert (empty.dots, empty.highest) == ((), 0)
    assert "0.0" in [tick.label for tick in empty.value.ticks]
    (dot,) = dot_pile([("A", df("0"))], WORDS, "F").dots
    assert (dot.value, dot.level) == (0.0, 0)


def test_both_units_are_brought_to_one() -> None:
    pile = dot_pile([("A", dc("1")), ("B", TemperatureDifference.from_text("1.8 dF"))], WORDS, "F")
    assert [(dot.value, dot.level) for dot in pile.dots] == [(pytest.approx(1.8, abs=0.06), 0), (pile.dots[0].value, 1)]
