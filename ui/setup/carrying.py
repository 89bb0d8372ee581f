"""A registry that may only be looked at: what that means, and how an administrator goes on with a new key."""

import platform
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from registry.services import upkeep
from registry.services.problems import KnownError, Refused
from registry.services.upkeep import CarryingOn
from registry.wording import refusals
from ui.desk import Desk
from ui.forms import CHOICE, Field, Form
from ui.parts import MAIN, Button, Words, column, on_press, row
from ui.setup.inline import WIDEST, said
from ui.work import Progress

# Why a registry is not recorded in, and what has most likely happened then.
LIKELY = {
    "key_missing": "lost_key",
    "key_damaged": "lost_key",
    "key_of_another_chain": "copied",
    "elsewhere": "moved",
    "behind": "restored",
    "branched": "copied",
    "other_chain": "copied",
    "unmarked": "copied",
}
BECAUSE = ("moved", "restored", "copied", "lost_key")


def is_needed(why: str | None) -> bool:
    """Whether somebody has to say what happened; a folder that is only to be read is another matter."""
    return why in LIKELY


class Succession(QObject):
    """A carrying on under way; it outlives the band that began it."""

    failed = Signal(object)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.desk = desk
        self.running = False

    @classmethod
    def of(cls, desk: Desk) -> "Succession":
        """The one of this window."""
        found = desk.findChild(cls)
        return found if isinstance(found, cls) else cls(desk)

    def start(self, home: Path, told: CarryingOn) -> None:
        """The registry stays open to be looked at until the new one is."""
        old = self.desk.session

        def work(_progress: Progress) -> Any:
            return upkeep.carry_on(home, told, clock=old.clock, random=old.random, machine=old.machine)

        if not self.running:
            self.running = True
            self.desk.in_background(work, self._done, self._failed)

    def _done(self, session: Any) -> None:
        self.running = False
        old, self.desk.session = self.desk.session, session
        old.close()
        self.desk.rebuild.emit()
        self.desk.notice(self.desk.say("setup.carried_on"))

    def _failed(self, error: Exception) -> None:
        self.running = False
        self.failed.emit(error)


class CarryOn(QWidget):
    """A band above the part in sight."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, why = desk, desk.look, desk.session.why_read_only or ""
        self.answer = Words(look, "", bold=True)
        self.answer.hide()
        self.run = Succession.of(desk)
        self.run.failed.connect(self._failed)
        parts: list[Any] = [
            Words(look, desk.say("setup.only_looking_title"), 20, bold=True),
            Words(look, refusals.trouble(why, desk.language)),
            Words(look, desk.say("setup.carry_on_means")),
        ]
        parts += self._questions(LIKELY[why]) if desk.actor.may("administrator") else [self._not_you()]
        self.setLayout(column(*parts, self.answer, space=8, margins=(20, 14, 20, 14)))

    def _not_you(self) -> Words:
        return Words(self.desk.look, self.desk.say("setup.administrator_carries_on"), bold=True)

    def _questions(self, likely: str) -> list[Any]:
        say, look = self.desk.say, self.desk.look
        reasons = tuple((one, say(f"setup.because.{one}")) for one in BECAUSE)
        self.form = Form(
            look,
            [
                Field("because", say("setup.what_happened"), CHOICE, likely, reasons),
                Field("name", say("setup.computer_name"), value=platform.node()),
                Field("old_key", say("setup.old_key"), hint=say("setup.old_key_hint")),
                Field("chain", say("setup.chain_code"), hint=say("setup.chain_code_hint")),
            ],
        )
        self.form.setMaximumWidth(look.text(WIDEST))
        self.form.submitted.connect(self.do)
        self.button = Button(look, say("setup.carry_on"), MAIN)
        on_press(self.button, self.do)
        choose = on_press(Button(look, say("setup.choose_key")), self._choose_key)
        return [self.form, row(self.button, choose, None)]

    def _choose_key(self) -> None:
        ask = self.desk.ask
        ask.which_file(
            self.desk.say("setup.choose_key"),
            self.desk.say("setup.key_files"),
            lambda path: self.form.fill({"old_key": str(path)}),
        )

    def do(self) -> None:
        self.form.forget_problems()
        self.answer.hide()
        values, home = self.form.values(), self.desk.session.home
        told = CarryingOn(
            values["because"],
            values["name"] or values["because"],
            self.desk.actor.person,
            Path(values["old_key"]) if values["old_key"] else None,
            values["chain"],
        )
        if home is not None and self.button.isEnabled():
            self.button.setEnabled(False)
            self.run.start(home, told)

    def _failed(self, error: Exception) -> None:
        self.button.setEnabled(True)
        if isinstance(error, Refused):
            self.form.show_problems(error.problems, lambda one: said(one, self.desk))
        elif isinstance(error, KnownError):
            self.answer.say(refusals.trouble(error.code, self.desk.language))
            self.answer.show()
        else:
            raise error

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.desk.look.cautint)
