"""The list for the wall: each thermometer of a site with its sign, what it may be used for and what it must show.

It stands for status tags where they would change at every shift. The tag id is read from two steps away.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from registry.documents import finish, signs
from registry.documents.facts import CannotPrint
from registry.documents.page import INK, LABELS, MM, NOTE, RULE, TEXT, WHITE, Page, Style, plain, wrap
from registry.documents.portrait import END_HIGH, Sheet, draw_end, draw_ground, draw_head, draw_strip
from registry.documents.site_facts import WallFacts, WallRow
from registry.documents.words import Words
from registry.wording import format

Uses = tuple[Literal["cook", "hot", "cold"], ...]
USES: Uses = ("cook", "hot", "cold")

TAG_ID = Style(18, 19, bold=True, figures=True)
LONG_TAG_ID = Style(12, 13, bold=True, figures=True)
WORD = Style(12, 13.5, bold=True)
DAY = Style(10.5, 12, figures=True)
SHOWN = Style(12, 14, bold=True, figures=True)
HEAD = replace(NOTE, bold=True)
PLACE = Style(12, 14, bold=True)

ROW_HIGHS = (12.5 * MM, 11.5 * MM, 10.6 * MM)  # the tallest that saves a page
HEAD_HIGH = 24.0
PLACE_HIGH = 22.0
# Left edges in mm from the left margin; the readings to reach share what is right of the last one.
SIGN, TAG, WORDS, RECHECK, REACH = 5.5, 13.0, 51.0, 86.0, 107.0


@dataclass(frozen=True, slots=True)
class _Line:
    """A row, or the name of the place that the rows below it are at."""

    place: str = ""
    row: WallRow | None = None
    goes_on: bool = False


def wall_list(facts: WallFacts) -> bytes:
    """The PDF: the same facts give the same bytes. CannotPrint where a name or a number has no room."""
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    when = words.say("wall.printed_at", instant=words.instant(facts.printed_at))
    sheet = Sheet(facts.page, words.say("wall.title"), when, words.say("wall.end"))
    uses = _uses(facts)
    row_high, pages = _fitting(facts, sheet, uses)
    drawing = finish.Drawing(*sheet.size, facts.page.language, words.say("wall.title"))
    for number, lines in enumerate(pages, 1):
        page = drawing.page()
        draw_ground(page, sheet)
        y = _draw_top(page, sheet, uses, number, len(pages))
        for line in lines:
            y = _draw_line(page, sheet, uses, line, y, row_high)
        _draw_foot(page, sheet, uses, last=number == len(pages))
        draw_strip(page, sheet)
    return drawing.bytes()


# --- which line stands on which page -------------------------------------------------------------------------


def _uses(facts: WallFacts) -> Uses:
    """The columns of readings to reach: those that any row has."""
    cells = {one.use for place in facts.places for row in place.rows for one in row.cells}
    return tuple(use for use in USES if use in cells)


def _fitting(facts: WallFacts, sheet: Sheet, uses: Uses) -> tuple[float, list[list[_Line]]]:
    tried = [(high, _pages(facts, sheet, uses, high)) for high in ROW_HIGHS]
    return min(tried, key=lambda one: (len(one[1]), -one[0]))


def _pages(facts: WallFacts, sheet: Sheet, uses: Uses, row_high: float) -> list[list[_Line]]:
    """A place's name is repeated where its rows go on over the page, and never stands alone at the foot of one."""
    room = _foot_top(sheet, uses) - _draw_top(sheet.dry(), sheet, uses, 1, 1)
    pages: list[list[_Line]] = [[]]
    left = room
    for place in facts.places:
        for number, row in enumerate(place.rows):
            line = _Line(row=row)
            head = [_Line(place.name)] if number == 0 and place.name else []
            high = sum(_height(sheet, one, row_high) for one in (*head, line))
            if high > left and pages[-1]:
                pages.append([])
                left = room
                head = [_Line(place.name, goes_on=number > 0)] if place.name else []
                high = sum(_height(sheet, one, row_high) for one in (*head, line))
            if high > left:
                raise CannotPrint("too_wide", text=row.why or row.tag_id)
            pages[-1] += [*head, line]
            left -= high
    return pages


