"""Below the bench: how far the list is, what is to go, and what ends it."""

import time
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal, SignalInstance
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from registry.services.lists import Closed
from registry.services.shift_list import ShiftView
from registry.services.shift_row import ListRow
from registry.wording import closing
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import MAIN, PLAIN, Button, Words, column, holding, on_press, row
from ui.shift.field import BOUNCE_S
from ui.shift.keying import WRITING
from ui.theme import Look

MOST_NAMED = 8


def count_sentence(desk: Desk, rows: Sequence[ListRow]) -> str:
    """How many of the list are checked, and what became of them; who was checked and taken out counts as both."""
    done = sum(1 for one in rows if one.check is not None and one.check.row.recorded)
    adjusted = sum(1 for one in rows if one.check is not None and one.check.as_left is not None)
    out = sum(1 for one in rows if one.state == "out_of_use")
    told = [desk.say("shift.checked_of", done=done, of=len(rows))]
    if adjusted:
        told.append(desk.say("shift.adjusted", count=adjusted))
    if turn := sum(1 for one in rows if one.left_failed):
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


def left_to_do(desk: Desk, rows: Sequence[ListRow], *, unjudged: bool, doubted: bool) -> str:
    """What is to go besides those that failed, which are named by themselves.

    doubted: the band above says what of the bath; with large text it may be out of sight.
    """
    left, doubt = [one.tag_id for one in rows if one.state in WRITING], desk.say("shift.doubt_above") if doubted else ""
    if left:
        more = desk.say("shift.and_more", count=len(left) - MOST_NAMED) if len(left) > MOST_NAMED else ""
        tags = f"{', '.join(left[:MOST_NAMED])} {more}".strip()
        return f"{doubt} {desk.say('shift.to_go', tags=tags)}".strip()
    if doubted:
        return doubt
    if unjudged:
        return desk.say("shift.judge_to_go")
    return "" if any(one.left_failed for one in rows) else desk.say("shift.none_to_go")


def left_of_closed(desk: Desk, closed: Closed) -> str:
    """That it was closed before, what was not checked, what waits, where too few remain; or that nothing is left."""
    told = []
    if (before := closed.before) is not None:
        now, zone = desk.session.clock(), desk.site.payload.zone
        told.append(
            closing.closed_already(before.at, before.initials, closed.again, now, desk.language, desk.region, zone)
        )
    if closed.not_done:
        told.append(desk.say("shift.not_done", tags=", ".join(closed.not_done)))
    if closed.unsettled:
        told.append(desk.say("shift.unsettled", tags=", ".join(closed.unsettled)))
    if closed.in_doubt:
        told.append(desk.say("doubt.closed", tags=", ".join(closed.in_doubt)))
    if closed.failed:
        from registry.services.words import shortage  # late: the first list does without it

        told += shortage.sentences(desk.session, [one.thermometer for one in closed.failed], desk.language)
    if not (closed.not_done or closed.unsettled or closed.in_doubt or closed.failed):
        told.append(desk.say("shift.all_done"))
    return " ".join(told)


class Meant(Button):
    """A button that the focus comes to by itself: an Enter that still belongs to the row before presses nothing."""

    def __init__(self, look: Look, text: str, kind: str) -> None:
        super().__init__(look, text, kind, height=theme.TOUCH)
        self.came = float("-inf")

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() != Qt.FocusReason.MouseFocusReason:  # Qt moves it on by itself when a button is hidden
            self.came = time.monotonic()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if time.monotonic() - self.came >= BOUNCE_S:
            super().keyPressEvent(event)


class Foot(QWidget):
    """Who may not be used, the sentence of the list, and its buttons: judge the bath, print tags, finish."""

    judge = Signal()
    off = Signal()
    tags = Signal()
    finish = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.failed = Words(self.look, "", 15, bold=True, colour="outside")
        self.sentence = Words(self.look, "", 18 if small else 20, bold=True)
        self.to_go = Words(self.look, "", 14, colour="muted")
        words = column(None, self.failed, self.sentence, self.to_go, None, space=2)
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

    def _button(self, code: str, signal: SignalInstance, kind: str = PLAIN) -> Meant:
        button = Meant(self.look, self.desk.say(code), kind)
        on_press(button, signal.emit)
        return button

    def show_view(
        self, view: ShiftView, rows: Sequence[ListRow], closed: Closed | None, *, may: bool, doubted: bool
    ) -> None:
        desk, bath = self.desk, view.bath
        unjudged = bath is not None and bath.judged in (None, "suspect")  # one in doubt waits for a person too
        open_bath = bath is not None and unjudged and any(one.check and one.check.bath == bath.bath for one in rows)
        judged = [one for one in rows if one.check is not None and one.check.bath_judged is not None]
        self.good.setVisible(may and open_bath and not doubted)  # else the band asks
        self.bad.setVisible(may and open_bath and not doubted)
        self.print.setVisible(may and bool(judged) and not open_bath)
        self.end.setVisible(may and view.shift is not None and closed is None)
        if closed is None:
            standing = [(one.tag_id, one.station, one.left_failed) for one in rows if one.left_failed]
            failed = closing.failed_so_far(standing, desk.language)
            self.sentence.say(count_sentence(desk, rows))
            self.to_go.say(left_to_do(desk, rows, unjudged=open_bath, doubted=doubted))
        else:
            failed = closing.left_failed([(one.tag_id, one.place, one.why) for one in closed.failed], desk.language)
            self.sentence.say(closed_sentence(desk, closed))
            self.to_go.say(left_of_closed(desk, closed))
        self.failed.say(" ".join(failed))
        for words in (self.failed, self.to_go):
            words.setVisible(bool(words.text()))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.wash)
