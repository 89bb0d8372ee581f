"""What each column of a file is: a row a column, with something that stands in it, matched by the person."""

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from registry.services.import_columns import COLUMNS
from registry.services.importing import Column
from ui import theme
from ui.desk import Desk
from ui.forms import List
from ui.parts import column
from ui.setup.import_asked import LEAVE_OUT
from ui.setup.inline import Values
from ui.setup.part import table

SHOWN = 40  # characters of what stands in a column


class Matching(QWidget):
    def __init__(self, desk: Desk, kind: str, columns: Sequence[Column]) -> None:
        super().__init__()
        self._lists = {one.title: _list(desk, kind, one) for one in columns}
        heads = [desk.say(f"setup.{one}") for one in ("column_title", "column_holds", "column_taken_for")]
        rows = [(one.title, one.sample[:SHOWN], self._lists[one.title]) for one in columns]
        self.setLayout(column(table(desk.look, heads, rows, (2, 2, 3)), space=0))

    def values(self) -> Values:
        """As answers: `column:` and its title, with what it is; nothing where that was not said."""
        return {f"column:{title}": str(made.currentData()) for title, made in self._lists.items()}

    def choose(self, title: str, code: str) -> None:
        made = self._lists[title]
        made.setCurrentIndex(made.findData(code))


def _list(desk: Desk, kind: str, of: Column) -> List:
    made = List(desk.look)
    made.setMinimumHeight(theme.DESK)
    made.setAccessibleName(desk.say("setup.column_is", column=of.title))
    made.addItem(desk.say("setup.column_choose"), "")
    made.addItem(desk.say("setup.leave_out"), LEAVE_OUT)
    for code in COLUMNS[kind]:
        made.addItem(desk.say(f"importing.column.{code}"), code)
    made.setCurrentIndex(max(0, made.findData(of.is_)))
    return made
