"""Something happened to a thermometer: which one, what, and what that means for using it."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.records.outcomes import UNSETTLING
from registry.services import incidents, thermometers
from registry.services.incidents import Reported
from registry.services.problems import Refused
from registry.services.thermometers import STATUS_WHY
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.happened import undo
from ui.happened.answer import Answer
from ui.happened.picking import Picker
from ui.happened.standing import READY, Standing, sharing, standing
from ui.happened.swapped import Swapped
from ui.happened.tile import Tile
from ui.happened.undo import Done
from ui.happened.what import tile, which_one
from ui.happened.when import When
from ui.parts import Button, column, on_press, row

WHY_OUT = tuple(one for one in STATUS_WHY if one not in UNSETTLING)


class ReportPart(QWidget):
    """First the list of thermometers, then the buttons of what may happen, then the answer."""

    title_changed = Signal()
    no_bath_for = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.picked: Standing | None = None
        self.done: Done | None = None
        self.asking_why = False
        self.tiles: list[Tile] = []
        self.answer: Answer | None = None
        self._ids: dict[str, str] = {}
        self.picker = Picker(desk)
        self.picker.picked.connect(self.pick)
        self.when = When(desk)
        self._head, self.body = Swapped(), Swapped()
        self.setLayout(column(self.picker, self._head, self.when, self.body, None, space=12))

    @property
    def title(self) -> str:
        if self.done is not None:
            return self.desk.say("happened.title_done", tag=self.done.first.tag_id)
        if self.picked is None:
            return self.desk.say("happened.title_which")
        code = "happened.title_why_out" if self.asking_why else "happened.title_what"
        return self.desk.say(code, tag=self.picked.tag_id)

    # --- which one -------------------------------------------------------------------------------------------

    def start(self) -> None:
        """The question anew."""
        self.picked, self.done, self.asking_why = None, None, False
        self._ids.clear()
        self.picker.field.field.clear()
        self.picker.narrow("")
        self.when.restore(("now", ""))
        self.read_again()
        self.picker.field.field.setFocus()

    def pick(self, thermometer: str) -> None:
        self.picked, self.done, self.asking_why = standing(self.desk, thermometer), None, False
        self._ids.clear()
        self.when.restore(("now", ""))
        self._show()
        self._focus_first()

    def read_again(self) -> None:
        """As it stands now; whoever was here stays here."""
        here = self.body.isAncestorOf(self.window().focusWidget() or self.window())
        if self.picked is not None:
            self.picked = standing(self.desk, self.picked.of.row.thermometer)
        else:
            self.picker.read_again()
        self._show()
        if here:
            self._focus_first()

    def _focus_first(self) -> None:
        first: Sequence[QWidget] = self.answer.buttons if self.answer is not None else self.tiles
        if first:
            first[0].setFocus()

    # --- showing ---------------------------------------------------------------------------------------------

    def _show(self) -> None:
        of = self.picked
        self.picker.setVisible(of is None)
        self._head.empty()
        self.body.empty()
        self.tiles.clear()
        self.answer = None
        self.when.setVisible(of is not None and self.done is None and not self.asking_why)
        if of is not None and self.done is not None:
            self.answer = self._answer(self.done, of)
            self.body.put(column(self.answer))
        elif of is not None:
            self._head.put(which_one(self.desk, of, self.start))
            self.body.put(self._why() if self.asking_why else self._what(of))
        self.title_changed.emit()

    def _why(self) -> QVBoxLayout:
        tiles = [self._tile(f"out_of_use.{one}", "", self._out_because(one), one) for one in WHY_OUT]
        back = on_press(Button(self.look, self.desk.say("happened.leave_it_in"), height=theme.TOUCH), self._leave_in)
        return column(Flow(*tiles, equal=True), row(back, None), space=12)

    def _what(self, of: Standing) -> QVBoxLayout:
        status = of.of.row.status
        codes = ("found",) if status == "lost" else UNSETTLING
        tiles = [self._tile(f"incident.{one}", one, self._reporting(one), one) for one in codes]
        apart: list[Tile] = []
        if status in READY:
            apart = [self._tile("happened.take_it_out", "out_of_use", self._why_out, "take_out")]
        elif status == "out_of_use":
            apart = [self._tile("happened.put_it_back", "in_service", self.put_back, "put_back")]
        widest = max(one.sizeHint().width() for one in (*tiles, *apart))
        lines = [Flow(*each, equal=True, at_least=widest) for each in (tiles, apart) if each]
        return column(*lines, space=16)

    def _tile(self, words: str, icon: str, action: Callable[[], object], name: str) -> Tile:
        made = tile(self.desk, words, icon, action, name)
        self.tiles.append(made)
        return made

    def _reporting(self, what: str) -> Callable[[], object]:
        return lambda: self.report(what)

    def _out_because(self, why: str) -> Callable[[], object]:
        return lambda: self.take_out(why)

    def _answer(self, done: Done, now: Standing) -> Answer:
        answer = Answer(self.desk, done, now)
        answer.check.connect(self._check_now)
        answer.take_out.connect(self._out_after)
        answer.no_bath.connect(self._no_bath)
        answer.undo.connect(self.undo)
        answer.another.connect(self.start)
        return answer

    # --- doing it --------------------------------------------------------------------------------------------

    def report(self, what: str) -> None:
        """Record an incident; the id is made once, so that a second press records nothing more."""
        if self.picked is None:
            return
        try:
            at = self.when.instant()
        except Refused:
            return
        of, desk = self.picked, self.desk
        incident = self._ids.setdefault(what, desk.session.new_id())
        thermometer, before = of.of.row.thermometer, (of, *sharing(desk, of, what))

        def done(found: Reported) -> None:
            others = tuple(one.tag_id for one in before if one.of.row.thermometer in found.thermometers[1:])
            self._said(Done(what, at or desk.session.clock(), thermometer, before, incident, others))
            desk.tell_too_few(*found.thermometers[1:])  # of the one that was picked the answer says so

        desk.did(
            lambda: incidents.report_incident(
                desk.session, desk.actor, thermometer, what, performed_at=at, incident=incident
            ),
            done,
        )

    def _said(self, done: Done) -> None:
        self.done, self.asking_why = done, False
        self.read_again()
        self._focus_first()

    def _why_out(self) -> None:
        self.asking_why = True
        self._show()
        self._focus_first()

    def _leave_in(self) -> None:
        self.asking_why = False
        self._show()

    def _out_after(self) -> None:
        """Out of use straight from the answer: what happened to it is the reason, where something did."""
        assert self.done is not None
        if self.done.incident and not self.done.voided:
            self.take_out(self.done.what)
        else:
            self.done, self.asking_why = None, True
            self._show()

    def take_out(self, why: str) -> None:
        """Take it out of use; before the last one of its place goes, that is said."""
        of, desk = self.picked, self.desk
        if of is None:
            return
        if of.is_last:
            code = "happened.last_sure" if not of.spare else "happened.too_few_sure"
            sentence = desk.say(code, tag=of.tag_id, station=of.place, count=of.of_type, wanted=of.wanted)
            desk.ask.sure(sentence, desk.say("happened.take_it_out"), lambda: self._take_out(of, why))
        else:
            self._take_out(of, why)

    def _take_out(self, of: Standing, why: str) -> None:
        desk, thermometer = self.desk, of.of.row.thermometer
        done = Done("taken_out", desk.session.clock(), thermometer, (of,))
        desk.did(lambda: thermometers.take_out(desk.session, desk.actor, thermometer, why), lambda _: self._said(done))

    def put_back(self) -> None:
        of, desk = self.picked, self.desk
        if of is None:
            return
        thermometer = of.of.row.thermometer
        done = Done("put_back", desk.session.clock(), thermometer, (of,))
        desk.did(
            lambda: thermometers.set_status(desk.session, desk.actor, thermometer, "in_service"),
            lambda _: self._said(done),
        )

    def undo(self) -> None:
        """A correcting entry; what it touches is told first."""
        done, desk = self.done, self.desk
        if done is None or done.voided:
            return
        what = desk.say("happened.undo_sure", tag=done.first.tag_id)
        told = "\n".join(undo.affects(desk, done))
        desk.ask.sure(what, desk.say("happened.undo_yes"), lambda: self._take_back(done), details=told)

    def _take_back(self, done: Done) -> None:
        self.desk.did(lambda: undo.take_back(self.desk, done), lambda _: self._said(replace(done, voided=True)))

    def _check_now(self) -> None:
        assert self.picked is not None
        self.desk.go("shift", self.picked.of.row.thermometer)

    def _no_bath(self) -> None:
        assert self.picked is not None
        self.no_bath_for.emit(self.picked.of.row.thermometer)

    # --- scanning, and being made anew ------------------------------------------------------------------------

    def scanned(self, code: str) -> bool:
        """A scan picks; while something else of another one is being answered it begins anew with this one."""
        return self.picker.field.take(code)

    def state(self) -> dict[str, object]:
        thermometer = self.picked.of.row.thermometer if self.picked is not None else ""
        return {"thermometer": thermometer, "done": self.done, "why": self.asking_why, "when": self.when.state()}

    def restore(self, kept: dict[str, object]) -> None:
        thermometer, done = kept.get("thermometer"), kept.get("done")
        if not isinstance(thermometer, str) or not thermometer:
            self.start()
            return
        self.pick(thermometer)
        self.done = done if isinstance(done, Done) else None
        self.asking_why = bool(kept.get("why"))
        when = kept.get("when")
        if isinstance(when, tuple):
            self.when.restore(when)
        self._show()
