"""Work beside the window: exactly one ending, told in the window's thread; progress, cancel, and a close that waits."""

import gc
from collections.abc import Callable, Iterator
from threading import Event, current_thread, main_thread
from typing import Any

import pytest
from PySide6.QtCore import QObject, QTimer
from pytestqt.qtbot import QtBot

from ui.work import AtOnce, Job, Progress, Runner, Threads

ENDS = ("succeeded", "failed", "cancelled")
LONG_S = 20  # a worker that waits longer than this is stuck


class Heard(QObject):
    """A window object: what it was told, in order, and in which thread."""

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.told: list[tuple[str, object]] = []
        self.elsewhere: list[str] = []
        job.progressed.connect(self.progressed)
        job.succeeded.connect(self.succeeded)
        job.failed.connect(self.failed)
        job.cancelled.connect(self.cancelled)

    def _hear(self, what: str, value: object) -> None:
        self.told.append((what, value))
        if current_thread() is not main_thread():
            self.elsewhere.append(what)

    def progressed(self, done: int) -> None:
        self._hear("progressed", done)

    def succeeded(self, result: object) -> None:
        self._hear("succeeded", result)

    def failed(self, error: object) -> None:
        self._hear("failed", error)

    def cancelled(self) -> None:
        self._hear("cancelled", None)

    @property
    def ends(self) -> list[str]:
        return [what for what, _ in self.told if what in ENDS]


@pytest.fixture
def threads(qapp: object) -> Iterator[Threads]:
    made = Threads()
    yield made
    made.close()


@pytest.fixture(params=["threads", "at once"])
def runner(request: pytest.FixtureRequest) -> Runner:
    return AtOnce() if request.param == "at once" else request.getfixturevalue("threads")


def run(qtbot: QtBot, runner: Runner, work: Callable[[Progress], Any]) -> Heard:
    """Until it has ended and everything has been told."""
    job = Job(work)
    heard = Heard(job)
    with qtbot.waitSignal(job.ended):
        runner.start(job)
    qtbot.waitUntil(lambda: bool(heard.ends))
    return heard


def test_what_went_well_is_told_once_in_the_windows_thread(qtbot: QtBot, runner: Runner) -> None:
    seen: list[bool] = []

    def work(progress: Progress) -> str:
        seen.append(current_thread() is main_thread())
        return f"{progress(1)} {progress(2)}"

    heard = run(qtbot, runner, work)
    assert heard.told == [("progressed", 1), ("progressed", 2), ("succeeded", "True True")]
    assert heard.elsewhere == []
    assert seen == [isinstance(runner, AtOnce)]  # in threads the work itself is done beside the window


def test_pieces_are_done_in_their_order(qtbot: QtBot, runner: Runner) -> None:
    done: list[int] = []
    runner.in_pieces(done.append(n) for n in range(4))
    qtbot.waitUntil(lambda: done == [0, 1, 2, 3])


def test_between_pieces_the_window_takes_what_has_come(qtbot: QtBot, threads: Threads) -> None:
    seen: list[object] = []

    def pieces() -> Iterator[object]:
        for n in range(3):
            seen.append(n)
            QTimer.singleShot(0, lambda: seen.append("key"))
            yield

    threads.in_pieces(pieces())
    assert seen == [0]  # at once, and the rest as time is
    qtbot.waitUntil(lambda: len(seen) == 6)
    assert seen == [0, "key", 1, "key", 2, "key"]


def test_closed_meanwhile_no_further_piece_is_done(qtbot: QtBot, threads: Threads) -> None:
    done: list[int] = []
    later: list[int] = []
    threads.in_pieces(done.append(n) for n in range(4))
    threads.close()
    QTimer.singleShot(10, lambda: later.append(1))  # its time comes after that of a next piece
    qtbot.waitUntil(lambda: bool(later))
    assert done == [0]


