"""Days, times and months as people type them: the region's order, ISO, or with the month in words."""

import re
from datetime import date, timedelta
from functools import cache

from registry.services.problems import Refused, refuse
from registry.wording import format

_TIME = re.compile(r"([0-9]{1,2})(?:[:.h]([0-9]{2})(?::[0-9]{2})?|([0-9]{2}))?\s*h?\s*(?:([ap])\.?\s*m\.?)?", re.I)
_BESIDE = {"de", "del", "of", "the", "st", "nd", "rd", "th"}  # words that may stand in a day


def day(text: str, region: str, language: str, today: date, field: str = "day") -> date:
    """`2026-03-03`, `3/3/2026` in the region's order, `3 March 2026`; without a year the last one that has come.

    >>> day("3 marzo 2026", "en_US", "es", date(2026, 11, 25)), day("12/31", "en_US", "en", date(2026, 11, 25))
    (datetime.date(2026, 3, 3), datetime.date(2025, 12, 31))
    """
    try:
        return _day(text, region, language, today)
    except ValueError:
        raise refuse(field, "not_a_day", value=text.strip()) from None


def _day(text: str, region: str, language: str, today: date) -> date:
    plain = text.strip().casefold()
    if re.fullmatch("[0-9]{8}", plain):
        plain = f"{plain[:4]}-{plain[4:6]}-{plain[6:]}"
    figures = re.findall("[0-9]+", plain)
    words = [one for one in re.findall(r"[^\W\d_]+", plain) if one not in _BESIDE]
    if len(words) == 1 and len(figures) in (1, 2):
        numbers = [figures[0], str(_months(region, language)[words[0]]), *figures[1:]]
        return _dated(numbers, "d", today)
    if words or len(figures) not in (2, 3) or not re.fullmatch(r"[0-9]+(?:[\s./-]+[0-9]+)+\.?", plain):
        raise ValueError(text)
    if len(figures[0]) == 4:
        return date(int(figures[0]), int(figures[1]), int(figures[2]) if len(figures) == 3 else 0)
    return _dated(figures, _first(region), today)


def _dated(numbers: list[str], first: str, today: date) -> date:
    """Two or three figures, day or month first; a year of two digits is of this century."""
    of_day, of_month = (int(one) for one in (numbers[:2] if first == "d" else numbers[1::-1]))
    if len(numbers) == 3:
        if len(numbers[2]) not in (2, 4):
            raise ValueError(numbers[2])
        return date(int(numbers[2]) + (2000 if len(numbers[2]) == 2 else 0), of_month, of_day)
    this_year = date(today.year, of_month, of_day)
    return this_year if this_year <= today else date(today.year - 1, of_month, of_day)


@cache
def _months(region: str, language: str) -> "_Names":
    """Every name and short name of a month, in the language of the screen, of the region, and in English."""
    from babel import Locale  # late: 24 ms

    found = _Names()
    languages = {format.figures(region).language, region.partition("_")[0], language, "en"}
    for locale in map(Locale.parse, sorted(languages)):
        for width in ("wide", "abbreviated"):
            for number, name in locale.months["format"][width].items():
                found[name.casefold().strip(".")] = number
    return found


class _Names(dict[str, int]):
    def __missing__(self, name: str) -> int:
        raise ValueError(name)


@cache
def _first(region: str) -> str:
    """Whether the region writes the day or the month first: `d` or `m`."""
    pattern = str(format.figures(region).date_formats["short"].pattern).casefold()
    return "d" if pattern.index("d") < pattern.index("m") else "m"


def time(text: str, field: str = "time") -> str:
    """`14:30`, `14.30`, `1430`, `2:30 pm`, `9 p. m.` as hours and minutes of the day.

    >>> time("2:30 PM"), time("9.05"), time("12 am"), time("1430")
    ('14:30', '09:05', '00:00', '14:30')
    """
    match = _TIME.fullmatch(re.sub(r"[\u00a0\u202f]", " ", text.strip()))
    if match is None:
        raise refuse(field, "not_a_time", value=text.strip())
    hour, minute = int(match[1]), int(match[2] or match[3] or 0)
    half = (match[4] or "").casefold()
    bare = half == "" and match[2] is None and match[3] is None  # "9": of which half of the day?
    if minute > 59 or bare or (hour > 23 if not half else not 1 <= hour <= 12):
        raise refuse(field, "not_a_time", value=text.strip())
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return f"{hour:02d}:{minute:02d}"


def month(text: str, region: str, language: str, today: date) -> date:
    """`2026-03`, `3/2026`, `March 2026`, or any day in it; the first of that month.

    >>> month("marzo de 2026", "es_ES", "es", date(2026, 11, 25))
    datetime.date(2026, 3, 1)
    """
    plain = text.strip().casefold()
    try:
        if match := re.fullmatch(r"([0-9]{4})[-./ ]([0-9]{1,2})", plain):
            return date(int(match[1]), int(match[2]), 1)
        if match := re.fullmatch(r"([0-9]{1,2})[-./ ]([0-9]{4})", plain):
            return date(int(match[2]), int(match[1]), 1)
        if match := re.fullmatch(r"([^\W\d_]+)\.?(?: de)? ?([0-9]{4})?", plain):
            number = _months(region, language)[match[1]]
            this = date(int(match[2] or today.year), number, 1)
            return this if match[2] or this <= today else this.replace(year=today.year - 1)
        return day(text, region, language, today).replace(day=1)
    except (ValueError, Refused):
        raise refuse("month", "not_a_month", value=text.strip()) from None


def month_before(first: date) -> date:
    return (first - timedelta(days=1)).replace(day=1)


def month_after(first: date) -> date:
    return (first + timedelta(days=31)).replace(day=1)
