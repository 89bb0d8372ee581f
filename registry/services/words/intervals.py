"""How long thermometers hold between checks, as sentences; the window and the command line say it alike."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import floor

from registry.services.intervals import LEFT_OUT, MONTH_DAYS, Interval, PlanKept
from registry.wording import format, say


def advice(found: Interval, who: str, language: str) -> str:
    """One plain sentence: "Dials: every 9 days, not every 14 days." who: the group's name."""
    given = found.advice
    code = "to_each_shift" if given.says == "each_shift" else given.says
    every = _every(given.days, language) if given.days is not None else ""
    return say(f"interval.{code}", language, who=who, every=every, now=_every(given.now, language))


def nothing(found: Sequence[Interval], language: str) -> str:
    """Where there is no advice: the record bears the plan out, or too little is known to say so."""
    borne_out = any(one.advice.says.startswith("keep") for one in found)
    return say("drift.recheck_nothing" if borne_out else "drift.recheck_too_little", language)


def reasons(found: Interval, language: str, region: str) -> Iterator[str]:
    """What it rests on: failures, what fits, what was left out."""
    if found.fit is not None:
        code = "interval.failed" if found.failures else "interval.none_failed"
        yield say(code, language, count=found.failures, checks=format.number(found.checks, region))
        several = found.advice.says == "mixed"  # what is true of all together is true of none of them
        if not several and (found.failures or found.fit.interval >= 1):
            yield _holds(found, language, region)
    left = [
        say(f"interval.left.{why}", language, number=format.number(found.left_out[why], region))
        for why in LEFT_OUT
        if found.left_out.get(why)
    ]
    if left:
        yield say("interval.left_out", language, what=", ".join(left))


def _holds(found: Interval, language: str, region: str) -> str:
    assert found.fit is not None
    target = percent(found.fit.target, language, region)
    if found.passage is not None:
        return say("interval.passage", language, target=target, count=found.passage)
    if found.fit.interval < 1:
        return say("interval.under_a_day", language, target=target)
    fit, ends = found.fit, found.fit.high >= found.fit.farthest
    code = "fits_from" if ends else "fits"
    if fit.interval >= fit.farthest:
        code = "capped"
    elif not found.failures:
        code = "bound"
    low, high = days(fit.low, region), days(fit.high, region)
    return say(f"interval.{code}", language, target=target, count=floor(fit.interval), low=low, high=high)


def kept(found: PlanKept, language: str, region: str) -> str:
    """How a site kept its plan, and whether to change it."""
    code = "kept_low" if found.change else "kept_well" if found.enough else "kept_few"
    share = percent(found.share or 0.0, language, region)
    return say(
        f"interval.{code}",
        language,
        site=found.name,
        share=share,
        days=MONTH_DAYS,
        done=found.done,
        count=found.asked,
    )


def percent(share: float, language: str, region: str) -> str:
    """A share in percent, cut down to whole ones where it is not as stated: 79.9 is not 80."""
    exact = Decimal(repr(round(share * 100, 6)))
    whole = exact if exact * 10 % 1 == 0 and share > 0.9 else Decimal(floor(exact))
    return say("interval.percent", language, percent=format.number(whole.normalize() + 0, region))


def days(found: float, region: str) -> str:
    """Days, cut down to a tenth where they are few."""
    shown = Decimal(floor(found * 10)) / 10 if found < 10 else Decimal(floor(found))
    return format.number(shown, region)


def _every(length: float | None, language: str) -> str:
    if length is None:
        return say("interval.each_shift", language)
    return say("interval.every", language, count=round(length))
