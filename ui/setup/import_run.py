"""An import under way: looked through, then recorded. It outlives the page, which is made anew with each look."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal

from registry.services import importing
from registry.services.importing import HistoryPlan, Imported, Looked, ShiftPlan, ThingsPlan
from registry.services.problems import KnownError, Problem, Refused, known_from_oserror
from ui.desk import Desk
from ui.setup.import_asked import HISTORY, PEOPLE, SHIFT, options
from ui.setup.inline import Values
from ui.work import Job, Progress

LOOKING, RECORDING = "looking", "recording"
Plan = HistoryPlan | ShiftPlan | ThingsPlan


class ImportRun(QObject):
    """What was said of a file, what stands against it, and what came of it."""

    changed = Signal()
    progressed = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.desk = desk
        self.said: Values = {}
        self.running = ""
        self._recorded: Imported | None = None
        self._looked: Looked | None = None  # by the work itself: it is known where the file is refused, too
        self._job: Job | None = None
        self.start_over()

    @classmethod
    def of(cls, desk: Desk) -> "ImportRun":
        """The one of this window."""
        found = desk.findChild(cls)
        return found if isinstance(found, cls) else cls(desk)

    def start_over(self) -> None:
        """Forget all but what was said of the last file."""
        self.answers: Values = {}
        self.problems: Sequence[Problem] = ()
        self.trouble: KnownError | None = None
        self.cancelled = False
        self.plan: Plan | None = None
        self.looked: Looked | None = None
        self.done: Imported | None = None
        self.said.pop("file", None)
        self.changed.emit()

    # --- looking through -------------------------------------------------------------------------------------

    def look_through(self, said: Values, answers: Values) -> None:
        """Check the whole file beside the window; nothing is recorded."""
        if self.running:
            return
        if [self.said.get(one) for one in ("file", "kind")] != [said["file"], said["kind"]]:
            self.answers, answers = {}, {}  # they were about another file
        self.said, self.answers = self.said | said, self.answers | answers
        self.problems, self.trouble, self.cancelled, self.plan, self.done = (), None, False, None, None
        self.looked = self._looked = None
        session, actor, file, kind = self.desk.session, self.desk.actor, Path(said["file"]), said["kind"]
        chosen = options(said, self.answers)

        def work(progress: Progress) -> Any:
            self._looked = looked = importing.look_at(session, kind, _read(file), chosen)
            table, told = looked.table, looked.options
            plan: Plan
            with session.reading() as connection:
                if kind == HISTORY:
                    plan = importing.check_history(session, connection, table, told, lambda rows, _: progress(rows))
                elif kind == SHIFT:
                    plan = importing.check_shift(session, connection, table, told)
                elif kind == PEOPLE:
                    plan = importing.check_people(session, connection, actor, table, told)
                else:
                    plan = importing.check_thermometers(session, connection, actor, table, told)
            importing.remember(session, kind, looked)
            return plan

        self._run(LOOKING, work)

    def _run(self, what: str, work: Any) -> None:
        self.running = what
        self.changed.emit()
        self._job = self.desk.in_background(work, self._ended, self._failed, self._went_on)
        self._job.cancelled.connect(self._stopped)

    def _went_on(self, done: int) -> None:
        self.progressed.emit(done)

    # --- recording -------------------------------------------------------------------------------------------

    def record(self) -> None:
        """Record what was found good. Pressed twice, it is recorded once."""
        plan, session, actor = self.plan, self.desk.session, self.desk.actor
        if plan is None or self.running:
            return

        def work(progress: Progress) -> Any:
            def tell(done: int, total: int) -> bool:
                return progress(100 * done // max(total, 1))

            if isinstance(plan, ShiftPlan):
                self._recorded = importing.record_shift(session, actor, plan, tell)
            elif isinstance(plan, ThingsPlan):
                record = importing.record_people if plan.kind == PEOPLE else importing.record_thermometers
                self._recorded = record(session, actor, plan, tell)
            else:
                self._recorded = importing.record_history(session, actor, plan, tell)
            return self._recorded

        self._recorded = None
        self._run(RECORDING, work)

    def look_at_columns(self) -> None:
        """Back to what each column is, from a file that was found good."""
        self.plan = None
        self.changed.emit()

    def forget_looked(self) -> None:
        """Another kind of file: what stood against it and what its columns were is of no use."""
        self.problems, self.trouble, self.looked = (), None, None
        self.changed.emit()

    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    # --- how it ended ----------------------------------------------------------------------------------------

    def _ended(self, result: Any) -> None:
        self.running = ""
        if isinstance(result, Imported):
            self.plan, self.done, self.cancelled = None, result, result.cancelled
            self.desk.recorded.emit()
        else:
            self.plan, self.looked = result, self._looked
        self.changed.emit()

    def _stopped(self) -> None:
        """Cancelled; or too late, and then it counts all the same."""
        if self.running == RECORDING and self._recorded is not None:
            self._ended(self._recorded)
            return
        self.running, self.plan, self.cancelled = "", None, True
        self.changed.emit()

    def _failed(self, error: Exception) -> None:
        self.running, self.plan, self.looked = "", None, self._looked
        if isinstance(error, Refused):
            self.problems = error.problems
        elif isinstance(error, KnownError):
            self.trouble = error
        else:
            self.changed.emit()
            raise error
        self.changed.emit()


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        known = known_from_oserror(error, file)
        if known is None:
            raise
        raise known from error
