"""What a thermometer shows, keyed in once: the field, its unit, and what is asked beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from registry.quantity import NotAReading, Reading, Unit, parse_reading, too_fine
from registry.services.problems import Problem, Refused, refuse
from registry.services.shift_row import ListRow
from registry.services.thermometers import Thermometer
from ui import theme
from ui.desk import Desk
from ui.parts import Choice, Words
from ui.shift.field import ReadingField

UNITS: tuple[Unit, Unit] = ("C", "F")


@dataclass(frozen=True, slots=True)
class Scale:
    """What one scale can show. step: the finest that can be read."""

    lowest: Reading
    highest: Reading
    step: Decimal


Scales = Mapping[Unit, Scale]


def scales_of(of: Thermometer | ListRow) -> Scales:
    if isinstance(of, ListRow):
        return {one.unit: Scale(one.lowest, one.highest, one.step_as_read) for one in of.scales}
    return {
        unit: Scale(Reading.from_text(one.lowest), Reading.from_text(one.highest), of.step_as_read(unit))
        for unit in UNITS
        if (one := of.facts.scales.get(unit)) is not None
    }


def doubts(scales: Scales, shown: Reading) -> list[Problem]:
    """What is to be asked about a reading: beyond the scale, or finer than it can be read."""
    scale = scales.get(shown.unit)
    if scale is None:
        return [Problem("shown", "not_its_unit", {"value": shown.unit})]
    found = []
    if not scale.lowest.value <= shown.value <= scale.highest.value:
        found.append(Problem("shown", "off_scale", {"value": shown.text()}))
    if too_fine(shown, scale.step):
        found.append(Problem("shown", "too_fine", {"value": shown.text()}))
    return found


class ShownField(QWidget):
    """One reading with its unit. A doubtful one is asked for again; typed once more it is taken."""

    entered = Signal()
    keyed = Signal()

    def __init__(
        self, desk: Desk, label: str, *, units: Sequence[Unit] = UNITS, unit: Unit = "C", named: str = ""
    ) -> None:
        """named: what it is called where only names are heard and another field has the same label."""
        super().__init__()
        self.desk, self._label = desk, named or label
        self._scales: Scales | None = None
        self._questioned = ""
        self.words = Words(desk.look, label, 14, colour="muted")
        self.field = ReadingField(desk.look, self._label)
        self.field.keyed.connect(self._keyed)
        self.field.entered.connect(self.entered)
        self._line = QHBoxLayout()
        self._line.setSpacing(12)
        self._line.addWidget(self.field)
        self._unit: Choice | Words | None = None
        self._units: tuple[Unit, ...] = ()
        self.problem = Words(desk.look, "", 14, bold=True, colour="caution")
        self.problem.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.words)
        column.addLayout(self._line)
        column.addWidget(self.problem)
        self._line.addStretch(1)
        self.set_units(units, unit)

    def set_units(self, units: Sequence[Unit], unit: Unit) -> None:
        """The unit that stands on the dial, or a choice of the two."""
        if tuple(units) == self._units:
            return
        self._units = tuple(units)
        if self._unit is not None:
            self._line.removeWidget(self._unit)
            self._unit.hide()
            self._unit.deleteLater()
        if len(units) == 1:
            self._unit = Words(self.desk.look, f"°{units[0]}", 20, colour="muted", wrap=False)
        else:
            name = self.desk.say("happened.unit_of", what=self._label)
            pairs = [(one, f"°{one}") for one in units]
            self._unit = Choice(self.desk.look, pairs, unit, name, height=theme.TOUCH)
            self._unit.chosen.connect(self._keyed)
        self._line.insertWidget(1, self._unit, 0, Qt.AlignmentFlag.AlignVCenter)

    def set_thermometer(self, of: Thermometer | None, unit: Unit) -> None:
        """Its own units, and what it can show."""
        self._scales = scales_of(of) if of is not None else None
        units = tuple(self._scales) if self._scales else UNITS
        self.set_units(units, unit if unit in units else units[0])

    @property
    def unit(self) -> Unit:
        chosen = self._unit.value if isinstance(self._unit, Choice) else self._units[0]
        return "F" if chosen == "F" else "C"

    def _keyed(self, *_: object) -> None:
        self.say_problem("")
        self.keyed.emit()

    def say_problem(self, sentence: str) -> None:
        self.problem.say(sentence)
        self.problem.setVisible(bool(sentence))
        self.field.setAccessibleDescription(sentence)

    def reading(self) -> Reading:
        """What stands there; Refused, said beside the field, where it is no number or is asked for again."""
        try:
            shown = self._reading()
        except Refused as refused:
            self.say_problem(" ".join(self.desk.say_problem(one) for one in refused.problems))
            self.field.setFocus()
            raise
        return shown

    def _reading(self) -> Reading:
        try:
            shown = parse_reading(self.field.text(), self.unit)
        except NotAReading as problem:
            raise refuse("shown", problem.code, value=problem.typed) from None
        found = doubts(self._scales, shown) if self._scales is not None else []
        if found and shown.text() != self._questioned:
            self._questioned = shown.text()
            self.field.write("")
            raise Refused(*found)
        return shown

    # --- what is kept when the page is made anew --------------------------------------------------------------

    def state(self) -> tuple[str, str]:
        return self.field.text(), self.unit

    def restore(self, kept: Sequence[str]) -> None:
        text, unit = kept
        self.field.write(text)
        if isinstance(self._unit, Choice):
            self._unit.choose(unit)
