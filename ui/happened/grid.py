"""The grid of a paper sheet: one line a thermometer in the sheet's order; Enter goes down the column."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QWidget

from registry.quantity import NotAReading, parse_reading
from registry.services.checks import NO_READING, NOT_CHECKED
from registry.services.problems import Problem
from ui import theme
from ui.desk import Desk
from ui.flow import Flow
from ui.happened.cells import READINGS, Cell, ChoiceCell
from ui.happened.keyed import Line, with_cell
from ui.happened.shown import doubts, scales_of
from ui.happened.swapped import Swapped
from ui.parts import Line as Rule
from ui.parts import Words, column, holding, row
from ui.tick import Tick

ORDER = ("bath", "time", "reading", "repeat_1", "repeat_2", "unit", "as_left", "adjusted", "instead", "initials")


class SheetGrid(Swapped):
    """The lines as fields. It tells of each change; what is wrong stands beneath its line."""

    changed = Signal()
    ended = Signal()  # Enter in the last line

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self.lines: list[Line] = []
        self.cells: list[dict[str, Cell | ChoiceCell]] = []
        self._said: list[tuple[Words, QCheckBox]] = []
        self._asked: list[frozenset[str]] = []
        self._grid = QGridLayout()
        self._whole = column(space=12)
        self._two_baths = self.stacked = False
        self.needs = 0  # px, for lines that stand side by side

    def show_lines(self, lines: Sequence[Line], *, two_baths: bool, room: int = 0) -> None:
        """Make the fields anew, with what was typed; where a line needs more than `room` px, its cells break it."""
        self._show_lines(lines, two_baths=two_baths, stacked=False)
        self.needs = self._grid.minimumSize().width() if lines else 0
        if 0 < room < self.needs:
            self._show_lines(lines, two_baths=two_baths, stacked=True)

    def _show_lines(self, lines: Sequence[Line], *, two_baths: bool, stacked: bool) -> None:
        self.empty()
        self.lines, self.cells, self._said, self._asked = list(lines), [], [], []
        self._two_baths, self.stacked = two_baths, stacked
        if not lines:
            return
        if stacked:
            self._whole = column(space=12)
            for number, line in enumerate(self.lines):
                self._add_stacked(number, line)
            self.put(self._whole)
            return
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(4)
        self._grid.setVerticalSpacing(4)
        heads = ["tag", *self._columns()]
        for n, head in enumerate(heads):
            made = Words(self.look, self._head(head), 14, colour="muted", wrap=head not in ("tag", "bath", "unit"))
            self._grid.addWidget(made, 0, n, Qt.AlignmentFlag.AlignBottom)
        for number, line in enumerate(self.lines):
            self._add(number, line)
        for name in ("adjusted", "instead"):
            self._grid.setColumnStretch(heads.index(name), 1)
        self.put(self._grid)

    def _columns(self) -> list[str]:
        return [one for one in ORDER if one != "bath" or self._two_baths]

    def _head(self, name: str) -> str:
        return self.desk.say("happened.instead" if name == "instead" else f"sheet.column.{name}")

    def _add(self, number: int, line: Line) -> None:
        at = 3 * number + 1
        self._grid.addWidget(self._tag(number, line), at, 0)
        for n, widget in enumerate(self._line_cells(number, line).values(), 1):
            self._grid.addWidget(widget, at, n)
        problem, stands = self._beneath(number)
        problem.setMaximumWidth(self.look.text(460))  # what is in sight of a large text, too
        told = row(problem, None)
        told.setStretch(0, 100)
        self._grid.addLayout(told, at + 1, 1, 1, len(self._columns()))
        self._grid.addLayout(row(stands, None), at + 2, 1, 1, len(self._columns()))
        self._question(number)

    def _add_stacked(self, number: int, line: Line) -> None:
        """The tag id, and beneath it the cells, each under its own words, in as many lines as they need."""
        cells = []
        for name, widget in self._line_cells(number, line).items():
            if isinstance(widget, ChoiceCell):
                widget.setMinimumWidth(self.look.text(200))
            head = Words(self.look, self._head(name), 14, colour="muted", wrap=False)
            cells.append(holding(column(head, widget, space=2)))
        problem, stands = self._beneath(number)
        block = column(self._tag(number, line), Flow(*cells, space=8), problem, stands, space=4)
        self._whole.addLayout(block)
        self._whole.addWidget(Rule(self.look.line))
        self._question(number)

    def _tag(self, number: int, line: Line) -> Words:
        name = self.desk.say("happened.line", number=number + 1, tag=line.row.tag_id)
        return Words(self.look, name, 16, bold=True, wrap=False)

    def _line_cells(self, number: int, line: Line) -> dict[str, QWidget]:
        """What stands in each column; those that are written in are kept by name."""
        made: dict[str, Cell | ChoiceCell] = {}
        found: dict[str, QWidget] = {}
        for name in self._columns():
            if name == "unit" and len(line.row.scales) == 1:
                found[name] = Words(self.look, f"°{line.row.default_unit}", 15, colour="muted")
                continue
            found[name] = made[name] = self._cell(line, name)
            made[name].setProperty("line", number)
        self.cells.append(made)
        return found

    def _beneath(self, number: int) -> tuple[Words, Tick]:
        """What is asked or wrong stands there, and the box that says it stands so on the paper."""
        problem = Words(self.look, "", 15, bold=True, colour="caution")
        stands = Tick(self.look, self.desk.say("happened.stands_so"))
        stands.setMinimumHeight(theme.TOUCH)
        stands.setProperty("line", number)
        stands.toggled.connect(self._stands)
        for widget in (problem, stands):
            widget.hide()
        self._said.append((problem, stands))
        self._asked.append(frozenset())
        return problem, stands

    def _cell(self, line: Line, name: str) -> Cell | ChoiceCell:
        told = self.desk.say("happened.cell", column=self._head(name), tag=line.row.tag_id)
        if name in ("adjusted", "instead"):
            made: Cell | ChoiceCell = ChoiceCell(self.desk, name, told, self._choices(line, name))
            assert isinstance(made, ChoiceCell)
            made.setCurrentIndex(max(0, made.findData(line.cells.get(name, ""))))
            made.currentIndexChanged.connect(self._edited)
        else:
            made = Cell(self.desk, name, told)
            made.setText(line.cells.get(name, ""))
            made.textEdited.connect(self._edited)
        made.step.connect(self._step)
        return made

    def _choices(self, line: Line, name: str) -> list[tuple[str, str]]:
        if name == "adjusted":
            return [(one, self.desk.say(f"adjustment.{one}")) for one in line.row.may_adjust]
        found = [(one, self.desk.say(f"due_state.{one}")) for one in NOT_CHECKED]
        return found + [(one, self.desk.say(f"no_reading.{one}")) for one in NO_READING]

    # --- typing ----------------------------------------------------------------------------------------------

    def _edited(self, *_: object) -> None:
        cell = self.sender()
        if isinstance(cell, Cell):
            text = cell.text().replace("−", "-").replace("–", "-")
        else:
            assert isinstance(cell, ChoiceCell)
            text = str(cell.currentData())
        number = int(cell.property("line"))
        self.lines[number] = with_cell(self.lines[number], cell.name, text.upper() if cell.name == "unit" else text)
        self._question(number)
        self.changed.emit()

    def _stands(self, on: bool) -> None:
        number = int(self.sender().property("line"))
        line = self.lines[number]
        self.lines[number] = Line(line.row, line.cells, self._asked[number] if on else frozenset())
        self.changed.emit()

    def _step(self, by: int) -> None:
        cell = self.sender()
        assert isinstance(cell, Cell | ChoiceCell)
        number = int(cell.property("line")) + by
        while 0 <= number < len(self.cells) and cell.name not in self.cells[number]:
            number += by
        if 0 <= number < len(self.cells):
            self.focus_on(number, cell.name)
        elif by > 0:
            self.ended.emit()

    def focus_on(self, number: int, name: str) -> None:
        cell = self.cells[number].get(name)
        if cell is not None:
            cell.setFocus()
            if isinstance(cell, Cell):
                cell.selectAll()

    # --- what is asked, and what is wrong --------------------------------------------------------------------

    def _question(self, number: int) -> None:
        """As it is typed: off its scale, too fine for it, not its unit. The right answer is never offered."""
        found = questions(self.lines[number])
        self.say(number, " ".join(self.desk.say_problem(one) for one in found), frozenset(one.code for one in found))

    def problem(self, number: int) -> Words:
        return self._said[number][0]

    def stands(self, number: int) -> QCheckBox:
        return self._said[number][1]

    def say(self, number: int, sentence: str, asked: frozenset[str]) -> None:
        """A sentence beneath a line; `asked`: the codes of what may stand so on the paper, and none where it can't."""
        self._asked[number] = asked
        problem, stands = self._said[number]
        problem.say(sentence)
        problem.setVisible(bool(sentence))
        stands.blockSignals(True)
        stands.setChecked(bool(asked) and asked <= self.lines[number].stands)
        stands.blockSignals(False)
        stands.setVisible(bool(asked))
        for cell in self.cells[number].values():
            cell.setAccessibleDescription(sentence)


def questions(line: Line) -> list[Problem]:
    """What is to be asked about the readings of a line, each code once."""
    found: dict[str, Problem] = {}
    unit = "F" if line.unit() == "F" else "C"
    for name in READINGS:
        try:
            shown = parse_reading(line.cells.get(name, ""), "F" if unit == "F" else "C")
        except NotAReading:
            continue
        for one in doubts(scales_of(line.row), shown):
            found.setdefault(one.code, one)
    return list(found.values())
