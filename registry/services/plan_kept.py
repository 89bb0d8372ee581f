"""What the recheck plan asked of a site in a past period, and what came of it.

Looked back on with what stood then: the plan, the shifts, where each thermometer was and whether it was in use. Three
rules are counted, each shift, one by turns and every so many days; hot points, new ones and what follows an incident
or an adjustment are wanted before use and stand on the due list only.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueRule, History, ShiftTime
from registry.records.kinds import KINDS
from registry.records.places import SiteSet
from registry.services import calendars, places, rules, sentinels
from registry.services.sentinels import Turns
from registry.services.session import day_at, midnight
from registry.store import looking_back, queries
from registry.store.looking_back import Decided, SaidThen, Version
from registry.store.queries import Fact, ThermometerRow

DAY_US = 86_400_000_000
ANSWERS = tuple(sorted(schedule.ANSWERS))


@dataclass(frozen=True, slots=True)
class Asked:
    """One check that was asked for: state is `done`, `missed` or one of the schedule's answers, with its reason.

    In a shift that is on nothing is missed yet: what is not done then is `open`.

    shift: the shift it was asked in, or the last one of its day where the plan asks by days. point: where it names one.
    """

    thermometer: str
    day: date
    shift: ShiftTime
    state: str
    reason: str = ""
    by_days: bool = False
    point: str | None = None


@dataclass(frozen=True, slots=True)
class Past:
    """What stood when, for all sites: read once for all that is looked back on."""

    rows: Mapping[str, ThermometerRow]
    places: Mapping[str, Sequence[Version]]
    statuses: Mapping[str, Sequence[Version]]
    tags: Mapping[str, Sequence[Version]]
    shifts: Mapping[str, Sequence[Version]]  # by shift
    plans: Sequence[Version]
    calendars: Mapping[str, Sequence[Version]] = field(default_factory=dict)  # by site

    def site_at(self, thermometer: str, at: int) -> str | None:
        """Where it was; before its first move where it was enrolled."""
        put = self.places.get(thermometer, ())
        stood = _standing(put, at) or (put[0] if put else None)
        return stood.payload["site"] if stood else None

    def status_at(self, thermometer: str, at: int) -> str:
        stood = _standing(self.statuses.get(thermometer, ()), at)
        found: str = stood.payload.get("status", "out_of_use") if stood else "in_service"
        return found

    def tag_at(self, thermometer: str, at: int) -> str:
        """The tag id that it bore then; the first one for a time before that."""
        borne = self.tags.get(thermometer, ())
        stood = _standing(borne, at) or (borne[0] if borne else None)
        return stood.payload["tag_id"] if stood else ""

    def of_site(self, site: str) -> list[str]:
        """Every thermometer that was ever there."""
        return [one for one, stood in self.places.items() if any(place.payload["site"] == site for place in stood)]


def _standing(stated: Sequence[Version], at: int) -> Version | None:
    """What had last been stated by then."""
    found = bisect_right(stated, at, key=lambda one: one.at)
    return stated[found - 1] if found else None


def past(connection: Connection) -> Past:
    found: dict[str, dict[str, list[Version]]] = defaultdict(lambda: defaultdict(list))
    plans = []
    fields = ["place", "service_status", "tag_id", "shift", "plan"]
    fields += [f"plan:{one.subject}" for one in places.sites(connection)]
    for one in looking_back.versions(connection, *fields):
        found[one.field][one.subject].append(one)
        if one.kind == "plan_set":
            plans.append(one)
    return Past(
        {row.thermometer: row for row in queries.thermometers(connection)},
        found["place"],
        found["service_status"],
        found["tag_id"],
        found["shift"],
        plans,
        calendars.stated(connection),
    )


# --- the shifts and the plan of a site -----------------------------------------------------------------------


def shifts_worked(then: Past, site: Fact[SiteSet], from_at: int, to_at: int) -> tuple[ShiftTime, ...]:
    """The shifts of a site that ended in a period, each as it was stated then."""
    here = [some for some in then.shifts.values() if some[0].payload["site"] == site.subject]
    times = [time for stated in here for time in places.worked(stated, site.payload.zone, from_at, to_at)]
    closings = then.calendars.get(site.subject, ())
    ended = [one for one in times if from_at <= one.ends_at < to_at and not calendars.is_closed(closings, one)]
    return tuple(sorted(ended, key=lambda time: (time.begins_at, time.ends_at)))


def shifts_of_days(then: Past, site: Fact[SiteSet], first: date, last: date, now: int) -> tuple[ShiftTime, ...]:
    """The shifts of some local days that have ended; one over midnight belongs to the day on which it began."""
    from_at, to_at = _of_days(site, first, last)
    ended = shifts_worked(then, site, from_at, min(to_at, now))
    return tuple(time for time in ended if first <= time.day <= last)


def _of_days(site: Fact[SiteSet], first: date, last: date) -> tuple[int, int]:
    """Within which the shifts of these local days end: the last may go on for a day after it began."""
    zone = site.payload.zone
    return midnight(first, zone), midnight(last + timedelta(days=1), zone) + 2 * DAY_US


def shifts_on(then: Past, site: Fact[SiteSet], now: int) -> tuple[ShiftTime, ...]:
    """Those that ask for checks at this moment, from when one made early counts for them."""
    soon = now + schedule.EARLY_US + 1
    here = [some for some in then.shifts.values() if some[0].payload["site"] == site.subject]
    times = [time for stated in here for time in places.worked(stated, site.payload.zone, now, soon)]
    closings = then.calendars.get(site.subject, ())
    on = [one for one in times if one.begins_at - schedule.EARLY_US <= now <= one.ends_at]
    on = [one for one in on if not calendars.is_closed(closings, one)]
    return tuple(sorted(on, key=lambda time: (time.begins_at, time.ends_at)))


def plan_at(then: Past, site: str, at: int) -> schedule.Plan | None:
    """The plan in force at a site then; its own goes before the group's."""
    return _plan_at(then.plans, site, at)


