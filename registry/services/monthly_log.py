"""The monthly log: what was checked at a site in a month and what was not, from the record as it stands.

Nothing is left out to look better: what waits, what was voided, what nobody checked and whose list nobody closed are
told as such.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import Connection

from registry.journal.numbers import installation_code
from registry.records.places import SiteSet
from registry.services import log_lines, people, places, plan_kept
from registry.services.log_lines import Action, LogLine, Period
from registry.services.problems import refuse
from registry.services.session import Session, midnight
from registry.store import queries
from registry.store.queries import Fact

__all__ = ["Action", "Log", "LogLine", "Review", "Source", "month"]


@dataclass(frozen=True, slots=True)
class Review:
    """An officer looked through these days; `later`: lines of this log that were recorded after that."""

    number: str
    at: int
    initials: str
    name: str
    from_day: date
    to_day: date
    later: int


@dataclass(frozen=True, slots=True)
class Source:
    """The entries of one installation that the log was made from, and how far its record went then.

    first, last: their numbers, none where count is 0. head, head_hash: number and hash of its last entry.
    """

    first: str
    last: str
    count: int
    head: str
    head_hash: str


@dataclass(frozen=True, slots=True)
class Log:
    """A site's month. until: the instant up to which it is told, before the month's end while that is not over.

    not_closed: name and day of shifts that ended without anybody closing their list. no_shifts: none are on record,
    so what was missed cannot be known.
    """

    site: str
    name: str
    address: str
    zone: str
    first_day: date
    last_day: date
    made_at: int
    until: int
    lines: tuple[LogLine, ...]
    reviews: tuple[Review, ...]
    sources: tuple[Source, ...]
    not_closed: tuple[tuple[str, date], ...]
    no_shifts: bool

    def count(self, kind: str) -> int:
        """How many lines of a kind stand."""
        return sum(line.kind == kind and line.state != "voided" for line in self.lines)


def month(session: Session, site: str, year: int, month: int) -> Log:
    """The log of a site (its id) for a month of its local time; refused for one that has not begun."""
    if not (1970 <= year <= 2200 and 1 <= month <= 12):
        raise refuse("month", "not_a_month", value=f"{year}-{month:02d}")
    first = date(year, month, 1)
    with session.reading() as connection:
        of = _period(session, connection, places.site_named_by_id(connection, site), first)
        lines = log_lines.lines(of)
        said = of.site.payload
        return Log(
            site,
            said.name,
            said.address or "",
            said.zone,
            first,
            _last_day(first),
            of.now,
            of.to_at,
            tuple(lines),
            tuple(_reviews(of, first, lines)),
            tuple(_sources(of, lines)),
            tuple(_not_closed(of)),
            not of.times and not places.shifts(connection, site),
        )


def _period(session: Session, connection: Connection, site: Fact[SiteSet], first: date) -> Period:
    now, zone = session.clock(), site.payload.zone
    from_at = midnight(first, zone)
    to_at = midnight(_last_day(first) + timedelta(days=1), zone)
    if from_at > now:
        raise refuse("month", "in_the_future")
    to_at = min(to_at, now)
    then = plan_kept.past(connection)
    return Period(
        connection,
        site,
        from_at,
        to_at,
        now,
        then,
        {one.person: one for one in people.people(connection)},
        {no: installation_code(bytes.fromhex(chain)) for no, chain in queries.chains(connection)},
        plan_kept.shifts_of_days(then, site, first, _last_day(first), now),
    )


def _last_day(first: date) -> date:
    return date(first.year + first.month // 12, first.month % 12 + 1, 1) - timedelta(days=1)


def _not_closed(of: Period) -> Iterator[tuple[str, date]]:
    closed = {(time.shift.id, time.day) for _, time in log_lines.closings(of)}
    for time in of.times:
        if (time.shift.id, time.day) not in closed:
            yield time.shift.name, time.day


# --- who looked through it, and what it was made from ----------------------------------------------------------


def _reviews(of: Period, first: date, lines: Sequence[LogLine]) -> Iterator[Review]:
    numbers = {chain: no for no, chain in queries.chains(of.connection)}
    for event in queries.events_of(of.connection, of.site.subject, ("reviewed",)):
        entry = queries.entry_at(of.connection, event.chain_no, event.seq)
        from_day, to_day = (date.fromisoformat(entry.payload[key]) for key in ("from_day", "to_day"))
        if event.voided or from_day > _last_day(first) or to_day < first:
            continue
        seen = {numbers[one["chain"]]: one["seq"] for one in entry.payload["heads"] if one["chain"] in numbers}
        later = sum(line.place[1] > seen.get(line.place[0], -1) for line in lines if line.place)
        person = of.people.get(entry.payload.get("done_by", entry.by))
        initials, name = (person.initials, person.name) if person else ("", "")
        yield Review(entry.number, event.at, initials, name, from_day, to_day, later)


def _sources(of: Period, lines: Sequence[LogLine]) -> Iterator[Source]:
    """One for each installation whose entries are in it; of an empty log those of all, with how far they went."""
    heads = {chain: (seq, hash_) for chain, seq, hash_ in queries.heads(of.connection)}
    used = sorted({line.place for line in lines if line.place})
    for no, chain in queries.chains(of.connection):
        own = [of.number(place) for place in used if place[0] == no]
        seq, head = heads[chain]
        if own or not used:
            first, last = (own[0], own[-1]) if own else ("", "")
            yield Source(first, last, len(own), of.number((no, seq)), head)
