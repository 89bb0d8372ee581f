"""A box to tick: a tick and no disc, seen in light and dark, with focus, when it can't be pressed, and at 200 %."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests.ui import looking
from tests.ui.painting import nearly
from ui import theme
from ui.asking import Dialogs
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import LINK, Button, Ground
from ui.tick import SIDE, Tick

pytestmark = looking.no_screen
LOOKS = [theme.look(dark=dark, zoom=zoom) for dark in (False, True) for zoom in (1.0, 2.0)]


def shown(qtbot: QtBot, look: theme.Look, words: str = "Auditor", under: str = "", width: int = 400) -> Tick:
    ground = Ground(look.sheet)
    tick, other = Tick(look, words, under), QWidget()
    other.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    lay = QVBoxLayout(ground)
    lay.addWidget(tick)
    lay.addWidget(other)
    ground.resize(width, 300)
    ground.show()
    ground.activateWindow()
    qtbot.waitUntil(ground.isActiveWindow)
    other.setFocus()
    tick.ground = ground  # type: ignore[attr-defined]  # or it is let go
    return tick


def box(tick: Tick) -> QImage:
    """The picture of its box alone."""
    ratio, side = tick.devicePixelRatioF(), tick.look.text(SIDE)
    corner = tick.mapTo(tick.window(), QPoint(0, (tick.height() - side) // 2))
    picture = tick.window().grab().toImage()  # on its ground: alone it would stand on the style's
    return picture.copy(*(round(one * ratio) for one in (corner.x(), corner.y(), side, side)))


def inner(image: QImage, colour: QColor) -> set[tuple[float, float]]:
    """Where the colour stands inside the box's edge, as shares of its side."""
    side = image.width()
    found = nearly(image, colour, 60)
    return {(x / side, y / side) for x, y in found if 0.16 < x / side < 0.84 and 0.16 < y / side < 0.84}


@pytest.mark.parametrize("look", LOOKS, ids=lambda one: f"{'dark' if one.dark else 'light'}-{one.zoom:g}")
def test_a_tick_stands_in_it_and_no_disc(qtbot: QtBot, look: theme.Look) -> None:
    tick = shown(qtbot, look)
    assert inner(box(tick), look.ink) == set()
    tick.setChecked(True)
    found = inner(box(tick), look.ink)
    assert found
    lowest = max(found, key=lambda one: one[1])
    right = max(found)
    assert 0.25 < lowest[0] < 0.6  # it turns left of the middle, low down
    assert right[1] < 0.45  # and ends high at the right
    share = len(found) / (box(tick).width() * 0.68) ** 2
    assert 0.1 < share < 0.4  # a disc of the same reach would fill more than half
    assert not [one for one in found if one[0] < 0.35 and one[1] < 0.35]  # nothing in the corner that a disc would have


@pytest.mark.parametrize("look", LOOKS, ids=lambda one: f"{'dark' if one.dark else 'light'}-{one.zoom:g}")
def test_focus_is_a_frame_in_pen_and_off_is_muted(qtbot: QtBot, look: theme.Look) -> None:
    tick = shown(qtbot, look)
    tick.setChecked(True)
    assert not nearly(box(tick), look.pen, 20)
    tick.setFocus()
    assert len(nearly(box(tick), look.pen, 20)) > 3 * look.text(SIDE)
    tick.setEnabled(False)
    picture = box(tick)
    assert inner(picture, look.muted)
    assert not nearly(picture, look.pen, 20)
    assert not inner(picture, look.ink)


def test_all_of_it_is_pressed_and_so_is_space(qtbot: QtBot) -> None:
    tick = shown(qtbot, LOOKS[0], under="looks, and changes nothing")
    QTest.mouseClick(tick, Qt.MouseButton.LeftButton, pos=QPoint(tick.width() - 4, tick.height() - 4))
    assert tick.isChecked()
    QTest.keyClick(tick, Qt.Key.Key_Space)
    assert not tick.isChecked()


def test_long_words_go_on_in_a_second_line(qtbot: QtBot) -> None:
    words = "Work out the outcome of old checks that have none, by the rule that is in force now"
    tick = shown(qtbot, LOOKS[1], words, "and nothing else", width=420)
    assert tick.minimumSizeHint().width() <= 400
    assert tick.height() >= tick.heightForWidth(tick.width()) > tick.heightForWidth(2000) >= theme.DESK


def test_the_frame_of_a_link_keeps_off_its_words(qtbot: QtBot) -> None:
    look = theme.look()
    ground = Ground(look.sheet)
    link = Button(look, "The inspector is here", LINK)
    QVBoxLayout(ground).addWidget(link, 0, Qt.AlignmentFlag.AlignLeft)
    ground.show()
    ground.activateWindow()
    qtbot.waitUntil(ground.isActiveWindow)
    link.setFocus()
    picture = link.grab().toImage()
    ratio = link.devicePixelRatioF()
    middle = [x / ratio for x, y in nearly(picture, look.pen, 60) if abs(y / ratio - link.height() / 2) < 5]
    frame, words = [x for x in middle if x < 3], [x for x in middle if 3 <= x <= link.width() - 4]
    assert frame
    assert min(words) >= 3 + 2.5
    assert max(words) <= link.width() - 3 - 2.5


def test_a_sheet_over_the_window_has_an_outline_of_its_own(frame: Frame, desk: Desk) -> None:
    Dialogs(frame, desk).sure("Take it out of use all the same?", "Take it out of use", lambda: None)
    (sheet,) = frame.findChildren(QDialog)
    picture, ink = sheet.grab().toImage(), desk.look.ink.rgb()
    middle, last = picture.height() // 2, picture.width() - 1
    assert {picture.pixel(0, middle), picture.pixel(last, middle), picture.pixel(last // 2, 0)} == {ink}
