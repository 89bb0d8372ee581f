"""The bath can't be mended: two in the same water, and on which basis one of them may be used this shift."""

from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from registry.quantity import TemperatureDifference
from registry.services import places, rules, vouching
from registry.services.problems import Refused
from registry.services.vouching import Beside
from registry.wording import format
from ui.desk import Desk
from ui.flow import Flow
from ui.happened.picking import PickField
from ui.happened.shown import ShownField
from ui.happened.standing import Standing, by_station, standing
from ui.happened.swapped import Swapped
from ui.marks import Mark
from ui.parts import MAIN, Button, Sentence, Words, column, on_press, row


class OneOfTwo(QWidget):
    """One of the two thermometers: which, and what it shows."""

    changed = Signal()
    entered = Signal()

    def __init__(self, desk: Desk, which: str, shows: str) -> None:
        super().__init__()
        self.desk = desk
        self.picked: Standing | None = None
        self.which = PickField(desk, which)
        self.which.picked.connect(self.pick)
        self.shown = ShownField(desk, shows, unit=desk.unit, named=f"{which}: {shows}")
        self.shown.keyed.connect(self.changed)
        self.shown.entered.connect(self.entered)
        self.setLayout(column(self.which, self.shown, None, space=10))

    def pick(self, thermometer: str) -> None:
        self.picked = standing(self.desk, thermometer)
        self.which.field.setText(self.picked.tag_id)
        self.shown.set_thermometer(self.picked.of, self.desk.unit)
        self.changed.emit()
        self.shown.field.setFocus()

    def needed(self) -> Standing | None:
        if self.picked is None:
            self.which.say_problem(self.desk.say("happened.pick_first"))
            self.which.field.setFocus()
        return self.picked


class AgreePart(QWidget):
    """Both readings, one press, and the sentence that says whether it may be used and until when."""

    title_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, say = desk, desk.look, desk.say
        self._id = desk.session.new_id()
        self._told: tuple[str, str, str, list[str]] | None = None
        self.use = OneOfTwo(desk, say("happened.which_to_use"), say("happened.it_shows"))
        self.other = OneOfTwo(desk, say("happened.which_beside"), say("happened.it_shows"))
        for one in (self.use, self.other):
            one.changed.connect(self._changed)
        self.use.entered.connect(self.other.which.field.setFocus)
        self.other.entered.connect(self.allow)
        self.button = Button(self.look, say("happened.may_it_be_used"), MAIN, height=56)
        on_press(self.button, self.allow)
        self.answer = Swapped()
        whole = column(Words(self.look, say("happened.agree_how"), 17), Flow(self.use, self.other, space=40), space=14)
        whole.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        whole.addWidget(self.answer)
        whole.addStretch(1)
        self.setLayout(whole)

    @property
    def title(self) -> str:
        return self.desk.say("happened.title_agree")

    def start(self) -> None:
        self.read_again()
        (self.use.which.field if self.use.picked is None else self.use.shown.field).setFocus()

    def read_again(self) -> None:
        known = [row.tag_id or "" for _, rows in by_station(self.desk) for row in rows]
        for one in (self.use, self.other):
            one.which.know(known)

    def pick(self, thermometer: str) -> None:
        self.use.pick(thermometer)

    def _changed(self) -> None:
        self._id, self._told = self.desk.session.new_id(), None
        self.answer.empty()
        self.button.setEnabled(True)

    def allow(self) -> None:
        """Ask the service; its basis, or why not, is said at once."""
        of, other, desk = self.use.needed(), self.other.needed(), self.desk
        if of is None or other is None:
            return
        try:
            given = Beside(
                of.of.row.thermometer, self.use.shown.reading(), other.of.row.thermometer, self.other.shown.reading()
            )
        except Refused:
            return
        ident = self._id
        try:
            basis = vouching.allow_use(desk.session, desk.actor, given, use=ident)
        except Refused as refused:
            self._tell_why_not(of, refused)
            return
        self._tell(of, basis)
        desk.recorded.emit()

    def _tell_why_not(self, of: Standing, refused: Refused) -> None:
        said = " ".join(self.desk.say_problem(one) for one in refused.problems)
        self._put("service", "out_of_use", self.desk.say("happened.may_not_so", tag=of.tag_id), [said])

    def _tell(self, of: Standing, basis: str) -> None:
        desk, row_ = self.desk, of.of.row
        self.button.setEnabled(False)
        with desk.session.reading() as connection:
            shift = places.shift_now(desk.session, connection, desk.site)
            figure = rules.rules_in_force(connection, row_.site).figure("trust.two_that_agree_margin")
        until = desk.clock_time(shift.ends_at) if shift is not None else ""
        margin = TemperatureDifference.from_text(f"{figure:g} dC").to(self.use.shown.unit)
        moved = format.offset(margin, desk.region).removeprefix("+")
        more = [desk.say(f"happened.basis_{basis}", tag=of.tag_id, margin=moved)]
        mark = "use_by_last_good_check" if basis == "last_good_check" else "use_unsteady"
        self._put("lead", mark, desk.say("happened.may_until", tag=of.tag_id, until=until), more)

    def _put(self, kind: str, code: str, said: str, more: list[str]) -> None:
        self._told = kind, code, said, more
        mark = Mark(self.look, self.look.text(28))
        mark.show_mark(kind, code, "")
        self.sentence = Sentence(self.look, "", 26)
        self.sentence.say(said)
        line = row(mark, self.sentence, space=14)
        line.setAlignment(mark, Qt.AlignmentFlag.AlignTop)
        line.setStretch(1, 1)
        self.more = [Words(self.look, one, 17) for one in more]
        self.answer.put(column(line, *self.more))
        self.answer.reveal()

    def scanned(self, code: str) -> bool:
        """The first scan is the one to use, the next the one beside it."""
        return (self.use if self.use.picked is None else self.other).which.take(code)

    def state(self) -> dict[str, object]:
        kept: dict[str, object] = {
            name: (one.picked.of.row.thermometer if one.picked else "", one.shown.state())
            for name, one in (("use", self.use), ("other", self.other))
        }
        return {**kept, "id": self._id, "told": self._told}

    def restore(self, kept: dict[str, object]) -> None:
        for name, one in (("use", self.use), ("other", self.other)):
            kept_one: Any = kept[name]
            thermometer, shown = kept_one
            if thermometer:
                one.pick(thermometer)
            one.shown.restore(shown)
        self._id = str(kept["id"])
        if isinstance(told := kept.get("told"), tuple):
            self._put(*told)
            self.button.setEnabled(told[0] != "lead")
