"""Reports that were taken back, for the officer: a quiet list, each line a press away from its thermometer."""

from collections.abc import Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services.people import people
from registry.services.taken_back import LOOK_BACK_DAYS, TakenBack
from ui.desk import Desk
from ui.parts import LINK, Button, Line, Words, clear, column, on_press, row

MOST = 20  # lines; the stories hold the others


class TakenBackPart(QWidget):
    """Nothing is shown where none was taken back."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(6)
        self.hide()

    def show_reports(self, found: Sequence[TakenBack]) -> None:
        clear(self._lay)
        self.setVisible(bool(found))
        if not found:
            return
        look, say = self.look, self.desk.say
        told = say("taken_back.told", count=len(found), weeks=LOOK_BACK_DAYS // 7)
        self._lay.addLayout(
            column(Line(look.line), Words(look, say("taken_back.title"), 18, bold=True), Words(look, told, 14), space=6)
        )
        names = self._names()
        zones = {one.subject: one.payload.zone for one in self.desk.sites()}
        for one in found[:MOST]:
            self._lay.addLayout(self._line(one, names, zones.get(one.site, "UTC")))
        if len(found) > MOST:
            self._lay.addWidget(Words(look, say("taken_back.older", count=len(found) - MOST), 14, colour="muted"))

    def _names(self) -> dict[str, str]:
        with self.desk.session.reading() as connection:
            return {one.person: one.name or one.initials for one in people(connection)}

    def _line(self, one: TakenBack, names: dict[str, str], zone: str) -> QVBoxLayout:
        desk, erased = self.desk, self.desk.say("story.name_erased")
        sentence = desk.say(
            "taken_back.by_oneself" if one.by_oneself else "taken_back.line",
            what=desk.say(f"incident.{one.what}"),
            reporter=names.get(one.reported_by) or erased,
            reported=desk.instant(one.reported_at, zone),
            person=names.get(one.by) or erased,
            taken=desk.instant(one.at, zone),
            why=desk.say(f"story.void_why.{one.why}"),
        )
        go = Button(self.look, one.tag_id, LINK)
        go.setAccessibleName(f"{one.tag_id}: {sentence}")
        on_press(go, lambda: desk.go("thermometers", one.thermometer))
        words = Words(self.look, sentence)
        across = row(go, words, space=12)
        across.setStretch(1, 1)
        return column(across, space=0)
