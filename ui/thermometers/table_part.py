"""The table with its sentence and filters; ways to enrol, and what to do where none is there."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QStackedWidget, QWidget

from registry.services import table
from registry.services.table import SORTS, Wanted
from registry.wording import format
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import CHOICE, FEW, YES, Field
from ui.parts import LINK, MAIN, Button, Line, Sentence, Words, column, holding, on_press, row
from ui.saving import SaveTable
from ui.site_papers import SitePapers
from ui.tags.about import About
from ui.thermometers import cells
from ui.thermometers.filters import Filters
from ui.thermometers.listing import Listing
from ui.thermometers.model import Asked, TableModel
from ui.work import Progress

AWAY = ("out_of_use", "lost", "retired")


@dataclass(frozen=True, slots=True)
class Standing:
    """How all of them stand: how many there are, are in use, and wait for a check."""

    every: int
    in_use: int
    waiting: int


class TablePart(QWidget):
    opened = Signal(str)
    enrol_one = Signal()
    enrol_many = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__()
        self.desk, self.look, self.say, self._small = desk, desk.look, desk.say, small
        self.may_enrol = desk.may("officer")
        self.model = TableModel(desk, self, small=small)
        self.model.arrived.connect(self._arrived)
        self.model.modelReset.connect(self._read_standing)  # after the rows: two jobs at once hold painting up
        self.view = Listing(desk, self.model)
        self.view.opened.connect(self.opened)
        self.view.sort_wanted.connect(self._sort)
        self.filters = Filters(desk)
        self.filters.changed.connect(self._narrow)
        self._put_on = ""  # the row to be the current one, once it is there
        self._build()

    # --- building --------------------------------------------------------------------------------------------

    def _build(self) -> None:
        self.sentence = Sentence(self.look, "", 22 if self._small else 26)
        self.columns_button = on_press(Button(self.look, self.say("thermometers.columns")), self.choose_columns)
        self.one_button = on_press(Button(self.look, self.say("thermometers.enrol_one")), self.enrol_one.emit)
        self.many_button = on_press(Button(self.look, self.say("thermometers.enrol_many")), self.enrol_many.emit)
        if not self.may_enrol:
            self.one_button.hide()
            self.many_button.hide()
        self.save_button = SaveTable(self.desk, self._table_out, LINK)
        self.filter_button = on_press(Button(self.look, ""), self._show_filters)
        self.tags_button = on_press(Button(self.look, self.say("thermometers.print_tags")), self.print_tags)
        if not self.desk.may("lead", "officer"):
            self.tags_button.hide()  # shown without a parent it would be a window of its own
        buttons = (
            self.filter_button,
            self.columns_button,
            self.tags_button,
            self.one_button,
            self.many_button,
        )
        edge = 16 if self._small else 24
        if self._small:
            head = holding(column(self.sentence, holding(Flow(*buttons)), space=8, margins=(edge, 10, edge, 10)))
        else:
            across = row(self.sentence, *buttons, margins=(edge + 4, 20, edge, 14))
            across.setStretch(0, 1)
            head = holding(across)
        self.count = Words(self.look, "", 15, bold=True, wrap=False)
        self.hint = Words(self.look, self.say("thermometers.hint"), 14, colour="muted")
        self.hint.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.papers = SitePapers(self.desk, self)
        self.wall_button = on_press(Button(self.look, self.say("wall.save"), LINK), self.print_wall_list)
        below = (self.count, self.wall_button, self.save_button, self.hint)
        if self._small or self.look.narrow:
            foot: QBoxLayout = column(Flow(*below, space=12), space=0, margins=(edge + 4, 6, edge, 8))
        else:
            foot = row(*below, space=16, margins=(edge + 4, 8, edge, 10))
            foot.setStretch(3, 1)
        self.stack = QStackedWidget()
        self.stack.addWidget(self.view)
        self.stack.addWidget(self._empty())
        self.narrowed = holding(column(self.filters, margins=(edge, 12, edge, 8)))
        (self.narrowed if self._small else self.filter_button).hide()
        middle = column(self.stack, margins=(edge - 8, 0, edge - 8, 0))
        whole = column(head, Line(self.look.bench), self.narrowed, middle, Line(self.look.line), foot, space=0)
        whole.setStretch(3, 1)
        self.setLayout(whole)

    def _empty(self) -> QWidget:
        """What to do where the table has no row."""
        self.nothing = Words(self.look, "", 17)
        self.clear_button = on_press(Button(self.look, self.say("thermometers.no_filter")), self.filters.clear)
        self.first_button = on_press(Button(self.look, self.say("thermometers.enrol_one"), MAIN), self.enrol_one.emit)
        self.paste_button = on_press(Button(self.look, self.say("thermometers.enrol_many")), self.enrol_many.emit)
        buttons = holding(Flow(self.first_button, self.paste_button, self.clear_button))
        return holding(column(self.nothing, buttons, None, space=16, margins=(12, 24, 12, 0)))

    # --- asking ----------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Everything as it is recorded now."""
        self._put_on = self._put_on or self.view.current()
        if self.model.known:
            self.model.ask_again()
        else:
            self.model.ask(replace(self.model.asked, wanted=self.filters.wanted()))

    def _read_standing(self) -> None:
        session = self.desk.session

        def count(_: Progress) -> Standing:
            with session.reading() as connection:
                asked = [table.page(session, connection, Wanted(status=one), size=1, columns=()) for one in AWAY]
                waiting = table.owing(session, connection, Wanted(due="open"))
            every = asked[0].every
            return Standing(every, every - sum(one.of for one in asked), len(waiting))

        self.desk.in_background(count, self._show_standing)

    def _show_standing(self, standing: Any) -> None:
        if not standing.every:
            self.sentence.say(self.say("thermometers.none_yet"))
            return
        known = {"in_use": self._number(standing.in_use), "every": self._number(standing.every)}
        code = "thermometers.waiting" if standing.waiting else "thermometers.none_waits"
        figure = self._number(standing.waiting)
        self.sentence.say(self.say(code, count=standing.waiting, waiting=figure, **known))

    def _number(self, value: int) -> str:
        return format.number(value, self.desk.region)

    def _narrow(self) -> None:
        self.model.ask(replace(self.model.asked, wanted=self.filters.wanted()))

    def _sort(self, by: str) -> None:
        """By another column; by the same once more, the other way round."""
        asked = self.model.asked
        self.model.ask(replace(asked, sort=by, descending=by == asked.sort and not asked.descending))

    def _arrived(self) -> None:
        model = self.model
        shown, of, every = self._number(len(model.rows)), self._number(model.of), self._number(model.every)
        code = "thermometers.shown" if model.of == model.every else "thermometers.shown_fitting"
        self.count.say(self.say(code, shown=shown, of=of, every=every))
        count = self.filters.count()
        code = "thermometers.filters" if count else "thermometers.no_filters"
        self.filter_button.setText(self.say(code, count=count))
        if model.rows and (self._put_on or not self.view.currentIndex().isValid()):
            self.view.put_on(self._put_on)
            self._put_on = ""
        self.stack.setCurrentIndex(0 if model.rows else 1)
        if not model.rows:
            self._say_nothing(any_there=model.every > 0)

    def _say_nothing(self, *, any_there: bool) -> None:
        code = "none_fits" if any_there else "enrol_first" if self.may_enrol else "officer_enrols"
        self.nothing.say(self.say(f"thermometers.{code}"))
        self.clear_button.setVisible(any_there)
        for button in (self.first_button, self.paste_button):
            button.setVisible(not any_there and self.may_enrol)

    def _table_out(self) -> Any:
        """The table as it is narrowed, sorted, and with the columns that are shown; all of its rows."""
        session, asked = self.desk.session, self.model.asked

        def make(words: Any) -> Any:
            from registry.services import tables_out

            return tables_out.all_thermometers(
                session, words, asked.wanted, sort=asked.sort, descending=asked.descending, columns=asked.columns
            )

        return self.say("spreadsheet.file.thermometers"), make

    # --- choosing --------------------------------------------------------------------------------------------

    def _show_filters(self) -> None:
        self.narrowed.setVisible(self.narrowed.isHidden())
        if not self.narrowed.isHidden():
            self.filters.search.setFocus()

    def print_tags(self) -> None:
        """The page of tags, about whoever the table is narrowed to."""
        self.desk.go("tags", About(narrowed=self.filters.wanted()))

    def print_wall_list(self) -> None:
        """Of the site that the table is narrowed to, else of the one where one works."""
        wanted = self.filters.wanted().site
        self.papers.wall_list(next((one for one in self.desk.sites() if one.subject == wanted), self.desk.site))

    def choose_columns(self) -> None:
        """Which columns, and by which the rows are sorted: what the heads do by pointer."""
        say, asked = self.say, self.model.asked
        ways = (("up", say("thermometers.sort_up")), ("down", say("thermometers.sort_down")))
        sorts = tuple((one, say(f"thermometers.head.{one}")) for one in cells_first(SORTS))
        fields = [
            Field("sort", say("thermometers.sort"), CHOICE, asked.sort, sorts),
            Field("way", say("thermometers.sort_way"), FEW, "down" if asked.descending else "up", ways),
            *(
                Field(one, say(f"thermometers.head.{one}"), YES, "yes" if one in asked.columns else "")
                for one in cells.CHOSEN_FROM
            ),
        ]
        self.desk.ask.fill(say("thermometers.columns"), fields, say("thermometers.show_so"), self._chosen)

    def _chosen(self, values: dict[str, str]) -> None:
        columns = [cells.FIRST, *(one for one in cells.CHOSEN_FROM if values.get(one))]
        cells.remember_columns(self.desk, columns)
        asked = self.model.asked
        self.model.ask(Asked(asked.wanted, values["sort"], values["way"] == "down", tuple(columns)))

    # --- keys and what is kept -------------------------------------------------------------------------------

    def take_focus(self) -> None:
        if self.stack.currentIndex() == 0:
            self.view.setFocus()
        elif self.first_button.isVisibleTo(self):
            self.first_button.setFocus()
        elif not self.narrowed.isHidden():
            self.filters.search.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A slash goes to the search, as the down key goes from it to the rows."""
        if event.text() == "/":
            self.narrowed.show()
            self.filters.search.setFocus()
        elif event.key() == Qt.Key.Key_Down and self.filters.search.hasFocus():
            self.view.setFocus()
        else:
            super().keyPressEvent(event)

    def kept(self) -> dict[str, object]:
        asked = self.model.asked
        order = {"sort": asked.sort, "descending": asked.descending}
        return {"filters": self.filters.values(), "current": self.view.current() or self._put_on, **order}

    def restore(self, kept: Mapping[str, Any]) -> None:
        self.filters.fill(kept.get("filters", {}))
        self._put_on = str(kept.get("current", ""))
        sort = kept.get("sort", cells.FIRST)
        self.model.asked = replace(self.model.asked, sort=sort, descending=bool(kept.get("descending")))


def cells_first(names: tuple[str, ...]) -> list[str]:
    """In the order of the columns."""
    return [one for one in (cells.FIRST, *cells.CHOSEN_FROM) if one in names]
