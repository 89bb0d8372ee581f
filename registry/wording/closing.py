"""What is said of a list before and after it is closed: who failed and was left so, and that it was closed already."""

from collections.abc import Iterable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from registry.wording import format, say

WHY = ("failed", "left_outside", "left_unread")  # the gravest first


def left_failed(failed: Iterable[tuple[str, str, str]], language: str) -> list[str]:
    """Once a list is closed: one sentence for each reason, from (tag id, place or "", why) of each thermometer.

    >>> left_failed([("TR-0007", "grill", "failed")], "en")
    ['Adjust or do not use: TR-0007 (grill). It failed and was neither adjusted nor taken out of use.']
    """
    return [
        say(f"closing.{why}", language, count=len(named), tags=", ".join(named))
        for why, named in _named(failed, language).items()
    ]


def failed_so_far(failed: Iterable[tuple[str, str, str]], language: str) -> list[str]:
    """While the list is open: what is to be done with whom.

    >>> failed_so_far([("TR-0007", "grill", "failed")], "en")
    ['Adjust or do not use: TR-0007 (grill).']
    """
    return [
        say(f"closing.{why}_so_far", language, tags=", ".join(named)) for why, named in _named(failed, language).items()
    ]


def _named(failed: Iterable[tuple[str, str, str]], language: str) -> dict[str, list[str]]:
    """Who by reason, each with its place, in the order given."""
    named: dict[str, list[str]] = {why: [] for why in WHY}
    for tag, place, why in failed:
        named[why].append(say("closing.at_place", language, tag=tag, place=place) if place else tag)
    return {why: tags for why, tags in named.items() if tags}


def closed_already(at: int, initials: str, again: bool, now: int, language: str, region: str, zone: str) -> str:
    """When and by whom a list was closed before; the day only where it was another one. again: this changed it.

    >>> closed_already(1_772_534_460_000_000, "MK", False, 1_772_548_200_000_000, "en", "en_GB", "America/New_York")
    'This shift was closed at 05:41 by MK already.'
    """
    here = ZoneInfo(zone)
    same_day = datetime.fromtimestamp(at / 1e6, UTC).astimezone(here).date() == (
        datetime.fromtimestamp(now / 1e6, UTC).astimezone(here).date()
    )
    when = format.clock(at, zone, region) if same_day else format.instant(at, zone, region)
    if initials:
        said = say("closing.already_by", language, at=when, initials=initials)
    else:
        said = say("closing.already", language, at=when)
    return f"{said} {say('closing.again', language)}" if again else said
