"""Forms that stand on the page itself: what is wrong beneath its field, what was typed stays, Enter goes on."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from registry.services.problems import KnownError, Problem, Refused
from registry.wording import refusals
from ui.desk import Desk
from ui.forms import Field, Form
from ui.parts import MAIN, PLAIN, Button, Words, column, on_press, row

Values = dict[str, str]
WIDEST = 560  # at 100 % text: a field is no wider than what is written in it
# Refusals that only these pages make, with their sentences.
OWN = {
    ("again", "not_the_same"): "setup.pin_not_the_same",
    ("country", "empty"): "start.country_empty",
    ("file", "not_chosen"): "setup.file_not_chosen",
}


def said(problem: Problem, desk: Desk, language: str | None = None) -> str:
    """A refusal as its sentence."""
    language = language or desk.language
    if (problem.field, problem.code) in OWN:
        from registry.wording import say

        return say(OWN[problem.field, problem.code], language)
    return refusals.problem(problem.field, problem.code, problem.values, language)


class Inline(QWidget):
    """Fields, and one button that does it. `action` may raise Refused; done, everybody reads again."""

    def __init__(
        self,
        desk: Desk,
        fields: Sequence[Field],
        yes: str,
        action: Callable[[Values], object],
        *,
        away: Callable[[], object] | None = None,
        kind: str = PLAIN,
        extra: QWidget | None = None,
    ) -> None:
        super().__init__()
        self.desk, self._action = desk, action
        self.form = Form(desk.look, fields)
        self.trouble = Words(desk.look, "", 14, bold=True, colour="caution")
        self.trouble.hide()
        self.button = Button(desk.look, yes, kind)
        on_press(self.button, self.do)
        stop = [on_press(Button(desk.look, desk.say("frame.not_now")), away)] if away else []
        more = [extra] if extra is not None else []
        buttons = row(self.button, *stop, None)
        self.setMaximumWidth(desk.look.text(WIDEST))
        self.setLayout(column(self.form, *more, self.trouble, buttons, space=4))

    def do(self) -> None:
        self.trouble.hide()
        self.form.forget_problems()
        try:
            self._action(self.form.values())
        except Refused as refused:
            self.show_problems(refused.problems)
        except KnownError as error:
            self.trouble.say(refusals.trouble(error.code, self.desk.language))
            self.trouble.show()
        else:
            self.desk.recorded.emit()

    def show_problems(self, problems: Sequence[Problem]) -> None:
        self.form.show_problems(problems, lambda one: said(one, self.desk))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes to the next field, and at the last one does it."""
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)
        elif not go_on(self, self.button):
            self.do()


def go_on(within: QWidget, last: QWidget) -> bool:
    """Put the focus on the next control; False where that is the button at the end, which is then wanted."""
    at = within.window().focusWidget()
    following = at.nextInFocusChain() if at is not None else None
    while following is not None and following is not at:
        wants = following.isVisibleTo(within) and following.isEnabled() and within.isAncestorOf(following)
        if wants and following.focusPolicy() & Qt.FocusPolicy.TabFocus:
            if following is last:
                return False
            following.setFocus(Qt.FocusReason.TabFocusReason)
            return True
        following = following.nextInFocusChain()
    return True


def beside(*parts: QWidget, space: int = 16) -> QHBoxLayout:
    """Controls side by side, each at the top."""
    made = QHBoxLayout()
    made.setContentsMargins(0, 0, 0, 0)
    made.setSpacing(space)
    for part in parts:
        made.addWidget(part, 0, Qt.AlignmentFlag.AlignTop)
    made.addStretch(1)
    return made


__all__ = ["MAIN", "PLAIN", "Inline", "Values", "beside", "go_on", "said"]
