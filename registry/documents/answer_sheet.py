"""The answer to "was it right then?" on paper: the answer, then for each point the checks that it rests on."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from registry.documents import demo, finish
from registry.documents.facts import CannotPrint, PageFacts
from registry.documents.page import ACCENT, HEADING, LABELS, MM, NOTE, RULE, TEXT, Page, Style, plain
from registry.documents.words import Words

__all__ = ["AnswerFacts", "CannotPrint", "PointFacts", "SideFacts", "answer_sheet"]

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm
LEFT, RIGHT, TOP, BOTTOM = 20.0, 15.0, 12.0, 11.0
TITLE = Style(18, 21, bold=True)
ANSWER = Style(15, 18, bold=True)
OWNER = Style(10, 11.5, bold=True)
VALUE = Style(9.5, 11.5, figures=True)
POINT = Style(12, 14, bold=True)
LABEL_WIDE = 30 * MM


@dataclass(frozen=True, slots=True)
class SideFacts:
    """The check before or after: texts by head code; none where there is no check, then `absent` says so."""

    values: dict[str, str]
    absent: str = ""


@dataclass(frozen=True, slots=True)
class PointFacts:
    said: str
    between: str
    before: SideFacts
    after: SideFacts


@dataclass(frozen=True, slots=True)
class AnswerFacts:
    """Everything the page says, ready worded; `heads`: codes of the rows in their order."""

    page: PageFacts
    title: str
    thermometer: str
    answer: str
    scope: str
    points: tuple[PointFacts, ...]
    no_points: str
    heads: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Layout:
    facts: AnswerFacts
    words: Words
    width: float
    height: float

    @property
    def left(self) -> float:
        return LEFT * MM

    @property
    def right(self) -> float:
        return self.width - RIGHT * MM

    @property
    def end(self) -> float:
        return self.height - BOTTOM * MM


Block = Callable[[Page, float], float]


def answer_sheet(facts: AnswerFacts) -> bytes:
    """The finished PDF: the same facts give the same bytes. CannotPrint where a character or a word has no room."""
    width, height = (each * MM for each in PAPERS[facts.page.paper])
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    layout = _Layout(facts, words, width, height)
    pages = _pages(layout)
    drawing = finish.Drawing(width, height, facts.page.language, facts.title)
    for number, blocks in enumerate(pages, 1):
        page = drawing.page()
        if facts.page.demo:
            demo.draw_under(page, words)
        y = _draw_head(page, layout, number, len(pages))
        for block in blocks:
            y = block(page, y)
        if facts.page.demo:
            demo.draw_strip(page, words)
    return drawing.bytes()


def _pages(layout: _Layout) -> list[list[Block]]:
    """Broken between points only."""
    dry = Page(layout.width, layout.height)
    pages: list[list[Block]] = [[]]
    y = _draw_head(dry, layout, 1, 9)
    for block in _blocks(layout):
        below = block(dry, y)
        if below > layout.end and pages[-1]:
            pages.append([])
            y = _draw_head(dry, layout, len(pages), 9)
            below = block(dry, y)
        pages[-1].append(block)
        y = below
    return pages


def _blocks(layout: _Layout) -> Iterator[Block]:
    yield lambda page, y: _draw_opening(page, y, layout)
    for point in layout.facts.points:
        yield _bound(layout, point)
    yield lambda page, y: _draw_sources(page, y, layout)


def _bound(layout: _Layout, point: PointFacts) -> Block:
    return lambda page, y: _draw_point(page, y, layout, point)


def _draw_head(page: Page, layout: _Layout, number: int, pages: int) -> float:
    """Whose page, page x of y, and on later pages what it answers; returns the rule below."""
    facts = layout.facts
    baseline = TOP * MM + 9
    of = layout.words.say("certificate.page", page=number, pages=pages)
    wide = page.text(layout.right, baseline, of, replace(LABELS, figures=True), "right")
    room = layout.right - layout.left - wide - 6 * MM
    end = page.paragraph(layout.left, baseline, plain(f"{facts.page.owner}, {facts.page.site}"), room, OWNER)
    if number > 1:
        end = page.paragraph(layout.left, end + 12, plain(facts.title), room, LABELS)
    page.line(layout.left, end + 7, layout.right, end + 7, 2.4, ACCENT)
    return end + 7


def _draw_opening(page: Page, y: float, layout: _Layout) -> float:
    facts, wide = layout.facts, layout.right - layout.left
    y = page.paragraph(layout.left, y + 24, plain(facts.title), wide, TITLE)
    y = page.paragraph(layout.left, y + 14, plain(facts.thermometer), wide, LABELS)
    page.line(layout.left, y + 8, layout.right, y + 8, 1.2)
    y = page.paragraph(layout.left, y + 28, plain(facts.answer), wide, ANSWER)
    page.line(layout.left, y + 9, layout.right, y + 9, 1.2)
    said = f"{facts.scope} **{layout.words.say('caution.local_codes_first')}**"
    y = page.paragraph(layout.left, y + 23, said, wide, TEXT)
    return y if facts.points else page.paragraph(layout.left, y + 18, plain(facts.no_points), wide, TEXT)


def _draw_point(page: Page, y: float, layout: _Layout, point: PointFacts) -> float:
    """The answer at one point, what happened in between, then both checks side by side."""
    wide = layout.right - layout.left
    y = page.paragraph(layout.left, y + 26, plain(point.said), wide, POINT)
    if point.between:
        y = page.paragraph(layout.left, y + 13, plain(point.between), wide, TEXT)
    column = (wide - LABEL_WIDE) / 2
    at = [layout.left + LABEL_WIDE + n * column for n in range(2)]
    for code, left in zip(("answer.before", "answer.after"), at, strict=True):
        page.text(left, y + 16, layout.words.say(code), HEADING)
    y += 20
    sides = (point.before, point.after)
    if all(side.absent for side in sides):
        return _draw_row(page, y, layout, "", [side.absent for side in sides], at)
    for number, code in enumerate(layout.facts.heads):
        texts = [side.values.get(code, "") if not side.absent else side.absent * (not number) for side in sides]
        if any(texts):
            y = _draw_row(page, y, layout, layout.words.say(f"answer.head.{code}"), texts, at)
    return y


def _draw_row(page: Page, y: float, layout: _Layout, label: str, texts: list[str], at: list[float]) -> float:
    page.line(layout.left, y, layout.right, y, 0.4, RULE)
    end = page.paragraph(layout.left, y + 10.5, label, LABEL_WIDE - 2 * MM, LABELS) if label else y + 10.5
    room = (layout.right - layout.left - LABEL_WIDE) / 2 - 4 * MM
    for left, text in zip(at, texts, strict=True):
        if text:
            end = max(end, page.paragraph(left, y + 10.5, plain(text), room, VALUE))
    return end + 4


def _draw_sources(page: Page, y: float, layout: _Layout) -> float:
    page.line(layout.left, y + 8, layout.right, y + 8, 0.5, RULE)
    y += 8
    for text in layout.facts.sources:
        y = page.paragraph(layout.left, y + 12, plain(text), layout.right - layout.left, replace(NOTE, figures=True))
    middle = (layout.left + layout.right) / 2
    page.text(middle, y + 16, layout.words.say("answer.end"), replace(NOTE, bold=True), "centre")
    return y + 18
