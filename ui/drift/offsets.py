"""Where the last offsets lie: by site, type or model."""

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtWidgets import QWidget

from registry.services.activity import Offsets
from ui.desk import Desk
from ui.drift import wording
from ui.drift.spread import Spread
from ui.flow import Flow
from ui.parts import LINK, Choice, Words, clear, column, measured, row
from ui.saving import SaveTable

GROUPS = ("site", "type", "model")


class OffsetsPart(QWidget):
    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        self._offsets: Mapping[str, Sequence[Offsets]] | None = None
        self._narrow, self._of_type = False, ""
        self.spread: Spread | None = None
        groups = [(one, say(f"drift.by.{one}")) for one in GROUPS]
        self.by = Choice(look, groups, "type", say("drift.by_what"), breaks=True)
        self.by.chosen.connect(self._draw)
        self._spread = column(space=6)
        self.save = SaveTable(desk, self._out, LINK)
        self.save.setAccessibleName(f"{self.save.text()}: {say('drift.offsets')}")
        head = Flow(Words(look, say("drift.offsets"), 18, bold=True, wrap=False), self.by, space=24, middle=True)
        how = measured(Words(look, say("drift.offsets_how"), 14, colour="muted"))
        self.setLayout(column(head, how, self._spread, row(self.save, None), space=8))

    def show_offsets(self, offsets: Mapping[str, Sequence[Offsets]], *, narrow: bool, of_type: str = "") -> None:
        self._offsets, self._narrow, self._of_type = offsets, narrow, of_type
        self._draw()

    def choose(self, by: str) -> None:
        self.by.choose(by)
        self._draw()

    def _draw(self, _: str = "") -> None:
        if self._offsets is None:
            return
        clear(self._spread)
        by = self.by.value
        groups = self._offsets[by]
        names = wording.group_names(self.desk, by, [one.key for one in groups])
        self.spread = Spread(self.desk, by, groups, names, narrow=self._narrow)
        self._spread.addWidget(self.spread)

    def _out(self) -> Any:
        offsets, by, of_type = self._offsets, self.by.value, self._of_type
        if offsets is None:
            return None
        names = self.desk.site_names()

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return tables_out.offsets(words, by, offsets[by], names, of_type)

        return self.desk.say("spreadsheet.file.offsets"), make
