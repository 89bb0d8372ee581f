"""A thermometer found outside: how it is adjusted, its reading as left, or out of use with a reason."""

from PySide6.QtCore import QObject, Signal

from registry.services import thermometers
from registry.services.problems import KnownError, Refused
from registry.services.shift_row import ListRow
from ui.desk import Desk
from ui.shift.beside import BesideNow
from ui.shift.opened import Adjusting, out_of_use_choices
from ui.shift.standing import Standing


class Adjustments(QObject):
    """The parts that stand open under rows that are outside, and what is keyed and pressed in them."""

    done = Signal(str)
    writing = Signal(str)  # the thermometer whose as-left field has the focus

    def __init__(self, desk: Desk, now: Standing, beside: BesideNow, *, small: bool) -> None:
        super().__init__()
        self.desk, self.now, self.beside, self.small = desk, now, beside, small

    def part(self, listed: ListRow, places: int) -> Adjusting:
        """places: the decimals of the row's field, so that both stand on one axis."""
        assert listed.check is not None
        reference = self.desk.temperature(listed.check.row.judged.reference)
        text = self.now.keying.left_of(listed).text
        part = Adjusting(self.desk, listed, places, reference, text, small=self.small)
        part.setObjectName(listed.thermometer)
        part.keyed.connect(self._keyed)
        part.entered.connect(self._entered)
        part.out_of_use.connect(self._out_of_use)
        part.field.focused.connect(lambda: self.writing.emit(listed.thermometer))
        return part

    def _part(self) -> Adjusting:
        part = self.sender()
        assert isinstance(part, Adjusting)
        return part

    def _keyed(self, text: str) -> None:
        listed = self.now.rows[self._part().objectName()]
        try:
            self.now.keying.left_typed(listed, text)
        except KnownError as trouble:  # it still stands in the field
            self.desk.notice_of(trouble)

    def _entered(self) -> None:
        part = self._part()
        listed = self.now.rows[part.objectName()]
        if not self.now.keying.left_of(listed).text:
            return
        try:
            self.now.keying.adjust(listed, part.how, self.beside.pairs())
        except Refused as refused:
            self._refused(listed, part, refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        self.desk.recorded.emit()
        self.done.emit(listed.thermometer)

    def _refused(self, listed: ListRow, part: Adjusting, refused: Refused) -> None:
        """Questioned, it is typed again; refused for another reason, it stays in its field."""
        self.desk.notice(" ".join(self.desk.say_problem(one) for one in refused.problems))
        part.field.write(self.now.keying.left_of(listed).text)
        if any(one.field == "beside" for one in refused.problems):
            self.beside.ask_again()
        else:
            part.field.setFocus()

    def _out_of_use(self) -> None:
        thermometer, desk = self._part().objectName(), self.desk
        listed = self.now.rows[thermometer]

        def take(why: str) -> None:
            of = listed.check.row.check if listed.check is not None else None
            if desk.did(lambda: thermometers.take_out(desk.session, desk.actor, thermometer, why, of)):
                self.done.emit(thermometer)
                desk.tell_too_few(thermometer)

        desk.ask.choose(desk.say("shift.why_out", tag=listed.tag_id), out_of_use_choices(desk), take)
