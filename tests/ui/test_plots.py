"""Plots: marks where the model says, words that never overlap, points that can be asked about."""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations

import pytest
from PySide6.QtCore import QPoint, QRectF, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from registry import charts
from registry.charts import AS_LEFT, Arrow, Axis, Band, Chart, Label, Lane, LaneMark, Line, Points, Tick, VLine
from registry.quantity import TemperatureDifference
from tests.charts.samples import WORDS, dc
from tests.ui import gallery
from tests.ui.painting import DARK, LIGHT, columns, count, nearly, picture, rows
from ui import plots, theme
from ui.drift.spread import Interval, IntervalLine
from ui.plots.asked import Tip
from ui.plots.walk import Walk

WIDE, HIGH = 700, 400
pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture(autouse=True)
def _fonts(qapp: object) -> None:
    theme.load_fonts()


def drawn(chart: Chart, look=LIGHT, wide: int = WIDE, high: int = HIGH) -> QImage:
    return picture(lambda painter, rect: plots.paint_chart(painter, rect, chart, look), wide, high, look)


NONE = Points()


def bare(points: Points = NONE, **parts: object) -> Chart:
    """Time 0 to 100, values −2 to 2 with ticks, so that words have their room."""
    value = Axis(-2, 2, (Tick(-1, "−1.0", strong=True), Tick(0, "0.0"), Tick(1, "+1.0", strong=True)), "offset, °C")
    return Chart(Axis(0, 100, (Tick(20, "May"),)), value, "C", points=points, **parts)  # type: ignore[arg-type]


def at(*points: tuple[int, float, str]) -> Points:
    times, values, marks = zip(*points, strict=True)
    return Points(times, values, marks, (None,) * len(points), (False,) * len(points))


def place(chart: Chart, when: float, value: float, wide: int = WIDE, high: int = HIGH) -> tuple[float, float]:
    area = plots.chart_area(QRectF(0, 0, wide, high), chart, LIGHT)
    x, y = charts.spot(chart, when, value)
    return area.left() + x * area.width(), area.top() + y * area.height()


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize(("when", "value"), [(0, 0.0), (50, 1.0), (100, -1.5), (30, 9.0), (30, -9.0)])
def test_a_mark_stands_where_its_time_and_value_meet(when: int, value: float) -> None:
    chart = bare(at((when, value, "pass")))
    image = drawn(chart)
    x, y = place(chart, when, value)
    found_x, found_y = columns(image, LIGHT.within), rows(image, LIGHT.within)
    assert (min(found_x) + max(found_x) + 1) / 2 == pytest.approx(x, abs=1)
    assert (min(found_y) + max(found_y) + 1) / 2 == pytest.approx(y, abs=1)


@pytest.mark.slow
def test_marks_have_the_colour_of_their_side_in_both_looks() -> None:
    chart = bare(at((20, 0.2, "pass"), (40, 0.9, "conditional_pass"), (60, 1.5, "fail"), (80, 0.0, AS_LEFT)))
    for look in (LIGHT, DARK):
        image = drawn(chart, look)
        for colour in (look.within, look.outside, look.pen):
            assert len(nearly(image, colour)) > 10


def test_what_lies_outside_the_time_shown_is_not_drawn() -> None:
    assert drawn(bare(at((-5, 0.0, "fail"), (105, 0.0, "fail")))) == drawn(bare())


def test_fails_point_the_way_they_read() -> None:
    for value, more_below in ((1.5, True), (-1.5, False)):
        image = drawn(bare(at((50, value, "fail"))))
        shown = rows(image, LIGHT.outside)
        wide = [sum(image.pixel(x, y) == LIGHT.outside.rgb() for x in range(WIDE)) for y in (shown[0], shown[-1])]
        assert (wide[0] < wide[1]) == more_below