def _height(sheet: Sheet, line: _Line, row_high: float) -> float:
    if line.row is None:
        return PLACE_HIGH + (len(wrap(plain(line.place), sheet.wide, PLACE)) - 1) * PLACE.leading
    row = line.row
    why = len(wrap(plain(row.why), sheet.wide - RECHECK * MM, TEXT)) if row.why else 0
    said = len(_tag_lines(row)) - 1 + len(_type_lines(sheet, row)) - 1
    word = len(_word_lines(sheet, row)) - 1 + max(0, len(_under_lines(sheet, row)) - 1)
    return row_high + max(0.0, why - 2, said, word) * 12.5


def _tag_lines(row: WallRow) -> list[str]:
    """A long tag id is set smaller, and goes on below where even so it is too long."""
    return ["".join(text for text, _ in one) for one in wrap(row.tag_id, (WORDS - TAG - 2) * MM, _tag_style(row))]


def _tag_style(row: WallRow) -> Style:
    return TAG_ID if len(row.tag_id) <= 8 else LONG_TAG_ID


def _type_lines(sheet: Sheet, row: WallRow) -> list[str]:
    said = sheet.words.say(f"type.{row.type}")
    return ["".join(text for text, _ in one) for one in wrap(said, (WORDS - TAG - 2) * MM, NOTE)]


def _word_lines(sheet: Sheet, row: WallRow) -> list[str]:
    said = sheet.words.say("tag.check_before" if row.first else f"tag.{row.use}")
    return ["".join(text for text, _ in one) for one in wrap(said, (RECHECK - WORDS - 2) * MM, WORD)]


def _under_lines(sheet: Sheet, row: WallRow) -> list[str]:
    """What a limited one is for, where it is to be checked first, at which point alone it was checked."""
    said = [sheet.words.say(f"tag.only_{row.only}")] if row.only else []
    said += [sheet.words.say("wall.hot_first")] if row.first == "hot" else []
    said += [sheet.words.say(f"wall.only.{row.point}")] if row.point else []
    return said


# --- drawing -------------------------------------------------------------------------------------------------


def _draw_top(page: Page, sheet: Sheet, uses: Uses, number: int, pages: int) -> float:
    """The head, what the list is, and the heads of its columns; returns where the rows begin."""
    words = sheet.words
    y = draw_head(page, sheet, number, pages)
    y = page.paragraph(sheet.left, y + 13, words.say("wall.holds"), sheet.wide, TEXT)
    y += 6
    heads = [(TAG, "tag"), (WORDS, "use"), (RECHECK, "recheck")]
    for left, code in heads:
        page.text(sheet.left + left * MM, y + HEAD_HIGH - 6, words.say(f"wall.head.{code}"), HEAD)
    for use, right in zip(uses, _rights(sheet, uses), strict=True):
        page.text(right, y + HEAD_HIGH - 17, words.say(f"wall.head.{use}"), HEAD, "right")
        side = "at_most" if use == "cold" else "at_least"
        page.text(right, y + HEAD_HIGH - 6, words.say(f"wall.{side}"), LABELS, "right")
    page.line(sheet.left, y + HEAD_HIGH, sheet.right, y + HEAD_HIGH, 1.2)
    return y + HEAD_HIGH


def _rights(sheet: Sheet, uses: Uses) -> list[float]:
    """Right edges of the readings to reach."""
    each = _each(sheet)
    return [sheet.right - each * number for number in reversed(range(len(uses)))]


def _each(sheet: Sheet) -> float:
    return (sheet.wide - REACH * MM) / len(USES)


def _draw_line(page: Page, sheet: Sheet, uses: Uses, line: _Line, y: float, row_high: float) -> float:
    high = _height(sheet, line, row_high)
    if line.row is None:
        said = plain(line.place)
        if line.goes_on:
            said = sheet.words.say("wall.goes_on", place=line.place)
        page.paragraph(sheet.left, y + 16, said, sheet.wide, PLACE)
        page.line(sheet.left, y + high, sheet.right, y + high, 0.5)
        return y + high
    _draw_row(page, sheet, uses, line.row, y, high)
    page.line(sheet.left, y + high, sheet.right, y + high, 0.4, RULE)
    return y + high


