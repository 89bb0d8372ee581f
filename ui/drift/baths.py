"""What a site's baths have in common, and tags that may have changed places: quiet lines for the officer."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import habits, mix_ups
from registry.services.habits import SiteHabit
from registry.services.mix_ups import MixUp
from registry.services.words import watch as words
from ui.desk import Desk
from ui.parts import Line, Words, clear, column
from ui.work import Progress


@dataclass(frozen=True, slots=True)
class SiteBaths:
    name: str
    zone: str
    habits: tuple[SiteHabit, ...]
    pairs: tuple[MixUp, ...]


def look(desk: Desk, only: str, progress: Progress) -> list[SiteBaths]:
    """Site by site, or one only (its id, "" for all); it takes a while the first time in a session."""
    found = []
    for number, site in enumerate(one for one in desk.sites() if only in ("", one.subject)):
        if not progress(number):
            break
        with desk.session.reading() as connection:
            habitual = habits.at_site(desk.session, connection, site.subject)
            pairs = mix_ups.at_site(desk.session, connection, site.subject)
        found.append(SiteBaths(site.payload.name, site.payload.zone, tuple(habitual), tuple(pairs)))
    return found


class BathsPart(QWidget):
    """Nothing is shown where nothing is worth telling."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(6)
        self.hide()

    def show_baths(self, found: Sequence[SiteBaths], also: str = "") -> None:
        """also: what is to be said of all of it."""
        clear(self._lay)
        told = [(one.name, lines) for one in found if (lines := self._lines(one))]
        self.setVisible(bool(told))
        if not told:
            return
        look, say = self.look, self.desk.say
        how = Words(look, " ".join(filter(None, (say("drift.baths_how"), also))), 14, colour="muted")
        self._lay.addLayout(column(Line(look.line), Words(look, say("drift.baths"), 18, bold=True), how, space=6))
        for name, lines in told:
            said = [Words(look, line) for line in lines]
            self._lay.addLayout(column(Words(look, name, 15, bold=True), *said, space=2))

    def _lines(self, one: SiteBaths) -> list[str]:
        desk = self.desk
        lines = [
            line for each in one.habits for line in words.habit_sentences(each, desk.language, desk.region, one.zone)
        ]
        for pair in one.pairs:
            day = words.day_of(pair.since, one.zone, desk.region)
            lines.append(desk.say("watch.tags_swapped", one=pair.tags[0], other=pair.tags[1], day=day))
        return lines
