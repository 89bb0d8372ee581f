"""A registry from a backup: which file, how it is called here, the old key if there is one; with progress."""

from __future__ import annotations

import platform
import secrets
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QProgressBar, QWidget

from registry.services import upkeep
from registry.services.clock import now_us
from registry.services.problems import KnownError, Refused, refuse
from registry.services.upkeep import CarryingOn
from registry.wording import format, refusals, say
from ui.desk import Desk
from ui.forms import CHOICE, Field, Form
from ui.parts import LINK, MAIN, Button, Line, Words, column, on_press, row
from ui.setup.inline import WIDEST, said
from ui.work import Job, Progress

if TYPE_CHECKING:
    from registry.services.session import Session

BECAUSE = ("restored", "moved")


def restore(backup: Path, home: Path, told: CarryingOn, progress: Progress) -> Session:
    """Restore into `home`: made in a folder inside it first, so that one that is cut off leaves nothing behind."""
    from registry.services.session import open_session

    aside = home / "restoring"
    shutil.rmtree(aside, ignore_errors=True)
    try:
        upkeep.restore(backup, aside, told, clock=now_us, random=secrets.token_bytes, progress=progress).close()
        for part in sorted(aside.iterdir()):
            if part.name.startswith("registry."):
                part.replace(home / part.name)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return open_session(home)


class Restoring(QWidget):
    """Asks for the file and what happened; `restored` carries the open session."""

    restored = Signal(object)
    left = Signal()

    def __init__(self, desk: Desk, language: str) -> None:
        super().__init__()
        self.desk, self.language = desk, language
        look = desk.look
        reasons = tuple((one, self.say(f"setup.because.{one}")) for one in BECAUSE)
        self.form = Form(
            look,
            [
                Field("file", self.say("start.backup_file"), hint=self.say("start.backup_file_hint")),
                Field("because", self.say("setup.what_happened"), CHOICE, "restored", reasons),
                Field("name", self.say("setup.computer_name"), value=platform.node()),
                Field("old_key", self.say("setup.old_key"), hint=self.say("setup.old_key_hint")),
            ],
        )
        self.form.setMaximumWidth(look.text(WIDEST))
        self.form.submitted.connect(self.do)
        self.trouble = Words(look, "", 15, bold=True, colour="caution")
        self.trouble.hide()
        self.bar = QProgressBar()
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setMaximumWidth(look.text(WIDEST))
        self.bar.setAccessibleName(self.say("start.restoring"))
        self.so_far = Words(look, "", 15)
        self.button = Button(look, self.say("start.restore_it"), MAIN)
        self.stop = Button(look, self.say("setup.cancel"))
        self.back = Button(look, self.say("start.back"), LINK)
        for button, action in ((self.button, self.do), (self.stop, self._stop), (self.back, self.left.emit)):
            on_press(button, action)
        choose_file = Button(look, self.say("start.choose_file"))
        choose_key = Button(look, self.say("setup.choose_key"))
        on_press(choose_file, lambda: self._ask("start.choose_file", "file"))
        on_press(choose_key, lambda: self._ask("setup.choose_key", "old_key"))
        self.setLayout(
            column(
                row(self.back, None),
                Words(look, self.say("start.restore_title"), 26, bold=True),
                Line(look.bench),
                Words(look, self.say("start.restore_why"), 15),
                row(choose_file, choose_key, None, space=12),
                self.form,
                self.trouble,
                self.so_far,
                self.bar,
                row(self.button, self.stop, None),
                None,
                space=12,
                margins=(28, 16, 28, 24),
            )
        )
        self._job: Job | None = None
        self._session: Session | None = None
        self._stopping = False
        self._busy(False)

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    def _ask(self, title: str, field: str) -> None:
        kinds = self.say("setup.key_files" if field == "old_key" else "start.backup_files")
        self.desk.ask.which_file(self.say(title), kinds, lambda path: self.form.fill({field: str(path)}))

    def do(self) -> None:
        values = self.form.values()
        self.trouble.hide()
        self.form.forget_problems()
        if not self.button.isEnabled():
            return
        told = CarryingOn(
            values["because"],
            values["name"] or values["because"],
            old_key=Path(values["old_key"]) if values["old_key"] else None,
        )
        file, home = Path(values["file"]), self.desk.home
        self._stopping = False
        self._busy(True)
        if values["file"]:

            def work(progress: Progress) -> Session:
                self._session = restore(file, home, told, progress)
                return self._session

            self._job = self.desk.in_background(work, self._done, self._failed, self._went_on)
            self._job.cancelled.connect(self._cancelled)
        else:
            self._failed(refuse("file", "not_chosen"))

    def _stop(self) -> None:
        if self._job is not None:
            self._stopping = True
            self._job.cancel()

    def _went_on(self, entries: int) -> None:
        self.so_far.say(self.say("start.entries_so_far", passed=format.number(entries, self._region())))

    def _region(self) -> str:
        return "es_ES" if self.language == "es" else "en_GB"

    def _done(self, session: Any) -> None:
        self._busy(False)
        self.restored.emit(session)

    def _cancelled(self) -> None:
        """Too late where it was whole by then: it is opened all the same."""
        if self._session is not None:
            self._done(self._session)
            return
        self._busy(False)
        self._tell(self.say("start.restore_cancelled"))

    def _failed(self, error: Exception) -> None:
        self._busy(False)
        if self._stopping:  # a copy that was not taken to its end counts as not whole
            self._cancelled()
        elif isinstance(error, Refused):
            problems = [one for one in error.problems if one.field in self.form.values()]
            self.form.show_problems(problems, lambda one: said(one, self.desk, self.language))
            if rest := [said(one, self.desk, self.language) for one in error.problems if one not in problems]:
                self._tell(" ".join(rest))
        elif isinstance(error, KnownError):
            self._tell(refusals.trouble(error.code, self.language))
        else:
            raise error

    def _tell(self, sentence: str) -> None:
        self.trouble.say(sentence)
        self.trouble.show()

    def _busy(self, busy: bool) -> None:
        while_running: list[QWidget] = [self.bar, self.stop, self.so_far]
        before: list[QWidget] = [self.button, self.back, self.form]
        for part in while_running:
            part.setVisible(busy)
        for part in before:
            part.setEnabled(not busy)