def _draw_row(page: Page, sheet: Sheet, uses: Uses, row: WallRow, y: float, high: float) -> None:
    middle = y + high / 2
    draw = {"use": signs.use, "limited_use": signs.limited_use, "do_not_use": signs.do_not_use}[
        "limited_use" if row.first else row.use
    ]
    draw(page, sheet.left + SIGN * MM, middle, 4.3 * MM)
    tags, types, style = _tag_lines(row), _type_lines(sheet, row), _tag_style(row)
    first = middle - ((len(tags) - 1) * style.leading + (len(types) - 1) * NOTE.leading) / 2 + 3
    for number, text in enumerate(tags):
        page.text(sheet.left + TAG * MM, first + number * style.leading, text, style)
    below = first + (len(tags) - 1) * style.leading + 11
    for number, text in enumerate(types):
        page.text(sheet.left + TAG * MM, below + number * NOTE.leading, text, LABELS)
    _draw_use(page, sheet, row, middle)
    if row.use == "do_not_use":
        lines = len(wrap(plain(row.why), sheet.wide - RECHECK * MM, TEXT))
        page.paragraph(
            sheet.left + RECHECK * MM,
            middle + 3.4 - (lines - 1) * TEXT.leading / 2,
            plain(row.why),
            sheet.wide - RECHECK * MM,
            TEXT,
        )
        return
    _draw_recheck(page, sheet, row, middle)
    cells = {one.use: one for one in row.cells}
    for use, right in zip(uses, _rights(sheet, uses), strict=True):
        if use in cells:
            page.text(
                right, middle + 4.6, sheet.words.temperature(cells[use].shown), SHOWN, "right", _each(sheet) - 1.5 * MM
            )
        else:
            page.text(right, middle + 4.6, "–", DAY, "right")


def _draw_use(page: Page, sheet: Sheet, row: WallRow, middle: float) -> None:
    """The word, white on black where it is not to be used; below it what restrains it."""
    left, lines = sheet.left + WORDS * MM, _word_lines(sheet, row)
    colour, under = INK, _under_lines(sheet, row)
    first = middle + 4.2 - (len(lines) + len(under) - 1) * WORD.leading / 2
    if row.use == "do_not_use":
        colour = WHITE
        page.rect(left - 1.2 * MM, first - 12, (RECHECK - WORDS - 2) * MM, len(lines) * WORD.leading + 3.5)
    for number, text in enumerate(lines):
        page.text(left, first + number * WORD.leading, text, replace(WORD, colour=colour))
    for number, text in enumerate(under, len(lines)):
        page.text(left, first + number * WORD.leading, text, replace(TEXT, bold=True), within=(RECHECK - WORDS) * MM)


def _draw_recheck(page: Page, sheet: Sheet, row: WallRow, middle: float) -> None:
    left, words = sheet.left + RECHECK * MM, sheet.words
    if row.recheck_by is None:
        page.text(left, middle + 3.6, "–", DAY)
    elif row.overdue:
        page.text(left, middle - 1.5, words.say("wall.overdue"), replace(DAY, bold=True))
        page.text(left, middle + 10, format.short_day(row.recheck_by, sheet.page.region), DAY)
    else:
        page.text(left, middle + 3.6, format.short_day(row.recheck_by, sheet.page.region), DAY)


def _foot(sheet: Sheet, uses: Uses) -> Iterator[str]:
    if uses:
        yield sheet.words.say("wall.reach_note")
    else:
        yield sheet.words.say("wall.no_reach_note")
    yield sheet.words.say("wall.other_note")


def _foot_top(sheet: Sheet, uses: Uses) -> float:
    return sheet.bottom - END_HIGH - _draw_foot_at(sheet.dry(), sheet, uses, 0) - 4


def _draw_foot_at(page: Page, sheet: Sheet, uses: Uses, y: float) -> float:
    for text in _foot(sheet, uses):
        y = page.paragraph(sheet.left, y + NOTE.leading, text, sheet.wide, NOTE)
    return y


def _draw_foot(page: Page, sheet: Sheet, uses: Uses, *, last: bool) -> None:
    """What the numbers mean, on every page; after the last row the end mark."""
    end = _draw_foot_at(page, sheet, uses, _foot_top(sheet, uses) + 2)
    if last:
        draw_end(page, sheet, end)
    else:
        page.text(sheet.right, end + END_HIGH, sheet.words.say("wall.turn_over"), LABELS, "right")
