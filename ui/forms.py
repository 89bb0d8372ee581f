"""Fields to fill in: words above, what is wrong beneath; what was typed is always still there."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QDate, QEvent, QObject, QPointF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDateEdit,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from registry.services.problems import Problem
from ui import theme
from ui.parts import Choice, Words
from ui.theme import Look
from ui.tick import Tick

TEXT, LONG, CHOICE, FEW, DAY, YES, SECRET = "text", "long", "choice", "few", "day", "yes", "secret"


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to fill in. kind: text, long, choice (a list), few (in sight), day (ISO), yes ("yes" or ""), secret.

    hint: one line under the field that says what is wanted, always in sight.
    """

    name: str
    words: str
    kind: str = TEXT
    value: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""


class _NoWheel(QObject):
    """The wheel scrolls the page, it never changes what was chosen."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Wheel:
            event.ignore()
            return True
        return False


class List(QComboBox):
    """A list to choose from; the mark at its right says that it opens. The wheel scrolls the page past it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._look = look

    def minimumSizeHint(self) -> QSize:
        """Narrower than its longest words where there is no room for them: the open list shows them whole."""
        least = super().minimumSizeHint()
        return QSize(min(least.width(), self._look.text(200)), least.height())

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        half = self._look.text(5)
        painter.setPen(QPen(self._look.ink, 1.6))
        x, y = self.width() - 14 - half, self.height() / 2 - half / 2
        painter.drawPolyline([QPointF(x - half, y), QPointF(x, y + half), QPointF(x + half, y)])


class Form(QWidget):
    """Fields one under the other, or in columns."""

    submitted = Signal()  # Enter in a one-line field
    changed = Signal()

    def __init__(self, look: Look, fields: Sequence[Field]) -> None:
        super().__init__()
        self.look = look
        self._no_wheel = _NoWheel(self)
        self._inputs: dict[str, QWidget] = {}
        self._problems: dict[str, Words] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        self._general = Words(look, "", colour="caution", bold=True)
        self._general.hide()
        column.addWidget(self._general)
        for field in fields:
            self._add(column, field)

    def _add(self, column: QVBoxLayout, field: Field) -> None:
        made = self._input(field)
        self._inputs[field.name] = made
        made.setAccessibleName(field.words)
        made.setAccessibleDescription(field.hint)
        if field.kind != YES:
            label = Words(self.look, field.words, 14, colour="muted")
            if not isinstance(made, Choice):
                label.setBuddy(made)
            column.addWidget(label)
        column.addWidget(made)
        if field.hint and field.kind != YES:
            column.addWidget(Words(self.look, field.hint, 13, colour="muted"))
        problem = Words(self.look, "", 14, colour="caution", bold=True)
        problem.hide()
        self._problems[field.name] = problem
        column.addWidget(problem)
        column.addSpacing(8)

    def _input(self, field: Field) -> QWidget:
        if field.kind == FEW:
            choice = Choice(self.look, field.choices, field.value, field.words, breaks=True)
            choice.chosen.connect(self._was_changed)
            return choice
        if field.kind == CHOICE:
            box = List(self.look)
            box.setMinimumHeight(theme.DESK)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(8)
            for code, words in field.choices:
                box.addItem(words, code)
            box.setCurrentIndex(max(0, box.findData(field.value)))
            longest = max((box.fontMetrics().horizontalAdvance(words) for _, words in field.choices), default=0)
            box.view().setMinimumWidth(longest + 40)  # the list shows whole what a narrow field cuts
            box.currentIndexChanged.connect(self._was_changed)
            return box
        if field.kind == DAY:
            day = QDateEdit(QDate.fromString(field.value, Qt.DateFormat.ISODate))
            day.setMinimumHeight(theme.DESK)
            day.setDisplayFormat("yyyy-MM-dd")
            day.lineEdit().setTextMargins(9, 0, 0, 0)  # the style sheet pads the frame, not the line inside it
            day.installEventFilter(self._no_wheel)
            return day
        if field.kind == YES:
            check = Tick(self.look, field.words, field.hint)
            check.setChecked(bool(field.value))
            check.toggled.connect(self._was_changed)
            return check
        if field.kind == LONG:
            text = QPlainTextEdit(field.value)
            text.setTabChangesFocus(True)
            text.setFixedHeight(self.look.text(84))
            return text
        line = QLineEdit(field.value)
        line.setMinimumHeight(theme.DESK)
        if field.kind == SECRET:
            line.setEchoMode(QLineEdit.EchoMode.Password)
            line.setInputMethodHints(Qt.InputMethodHint.ImhDigitsOnly | Qt.InputMethodHint.ImhSensitiveData)
        line.returnPressed.connect(self.submitted)
        line.textChanged.connect(self._was_changed)
        return line

    def _was_changed(self, *_: object) -> None:
        self.changed.emit()

    def input(self, name: str) -> QWidget:
        return self._inputs[name]

    def values(self) -> dict[str, str]:
        """What stands in the fields, as text: choices by code, days in ISO form, "yes" or "" for a tick."""
        return {name: _value(made) for name, made in self._inputs.items()}

    def fill(self, values: Mapping[str, str]) -> None:
        for name, value in values.items():
            made = self._inputs.get(name)
            if isinstance(made, QLineEdit):
                made.setText(value)
            elif isinstance(made, QPlainTextEdit):
                made.setPlainText(value)
            elif isinstance(made, QComboBox):
                made.setCurrentIndex(max(0, made.findData(value)))
            elif isinstance(made, Choice):
                made.choose(value)
            elif isinstance(made, QCheckBox):
                made.setChecked(bool(value))
            elif isinstance(made, QDateEdit):
                made.setDate(QDate.fromString(value, Qt.DateFormat.ISODate))

    def show_problems(self, problems: Sequence[Problem], say: Callable[[Problem], str]) -> None:
        """Each sentence beneath its field, those of no field above all; the first one gets the focus."""
        self.forget_problems()
        general = [say(one) for one in problems if one.field not in self._problems]
        if general:
            self._general.say(" ".join(general))
            self._general.show()
        for one in problems:
            if one.field in self._problems:
                self._problems[one.field].say(say(one))
                self._problems[one.field].show()
                self._inputs[one.field].setAccessibleDescription(say(one))
        first = next((one.field for one in problems if one.field in self._inputs), None)
        if first is not None:
            self._inputs[first].setFocus()

    def forget_problems(self) -> None:
        for label in (self._general, *self._problems.values()):
            label.hide()


def _value(made: QWidget) -> str:
    if isinstance(made, QLineEdit):
        return made.text().strip()
    if isinstance(made, QPlainTextEdit):
        return made.toPlainText().strip()
    if isinstance(made, QComboBox):
        return str(made.currentData())
    if isinstance(made, QCheckBox):
        return "yes" if made.isChecked() else ""
    if isinstance(made, QDateEdit):
        return made.date().toString(Qt.DateFormat.ISODate)
    assert isinstance(made, Choice)
    return made.value
