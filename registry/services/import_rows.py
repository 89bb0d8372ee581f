"""A table from outside as rows to be read: its columns found, its cells taken one by one, what is wrong noted."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from registry import resources
from registry.quantity import Unit
from registry.services.csvfile import Table, normal, open_table
from registry.services.import_cells import BadCell
from registry.services.problems import Problem, Refused
from registry.services.thermometers import NewThermometer
from registry.wording import say

T = TypeVar("T")
TOLD = 200  # problems named one by one; the rest is counted


@dataclass(frozen=True, slots=True)
class Options:
    """What is asked about a file rather than guessed from it.

    encoding: where it is not UTF-8. unit, point, site, initials: for rows that state none. day_order: ymd (which ISO
    dates are), dmy or mdy. columns: other names of columns, by theirs. tags: other names of thermometers. enrol: names
    of thermometers that are to be enrolled by this import. outcomes: other words for outcomes. leave_out: columns not
    to be read. asked: codes of questions answered with yes for the whole file. judge: whether the outcome of old
    checks that state none is worked out.
    """

    encoding: str | None = None
    unit: Unit | None = None
    point: str = ""
    site: str = ""
    initials: str = ""
    day_order: str = "ymd"
    columns: Mapping[str, str] = field(default_factory=dict)
    tags: Mapping[str, str] = field(default_factory=dict)
    enrol: Mapping[str, NewThermometer] = field(default_factory=dict)
    outcomes: Mapping[str, str] = field(default_factory=dict)
    leave_out: frozenset[str] = frozenset()
    asked: frozenset[str] = frozenset()
    judge: bool = True


class Problems:
    """What is wrong in a file, the first ones told one by one."""

    def __init__(self, titles: Mapping[str, str] | None = None) -> None:
        self.found: list[Problem] = []
        self.count = 0
        self._titles = titles or {}

    def add(self, column: str, code: str, row: int, value: object = "", **more: object) -> None:
        self.count += 1
        if self.count <= TOLD:
            shown = value[:80] if isinstance(value, str) else value
            title = self._titles.get(column, column.replace("_", " "))
            self.found.append(Problem(column, code, {"row": row, "column": title, "value": shown} | more))

    def refuse_any(self) -> None:
        if self.count > TOLD:
            self.found.append(Problem("file", "more", {"count": self.count - TOLD}))
        if self.found:
            raise Refused(*self.found)


# --- columns -------------------------------------------------------------------------------------------------


def column_names(columns: Collection[str], options: Options) -> dict[str, str]:
    """Codes of columns by their normal names: in each language, as codes, and as the options name them."""
    found = {
        normal(say(f"importing.column.{code}", language)): code
        for code in columns
        for language in resources.languages()
    }
    found |= {normal(code): code for code in columns}
    return found | {normal(theirs): code for theirs, code in options.columns.items() if code in columns}


@dataclass(frozen=True, slots=True)
class Layout:
    """A table with the place of each of its columns."""

    table: Table
    places: Mapping[str, int]

    @property
    def titles(self) -> dict[str, str]:
        """Columns as the file calls them."""
        return {code: self.table.header[place] for code, place in self.places.items()}

    def rows(self, problems: "Problems") -> "Iterator[Row]":
        """Each row to be read; one that has not the header's number of cells is noted instead.

        A decimal comma in a file separated by commas, or a row cut off at the end, shows itself so.
        """
        wanted, places = len(self.table.header), tuple(self.places.items())
        for number, cells in self.table.rows():
            if len(cells) == wanted:
                yield Row(number, {code: cells[place] for code, place in places}, problems)
            else:
                problems.add("file", "cell_count", number, len(cells), wanted=wanted)


def layout(content: bytes, columns: Collection[str], required: Collection[str], options: Options) -> Layout:
    """Open a file and find its columns; Refused where one is missing, stands twice or is not known."""
    names = column_names(columns, options)
    table = open_table(content, names, options.encoding)
    left_out = {normal(one) for one in options.leave_out}
    places: dict[str, int] = {}
    problems = Problems()
    for place, title in enumerate(table.header):
        code = names.get(normal(title))
        if normal(title) in left_out or (code is None and not title):
            continue
        if code is None:
            problems.add("file", "column_unknown", 1, title)
        elif code in places:
            problems.add("file", "column_twice", 1, title)
        else:
            places[code] = place
    for code in required:
        if code not in places:
            problems.add("file", "column_missing", 1, code)
    problems.refuse_any()
    return Layout(table, places)


class Row:
    """One row being read: takes its cells one by one and notes what is wrong with each."""

    def __init__(self, number: int, cells: Mapping[str, str], problems: Problems) -> None:
        self.number, self.cells, self.problems = number, cells, problems
        self.good = True

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def bad(self, column: str, code: str, **more: object) -> None:
        self.good = False
        self.problems.add(column, code, self.number, **({"value": self.text(column)} | more))

    def take(self, column: str, read: Callable[[str], T], *, needed: bool = False) -> T | None:
        """What a cell stands for; none where it is empty or wrong, and then that is noted."""
        text = self.text(column)
        if not text:
            if needed:
                self.bad(column, "missing")
            return None
        return self.take_said(column, text, read)

    def take_said(self, column: str, text: str, read: Callable[[str], T]) -> T | None:
        """The same for a text that the options give where the row has none."""
        try:
            return read(text)
        except BadCell as wrong:
            self.bad(column, wrong.code, **wrong.values)
        except Refused as refused:
            self.refused(refused, column)
        return None

    def refused(self, refused: Refused, column: str | None = None, columns: Mapping[str, str] | None = None) -> None:
        """Note what a service says against this row, under the column that it is about."""
        for one in refused.problems:
            place = column or (columns or {}).get(one.field, one.field)
            self.bad(place, one.code, **one.values)
