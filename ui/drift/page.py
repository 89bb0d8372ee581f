"""Drift as far as it goes: checks done and missed, where offsets lie; it says that forecasts are not here."""

from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from registry.services import activity
from registry.services.activity import Activity, Offsets
from registry.services.session import day_at
from registry.services.taken_back import TakenBack, reports_taken_back
from registry.services.upkeep import Progress
from ui.desk import Desk
from ui.drift import baths, wording
from ui.drift.baths import BathsPart
from ui.drift.grid import Grid
from ui.drift.spread import Spread
from ui.drift.taken_back import TakenBackPart
from ui.flow import Flow
from ui.page import Page
from ui.parts import Choice, Line, Scroll, Sentence, Words, clear, column, holding, measured
from ui.proof.about import LogOf

WEEKS = 12
GROUPS = ("site", "type", "model")


@dataclass(frozen=True, slots=True)
class Counted:
    weeks: Activity
    offsets: dict[str, list[Offsets]]
    taken_back: list[TakenBack]


class DriftPage(Page):
    name = "drift"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.small = False
        self.counted: Counted | None = None
        self.grid: Grid | None = None
        look, say = desk.look, desk.say
        self.sentence = Sentence(look, size=18 if look.narrow else 26)
        self.sentence.say(say("drift.counting"))
        groups = [(one, say(f"drift.by.{one}")) for one in GROUPS]
        self.by = Choice(look, groups, "type", say("drift.by_what"), breaks=True)
        self.by.chosen.connect(self._by_chosen)
        self._grid = column(space=6)
        self._spread = column(space=6)
        self.taken_back, self.baths = TakenBackPart(desk), BathsPart(desk)
        self.told = Words(look, say("drift.press"), 14, colour="muted")
        offsets = Flow(Words(look, say("drift.offsets"), 18, bold=True, wrap=False), self.by, space=24, middle=True)
        inner = column(
            Words(look, say("drift.weeks"), 18, bold=True),
            measured(Words(look, say("drift.weeks_how"), 14, colour="muted")),
            self._grid,
            self.told,
            Line(look.line),
            offsets,
            measured(Words(look, say("drift.offsets_how"), 14, colour="muted")),
            self._spread,
            self.baths,
            self.taken_back,
            Line(look.line),
            Words(look, say("drift.not_yet"), 18, bold=True),
            measured(Words(look, say("drift.not_yet_what"), 15)),
            measured(Words(look, say("activity.means"), 14, colour="muted")),
            None,
            space=8,
            margins=(24, 14, 24, 20),
        )
        self.unknown = Words(look, "", 15, colour="muted")
        self.unknown.hide()
        head = holding(column(self.sentence, self.unknown, space=4, margins=(24, 18, 24, 14)))
        self._inner = holding(inner)
        self._inner.setMaximumWidth(look.text(1320))
        whole = column(head, Line(look.bench), Scroll(self._inner), space=0)
        whole.setStretch(2, 1)
        self.setLayout(whole)

    # --- what the frame asks ---------------------------------------------------------------------------------

    def set_small(self, small: bool) -> None:
        self.small = small

    def show_about(self, about: object) -> None:
        if isinstance(about, str) and about in GROUPS:
            self.by.choose(about)
        self.read_again()

    def read_again(self) -> None:
        self.desk.in_background(self._count, self._show)

    # --- counting, showing -----------------------------------------------------------------------------------

    def _count(self, progress: Progress) -> Counted:
        session = self.desk.session
        weeks = activity.checks_by_week(session, weeks=WEEKS, progress=progress)
        offsets = {"site": activity.offsets_by(session, "site"), "type": activity.offsets_by(session, "type"),
                   "model": activity.offsets_by(session, "model")}  # fmt: skip
        return Counted(weeks, offsets, reports_taken_back(session))

    def _show(self, counted: object) -> None:
        assert isinstance(counted, Counted)
        focus = QApplication.focusWidget()
        had_focus = self.grid is not None and focus is not None and self.grid.isAncestorOf(focus)
        self.counted = counted
        self.sentence.say(wording.headline(self.desk, counted.weeks))
        unknown = wording.not_known(self.desk, counted.weeks)
        self.unknown.say(unknown)
        self.unknown.setVisible(bool(unknown))
        clear(self._grid)
        self.grid = Grid(self.desk, counted.weeks, narrow=self.small)
        self.grid.site_wanted.connect(self._site_wanted)
        self.grid.told.connect(self.told.say)
        self._grid.addWidget(self.grid)
        if had_focus and self.grid.cells:
            self.grid.cells[0][-1].setFocus(Qt.FocusReason.OtherFocusReason)
        self.taken_back.show_reports(counted.taken_back)
        self._show_offsets()
        self.desk.in_background(self._look_at_baths, self._show_baths)

    def _look_at_baths(self, progress: Progress) -> list[baths.SiteBaths]:
        return baths.look(self.desk, progress)

    def _show_baths(self, found: object) -> None:
        assert isinstance(found, list)
        self.baths.show_baths(found)

    def _by_chosen(self, _: str) -> None:
        self._show_offsets()

    def _show_offsets(self) -> None:
        if self.counted is None:
            return
        clear(self._spread)
        by = self.by.value
        groups = self.counted.offsets[by]
        names = [self._group_name(by, one.key) for one in groups]
        self.spread = Spread(self.desk, by, groups, names, narrow=self.small)
        self._spread.addWidget(self.spread)

    def _group_name(self, by: str, key: str) -> str:
        if by == "type":
            return self.desk.say(f"type.{key}")
        if by == "model":
            return key or self.desk.say("activity.model_not_stated")
        names = {one.subject: one.payload.name for one in self.desk.sites()}
        return names.get(key) or self.desk.say("activity.site_not_stated")

    def _site_wanted(self, site: str, monday: object) -> None:
        """Its monthly log, where each missed check stands by name."""
        today = day_at(self.desk.session.clock(), self.desk.site.payload.zone)
        day = min(monday, today) if isinstance(monday, date) else today
        self.desk.go("proof", LogOf(site, day))
