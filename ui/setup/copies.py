"""Back up and restore: a verified copy into a folder; how one goes on from such a copy."""

from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QApplication, QProgressBar

from registry.services import set_up, upkeep
from registry.services.problems import KnownError, Refused
from registry.wording import format, refusals
from ui.desk import Desk
from ui.parts import MAIN, Button, Words, on_press, row
from ui.setup.inline import WIDEST, said
from ui.setup.part import Part
from ui.work import Job, Progress


class Copying(QObject):
    """A back-up under way, and what came of the last one; it outlives the page that began it."""

    changed = Signal()
    progressed = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.desk = desk
        self.running = False
        self.answer = ""
        self.percent = 0
        self._made: Any = None
        self._job: Job | None = None

    @classmethod
    def of(cls, desk: Desk) -> "Copying":
        """The one of this window."""
        found = desk.findChild(cls)
        return found if isinstance(found, cls) else cls(desk)

    def start(self, folder: Path) -> None:
        if self.running:
            return
        session, actor = self.desk.session, self.desk.actor

        def work(progress: Progress) -> Any:
            self._made = upkeep.back_up(session, actor, folder, progress)
            return self._made

        self.running, self.answer, self.percent, self._made = True, "", 0, None
        self.changed.emit()
        self._job = self.desk.in_background(work, self._done, self._failed, self._went_on)
        self._job.cancelled.connect(self._stopped)

    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _went_on(self, percent: int) -> None:
        self.percent = percent
        self.progressed.emit(percent)

    def _stopped(self) -> None:
        """Cancelled; or too late, and then there is a copy all the same."""
        if self._made is not None:
            self._done(self._made)
        else:
            self._end(self.desk.say("setup.backup_cancelled"))

    def _done(self, made: Any) -> None:
        desk, good = self.desk, made.report.good
        if good:
            set_up.remember_backup(desk.local, desk.session.clock())
        passed = format.number(made.report.entries, desk.region)
        self._end(desk.say("setup.backed_up" if good else "setup.backup_not_good", passed=passed, file=str(made.path)))

    def _failed(self, error: Exception) -> None:
        if isinstance(error, Refused):
            self._end(" ".join(said(one, self.desk) for one in error.problems))
        elif isinstance(error, KnownError):
            self._end(refusals.trouble(error.code, self.desk.language))
        else:
            self._end("")
            raise error

    def _end(self, answer: str) -> None:
        self.running, self.answer = False, answer
        self.changed.emit()


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
        self.bar.setValue(self.run.percent)
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
