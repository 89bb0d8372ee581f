"""The buttons of what may happen to a thermometer, and the line that says which one it is."""

from collections.abc import Callable

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter

from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.flow import Flow
from ui.happened.icons import paint_icon
from ui.happened.standing import Standing
from ui.happened.tile import Tile
from ui.marks import Mark
from ui.parts import LINK, Button, Words, column, holding, on_press, row


def which_one(desk: Desk, of: Standing, another: Callable[[], object]) -> Flow:
    """Which one it is, how it stands, and the way to another one."""
    look, say = desk.look, desk.say
    drawing = Drawing(look, QSize(look.text(44), look.text(44)))
    drawing.show_drawing(of.of.type.code)
    mark = Mark(look, look.text(20))
    mark.show_mark("service", of.status, "")
    status = Words(look, say(f"status.{of.status}"), 15, wrap=False)
    kind = say("happened.kind_and_place", kind=say(f"type.{of.of.type.code}"), place=of.place)
    under = Words(look, kind, 14, colour="muted", wrap=look.narrow)
    if look.narrow:
        under.setMinimumWidth(look.text(230))
    names = column(Words(look, of.tag_id, 20, bold=True, wrap=False), under, space=0)
    other = on_press(Button(look, say("happened.another_one"), LINK, height=theme.TOUCH), another)
    parts = holding(row(drawing, names, space=8)), holding(row(mark, status, space=8)), other
    return Flow(*parts, space=16, middle=True)


def tile(desk: Desk, words: str, icon: str, action: Callable[[], object], name: str) -> Tile:
    """A button with the drawing of a code; without one where `icon` is empty."""
    look = desk.look

    def painted(painter: QPainter, rect: QRectF) -> None:
        paint_icon(painter, rect.adjusted(3, 3, -3, -3), icon, look)

    made = Tile(look, desk.say(words), painted if icon else None)
    made.setObjectName(name)
    on_press(made, action)
    return made
