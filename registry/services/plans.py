"""A recheck plan of one's own, for the group or one site: set whole, or changed a rule at a time.

A rule is added to what is in force at that moment, so two people who change different rules lose neither. What keeps
one that may lie out of use cannot be taken out of a plan: a check of what is new, and after an incident.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Connection

from registry import resources
from registry.compute import schedule
from registry.records.rules import PlanRule, PlanSet
from registry.services import places, plan_cost, replay, rules, thermometers
from registry.services.plan_problems import IN_USE, narrowed, problems
from registry.services.problems import Refused, refuse
from registry.services.replay import Replay
from registry.services.rules import FOLLOWS_GROUP, due_rules_of, rules_in_force, shipped_plan, sites_with_own
from registry.services.session import Actor, Session, day_at
from registry.store import queries
from registry.store.queries import ThermometerRow
from registry.store.transaction import Transaction
from registry.wording import plan
from registry.wording.plan import OWN

AGAIN = frozenset(("each_shift", "every_days"))  # what asks for checks again and again; by turns only with days
Change = Callable[[tuple[PlanRule, ...]], tuple[PlanRule, ...]]
EARLIEST_ZONE = "Etc/GMT-14"  # where a day begins first on Earth


@dataclass(frozen=True, slots=True)
class Standing:
    """The plan in force for the group or a site; own: it was set for this site alone."""

    plan: PlanSet
    own: bool = False


def standing(connection: Connection, site: str | None = None) -> Standing:
    return Standing(rules_in_force(connection, site).plan, site is not None and site in sites_with_own(connection))


def hours_a_year(connection: Connection, own: Iterable[PlanRule], site: str | None, today: str) -> float:
    """What these rules cost for the thermometers in use at a site, or at all sites that follow the group's plan."""
    return plan_cost.hours_of(own, _in_use(connection, site), shifts_a_week(connection, today))


def _in_use(connection: Connection, site: str | None) -> list[ThermometerRow]:
    """At a site, or at all sites that follow the group's plan."""
    apart = sites_with_own(connection)
    rows = queries.thermometers(connection, site=site)
    return [row for row in rows if row.status in IN_USE and (site is not None or row.site not in apart)]


def shifts_a_week(connection: Connection, today: str) -> Mapping[str, float]:
    """How many shifts each site works in a week, of those that have not ended."""
    found: dict[str, float] = defaultdict(float)
    for one in places.shifts(connection):
        if (one.payload.to_day or today) >= today:
            found[one.payload.site] += len(one.payload.weekdays)
    return found


# --- setting a plan ------------------------------------------------------------------------------------------


def adding(rule: PlanRule) -> Change:
    """One rule more."""
    return lambda plan: (*plan, rule)


def with_days(rule: PlanRule, days: int | None) -> Change:
    """The same rule with other days."""
    return lambda plan: tuple(replace(one, days=days) if one == rule else one for one in _holding(plan, rule))


def without(rule: PlanRule) -> Change:
    """One rule less."""
    return lambda plan: tuple(one for one in _holding(plan, rule) if one != rule)


def _holding(plan: tuple[PlanRule, ...], rule: PlanRule) -> tuple[PlanRule, ...]:
    if rule not in plan:
        raise refuse("rule", "not_in_plan")
    return plan


def set_own_plan(
    session: Session,
    actor: Actor,
    own: Sequence[PlanRule],
    since: date,
    site: str | None = None,
    *,
    sure: bool = False,
) -> None:
    """These rules from now on, for the group or one site; sure as in `change`."""
    change(session, actor, lambda _: tuple(own), since, site, sure=sure)


def change(
    session: Session, actor: Actor, wanted: Change, since: date, site: str | None = None, *, sure: bool = False
) -> None:
    """The plan in force, of the group or one site, with one change.

    sure: also where some would no longer be asked for again and again, which is refused once.
    """
    with session.recording(actor, "officer") as entries:
        _refuse_future(session, since)
        after, unasked = _tried(entries.connection, wanted, site)
        if unasked and not sure:
            raise refuse("plan", "asks_nothing", types=unasked)
        _record(session, entries, OWN, after, since, site)


def tried(session: Session, wanted: Change, site: str | None = None) -> tuple[tuple[PlanRule, ...], tuple[str, ...]]:
    """The rules as they would be, and the types that would no longer be asked for; nothing is recorded."""
    with session.reading() as connection:
        return _tried(connection, wanted, site)


def _tried(connection: Connection, wanted: Change, site: str | None) -> tuple[tuple[PlanRule, ...], tuple[str, ...]]:
    if site is not None:
        _refuse_unknown_site(connection, site)
    before = starting_from(connection, site)
    after = wanted(before)
    if after == before:
        raise refuse("plan", "same")
    if found := problems(connection, after, before, site):
        raise Refused(*found)
    return after, no_longer_asked(connection, before, after, site)


def replayed(session: Session, own: tuple[PlanRule, ...], site: str | None = None) -> Replay:
    """The last year again with these rules, at one site or all that follow the group's plan."""
    with session.reading() as connection:
        apart = sites_with_own(connection)
        following = [one.subject for one in places.sites(connection) if one.subject not in apart]
    return replay.replay(session, replay.CHANGED, [site] if site else following, own=own)


