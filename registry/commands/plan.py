"""The recheck plan: its rules, changed one at a time, for the group or for one site."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, table
from registry.commands.options import Site
from registry.wording import format

if TYPE_CHECKING:
    from collections.abc import Sequence

    from registry.records.rules import PlanRule
    from registry.services.plans import Change

plan_app = typer.Typer()

Rule = Annotated[str, typer.Argument(metavar="RULE")]
Days = Annotated[int | None, typer.Option("--days", metavar="N")]
Types = Annotated[list[str] | None, typer.Option("--type", metavar="TYPE")]
Tags = Annotated[list[str] | None, typer.Option("--tag", metavar="TAG")]
OnlyAt = Annotated[list[str] | None, typer.Option("--only-at", metavar="SITE")]
Point = Annotated[str, typer.Option("--point", metavar="POINT")]
Since = Annotated[str, typer.Option("--since", metavar="2026-03-03")]
Yes = Annotated[bool, typer.Option("--yes")]
Try = Annotated[bool, typer.Option("--try")]


@plan_app.command("show", epilog="plan show --site KI")
def show(context: typer.Context, site: Site = "") -> int:
    from datetime import date

    from registry.services import plans

    desk = Desk.of(context)
    at = desk.site(site) if site else None
    with desk.session.reading() as connection:
        found = plans.standing(connection, at.subject if at else None)
        words = [plans.in_words(connection, one, desk.language) for one in found.plan.rules]
        of_site = at.subject if at else None
        hours = plans.hours_a_year(connection, found.plan.rules, of_site, desk.today("UTC").isoformat())
    code = "whole_group" if at is None else "own" if found.own else "followed"
    head = desk.say(
        f"plan.is.{code}",
        site=at.payload.name if at else "",
        since=format.day(date.fromisoformat(found.plan.since), desk.region),
        plan=desk.say(f"plan.{found.plan.plan}"),
    )
    heads = [desk.say("plan.head.what"), desk.say("plan.head.code"), desk.say("plan.head.whom")]
    rows = [[said.what, one.rule, said.whom] for one, said in zip(found.plan.rules, words, strict=True)]
    costs = desk.say("plan.costs", hours=format.number(round(hours), desk.region))
    said = {"plan": found.plan.as_payload(), "site": of_site, "own": found.own, "hours_a_year": round(hours, 2)}
    return desk.answer([head, *table(heads, rows), costs], said)


@plan_app.command("set", epilog="plan set risk_based --site KI")
def set_plan(
    context: typer.Context,
    plan: Annotated[str, typer.Argument(metavar="each_shift|risk_based")],
    site: Site = "",
    since: Since = "",
) -> int:
    from registry import resources
    from registry.services import plans, typed

    desk = Desk.of(context)
    wanted = typed.choice("plan", plan, resources.default_plans())
    day = typed.day(since, desk.today("UTC"), "since")
    at = desk.site(site) if site else None
    plans.set_shipped_plan(desk.session, desk.actor, wanted, day, at.subject if at else None)
    line = desk.say("plan.done.set", plan=desk.say(f"plan.{wanted}"), where=_where(desk, at.payload.name if at else ""))
    said = {"done": "plan_set", "plan": wanted, "since": day.isoformat(), "site": at.subject if at else None}
    return desk.answer([line], said)


@plan_app.command("add", epilog="plan add every_days --days 3 --type bimetal_stem --site KI")
def add(
    context: typer.Context,
    rule: Rule,
    days: Days = None,
    types: Types = None,
    tags: Tags = None,
    point: Point = "",
    only_at: OnlyAt = None,
    site: Site = "",
    since: Since = "",
    yes: Yes = False,
    try_it: Try = False,
) -> int:
    from dataclasses import replace

    from registry.services import plans

    desk = Desk.of(context)
    given = replace(_given(desk, rule, types, tags, point, only_at), days=days)
    return _change(desk, "added", given, plans.adding(given), site, since, yes, try_it)


@plan_app.command("days", epilog="plan days every_days 3 --type bimetal_stem")
def change_days(
    context: typer.Context,
    rule: Rule,
    days: Annotated[int, typer.Argument(metavar="N")],
    types: Types = None,
    tags: Tags = None,
    point: Point = "",
    only_at: OnlyAt = None,
    site: Site = "",
    since: Since = "",
    yes: Yes = False,
    try_it: Try = False,
) -> int:
    from dataclasses import replace

    from registry.services import plans

    desk = Desk.of(context)
    old = _standing(desk, _given(desk, rule, types, tags, point, only_at), site)
    new = replace(old, days=days)
    return _change(desk, "days", new, plans.with_days(old, days), site, since, yes, try_it)


@plan_app.command("remove", epilog="plan remove every_days --type bimetal_stem")
def remove(
    context: typer.Context,
    rule: Rule,
    types: Types = None,
    tags: Tags = None,
    point: Point = "",
    only_at: OnlyAt = None,
    site: Site = "",
    since: Since = "",
    yes: Yes = False,
    try_it: Try = False,
) -> int:
    from registry.services import plans

    desk = Desk.of(context)
    old = _standing(desk, _given(desk, rule, types, tags, point, only_at), site)
    return _change(desk, "removed", old, plans.without(old), site, since, yes, try_it)


@plan_app.command("back", epilog="plan back --site KI")
def back(context: typer.Context, site: Site = "", since: Since = "") -> int:
    from registry.services import plans, typed

    desk = Desk.of(context)
    at = desk.site(site)
    day = typed.day(since, desk.today("UTC"), "since")
    plans.back_to_group(desk.session, desk.actor, at.subject, day)
    line = desk.say("plan.done.back", site=at.payload.name)
    return desk.answer([line], {"done": "plan_back", "site": at.subject, "since": day.isoformat()})


def _where(desk: Desk, site: str) -> str:
    return site or desk.say("plan.done.whole_group")


def _given(
    desk: Desk, rule: str, types: list[str] | None, tags: list[str] | None, point: str, only_at: list[str] | None
) -> "PlanRule":
    """The rule meant, with tags and letters looked up; its days come apart."""
    from registry import resources
    from registry.compute import schedule
    from registry.records.rules import PlanRule
    from registry.services import plan_problems, plans, typed

    with desk.session.reading() as connection:
        tagged = plans.tagged(connection, tags or ())
    return PlanRule(
        rule=typed.choice("rule", rule, sorted(schedule.RULES)),
        points=(typed.choice("point", point, plan_problems.POINTS),) if point else None,
        types=tuple(typed.choice("types", one, resources.instrument_types()) for one in types or ()) or None,
        sites=tuple(desk.site(one).subject for one in only_at or ()) or None,
        thermometers=tagged or None,
    )


def _standing(desk: Desk, wanted: "PlanRule", site: str) -> "PlanRule":
    from registry.services import plans

    at = desk.site(site).subject if site else None
    with desk.session.reading() as connection:
        return plans.the_rule(plans.starting_from(connection, at), wanted)


def _change(
    desk: Desk, code: str, rule: "PlanRule", wanted: "Change", site: str, since: str, yes: bool, try_it: bool
) -> int:
    from registry.services import plans, typed

    at = desk.site(site) if site else None
    of_site = at.subject if at else None
    if try_it:
        return _tried(desk, wanted, of_site, at.payload.name if at else "")
    day = typed.day(since, desk.today("UTC"), "since")
    plans.change(desk.session, desk.actor, wanted, day, of_site, sure=yes)
    with desk.session.reading() as connection:
        said = plans.in_words(connection, rule, desk.language)
        found = plans.standing(connection, of_site).plan
        outdone = _outdone(desk, connection, rule, found.rules) if code != "removed" else []
    where = _where(desk, at.payload.name if at else "")
    lines = [desk.say(f"plan.done.{code}", rule=said.what, whom=said.whom, where=where), *outdone]
    data: dict[str, Any] = {"done": f"plan_rule_{code}", "site": of_site, "plan": found.as_payload()}
    return desk.answer(lines, data)


def _outdone(desk: Desk, connection: Any, rule: "PlanRule", rules: "Sequence[PlanRule]") -> list[str]:
    """For which types another rule asks more often, so that this one changes nothing for them."""
    from registry.services import plans

    if rule.rule != "every_days" or rule.points or rule.days is None:
        return []
    sooner = [
        one
        for one in rules
        if (one.rule == "each_shift" or (one.rule == rule.rule and one.days is not None and one.days < rule.days))
        and not (one.points or one.sites or one.thermometers)
    ]
    lines = []
    for type in rule.types or ():
        those = [one for one in sooner if one.types is None or type in one.types]
        if those:
            most = min(those, key=lambda one: one.days or 0)
            what = plans.in_words(connection, most, desk.language).what
            lines.append(desk.say("plan.outdone", type=desk.say(f"type.{type}"), what=what))
    return lines


def _tried(desk: Desk, wanted: "Change", of_site: str | None, name: str) -> int:
    """What it would cost and would have found in the last year; nothing is recorded."""
    from registry.services import plans
    from registry.services.words import replay as words

    after, unasked = plans.tried(desk.session, wanted, of_site)
    found = plans.replayed(desk.session, after, of_site)
    lines = words.sentences(found, name, desk.language, desk.region)
    if unasked:
        types = "; ".join(desk.say(f"type.{one}") for one in unasked)
        lines.append(desk.say("plan.unasked", types=types))
    said: dict[str, Any] = {
        "tried": True,
        "site": of_site,
        "rules": plans.as_set(after).as_payload()["rules"],
        "no_longer_asked": list(unasked),
        "hours_a_year": {"kept": round(found.kept.hours_a_year, 2), "other": round(found.other.hours_a_year, 2)},
        "days_outside": {"kept": round(found.kept.days_outside, 2), "other": round(found.other.days_outside, 2)},
    }
    return desk.answer([*lines, desk.say("plan.tried")], said)
