"""What a page of the demo bears: grey outlines below its text, and words that a copier keeps where those fade."""

from registry.documents import fonts
from registry.documents.page import MM, RULE, WHITE, Page, Style
from registry.documents.words import Words

STRIP = Style(9, 11, colour=WHITE, bold=True)


def draw_under(page: Page, words: Words) -> None:
    """Below the text: outlines from corner to corner."""
    page.outlines(words.say("certificate.demo"), 1, RULE)


def draw_strip(page: Page, words: Words, top: float = 4 * MM) -> None:
    """Over the text: a black strip in the top margin, its upper edge at `top`."""
    text = words.say("certificate.demo_strip")
    wide = fonts.width(text, STRIP.size, STRIP.font) + 6 * MM
    page.rect((page.width - wide) / 2, top, wide, 5 * MM)
    page.text(page.width / 2, top + 10, text, STRIP, "centre")