def _plan_at(stated: Sequence[Version], site: str, at: int) -> schedule.Plan | None:
    for named in (f"plan:{site}", "plan"):
        stood = _standing([one for one in stated if one.field == named], at)
        if stood and (named == "plan" or stood.payload["plan"] != rules.FOLLOWS_GROUP):
            payload: Any = KINDS[stood.kind].from_payload(stood.payload)
            return rules.due_rules(payload)
    return None


# --- what was asked ------------------------------------------------------------------------------------------


def asked(
    connection: Connection, then: Past, site: Fact[SiteSet], from_at: int, to_at: int, now: int, *, on: bool = False
) -> Iterator[list[Asked]]:
    """For one thermometer after the other: what was asked of it in the shifts of a site that ended in a period.

    on: and what is asked in those that are on now.
    """
    times = shifts_worked(then, site, from_at, min(to_at, now))
    if on and from_at <= now < to_at:
        times += tuple(time for time in shifts_on(then, site, now) if time not in times)
    wanted = then.of_site(site.subject)
    # A check by days is asked for so long after the last one before the period.
    since = from_at - _longest(then, site.subject, from_at, to_at) * DAY_US
    checks = _by(looking_back.decided(connection, wanted, since, to_at))
    # Who could not be read is answered for one shift of several that overlap, also where that one has not ended yet.
    around = shifts_worked(then, site, from_at, to_at + 2 * DAY_US)
    answers = _answers(connection, wanted, around, from_at, to_at)
    for thermometer in wanted:
        answers[thermometer] = [*closed_for(then, site.subject, thermometer, times), *answers.get(thermometer, ())]
    plans = plans_of(then.plans, site.subject, times)
    turns = _turns(connection, then, site, times, plans, wanted)
    for thermometer in wanted:
        mine = frozenset(shift for shift, one in turns.items() if one == thermometer)
        found = _asked_of(
            then, site, thermometer, times, plans, checks.get(thermometer, ()), answers.get(thermometer, ()), now, mine
        )
        yield list(found)


def _turns(
    connection: Connection,
    then: Past,
    site: Fact[SiteSet],
    times: Sequence[ShiftTime],
    plans: Mapping[int, schedule.Plan],
    those: Iterable[str],
) -> Turns:
    rows = [row for one in those if (row := then.rows.get(one)) is not None]
    return sentinels.turns(
        connection,
        site.subject,
        site.payload.zone,
        times,
        plans,
        rows,
        lambda one, time: was_free(then, site.subject, one, time),
    )


def sentinels_of(
    connection: Connection, then: Past, site: Fact[SiteSet], until: int
) -> dict[str, list[tuple[int, int]]]:
    """By thermometer, from when to when checks counted for its turns in all shifts of a site that ended until then."""
    since = min((one.at for one in then.plans if "sentinel" in _codes(one)), default=until)
    times = shifts_worked(then, site, since, until)
    turns = _turns(connection, then, site, times, plans_of(then.plans, site.subject, times), then.of_site(site.subject))
    found: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for time in times:
        if (one := turns.get((time.shift.id, time.day))) is not None:
            found[one].append((sentinels.opens_at(time), time.ends_at))
    return found


def _codes(plan: Version) -> set[str]:
    return {rule["rule"] for rule in plan.payload["rules"]}


def was_free(then: Past, site: str, thermometer: str, time: ShiftTime) -> bool:
    """Whether it was in service at a site when a shift opened, at a station that was not said to be closed in it."""
    opens = sentinels.opens_at(time)
    stood = _standing(then.places.get(thermometer, ()), opens)
    if stood is None or stood.payload["site"] != site or then.status_at(thermometer, opens) != "in_service":
        return False
    return is_open(then.calendars.get(site, ()), stood.payload.get("station"), time)


