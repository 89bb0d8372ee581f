"""Marks: each code has its own, in the colours of the look; triangles point the way it reads."""

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from registry import resources
from registry.records import outcomes
from tests.ui.painting import DARK, LIGHT, count, picture
from ui import marks

ALL = [
    *[("outcome", code) for code in marks.OUTCOMES],
    *[("lead", code) for code in marks.LEAD],
    *[("service", code) for code in marks.SERVICE],
    *[("sign", code) for code in marks.SIGNS],
]
pytestmark = pytest.mark.usefixtures("qapp")


def drawn(kind: str, code: str, high: bool | None = None, side: int = 40, look=LIGHT) -> QImage:
    return picture(lambda painter, rect: marks.paint_mark(painter, rect, kind, code, high, look), side, side, look)


def blank(side: int = 40, look=LIGHT) -> QImage:
    return picture(lambda painter, rect: None, side, side, look)


def codes_of(table: str) -> set[str]:
    return {code.split(".")[1] for code in resources.texts("en") if code.startswith(f"{table}.")}


def test_every_outcome_word_and_status_of_the_vocabulary_has_a_mark() -> None:
    assert {*outcomes.GOOD, *outcomes.OUTSIDE, "cannot_decide"} <= set(marks.OUTCOMES)
    assert codes_of("lead") == set(marks.LEAD)
    assert codes_of("status") == set(marks.SERVICE)


@pytest.mark.parametrize(("kind", "code"), ALL)
@pytest.mark.parametrize("side", [9, 13, 18, 28])
@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_every_mark_is_seen_at_every_size(kind: str, code: str, side: int, look) -> None:
    assert drawn(kind, code, side=side, look=look) != blank(side, look)


@pytest.mark.parametrize("kind", ["outcome", "lead", "service"])
def test_no_two_marks_of_a_kind_look_alike(kind: str) -> None:
    same = {("conditional_pass", "not_accepted"), ("cannot_decide", "waits")}  # one mark each, as on paper
    codes = [code for each, code in ALL if each == kind]
    for number, one in enumerate(codes):
        for other in codes[number + 1 :]:
            alike = drawn(kind, one, side=18) == drawn(kind, other, side=18)
            assert alike == ((one, other) in same), (one, other)


def test_colour_says_the_side() -> None:
    for look in (LIGHT, DARK):
        for code in ("pass", "conditional_pass", "not_accepted"):
            assert count(drawn("outcome", code, look=look), look.within) > 100
            assert count(drawn("outcome", code, look=look), look.outside) == 0
        for code in ("fail", "conditional_fail"):
            assert count(drawn("outcome", code, look=look), look.outside) > 100
            assert count(drawn("outcome", code, look=look), look.within) == 0


def test_caution_marks_no_outcome() -> None:
    for kind, code in ALL:
        expected = (kind, code) in {("service", "check_first"), ("sign", "incident")}
        assert (count(drawn(kind, code), LIGHT.caution) > 0) == expected, code


def test_full_is_sure_and_half_is_not() -> None:
    for full, half, colour in (("pass", "conditional_pass", "within"), ("fail", "conditional_fail", "outside")):
        whole = count(drawn("outcome", full), getattr(LIGHT, colour))
        part = count(drawn("outcome", half), getattr(LIGHT, colour))
        assert 0.5 * whole < part < 0.85 * whole


@pytest.mark.parametrize("code", ["fail", "conditional_fail"])
def test_a_triangle_that_reads_low_is_the_other_one_upside_down(code: str) -> None:
    high, low = drawn("outcome", code, True), drawn("outcome", code, False)
    assert high != low
    assert drawn("outcome", code, None) == high
    flipped = low.flipped(Qt.Orientation.Vertical)
    apart = sum(abs((flipped.pixel(x, y) & 255) - (high.pixel(x, y) & 255)) > 40 for x in range(40) for y in range(40))
    assert apart <= 4  # only the soft edges round differently


def test_fail_points_up_where_it_reads_high() -> None:
    image = drawn("outcome", "fail", True)
    width_at = [sum(image.pixel(x, y) == LIGHT.outside.rgb() for x in range(40)) for y in (8, 32)]
    assert width_at[0] < width_at[1]


def test_the_more_ink_the_less_use() -> None:
    ink = [count(drawn("service", code), LIGHT.ink) for code in ("in_service", "limited_use", "out_of_use")]
    assert ink == sorted(ink)
    assert len(set(ink)) == 3


def test_as_left_is_pen() -> None:
    assert count(drawn("sign", "as_left"), LIGHT.pen) > 50
    assert count(drawn("sign", "as_left"), LIGHT.ink) == 0


def test_what_is_not_known_and_no_room_draw_nothing_and_do_not_raise() -> None:
    for kind in ("outcome", "lead", "service", "sign", "other"):
        assert drawn(kind, "no_such_code") == blank()
    for kind, code in ALL:
        picture(lambda painter, rect, k=kind, c=code: marks.paint_mark(painter, QRectF(), k, c, True, LIGHT))
        picture(
            lambda painter, rect, k=kind, c=code: marks.paint_mark(painter, QRectF(0, 0, 9e6, 9e6), k, c, False, LIGHT)
        )


def test_a_key_cap_holds_its_word() -> None:
    from PySide6.QtGui import QFontMetricsF

    for word in ("Enter", "Intro", ""):
        size = marks.key_cap_size(word, LIGHT)
        assert size.width() > QFontMetricsF(LIGHT.font(13, bold=True)).horizontalAdvance(word) + 24
        image = picture(
            lambda painter, rect, w=word: marks.paint_key_cap(painter, rect, w, LIGHT), size.width(), size.height()
        )
        assert count(image, LIGHT.pen) > 20


def test_mark_keeps_its_size_and_tells_its_word(qtbot: QtBot) -> None:
    mark = marks.Mark(LIGHT, 26)
    qtbot.addWidget(mark)
    mark.show_mark("outcome", "fail", "Fail, reads low", high=False)
    assert (mark.width(), mark.height()) == (26, 26)
    assert mark.accessibleName() == "Fail, reads low"
    low = mark.grab().toImage()
    mark.show_mark("outcome", "fail", "Fail, reads high", high=True)
    assert mark.grab().toImage() != low
    assert mark.accessibleName() == "Fail, reads high"
