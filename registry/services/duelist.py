"""What is due, when and why: for one thermometer, a site, or all."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueItem, History, ShiftTime
from registry.records.places import SiteSet
from registry.services import places, rules
from registry.services.session import Session
from registry.store import queries
from registry.store.queries import Fact, ThermometerRow

DAY_US = 86_400_000_000
LOOK_BACK_DAYS = 2  # missed shifts are told this long; older ones are in the statistics
LOOK_AHEAD_DAYS = 8
OPEN_STATES = ("overdue", "due", "not_found", "no_reading")


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the due list: a thermometer, what is wanted, and why (a code with values, to be worded)."""

    row: ThermometerRow
    item: DueItem
    zone: str


@dataclass(frozen=True, slots=True)
class _Site:
    """A site with its shifts worked out once for all its thermometers."""

    site: SiteSet
    times: tuple[ShiftTime, ...]
    plan: schedule.Plan


def due_list(session: Session, connection: Connection, site: str | None = None, *, now: int | None = None) -> list[Due]:
    """Everything wanted now at a site or at all of them, the most urgent first."""
    now = session.clock() if now is None else now
    found = []
    for one, rows in _by_site(session, connection, site, now):
        answers = _answers(connection, rows, now - LOOK_BACK_DAYS * DAY_US)
        for row in rows:
            history = history_of(_deciding(connection, row), answers.get(row.thermometer, ()), ())
            items = schedule.due(history, one.plan, one.times, one.site.zone, now, now - LOOK_BACK_DAYS * DAY_US)
            found += [Due(row, item, one.site.zone) for item in items]
    return sorted(found, key=lambda one: (*_urgency(one.item), one.row.tag_id or ""))


def _deciding(connection: Connection, row: ThermometerRow) -> ThermometerRow:
    """A check whose bath was judged and that decided nothing (a condemned bath) has not done what was due."""
    if row.last_check is None or row.last_outcome is not None:
        return row
    view = queries.check(connection, row.last_check)
    bath = queries.bath(connection, view.bath) if view is not None and view.bath is not None else None
    return row if bath is None or bath.judged is None else replace(row, last_check_at=None)


def _urgency(item: DueItem) -> tuple[int, int]:
    first = item.code in ("check_first", "after_incident")
    return (0 if first else schedule.URGENCY.get(item.state, 5), item.due_at)


def _by_site(
    session: Session, connection: Connection, site: str | None, now: int
) -> Iterable[tuple[_Site, list[ThermometerRow]]]:
    rows: dict[str, list[ThermometerRow]] = defaultdict(list)
    for row in queries.thermometers(connection, site=site):
        if row.site is not None:
            rows[row.site].append(row)
    for fact in places.sites(connection):
        if fact.subject in rows:
            yield _site(connection, fact, now), rows[fact.subject]


def _site(connection: Connection, fact: Fact[SiteSet], now: int) -> _Site:
    planned = [places.as_scheduled(one) for one in places.shifts(connection, fact.subject)]
    times = schedule.shift_times(
        planned, fact.payload.zone, now - LOOK_BACK_DAYS * DAY_US, now + LOOK_AHEAD_DAYS * DAY_US
    )
    plan = rules.due_rules(rules.rules_in_force(connection, fact.subject).plan)
    return _Site(fact.payload, times, plan)


def _answers(
    connection: Connection, rows: Sequence[ThermometerRow], since: int
) -> Mapping[str, tuple[schedule.Answer, ...]]:
    """What was said instead of a check, and readings that could not be had, by thermometer."""
    wanted = {row.thermometer for row in rows}
    found: dict[str, list[schedule.Answer]] = defaultdict(list)
    for event in queries.events_of_kind(connection, "not_checked", since=since):
        if event.subject in wanted and not event.voided:
            said = queries.entry_at(connection, event.chain_no, event.seq).payload
            found[event.subject].append(schedule.Answer(said["shift"], date.fromisoformat(said["day"]), said["why"]))
    return {thermometer: tuple(answers) for thermometer, answers in found.items()}


def history_of(row: ThermometerRow, answers: tuple[schedule.Answer, ...], checks_at: tuple[int, ...]) -> History:
    """The summary row as the schedule takes it."""
    good = {
        point: at
        for point, at in (
            ("ice_point", row.good_ice_at),
            ("boiling_point", row.good_boil_at),
            ("comparison", row.good_comparison_at),
        )
        if at is not None
    }
    return History(
        row.thermometer,
        row.thermometer,
        row.type or "",
        row.site or "",
        row.hot,
        row.enrolled_at or 0,
        row.service_status,
        good,
        last_check_at=row.last_check_at,
        last_good_at=row.good_at,
        last_good_hot_at=row.good_hot_at,
        incident_at=row.incident_at,
        incident_code=row.incident or "",
        failed_at=row.failed_at,
        adjusted_at=row.adjusted_at,
        adjusted_checked_since=row.adjusted_at is not None and (row.last_check_at or 0) > row.adjusted_at,
        reference_due_day=date.fromisoformat(row.reference_due) if row.reference_due else None,
        answers=answers,
        checks_at=checks_at or ((row.last_check_at,) if row.last_check_at is not None else ()),
    )


def recheck_by(session: Session, connection: Connection, row: ThermometerRow) -> date | None:
    """The day by which the owner's plan wants the next check, for tags and certificates; a check today is done."""
    fact = queries.facts_of(connection, row.site).get("site") if row.site else None
    if fact is None:
        return None
    now = session.clock()
    one = _site(connection, fact, now)
    history = history_of(row, (), ())
    item = schedule.next_due(history, one.plan, one.times, one.site.zone, now, now)
    return item.day if item else None


def missed_shifts(
    session: Session, connection: Connection, site: Fact[SiteSet], from_at: int, to_at: int
) -> dict[str, dict[str, int]]:
    """For each thermometer of a site: how many shifts of a period came to which state (missed, not used, ...)."""
    now = session.clock()
    planned = [places.as_scheduled(one) for one in places.shifts(connection, site.subject)]
    times = schedule.shift_times(planned, site.payload.zone, from_at, to_at)
    rows = queries.thermometers(connection, site=site.subject)
    answers = _answers(connection, rows, from_at)
    found = {}
    for row in rows:
        checks = tuple(one.at for one in queries.checks_of(connection, row.thermometer, since=from_at, until=to_at))
        history = history_of(row, answers.get(row.thermometer, ()), checks)
        found[row.thermometer] = schedule.missed(history, times, from_at, to_at, now)
    return found
