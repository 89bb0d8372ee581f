"""The rule: where the mark, last time and the limits stand, and what happens beyond the end of it."""

from typing import Unpack

import pytest
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from tests.ui.painting import DARK, LIGHT, columns, count, picture, rows
from ui import rule
from ui.rule import RuleValues

WIDE, HIGH = 113, 50  # 50 px from nought to the end of the scale, so 25 to a limit
pytestmark = pytest.mark.usefixtures("qapp")


def drawn(look=LIGHT, **values: Unpack[RuleValues]) -> QImage:
    return picture(lambda painter, rect: rule.paint_rule(painter, rect, look, **values), WIDE, HIGH, look)


def middle(found: list[int]) -> float:
    return (min(found) + max(found) + 1) / 2


@pytest.mark.parametrize(
    ("offset", "at"), [(0.0, 56.5), (1.0, 81.5), (-1.0, 31.5), (2.0, 106.5), (2.5, 106.5), (1e300, 106.5), (-99.0, 6.5)]
)
def test_the_mark_stands_at_its_offset_and_stops_at_the_end(offset: float, at: float) -> None:
    image = drawn(tolerance=1.0, offset=offset, outcome="pass")
    assert middle(columns(image, LIGHT.within)) == pytest.approx(at, abs=1)


def test_limits_stand_half_way_to_the_ends() -> None:
    ink = columns(drawn(tolerance=2.0), LIGHT.ink)
    assert min(ink) == pytest.approx(31.5, abs=1.5)
    assert max(ink) == pytest.approx(81.5, abs=1.5)
    assert count(drawn(tolerance=2.0), LIGHT.tol) > 300


def test_the_unit_does_not_matter() -> None:
    assert drawn(tolerance=1.0, offset=0.5, last=0.2, expanded=0.3, outcome="pass") == drawn(
        tolerance=2.0, offset=1.0, last=0.4, expanded=0.6, outcome="pass"
    )


def test_while_it_waits_limits_stand_back() -> None:
    image = drawn(tolerance=1.0, waiting=True)
    assert count(image, LIGHT.ink) == 0
    assert count(drawn(tolerance=1.0), LIGHT.ink) > 0


def test_last_time_is_a_tick_above_the_limits() -> None:
    without, image = drawn(tolerance=1.0, waiting=True), drawn(tolerance=1.0, last=0.5, waiting=True)
    assert count(without, LIGHT.muted) == 0
    changed = [(x, y) for x in range(WIDE) for y in range(HIGH) if image.pixel(x, y) != without.pixel(x, y)]
    assert {x for x, _ in changed} <= {67, 68, 69, 70}
    assert max(y for _, y in changed) <= min(rows(drawn(tolerance=1.0), LIGHT.ink)) + 1


def test_uncertainty_is_a_pale_bar_as_wide_as_u_each_side_and_ends_with_the_rule() -> None:
    base = drawn(tolerance=1.0, offset=0.5, outcome="pass")

    def changed(expanded: float) -> set[int]:
        image = drawn(tolerance=1.0, offset=0.5, expanded=expanded, outcome="pass")
        return {x for x in range(WIDE) for y in range(HIGH) if image.pixel(x, y) != base.pixel(x, y)}

    assert min(changed(0.8)) == pytest.approx(49, abs=1)
    assert max(changed(0.8)) == pytest.approx(88, abs=1)
    assert max(changed(50.0)) <= 107
    assert changed(0.0) == set()


def test_outcomes_show_their_own_mark_and_without_one_an_open_ring() -> None:
    seen = [drawn(tolerance=1.0, offset=1.5, outcome=each) for each in ("fail", "conditional_fail", "waits")]
    assert seen[0] != seen[1] != seen[2]
    assert count(seen[0], LIGHT.outside) > count(seen[1], LIGHT.outside) > count(seen[2], LIGHT.outside) == 0
    assert drawn(tolerance=1.0, offset=1.5, outcome=None) == seen[2]
    assert count(drawn(DARK, tolerance=1.0, offset=1.5, outcome="fail"), DARK.outside) > 30


def test_a_fail_points_the_way_it_reads() -> None:
    high, low = (drawn(tolerance=1.0, offset=each, outcome="fail") for each in (1.5, -1.5))
    widths = [
        [sum(image.pixel(x, y) == LIGHT.outside.rgb() for x in range(WIDE)) for y in rows(image, LIGHT.outside)]
        for image in (high, low)
    ]
    assert widths[0][0] < widths[0][-1]
    assert widths[1][0] > widths[1][-1]


@pytest.mark.parametrize("tolerance", [0.0, -1.0, 1e-300, 1e300])
@pytest.mark.parametrize("offset", [None, 0.0, 0.5, -1e300, 1e300])
def test_nothing_makes_it_raise(tolerance: float, offset: float | None) -> None:
    drawn(tolerance=tolerance, offset=offset, expanded=1e300, last=-1e300, outcome="fail", label="±1.0 °C")
    drawn(tolerance=tolerance, offset=offset, outcome="no_such_code")
    for size in ((0, 0), (1, 1), (3, 200)):
        picture(
            lambda painter, rect, s=size: rule.paint_rule(
                painter,
                rect.adjusted(0, 0, s[0] - rect.width(), s[1] - rect.height()),
                LIGHT,
                tolerance=1,
                offset=offset,
            )
        )


def test_widget_shows_its_values_and_says_what_the_caller_says(qtbot: QtBot) -> None:
    widget = rule.Rule(LIGHT)
    qtbot.addWidget(widget)
    widget.resize(widget.sizeHint())
    empty = widget.grab().toImage()
    widget.set_values(
        name="0.6 °C high", description="The limit is ±1.0 °C.", tolerance=1.0, offset=0.6, outcome="pass"
    )
    assert widget.grab().toImage() != empty
    assert widget.accessibleName() == "0.6 °C high"
    assert widget.accessibleDescription() == "The limit is ±1.0 °C."
    assert widget.sizeHint().height() <= 53  # fits the lowest row
