"""The band above the list when most rows are off the same way: what that may mean, what to do, and the dots."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from registry.charts import dot_pile
from registry.services.bath_doubt import BathDoubt
from ui import theme
from ui.charting import chart_words
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, MAIN, Button, Words, on_press
from ui.plots import Pile


class Band(QWidget):
    """One band at a time; it warns and never decides."""

    remade = Signal()
    overruled = Signal()

    def __init__(self, desk: Desk, doubt: BathDoubt, *, small: bool, may: bool) -> None:
        super().__init__()
        look = desk.look
        self._ground, self._edge = look.cautint, look.caution
        self.setAccessibleName(desk.say(doubt.title))
        self._desk, self._doubt = desk, doubt
        words = QVBoxLayout()
        words.setSpacing(6)
        words.addWidget(Words(look, desk.say(doubt.title), 18 if small else 20, bold=True))
        if not small:
            words.addWidget(Words(look, self._why(), 15))
        words.addWidget(Words(look, desk.say(doubt.what_to_do), 15, bold=True))
        presses = Flow(space=4)  # links bring their own room
        self.remake = on_press(
            Button(look, desk.say("shift.bath_is_remade"), MAIN, height=theme.TOUCH), self.remade.emit
        )
        good = on_press(Button(look, desk.say("shift.good_all_same"), LINK, height=theme.TOUCH), self.overruled.emit)
        reason = on_press(Button(look, desk.say("shift.why_so"), LINK, height=theme.TOUCH), self._tell)
        for button in ([self.remake, good] if may else []) + [reason]:
            presses.addWidget(button)
        words.addLayout(presses)
        line = QHBoxLayout(self)
        line.setContentsMargins(16 if small else 24, 12, 16, 12)
        line.setSpacing(24)
        line.addLayout(words, 3)
        if not small:
            pile = Pile(look)
            pile.setMinimumHeight(130)
            moves = [(one.tag_id, one.move) for one in doubt.dots]
            alike = [one.tag_id for one in doubt.dots if one.counts and (one.move.value > 0) == (doubt.shift.value > 0)]
            pile.show_pile(
                dot_pile(moves, chart_words(desk), desk.unit),
                desk.say("chart.moved_axis", unit=f"°{desk.unit}"),
                nought=desk.say("chart.good_bath"),
                together=alike,
                names={one.tag_id: one.tag_id for one in doubt.dots if one.tag_id not in alike},
            )
            line.addWidget(pile, 2)

    def _why(self) -> str:
        desk, doubt = self._desk, self._doubt
        code = doubt.why if any(one.from_last for one in doubt.dots) else f"{doubt.why}_first"
        return desk.say(code, count=doubt.count, of=doubt.of, shift=desk.offset(doubt.shift, 1))

    def _tell(self) -> None:
        desk, doubt = self._desk, self._doubt
        why = self._why()
        moves = "\n".join(f"{one.tag_id}: {desk.offset(one.move, 1)}" for one in doubt.dots)
        desk.ask.sure(
            desk.say(doubt.title),
            desk.say("frame.go_on"),
            lambda: None,
            details=f"{why}\n{desk.say(doubt.decide)}\n\n{desk.say('shift.moved')}\n{moves}",
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._ground)
        painter.fillRect(0, self.height() - 1, self.width(), 1, self._edge)
