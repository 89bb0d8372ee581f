"""What a chart is worded with: figures, times and the texts beside what they name."""

from datetime import datetime
from decimal import Decimal

from registry.charts import AS_LEFT, Chart, Words
from registry.quantity import TemperatureDifference, Unit
from registry.wording import format
from ui.desk import Desk


def point_words(desk: Desk, chart: Chart, zone: str, number: int, place: str = "thermometers") -> str:
    """One mark of a chart: when, how far off, and what it was, in the words of a place. zone: whose clocks the instant
    is of."""
    points = chart.points
    off = TemperatureDifference(Decimal(repr(points.value[number])), chart.unit).rounded(2)
    known = {"when": desk.instant(points.at[number], zone), "off": desk.offset(off)}
    mark = points.mark[number]
    if mark == AS_LEFT:
        return desk.say(f"{place}.plotted_left", **known)
    outcome = desk.say("lead.waits" if mark == "waits" else f"outcome.{mark}")
    return desk.say(f"{place}.plotted", outcome=outcome, **known)


def chart_words(desk: Desk, zone: str | None = None) -> Words:
    """The words of every chart at this desk. zone: whose clocks its times are of; None: of the desk's site."""

    def number(value: Decimal, unit: Unit) -> str:
        places = max(0, -int(value.normalize().as_tuple().exponent))
        figure = format.offset(TemperatureDifference(value, unit), desk.region, places)
        return figure.split(format.HARD_SPACE)[0]

    def time(step: str, local: datetime, first: bool) -> str:
        return format.on_axis(step, local, first, desk.language)

    def say(code: str, /, **values: object) -> str:
        known: dict[str, object] = {}
        for name, value in values.items():
            if isinstance(value, TemperatureDifference):
                known[name] = desk.offset(value)
            elif name == "at" and isinstance(value, int):
                known[name] = desk.clock_time(value, zone)
            elif name == "what":
                known[name] = desk.say(f"incident.{value}")
            elif name == "unit":
                known[name] = f"°{value}"
            else:
                known[name] = value
        return desk.say(f"chart.{code}", **known)

    return Words(number, time, say)
