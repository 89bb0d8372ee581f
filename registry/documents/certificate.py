"""The certificate of an in-house thermometer check: one page for a usual check, two where more was done.

Sections are drawn once to measure them, what is left over is shared between them, then they are drawn again.
Where they do not fit, the result stays on page 1 and how it is known goes to page 2, never in smaller type.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from registry.documents import finish, fonts, sections, sentences
from registry.documents.answer import draw_answer
from registry.documents.facts import CannotPrint, CertificateFacts
from registry.documents.page import ACCENT, INK, LABELS, MM, NOTE, RULE, TEXT, WHITE, Grid, Page, Style, plain
from registry.documents.results import draw_results
from registry.documents.words import Words

# Width, height, right, top and bottom margin, mm.
PAPERS = {"a4": (210.0, 297.0, 15.0, 12.0, 11.0), "letter": (215.9, 279.4, 16.0, 11.0, 10.0)}
LEFT = 20.0

TITLE = Style(18, 20, bold=True)
OWNER = Style(10, 11.5, bold=True)
NUMBER = Style(13, 14, bold=True, figures=True)
STRIP = Style(9, 11, colour=WHITE, bold=True)
# From the last baseline to the rule, from the rule to the next one, and how far both may give way together.
BELOW, ABOVE = 7.5, 10.5
LEAST_GAP, MOST_GAP = -2.6, 9.0
FIRST_BELOW_HEAD = 5.0

Draw = Callable[[Page, float], float]


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a page. `draw` takes the rule above it and returns its last baseline."""

    draw: Draw


@dataclass(frozen=True, slots=True)
class Layout:
    """The paper, what is written on it and where."""

    facts: CertificateFacts
    words: Words
    grid: Grid
    width: float
    height: float
    top: float
    bottom: float


def certificate(facts: CertificateFacts) -> bytes:
    """The finished PDF: the same facts give the same bytes. CannotPrint where these facts make no page."""
    layout = _layout(facts)
    pages = _pages(layout)
    drawing = finish.Drawing(layout.width, layout.height, facts.page.language, layout.words.say("certificate.title"))
    for number, blocks in enumerate(pages, 1):
        page = drawing.page()
        _draw_ground(page, layout)
        _draw_page(page, layout, blocks, number, len(pages))
        _draw_overlay(page, layout)
    return finish.finished(
        drawing.bytes(),
        issued_at=facts.people.issued_at,
        number=facts.proof.number,
        entries=facts.proof.entries,
    )


def _layout(facts: CertificateFacts) -> Layout:
    width, height, right, top, bottom = (each * MM for each in PAPERS[facts.page.paper])
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    return Layout(facts, words, Grid(LEFT * MM, width - right), width, height, top, height - bottom)


# Which part stands on which page


def _pages(layout: Layout) -> list[list[Block]]:
    """All on one page where that fits, else the result first and then how it is known."""
    known = {
        name: Block(_bound(section, layout))
        for name, section in sections.SECTIONS.items()
        if section.applies(layout.facts)
    }
    opening = _opening(layout)
    in_one = [opening, *(known[name] for name in sections.ON_ONE if name in known)]
    if _spare(layout, in_one, 1, 1) >= LEAST_GAP * len(in_one):
        return [in_one]
    return _flow(layout, [opening, *(known[name] for name in sections.ON_MORE if name in known)])


def _bound(section: sections.Section, layout: Layout) -> Draw:
    return lambda page, y: section.draw(page, y, layout.facts, layout.words, layout.grid)


def _flow(layout: Layout, blocks: Sequence[Block]) -> list[list[Block]]:
    """Page after page, broken between sections only."""
    pages: list[list[Block]] = [[]]
    for block in blocks:
        if pages[-1] and _spare(layout, [*pages[-1], block], len(pages), 99) < 0:
            pages.append([])
        pages[-1].append(block)
        if _spare(layout, pages[-1], len(pages), 99) < 0:
            raise CannotPrint("too_long", number=layout.facts.proof.number)
    if len(pages) > 1 and len(pages[-1]) == 1 and len(pages[-2]) > 2:
        pages[-1].insert(0, pages[-2].pop())  # no page for the proof alone
    return pages


def _spare(layout: Layout, blocks: Sequence[Block], number: int, pages: int) -> float:
    """Points left over on a page whose gaps are the usual ones."""
    dry = Page(layout.width, layout.height)
    return layout.bottom - _draw_blocks(dry, layout, blocks, number, pages, 0.0)


def _draw_page(page: Page, layout: Layout, blocks: Sequence[Block], number: int, pages: int) -> None:
    gap = _spare(layout, blocks, number, pages) / len(blocks)
    _draw_blocks(page, layout, blocks, number, pages, max(LEAST_GAP, min(MOST_GAP, gap)))


