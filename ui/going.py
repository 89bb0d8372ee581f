"""Long work that a page tells of: its progress, a cancel that keeps what is done, and an answer that stays."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Self

from PySide6.QtCore import QObject, Signal

from ui.desk import Desk
from ui.work import Job, Progress


class Going(QObject):
    """One piece of work at a time, the same for every page of the window; it outlives the page that began it."""

    changed = Signal()
    progressed = Signal(int)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.desk = desk
        self.running = False
        self.answer = ""
        self.done = 0
        self._made: Any = None
        self._job: Job | None = None

    @classmethod
    def of(cls, desk: Desk) -> Self:
        """The one of this window."""
        found = desk.findChild(cls)
        return found if isinstance(found, cls) else cls(desk)

    def begin(self, work: Callable[[Progress], Any]) -> None:
        """Start it; what it made is kept as soon as it is made, since a cancel may come too late."""

        def kept(progress: Progress) -> Any:
            self._made = work(progress)
            return self._made

        self.running, self.answer, self.done, self._made = True, "", 0, None
        self.changed.emit()
        self._job = self.desk.in_background(kept, self.ended, self.failed, self._went_on)
        self._job.cancelled.connect(self._stopped)

    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def ended(self, made: Any) -> None:
        """It was done: `end` with what is to be said of it."""
        raise NotImplementedError

    def failed(self, error: Exception) -> None:
        """It was not: `end` with the reason; what is our own mistake is raised on."""
        raise NotImplementedError

    def stopped(self) -> str:
        """What is said where it was cancelled before it made anything."""
        raise NotImplementedError

    def _went_on(self, done: int) -> None:
        self.done = done
        self.progressed.emit(done)

    def _stopped(self) -> None:
        """Cancelled; or too late, and then it is done all the same."""
        if self._made is not None:
            self.ended(self._made)
        else:
            self.end(self.stopped())

    def end(self, answer: str) -> None:
        self.running, self.answer = False, answer
        self.changed.emit()
