"""The one place where the window asks something; never while a reading is being keyed in. Tests give the answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QDialog, QFileDialog, QVBoxLayout, QWidget

from registry.services.problems import KnownError, Problem, Refused
from registry.wording import refusals
from ui import theme
from ui.forms import Field, Form
from ui.parts import MAIN, Button, Scroll, Words, on_press, row
from ui.scanner import Scanner

if TYPE_CHECKING:
    from ui.desk import Desk

Filled = Callable[[dict[str, str]], object]


class Asking(Protocol):
    """What a page may ask. `then` is called with the answer, and not at all where none was given."""

    def sure(self, sentence: str, yes: str, then: Callable[[], object], *, details: str = "") -> None: ...

    def choose(self, sentence: str, choices: Sequence[tuple[str, str]], then: Callable[[str], object]) -> None: ...

    def fill(self, title: str, fields: Sequence[Field], yes: str, then: Filled, *, words: str = "") -> None:
        """`then` may raise Refused: its problems are shown beside the fields, which stay as they are."""
        ...

    def where_to_save(self, title: str, suggested: str, then: Callable[[Path], object]) -> None: ...

    def which_file(self, title: str, kinds: str, then: Callable[[Path], object]) -> None: ...

    def which_folder(self, title: str, then: Callable[[Path], object]) -> None: ...


class _Sheet(QDialog):
    """A sheet over the window: a title, what is asked, and buttons that say what they do."""

    def __init__(self, parent: QWidget, desk: Desk, title: str) -> None:
        super().__init__(parent)
        self.desk = desk
        self.setWindowTitle(desk.say("frame.title"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(28, 24, 28, 24)
        self.column.setSpacing(12)
        heading = Words(desk.look, title, 20, bold=True)
        self._wide = min(desk.look.text(440), parent.width() - 80)
        heading.setMinimumWidth(self._wide)
        heading.setMinimumHeight(heading.heightForWidth(self._wide))
        self.column.addWidget(heading)
        self.setMaximumSize(parent.size())
        self._scanner = Scanner(self, keeps=True)  # a sheet is a window of its own: a scan must press nothing in it

    def paintEvent(self, event: QPaintEvent) -> None:
        """An outline of its own: not every window manager draws one, and its ground is the page's."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setPen(QPen(self.desk.look.ink, 2))
        painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if (window := self.windowHandle()) is not None:
            window.installEventFilter(self._scanner)

    def say(self, words: str) -> None:
        """What else there is to know; where it is long it scrolls, so that the buttons stay in sight."""
        if words:
            told = Words(self.desk.look, words, colour="muted")
            scroll = Scroll(told)
            room = self.maximumHeight() - self.desk.look.text(60) - 200
            scroll.setMinimumHeight(min(told.heightForWidth(self._wide - 16) + 4, max(80, room)))
            self.column.addWidget(scroll, 1)

    def end(self, yes: str | None, action: Callable[[], object]) -> None:
        stop = on_press(Button(self.desk.look, self.desk.say("frame.not_now"), height=theme.TOUCH), self.reject)
        if yes is None:
            self.column.addLayout(row(None, stop))
            stop.setFocus()  # an Enter that comes too late chooses nothing
            return
        done = on_press(Button(self.desk.look, yes, MAIN, height=theme.TOUCH), action)
        self.column.addLayout(row(None, stop, done))


class Dialogs:
    """Asks on sheets over the window; `open`, never `exec`: the event loop goes on."""

    def __init__(self, window: QWidget, desk: Desk) -> None:
        self._window, self._desk = window, desk

    def sure(self, sentence: str, yes: str, then: Callable[[], object], *, details: str = "") -> None:
        sheet = _Sheet(self._window, self._desk, sentence)
        sheet.say(details)

        def agreed() -> None:
            sheet.accept()
            then()

        sheet.end(yes, agreed)
        sheet.open()

    def choose(self, sentence: str, choices: Sequence[tuple[str, str]], then: Callable[[str], object]) -> None:
        sheet = _Sheet(self._window, self._desk, sentence)
        inner = QVBoxLayout()
        inner.setSpacing(8)

        def taken(code: str) -> Callable[[], None]:
            def take() -> None:
                sheet.accept()
                then(code)

            return take

        for code, words in choices:
            inner.addWidget(on_press(Button(self._desk.look, words, height=theme.TOUCH), taken(code)))
        inner.addStretch(1)
        holder = QWidget()
        holder.setLayout(inner)
        scroll = Scroll(holder)
        scroll.setMinimumHeight(min(self._window.height() - 220, 56 * len(choices) + 8))
        sheet.column.addWidget(scroll, 1)
        sheet.end(None, sheet.reject)
        sheet.open()

    def fill(self, title: str, fields: Sequence[Field], yes: str, then: Filled, *, words: str = "") -> None:
        sheet, form = _Sheet(self._window, self._desk, title), Form(self._desk.look, fields)
        sheet.say(words)
        scroll = Scroll(form)
        scroll.setMinimumHeight(min(form.sizeHint().height() + 4, max(160, self._window.height() - 260)))
        sheet.column.addWidget(scroll, 1)

        def filled() -> None:
            try:
                then(form.values())
            except Refused as refused:
                form.show_problems(refused.problems, self._desk.say_problem)
            except KnownError as trouble:
                sentence = refusals.trouble(trouble.code, self._desk.language)
                form.show_problems([Problem("", trouble.code)], lambda _: sentence)
            else:
                sheet.accept()

        form.submitted.connect(filled)
        sheet.end(yes, filled)
        sheet.open()

    def where_to_save(self, title: str, suggested: str, then: Callable[[Path], object]) -> None:
        dialog = self._files(title)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setFileMode(QFileDialog.FileMode.AnyFile)
        dialog.selectFile(suggested)
        self._open(dialog, then)

    def which_file(self, title: str, kinds: str, then: Callable[[Path], object]) -> None:
        dialog = self._files(title)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilter(kinds)
        self._open(dialog, then)

    def which_folder(self, title: str, then: Callable[[Path], object]) -> None:
        dialog = self._files(title)
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        self._open(dialog, then)

    def _files(self, title: str) -> QFileDialog:
        dialog = QFileDialog(self._window, title, str(Path.home()))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        return dialog

    def _open(self, dialog: QFileDialog, then: Callable[[Path], object]) -> None:
        dialog.fileSelected.connect(lambda chosen: then(Path(chosen)))
        dialog.open()
