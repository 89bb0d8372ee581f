"""What we do when one is off: the owner's rules for a site on one page, to be pinned up beside the bath."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from registry.documents import finish
from registry.documents.facts import CannotPrint
from registry.documents.page import HEADING, LABELS, MM, NOTE, RULE, SIDE, TEXT, Grid, Page, Style
from registry.documents.portrait import END_HIGH, Sheet, draw_end, draw_ground, draw_head, draw_strip
from registry.documents.sheet_facts import SpanFacts
from registry.documents.site_facts import WhenOffFacts
from registry.documents.words import Words

STEP = Style(10.5, 12.8)
NUMBER = Style(15, 17, bold=True)
RANGE = Style(10.5, 12.5, bold=True, figures=True)
HEAD = replace(NOTE, bold=True)
STEP_LEFT = 8 * MM
GAP = 6.0


Block = Callable[[Page, float], float]  # takes the rule above, returns the last baseline


def when_off(facts: WhenOffFacts) -> bytes:
    """The PDF: the same facts give the same bytes. CannotPrint where a name or a range has no room."""
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    sheet = Sheet(facts.page, words.say("off.title"), facts.as_of, words.say("off.end"))
    pages = _pages(facts, sheet)
    drawing = finish.Drawing(*sheet.size, facts.page.language, words.say("off.title"))
    for number, blocks in enumerate(pages, 1):
        page = drawing.page()
        draw_ground(page, sheet)
        y = draw_head(page, sheet, number, len(pages))
        for place, block in enumerate(blocks):
            if place:
                page.line(sheet.left, y + GAP, sheet.right, y + GAP, 0.5, RULE)
                y += GAP
            y = block(page, y) + 2
        if number == len(pages):
            draw_end(page, sheet, max(y, sheet.bottom - END_HIGH))
        else:
            page.text(sheet.right, sheet.bottom, words.say("wall.turn_over"), LABELS, "right")
        draw_strip(page, sheet)
    return drawing.bytes()


def _pages(facts: WhenOffFacts, sheet: Sheet) -> list[list[Block]]:
    """All on one page where that fits, else broken between parts."""
    dry = sheet.dry()
    pages: list[list[Block]] = [[]]
    top = draw_head(dry, sheet, 1, 9)
    y = top
    for block in _blocks(facts, sheet):
        below = block(dry, y + GAP) + 2
        if below > sheet.bottom - END_HIGH and pages[-1]:
            pages.append([])
            below = block(dry, top) + 2
        if below > sheet.bottom - END_HIGH:
            raise CannotPrint("too_long", number=sheet.title)
        pages[-1].append(block)
        y = below
    return pages


def _blocks(facts: WhenOffFacts, sheet: Sheet) -> Iterator[Block]:
    yield lambda page, y: _draw_steps(page, sheet, facts, y)
    yield _named(sheet, "told", lambda page, y: page.paragraph(*_main(sheet, y), facts.told, _grid(sheet).width, STEP))
    yield _named(sheet, "must_read", lambda page, y: _draw_must_read(page, sheet, facts, y))
    yield lambda page, y: _draw_sentences(page, sheet, "limits", facts.limits, y)
    yield lambda page, y: _draw_sentences(page, sheet, "cautions", facts.cautions, y)


def _grid(sheet: Sheet) -> Grid:
    return Grid(sheet.left, sheet.right)


def _named(sheet: Sheet, code: str, draw: Block) -> Block:
    """Its name in the side column, beside what it says."""

    def block(page: Page, y: float) -> float:
        name = page.paragraph(sheet.left, y + 13, sheet.words.say(f"off.part.{code}"), SIDE, HEADING)
        return max(name, draw(page, y))

    return block


def _main(sheet: Sheet, y: float) -> tuple[float, float]:
    """Where the first line of the main column begins."""
    return _grid(sheet).main, y + STEP.leading + 1


def _draw_sentences(page: Page, sheet: Sheet, code: str, sentences: tuple[str, ...], y: float) -> float:
    """Their name above them, in the whole width: they are read once and in peace."""
    page.text(sheet.left, y + 12, sheet.words.say(f"off.part.{code}"), HEADING)
    return page.paragraph(sheet.left, y + 12 + NOTE.leading + 1, " ".join(sentences), sheet.wide, NOTE)


def _draw_steps(page: Page, sheet: Sheet, facts: WhenOffFacts, y: float) -> float:
    """In the whole width: it is what is read first, and in a hurry."""
    y += 3
    for number, text in enumerate(facts.steps, 1):
        page.text(sheet.left, y + STEP.leading + 1, str(number), NUMBER)
        y = page.paragraph(sheet.left + STEP_LEFT, y + STEP.leading, text, sheet.wide - STEP_LEFT, STEP) + 4
    return y - 4


def _draw_must_read(page: Page, sheet: Sheet, facts: WhenOffFacts, y: float) -> float:
    """A row for each kind of dial: what it must show in ice and at the boil here."""
    grid, words = _grid(sheet), sheet.words
    wide = grid.width * 0.28
    boil, ice = grid.right - wide, grid.right - 2 * wide
    heads = (
        (grid.main, words.say("off.head.types"), ice),
        (ice, facts.ice_at, boil),
        (boil, facts.boil_at, grid.right),
    )
    end = y
    for left, text, right in heads:
        end = max(end, page.paragraph(left, y + 13, text, right - left - 2 * MM, HEAD))
    y = end + 4
    page.line(grid.main, y, grid.right, y, 0.5)
    for row in facts.must_read:
        named = words.joined(
            [words.say(f"type.{row.types[0]}"), *(words.name_of(f"type.{one}") for one in row.types[1:])]
        )
        end = page.paragraph(grid.main, y + 12, named, ice - grid.main - 2 * MM, TEXT)
        for left, spans in ((ice, row.ice), (boil, row.boil)):
            end = max(end, _draw_spans(page, words, left, y + 12, spans, wide))
        y = end + 4
        page.line(grid.main, y, grid.right, y, 0.4, RULE)
    return page.paragraph(grid.main, y + 12, facts.must_read_note, grid.width, NOTE)


def _draw_spans(page: Page, words: Words, left: float, y: float, spans: tuple[SpanFacts, ...], wide: float) -> float:
    if not spans:
        page.text(left, y, "–", RANGE)
        return y
    for number, one in enumerate(spans):
        said = words.say("sheet.range", lowest=words.number(one.lowest.value), highest=words.temperature(one.highest))
        page.text(left, y + number * RANGE.leading, said, RANGE, within=wide - 1 * MM)
    return y + (len(spans) - 1) * RANGE.leading
