"""The window against a bare one in the same run: first paint, list ready, gaps in its loop, recording by Enter.

    python -m tests.benchmarks.window --folder /somewhere/with/room

builds the demo group of kitchens there, unless the folder holds it already, and works in copies of it. Windows are
drawn to memory, each in a process of its own, bare and ours in turn. Results go to tests/benchmarks/results.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

SIZE = (1280, 800)
ROWS = 12
HANDS_MS = 80  # between keys: faster ones may be a scanner's
GAP_LIMIT_S = 0.050
ROUNDS = 9
BYTECODE = Path(tempfile.gettempdir()) / "window-benchmark-bytecode"
EVERYWHERE = ("thermometers", "drift", "proof", "setup", "happened", "shift")
COVERS = [
    *(
        f"ui/{name}.py"
        for name in ("app", "column", "desk", "frame", "imports", "parts", "places", "rule", "theme", "window", "work")
    ),
    *(f"ui/shift/{name}.py" for name in ("bath", "entering", "field", "foot", "keying", "listing", "page", "row")),
    "ui/shift/standing.py",
    "ui/thermometers/model.py",
    "registry/services/checks.py",
    "registry/services/shift_list.py",
]

# --- inside a window's process -----------------------------------------------------------------------------------


def bare(began: float) -> None:
    """The least that Qt does: one empty window of the same size."""
    from PySide6.QtWidgets import QApplication, QWidget

    app = QApplication([])

    class Bare(QWidget):
        def paintEvent(self, event: Any) -> None:
            print(json.dumps({"painted": time.monotonic() - began}), flush=True)
            os._exit(0)

    window = Bare()
    window.resize(*SIZE)
    window.show()
    app.exec()


class Watched:
    """A window of ours that is watched while a list of steps is gone through, one every so often."""

    def __init__(self, home: Path, began: float) -> None:
        from ui.app import Starting

        self.began, self.found, self.gap, self.last = began, dict[str, Any](), 0.0, 0.0
        self.steps: Iterator[object] = iter(())
        self.when_ready: Callable[[], Iterator[object]] = lambda: iter(())
        self.starting = Starting(home)
        self.starting.window.first_painted.connect(self._painted)
        self.starting.window.show()
        self.starting.window.activateWindow()

    @property
    def frame(self) -> Any:
        return self.starting.frame

    def _painted(self) -> None:
        self.last = time.monotonic()
        self.found["painted"] = self.last - self.began
        from PySide6.QtCore import Qt, QTimer  # the first mention of it makes all enums

        self.beat = QTimer(self.starting, interval=1, timerType=Qt.TimerType.PreciseTimer)
        self.beat.timeout.connect(self._tick)
        self.beat.start()

    def _tick(self) -> None:
        now = time.monotonic()
        self.gap, self.last = max(self.gap, now - self.last - 0.001), now
        if self.frame is not None:
            sys.excepthook = died  # instead of the sheet that tells a person
        if "ready" not in self.found and self._has_field():
            self.settled()
            self.found["ready"] = time.monotonic() - self.began
            self.end_of("start")
            self.steps = self.when_ready()
            self._next()

    def _has_field(self) -> bool:
        from PySide6.QtWidgets import QApplication

        here = type(QApplication.focusWidget()).__name__
        return self.frame is not None and self.frame.desk.is_open and here == "ReadingField"

    def end_of(self, what: str) -> None:
        """The longest gap since the last end; the beat goes on."""
        self.found[f"gap {what}"], self.gap = self.gap, 0.0
        self.last = time.monotonic()

    def _next(self) -> None:
        from PySide6.QtCore import QTimer

        for _ in self.steps:
            QTimer.singleShot(HANDS_MS, self._next)
            return
        print(json.dumps(self.found), flush=True)
        self.frame.desk.close()
        os._exit(0)

    def settled(self) -> float:
        """Go on until nothing waits to be laid out or painted; when the last of it was."""
        from PySide6.QtCore import QEvent, QObject
        from PySide6.QtTest import QTest

        class Asked(QObject):
            seen = 0

            def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
                self.seen += event.type() in (QEvent.Type.UpdateRequest, QEvent.Type.LayoutRequest)
                return False

        asked, ended = Asked(), time.monotonic()
        top = self.starting.window
        top.installEventFilter(asked)
        seen = -1
        while seen != asked.seen:
            seen = asked.seen
            QTest.qWait(0)
            ended = time.monotonic() if seen != asked.seen else ended
        top.removeEventFilter(asked)
        return ended

    def is_busy(self) -> bool:
        return any(not future.done() for _, future in self.frame.desk.jobs._running)

    def press(self, key: str) -> None:
        """A key as the window system gives it to the window: the scanner's watch sees it too."""
        from PySide6.QtCore import Qt
        from PySide6.QtTest import QTest

        QTest.keyClick(self.starting.window.windowHandle(), Qt.Key.Key_Return if key == "\n" else ord(key))  # type: ignore[arg-type]

    def good_reading(self) -> str:
        """Inside on any dial, as the row in hand is marked."""
        page: Any = self.frame.page
        return {"C": "0", "F": "32"}[page.rows[page.list.current].default_unit]


def died(kind: type[BaseException], error: BaseException, trace: Any) -> None:
    traceback.print_exception(kind, error, trace)
    os._exit(1)


