"""Starts the window: an empty one is shown first; what fills it, then the registry, are loaded beside it."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from decimal import Decimal
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from registry.services import settings
from registry.services.problems import KnownError
from ui import theme
from ui.imports import in_turn, uncollected
from ui.window import Window

if TYPE_CHECKING:  # imported once the empty window is painted
    from registry.services.session import Session
    from registry.services.shift_list import ShiftView
    from ui.frame import Frame
    from ui.work import Progress, Runner

PLACES = ("shift", "thermometers", "drift", "proof", "setup")  # of `ui.places`, which comes after the first paint
SIZE = (1280, 800)
AFTER_PAINT_MS = 60  # the list is laid out and painted by then
IDLE_MS, DAY_MS = 120_000, 24 * 3600 * 1000  # when background work begins, and again
PARTS = ("registry.wording", "ui.parts", "ui.forms", "ui.asking", "ui.column", "ui.frame")  # of what fills the window


def application(arguments: Sequence[str] = ()) -> QApplication:
    """The one application of this process, with the shipped faces."""
    app = QApplication.instance() or QApplication([sys.argv[0], *arguments])
    assert isinstance(app, QApplication)
    app.setStyle("Fusion")
    app.setApplicationName("Thermometer Registry")
    theme.load_fonts()
    return app


def open_registry(home: Path) -> Session:
    """Open it and finish what a crash left undone; imports what the first page needs, beside the window."""
    load_services()
    from registry.services import unfinished
    from registry.services.session import open_session

    session = open_session(home)
    try:
        unfinished.finish_work(session)
    except BaseException:
        session.close()
        raise
    return session


def load_services() -> None:
    """Import what the first page asks; it brings SQLAlchemy along."""
    with uncollected():
        import registry.services.lists
        import registry.services.pins
        import registry.services.shift_keyed
        import registry.services.typed
        import registry.services.unfinished
        import registry.wording.closing  # noqa: F401


def load_rest(_progress: Progress | None = None) -> None:
    """Import what a reading is judged with, which the first key would wait for, and what the other places ask."""
    with uncollected():
        import scipy.special  # noqa: F401

        import registry.services.activity
        import registry.services.answer_sheet
        import registry.services.bath_doubt
        import registry.services.certificates
        import registry.services.incidents
        import registry.services.monthly_log
        import registry.services.table
        import registry.services.thermometer_page
        import registry.services.upkeep  # noqa: F401


def first_list(session: Session, site: str | None) -> ShiftView | None:
    """The list of a site, or of the first there is. Formats a number too: tables and regions are then at hand."""
    from registry.services import places, shift_list
    from registry.wording import format

    with session.reading() as connection:
        sites = {one.subject: one.payload for one in places.sites(connection)}
        region = session.group(connection).payload.region if sites else ""
    if not sites:
        return None
    here = site if site in sites else next(iter(sites))
    format.number(Decimal("0.5"), region)
    format.instant(session.clock(), sites[here].zone, region)
    return shift_list.start_of_shift(session, here)


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
        site = settings.remembered(self.desk.local, "site")

        def opened(progress: Progress) -> tuple[Session, ShiftView | None]:
            session = opener(home)
            try:
                first = first_list(session, site)
            except BaseException:
                session.close()
                raise
            if not progress(1):  # closed meanwhile, nobody will be told of it
                session.close()
            return session, first

        self.desk.in_background(opened, self._read, self._failed)

    def _first_start(self, session: Session | None = None) -> None:
        from ui.setup.first_start import FirstStartPage

        page = FirstStartPage(self.desk, session)
        page.started.connect(self._opened)
        self.frame.show_alone(page)

    def _read(self, found: Any) -> None:
        self._opened(*found)

    def _opened(self, session: Any, first: ShiftView | None = None) -> None:
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
        desk.jobs.in_pieces(self._filled(first if first is not None and first.site == desk.site.subject else None))
        if session.why_read_only is not None:
            desk.notice(refusals.trouble(session.why_read_only, desk.language))

    def _filled(self, first: ShiftView | None) -> Iterator[None]:
        yield from self.frame.opened(first)
        QTimer.singleShot(AFTER_PAINT_MS, self, self._get_ready)

    def _get_ready(self) -> None:
        self.desk.in_background(load_rest, self._load_places)

    def _load_places(self, _nothing: object) -> None:
        from ui import places

        self.desk.jobs.in_pieces(chain.from_iterable(places.load(one) for one in places.PARTS))
        self.frame.telling.start()
        QTimer.singleShot(IDLE_MS, self, self._work_behind)

    def _work_behind(self) -> None:
        """What is due in the background, once the first keys are long pressed; and again each day."""
        if self.desk.is_open:
            self.desk.in_background(self._behind, self._worked_behind)

    def _behind(self, progress: Progress) -> object:
        from registry.services import jobs

        return jobs.run(self.desk.session, progress)

    def _worked_behind(self, _done: object) -> None:
        QTimer.singleShot(DAY_MS, self, self._work_behind)

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
        from ui.work import Threads

        self._jobs = Threads()
        self._jobs.in_pieces(self._filled())

    def _filled(self) -> Iterator[None]:
        """Without its parts there is no window to tell it in. Closed meanwhile, it stays so."""
        try:
            yield from in_turn(PARTS)
            if self.window.isVisible():
                self.frame, _ = window(self.home, self._jobs)
                sys.excepthook = Report(self.frame)
                self.window.hold(self.frame)
        except Exception:
            QApplication.exit(1)
            raise


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


def draw(home: Path, picture: Path, place: str = "") -> bool:
    """The window as it opens, or at a place, drawn to a file instead of a screen; whether that could be written."""
    from ui.work import AtOnce

    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    app = application()
    frame, opening = window(home, AtOnce())
    frame.resize(*SIZE)
    frame.show()
    opening.open()
    _laid_out(app)
    if place:
        frame.go(place)
        _laid_out(app)
    saved = frame.grab().save(str(picture))
    frame.close()
    return saved


def _laid_out(app: QApplication) -> None:
    """Layouts take several rounds: wrapped words tell their height, and lists what is in sight, once their width is
    known."""
    for _ in range(8):  # four do, of all places
        app.sendPostedEvents()
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        app.processEvents()


def _without_screen(home: Path, picture: Path | None, language: str, place: str = "") -> int:
    """Draw the window and say where that lies, or that it cannot be drawn there; without a file, that none opened."""
    from registry.wording import say

    if picture is not None and draw(home, picture, place):
        print(say("frame.saved", language, path=picture.absolute()))
        return 0
    code = "no_screen" if picture is None else "not_drawn"
    print(say(f"frame.{code}", language, path=picture), file=sys.stderr)
    return 1


def _choose_language(home: Path, language: str) -> str:
    """What it was before; "" where nothing may be written, which the window says itself."""
    with suppress(KnownError, OSError):
        local = settings.local_file(home)
        before = settings.setting(local, "language")
        settings.choose(local, "language", language)
        return before
    return ""


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window on a registry; where there is no screen, say so, or draw it to a file."""
    parser = argparse.ArgumentParser(prog="./run window", description=main.__doc__)
    parser.add_argument("--home", type=Path, default=settings.default_home(), help="the folder of the registry")
    parser.add_argument("--picture", type=Path, help="draw the window to this file and end")
    parser.add_argument("--place", choices=PLACES, default="", help="what --picture shows")
    languages = settings.SETTINGS["language"].choices[1:]
    parser.add_argument("--language", choices=languages, help="of this window from now on")
    asked = parser.parse_args(argv)
    before = _choose_language(asked.home, asked.language) if asked.language else ""
    if asked.picture is not None or not has_screen():
        language = asked.language or settings.language_of_system()
        try:
            return _without_screen(asked.home, asked.picture, language, asked.place)
        finally:  # a picture changes nothing of the window
            if before:
                _choose_language(asked.home, before)
    app = QApplication([sys.argv[0]])
    starting = Starting(asked.home)
    starting.window.show()
    return app.exec()


if __name__ == "__main__":
    sys.exit(main())
