"""Papers of a site that are drawn anew each time: the list for the wall, what we do when one is off."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject

from ui.desk import Desk
from ui.work import Progress

if TYPE_CHECKING:
    from datetime import date

    from registry.services.lookup import Fact


class SitePapers(QObject):
    """One at a time: another press while it is drawn does nothing."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        super().__init__(parent)
        self.desk = desk
        self._asked = ""  # what is being drawn, a code
        self._letters = ""

    def wall_list(self, site: "Fact[Any] | None" = None) -> None:
        from registry.services import wall_list  # late: with the window's first papers

        self._draw("wall", site or self.desk.site, wall_list.printed)

    def when_off(self, site: "Fact[Any] | None" = None) -> None:
        from registry.services import when_off

        self._draw("off", site or self.desk.site, when_off.printed)

    def overview(self, site: "Fact[Any] | None", by_day: "date | None", type: str | None = None) -> None:
        """The page for the manager, of one site or of all of them, of one type or of all."""
        from registry.services import overview

        self._draw("overview", site, partial(overview.printed, by_day=by_day, type=type))

    def _draw(self, code: str, site: "Fact[Any] | None", printed: Callable[..., bytes]) -> None:
        if self._asked:
            return
        self._asked, self._letters = code, site.payload.letters if site else ""
        session, language, chosen = self.desk.session, self.desk.language, self.desk.setting("paper")
        paper, subject = None if chosen == "group" else chosen, site.subject if site else None

        def work(_: Progress) -> bytes:
            return printed(session, subject, language=language, paper=paper)

        self.desk.in_background(work, self._drawn, self._failed)

    def _failed(self, error: Exception) -> None:
        self._asked = ""
        self.desk.notice_of(error)

    def _drawn(self, page: object) -> None:
        code, self._asked = self._asked, ""
        assert isinstance(page, bytes)
        name = self.desk.say(f"{code}.file", site=self._letters).strip("-")  # of all sites: no letters
        self.desk.ask.where_to_save(self.desk.say(f"{code}.save"), f"{name}.pdf", self._saver(page))

    def _saver(self, page: bytes) -> Callable[[Path], object]:
        return lambda path: self.desk.save(path, page)
