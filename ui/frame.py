"""The window: the column on the left, notices above, the place one is in. It makes pages and hands them the desk."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QCloseEvent, QKeySequence, QPainter, QPaintEvent, QResizeEvent, QShortcut, QShowEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QScrollArea, QStackedWidget, QWidget

from ui import places, theme, walking
from ui.column import Column
from ui.desk import Desk
from ui.notices import DemoLine, Notice, Telling
from ui.parts import Words, column, holding
from ui.scanner import Scanner

if TYPE_CHECKING:
    from ui.page import Page

SMALLEST = QSize(640, 480)


class Frame(QWidget):
    """One window of the program."""

    first_painted = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.place = "shift"
        self.small = False
        self._painted = False
        self._trail: list[str] = []  # places that a press led on from, the last one last
        self._pages: dict[str, Page] = {}
        self._drafts: dict[str, object] = {}  # of pages that were out of sight when everything was drawn anew
        self._alone: QWidget | None = None  # what is shown instead of the places
        self.setMinimumSize(SMALLEST)
        self.scanner = Scanner(self)
        self.scanner.scanned.connect(self.take_tag)
        self.scanner.touched.connect(desk.jobs.touched)
        self.telling = Telling(self)
        self.scanner.touched.connect(self.telling.touched)
        self._watching = False
        desk.rebuild.connect(self.draw_anew)
        desk.wanted.connect(self._go_on)
        desk.back_wanted.connect(self.go_back)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Back), self).activated.connect(self.go_back)
        desk.recorded.connect(self.read_again)
        desk.noticed.connect(self._show_notice)
        QApplication.instance().focusChanged.connect(self._keep_in_sight)  # type: ignore[union-attr]
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(0)
        self._build()

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        desk = self.desk
        self.setWindowTitle(desk.say("frame.title"))
        self.column = Column(desk, small=self.small)
        self.column.place_wanted.connect(self.go)
        self.column.tag_wanted.connect(self.take_tag)
        self.column.who_wanted.connect(self._who)
        self.notice = Notice(desk)
        self.stack = QStackedWidget()
        opening = Words(desk.look, desk.say("frame.opening"), 20, colour="muted")
        opening.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.stack.addWidget(opening)
        parts: list[QWidget] = [*([DemoLine(desk)] if desk.demo else []), self.notice, self.stack]
        self._main = holding(column(*parts, space=0))
        self._row.addWidget(self.column)
        self._row.addWidget(self._main, 1)

    def draw_anew(self) -> None:
        """Everything again: another look, language, person, site or window size. What is keyed in is kept."""
        self._drafts |= {name: page.keep_draft() for name, page in self._pages.items()}
        standing, quiet = self.notice.standing, self.notice.quiet
        self._renew()
        if self._alone is not None:
            self.show_alone(self._alone)
        elif self.desk.is_open:
            for _ in self._making(self.place, None):  # at once: nothing else would be in sight
                pass
        if standing is not None and self.notice.isHidden():  # what came up meanwhile is the newer one
            self.notice.tell(*standing, quiet=quiet)

    def _renew(self) -> None:
        if self._alone is not None:  # what was typed there is kept
            self.stack.removeWidget(self._alone)
            self._alone.setParent(None)
        for part in (self.column, self._main):
            self._row.removeWidget(part)
            part.hide()
            part.deleteLater()
        self._pages.clear()
        dress(self.desk)
        self._build()
        self.column.show()  # now, and not with the next event: what follows gives the focus to something in it
        self._main.show()

    def opened(self, read: object = None) -> Iterator[None]:
        """The registry is open: the column says where and who, then the first place is shown, with what was read."""
        if self._alone is not None:
            self.stack.removeWidget(self._alone)
            self._alone.deleteLater()
            self._alone = None
        self._renew()
        yield
        yield from self._making(self.place, read if self.place == "shift" else None)

    def show_alone(self, page: QWidget) -> None:
        """Something else instead of the places: the first start, what hinders opening."""
        if self._alone is not None and self._alone is not page:
            self.stack.removeWidget(self._alone)
            self._alone.deleteLater()
        self._alone = page
        self.stack.addWidget(page)
        self.stack.setCurrentWidget(page)
        self.column.setEnabled(False)

    # --- going about -----------------------------------------------------------------------------------------

    def go(self, place: str, about: object = None) -> None:
        """Show a place that was chosen: nothing leads back. It is made when it is first gone to."""
        self._trail.clear()
        self._go(place, about)

    def _go_on(self, place: str, about: object = None) -> None:
        """From one place to another by a press in the first, which `go_back` shows again."""
        if place != self.place:
            self._trail.append(self.place)
        self._go(place, about)

    def go_back(self) -> None:
        """To the place that one came from, as it was left, and the keys where they were."""
        if not self._trail:
            return
        place = self._trail.pop()
        page = self._pages.get(place)
        if page is None:  # all was drawn anew meanwhile: its draft says how it was left
            self._go(place)
            return
        stood = page.focusWidget()
        self._come_to(place)
        self.stack.setCurrentWidget(page)
        if stood is not None:
            stood.setFocus(Qt.FocusReason.OtherFocusReason)
        self.read_again()

    def _go(self, place: str, about: object = None) -> None:
        if not self.desk.is_open:
            return
        self._come_to(place)
        if place in self._pages:
            self._show(place, about)
        else:
            self.desk.jobs.in_pieces(self._making(place, about))

    def _come_to(self, place: str) -> None:
        self.place = place
        self.desk.came_from = self._trail[-1] if self._trail else ""
        self.notice.hide()
        self.column.show_place(place)

    def _making(self, place: str, about: object) -> Iterator[None]:
        """A page, a piece at a time. Meanwhile somebody may go elsewhere, or all be drawn anew."""
        stack = self.stack
        yield from places.load(place)
        page = places.make(place, self.desk)
        page.set_small(self.small)
        yield
        yield from page.get_ready(about)
        if stack is self.stack and place not in self._pages:
            self._pages[place] = page
            stack.addWidget(page)
        else:
            page.deleteLater()
        if place == self.place and place in self._pages:
            self._show(place, about)

    def _show(self, place: str, about: object) -> None:
        page = self._pages[place]
        self.column.show_place(place)
        self.stack.setCurrentWidget(page)
        kept = self._drafts.pop(place, None)
        if kept is not None:
            page.show_about(kept)
        if kept is None or about is not None:
            page.show_about(about)
        self._count()

    @property
    def page(self) -> Page | None:
        return self._pages.get(self.place)

    def read_again(self) -> None:
        if self.page is not None:
            self.page.read_again()
        self._count()

    def _count(self) -> None:
        for name, page in self._pages.items():
            if name in self.column.places:
                self.column.places[name].set_waiting(page.count())

    def take_tag(self, code: str) -> None:
        """A tag id, typed into the find field or scanned: the place in sight takes it, else its page is shown."""
        from registry.services import thermometers
        from registry.services.problems import Refused

        if not self.desk.is_open or (self.page is not None and self.page.scanned(code)):
            return
        try:
            with self.desk.session.reading() as connection:
                found = thermometers.find(connection, code)
        except Refused as refused:
            self.desk.notice_of(refused)
            return
        self._go_on("thermometers", found.row.thermometer)

    def _who(self) -> None:
        from ui.signing_in import ask_who_and_where

        ask_who_and_where(self.desk)

    def _show_notice(self, sentence: str, details: str) -> None:
        self.notice.tell(sentence, details)

    def _keep_in_sight(self, _old: QWidget | None, now: QWidget | None) -> None:
        """Whoever walks by Tab sees where the focus is."""
        parent = now.parentWidget() if now is not None else None
        while parent is not None and now is not None:
            if isinstance(parent, QScrollArea):
                parent.ensureWidgetVisible(now, 16, 60)
                return
            parent = parent.parentWidget()

    # --- what Qt tells ---------------------------------------------------------------------------------------

    def focusNextPrevChild(self, onward: bool) -> bool:
        """Tab walks as one reads; Qt's own order is that in which things were made."""
        return walking.step(self, QApplication.focusWidget(), onward=onward)

    def resizeEvent(self, event: QResizeEvent) -> None:
        small = self.width() < theme.SMALL_BELOW * self.desk.look.zoom
        if small != self.small:
            self.small = small
            self.draw_anew()
        super().resizeEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if not self._watching and (window := self.window().windowHandle()) is not None:
            window.installEventFilter(self.scanner)
            self._watching = True

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(self.rect(), self.desk.look.sheet)
        if not self._painted:
            self._painted = True
            self.first_painted.emit()

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.ThemeChange and self.desk.setting("theme") == "system":
            self.draw_anew()
        super().changeEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        """What is keyed in was kept at every key; what runs is cancelled and waited for."""
        self.desk.close()
        event.accept()


def dress(desk: Desk) -> None:
    """The application in the desk's look."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    sheet = theme.style_sheet(desk.look)
    if sheet == app.styleSheet():  # setting it looks at every widget again, which takes its time
        return
    app.setFont(desk.look.font(15))
    app.setPalette(theme.palette(desk.look))
    app.setStyleSheet(sheet)
