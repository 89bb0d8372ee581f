"""Starts the window: an empty one is shown first; what fills it, then the registry, are loaded beside it."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from registry.services import settings
from registry.services.problems import KnownError
from ui import theme
from ui.window import Window

if TYPE_CHECKING:  # imported once the empty window is painted
    from registry.services.session import Session
    from ui.frame import Frame
    from ui.work import Progress, Runner

SIZE = (1280, 800)
AFTER_PAINT_MS = 60  # the list is laid out and painted by then


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
    load_page()
    from registry.services import upkeep
    from registry.services.session import open_session

    session = open_session(home)
    try:
        upkeep.finish_work(session)
        look_once(session)
    except BaseException:
        session.close()
        raise
    return session


def load_page(_progress: Progress | None = None) -> None:
    """Import what the first page needs; it brings SQLAlchemy along."""
    with uncollected():
        import ui.shift.page
        import ui.signing_in  # noqa: F401


def load_rest(_progress: Progress | None = None) -> None:
    """Import what a reading is judged with, which the first key would wait for, and the pages not gone to yet."""
    with uncollected():
        import scipy.special  # noqa: F401

        import ui.drift.page
        import ui.happened.page
        import ui.proof.page
        import ui.setup.page
        import ui.thermometers.page  # noqa: F401


def look_once(session: Session) -> None:
    """Read a list and write a number, for nothing: tables, queries and regions are then at hand for the window."""
    from registry.services import places, shift_list
    from registry.wording import format

    with session.reading() as connection:
        sites = places.sites(connection)
    for site in sites[:1]:
        shift_list.start_of_shift(session, site.subject)
        with session.reading() as connection:
            region = session.group(connection).payload.region
        format.number(Decimal("0.5"), region)
        format.instant(session.clock(), site.payload.zone, region)


@contextmanager
def uncollected() -> Iterator[None]:
    """Imports make much that stays: not looked through again and again, a start takes a fifth less."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


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
        self.desk.find_local()
        if self.desk.trouble is not None:
            self._failed(self.desk.trouble)
            return
        if not (self.desk.home / "registry.db").exists():
            self._first_start()
            return
        home, opener = self.desk.home, self._opener

        def opened(progress: Progress) -> Session:
            session = opener(home)
            if not progress(1):  # closed meanwhile, nobody will be told of it
                session.close()
            return session

        self.desk.in_background(opened, self._opened, self._failed)

    def _first_start(self, session: Session | None = None) -> None:
        from ui.setup.first_start import FirstStartPage

        page = FirstStartPage(self.desk, session)
        page.started.connect(self._opened)
        self.frame.show_alone(page)

    def _opened(self, session: Any) -> None:
        from registry.services import set_up
        from registry.services.drafts import WindowDrafts
        from registry.wording import refusals
        from ui.signing_in import settle_who_and_where

        desk = self.desk
        if desk.is_closed:  # told of just after
            session.close()
            return
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
        QTimer.singleShot(AFTER_PAINT_MS, self, self._get_ready)
        if session.why_read_only is not None:
            desk.notice(refusals.trouble(session.why_read_only, desk.language))

    def _get_ready(self) -> None:
        from ui.work import Job

        self.desk.jobs.start(Job(load_rest))

    def _failed(self, error: Exception) -> None:
        from ui.trouble import CannotOpen

        if not isinstance(error, KnownError):
            raise error
        page = CannotOpen(self.desk, error)
        page.again.connect(self.open)
        self.frame.show_alone(page)


class Report:
    """Our own mistakes: logged without names or payloads, told in one sheet at a time, and the window goes on."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self._telling = False

    def __call__(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        import logging

        from registry.services import troubles
        from ui.trouble import tell_mistake

        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        log = troubles.note(error, self.frame.desk.home)
        logging.getLogger(__name__).error("our mistake: %s", troubles.trace(error).splitlines()[0])
        if not self._telling:  # painting that fails fails again behind the sheet
            self._telling = True
            tell_mistake(self.frame, troubles.trace(error), log).finished.connect(self._told)

    def _told(self, _how: int) -> None:
        self._telling = False


def window(home: Path, jobs: Runner | None = None) -> tuple[Frame, Opening]:
    """A frame for the registry in a folder, not yet shown."""
    from ui.asking import Dialogs
    from ui.desk import Desk
    from ui.frame import Frame, dress
    from ui.work import Threads

    application()
    desk = Desk(home, jobs or Threads())
    dress(desk)
    frame = Frame(desk)
    desk.setParent(frame)
    desk.ask = Dialogs(frame, desk)
    return frame, Opening(frame)


def load(_progress: Progress | None = None) -> None:
    """Import what fills the window, and look up its sentences and faces; no widget is made here."""
    with uncollected():
        import ui.asking
        import ui.frame  # noqa: F401
        from registry import resources
        from registry.wording import say

    say("frame.opening", settings.language_of_system())
    resources.font_path("NotoSans-Regular")


class Starting(QObject):
    """The window on a registry, from the empty sheet on."""

    def __init__(self, home: Path) -> None:
        super().__init__()
        self.home = home
        self.frame: Frame | None = None
        self.window = Window(look_of(home))
        self.window.resize(*SIZE)
        self.window.first_painted.connect(self._painted)

    def _painted(self) -> None:
        QTimer.singleShot(0, self._load)

    def _load(self) -> None:
        from ui.work import Job, Threads

        self._jobs, parts = Threads(), Job(load)
        parts.succeeded.connect(self._loaded)
        parts.failed.connect(self._failed)
        self._jobs.start(parts)

    def _loaded(self, _nothing: object) -> None:
        """Closed meanwhile, it stays so."""
        if not self.window.isVisible():
            return
        self.frame, _ = window(self.home, self._jobs)
        sys.excepthook = Report(self.frame)
        self.window.hold(self.frame)

    def _failed(self, error: Exception) -> None:
        """Without its parts there is no window to tell it in."""
        QApplication.exit(1)
        raise error


def look_of(home: Path) -> theme.Look:
    """The colours that were chosen; by the system's palette, since asking Qt for its scheme takes 15 ms at first."""
    try:
        chosen = settings.setting(settings.local_file(home), "theme")
    except (KnownError, OSError):
        chosen = settings.BY_SYSTEM
    by_system = QGuiApplication.palette().window().color().lightness() < 128
    return theme.look(dark=chosen == "dark" or (chosen == settings.BY_SYSTEM and by_system))


def has_screen() -> bool:
    """Whether a window would be seen here."""
    if os.environ.get("QT_QPA_PLATFORM"):
        return os.environ["QT_QPA_PLATFORM"] not in ("offscreen", "minimal")
    return sys.platform != "linux" or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def draw(home: Path, picture: Path) -> None:
    """The window as it opens, drawn to a file instead of a screen."""
    from ui.work import AtOnce

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
    if asked.picture is not None:
        draw(asked.home, asked.picture)
        return 0
    if not has_screen():
        from registry.wording import say

        print(say("frame.no_screen", settings.language_of_system()), file=sys.stderr)
        return 1
    app = QApplication([sys.argv[0]])
    starting = Starting(asked.home)
    starting.window.show()
    return app.exec()


if __name__ == "__main__":
    sys.exit(main())
