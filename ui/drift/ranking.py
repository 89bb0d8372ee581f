"""The thermometers that may be out soonest: each with its newest checks, its chance and from when on."""

from collections.abc import Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from registry import charts
from registry.quantity import TemperatureDifference
from registry.services.fleet import LIKELY, Ranked, Ranking
from registry.services.outlook import difference
from registry.services.session import day_at
from registry.services.words import fleet as fleet_words
from registry.services.words import outlook as words
from registry.wording import format
from ui.desk import Desk
from ui.drawings import Drawing
from ui.parts import LINK, LINK_INSET, Button, Line, Words, clear, column, holding, on_press, row
from ui.plots import Plot
from ui.plots.walk import Walk
from ui.theme import Look

FIRST, MORE = 8, 40  # rows shown, and how many more at a press
FULL = 0.5  # a chance at which the bar is full: beyond it only the figure tells
PLOT = 140


class ChanceBar(QWidget):
    """A chance as a bar with a tick at 5 %."""

    def __init__(self, look: Look, chance: float) -> None:
        super().__init__()
        self._look, self._chance = look, chance
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(self._look.text(64), self._look.text(20))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self._look
        room, y = QRectF(self.rect()).adjusted(2, 0, -2, 0), self.height() / 2
        likely = self._chance > LIKELY
        painter.setPen(QPen(look.line, 3))
        painter.drawLine(round(room.left()), round(y), round(room.right()), round(y))
        wide = min(self._chance / FULL, 1.0) * room.width()
        painter.fillRect(QRectF(room.left(), y - 5, wide, 10), look.outside if likely else look.ink)
        x = round(room.left() + LIKELY / FULL * room.width())
        painter.setPen(QPen(look.ink, 2))
        painter.drawLine(x, round(y - 9), x, round(y + 9))
        painter.end()


