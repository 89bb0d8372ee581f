"""The window in a process of its own under a private X server, and somebody at it with real keys.

Where xdotool is installed, keys and clicks are events that it makes in the X server (XTEST); where it is not, Qt's own
window system events are given to the window's handle, which skips the server.
"""

import json
import os
import select
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest

from registry.services import settings
from registry.services.session import Actor, open_session
from tests.services.kitchen import MACHINE, Kitchen

ROOT = Path(__file__).resolve().parents[2]
LONG_S = 30
MOST_STEPS = 80  # presses from one thing to another
BACKTAB, BACK = "⇤", "⇐"  # Shift and Tab; Alt and Left
HANDS_MS = 70  # between keys: faster ones are a scanner's
SEES_MS = 400  # from what comes in sight to the key that answers it
NAMES = {".": "period", "-": "minus", "\n": "Return", "\t": "Tab", BACKTAB: "shift+Tab", "↓": "Down", "←": "Left"}
NAMES |= {BACK: "alt+Left"}
XTEST = "XTEST events by xdotool"
WAY = XTEST if shutil.which("xdotool") else "Qt's own window system events"

# --- the window's process --------------------------------------------------------------------------------------


def live(home: Path, at: int, width: int, height: int) -> None:
    """Open the window, tell at each change what has the focus, and answer what is asked on standard input."""
    from PySide6.QtCore import QSocketNotifier
    from PySide6.QtWidgets import QApplication

    from ui import app

    began = perf_counter()
    application = QApplication([])
    frame, opening = app.window(home)
    opening._opener = lambda folder: open_session(
        folder, clock=lambda: at + int((perf_counter() - began) * 1e6), machine=MACHINE
    )
    application.focusChanged.connect(lambda _old, _new: tell(focus=focus_of(frame)))
    asked = QSocketNotifier(0, QSocketNotifier.Type.Read, frame)
    asked.activated.connect(lambda *_: [answer(frame, json.loads(one)) for one in os.read(0, 1 << 16).splitlines()])
    frame.setGeometry(0, 0, width, height)
    frame.show()
    frame.activateWindow()
    application.exec()


def focus_of(frame: Any) -> str:
    """The tag of the row whose field has the focus, else what has it."""
    from PySide6.QtWidgets import QApplication

    widget = QApplication.focusWidget()
    if widget is None:
        return ""
    rows = getattr(getattr(frame.page, "list", None), "rows", {})
    tag = next((one.row.tag_id for one in rows.values() if one.field is widget), "")
    return tag or widget.accessibleName() or str(widget.property("text"))


def answer(frame: Any, asked: dict[str, Any]) -> None:
    from PySide6.QtCore import QPoint, Qt, QTimer
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QAbstractButton

    handle = frame.windowHandle()
    if asked["do"] == "where":
        found = [one for one in frame.findChildren(QAbstractButton) if one.isVisible() and one.isEnabled()]
        at = {one.text() or one.accessibleName(): one.mapTo(frame, one.rect().center()).toTuple() for one in found}
        tell(where=at)
    elif asked["do"] == "rows":
        rows = frame.page.list.rows.values()
        said = {one.row.tag_id: (one.field.text(), one.off.text(), one.answering.accessibleName()) for one in rows}
        tell(rows=said, current=focus_of(frame), small=frame.small)
    elif asked["do"] == "drift":
        tell(drift=drift_of(frame), current=focus_of(frame))
    elif asked["do"] == "place":
        tell(place=frame.place)
    elif asked["do"] == "keys":
        none, shift, alt = (getattr(Qt.KeyboardModifier, f"{one}Modifier") for one in ("No", "Shift", "Alt"))
        codes = {
            "\n": (Qt.Key.Key_Return, none),
            "\t": (Qt.Key.Key_Tab, none),
            BACKTAB: (Qt.Key.Key_Backtab, shift),
            "↓": (Qt.Key.Key_Down, none),
            "←": (Qt.Key.Key_Left, none),
            BACK: (Qt.Key.Key_Left, alt),
        }
        for n, key in enumerate(asked["keys"]):
            press = partial(QTest.keyClick, handle, *codes.get(key, (key,)))
            QTimer.singleShot(asked["wait"] + HANDS_MS * (n + 1), frame, press)
    elif asked["do"] == "click":
        left = Qt.MouseButton.LeftButton
        QTest.mouseClick(handle, left, Qt.KeyboardModifier.NoModifier, QPoint(*asked["at"]))
    else:
        frame.close()


