"""Several at once: two threads at one button, two programs at one file, two installations at one server."""

import json
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from random import Random
from threading import Barrier, Lock
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.journal import signing
from registry.records.chain import ChainOpened, InstallationAccepted
from registry.services import checks
from registry.services.session import SYSTEM, Session, open_session
from registry.store import comparing, transaction
from registry.store.database import open_database
from registry.store.transaction import Signer
from tests.robustness.acts import Act, perform, rounds
from tests.services.kitchen import EARLY, MACHINE, Clock, Kitchen

PRESSES = 4


def is_whole(kitchen: Kitchen) -> None:
    assert kitchen.verify().findings == []
    assert comparing.compare(kitchen.session.database) == []


def at_once(*doing: Callable[[], Any]) -> list[Any]:
    """Do things in threads that start together; what each gives, or what it raises."""
    start = Barrier(len(doing))

    def do(one: Callable[[], Any]) -> Any:
        start.wait(10)
        return one()

    with ThreadPoolExecutor(len(doing)) as pool:
        return [future.result(60) for future in [pool.submit(do, one) for one in doing]]


class SharedClock(Clock):
    """A clock that several threads look at."""

    def __init__(self) -> None:
        super().__init__(EARLY)
        self._lock = Lock()

    def __call__(self) -> int:
        with self._lock:
            return super().__call__()


# --- a double press ------------------------------------------------------------------------------------------


def test_pressed_twice_at_once_records_once(any_kitchen: Kitchen) -> None:
    """Each act of a round, by four threads at the same moment."""
    kitchen = any_kitchen
    shared = replace(kitchen.session, clock=SharedClock())
    shared.clock.move(hours=1)  # type: ignore[attr-defined]
    dials, random = [kitchen.dial() for _ in range(4)], Random(11)
    acts = rounds(shared, random, kitchen.site, dials, dials)
    seen = set()
    for _ in range(40):
        act = next(acts)
        before = kitchen.count()
        results = at_once(*[lambda act=act: perform(shared, kitchen.lead, act)] * PRESSES)
        added = kitchen.entries()[before:]
        assert len({json.dumps(one.payload, sort_keys=True) for one in added}) == len(added)
        assert [one.kind for one in added].count(_first_kind(act)) == (1 if added else 0)
        assert all(_shown(one) == _shown(results[0]) for one in results), act
        again = kitchen.count()
        perform(shared, kitchen.lead, act)
        assert kitchen.count() == again
        seen.add(act["act"])
    assert seen >= {"bath", "reading", "judge"}
    is_whole(kitchen)


def _first_kind(act: Act) -> str:
    return {
        "bath": "bath_made",
        "reading": "reading_taken",
        "judge": "bath_judged",
        "adjustment": "adjusted",
        "incident": "incident_reported",
    }[act["act"]]


def _shown(result: Any) -> Any:
    """What a person sees of a result: rows by check, readings and word."""
    if isinstance(result, checks.Row):
        return (result.check, result.readings, result.judged, result.recorded)
    return result


def test_no_reading_and_not_checked_are_recorded_once_too(kitchen: Kitchen) -> None:
    bath, probe, new_id = kitchen.ice(), kitchen.enrol(), kitchen.session.new_id
    reading, absence, shift = new_id(), new_id(), new_id()
    for _ in range(2):
        checks.no_reading(kitchen.session, kitchen.lead, bath, probe, "battery_flat", reading=reading)
        checks.not_checked(
            kitchen.session, kitchen.lead, probe, kitchen.site, shift, "2026-03-03", "lent", absence=absence
        )
    assert [one.payload["why"] for one in kitchen.entries("reading_taken")] == ["battery_flat"]
    assert [one.payload["why"] for one in kitchen.entries("not_checked")] == ["lent"]


def test_an_adjustment_pressed_again_says_again_how_it_was_judged(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "4 C", "4 C", "4 C")
    given = kitchen.adjusted(check, "nut", "0 C")
    first, second = (checks.adjust(kitchen.session, kitchen.lead, given) for _ in range(2))
    assert first == second
    assert second is not None
    assert second.outcome == "pass"


# --- two programs at one file --------------------------------------------------------------------------------


