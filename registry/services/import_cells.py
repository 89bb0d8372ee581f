"""Cells of a table from outside become readings, instants and codes, or are refused with a code that says why."""

import re
from collections.abc import Mapping
from datetime import MAXYEAR, MINYEAR, UTC, date, datetime, timedelta, timezone
from functools import lru_cache
from hashlib import sha256
from unicodedata import normalize
from zoneinfo import ZoneInfo

from registry import resources
from registry.journal import ids
from registry.quantity import NotAReading, Reading, Unit, parse_reading
from registry.services.csvfile import normal
from registry.wording import say

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_UNITS: dict[str, Unit] = {"c": "C", "°c": "C", "celsius": "C", "f": "F", "°f": "F", "fahrenheit": "F"}
_DAYS = {
    "ymd": re.compile(r"(?P<y>[0-9]{4})[-./](?P<m>[0-9]{1,2})[-./](?P<d>[0-9]{1,2})"),
    "dmy": re.compile(r"(?P<d>[0-9]{1,2})[-./](?P<m>[0-9]{1,2})[-./](?P<y>[0-9]{4})"),
    "mdy": re.compile(r"(?P<m>[0-9]{1,2})[-./](?P<d>[0-9]{1,2})[-./](?P<y>[0-9]{4})"),
}
_TIME = re.compile(
    r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:\.[0-9]+)?)?\s*([ap]\.?m\.?)?(Z|[+-][0-9]{2}:?[0-9]{2})?", re.I
)
_IN_HEADING = re.compile(r"[(\[]?\s*°\s?([CF])\b\s*[)\]]?", re.IGNORECASE)
_WITH_UNIT = re.compile(r"(.*?)\s*(°?\s?[CF])", re.IGNORECASE)


