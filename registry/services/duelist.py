"""What is due, when and why: for one thermometer, a site, or all."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueItem, History, ShiftTime
from registry.quantity import TemperatureDifference
from registry.records.places import SiteSet
from registry.services import calendars, places, plan_kept, rules, sentinels
from registry.services.plan_kept import Past
from registry.services.sentinels import Turns
from registry.services.session import Session
from registry.store import looking_back, queries
from registry.store.looking_back import Version
from registry.store.queries import CheckView, EventView, Fact, ThermometerRow

DAY_US = 86_400_000_000
LOOK_BACK_DAYS = 2  # missed shifts are told this long; older ones are in the statistics
LOOK_AHEAD_DAYS = 8
NEWEST = 12  # how many checks are looked through for one that decided something
First = Literal["", "now", "hot"]  # what the plan wants before the next use
OPEN_STATES = ("overdue", "due", "not_found", "no_reading")


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the due list: a thermometer, what is wanted, and why (a code with values, to be worded)."""

    row: ThermometerRow
    item: DueItem
    zone: str


@dataclass(frozen=True, slots=True)
class SiteDue:
    """A site with its shifts worked out once for all its thermometers. plan: the one in force now."""

    site: SiteSet
    times: tuple[ShiftTime, ...]
    plan: schedule.Plan
    closings: Sequence[Version] = ()
    closed: frozenset[date] = frozenset()

    def closed_for(self, station: str | None) -> tuple[schedule.Answer, ...]:
        """The shifts in which a station is closed, as answered."""
        if station is None or not self.closings:
            return ()
        those = [time for time in self.times if calendars.is_closed(self.closings, time, station)]
        return tuple(schedule.Answer(time.shift.id, time.day, "station_closed") for time in those)


def due_list(session: Session, connection: Connection, site: str | None = None, *, now: int | None = None) -> list[Due]:
    """Everything wanted now at a site or at all of them, the most urgent first."""
    now = session.clock() if now is None else now
    found = []
    restated = lately(connection, now)
    for fact, rows in _by_site(connection, site):
        one = at_site(connection, fact, now)
        answers = answers_of(connection, rows, one.times, now - LOOK_BACK_DAYS * DAY_US)
        forecast = forecasts(session, connection, one, rows)
        before = last_days(connection, fact.subject, one, rows, rows, now, restated)
        for row in rows:
            history = before.history_of(connection, row, answers.get(row.thermometer, ()))
            if row.thermometer in forecast:
                day, point = forecast[row.thermometer]
                history = replace(history, forecast_day=day, forecast_point=point)
            found += [Due(row, item, one.site.zone) for item in before.due(history, one.plan)]
    return sorted(found, key=lambda one: (*_urgency(one.item), one.row.tag_id or ""))


@dataclass(frozen=True, slots=True)
class ChecksDone:
    """When a thermometer was checked: what decided something, oldest first, and the last whose bath is still open."""

    decided: tuple[int, ...] = ()
    waits_at: int | None = None


def last_checks(connection: Connection, row: ThermometerRow) -> ChecksDone:
    """By the summary; only where its last check has no outcome are its latest ones looked up."""
    if row.last_check_at is None:
        return ChecksDone()
    if row.last_outcome is not None:
        return ChecksDone((row.last_check_at,))
    return _sorted_out(connection, queries.checks_of(connection, row.thermometer, newest=NEWEST))


def _sorted_out(connection: Connection, views: Sequence[CheckView]) -> ChecksDone:
    """A check in a condemned bath, or one that cannot decide, has done nothing of what was due."""
    standing = [one for one in views if not one.voided]
    undecided = [one for one in standing if one.outcome is None and one.bath is not None]
    waits = [one.at for one in undecided if _is_open(connection, one)]
    return ChecksDone(tuple(one.at for one in standing if one.outcome is not None), max(waits, default=None))


def _is_open(connection: Connection, view: CheckView) -> bool:
    bath = queries.bath(connection, view.bath or "")
    return bath is not None and bath.judged is None


def _urgency(item: DueItem) -> tuple[int, int]:
    return schedule.urgency(item), item.due_at


def _by_site(connection: Connection, site: str | None) -> Iterable[tuple[Fact[SiteSet], list[ThermometerRow]]]:
    rows: dict[str, list[ThermometerRow]] = defaultdict(list)
    for row in queries.thermometers(connection, site=site):
        if row.site is not None:
            rows[row.site].append(row)
    for fact in places.sites(connection):
        if fact.subject in rows:
            yield fact, rows[fact.subject]


