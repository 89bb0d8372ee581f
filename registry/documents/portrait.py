"""What upright pages that are pinned up have in common: grid, head with page x of y, the words of a demo, end mark."""

from dataclasses import dataclass, replace

from registry.documents import demo
from registry.documents.facts import PageFacts
from registry.documents.page import ACCENT, LABELS, LEFT, MM, NOTE, PAPERS, Page, Style, plain
from registry.documents.words import Words

TITLE = Style(18, 20, bold=True)
OWNER = Style(10, 11.5, bold=True)
END_HIGH = 14.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """The paper and what is written on all its pages. title, when: ready worded; end: the last line of all."""

    page: PageFacts
    title: str
    when: str
    end: str

    @property
    def words(self) -> Words:
        return Words(self.page.language, self.page.region, self.page.zone)

    @property
    def size(self) -> tuple[float, float]:
        width, height = PAPERS[self.page.paper][:2]
        return width * MM, height * MM

    @property
    def left(self) -> float:
        return LEFT * MM

    @property
    def right(self) -> float:
        return self.size[0] - PAPERS[self.page.paper][2] * MM

    @property
    def wide(self) -> float:
        return self.right - self.left

    @property
    def top(self) -> float:
        return PAPERS[self.page.paper][3] * MM

    @property
    def bottom(self) -> float:
        """Where the last line of text may end."""
        return self.size[1] - PAPERS[self.page.paper][4] * MM

    def dry(self) -> Page:
        """To measure only."""
        return Page(*self.size)


def draw_ground(page: Page, sheet: Sheet) -> None:
    """Under the text."""
    if sheet.page.demo:
        demo.draw_under(page, sheet.words)


def draw_strip(page: Page, sheet: Sheet) -> None:
    """Over the text."""
    if sheet.page.demo:
        demo.draw_strip(page, sheet.words)


def draw_head(page: Page, sheet: Sheet, number: int, pages: int) -> float:
    """Whose page, page x of y, what it is and as of when; returns the rule below."""
    words = sheet.words
    baseline = sheet.top + 9
    of = words.say("certificate.page", page=number, pages=pages)
    wide = page.text(sheet.right, baseline, of, replace(LABELS, figures=True), "right")
    named = f"{plain(sheet.page.owner)}, {plain(sheet.page.site)}" if sheet.page.owner else plain(sheet.page.site)
    end = page.paragraph(sheet.left, baseline, named, sheet.wide - wide - 6 * MM, OWNER)
    end = page.paragraph(sheet.left, end + 23, sheet.title, sheet.wide, TITLE)
    if sheet.when:
        end = page.paragraph(sheet.left, end + 14, plain(sheet.when), sheet.wide, OWNER)
    page.line(sheet.left, end + 8, sheet.right, end + 8, 2.4, ACCENT)
    return end + 8


def draw_end(page: Page, sheet: Sheet, y: float) -> float:
    """The end mark below y; returns its baseline."""
    middle, baseline = (sheet.left + sheet.right) / 2, y + END_HIGH
    half = page.text(middle, baseline, sheet.end, replace(NOTE, bold=True), "centre") / 2 + 3 * MM
    for inner, outer in ((middle - half, sheet.left), (middle + half, sheet.right)):
        page.line(inner, baseline - 3, outer, baseline - 3, 0.5)
        page.rect(outer - 9 if outer > middle else outer, baseline - 4.8, 9, 3.6)
    return baseline
