"""What is to come at a site, saved as a calendar file."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject

from registry.records.places import SiteSet
from registry.services import site_calendar
from registry.services.lookup import Fact
from ui.desk import Desk
from ui.work import Progress


class CalendarFile(QObject):
    """One at a time: another press while it is worked out does nothing."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        super().__init__(parent)
        self.desk = desk
        self._letters = ""  # of the site whose file is being made

    def save(self, site: Fact[SiteSet]) -> None:
        if self._letters:
            return
        self._letters = site.payload.letters
        session, language, subject = self.desk.session, self.desk.language, site.subject

        def work(_: Progress) -> bytes:
            return site_calendar.as_file(site_calendar.coming(session, subject), language)

        self.desk.in_background(work, self._made, self._failed)

    def _failed(self, error: Exception) -> None:
        self._letters = ""
        self.desk.notice_of(error)

    def _made(self, content: bytes) -> None:
        name = self.desk.say("calendar.file", letters=self._letters)
        self._letters = ""
        self.desk.ask.where_to_save(self.desk.say("calendar.save"), f"{name}.ics", self._saver(content))

    def _saver(self, content: bytes) -> Callable[[Path], object]:
        return lambda path: self.desk.save(path, content)