def test_the_band_lies_between_its_limits() -> None:
    chart = bare(
        bands=(Band("tolerance", (0, 100), (1.0, 1.0), (-1.0, -1.0)),),
        lines=(
            Line("limit", (0, 100), (1.0, 1.0)),
            Line("limit", (0, 100), (-1.0, -1.0)),
            Line("nought", (0, 100), (0, 0)),
        ),
    )
    image = drawn(chart)
    inside = rows(image, LIGHT.tol)
    assert min(inside) == pytest.approx(place(chart, 0, 1.0)[1], abs=2)
    assert max(inside) == pytest.approx(place(chart, 0, -1.0)[1], abs=2.5)
    x = int(place(chart, 50, 0)[0])
    colours = {value: [image.pixel(x, int(place(chart, 50, value)[1]) + d) for d in (-1, 0, 1)] for value in (1.0, 0.0)}
    assert LIGHT.ink.rgb() in colours[1.0]
    assert LIGHT.ink.rgb() not in colours[0.0]


def test_u_reaches_as_far_as_it_says() -> None:
    points = Points((50,), (0.0,), ("pass",), (1.0,), (False,))
    chart = bare(points)
    middle = place(chart, 50, 0.0)[0]
    shown = [y for x, y in nearly(drawn(chart), LIGHT.within) if abs(x - middle) < 8]
    top, bottom = place(chart, 50, 1.0)[1], place(chart, 50, -1.0)[1]
    assert min(shown) == pytest.approx(top, abs=1.5)
    assert max(shown) == pytest.approx(bottom, abs=1.5)


def test_an_incident_ends_in_its_lane_and_today_does_not_reach_it() -> None:
    lanes = (Lane("checks", "checks", ()), Lane("incidents", "incidents", (LaneMark(30, "incident", "dropped"),)))
    image = drawn(bare(vlines=(VLine("incident", 30),), lanes=lanes))
    x = place(bare(lanes=lanes), 30, 0)[0]
    area = plots.chart_area(QRectF(0, 0, WIDE, HIGH), bare(lanes=lanes), LIGHT)
    near = [y for y in range(HIGH) if any(image.pixel(int(x) + d, y) == LIGHT.caution.rgb() for d in (-1, 0, 1))]
    assert min(near) < area.top() + 6
    assert max(near) > area.bottom() + LIGHT.text(plots.LANE)
    assert [y for y in near if area.bottom() + 8 < y < area.bottom() + LIGHT.text(plots.LANE)]
    today = drawn(bare(vlines=(VLine("today", 70, "today"),), lanes=lanes))
    line = [y for y in range(HIGH) if today.pixel(int(place(bare(lanes=lanes), 70, 0)[0]), y) == LIGHT.ink.rgb()]
    assert max(line, default=0) <= area.bottom() + 9


@pytest.mark.slow
def test_an_adjustment_is_an_arrow_in_pen() -> None:
    plain = len(nearly(drawn(bare(at((50, 1.5, "fail"), (50, 0.0, AS_LEFT)))), LIGHT.pen))
    told = drawn(bare(at((50, 1.5, "fail"), (50, 0.0, AS_LEFT)), arrows=(Arrow(50, 1.5, 0.0),)))
    assert len(nearly(told, LIGHT.pen)) > plain + 40


def shown_words(monkeypatch: pytest.MonkeyPatch, chart: Chart, wide: int, high: int) -> list[tuple[str, QRectF]]:
    """Every text that is written, with the room that its letters take."""
    from PySide6.QtGui import QFontMetricsF

    found: list[tuple[str, QRectF]] = []
    write = plots.Sheet.write

    def noted(sheet, text, where, side, colour, *, bold=False, halo=False) -> None:
        metrics = QFontMetricsF(sheet.look.font(plots.TEXT, bold=bold))
        width, height = metrics.horizontalAdvance(text), metrics.capHeight()
        left = {"left": where.left(), "right": where.right() - width}.get(side, where.center().x() - width / 2)
        if text:
            found.append((text, QRectF(left, where.center().y() - height / 2, width, height)))
        write(sheet, text, where, side, colour, bold=bold, halo=halo)

    monkeypatch.setattr(plots.Sheet, "write", noted)
    drawn(chart, wide=wide, high=high)
    return found


