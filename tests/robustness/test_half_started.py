"""A first start, or carrying on with a new key, that is cut off anywhere: doing it again ends well."""

import os
import select
import signal
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from registry.services import rules, start, upkeep
from registry.services.session import KEY_NAME, Session, open_session
from registry.services.start import FirstStart
from registry.services.upkeep import CarryingOn
from registry.store import checking, keyfile, queries, schema, transaction
from registry.store.errors import KnownError
from tests.services.kitchen import Kitchen, another, open_kitchen

ASKED = FirstStart("Harbour Kitchens", "US", "Ada Moreno", "AM")
MACHINE = "a" * 64


def in_child(do: Callable[[], object]) -> int:
    """Do it in a child; returns its process."""
    pid = os.fork()
    if pid == 0:
        try:
            do()
        finally:
            os._exit(0)
    return pid


def cut_off(do: Callable[[], object], after_s: float) -> None:
    """Do it in a child that is killed so long after its start."""
    pid = in_child(do)
    select.select([], [], [], after_s)
    os.kill(pid, signal.SIGKILL)  # one that has ended is there until it is waited for
    os.waitpid(pid, 0)


def begin(home: Path) -> Session:
    return start.first_start(home, ASKED, machine=MACHINE)[0]


def state(home: Path) -> str:
    """What opening a folder says."""
    try:
        session = open_session(home, machine=MACHINE)
    except KnownError as trouble:
        return trouble.code
    with session.reading() as connection:
        count = queries.count_entries(connection)
    session.close()
    return session.why_read_only or ("whole" if count else "empty")


def is_whole(home: Path) -> None:
    session = open_session(home, machine=MACHINE)
    assert session.why_read_only is None
    assert checking.verify(session.database, deep=True).findings == []
    with session.reading() as connection:
        assert session.group(connection).payload.name == "Harbour Kitchens"
    session.close()


def first_starts_cut_off(place: Path, count: int, random: Random) -> Counter[str]:
    """Cut off at moments spread over what a whole start takes here, so that a slow machine meets the same states."""
    place.mkdir(exist_ok=True)
    begin(place / "first").close()  # it imports, which the children do not do again
    began = time.perf_counter()
    begin(place / "whole").close()
    longest = 1.2 * (time.perf_counter() - began)
    met: Counter[str] = Counter()
    for number in range(count):
        home = place / str(number)
        cut_off(lambda home=home: begin(home), random.uniform(0.001, longest))  # type: ignore[misc]
        met[found := state(home)] += 1
        if found != "whole":
            begin(home).close()
        is_whole(home)
    return met


@pytest.mark.slow
def test_a_first_start_cut_off_is_done_again(tmp_path: Path) -> None:
    assert first_starts_cut_off(tmp_path, 8, Random(3)).total() == 8


@pytest.mark.slow
def test_first_starts_cut_off_are_done_again(tmp_path: Path) -> None:
    """At any moment, each carried on and looked through whole; which halves are met is the test's below."""
    assert first_starts_cut_off(tmp_path, 300, Random(4)).total() == 300


@pytest.mark.parametrize(
    ("where", "what", "found"),
    [
        (schema, "create", "not_ours"),
        (keyfile.Marker, "save", "key_missing"),
        (keyfile.KeyFile, "create", "key_missing"),
        (transaction, "new_chain", "key_of_another_chain"),
        (Session, "recording", "empty"),
        (rules, "set_starting_rules", "empty"),
    ],
)
def test_a_first_start_killed_at_each_step_is_done_again(tmp_path: Path, where: object, what: str, found: str) -> None:
    """Each half of a start that a kill can leave, met every time and not by luck."""

    def killed_there() -> None:
        setattr(where, what, lambda *_, **__: os.kill(os.getpid(), signal.SIGKILL))
        begin(tmp_path)

    _, how = os.waitpid(in_child(killed_there), 0)
    assert os.WTERMSIG(how) == signal.SIGKILL
    assert state(tmp_path) == found
    begin(tmp_path).close()
    is_whole(tmp_path)


