"""Work beside the window: each job ends in exactly one of succeeded, failed, cancelled, told in the window's thread."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from threading import Event
from typing import Any, Protocol

from PySide6.QtCore import QObject, QTimer, Signal

Progress = Callable[[int], bool]  # told how much was done; answers False to stop


class Job(QObject):
    """One piece of work. Connect bound methods of window objects only: anything else would run in the worker."""

    progressed = Signal(int)
    succeeded = Signal(object)
    failed = Signal(object)
    cancelled = Signal()
    ended = Signal(object)

    def __init__(self, work: Callable[[Progress], Any], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._stop = Event()

    def cancel(self) -> None:
        self._stop.set()

    def run(self) -> None:
        """Do the work, in whatever thread this is called, and say how it ended."""
        if self._stop.is_set():
            self._end(self.cancelled)
            return
        try:
            result = self._work(self._went_on)
        except Exception as error:
            self._end(self.failed, error)
        else:
            if self._stop.is_set():
                self._end(self.cancelled)
            else:
                self._end(self.succeeded, result)

    def _went_on(self, done: int) -> bool:
        self.progressed.emit(done)
        return not self._stop.is_set()

    def _end(self, signal: Any, *values: object) -> None:
        signal.emit(*values)
        self.ended.emit(self)


class Runner(Protocol):
    """What jobs are given to."""

    def start(self, job: Job) -> Job: ...

    def in_pieces(self, pieces: Iterator[object]) -> None:
        """Work that only the window's own thread may do, such as making widgets: keys and painting come in between."""
        ...

    def close(self) -> None: ...


class Threads(QObject):
    """Runs jobs in two threads beside the window, and holds each until it has ended."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(2, "work")
        self._running: list[Job] = []
        self._closed = False

    def start(self, job: Job) -> Job:
        if self._closed:
            job.cancel()
            job.run()
            return job
        self._running.append(job)
        job.ended.connect(self._let_go)
        self._pool.submit(job.run)
        return job

    def in_pieces(self, pieces: Iterator[object]) -> None:
        for _ in pieces:
            QTimer.singleShot(1, self, partial(self._go_on, pieces))  # at 0 other timers would wait
            return

    def _go_on(self, pieces: Iterator[object]) -> None:
        if not self._closed:
            self.in_pieces(pieces)

    def _let_go(self, job: object) -> None:
        self._running = [one for one in self._running if one is not job]

    def close(self) -> None:
        """Cancel what runs and wait for it; what has not begun ends as cancelled too."""
        self._closed = True
        for job in self._running:
            job.cancel()
        self._pool.shutdown(wait=True)


class AtOnce:
    """Runs each job where it is started, once the caller has connected it: for tests of windows."""

    def start(self, job: Job) -> Job:
        job.run()
        return job

    def in_pieces(self, pieces: Iterator[object]) -> None:
        for _ in pieces:
            pass

    def close(self) -> None:
        pass
