"""The page of one thermometer, as pictures are read: what it is, how it stands, its offsets, facts, and its story."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QGridLayout, QWidget

from registry.services import thermometer_page
from registry.services.problems import Refused
from registry.services.story_lines import StoryEntry
from registry.services.thermometer_page import NEWEST, ThermometerPage
from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.flow import Flow
from ui.marks import Mark
from ui.parts import LINK, Button, Line, Scroll, Sentence, Words, clear, column, holding, on_press, row
from ui.saving import SaveTable
from ui.thermometers import facts, standing
from ui.thermometers.doing import Doing
from ui.thermometers.outlook import OutlookShown
from ui.thermometers.picture import PictureShown
from ui.thermometers.plotted import Plotted
from ui.thermometers.story import Story

STORY = 320  # width of the story, px at 100 %
NEWEST_SMALL = 20
BUTTONS = 700  # the buttons take no more of the head, px at 100 %


class OnePart(QWidget):
    back_wanted = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look, self.say, self._small = desk, desk.look, desk.say, small
        self.thermometer = ""
        self.page: ThermometerPage | None = None
        self.doing = Doing(desk, self)
        self._whole_story = False
        self._build()

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        look, say, small = self.look, self.say, self._small
        edge = 16 if small else 28
        self.back = on_press(Button(look, say("thermometers.all"), LINK), self.back_wanted.emit)
        self.drawing = Drawing(look, QSize(look.text(56 if small else 76), look.text(56 if small else 76)))
        self.tag = Words(look, "", 30 if small else 36, bold=True, wrap=False)
        self.what = Words(look, "", 15, colour="muted")
        self.what.setMinimumWidth(look.text(160))
        self.buttons = Flow()
        named = row(self.drawing, column(None, self.tag, self.what, None, space=0), space=16)
        named.setStretch(1, 1)
        if small:
            head = column(self.back, named, holding(self.buttons), space=6, margins=(edge, 6, edge, 10))
        else:
            self.button_side = holding(self.buttons)
            across = row(holding(named), self.button_side, space=16)
            across.setStretch(0, 1)
            head = column(row(self.back, None), across, space=0, margins=(edge, 8, edge, 12))
        self.why_not = Words(look, "", 14, colour="muted")
        self.why_not.hide()
        self.outlook = OutlookShown(self.desk)
        below = column(self.why_not, self._answer(), self.outlook, margins=(edge, 14, edge, 8), space=8)
        self.plotted = Plotted(self.desk)
        left = column(self.plotted, self._tables(), None, space=0, margins=(edge - 4, 0, edge, 20))
        self.story = Story(self.desk, whole=small)
        self.story.line_opened.connect(self._line_opened)
        self.all = on_press(Button(look, "", LINK), self.show_whole_story)
        self.save_button = SaveTable(self.desk, self._checks_out, LINK)
        self.save_happened = SaveTable(self.desk, self._happened_out, LINK, "spreadsheet.save_happened")
        title = Words(look, say("thermometers.story"), 18, bold=True)
        story = column(
            title,
            self.story,
            row(self.all, None),
            row(self.save_button, None),
            row(self.save_happened, None),
            space=8,
            margins=(edge - 8, 4, 16, 12),
        )
        if small:
            whole = column(head, Line(look.bench), below, left, Line(look.line), story, space=0)
            self.setLayout(column(Scroll(holding(whole)), space=0))
            return
        story.setStretch(1, 1)
        side = holding(story)
        side.setFixedWidth(look.text(STORY) + 24)
        middle = row(Scroll(holding(left)), Line(look.line, upright=True), side, space=0)
        middle.setStretch(0, 1)
        whole = column(head, Line(look.bench), below, middle, space=0)
        whole.setStretch(3, 1)
        self.setLayout(whole)

    def _answer(self) -> QWidget:
        look = self.look
        self.mark = Mark(look, look.text(26))
        self.answer = Sentence(look, "", 22)
        self.basis = Words(look, "", 14, colour="muted")
        said = row(self.mark, self.answer, space=14)
        said.setStretch(1, 1)
        said.setAlignment(self.mark, Qt.AlignmentFlag.AlignTop)
        self.place = Words(look, "", 15, colour="muted")
        self.status_mark = Mark(look, look.text(18))
        self.status = Words(look, "", 15, bold=True)
        self.due = Words(look, "", 15, colour="muted")
        status = row(self.status_mark, self.status, space=8)
        status.setStretch(1, 1)
        below = row(look.text(26) + 14, self.basis, space=0)
        below.setStretch(1, 1)
        left = column(said, below, None, space=2)
        right = column(self.place, status, self.due, None, space=2)
        if self._small:
            return holding(column(left, right, space=8))
        both = row(holding(left), holding(right), space=24)
        both.setStretch(0, 3)
        both.setStretch(1, 1)
        return holding(both)

    def _tables(self) -> QWidget:
        look, say = self.look, self.say
        self.facts, self.points, self.reach = QGridLayout(), QGridLayout(), QGridLayout()
        for grid in (self.facts, self.points, self.reach):
            grid.setHorizontalSpacing(20)
            grid.setVerticalSpacing(6)
        self.reach_note = Words(look, say("thermometers.reach_note"), 14, colour="muted")
        heads = [Words(look, say(f"thermometers.{one}"), 18, bold=True) for one in ("facts", "points", "reach")]
        self.picture = PictureShown(self.desk)
        for one in (heads[0], heads[2]):
            one.setMinimumHeight(theme.DESK)  # one line with the link beside the facts
        beneath, beside = ([self.picture], []) if self._small else ([], [self.picture])
        first = column(
            row(heads[0], None, self.picture.add), *beneath, self.facts, 12, heads[1], self.points, None, space=8
        )
        second = column(*beside, heads[2], self.reach, self.reach_note, None, space=8)
        if self._small:
            return holding(column(Line(look.line), 8, self.picture.large, first, 12, second, space=4))
        both = row(holding(first), holding(second), space=36)
        both.setStretch(0, 1)
        both.setStretch(1, 1)
        return holding(column(Line(look.line), 12, self.picture.large, both, space=0))

    # --- showing ---------------------------------------------------------------------------------------------

    def show_one(self, thermometer: str) -> None:
        if thermometer != self.thermometer:
            self.thermometer, self._whole_story = thermometer, False
        self.read_again()

    def name_back(self, place: str) -> None:
        """Where the link at the top leads: to a place, or to all thermometers."""
        say = self.desk.say
        self.back.setText(say("frame.back_to", place=say(f"place.{place}")) if place else say("thermometers.all"))
        self.back.updateGeometry()

    def read_again(self) -> None:
        """Everything of it as it is recorded now."""
        newest = None if self._whole_story else NEWEST_SMALL if self._small else NEWEST
        session = self.desk.session
        try:
            with session.reading() as connection:
                prefers = self.desk.unit
                page = thermometer_page.page(session, connection, self.thermometer, newest=newest, prefers=prefers)
        except Refused as refused:
            self.desk.notice_of(refused)
            self.back_wanted.emit()
            return
        self.page = page
        self._show_head(page)
        self._show_answer(page)
        self.outlook.show_of(page)
        self.plotted.show_of(page)
        self._show_tables(page)
        self.picture.show_of(page)
        self.story.show_page(page)
        more = page.story_of > len(page.story)
        self.all.setText(self.say("thermometers.all_entries", count=page.story_of))
        self.all.setVisible(more)

    def _show_head(self, page: ThermometerPage) -> None:
        of = page.of
        self.drawing.show_drawing(of.type.code, self.say(f"type.{of.type.code}"))
        self.tag.say(of.tag_id)
        made = " ".join(one for one in (of.maker, of.model) if one)
        kind = self.say(f"type.{of.type.code}")
        self.what.say(self.say("thermometers.what", made=made, type=kind) if made else kind)
        look = self.look
        had = next((one.objectName() for one in self.findChildren(Button) if one.hasFocus()), "")
        clear(self.buttons)
        made_buttons = self.doing.buttons(page)
        for button in made_buttons:
            self.buttons.addWidget(button)
            button.show()
            if had and button.objectName() == had:
                button.setFocus()
        if not self._small:  # side by side where there is room for it, at the right
            wide = sum(one.sizeHint().width() + 8 for one in made_buttons)
            self.button_side.setFixedWidth(min(wide, look.text(BUTTONS)))
        self.why_not.say(self.doing.why_not(page))
        self.why_not.setVisible(bool(self.why_not.text()))

    def _show_answer(self, page: ThermometerPage) -> None:
        self.answer.say(standing.answer(self.desk, page.sentence, page.unit))
        self.mark.show_mark(*standing.mark(page.sentence)[:2], "", standing.mark(page.sentence)[2])
        self.basis.say(standing.basis(self.desk, page))
        self.place.say(standing.place(self.desk, page))
        self.status.say(standing.status(self.desk, page))
        self.status_mark.show_mark("service", page.of.row.service_status, "")
        self.due.say(standing.next_due(self.desk, page))

    def _show_tables(self, page: ThermometerPage) -> None:
        look, desk = self.look, self.desk
        for grid in (self.facts, self.points, self.reach):
            clear(grid)
        for n, (label, value) in enumerate(facts.facts(desk, page)):
            self.facts.addWidget(Words(look, label, 14, colour="muted"), n, 0, Qt.AlignmentFlag.AlignTop)
            self.facts.addWidget(_selectable(Words(look, value)), n, 1, Qt.AlignmentFlag.AlignTop)
        self.facts.setColumnStretch(1, 1)
        self._set_least(self.facts, [label for label, _ in facts.facts(desk, page)])
        self._show_points(page)
        self._show_reach(page)

    def _set_least(self, grid: QGridLayout, labels: list[str]) -> None:
        """Labels stand in one line where there is room for it."""
        metrics = QFontMetrics(self.look.font(14))
        widest = max((metrics.horizontalAdvance(one) for one in labels), default=0)
        grid.setColumnMinimumWidth(0, min(widest + 4, self.look.text(150)))

    def _show_points(self, page: ThermometerPage) -> None:
        look, desk, grid = self.look, self.desk, self.points
        for n, head in enumerate(("point", "last_good", "due")):
            grid.addWidget(Words(look, self.say(f"thermometers.points_{head}"), 14, colour="muted"), 0, n)
        for n, point in enumerate(page.points):
            grid.addWidget(Line(look.line), 2 * n + 1, 0, 1, 3)
            known = "ink" if point.good_at is not None else "muted"
            grid.addWidget(Words(look, facts.point_words(desk, point.where)), 2 * n + 2, 0)
            grid.addWidget(Words(look, facts.good(desk, point, page.zone), colour=known), 2 * n + 2, 1)
            grid.addWidget(Words(look, facts.due(desk, point)), 2 * n + 2, 2)
        grid.setColumnStretch(0, 4)
        grid.setColumnStretch(1, 5)
        grid.setColumnStretch(2, 4)

    def _show_reach(self, page: ThermometerPage) -> None:
        look, grid = self.look, self.reach
        reason = facts.same_for_all(page.reach)
        self.reach_note.setVisible(bool(page.reach) and not reason)
        if reason or not page.reach:
            code = f"none_reached.{reason}" if reason else "no_limits"
            grid.addWidget(Words(look, self.say(f"thermometers.{code}")), 0, 0)
            return
        for n, head in enumerate(("reach_what", "reach_food", "reach_shows")):
            made = Words(look, self.say(f"thermometers.{head}") if head != "reach_what" else "", 14, colour="muted")
            grid.addWidget(made, 0, n)
        for n, (step, foods, of_food, shows) in enumerate(facts.reach_rows(self.desk, page)):
            grid.addWidget(Line(look.line), 2 * n + 1, 0, 1, 3)
            what = column(Words(look, step), Words(look, foods, 13, colour="muted"), space=0)
            grid.addLayout(what, 2 * n + 2, 0)
            grid.addWidget(Words(look, of_food, colour="muted", wrap=False), 2 * n + 2, 1, Qt.AlignmentFlag.AlignTop)
            shown = Sentence(look, "", 15)
            shown.say(shows)
            grid.addWidget(shown, 2 * n + 2, 2, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(2, 4)

    # --- the story -------------------------------------------------------------------------------------------

    def show_whole_story(self) -> None:
        self._whole_story = True
        self.read_again()
        self.story.setFocus()

    def _checks_out(self) -> Any:
        """Every check of it, not only those of the story that are shown."""
        return self._out("checks", lambda tables: tables.checks_of)

    def _happened_out(self) -> Any:
        """All that happened to it beside its checks."""
        return self._out("happened", lambda tables: tables.happened_to)

    def _out(self, name: str, which: Callable[[Any], Any]) -> Any:
        """What saves a table of it. which: takes from `tables_out`, once that is loaded, what makes the table."""
        session, page = self.desk.session, self.page
        if page is None:
            return None
        thermometer = page.of.row.thermometer

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return which(tables_out)(session, words, thermometer)

        return self.say(f"spreadsheet.file.{name}", tag=page.of.tag_id), make

    def _line_opened(self, line: StoryEntry) -> None:
        if self.page is not None:
            self.doing.open_line(self.page, line)


def _selectable(words: Words) -> Words:
    words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return words
