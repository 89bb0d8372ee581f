"""Failed checks in words, for window, command line and spreadsheets alike."""

from registry.services.failures import Failure, Failures
from registry.services.session import day_at
from registry.wording import format, say


def headline(found: Failures, language: str) -> str:
    """How many failed in the period, and how many of them are still open."""
    weeks = say("failures.weeks", language, count=found.weeks)
    if not found.rows:
        return say("failures.none", language, weeks=weeks)
    return say("failures.told", language, count=len(found.rows), weeks=weeks, open=_open(found.open, language))


def _open(count: int, language: str) -> str:
    return say("failures.open", language, count=count) if count else say("failures.none_open", language)


def done(one: Failure, language: str, region: str) -> str:
    """What was done after it, each with its day; that nothing was, where so."""
    if not one.done:
        code = "passed" if one.now == "good" else "nothing"
        return say(f"failures.done.{code}", language)
    return ", ".join(
        say("failures.on", language, what=say(f"failures.done.{each.what}", language),
            day=format.day(day_at(each.at, one.zone), region))
        for each in one.done
    )  # fmt: skip


def voided(one: Failure, language: str) -> str:
    return f"({say('failures.void', language)})" if one.voided else ""


def now(one: Failure, language: str, region: str) -> str:
    """Whether it is right again since."""
    if one.now_at is None:
        return say(f"failures.now.{one.now}", language)
    day = format.day(day_at(one.now_at, one.zone), region)
    code = "failures.since" if one.now == "away" else "failures.on"
    return say(code, language, what=say(f"failures.now.{one.now}", language), day=day)


def became(one: Failure, language: str, region: str) -> str:
    """What was done and how it stands since, as one sentence; said once where both are the same."""
    said, since = done(one, language, region), now(one, language, region)
    told = say("failures.became", language, done=said, now=since)
    return told[:1].upper() + told[1:]


def when(one: Failure, region: str) -> str:
    """Day and hour there; the day alone where nobody knows the hour."""
    return format.day(day_at(one.at, one.zone), region) if one.day_only else format.instant(one.at, one.zone, region)


def doubtful(one: Failure, language: str, region: str) -> str:
    """From its last good check there to the one that failed."""
    to = when(one, region)
    if one.good_before is None:
        return say("failures.never_good", language, to=to)
    return say("failures.since_good", language, since=format.instant(one.good_before, one.zone, region), to=to)
