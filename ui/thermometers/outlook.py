"""Where a thermometer goes, by all its checks: one plain sentence, what it rests on behind a press."""

from PySide6.QtWidgets import QWidget

from registry.services.plain_charts import plain_charts
from registry.services.session import day_at
from registry.services.thermometer_page import ThermometerPage
from registry.services.words import outlook as words
from registry.services.words import plain_charts as plain
from ui.budget import show_budget
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import LINK, Button, Words, column, on_press


class OutlookShown(QWidget):
    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.goes = Words(desk.look, "", 16, bold=True)
        self.known = Words(desk.look, "", 15, colour="muted")
        self.budget = on_press(Button(desk.look, desk.say("thermometers.made_of"), LINK), self._show_budget)
        self.changes = on_press(Button(desk.look, desk.say("thermometers.changes"), LINK), self._show_changes)
        presses = Flow(space=16)
        presses.addWidget(self.budget)
        presses.addWidget(self.changes)
        self.setLayout(column(self.goes, self.known, presses, space=2))
        self._page: ThermometerPage | None = None

    def show_of(self, page: ThermometerPage) -> None:
        desk, self._page = self._desk, page
        goes, *known = words.sentences(page.outlook, desk.language, desk.region, day_at(page.now, page.zone))
        self.goes.say(goes)
        self.known.say(" ".join(known))
        self.known.setVisible(bool(known))
        self.budget.setVisible(page.sentence.check is not None)
        self.changes.setVisible(page.outlook.says != "never")

    def _show_budget(self) -> None:
        if self._page is not None and self._page.sentence.check is not None:
            show_budget(self._desk, self._page.sentence.check)

    def _show_changes(self) -> None:
        """The sudden changes and what the tracking rests on."""
        desk, page = self._desk, self._page
        if page is None:
            return
        told = [
            desk.say(
                "outlook.step_reported" if reported else "outlook.step_found",
                when=desk.instant(at, page.zone),
                size=desk.offset(size, 1),
            )
            for at, size, reported in page.outlook.steps
        ] or [desk.say("outlook.no_steps")]
        told.append(words.rests_on(page.outlook, desk.language))
        charts = plain_charts(page.followed, page.unit)
        told += ["", desk.say("thermometers.plain_charts")] if charts else []
        told += [" ".join(plain.sentences(one, desk.language, desk.region, page.zone)) for one in charts]
        desk.ask.sure(desk.say("thermometers.changes"), desk.say("frame.go_on"), lambda: None, details="\n".join(told))
