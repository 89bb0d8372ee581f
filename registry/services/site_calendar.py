"""What is to come at a site as a calendar file: shifts with checks, days with something due, certificates that end.

iCalendar (RFC 5545). A thing keeps its UID, so that a newer file takes its place in a calendar; DTSTAMP is when the
file was made. It says tag ids, shifts and the site, and nothing of people.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from sqlalchemy import Connection

from registry.compute import schedule
from registry.compute.schedule import DueItem
from registry.records.places import SiteSet
from registry.services import duelist, places
from registry.services.session import Session, day_at
from registry.store import queries
from registry.store.queries import Fact
from registry.wording import say

DAYS = 60  # how far a file looks ahead; shifts as far as the due list knows them
PRODUCT = "-//Thermometer Registry//thermometer-registry//EN"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to come. kind: shift, due or reference. begins_at, ends_at: of a shift, µs UTC; of others None, for
    they are of the whole day. tags: the thermometers, by tag id. name: of the shift."""

    kind: str
    uid: str
    day: date
    tags: tuple[str, ...]
    begins_at: int | None = None
    ends_at: int | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class SiteCalendar:
    """made_at: µs UTC, to the second in the file."""

    site: str
    zone: str
    made_at: int
    entries: tuple[Entry, ...]


def coming(session: Session, site: str, days: int = DAYS) -> SiteCalendar:
    """What is to come at a site in so many days; what is overdue stands on today."""
    with session.reading() as connection:
        fact, now = places.site_named_by_id(connection, site), session.clock()
        found = tuple(
            sorted(_entries(session, connection, fact, now, days), key=lambda one: (one.day, one.kind, one.uid))
        )
        return SiteCalendar(fact.payload.name, fact.payload.zone, now, found)


def _entries(session: Session, connection: Connection, site: Fact[SiteSet], now: int, days: int) -> Iterator[Entry]:
    today = day_at(now, site.payload.zone)
    last = today + timedelta(days=days - 1)
    by_shift: dict[tuple[str, date], list[tuple[str, DueItem]]] = defaultdict(list)
    by_day: dict[date, set[str]] = defaultdict(set)
    here = duelist.at_site(connection, site, now)
    rows = queries.thermometers(connection, site=site.subject)
    out_on = duelist.forecast_days(session, connection, here, rows)
    for row in rows:
        tag = row.tag_id or ""
        history = duelist.history_of(row, here.closed_for(row.station), duelist.last_checks(connection, row))
        history = replace(history, forecast_day=out_on.get(row.thermometer))
        for item in schedule.coming(history, here.plan, here.times, site.payload.zone, now, now, here.closed):
            day = max(item.day, today)
            if day > last:
                continue
            if item.code == "reference_expiry":
                yield Entry("reference", f"reference-{row.thermometer}", day, (tag,))
            elif item.shift is not None:
                by_shift[item.shift, item.day].append((tag, item))
            else:
                by_day[day].add(tag)
    names = {time.shift.id: time.shift.name for time in here.times}
    for (shift, day), some in by_shift.items():
        tags = tuple(sorted({tag for tag, _ in some}))
        begins = min(item.opens_at for _, item in some) + schedule.EARLY_US
        yield Entry("shift", f"shift-{shift}-{day}", day, tags, begins, some[0][1].due_at, names.get(shift, ""))
    for day, tags_of in by_day.items():
        yield Entry("due", f"due-{site.subject}-{day}", day, tuple(sorted(tags_of)))


def as_file(found: SiteCalendar, language: str) -> bytes:
    """The calendar file, the same from the same things to come but for its DTSTAMP."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", say("calendar.name", language, site=found.site))
    stamp = _instant(found.made_at)
    for one in found.entries:
        event = Event()
        event.add("uid", f"{one.uid}@thermometer-registry")
        event.add("dtstamp", stamp)
        event.add("summary", summary(one, found.site, language))
        event.add("description", ", ".join(one.tags))
        if one.begins_at is not None and one.ends_at is not None:
            event.add("dtstart", _instant(one.begins_at))
            event.add("dtend", _instant(one.ends_at))
        else:
            event.add("dtstart", one.day)
            event.add("dtend", one.day + timedelta(days=1))
            event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    made: bytes = calendar.to_ical()
    return made


def summary(one: Entry, site: str, language: str) -> str:
    """What it is, in a line: "Early: 9 thermometers to check, Pier"."""
    tag = one.tags[0] if one.tags else ""
    return say(f"calendar.{one.kind}", language, count=len(one.tags), site=site, shift=one.name, tag=tag)


def _instant(at: int) -> datetime:
    return datetime.fromtimestamp(at // 1_000_000, UTC)
