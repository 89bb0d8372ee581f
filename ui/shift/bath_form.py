"""What is asked of a bath by its point; a figure and its unit, a reference and what it shows, stand side by side."""

from collections.abc import Iterator
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QGridLayout, QVBoxLayout, QWidget

from registry.services.baths import MADE, PressureSource
from ui import theme
from ui.desk import Desk
from ui.forms import CHOICE, Field, Form
from ui.parts import Words

# Common in kitchens, first.
UNITS = ("hPa", "inHg", "mmHg", "kPa", "mbar")
FIRST, SECOND = ("pressure", "tag", "tag_2"), ("unit", "shows", "shows_2")


def bath_fields(desk: Desk, point: str) -> list[Field]:
    say, made = desk.say, []
    if len(MADE[point]) > 1:
        how = tuple((one, say(f"bath_short.{one}")) for one in MADE[point])
        made = [Field("made", say("shift.how_made"), CHOICE, how[0][0], how)]
    if point == "boiling_point":
        sources = tuple((one.value, say(f"pressure_source.{one.value}")) for one in PressureSource)
        own, hint = desk.site.payload.pressure_source, say("shift.pressure_source_hint")
        units = tuple((one, one) for one in UNITS)
        return [
            Field("pressure_source", say("shift.pressure_source"), CHOICE, own, sources, hint),
            Field("pressure", say("shift.pressure"), hint=say("shift.pressure_hint")),
            Field("unit", say("shift.pressure_unit"), CHOICE, "inHg" if desk.unit == "F" else "hPa", units),
        ]
    if point == "comparison":
        return [
            *made,
            Field("tag", say("shift.reference_tag"), hint=say("shift.reference_hint")),
            Field("shows", say("shift.reference_shows")),
            Field("tag_2", say("shift.reference_tag_2")),
            Field("shows_2", say("shift.reference_shows")),
        ]
    return made


class BathForm(Form):
    """A form in which some fields stand in pairs, so that the whole of it is in sight."""

    def __init__(self, desk: Desk, point: str) -> None:
        self._pair: tuple[QGridLayout, str] | None = None
        super().__init__(desk.look, bath_fields(desk, point))
        for name in self.values():
            self.input(name).setMinimumHeight(theme.TOUCH)
        if isinstance(unit := self._inputs.get("unit"), QComboBox):
            unit.setMinimumContentsLength(4)
        if point == "comparison":  # told apart where only names are heard
            of, shows = desk.say("shift.reference_tag_2"), desk.say("shift.reference_shows")
            self.input("shows_2").setAccessibleName(f"{of}: {shows}")

    def _add(self, column: QVBoxLayout, field: Field) -> None:
        if field.name in FIRST:
            grid = QGridLayout()
            grid.setSpacing(4)
            grid.setHorizontalSpacing(8)
            self._pair = grid, field.hint
            column.addLayout(grid)
            self._put(field, 0)
            self.input(field.name).setAccessibleDescription(field.hint)
        elif field.name in SECOND and self._pair is not None:
            self._put(field, 1)
            self._end_pair(column)
        else:
            super()._add(column, field)

    def _put(self, field: Field, at: int) -> None:
        """Label over field; what is wrong with either has the width of both."""
        assert self._pair is not None
        part, grid = QVBoxLayout(), self._pair[0]
        super()._add(part, replace(field, hint=""))
        label, made, problem = _taken(part)
        grid.addWidget(label, 0, at, Qt.AlignmentFlag.AlignBottom)
        grid.addWidget(made, 1, at)
        grid.addWidget(problem, 2 + at, 0, 1, 2)
        grid.setColumnStretch(at, 5 if at == 0 else 4)

    def _end_pair(self, column: QVBoxLayout) -> None:
        assert self._pair is not None
        if hint := self._pair[1]:
            column.addWidget(Words(self.look, hint, 13, colour="muted"))
        column.addSpacing(8)
        self._pair = None


def _taken(layout: QVBoxLayout) -> Iterator[QWidget]:
    while (item := layout.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            yield widget