@pytest.mark.fast_cases(13)
@pytest.mark.parametrize("wide", [300, 420, 700, 1400])
@pytest.mark.parametrize("high", [180, 260, 420])
@pytest.mark.parametrize("which", ["story", "crowded", "days", "empty"])
def test_words_never_overlap_and_stay_on_the_picture(
    monkeypatch: pytest.MonkeyPatch, wide: int, high: int, which: str
) -> None:
    history, moment, before, after = gallery.days_around()
    crowded = tuple(charts.Happened(gallery.NOW - n * 9 * gallery.DAY, "dropped") for n in range(40))
    made = {
        "story": charts.offset_chart(gallery.story(), gallery.words(), "C"),
        "crowded": charts.offset_chart(replace(gallery.story(), happened=crowded), gallery.words(), "C"),
        "days": charts.answer_chart(replace(history, happened=crowded), gallery.words(), "C", moment, before, after),
        "empty": charts.offset_chart(charts.History("UTC", gallery.NOW, None), gallery.words(), "C"),
    }[which]
    found = shown_words(monkeypatch, made, wide, high)
    assert found
    for (one, first), (other, second) in combinations(found, 2):
        assert not first.intersects(second), (one, other)
    for text, where in found:
        assert QRectF(0, -1, wide + 1, high + 2).contains(where), text


def test_a_label_that_has_no_room_where_it_wants_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    labels = (Label("as found +0.9", 50, 0.0), Label("as left 0.0", 50, 0.0))
    found = dict(shown_words(monkeypatch, bare(labels=labels), WIDE, HIGH))
    assert {"as found +0.9", "as left 0.0"} <= set(found)
    assert not found["as found +0.9"].intersects(found["as left 0.0"])


def test_the_moment_is_named_even_beside_the_title(monkeypatch: pytest.MonkeyPatch) -> None:
    value = Axis(-2, 2, (Tick(0, "0"),), "offset, °C")
    chart = replace(bare(vlines=(VLine("moment", 3, "6:50 AM"),)), value=value)
    words = shown_words(monkeypatch, chart, 900, 300)
    places = dict(words)
    assert places["6:50 AM"].left() > places["offset, °C"].right()


def test_a_mark_at_the_last_moment_is_whole() -> None:
    image, look = drawn(bare(at((100, 0.0, "pass")))), LIGHT
    seen = columns(image, look.within)
    x, _ = place(bare(), 100, 0.0)
    assert seen
    assert max(seen) - x == pytest.approx(x - min(seen), abs=1.5)


def test_words_keep_off_marks_where_they_can(monkeypatch: pytest.MonkeyPatch) -> None:
    points = at(*[(52 + n, 0.0, "pass") for n in range(20)])
    where = dict(shown_words(monkeypatch, bare(points, labels=(Label("as left 0.0", 50, 0.0),)), WIDE, HIGH))
    _, y = place(bare(points), 50, 0.0)
    label = where["as left 0.0"]
    assert label.right() < place(bare(points), 52, 0)[0] or not label.top() <= y <= label.bottom()


def test_a_small_plot_has_no_words_and_shows_what_failed(monkeypatch: pytest.MonkeyPatch) -> None:
    chart = charts.small_chart(gallery.story(), "C")
    assert plots.is_small(chart)
    assert shown_words(monkeypatch, chart, 170, 42) == []
    image = drawn(chart, wide=170, high=42)
    assert count(image, LIGHT.outside) > 10
    assert len(nearly(image, LIGHT.pen)) > 3
    assert count(image, LIGHT.within) == 0


EXTREMES = {
    "nothing": bare(),
    "one": bare(at((50, 0.0, "pass"))),
    "far": bare(Points((50, 50), (1e300, -1e300), ("fail", "waits"), (1e300, None), (True, False))),
    "unknown": bare(
        at((50, 0.0, "no_such_mark")), vlines=(VLine("no_such_role", 50, "x"),), bands=(Band("other", (), (), ()),)
    ),
    "no length": replace(bare(at((50, 0.0, "pass"))), value=Axis(0, 0)),
    "no time": replace(bare(at((50, 0.0, "pass"))), time=Axis(5, 5)),
    "long words": bare(labels=(Label("x" * 900, 50, 0.0),), lanes=(Lane("checks", "y" * 400, ()),)),
}