class BadCell(ValueError):
    """A cell that cannot be taken; `values` are what its sentence names beside row, column and the cell itself."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code, self.values = code, values


def unit_of(text: str) -> Unit:
    found = _UNITS.get(normal(text))
    if found is None:
        raise BadCell("unit_unknown")
    return found


def heading_of(title: str) -> tuple[str, Unit | None]:
    """A title without the unit that it names, and that unit; both units in one title are none.

    >>> heading_of("Reading (°C)"), heading_of("°F"), heading_of("Unit (°C/°F)")
    (('Reading', 'C'), ('', 'F'), ('Unit (°C/°F)', None))
    """
    named = {one.upper() for one in _IN_HEADING.findall(title)}
    if len(named) != 1:
        return title, None
    return " ".join(_IN_HEADING.sub(" ", title).split()), "F" if named == {"F"} else "C"


@lru_cache(maxsize=65_536)
def readings_of(text: str, unit: Unit | None) -> tuple[Reading, ...]:
    """One reading, or the first and its repeats with strokes between: `0.4`, `2.1 / 2.0 / 2.2`, `33 °F`."""
    return tuple(_reading(part, unit) for part in text.split("/"))


def _reading(text: str, unit: Unit | None) -> Reading:
    if (match := _WITH_UNIT.fullmatch(text.strip())) is not None:
        own = unit_of("".join(match[2].split()))
        if unit not in (None, own):
            raise BadCell("two_units")
        text, unit = match[1], own
    if unit is None:
        raise BadCell("unit_missing")
    try:
        return parse_reading(text, unit)
    except NotAReading as wrong:
        raise BadCell(f"reading_{wrong.code}") from None


@lru_cache(maxsize=65_536)
def instant_of(day: str, time: str, zone: str, order: str) -> tuple[int, bool, date]:
    """Microseconds UTC, whether only the day is known (then its noon), and the local day.

    The day's cell may hold the time too. Of a time that comes twice when clocks are put back the first is meant.
    """
    day, _, rest = day.replace("T", " ").partition(" ")
    if rest.strip() and time:
        raise BadCell("time_twice")
    on, time = day_of(day, order), rest.strip() or time
    if not MINYEAR < on.year < MAXYEAR:  # what other programs keep where nothing is known; no zone can be worked out
        raise BadCell("too_early" if on.year == MINYEAR else "in_the_future")
    if not time:
        return _microseconds(datetime(on.year, on.month, on.day, 12, tzinfo=ZoneInfo(zone))), True, on
    return _microseconds(_moment(on, time, zone)), False, on


def day_of(text: str, order: str) -> date:
    """A day as `2026-03-03`, which can be read in one way only, or in the order that is said of the file."""
    match = _DAYS["ymd"].fullmatch(text) or _DAYS[order].fullmatch(text)
    if match is None:
        unsaid = order == "ymd" and _DAYS["dmy"].fullmatch(text) is not None
        raise BadCell("order_unsaid" if unsaid else "not_a_day", order=order)
    try:
        return date(int(match["y"]), int(match["m"]), int(match["d"]))
    except ValueError:
        other = read_as(text) not in ("", order)
        raise BadCell("other_order" if other else "no_such_day") from None


@lru_cache(maxsize=65_536)
def read_as(day: str) -> str:
    """Of a day whose year comes last: in which order it is one, `dmy` or `mdy`, or `both`; else nothing."""
    match = _DAYS["dmy"].fullmatch(day.replace("T", " ").partition(" ")[0])
    if match is None:
        return ""
    first, second = int(match["d"]), int(match["m"])
    if not 1 <= first <= 31 or not 1 <= second <= 31 or min(first, second) > 12:
        return ""
    if max(first, second) <= 12:
        return "both" if first != second else ""
    return "dmy" if first > 12 else "mdy"


def _moment(on: date, text: str, zone: str) -> datetime:
    match = _TIME.fullmatch(text)
    if match is None:
        raise BadCell("not_a_time")
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4]:
        hour = hour % 12 + (12 if match[4][0] in "pP" else 0) if 1 <= hour <= 12 else 99
    try:
        found = datetime(on.year, on.month, on.day, hour, minute, second, tzinfo=_offset(match[5]) or ZoneInfo(zone))
    except ValueError:
        raise BadCell("not_a_time") from None
    if found.astimezone(UTC).astimezone(found.tzinfo).replace(fold=0) != found:
        raise BadCell("no_such_time")  # left out when clocks are put forward
    return found


def _offset(text: str | None) -> timezone | None:
    if text is None or text in "Zz":
        return None if text is None else UTC
    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))


def _microseconds(moment: datetime) -> int:
    return (moment.astimezone(UTC) - _EPOCH) // timedelta(microseconds=1)


def refuse_when(at: int, day_only: bool, on: date, now: int, today: date) -> None:
    """Nothing happened in the future, and nothing here before 1970."""
    if (on > today) if day_only else (at > now):
        raise BadCell("in_the_future")
    if at < 0:
        raise BadCell("too_early")


@lru_cache(maxsize=64)
def words_for(table: str, codes: tuple[str, ...]) -> Mapping[str, str]:
    """Codes by what people write for them: the code itself, and its sentence in each language."""
    found = {normal(say(f"{table}.{code}", language)): code for code in codes for language in resources.languages()}
    return found | {normal(code): code for code in codes}


def code_of(text: str, words: Mapping[str, str]) -> str:
    found = words.get(normal(text))
    if found is None:
        raise BadCell("not_one_of", choices=", ".join(sorted(set(words.values()))))
    return found


def words_of(text: str, longest: int) -> str:
    """Text of a person, in the form in which it is kept."""
    text = normalize("NFC", text)
    if len(text) > longest:
        raise BadCell("too_long", limit=longest)
    return text


def derived_id(file: str, at: int, *parts: object) -> str:
    """The id of a fact of an imported file: of the same file and row always the same, in the form of all ids."""
    name = "/".join(map(str, (file, *parts))).encode()
    return ids.new_id(at, lambda count: sha256(name).digest()[:count])
