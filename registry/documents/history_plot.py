"""Offsets of the checks before and of this one: along the scale and over time, side by side on one y axis."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from math import ceil, floor, log10

from registry.documents import fonts, signs
from registry.documents.facts import CertificateFacts, HistoryFacts, Measured
from registry.documents.page import INK, INSIDE, LABELS, NOTE, RULE, Grid, Page
from registry.documents.scale_plot import tick_step
from registry.documents.words import Words
from registry.quantity import Reading, TemperatureDifference, Unit

AXIS = replace(LABELS, figures=True)
TITLE = replace(NOTE, bold=True)
GAP = 20.0  # between the two plots
TO_NAMES = 6.0  # from the right one to the points' names
SMALL, LARGE = 2.2, 3.2  # marks of earlier checks, of this page's
MOST_WORDS = 3  # of what happened


@dataclass(frozen=True, slots=True)
class Spot:
    """One offset with its U, in the unit of the limit. own: measured for this page; found: as found."""

    at: int
    point: str
    where: float
    offset: float
    expanded: float
    own: bool = False
    found: bool = True


@dataclass(frozen=True, slots=True)
class Box:
    """A plot's field on the page, and what of numbers lies at its edges."""

    left: float
    right: float
    top: float
    bottom: float
    low: float
    high: float
    from_: float
    to: float

    def x(self, value: float) -> float:
        return self.left + (value - self.from_) / (self.to - self.from_) * (self.right - self.left)

    def y(self, offset: float) -> float:
        return self.bottom - (offset - self.low) / (self.high - self.low) * (self.bottom - self.top)


def draw(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid, height: float) -> float:
    """Both plots below y, their fields so high; returns the last baseline."""
    history = facts.history
    assert history is not None
    limit = facts.results[0].as_found.limits.tolerance
    unit = limit.unit
    spots = _spots(facts, history, unit)
    edge = float(limit.value)
    low = min(-1.3 * edge, *(one.offset - one.expanded for one in spots))
    high = max(1.3 * edge, *(one.offset + one.expanded for one in spots))
    room = 0.06 * (high - low)
    low, high = low - room, high + room
    ticks = _offset_ticks(limit, low, high)
    figures = [words.signed(one, _places(limit)) for one in ticks]
    start = grid.main + fonts.widest(figures, AXIS.size, AXIS.font) + 5
    points = [words.say(f"certificate.history.{one}") for one in dict.fromkeys(spot.point for spot in spots)]
    right = grid.right - fonts.widest(points, LABELS.size, LABELS.font) - TO_NAMES
    middle = start + 0.4 * (right - start)
    top = y + (26 if history.happened else 17)
    bottom = top + height
    wheres = [one.where for one in spots] + _limits_of(facts, unit)
    first, last = min(wheres), max(wheres)
    spread = max(0.08 * (last - first), 5.0)
    along = Box(start, middle - GAP, top, bottom, low, high, first - spread, last + spread)
    began, ended = min(one.at for one in spots), max(one.at for one in spots)
    margin = max(0.04 * (ended - began), 1.0)
    over = Box(middle, right, top, bottom, low, high, began - margin, ended + margin)
    for box in (along, over):
        _draw_field(page, box, edge)
    for text, tick in zip(figures, ticks, strict=True):
        at = along.y(float(tick.value))
        page.line(along.left - 2.5, at, along.left, at, 0.5)
        page.text(along.left - 4, at + 3, text, AXIS, "right")
    page.text(along.left, y + 11.5, words.say("certificate.history.along"), TITLE, within=along.right - along.left)
    page.text(over.left, y + 11.5, words.say("certificate.history.over"), TITLE, within=grid.right - over.left)
    _draw_along(page, along, spots)
    _draw_over(page, over, spots, history, words)
    _draw_scale(page, along, words)
    _draw_days(page, over, began, ended, words)
    caption = words.say("certificate.history.caption", unit=f"°{unit}")
    return page.paragraph(grid.main, bottom + 24, caption, grid.width, NOTE)


def _spots(facts: CertificateFacts, history: HistoryFacts, unit: Unit) -> list[Spot]:
    """Earlier ones, then this page's, as found and as left."""
    spots = [
        Spot(
            one.at,
            one.point,
            float(one.reference.value),
            float(one.offset.value),
            float(one.expanded.value) if one.expanded else 0.0,
        )
        for one in history.past
    ]
    for result in facts.results:
        spots.append(_own(result.as_found, unit, found=True))
        if result.adjustment and result.adjustment.as_left:
            spots.append(_own(result.adjustment.as_left, unit, found=False))
    return spots


def _own(measured: Measured, unit: Unit, *, found: bool) -> Spot:
    expanded = measured.expanded.to(unit) if measured.expanded else None
    return Spot(
        measured.at,
        measured.bath.point,
        float(Reading.from_celsius(measured.reference.celsius(), unit).value),
        float(measured.offset.to(unit).value),
        float(expanded.value) if expanded else 0.0,
        own=True,
        found=found,
    )


def _limits_of(facts: CertificateFacts, unit: Unit) -> list[float]:
    """Limits of food that the page gives readings for: the part of the scale that it is used on."""
    rows = facts.reach.rows if facts.reach else ()
    return [float(Reading.from_celsius(one.limit.celsius(), unit).value) for one in rows]


