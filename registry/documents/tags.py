"""Identity and status tags: single labels and sheets of them."""

from collections.abc import Sequence
from dataclasses import replace

from registry.documents import codes, fonts
from registry.documents.certificate import PAPERS
from registry.documents.designs import SHEETS, SIZES, Design, design_for
from registry.documents.facts import IdentityFacts, StatusFacts, TagFacts
from registry.documents.finish import Drawing
from registry.documents.page import LABELS, MM, WHITE, Page, Style, plain, wrap
from registry.documents.status import draw_status
from registry.wording import say

SMALLEST = 6.5


def identity_tag(facts: IdentityFacts, size: str = "50x25", dpi: int = 300) -> bytes:
    """One permanent label. `size`: a key of SIZES; `dpi`: the printer's 203, 300 or 600."""
    return _single(facts, SIZES[size], dpi)


def status_tag(facts: StatusFacts, size: str = "50x25", dpi: int = 300) -> bytes:
    """One label of service status; CannotPrint where the status gets no tag."""
    return _single(facts, SIZES[size], dpi)


def tag_sheet(tags: Sequence[TagFacts], sheet: str, start: int = 1, dpi: int = 600, batch: str = "") -> bytes:
    """Tags on sheets, row by row in the order given, on the first sheet from label `start` (1 is the first).

    `batch`: names the sheet in its top margin, where that has room.
    """
    form = SHEETS[sheet]
    labels = form.columns * form.rows
    if not 1 <= start <= labels or not tags:
        raise ValueError(f"a sheet starts at a label from 1 to {labels} and holds at least one tag")
    design = design_for(form.width, form.height)
    width, height = (each * MM for each in PAPERS[form.paper][:2])
    drawing = Drawing(width, height, tags[0].language, batch or _title(tags[0]))
    page = drawing.page()
    for place, tag in enumerate(tags, start - 1):
        if place and place % labels == 0:
            page = drawing.page()
        if batch and form.top >= 10 and (place % labels == 0 or place == start - 1):
            page.text(form.left * MM + 3 * MM, (form.top - 4) * MM, batch, LABELS)
        row, column = divmod(place % labels, form.columns)
        left = form.left + column * form.pitch_x + (form.width - design.width) / 2
        top = form.top + row * form.pitch_y + (form.height - design.height) / 2
        drawing.canvas.saveState()
        drawing.canvas.translate(left * MM, height - (top + design.height) * MM)
        _draw(Page(design.width * MM, design.height * MM, drawing.canvas), tag, design, dpi)
        drawing.canvas.restoreState()
    return drawing.bytes()


def _single(facts: TagFacts, design: Design, dpi: int) -> bytes:
    drawing = Drawing(design.width * MM, design.height * MM, facts.language, _title(facts))
    _draw(drawing.page(), facts, design, dpi)
    return drawing.bytes()


def _title(facts: TagFacts) -> str:
    return f"{say('tag.thermometer', facts.language)} {facts.tag_id}"


def _draw(page: Page, facts: TagFacts, design: Design, dpi: int) -> None:
    if isinstance(facts, StatusFacts):
        draw_status(page, facts, design, dpi)
    else:
        _draw_identity(page, facts, design, dpi)


# The identity tag


def _draw_identity(page: Page, facts: IdentityFacts, design: Design, dpi: int) -> None:
    code_left = codes.draw_tag_code(page, facts.tag_id, dpi, wide=design.wide_code)
    left, right = (design.margin + 0.5) * MM, page.width - (design.margin + 0.5) * MM
    baseline, capitals = design.capitals
    size = capitals * MM / fonts.cap_height(1)
    big = Style(size, size, bold=True, figures=True)
    kind = say(f"type.{facts.type}", facts.language)
    rule, lines = design.owner_rule * MM, 2
    _draw_above(page, facts, design, left)
    if fonts.width(facts.tag_id, size, big.font) <= code_left - left:
        page.text(left, baseline * MM, facts.tag_id, big)
        page.text(left, design.below[0] * MM, kind, Style(design.below[1], 9))
    else:
        # Below the code and across the label, as large as can be; the owner keeps one line.
        rule, lines = rule + 1.2 * MM, 1
        size = min(size, (right - left) / fonts.width(facts.tag_id, 1, big.font))
        page.text(left, rule - 0.9 * MM, facts.tag_id, replace(big, size=size))
        page.paragraph(left, (design.above[0] + 3) * MM, kind, code_left - left, Style(SMALLEST, 8))
    page.line(left, rule, right, rule, 0.8)
    _draw_owner(page, facts.owner, design, (left, right), rule, lines)


def _draw_above(page: Page, facts: IdentityFacts, design: Design, left: float) -> None:
    baseline, size = design.above[0] * MM, design.above[1]
    wide = page.text(left, baseline, say("tag.thermometer", facts.language), Style(size, 9))
    if facts.demo:
        demo = say("tag.demo", facts.language)
        style = Style(SMALLEST, 8, colour=WHITE, bold=True)
        start = left + wide + 1.2 * MM
        length = fonts.width(demo, style.size, style.font)
        page.rect(start, baseline - 6.4, length + 4, 8.2)
        page.text(start + 2, baseline - 0.2, demo, style)


def _draw_owner(page: Page, owner: str, design: Design, edges: tuple[float, float], rule: float, lines: int) -> None:
    """Below the rule in one line, or in smaller ones; what is longer still ends in three dots."""
    left, room = edges[0], edges[1] - edges[0]
    size = design.owner[1]
    large, small = Style(size, size, bold=True), Style(SMALLEST, 7.2, bold=True)
    if fonts.width(owner, size, large.font) <= room:
        middle = (rule + page.height) / 2 + fonts.cap_height(size) / 2
        page.text(left, min(middle, design.owner[0] * MM), owner, large)
        return
    wrapped = ["".join(text for text, _ in line) for line in wrap(plain(owner), room, small)]
    if len(wrapped) > lines:
        last = wrapped[lines - 1]
        while fonts.width(f"{last}…", small.size, small.font) > room:
            last = last[:-1]
        wrapped[lines - 1] = f"{last.rstrip(' ,.;')}…"
    for number, line in enumerate(wrapped[:lines]):
        page.text(left, rule + 6.8 + small.leading * number, line, small)
