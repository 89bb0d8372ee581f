"""The small plot beside the table of results: each offset with its U against its limits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil, floor, log10
from typing import cast

from registry.documents import fonts, signs
from registry.documents.facts import Measured
from registry.documents.page import INSIDE, LABELS, RULE, Page
from registry.documents.words import Words
from registry.quantity import TemperatureDifference

AXIS = replace(LABELS, figures=True)


@dataclass(frozen=True, slots=True)
class Mark:
    """What stands on one row of the table; nothing where nobody measured."""

    measured: Measured | None
    point: str
    as_found: bool
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Scale:
    """From offsets, in the unit of the limit, to points across the page."""

    left: float
    right: float
    low: float
    high: float

    def at(self, offset: float) -> float:
        return self.left + (offset - self.low) / (self.high - self.low) * (self.right - self.left)


def draw(page: Page, marks: Sequence[Mark], words: Words, left: float, right: float, head: float) -> float:
    """The plot, its caption with the baseline at `head`; returns the last baseline."""
    measured = [mark.measured for mark in marks if mark.measured]
    limit = measured[0].limits.tolerance
    caption = "plot" if any(each.expanded for each in measured) else "plot_without_u"
    said = words.say(f"certificate.results.{caption}", limit=words.limit(limit))
    page.text(right, head, said, LABELS, "right")
    scale = scale_for(measured, left, right)
    for mark in marks:
        _draw_limits(page, mark, scale)
    foot = marks[-1].bottom
    page.line(scale.at(0), marks[0].top, scale.at(0), foot, 0.4, RULE)
    page.line(left, foot, right, foot, 0.5)
    for mark in marks:
        _draw_mark(page, mark, scale)
    return _draw_ticks(page, limit, scale, foot, words)


def scale_for(measured: Sequence[Measured], left: float, right: float) -> Scale:
    """Room for the limits and for every offset with its U."""
    limit = max(float(each.limits.tolerance.value) for each in measured)
    ends = [float(each.offset.value) + sign * _expanded(each) for each in measured for sign in (-1, 1)]
    low, high = min(*ends, -1.3 * limit), max(*ends, 1.3 * limit)
    room = (high - low) * 0.06
    return Scale(left, right, low - room, high + room)


def _expanded(measured: Measured) -> float:
    return float(measured.expanded.value) if measured.expanded else 0.0


def _draw_limits(page: Page, mark: Mark, scale: Scale) -> None:
    if mark.measured is None:
        return
    limit = float(mark.measured.limits.tolerance.value)
    low, high = scale.at(-limit), scale.at(limit)
    page.rect(low, mark.top, high - low, mark.bottom - mark.top + 0.2, INSIDE)  # no seam
    # Closer together than both lines are thick they stay one, as wide as can be seen.
    edges = (low, high) if high - low >= 2 else ((low + high) / 2,)
    for edge in edges:
        page.line(edge, mark.top, edge, mark.bottom, 0.9 if len(edges) == 2 else 2)


def _draw_mark(page: Page, mark: Mark, scale: Scale) -> None:
    if mark.measured is None:
        return
    y, offset, expanded = mark.top + 9, float(mark.measured.offset.value), _expanded(mark.measured)
    if expanded:
        low, high = scale.at(offset - expanded), scale.at(offset + expanded)
        page.line(low, y, high, y, 1)
        for end in (low, high):
            page.line(end, y - 2.5, end, y + 2.5, 1)
    signs.plot_mark(page, scale.at(offset), y, mark.point, filled=mark.as_found)


def _draw_ticks(page: Page, limit: TemperatureDifference, scale: Scale, y: float, words: Words) -> float:
    """Nought and multiples of the limit, as far apart as their figures need; of round steps where that is wide."""
    one = Decimal(limit.text().split()[0])
    places = max(0, -cast(int, one.as_tuple().exponent))
    farthest = TemperatureDifference(-one * ceil(max(-scale.low, scale.high) / float(one)), limit.unit)
    wide = fonts.width(words.signed(farthest, places), AXIS.size, AXIS.font)
    step = tick_step(one, (wide + 3) / (scale.at(1) - scale.at(0)))
    free = scale.left - wide  # nought first: the others keep clear of it
    numbers = range(ceil(scale.low / float(step)), int(scale.high / float(step)) + 1)
    for number in numbers:
        value = TemperatureDifference(step * number, limit.unit)
        x = scale.at(float(value.value))
        text = words.signed(value, places)
        half = fonts.width(text, AXIS.size, AXIS.font) / 2
        if number and not scale.left + wide / 2 <= x <= scale.right - wide / 2 + 1:
            continue
        if x - half < free:
            continue
        page.line(x, y, x, y + 2.5, 0.5)
        page.text(x, y + 12, text, AXIS, "centre")
        free = x + half + 1
    return y + 12


def tick_step(limit: Decimal, least: float) -> Decimal:
    """Between ticks: the limit or twice it, else 5, 10, 20 or 50 times a power of ten; no closer than `least`."""
    if least <= 2 * float(limit):
        return limit * max(1, ceil(least / float(limit)))
    power = Decimal(1).scaleb(floor(log10(least)))
    return next(power * n for n in (1, 2, 5, 10) if float(power * n) >= least)
