"""Below the bench: how far the list is, what is to go, and what ends it."""

from collections.abc import Sequence

from PySide6.QtCore import Signal, SignalInstance
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.lists import Closed
from registry.services.shift_list import ListRow, ShiftView
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import MAIN, Button, Words, column, holding, on_press, row

MOST_NAMED = 8


def count_sentence(desk: Desk, rows: Sequence[ListRow]) -> str:
    """How many of the list are checked, and what became of them; who was checked and taken out counts as both."""
    done = sum(1 for one in rows if one.check is not None and one.check.row.recorded)
    adjusted = sum(1 for one in rows if one.check is not None and one.check.as_left is not None)
    out = sum(1 for one in rows if one.state == "out_of_use")
    told = [desk.say("shift.checked_of", done=done, of=len(rows))]
    if adjusted:
        told.append(desk.say("shift.adjusted", count=adjusted))
    if turn := sum(1 for one in rows if one.is_settled_outside):
        told.append(desk.say("shift.to_adjust", count=turn))
    if out:
        told.append(desk.say("shift.out_of_use", count=out))
    return ", ".join(told)


def closed_sentence(desk: Desk, closed: Closed) -> str:
    """What the closed list came to; every number is named, so that none is read as another."""
    return desk.say(
        "shift.closed",
        checked=closed.checked,
        adjusted=closed.adjusted,
        out_of_use=closed.out_of_use,
        not_found=closed.not_found,
        no_reading=closed.no_reading,
    )


class Foot(QWidget):
    """The sentence of the list, and its buttons: judge the bath, print tags, finish."""

    judge = Signal()
    off = Signal()
    tags = Signal()
    finish = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.sentence = Words(self.look, "", 18 if small else 20, bold=True)
        self.to_go = Words(self.look, "", 14, colour="muted")
        words = QVBoxLayout()
        words.setSpacing(2)
        words.setContentsMargins(0, 0, 0, 0)
        words.addStretch(1)
        words.addWidget(self.sentence)
        words.addWidget(self.to_go)
        words.addStretch(1)
        self.good = self._button("shift.bath_is_good", self.judge, MAIN)
        self.bad = self._button("shift.bath_is_off", self.off)
        self.print = self._button("shift.print_tags", self.tags)
        self.end = self._button("shift.finish", self.finish)
        buttons = (self.bad, self.good, self.print, self.end)
        if self.look.zoom == 1:
            line = row(holding(words), *buttons, space=10, margins=(16 if small else 24, 8, 16, 8))
            line.setStretch(0, 1)
            self.setLayout(line)
        else:  # large text: the buttons stand under the sentence
            self.setLayout(column(holding(words), Flow(*buttons, space=10), margins=(16, 4, 16, 8)))
        self.setMinimumHeight(80)

    def _button(self, code: str, signal: SignalInstance, kind: str = "plain") -> Button:
        button = Button(self.look, self.desk.say(code), kind, height=theme.TOUCH)
        on_press(button, signal.emit)
        return button

    def show_view(
        self, view: ShiftView, rows: Sequence[ListRow], closed: Closed | None, *, may: bool, doubted: bool
    ) -> None:
        desk = self.desk
        bath = view.bath
        unjudged = bath is not None and bath.judged is None
        open_bath = bath is not None and unjudged and any(one.check and one.check.bath == bath.bath for one in rows)
        judged = [one for one in rows if one.check is not None and one.check.bath_judged is not None]
        self.good.setVisible(may and open_bath and not doubted)  # else the band asks
        self.bad.setVisible(may and open_bath and not doubted)
        self.print.setVisible(may and bool(judged) and not open_bath)
        self.end.setVisible(may and view.shift is not None and closed is None)
        if closed is not None:
            self.sentence.say(closed_sentence(desk, closed))
            told = [desk.say("shift.not_done", tags=", ".join(closed.not_done))] if closed.not_done else []
            if closed.unsettled:
                told.append(desk.say("shift.unsettled", tags=", ".join(closed.unsettled)))
            if closed.in_doubt:
                told.append(desk.say("doubt.closed", tags=", ".join(closed.in_doubt)))
            self.to_go.say(" ".join(told) or desk.say("shift.all_done"))
            return
        self.sentence.say(count_sentence(desk, rows))
        left = [one.tag_id for one in rows if one.state in ("waiting", "partly")]
        more = desk.say("shift.and_more", count=len(left) - MOST_NAMED) if len(left) > MOST_NAMED else ""
        named = ", ".join(left[:MOST_NAMED])
        self.to_go.say(
            desk.say("shift.to_go", tags=f"{named} {more}".strip()) if left else desk.say("shift.none_to_go")
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.wash)
