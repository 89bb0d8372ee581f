"""Why something is due, as a sentence; the window, the command line and paper say it alike."""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from registry.wording import format, say


def why_due(code: str, values: Mapping[str, str | int | date], language: str, region: str, zone: str) -> str:
    """The reason that the schedule gave as a code with values; instants in the site's time zone.

    >>> why_due("every_days_never", {"days": 7, "enrolled_at": 0}, "en", "en_US", "America/New_York")
    'Every 7 days (no good check yet)'
    """
    return _said(
        "due",
        code,
        values,
        language,
        lambda when: format.day(when, region),
        lambda at: format.instant(at, zone, region),
    )


def all_due(
    owed: Sequence[tuple[str, tuple[str, Mapping[str, str | int | date]]]], language: str, region: str, zone: str
) -> str:
    """All that one thermometer owes, as (state, why) in its order, a sentence for each state.

    >>> all_due([("due", ("new", {})), ("overdue", ("check_first", {}))], "en", "en_US", "UTC")
    'Wanted now: New here. Overdue: Check first.'
    """
    together: dict[str, list[str]] = {}
    for state, why in owed:
        together.setdefault(state, []).append(why_due(*why, language, region, zone))
    return " ".join(
        say(f"thermometers.owed.{state}", language, why="; ".join(dict.fromkeys(reasons)))
        for state, reasons in together.items()
    )


def why_short(code: str, values: Mapping[str, str | int | date], language: str, zone: str) -> str:
    """The same in two or three words, for a row: days without their year, no times.

    >>> why_short("adjusted", {"adjusted_at": 1_772_548_200_000_000}, "en", "America/New_York")
    'adjusted Mar\\xa03'
    """

    def day(when: date) -> str:
        return _short_day(datetime(when.year, when.month, when.day, tzinfo=UTC), language)

    def instant(at: int) -> str:
        return _short_day(datetime.fromtimestamp(at / 1e6, ZoneInfo(zone)), language)

    return _said("why_short", code, values, language, day, instant)


def _said(
    prefix: str,
    code: str,
    values: Mapping[str, str | int | date],
    language: str,
    day: Callable[[date], str],
    instant: Callable[[int], str],
) -> str:
    known: dict[str, object] = {"count": values["days"]} if "days" in values else {}
    for name, value in values.items():
        if name == "incident":
            known[name] = say(f"incident.{value}", language)
        elif name == "point":
            known[name] = say(f"point.{value}", language)
        elif isinstance(value, date):
            known[name] = day(value)
        elif name.endswith("_at") and isinstance(value, int):
            known[name] = instant(value)
    return say(f"{prefix}.{code}", language, **known)


def _short_day(when: datetime, language: str) -> str:
    """Day and month, as on a time axis."""
    return format.on_axis("day", when, False, language)