@pytest.mark.parametrize("name", EXTREMES)
@pytest.mark.parametrize("size", [(0, 0), (1, 1), (40, 20), (700, 400)])
def test_nothing_makes_it_raise(name: str, size: tuple[int, int]) -> None:
    def paint(painter, rect: QRectF) -> None:
        plots.paint_chart(painter, QRectF(0, 0, *size), EXTREMES[name], LIGHT)

    picture(paint, 700, 400)


@pytest.mark.slow
def test_many_points_are_stamped_and_look_as_if_each_were_painted(monkeypatch: pytest.MonkeyPatch) -> None:
    points = at(*[(n % 100, (n % 7 - 3) / 2, ("pass", "conditional_pass", "fail")[n % 3]) for n in range(500)])
    stamped = drawn(bare(points))
    monkeypatch.setattr(plots.points, "DENSE", 10**9)
    painted = drawn(bare(points))
    for colour in (LIGHT.within, LIGHT.outside):
        assert count(stamped, colour) == pytest.approx(count(painted, colour), rel=0.35)


# --- the widget ----------------------------------------------------------------------------------------------


@pytest.fixture
def plot(qtbot: QtBot) -> plots.Plot:
    widget = plots.Plot(LIGHT)
    qtbot.addWidget(widget)
    widget.resize(WIDE, HIGH)
    widget.show_chart(
        bare(at((10, 0.5, "pass"), (50, -0.5, "pass"), (90, 1.5, "fail"), (140, 0.0, "pass"))),
        "Offsets",
        "Three checks.",
    )
    with qtbot.waitExposed(widget):
        widget.show()
    return widget


def test_it_says_what_the_caller_says(plot: plots.Plot) -> None:
    assert plot.accessibleName() == "Offsets"
    assert plot.accessibleDescription() == "Three checks."


def test_arrows_go_from_point_to_point_and_stop_at_the_ends(plot: plots.Plot, qtbot: QtBot) -> None:
    asked: list[int] = []
    plot.asked.connect(asked.append)
    keys = Qt.Key
    for key in (
        keys.Key_Left,
        keys.Key_Left,
        keys.Key_Left,
        keys.Key_Left,
        keys.Key_Right,
        keys.Key_End,
        keys.Key_Right,
    ):
        qtbot.keyClick(plot, key)
    assert asked == [2, 1, 0, 1, 2]  # the fourth point lies outside the time shown
    qtbot.keyClick(plot, keys.Key_Home)
    qtbot.keyClick(plot, keys.Key_Escape)
    assert asked[-2:] == [0, -1]


def test_the_chosen_point_has_a_ring_and_focus_is_always_seen(plot: plots.Plot, qtbot: QtBot) -> None:
    plot.clearFocus()
    before = plot.grab().toImage()
    plot.choose(1)
    assert count(plot.grab().toImage(), LIGHT.pen) > count(before, LIGHT.pen) + 30
    plot.choose(-1)
    assert plot.grab().toImage() == before
    plot.setFocus()
    qtbot.waitUntil(plot.hasFocus)
    assert count(plot.grab().toImage(), LIGHT.pen) > count(before, LIGHT.pen) + 500


def test_the_pointer_asks_about_the_nearest_point(plot: plots.Plot, qtbot: QtBot) -> None:
    asked: list[int] = []
    plot.asked.connect(asked.append)
    x, y = plot.place_of(1)
    qtbot.mouseMove(plot, QPoint(round(x) + 6, round(y) - 6))
    qtbot.waitUntil(lambda: plot.chosen() == 1)
    qtbot.mouseMove(plot, QPoint(round(x) + 60, round(y)))
    qtbot.waitUntil(lambda: plot.chosen() == -1)
    assert asked == [1, -1]


def test_the_ring_stands_on_the_point(plot: plots.Plot) -> None:
    plot.choose(2)
    image = plot.grab().toImage()
    x, y = plot.place_of(2)
    near = [(u, v) for u in range(WIDE) for v in range(HIGH) if image.pixel(u, v) == LIGHT.outside.rgb()]
    assert sum(u for u, _ in near) / len(near) == pytest.approx(x, abs=1)
    ring = columns(image, LIGHT.pen)
    assert (min(ring) + max(ring) + 1) / 2 == pytest.approx(x, abs=1)
    assert (min(rows(image, LIGHT.pen)) + max(rows(image, LIGHT.pen)) + 1) / 2 == pytest.approx(y, abs=1)