def at_site(connection: Connection, fact: Fact[SiteSet], now: int) -> SiteDue:
    times = places.shift_times(connection, fact, now - LOOK_BACK_DAYS * DAY_US, now + LOOK_AHEAD_DAYS * DAY_US)
    plan = rules.due_rules(rules.rules_in_force(connection, fact.subject).plan)
    closings = calendars.of_site(connection, fact.subject)
    if not closings:
        return SiteDue(fact.payload, times, plan)
    open_times = tuple(time for time in times if not calendars.is_closed(closings, time))
    return SiteDue(fact.payload, open_times, plan, closings, calendars.closed_days(closings))


# --- the last days -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LastDays:
    """What stood and was done at a site in the shifts of the last days and in the one that is on.

    then: the plan in which a shift began, by when it did, where it is not the one in force now. turns: the sentinel of
    each. restated: those that came, went, or were in use again since, as they stood. checks: when each was checked so
    that it counts.
    """

    at: SiteDue
    site: str
    now: int
    then: Mapping[int, schedule.Plan]
    turns: Turns
    restated: Past
    checks: Mapping[str, tuple[int, ...]]

    def history_of(
        self, connection: Connection, row: ThermometerRow, answers: tuple[schedule.Answer, ...] = ()
    ) -> History:
        """As the schedule takes it; answers: what was said of it."""
        history = history_of(row, (*self._closed_for(row), *answers), last_checks(connection, row))
        mine = frozenset(shift for shift, one in self.turns.items() if one == row.thermometer)
        return replace(history, turns=mine, checks_at=self.checks.get(row.thermometer, ()))

    def due(self, history: History, plan: schedule.Plan) -> tuple[DueItem, ...]:
        """What one owes by the plan of now; of shifts that ended, of those in which it was here and in use."""
        times, since = self.at.times, self.now - LOOK_BACK_DAYS * DAY_US
        if history.thermometer in self.restated.rows:
            times = tuple(time for time in times if self.now <= time.ends_at or self._was_in_use(history, time))
        return schedule.due(history, plan, times, self.at.site.zone, self.now, since, self.at.closed, self.then)

    def _was_in_use(self, history: History, time: ShiftTime) -> bool:
        return plan_kept.was_in_use(self.restated, history.thermometer, self.site, time, history.enrolled_at)

    def _closed_for(self, row: ThermometerRow) -> Sequence[schedule.Answer]:
        """The shifts in which its station was closed; of those that ended, the station where it was then."""
        closed = self.at.closed_for(row.station)
        if row.thermometer not in self.restated.rows or not self.at.closings:
            return closed
        ended = [time for time in self.at.times if time.ends_at < self.now]
        over = {(time.shift.id, time.day) for time in ended}
        then = plan_kept.closed_for(self.restated, self.site, row.thermometer, ended)
        return [*then, *(one for one in closed if (one.shift, one.day) not in over)]


def last_days(
    connection: Connection,
    site: str,
    one: SiteDue,
    rows: Sequence[ThermometerRow],
    here: Sequence[ThermometerRow],
    now: int,
    restated: Past | None = None,
) -> LastDays:
    """rows: of whom it is asked; here: all of the site, of whom one is the sentinel. restated: as `lately`."""
    begun = [time for time in one.times if time.begins_at <= now]
    plans = plan_kept.plans_of(looking_back.versions(connection, "plan", f"plan:{site}"), site, begun)
    then = {begun_at: plan for begun_at, plan in plans.items() if plan != one.plan}
    restated = replace(restated or lately(connection, now), calendars={site: one.closings})
    turns = _turns(connection, site, one, then, here, now, restated)
    return LastDays(one, site, now, then, turns, restated, _checks_at(connection, rows, one.times, now))


def lately(connection: Connection, now: int) -> Past:
    """Those that moved or got another service status in the last days, with all that was ever stated of it."""
    since = now - (LOOK_BACK_DAYS + 2) * DAY_US  # a shift that is listed began a day earlier at most
    some = looking_back.stated(connection, since, "place", again=True)
    some |= looking_back.stated(connection, since, "service_status")
    found: dict[str, dict[str, list[Version]]] = {"place": defaultdict(list), "service_status": defaultdict(list)}
    for version in looking_back.versions_of(connection, some, *found):
        found[version.field][version.subject].append(version)
    rows = {one: row for one in some if (row := queries.thermometer(connection, one)) is not None}
    return Past(rows, found["place"], found["service_status"], {}, {}, ())


