"""Why something is due, as a sentence; the window, the command line and paper say it alike."""

from collections.abc import Mapping
from datetime import date

from registry.wording import format, say


def why_due(code: str, values: Mapping[str, str | int | date], language: str, region: str, zone: str) -> str:
    """The reason that the schedule gave as a code with values; instants in the site's time zone.

    >>> why_due("every_days_never", {"days": 7, "enrolled_at": 0}, "en", "en_US", "America/New_York")
    'Every 7 days; no good check yet'
    """
    known: dict[str, object] = {"count": values["days"]} if "days" in values else {}
    for name, value in values.items():
        if name == "incident":
            known[name] = say(f"incident.{value}", language)
        elif isinstance(value, date):
            known[name] = format.day(value, region)
        elif name.endswith("_at") and isinstance(value, int):
            known[name] = format.instant(value, zone, region)
    return say(f"due.{code}", language, **known)
