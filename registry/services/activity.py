"""What the officer asks of several kitchens: which ones skip checks, and where the offsets of their thermometers lie.

Figures of the record as it stands, each with how many it rests on; where too few are known it says so.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from statistics import quantiles
from typing import Literal

from sqlalchemy import Connection

from registry.compute.check import written
from registry.quantity import TemperatureDifference
from registry.records.places import SiteSet
from registry.records.thermometers import PartSet, PartsJoined, ThermometerSet
from registry.services import places, plan_kept
from registry.services.plan_kept import Asked, Past
from registry.services.problems import refuse
from registry.services.session import Session, day_at, midnight
from registry.store import queries
from registry.store.looking_back import Version
from registry.store.queries import Fact, ThermometerRow

Progress = Callable[[int], bool]  # told how many thermometers were passed; answers False to stop
MOST_WEEKS = 104
TOO_FEW = 3  # fewer offsets than this have no quartiles worth showing (judgement)
NEWEST = 12  # so many checks are looked through for the last one that counts
By = Literal["site", "type", "model"]
GROUPS: tuple[By, ...] = ("site", "type", "model")


def go_on(_: int) -> bool:
    return True


# --- checks done and missed ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Week:
    """An ISO week of a site's local days, from its Monday. wanted: what the plan asked for in shifts that began.

    wanted = done + missed + open + not_used + not_found + no_reading + other (station closed, lent). open: not done
    in a shift that is on. why: where what was wanted cannot be known: `no_shifts` on record or `no_plan` in force
    then; all counts are then 0. over: all of it has passed. since: the day from which it is counted, where plan,
    shifts or the first thermometer came later than its Monday.
    """

    monday: date
    wanted: int = 0
    done: int = 0
    missed: int = 0
    not_used: int = 0
    not_found: int = 0
    no_reading: int = 0
    other: int = 0
    open: int = 0
    why: str = ""
    over: bool = True
    since: date | None = None

    @property
    def known(self) -> bool:
        return not self.why

    @property
    def asked(self) -> int:
        """What was wanted, less what is still open in a shift that is on: of these, so many were missed."""
        return self.wanted - self.open


@dataclass(frozen=True, slots=True)
class SiteWeeks:
    site: str
    name: str
    weeks: tuple[Week, ...]

    def total(self, count: str) -> int:
        """Over all weeks, of `wanted`, `asked`, `done`, `missed` or another count."""
        found: int = sum(getattr(week, count) for week in self.weeks)
        return found


@dataclass(frozen=True, slots=True)
class Activity:
    """Of each site so many weeks, the oldest first. finished: nobody stopped it; a site half counted is left out."""

    sites: tuple[SiteWeeks, ...]
    finished: bool


def checks_by_week(
    session: Session,
    sites: Collection[str] | None = None,
    weeks: int = 12,
    progress: Progress = go_on,
    *,
    type: str | None = None,
) -> Activity:
    """Per site and ISO week: checks that the recheck plan wanted, and what came of them; the last is this week so far.

    As the plan, the shifts, places and service statuses stood then. Each shift and every so many days are counted;
    hot points and what is wanted before use are not. ISO 8601: a week begins on Monday. type: of one type's code alone.
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
            sunday = mondays[-1] + timedelta(days=6)
            for of_one in plan_kept.asked_on(connection, then, site, mondays[0], sunday, now, on=True):
                asked += [one for one in of_one if _is_of(then, one.thermometer, type)]
                passed += 1
                if not progress(passed):
                    return Activity(tuple(found), False)
            begun = _begun(then, site, type)
            counted = tuple(_week(then, site, monday, asked, begun, now) for monday in mondays)
            found.append(SiteWeeks(site.subject, site.payload.name, counted))
    return Activity(tuple(found), True)


def _mondays(now: int, zone: str, weeks: int) -> list[date]:
    today = day_at(now, zone)
    this = today - timedelta(days=today.weekday())
    return [this - timedelta(weeks=n) for n in reversed(range(weeks))]


def _is_of(then: Past, thermometer: str, type: str | None) -> bool:
    row = then.rows.get(thermometer)
    return type is None or (row is not None and row.type == type)


def _begun(then: Past, site: Fact[SiteSet], type: str | None) -> date:
    """The day from which on the plan could ask for anything: once it, a shift and a thermometer were there."""
    those = [one for one in then.of_site(site.subject) if _is_of(then, one, type)]
    zone, here = site.payload.zone, [then.rows.get(one) for one in those]
    began = (
        [day_at(one.at, zone) for one in then.plans],
        [date.fromisoformat(one.payload["from_day"]) for one in _stated(then, site)],
        [day_at(row.enrolled_at, zone) for row in here if row is not None and row.enrolled_at is not None],
    )
    return max(min(days, default=date.min) for days in began)


