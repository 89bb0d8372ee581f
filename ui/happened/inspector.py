"""The inspector is here: theirs and ours in the same water, side by side; recorded, not judged."""

from fractions import Fraction

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.quantity import TemperatureDifference
from registry.services import lookup, vouching
from registry.services.problems import Refused
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.happened.picking import PickField
from ui.happened.shown import ShownField
from ui.happened.standing import Standing, by_station, standing
from ui.happened.swapped import Swapped
from ui.parts import MAIN, Button, Choice, Sentence, Words, column, on_press

WHOSE = ("inspector", "supplier", "other_party")


class InspectorPart(QWidget):
    """Which one, both readings, whose the other is; then how far apart, and the way to the proof of ours."""

    title_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, say = desk, desk.look, desk.say
        self.picked: Standing | None = None
        self._id = desk.session.new_id()
        self._apart: TemperatureDifference | None = None
        self.which = PickField(desk, say("happened.which"))
        self.which.picked.connect(self.pick)
        self.chosen = Words(self.look, "", 18, bold=True)
        self.ours = ShownField(desk, say("happened.ours_shows"), unit=desk.unit)
        self.theirs = ShownField(desk, say("happened.theirs_shows"), unit=desk.unit)
        self.ours.entered.connect(self.theirs.field.setFocus)
        self.theirs.entered.connect(self.record)
        for one in (self.ours, self.theirs):
            one.keyed.connect(self._changed)
        choices = [(one, say(f"happened.whose_{one}")) for one in WHOSE]
        self.whose = Choice(self.look, choices, "inspector", say("happened.whose"), height=theme.TOUCH, breaks=True)
        self.button = Button(self.look, say("happened.record_side"), MAIN, height=56)
        on_press(self.button, self.record)
        lay = QVBoxLayout(self)
        lay.setContentsMargins(0, 0, 0, 0)
        lay.setSpacing(12)
        for part in (self.which, self.chosen):
            lay.addWidget(part)
        lay.addLayout(Flow(self.ours, self.theirs, space=32))
        lay.addWidget(Words(self.look, say("happened.whose"), 14, colour="muted"))
        lay.addWidget(self.whose, 0, Qt.AlignmentFlag.AlignLeft)
        lay.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        self.answer = Swapped()
        lay.addWidget(self.answer)
        lay.addStretch(1)
        self.chosen.hide()

    @property
    def title(self) -> str:
        return self.desk.say("happened.title_inspector")

    def start(self) -> None:
        self.read_again()
        (self.which.field if self.picked is None else self.ours.field).setFocus()

    def read_again(self) -> None:
        self.which.know([row.tag_id or "" for _, rows in by_station(self.desk) for row in rows])
        if self.picked is not None:
            self._show_picked(standing(self.desk, self.picked.of.row.thermometer))

    def pick(self, thermometer: str) -> None:
        self._show_picked(standing(self.desk, thermometer))
        self._changed()
        self.ours.field.setFocus()

    def _show_picked(self, of: Standing) -> None:
        self.picked = of
        kind = self.desk.say(f"type.{of.of.type.code}")
        self.chosen.say(self.desk.say("happened.picked", tag=of.tag_id, kind=kind, place=of.place))
        self.chosen.show()
        self.which.field.setText(of.tag_id)
        self.ours.set_thermometer(of.of, self.desk.unit)

    def _changed(self) -> None:
        """Another pair: it gets an id of its own."""
        self._id, self._apart = self.desk.session.new_id(), None
        self.answer.empty()
        self.button.setEnabled(True)

    def record(self) -> None:
        """Record both; how far apart is told, and nothing is judged."""
        desk, of = self.desk, self.picked
        if of is None:
            self.which.say_problem(desk.say("happened.pick_first"))
            self.which.field.setFocus()
            return
        try:
            shown, theirs = self.ours.reading(), self.theirs.reading()
        except Refused:
            return
        thermometer, ident = of.of.row.thermometer, self._id
        desk.did(
            lambda: vouching.side_by_side(
                desk.session, desk.actor, thermometer, shown, theirs, self.whose.value, side_by_side=ident
            ),
            self._tell,
        )

    def _tell(self, apart: TemperatureDifference) -> None:
        assert self.picked is not None
        self._apart = apart
        self.button.setEnabled(False)
        self.sentence = Sentence(self.look, "", 26)
        self.sentence.say(apart_sentence(self.desk, self.picked.tag_id, apart.to(self.ours.unit)))
        proof = Button(self.look, self.desk.say("happened.to_proof", tag=self.picked.tag_id), height=theme.TOUCH)
        another = Button(self.look, self.desk.say("happened.another_pair"), height=theme.TOUCH)
        judged = Words(self.look, self.desk.say("happened.not_judged"), 17, bold=True)
        last = Words(self.look, self._last_check(), 17)
        ways = Flow(on_press(proof, self._to_proof), on_press(another, self.fresh), space=12)
        self.answer.put(column(self.sentence, judged, last, ways))
        proof.setFocus()
        self.answer.reveal()

    def _last_check(self) -> str:
        desk, of = self.desk, self.picked
        assert of is not None
        with desk.session.reading() as connection:
            found = lookup.last_check(connection, of.of.row.thermometer)
        if found is None:
            return desk.say("happened.never_checked", tag=of.tag_id)
        point, at = desk.say(f"point.{found.point}"), desk.instant(found.at)
        if found.outcome is None:
            return desk.say("happened.last_check_waits", point=point, at=at)
        return desk.say("happened.last_check", point=point, at=at, outcome=desk.say(f"outcome.{found.outcome}"))

    def _to_proof(self) -> None:
        assert self.picked is not None
        self.desk.go("proof", self.picked.of.row.thermometer)

    def fresh(self) -> None:
        self.picked = None
        self.chosen.hide()
        self.which.field.clear()
        self.ours.set_thermometer(None, self.desk.unit)
        for one in (self.ours, self.theirs):
            one.field.write("")
        self._changed()
        self.which.field.setFocus()

    def scanned(self, code: str) -> bool:
        return self.which.take(code)

    def state(self) -> dict[str, object]:
        thermometer = self.picked.of.row.thermometer if self.picked is not None else ""
        shown: dict[str, object] = {"ours": self.ours.state(), "theirs": self.theirs.state(), "whose": self.whose.value}
        shown |= {"id": self._id, "apart": self._apart}
        return {"thermometer": thermometer, **shown}

    def restore(self, kept: dict[str, object]) -> None:
        if thermometer := kept.get("thermometer"):
            self.pick(str(thermometer))
        self.ours.restore(kept["ours"])  # type: ignore[arg-type]
        self.theirs.restore(kept["theirs"])  # type: ignore[arg-type]
        self.whose.choose(str(kept["whose"]))
        self._id = str(kept["id"])
        if isinstance(apart := kept.get("apart"), TemperatureDifference) and self.picked is not None:
            self._tell(apart)


def apart_sentence(desk: Desk, tag: str, apart: TemperatureDifference) -> str:
    """How far ours lies from theirs, by its side in words."""
    value = apart.rounded(2).value
    if value == 0:
        return desk.say("happened.no_difference", tag=tag)
    places = 1 if Fraction(apart.value) * 10 % 1 == 0 else 2
    size = f"{format.number(abs(apart.rounded(places).value), desk.region)}{format.HARD_SPACE}°{apart.unit}"  # type: ignore[arg-type]
    return desk.say("happened.reads_higher" if value > 0 else "happened.reads_lower", tag=tag, apart=size)
