"""What stands against a recheck plan of one's own, before it is recorded."""

from collections.abc import Iterable, Sequence

from sqlalchemy import Connection

from registry import resources
from registry.compute import schedule
from registry.records.rules import PlanRule
from registry.services import places
from registry.services.problems import Problem
from registry.services.rules import due_rules_of, sites_with_own
from registry.store import queries
from registry.store.queries import ThermometerRow

NEEDS_DAYS = frozenset(("every_days",))
MAY_HAVE_DAYS = NEEDS_DAYS | {"hot_point", "reference_expiry", "after_adjustment"}
BY_POINT = frozenset(("every_days",))  # the others are kept by a check at any point, or have one of their own
ALWAYS = ("new", "after_incident")
POINTS = ("ice_point", "boiling_point", "comparison")
IN_USE = ("in_service", "limited_use", "check_first")
MOST_RULES = 60  # of one plan, and thermometers that one rule names: more is a mistake (judgement)


def narrowed(rule: PlanRule) -> tuple[tuple[str, ...] | None, ...]:
    """To which points, types, sites and thermometers; None or nothing of each: to all."""
    return rule.points, rule.types, rule.sites, rule.thermometers


def problems(
    connection: Connection, plan: Sequence[PlanRule], before: Sequence[PlanRule], site: str | None
) -> list[Problem]:
    """What stands against a plan. before: rules in force, not looked at anew: one may name what was retired since."""
    if not plan:
        return [Problem("rule", "empty")]
    if len(plan) > MOST_RULES:
        return [Problem("plan", "too_many", {"most": MOST_RULES})]
    found = [problem for one in plan if one not in before for problem in _of_rule(connection, one, site)]
    keys = [(one.rule, *(frozenset(named or ()) for named in narrowed(one))) for one in plan]
    if not found and len(set(keys)) < len(keys):
        found.append(Problem("rule", "twice"))
    if not found and any(not _is_always_asked(plan, code) for code in ALWAYS):
        found.append(Problem("rule", "always_asked"))
    return found


def _is_always_asked(plan: Iterable[PlanRule], code: str) -> bool:
    return any(one.rule == code and not any(narrowed(one)) for one in plan)


def _of_rule(connection: Connection, one: PlanRule, site: str | None) -> list[Problem]:
    if one.rule not in schedule.RULES:
        return [Problem("rule", "choose", {"value": one.rule, "choices": ", ".join(sorted(schedule.RULES))})]
    return [
        *_days(one),
        *_types(one),
        *_sites(connection, one, site),
        *_named(connection, one, site),
        *_points(connection, one, site),
    ]


def _days(one: PlanRule) -> list[Problem]:
    if one.days is None:
        return [Problem("days", "needed")] if one.rule in NEEDS_DAYS else []
    if one.rule not in MAY_HAVE_DAYS:
        return [Problem("days", "not_for_this_rule")]
    if not 1 <= one.days <= schedule.LONGEST_DAYS:
        return [Problem("days", "from_to", {"most": schedule.LONGEST_DAYS})]
    return []


def _types(one: PlanRule) -> list[Problem]:
    known = resources.instrument_types()
    unknown = [code for code in one.types or () if code not in known]
    return [Problem("types", "choose", {"value": unknown[0], "choices": ", ".join(known)})] if unknown else []


def _sites(connection: Connection, one: PlanRule, site: str | None) -> list[Problem]:
    if not one.sites:
        return []
    if site is not None:
        return [Problem("sites", "of_group_only")]
    known = {each.subject: each.payload.letters for each in places.sites(connection)}
    unknown = [each for each in one.sites if each not in known]
    if unknown:
        return [Problem("sites", "unknown", {"value": unknown[0]})]
    apart = sites_with_own(connection).intersection(one.sites)
    return [Problem("sites", "has_own_plan", {"value": known[each]}) for each in sorted(apart)[:1]]


def _named(connection: Connection, one: PlanRule, site: str | None) -> list[Problem]:
    named = one.thermometers or ()
    if len(named) > MOST_RULES:
        return [Problem("tags", "too_many", {"most": MOST_RULES})]
    for each in named:
        row = queries.thermometer(connection, each)
        if row is None:
            return [Problem("tags", "unknown", {"value": each})]
        if row.service_status == "retired":
            return [Problem("tags", "retired", {"value": row.tag_id})]
        if one.types and row.type not in one.types:
            return [Problem("tags", "other_type", {"value": row.tag_id})]
        if site is not None and row.site != site:
            return [Problem("tags", "at_another_site", {"value": row.tag_id})]
    return []


def _points(connection: Connection, one: PlanRule, site: str | None) -> list[Problem]:
    """A point is asked for by days alone, and only of those that may be checked there."""
    if not one.points:
        return []
    if one.rule not in BY_POINT:
        return [Problem("point", "not_for_this_rule")]
    unknown = [point for point in one.points if point not in POINTS]
    if unknown:
        return [Problem("point", "choose", {"value": unknown[0], "choices": ", ".join(POINTS)})]
    for point in one.points:
        barred = [kind for kind in _types_meant(connection, one, site) if not _may_be_checked(kind, point)]
        if barred:
            return [Problem("point", "not_for_types", {"types": tuple(sorted(barred))})]
    return []


def _may_be_checked(kind: str, point: str) -> bool:
    found = resources.instrument_types().get(kind)
    return found is None or found.allowed(point) is not None


def _types_meant(connection: Connection, one: PlanRule, site: str | None) -> set[str]:
    if one.types:
        return set(one.types)
    rule = due_rules_of((one,))[0]
    rows = queries.thermometers(connection, site=site)
    return {row.type or "" for row in rows if row.status in IN_USE and _is_for(rule, row)}


def _is_for(rule: schedule.DueRule, row: ThermometerRow) -> bool:
    return schedule.is_for(rule, row.type or "", row.site or "", row.thermometer)
