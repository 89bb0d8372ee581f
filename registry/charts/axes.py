"""Where ticks stand: multiples of 1, 2 or 5 for values, local hours to years for time."""

from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_FLOOR, Decimal
from math import ceil, isfinite
from zoneinfo import ZoneInfo

from registry.charts.model import Tick, TimeLabel

HOUR_US, DAY_US = 3_600_000_000, 86_400_000_000
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def nice_step(span: float, most: int) -> Decimal:
    """The smallest of 1, 2, 5 times a power of ten that parts a span into at most so many steps.

    >>> str(nice_step(2.8, 6)), str(nice_step(7, 7))
    ('0.5', '1')
    """
    if not (isfinite(span) and span > 0 and most >= 1):
        raise ValueError("a span is a positive number, parted into one step or more")
    least = Decimal(repr(span)) / most
    power = Decimal(1).scaleb(least.adjusted())
    return next(power * n for n in (1, 2, 5, 10) if power * n >= least).normalize()


def value_ticks(low: float, high: float, most: int = 7) -> list[Decimal]:
    """Multiples of a nice step from low to high: exact, so that nought is nought.

    >>> [str(tick) for tick in value_ticks(-1.4, 1.4)]
    ['-1.0', '-0.5', '0.0', '0.5', '1.0']
    """
    step = nice_step(high - low, most)
    first, last = (Decimal(repr(end)) / step for end in (low, high))
    whole = range(ceil(first), int(last.to_integral_value(ROUND_FLOOR)) + 1)
    return [Decimal(f"{step * n + 0:f}") for n in whole]


# Steps of a time axis: a code for its labels, how many of what, and about how long one is.
_STEPS: tuple[tuple[str, str, int, int], ...] = (
    ("hour", "hours", 1, HOUR_US),
    ("hour", "hours", 3, 3 * HOUR_US),
    ("hour", "hours", 6, 6 * HOUR_US),
    ("day", "days", 1, DAY_US),
    ("day", "days", 2, 2 * DAY_US),
    ("week", "days", 7, 7 * DAY_US),
    ("week", "days", 14, 14 * DAY_US),
    ("month", "months", 1, 30 * DAY_US),
    ("quarter", "months", 3, 91 * DAY_US),
    ("quarter", "months", 6, 182 * DAY_US),
    *(("year", "months", 12 * n, 365 * n * DAY_US) for n in (1, 2, 5, 10, 20, 50, 100)),
)
_SMALLER = {"quarter": 1, "year": 3}  # months between the small ticks


def time_ticks(low: int, high: int, zone: str, label: TimeLabel, most: int = 9) -> list[Tick]:
    """Hours, days, Mondays, firsts of months, quarters or years in local time, at most so many with a label.

    The label is asked for by (step, local time, whether it is the first): hour, day, week, month, quarter or year.
    """
    place = ZoneInfo(zone)
    code, of, n, _ = next((step for step in _STEPS if (high - low) / step[3] <= most), _STEPS[-1])
    found = _marks(low, high, place, of, n)
    large = [Tick(at, label(code, local, place_ == 0)) for place_, (at, local) in enumerate(found)]
    small = _SMALLER.get(code)
    if small is None or small >= n:
        return large
    named = {tick.at for tick in large}
    between = [Tick(at) for at, _ in _marks(low, high, place, "months", small) if at not in named]
    # Where years are parted into quarters there may be too many to tell apart.
    return sorted(large + (between if len(between) <= 8 * most else []), key=lambda tick: tick.at)


def _marks(low: int, high: int, zone: ZoneInfo, of: str, n: int) -> list[tuple[int, datetime]]:
    """Local times that are whole multiples of a step, from low to high, each with its instant."""
    first = (_EPOCH + timedelta(microseconds=low)).astimezone(zone).date()
    last = (_EPOCH + timedelta(microseconds=high)).astimezone(zone).date()
    if of == "months":
        months = range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
        days = [date(month // 12, month % 12 + 1, 1) for month in months if month % n == 0]
    else:
        # Weeks begin on Mondays, and 0001-01-01 was one.
        every = n if of == "days" else 1
        numbers = range(first.toordinal(), last.toordinal() + 1)
        days = [date.fromordinal(number) for number in numbers if (number - 1) % every == 0]
    hours = range(0, 24, n) if of == "hours" else (0,)
    local = [datetime(day.year, day.month, day.day, hour, tzinfo=zone) for day in days for hour in hours]
    instants = {(one - _EPOCH) // timedelta(microseconds=1): one for one in local if _occurs(one)}
    return [(at, one) for at, one in sorted(instants.items()) if low <= at <= high]


def _occurs(local: datetime) -> bool:
    """An hour that the clock leaps over has no tick; a midnight that it leaps over stands where the day begins."""
    return local.hour == 0 or local.astimezone(UTC).astimezone(local.tzinfo).hour == local.hour
