"""The page that tells by how much a printer misses: held against the labels, read off without a ruler.

On a sheet each label's cut is drawn, and scales of half millimetres lie over the edges of the first and the last label.
The figure under the real edge is the trim. Both labels say the same unless the page was made larger or smaller.
On a roll the scales begin at the label's own edges: figures that are missing on a side tell what is lost there.
"""

from registry.documents import fonts
from registry.documents.designs import Roll, Sheet, stock_named
from registry.documents.facts import CannotPrint
from registry.documents.finish import Drawing
from registry.documents.page import LABEL, MM, NOTE, RULE, WHITE, Page, Style
from registry.documents.tags import BLACK, page_size
from registry.wording import say

REACH = 5  # mm on both sides of an edge, as far as a trim may go
FIGURE = Style(6.5, 7, BLACK, bold=True, figures=True)
RULER = 100  # mm
WIDE = 150 * MM  # of the words


def calibration_page(stock: str, language: str) -> bytes:
    """One page for a sheet's name or a roll's size; it is always drawn without trim."""
    form = stock_named(stock)
    if form is None:
        raise CannotPrint("unknown_stock", stock=stock)
    width, height = (each * MM for each in page_size(form))
    drawing = Drawing(width, height, language, say("tags.calibration", language))
    page = drawing.page()
    if isinstance(form, Roll):
        _draw_roll(page)
    else:
        _draw_sheet(page, form, language)
    return drawing.bytes()


def _draw_sheet(page: Page, form: Sheet, language: str) -> None:
    wide, high = form.width * MM, form.height * MM
    for label in range(form.labels):
        left, top = (each * MM for each in form.place(label))
        corners = [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]
        page.shape(corners, fill=None, weight=0.4, line=RULE)
    # Scales over the outer edges of the first and the last label: there a page made larger or smaller is off the most.
    # Where an outer edge is the paper's own, or near it, over the inner one.
    left, top = (each * MM for each in form.place(0))
    near = REACH * MM
    _edge_across(page, left if left >= near else left + wide, top + high / 2)
    _edge_down(page, left + wide / 2, top if top >= near else top + high)
    left, top = (each * MM for each in form.place(form.labels - 1))
    right, bottom = left + wide, top + high
    _edge_across(page, right if page.width - right >= near else left, top + high / 2)
    _edge_down(page, left + wide / 2, bottom if page.height - bottom >= near else top)
    _explain(page, form, language)


def _edge_across(page: Page, x: float, y: float) -> None:
    """A scale over an upright edge, nought at the edge: odd figures below, even ones above, each a millimetre."""
    page.line(x - REACH * MM, y, x + REACH * MM, y, 0.4, BLACK)
    for half in range(-2 * REACH, 2 * REACH + 1):
        _tick(page, x + half / 2 * MM, y, half, upright=True)
    _sides(page, [(x - (REACH + 1.2) * MM, y), (x + (REACH + 1.2) * MM, y)])


def _edge_down(page: Page, x: float, y: float) -> None:
    """The same over a level edge."""
    page.line(x, y - REACH * MM, x, y + REACH * MM, 0.4, BLACK)
    for half in range(-2 * REACH, 2 * REACH + 1):
        _tick(page, x, y + half / 2 * MM, half, upright=False)
    _sides(page, [(x, y - (REACH + 1.2) * MM), (x, y + (REACH + 1.2) * MM)])


def _tick(page: Page, x: float, y: float, half: int, upright: bool) -> None:
    """Of so many half millimetres from nought, across the scale's line; a figure at the whole ones."""
    long = (1.8 if half == 0 else 1.2 if half % 2 == 0 else 0.6) * MM
    across, down = (0.0, long) if upright else (long, 0.0)
    weight = 1.0 if half == 0 else 0.5
    if not (0 <= x <= page.width and 0 <= y <= page.height):
        return
    page.line(x - across, y - down, x + across, y + down, weight, BLACK)
    if half % 2 == 0:
        side = (1 if half // 2 % 2 else -1) * 2.6 * MM
        at = (x, y + side) if upright else (x + side, y)
        _figure(page, *at, f"{abs(half) // 2}")


def _sides(page: Page, ends: list[tuple[float, float]]) -> None:
    """Minus before the scale, plus behind it, as far as the paper goes."""
    for (x, y), sign in zip(ends, ("\N{MINUS SIGN}", "+"), strict=True):
        _figure(page, x, y, sign)


def _figure(page: Page, x: float, y: float, text: str) -> None:
    """In the middle of that place, where it is on the paper at all."""
    half = fonts.width(text, FIGURE.size, FIGURE.font) / 2
    high = fonts.cap_height(FIGURE.size) / 2
    if half < x < page.width - half and high < y < page.height - high:
        page.text(x, y + high, text, FIGURE, "centre")


def _explain(page: Page, form: Sheet, language: str) -> None:
    """How it is read, and a ruler, on white in the middle of the page."""
    left, edge = (page.width - WIDE) / 2, 6 * MM
    high = _draw_words(Page(page.width, page.height), left, 0.0, form, language) + 2 * edge
    top = (page.height - high) / 2
    page.rect(left - edge, top, WIDE + 2 * edge, high, WHITE)
    right, bottom = left + WIDE + edge, top + high
    page.shape([(left - edge, top), (right, top), (right, bottom), (left - edge, bottom)], fill=None, weight=0.8)
    _draw_words(page, left, top + edge, form, language)


def _draw_words(page: Page, left: float, top: float, form: Sheet, language: str) -> float:
    """Returns how far down they go."""
    title, *lines = (say(f"tags.calibrate_{one}", language) for one in ("title", "hold", "read", "stretched", "ruler"))
    paper = "A4" if form.paper == "a4" else "US Letter"
    size = f"{paper}, {form.columns} × {form.rows}, {form.width:g} × {form.height:g}\N{NO-BREAK SPACE}mm"
    if language == "es":
        size = size.replace(".", ",")
    y = page.paragraph(left, top + 9, f"**{title}** {size}", WIDE, Style(11, 13)) + 16
    for text in lines:
        y = page.paragraph(left, y, text, WIDE, NOTE) + 16
    _draw_ruler(page, left + (WIDE - RULER * MM) / 2, y + 4)
    return y + 4 + 3.4 * MM


def _draw_ruler(page: Page, x: float, y: float) -> None:
    page.line(x, y, x + RULER * MM, y, 0.6)
    for mm in range(RULER + 1):
        long = 3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.3
        page.line(x + mm * MM, y, x + mm * MM, y - long * MM, 0.6 if mm % 10 == 0 else 0.3)
        if mm % 10 == 0:
            page.text(x + mm * MM, y + 3.4 * MM, f"{mm}", Style(7, 8, LABEL, figures=True), "centre")


def _draw_roll(page: Page) -> None:
    """From each edge inwards, by half millimetres, figures at the whole ones; a cross in the middle."""
    middle, half = page.width / 2, page.height / 2
    page.line(middle - 2 * MM, half, middle + 2 * MM, half, 0.5)
    page.line(middle, half - 2 * MM, middle, half + 2 * MM, 0.5)
    most = min(REACH, int(page.width / MM / 5), int(page.height / MM / 5))
    for half_mm in range(1, 2 * most + 1):
        at = half_mm / 2 * MM
        for x in (at, page.width - at):
            _tick(page, x, half, half_mm, upright=True)
        for y in (at, page.height - at):
            _tick(page, middle, y, half_mm, upright=False)
