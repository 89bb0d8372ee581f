"""Charts of one thermometer: empty, one and extreme; one unit, exact; places in a unit square."""

from dataclasses import replace
from fractions import Fraction

import pytest

from registry import charts
from registry.charts import DAY_US, Chart, Happened, Turned, answer_chart, offset_chart, small_chart
from registry.quantity import Unit
from tests.charts.samples import NOW, WORDS, a_history, checks, dc, df, instant

TURNED = Turned(NOW - 20 * DAY_US, dc("0.9"), dc("0.0"))


def in_square(chart: Chart) -> bool:
    """Everything that is drawn lies in the unit square."""
    found = [(one.x, one.y) for one in charts.spots(chart)]
    found += [spot for line in chart.lines for spot in charts.trail(chart, line)]
    found += [spot for band in chart.bands for spot in charts.outline(chart, band)]
    found += [(chart.time.place(one.at), 0.0) for one in (*chart.time.ticks, *chart.vlines)]
    found += [(0.0, chart.value.place(one.at)) for one in chart.value.ticks]
    return all(0 <= x <= 1 and 0 <= y <= 1 for x, y in found)


@pytest.mark.parametrize("unit", ["C", "F"])
@pytest.mark.parametrize(
    "history",
    [
        a_history(),
        a_history(tolerance=None),
        a_history("0.3"),
        a_history("0.3", tolerance=None),
        a_history(*["0.2"] * 30),
        a_history("0", tolerance=None),
        a_history("0.1", "99.9", "-250"),
        a_history("0.1", "0.2", every=4000 * DAY_US),
        a_history("0.1", "0.2", until=instant("2024-02-29 08:00")),
        a_history("0.1", turned=(Turned(NOW, None, None),)),
        a_history("0.1", until=NOW + 400 * DAY_US),  # a clock that was set back since
    ],
)
def test_any_history_has_a_chart_that_stays_in_its_square(history: charts.History, unit: Unit) -> None:
    for chart in (offset_chart(history, WORDS, unit), small_chart(history, unit)):
        assert in_square(chart)
        assert chart.time.low < chart.time.high
        assert chart.value.low < 0 < chart.value.high
        assert len(charts.spots(chart)) == len(history.checks) + sum(one.as_left is not None for one in history.turned)
        assert [one.role for one in chart.vlines if one.role == "today"] == ["today"]


def test_limits_nought_and_halves_are_on_the_axis() -> None:
    axis = offset_chart(a_history("0.3"), WORDS, "C").value
    assert [one.label for one in axis.ticks] == ["-1.0", "-0.5", "0.0", "+0.5", "+1.0"]
    assert [one.label for one in axis.ticks if one.strong] == ["-1.0", "+1.0"]


def test_a_tick_that_would_touch_a_limit_gives_way() -> None:
    axis = offset_chart(a_history("0.3", tolerance=dc("1.1")), WORDS, "C").value
    assert [one.label for one in axis.ticks] == ["-1.5", "-1.1", "-0.5", "0.0", "+0.5", "+1.1", "+1.5"]


def test_all_is_brought_to_one_unit_exactly() -> None:
    mixed = replace(
        a_history("1", tolerance=df("2")),
        checks=(
            charts.Checked(NOW - DAY_US, dc("1"), "pass", dc("0.25")),
            charts.Checked(NOW, df("1.8"), "pass"),
        ),
        turned=(Turned(NOW, df("1.8"), dc("-0.5")),),
    )
    fahrenheit, celsius = (offset_chart(mixed, WORDS, unit) for unit in ("F", "C"))
    assert fahrenheit.points.value == (1.8, 1.8, -0.9)  # times 9/5 and no 32
    assert fahrenheit.points.bar == (0.45, None, None)
    assert fahrenheit.bands[0].upper == (2.0, 2.0)
    assert celsius.points.value == (1.0, 1.0, -0.5)
    assert celsius.bands[0].upper == (float(Fraction(10, 9)),) * 2
    assert [one.label for one in celsius.value.ticks if one.strong] == ["-1.11", "+1.11"]
    assert (fahrenheit.arrows[0].as_found, fahrenheit.arrows[0].as_left) == (1.8, -0.9)


def test_what_lies_far_beyond_the_scale_stops_at_its_end_and_says_so() -> None:
    chart = offset_chart(a_history("0.1", "30", "-30"), WORDS, "C")
    inside, high, low = charts.spots(chart)
    assert (chart.value.low, chart.value.high) == (-2.0, 2.0)  # twice the limit
    assert (inside.beyond, high.beyond, low.beyond) == (False, True, True)
    assert (high.y, low.y) == (0.0, 1.0)
    assert (high.high, low.high) == (True, False)


def test_the_scale_follows_the_offsets_between_its_ends() -> None:
    small = offset_chart(a_history("0.1"), WORDS, "C").value.high
    large = offset_chart(a_history("1.6"), WORDS, "C").value.high
    assert small == pytest.approx(1.4)
    assert large == pytest.approx(1.76)


