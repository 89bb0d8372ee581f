"""The answer band: the thermometer, and for each point the outcome as found and as left, shape and word."""

from dataclasses import dataclass

from registry.documents import signs
from registry.documents.facts import CertificateFacts, Measured, PointResult
from registry.documents.page import GUTTER, LABELS, MM, NOTE, RULE, Grid, Page, Style, wrap
from registry.documents.results import offset_texts
from registry.documents.words import Words

WORD = Style(15, 17, bold=True)
TAG_ID = Style(15, 17, bold=True, figures=True)
HEIGHT = 47.0


@dataclass(frozen=True, slots=True)
class Answer:
    """One cell: its label, the outcome's code (none where nobody measured), its word, the line below."""

    label: str
    code: str
    word: str
    below: str
    reads_high: bool = False


def draw_answer(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    """The band below y between its two lines; returns the lower one."""
    bands = answers(facts, words)
    left, right = grid.left + 48 * MM, grid.right
    page.line(grid.left, y, right, y, 1.2)
    thermometer = facts.thermometer
    page.text(grid.left, y + 13, words.say("certificate.band.thermometer"), LABELS)
    page.text(grid.left, y + 29.5, thermometer.tag_id, TAG_ID, within=46 * MM)
    page.text(grid.left, y + 42, words.say(f"type.{thermometer.type}"), NOTE, within=46 * MM)
    top = y
    for number, cells in enumerate(bands):
        if number:
            page.line(left, top + 1.5, right, top + 1.5, 0.4, RULE)
        wide = (right - left) / len(cells)
        more = max(len(wrap(cell.below, wide - GUTTER, NOTE)) for cell in cells) - 1
        for place, cell in enumerate(cells):
            _draw_cell(page, left + place * wide, top, wide - GUTTER, cell, more)
        top += HEIGHT + more * NOTE.leading
    page.line(grid.left, top + 1.5, right, top + 1.5, 1.2)
    return top + 1.5


def _draw_cell(page: Page, x: float, y: float, room: float, cell: Answer, more: int) -> None:
    """`more`: lines that the line below the word takes beyond one, here or in the next cell."""
    page.line(x - 3.5 * MM, y + 6, x - 3.5 * MM, y + 43 + more * NOTE.leading, 0.5, RULE)
    page.text(x, y + 13, cell.label, LABELS, within=room)
    if cell.code:
        signs.outcome(page, x + 8, y + 24.5, 8, cell.code, cell.reads_high)
    indent = 22 if cell.code else 0
    page.text(x + indent, y + 29.5, cell.word, WORD, within=room - indent)
    page.paragraph(x, y + 42, cell.below, room, NOTE)


def answers(facts: CertificateFacts, words: Words) -> list[list[Answer]]:
    """Cells in bands: side by side where they are two, else one band for each point."""
    cells = [_of_point(result, facts, words) for result in facts.results]
    if len(cells) <= 2 and all(len(each) == 1 for each in cells):
        return [[each[0] for each in cells]]
    return cells


def _of_point(result: PointResult, facts: CertificateFacts, words: Words) -> list[Answer]:
    """One cell where nothing was adjusted because of it, else as found and as left."""
    band, point = "certificate.band", result.point
    alone = len(facts.results) == 1
    if result.unchanged:
        label = words.say(f"{band}.unchanged.{point}")
        return [_measured(label, "plain", result.as_found, facts, words)]
    labels = (f"{band}.as_found", f"{band}.as_left") if alone else (f"{band}.found.{point}", f"{band}.left.{point}")
    where = point if alone else "plain"
    first = _measured(words.say(labels[0]), where, result.as_found, facts, words)
    if result.adjustment is None:
        return [first]
    left = result.adjustment.as_left
    if left is None:
        word, below = words.say(f"{band}.not_measured"), words.say(f"{band}.not_measured_note")
        return [first, Answer(words.say(labels[1]), "", word, below)]
    return [first, _measured(words.say(labels[1]), where, left, facts, words)]


def _measured(label: str, where: str, measured: Measured, facts: CertificateFacts, words: Words) -> Answer:
    """`where` names the point in the line below, or is `plain` where the label has named it."""
    offset, *others = offset_texts(measured, facts, words)
    if measured.bath.point == "comparison":
        where = "comparison"  # only the temperature says where on the scale
    elif others:
        offset = f"{offset} ({', '.join(others)})"
    reference = words.temperature(measured.reference)
    below = words.say(f"certificate.band.offset.{where}", offset=offset, reference=reference)
    word = words.say(f"outcome.{measured.outcome}")
    return Answer(label, measured.outcome, word, below, reads_high=measured.offset.value > 0)
