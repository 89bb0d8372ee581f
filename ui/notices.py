"""The one place for notices: a line above the page that stays until it is put away. And the line that says DEMO.

What is due is told there too by itself, once for each thing and while nobody is at work.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from time import monotonic
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget

from registry.services.problems import KnownError
from ui import theme
from ui.desk import Desk
from ui.parts import LINK, Button, Words, on_press, row
from ui.work import Progress

if TYPE_CHECKING:  # late: SQLAlchemy
    from registry.services import notices
    from ui.frame import Frame

LOOK_MS = 180_000  # how often it is looked whether something is due (judgement)
CALM_S = 60.0  # so long nobody pressed anything before it is told (judgement)


class Notice(QWidget):
    """One sentence what happened and what to do; details behind a press."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._told = self._details = ""
        self.quiet = False
        self.sentence = Words(desk.look, "", 15, bold=True)
        self._more = on_press(
            Button(desk.look, desk.say("frame.details"), LINK, height=theme.TOUCH), self._show_details
        )
        away = on_press(Button(desk.look, desk.say("frame.put_away"), height=theme.TOUCH), self.hide)
        self.setLayout(row(self.sentence, self._more, away, margins=(24, 8, 16, 8), space=12))
        self.layout().setStretch(0, 1)  # type: ignore[union-attr]
        self.hide()

    def tell(self, sentence: str, details: str, *, quiet: bool = False) -> None:
        """quiet: nobody did anything that this answers, and nothing went wrong; its details are told one by one."""
        self._told, self._details, self.quiet = sentence, details, quiet
        others = len(details.splitlines()) if quiet else 0
        words = f"{sentence} {self.desk.say('notice.more', count=others)}" if others else sentence
        self.sentence.say(words)
        self.sentence.setAccessibleName(words)
        self._more.setText(self.desk.say("notice.next" if quiet else "frame.details"))
        self._more.setVisible(bool(details))
        self.show()

    @property
    def standing(self) -> tuple[str, str] | None:
        """What it says and its details, until it is put away."""
        if self.isHidden():
            return None
        return (self._told if self.quiet else self.sentence.text()), self._details

    def _show_details(self) -> None:
        if self.quiet:
            following, *others = self._details.splitlines()
            self.tell(following, "\n".join(others), quiet=True)
            return
        self.sentence.say(f"{self.sentence.text()}\n{self._details}")
        self._more.hide()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.desk.look.wash if self.quiet else self.desk.look.cautint)
        painter.fillRect(0, self.height() - 1, self.width(), 1, self.desk.look.edge)


class DemoLine(QWidget):
    """Says on every screen that nothing here is real."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._ground = desk.look.level
        words = Words(desk.look, desk.say("frame.demo"), 14, bold=True)
        self.setLayout(row(words, margins=(24, 3, 16, 3)))

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(self.rect(), self._ground)


@dataclass(frozen=True, slots=True)
class Due:
    """What was found due at a site: all that stands, what is new of it, and that in words."""

    site: str
    found: list[notices.Notice]
    new: list[notices.Notice]
    sentences: list[str]


class Telling(QObject):
    """Looks every few minutes, beside the window, what is due at its site, and says what it has not said yet.

    Nothing comes while somebody is at work, a sheet is open or another notice stands; then it is looked again later,
    and counts as said only once it stood there.
    """

    def __init__(self, frame: Frame, clock: Callable[[], float] = monotonic) -> None:
        super().__init__(frame)
        self.frame, self.desk, self._clock = frame, frame.desk, clock
        self._touched = float("-inf")
        self._looking = False
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.tick)

    def start(self) -> None:
        self._timer.start(LOOK_MS)

    def touched(self) -> None:
        """Somebody pressed something."""
        self._touched = self._clock()

    def is_busy(self) -> bool:
        page, notice = self.frame.page, self.frame.notice
        at_work = self._clock() - self._touched < CALM_S or (page is not None and page.is_keying())
        answered = not notice.isHidden() and not notice.quiet
        return at_work or answered or QApplication.activeModalWidget() is not None

    def tick(self) -> None:
        desk = self.desk
        if not desk.is_open or self._looking or self.is_busy():
            return
        self._looking = True
        look = partial(self._due, desk.site.subject, desk.language, desk.region)
        desk.in_background(look, self._looked, self._failed)

    def _due(self, site: str, language: str, region: str, _: Progress) -> Due:
        from registry.services import notices
        from registry.services.words import notices as words

        session = self.desk.session
        found = notices.now(session, {site})
        new = notices.not_told(session, self.desk.local, found)
        return Due(site, found, new, [words.sentence(one, language, region) for one in new])

    def _looked(self, due: Due) -> None:
        self._looking = False
        if self.desk.is_closed or due.site != self.desk.site.subject or self.is_busy():
            return
        from registry.services import notices

        with suppress(KnownError):  # then it is said once more
            notices.count_as_told(self.desk.local, due.found, due.new, {due.site})
        if due.sentences:
            self._tell(due.sentences)

    def _tell(self, sentences: list[str]) -> None:
        """The newest in sight, the others behind the press; what was told before and still stands comes last."""
        stood = self.frame.notice.standing
        before = [stood[0], *stood[1].splitlines()] if stood is not None else []
        first, *others = dict.fromkeys((*sentences, *before))
        self.frame.notice.tell(first, "\n".join(others), quiet=True)

    def _failed(self, error: Exception) -> None:
        """A busy disk passes: it is looked again. Anything else is our mistake."""
        self._looking = False
        if not isinstance(error, KnownError):
            raise error