def is_open(closings: Sequence[Version], station: str | None, time: ShiftTime) -> bool:
    """Whether, by what had been said when a shift opened, a station is open in it."""
    said = [one for one in closings if one.at <= sentinels.opens_at(time)]
    return not (said and station and calendars.is_closed(said, time, station))


def asked_on(
    connection: Connection, then: Past, site: Fact[SiteSet], first: date, last: date, now: int, *, on: bool = False
) -> Iterator[list[Asked]]:
    """As `asked`, for some local days: what is missed in it is what log, activity and Drift all call missed."""
    from_at, to_at = _of_days(site, first, last)
    for found in asked(connection, then, site, from_at, to_at, now, on=on):
        yield [one for one in found if first <= one.day <= last]


def closed_for(then: Past, site: str, thermometer: str, times: Sequence[ShiftTime]) -> Iterator[schedule.Answer]:
    """The shifts in which the station where it was then was closed; what a person said goes before it."""
    closings = then.calendars.get(site, ())
    for time in times if closings else ():
        stood = _standing(then.places.get(thermometer, ()), time.ends_at)
        station = stood.payload.get("station") if stood else None
        if station and calendars.is_closed(closings, time, station):
            yield schedule.Answer(time.shift.id, time.day, "station_closed")


def _by(found: Iterable[Decided]) -> dict[str, list[Decided]]:
    together: dict[str, list[Decided]] = defaultdict(list)
    for one in found:
        together[one.thermometer].append(one)
    return together


def plans_of(stated: Sequence[Version], site: str, times: Sequence[ShiftTime]) -> dict[int, schedule.Plan]:
    """The plan at the beginning of each shift, of all that were stated; the few different ones are read once each.

    In the shift in which the registry was begun it is the one chosen then.
    """
    changes = sorted(one.at for one in stated)
    by_change: dict[int, schedule.Plan] = {}
    found = {}
    for time in times:
        at = max(time.begins_at, changes[0]) if changes and changes[0] <= time.ends_at else time.begins_at
        number = bisect_right(changes, at)
        if number not in by_change:
            by_change[number] = _plan_at(stated, site, at) or ()
        found[time.begins_at] = by_change[number]
    return found


def _longest(then: Past, site: str, from_at: int, to_at: int) -> int:
    """The longest interval of any plan here, in days."""
    moments = [from_at, *(one.at for one in then.plans if one.at < to_at)]
    plans = [plan_at(then, site, at) or () for at in moments]
    return max((rule.days or 0 for plan in plans for rule in plan if rule.code == "every_days"), default=0) + 1


def _asked_of(
    then: Past,
    site: Fact[SiteSet],
    thermometer: str,
    times: Sequence[ShiftTime],
    plans: Mapping[int, schedule.Plan],
    checks: Sequence[Decided],
    answers: Sequence[schedule.Answer],
    now: int,
    turns: frozenset[tuple[str, date]],
) -> Iterator[Asked]:
    row = then.rows.get(thermometer)
    if row is None or row.enrolled_at is None:
        return
    here = [one for one in times if was_in_use(then, thermometer, site.subject, one, row.enrolled_at)]
    each_shift, by_days = _by_rule(site.subject, row, here, plans)
    in_turn = [one for one in times if (one.shift.id, one.day) in turns and (one in here or _near(one, checks))]
    # Of one check two rules are not both kept: on the day of its turn that alone is counted.
    days = {one.day for one in in_turn}
    yield from _by_shift(site, row, each_shift, checks, answers, now)
    yield from _by_shift(site, row, in_turn, checks, answers, now)
    for point, wanted in by_days.items():
        there = [one for one in checks if point in (None, one.point)]
        by_day = _by_days(site.payload.zone, row, point, wanted, there, answers, now)
        yield from (one for one in by_day if one.day not in days)


ByPoint = Mapping[str | None, Sequence[tuple[ShiftTime, int]]]


def _by_rule(
    site: str, row: ThermometerRow, times: Sequence[ShiftTime], plans: Mapping[int, schedule.Plan]
) -> tuple[list[ShiftTime], ByPoint]:
    """The shifts in which each asked for one, and in the others, by point, those in which it was asked for every so
    many days."""
    each_shift: list[ShiftTime] = []
    by_days: dict[str | None, list[tuple[ShiftTime, int]]] = defaultdict(list)
    known: dict[int, list[DueRule]] = {}  # a plan is one object for all shifts in which it was in force
    for time in times:
        plan = plans[time.begins_at]
        if id(plan) not in known:
            known[id(plan)] = schedule.rules_for(plan, row.type or "", site, row.thermometer)
        rules_then = known[id(plan)]
        if any(rule.code == "each_shift" for rule in rules_then):
            each_shift.append(time)
            continue
        for rule in rules_then:
            if rule.code == "every_days":
                by_days[rule.point].append((time, rule.days or 1))
    return each_shift, by_days


