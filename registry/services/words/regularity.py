"""Visits too regular to be true, as quiet sentences that name nobody."""

from registry.compute.regularity import SIGNS
from registry.services.regularity import SiteRegular, Visit
from registry.wording import format, say

ODD = 0.01  # a sign is told from here on: the others are as usual


def sentences(found: SiteRegular, language: str, region: str) -> list[str]:
    """A line for each visit, one for the site where repeats are too many in all; else that nothing is odd."""
    lines = [visit(one, found.name, language, region) for one in found.notable]
    if found.often:
        one = found.repeats
        lines.append(
            say(
                "regular.often", language, site=found.name, seen=one.seen, among=one.among, expected=round(one.expected)
            )
        )
    return lines or [say("regular.none", language, site=found.name, count=found.visits)]


def visit(one: Visit, site: str, language: str, region: str) -> str:
    """As: Pier, March 3, 2026, Early: 9 of 9 readings repeat last time's (3 would be usual), and so on."""
    signs = ", ".join(_signs(one, language))
    day = format.day(one.day, region)
    if one.shift:
        return say("regular.visit_in_shift", language, site=site, day=day, shift=one.shift, signs=signs)
    return say("regular.visit", language, site=site, day=day, signs=signs)


def _signs(one: Visit, language: str) -> list[str]:
    told = [(name, one.found.signs[name]) for name in SIGNS]
    return [
        say(f"regular.{name}", language, seen=each.seen, among=each.among, expected=round(each.expected))
        for name, each in told
        if each.p < ODD
    ]