def _draw_blocks(page: Page, layout: Layout, blocks: Sequence[Block], number: int, pages: int, gap: float) -> float:
    """Head, blocks and foot; returns where the foot ends."""
    y = _draw_head(page, layout, number, pages) + (0 if number == 1 else FIRST_BELOW_HEAD)
    for place, block in enumerate(blocks):
        if place:
            y += BELOW + 0.7 * gap
            page.line(layout.grid.left, y, layout.grid.right, y, 0.5, RULE)
        y = block.draw(page, y + (0.3 * gap if place else 0))
    return _draw_foot(page, layout, y + BELOW + 0.7 * gap, number, pages)


# Head, opening and foot


def _draw_head(page: Page, layout: Layout, number: int, pages: int) -> float:
    """Whose page and which number; returns the rule below."""
    facts, words, grid = layout.facts, layout.words, layout.grid
    baseline = layout.top + 9
    wide = page.text(grid.right, baseline, facts.proof.number, NUMBER, "right")
    label = words.say("certificate.number")
    wide += 5 + page.text(grid.right - wide - 5, baseline, label, LABELS, "right")
    of = words.say("certificate.page", page=number, pages=pages)
    page.text(grid.right, baseline + 13.5, of, LABELS, "right")
    room = grid.right - grid.left - wide - 6 * MM
    if number > 1:
        running = words.say("certificate.running", tag_id=facts.thermometer.tag_id)
        end = page.paragraph(grid.left, baseline, running, room, OWNER)
    else:
        end = page.paragraph(grid.left, baseline, plain(facts.page.owner), room, OWNER)
        end = page.paragraph(grid.left, end + 12.5, plain(facts.page.site), room, LABELS)
    rule = max(end, baseline + 13.5) + 8
    page.line(grid.left, rule, grid.right, rule, 2.4, ACCENT)
    return rule


def _opening(layout: Layout) -> Block:
    """What it is and is not, the answer, the figures: always together and first."""
    facts, words, grid = layout.facts, layout.words, layout.grid
    width = grid.right - grid.left

    def draw(page: Page, y: float) -> float:
        page.text(grid.left, y + 22, words.say("certificate.title"), TITLE, within=width)
        scope = f"{words.say('certificate.scope')} {words.say('certificate.holds_for')}"
        end = page.paragraph(grid.left, y + 39, scope, width, TEXT)
        if facts.earlier:
            end = page.paragraph(grid.left, end + 11.5, _earlier(facts, words), width, replace(TEXT, bold=True))
        end = draw_answer(page, end + 6.5, facts, words, grid)
        if against := sentences.standing(facts, words):
            end = page.paragraph(grid.left, end + 12.5, against, width, replace(TEXT, bold=True)) + 4
        return draw_results(page, end, facts, words, grid.left, grid.right)

    return Block(draw)


def _earlier(facts: CertificateFacts, words: Words) -> str:
    earlier = facts.earlier
    assert earlier is not None
    values = {"number": earlier.number, "day": words.day(earlier.day)}
    if earlier.what:
        return words.say("certificate.amends", what=earlier.what, **values)
    return words.say("certificate.replaces", **values)


def _draw_foot(page: Page, layout: Layout, y: float, number: int, pages: int) -> float:
    words, grid = layout.words, layout.grid
    if number < pages:
        said = words.say("certificate.continued", page=number + 1)
        page.text(grid.right, layout.bottom - 2.5, said, LABELS, "right")
        return y + 9
    middle = (grid.left + grid.right) / 2
    page.text(middle, y + 4, words.say("certificate.copy"), NOTE, "centre")
    baseline = y + 16
    end = words.say("certificate.end", number=layout.facts.proof.number)
    style = replace(NOTE, bold=True, figures=True)
    half = page.text(middle, baseline, end, style, "centre") / 2 + 3 * MM
    for inner, outer in ((middle - half, grid.left), (middle + half, grid.right)):
        page.line(inner, baseline - 3, outer, baseline - 3, 0.5)
        page.rect(outer - 9 if outer > middle else outer, baseline - 4.8, 9, 3.6)
    return baseline + 2.5


# What keeps a page from counting


def _draw_ground(page: Page, layout: Layout) -> None:
    """Under the text: grey outlines on demo pages."""
    if layout.facts.page.demo:
        page.outlines(layout.words.say("certificate.demo"), 1, RULE)


def _draw_overlay(page: Page, layout: Layout) -> None:
    """Over the text: what a superseded page is crossed with, and the strip in words that copiers keep."""
    words, superseded = layout.words, layout.facts.page.superseded
    said = [words.say("certificate.demo_strip")] if layout.facts.page.demo else []
    if superseded:
        page.outlines(words.say("certificate.superseded"), 1.4, INK)
        for shift in (-0.13 * layout.width, 0.13 * layout.width):
            page.stroke([(shift, layout.height), (layout.width + shift, 0)], 1.2)
        day = words.day(superseded.day)
        said.append(words.say("certificate.superseded_strip", number=superseded.number, day=day))
    if said:
        text = ". ".join(said)
        wide = fonts.width(text, STRIP.size, STRIP.font) + 6 * MM
        page.rect((layout.width - wide) / 2, 4 * MM, wide, 5 * MM)
        page.text(layout.width / 2, 4 * MM + 10, text, STRIP, "centre")
