"""The plain warning at its edges. The rule is a judgement of this program: no outside source to test against."""

from fractions import Fraction
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.bath_warning import Move, most_one_way, move

U = Fraction(1, 4)
UP, DOWN, STILL = move(Fraction(1, 2), U, None), move(Fraction(-1, 2), U, None), move(0, U, None)


@pytest.mark.parametrize(
    ("offset", "last", "moved", "counts"),
    [
        ("0.25", None, "0.25", False),  # as much as u is not more than u
        ("0.26", None, "0.26", True),
        ("-0.26", None, "-0.26", True),
        ("0.9", "0.7", "0.2", False),  # it always reads high: no move
        ("0.9", "0.6", "0.3", True),
        ("0.0", "0.3", "-0.3", True),  # on the reference today, and yet moved
        ("0.3", "0", "0.3", True),
    ],
)
def test_a_move_is_from_last_time_else_from_nought(offset: str, last: str | None, moved: str, counts: bool) -> None:
    found = move(Fraction(offset), U, None if last is None else Fraction(last))
    assert found == Move(Fraction(moved), counts)


def test_tenths_are_exact() -> None:
    assert move(0.3, 0.1, 0.2) == Move(Fraction(1, 10), False)  # as floats 0.3 - 0.2 is less than 0.1, -0.2 + 0.3 more
    assert move(-0.3, 0.1, -0.2).counts is False


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ([], None),
        ([UP, UP], None),  # two are not enough to say anything of a bath
        ([UP, UP, UP], ("high", 3, 3)),
        ([DOWN, DOWN, DOWN], ("low", 3, 3)),
        ([UP, UP, DOWN], None),  # most, but not three
        ([UP, UP, STILL], None),
        ([UP, UP, UP, STILL, STILL], ("high", 3, 5)),
        ([UP, UP, UP, STILL, STILL, STILL], None),  # half is not more than half
        ([UP, UP, UP, DOWN, DOWN, DOWN], None),
        ([UP, UP, UP, UP, DOWN, DOWN, DOWN], ("high", 4, 7)),
        ([DOWN] * 4 + [UP] * 3, ("low", 4, 7)),
    ],
)
def test_most_and_at_least_three(moves: list[Move], said: tuple[str, int, int] | None) -> None:
    found = most_one_way(moves)
    assert (found and (found.direction, found.count, found.of)) == said


def test_the_median_is_of_all_and_keeps_its_sign() -> None:
    found = most_one_way([move(Fraction(n, 10), Fraction(1, 20), None) for n in (-9, -8, -7, 0, 40)])
    assert found is not None
    assert (found.direction, found.median) == ("low", Fraction(-7, 10))


def test_one_dropped_thermometer_sets_nothing_off() -> None:
    assert most_one_way([move(4, U, 0), *[STILL] * 7]) is None


@pytest.mark.parametrize(("offset", "u"), [(nan, 0.1), (inf, 0.1), (0.1, nan), (0.1, -0.1)])
def test_what_is_no_number_is_refused(offset: float, u: float) -> None:
    with pytest.raises(ValueError):
        move(offset, u, None)


@given(st.lists(st.integers(-30, 30), max_size=12), st.integers(0, 10))
def test_turned_upside_down_it_says_the_opposite(tenths: list[int], u: int) -> None:
    up = most_one_way([move(Fraction(n, 10), Fraction(u, 10), None) for n in tenths])
    down = most_one_way([move(Fraction(-n, 10), Fraction(u, 10), None) for n in tenths])
    if up is None or down is None:
        assert (up, down) == (None, None)
    else:
        assert {up.direction, down.direction} == {"high", "low"}
        assert (up.count, up.of, up.median) == (down.count, down.of, -down.median)
        assert (up.median > 0) == (up.direction == "high")


@given(st.lists(st.integers(-30, 30), max_size=12), st.integers(0, 10))
def test_the_order_in_which_they_were_read_does_not_matter(tenths: list[int], u: int) -> None:
    moves = [move(Fraction(n, 10), Fraction(u, 10), None) for n in tenths]
    found, other = most_one_way(moves), most_one_way(sorted(moves, key=lambda one: one.move))
    assert (found and (found.direction, found.count, found.median)) == (
        other and (other.direction, other.count, other.median)
    )