def _places(limit: TemperatureDifference) -> int:
    return max(0, -int(Decimal(limit.text().split()[0]).as_tuple().exponent))


def _offset_ticks(limit: TemperatureDifference, low: float, high: float) -> list[TemperatureDifference]:
    """Nought and multiples of the limit, of round steps where the scale is wide; at most about seven."""
    step = tick_step(Decimal(limit.text().split()[0]), (high - low) / 7)
    first, last = ceil(low / float(step)), floor(high / float(step))
    return [TemperatureDifference(step * number, limit.unit) for number in range(first, last + 1)]


def _draw_field(page: Page, box: Box, edge: float) -> None:
    page.rect(box.left, box.y(edge), box.right - box.left, box.y(-edge) - box.y(edge), INSIDE)
    page.line(box.left, box.y(0), box.right, box.y(0), 0.4, RULE)
    # Closer together than both lines are thick they stay one, as wide as can be seen.
    edges = (-edge, edge) if box.y(-edge) - box.y(edge) >= 2 else (0.0,)
    for at in edges:
        page.line(box.left, box.y(at), box.right, box.y(at), 0.9 if len(edges) == 2 else 2)
    page.line(box.left, box.bottom, box.right, box.bottom, 0.5)
    page.line(box.left, box.top, box.left, box.bottom, 0.5)


def _draw_spot(page: Page, x: float, box: Box, spot: Spot) -> None:
    if spot.expanded:
        page.line(x, box.y(spot.offset - spot.expanded), x, box.y(spot.offset + spot.expanded), 0.6)
    signs.plot_mark(page, x, box.y(spot.offset), spot.point, filled=spot.found, radius=LARGE if spot.own else SMALL)


def _draw_along(page: Page, box: Box, spots: Sequence[Spot]) -> None:
    """All of them; a line joins what this page says of two points, as they were left."""
    left = {spot.point: spot for spot in spots if spot.own}
    ends = sorted(left.values(), key=lambda one: one.where)
    for one, other in pairwise(ends):
        page.line(box.x(one.where), box.y(one.offset), box.x(other.where), box.y(other.offset), 0.8)
    for spot in spots:
        _draw_spot(page, box.x(spot.where), box, spot)


def _draw_over(page: Page, box: Box, spots: Sequence[Spot], history: HistoryFacts, words: Words) -> None:
    """As found, with a dotted line and a word where something happened between."""
    free, named = page.width, 0
    for at, code in reversed(history.happened):
        x = box.x(at)
        if not box.left <= x <= box.right:
            continue
        _dotted(page, x, box.top, box.bottom)
        said = words.name_of("certificate.history.adjusted" if code == "adjusted" else f"incident.{code}")
        wide = fonts.width(said, LABELS.size, LABELS.font)
        start = min(max(x - wide / 2, box.left), box.right - wide)
        if named < MOST_WORDS and start + wide < free - 4:
            page.text(start, box.top - 4, said, LABELS)
            free, named = start, named + 1
    found = [spot for spot in spots if spot.found]
    for spot in found:
        _draw_spot(page, box.x(spot.at), box, spot)
    _name_points(page, box, found, words)


def _dotted(page: Page, x: float, top: float, bottom: float) -> None:
    y = top
    while y < bottom:
        page.line(x, y, x, min(y + 1.5, bottom), 0.7)
        y += 3.5


def _name_points(page: Page, box: Box, found: Sequence[Spot], words: Words) -> None:
    """Each point's name beside its last mark, one below the other where they would meet."""
    last = {spot.point: box.y(spot.offset) + 3 for spot in found}
    below = -1e9
    for point, y in sorted(last.items(), key=lambda one: one[1]):
        below = max(y, below + 10)
        page.text(box.right + TO_NAMES, below, words.say(f"certificate.history.{point}"), LABELS)


def _draw_scale(page: Page, box: Box, words: Words) -> None:
    """Round temperatures below the left plot."""
    span = box.to - box.from_
    tenth = 10.0 ** floor(log10(span / 3))
    step = next(tenth * one for one in (1, 2, 5, 10) if span / (tenth * one) <= 4)
    for number in range(ceil(box.from_ / step), floor(box.to / step) + 1):
        text = words.number(Decimal(round(number * step)))
        x = box.x(number * step)
        half = fonts.width(text, AXIS.size, AXIS.font) / 2
        page.line(x, box.bottom, x, box.bottom + 2.5, 0.5, INK)
        if box.left - 4 <= x - half and x + half <= box.right + 4:
            page.text(x, box.bottom + 12, text, AXIS, "centre")


def _draw_days(page: Page, box: Box, began: int, ended: int, words: Words) -> None:
    """The first day and the last below the right plot."""
    for at, align in ((began, "left"), (ended, "right")):
        page.line(box.x(at), box.bottom, box.x(at), box.bottom + 2.5, 0.5, INK)
        edge = box.left if align == "left" else box.right
        page.text(edge, box.bottom + 12, words.short_day(words.local(at).date()), AXIS, align)
