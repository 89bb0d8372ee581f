"""What opens under a row, in place: repeats, a question, adjusting with its as-left field, what else may be said."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLayout, QVBoxLayout, QWidget

from registry.quantity import TemperatureDifference
from registry.records.outcomes import UNSETTLING
from registry.services.checks import NO_READING, NOT_CHECKED
from registry.services.shift_list import ListRow
from registry.services.thermometers import STATUS_WHY
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.flow import Flow
from ui.marks import paint_sign
from ui.parts import LINK, Button, Choice, Words, column, holding, on_press
from ui.parts import row as row_of
from ui.shift.field import ReadingField
from ui.theme import Look

SIDE = 24


class Repeats(QWidget):
    """It is outside: what to do before the next reading, and what it showed so far."""

    def __init__(self, desk: Desk, row: ListRow) -> None:
        super().__init__()
        check = row.check
        assert check is not None
        so_far = ", ".join(format.number(one.value, desk.region) for one in check.row.readings)
        line = QHBoxLayout(self)
        line.setContentsMargins(SIDE + 60, 0, SIDE, 10)
        line.setSpacing(24)
        line.addWidget(Words(desk.look, desk.say("shift.repeat"), 15), 3)
        line.addWidget(Words(desk.look, desk.say("shift.so_far", readings=so_far), 15, colour="pen"), 2)


class Question(QWidget):
    """Why a reading was not taken; what stands in the field is typed again, and the right answer is never offered."""

    def __init__(self, desk: Desk, sentence: str) -> None:
        super().__init__()
        line = QHBoxLayout(self)
        line.setContentsMargins(SIDE + 60, 0, SIDE, 10)
        words = Words(desk.look, sentence, 15, bold=True, colour="caution")
        words.setAccessibleName(sentence)
        line.addWidget(words)


class Arrow(QWidget):
    """From the as-found reading down to the as-left one."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setFixedSize(20, 22)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_sign(painter, QRectF(self.rect()), "down", self.look, self.look.pen)
        painter.end()


class Adjusting(QWidget):
    """How to adjust this type, the field for what it shows then, and the way out of use."""

    entered = Signal()
    keyed = Signal(str)
    out_of_use = Signal()

    def __init__(self, desk: Desk, row: ListRow, places: int, reference: str, text: str) -> None:
        super().__init__()
        self.desk, self.look, self.row = desk, desk.look, row
        self._reference = reference
        ways = row.may_adjust
        self.how = row.adjust or (ways[0] if ways else "none")
        look = self.look
        self._drawing = Drawing(look, QSize(look.text(76), look.text(84)))
        self._words = Words(look, "", 15)
        told = column(None, self._words, None)
        left = row_of(self._drawing, told, space=12, margins=(SIDE, 0, 8, 0))
        left.setStretch(1, 1)
        self._left = holding(left)
        self.field = ReadingField(look, desk.say("shift.as_left_field", tag=row.tag_id), places=places, height=52)
        self.field.write(text)
        self.field.entered.connect(self.entered)
        self.field.keyed.connect(self.keyed)
        kept = Words(look, desk.say("shift.as_found_kept"), 14, colour="muted")
        beside = column(None, Words(look, desk.say("shift.as_left"), 15, bold=True), kept, None, space=0)
        out = Button(look, desk.say("shift.take_out"), height=theme.TOUCH)
        out.setAccessibleName(desk.say("shift.take_out_of", tag=row.tag_id))
        on_press(out, self.out_of_use.emit)
        parts: list[QWidget | QLayout | None] = [self._left]
        if self.how != "none":
            parts += [holding(self._under_arrow()), holding(beside)]
        line: QLayout = row_of(*parts, column(None, out, None), None, space=8, margins=(0, 0, 12, 10))
        if look.zoom > 1:  # large text: one under the other
            line = column(*parts[:1], row_of(SIDE, *parts[1:], None), row_of(SIDE, out, None), margins=(0, 0, 12, 10))
        choice = [row_of(*self._choice(ways), None, margins=(SIDE, 0, 12, 6))] if len(ways) > 1 else []
        self.setLayout(column(*choice, line, space=0))
        self._show()

    def _choice(self, ways: Sequence[str]) -> list[QWidget]:
        if len(ways) < 2:
            return []
        words = [(one, self.desk.say(f"adjustment.{one}")) for one in ways]
        choice = Choice(self.look, words, self.how, self.desk.say("shift.how"), height=theme.TOUCH)
        choice.chosen.connect(self._choose)
        return [choice]

    def _under_arrow(self) -> QVBoxLayout:
        made = column(space=2)
        made.addWidget(Arrow(self.look), 0, Qt.AlignmentFlag.AlignHCenter)
        made.addWidget(self.field)
        made.addStretch(1)
        return made

    def align_under(self, x: int) -> None:
        """The as-left field stands exactly under the as-found reading."""
        if self.look.zoom > 1:
            return
        self._drawing.setVisible(x >= SIDE + self.look.text(76 + 140))  # words come before the drawing
        self._left.setFixedWidth(max(self._left.minimumSizeHint().width(), x - 8))

    def _choose(self, how: str) -> None:
        self.how = how
        self._show()

    def _show(self) -> None:
        check = self.row.check
        offset = check.row.judged.offset if check else TemperatureDifference.from_text("0 dC")
        correction = self.desk.offset(TemperatureDifference(-offset.value, offset.unit))
        self._words.say(
            self.desk.say(f"adjust_how.{self.how}", reference=self._reference, correction=correction)
            if self.how in ("nut", "reset", "trim", "none")
            else self.desk.say("shift.by_makers_sheet")
        )
        self._drawing.show_drawing(f"adjust_{self.how}" if self.how != "none" else "adjust_none")


class Instead(QWidget):
    """What may be said in place of a reading; a press says it."""

    said = Signal(str, str)  # "not_checked" or "no_reading", and why
    closed = Signal()

    def __init__(self, desk: Desk, *, in_shift: bool, in_bath: bool) -> None:
        super().__init__()
        self.desk = desk
        self._flow = Flow(space=8, equal=True)
        if in_shift:
            for code in NOT_CHECKED:
                self._add(desk.say(f"due_state.{code}"), "not_checked", code)
        if in_bath:
            for code in NO_READING:
                self._add(desk.say(f"no_reading.{code}"), "no_reading", code)
        away = on_press(Button(desk.look, desk.say("frame.not_now"), LINK, height=theme.TOUCH), self.closed.emit)
        self._flow.addWidget(away)
        self.setLayout(column(self._flow, margins=(SIDE if desk.look.zoom > 1 else SIDE + 60, 0, SIDE, 12)))

    def _add(self, words: str, kind: str, code: str) -> None:
        button = Button(self.desk.look, words, height=theme.TOUCH, size=14)
        on_press(button, lambda: self.said.emit(kind, code))
        self._flow.addWidget(button)


def out_of_use_choices(desk: Desk) -> list[tuple[str, str]]:
    return [(one, desk.say(f"incident.{one}" if one in UNSETTLING else f"out_of_use.{one}")) for one in STATUS_WHY]
