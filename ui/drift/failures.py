"""Failed checks of the period, for the officer: what was done after each, and whether it is right again since."""

from typing import Any

from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.failures import Failure, Failures
from registry.services.words import failures as words
from ui.desk import Desk
from ui.parts import LINK, LINK_INSET, Button, Words, clear, column, measured, on_press, row
from ui.saving import SaveTable, of_sites

MOST = 12  # drawn; the spreadsheet holds all


class FailuresPart(QWidget):
    """Each line is a press away from its thermometer, also of one that is out of use by now."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        self.found: Failures | None = None
        self.told = Words(look, "", 15)
        self._lines = QVBoxLayout()
        self._lines.setSpacing(10)
        self.save = SaveTable(desk, self._out, LINK)
        self.save.setAccessibleName(f"{self.save.text()}: {say('failures.title')}")
        how = measured(Words(look, say("failures.how"), 14, colour="muted"))
        title = Words(look, say("failures.title"), 18, bold=True)
        self.look_back = Words(look, say("failures.look_back"), 14, bold=True, colour="caution")
        self.setLayout(
            column(title, self.told, how, self._lines, measured(self.look_back), row(self.save, None), space=8)
        )

    def show_failures(self, found: Failures) -> None:
        self.found = found
        clear(self._lines)
        self.told.say(words.headline(found, self.desk.language))
        for part in (self.look_back, self.save):
            part.setVisible(bool(found.rows))
        names = self.desk.site_names()
        # What is not resolved is never among those left out.
        first = sorted(found.rows, key=lambda one: one.now != "open")
        most = max(MOST, found.open)
        for one in first[:most]:
            self._lines.addLayout(self._line(one, names.get(one.site, "")))
        if len(first) > most:
            more = self.desk.say("failures.more", count=len(first) - most)
            self._lines.addWidget(Words(self.desk.look, more, 14, colour="muted"))

    def _line(self, one: Failure, site: str) -> QVBoxLayout:
        desk, look = self.desk, self.desk.look
        off = desk.offset(one.offset) if one.offset else desk.say(f"outcome.{one.outcome}")
        point = desk.say(f"point.{one.point}")
        what = ", ".join(filter(None, (off, point, site, words.when(one, desk.region))))
        what = " ".join(filter(None, (what, words.voided(one, desk.language))))
        became = words.became(one, desk.language, desk.region)
        go = Button(look, one.tag_id, LINK)
        go.setAccessibleName(f"{one.tag_id}: {what}. {became}")
        on_press(go, lambda: desk.go("thermometers", one.thermometer))
        across = row(go, Words(look, what, 15, bold=one.now == "open"), space=12)
        across.setStretch(1, 1)
        doubtful = words.doubtful(one, desk.language, desk.region)
        below = Words(look, became, 15), Words(look, doubtful, 14, colour="muted")
        for each in below:
            each.setContentsMargins(LINK_INSET, 0, 0, 0)
        return column(across, *below, space=2)

    def _out(self) -> Any:
        from registry.services import tables_out

        return of_sites(self.desk, "failures", self.found, tables_out.failures)
