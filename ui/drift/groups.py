"""How models, makers, types and sites drift in a month: a mean with its interval for each, what surely drifts first."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from registry.charts import value_ticks
from registry.services.groups import GROUPS, Group
from registry.services.outlook import difference
from ui.desk import Desk
from ui.drift.spread import Interval, IntervalLine, Scale, read_out
from ui.parts import Choice, Words, clear, column
from ui.plots.told import Told

LEAST = {"C": 0.1, "F": 0.2}  # a month: what the axis shows at least, either side of nought
MOST = 14  # groups drawn, the fastest; the command line lists them all


class GroupsPart(QWidget):
    """`by_wanted`: another way to group is asked for."""

    by_wanted = Signal(str)

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, look, say = desk, desk.look, desk.say
        choices = [(one, say(f"drift.by.{one}")) for one in GROUPS]
        self.by = Choice(look, choices, "model", say("drift.groups_by"), breaks=True)
        self.by.chosen.connect(self.by_wanted.emit)
        self._lines = QVBoxLayout()
        title = Words(look, say("drift.groups", unit=f"°{desk.unit}"), 18, bold=True)
        how = Words(look, say("drift.groups_how"), 14, colour="muted")
        self.setLayout(column(title, how, self.by, self._lines, space=6))

    def show_groups(self, groups: Sequence[Group], names: Sequence[str]) -> None:
        clear(self._lines)
        desk, look = self.desk, self.desk.look
        if not groups:
            self._lines.addWidget(Words(look, desk.say("drift.no_groups"), 15, colour="muted"))
            return
        shown = list(zip(groups, names, strict=True))[:MOST]
        factor = 1.8 if desk.unit == "F" else 1.0
        found = [Interval(one.low * factor, one.a_month * factor, one.high * factor) for one, _ in shown]
        middle = sorted(max(abs(one.lower), abs(one.upper)) for one in found)[(3 * len(found) - 1) // 4]
        reach = max(LEAST[desk.unit], middle) * 1.1  # a group of few must not flatten all others
        ticks = value_ticks(-reach, reach, 5)
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        lines = []
        for n, ((one, name), line) in enumerate(zip(shown, found, strict=True)):
            grid.addWidget(Words(look, name, 15), n, 0)
            grid.addWidget(Words(look, str(one.thermometers), 15, colour="muted", wrap=False), n, 1)
            lines.append(IntervalLine(look, line, ticks, reach, self._told(one, name)))
            grid.addWidget(lines[-1], n, 2)
        grid.addWidget(Scale(desk, desk.unit, ticks, reach), len(shown), 2)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(2, 3)
        self._lines.addLayout(grid)
        told = Told(desk, desk.say("drift.lines_told"), desk.say("drift.groups", unit=f"°{desk.unit}"))
        self._lines.addLayout(told)
        read_out(lines, told)
        if len(groups) > len(shown):
            left = desk.say("drift.groups_more", count=len(groups) - len(shown))
            self._lines.addWidget(Words(look, left, 14, colour="muted"))

    def wait(self) -> None:
        """Say that it is being worked out: what stood here was of others."""
        clear(self._lines)
        self._lines.addWidget(Words(self.desk.look, self.desk.say("drift.wait"), 15, colour="muted"))

    def _told(self, one: Group, name: str) -> str:
        mean, low, high = (
            self.desk.offset(difference(each, self.desk.unit), 2) for each in (one.a_month, one.low, one.high)
        )
        return self.desk.say("drift.group_told", name=name, count=one.thermometers, mean=mean, low=low, high=high)
