"""Certificates of a whole site: what is asked first, how far it has got, and what came of it."""

from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QProgressBar, QWidget

from registry.services import batch_certificates
from registry.services.batch_certificates import Batch, Missing
from registry.services.problems import KnownError, Refused
from registry.services.table import Wanted
from registry.services.words.batch import cannot
from registry.wording import refusals
from ui.desk import Desk
from ui.going import Going
from ui.parts import Button, Words, column, on_press, row
from ui.work import Progress

FILE, FOLDER, ALL = "file", "folder", "all"
NAMED = 12  # so many of those that get none are named, the rest are counted
LEAST = 160  # px of the progress bar


class Issuing(Going):
    """Certificates being issued, and what came of the last time."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.total = 0
        self._site, self._letters, self._what = "", "", FILE

    # --- asking ----------------------------------------------------------------------------------------------

    def ask(self, site: str, letters: str) -> None:
        """Look first who lacks one, so that what is asked says what would be done."""
        if self.running:
            return
        self._site, self._letters = site, letters
        session = self.desk.session
        self.desk.in_background(
            lambda _: batch_certificates.missing(session, Wanted(site=site)), self._ask_how, self.desk.notice_of
        )

    def _ask_how(self, found: Missing) -> None:
        desk, say = self.desk, self.desk.say
        self.total = len(found.wanting)
        choices = []
        if found.wanting:
            choices = [(FILE, say("batch.as_file")), (FOLDER, say("batch.as_folder"))]
        if found.has:
            choices.append((ALL, say("batch.as_all", count=len(found.wanting) + len(found.has))))
        if not choices:
            self.end(" ".join([say("batch.nobody"), *self._cannot(found.cannot)]))
            return
        title = say("batch.title", count=len(found.wanting))
        if found.cannot:
            title = f"{title} {say('batch.some_cannot', count=len(found.cannot))}"
        desk.ask.choose(title, choices, self._ask_where)

    def _ask_where(self, what: str) -> None:
        say, name = self.desk.say, self.desk.say("batch.name", site=self._letters)
        self._what = what
        if what == FOLDER:
            self.desk.ask.which_folder(say("batch.which_folder"), self.start)
        else:
            self.desk.ask.where_to_save(say("batch.which_file"), f"{name}.pdf", self._start_file)

    def _start_file(self, path: Path) -> None:
        """Without its ending a name would be taken for a folder's."""
        self.start(path if path.suffix.lower() == ".pdf" else path.with_name(f"{path.name}.pdf"))

    # --- doing -----------------------------------------------------------------------------------------------

    def start(self, out: Path) -> None:
        if self.running:
            return
        session, actor, chosen = self.desk.session, self.desk.actor, self.desk.setting("paper")
        wanted, every = Wanted(site=self._site), self._what == ALL
        paper: Any = None if chosen == "group" else chosen

        def work(progress: Progress) -> Batch:
            return batch_certificates.issue_missing(
                session, actor, wanted, out, paper=paper, every=every, progress=progress
            )

        self.begin(work)

    def stopped(self) -> str:
        return self.desk.say("batch.stopped")

    def ended(self, made: Batch) -> None:
        say = self.desk.say
        said = [say("batch.made", count=len(made.issued))]
        if made.left:
            said.append(say("batch.left", count=made.left))
        if len(made.files) > 1:
            said.append(say("batch.files", count=len(made.files), folder=made.files[0].parent))
        elif made.files:
            said.append(say("batch.file", file=made.files[0]))
        self.end(" ".join([*said, *self._cannot(made.cannot)]))
        self.desk.recorded.emit()

    def _cannot(self, those: tuple[batch_certificates.Cannot, ...]) -> list[str]:
        more = len(those) - NAMED
        said = [cannot(one, self.desk.language) for one in those[:NAMED]]
        return [*said, self.desk.say("batch.more_cannot", count=more)] if more > 0 else said

    def failed(self, error: Exception) -> None:
        """What was issued before stays; the disk or the record stood in the way of the rest."""
        if isinstance(error, Refused):
            self.end(" ".join(self.desk.say_problem(one) for one in error.problems))
        elif isinstance(error, KnownError):
            kept = self.desk.say("batch.kept_until_then")
            self.end(f"{refusals.trouble(error.code, self.desk.language)} {kept}")
            self.desk.recorded.emit()
        else:
            self.end("")
            raise error


class IssuingPart(QWidget):
    """The bar with its cancel button while certificates are issued, then what came of it; else nothing."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.run = Issuing.of(desk)
        self.bar = QProgressBar()
        self.bar.setMinimumWidth(desk.look.text(LEAST))
        self.bar.setAccessibleName(desk.say("batch.running"))
        self.bar.setTextVisible(False)  # figures on a bar that grows under them are hard to read
        self.said = Words(desk.look, "", 15, wrap=False)
        self.cancel = on_press(Button(desk.look, desk.say("batch.cancel")), self.run.cancel)
        self.answer = Words(desk.look, "", 15, bold=True)
        self.setLayout(
            column(row(self.bar, self.said, self.cancel, None, space=12), self.answer, space=6, margins=(24, 10, 24, 0))
        )
        self.run.changed.connect(self._show)
        self.run.progressed.connect(self._went_on)
        self._show()

    def _went_on(self, done: int) -> None:
        self.bar.setValue(done)
        say = self.run.desk.say
        self.said.say(say("batch.progress", done=done, total=self.run.total))

    def _show(self) -> None:
        self.bar.setRange(0, max(1, self.run.total))
        self._went_on(self.run.done)
        for one in (self.bar, self.said, self.cancel):
            one.setVisible(self.run.running)
        self.answer.say(self.run.answer)
        self.answer.setVisible(bool(self.run.answer))
        shown = self.run.running or bool(self.run.answer)
        if self.parentWidget() is not None or not shown:  # shown without a parent it would be a window of its own
            self.setVisible(shown)
        if self.run.running and self.isVisible():
            self.cancel.setFocus()
