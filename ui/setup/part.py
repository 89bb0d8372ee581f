"""What the parts of Set-up have in common: a heading, whether one may change things here, lists and facts."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLayout, QVBoxLayout, QWidget

from registry.services.problems import Problem
from ui.desk import Desk
from ui.parts import Line, Words, clear
from ui.setup.inline import said
from ui.theme import Look

Cell = str | QWidget
TOLD = 30  # problems of a file that are named


class Part(QWidget):
    """One screen of Set-up. It is filled anew at each visit and whenever something was recorded.

    `roles`: who may change things here; none where nothing is recorded by it.
    """

    name = ""
    roles: tuple[str, ...] = ()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look, self.say = desk, desk.look, desk.say
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(10)

    @property
    def may_change(self) -> bool:
        return self.desk.may(*self.roles)

    def read_again(self) -> None:
        clear(self._lay)
        if self.roles and not self.may_change:
            roles = ", ".join(self.say(f"role.{one}").lower() for one in (*self.roles, "administrator"))
            code = "setup.only_looking" if self.desk.session.signer is None else "setup.why_not"
            self.put(Words(self.look, self.say(code, roles=roles), 15, bold=True))
        self.fill()
        self._lay.addStretch(1)

    def fill(self) -> None:
        """Put in what is shown."""
        raise NotImplementedError

    def focus_name(self) -> str:
        """What shall have the focus when the page is made anew."""
        return ""

    def take_focus(self, name: str) -> None:
        """Give it the focus again."""

    def put(self, *parts: QWidget | QLayout | int) -> None:
        for part in parts:
            if isinstance(part, int):
                self._lay.addSpacing(part)
            elif isinstance(part, QWidget):
                self._lay.addWidget(part)
            else:
                self._lay.addLayout(part)

    def words(self, code: str, /, size: float = 15, *, muted: bool = False, **values: object) -> Words:
        made = Words(self.look, self.say(code, **values), size, colour="muted" if muted else "ink")
        self.put(made)
        return made

    def head(self, code: str, /, **values: object) -> None:
        """The head of a section."""
        self.put(8, Words(self.look, self.say(code, **values), 18, bold=True))

    def refused(self, problems: Sequence[Problem]) -> None:
        """What is wrong with a file, a sentence each; beyond so many they are counted."""
        if problems:
            self.head("setup.import_refused", count=len(problems))
        for one in problems[:TOLD]:
            self.put(Words(self.look, said(one, self.desk)))
        if len(problems) > TOLD:
            self.words("setup.more_problems", count=len(problems) - TOLD, muted=True)

    def facts(self, rows: Sequence[tuple[str, str]]) -> None:
        """Labels, and what is so, one line each."""
        grid = _grid()
        grid.setColumnStretch(1, 1)
        for n, (label, value) in enumerate(rows):
            grid.addWidget(Words(self.look, self.say(label), 14, colour="muted", wrap=self.look.narrow), n, 0, _TOP)
            made = Words(self.look, value)
            made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            grid.addWidget(made, n, 1)
        self.put(grid)

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[Cell]], stretch: Sequence[int]) -> None:
        """Rows under muted heads, parted by lines; the first cell of a row is bold."""
        self.put(table(self.look, [self.say(one) if one else "" for one in heads], rows, stretch))


_TOP = Qt.AlignmentFlag.AlignTop


def _grid() -> QGridLayout:
    grid = QGridLayout()
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(20)
    grid.setVerticalSpacing(6)
    return grid


def table(look: Look, heads: Sequence[str], rows: Sequence[Sequence[Cell]], stretch: Sequence[int]) -> QGridLayout:
    if look.narrow:
        return _stacked(look, heads, rows)
    grid = _grid()
    for n, (words, share) in enumerate(zip(heads, stretch, strict=True)):
        grid.setColumnStretch(n, share)
        grid.addWidget(Words(look, words, 14, colour="muted", wrap=share > 0), 0, n)
    for number, cells in enumerate(rows):
        grid.addWidget(Line(look.line), 2 * number + 1, 0, 1, len(heads))
        for n, cell in enumerate(cells):
            made = cell if isinstance(cell, QWidget) else Words(look, cell, bold=n == 0, wrap=stretch[n] > 0)
            grid.addWidget(made, 2 * number + 2, n)
    grid.addWidget(Line(look.line), 2 * len(rows) + 1, 0, 1, len(heads))
    return grid


def _stacked(look: Look, heads: Sequence[str], rows: Sequence[Sequence[Cell]]) -> QGridLayout:
    """For large text: the cells of a row one under the other, each beside its head."""
    grid, at = _grid(), 0
    grid.setColumnStretch(1, 1)
    for cells in rows:
        grid.addWidget(Line(look.line), at, 0, 1, 2)
        for n, (head, cell) in enumerate(zip(heads, cells, strict=True)):
            at += 1
            if isinstance(cell, QWidget):
                grid.addWidget(cell, at, 0, 1, 2, Qt.AlignmentFlag.AlignLeft)
            elif n == 0:
                grid.addWidget(Words(look, cell, bold=True), at, 0, 1, 2)
            else:
                grid.addWidget(Words(look, head, 14, colour="muted", wrap=False), at, 0, _TOP)
                grid.addWidget(Words(look, cell), at, 1)
        at += 1
    grid.addWidget(Line(look.line), at, 0, 1, 2)
    return grid
