"""What the press came to, said at once: may it be used, and what is to be done next."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from ui.desk import Desk
from ui.flow import Flow
from ui.happened.standing import READY, Standing
from ui.happened.undo import Done
from ui.marks import Mark
from ui.parts import LINK, MAIN, PLAIN, Button, Sentence, Words, on_press, row

ADVICE = ("battery_low", "bent", "sensor_changed", "unit_switched", "water_inside")


class Answer(QWidget):
    """The sentence, large; the next step, with its button; who else is touched; the way back."""

    check = Signal()
    take_out = Signal()
    no_bath = Signal()
    undo = Signal()
    another = Signal()

    def __init__(self, desk: Desk, done: Done, now: Standing) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.buttons: list[Button] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(12)
        self._say_whether(now)
        self._say(f"happened.next_{_next(now)}", 20, tag=now.tag_id)
        if done.what in ADVICE and not done.voided:
            self._say(f"happened.advice_{done.what}", 17)
        if done.others and not done.voided:
            self._say("happened.others", 17, bold=True, tags=", ".join(done.others), count=len(done.others))
        if now.status not in READY and now.is_last:
            self._say_last(now)
        self._column.addSpacing(4)
        self._column.addLayout(self._buttons(done, now))
        self._column.addSpacing(4)
        self._say(_recorded(done), 15, colour="muted", **self._values(done))
        self._column.addStretch(1)

    def _say_whether(self, now: Standing) -> None:
        mark = Mark(self.look, self.look.text(30))
        mark.show_mark("service", now.status, self.desk.say(f"status.{now.status}"))
        self.sentence = Sentence(self.look, "", 22 if self.look.narrow else 30)
        self.sentence.say(self.desk.say(f"happened.may_{now.status}", tag=now.tag_id))
        line = row(mark, self.sentence, space=16)
        line.setAlignment(mark, Qt.AlignmentFlag.AlignTop)
        line.setStretch(1, 1)
        self._column.addLayout(line)

    def _say_last(self, now: Standing) -> None:
        code = "happened.no_spare" if not now.spare else "happened.too_few"
        values: dict[str, Any] = {"station": now.place, "count": now.of_type, "wanted": now.wanted}
        self._say(code, 17, colour="caution", bold=True, **values)

    def _say(self, code: str, /, size: float, *, colour: str = "ink", bold: bool = False, **values: Any) -> None:
        self._column.addWidget(Words(self.look, self.desk.say(code, **values), size, colour=colour, bold=bold))

    def _values(self, done: Done) -> dict[str, Any]:
        what = self.desk.say(f"incident.{done.what}") if done.incident else ""
        return {"what": what, "tag": done.first.tag_id, "at": self.desk.instant(done.at)}

    def _buttons(self, done: Done, now: Standing) -> Flow:
        first = now.status == "check_first"
        flow = Flow(space=12)

        def add(code: str, action: Callable[[], object], kind: str = PLAIN) -> None:
            button = Button(self.look, self.desk.say(f"happened.{code}"), kind, height=56)
            button.setObjectName(code)
            button.setAccessibleName(f"{button.text()}: {done.first.tag_id}")
            self.buttons.append(button)
            flow.addWidget(on_press(button, action))

        if first:
            add("check_now", self.check.emit, MAIN)
            add("take_it_out", self.take_out.emit)
            add("no_bath", self.no_bath.emit)
        add("another", self.another.emit)
        if not done.voided:
            add("undo", self.undo.emit, LINK)
        return flow

    def button(self, code: str) -> Button:
        return next(one for one in self.buttons if one.objectName() == code)


def _next(now: Standing) -> str:
    return f"check_{now.point}" if now.status == "check_first" else now.status


def _recorded(done: Done) -> str:
    if done.voided:
        return "happened.taken_back"
    return f"happened.recorded_{done.what}" if done.what in ("taken_out", "put_back") else "happened.recorded"
