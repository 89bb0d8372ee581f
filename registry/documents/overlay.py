"""What keeps a page from counting: outlines from corner to corner, and a strip in words that copiers keep.

A page as issued is never drawn again: what was said of it later is laid over its bytes.
"""

from io import BytesIO

import pikepdf

from registry.documents import finish, fonts
from registry.documents.demo import STRIP
from registry.documents.facts import Superseded
from registry.documents.page import INK, MM, Page
from registry.documents.words import Words


def crossed(pdf: bytes, ended: Superseded, language: str, region: str, zone: str, *, demo: bool) -> bytes:
    """The pages of a PDF as they were, with what was said of them later on top of each; same input, same bytes."""
    words = Words(language, region, zone)
    with pikepdf.open(BytesIO(pdf)) as document:
        _, _, width, height = (float(each) for each in document.pages[0].mediabox)
        drawing = finish.Drawing(width, height, language, "")
        draw_over(drawing.page(), words, ended, demo=demo)
        with pikepdf.open(BytesIO(drawing.bytes())) as layer:
            over = document.copy_foreign(layer.pages[0].as_form_xobject())
        for page in document.pages:
            # Not `add_overlay`: it makes up a name at random, and the same copy has to have the same bytes.
            page.add_resource(over, pikepdf.Name.XObject, pikepdf.Name("/Overlay"))
            page.contents_add(b"q\n", prepend=True)
            page.contents_add(b"\nQ\nq /Overlay Do Q\n")
        out = BytesIO()
        document.save(out, deterministic_id=True)
    return out.getvalue()


def draw_over(page: Page, words: Words, ended: Superseded | None, *, demo: bool) -> None:
    """Over the text: what a page that no longer counts is crossed with, and the strip."""
    said = [words.say("certificate.demo_strip")] if demo else []
    if ended is not None:
        if ended.crossed:
            _cross(page, words.say(f"certificate.{ended.kind}"))
        day = words.day(ended.day)
        said.append(words.say(f"certificate.{ended.kind}_strip", number=ended.number, day=day))
    one = ". ".join(said)
    if _wide(one) <= page.width - 20 * MM:
        said = [one] if said else []
    _draw_strip(page, said)


def _draw_strip(page: Page, lines: list[str]) -> None:
    """Within the top margin; of two lines nearer to the edge."""
    top = (4.0 if len(lines) < 2 else 2.5) * MM
    wide = max(map(_wide, lines), default=0.0) + 6 * MM  # all of the widest: one below must not show beside another
    for number, line in enumerate(lines):
        high = (4.2 if len(lines) > 1 else 5) * MM
        y = top + number * 4.2 * MM
        page.rect((page.width - wide) / 2, y, wide, high)
        page.text(page.width / 2, y + high - 4.2, line, STRIP, "centre")


def _wide(text: str) -> float:
    return fonts.width(text, STRIP.size, STRIP.font)


def _cross(page: Page, word: str) -> None:
    page.outlines(word, 1.4, INK)
    for shift in (-0.13 * page.width, 0.13 * page.width):
        page.stroke([(shift, page.height), (page.width + shift, 0)], 1.2)
