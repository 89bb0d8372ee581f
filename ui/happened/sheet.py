"""The paper shift sheet: printed ahead, keyed in afterwards."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import lookup, shift_sheet
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import List
from ui.happened.entering import Entering
from ui.parts import Button, Line, Words, on_press
from ui.site_papers import SitePapers

EVERY = "every"
NOW = "now"


class SheetPart(QWidget):
    """Which sheet to print, and below it the one to key in."""

    title_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self._ahead: dict[str, tuple[str, date]] = {}
        self.which = List(desk.look)
        self.which.setMinimumHeight(theme.TOUCH)
        self.which.setSizeAdjustPolicy(List.SizeAdjustPolicy.AdjustToContents)
        self.which.setAccessibleName(desk.say("happened.print_which"))
        self.print = Button(self.look, desk.say("happened.print_sheet"), height=theme.TOUCH)
        on_press(self.print, self.print_sheet)
        self.papers = SitePapers(desk, self)
        self.wall = on_press(Button(self.look, desk.say("wall.save"), height=theme.TOUCH), self.papers.wall_list)
        self.off = on_press(Button(self.look, desk.say("off.save"), height=theme.TOUCH), self.papers.when_off)
        self.entering = Entering(desk)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(12)
        column.addWidget(Words(self.look, desk.say("happened.print_how"), 15, colour="muted"))
        column.addLayout(Flow(self.which, self.print, space=12))
        column.addWidget(Words(self.look, desk.say("happened.pin_up_how"), 15, colour="muted"))
        column.addLayout(Flow(self.wall, self.off, space=12))
        column.addWidget(Line(self.look.line))
        column.addWidget(Words(self.look, desk.say("happened.enter_how"), 15, colour="muted"))
        column.addWidget(self.entering)
        column.addStretch(1)
        self._fill()

    @property
    def title(self) -> str:
        return self.desk.say("happened.title_sheet")

    def _fill(self) -> None:
        """What is wanted now, the shifts of today and tomorrow that are not over, and every thermometer."""
        desk, site = self.desk, self.desk.site
        self.which.addItem(desk.say("happened.print_now"), NOW)
        today = desk.session.today(site.payload)
        for day in (today, today + timedelta(days=1)):
            with desk.session.reading() as connection:
                worked = lookup.shifts_on(connection, site, day)
            for time in (one for one in worked if one.ends_at > desk.session.clock()):
                name = time.shift.name
                key = f"{name} {day.isoformat()}"
                self._ahead[key] = (name, day)
                self.which.addItem(desk.say("happened.print_shift", shift=name, day=desk.day(day)), key)
        self.which.addItem(desk.say("happened.print_every"), EVERY)

    def start(self) -> None:
        self.read_again()
        self.which.setFocus()

    def read_again(self) -> None:
        """The grid stays as it is: somebody is keying in."""

    def print_sheet(self) -> None:
        self.print.setEnabled(False)
        self.desk.in_background(self._work(), self._made, self._failed)

    def _work(self) -> Callable[[Callable[[int], bool]], bytes]:
        desk, chosen = self.desk, str(self.which.currentData())
        session, site, language, wanted = desk.session, desk.site, desk.language, self._ahead.get(chosen)

        def made(_progress: Callable[[int], bool]) -> bytes:
            on = None
            if wanted is not None:
                with session.reading() as connection:
                    on = lookup.shift_on(connection, site, *wanted)
            return shift_sheet.print_sheet(session, site.subject, on=on, every=chosen == EVERY, language=language)

        return made

    def _failed(self, error: Exception) -> None:
        self.print.setEnabled(True)
        self.desk.notice_of(error)

    def _made(self, page: bytes) -> None:
        self.print.setEnabled(True)
        name = self.desk.say("happened.sheet_file", site=self.desk.site.payload.letters)
        self.desk.ask.where_to_save(self.desk.say("happened.print_sheet"), f"{name}.pdf", self._saver(page))

    def _saver(self, page: bytes) -> Callable[[Path], object]:
        return lambda path: self.desk.save(path, page)

    def scanned(self, code: str) -> bool:
        return self.entering.more.take(code)

    def state(self) -> dict[str, object]:
        return {"which": str(self.which.currentData())}

    def restore(self, kept: dict[str, object]) -> None:
        self.which.setCurrentIndex(max(0, self.which.findData(kept.get("which"))))
