"""Of one kind of work only the newest request counts, in whatever order jobs end."""

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import QObject

from ui.desk import Desk
from ui.newest import Newest
from ui.work import AtOnce, Job


class Held(AtOnce):
    """Keeps jobs until a test lets them run, in the order that it wants."""

    def __init__(self) -> None:
        self.jobs: list[Job] = []

    def start(self, job: Job) -> Job:
        self.jobs.append(job)
        return job


@pytest.fixture
def held(desk: Desk) -> Iterator[Held]:
    before, desk.jobs = desk.jobs, Held()
    yield desk.jobs
    desk.jobs = before


def test_an_older_answer_is_never_shown_over_a_newer_one(desk: Desk, held: Held) -> None:
    shown: list[Any] = []
    newest = Newest(desk, desk, shown.append)
    newest.ask(lambda _: "old")
    newest.ask(lambda _: "new")
    old, new = held.jobs
    new.run()
    old.run()
    old.succeeded.emit("old")  # as one that had ended before it was told to stop
    assert shown == ["new"]


def test_an_older_one_is_told_to_stop_and_its_failure_is_nobodys(desk: Desk, held: Held) -> None:
    shown: list[Any] = []
    failed: list[Exception] = []
    went: list[int] = []
    newest = Newest(desk, desk, shown.append, failed.append, went.append)
    goes_on: list[bool] = []

    def work(progress: Any) -> str:
        newest.ask(lambda _: "new")  # asked for while it runs
        goes_on.append(progress(5))
        raise ValueError("broken")

    newest.ask(work)
    held.jobs[0].run()
    assert (goes_on, failed, went, shown) == ([False], [], [], [])
    held.jobs[1].run()
    assert shown == ["new"]


def test_the_newest_tells_how_far_it_is_and_why_it_failed(desk: Desk, held: Held) -> None:
    failed: list[Exception] = []
    went: list[int] = []
    newest = Newest(desk, QObject(desk), lambda _: None, failed.append, went.append)

    def work(progress: Any) -> None:
        progress(5)
        raise ValueError("broken")

    newest.ask(work)
    held.jobs[0].run()
    assert went == [5]
    assert [str(one) for one in failed] == ["broken"]
