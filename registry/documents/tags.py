"""Identity and status tags: on labels of a roll, one a page, and on sheets of labels."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from registry.documents import codes, fonts
from registry.documents.codes import STRIP, Coding
from registry.documents.designs import LOWEST, NARROWEST, Design, Roll, Sheet, Stock, design_for, stock_named
from registry.documents.facts import CannotPrint, IdentityFacts, StatusFacts, TagFacts
from registry.documents.finish import Drawing
from registry.documents.page import LABELS, MM, PAPERS, WHITE, Page, Style, ink, plain, wrap
from registry.documents.status import draw_status
from registry.wording import say

SMALLEST = 6.5
BLACK = "#000000"
USUAL = Coding()


@dataclass(frozen=True, slots=True)
class Printing:
    """How tags are put on their stock. `stock`: a sheet's name or a roll's size.

    `start`: the label that the first sheet begins at, 1 is the first. `trim`: mm to the right and down, by which this
    printer misses. `batch`: names the sheet in its top margin, where that has room.
    """

    stock: str
    coding: Coding = USUAL
    start: int = 1
    trim: tuple[float, float] = (0.0, 0.0)
    batch: str = ""

    @property
    def form(self) -> Stock:
        found = stock_named(self.stock)
        if found is None:
            raise CannotPrint("unknown_stock", stock=self.stock)
        return found


def identity_tag(facts: IdentityFacts, size: str = "50x25", dpi: int = 300) -> bytes:
    """One permanent label. `size`: width x height in mm; `dpi`: the printer's 203, 300 or 600."""
    return print_tags([facts], Printing(size, Coding(dpi=dpi)))


def status_tag(facts: StatusFacts, size: str = "50x25", dpi: int = 300) -> bytes:
    """One label of service status; CannotPrint where the status gets no tag."""
    return print_tags([facts], Printing(size, Coding(dpi=dpi)))


def tag_sheet(tags: Sequence[TagFacts], sheet: str, start: int = 1, dpi: int = 600, batch: str = "") -> bytes:
    """Tags on sheets, row by row in the order given."""
    return print_tags(tags, Printing(sheet, Coding(dpi=dpi), start, batch=batch))


