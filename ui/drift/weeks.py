"""Checks done and missed by site and week: the sentence, the grid, and what a cell says."""

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from registry.services.activity import Activity
from ui.desk import Desk
from ui.drift import wording
from ui.drift.grid import Grid
from ui.parts import LINK, Sentence, Words, clear, column, measured, row
from ui.saving import SaveTable


class WeeksPart(QWidget):
    """`site_wanted`: a site and a Monday were pressed."""

    site_wanted = Signal(str, object)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        self.weeks: Activity | None = None
        self._of_type = ""
        self.grid: Grid | None = None
        self.sentence = Sentence(look, size=18)
        self.unknown = Words(look, "", 15, colour="muted")
        self.unknown.hide()
        self._grid = column(space=6)
        self.told = Words(look, say("drift.press"), 14, colour="muted")
        self.save = SaveTable(desk, self._out, LINK)
        self.save.setAccessibleName(f"{self.save.text()}: {say('drift.weeks')}")
        inner = column(
            Words(look, say("drift.weeks"), 18, bold=True),
            self.sentence,
            self.unknown,
            measured(Words(look, say("drift.weeks_how"), 14, colour="muted")),
            self._grid,
            self.told,
            row(self.save, None),
            space=8,
        )
        self.setLayout(inner)

    def show_weeks(self, weeks: Activity, *, narrow: bool, of_type: str = "") -> None:
        at = self.grid.focused() if self.grid is not None else None
        self.weeks, self._of_type = weeks, of_type
        self.sentence.say(wording.headline(self.desk, weeks))
        unknown = wording.not_known(self.desk, weeks)
        self.unknown.say(unknown)
        self.unknown.setVisible(bool(unknown))
        clear(self._grid)
        self.grid = Grid(self.desk, weeks, narrow=narrow)
        self.grid.site_wanted.connect(self.site_wanted.emit)
        self.grid.told.connect(self.told.say)
        self._grid.addWidget(self.grid)
        if at is not None:
            self.grid.focus_on(*at)

    def _out(self) -> Any:
        weeks, of_type = self.weeks, self._of_type
        if weeks is None:
            return None

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return tables_out.weeks(words, weeks, of_type)

        return self.desk.say("spreadsheet.file.weeks"), make
