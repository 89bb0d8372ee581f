"""What stands where in a chart, and how it is placed in a unit square: x to the right, y downwards."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from registry.quantity import Unit

AS_LEFT = "as_left"  # the mark of an as-left ring; every other mark is an outcome or `waits`

Spot = tuple[float, float]
TimeLabel = Callable[[str, datetime, bool], str]


@dataclass(frozen=True, slots=True)
class Words:
    """The texts of a chart.

    number: a figure on the value axis, to be written with its sign. time: see `time_ticks`. say: a code with its
    values: offset_axis and moved_axis (unit), today, limit, as_found and as_left (value, a difference), incident
    (what, its code), check_before, check_after and moment (at), and the lanes checks, incidents, papers_moves; of a
    pile moved_axis (unit), dot (key, value) and pile (count, and least and most, differences).
    """

    number: Callable[[Decimal, Unit], str]
    time: TimeLabel
    say: Callable[..., str]


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis; one without a label is a small one. strong: a limit, or the day that is asked about."""

    at: float
    label: str = ""
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """From low to high; a time axis counts microseconds UTC."""

    low: float
    high: float
    ticks: tuple[Tick, ...] = ()
    title: str = ""

    def place(self, value: float) -> float:
        """Where a value lies, 0 at the low end and 1 at the high one; what is beyond an end lies on it."""
        return min(max((value - self.low) / (self.high - self.low), 0.0), 1.0)

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Line:
    """role: limit, nought, tracked or forecast."""

    role: str
    at: tuple[int, ...]
    value: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """An area between two lines. role: tolerance, tracked, forecast, or between (the time between two checks)."""

    role: str
    at: tuple[int, ...]
    upper: tuple[float, ...]
    lower: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Points:
    """Marks, in columns. mark: an outcome, `waits` or AS_LEFT; bar: U, None without one; strong: drawn larger."""

    at: tuple[int, ...] = ()
    value: tuple[float, ...] = ()
    mark: tuple[str, ...] = ()
    bar: tuple[float | None, ...] = ()
    strong: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True)
class Arrow:
    """An adjustment: from as found to as left."""

    at: int
    as_found: float
    as_left: float


@dataclass(frozen=True, slots=True)
class VLine:
    """role: incident (dotted, ends in its lane), today, moment, or check (before and after a moment)."""

    role: str
    at: int
    text: str = ""


@dataclass(frozen=True, slots=True)
class LaneMark:
    """mark: check, as_left, incident, paper or move."""

    at: int
    mark: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Lane:
    """One kind of event on the time axis. code: checks, incidents or papers_moves."""

    code: str
    text: str
    marks: tuple[LaneMark, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """Words beside what they name. anchor: which side of the place they stand on: right, left, above, below."""

    text: str
    at: int
    value: float
    anchor: str = "right"
    role: str = ""


@dataclass(frozen=True, slots=True)
class Chart:
    """unit: of all values. Drawn in this order: bands, lines, vlines, arrows, points, labels; lanes below."""

    time: Axis
    value: Axis
    unit: Unit
    bands: tuple[Band, ...] = ()
    lines: tuple[Line, ...] = ()
    vlines: tuple[VLine, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    points: Points = Points()
    labels: tuple[Label, ...] = ()
    lanes: tuple[Lane, ...] = ()


# --- places in a unit square ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Placed:
    """One mark in a unit square. high: it reads high. beyond: it lies off the scale, drawn at its end."""

    x: float
    y: float
    mark: str
    high: bool
    beyond: bool
    bar: tuple[float, float] | None = None  # y of its upper and lower end
    strong: bool = False


def spot(chart: Chart, at: float, value: float) -> Spot:
    """Where an instant and a value meet."""
    return chart.time.place(at), 1.0 - chart.value.place(value)


def spots(chart: Chart) -> list[Placed]:
    """Every mark of a chart that lies in its time, in order."""
    y = chart.value
    points = chart.points
    columns = zip(points.at, points.value, points.mark, points.bar, points.strong, strict=True)
    return [
        Placed(
            chart.time.place(at),
            1.0 - y.place(value),
            mark,
            value > 0,
            not y.holds(value),
            None if bar is None else (1.0 - y.place(value + bar), 1.0 - y.place(value - bar)),
            strong,
        )
        for at, value, mark, bar, strong in columns
        if chart.time.holds(at)
    ]


def trail(chart: Chart, line: Line) -> list[Spot]:
    return [spot(chart, at, value) for at, value in zip(line.at, line.value, strict=True)]


def outline(chart: Chart, band: Band) -> list[Spot]:
    """A band as one polygon: along its upper edge and back along its lower one (translucent fills must not overlap)."""
    there = [spot(chart, at, value) for at, value in zip(band.at, band.upper, strict=True)]
    back = [spot(chart, at, value) for at, value in zip(band.at, band.lower, strict=True)]
    return there + back[::-1]
