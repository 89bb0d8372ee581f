"""First start: one page of few questions, after which Start of shift is ready. Also the way to the demo or a backup."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import settings
from registry.services.problems import KnownError, Problem, Refused
from registry.wording import refusals, say
from ui.desk import Desk
from ui.parts import MAIN, Button, Line, Scroll, Words, clear, column, holding, on_press, row
from ui.setup import beginning, demo
from ui.setup.first_questions import FirstQuestions
from ui.setup.inline import Values, go_on, said

if TYPE_CHECKING:
    from registry.services.session import Session


class FirstStartPage(QWidget):
    """Asks what the registry needs; `started` carries the open session, with a site and a shift in it.

    With a `session` the group is there already and only its first kitchen is asked for.
    """

    started = Signal(object)

    def __init__(self, desk: Desk, session: Session | None = None) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.language = desk.language
        self.start = beginning.Beginning(desk.home, session)
        self.only_kitchen = session is not None
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self.show_questions()

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    # --- what is on the page ---------------------------------------------------------------------------------

    def show_questions(self, kept: Values | None = None) -> None:
        """The page of questions, filled in with what was typed before."""
        clear(self._lay)
        look = self.look
        self.asked = FirstQuestions(look, self.language, self.start, only_kitchen=self.only_kitchen)
        self.asked.language_chosen.connect(self._language_chosen)
        self.trouble = Words(look, "", 15, bold=True, colour="caution")
        self.trouble.hide()
        self.begin = Button(look, self.say("start.begin"), MAIN)
        on_press(self.begin, self.do)
        inner = column(
            *self._head(),
            8,
            self.asked,
            *self._cautions(),
            self.trouble,
            row(self.begin, None),
            None,
            space=10,
            margins=(28, 24, 28, 24),
        )
        self._lay.addWidget(Scroll(holding(inner)))
        self.asked.fill(kept)
        self.asked.settle(busy=False)

    def _head(self) -> list[Any]:
        code = "start.title_site" if self.only_kitchen else "start.title"
        parts: list[Any] = [Words(self.look, self.say(code), 26, bold=True)]
        if not self.only_kitchen:
            demo_way = on_press(Button(self.look, self.say("start.try_demo")), self.try_demo)
            backup = on_press(Button(self.look, self.say("start.restore")), self.show_restoring)
            self.demo_told = Words(self.look, "", 15)
            self.demo_told.hide()
            self.demo_told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            parts += [
                Words(self.look, self.say("start.few_questions"), 15, colour="muted"),
                row(demo_way, backup, None, space=12),
                self.demo_told,
            ]
        return [*parts, Line(self.look.bench)]

    def _cautions(self) -> list[Any]:
        codes = ("caution.local_codes_first", "start.caution_numbers", "start.caution_record")
        return [Words(self.look, self.say(code), 14, colour="muted") for code in codes]

    def _language_chosen(self, language: str) -> None:
        kept = self.asked.values()
        self.language = language
        self.show_questions(kept)
        self.asked.language_box.button(language).setFocus()

    def showEvent(self, event: QShowEvent) -> None:
        """One begins at the first question; the other ways stand before it."""
        super().showEvent(event)
        now = self.window().focusWidget()
        if now is None or not self.asked.isAncestorOf(now):
            self.asked.take_focus()

    # --- doing it --------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes to the next question, and from the last one begins."""
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)
        elif not go_on(self, self.begin):
            self.do()

    def do(self) -> None:
        """Make what was asked for. Pressed again, or after a refusal, it goes on where it stopped."""
        values = self.asked.values()
        problems = self.start.problems(values)
        self._show_problems(problems)
        if not problems and self.begin.isEnabled():
            self._busy(True)
            self.desk.in_background(self.start.work(values), self._made, self._refused)

    def _made(self, session: Any) -> None:
        self._busy(False)
        self.start.remember(self.desk.local)
        self.started.emit(session)

    def _refused(self, error: Exception) -> None:
        self._busy(False)
        if isinstance(error, Refused):
            self._show_problems(error.problems)
        elif isinstance(error, KnownError):
            self.trouble.say(refusals.trouble(error.code, self.language))
            self.trouble.show()
        else:
            raise error

    def _busy(self, busy: bool) -> None:
        self.begin.setEnabled(not busy)
        self.begin.setText(self.say("start.making" if busy else "start.begin"))
        self.asked.settle(busy=busy)

    def _show_problems(self, problems: Sequence[Problem]) -> None:
        rest = self.asked.show_problems(problems, self._said)
        self.trouble.say(" ".join(self._said(one) for one in rest))
        self.trouble.setVisible(bool(rest))

    def _said(self, problem: Problem) -> str:
        return said(problem, self.desk, self.language)

    # --- other ways to begin ---------------------------------------------------------------------------------

    def try_demo(self) -> None:
        """Open the demo where it is built; else say how it is."""
        home = demo.home()
        if home is None:
            self.demo_told.say(self.say("start.demo_not_built", command=demo.COMMAND))
            self.demo_told.show()
        else:
            self.desk.in_background(lambda _: demo.opened(home), self._demo_opened, self._refused)

    def _demo_opened(self, session: Any) -> None:
        """The demo has a folder of its own, with its own settings and drafts."""
        assert isinstance(session.home, Path)
        self.desk.home, self.desk.local = session.home, settings.local_file(session.home)
        self.desk.rebuild.emit()  # in the look that was chosen there
        self.started.emit(session)

    def show_restoring(self) -> None:
        from ui.setup.restoring import Restoring

        kept = self.asked.values()
        clear(self._lay)
        self.restoring = Restoring(self.desk, self.language)
        self.restoring.restored.connect(self.started)
        self.restoring.left.connect(lambda: self.show_questions(kept))
        self._lay.addWidget(Scroll(self.restoring))
