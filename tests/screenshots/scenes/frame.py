"""What stands in place of the places, above them and over them: first start, trouble, notices, sheets."""

from pathlib import Path

from registry.services.problems import KnownError
from tests.screenshots.scenes import Scene
from tests.screenshots.stage import Stage, settle
from ui.trouble import tell_mistake


def frame_first_start(stage: Stage) -> None:
    """Nothing lies there yet: a few questions."""


def frame_cannot_open(stage: Stage) -> None:
    """What lies there is no registry."""


def frame_notice(stage: Stage) -> None:
    stage.go("shift")
    stage.frame.take_tag("NOSUCH")
    settle()


def frame_due(stage: Stage) -> None:
    """What is due is told by itself."""
    stage.go("shift")
    stage.frame.telling.tick()
    settle()


def frame_due_next(stage: Stage) -> None:
    """And what else is due, after a press."""
    frame_due(stage)
    stage.press("notice.next")


def frame_disk_full(stage: Stage) -> None:
    stage.go("shift")
    stage.desk.notice_of(KnownError("disk_full", path="E:/kitchen"))
    settle()


def frame_our_mistake(stage: Stage) -> None:
    stage.go("shift")
    lines = "\n".join(f'  File "page.py", line {n}, in show\n    self.list.set_rows(rows)' for n in (118, 94, 61))
    log = Path("thermometer-registry") / "trouble.log"
    tell_mistake(stage.frame, f"Traceback (most recent call last):\n{lines}\nKeyError: 'rows'", log)
    settle()


def frame_who_and_where(stage: Stage) -> None:
    stage.go("shift")
    stage.frame.column.who_wanted.emit()
    settle()


def frame_nobody(stage: Stage) -> None:
    """Nobody signed in: only looking."""
    stage.go("shift")


SCENES = (
    Scene(frame_first_start, world="nothing", main=True, place="frame"),
    Scene(frame_cannot_open, world="broken", main=True, place="frame"),
    Scene(frame_notice),
    Scene(frame_due, main=True, place="frame", world="demo", unit="F"),
    Scene(frame_due_next, main=True, place="frame", world="demo", unit="F"),
    Scene(frame_disk_full),
    Scene(frame_our_mistake, main=True, place="frame"),
    Scene(frame_who_and_where, main=True, place="frame"),
    Scene(frame_nobody, role=""),
)
