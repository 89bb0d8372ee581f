"""The cells of a sheet's grid: typed or chosen; both tell when the column is to be gone along."""

from collections.abc import Sequence

from PySide6.QtCore import QRegularExpression, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QRegularExpressionValidator
from PySide6.QtWidgets import QLineEdit

from ui import theme
from ui.desk import Desk
from ui.forms import List

READINGS = ("reading", "repeat_1", "repeat_2", "as_left")
_ACCEPTED = {
    **dict.fromkeys(READINGS, "[-−–]?[0-9]{0,4}([.,][0-9]{0,3})?"),
    "bath": "[12]?",
    "time": "([01]?[0-9]|2[0-3])?(:[0-5]?[0-9]?)?",
    "unit": "[CFcf]?",
    "initials": ".{0,6}",
}
_WIDEST = {**dict.fromkeys(READINGS, "−188.8"), "bath": "2", "time": "00:00", "unit": "F", "initials": "WWW"}


class Cell(QLineEdit):
    """One cell that is typed in; Enter and the arrows go along its column."""

    step = Signal(int)

    def __init__(self, desk: Desk, name: str, accessible: str) -> None:
        super().__init__()
        self.name = name
        self.setAccessibleName(accessible)
        self.setValidator(QRegularExpressionValidator(QRegularExpression(_ACCEPTED[name]), self))
        self.setMinimumHeight(theme.TOUCH)
        self.setFont(desk.look.font(17))
        self.setStyleSheet("padding-left: 5px; padding-right: 5px;")
        widest = QFontMetrics(desk.look.font(17)).horizontalAdvance(_WIDEST[name]) + 18
        self.setFixedWidth(max(widest, theme.DESK))
        if name in READINGS:
            self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.setInputMethodHints(Qt.InputMethodHint.ImhFormattedNumbersOnly)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if (by := _step(event)) != 0:
            self.step.emit(by)
        else:
            super().keyPressEvent(event)


class ChoiceCell(List):
    """One cell that is chosen; letters choose, Enter goes down the column, Space or Alt and Down open the list."""

    step = Signal(int)

    def __init__(self, desk: Desk, name: str, accessible: str, choices: Sequence[tuple[str, str]]) -> None:
        super().__init__(desk.look)
        self.name = name
        self.setAccessibleName(accessible)
        self.setMinimumHeight(theme.TOUCH)
        self.setSizeAdjustPolicy(List.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(4)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.addItem("", "")
        for code, words in choices:
            self.addItem(words, code)
        metrics = QFontMetrics(desk.look.font(15))
        widest = max((metrics.horizontalAdvance(words) for _, words in choices), default=0)
        self.view().setMinimumWidth(widest + 40)
        self.setMaximumWidth(desk.look.text(240))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.step.emit(1)
        else:
            super().keyPressEvent(event)


def _step(event: QKeyEvent) -> int:
    if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
        return 1
    return -1 if event.key() == Qt.Key.Key_Up else 0