def _turns(
    connection: Connection,
    site: str,
    one: SiteDue,
    then: Mapping[int, schedule.Plan],
    here: Sequence[ThermometerRow],
    now: int,
    restated: Past,
) -> Turns:
    """As looking back finds them; also of a shift that opened and has not begun."""
    if not any(rule.code == "sentinel" for plan in (one.plan, *then.values()) for rule in plan):
        return {}
    times = [time for time in one.times if sentinels.opens_at(time) <= now]
    plans = {time.begins_at: then.get(time.begins_at, one.plan) for time in times}
    steady = {row.thermometer: row for row in here if row.thermometer not in restated.rows}

    def free(thermometer: str, time: ShiftTime) -> bool:
        row = steady.get(thermometer)
        if row is None:
            return plan_kept.was_free(restated, site, thermometer, time)
        in_service = row.service_status == "in_service" and (row.enrolled_at or 0) <= sentinels.opens_at(time)
        return in_service and plan_kept.is_open(one.closings, row.station, time)

    others = [restated.rows[of] for of in restated.of_site(site) if of in restated.rows]
    return sentinels.turns(connection, site, one.site.zone, times, plans, [*steady.values(), *others], free)


def _checks_at(
    connection: Connection, rows: Sequence[ThermometerRow], times: Sequence[ShiftTime], now: int
) -> dict[str, tuple[int, ...]]:
    """When each was checked, so that it counts, since the first of these shifts opened."""
    since = min((sentinels.opens_at(time) for time in times), default=now)
    some = [row.thermometer for row in rows if (row.last_check_at or 0) >= since]
    found: dict[str, list[int]] = defaultdict(list)
    for check in looking_back.decided(connection, some, since, now + 1):
        found[check.thermometer].append(check.at)
    return {thermometer: tuple(ats) for thermometer, ats in found.items()}


def forecast_days(
    session: Session, connection: Connection, at: SiteDue, rows: Sequence[ThermometerRow]
) -> dict[str, date]:
    """As `forecasts`, the day alone."""
    return {one: day for one, (day, _) in forecasts(session, connection, at, rows).items()}


def forecasts(
    session: Session, connection: Connection, at: SiteDue, rows: Sequence[ThermometerRow]
) -> dict[str, tuple[date, str]]:
    """The day on which each one's track says that it may be out, where the plan asks for a check by then; and at which
    of its points, where it is checked at several."""
    if not any(rule.code == "forecast" for rule in at.plan):
        return {}
    from registry.services import outlook, thermometers, tracking  # late: a plan without it tracks nobody

    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    found = {}
    for one, known in tracking.tracked(session, connection, those).items():
        in_force = rules.rules_in_force(connection, known.of.row.site)
        permitted = in_force.tolerance(known.of.facts.class_ or known.of.type.tolerance_class, known.of.scale)
        limit = TemperatureDifference.from_text(permitted.tolerance) if permitted else None
        told = outlook.outlook(known, session.clock(), limit, zone=at.site.zone)
        if told.out_on is not None:
            first = next((each.kind for each in told.points if each.out_on == told.out_on), "")
            found[one] = (told.out_on, first if len(told.points) > 1 else "")
    return found


def answers_of(
    connection: Connection, rows: Sequence[ThermometerRow], times: Sequence[ShiftTime], since: int
) -> Mapping[str, tuple[schedule.Answer, ...]]:
    """What was said instead of a check, and readings that could not be had, by thermometer; the last said last.

    Who could not be read is answered for the shift that was on then, where one was.
    """
    wanted = {row.thermometer for row in rows}
    events = [
        event
        for kind in ("not_checked", "reading_taken")
        for event in queries.events_of_kind(connection, kind, since=since)
        if event.subject in wanted and event.detail and not event.voided
    ]
    found: dict[str, list[schedule.Answer]] = defaultdict(list)
    for event in sorted(events, key=lambda one: (one.at, one.chain_no, one.seq)):
        if (answer := _answer(connection, event, times)) is not None:
            found[event.subject].append(answer)
    return {thermometer: tuple(answers) for thermometer, answers in found.items()}