def set_shipped_plan(session: Session, actor: Actor, plan: str, since: date, site: str | None = None) -> None:
    """One of the shipped plans, for the group or one site."""
    if site is None:
        rules.set_plan(session, actor, plan, since)
        return
    if plan not in resources.default_plans():
        raise refuse("plan", "unknown", value=plan)
    with session.recording(actor, "officer") as entries:
        _refuse_unknown_site(entries.connection, site)
        _refuse_future(session, since)
        _record(session, entries, plan, shipped_plan(plan), since, site)


def back_to_group(session: Session, actor: Actor, site: str, since: date) -> None:
    """A site follows the group's plan again, whatever that becomes. What the group asks today stands in the entry, for
    a program that does not know it."""
    with session.recording(actor, "officer") as entries:
        _refuse_unknown_site(entries.connection, site)
        _refuse_future(session, since)
        if site not in sites_with_own(entries.connection):
            raise refuse("site", "no_own_plan")
        plan = rules_in_force(entries.connection).plan
        _record(session, entries, FOLLOWS_GROUP, plan.rules, since, site)


def _record(
    session: Session, entries: Transaction, code: str, plan: tuple[PlanRule, ...], since: date, site: str | None
) -> None:
    group = session.group(entries.connection).subject
    entries.replace(
        PlanSet(group=group, set=session.new_id(), plan=code, rules=plan, since=since.isoformat(), for_site=site)
    )


def starting_from(connection: Connection, site: str | None = None) -> tuple[PlanRule, ...]:
    """The rules in force; of the group's plan those that are for this site, which need not name it then."""
    plan = rules_in_force(connection, site).plan.rules
    if site is None:
        return plan
    return tuple(replace(one, sites=None) for one in plan if not one.sites or site in one.sites)


@dataclass(frozen=True, slots=True)
class RuleWords:
    """A rule in plain words."""

    what: str
    whom: str


def in_words(connection: Connection, one: PlanRule, language: str) -> RuleWords:
    """A rule with the names that sites have and the tag ids that thermometers bear now."""
    names = {each.subject: each.payload.name for each in places.sites(connection)}
    rows = [queries.thermometer(connection, each) for each in one.thermometers or ()]
    return RuleWords(
        plan.what(one.rule, one.days, one.points or (), language),
        plan.for_which(
            one.types or (),
            [names.get(each, each) for each in one.sites or ()],
            [row.tag_id or "" for row in rows if row is not None],
            language,
        ),
    )


def the_rule(those: Iterable[PlanRule], wanted: PlanRule) -> PlanRule:
    """The rule of this code, and with these points, types, sites and thermometers where they are named."""
    found = [one for one in those if one.rule == wanted.rule and _narrows(one, wanted)]
    if len(found) != 1:
        raise refuse("rule", "several" if found else "not_in_plan")
    return found[0]


def _narrows(one: PlanRule, wanted: PlanRule) -> bool:
    return all(
        named is None or set(named) == set(own or ())
        for named, own in zip(narrowed(wanted), narrowed(one), strict=True)
    )


# --- what people type --------------------------------------------------------------------------------------


def whole_days(text: str) -> int | None:
    """`7`; None where nothing is typed."""
    typed = text.strip()
    if not typed:
        return None
    if not (typed.isascii() and typed.isdigit() and len(typed) <= 6):
        raise refuse("days", "not_whole", value=typed[:40])
    return int(typed)


def tagged(connection: Connection, tag_ids: Iterable[str]) -> tuple[str, ...]:
    """The thermometers that bear these tag ids, in a field of several."""
    found = []
    for one in tag_ids:
        try:
            found.append(thermometers.find(connection, one).row.thermometer)
        except Refused as refused:
            code = refused.problems[0].code
            if code == "two_bear_it":
                raise refuse("tags", "two_bear_it", value=one) from None
            raise refuse("tags", "unknown_tag", value=one) from None
    return tuple(found)


# --- what stands against it ----------------------------------------------------------------------------------


def _refuse_unknown_site(connection: Connection, site: str) -> None:
    if site not in {one.subject for one in places.sites(connection)}:
        raise refuse("site", "unknown", value=site)


def _refuse_future(session: Session, since: date) -> None:
    """A plan is in force once it is recorded; an earlier day is printed as the day of a plan that hung on the wall."""
    if since > day_at(session.clock(), EARLIEST_ZONE):
        raise refuse("since", "plan_from_now")


def as_set(own: Sequence[PlanRule]) -> PlanSet:
    """Rules that are not recorded, as a plan of no group."""
    return PlanSet(group="0" * 32, set="0" * 32, plan=OWN, rules=tuple(own), since="1970-01-01")


def no_longer_asked(
    connection: Connection, before: Sequence[PlanRule], after: Sequence[PlanRule], site: str | None
) -> tuple[str, ...]:
    """The types of thermometers in use that a plan asked for again and again, and another would not."""
    rows = _in_use(connection, site)
    old, new = due_rules_of(before), due_rules_of(after)
    return tuple(sorted({row.type or "" for row in rows if _asked_again(old, row) and not _asked_again(new, row)}))


def _asked_again(plan: schedule.Plan, row: ThermometerRow) -> bool:
    return any(
        rule.code in AGAIN and schedule.is_for(rule, row.type or "", row.site or "", row.thermometer) for rule in plan
    )
