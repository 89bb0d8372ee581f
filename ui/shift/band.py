"""The band above the list: most rows are off the same way, or two read like each other's history."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from registry.charts import dot_pile
from registry.services.bath_doubt import BathDoubt
from registry.services.words import watch as words
from ui import theme
from ui.charting import chart_words
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, MAIN, Button, Words, on_press
from ui.plots import Pile
from ui.shift.foot import Meant


class _Ground(QWidget):
    """It warns or asks, and never decides."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self._desk.look, QPainter(self)
        painter.fillRect(self.rect(), look.cautint)
        painter.fillRect(0, self.height() - 1, self.width(), 1, look.caution)


class SwapBand(_Ground):
    """Was one keyed into the other's row? It leads to the rows."""

    wanted = Signal(str)  # the row of this tag id
    right = Signal()

    def __init__(self, desk: Desk, pair: tuple[str, str], *, small: bool, may: bool) -> None:
        super().__init__(desk)
        look, (one, other) = desk.look, pair
        title = desk.say("watch.swapped", one=one, other=other)
        self.setAccessibleName(title)
        said = QVBoxLayout(self)
        said.setSpacing(6)
        said.setContentsMargins(16 if small else 24, 12, 16, 12)
        said.addWidget(Words(look, title, 16 if small else 18, bold=True))
        said.addWidget(Words(look, desk.say("shift.swap_what_to_do"), 15))
        presses = Flow(space=4)
        for tag in pair:
            go = Button(look, desk.say("shift.to_row", tag=tag), LINK, height=theme.TOUCH)
            presses.addWidget(on_press(go, partial(self.wanted.emit, tag)))
        if may:
            right = Button(look, desk.say("shift.rows_are_right"), LINK, height=theme.TOUCH)
            presses.addWidget(on_press(right, self.right.emit))
        said.addLayout(presses)


class Band(_Ground):
    """Most rows are off the same way: what that may mean, what to do, and the dots."""

    remade = Signal()
    overruled = Signal()

    def __init__(self, desk: Desk, doubt: BathDoubt, *, small: bool, may: bool) -> None:
        super().__init__(desk)
        look = desk.look
        title = words.title(doubt.watch, desk.language)
        self.setAccessibleName(title)
        self._doubt = doubt
        said = QVBoxLayout()
        said.setSpacing(6)
        said.addWidget(Words(look, title, 18 if small else 20, bold=True))
        if not small:
            said.addWidget(Words(look, words.why(doubt.watch, desk.language, desk.region, desk.unit), 15))
        said.addWidget(Words(look, words.what_to_do(doubt.watch, desk.language), 15, bold=True))
        presses = Flow(space=4)  # links bring their own room
        self.remake = on_press(Meant(look, desk.say("shift.bath_is_remade"), MAIN), self.remade.emit)
        good = on_press(Button(look, desk.say("shift.good_all_same"), LINK, height=theme.TOUCH), self.overruled.emit)
        reason = on_press(Button(look, desk.say("shift.why_so"), LINK, height=theme.TOUCH), self._tell)
        for button in ([self.remake, good] if may else []) + [reason]:
            presses.addWidget(button)
        said.addLayout(presses)
        line = QHBoxLayout(self)
        line.setContentsMargins(16 if small else 24, 12, 16, 12)
        line.setSpacing(24)
        line.addLayout(said, 3)
        if not small:
            pile = Pile(look)
            pile.setMinimumHeight(130)
            moves = [(one.tag_id, one.move) for one in doubt.dots]
            alike = [one.tag_id for one in doubt.dots if one.counts]
            pile.show_pile(
                dot_pile(moves, chart_words(desk), desk.unit),
                desk.say("chart.moved_axis", unit=f"°{desk.unit}"),
                nought=desk.say("chart.good_bath"),
                together=alike,
                names={one.tag_id: one.tag_id for one in doubt.dots if one.tag_id not in alike},
            )
            line.addWidget(pile, 2)

    def _why(self) -> str:
        desk = self._desk
        return " ".join(words.sentences(self._doubt.watch, desk.language, desk.region, desk.unit))

    def _tell(self) -> None:
        desk, doubt = self._desk, self._doubt
        moves = "\n".join(f"{one.tag_id}: {desk.offset(one.move, 1)}" for one in doubt.dots)
        told = [self._why(), desk.say("watch.wait"), desk.say("watch.overrule"), "", desk.say("shift.moved"), moves]
        desk.ask.sure(
            words.title(doubt.watch, desk.language),
            desk.say("frame.go_on"),
            lambda: None,
            details="\n".join(told),
        )