def test_an_adjustment_is_an_arrow_a_ring_and_two_labels() -> None:
    chart = offset_chart(a_history("0.5", "0.9", "0.1", turned=(TURNED,)), WORDS, "C")
    (arrow,) = chart.arrows
    assert (arrow.at, arrow.as_found, arrow.as_left) == (TURNED.at, 0.9, 0.0)
    assert chart.points.mark.count("as_left") == 1
    assert [(one.text, one.value, one.role) for one in chart.labels] == [
        ("limit", 1.0, "limit"),
        ("as_found 0.9", 0.9, ""),
        ("as_left 0.0", 0.0, "as_left"),
    ]
    assert list(chart.points.at) == sorted(chart.points.at)


def test_incidents_are_lines_that_end_in_their_lane() -> None:
    happened = (Happened(NOW - 9 * DAY_US, "dropped"), Happened(NOW - 8 * DAY_US, "move"))
    happened += (Happened(NOW - 7 * DAY_US, "paper"),)
    chart = offset_chart(a_history("0.1", "0.2", happened=happened, turned=(TURNED,)), WORDS, "C")
    assert [one.at for one in chart.vlines if one.role == "incident"] == [NOW - 9 * DAY_US]
    lanes = {lane.code: [(mark.mark, mark.text) for mark in lane.marks] for lane in chart.lanes}
    assert lanes["incidents"] == [("incident", "incident dropped")]
    assert lanes["papers_moves"] == [("move", ""), ("paper", "")]
    assert lanes["checks"] == [("as_left", ""), ("check", ""), ("check", "")]


def test_since_leaves_out_what_was_before() -> None:
    chart = small_chart(a_history("0.1", "0.2", "0.3"), "C", since=NOW - 8 * DAY_US)
    assert chart.points.value == (0.2, 0.3)


def test_a_band_is_one_polygon() -> None:
    chart = offset_chart(a_history("0.1"), WORDS, "C")
    upper, lower = (0.5 - 1 / 2.8, 0.5 + 1 / 2.8)
    expected = [(0.0, upper), (1.0, upper), (1.0, lower), (0.0, lower)]
    assert [pytest.approx(one) for one in charts.outline(chart, chart.bands[0])] == expected


def test_five_thousand_checks() -> None:
    many = a_history(*(f"0.{n % 10}" for n in range(5000)), every=DAY_US // 2)
    chart = offset_chart(many, WORDS, "F")
    placed = charts.spots(chart)
    assert len(placed) == 5000
    assert [one.x for one in placed] == sorted(one.x for one in placed)
    assert len(chart.lanes[0].marks) == 5000


# --- around a moment -----------------------------------------------------------------------------------------

ASKED = instant("2026-03-03 14:30")


def around(*at: str) -> charts.History:
    found = tuple(charts.Checked(instant(one), dc("0.3"), "pass", dc("0.25")) for one in at)
    return replace(a_history(), checks=found)


def test_the_time_between_two_checks_is_shaded() -> None:
    before, after = instant("2026-03-03 06:44"), instant("2026-03-03 22:12")
    history = around("2026-02-01 06:00", "2026-03-02 06:44", "2026-03-03 06:44", "2026-03-03 22:12", "2026-03-05 06:00")
    chart = answer_chart(history, WORDS, "C", ASKED, before, after)
    (between,) = [one for one in chart.bands if one.role == "between"]
    assert between.at == (before, after)
    assert (between.upper[0], between.lower[0]) == (chart.value.high, chart.value.low)
    assert len(chart.points.at) == 4  # none from weeks before
    assert [at for at, strong in zip(chart.points.at, chart.points.strong, strict=True) if strong] == [before, after]
    assert {one.role: one.at for one in chart.vlines if one.role != "check"} == {"moment": ASKED}
    assert [one.text for one in chart.vlines if one.role == "check"] == [
        f"check_before {before}",
        f"check_after {after}",
    ]
    assert [one.label for one in chart.time.ticks if one.strong] == ["day 2026-03-03 00:00"]
    assert charts.spots(chart)[0].bar is not None
    assert in_square(chart)


def test_no_check_before_or_after_is_no_shade() -> None:
    for before, after in ((None, None), (instant("2026-03-03 06:44"), None), (None, instant("2026-03-04 06:44"))):
        chart = answer_chart(around("2026-03-03 06:44", "2026-03-04 06:44"), WORDS, "C", ASKED, before, after)
        assert [one.role for one in chart.bands] == ["tolerance"]
        assert in_square(chart)


def test_checks_far_away_widen_what_is_shown() -> None:
    before, after = instant("2024-02-29 06:00"), instant("2026-04-01 06:00")
    chart = answer_chart(around("2024-02-29 06:00", "2026-04-01 06:00"), WORDS, "C", ASKED, before, after)
    assert chart.time.holds(before)
    assert chart.time.holds(after)
    assert len(charts.spots(chart)) == 2


def test_a_moment_with_nothing_around_it() -> None:
    assert in_square(answer_chart(a_history(), WORDS, "F", ASKED, None, None))


def test_samples_are_a_week_apart() -> None:
    first, last = checks("0.1", "0.2")
    assert last.at - first.at == 7 * DAY_US
