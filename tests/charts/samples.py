"""Words and histories for chart tests."""

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from registry.charts import DAY_US, Checked, Happened, History, Turned, Words
from registry.quantity import TemperatureDifference, Unit

MADRID = "Europe/Madrid"


def instant(local: str, zone: str = MADRID) -> int:
    return int(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp()) * 1_000_000


NOW = instant("2026-05-18 06:50")


def dc(text: str) -> TemperatureDifference:
    return TemperatureDifference.from_text(f"{text} dC")


ONE = dc("1")


def df(text: str) -> TemperatureDifference:
    return TemperatureDifference.from_text(f"{text} dF")


def _number(value: Decimal, unit: Unit) -> str:
    return f"{value:+}" if value else f"{value}"


def _time(step: str, local: datetime, first: bool) -> str:
    return f"{step} {local:%Y-%m-%d %H:%M}{' first' if first else ''}"


def _say(code: str, **values: object) -> str:
    return " ".join([code, *(str(getattr(value, "value", value)) for value in values.values())])


WORDS = Words(_number, _time, _say)


def checks(*offsets: str, every: int = 7 * DAY_US, until: int = NOW) -> tuple[Checked, ...]:
    """One a week, the last one now."""
    first = until - every * (len(offsets) - 1)
    return tuple(Checked(first + n * every, dc(one), "pass") for n, one in enumerate(offsets))


def a_history(
    *offsets: str,
    tolerance: TemperatureDifference | None = ONE,
    turned: tuple[Turned, ...] = (),
    happened: tuple[Happened, ...] = (),
    **more: int,
) -> History:
    return History(MADRID, NOW, tolerance, checks(*offsets, **more), turned, happened)
