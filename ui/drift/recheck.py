"""How long thermometers hold between checks, how the plan is kept, and what another plan would have cost and found."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry import resources
from registry.services.intervals import Interval, PlanKept
from registry.services.words import intervals as words
from ui.desk import Desk
from ui.parts import Button, Words, clear, column, on_press

SILENT = ("mixed", "no_rule", "no_shifts", "too_few", "keep_none")  # what asks for nothing stands behind the press


@dataclass(frozen=True, slots=True)
class Advised:
    """By type, and how each site kept its plan."""

    intervals: Sequence[Interval]
    kept: Sequence[PlanKept]


class RecheckPart(QWidget):
    """`plan_wanted`: a plan is to be replayed."""

    plan_wanted = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        self._advised: Advised | None = None
        self._lay = QVBoxLayout()
        self._lay.setSpacing(6)
        self.why = on_press(Button(look, say("drift.recheck_why")), self._show_why)
        self.another = on_press(Button(look, say("drift.try_plan")), self._choose)
        self.all_types = Words(look, say("drift.recheck_all_types"), 14, colour="muted")
        self.all_types.hide()
        title = Words(look, say("drift.recheck"), 18, bold=True)
        self.setLayout(column(title, self.all_types, self._lay, self.why, self.another, space=8))

    def show_advice(self, found: Advised, *, of_all_types: bool = False) -> None:
        """of_all_types: one type alone is looked at, and what is told of all types even so is named."""
        self._advised = found
        self.all_types.setVisible(of_all_types)
        clear(self._lay)
        desk, look = self.desk, self.desk.look
        lines = [self._advice(one) for one in found.intervals if one.advice.says not in SILENT]
        lines += [words.kept(one, desk.language, desk.region) for one in found.kept if one.change]
        for line in lines or [words.nothing(found.intervals, desk.language)]:
            self._lay.addWidget(Words(look, line, 15))

    def wait(self) -> None:
        """Say that it is being worked out: what stood here was of others."""
        self._advised = None
        clear(self._lay)
        self._lay.addWidget(Words(self.desk.look, self.desk.say("drift.wait"), 15, colour="muted"))

    def _advice(self, one: Interval) -> str:
        return words.advice(one, self.desk.say(f"type.{one.key}"), self.desk.language)

    def _show_why(self) -> None:
        found, desk = self._advised, self.desk
        if found is None:
            return
        told = []
        for one in found.intervals:
            told += [self._advice(one), *words.reasons(one, desk.language, desk.region), ""]
        told += [words.kept(one, desk.language, desk.region) for one in found.kept]
        told += ["", desk.say("interval.note")]
        desk.ask.sure(desk.say("drift.recheck"), desk.say("frame.go_on"), lambda: None, details="\n".join(told))

    def _choose(self) -> None:
        plans = [(one, self.desk.say(f"plan.{one}")) for one in resources.default_plans()]
        self.desk.ask.choose(self.desk.say("drift.try_which"), plans, self.plan_wanted.emit)
