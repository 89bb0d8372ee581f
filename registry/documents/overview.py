"""The page for the manager: what may be out soonest, what failed, what drifts, what was missed, what to do about it."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from registry.documents import finish, fonts
from registry.documents.facts import CannotPrint
from registry.documents.page import HEADING, LABELS, MM, NOTE, RULE, TEXT, Page, Style, plain, wrap
from registry.documents.portrait import END_HIGH, Sheet, draw_end, draw_ground, draw_head, draw_strip
from registry.documents.site_facts import OverviewFacts, OverviewPart
from registry.documents.words import Words

ANSWER = Style(13, 16)
HEAD = replace(NOTE, bold=True)
CELL = Style(9.5, 11.5, figures=True)
GAP, BETWEEN = 8.0, 4 * MM

Block = Callable[[Page, float], float]  # takes where the block before ended, returns its own last baseline


def overview(facts: OverviewFacts) -> bytes:
    """The PDF: the same facts give the same bytes. CannotPrint where a name or a number has no room."""
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    sheet = Sheet(facts.page, words.say("overview.title"), facts.as_of, words.say("overview.end"))
    pages = _pages(facts, sheet)
    if len(pages) > 1:
        pages = min(pages, _pages(_joined(facts), sheet), key=len)
    drawing = finish.Drawing(*sheet.size, facts.page.language, words.say("overview.title"))
    for number, blocks in enumerate(pages, 1):
        page = drawing.page()
        draw_ground(page, sheet)
        y = draw_head(page, sheet, number, len(pages))
        for block in blocks:
            y = block(page, y)
        if number == len(pages):
            draw_end(page, sheet, max(y + 6, sheet.bottom - END_HIGH - 6))
        else:
            page.text(sheet.right, sheet.bottom, words.say("wall.turn_over"), LABELS, "right")
        draw_strip(page, sheet)
    return drawing.bytes()


def _joined(facts: OverviewFacts) -> OverviewFacts:
    parts = [
        replace(part, sentences=(" ".join(part.sentences),)) if part.may_join and part.sentences else part
        for part in facts.parts
    ]
    return replace(facts, parts=tuple(parts))


def _pages(facts: OverviewFacts, sheet: Sheet) -> list[list[Block]]:
    """All on one page where that fits, else broken between rows, whose heads then stand again; the name of a part stays
    with its first row."""
    dry = sheet.dry()
    pages: list[list[Block]] = [[]]
    top = y = draw_head(dry, sheet, 1, 9)
    for block, heads in [(_answer(facts, sheet), None), *(one for part in facts.parts for one in _part(part, sheet))]:
        below = block(dry, y)
        if below + 6 > sheet.bottom - END_HIGH and pages[-1]:
            pages.append([heads] if heads else [])
            below = block(dry, heads(dry, top) if heads else top)
        if below + 6 > sheet.bottom - END_HIGH:
            raise CannotPrint("too_long", number=sheet.title)
        pages[-1].append(block)
        y = below
    return pages


def _answer(facts: OverviewFacts, sheet: Sheet) -> Block:
    return lambda page, y: page.paragraph(sheet.left, y + 20, facts.answer, sheet.wide, ANSWER)


def _part(part: OverviewPart, sheet: Sheet) -> list[tuple[Block, Block | None]]:
    """Its name with its heads and first row or sentence, then one block for each other row and sentence, each with what
    stands above it where it begins a page."""
    columns = _columns(part, sheet)
    heads = _heads(sheet, part, columns) if part.rows else None
    rows = [_row(sheet, part, columns, cells) for cells in part.rows]
    said = [_said(sheet, plain(text), TEXT) for text in part.sentences]
    said += [_said(sheet, plain(part.note), NOTE)] if part.note else []
    if not rows and not said:
        return []
    first = _with_name(sheet, part, heads, [*rows, *said][0])
    return [(first, None), *([*((one, heads) for one in rows), *((one, None) for one in said)][1:])]


def _with_name(sheet: Sheet, part: OverviewPart, heads: Block | None, first: Block) -> Block:
    def block(page: Page, y: float) -> float:
        y += GAP
        page.line(sheet.left, y, sheet.right, y, 0.5, RULE)
        y = page.paragraph(sheet.left, y + 14, plain(part.name), sheet.wide, HEADING)
        return first(page, heads(page, y) if heads else y)

    return block


def _heads(sheet: Sheet, part: OverviewPart, columns: Sequence[float]) -> Block:
    def block(page: Page, y: float) -> float:
        lines = [wrap(plain(head), wide, HEAD) for head, wide in zip(part.heads, _widths(columns, sheet), strict=True)]
        for number in range(max(map(len, lines))):
            y += HEAD.leading
            for place, (head, left) in enumerate(zip(lines, columns, strict=True)):
                text = "".join(run for run, _ in head[number]) if number < len(head) else ""
                _put(page, sheet, part, columns, place, left, y, text, HEAD)
        page.line(sheet.left, y + 4, sheet.right, y + 4, 0.5)
        return y + 4

    return block


def _row(sheet: Sheet, part: OverviewPart, columns: Sequence[float], cells: Sequence[str]) -> Block:
    def block(page: Page, y: float) -> float:
        end = y
        for place, (cell, left, wide) in enumerate(zip(cells, columns, _widths(columns, sheet), strict=True)):
            for number, line in enumerate(wrap(plain(cell), wide, CELL)):
                at = y + (number + 1) * CELL.leading
                _put(page, sheet, part, columns, place, left, at, "".join(run for run, _ in line), CELL)
                end = max(end, at)
        page.line(sheet.left, end + 3.5, sheet.right, end + 3.5, 0.4, RULE)
        return end + 3.5

    return block


def _put(
    page: Page,
    sheet: Sheet,
    part: OverviewPart,
    columns: Sequence[float],
    place: int,
    left: float,
    y: float,
    text: str,
    style: Style,
) -> None:
    """Words begin at the left of their column, figures end at its right."""
    if place < len(columns) - part.figures:
        page.text(left, y, text, style)
    else:
        page.text(left + _widths(columns, sheet)[place], y, text, style, "right")


def _said(sheet: Sheet, text: str, style: Style) -> Block:
    return lambda page, y: page.paragraph(sheet.left, y + style.leading + 1.5, text, sheet.wide, style)


def _columns(part: OverviewPart, sheet: Sheet) -> list[float]:
    """Left edges: figures as wide as the widest of them, words share what is left by what they need."""
    if not part.heads:
        return []
    count = len(part.heads)
    needs = (
        [max(fonts.width(row[n], CELL.size, CELL.font) for row in part.rows) for n in range(count)]
        if part.rows
        else [1.0] * count
    )
    longest = [
        max((fonts.width(word, HEAD.size, HEAD.font) for word in head.split()), default=0.0) for head in part.heads
    ]
    widths = [max(need, least) + 1 for need, least in zip(needs, longest, strict=True)]
    words = count - part.figures
    room = sheet.wide - BETWEEN * (count - 1) - sum(widths[words:])
    if room <= 0:
        raise CannotPrint("too_wide", text=part.name)
    widths[:words] = _shared(part, widths[:words], longest, room)
    lefts = [sheet.left]
    for wide in widths[:-1]:
        lefts.append(lefts[-1] + wide + BETWEEN)
    return lefts


def _shared(part: OverviewPart, needs: Sequence[float], longest: Sequence[float], room: float) -> list[float]:
    """The room among columns of words by what they need; where it is short, none narrower than its longest word."""
    least = [
        max(
            longest[n],
            max(fonts.width(word, CELL.size, CELL.font) for row in part.rows for word in row[n].split(" ")) + 1,
        )
        if part.rows
        else 1.0
        for n in range(len(needs))
    ]
    spare, wish = room - sum(least), sum(needs) - sum(least)
    if sum(needs) <= room or spare <= 0 or wish <= 0:
        return [one * room / sum(needs) for one in needs]
    return [few + spare * (need - few) / wish for few, need in zip(least, needs, strict=True)]


def _widths(columns: Sequence[float], sheet: Sheet) -> list[float]:
    ends = [*columns[1:], sheet.right + BETWEEN]
    return [end - BETWEEN - left for left, end in zip(columns, ends, strict=True)]
