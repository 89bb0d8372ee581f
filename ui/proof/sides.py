"""The check before and the one after, side by side, a line for each thing that an inspector asks."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QGridLayout, QLayout, QWidget

from registry.services.answer_sheet import HEADS
from registry.services.proof_page import PointShown, Side
from ui.desk import Desk
from ui.marks import Mark
from ui.parts import Line, Words, holding, row

TOP = Qt.AlignmentFlag.AlignTop


class Sides(QWidget):
    def __init__(self, desk: Desk, point: PointShown) -> None:
        super().__init__()
        self.desk, look = desk, desk.look
        self.setAccessibleName(desk.say("proof.sides"))
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(5)
        first = 0 if look.narrow else 1  # large text: each label stands above what it names
        for column, code in enumerate(("before", "after"), first):
            grid.addWidget(Words(look, desk.say(f"answer.{code}"), 18, bold=True), 0, column)
            grid.setColumnStretch(column, 1)
        labels = [desk.say(f"answer.head.{code}") for code in HEADS]
        metrics = QFontMetrics(look.font(14))
        if not look.narrow:
            grid.setColumnMinimumWidth(0, max(metrics.horizontalAdvance(one) for one in labels) + 8)
        sides = (point.before, point.after)
        at = 1
        for code, label in zip(HEADS, labels, strict=True):
            if not any(side.values.get(code) for side in sides) and code != HEADS[0]:
                continue
            grid.addWidget(Line(look.line), at, 0, 1, 3)
            beside = at + 2 - first
            grid.addWidget(Words(look, label, 14, colour="muted", wrap=False), at + 1, 0, 1, 3 - 2 * first, TOP)
            for column, side in enumerate(sides, first):
                self._put(grid, beside, column, code, side)
            at = beside + 1
        grid.addWidget(Line(look.line), at, 0, 1, 3)

    def _put(self, grid: QGridLayout, at: int, column: int, code: str, side: Side) -> None:
        if side.line is None:
            if code == HEADS[0]:
                grid.addWidget(Words(self.desk.look, side.absent, 15, colour="muted"), at, column, TOP)
            return
        text = side.values.get(code, "")
        if code == "outcome":
            grid.addWidget(holding(self._outcome(text, side)), at, column)
        else:
            grid.addWidget(Words(self.desk.look, text, 15), at, column, TOP)

    def _outcome(self, text: str, side: Side) -> QLayout:
        line = side.line
        assert line is not None
        mark = Mark(self.desk.look, self.desk.look.text(16))
        mark.show_mark("outcome", line.outcome or line.given or "waits", "", reads_high(side))
        made = row(mark, Words(self.desk.look, text, 15, bold=True))
        made.setStretch(1, 1)
        return made


def reads_high(side: Side) -> bool | None:
    offset = side.line.offset if side.line else None
    return None if offset is None or offset.value == 0 else offset.value > 0
