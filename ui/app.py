"""Starts the window: first it is shown, then the registry is opened in a thread beside it."""

from __future__ import annotations

import argparse
import logging
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication

from registry.services import settings, troubles
from registry.services.drafts import WindowDrafts
from registry.services.problems import KnownError
from registry.wording import refusals, say
from ui import theme
from ui.asking import Dialogs
from ui.desk import Desk
from ui.frame import Frame, dress
from ui.work import AtOnce, Runner, Threads

if TYPE_CHECKING:
    from registry.services.session import Session

SIZE = (1280, 800)


def application(arguments: Sequence[str] = ()) -> QApplication:
    """The one application of this process, with the shipped faces."""
    app = QApplication.instance() or QApplication([sys.argv[0], *arguments])
    assert isinstance(app, QApplication)
    app.setStyle("Fusion")
    app.setApplicationName("Thermometer Registry")
    theme.load_fonts()
    return app


def open_registry(home: Path) -> Session:
    """Open it and finish what a crash left undone; imports what the pages need, beside the window."""
    import ui.shift.page  # noqa: F401  the first page brings SQLAlchemy along
    from registry.services import upkeep
    from registry.services.session import open_session

    session = open_session(home)
    upkeep.finish_work(session)
    return session


class Opening(QObject):
    """A frame whose registry is being opened: starts at its first paint."""

    def __init__(self, frame: Frame, opener: Callable[[Path], Session] = open_registry) -> None:
        super().__init__(frame)
        self.frame, self.desk, self._opener = frame, frame.desk, opener
        frame.first_painted.connect(self._start)

    def _start(self) -> None:
        QTimer.singleShot(0, self.open)

    def open(self) -> None:
        """Open what is there; where nothing is, the first start asks its few questions."""
        if not (self.desk.home / "registry.db").exists():
            self._first_start()
            return
        home, opener = self.desk.home, self._opener
        self.desk.in_background(lambda _progress: opener(home), self._opened, self._failed)

    def _first_start(self, session: Session | None = None) -> None:
        from ui.setup.first_start import FirstStartPage

        page = FirstStartPage(self.desk, session)
        page.started.connect(self._opened)
        self.frame.show_alone(page)

    def _opened(self, session: Any) -> None:
        from registry.services import set_up
        from ui.signing_in import settle_who_and_where

        desk = self.desk
        far = set_up.how_far(session)
        if far == "not_begun":
            session.close()
        if far != "ready":  # cut off, or begun at the command line: it is carried on with
            self._first_start(session if far == "no_site" else None)
            return
        desk.session = session
        with session.reading() as connection:
            desk.group = session.group(connection).payload
        if desk.drafts is None:
            try:
                desk.drafts = WindowDrafts.open(desk.home)
            except KnownError as trouble:
                desk.notice_of(trouble)
        settle_who_and_where(desk)
        desk.is_open = True
        self.frame.opened()
        if session.why_read_only is not None:
            desk.notice(refusals.trouble(session.why_read_only, desk.language))

    def _failed(self, error: Exception) -> None:
        from ui.trouble import CannotOpen

        if not isinstance(error, KnownError):
            raise error
        page = CannotOpen(self.desk, error)
        page.again.connect(self.open)
        self.frame.show_alone(page)


class Report:
    """Our own mistakes: logged without names or payloads, told in a sheet, and the window goes on."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame

    def __call__(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        from ui.trouble import tell_mistake

        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        log = troubles.note(error, self.frame.desk.home)
        logging.getLogger(__name__).error("our mistake: %s", troubles.trace(error).splitlines()[0])
        tell_mistake(self.frame, troubles.trace(error), log)


def window(home: Path, jobs: Runner | None = None) -> tuple[Frame, Opening]:
    """A frame for the registry in a folder, not yet shown."""
    application()
    desk = Desk(home, jobs or Threads())
    dress(desk)
    frame = Frame(desk)
    desk.setParent(frame)
    desk.ask = Dialogs(frame, desk)
    return frame, Opening(frame)


def has_screen() -> bool:
    """Whether a window would be seen here."""
    if os.environ.get("QT_QPA_PLATFORM"):
        return os.environ["QT_QPA_PLATFORM"] not in ("offscreen", "minimal")
    return sys.platform != "linux" or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def draw(home: Path, picture: Path) -> None:
    """The window as it opens, drawn to a file instead of a screen."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    app = application()
    frame, opening = window(home, AtOnce())
    frame.resize(*SIZE)
    frame.show()
    opening.open()
    app.processEvents()
    frame.grab().save(str(picture))
    frame.close()


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window on a registry; where there is no screen, say so, or draw it to a file."""
    parser = argparse.ArgumentParser(prog="./run window", description=main.__doc__)
    parser.add_argument("--home", type=Path, default=settings.default_home(), help="the folder of the registry")
    parser.add_argument("--picture", type=Path, help="draw the window to this file and end")
    asked = parser.parse_args(argv)
    language = settings.language_of_system()
    if asked.picture is not None:
        draw(asked.home, asked.picture)
        return 0
    if not has_screen():
        print(say("frame.no_screen", language), file=sys.stderr)
        return 1
    app = application()
    frame, _ = window(asked.home)
    sys.excepthook = Report(frame)
    frame.resize(*SIZE)
    frame.show()
    return app.exec()


if __name__ == "__main__":
    sys.exit(main())