def in_children(*doing: Callable[[], None]) -> None:
    """Do things in processes of their own at the same time; all have to end well."""
    ours, theirs = os.pipe()
    pids = []
    for one in doing:
        pid = os.fork()
        if pid == 0:
            try:
                one()
                os._exit(0)
            except BaseException as error:
                os.write(theirs, f"{type(error).__name__}: {error}".encode()[:500])
                os._exit(1)
        pids.append(pid)
    statuses = [os.waitpid(pid, 0)[1] for pid in pids]
    os.close(theirs)
    with os.fdopen(ours, "rb") as said:
        assert (statuses, said.read()) == ([0] * len(doing), b"")


def test_two_programs_at_one_file(kitchen: Kitchen) -> None:
    """One chain, which they continue in turns; each act stands once, and nothing folded is lost."""
    probes, dials = [kitchen.enrol() for _ in range(3)], [kitchen.dial() for _ in range(3)]
    before = kitchen.count()
    kitchen.session.close()  # a connection must not be carried into a child

    def record(number: int) -> None:
        session = open_session(kitchen.home, clock=kitchen.clock, machine=MACHINE)
        acts = rounds(session, Random(number), kitchen.site, probes, dials)
        for _ in range(60):
            perform(session, kitchen.lead, next(acts))
        session.close()

    in_children(lambda: record(1), lambda: record(2), lambda: record(3))
    assert kitchen.reopen().why_read_only is None
    assert kitchen.count() > before + 3 * 60
    baths = [one.payload["bath"] for one in kitchen.entries("bath_made")]
    assert len(set(baths)) == len(baths) > 9
    is_whole(kitchen)


# --- two installations at one server -------------------------------------------------------------------------


def second_installation(first: Kitchen, url: str, number: int) -> Session:
    """Another key with its own chain in the same database, welcomed by the first."""
    key = Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32)
    chain, database, clock = signing.public_bytes(key).hex(), open_database(url), SharedClock()
    clock.move(hours=number)
    with database.writing() as connection:
        chain_no = transaction.new_chain(connection, chain)
    session = replace(
        first.session, database=database, home=None, signer=Signer(key, chain, chain_no), clock=clock, random=os.urandom
    )
    with session.recording(SYSTEM) as entries:
        entries.add(ChainOpened(name=f"Desk {number}", opened_because="first_start", program="1"))
    with first.session.recording(first.admin, "officer") as entries:
        entries.replace(InstallationAccepted(accepted=chain, whole_group=True))
    return session


@pytest.mark.slow
@pytest.mark.parametrize("acts_each", [25, pytest.param(400, marks=pytest.mark.slow)])
def test_two_installations_at_the_same_thermometers(tmp_path: Path, postgres_url: str, acts_each: int) -> None:
    """Each records its own rounds, and presses what the others have just done: nobody fails or waits for ever."""
    from tests.services.kitchen import open_kitchen

    kitchen = open_kitchen(tmp_path / "kitchen", postgres_url)
    probes, dials = [kitchen.enrol() for _ in range(2)], [kitchen.dial() for _ in range(2)]
    kitchen.clock = kitchen.session.clock = SharedClock()
    kitchen.clock.move(hours=1)
    sessions = [kitchen.session, *(second_installation(kitchen, postgres_url, number) for number in (2, 3))]
    shared: list[Act] = []

    def record(number: int, session: Session) -> int:
        random = Random(number)
        acts = rounds(session, random, kitchen.site, probes, dials)
        for _ in range(acts_each):
            act = next(acts)
            perform(session, kitchen.lead, act)
            shared.append(act)
            if random.random() < 0.2:
                _join_in(session, kitchen, random.choice(shared))
        return number

    assert at_once(*(lambda n=n, s=s: record(n, s) for n, s in enumerate(sessions))) == [0, 1, 2]
    is_whole(kitchen)
    with kitchen.session.reading() as connection:
        heads = [transaction.head(connection, chain_no).seq for chain_no in (1, 2, 3)]
    assert min(heads) > acts_each
    for session in sessions[1:]:
        session.close()
    kitchen.session.close()


def _join_in(session: Session, kitchen: Kitchen, act: Act) -> None:
    """Do something to what another installation is at: judge its bath again, press its reading once more."""
    if "bath" in act:
        perform(session, kitchen.lead, {"act": "judge", "bath": act["bath"], "judged": "accepted"})
    perform(session, kitchen.lead, act)