def by_keys(watched: Watched) -> Iterator[object]:
    """A list by keys with the loop going on by itself, then all places, twice."""
    yield from range(10)  # what is loaded once the list is there
    watched.end_of("after start")
    for _ in range(ROWS):
        for key in (*watched.good_reading(), "\n"):
            watched.press(key)
            yield
    watched.end_of("keys")
    for round_ in ("first", "again"):
        for place in watched.found["places"]:
            watched.frame.scanner.touched.emit()  # as the press that leads there does
            watched.frame.go(place)
            yield
            while watched.frame.page is None or watched.is_busy():  # made, or still read
                yield
            watched.end_of(f"{place} {round_}")


def by_enter(watched: Watched) -> Iterator[object]:
    """From Enter to the painted row."""
    taken = watched.found["enters"] = []
    for _ in range(ROWS):
        for key in watched.good_reading():
            watched.press(key)
            yield
        watched.settled()
        begin = time.monotonic()
        watched.press("\n")
        taken.append(watched.settled() - begin)
        yield


# --- outside -----------------------------------------------------------------------------------------------------


def run(what: str, home: Path | None = None, places: str = "") -> dict[str, Any]:
    """One window in a process of its own; what it printed."""
    from tests.benchmarks import record

    command = [sys.executable, "-m", "tests.benchmarks.window", "--inside", what, "--places", places]
    command += ["--began", str(time.monotonic()), *(["--folder", str(home)] if home else [])]
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = str(BYTECODE)  # as in any second start, wherever the sources lie
    done = subprocess.run(command, cwd=record.ROOT, env=env, capture_output=True, text=True, check=False, timeout=60)
    if done.returncode:
        raise SystemExit(f"{what} ended with {done.returncode}: {done.stderr}")
    return dict(json.loads(done.stdout.splitlines()[-1]))


def prepare(demo: Path, home: Path) -> None:
    """A copy of the demo: a lead is at work where a shift begins, wants twelve, and has just made the ice bath."""
    from registry.quantity import Reading, TemperatureDifference
    from registry.services import baths, people, places, settings, shift_list, thermometers
    from registry.services.session import actor_of, open_session
    from sample_db.demo import INITIALS, LEAD, OPENS

    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(demo, home)
    session = open_session(home)
    with session.reading() as connection:
        who = [people.find_person(connection, one).person for one in (LEAD, INITIALS)]
        lead, officer = (actor_of(connection, one) for one in who)
        site = places.site_named(connection, OPENS).subject
    scale = thermometers.ScaleGiven(
        TemperatureDifference.from_text("0.1 dC"), Reading.from_text("-40 C"), Reading.from_text("150 C")
    )
    while len(shift_list.start_of_shift(session, site).rows) < ROWS:
        thermometers.enrol(session, officer, thermometers.NewThermometer("thermistor_probe", (scale,), site))
    baths.make_bath(session, lead, baths.NewBath(site, "ice_point", "crushed_packed"))
    session.close()
    local = settings.local_file(home)
    settings.remember(local, "person", who[0])
    settings.remember(local, "site", site)
    settings.choose(local, "theme", "light")


def measured(demo: Path, work: Path, places: str) -> dict[str, float]:
    """Bare and ours in turn; medians, and the worst where it is a gap or an Enter."""
    prepare(demo, work)
    run("bare"), run("start", work)  # both read their files once
    pairs = [(run("bare"), run("start", work)) for _ in range(ROUNDS)]
    base = statistics.median(one["painted"] for one, _ in pairs)
    ratios = {what: statistics.median(one[what] for _, one in pairs) / base for what in ("painted", "ready")}
    gaps = {"gap start": statistics.median(one["gap start"] for _, one in pairs)}
    rounds = []
    for _ in range(3):
        prepare(demo, work)
        rounds.append(run("keys", work, places))
    for what in (one for one in rounds[0] if one.startswith("gap ") and one not in ("gap start",)):
        gaps[what] = statistics.median(one[what] for one in rounds)
    prepare(demo, work)
    enters = run("enters", work)["enters"]
    middle, worst = statistics.median(enters), max(enters)
    print(f"bare window {base * 1e3:.0f} ms; Enter {middle * 1e3:.0f} ms, worst {worst * 1e3:.0f} ms")
    shown = {"first paint": ratios["painted"], "list filled and field ready": ratios["ready"]}
    shown |= {f"{what} to {GAP_LIMIT_S * 1e3:.0f} ms": gap / GAP_LIMIT_S for what, gap in gaps.items()}
    return shown | {"Enter to painted row": middle / base, "Enter to painted row, worst": worst / base}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--folder", type=Path)
    asked.add_argument("--inside", choices=("bare", "start", "keys", "enters"))
    asked.add_argument("--began", type=float, default=0.0)
    asked.add_argument("--places", default=",".join(EVERYWHERE))
    given = asked.parse_args()
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    if given.inside == "bare":
        bare(given.began)
    elif given.inside:
        from PySide6.QtWidgets import QApplication

        app = QApplication([])
        watched = Watched(given.folder, given.began)
        watched.found["places"] = given.places.split(",")
        steps = {"start": lambda: iter(()), "keys": lambda: by_keys(watched), "enters": lambda: by_enter(watched)}
        watched.when_ready = steps[given.inside]
        app.exec()
    else:
        outside(given.folder, given.places)


def outside(folder: Path, places: str) -> None:
    from sample_db.build import build, is_current
    from tests.benchmarks import record

    demo = folder / "demo"
    if not is_current(demo):
        build(demo)
    ratios = measured(demo, folder / "work", places)
    for what, ratio in ratios.items():
        print(f"{ratio:8.2f}  {what}")
    record.write_result(
        "window",
        command="python -m tests.benchmarks.window --folder FOLDER",
        ratios=ratios,
        covers=COVERS,
    )


if __name__ == "__main__":
    main()
