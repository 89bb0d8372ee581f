"""The window on a copy of a world, played by keys and presses, and drawn to a picture with what lies over it."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QWidget

from registry.services import settings, thermometers
from registry.services.session import Session, open_session
from tests.screenshots.worlds import World
from tests.services.kitchen import Clock
from ui.app import Opening, application
from ui.asking import Dialogs
from ui.desk import Desk
from ui.frame import Frame, dress
from ui.work import AtOnce


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to look at a scene."""

    size: tuple[int, int] = (1280, 800)
    language: str = "en"
    dark: bool = False
    zoom: int = 100

    def name(self) -> str:
        shade = "dark" if self.dark else "light"
        return f"{self.size[0]}x{self.size[1]}-{self.language}-{shade}-{self.zoom}"


@dataclass
class Stage:
    """An open window, and what a scene does with it."""

    desk: Desk
    frame: Frame
    opening: Opening
    clock: Clock
    variant: Variant

    def go(self, place: str, tag: str = "") -> None:
        about = None
        if tag:
            with self.desk.session.reading() as connection:
                about = thermometers.find(connection, tag).row.thermometer
        self.frame.go(place, about)
        settle()

    def type(self, keys: str) -> None:
        """Type at whatever has the focus; a new line is Enter."""
        for key in keys:
            where = QApplication.focusWidget() or self.frame
            QTest.keyClick(where, Qt.Key.Key_Return if key == "\n" else key)  # type: ignore[call-overload]
        settle()

    def press(self, code: str) -> None:
        """Press the button in sight whose words have this code."""
        self.button(self.desk.say(code)).click()
        settle()

    def button(self, words: str) -> QAbstractButton:
        """The button in sight with these words; a sheet over the window comes first."""
        tops: list[QWidget] = [*sheets(), self.frame]
        for top in tops:
            for button in top.findChildren(QAbstractButton):
                if button.isVisible() and words in (button.text(), button.accessibleName()):
                    return button
        raise LookupError(f"no button in sight says: {words}")

    def wait(self, **by: float) -> None:
        self.clock.move(**by)

    def picture(self) -> QPixmap:
        """The window as it is seen, with the sheets over it."""
        settle()
        shot = self.frame.grab()
        painter = QPainter(shot)
        for sheet in sheets():  # where a window manager puts them: in the middle
            painter.drawPixmap((QPoint(*self.variant.size) - QPoint(sheet.width(), sheet.height())) / 2, sheet.grab())
        painter.end()
        return shot


def sheets() -> list[QDialog]:
    return [one for one in QApplication.topLevelWidgets() if isinstance(one, QDialog) and one.isVisible()]


def settle() -> None:
    """Layouts take several rounds: wrapped words tell their height only once they know their width."""
    for _ in range(4):
        QCoreApplication.sendPostedEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@contextmanager
def played(world: World, folder: Path, variant: Variant, role: str = "lead", unit: str = "C") -> Iterator[Stage]:
    """The window on a fresh copy of a world; it is closed and the copy gone at the end."""
    app = application()
    app.setCursorFlashTime(0)  # the caret is always in the picture
    home = folder / "copy"
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(world.home, home)
    _choose(home, world, variant, role, unit)
    clock = Clock(world.at)
    desk = Desk(home, AtOnce())
    dress(desk)
    frame = Frame(desk)
    desk.ask = Dialogs(frame, desk)
    opening = Opening(frame, _opener(clock, world.machine))
    frame.first_painted.disconnect()  # it is opened here, and not once more at the first paint
    frame.resize(*variant.size)
    frame.show()
    frame.activateWindow()
    QTest.qWaitForWindowActive(frame)
    opening.open()
    settle()
    try:
        yield Stage(desk, frame, opening, clock, variant)
    finally:
        for sheet in sheets():
            sheet.close()
        frame.close()
        frame.deleteLater()
        settle()
        shutil.rmtree(home, ignore_errors=True)


def _choose(home: Path, world: World, variant: Variant, role: str, unit: str) -> None:
    local = settings.local_file(home)
    chosen = {"theme": "dark" if variant.dark else "light", "language": variant.language, "unit": unit}
    for name, value in (chosen | {"text_size": str(variant.zoom)}).items():
        settings.choose(local, name, value)
    if role in world.people:
        settings.remember(local, "person", world.people[role])
    if world.site:
        settings.remember(local, "site", world.site)


def _opener(clock: Clock, machine: str | None) -> Callable[[Path], Session]:
    def opened(home: Path) -> Session:
        return open_session(home, clock=clock, machine=machine)

    return opened
