"""What a ranking of thermometers comes to, in a sentence; the window and the page for the manager say it alike."""

from datetime import date

from registry.services.fleet import Ranked, Ranking
from registry.services.words import outlook as outlook_words
from registry.wording import format, say


def headline(found: Ranking, when: str, language: str, region: str) -> str:
    """How many may be out by then; who failed, or must be checked first, is named beside it and never left out."""
    code = "may_fail" if found.likely else "none_may_fail" if found.of else "none_told"
    if not (found.of or found.failed or found.no_rule):
        code = "none_ranked"
    told = [say(f"drift.{code}", language, count=found.likely, of=format.number(found.of, region), when=when)]
    for besides, count in (("failed", len(found.failed)), ("unsettled", found.unsettled)):
        if count:
            told.append(say(f"drift.besides_{besides}", language, count=count))
    return " ".join(told)


def day_meant(day: date, today: date, language: str, region: str) -> str:
    """The day that is asked about, near ones without their year."""
    return outlook_words.by_when(day, language, today) or format.day(day, region)


def from_when(one: Ranked, today: date, language: str) -> str:
    """From when on it may be out; of one that something happened to, that it is to be checked first."""
    if one.outlook.says == "unsettled":
        return say("drift.check_first", language)
    return outlook_words.by_when(one.outlook.out_on, language, today) or say("drift.none_foreseen", language)
