"""The plain charts of a thermometer's points as sentences; the window and the command line say it alike."""

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from registry.services.plain_charts import PlainChart
from registry.wording import format, say

SURE = 0.05  # p under which the order of checks is called a trend


def sentences(found: PlainChart, language: str, region: str, zone: str) -> list[str]:
    """Slope, order, moving average and sums of one point."""

    def day(at: int) -> str:
        return format.day(datetime.fromtimestamp(at / 1e6, ZoneInfo(zone)).date(), region)

    near = format.number(Decimal(round(found.celsius)), region)
    low, high = (format.offset(one, region, 2) for one in (found.low, found.high))
    p = format.number(Decimal(str(max(round(found.p, 3), 0.001))), region)
    average, sums = found.average_out, found.sum_out
    return [
        say("plain.point", language, celsius=near, count=found.checks, since=day(found.since)),
        say("plain.slope", language, slope=format.offset(found.a_month, region, 2), low=low, high=high),
        say("plain.order" if found.p < SURE else "plain.no_order", language, p=p),
        say("plain.average_out", language, day=day(average)) if average else say("plain.average_in", language),
        say("plain.sum_out", language, day=day(sums)) if sums else say("plain.sum_in", language),
    ]
