"""A paper sheet keyed in afterwards: its head, its grid, and one press that records it whole or not at all."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from registry.services import people, places, shift_list, shift_sheet, thermometers
from registry.services.problems import KnownError, Problem, Refused
from registry.services.shift_sheet import Entered
from ui.desk import Desk
from ui.happened.grid import SheetGrid
from ui.happened.head import SheetHead
from ui.happened.keyed import (
    DRAFT,
    PRESSURE_QUESTIONS,
    QUESTIONS,
    Head,
    as_draft,
    filled,
    from_draft,
    listed,
    paper_baths,
    paper_rows,
    typed,
)
from ui.happened.keyed import Line as GridLine
from ui.happened.picking import PickField
from ui.happened.result import SheetResult
from ui.happened.telling import all_stand, sorted_out
from ui.parts import MAIN, Button, Line, Scroll, Words, on_press


class Entering(QWidget):
    """What is typed is kept at every key and forgotten once it is recorded."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk, self.look = desk, desk.look
        self._handed: list[int] = []
        self._room = 0  # px, that a line of the grid may be wide
        self._added: list[str] = []  # tag ids of lines that a person added
        self.head = SheetHead(desk, self._shifts(), self._initials())
        self.head.changed.connect(self._head_changed)
        self.head.list_wanted.connect(self._other_list)
        self.grid = SheetGrid(desk)
        self.grid.changed.connect(self._keep)
        self.more = PickField(desk, desk.say("happened.another_line"))
        self.more.picked.connect(self.add)
        self.problem = Words(self.look, "", 17, bold=True, colour="caution")
        self.problem.hide()
        self.button = Button(self.look, desk.say("happened.record_sheet"), MAIN, height=56)
        on_press(self.button, self.record)
        self.grid.ended.connect(self.button.setFocus)
        self.result: SheetResult | None = None
        scroll = Scroll(self.grid)
        scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll = scroll
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(12)
        for part in (self.head, Line(self.look.line), scroll, self.more, self.problem):
            self._column.addWidget(part)
        self._column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        self._begin()

    def _shifts(self) -> list[str]:
        with self.desk.session.reading() as connection:
            return [one.payload.name for one in places.shifts(connection, self.desk.site.subject)]

    def _initials(self) -> list[str]:
        with self.desk.session.reading() as connection:
            return [one.initials for one in people.people(connection) if one.left is None and one.initials]

    def _begin(self) -> None:
        """With what a draft holds, else with the list of the shift that is on."""
        desk = self.desk
        kept = from_draft(desk.drafts.get(DRAFT) if desk.drafts is not None else None, desk.site.subject)
        if kept is not None:
            self.head.fill(kept[0])
        self._fill(kept[1] if kept is not None else {})

    def _fill(self, cells: dict[str, dict[str, str]]) -> None:
        head = self.head.head()
        rows = listed(self.desk, head.shift, self._day(head) or self.desk.session.today(self.desk.site.payload))
        self._show_lines(filled(rows, cells, self.desk))
        self.more.know([row.tag_id for row in rows])
        self._size()

    def _show_lines(self, lines: Sequence[GridLine]) -> None:
        head = self.head.head()
        self.grid.show_lines(lines, two_baths=head.ice and head.boil, room=self._room)

    def _size(self) -> None:
        """As high as its lines: the page scrolls, the grid does not."""
        self.grid.adjustSize()
        high = self.grid.heightForWidth(self._room) if self.grid.hasHeightForWidth() and self._room else 0
        self._scroll.setFixedHeight((high if high > 0 else self.grid.sizeHint().height()) + 2)
        self._scroll.setVisible(bool(self.grid.lines))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lines that no longer fit side by side are stacked, and the other way round; what was typed stays."""
        super().resizeEvent(event)
        self._room = self.width()
        if self.grid.lines and self.grid.stacked != (self._room < self.grid.needs):
            here = next((one for cells in self.grid.cells for one in cells.values() if one.hasFocus()), None)
            self._show_lines(self.grid.lines)
            if here is not None:
                self.grid.focus_on(int(here.property("line")), here.name)
        self._size()

    def _day(self, head: Head) -> date | None:
        try:
            return date.fromisoformat(head.day.strip())
        except ValueError:
            return None

    # --- changes ---------------------------------------------------------------------------------------------

    def _keep(self) -> None:
        """Kept before anything else happens; where it cannot be, that is told and the digits still stand."""
        self.problem.hide()
        self._put_away_result()
        if self.desk.drafts is not None:
            try:
                self.desk.drafts.keep(DRAFT, as_draft(self.desk.site.subject, self.head.head(), self.grid.lines))
            except KnownError as trouble:
                self.desk.notice_of(trouble)
        self._size()

    def _head_changed(self) -> None:
        self.head.say_problem("")
        self._keep()

    def _other_list(self) -> None:
        """Another shift, day or bath: another list; what was typed stays with its tag id."""
        self._fill({tag: {} for tag in self._added} | typed(self.grid.lines))
        self._keep()

    def add(self, thermometer: str) -> None:
        """One more line, for one that the list does not hold; else its line gets the focus."""
        with self.desk.session.reading() as connection:
            tag = thermometers.thermometer(connection, thermometer).tag_id
        tags = [line.row.tag_id for line in self.grid.lines]
        if tag not in tags:
            site = self.desk.site.subject
            row = self.desk.tried(lambda: shift_list.row_for(self.desk.session, site, tag))
            if row is None:
                return
            lines = [*self.grid.lines, *filled([row], {}, self.desk)]
            self._show_lines(lines)
            self._size()
            tags.append(tag)
            self._added.append(tag)
        self.more.field.clear()
        self.grid.focus_on(tags.index(tag), "reading")

    # --- recording -------------------------------------------------------------------------------------------

    def record(self) -> None:
        """The whole sheet, or nothing: what is wrong stands beneath its line, and all that was typed stays."""
        head, lines = self.head.head(), self.grid.lines
        day = self._day(head)
        if day is None:
            self.head.say_problem(self.desk.say_problem(Problem("day", "not_a_day", {"value": head.day})))
            return
        self._handed = [n for n, line in enumerate(lines) if line.says]
        if not self._handed:
            self._say(self.desk.say("happened.nothing_keyed"))
            return
        self._wait(True)
        self.desk.in_background(self._work(head, day, frozenset()), self._recorded, self._refused)

    def _wait(self, waiting: bool) -> None:
        """While it is being recorded nothing is typed."""
        for part in (self.head, self.grid, self.more, self.button):
            part.setEnabled(not waiting)

    def _work(self, head: Head, day: date, asked: frozenset[str]) -> Callable[[Callable[[int], bool]], Entered]:
        desk, rows, made = self.desk, paper_rows(head, self.grid.lines), paper_baths(head)
        session, actor, site = desk.session, desk.actor, desk.site.subject
        return lambda _progress: shift_sheet.enter(
            session, actor, site, head.shift, day, made, rows, initials=head.initials, asked=asked
        )

    def _refused(self, error: Exception) -> None:
        """Once more where nothing was asked but what stands so on the paper; else all of it is shown."""
        head = self.head.head()
        if isinstance(error, Refused) and (day := self._day(head)) is not None:
            asked = all_stand(error.problems, self._handed, self.grid.lines, pressure=self.head.stands)
            if asked:
                self.desk.in_background(self._work(head, day, asked), self._recorded, self._not_even_so)
                return
        self._not_even_so(error)

    def _not_even_so(self, error: Exception) -> None:
        self._wait(False)
        if isinstance(error, Refused):
            self._show_problems(error.problems)
        else:
            self.desk.notice_of(error)

    def _show_problems(self, problems: tuple[Problem, ...]) -> None:
        say, told = self.desk.say_problem, sorted_out(problems, self._handed)
        ask = any(one.code in PRESSURE_QUESTIONS for one in told.of_bath)
        self.head.say_problem(" ".join(map(say, told.of_bath)), ask=ask)
        for line, found in told.by_line.items():
            codes = frozenset(one.code for one in found)
            self.grid.say(line, " ".join(map(say, found)), codes if codes <= QUESTIONS else frozenset())
        self._size()
        self._say(" ".join(map(say, told.general)) or self.desk.say("happened.sheet_not_recorded"))
        if told.first is not None:
            self.grid.focus_on(*told.first)
        elif told.of_bath:
            self.head.pressure.setFocus()

    def _say(self, sentence: str) -> None:
        self.problem.say(sentence)
        self.problem.show()

    def _recorded(self, entered: Any) -> None:
        """The draft is forgotten; each line's word is told, and the grid is empty again."""
        self._wait(False)
        assert isinstance(entered, Entered)
        drafts = self.desk.drafts
        if drafts is not None:
            self.desk.tried(lambda: drafts.keep(DRAFT, None))
        self.problem.hide()
        self._put_away_result()
        tags = [self.grid.lines[n].row.tag_id for n in self._handed]
        self.result = SheetResult(self.desk, tags, entered)
        self._added.clear()
        self._fill({})
        self._column.insertWidget(0, self.result)
        self.head.shift.setFocus()  # what it came to stands just above
        self.desk.recorded.emit()

    def _put_away_result(self) -> None:
        if self.result is not None:
            self._column.removeWidget(self.result)
            self.result.hide()
            self.result.deleteLater()
            self.result = None