def _stated(then: Past, site: Fact[SiteSet]) -> list[Version]:
    return [one for some in then.shifts.values() for one in some if one.payload["site"] == site.subject]


def _week(then: Past, site: Fact[SiteSet], monday: date, asked: Sequence[Asked], begun: date, now: int) -> Week:
    sunday = monday + timedelta(days=6)
    from_at, to_at = (midnight(day, site.payload.zone) for day in (monday, monday + timedelta(days=7)))
    week = Week(monday, over=to_at <= now)
    if why := _why_not_known(then, site, from_at, min(to_at, now)):
        return replace(week, why=why)
    states = [one.state for one in asked if monday <= one.day <= sunday]
    return replace(
        week,
        wanted=len(states),
        done=states.count("done"),
        open=states.count("open"),
        since=begun if monday < begun <= sunday else None,
        missed=states.count("missed"),
        not_used=states.count("not_used"),
        not_found=states.count("not_found"),
        no_reading=states.count("no_reading"),
        other=states.count("station_closed") + states.count("lent"),
    )


def _why_not_known(then: Past, site: Fact[SiteSet], from_at: int, to_at: int) -> str:
    """Before any shift or plan is on record; a week in which no shift is worked wants nothing, and that is known."""
    first = min((one.payload["from_day"] for one in _stated(then, site)), default=None)
    if first is None or midnight(date.fromisoformat(first), site.payload.zone) >= to_at:
        return "no_shifts"
    return "" if plan_kept.plan_at(then, site.subject, to_at - 1) is not None else "no_plan"


# --- where the offsets lie -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offsets:
    """The last offset that counts of each thermometer of a group, as found, °C: how many, where, how many outside.

    key: the site's id, the type's code, or maker and model as recorded ("" where neither is). n: thermometers with
    such an offset; without: those in use that have none. lower, median, upper: quartiles by linear interpolation
    (Hyndman and Fan 1996, definition 7), rounded half-even to 4 decimals; None where n is below TOO_FEW.
    outside: who stands outside now at some point, or was adjusted and not read good there since, in use or not: what
    the due list calls outside and not mended. It may be more than n.
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
    session: Session,
    by: By,
    sites: Collection[str] | None = None,
    *,
    type: str | None = None,
) -> list[Offsets]:
    """Groups of the thermometers that are kept (retired and lost ones left out), the largest first."""
    if by not in GROUPS:
        raise refuse("by", "choose", value=by, choices=", ".join(GROUPS))
    groups: dict[str, list[ThermometerRow]] = defaultdict(list)
    with session.reading() as connection:
        models = _models(connection) if by == "model" else {}
        for row in queries.thermometers(connection, statuses=("in_service", "limited_use", "out_of_use")):
            if (sites is None or row.site in sites) and type in (None, row.type):
                key = {"site": row.site, "type": row.type, "model": models.get(row.thermometer)}[by]
                groups[key or ""].append(row)
        found = [_offsets(key, [_last(connection, row) for row in rows], rows) for key, rows in groups.items()]
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


def _last(connection: Connection, row: ThermometerRow) -> Fraction | None:
    """The offset in °C as found, of the last check that counts and stated one."""
    if row.last_check is None:
        return None
    found = next(_that_count(connection, row), None)
    return None if found is None else _celsius(found)


def _that_count(connection: Connection, row: ThermometerRow) -> Iterator[str]:
    """Offsets of its checks that have an outcome, the latest first."""
    if row.last_outcome is not None and row.last_offset is not None:
        yield row.last_offset
    for one in reversed(queries.checks_of(connection, row.thermometer, newest=NEWEST)):
        if one.outcome is not None and one.offset is not None and not one.voided:
            yield one.offset


def _celsius(text: str) -> Fraction:
    """A difference in °C, exactly: 9 °F of difference are 5 °C."""
    found = TemperatureDifference.from_text(text)
    return Fraction(found.value) * (Fraction(5, 9) if found.unit == "F" else 1)


def _offsets(key: str, last: Sequence[Fraction | None], rows: Sequence[ThermometerRow]) -> Offsets:
    known = [one for one in last if one is not None]
    outside = sum(row.failed_at is not None for row in rows)
    lower, median, upper = _quartiles(known)
    return Offsets(key, len(known), len(last) - len(known), outside, lower, median, upper)


def _quartiles(offsets: Sequence[Fraction]) -> Iterator[TemperatureDifference | None]:
    if len(offsets) < TOO_FEW:
        return iter((None, None, None))
    return (written(one, "C") for one in quantiles(offsets, n=4, method="inclusive"))