def test_what_failed_brings_its_error_along(qtbot: QtBot, runner: Runner) -> None:
    heard = run(qtbot, runner, lambda _progress: 1 // 0)
    assert heard.ends == ["failed"]
    assert isinstance(heard.told[0][1], ZeroDivisionError)
    assert heard.elsewhere == []


def test_cancelled_before_it_began_it_does_nothing(qtbot: QtBot, runner: Runner) -> None:
    done: list[int] = []
    job = Job(lambda _progress: done.append(1))
    heard = Heard(job)
    job.cancel()
    runner.start(job)
    qtbot.waitUntil(lambda: bool(heard.ends))
    assert (heard.ends, done) == (["cancelled"], [])


def test_cancelled_in_the_middle_it_is_asked_to_stop(qtbot: QtBot, threads: Threads) -> None:
    began, go_on = Event(), Event()

    def work(progress: Progress) -> str:
        began.set()
        assert go_on.wait(LONG_S)
        return "went on" if progress(1) else "stopped"

    job = Job(work)
    heard = Heard(job)
    threads.start(job)
    assert began.wait(LONG_S)
    job.cancel()
    go_on.set()
    qtbot.waitUntil(lambda: bool(heard.ends))
    assert heard.told == [("progressed", 1), ("cancelled", None)]


def test_an_error_after_cancelling_is_still_told(qtbot: QtBot, threads: Threads) -> None:
    """A cancelled job that could not put things back says so, rather than passing for cancelled."""

    def work(progress: Progress) -> None:
        job.cancel()
        assert not progress(1)
        raise OSError("half a file left")

    job = Job(work)
    heard = Heard(job)
    threads.start(job)
    qtbot.waitUntil(lambda: bool(heard.ends))
    assert heard.ends == ["failed"]


def test_closing_waits_and_leaves_no_job_without_an_end(qtbot: QtBot, qapp: object) -> None:
    """Two run, four have not begun; each ends once, and the work of the first two was let finish."""
    threads, began, finished = Threads(), [Event(), Event()], []

    def busy(number: int) -> Callable[[Progress], None]:
        def work(progress: Progress) -> None:
            began[number].set()
            while progress(0):
                pass
            finished.append(number)

        return work

    jobs = [Job(busy(0)), Job(busy(1)), *(Job(lambda _progress: finished.append(-1)) for _ in range(4))]
    heard = [Heard(job) for job in jobs]
    for job in jobs:
        threads.start(job)
    assert all(one.wait(LONG_S) for one in began)
    threads.close()
    assert sorted(finished) == [0, 1]  # at once: closing has waited for them
    qtbot.waitUntil(lambda: all(one.ends for one in heard))
    assert [one.ends for one in heard] == [["cancelled"]] * 6


def test_after_closing_nothing_is_begun(qtbot: QtBot, qapp: object) -> None:
    threads, done = Threads(), []
    threads.close()
    job = Job(lambda _progress: done.append(1))
    heard = Heard(job)
    threads.start(job)
    assert (heard.ends, done) == (["cancelled"], [])
    threads.close()  # a second time does no harm


def test_a_job_is_held_until_it_has_ended(qtbot: QtBot, threads: Threads) -> None:
    """Nobody else keeps it: not even a collection in the middle ends it early."""
    import gc

    go_on = Event()
    heard = Heard(threads.start(Job(lambda _progress: go_on.wait(LONG_S))))
    gc.collect()
    go_on.set()
    qtbot.waitUntil(lambda: bool(heard.ends))
    assert heard.told == [("succeeded", True)]


def test_nothing_is_collected_in_a_job_s_thread(qtbot: QtBot) -> None:
    """Qt's objects must not die there: Python collects where memory is asked for, so it is told not to."""
    assert gc.isenabled()
    made = Threads()
    places: list[bool] = []

    class Noted:
        def __init__(self) -> None:
            self.itself = self  # only a collection ends it

        def __del__(self) -> None:
            places.append(current_thread() is main_thread())

    def work(_: Progress) -> int:
        return len([[Noted()] for _ in range(20_000)])

    heard = run(qtbot, made, work)
    assert heard.told[-1] == ("succeeded", 20_000)
    assert places == []
    made.touched()
    made.tidying._tidy()
    assert places == [True] * 20_000
    made.close()
    assert gc.isenabled()


def test_what_takes_long_to_collect_waits_until_nobody_presses_anything(
    threads: Threads, monkeypatch: pytest.MonkeyPatch
) -> None:
    collected: list[int] = []
    monkeypatch.setattr(gc, "collect", collected.append)
    monkeypatch.setattr(gc, "get_threshold", lambda: (700, 10, 10))  # Python's own; a run of tests has others
    for counts in ((900, 12, 12), (900, 12, 0), (900, 0, 0), (9, 0, 0)):
        monkeypatch.setattr(gc, "get_count", lambda counts=counts: counts)
        threads.touched()
        threads.tidying._tidy()
        threads.tidying.touched = float("-inf")
        threads.tidying._tidy()
    assert collected == [0, 2, 0, 1, 0, 0]