def test_it_asks_for_room_for_its_words_and_its_offsets(plot: plots.Plot, qtbot: QtBot) -> None:
    for chart in (bare(), charts.offset_chart(gallery.story(), gallery.words(), "C")):
        for look in (LIGHT, theme.look(zoom=2.0)):
            widget = plots.Plot(look)
            qtbot.addWidget(widget)
            widget.show_chart(chart, "Offsets")
            area = plots.chart_area(QRectF(0, 0, 900, widget.minimumSizeHint().height() - 10), chart, look)
            assert area.height() == pytest.approx(110, abs=1)
            assert widget.sizeHint().height() > widget.minimumSizeHint().height()


def test_without_a_chart_or_points_keys_and_pointer_do_nothing(qtbot: QtBot) -> None:
    widget = plots.Plot(LIGHT)
    qtbot.addWidget(widget)
    for chart in (None, bare(), EXTREMES["no length"], charts.small_chart(gallery.story(), "C")):
        widget.show_chart(chart, "nothing")
        widget.grab()
        if chart is None or not plots.is_small(chart):
            for key in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_Escape):
                qtbot.keyClick(widget, key)
        assert widget.chosen() == -1


# --- the pile ------------------------------------------------------------------------------------------------


def pile_picture(look=LIGHT, pile: charts.DotPile | None = None, **words: object) -> QImage:
    return picture(
        lambda painter, rect: plots.paint_pile(painter, rect, pile or gallery.bath_pile(), look, **words),
        300,
        150,
        look,  # type: ignore[arg-type]
    )


def test_a_dot_for_each_and_those_that_agree_lie_on_caution() -> None:
    plain = pile_picture()
    told = pile_picture(together=[f"TM {n}" for n in range(5)], agreed="five at +0.9")
    assert count(plain, LIGHT.caution) == 0
    assert count(told, LIGHT.caution) > 20
    assert count(plain, LIGHT.ink) > count(pile_picture(pile=charts.dot_pile([], gallery.words(), "C")), LIGHT.ink)


def test_a_pile_never_raises() -> None:
    some = gallery.bath_pile()
    many = charts.dot_pile(
        [(str(n), TemperatureDifference(Decimal("0.9"), "C")) for n in range(300)], gallery.words(), "C"
    )
    none = charts.dot_pile([], gallery.words(), "C")
    for pile in (some, many, none, replace(some, value=Axis(1, 1))):
        for size in ((0, 0), (10, 10), (300, 150)):
            picture(
                lambda painter, _, p=pile, s=size: plots.paint_pile(
                    painter, QRectF(0, 0, *s), p, LIGHT, nought="a good bath", together=["TM 1", "no"], agreed="x" * 99
                ),
                300, 150,
            )  # fmt: skip


def test_pile_widget_tells_its_name(qtbot: QtBot) -> None:
    widget = plots.Pile(LIGHT)
    qtbot.addWidget(widget)
    widget.resize(widget.sizeHint())
    empty = widget.grab().toImage()
    widget.show_pile(
        gallery.bath_pile(), "Five of six moved by 0.9 °C", nought="a good bath", names={"TM 5": "TM 007 B"}
    )
    assert widget.accessibleName() == "Five of six moved by 0.9 °C"
    assert widget.grab().toImage() != empty


def test_the_gallery_is_drawn_in_both_looks() -> None:
    from PySide6.QtGui import QPainter

    for look in (LIGHT, DARK):
        image = QImage(gallery.WIDTH, 3200, QImage.Format.Format_RGB32)
        image.fill(look.sheet)
        painter = QPainter(image)
        length = gallery.fill_sheet(painter, look)
        painter.end()
        assert 2000 < length < 3200
        assert count(image.copy(0, 0, 1280, 400), look.ink) > 1000