class RankingPart(QWidget):
    """`more_wanted`: more rows than are shown are asked for."""

    more_wanted = Signal()

    def __init__(self, desk: Desk, *, narrow: bool) -> None:
        super().__init__()
        self.desk, self._narrow = desk, narrow
        self.links: list[Button] = []
        self.more: Button | None = None
        self._ids: list[str] = []  # of the thermometers behind the links
        self.plots: list[Plot] = []
        self._lay = QVBoxLayout(self)
        self._lay.setContentsMargins(0, 0, 0, 0)
        self._lay.setSpacing(8)

    def show_ranking(self, found: Ranking, places: dict[str, str], today: date) -> None:
        """Whoever stood on a row by keys stands on that thermometer's again; after "more", on the first new one."""
        at, had_more, shown = self._focused(), self.more is not None and self.more.hasFocus(), len(self.links)
        clear(self._lay)
        self.links, self.more, self._ids, self.plots = [], None, [], []
        self._fill(found, places, today)
        self._walk = Walk(self, [[plot] for plot in self.plots])
        if had_more and self.links:
            self._give_keys(self.links[min(shown, len(self.links) - 1)])
        elif at and self.links:
            self._give_keys(self.links[self._ids.index(at) if at in self._ids else 0])

    def _give_keys(self, link: Button) -> None:
        """It is shown now, and not with the next event: what is hidden takes no keys."""
        one: QWidget | None = link
        while one is not None and one is not self:
            one.show()
            one = one.parentWidget()
        link.setFocus(Qt.FocusReason.OtherFocusReason)

    def _focused(self) -> str:
        return next((one for one, link in zip(self._ids, self.links, strict=True) if link.hasFocus()), "")

    def _fill(self, found: Ranking, places: dict[str, str], today: date) -> None:
        look, say = self.desk.look, self.desk.say
        self._zones = {one.subject: one.payload.zone for one in self.desk.sites()}
        if found.failed:
            self._lay.addWidget(Words(look, say("drift.failed", count=len(found.failed)), 18, bold=True))
            self._lay.addWidget(Words(look, say("drift.failed_how"), 14, colour="muted"))
            self._lay.addLayout(self._failed(found.failed, places))
            self._lay.addWidget(Line(look.line))
        if found.rows:
            self._lay.addWidget(Words(look, say("drift.ranking"), 18, bold=True))
            lines = self._lines if self._narrow else self._grid
            self._lay.addLayout(lines(found, places, today))
        if len(found.rows) < found.of:
            self.more = Button(look, say("drift.more", count=found.of - len(found.rows)), LINK)
            self._lay.addWidget(on_press(self.more, self.more_wanted.emit), 0, Qt.AlignmentFlag.AlignLeft)
        for code, count in (("never", found.never), ("no_rule", found.no_rule)):
            if count:
                self._lay.addWidget(Words(look, say(f"fleet.{code}", count=count), 14, colour="muted"))

    def _failed(self, failed: Sequence[Ranked], places: dict[str, str]) -> QGridLayout:
        grid = _grid()
        for n, one in enumerate(failed):
            grid.addWidget(self._link(one), n, 0)
            grid.addWidget(Words(self.desk.look, self._what(one, places), 15), n, 1)
        grid.setColumnStretch(1, 1)
        return grid

    def _lines(self, found: Ranking, places: dict[str, str], today: date) -> QVBoxLayout:
        """Where there is no room for columns: each in a sentence below its tag."""
        lay, look, likely = column(space=4), self.desk.look, True
        for n, one in enumerate(found.rows):
            if n:
                lay.addWidget(Line(look.ink if likely and not one.likely else look.line))
            likely = one.likely
            said = self.desk.say(
                "drift.line_unsettled" if one.outlook.says == "unsettled" else "drift.line",
                what=self._what(one, places),
                point=self._point(one),
                off=self._off(one.outlook.offset, one.outlook.expanded),
                chance=words.chance(one.by_day or 0.0, self.desk.language, self.desk.region),
                when=fleet_words.from_when(one, today, self.desk.language),
            )
            lay.addLayout(row(self._link(one), None))
            told = Words(look, said, 15, bold=likely)
            told.setContentsMargins(LINK_INSET, 0, 0, 0)
            lay.addWidget(told)
        return lay

    def _grid(self, found: Ranking, places: dict[str, str], today: date) -> QGridLayout:
        """Above 5 % first; an ink line parts them from the others."""
        desk, look = self.desk, self.desk.look
        grid, heads = _grid(), ("who", "plot", "off", "chance", "from")
        when = fleet_words.day_meant(found.day, today, desk.language, desk.region)
        for n, head in enumerate(heads):
            grid.addWidget(Words(look, desk.say(f"drift.head_{head}", when=when), 14, colour="muted"), 0, n)
        at, likely = 1, True
        for one in found.rows:
            first_below = likely and not one.likely and at > 1
            grid.addWidget(Line(look.ink if first_below else look.line), at, 0, 1, len(heads))
            likely = one.likely
            for n, part in enumerate(self._cells(one, places, today)):
                grid.addWidget(part, at + 1, n, Qt.AlignmentFlag.AlignVCenter)
            at += 2
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(1, 3)
        return grid

    def _cells(self, one: Ranked, places: dict[str, str], today: date) -> list[QWidget]:
        desk, look, found = self.desk, self.desk.look, one.outlook
        chance, likely = one.by_day or 0.0, one.likely
        colour = "outside" if likely else "ink"
        drawing = Drawing(look, QSize(look.text(34), look.text(34)))
        drawing.show_drawing(one.type, desk.say(f"type.{one.type}"))
        what = Words(look, self._where(one, places), 14, colour="muted")
        what.setContentsMargins(LINK_INSET, 0, 0, 0)
        what.setMinimumWidth(look.text(100))
        named = column(row(self._link(one), None), what, space=0)
        who = holding(row(drawing, named, space=10))
        worst = Words(look, self._point(one), 14, colour="muted")
        off = holding(column(Words(look, self._off(found.offset, found.expanded), 15), worst, space=0))
        said = words.chance(chance, desk.language, desk.region)
        figure = Words(look, said, 17 if likely else 15, bold=likely, colour=colour, wrap=False)
        figure.setMinimumWidth(max(look.text(58), figure.sizeHint().width()))
        bar = holding(row(figure, ChanceBar(look, chance), None, space=6))
        return [
            who,
            self._plot(one),
            off,
            bar,
            Words(look, fleet_words.from_when(one, today, desk.language), 15, bold=likely or found.says == "unsettled"),
        ]

    def _link(self, one: Ranked) -> Button:
        link = Button(self.desk.look, one.tag_id, LINK, size=17)
        link.setAccessibleName(self._aloud(one))
        on_press(link, lambda: self.desk.go("thermometers", one.thermometer))
        self.links.append(link)
        self._ids.append(one.thermometer)
        return link

    def _aloud(self, one: Ranked) -> str:
        desk = self.desk
        if one.by_day is None:
            return desk.say("drift.aloud_failed", tag=one.tag_id)
        chance = words.chance(one.by_day, desk.language, desk.region)
        code = "aloud_unsettled" if one.outlook.says == "unsettled" else "aloud"
        off, point = self._off(one.outlook.offset, None), self._point(one)
        return desk.say(f"drift.{code}", tag=one.tag_id, chance=chance, off=off, point=point)

    def _point(self, one: Ranked) -> str:
        """Where it is likeliest out."""
        desk, found = self.desk, one.outlook
        return words.point(found.kind, found.celsius, desk.unit, desk.language, desk.region)

    def _made(self, one: Ranked) -> str:
        return " ".join(filter(None, (one.maker, one.model))) or self.desk.say(f"type.{one.type}")

    def _what(self, one: Ranked, places: dict[str, str]) -> str:
        return ", ".join(filter(None, (self._made(one), places.get(one.site or "", ""))))

    def _where(self, one: Ranked, places: dict[str, str]) -> str:
        """Its site; where there is only one, what it is."""
        return places.get(one.site or "", "") if len(places) > 1 else self._made(one)

    def _off(self, offset: TemperatureDifference | None, expanded: TemperatureDifference | None) -> str:
        if offset is None:
            return ""
        said = self.desk.offset(offset.to(self.desk.unit), 1)
        return f"{said} {format.expanded(expanded.to(self.desk.unit), self.desk.region)}" if expanded else said

    def _mark(self, chart: charts.Chart, zone: str, number: int) -> str:
        """One check of a small plot: its outcome is not known here, only on which side of the limit it lies."""
        points, desk = chart.points, self.desk
        off = desk.offset(TemperatureDifference.from_text(f"{points.value[number]:.4f} d{chart.unit}").rounded(1))
        code = "plotted_outside" if points.mark[number] == "fail" else "plotted"
        return desk.say(f"drift.{code}", day=desk.day(day_at(points.at[number], zone)), off=off)

    def _plot(self, one: Ranked) -> Plot:
        """Its newest checks at its worst point with what was known from all, and the time ahead; the line is today."""
        plot, unit, limit = Plot(self.desk.look, beside=True), self.desk.unit, one.limit or 0.0
        checks = tuple(
            charts.Checked(at, difference(read, unit), "fail" if abs(read) > limit else "pass")
            for at, read, _, _ in one.small.checks
        )
        followed = tuple(charts.Followed(at, value, spread) for at, _, value, spread in one.small.checks)
        ahead = tuple(charts.Followed(at, value, spread, ahead=True) for at, value, spread in one.ahead)
        history = charts.History(
            "UTC",
            self.desk.session.clock(),
            difference(limit, unit) if limit else None,
            checks,
            tuple(charts.Turned(at, None, None) for at in one.small.adjusted),
            followed=(*followed, *ahead),
        )
        chart = charts.small_chart(history, unit)
        plot.words = partial(self._mark, chart, self._zones.get(one.site or "", "UTC"))
        plot.show_chart(chart, self.desk.say("drift.plot_of", tag=one.tag_id, point=self._point(one)))
        self.plots.append(plot)
        plot.setFixedHeight(self.desk.look.text(46))
        plot.setMinimumWidth(self.desk.look.text(PLOT))
        return plot


def _grid() -> QGridLayout:
    grid = QGridLayout()
    grid.setHorizontalSpacing(12)
    grid.setVerticalSpacing(4)
    return grid