def drift_of(frame: Any) -> dict[str, Any]:
    """What Drift says of what it is asked, once all of it is there; nothing while it is another place or at work."""
    page, running = frame.page, frame.desk.jobs._running
    if (
        any(not future.done() for _, future in running)
        or frame.place != "drift"
        or page is None
        or page.ranked is None
        or page.weeks.weeks is None
    ):
        return {}
    return {
        "sentence": page.sentence.accessibleName(),
        "rows": [one.tag_id for one in page.ranked.rows],
        "sites": [one.name for one in page.weeks.weeks.sites],
        "missed": [one.total("missed") for one in page.weeks.weeks.sites],
        "failures": page.failures.found.open if page.failures.found is not None else None,
    }


def tell(**what: object) -> None:
    print(json.dumps(what), flush=True)


# --- who sits at it ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    """An X server of our own, without a screen."""
    if shutil.which("Xvfb") is None:
        pytest.skip("Xvfb is not installed: no X server to send keys to")
    ours, theirs = os.pipe()
    command = ["Xvfb", "-screen", "0", "1400x900x24", "-nolisten", "tcp", "-displayfd", str(theirs)]
    server = subprocess.Popen(command, pass_fds=(theirs,), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    os.close(theirs)
    with os.fdopen(ours) as told:  # held open: the server writes to it once more
        if not select.select([told], [], [], LONG_S)[0] or not (number := told.readline().strip()):
            server.kill()
            pytest.skip("Xvfb does not start here")
        yield f":{number}"
        server.terminate()
        server.wait()


@dataclass
class Person:
    """Somebody at that window, with real keys or Qt's; everything pressed is kept."""

    process: subprocess.Popen[bytes]
    display: str
    keys: list[str] = field(default_factory=list)
    clicks: int = 0
    focus: str = ""
    _said: bytes = b""

    def heard(self, what: str) -> Any:
        """The next thing of that kind that the window tells; where the focus goes is noted on the way."""
        assert self.process.stdout is not None
        out = self.process.stdout.fileno()
        while True:
            while b"\n" not in self._said:
                assert select.select([out], [], [], LONG_S)[0], f"nothing more was told of {what}"
                some = os.read(out, 1 << 16)
                assert some, f"the window has ended: {self.process.poll()}"
                self._said += some
            line, self._said = self._said.split(b"\n", 1)
            told = json.loads(line)
            self.focus = told.get("focus", told.get("current", self.focus))
            if what in told:
                return told[what]

    def ask(self, do: str, **more: object) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps({"do": do, **more}).encode() + b"\n")

    def wait_for(self, *names: str) -> str:
        """Until the focus is on one of these."""
        while self.focus not in names:
            self.heard("focus")
        return self.focus

    def walk_to(self, name: str, key: str = "\t") -> None:
        """By one key pressed again and again until what has the focus bears this name, alone or before a colon."""
        for _ in range(MOST_STEPS):
            if self.focus == name or self.focus.startswith(f"{name}:"):
                return
            self.press(key)
            self.heard("focus")
        raise AssertionError(f"{name} is not met by keys")

    def press(self, keys: str, wait: int = 0) -> None:
        """wait: ms, for what the eye sees first; an Enter that comes at once is a second press of the one before."""
        self.keys += keys
        if WAY == XTEST:
            names = [NAMES.get(key, key) for key in keys]
            self._xdotool("sleep", str(wait / 1000), "key", "--delay", str(HANDS_MS), *names)
        else:
            self.ask("keys", keys=keys, wait=wait)

    def click(self, name: str) -> None:
        self.clicks += 1
        self.ask("where")
        x, y = self.heard("where")[name]
        if WAY == XTEST:
            self._xdotool("mousemove", str(x), str(y), "click", "1")
        else:
            self.ask("click", at=(x, y))

    def _xdotool(self, *arguments: str) -> None:
        subprocess.run(["xdotool", *arguments], env={**os.environ, "DISPLAY": self.display}, check=True)


@contextmanager
def somebody(kitchen: Kitchen, display: str, width: int, height: int, who: Actor | None = None) -> Iterator[Person]:
    """A window on a closed kitchen, and who works at it: its lead, unless another is named."""
    settings.remember(settings.local_file(kitchen.home), "person", (who or kitchen.lead).person)
    settings.choose(settings.local_file(kitchen.home), "theme", "light")
    kitchen.session.close()
    command = [sys.executable, "-m", __spec__.name, str(kitchen.home), str(kitchen.clock.at), str(width), str(height)]
    environment = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb", "PYTHONUNBUFFERED": "1"}
    pipe = subprocess.PIPE
    with subprocess.Popen(command, cwd=ROOT, env=environment, bufsize=0, stdin=pipe, stdout=pipe) as process:
        try:
            yield Person(process, display)
        finally:
            process.kill()


def leave(person: Person) -> None:
    person.ask("close")
    assert person.process.wait(LONG_S) == 0


if __name__ == "__main__":
    live(Path(sys.argv[1]), *(int(one) for one in sys.argv[2:5]))
