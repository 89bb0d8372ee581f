"""How Start of shift stands on the sheet: what has to be in sight, what stands under what, and what is not broken."""

import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QProgressBar, QWidget
from pytestqt.qtbot import QtBot

from tests.screenshots.stage import Stage, Variant, settle
from tests.services.kitchen import Kitchen
from tests.ui import looking
from tests.ui.looking import Players
from tests.ui.test_shift import page, press
from ui import theme
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Words
from ui.shift.bath import BathStrip
from ui.shift.opened import Adjusting, Repeats
from ui.shift.page import ShiftPage
from ui.shift.row_parts import Place
from ui.shift.settling import Settling

__all__ = ["page"]  # the fixture
pytestmark = looking.no_screen

WIDE, SMALL = (1280, 800), (1024, 600)
POINTS = ("ice_point", "boiling_point", "comparison")


@pytest.fixture(scope="module")
def players(tmp_path_factory: pytest.TempPathFactory) -> Players:
    return Players(tmp_path_factory.getbasetemp() / "scenes")


def in_sight(one: QWidget, frame: QWidget) -> bool:
    """The whole of it, nothing scrolled away or covered by an edge."""
    return (
        one.isVisible()
        and one.visibleRegion().boundingRect() == one.rect()
        and frame.rect().contains(place(one, frame))
    )


def place(one: QWidget, frame: QWidget) -> QRect:
    return QRect(one.mapTo(frame, QPoint()), one.size())


def slow(*values: object) -> object:
    """A variant for the slow tier: playing its scene takes seconds."""
    return pytest.param(*values, marks=pytest.mark.slow)


# --- the bath ------------------------------------------------------------------------------------------------


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize(
    ("size", "point", "language", "zoom"),
    [
        *((WIDE, one, "en", 100) for one in POINTS),
        (SMALL, "boiling_point", "en", 100),
        (SMALL, "comparison", "es", 100),
        (WIDE, "comparison", "en", 200),
    ],
)
def test_the_press_that_goes_on_is_in_sight(
    players: Players, size: tuple[int, int], point: str, language: str, zoom: int
) -> None:
    with players.play("shift_no_bath", Variant(size, language, zoom=zoom)) as stage:
        stage.press(f"shift.{point}")
        found = stage.frame.page
        assert isinstance(found, ShiftPage)
        assert in_sight(found.bath.ready, stage.frame)


@pytest.mark.parametrize("point", POINTS)
def test_the_whole_bath_is_in_sight_in_a_wide_window(players: Players, point: str) -> None:
    with players.play("shift_no_bath") as stage:
        stage.press(f"shift.{point}")
        making = stage.frame.findChild(QWidget, "making")
        assert making is not None
        assert all(in_sight(one, stage.frame) for one in making.findChildren(Words) if one.isVisible())


def test_once_judged_nobody_is_told_to_wait(page: ShiftPage, kitchen: Kitchen, frame: Frame, qtbot: QtBot) -> None:
    press("\n")
    kitchen.clock.move(seconds=20)
    press("33.0\n")
    settling = page.findChild(Settling)
    assert settling is not None
    assert settling._words.text().startswith("Settles in ")
    page.foot.good.click()
    settle()
    (settling,) = (one for one in page.findChildren(Settling) if one.isVisible())
    assert not any("Settle" in one.text() for one in settling.findChildren(Words) if one.isVisible())
    assert not any(one.isVisible() for one in settling.findChildren(QProgressBar))
    frame.resize(*SMALL)
    settle()
    (strip,) = (one for one in frame.findChildren(BathStrip) if one.isVisible())
    said = [one.text() for one in strip.findChildren(Words) if one.isVisible()]
    assert "Judged good." in said
    assert not any("Settle" in one for one in said)


# --- adjusting -----------------------------------------------------------------------------------------------


def part_of(stage: Stage) -> Adjusting:
    found = stage.frame.page
    assert isinstance(found, ShiftPage)
    part = found.below.adjusting()
    assert part is not None
    return part


TWO_WAYS, ONE_WAY = "shift_adjusting", "shift_adjusting_dial"


