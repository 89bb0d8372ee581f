"""A real window, killed at any moment while readings are keyed in: each is in its draft or recorded, never twice.

The window runs in a process of its own, drawn to memory, on a registry of twelve thermometers in one ice bath. Keys
are given to its handle, and it says before and after each what it is about to do and what it has done.
"""

import json
import os
import select
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from time import perf_counter

import pytest

from registry.services.drafts import WindowDrafts
from registry.services.session import open_session
from tests.services.kitchen import DIAL_C, DIGITAL_C, DIGITAL_F, MACHINE, Kitchen, open_kitchen

KILLS = 20
ROOT = Path(__file__).resolve().parents[2]
# After which word of the window it is killed, and how long after at most: while keying, in an Enter, in a close.
MOMENTS = (("key", 0.6), ("enter", 0.06), ("enter", 0.06), ("closing", 0.04))
ROWS = 12

# --- the window's process --------------------------------------------------------------------------------------


def live(home: Path, at: int, seed: int) -> None:
    """Open the window, say what its fields hold, and key in readings until all rows have one; then close it."""
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from ui import app

    began, random = perf_counter(), Random(seed)

    def clock() -> int:
        return at + int((perf_counter() - began) * 1e6)

    application = QApplication([])
    frame, opening = app.window(home)
    opening._opener = lambda folder: open_session(folder, clock=clock, machine=MACHINE)
    ticks = iter(range(10**9))
    frame.scanner._clock = lambda _event: float(next(ticks))  # a second between any two keys: hands
    steps = keying(frame, random)

    def step() -> None:
        # Pages are made in pieces: until one stands there is nothing to key into.
        if frame.desk.is_open and frame.page is not None and next(steps, None) is None:
            application.quit()

    beat = QTimer(frame)
    beat.timeout.connect(step)
    beat.start(3)
    frame.show()
    application.exec()


def keying(frame: object, random: Random) -> Iterator[bool]:
    """One key at each step."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    page = frame.page  # type: ignore[attr-defined]
    tell("found", {one: made.field.text() for one, made in page.list.rows.items() if not made.field.isReadOnly()})
    handle = frame.windowHandle()  # type: ignore[attr-defined]
    while waiting := [one for one, row in page.rows.items() if row.state == "waiting"]:
        here = page.list.current
        if here not in waiting:
            page.list.focus_on(waiting[0])
            yield True
            continue
        unit, typed = page.keying.of(page.rows[here]).unit, ""
        page.list.rows[here].field.selectAll()
        whole = f"{32 if unit == 'F' else 0}.{random.randrange(10)}"
        if page.rows[here].tag_id.startswith("DIAL"):
            whole = whole[:-2]
        for key in whole:
            typed += key
            tell("key", [here, typed])
            QTest.keyClick(handle, key)
            tell("kept", [here, typed])
            yield True
        tell("enter", [here, typed])
        QTest.keyClick(handle, Qt.Key.Key_Return)
        if page.rows[here].state == "recorded":
            tell("done", [here, typed])
        yield True
        if random.random() < 0.08:
            break
    tell("closing", [])
    frame.close()  # type: ignore[attr-defined]
    tell("closed", [])


def tell(what: str, about: object) -> None:
    os.write(1, f"{what} {json.dumps(about)}\n".encode())


# --- the test --------------------------------------------------------------------------------------------------


@dataclass
class Watched:
    """A kitchen whose window is killed again and again."""

    kitchen: Kitchen
    bath: str = ""
    recorded: dict[str, str] = field(default_factory=dict)  # thermometer: what its reading shows, in this bath
    expected: dict[str, str] = field(default_factory=dict)  # drafts that the next window has to show
    met: Counter[str] = field(default_factory=Counter)

    def live_and_die(self, random: Random, word: str, at_most: float) -> list[tuple[str, list[str]]]:
        """A window until it is killed so long after it has said a word; what it said."""
        kitchen = self.kitchen
        kitchen.session.close()
        command = [sys.executable, "-m", __spec__.name, str(kitchen.home), str(kitchen.clock.at)]
        environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
        process = subprocess.Popen(
            [*command, str(random.randrange(10**6))], cwd=ROOT, env=environment, stdout=subprocess.PIPE
        )
        assert process.stdout is not None
        skipped, out = random.randrange(6 if word != "closing" else 1), process.stdout.fileno()
        said = read_until(out, word, skipped)
        said += read_for(out, random.uniform(0, at_most))
        process.send_signal(signal.SIGKILL)
        said += read_until(out, None, 0)
        process.wait()
        process.stdout.close()
        kitchen.clock.move(seconds=90)
        kitchen.reopen()
        return [(line.split(" ", 1)[0], json.loads(line.split(" ", 1)[1])) for line in said.decode().splitlines()]

    def look(self, said: list[tuple[str, list[str]]]) -> None:
        """What was acknowledged is recorded once or stands in the draft; the window showed what the last one left."""
        found = next((about for what, about in said if what == "found"), None)
        assert found is not None, said
        assert {one: text for one, text in dict(found).items() if text} == self.expected
        shown = self.readings()
        drafts = self.drafts()
        for what, about in said:
            if what == "done":
                assert shown[about[0]] == about[1]
        last: dict[str, tuple[str, str]] = {}
        for what, about in said:
            if what in ("key", "kept", "enter"):
                last[about[0]] = (what, about[1])
        for thermometer, (what, text) in last.items():
            self.met[self.place_of(thermometer, what, text, shown, drafts)] += 1
        untouched = {one: text for one, text in self.expected.items() if one not in last}
        assert {one: drafts.get(one) for one in untouched} == untouched
        self.expected = {one: text for one, text in drafts.items() if one not in shown}
        self.recorded = shown

    def place_of(self, thermometer: str, what: str, text: str, shown: dict[str, str], drafts: dict[str, str]) -> str:
        """Where the digits acknowledged last are; a key or an Enter that was under way may or may not be through."""
        before = text[:-1] if what == "key" else text
        if thermometer in shown:
            assert what == "enter"
            assert shown[thermometer] == text
            return "recorded, draft not put away" if thermometer in drafts else "recorded"
        assert drafts.get(thermometer, "") in (before, text), (thermometer, what, text, drafts)
        return "in the draft, Enter pressed" if what == "enter" else "in the draft"

    def readings(self) -> dict[str, str]:
        """What each thermometer's one reading in this bath shows."""
        taken = [one.payload for one in self.kitchen.entries("reading_taken") if one.payload["bath"] == self.bath]
        assert max(Counter(one["thermometer"] for one in taken).values(), default=1) == 1
        checks = [one.payload for one in self.kitchen.entries("check_recorded") if one.payload["bath"] == self.bath]
        assert sorted(one["thermometer"] for one in checks) == sorted(one["thermometer"] for one in taken)
        return {one["thermometer"]: one["shown"].split()[0] for one in taken}

    def drafts(self) -> dict[str, str]:
        with_window = WindowDrafts.open(self.kitchen.home)
        try:
            kept = with_window.get(f"shift {self.kitchen.site}") or {}
        finally:
            with_window.close()
        return {one: keyed["text"] for one, keyed in kept.get("fields", {}).items() if keyed["text"]}

    def next_day(self) -> None:
        """Another shift wants all twelve again, in another bath."""
        if self.bath:
            self.kitchen.judge(self.bath)
            self.kitchen.clock.move(days=1)
        self.bath, self.recorded = self.kitchen.ice(), {}
        self.kitchen.clock.move(minutes=4)


