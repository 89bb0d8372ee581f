"""What the recheck plan wants of some thermometers, without going through a whole site's due list."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueItem, DueRule, History
from registry.services import duelist, places
from registry.services.duelist import SiteDue
from registry.services.session import Session
from registry.store import queries
from registry.store.queries import ThermometerRow

HOT = ("boiling_point", "comparison_hot")


@dataclass(frozen=True, slots=True)
class Owed:
    """What one thermometer owes.

    wants: the rules of the plan that are for it. due: open now, the most urgent first. next: what is wanted first,
    now or later. by_point: the next day by class of point, where a rule names that point.
    """

    plan: str
    wants: tuple[DueRule, ...] = ()
    due: tuple[DueItem, ...] = ()
    next: DueItem | None = None
    by_point: tuple[tuple[str, date], ...] = ()


def next_days(session: Session, connection: Connection, rows: Iterable[ThermometerRow]) -> dict[str, date]:
    """As `duelist.recheck_by` for many, with plan and shifts worked out once for each site."""
    now, by_site = session.clock(), defaultdict(list)
    for row in rows:
        by_site[row.site].append(row)
    found = {}
    for fact in places.sites(connection):
        if fact.subject in by_site:
            one = duelist.at_site(connection, fact, now)
            days = duelist.forecast_days(session, connection, one, by_site[fact.subject])
            for row in by_site[fact.subject]:
                history = duelist.history_of(row, one.closed_for(row.station), duelist.last_checks(connection, row))
                history = replace(history, forecast_day=days.get(row.thermometer))
                item = schedule.next_due(history, one.plan, one.times, one.site.zone, now, now, one.closed)
                if item is not None:
                    found[row.thermometer] = item.day
    return found


def of_one(session: Session, connection: Connection, row: ThermometerRow, plan: str) -> Owed:
    """Everything that one thermometer owes, and when. plan: the code of the plan in force."""
    fact = queries.facts_of(connection, row.site).get("site") if row.site else None
    if fact is None:
        return Owed(plan)
    now = session.clock()
    site = duelist.at_site(connection, fact, now)
    zone, since = site.site.zone, now - duelist.LOOK_BACK_DAYS * duelist.DAY_US
    answers = duelist.answers_of(connection, [row], site.times, since).get(row.thermometer, ())
    here = queries.thermometers(connection, site=fact.subject)
    before = duelist.last_days(connection, fact.subject, site, [row], here, now)
    in_turn = before.history_of(connection, row, answers)
    for out_on, point in duelist.forecasts(session, connection, site, [row]).values():
        in_turn = replace(in_turn, forecast_day=out_on, forecast_point=point)
    history = replace(in_turn, turns=frozenset())
    wants = tuple(rule for rule in site.plan if _is_for(rule, row))
    items = before.due(in_turn, wants)
    days = {
        where: day
        for where in ("ice_point", "boiling_point", "comparison_cold", "comparison_hot")
        if (day := _next_at(where, history, wants, site, now)) is not None
    }
    return Owed(
        plan,
        wants,
        tuple(one for one in items if one.state in duelist.OPEN_STATES),
        schedule.next_due(history, wants, site.times, zone, now, now, site.closed),
        tuple(days.items()),
    )


def _is_for(rule: DueRule, row: ThermometerRow) -> bool:
    return schedule.is_for(rule, row.type or "", row.site or "", row.thermometer)


def _next_at(where: str, history: History, wants: tuple[DueRule, ...], at: SiteDue, now: int) -> date | None:
    """By the rules that name a point, or ask for a hot one."""
    point = "comparison" if where.startswith("comparison") else where
    own = tuple(
        rule
        for rule in wants
        if rule.code in ("each_shift", "every_days", "hot_point")
        and (rule.point == point or (rule.code == "hot_point" and rule.point is None and where in HOT))
    )
    item = schedule.next_due(history, own, at.times, at.site.zone, now, now, at.closed) if own else None
    return item.day if item is not None and item.code != "check_first" else None
