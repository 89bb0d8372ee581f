"""Where offsets lie, by group: the middle half of them as a line, the median as a point, how many, how many outside."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from registry.charts import value_ticks
from registry.quantity import TemperatureDifference, Unit
from registry.services.activity import Offsets
from registry.wording import format
from ui.desk import Desk
from ui.marks import crisp, disc, fill, stroke
from ui.parts import Words
from ui.plots.told import Told
from ui.plots.walk import Walk, move_of
from ui.theme import Look

LEAST = {"C": 0.5, "F": 1.0}  # what the axis shows at least, either side of nought


@dataclass(frozen=True, slots=True)
class Interval:
    """In the unit shown. outside_nought: the whole line lies on one side of nought."""

    lower: float
    median: float
    upper: float

    @property
    def outside_nought(self) -> bool:
        return self.lower > 0 or self.upper < 0


def interval(one: Offsets, unit: Unit) -> Interval | None:
    """None where too few are known."""
    if one.lower is None or one.median is None or one.upper is None:
        return None
    return Interval(*(float(Fraction(each.to(unit).value)) for each in (one.lower, one.median, one.upper)))


def paint_interval(painter: QPainter, rect: QRectF, found: Interval | None, reach: float, look: Look) -> None:
    """On an axis from -reach to reach, nought in the middle; full where the middle half leaves nought out."""
    middle, y = rect.center().x(), crisp(rect.center().y())

    def place(value: float) -> float:  # what is beyond an end lies on it
        share = min(max(value / reach, -1.0), 1.0) if reach > 0 else 0.0
        return middle + share * rect.width() / 2

    painter.setPen(QPen(look.ink, 1.6))
    painter.drawLine(round(middle), round(rect.top()), round(middle), round(rect.bottom()))
    if found is None:
        return
    painter.setPen(QPen(look.ink, 2, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    painter.drawLine(round(place(found.lower)), round(y), round(place(found.upper)), round(y))
    point = disc(place(found.median), y, 6)
    fill(painter, point, look.ink if found.outside_nought else look.sheet)
    stroke(painter, point, look.ink, 2)


class IntervalLine(QWidget):
    """One interval. What it says is told where the pointer or the keys come to it: see `read_out`."""

    told = Signal(str)
    moved = Signal(int, int)

    def __init__(self, look: Look, found: Interval | None, ticks: Sequence[Decimal], reach: float, words: str) -> None:
        super().__init__()
        self.look, self.found, self._ticks, self._reach = look, found, ticks, reach
        self.setAccessibleName(words)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def enterEvent(self, event: QEnterEvent) -> None:
        self.told.emit(self.accessibleName())

    def mousePressEvent(self, event: QMouseEvent) -> None:  # a finger has no pointer to come with
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.told.emit(self.accessibleName())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if (way := move_of(event)) is not None:
            self.moved.emit(sum(way), 0)  # in one column all four arrows go up or down
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        return QSize(self.look.text(260), self.look.text(30))

    def minimumSizeHint(self) -> QSize:
        return QSize(120, self.look.text(28))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        rect = axis_of(self)
        painter.setPen(QPen(self.look.line, 1))
        for tick in self._ticks:
            x = round(rect.center().x() + float(tick) * rect.width() / 2 / self._reach)
            painter.drawLine(x, 0, x, self.height())
        paint_interval(painter, rect, self.found, self._reach, self.look)
        if self.hasFocus():
            painter.setPen(QPen(self.look.pen, 3))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.end()


def read_out(lines: Sequence[IntervalLine], told: Told) -> None:
    """Tab comes to one of these lines, arrow keys go on from there; each, and all in words, is told in `told`."""
    if lines:
        Walk(lines[0], [[line] for line in lines]).told.connect(told.say)
    told.summarise(" ".join(line.accessibleName() for line in lines))


class Scale(QWidget):
    """The figures under the lines."""

    def __init__(self, desk: Desk, unit: Unit, ticks: Sequence[Decimal], reach: float) -> None:
        super().__init__()
        self.look, self._ticks, self._reach = desk.look, ticks, reach
        self._words = [_figure(desk, tick, unit) for tick in ticks]
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(QFontMetrics(desk.look.font(14)).height() + 6)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(self.look.font(14))
        painter.setPen(self.look.muted)
        rect, metrics, free = axis_of(self), QFontMetrics(self.look.font(14)), -1.0
        for tick, words in zip(self._ticks, self._words, strict=True):
            wide = metrics.horizontalAdvance(words)
            x = rect.center().x() + float(tick) * rect.width() / 2 / self._reach
            if x - wide / 2 > free and x + wide / 2 <= self.width():
                painter.drawText(QRectF(x - wide / 2, 4, wide + 2, self.height() - 4), words)
                free = x + wide / 2 + 6
        painter.end()


def axis_of(widget: QWidget) -> QRectF:
    return QRectF(widget.rect()).adjusted(16, 0, -16, 0)


def _figure(desk: Desk, tick: Decimal, unit: Unit) -> str:
    places = max(0, -int(tick.normalize().as_tuple().exponent))
    return desk.offset(TemperatureDifference(tick, unit), places).split(format.HARD_SPACE)[0]


class Spread(QWidget):
    """A line for each group, the largest first, on one axis in the unit people here think in."""

    def __init__(self, desk: Desk, by: str, groups: Sequence[Offsets], names: Sequence[str], *, narrow: bool) -> None:
        super().__init__()
        self.desk, look, unit = desk, desk.look, desk.unit
        found = [interval(one, unit) for one in groups]
        ends = [abs(end) for one in found if one for end in (one.lower, one.median, one.upper)]
        reach = max([LEAST[unit], *ends]) * 1.1
        ticks = value_ticks(-reach, reach, 5 if narrow else 7)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(0)
        above = look.narrow  # large text: a group's name stands above its line
        heads = ("n", "outside", "plot", "median") if above else (by, "n", "outside", "plot", "median")
        for column, head in enumerate(heads):
            title = Words(look, desk.say(f"drift.head.{head}", unit=f"°{unit}"), 14, colour="muted", wrap=False)
            grid.addWidget(title, 0, column, _across(head))
        at, lines = 0, []
        for one, line, name in zip(groups, found, names, strict=True):
            grid.addWidget(Words(look, name, 15), at + 1, 0, 1, 4 if above else 1)
            at += 2 if above else 1
            drawn = IntervalLine(look, line, ticks, reach, _told(desk, one, name, line is not None))
            lines.append(drawn)
            parts = {
                "n": Words(look, str(one.n), 15, colour="muted", wrap=False),
                "outside": Words(look, str(one.outside) if one.outside else "", 15, bold=True, wrap=False),
                "plot": drawn,
                "median": Words(look, _median(desk, one), 15, wrap=False),
            }
            for head, part in parts.items():
                across = Qt.AlignmentFlag(0) if head == "plot" else _across(head)
                grid.addWidget(part, at, heads.index(head), across)
        grid.addWidget(Scale(desk, unit, ticks, reach), at + 1, heads.index("plot"))
        self.told = Told(desk, desk.say("drift.lines_told"), desk.say("drift.offsets"))
        grid.addLayout(self.told, at + 2, 0, 1, len(heads))
        read_out(lines, self.told)
        if not above:
            grid.setColumnStretch(0, 2)
        grid.setColumnStretch(heads.index("plot"), 5)


def _across(head: str) -> Qt.AlignmentFlag:
    if head in ("n", "outside", "median"):
        return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    return Qt.AlignmentFlag.AlignHCenter if head == "plot" else Qt.AlignmentFlag.AlignLeft


def _median(desk: Desk, one: Offsets) -> str:
    return _plain(desk, one.median) if one.median is not None else desk.say("activity.too_few")


def _plain(desk: Desk, difference: TemperatureDifference) -> str:
    return desk.offset(difference.to(desk.unit), 2)


def _told(desk: Desk, one: Offsets, name: str, enough: bool) -> str:
    counts = {"name": name, "count": one.n, "without": one.without, "outside": one.outside}
    if not enough or one.lower is None or one.median is None or one.upper is None:
        return desk.say("drift.told_too_few", **counts)
    lower, median, upper = (_plain(desk, each) for each in (one.lower, one.median, one.upper))
    return desk.say("drift.told", lower=lower, median=median, upper=upper, **counts)
