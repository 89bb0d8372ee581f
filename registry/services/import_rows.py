"""A table from outside as rows to be read: its columns found, its cells taken one by one, what is wrong noted."""

from array import array
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeVar

from registry import resources
from registry.quantity import Unit
from registry.services.csvfile import Table, normal, open_table
from registry.services.import_cells import BadCell, heading_of, read_as
from registry.services.problems import Problem, Refused
from registry.services.thermometers import NewThermometer
from registry.services.xlsxfile import ERRORS, cell_name

T = TypeVar("T")
TOLD = 200  # problems named one by one; the rest is counted
LEFT_OUT = "leave_out"
# Questions that one answer settles for the whole file, by the codes under which rows are refused.
QUESTION_OF: Mapping[str, str] = MappingProxyType(
    {
        "off_scale": "off_scale",
        "too_fine": "too_fine",
        "other_unit": "other_unit",
        "twice": "twice",
        "bath_in_doubt": "bath_in_doubt",
        "recorded_already": "recorded_already",
        "not_counting": "not_counting",
        "outcome_against": "outcome_against",
        "formula": "formula",
        "other_kind_is_likelier": "pressure_kind",
        "room_is_likelier": "pressure_kind",
        "scale_missing": "usual_scale",
        "role_missing": "all_leads",
    }
)
TITLES = ("importing.column", "enrol.column", "spreadsheet.column")  # whose words name columns too


@dataclass(frozen=True, slots=True)
class Options:
    """What is asked about a file rather than guessed from it.

    encoding: where it is not UTF-8. sheet: of a spreadsheet with several. unit, point, site, initials: for rows that
    state none. day_order: of days not written as ISO dates, dmy or mdy; ymd where there are none. columns: other names
    of columns, by theirs. tags: other names of thermometers. enrol: names of thermometers that are to be enrolled by
    this import. outcomes: other words for outcomes. leave_out: columns not to be read. asked: codes of questions
    answered with yes for the whole file. judge: whether the outcome of old checks that state none is worked out.
    """

    encoding: str | None = None
    sheet: str = ""
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
    """What is wrong in a file, the first ones told one by one, each with its cell as a spreadsheet names it.

    titles: columns as the file calls them. places: where each stands, from 0.
    """

    def __init__(self, titles: Mapping[str, str] | None = None, places: Mapping[str, int] | None = None) -> None:
        self.found: list[Problem] = []
        self.count = 0
        self._titles, self._places = titles or {}, places or {}

    def add(self, column: str, code: str, row: int, value: object = "", **more: object) -> None:
        self.count += 1
        if self.count <= TOLD:
            shown = value[:80] if isinstance(value, str) else value
            values = {"row": row, "column": self._named(column, row), "value": shown}
            self.found.append(Problem(column, code, values | more))

    def _named(self, column: str, row: int) -> str:
        title = self._titles.get(column, column.replace("_", " "))
        return f"{title} ({cell_name(row, self._places[column])})" if column in self._places else title

    def refuse_any(self) -> None:
        if self.count > TOLD:
            self.found.append(Problem("file", "more", {"count": self.count - TOLD}))
        if self.found:
            raise Refused(*self.found)


class MixedOrders:
    """Whether a file holds days in both orders, and then the cells that can be read in either.

    One order is said for the file. Where some cell can only be of the other, nobody knows of which those are that can
    be of both: each is named.
    """

    def __init__(self, order: str) -> None:
        self._order, self._mixed = order, False
        self._either = array("q")  # rows

    def note(self, row: int, day: str) -> None:
        if self._order == "ymd":
            return
        found = read_as(day)
        if found == "both":
            self._either.append(row)
        elif found:
            self._mixed = self._mixed or found != self._order

    def tell(self, problems: Problems, column: str) -> None:
        for row in self._either if self._mixed else ():
            problems.add(column, "either_order", row)


# --- columns -------------------------------------------------------------------------------------------------


def column_names(columns: Collection[str], options: Options) -> dict[str, str]:
    """Codes of columns by their normal names: in each language, as codes, and as the options name them."""
    found = {
        normal(text): code
        for language in resources.languages()
        for code in columns
        for group in TITLES
        if (text := resources.texts(language).get(f"{group}.{code}")) is not None
    }
    found |= {normal(code): code for code in columns}
    return found | {normal(theirs): code for theirs, code in options.columns.items() if code in columns}


