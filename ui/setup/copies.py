"""Back up and restore: a verified copy into a folder; how one goes on from such a copy."""

from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QApplication, QProgressBar

from registry.services import set_up, upkeep
from registry.services.problems import KnownError, Refused
from registry.wording import format, refusals
from ui.desk import Desk
from ui.going import Going
from ui.parts import MAIN, Button, Words, on_press, row
from ui.setup.inline import WIDEST, said
from ui.setup.part import Part


class Copying(Going):
    """A back-up under way, and what came of the last one."""

    def start(self, folder: Path) -> None:
        if self.running:
            return
        session, actor = self.desk.session, self.desk.actor
        self.begin(lambda progress: upkeep.back_up(session, actor, folder, progress))

    def stopped(self) -> str:
        return self.desk.say("setup.backup_cancelled")

    def ended(self, made: Any) -> None:
        desk, good = self.desk, made.report.good
        if good:
            set_up.remember_backup(desk.local, desk.session.clock())
        passed = format.number(made.report.entries, desk.region)
        self.end(desk.say("setup.backed_up" if good else "setup.backup_not_good", passed=passed, file=str(made.path)))

    def failed(self, error: Exception) -> None:
        if isinstance(error, Refused):
            self.end(" ".join(said(one, self.desk) for one in error.problems))
        elif isinstance(error, KnownError):
            self.end(refusals.trouble(error.code, self.desk.language))
        else:
            self.end("")
            raise error


class CopiesPart(Part):
    name = "copies"
    roles = ("lead", "officer")

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.run = Copying.of(desk)
        self.run.changed.connect(self._changed)

    def fill(self) -> None:
        running, last = self.run.running, set_up.last_backup(self.desk.local)
        when = self.say("setup.backed_up_last", when=self.desk.instant(last)) if last else ""
        self.put(Words(self.look, when or self.say("setup.never_backed_up"), 17))
        self.words("setup.about.copies", muted=True)
        if self.may_change:
            self.button = Button(self.look, self.say("setup.backing_up" if running else "setup.back_up"), MAIN)
            self.button.setEnabled(not running)
            on_press(self.button, self.ask)
            self.put(row(self.button, None))
        if running:
            self._fill_running()
        self.answer = Words(self.look, self.run.answer, 15, bold=True)
        if self.run.answer:
            self.put(self.answer)
        self.head("setup.restore")
        self.words("setup.restore_how")
        self.words("setup.restore_key")

    def _fill_running(self) -> None:
        self.bar = QProgressBar()
        self.bar.setRange(0, 100)
        self.bar.setValue(self.run.done)
        self.bar.setFormat("%p\N{NO-BREAK SPACE}%")
        self.bar.setMaximumWidth(self.look.text(WIDEST))
        self.bar.setAccessibleName(self.say("setup.backing_up"))
        self.run.progressed.connect(self.bar.setValue)
        self.cancel = Button(self.look, self.say("setup.cancel"))
        on_press(self.cancel, self.run.cancel)
        self.put(self.bar, row(self.cancel, None))

    def _changed(self) -> None:
        """It began or ended: what had the focus is made anew."""
        now = QApplication.focusWidget()
        had = now is not None and self.isAncestorOf(now)
        self.read_again()
        if had and self.may_change:
            (self.cancel if self.run.running else self.button).setFocus()

    def ask(self) -> None:
        self.desk.ask.which_folder(self.say("setup.back_up_where"), self.run.start)
