"""Work beside the window: each job ends in exactly one of succeeded, failed, cancelled, told in the window's thread."""

import gc
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from threading import Event
from time import monotonic
from typing import Any, Protocol

from PySide6.QtCore import QObject, QTimer, Signal

TIDY_MS, QUIET_S = 200, 3.0
TURN_S = 0.0005  # a job that reckons lets the window go on so soon; a key waits for many such turns (Python's: 5 ms)
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

    def touched(self) -> None:
        """Somebody pressed something: nothing shall hold the window up now."""
        ...

    def close(self) -> None: ...


class Tidying(QObject):
    """While there are threads, what is no longer needed is collected in the window's own.

    Python collects in whichever thread asks for memory, and Qt's objects must not die in a job's. The youngest are
    collected often, a few at a time; all else only while nobody presses anything, since it holds the window up.
    """

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.touched = float("-inf")  # when somebody pressed something last, by the monotonic clock
        self._by_itself = gc.isenabled()
        gc.disable()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._tidy)
        self._timer.start(TIDY_MS)

    def _tidy(self) -> None:
        young, middle, old = (count > most for count, most in zip(gc.get_count(), gc.get_threshold(), strict=True))
        if monotonic() - self.touched > QUIET_S and (middle or old):
            gc.collect(2 if old else 1)
        elif young:
            gc.collect(0)

    def stop(self) -> None:
        self._timer.stop()
        if self._by_itself:
            gc.enable()


class Threads(QObject):
    """Runs jobs in two threads beside the window, and holds each until it has long ended."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(2, "work")
        self._running: list[tuple[Job, Future[None]]] = []
        self._ended: list[tuple[Job, Future[None]]] = []
        self._closed = False
        self.tidying = Tidying(self)
        sys.setswitchinterval(TURN_S)

    def start(self, job: Job) -> Job:
        if self._closed:
            job.cancel()
            job.run()
            return job
        self._let_go()
        self._running.append((job, self._pool.submit(job.run)))
        return job

    def in_pieces(self, pieces: Iterator[object]) -> None:
        for _ in pieces:
            QTimer.singleShot(1, self, partial(self._go_on, pieces))  # at 0 other timers would wait
            return

    def _go_on(self, pieces: Iterator[object]) -> None:
        if not self._closed:
            self.in_pieces(pieces)

    def _let_go(self) -> None:
        """Forget what had ended when the job before this one was started.

        Not sooner: Qt's objects die in the window's thread, never in that of the job, which lets go of it last.
        """
        self._ended = [one for one in self._running if one[1].done()]
        self._running = [one for one in self._running if not one[1].done()]

    def touched(self) -> None:
        self.tidying.touched = monotonic()

    def close(self) -> None:
        """Cancel what runs and wait for it; what has not begun ends as cancelled too."""
        self._closed = True
        for job, _ in self._running:
            job.cancel()
        self._pool.shutdown(wait=True)
        self.tidying.stop()


class AtOnce:
    """Runs each job where it is started, once the caller has connected it: for tests of windows."""

    def start(self, job: Job) -> Job:
        job.run()
        return job

    def in_pieces(self, pieces: Iterator[object]) -> None:
        for _ in pieces:
            pass

    def touched(self) -> None:
        pass

    def close(self) -> None:
        pass