@dataclass(frozen=True, slots=True)
class Layout:
    """A table with the place of each of its columns. only: of columns not read the words that are seen all the same."""

    table: Table
    places: Mapping[str, int]
    only: Mapping[str, Collection[str]] = field(default_factory=dict)

    @property
    def titles(self) -> dict[str, str]:
        """Columns as the file calls them."""
        return {code: self.table.header[place] for code, place in self.places.items()}

    @property
    def units(self) -> dict[str, Unit]:
        """Units that titles name, by the codes of their columns."""
        named = {code: heading_of(title)[1] for code, title in self.titles.items()}
        return {code: unit for code, unit in named.items() if unit is not None}

    def problems(self) -> "Problems":
        """None yet: they will name columns and cells as the file has them."""
        return Problems(self.titles, self.places)

    def rows(self, problems: "Problems") -> "Iterator[Row]":
        """Each row to be read; one that has not the header's number of cells is noted instead.

        A decimal comma in a file separated by commas, or a row cut off at the end, shows itself so. So are rows of a
        spreadsheet in which a cell holds an error.
        """
        wanted, places, units = len(self.table.header), tuple(self.places.items()), self.units
        for number, cells in self.table.rows():
            if len(cells) != wanted:
                problems.add("file", "cell_count", number, len(cells), wanted=wanted)
            elif self.table.is_sheet and (wrong := [code for code, place in places if cells[place] in ERRORS]):
                for code in wrong:
                    problems.add(code, "cell_error", number, cells[self.places[code]])
            else:
                yield Row(number, {code: self._seen(code, cells[place]) for code, place in places}, problems, units)

    def _seen(self, code: str, cell: str) -> str:
        return "" if code in self.only and normal(cell) not in self.only[code] else cell

    def note_merged(self, problems: "Problems") -> None:
        """Of merged cells only the first holds anything: what the others mean is not guessed."""
        columns = {place: code for code, place in self.places.items()}
        for (top, left), (bottom, right) in self.table.merged:
            code = next((columns[place] for place in range(left, right + 1) if place in columns), None)
            if code is not None:
                cells = f"{cell_name(top + 1, left)}:{cell_name(bottom + 1, right)}"
                problems.add(code, "merged", top + 1, cells)

    def note_formulas(self, problems: "Problems", asked: Collection[str]) -> None:
        """What a formula came to is known only where a spreadsheet program worked it out: it is asked once.

        Another program that writes formulas stores 0 for each, and nobody can tell that from a reading of 0.
        """
        held = [(code, place, self.table.formulas[place]) for code, place in self.places.items()
                if place in self.table.formulas]  # fmt: skip
        if not held or "formula" in asked:
            return
        for number, cells in self.table.rows():
            for code, place, rows in held:
                if number - 1 in rows and place < len(cells) and cells[place] not in ERRORS:
                    problems.add(code, "formula", number, cells[place] or "–")


def layout(
    content: bytes | Table,
    columns: Collection[str],
    required: Collection[str],
    options: Options,
    watched: Mapping[str, Collection[str]] = MappingProxyType({}),
) -> Layout:
    """Open a file and find its columns; Refused where one is missing, stands twice or is not known.

    watched: columns that are looked at also where one with our title is to be left out, and the words that are seen
    there.
    """
    names = column_names(columns, options)
    if isinstance(content, Table):
        table = content
    else:
        table = open_table(content, names, options.encoding, options.sheet, asking=True)
    places: dict[str, int] = {}
    problems = Problems()
    are = matched(table.header, names, options)
    both = _in_both_units(table.header, are)
    for one, other in both:
        problems.add("file", "both_units", 1, one, other=other)
    for place, (title, code) in enumerate(zip(table.header, are, strict=True)):
        if code == LEFT_OUT or (not code and not title):
            continue
        if not code:
            if not any(title in pair for pair in both):
                problems.add("file", "column_unknown", 1, title)
        elif code in places and any(title in pair for pair in both):
            continue
        elif code in places:
            problems.add("file", "column_twice", 1, title)
        else:
            places[code] = place
    only = {}
    ours = column_names(watched, Options())
    for place, title in enumerate(table.header):
        found = ours.get(normal(title), "")
        if found and found not in places:
            places[found], only[found] = place, watched[found]
    for code in required:
        if code not in places:
            problems.add("file", "column_missing", 1, code)
    problems.refuse_any()
    return Layout(table, places, only)


def matched(header: Collection[str], names: Mapping[str, str], options: Options) -> list[str]:
    """What each column of a file is taken for: its code, LEFT_OUT, or nothing where it is not known."""
    left_out = {normal(one) for one in options.leave_out}
    return [LEFT_OUT if normal(one) in left_out else _named(one, names) for one in header]


def _named(title: str, names: Mapping[str, str]) -> str:
    """By the whole title, else by what it says beside its unit."""
    return names.get(normal(title)) or names.get(normal(heading_of(title)[0]), "")


def _in_both_units(header: Collection[str], are: Collection[str]) -> list[tuple[str, str]]:
    """Pairs of titles that hold the same in °C and in °F: the same words but for the unit, or taken for the same."""
    found: dict[str, dict[Unit, str]] = {}
    for title, code in zip(header, are, strict=True):
        words, unit = heading_of(title)
        if unit is not None and code != LEFT_OUT:
            found.setdefault(code or f"? {normal(words)}", {})[unit] = title
    return [(one["C"], one["F"]) for one in found.values() if len(one) == 2]


class Row:
    """One row being read: takes its cells one by one and notes what is wrong with each."""

    def __init__(
        self,
        number: int,
        cells: Mapping[str, str],
        problems: Problems,
        units: Mapping[str, Unit] = MappingProxyType({}),
    ) -> None:
        self.number, self.cells, self.problems, self.units = number, cells, problems, units
        self.good = True

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def unit(self, column: str, stated: Unit | None, whole: Unit | None) -> Unit | None:
        """Of a column: what its row states, else its title, else what was said of the file; noted where they differ."""
        title = self.units.get(column)
        said = stated or whole
        if self.text(column) and None not in (title, said) and title != said:
            self.bad(column, "title_says", said=f"°{said}", title=f"°{title}")
        return stated or title or whole

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
