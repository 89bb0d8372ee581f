"""A rule of a recheck plan in plain words: what, how often, for which."""

from collections.abc import Sequence

from registry.wording import say

OWN = "own"  # the code of a plan that does not ship with the program
LISTED = 12  # thermometers that a rule names, told one by one


def what(rule: str, days: int | None, points: Sequence[str], language: str) -> str:
    """What a rule asks for and how often.

    >>> what("every_days", 3, ["ice_point"], "en")
    'Every 3 days, at the ice point'
    """
    usual = {"hot_point": 90, "reference_expiry": 30}.get(rule)
    number = days if days is not None else usual
    code = f"plan_rule.{rule}_next" if rule == "after_adjustment" and number is None else f"plan_rule.{rule}"
    said = say(code, language, **({} if number is None else {"count": number}))
    where = [say(f"plan_rule.at.{point}", language) for point in points]
    return ", ".join([said, *where])


def for_which(
    types: Sequence[str],
    sites: Sequence[str],
    tags: Sequence[str],
    language: str,
) -> str:
    """What it is for; sites: their names; tags: tag ids.

    >>> for_which([], [], [], "en")
    'All'
    """
    named = ["; ".join(say(f"type.{one}", language) for one in types), _some(tags, language)]
    where = say("plan_rule.only_at", language, sites=", ".join(sites)) if sites else ""
    found = "; ".join(one for one in (*named, where) if one)
    return found or say("plan_rule.all", language)


def _some(tags: Sequence[str], language: str) -> str:
    if len(tags) <= LISTED:
        return ", ".join(tags)
    return say("plan_rule.and_more", language, named=", ".join(tags[:LISTED]), count=len(tags) - LISTED)
