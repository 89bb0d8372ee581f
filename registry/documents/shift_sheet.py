"""The shift sheet: one line for each thermometer, with blanks for a pen, to be keyed in afterwards.

Its columns stand in the order of a shift's import: bath, time, tag, readings, unit, as left, how adjusted, why not,
initials. It lies on its side, since a pen needs width.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from registry.documents import demo, finish
from registry.documents.facts import CannotPrint
from registry.documents.page import (
    ACCENT,
    HEADING,
    LABELS,
    MM,
    NOTE,
    RULE,
    TEXT,
    Page,
    Style,
    plain,
    wrap,
)
from registry.documents.sheet_facts import BathBlank, LineFacts, SheetFacts, SpanFacts
from registry.documents.words import Words

# Width and height of the sheet on its side, left margin (ring-binder holes), the others, mm.
PAPERS = {"a4": (297.0, 210.0, 20.0, 10.0), "letter": (279.4, 215.9, 16.0, 9.0)}

TITLE = Style(18, 20, bold=True)
OWNER = Style(10, 11.5, bold=True)
TAG_ID = Style(11, 12, bold=True, figures=True)
RANGE = Style(9, 11, figures=True)
HEAD = replace(NOTE, bold=True)

LINE_HEIGHT = 8.0 * MM  # room for a pen
HEAD_HEIGHT = 18.5 * MM
BOX = 3.6 * MM
PAD = 1.2 * MM
HOW_SHARE = 0.56  # of the width, to how the sheet is filled in; the rest to the cautions
END_HIGH = 12.0  # below the table: that it goes on, or ends here
SPARE_LINES = 4  # for what is found on the way, where the last page has room


@dataclass(frozen=True, slots=True)
class _Layout:
    facts: SheetFacts
    words: Words
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class _Column:
    """A column: its code, its width in mm, and whether its head reads upwards."""

    code: str
    wide: float
    upright: bool = False


COLUMNS = (
    _Column("bath", 11),
    _Column("time", 12),
    _Column("tag", 20),
    _Column("place", 44.5),
    _Column("range_ice", 27),
    _Column("range_boil", 30),
    _Column("reading", 17),
    _Column("repeat_1", 13),
    _Column("repeat_2", 13),
    _Column("unit", 13),
    _Column("as_left", 14),
    _Column("adjusted", 17),
    _Column("not_used", 6.5, upright=True),
    _Column("not_found", 6.5, upright=True),
    _Column("no_reading", 6.5, upright=True),
    _Column("initials", 17),
)


def shift_sheet(facts: SheetFacts) -> bytes:
    """The PDF: the same facts give the same bytes. CannotPrint where a name or a range fits no column."""
    width, height, left, other = (each * MM for each in PAPERS[facts.page.paper])
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    layout = _Layout(facts, words, width, height, left, width - other, other, height - other)
    pages = _pages(layout)
    drawing = finish.Drawing(width, height, facts.page.language, words.say("sheet.title"))
    for number, lines in enumerate(pages, 1):
        page = drawing.page()
        if facts.page.demo:
            demo.draw_under(page, words)
        _draw_page(page, layout, lines, number, len(pages))
        if facts.page.demo:
            demo.draw_strip(page, words, 2.5 * MM)
    return drawing.bytes()


# --- which line stands on which page -------------------------------------------------------------------------


def _pages(layout: _Layout) -> list[list[LineFacts | None]]:
    """Lines page by page, blank ones after the last; the foot with its cautions stands on every page."""
    dry = Page(layout.width, layout.height)
    room = _top_of_foot(layout) - _draw_head(dry, layout, 1, 1) - HEAD_HEIGHT - END_HIGH
    widths = _widths(layout)
    pages: list[list[LineFacts | None]] = [[]]
    left = room
    for line in layout.facts.lines:
        tall = _height(layout, line, widths)
        if tall > left and pages[-1]:
            pages.append([])
            left = room
        if tall > left:
            raise CannotPrint("too_long", number=line.tag_id)
        pages[-1].append(line)
        left -= tall
    pages[-1] += [None] * min(SPARE_LINES, int(left // LINE_HEIGHT))
    return pages


def _widths(layout: _Layout) -> dict[str, float]:
    """Columns in points; what is over or short is taken by the one that holds names, which can wrap."""
    over = (layout.right - layout.left) - sum(one.wide for one in COLUMNS) * MM
    return {one.code: one.wide * MM + (over if one.code == "place" else 0) for one in COLUMNS}


def _height(layout: _Layout, line: LineFacts | None, widths: dict[str, float]) -> float:
    if line is None:
        return LINE_HEIGHT
    named = max(len(_place(layout, line, widths["place"])), len(_tag(line, widths["tag"])))
    rows = max(named, len(line.ice), len(line.boil), len(line.units))
    return max(LINE_HEIGHT, rows * RANGE.leading + 4)


def _place(layout: _Layout, line: LineFacts, wide: float) -> list[tuple[str, Style]]:
    """Where it is and what it is, in as many lines as that takes."""
    said = [(line.station, NOTE), (layout.words.say(f"type.{line.type}"), LABELS)]
    return [
        ("".join(text for text, _ in one), style)
        for words, style in said
        if words
        for one in wrap(plain(words), wide - 2 * PAD, style)
    ]


# --- drawing -------------------------------------------------------------------------------------------------


def _draw_page(page: Page, layout: _Layout, lines: Sequence[LineFacts | None], number: int, pages: int) -> None:
    y = _draw_head(page, layout, number, pages)
    widths = _widths(layout)
    top = y
    y = _draw_column_heads(page, layout, y, widths)
    for line in lines:
        tall = _height(layout, line, widths)
        _draw_line(page, layout, line, y, tall, widths)
        y += tall
        page.line(layout.left, y, layout.right, y, 0.4, RULE)
    x = layout.left
    for column in COLUMNS:
        page.line(x, top, x, y, 0.4, RULE)
        x += widths[column.code]
    page.line(layout.right, top, layout.right, y, 0.4, RULE)
    end = "sheet.end" if number == pages else "certificate.continued"
    page.text(layout.right, y + END_HIGH - 1, layout.words.say(end, page=number + 1), LABELS, "right")
    _draw_foot(page, layout)


def _draw_head(page: Page, layout: _Layout, number: int, pages: int) -> float:
    """Whose sheet, which shift, blanks for the day, and the baths; returns where the table begins."""
    facts, words = layout.facts, layout.words
    y = layout.top + 14
    wide = page.text(layout.left, y, words.say("sheet.title"), TITLE)
    of = words.say("certificate.page", page=number, pages=pages)
    page.text(layout.right, y - 5, of, LABELS, "right")
    page.text(layout.right, y + 6, words.say("caution.local_codes_first"), LABELS, "right")
    room = layout.right - layout.left - wide - 60 * MM
    named = f"{plain(facts.page.owner)}, {plain(facts.page.site)}" if facts.page.owner else plain(facts.page.site)
    end = page.paragraph(layout.left + wide + 6 * MM, y, named, room, OWNER)
    y = max(end, y + 6) + 5
    page.line(layout.left, y, layout.right, y, 2.4, ACCENT)
    y = _draw_blanks(page, layout, y + 16)
    for place, bath in enumerate(facts.baths, 1):
        y = _draw_bath(page, layout, bath, place, y + 15)
    return y + 7


def _draw_blanks(page: Page, layout: _Layout, y: float) -> float:
    facts, words = layout.facts, layout.words
    x = layout.left
    if facts.shift:
        x += page.text(x, y, words.say("sheet.shift", shift=facts.shift, hours=facts.hours), OWNER) + 8 * MM
    else:
        x = _blank(page, x, y, words.say("sheet.shift_blank"), 40 * MM) + 8 * MM
    if facts.day:
        x += page.text(x, y, words.say("sheet.day", day=words.day(facts.day)), OWNER) + 8 * MM
    else:
        x = _blank(page, x, y, words.say("sheet.day_blank"), 34 * MM) + 8 * MM
    _blank(page, x, y, words.say("sheet.filled_in_by"), max(30 * MM, min(60 * MM, layout.right - x - 60 * MM)))
    return y


def _draw_bath(page: Page, layout: _Layout, bath: BathBlank, number: int, y: float) -> float:
    """One bath in two lines: what must be read, then how it was made."""
    words = layout.words
    both = words.say("sheet.reference", celsius=words.temperature(bath.reference[0]),
                     fahrenheit=words.temperature(bath.reference[1]))  # fmt: skip
    named = words.say("sheet.bath", number=number, point=words.say(f"point.{bath.point}"), reference=both)
    x = layout.left + page.text(layout.left, y, named, OWNER) + 5 * MM
    spans = ", ".join(_span(words, one) for one in bath.spans)
    said = words.say("sheet.must_read", spans=spans) if bath.spans else ""
    if bath.elevation is not None:
        said = f"{said} {words.say('sheet.usual_here', elevation=words.typed(bath.elevation))}".strip()
    y = page.paragraph(x, y, said, layout.right - x, TEXT)
    y += 13
    x = layout.left + 4 * MM
    for made in bath.made:
        x = _tick(page, x, y, words.say(f"sheet.made.{made}")) + 5 * MM
    x = _blank(page, x, y, words.say("sheet.made_at"), 14 * MM) + 5 * MM
    if bath.elevation is not None:
        x = _blank(page, x, y, words.say("sheet.pressure"), 22 * MM) + 5 * MM
        _blank(page, x, y, words.say("sheet.pressure_from"), max(20 * MM, min(55 * MM, layout.right - x - 22 * MM)))
    return y


def _span(words: Words, span: SpanFacts, code: str = "sheet.span") -> str:
    """In a sentence; in a cell `sheet.range` is shorter."""
    lowest, highest = words.number(span.lowest.value), words.temperature(span.highest)
    return words.say(code, lowest=lowest, highest=highest)


def _blank(page: Page, x: float, y: float, label: str, room: float) -> float:
    """A label and a line to write on; returns where the line ends."""
    start = x + page.text(x, y, label, LABELS) + 1.5 * MM
    page.line(start, y + 1, start + room, y + 1, 0.5)
    return start + room


def _tick(page: Page, x: float, y: float, label: str) -> float:
    """A box and what it stands for; returns where the words end."""
    _box(page, x, y - BOX + 1)
    return x + BOX + 1.2 * MM + page.text(x + BOX + 1.2 * MM, y, label, NOTE)


def _box(page: Page, x: float, y: float) -> None:
    page.shape([(x, y), (x + BOX, y), (x + BOX, y + BOX), (x, y + BOX)], fill=None, weight=0.7)


def _draw_column_heads(page: Page, layout: _Layout, y: float, widths: dict[str, float]) -> float:
    page.line(layout.left, y, layout.right, y, 1.2)
    x = layout.left
    for column in COLUMNS:
        wide, said = widths[column.code], layout.words.say(f"sheet.column.{column.code}")
        if column.upright:
            page.upright(x + wide / 2, y + HEAD_HEIGHT / 2, said, HEAD)
        else:
            lines = len(wrap(said, wide - 2 * PAD, HEAD))
            page.paragraph(x + PAD, y + HEAD_HEIGHT - 4 - (lines - 1) * HEAD.leading, said, wide - 2 * PAD, HEAD)
        x += wide
    page.line(layout.left, y + HEAD_HEIGHT, layout.right, y + HEAD_HEIGHT, 1.2)
    return y + HEAD_HEIGHT


def _draw_line(
    page: Page, layout: _Layout, line: LineFacts | None, y: float, tall: float, widths: dict[str, float]
) -> None:
    x = layout.left
    for column in COLUMNS:
        wide = widths[column.code]
        if column.upright:
            _box(page, x + (wide - BOX) / 2, y + (tall - BOX) / 2)
        elif line is not None:
            _draw_cell(page, layout, line, column.code, x, y, wide, tall)
        x += wide


def _draw_cell(
    page: Page, layout: _Layout, line: LineFacts, code: str, x: float, y: float, wide: float, tall: float
) -> None:
    """What is printed in a cell; the others are for the pen. The only unit is printed, of two one is circled."""
    words = layout.words
    cells: dict[str, list[tuple[str, Style]]] = {
        "tag": _tag(line, wide) if code == "tag" else [],
        "place": _place(layout, line, wide) if code == "place" else [],
        "range_ice": _ranges(words, line.ice),
        "range_boil": _ranges(words, line.boil),
        "unit": [(f"°{unit}", NOTE) for unit in line.units],
    }
    shown = cells.get(code, [])
    first = y + tall / 2 - (len(shown) - 1) * RANGE.leading / 2 + 3.2
    for place, (text, style) in enumerate(shown):
        page.text(x + PAD, first + place * RANGE.leading, text, style, within=wide - PAD)


def _ranges(words: Words, spans: Sequence[SpanFacts]) -> list[tuple[str, Style]]:
    """A dash where it is not read so: an empty cell would be one to fill in."""
    return [(_span(words, one, "sheet.range"), RANGE) for one in spans] or [("–", RANGE)]


def _tag(line: LineFacts, wide: float) -> list[tuple[str, Style]]:
    """A long tag id goes on in a second line."""
    return [("".join(text for text, _ in one), TAG_ID) for one in wrap(line.tag_id, wide - 2 * PAD, TAG_ID)]


def _top_of_foot(layout: _Layout) -> float:
    dry = Page(layout.width, layout.height)
    return layout.bottom - _draw_foot_at(dry, layout, 0) - 6


def _draw_foot(page: Page, layout: _Layout) -> None:
    _draw_foot_at(page, layout, _top_of_foot(layout) + 6)


def _draw_foot_at(page: Page, layout: _Layout, y: float) -> float:
    """How to fill it in and what to take care of, side by side below y; returns the last baseline."""
    words, wide = layout.words, layout.right - layout.left
    how = [words.say(f"sheet.how.{one}") for one in ("outside", "adjust", "no_reading", "key_in")]
    care = [words.say(f"caution.{one}") for one in layout.facts.cautions]
    parts = (
        (layout.left, HOW_SHARE * wide - 6 * MM, "sheet.how_title", how),
        (layout.left + HOW_SHARE * wide, (1 - HOW_SHARE) * wide, "sheet.cautions_title", care),
    )
    ends = []
    for x, room, title, sentences in parts:
        page.text(x, y + 8, words.say(title), HEADING)
        at = y + 8
        for text in sentences:
            at = page.paragraph(x, at + NOTE.leading, text, room, NOTE)
        ends.append(at)
    return max(ends) + 2