def print_tags(tags: Sequence[TagFacts], how: Printing) -> bytes:
    """All of them in one document, in the order given; its pages are whole dots of the printer."""
    form, coding = how.form, how.coding
    if not tags:
        raise ValueError("there is no tag to print")
    width, height = (coding.whole(each * MM) for each in page_size(form))
    drawing = Drawing(width, height, tags[0].language, how.batch or _title(tags[0]))
    if isinstance(form, Roll):
        for tag in tags:
            page = drawing.page()
            _put(page, tag, (form.width, form.height), (0.0, 0.0), how)
        return drawing.bytes()
    if not 1 <= how.start <= form.labels:
        raise ValueError(f"a sheet starts at a label from 1 to {form.labels}")
    sheets = -(-(len(tags) + how.start - 1) // form.labels)
    for place, tag in enumerate(tags, how.start - 1):
        if place % form.labels == 0 or place == how.start - 1:
            page = drawing.page()
            _name_sheet(page, form, how, place // form.labels + 1, sheets, tag.language)
        _put(page, tag, (form.width, form.height), form.place(place), how)
    return drawing.bytes()


def page_size(form: Stock) -> tuple[float, float]:
    """Of one page, mm."""
    if isinstance(form, Roll):
        return form.width, form.height
    width, height = PAPERS[form.paper][:2]
    return width, height


def fits(tag: TagFacts, how: Printing) -> None:
    """CannotPrint where this tag cannot stand on a label of this stock."""
    _draw_label(Label(how.form.width * MM, how.form.height * MM), tag, how.coding)


def _name_sheet(page: Page, form: Sheet, how: Printing, number: int, of: int, language: str) -> None:
    if how.batch and form.top >= 10:
        y, edge = (form.top - 4) * MM, form.left * MM + 3 * MM
        counted = say("tag.sheet_of", language, number=number, of=of)
        right = page.text(page.width - edge, y, counted, LABELS, "right")
        page.text(edge, y, _cut(how.batch, page.width - 2 * edge - right - 3 * MM, LABELS), LABELS)


def _put(page: Page, tag: TagFacts, size: tuple[float, float], place: tuple[float, float], how: Printing) -> None:
    """A tag on its label, whose corner is moved by the trim and to the nearest dots."""
    whole = how.coding.whole
    left, top = (whole((at + by) * MM) for at, by in zip(place, how.trim, strict=True))
    width, height = (each * MM for each in size)
    page.canvas.saveState()
    page.canvas.translate(left, page.height - top - height)
    # The label's foot need not lie on the printer's grid: its page is measured from above.
    _draw_label(Label(width, height, Black(page.canvas)), tag, how.coding)
    page.canvas.restoreState()


def _draw_label(label: Page, tag: TagFacts, coding: Coding) -> None:
    """The design that its size holds, in the middle; above a strip for bars where the code is one of bars."""
    width, height = round(label.width / MM, 3), round(label.height / MM, 3)
    room = height - STRIP if coding.kind == "code128" else height
    design = design_for(width, room)
    if design is None:
        if isinstance(tag, StatusFacts):
            raise CannotPrint("status_needs_more", width=f"{width:g}", height=f"{height:g}")
        if width < NARROWEST or room < LOWEST:
            raise CannotPrint("label_too_small", width=f"{width:g}", height=f"{height:g}")
        wide, high = width, room
    else:
        wide, high = design.width, design.height
    inner = Label(wide * MM, high * MM, label.canvas)
    if label.canvas is not None:
        label.canvas.saveState()
        left = coding.whole((width - wide) / 2 * MM)
        top = coding.whole((room - high) / 2 * MM)
        label.canvas.translate(left, label.height - top - high * MM)
    if isinstance(tag, StatusFacts):
        assert design is not None
        draw_status(inner, tag, design, coding)
    elif design is None:
        _draw_narrow(inner, tag, coding)
    else:
        _draw_identity(inner, tag, design, coding)
    if label.canvas is not None:
        label.canvas.restoreState()
    if coding.kind == "code128":
        codes.draw_bars(label, tag.number if isinstance(tag, StatusFacts) else tag.tag_id, coding)


class Black:
    """A canvas on which all ink is black: a label printer has no greys, and would print dark ones in specks."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas

    def __getattr__(self, name: str) -> Any:
        return getattr(self._canvas, name)

    def setFillColor(self, colour: tuple[float, ...]) -> None:
        self._canvas.setFillColor(colour if colour == ink(WHITE) else ink(BLACK))

    def setStrokeColor(self, colour: tuple[float, ...]) -> None:
        self._canvas.setStrokeColor(colour if colour == ink(WHITE) else ink(BLACK))


class Label(Page):
    """A page of black and white alone."""

    def _draw(self, x: float, y: float, text: str, style: Style) -> None:
        super()._draw(x, y, text, style if style.colour == WHITE else replace(style, colour=BLACK))


def _title(facts: TagFacts) -> str:
    return f"{say('tag.thermometer', facts.language)} {facts.tag_id}"


# The identity tag


def _draw_identity(page: Page, facts: IdentityFacts, design: Design, coding: Coding) -> None:
    code_left = codes.draw_tag_code(page, facts.tag_id, coding, wide=design.wide_code)
    left, right = (design.margin + 0.5) * MM, page.width - (design.margin + 0.5) * MM
    code_left = min(code_left, right)
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


def _draw_narrow(page: Page, facts: IdentityFacts, coding: Coding) -> None:
    """A label lower than any design: the id, beside it the code, below it type and owner as far as there is room."""
    code_left = codes.draw_tag_code(page, facts.tag_id, coding, wide=False, middle=True)
    left = 1.5 * MM
    right = min(code_left - 0.6 * MM, page.width - left)
    capitals = min(5.2, 4.0 + max(0.0, page.height / MM - 12.0))
    tallest = capitals * MM / fonts.cap_height(1)
    size = min(tallest, (right - left) / fonts.width(facts.tag_id, 1, fonts.font_name(True, True)) * 0.995)
    if size < SMALLEST:
        raise CannotPrint("too_wide", text=facts.tag_id)
    below = [(say(f"type.{facts.type}", facts.language), False), (facts.owner, True)]
    room = page.height - 2.2 * MM - fonts.cap_height(size)
    lines = below[-max(1, min(2, int(room // 8.0))) :]
    used = fonts.cap_height(size) + 8.0 * len(lines)
    y = (page.height - used) / 2 + fonts.cap_height(size)
    page.text(left, y, facts.tag_id, Style(size, size, bold=True, figures=True))
    for number, (text, bold) in enumerate(lines):
        y += 8.0
        style = Style(SMALLEST, 8.0, bold=bold)
        start = left + (_draw_demo(page, left, y, facts.language) if facts.demo and not number else 0.0)
        page.text(start, y, _cut(text, right - start, style), style)


def _draw_demo(page: Page, left: float, baseline: float, language: str) -> float:
    """DEMO in a black strip; returns what it takes."""
    demo, style = say("tag.demo", language), Style(SMALLEST, 8, colour=WHITE, bold=True)
    length = fonts.width(demo, style.size, style.font)
    page.rect(left, baseline - 6.4, length + 4, 8.2)
    page.text(left + 2, baseline - 0.2, demo, style)
    return length + 4 + 1.2 * MM


def _draw_above(page: Page, facts: IdentityFacts, design: Design, left: float) -> None:
    baseline, size = design.above[0] * MM, design.above[1]
    wide = page.text(left, baseline, say("tag.thermometer", facts.language), Style(size, 9))
    if facts.demo:
        _draw_demo(page, left + wide + 1.2 * MM, baseline, facts.language)


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
        wrapped[lines - 1] = _cut(f"{wrapped[lines - 1]} {wrapped[lines]}", room, small)
    for number, line in enumerate(wrapped[:lines]):
        page.text(left, rule + 6.8 + small.leading * number, line, small)


def _cut(text: str, room: float, style: Style) -> str:
    """What fits of a line; a longer one ends in three dots."""
    if fonts.width(text, style.size, style.font) <= room:
        return text
    while text and fonts.width(f"{text}…", style.size, style.font) > room:
        text = text[:-1]
    return f"{text.rstrip(' ,.;')}…"
