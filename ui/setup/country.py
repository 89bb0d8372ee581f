"""What comes with a country: its name in the language, its rules told in a sentence, its time zones."""

import os
import unicodedata
from collections.abc import Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, available_timezones

from PySide6.QtCore import QTimeZone

from registry import resources
from registry.quantity import TemperatureDifference
from registry.wording import format, say

ANY_OTHER = "ZZ"


def countries(language: str) -> list[tuple[str, str]]:
    """Code and name of every country that has defaults, by name; any other comes last."""
    from babel import Locale  # late: 24 ms that the first window does not need

    names = Locale.parse(language).territories
    known = [(code, names.get(code, code)) for code in resources.countries() if code != ANY_OTHER]
    return [*sorted(known, key=lambda one: _plain(one[1])), (ANY_OTHER, say("start.any_other_country", language))]


def _plain(name: str) -> str:
    """Without accents, as a list is sorted."""
    return "".join(each for each in unicodedata.normalize("NFD", name.casefold()) if not unicodedata.combining(each))


def likely_country() -> str:
    """The country of this computer's own settings, where it is one of ours; else none is proposed."""
    named = os.environ.get("LC_ALL") or os.environ.get("LC_MEASUREMENT") or os.environ.get("LANG") or ""
    found = named.partition(".")[0].rpartition("_")[2]
    return found if found in resources.countries() else ""


def codes_of(country: str) -> list[str]:
    """The jurisdictions that may rule there, the usual one first."""
    if country not in resources.countries():
        return []
    usual = resources.countries()[country].jurisdiction
    more = [one.code for one in resources.jurisdictions().values() if one.country == country and one.code != usual]
    return [usual, *more]


def told(country: str, jurisdiction: str, language: str) -> str:
    """What choosing this means: the code, how far off a food thermometer may be, limits, unit, paper."""
    chosen = resources.countries()[country]
    found = resources.tolerance_for(jurisdiction, "food", chosen.unit)
    count = len(resources.limits_for(jurisdiction))
    return say(
        "start.comes_with_it" if found else "start.comes_without_limit",
        language,
        count=count,
        code=say(f"jurisdiction.{jurisdiction}", language),
        limit=format.limit(TemperatureDifference.from_text(found.limit), chosen.region) if found else "",
        unit=f"°{chosen.unit}",
        paper=say(f"setting.paper_{chosen.paper.lower()}", language),
        day=format.short_day(datetime(2026, 3, 31, tzinfo=UTC).date(), chosen.region),
    )


def zones_of(country: str, keep: Sequence[str] = ()) -> list[tuple[str, str]]:
    """The time zones of a country (all there are for any other), with those to be kept."""
    from babel.core import get_global

    here = get_global("territory_zones").get(country, ())
    known = {one for one in here or available_timezones() if "/" in one and not one.startswith(("Etc/", "SystemV/"))}
    return [(one, one.replace("_", " ")) for one in sorted(known | set(keep))]


def likely_zone(zones: Sequence[tuple[str, str]], now: int) -> str:
    """This computer's own zone where it is one of them; else one that keeps the same time now; else the first."""
    own = QTimeZone.systemTimeZoneId().toStdString()
    codes = [code for code, _ in zones]
    if own in codes or not codes:
        return own
    at = datetime.fromtimestamp(now / 1e6, UTC)
    offset = at.astimezone().utcoffset()
    return next((one for one in codes if at.astimezone(ZoneInfo(one)).utcoffset() == offset), codes[0])


def zones_to_offer(chosen: str, now: int, unchosen: str) -> tuple[list[tuple[str, str]], str]:
    """The zones of a country and the likely one; before there is a country none is, and one chooses.

    unchosen: words for none.
    """
    zones = list(zones_of(chosen))
    return (zones, likely_zone(zones, now)) if chosen else ([("", unchosen), *zones], "")
