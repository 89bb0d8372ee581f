"""Whose turn it is in each shift of a site, under a plan that takes one by turns.

It is fixed by what had been made, said and recorded when the shift opened, so that due list and looking back name the
same one, and neither its own check, nor its being taken out of use, nor what is keyed in from paper later passes the
turn on.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueRule, Looked, ShiftTime
from registry.services.session import day_at
from registry.store import looking_back
from registry.store.looking_back import LookedAt
from registry.store.queries import ThermometerRow

DAY_US = 86_400_000_000
Turns = Mapping[tuple[str, date], str]  # by shift and day, the thermometer

Free = Callable[[str, ShiftTime], bool]  # whether one was in service at the site when a shift opened, and not shut away


def turns(
    connection: Connection,
    site: str,
    zone: str,
    times: Iterable[ShiftTime],
    plans: Mapping[int, schedule.Plan],
    rows: Iterable[ThermometerRow],
    free: Free,
) -> Turns:
    """The sentinel of each of these shifts that has one. plans: by when a shift begins. rows: who may have been there.

    What became of an earlier check later does not count here: who was looked at was looked at, and so was who was
    answered for.
    """
    asked = [time for time in times if any(rule.code == "sentinel" for rule in plans.get(time.begins_at, ()))]
    rules = _by_turns(site, {plans[time.begins_at] for time in asked}, list(rows))
    some = {one for by_one in rules.values() for one in by_one}
    if not some:
        return {}
    longest = max(rule.days or 0 for by_one in rules.values() for own in by_one.values() for rule in own)
    until = max(opens_at(time) for time in asked)
    # Who was not looked at for so long is wanted by days.
    since = min(opens_at(time) for time in asked) - (longest + 2) * DAY_US
    looked = _looked_at(connection, some, since, until)
    found = {}
    for time in asked:
        opens, own = opens_at(time), rules[plans[time.begins_at]]
        last = {one: at for one in own if (at := _last(looked.get((one, "")), opens)) is not None}
        those = (
            Looked(one, day_at(last[one], zone), by_days)
            for one in schedule.waited_longest(last)
            if free(one, time) and (by_days := _by_days(looked, one, own[one], opens, zone)) is not None
        )
        if (one := schedule.in_turn(time.day, those)) is not None:
            found[time.shift.id, time.day] = one
    return found


def opens_at(time: ShiftTime) -> int:
    """From when on a check counts for a shift."""
    return time.begins_at - schedule.EARLY_US


def _by_turns(
    site: str, plans: Iterable[schedule.Plan], rows: Sequence[ThermometerRow]
) -> dict[schedule.Plan, dict[str, tuple[DueRule, ...]]]:
    """By plan, who is taken by turns, with its rules by days."""
    found: dict[schedule.Plan, dict[str, tuple[DueRule, ...]]] = {}
    for plan in plans:
        by_name = any(rule.tags for rule in plan)
        alike: dict[tuple[str | None, str], tuple[DueRule, ...]] = {}  # else all of a type are
        found[plan] = {}
        for row in rows:
            key = (row.type, row.thermometer if by_name else "")
            if key not in alike:
                alike[key] = schedule.by_turns(plan, row.type or "", site, row.thermometer)
            if alike[key]:
                found[plan][row.thermometer] = alike[key]
    return found


_Looked = Mapping[tuple[str, str], Sequence[LookedAt]]  # by thermometer and point, "" for all, by when; answers in all


def _looked_at(connection: Connection, some: set[str], since: int, until: int) -> _Looked:
    found: dict[tuple[str, str], list[LookedAt]] = defaultdict(list)
    for check in looking_back.made(connection, some, since, until):
        found[check.thermometer, check.point].append(check)
        found[check.thermometer, ""].append(check)
    for answer in looking_back.answered(connection, since, until):
        if answer.thermometer in some:
            found[answer.thermometer, ""].append(answer)
    return {key: sorted(those, key=_at) for key, those in found.items()}


def _at(one: LookedAt) -> int:
    return one.at


def _by_days(looked: _Looked, thermometer: str, rules: Sequence[DueRule], opens: int, zone: str) -> date | None:
    """The day on which it is wanted by days; None where it never was checked at a point that a rule asks for."""
    last = {point: _last(looked.get((thermometer, point)), opens) for point in looking_back.POINTS}
    checked = [at for at in last.values() if at is not None]
    wanted = []
    for rule in rules:
        at = max(checked, default=None) if rule.point is None else last[rule.point]
        if at is None:
            return None
        wanted.append(day_at(at, zone) + timedelta(days=rule.days or 1))
    return min(wanted)


def _last(looked: Sequence[LookedAt] | None, before: int) -> int | None:
    """When it was looked at last, of what was known then."""
    earlier = (looked or ())[: bisect_left(looked or (), before, key=_at)]
    return next((one.at for one in reversed(earlier) if one.known_at < before), None)