@pytest.mark.parametrize(
    ("where", "what"),
    [
        (keyfile.Marker, "save"),
        (keyfile.KeyFile, "create"),
        (transaction, "new_chain"),
        (Session, "recording"),
        (rules, "set_starting_rules"),
    ],
)
def test_trouble_at_each_step_of_a_first_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: object, what: str
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise KnownError("disk_full")

    with monkeypatch.context() as patch:
        patch.setattr(where, what, fail)
        with pytest.raises(KnownError, match="disk_full"):
            begin(tmp_path)
    begin(tmp_path).close()
    is_whole(tmp_path)


def test_half_a_key_does_not_stand_in_the_way(tmp_path: Path) -> None:
    begin(tmp_path / "other").close()
    (tmp_path / "home").mkdir()
    marker = keyfile.Marker(MACHINE, bytes(32), -1, bytes(32))
    marker.save(tmp_path / "home" / "registry.key.marker", sync=True)
    half = (tmp_path / "other" / KEY_NAME).read_bytes()[:60]
    (tmp_path / "home" / KEY_NAME).write_bytes(half)
    begin(tmp_path / "home").close()
    is_whole(tmp_path / "home")


def test_somebody_elses_file_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "registry.db").write_text("Dear customer")
    with pytest.raises(KnownError, match="exists_already"):
        begin(tmp_path)
    assert (tmp_path / "registry.db").read_text() == "Dear customer"
    assert {path.name for path in tmp_path.iterdir()} == {"registry.db"}


# --- carrying on ---------------------------------------------------------------------------------------------


def carry_on(kitchen: Kitchen, home: Path) -> Session:
    told = CarryingOn("moved", "Pier")
    return upkeep.carry_on(home, told, clock=kitchen.clock, random=os.urandom, machine=MACHINE)


def carryings_on_cut_off(place: Path, count: int, random: Random) -> Counter[str]:
    """A folder that came from another computer: cut off anywhere, the old key signs for the new one in the end."""
    kitchen, met = open_kitchen(place / "first"), Counter[str]()
    kitchen.session.close()
    for number in range(count):
        home = place / str(number)
        copied = another(kitchen, home)
        copied.reopen(machine="b" * 64)
        copied.session.close()
        marker = keyfile.Marker.load(home / "registry.key.marker")
        assert marker is not None
        keyfile.Marker("b" * 64, marker.chain, marker.seq, marker.hash).save(home / "registry.key.marker")
        cut_off(lambda copied=copied, home=home: carry_on(copied, home), random.uniform(0.001, 0.05))  # type: ignore[misc]
        met[found := state(home)] += 1
        if found != "whole":
            carry_on(copied, home).close()
        _signed_over(home)
    return met


def _signed_over(home: Path) -> None:
    session = open_session(home, machine=MACHINE)
    assert session.why_read_only is None
    assert checking.verify(session.database, deep=True).findings == []
    with session.reading() as connection:
        opened = [queries.entry_at(connection, chain_no, 0).payload for chain_no, _ in queries.chains(connection)]
    session.close()
    assert [one["opened_because"] for one in opened] == ["first_start", "moved"]
    assert "old_key_signature" in opened[1]


@pytest.mark.slow
def test_carrying_on_cut_off_is_done_again(tmp_path: Path) -> None:
    assert carryings_on_cut_off(tmp_path, 6, Random(5)).total() == 6


@pytest.mark.slow
def test_carryings_on_cut_off_are_done_again(tmp_path: Path) -> None:
    met = carryings_on_cut_off(tmp_path, 100, Random(6))
    assert "elsewhere" in met  # before anything was done, and then in between
    assert met.keys() & {"key_missing", "key_of_another_chain", "key_damaged"}
