"""Days on which a site, a shift or a station is closed, and days on which it is open all the same.

A calendar is stated anew under its id; stated open it opens what another closes, withdrawn it says nothing more. It
counts for a shift where it was stated before that ended: what was missed already is not closed afterwards, and what was
closed already is not missed afterwards.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy import Connection

from registry.compute.schedule import ShiftTime
from registry.records.places import CalendarSet
from registry.services import places
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import Actor, Session, state_once
from registry.store import looking_back, queries
from registry.store.looking_back import Version

KINDS = ("closed", "open")
WITHDRAWN = "withdrawn"
WHY = ("holiday", "works", "no_service", "other_reason")
MOST_DAYS = 400


def state(
    session: Session,
    actor: Actor,
    site: str,
    first: date,
    last: date,
    *,
    kind: str = "closed",
    shifts: Sequence[str] = (),
    stations: Sequence[str] = (),
    why: str | None = None,
    calendar: str | None = None,
) -> str:
    """Close (or open) a site from a day to a day inclusive, or only some of its shifts or stations; returns its id.

    Stated with the id of another it takes its place.
    """
    problems = []
    if last < first:
        problems.append(Problem("to_day", "before_from_day"))
    elif last > first + timedelta(days=MOST_DAYS):
        problems.append(Problem("to_day", "too_far", {"value": last.isoformat()}))
    if kind not in KINDS:
        problems.append(Problem("kind", "choose", {"value": kind, "choices": ", ".join(KINDS)}))
    if why is not None and why not in WHY:
        problems.append(Problem("why", "choose", {"value": why, "choices": ", ".join(WHY)}))
    if problems:
        raise Refused(*problems)
    calendar = calendar or session.new_id()
    with session.recording(actor, "officer") as entries:
        places.site_named_by_id(entries.connection, site)
        for field, known, wanted in (
            ("shift", places.shifts(entries.connection, site), shifts),
            ("station", places.stations(entries.connection, site), stations),
        ):
            if unknown := set(wanted) - {one.subject for one in known}:
                raise refuse(field, "unknown", value=min(unknown))
        stated_now = CalendarSet(
            site=site,
            calendar=calendar,
            calendar_kind=kind,
            from_day=first.isoformat(),
            to_day=last.isoformat(),
            shifts=tuple(sorted(shifts)) or None,
            stations=tuple(sorted(stations)) or None,
            why=why,
        )
        state_once(entries, stated_now)
    return calendar


def withdraw(session: Session, actor: Actor, site: str, calendar: str) -> None:
    """Take a calendar back, from now on; refused where its last day is past, for nothing would change."""
    with session.recording(actor, "officer") as entries:
        fact = queries.facts_of(entries.connection, site).get(f"calendar:{calendar}")
        if fact is None or fact.payload.calendar_kind == WITHDRAWN:
            raise refuse("calendar", "unknown")
        today = session.today(places.site_named_by_id(entries.connection, site).payload)
        if date.fromisoformat(fact.payload.to_day) < today:
            raise refuse("calendar", "is_past")
        state_once(entries, replace(fact.payload, calendar_kind=WITHDRAWN))


def to_come(connection: Connection, site: str, today: date) -> list[CalendarSet]:
    """What stands of a site's calendars for today and later, by its first day."""
    those = [
        fact.payload for field, fact in queries.facts_of(connection, site).items() if field.startswith("calendar:")
    ]
    standing = [one for one in those if one.calendar_kind != WITHDRAWN and date.fromisoformat(one.to_day) >= today]
    return sorted(standing, key=lambda one: (one.from_day, one.to_day, one.calendar))


def stated(connection: Connection) -> dict[str, list[Version]]:
    """All that was ever stated of calendars, by site, in order."""
    found: dict[str, list[Version]] = defaultdict(list)
    fields = {
        field
        for site in places.sites(connection)
        for field in queries.facts_of(connection, site.subject)
        if field.startswith("calendar:")
    }
    for one in looking_back.versions(connection, *sorted(fields)) if fields else ():
        found[one.subject].append(one)
    return found


def of_site(connection: Connection, site: str) -> list[Version]:
    """The same of one site."""
    fields = [field for field in queries.facts_of(connection, site) if field.startswith("calendar:")]
    if not fields:
        return []
    return [one for one in looking_back.versions(connection, *fields) if one.subject == site]


def is_closed(closings: Sequence[Version], time: ShiftTime, station: str | None = None) -> bool:
    """Whether a shift is closed, or only a station in it, as stood before it ended; what is open goes before."""
    return _is_closed(_standing(closings, time.ends_at).values(), time.day, time.shift.id, station)


def closed_days(closings: Sequence[Version]) -> frozenset[date]:
    """The days on which a whole site is closed, as it stands now."""
    now = list(_standing(closings, 2**62).values())
    days = set()
    for one in now:
        first, last = _days(one)
        days |= {first + timedelta(n) for n in range((last - first).days + 1)}
    return frozenset(day for day in days if _is_closed(now, day, None, None))


def _standing(closings: Sequence[Version], at: int) -> Mapping[str, Version]:
    return {one.field: one for one in closings if one.at <= at}  # the last of each


def _is_closed(those: Iterable[Version], day: date, shift: str | None, station: str | None) -> bool:
    on = [one for one in those if _days(one)[0] <= day <= _days(one)[1]]
    fitting = [one for one in on if _fits(one, shift, station)]
    return any(one.payload["calendar_kind"] == "closed" for one in fitting) and not any(
        one.payload["calendar_kind"] == "open" for one in fitting
    )


def _fits(one: Version, shift: str | None, station: str | None) -> bool:
    """A calendar of some shifts or stations is for these only."""
    shifts, stations = one.payload.get("shifts"), one.payload.get("stations")
    return (not shifts or shift in shifts) and (not stations or station in stations)


def _days(one: Version) -> tuple[date, date]:
    return date.fromisoformat(one.payload["from_day"]), date.fromisoformat(one.payload["to_day"])
