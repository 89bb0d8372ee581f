"""What opens under a row, in place: repeats, a question, adjusting with its as-left field, what else may be said."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLayout, QWidget

from registry.quantity import TemperatureDifference
from registry.records.outcomes import UNSETTLING
from registry.services.checks import NO_READING, NOT_CHECKED
from registry.services.shift_row import ListRow
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

SIDE, GAP = 24, 8
CHOICE_BESIDE = 300  # px: a wider choice has the words under it


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
    """How to adjust this type, the field for what it shows then, and the way out of use.

    Where one way is known and there is room the words stand left of the field, under the row's own; else above it.
    """

    entered = Signal()
    keyed = Signal(str)
    out_of_use = Signal()

    def __init__(self, desk: Desk, row: ListRow, places: int, reference: str, text: str, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look, self.row = desk, desk.look, row
        self._reference = reference
        ways = row.may_adjust
        self.how = row.adjust or (ways[0] if ways else "none")
        self._above = small or self.look.zoom > 1 or len(ways) > 1
        self._drawing = Drawing(self.look, QSize(self.look.text(76), self.look.text(84)))
        self._words = Words(self.look, "", 15)
        self.field = ReadingField(self.look, desk.say("shift.as_left_field", tag=row.tag_id), places=places, height=52)
        self.field.write(text)
        self.field.entered.connect(self.entered)
        self.field.keyed.connect(self.keyed)
        self._left = holding(self._left_of_field())
        told = [self._told(ways)] if self._above else []
        line = self._under_reading() if self.look.zoom == 1 else self._stacked()
        self.setLayout(column(*told, line, space=4))
        self._show()

    def _told(self, ways: Sequence[str]) -> QLayout:
        """Which way, and how it goes: beside each other where the choice leaves room for a sentence."""
        if len(ways) < 2:
            return row_of(self._words, margins=(SIDE, 0, 12, 0))
        words = [(one, self.desk.say(f"adjustment.{one}")) for one in ways]
        choice = Choice(self.look, words, self.how, self.desk.say("shift.how"), height=theme.TOUCH)
        choice.chosen.connect(self._choose)
        if self.look.zoom > 1 or choice.sizeHint().width() > CHOICE_BESIDE:
            return column(row_of(choice, None), self._words, space=6, margins=(SIDE, 0, 12, 0))
        made = row_of(choice, self._words, space=16, margins=(SIDE, 0, 12, 0))
        made.setStretch(1, 1)
        return made

    def _left_of_field(self) -> QLayout:
        if self._above:
            return row_of(self._drawing, None, margins=(SIDE, 0, 0, 0))
        made = row_of(self._drawing, column(None, self._words, None), space=12, margins=(SIDE, 0, 0, 0))
        made.setStretch(1, 1)
        return made

    def _under_reading(self) -> QLayout:
        """An arrow leads from the reading as found down to the field; what else there is stands on its line."""
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 12, 10)
        grid.setSpacing(GAP)
        grid.setVerticalSpacing(2)
        grid.addWidget(self._left, 0, 0, 2, 1)
        if self.how != "none":
            grid.addWidget(Arrow(self.look), 0, 1, Qt.AlignmentFlag.AlignHCenter)
            grid.addWidget(self.field, 1, 1, Qt.AlignmentFlag.AlignTop)
            grid.addLayout(self._as_left(), 1, 2, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self._out(), 1, 3, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(4, 1)
        return grid

    def _stacked(self) -> QLayout:
        """Large text: one under the other."""
        parts: list[QWidget | QLayout | int | None] = []
        if self.how != "none":
            line = row_of(SIDE, space=GAP)
            line.addWidget(self.field, 0, Qt.AlignmentFlag.AlignTop)
            line.addLayout(self._as_left(), 1)
            parts = [line]
        return column(*parts, row_of(SIDE, self._out(), None), margins=(0, 0, 12, 10))

    def _as_left(self) -> QLayout:
        """Its unit and what it is, on the baseline of the digits."""
        check, look = self.row.check, self.look
        unit = check.row.readings[0].unit if check is not None and check.row.readings else self.row.default_unit
        marked, said = Words(look, f"°{unit}", 16, colour="muted", wrap=False), Words(look, "", 15, bold=True)
        said.say(self.desk.say("shift.as_left"))
        kept = Words(look, self.desk.say("shift.as_found_kept"), 14, colour="muted")
        unit_part, words = column(marked, None, space=0), column(said, kept, None, space=0)
        unit_part.setContentsMargins(0, self.field.baseline() - QFontMetrics(marked.font()).ascent(), 0, 0)
        words.setContentsMargins(0, self.field.baseline() - QFontMetrics(said.font()).ascent(), 0, 0)
        made = row_of(unit_part, words, space=GAP)
        made.setStretch(1, 1)
        return made

    def _out(self) -> Button:
        out = Button(self.look, self.desk.say("shift.take_out"), height=theme.TOUCH)
        out.setAccessibleName(self.desk.say("shift.take_out_of", tag=self.row.tag_id))
        on_press(out, self.out_of_use.emit)
        return out

    def align_under(self, x: int) -> None:
        """The as-left field stands exactly under the as-found reading."""
        if self.look.zoom > 1:
            return
        words, room = 0 if self._above else 140, max(SIDE, x - GAP)
        self._drawing.setVisible(room >= SIDE + self.look.text(76 + words))  # words come before the drawing
        self._left.setFixedWidth(room if self._above else max(self._left.minimumSizeHint().width(), room))

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