def _near(time: ShiftTime, checks: Sequence[Decided]) -> tuple[int, ...]:
    """The checks that count for a shift."""
    return tuple(one.at for one in checks if sentinels.opens_at(time) <= one.at <= time.ends_at)


def was_in_use(then: Past, thermometer: str, site: str, time: ShiftTime, enrolled_at: int) -> bool:
    """At the beginning of a shift; one that was enrolled in it could still be checked in it, but not be missed."""
    at = max(time.begins_at, enrolled_at)
    in_use = then.status_at(thermometer, at) not in schedule.OWES_NOTHING
    return at <= time.ends_at and in_use and then.site_at(thermometer, at) == site


def _by_shift(
    site: Fact[SiteSet],
    row: ThermometerRow,
    times: Sequence[ShiftTime],
    checks: Sequence[Decided],
    answers: Sequence[schedule.Answer],
    now: int,
) -> Iterator[Asked]:
    """As the schedule counts them, each shift by itself."""
    history = History(
        row.thermometer,
        row.thermometer,
        row.type or "",
        site.subject,
        row.hot,
        row.enrolled_at or 0,
        "in_service",
        {},
        answers=tuple(answers),
    )
    reasons = {(one.shift, one.day): one.reason for one in answers}
    for time in times:
        near = _near(time, checks)
        after = time.ends_at + 1
        counted = schedule.missed(replace(history, checks_at=near), (time,), time.ends_at, after, max(now, after))
        if now <= time.ends_at:
            counted = {state: n for state, n in counted.items() if state != "missed"} or {"open": 1}
        for state in counted:
            reason = reasons.get((time.shift.id, time.day), "") if state in ANSWERS else ""
            yield Asked(row.thermometer, time.day, time, state, reason)


def _by_days(
    zone: str,
    row: ThermometerRow,
    point: str | None,
    times: Sequence[tuple[ShiftTime, int]],
    checks: Sequence[Decided],
    answers: Sequence[schedule.Answer],
    now: int,
) -> Iterator[Asked]:
    """Wanted once in so many days, on a day that is worked. checks: at this point.

    An interval ends by a check, which is *done*, or by the end of the last shift of its day without one; after a miss
    the next is wanted so many days later, after an answer on the next day worked.
    """
    worked = {time.day: (time, days) for time, days in times}  # the last shift of each day
    checked_on = sorted({day_at(one.at, zone) for one in checks})
    wanted_on = date.min
    for day, (time, days) in worked.items():
        step = timedelta(days=days)
        before = bisect_left(checked_on, day)
        if before:
            wanted_on = max(wanted_on, checked_on[before - 1] + step)
        if day in checked_on[before : before + 1]:
            yield Asked(row.thermometer, day, time, "done", by_days=True, point=point)
        elif day >= wanted_on and (answer := next((one for one in reversed(answers) if one.day == day), None)):
            yield Asked(row.thermometer, day, time, answer.code, answer.reason, by_days=True, point=point)
        elif day >= wanted_on and now <= time.ends_at:
            yield Asked(row.thermometer, day, time, "open", by_days=True, point=point)
        elif day >= wanted_on and (row.enrolled_at or 0) <= time.begins_at:
            yield Asked(row.thermometer, day, time, "missed", by_days=True, point=point)
            wanted_on = day + step


def _answers(
    connection: Connection, wanted: Iterable[str], times: Sequence[ShiftTime], from_at: int, to_at: int
) -> dict[str, list[schedule.Answer]]:
    """What was said instead of a check, and readings that could not be had, by thermometer; the last said last."""
    here = set(wanted)
    kinds = ("not_checked", "reading_taken")
    found: dict[str, list[schedule.Answer]] = defaultdict(list)
    for one in looking_back.said_in(connection, kinds, from_at - 2 * DAY_US, to_at + 2 * DAY_US):
        if one.subject in here and not one.voided and (answer := _answer(one, times)):
            found[one.subject].append(answer)
    return found


def _answer(one: SaidThen, times: Sequence[ShiftTime]) -> schedule.Answer | None:
    said = one.payload
    if one.kind == "not_checked":
        return schedule.Answer(said["shift"], date.fromisoformat(said["day"]), said["why"])
    on = [time for time in times if time.begins_at - schedule.EARLY_US <= one.at <= time.ends_at]
    if said["role"] != "no_reading" or not on:
        return None
    return schedule.Answer(on[-1].shift.id, on[-1].day, "no_reading", said["why"])