def _answer(connection: Connection, event: EventView, times: Sequence[ShiftTime]) -> schedule.Answer | None:
    said = queries.entry_at(connection, event.chain_no, event.seq).payload
    if event.kind == "not_checked":
        return schedule.Answer(said["shift"], date.fromisoformat(said["day"]), said["why"])
    on = [time for time in times if time.begins_at - schedule.EARLY_US <= event.at <= time.ends_at]
    if said["role"] != "no_reading" or not on:
        return None
    return schedule.Answer(on[-1].shift.id, on[-1].day, "no_reading", said["why"])


def history_of(row: ThermometerRow, answers: tuple[schedule.Answer, ...], checks: ChecksDone) -> History:
    """The summary row as the schedule takes it; what was good before an adjustment no longer is."""

    def standing(at: int | None) -> int | None:
        return None if at is None or at < (row.adjusted_at or 0) else at

    points = {
        "ice_point": standing(row.good_ice_at),
        "boiling_point": standing(row.good_boil_at),
        "comparison": standing(row.good_comparison_at),
    }
    good = {point: at for point, at in points.items() if at is not None}
    last_at = max(checks.decided, default=None)
    return History(
        row.thermometer,
        row.thermometer,
        row.type or "",
        row.site or "",
        row.hot,
        row.enrolled_at or 0,
        row.service_status,
        good,
        last_check_at=last_at,
        last_good_at=max(good.values(), default=None),
        last_good_hot_at=standing(row.good_hot_at),
        incident_at=row.incident_at,
        incident_code=row.incident or "",
        failed_at=row.failed_at,
        adjusted_at=row.adjusted_at,
        adjusted_checked_since=row.adjusted_at is not None and (last_at or 0) > row.adjusted_at,
        reference_due_day=date.fromisoformat(row.reference_due) if row.reference_due else None,
        answers=answers,
        checks_at=checks.decided,
        waits_at=checks.waits_at,
    )


@dataclass(frozen=True, slots=True)
class Recheck:
    """When the owner's plan wants the next check. by: the day; None where it wants none.

    first: `now` where it wants one before the next use, `hot` where that is the hot point alone. points: where it was
    good and nothing unsettled that since.
    """

    by: date | None = None
    first: First = ""
    points: tuple[str, ...] = ()

    def first_of(self, only: str, today: date) -> First:
        """The same of one limited to hot or cold: cold food does not ask for its hot point, but its day may be past."""
        if self.first != "hot" or only != "cold":
            return self.first
        return "now" if self.by is not None and self.by < today else ""


def recheck(session: Session, connection: Connection, row: ThermometerRow) -> Recheck:
    """For tags, lists on the wall and certificates; a check today is done.

    A hot point that was never good, or not since an adjustment, is wanted before the next use: nothing is known there.
    """
    fact = queries.facts_of(connection, row.site).get("site") if row.site else None
    if fact is None:
        return Recheck()
    now = session.clock()
    one = at_site(connection, fact, now)
    days = forecast_days(session, connection, one, [row])
    history = history_of(row, one.closed_for(row.station), last_checks(connection, row))
    history = replace(history, forecast_day=days.get(row.thermometer))
    items = schedule.coming(history, one.plan, one.times, one.site.zone, now, now, one.closed)
    points = tuple(history.last_good_by_point)
    if not items:
        return Recheck(points=points)
    item = min(items, key=lambda each: (each.due_at, each.code))
    firsts = {_first(each) for each in items if each.opens_at <= now}
    first: First = "now" if "now" in firsts else "hot" if "hot" in firsts else ""
    by = item.day
    if item.shift is not None and item.opens_at <= now:  # a night shift that is on ends on the day after
        by = schedule.local_day(item.due_at - 1, schedule.time_zone(one.site.zone))
    return Recheck(by, first, points)


def recheck_by(session: Session, connection: Connection, row: ThermometerRow) -> date | None:
    """The day alone."""
    return recheck(session, connection, row).by


def _first(item: DueItem) -> First:
    if item.code == "hot_point":
        return "hot" if item.state == "overdue" or item.why[0] in ("hot_point_never", "adjusted_hot") else ""
    return "now" if item.state == "overdue" or item.code in schedule.BEFORE_USE else ""
