"""A shift of twelve in one bath under a real X server, by real keys, and by clicks on the number pad.

The window runs in a process of its own under Xvfb. Where xdotool is installed, keys and clicks are events that it
makes in the X server (XTEST); where it is not, Qt's own window system events are given to the window's handle, which
skips the server. The test's id says which.
"""

import json
import os
import select
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest

from registry.services import settings, shift_list
from registry.services.session import open_session
from registry.services.shift_row import ListRow
from registry.wording import format, say
from tests.services.kitchen import MACHINE, Kitchen

ROOT = Path(__file__).resolve().parents[2]
LONG_S = 30
HANDS_MS = 70  # between keys: faster ones are a scanner's
SEES_MS = 400  # from what comes in sight to the key that answers it
NAMES = {".": "period", "-": "minus", "\n": "Return"}
READINGS = {"DIGI": ("0.1", "-0.2", "0.0", "0.3"), "DIGF": ("32.1", "31.8"), "DIAL": ("0", "1", "-1", "0")}
READINGS["DIAF"] = ("32", "34")
XTEST = "XTEST events by xdotool"
WAY = XTEST if shutil.which("xdotool") else "Qt's own window system events"
READY, END, REMADE = "Bath is ready, probes are in", "Finish", say("shift.bath_is_remade", "en")
TAGS = tuple(f"{kind}{n}" for kind, readings in READINGS.items() for n in range(len(readings)))

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
    elif asked["do"] == "keys":
        for n, key in enumerate(asked["keys"]):
            code = Qt.Key.Key_Return if key == "\n" else key
            QTimer.singleShot(asked["wait"] + HANDS_MS * (n + 1), frame, partial(QTest.keyClick, handle, code))
    elif asked["do"] == "click":
        left = Qt.MouseButton.LeftButton
        QTest.mouseClick(handle, left, Qt.KeyboardModifier.NoModifier, QPoint(*asked["at"]))
    else:
        frame.close()


def tell(**what: object) -> None:
    print(json.dumps(what), flush=True)


# --- the test --------------------------------------------------------------------------------------------------


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
def somebody(kitchen: Kitchen, display: str, width: int, height: int) -> Iterator[Person]:
    """A window on a closed kitchen, and who works at it."""
    settings.remember(settings.local_file(kitchen.home), "person", kitchen.lead.person)
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


def recorded(kitchen: Kitchen) -> dict[str, ListRow]:
    """The list as the journal has it, once the window is closed."""
    kitchen.clock.move(hours=1)
    view = shift_list.start_of_shift(kitchen.reopen(), kitchen.site)
    return {one.tag_id: one for one in view.rows}


def reading_for(tag: str) -> str:
    return READINGS[tag[:4]][int(tag[4])]


def read_all(person: Person, shown: Callable[[str], str]) -> list[str]:
    """All twelve by keys, in the order in which the focus comes to them; their tags."""
    tags: list[str] = []
    for _ in range(12):
        tags.append(person.wait_for(*(one for one in TAGS if one not in tags)))
        person.press(shown(tags[-1]) + "\n")
    return tags


def leave(person: Person) -> None:
    person.ask("close")
    assert person.process.wait(LONG_S) == 0


def said_as_recorded(said: dict[str, list[str]], rows: dict[str, ListRow]) -> None:
    """Each row shows the reading, the offset and the word that the journal holds, and what was keyed in."""
    assert set(said) == set(rows)
    for tag, (text, off, answering) in said.items():
        check = rows[tag].check
        assert check is not None
        shown = check.row.readings[-1]
        assert f"{shown.value}" == reading_for(tag)
        assert text == f"{shown.value}".replace("-", "−")
        assert off == format.offset(check.row.judged.offset.to(shown.unit), "en_US")
        assert answering.startswith(say(f"lead.{check.row.lead_word}", "en"))
        assert check.bath_judged == "accepted"


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_twelve_by_keys(kitchen: Kitchen, display: str, way: str) -> None:
    """From the empty list to the judged bath: no mouse, and at most two keys a row beyond the digits."""
    with somebody(kitchen, display, 1280, 800) as person:
        person.wait_for(READY)
        person.press("\n")
        tags = read_all(person, reading_for)
        person.wait_for(END)  # the bath was judged by what was read in it
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    rows = recorded(kitchen)
    assert sorted(tags) == sorted(rows)
    said_as_recorded(said, rows)
    digits = sum(len(reading_for(tag)) for tag in rows)
    assert len(person.keys) - digits <= 2 * 12
    assert person.clicks == 0
    assert kitchen.verify().good


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_twelve_on_the_number_pad(kitchen: Kitchen, display: str, way: str) -> None:
    """The same by a finger, at 1024 x 600."""
    with somebody(kitchen, display, 1024, 600) as person:
        person.wait_for(READY)
        person.click(READY)
        tags: list[str] = []
        for _ in range(12):
            tags.append(person.wait_for(*(one for one in TAGS if one not in tags)))
            for key in reading_for(tags[-1]).replace("-", "−"):
                person.click(key)
            person.click("Record")
        person.wait_for(END)  # the bath was judged by what was read in it
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    rows = recorded(kitchen)
    assert sorted(tags) == sorted(rows)
    assert person.keys == []
    for tag, (text, _, answering) in said.items():
        check = rows[tag].check
        assert check is not None
        assert text == reading_for(tag).replace("-", "−")
        assert f"{check.row.readings[-1].value}" == reading_for(tag)
        assert answering.startswith(say(f"lead.{check.row.lead_word}", "en"))
        assert check.bath_judged == "accepted"
    assert kitchen.verify().good


WARM = {"DIGI": "0.9", "DIGF": "33.6", "DIAL": "1", "DIAF": "34"}  # what each shows in ice 0.9 °C too warm


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_a_bad_bath_by_keys(kitchen: Kitchen, display: str, way: str) -> None:
    """Nobody passes or fails by it; two keys more and it is made anew, then all are read again."""
    with somebody(kitchen, display, 1280, 800) as person:
        person.wait_for(READY)
        person.press("\n")
        read_all(person, lambda tag: WARM[tag[:4]])
        person.wait_for(REMADE)  # the band asks
        person.ask("rows")
        said = person.heard("rows")
        assert {answering.partition(".")[0] for _, _, answering in said.values()} == {"Waits"}
        before = len(person.keys)
        person.press("\n", wait=SEES_MS)
        person.wait_for(READY)
        person.press("\n", wait=SEES_MS)
        assert len(person.keys) - before <= 3
        read_all(person, reading_for)
        person.wait_for(END)
        person.ask("rows")
        said = person.heard("rows")
        leave(person)
    said_as_recorded(said, recorded(kitchen))
    outcomes = [kitchen.check(one.payload["check"]).outcome for one in kitchen.entries("check_recorded")]
    assert outcomes == [None] * 12 + ["pass"] * 12
    assert kitchen.verify().good


if __name__ == "__main__":
    live(Path(sys.argv[1]), *(int(one) for one in sys.argv[2:5]))
