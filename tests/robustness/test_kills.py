"""Killed at any moment while recording: what was acknowledged is there, whole, and pressing again adds nothing."""

import json
import os
import select
import signal
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from time import perf_counter

import pytest

from registry.services.session import open_session
from registry.store import checking, comparing, queries
from registry.store.drafts import Drafts
from tests.robustness.acts import ID_OF, KINDS, Act, keys_of, perform, rounds
from tests.services.kitchen import MACHINE, Kitchen, open_kitchen

KILLS = 200
LONGEST_S = 0.3  # of a life; starting takes about a tenth of it
COMPARED_EVERY = 20


@dataclass
class Busy:
    """A kitchen in which whoever records is killed again and again, and what they said that they had done."""

    kitchen: Kitchen
    probes: list[str]
    dials: list[str]
    acts: list[Act] = field(default_factory=list)
    drafts: int = 0  # acknowledged, through all lives
    met: Counter[str] = field(default_factory=Counter)

    # --- in the child -----------------------------------------------------------------------------------------

    def record_until_killed(self, out: int, random: Random) -> None:
        """Draft every key, record, and acknowledge only what has been recorded."""
        kitchen = self.kitchen
        with Drafts.open(kitchen.home / "drafts") as drafts:
            session = open_session(kitchen.home, clock=kitchen.clock, machine=MACHINE)
            number = self.drafts
            for act in rounds(session, random, kitchen.site, self.probes, self.dials):
                for draft in keys_of(act):
                    number += 1
                    drafts.save(json.dumps([number, draft]).encode())
                    os.write(out, b"draft %d\n" % number)
                perform(session, kitchen.lead, act)
                os.write(out, b"done " + json.dumps(act).encode() + b"\n")

    # --- in the parent ----------------------------------------------------------------------------------------

    def live_and_die(self, random: Random) -> list[Act]:
        """Fork a child and kill it at some moment; what it acknowledged by then."""
        self.kitchen.session.close()  # a connection must not be carried into a child
        ours, theirs = os.pipe()
        lasts, seed = random.uniform(0, LONGEST_S), random.random()
        pid = os.fork()
        if pid == 0:
            try:
                self.record_until_killed(theirs, Random(seed))
            except BaseException as error:
                os.write(theirs, f"broke {error!r}\n".encode())
            os._exit(1)
        os.close(theirs)
        said = _read_until(ours, perf_counter() + lasts)
        os.kill(pid, signal.SIGKILL)
        said += _read_until(ours, None)
        os.close(ours)
        _, status = os.waitpid(pid, 0)
        assert os.WIFSIGNALED(status), said[-500:]
        return self.hear(said.splitlines())

    def hear(self, lines: list[bytes]) -> list[Act]:
        done = []
        for line in lines:
            what, _, rest = line.partition(b" ")
            if what == b"draft":
                self.drafts = int(rest)
            else:
                assert what == b"done", line
                done.append(json.loads(rest))
        self.acts += done
        return done

    def draft(self) -> Act | None:
        """The draft acknowledged last, or the one after it, which was being saved: whole, either way."""
        with Drafts.open(self.kitchen.home / "drafts") as drafts:
            found = drafts.load()
        if found is None:
            assert self.drafts == 0
            return None
        number, act = json.loads(found)
        assert number - self.drafts in (0, 1)
        self.drafts = number
        act.pop("typing", None)
        return dict(act)

    def press(self, act: Act) -> int:
        """How many entries an act adds."""
        before = self.kitchen.count()
        perform(self.kitchen.session, self.kitchen.lead, act)
        return self.kitchen.count() - before

    def look_whole(self, done: list[Act]) -> None:
        """The chain is whole and signed to its end, what was acknowledged is there, and more may be recorded."""
        assert self.kitchen.reopen().why_read_only is None
        assert checking.verify(self.kitchen.session.database).findings == []
        drafted = self.draft()
        if drafted is not None and drafted != (self.acts or [None])[-1]:
            self.met["not yet recorded" if self.press(drafted) else "recorded, not acknowledged"] += 1
            self.acts.append(drafted)
        again = [act for act in done[-5:] if act["act"] in ID_OF] + self.acts[-1:]
        assert {json.dumps(act): self.press(act) for act in again} == {json.dumps(act): 0 for act in again}


def _read_until(pipe: int, ends: float | None) -> bytes:
    """What a pipe gives by a moment, or to its end."""
    said = b""
    while ends is None or ((left := ends - perf_counter()) > 0 and select.select([pipe], [], [], left)[0]):
        if not (some := os.read(pipe, 1 << 16)):
            break
        said += some
    return said


@pytest.fixture
def busy(tmp_path: Path) -> Iterator[Busy]:
    kitchen = open_kitchen(tmp_path / "kitchen")
    yield Busy(kitchen, [kitchen.enrol() for _ in range(3)], [kitchen.dial() for _ in range(3)])
    kitchen.session.close()


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_200_kills_lose_nothing_that_was_acknowledged(busy: Busy) -> None:
    random = Random(20260303)
    for kill in range(KILLS):
        done = busy.live_and_die(random)
        busy.kitchen.clock.move(hours=1)
        busy.look_whole(done)
        if kill % COMPARED_EVERY == COMPARED_EVERY - 1:
            assert comparing.compare(busy.kitchen.session.database) == []
    everything_told_is_there_once(busy)
    assert busy.kitchen.verify().good
    # The kills met what they were meant to meet.
    assert busy.met["not yet recorded"] > KILLS / 10
    assert busy.met["recorded, not acknowledged"] > 0
    assert len(busy.acts) > 2 * KILLS


def test_a_few_kills_lose_nothing_either(busy: Busy) -> None:
    random = Random(7)
    for _ in range(3):
        done = busy.live_and_die(random)
        busy.look_whole(done)
    everything_told_is_there_once(busy)
    assert busy.kitchen.verify().good


def everything_told_is_there_once(busy: Busy) -> None:
    """Each act's id stands in one entry as it was typed, and no entry has another's; open readings wait."""
    by_kind = {act: busy.kitchen.entries(kind) for act, kind in KINDS.items()}
    taken = {one.payload["reading"]: one.payload for one in by_kind["reading"] if one.payload["role"] != "as_left"}
    by_kind["reading"] = [one for one in by_kind["reading"] if one.payload["role"] != "as_left"]
    recorded = Counter((act, one.payload[ID_OF[act]]) for act, entries in by_kind.items() for one in entries)
    told = {(act["act"], act[ID_OF[act["act"]]]) for act in busy.acts if act["act"] in ID_OF}
    assert recorded == Counter(told)
    readings = [act for act in busy.acts if act["act"] == "reading"]
    assert all(taken[act["reading"]]["shown"] == act["shown"] for act in readings)
    with busy.kitchen.session.reading() as connection:
        baths = {act["bath"] for act in readings}
        waiting = {one.reading: one.fact for bath in baths for one in queries.open_readings(connection, bath)}
        checked = {act["check"] for act in readings if queries.check(connection, act["check"]) is not None}
    # Each reading either waits for its repeats or is in a check that is recorded.
    assert waiting == {act["reading"]: act["check"] for act in readings if act["check"] not in checked}