@pytest.mark.parametrize(
    ("scene", "size", "language", "zoom", "most"),
    [
        slow(TWO_WAYS, WIDE, "en", 100, 1),
        (TWO_WAYS, WIDE, "es", 100, 1),
        slow(TWO_WAYS, SMALL, "en", 100, 2),
        slow(TWO_WAYS, WIDE, "en", 200, 2),
        slow(ONE_WAY, WIDE, "en", 100, 4),
        slow(ONE_WAY, SMALL, "es", 100, 2),
    ],
)
def test_how_to_adjust_has_room(
    players: Players, scene: str, size: tuple[int, int], language: str, zoom: int, most: int
) -> None:
    """At most four short lines beside the field, two where two ways are to choose from; no word is cut."""
    with players.play(scene, Variant(size, language, zoom=zoom)) as stage:
        part = part_of(stage)
        lines = part._words.heightForWidth(part._words.width()) // part._words.fontMetrics().height()
        assert lines <= most
        assert looking.clipped(part) == []
        assert in_sight(part, stage.frame)  # scrolled to, with all that opened


@pytest.mark.slow
@pytest.mark.parametrize(
    ("scene", "size"), [(TWO_WAYS, WIDE), slow(TWO_WAYS, SMALL), slow(ONE_WAY, WIDE), slow(ONE_WAY, SMALL)]
)
def test_as_left_stands_exactly_under_as_found(players: Players, scene: str, size: tuple[int, int]) -> None:
    with players.play(scene, Variant(size)) as stage:
        part = part_of(stage)
        page_ = stage.frame.page
        assert isinstance(page_, ShiftPage)
        found = page_.list.rows[part.objectName()].field
        assert place(part.field, stage.frame).left() == place(found, stage.frame).left()


@pytest.mark.slow
@pytest.mark.parametrize(("size", "zoom"), [(WIDE, 100), slow(SMALL, 100), slow(WIDE, 200)])
def test_what_stands_beside_the_field_stands_on_its_line(players: Players, size: tuple[int, int], zoom: int) -> None:
    """The lowest ink of the digits, of `as left` and of the unit, none of which goes below the line."""
    with players.play("shift_adjusting", Variant(size, zoom=zoom)) as stage:
        part = part_of(stage)
        part.field.write("0")
        part.field.clearFocus()  # its frame is pen too
        settle()
        words = {one.text(): one for one in part.findChildren(Words)}
        picture = part.grab().toImage()
        field = part.field.rect().adjusted(12, 6, -6, -6).translated(part.field.mapTo(part, QPoint()))
        digits = lowest(picture, field, stage.desk.look.pen)
        ink, muted = stage.desk.look.ink, stage.desk.look.muted
        assert abs(lowest(picture, place(words["as left"], part), ink) - digits) <= 1
        assert abs(lowest(picture, place(words["°C"], part), muted) - digits) <= 1


def lowest(picture: QImage, where: QRect, colour: QColor) -> int:
    """The lowest line, in points, in which something is painted in about that colour."""
    scale = picture.devicePixelRatio()
    for y in range(int(where.bottom() * scale), int(where.top() * scale), -1):
        for x in range(int(where.left() * scale), int(where.right() * scale)):
            seen = picture.pixelColor(x, y)
            if sum(abs(a - b) for a, b in zip(seen.getRgb()[:3], colour.getRgb()[:3], strict=True)) < 90:
                return round(y / scale)
    raise AssertionError("nothing is painted there")


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize(("size", "zoom"), [(SMALL, 100), (WIDE, 200)])
def test_what_to_do_before_the_next_reading_is_in_sight(players: Players, size: tuple[int, int], zoom: int) -> None:
    with players.play("shift_repeats", Variant(size, zoom=zoom)) as stage:
        (repeats,) = stage.frame.findChildren(Repeats)
        assert in_sight(repeats, stage.frame)


# --- rows ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "said"),
    [(400, "Cold store · hot point"), (100, "Cold store\nhot point"), (60, "Cold store · hot point")],
    ids=["one line", "one over the other", "as it comes"],
)
def test_place_and_reason_are_not_broken_where_there_is_room(qtbot: QtBot, desk: Desk, width: int, said: str) -> None:
    words = Place(theme.look())
    qtbot.addWidget(words)
    words.show()
    words.resize(width, 40)
    words.tell("Cold store · hot point", "Cold store\nhot point")
    assert words.text() == said
    words.resize(400, 40)
    assert words.text() == "Cold store · hot point"


def test_no_row_breaks_a_place_or_a_reason_in_a_wide_window(players: Players) -> None:
    with players.play("shift_normal") as stage:
        for words in stage.frame.findChildren(Place):
            lines = words.text().split("\n")
            assert all(words.fontMetrics().horizontalAdvance(one) <= words.width() for one in lines), words.text()
