"""Memory stays flat while the window is worked in all year: again and again a page, a bath, a reading, an end.

What a shift adds is the slope of a line through what is held every twenty shifts, once caches are warm. By hand over
as many shifts as one likes: WINDOW_SHIFTS=1000 ./run test --slow tests/ui/test_memory.py -s
"""

import gc
import mmap
import os
import statistics
import sys
from collections.abc import Callable
from pathlib import Path
from weakref import ReferenceType

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers
from ui.desk import Desk
from ui.frame import Frame
from ui.shift.page import ShiftPage

SHIFTS = int(os.environ.get("WINDOW_SHIFTS", "200"))
WARM_UP = 60  # shifts in which caches fill: faces, queries, drawings
CACHE_KIB = 128  # of SQLite's pages, so that it is full when the counting begins and not a year later
# What one shift may add. Anything of Python's that is kept adds one object at the least; weak references keep nothing
# and come and go by the hundred. KiB is the process's memory, with what Qt and SQLite hold of it.
MOST = {"objects": 0.5, "widgets": 0.02, "weak references": 2.0, "KiB": 16.0}

Leak = Callable[[], object]


def held() -> dict[str, int]:
    gc.collect()
    kinds = [type(one) for one in gc.get_objects()]
    weak = sum(issubclass(one, ReferenceType) for one in kinds)
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return {
        "objects": len(kinds) - weak,
        "widgets": len(QApplication.allWidgets()),
        "weak references": weak,
        "KiB": pages * mmap.PAGESIZE // 1024,
    }


def one_shift(frame: Frame, kitchen: Kitchen, desk: Desk, answers: Answers) -> None:
    """The page anew, one reading by keys, the bath judged, the list finished; then the next day."""
    desk.rebuild.emit()
    frame.go("shift")
    page = frame.page
    assert isinstance(page, ShiftPage)
    kitchen.ice()
    kitchen.clock.move(minutes=4)
    frame.go("shift")
    row = page.list.rows[page.list.current]
    row.field._came = float("-inf")  # the focus came a while ago
    for key in "32" if row.unit_now == "F" else "0":
        QTest.keyClick(row.field, key)
    QTest.keyClick(row.field, Qt.Key.Key_Return)
    page.foot.good.click()
    answers.ready = [True]
    page.foot.end.click()
    answers.asked.clear()
    kitchen.clock.move(days=1)
    QTest.qWait(0)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def work(frame: Frame, kitchen: Kitchen, desk: Desk, answers: Answers) -> Callable[..., dict[str, float]]:
    """Work so many shifts after a warm-up; what each added to what is held. `leak` is done once a shift."""
    frame.activateWindow()
    for transaction in (kitchen.session.database.reading, kitchen.session.database.writing):
        with transaction() as connection:
            connection.exec_driver_sql(f"PRAGMA cache_size=-{CACHE_KIB}")

    def worked(shifts: int, *, warm_up: int, every: int, leak: Leak = lambda: None) -> dict[str, float]:
        counted: dict[int, dict[str, int]] = {}
        for number in range(-warm_up, shifts + 1):
            one_shift(frame, kitchen, desk, answers)
            leak()
            if number >= 0 and number % every == 0:
                kitchen.session.kept.clear()  # what is tracked is as long as the record itself, and may be forgotten
                counted[number] = held()
        assert len(kitchen.entries("check_recorded")) == warm_up + shifts + 1
        return {
            what: statistics.linear_regression(list(counted), [one[what] for one in counted.values()]).slope
            for what in MOST
        }

    return worked


linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="resident memory is read from /proc")


@pytest.mark.slow
@pytest.mark.timeout(100 + 2 * SHIFTS)
@linux
def test_memory_is_flat_over_many_shifts(work: Callable[..., dict[str, float]]) -> None:
    added = work(SHIFTS, warm_up=WARM_UP, every=20)
    print(f"each of {SHIFTS} shifts added " + ", ".join(f"{value:.2f} {what}" for what, value in added.items()))
    assert {what: value for what, value in added.items() if value > MOST[what]} == {}


KEPT: list[object] = []


def keep_a_widget() -> None:
    KEPT.append(QWidget())


def keep_a_closure() -> None:
    here = len(KEPT)
    KEPT.append(lambda: here)


@pytest.mark.slow
@pytest.mark.timeout(200)
@linux
@pytest.mark.parametrize(("leak", "what"), [(keep_a_widget, "widgets"), (keep_a_closure, "objects")])
def test_one_thing_kept_at_each_shift_is_noticed(work: Callable[..., dict[str, float]], leak: Leak, what: str) -> None:
    """The test of the test: what is kept is counted in full, far above what is let pass."""
    try:
        added = work(20, warm_up=20, every=5, leak=leak)
    finally:
        KEPT.clear()
    assert added[what] > max(0.9, MOST[what])