# --- read by keys and pointer, told in words -----------------------------------------------------------------


def test_what_is_asked_about_is_its_accessible_text_until_it_is_let_go(plot: plots.Plot, qtbot: QtBot) -> None:
    told: list[str] = []
    plot.told.connect(told.append)
    plot.words = lambda number: f"mark {number}"
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    assert (plot.accessibleDescription(), told) == ("mark 2", ["mark 2"])
    qtbot.keyClick(plot, Qt.Key.Key_Escape)
    assert (plot.accessibleDescription(), told) == ("Three checks.", ["mark 2", ""])


def test_alt_and_an_arrow_is_not_the_plots(plot: plots.Plot, qtbot: QtBot) -> None:
    qtbot.keyClick(plot, Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert plot.chosen() == -1


def test_each_dot_of_a_pile_is_told_beside_it(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(600, 300)
    pile = plots.Pile(LIGHT, window)
    pile.setGeometry(150, 100, 300, 150)
    said = charts.dot_pile([("A", dc("-0.4")), ("B", dc("0.9"))], WORDS, "C")
    pile.show_pile(said, "Moved")
    assert pile.accessibleDescription() == "pile 2 -0.4 0.9"
    with qtbot.waitExposed(window):
        window.show()
    pile.setFocus()
    qtbot.waitUntil(pile.hasFocus)
    qtbot.keyClick(pile, Qt.Key.Key_Home)
    assert pile.accessibleDescription() == "dot A -0.4"
    tip = window.findChild(Tip)
    assert tip is not None
    assert (tip.text(), tip.isVisible()) == ("dot A -0.4", True)
    x, _ = pile.place_of(0)
    assert abs(tip.geometry().center().x() - 150 - x) <= tip.width()
    qtbot.keyClick(pile, Qt.Key.Key_Right)
    assert tip.text() == "dot B 0.9"
    qtbot.keyClick(pile, Qt.Key.Key_Escape)
    assert not tip.isVisible()
    assert pile.accessibleDescription() == "pile 2 -0.4 0.9"


def test_the_pointer_asks_about_a_dot(qtbot: QtBot) -> None:
    pile = plots.Pile(LIGHT)
    qtbot.addWidget(pile)
    pile.resize(300, 150)
    pile.show_pile(charts.dot_pile([("A", dc("-0.4")), ("B", dc("0.9"))], WORDS, "C"), "Moved")
    with qtbot.waitExposed(pile):
        pile.show()
    x, y = pile.place_of(1)
    qtbot.mouseMove(pile, QPoint(round(x), round(y)))
    qtbot.waitUntil(lambda: pile.chosen() == 1)
    image = pile.grab().toImage()
    ring = columns(image, LIGHT.pen)
    assert (min(ring) + max(ring) + 1) / 2 == pytest.approx(x, abs=1)


def test_arrow_keys_go_through_lines_and_tab_meets_one(qtbot: QtBot) -> None:
    window, told = QWidget(), []
    qtbot.addWidget(window)
    lines = [IntervalLine(LIGHT, Interval(-0.1, 0.2, 0.5), [], 1.0, f"line {n}") for n in range(3)]
    for n, one in enumerate(lines):
        one.setParent(window)
        one.setGeometry(0, 40 * n, 200, 30)
    walk = Walk(window, [[one] for one in lines])
    walk.told.connect(told.append)
    with qtbot.waitExposed(window):
        window.show()
    lines[0].setFocus()
    qtbot.waitUntil(lines[0].hasFocus)
    assert told[-1] == "line 0"
    for key, line in ((Qt.Key.Key_Up, 0), (Qt.Key.Key_Down, 1), (Qt.Key.Key_Down, 2), (Qt.Key.Key_Down, 2)):
        qtbot.keyClick(QApplication.focusWidget(), key)
        assert lines[line].hasFocus()
        assert told[-1] == f"line {line}"
    assert [bool(one.focusPolicy() & Qt.FocusPolicy.TabFocus) for one in lines] == [False, False, True]
    assert count(lines[2].grab().toImage(), LIGHT.pen) > count(lines[1].grab().toImage(), LIGHT.pen) + 50
