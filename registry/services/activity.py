"""What the officer asks of several kitchens: which ones skip checks, and where the offsets of their thermometers lie.

Figures of the record as it stands, each with how many it rests on; where too few are known it says so.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from statistics import quantiles
from typing import Literal
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from registry.compute.check import written
from registry.quantity import TemperatureDifference
from registry.records.outcomes import OUTSIDE
from registry.records.places import SiteSet
from registry.records.thermometers import PartSet, PartsJoined, ThermometerSet
from registry.services import places, plan_kept
from registry.services.plan_kept import Asked, Past
from registry.services.problems import refuse
from registry.services.session import Session, day_at
from registry.store import queries
from registry.store.queries import Fact, ThermometerRow

Progress = Callable[[int], bool]  # told how many thermometers were passed; answers False to stop
MOST_WEEKS = 104
TOO_FEW = 3  # fewer offsets than this have no quartiles worth showing (judgement)
NEWEST = 12  # so many checks are looked through for the last one that counts
GROUPS = ("site", "type", "model")


def go_on(_: int) -> bool:
    return True


# --- checks done and missed ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Week:
    """An ISO week of a site's local days, from its Monday. wanted: what the plan asked for in shifts that ended.

    wanted = done + missed + not_used + not_found + no_reading + other (station closed, lent). why: where what was
    wanted cannot be known: `no_shifts` on record or `no_plan` in force then; all counts are then 0. over: all of it
    has passed.
    """

    monday: date
    wanted: int = 0
    done: int = 0
    missed: int = 0
    not_used: int = 0
    not_found: int = 0
    no_reading: int = 0
    other: int = 0
    why: str = ""
    over: bool = True

    @property
    def known(self) -> bool:
        return not self.why


@dataclass(frozen=True, slots=True)
class SiteWeeks:
    site: str
    name: str
    weeks: tuple[Week, ...]

    def total(self, count: str) -> int:
        """Over all weeks, of `wanted`, `done`, `missed` or another count."""
        found: int = sum(getattr(week, count) for week in self.weeks)
        return found


@dataclass(frozen=True, slots=True)
class Activity:
    """Of each site so many weeks, the oldest first. finished: nobody stopped it; a site half counted is left out."""

    sites: tuple[SiteWeeks, ...]
    finished: bool


def checks_by_week(
    session: Session, sites: Collection[str] | None = None, weeks: int = 12, progress: Progress = go_on
) -> Activity:
    """Per site and ISO week: checks that the recheck plan wanted, and what came of them; the last is this week.

    As the plan, the shifts, places and service statuses stood then. Each shift and every so many days are counted;
    hot points and what is wanted before use are not. ISO 8601: a week begins on Monday.
    """
    if not 1 <= weeks <= MOST_WEEKS:
        raise refuse("weeks", "choose", value=weeks, choices=f"1, 2, ... {MOST_WEEKS}")
    found: list[SiteWeeks] = []
    passed = 0
    with session.reading() as connection:
        now, then = session.clock(), plan_kept.past(connection)
        for site in places.sites(connection):
            if sites is not None and site.subject not in sites:
                continue
            asked: list[Asked] = []
            mondays = _mondays(now, site.payload.zone, weeks)
            from_at, to_at = (_midnight(day, site.payload.zone) for day in (mondays[0], mondays[-1] + timedelta(7)))
            for of_one in plan_kept.asked(connection, then, site, from_at, to_at, now):
                asked += of_one
                passed += 1
                if not progress(passed):
                    return Activity(tuple(found), False)
            counted = tuple(_week(then, site, monday, asked, now) for monday in mondays)
            found.append(SiteWeeks(site.subject, site.payload.name, counted))
    return Activity(tuple(found), True)


def _mondays(now: int, zone: str, weeks: int) -> list[date]:
    today = day_at(now, zone)
    this = today - timedelta(days=today.weekday())
    return [this - timedelta(weeks=n) for n in reversed(range(weeks))]


def _midnight(day: date, zone: str) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).timestamp()) * 1_000_000


def _week(then: Past, site: Fact[SiteSet], monday: date, asked: Sequence[Asked], now: int) -> Week:
    sunday = monday + timedelta(days=6)
    from_at, to_at = (_midnight(day, site.payload.zone) for day in (monday, monday + timedelta(days=7)))
    week = Week(monday, over=to_at <= now)
    if why := _why_not_known(then, site, from_at, min(to_at, now)):
        return replace(week, why=why)
    states = [one.state for one in asked if monday <= one.day <= sunday]
    return replace(
        week,
        wanted=len(states),
        done=states.count("done"),
        missed=states.count("missed"),
        not_used=states.count("not_used"),
        not_found=states.count("not_found"),
        no_reading=states.count("no_reading"),
        other=states.count("station_closed") + states.count("lent"),
    )


def _why_not_known(then: Past, site: Fact[SiteSet], from_at: int, to_at: int) -> str:
    """Before any shift or plan is on record; a week in which no shift is worked wants nothing, and that is known."""
    stated = [one for some in then.shifts.values() for one in some if one.payload["site"] == site.subject]
    first = min((one.payload["from_day"] for one in stated), default=None)
    if first is None or _midnight(date.fromisoformat(first), site.payload.zone) >= to_at:
        return "no_shifts"
    return "" if plan_kept.plan_at(then, site.subject, to_at - 1) is not None else "no_plan"


# --- where the offsets lie -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offsets:
    """The last offset that counts of each thermometer of a group, as found, °C: how many, where, how many outside.

    key: the site's id, the type's code, or maker and model as recorded ("" where neither is). n: thermometers with
    such an offset; without: those in use that have none. lower, median, upper: quartiles by linear interpolation
    (Hyndman and Fan 1996, definition 7), rounded half-even to 4 decimals; None where n is below TOO_FEW.
    outside: whose last outcome that counts was outside its limits.
    """

    key: str
    n: int
    without: int
    outside: int
    lower: TemperatureDifference | None
    median: TemperatureDifference | None
    upper: TemperatureDifference | None

    @property
    def too_few(self) -> bool:
        return self.median is None


def offsets_by(
    session: Session, by: Literal["site", "type", "model"], sites: Collection[str] | None = None
) -> list[Offsets]:
    """Groups of the thermometers that are kept (retired and lost ones left out), the largest first."""
    if by not in GROUPS:
        raise refuse("by", "choose", value=by, choices=", ".join(GROUPS))
    groups: dict[str, list[ThermometerRow]] = defaultdict(list)
    with session.reading() as connection:
        models = _models(connection) if by == "model" else {}
        for row in queries.thermometers(connection, statuses=("in_service", "limited_use", "out_of_use")):
            if sites is None or row.site in sites:
                key = {"site": row.site, "type": row.type, "model": models.get(row.thermometer)}[by]
                groups[key or ""].append(row)
        found = [_offsets(key, [_last(connection, row) for row in rows]) for key, rows in groups.items()]
    return sorted(found, key=lambda one: (-one.n, one.key))


def _models(connection: Connection) -> dict[str, str]:
    """Maker and model of each thermometer: those of its indicator, where that is a part of its own."""
    parts = {one.subject: one.payload for one in queries.facts_named(connection, "part", PartSet)}
    joined = queries.facts_named(connection, "parts", PartsJoined)
    indicators = {one.subject: parts.get(one.payload.indicator or "") for one in joined}
    found = {}
    for fact in queries.facts_named(connection, "facts", ThermometerSet):
        named = indicators.get(fact.subject) or fact.payload
        found[fact.subject] = " ".join(one for one in (named.maker, named.model) if one)
    return found


def _last(connection: Connection, row: ThermometerRow) -> tuple[Fraction, bool] | None:
    """The offset in °C and whether it was outside, of the last check that counts and stated an offset."""
    if row.last_check is None:
        return None
    if row.last_outcome is not None and row.last_offset is not None:
        return _celsius(row.last_offset), row.last_outcome in OUTSIDE
    for one in reversed(queries.checks_of(connection, row.thermometer, newest=NEWEST)):
        if one.outcome is not None and one.offset is not None and not one.voided:
            return _celsius(one.offset), one.outcome in OUTSIDE
    return None


def _celsius(text: str) -> Fraction:
    """A difference in °C, exactly: 9 °F of difference are 5 °C."""
    found = TemperatureDifference.from_text(text)
    return Fraction(found.value) * (Fraction(5, 9) if found.unit == "F" else 1)


def _offsets(key: str, last: Sequence[tuple[Fraction, bool] | None]) -> Offsets:
    known = [one for one in last if one is not None]
    outside = sum(is_outside for _, is_outside in known)
    lower, median, upper = _quartiles([offset for offset, _ in known])
    return Offsets(key, len(known), len(last) - len(known), outside, lower, median, upper)


def _quartiles(offsets: Sequence[Fraction]) -> Iterator[TemperatureDifference | None]:
    if len(offsets) < TOO_FEW:
        return iter((None, None, None))
    return (written(one, "C") for one in quantiles(offsets, n=4, method="inclusive"))
