"""Quiet lines for the officer: what incidents did to the offsets, and readings too regular to be true."""

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.groups import IncidentsFound
from registry.services.outlook import difference
from registry.services.regularity import SiteRegular
from registry.services.words import regularity as words
from ui.desk import Desk
from ui.parts import Line, Words, clear, column

FEWEST = 3  # incidents of a kind: fewer say nothing of it


class QuietPart(QWidget):
    """A title, how it is to be read, and its lines; nothing is shown where there are none."""

    def __init__(self, desk: Desk, title: str, how: str) -> None:
        super().__init__()
        self.desk, self._title, self._how = desk, title, how
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(6)
        self.hide()

    def show_lines(self, lines: Sequence[str], also: str = "") -> None:
        """also: what is to be said of all of them."""
        clear(self._lay)
        self.setVisible(bool(lines))
        if lines:
            look = self.desk.look
            head = Words(look, self._title, 18, bold=True)
            how = Words(look, " ".join(filter(None, (self._how, also))), 14, colour="muted")
            self._lay.addLayout(column(Line(look.line), head, how, *[Words(look, line) for line in lines], space=6))


def incident_lines(desk: Desk, found: IncidentsFound) -> list[str]:
    """Of each kind that was seen often enough, how often the offset had changed and by how much in the mean."""
    lines = [
        desk.say(
            "drift.incident",
            what=desk.say(f"incident.{one.what}"),
            told=one.told,
            count=one.stepped,
            size=desk.offset(difference(one.size, desk.unit), 1),
        )
        for one in found.incidents
        if one.told >= FEWEST
    ]
    return lines + ([desk.say("fleet.unreported", count=found.unreported)] if found.unreported else [])


def regular_lines(desk: Desk, found: Sequence[SiteRegular]) -> list[str]:
    """Of sites where something is out of the ordinary."""
    odd = [one for one in found if one.notable or one.often]
    return [line for one in odd for line in words.sentences(one, desk.language, desk.region)]
