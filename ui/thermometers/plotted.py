"""The offset plot of one thermometer: which point, how much of its time, what a mark says, and all of it in words."""

from PySide6.QtWidgets import QWidget

from registry.charts import AS_LEFT, DAY_US, Chart
from registry.quantity import TemperatureDifference
from registry.services import thermometer_page
from registry.services.session import day_at
from registry.services.thermometer_page import ThermometerPage
from ui.charting import chart_words, point_words
from ui.desk import Desk
from ui.flow import Flow
from ui.parts import Choice, Words, clear, column, holding
from ui.plots.plot import Plot
from ui.plots.told import Told
from ui.thermometers import facts

# How much of the time is shown, days: the rest lies before it.
PERIODS = {"all": 0, "year": 365, "quarter": 91, "month": 28}
OUTSIDE = ("fail", "conditional_fail")


class Plotted(QWidget):
    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self.where, self.period = "", "all"
        self._page: ThermometerPage | None = None
        self._chart: Chart | None = None
        self._periods: Choice | None = None
        self.choices = Flow(space=16, middle=True)
        self.asked_of = Told(
            desk, desk.say("thermometers.plot_keys"), desk.say("chart.offsets"), flat=not desk.look.narrow
        )
        self._told = holding(self.asked_of)
        self.plot = Plot(desk.look)
        self.plot.words = self._in_words
        self.plot.told.connect(self.asked_of.say)
        self.plot.zoomed.connect(self._zoomed)
        self.no_checks = Words(desk.look, desk.say("thermometers.no_checks"), 15, colour="muted")
        self.setLayout(column(self.choices, self._told, self.plot, self.no_checks, space=4))

    def show_of(self, page: ThermometerPage) -> None:
        """At the class of point checked most; where there are others, one may choose."""
        if self._page is None or self._page.of.row.thermometer != page.of.row.thermometer:
            self.where, self.period = "", "all"
        self._page = page
        checked = [one.where for one in page.points if one.last_at is not None]
        self.no_checks.setVisible(not checked)
        self.plot.setVisible(bool(checked))
        self._told.setVisible(bool(checked))
        self._offer(page, checked)
        if checked:
            self._draw()

    def _offer(self, page: ThermometerPage, checked: list[str]) -> None:
        clear(self.choices)
        self._periods = None
        say, look = self.desk.say, self.desk.look
        if len(checked) > 1:
            points = [(one, facts.point_words(self.desk, one)) for one in checked]
            where = Choice(look, points, self._shown(page), say("thermometers.plotted_point"))
            where.chosen.connect(self._at)
            self.choices.addWidget(where)
        first = min((one.at for one in page.offsets), default=page.now)
        shorter = [one for one, days in PERIODS.items() if not days or first < page.now - days * DAY_US]
        if len(shorter) > 1:
            periods = [(one, say(f"thermometers.period.{one}")) for one in shorter]
            value = self.period if self.period in shorter else "all"
            self._periods = Choice(look, periods, value, say("thermometers.period.which"))
            self._periods.chosen.connect(self._of_period)
            self.choices.addWidget(self._periods)

    def _shown(self, page: ThermometerPage) -> str:
        return self.where or thermometer_page.most_checked(page)

    def _at(self, where: str) -> None:
        self.where = where
        self._draw()

    def _of_period(self, period: str) -> None:
        self.period = period
        self._draw()

    def _zoomed(self, nearer: int) -> None:
        """The plus and minus keys and the wheel: one period shorter or longer."""
        if self._periods is None:
            return
        offered = self._periods.codes
        place = offered.index(self._periods.value) + nearer
        if 0 <= place < len(offered):
            self._periods.choose(offered[place])
            self._of_period(offered[place])

    def _draw(self) -> None:
        page, say = self._page, self.desk.say
        assert page is not None
        days = PERIODS[self.period]
        where = self._shown(page)
        since = page.now - days * DAY_US if days else None
        self._chart = chart = thermometer_page.chart(page, chart_words(self.desk), where, since=since)
        name = say("thermometers.plot", tag=page.of.tag_id, point=facts.point_words(self.desk, where))
        summary = self._summary(chart, page)
        self.plot.show_chart(chart, name, " ".join((summary, say("thermometers.plot_moves"))))
        self.asked_of.say("")
        self.asked_of.summarise(summary)

    def _summary(self, chart: Chart, page: ThermometerPage) -> str:
        """What the marks say together, for who does not see them."""
        points, say = chart.points, self.desk.say
        found = [(at, value) for at, value, mark in self._marks() if mark != AS_LEFT]
        if not found:
            return say("thermometers.plot_none")
        values = [value for _, value in found]
        counts = {
            "count": len(found),
            "outside": say("thermometers.plot_outside", count=sum(mark in OUTSIDE for mark in points.mark)),
            "adjusted": say("thermometers.plot_adjusted", count=len(chart.arrows)),
        }
        off = {"low": min(values), "high": max(values), "last": found[-1][1]}
        days = {"first": found[0][0], "day": found[-1][0]}
        return say(
            "thermometers.plot_summary",
            **counts,
            **{name: self._off(value) for name, value in off.items()},
            **{name: self.desk.day(day_at(at, page.zone)) for name, at in days.items()},
        )

    def _marks(self) -> list[tuple[int, float, str]]:
        assert self._chart is not None
        points = self._chart.points
        return list(zip(points.at, points.value, points.mark, strict=True))

    def _off(self, value: float) -> str:
        assert self._chart is not None
        return self.desk.offset(TemperatureDifference.from_text(f"{value:.4f} d{self._chart.unit}").rounded(2))

    def _in_words(self, number: int) -> str:
        """A point of the plot."""
        assert self._chart is not None
        assert self._page is not None
        return point_words(self.desk, self._chart, self._page.zone, number)
