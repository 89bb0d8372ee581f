"""What plans cost and find, as sentences; the window and the command line say it alike."""

from decimal import Decimal

from registry.services.replay import Found, Replay, Replayed
from registry.services.session import day_at
from registry.wording import format, say


def sentences(found: Replay, site: str, language: str, region: str) -> list[str]:
    """What it came to, as it went and under both plans. site: its name, empty for all."""
    went = found.as_it_went
    lines = [
        say(
            "replay.period",
            language,
            count=found.thermometers,
            site=site or say("replay.all_sites", language),
            first=format.day(found.first, region),
            last=format.day(found.last, region),
        ),
        say(
            "replay.went",
            language,
            count=went.checks,
            missed=format.number(found.missed, region),
            hours=tenths(went.hours_a_year, region),
            found=format.number(round(went.found), region),
            days=tenths(went.days_outside, region),
        ),
        _under("kept", found.kept, found.plan_in_force, language, region),
    ]
    if against(found):
        lines += [_under("other", found.other, found.plan, language, region), _against(found, language, region)]
    counts = {"by_incident": found.by_incident, "by_chance": found.by_chance, "unknown": found.unknown}
    left_out = "; ".join(say(f"replay.{one}", language, count=count) for one, count in counts.items() if count)
    if left_out:
        lines.append(say("replay.not_compared", language, counts=left_out))
    return [*lines, say("replay.note", language)]


def against(found: Replay) -> bool:
    """Whether another plan stands beside the one in force; one of the same name may have gained rules since."""
    same = found.plan == found.plan_in_force and found.other == found.kept
    return found.plan != "in_force" and not same


def _under(code: str, under: Found, plan: str, language: str, region: str) -> str:
    named = say(f"plan.{plan}", language) if plan else say("replay.several_plans", language)
    return say(
        f"replay.{code}",
        language,
        plan=named,
        count=under.checks,
        hours=tenths(under.hours_a_year, region),
        days=tenths(under.days_outside, region),
    )


def _against(found: Replay, language: str, region: str) -> str:
    """Its cost and its gain beside the plan in force."""
    if not found.spells:
        return say("replay.nothing_found", language)
    hours = found.other.hours_a_year - found.kept.hours_a_year
    days = found.other.days_outside - found.kept.days_outside
    if abs(hours) < 0.05 and abs(days) < 0.05:
        return say("replay.same", language)
    code = ("worse" if days > 0 else "more_for_less") if hours > 0 else ("less_for_more" if days > 0 else "better")
    return say(f"replay.{code}", language, hours=tenths(abs(hours), region), days=tenths(abs(days), region))


def spell(one: Replayed, language: str, region: str, alone: bool = False) -> str:
    """One time outside: since when, when it was found, and after how many days each plan would have. alone: no other
    plan was asked about."""
    return say(
        "replay.spell_alone" if alone else "replay.spell",
        language,
        tag=one.tag_id,
        since=format.day(day_at(one.spell.begins_at, one.zone), region),
        found=format.day(day_at(one.spell.found_at, one.zone), region),
        days=tenths(one.spell.days, region),
        kept=tenths(one.kept.days, region),
        other=tenths(one.other.days, region),
    )


def tenths(value: float, region: str) -> str:
    """To a tenth where it is under ten, else whole."""
    return format.number(Decimal(f"{value:.1f}" if round(value, 1) < 10 else f"{value:.0f}"), region)
