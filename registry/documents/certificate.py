"""The certificate of an in-house thermometer check: one page for a usual check, two where more was done.

Sections are drawn once to measure them, what is left over is shared between them, then they are drawn again.
Where they do not fit, the result stays on page 1 and how it is known goes to page 2, never in smaller type.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from registry.documents import demo, finish, overlay, sections, sentences
from registry.documents.answer import draw_answer
from registry.documents.facts import CannotPrint, CertificateFacts
from registry.documents.page import ACCENT, LABELS, LEFT, MM, NOTE, PAPERS, RULE, TEXT, Grid, Page, Style, plain
from registry.documents.results import draw_results
from registry.documents.words import Words

TITLE = Style(18, 20, bold=True)
OWNER = Style(10, 11.5, bold=True)
NUMBER = Style(13, 14, bold=True, figures=True)
LOGO_WIDE, LOGO_HIGH = 40 * MM, 10 * MM
# From the last baseline to the rule, from the rule to the next one, and how far both may give way together.
BELOW, ABOVE = 7.5, 10.5
LEAST_GAP, MOST_GAP = -2.6, 9.0
FIRST_BELOW_HEAD = 5.0

Draw = Callable[[Page, float], float]


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a page. `draw` takes the rule above it and returns its last baseline, `high` farther down."""

    draw: Draw
    high: float


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
        if facts.page.demo:
            demo.draw_under(page, layout.words)
        _draw_page(page, layout, blocks, number, len(pages))
        overlay.draw_over(page, layout.words, facts.page.superseded, demo=facts.page.demo)
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
        name: _measured(layout, _bound(section, layout))
        for name, section in sections.SECTIONS.items()
        if section.applies(layout.facts)
    }
    opening = _opening(layout)
    plain_one = (sections.ON_ONE_PLAIN,) if len(layout.facts.results) == 1 else ()
    for names in (sections.ON_ONE, sections.ON_ONE_LOW, *plain_one):
        in_one = [opening, *(known[name] for name in names if name in known)]
        if _spare(layout, in_one, 1, 1) >= LEAST_GAP * len(in_one):
            return [in_one]
    result = [opening, *(known[name] for name in sections.RESULT if name in known)]
    how = [known[name] for name in sections.KNOWN if name in known]
    if _spare(layout, result, 1, 2) >= LEAST_GAP * len(result) and _spare(layout, how, 2, 2) >= LEAST_GAP * len(how):
        return [result, how]
    return _flow(layout, [opening, *(known[name] for name in sections.ON_MORE if name in known)])


def _measured(layout: Layout, draw: Draw) -> Block:
    """The block and its height: each is laid out once to measure it and once where it stands."""
    return Block(draw, draw(Page(layout.width, layout.height), 0.0))


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
    y = _draw_head(dry, layout, number, pages) + (0 if number == 1 else FIRST_BELOW_HEAD)
    y += sum(block.high for block in blocks) + BELOW * len(blocks)
    return layout.bottom - _draw_foot(dry, layout, y, number, pages)


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
        beside = _draw_logo(page, grid.left, layout.top, facts.page.logo)
        end = page.paragraph(grid.left + beside, baseline, plain(facts.page.owner), room - beside, OWNER)
        end = page.paragraph(grid.left + beside, end + 12.5, plain(facts.page.site), room - beside, LABELS)
        if beside:
            end = max(end, layout.top + LOGO_HIGH - 4)
    rule = max(end, baseline + 13.5) + 8
    page.line(grid.left, rule, grid.right, rule, 2.4, ACCENT)
    return rule


def _draw_logo(page: Page, x: float, y: float, logo: bytes | None) -> float:
    """The owner's logo, its upper left corner at (x, y); returns what it takes of the width, with its gap."""
    if not logo:
        return 0.0
    return page.picture(x, y, logo, LOGO_WIDE, LOGO_HIGH) + 4 * MM


def _opening(layout: Layout) -> Block:
    """What it is and is not, the answer, the figures: always together and first."""
    facts, words, grid = layout.facts, layout.words, layout.grid
    width = grid.right - grid.left

    def draw(page: Page, y: float) -> float:
        page.text(grid.left, y + 22, words.say("certificate.title"), TITLE, within=width)
        scope = f"{words.say('certificate.scope')} {words.say('certificate.holds_for')}"
        end = page.paragraph(grid.left, y + 39, scope, width, TEXT)
        if facts.earlier:
            end = page.paragraph(grid.left, end + 11.5, earlier_said(facts, words), width, replace(TEXT, bold=True))
        end = draw_answer(page, end + 6.5, facts, words, grid)
        if against := sentences.standing(facts, words):
            end = page.paragraph(grid.left, end + 12.5, against, width, replace(TEXT, bold=True)) + 4
        return draw_results(page, end, facts, words, grid.left, grid.right)

    return _measured(layout, draw)


def earlier_said(facts: CertificateFacts, words: Words) -> str:
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
