"""The monthly log on paper: a wide table over as many pages as it takes, then notes, review and what it rests on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from registry.documents import demo, finish
from registry.documents.facts import CannotPrint, PageFacts
from registry.documents.page import ACCENT, LABEL, LABELS, MM, NOTE, RULE, Page, Style, plain
from registry.documents.words import Words

__all__ = ["CannotPrint", "LogFacts", "Row", "monthly_log"]

PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}  # lying, mm
SIDE, TOP, BOTTOM = 14.0, 12.0, 11.0
# Widths in mm with the gap behind, as they are on A4; the stretching ones share what another paper gives or takes.
COLUMNS = {
    "day": 21.5, "time": 17.0, "tag": 17.0, "method": 26.5, "expected": 17.0, "actual": 22.5, "off_by": 17.0,
    "limit": 13.0, "outcome": 30.0, "as_left": 24.0, "action": 25.0, "who": 11.0, "number": 27.5,
}  # fmt: skip
STRETCH = ("method", "actual", "outcome", "as_left", "action")
RIGHT = ("time", "expected", "off_by", "limit")
BOLD = ("tag", "outcome")
GAP = 2.2 * MM  # between columns

TITLE = Style(18, 20, bold=True)
OWNER = Style(10, 11.5, bold=True)
CELL = Style(9, 10.6, figures=True)
HEAD = Style(9, 10.6, colour=LABEL, bold=True)
ROW_ABOVE, ROW_BELOW = 9.6, 3.6  # from the rule to the first baseline, from the last baseline to the next rule


@dataclass(frozen=True, slots=True)
class Row:
    """One line: its texts in the order of COLUMNS; weight `bold`, `grey` or none; its day."""

    cells: tuple[str, ...]
    weight: str
    day: date


@dataclass(frozen=True, slots=True)
class LogFacts:
    """Everything that the pages say beside their fixed sentences, ready worded."""

    page: PageFacts
    month: str
    rows: tuple[Row, ...]
    notes: tuple[str, ...]
    reviews: tuple[str, ...]
    reviewed: bool
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    code: str
    left: float
    width: float


@dataclass(frozen=True, slots=True)
class _Layout:
    facts: LogFacts
    words: Words
    width: float
    height: float
    columns: tuple[_Column, ...]

    @property
    def left(self) -> float:
        return SIDE * MM

    @property
    def right(self) -> float:
        return self.width - SIDE * MM

    @property
    def end(self) -> float:
        return self.height - BOTTOM * MM


def monthly_log(facts: LogFacts) -> bytes:
    """The finished PDF: the same facts give the same bytes. CannotPrint where a character or a word has no room."""
    layout = _layout(facts)
    pages = _pages(layout)
    title = f"{layout.words.say('log.title')}, {facts.month}"
    drawing = finish.Drawing(layout.width, layout.height, facts.page.language, title)
    for number, (rows, tail) in enumerate(pages, 1):
        page = drawing.page()
        if facts.page.demo:
            demo.draw_under(page, layout.words)
        _draw_page(page, layout, rows, tail, number, len(pages))
    return drawing.bytes()


def _layout(facts: LogFacts) -> _Layout:
    width, height = (each * MM for each in PAPERS[facts.page.paper])
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    more = (width - (2 * SIDE + sum(COLUMNS.values())) * MM) / len(STRETCH)
    columns, left = [], SIDE * MM
    for code, wide in COLUMNS.items():
        taken = wide * MM + (more if code in STRETCH else 0)
        columns.append(_Column(code, left, taken - (0 if code == "number" else GAP)))  # the last one needs none
        left += taken
    return _Layout(facts, words, width, height, tuple(columns))


# Which part stands on which page

_Tail = tuple[str, str]  # what it is (note, review, source, sign) and its text


def _pages(layout: _Layout) -> list[tuple[list[Row], list[_Tail]]]:
    """Rows, then what stands below the table, page after page."""
    pages: list[tuple[list[Row], list[_Tail]]] = [([], [])]
    y = _after_head(layout, 1)
    for row in layout.facts.rows:
        high = _row_height(layout, row)
        if y + high > layout.end:
            pages.append(([], []))
            y = _after_head(layout, len(pages))
        pages[-1][0].append(row)
        y += high
    y += 6
    for tail in _tails(layout.facts):
        high = _tail_height(layout, tail)
        if y + high > layout.end:
            pages.append(([], []))
            y = _after_head(layout, len(pages), with_table=False)
        pages[-1][1].append(tail)
        y += high
    return pages


def _tails(facts: LogFacts) -> Iterator[_Tail]:
    yield from (("note", text) for text in facts.notes)
    yield from (("review" if facts.reviewed else "sign", text) for text in facts.reviews)
    yield from (("source", text) for text in facts.sources)
    yield "end", ""


def _after_head(layout: _Layout, number: int, *, with_table: bool = True) -> float:
    return _draw_head(Page(layout.width, layout.height), layout, number, 99, with_table)


def _draw_page(
    page: Page, layout: _Layout, rows: Sequence[Row], tail: Sequence[_Tail], number: int, pages: int
) -> None:
    y = _draw_head(page, layout, number, pages, bool(rows) or number == 1)
    last: date | None = None
    for row in rows:
        y = _draw_row(page, layout, row, y, new_day=row.day != last)
        last = row.day
    if rows:
        page.line(layout.left, y, layout.right, y, 0.5)
        y += 6
    for one in tail:
        y = _draw_tail(page, layout, one, y)
    if layout.facts.page.demo:
        demo.draw_strip(page, layout.words)


# Head, rows and what stands below


def _draw_head(page: Page, layout: _Layout, number: int, pages: int, with_table: bool) -> float:
    """Whose log and which month, page n of m; on the first page what it is; returns where the rows begin."""
    facts, words = layout.facts, layout.words
    baseline = TOP * MM + 9
    of = words.say("log.page", page=number, pages=pages)
    wide = page.text(layout.right, baseline, of, replace(LABELS, figures=True), "right")
    room = layout.right - layout.left - wide - 6 * MM
    end = page.paragraph(layout.left, baseline, plain(f"{facts.page.owner}, {facts.page.site}"), room, OWNER)
    if number > 1:
        running = f"{words.say('log.title')}, {facts.month}"
        end = page.paragraph(layout.left, end + 12, running, room, LABELS)
    rule = end + 6
    page.line(layout.left, rule, layout.right, rule, 2.4, ACCENT)
    y = rule
    if number == 1:
        page.text(layout.left, y + 22, f"{words.say('log.title')}, {facts.month}", TITLE)
        said = f"{words.say('log.scope')} **{words.say('caution.local_codes_first')}**"
        y = page.paragraph(layout.left, y + 37, said, layout.right - layout.left, NOTE) + 4
    return _draw_columns(page, layout, y) if with_table else y + 4


def _draw_columns(page: Page, layout: _Layout, y: float) -> float:
    for column in layout.columns:
        text = layout.words.say(f"log.head.{column.code}")
        right = column.code in RIGHT
        at = column.left + (column.width if right else 0)
        page.text(at, y + 12, text, HEAD, "right" if right else "left", within=column.width + GAP)
    page.line(layout.left, y + 16, layout.right, y + 16, 0.8)
    return y + 16


def _row_height(layout: _Layout, row: Row) -> float:
    dry = Page(layout.width, layout.height)
    return _draw_row(dry, layout, row, 0.0, new_day=True)


def _draw_row(page: Page, layout: _Layout, row: Row, y: float, *, new_day: bool) -> float:
    page.line(layout.left, y, layout.right, y, 0.5 if new_day else 0.25, LABEL if new_day else RULE)
    baseline = y + ROW_ABOVE
    end = baseline
    for column, text in zip(layout.columns, row.cells, strict=True):
        style = _style(row, column.code)
        if column.code in RIGHT:
            page.text(column.left + column.width, baseline, text, style, "right", within=column.width + GAP)
        elif text:
            end = max(end, page.paragraph(column.left, baseline, plain(text), column.width, style))
    return end + ROW_BELOW


def _style(row: Row, column: str) -> Style:
    if row.weight == "grey":
        return replace(CELL, colour=LABEL)
    return replace(CELL, bold=True) if row.weight == "bold" and column in BOLD else CELL


def _tail_height(layout: _Layout, tail: _Tail) -> float:
    return _draw_tail(Page(layout.width, layout.height), layout, tail, 0.0)


def _draw_tail(page: Page, layout: _Layout, tail: _Tail, y: float) -> float:
    what, text = tail
    words, width = layout.words, layout.right - layout.left
    if what == "end":
        page.text((layout.left + layout.right) / 2, y + 12, words.say("log.end"), replace(NOTE, bold=True), "centre")
        return y + 15
    style = replace(NOTE, bold=what in ("review", "sign"), figures=what == "source")
    # A note of the rules brings its own bold name; what people typed in a name sets nothing bold.
    shown = text if what == "note" else plain(text)
    end = page.paragraph(layout.left, y + 11, shown, width, style) + 3
    return _draw_sign(page, layout, end) if what == "sign" else end


def _draw_sign(page: Page, layout: _Layout, y: float) -> float:
    """A line for the one who reviews it on paper."""
    at = layout.left
    for code, room in (("log.sign", 75 * MM), ("log.sign_day", 40 * MM)):
        wide = page.text(at, y + 20, layout.words.say(code), NOTE)
        page.line(at + wide + 4, y + 21, at + wide + 4 + room, y + 21, 0.5)
        at += wide + room + 10 * MM
    return y + 27
