"""Sites, stations and shifts."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.atmosphere import ELEVATION_RANGE_M, PressureSource
from registry.quantity import Length
from registry.records.places import ShiftSet, SiteSet, StationSet
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import Actor, Session, clean, state_once
from registry.store import looking_back, queries
from registry.store.looking_back import Version
from registry.store.queries import Fact

DAY_US = 86_400_000_000
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class NewSite:
    """A kitchen. letters: two, which begin the tag ids given here."""

    name: str
    letters: str
    zone: str
    elevation: Length
    pressure_source: str = "elevation"
    address: str = ""


def add_site(session: Session, actor: Actor, new: NewSite, *, site: str | None = None) -> str:
    """Add a site; returns its id. A second press with the same id records once."""
    site = site or session.new_id()
    with session.recording(actor, "officer") as entries:
        if "site" in queries.facts_of(entries.connection, site):
            return site
        if problems := _site_problems(new) + _taken(entries.connection, new):
            raise Refused(*problems)
        entries.replace(_site(site, new))
    return site


def change_site(session: Session, actor: Actor, site: str, new: NewSite) -> None:
    """State a site anew: a corrected elevation, another pressure source."""
    with session.recording(actor, "officer") as entries:
        site_named_by_id(entries.connection, site)
        if problems := _site_problems(new) + _taken(entries.connection, new, but=site):
            raise Refused(*problems)
        state_once(entries, _site(site, new))


def _taken(connection: Connection, new: NewSite, but: str = "") -> list[Problem]:
    """Letters or a name that another site has."""
    problems = []
    for one in sites(connection):
        if one.subject != but and one.payload.letters == new.letters.upper():
            problems.append(Problem("letters", "taken", {"value": new.letters.upper()}))
        if one.subject != but and one.payload.name.casefold() == clean(new.name).casefold():
            problems.append(Problem("name", "taken", {"value": new.name}))
    return problems


def _site(site: str, new: NewSite) -> SiteSet:
    return SiteSet(
        site=site,
        name=clean(new.name),
        letters=new.letters.upper(),
        zone=new.zone,
        elevation=new.elevation.text(),
        pressure_source=new.pressure_source,
        address=clean(new.address) or None,
    )


def _site_problems(new: NewSite) -> list[Problem]:
    problems = []
    if not new.name.strip():
        problems.append(Problem("name", "empty"))
    if not re.fullmatch("[A-Za-z]{2}", new.letters):
        problems.append(Problem("letters", "two_letters", {"value": new.letters}))
    if not new.zone:
        problems.append(Problem("zone", "unchosen"))
    elif not _known_zone(new.zone):
        problems.append(Problem("zone", "unknown", {"value": new.zone}))
    if not ELEVATION_RANGE_M[0] <= new.elevation.metres() <= ELEVATION_RANGE_M[1]:
        problems.append(Problem("elevation", "out_of_range", {"value": new.elevation.text()}))
    if new.pressure_source not in list(PressureSource):
        problems.append(Problem("pressure_source", "unknown", {"value": new.pressure_source}))
    return problems


def _known_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return bool(name)


def sites(connection: Connection) -> list[Fact[SiteSet]]:
    return sorted(queries.facts_named(connection, "site", SiteSet), key=lambda one: one.payload.name)


def names(connection: Connection) -> dict[str, str]:
    """Of sites and stations, by id."""
    found = {one.subject: one.payload.name for one in sites(connection)}
    return found | {one.subject: one.payload.name for one in stations(connection)}


def site_named(connection: Connection, wanted: str) -> Fact[SiteSet]:
    """By its letters or its name; the only one where nothing is said."""
    found = sites(connection)
    if wanted.strip():
        low = clean(wanted).casefold()
        found = [one for one in found if low in (one.payload.letters.casefold(), one.payload.name.casefold())]
    if len(found) != 1:
        raise refuse("site", "unknown" if not found else "say_which", value=wanted)
    return found[0]


def site_named_by_id(connection: Connection, site: str) -> Fact[SiteSet]:
    found = queries.facts_of(connection, site).get("site")
    if found is None:
        raise refuse("site", "unknown", value=site)
    return found


def add_station(session: Session, actor: Actor, site: str, name: str, *, station: str | None = None) -> str:
    """Add a station at a site; returns its id. A second press with the same id records once."""
    if not name.strip():
        raise refuse("station", "empty")
    station, name = station or session.new_id(), clean(name)
    with session.recording(actor, "officer") as entries:
        site_named_by_id(entries.connection, site)
        here = stations(entries.connection, site)
        if any(one.subject == station for one in here):
            return station
        if any(one.payload.name.casefold() == name.casefold() for one in here):
            raise refuse("station", "taken", value=name)
        entries.replace(StationSet(station=station, site=site, name=name))
    return station


def stations(connection: Connection, site: str | None = None) -> list[Fact[StationSet]]:
    found = queries.facts_named(connection, "station", StationSet)
    return sorted((one for one in found if site in (None, one.payload.site)), key=lambda one: one.payload.name)


def station_named(connection: Connection, site: str, wanted: str) -> Fact[StationSet]:
    low = clean(wanted).casefold()
    found = [one for one in stations(connection, site) if one.payload.name.casefold() == low]
    if not found:
        raise refuse("station", "unknown", value=wanted)
    return found[0]


@dataclass(frozen=True, slots=True)
class NewShift:
    """A working period in local time, over midnight where it ends before it starts. weekdays: 0 to 6, Monday 0."""

    name: str
    start: str
    end: str
    weekdays: tuple[int, ...]


def add_shift(
    session: Session,
    actor: Actor,
    site: str,
    name: str,
    start: str,
    end: str,
    weekdays: tuple[int, ...],
    from_day: date,
    *,
    shift: str | None = None,
) -> str:
    """Add a working period, see `NewShift`; returns its id. A second press with the same id records once."""
    new = NewShift(name, start, end, weekdays)
    if problems := _shift_problems(new):
        raise Refused(*problems)
    shift = shift or session.new_id()
    with session.recording(actor, "officer") as entries:
        site_named_by_id(entries.connection, site)
        if any(one.subject == shift for one in shifts(entries.connection, site)):
            return shift
        _refuse_taken(entries.connection, site, new.name)
        entries.replace(_shift(shift, site, new, from_day.isoformat()))
    return shift


def change_shift(session: Session, actor: Actor, shift: str, new: NewShift) -> None:
    """State a shift anew, from the next time that it begins: one that is on or was worked stays as it was."""
    if problems := _shift_problems(new):
        raise Refused(*problems)
    with session.recording(actor, "officer") as entries:
        old = shift_by_id(entries.connection, shift).payload
        _refuse_taken(entries.connection, old.site, new.name, but=shift)
        state_once(entries, _shift(shift, old.site, new, old.from_day, old.to_day))


def end_shift(session: Session, actor: Actor, shift: str, last_day: date | None) -> None:
    """Say on which day a shift is worked for the last time, yesterday at the earliest; None: it goes on."""
    with session.recording(actor, "officer") as entries:
        old = shift_by_id(entries.connection, shift).payload
        today = session.today(site_named_by_id(entries.connection, old.site).payload)
        if last_day is not None and last_day < today - timedelta(days=1):
            raise refuse("last_day", "is_past", value=last_day.isoformat())
        same = NewShift(old.name, old.start, old.end, old.weekdays)
        to_day = last_day.isoformat() if last_day else None
        state_once(entries, _shift(shift, old.site, same, old.from_day, to_day))


def _shift_problems(new: NewShift) -> list[Problem]:
    problems = [] if new.name.strip() else [Problem("shift", "empty")]
    problems += [
        Problem(field, "not_a_time", {"value": value})
        for field, value in (("start", new.start), ("end", new.end))
        if not re.fullmatch("([01][0-9]|2[0-3]):[0-5][0-9]", value)
    ]
    if not new.weekdays or not set(new.weekdays) <= set(range(7)):
        problems.append(Problem("weekdays", "not_valid", {"value": str(new.weekdays)}))
    return problems


def _refuse_taken(connection: Connection, site: str, name: str, but: str = "") -> None:
    """Also by a shift that has ended: people and sheets name them by it."""
    low = clean(name).casefold()
    if any(one.payload.name.casefold() == low and one.subject != but for one in shifts(connection, site)):
        raise refuse("shift", "taken", value=clean(name))


def _shift(shift: str, site: str, new: NewShift, from_day: str, to_day: str | None = None) -> ShiftSet:
    return ShiftSet(
        shift=shift,
        site=site,
        name=clean(new.name),
        start=new.start,
        end=new.end,
        weekdays=tuple(sorted(set(new.weekdays))),
        from_day=from_day,
        to_day=to_day,
    )


def shifts(connection: Connection, site: str | None = None) -> list[Fact[ShiftSet]]:
    found = queries.facts_named(connection, "shift", ShiftSet)
    return sorted((one for one in found if site in (None, one.payload.site)), key=lambda one: one.payload.start)


def shift_named(connection: Connection, site: str, wanted: str) -> Fact[ShiftSet]:
    low = clean(wanted).casefold()
    found = [one for one in shifts(connection, site) if one.payload.name.casefold() == low]
    if not found:
        raise refuse("shift", "unknown", value=wanted)
    return found[0]


def shift_by_id(connection: Connection, shift: str) -> Fact[ShiftSet]:
    found = queries.facts_of(connection, shift).get("shift")
    if found is None:
        raise refuse("shift", "unknown", value=shift)
    return found


def as_scheduled(shift: ShiftSet) -> schedule.Shift:
    """A recorded shift as the schedule takes it."""
    return schedule.Shift(
        shift.shift,
        shift.site,
        shift.name,
        _minutes(shift.start),
        _minutes(shift.end),
        frozenset(shift.weekdays),
        date.fromisoformat(shift.from_day),
        date.fromisoformat(shift.to_day) if shift.to_day else None,
    )


def _minutes(local: str) -> int:
    hours, minutes = local.split(":")
    return int(hours) * 60 + int(minutes)


def shift_now(
    session: Session, connection: Connection, site: Fact[SiteSet], *, now: int | None = None
) -> schedule.ShiftTime | None:
    """The shift that is on (or begins within the hour), by which a check belongs to it."""
    now = session.clock() if now is None else now
    day = 24 * 60 * schedule.MINUTE_US
    times = shift_times(connection, site, now - day, now + day)
    on = [time for time in times if time.begins_at - schedule.EARLY_US <= now < time.ends_at]
    return max(on, key=lambda time: time.begins_at, default=None)


def shift_times(
    connection: Connection, site: Fact[SiteSet], from_at: int, to_at: int
) -> tuple[schedule.ShiftTime, ...]:
    """The times of a site's shifts that overlap a period, by when they begin, each as it stood when it was worked."""
    stated: dict[str, list[Version]] = defaultdict(list)
    for one in looking_back.versions(connection, "shift"):
        if one.payload["site"] == site.subject:
            stated[one.subject].append(one)
    found = [time for some in stated.values() for time in worked(some, site.payload.zone, from_at, to_at)]
    return tuple(sorted(found, key=lambda time: (time.begins_at, time.ends_at, time.shift.id)))


def worked(stated: Sequence[Version], zone: str, from_at: int, to_at: int) -> list[schedule.ShiftTime]:
    """When one shift was worked or will be, of all that was ever stated of it, in that order.

    The first statement holds from ever, since it names its own first day. Of a day on which it was changed it counts
    once: as it stood when it began, else as it was changed to while that was still on.
    """
    by_day: dict[date, schedule.ShiftTime] = {}
    for n, one in enumerate(stated):
        held_from = one.at if n else 0
        held_to = stated[n + 1].at if n + 1 < len(stated) else 2**62
        payload: Any = ShiftSet.from_payload(one.payload)
        # Days beside the period too: a time outside it may take the day of one inside.
        for time in schedule.occurrences(as_scheduled(payload), zone, from_at - 2 * DAY_US, to_at + 2 * DAY_US):
            if time.begins_at < held_to and time.ends_at > held_from:
                by_day.setdefault(time.day, time)
    return [time for time in by_day.values() if time.begins_at < to_at and time.ends_at > from_at]