def read_until(out: int, word: str | None, skipped: int) -> bytes:
    """What is said up to a word, the first times skipped; without a word, to the end."""
    said = b""
    while some := os.read(out, 1 << 16):
        said += some
        words = [line.split(b" ")[0].decode() for line in said.splitlines()]
        if word is not None and (words.count(word) > skipped or "closing" in words):
            break
    return said


def read_for(out: int, seconds: float) -> bytes:
    said, ends = b"", perf_counter() + seconds
    while (left := ends - perf_counter()) > 0 and select.select([out], [], [], left)[0]:
        if not (some := os.read(out, 1 << 16)):
            break
        said += some
    return said


@pytest.fixture
def watched(tmp_path: Path) -> Iterator[Watched]:
    from registry.services import places, settings

    kitchen = open_kitchen(tmp_path / "kitchen")
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
    day, week = kitchen.session.today(site.payload), tuple(range(7))
    places.add_shift(kitchen.session, kitchen.admin, kitchen.site, "Whole day", "00:00", "23:59", week, day)
    for n in range(4):
        kitchen.enrol(DIGITAL_C, tag_id=f"DIGI{n}")
        kitchen.enrol(DIGITAL_F, tag_id=f"DIGF{n}")
        kitchen.dial(DIAL_C, tag_id=f"DIAL{n}")
    settings.remember(settings.local_file(kitchen.home), "person", kitchen.lead.person)
    made = Watched(kitchen)
    made.next_day()
    yield made
    kitchen.session.close()


def kill(watched: Watched, random: Random, times: int) -> None:
    for number in range(times):
        if len(watched.recorded) == ROWS:
            watched.next_day()
        word, at_most = MOMENTS[number % len(MOMENTS)]
        watched.look(watched.live_and_die(random, word, at_most))
    assert watched.kitchen.verify().good


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_20_kills_of_the_window_lose_nothing_and_record_nothing_twice(watched: Watched) -> None:
    kill(watched, Random(20261125), KILLS)
    # The kills met what they were meant to meet: both before and after what an Enter records.
    assert watched.met["in the draft"] + watched.met["in the draft, Enter pressed"] > 0
    assert watched.met["recorded"] + watched.met["recorded, draft not put away"] > KILLS


if __name__ == "__main__":
    live(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
