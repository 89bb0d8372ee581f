"""What to replace and why, with its price where known: a quiet list, each line a press away from its thermometer."""

from typing import Any

from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.replacing import Replacing, ToReplace
from registry.services.words import replacing as words
from ui.desk import Desk
from ui.parts import LINK, Button, Words, clear, column, on_press, row
from ui.saving import SaveTable, of_sites

MOST = 14  # drawn; the spreadsheet holds all


class ReplacingPart(QWidget):
    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        self.found: Replacing | None = None
        self._lines = QVBoxLayout()
        self._lines.setSpacing(10)
        self.sums = Words(look, "", 15, bold=True)
        self.how = Words(look, say("replacing.how"), 14, colour="muted")
        self.save = SaveTable(desk, self._out, LINK)
        self.save.setAccessibleName(f"{self.save.text()}: {say('replacing.title')}")
        title = Words(look, say("replacing.title"), 18, bold=True)
        self.setLayout(column(title, self._lines, self.sums, self.how, row(self.save, None), space=8))
        self.wait()

    def wait(self) -> None:
        """Say that it is being worked out: what stood here was of others."""
        self.found = None
        clear(self._lines)
        self._lines.addWidget(Words(self.desk.look, self.desk.say("drift.wait"), 15, colour="muted"))
        for part in (self.sums, self.how, self.save):
            part.hide()

    def show_replacing(self, found: Replacing) -> None:
        desk, look = self.desk, self.desk.look
        self.found = found
        clear(self._lines)
        if not found.rows:
            self._lines.addWidget(Words(look, desk.say("replacing.none"), 15, colour="muted"))
        names = desk.site_names()
        for one in found.rows[:MOST]:
            self._lines.addLayout(self._line(one, names.get(one.site, "")))
        if len(found.rows) > MOST:
            more = desk.say("replacing.more", count=len(found.rows) - MOST)
            self._lines.addWidget(Words(look, more, 14, colour="muted"))
        self.sums.say(words.sums(found, desk.language, desk.region))
        self.sums.setVisible(bool(found.rows))
        self.how.setVisible(bool(found.known))
        self.save.setVisible(bool(found.rows))

    def _line(self, one: ToReplace, site: str) -> QVBoxLayout:
        desk, look = self.desk, self.desk.look
        why, cost = words.why(one, desk.language), words.price(one, desk.language, desk.region)
        what = ", ".join(filter(None, (words.what(one, desk.language), site)))
        go = Button(look, one.tag_id, LINK)
        go.setAccessibleName(f"{one.tag_id}, {what}. {why} {cost}".strip())
        on_press(go, lambda: desk.go("thermometers", one.thermometer))
        across = row(go, Words(look, what, 15), space=12)
        across.setStretch(1, 1)
        price = [Words(look, cost, 15, colour="muted")] if cost else []
        return column(across, Words(look, why, 15), *price, space=2)

    def _out(self) -> Any:
        from registry.services import tables_out

        return of_sites(self.desk, "replacing", self.found, tables_out.to_replace)
