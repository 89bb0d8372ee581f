"""Work beside the window of which only the newest request counts, as when a filter is chosen anew."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject

from ui.desk import Desk
from ui.work import Job, Progress

Work = Callable[[Progress], Any]


class Newest(QObject):
    """Of one kind of work the request made last: those before it are told to stop, and what they find is not shown.

    show, failed, went_on: what the newest request found, why it failed (a notice unless given), how much is done.
    """

    def __init__(
        self,
        desk: Desk,
        parent: QObject,
        show: Callable[[Any], object],
        failed: Callable[[Exception], object] | None = None,
        went_on: Callable[[int], object] | None = None,
    ) -> None:
        super().__init__(parent)
        self.desk, self.show, self.fail, self.go_on = desk, show, failed or desk.notice_of, went_on
        self._request: _Request | None = None

    def ask(self, work: Work) -> None:
        """Begin anew. `work` must not look at widgets: it runs beside the window."""
        if self._request is not None:
            self._request.give_up()
        request = self._request = _Request(self)
        request.job = self.desk.in_background(work, request.done, request.failed, request.went_on)

    def is_newest(self, request: "_Request") -> bool:
        return request is self._request


class _Request(QObject):
    """Hears of its own job only, so that it knows whether it is still asked for when that ends."""

    def __init__(self, of: Newest) -> None:
        super().__init__(of)
        self.of = of
        self.job: Job | None = None

    def give_up(self) -> None:
        if self.job is not None:
            self.job.cancel()
        self.deleteLater()

    def done(self, found: object) -> None:
        if self.of.is_newest(self):
            self.of.show(found)

    def failed(self, error: Exception) -> None:
        if self.of.is_newest(self):
            self.of.fail(error)

    def went_on(self, done: int) -> None:
        if self.of.go_on is not None and self.of.is_newest(self):
            self.of.go_on(done)
