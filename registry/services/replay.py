"""What a recheck plan costs and finds, and what another would have: the past gone through again with its checks.

A spell is a time in which a thermometer stood outside before a check found it. When it began nobody saw; it is taken
from all checks as tracked, by a straight line between them, and lies at the earliest at the last check that found it
inside. Another plan would have found it at its first check after that; on which day of its round that falls is chance,
so every day is tried and the mean is told.

What cannot be known: what went out and came back between two checks; how food was judged in between; what a plan that
looks more often would have found by chance readings. What is outside is taken to stay outside until it is found, and a
replayed plan to be kept in every shift, which no plan is: so the plan in force is replayed as well.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import copysign, hypot
from typing import Literal

from sqlalchemy import Connection

from registry import resources
from registry.compute import schedule
from registry.compute.drift import Event, Track
from registry.compute.schedule import Looked, ShiftTime
from registry.records.outcomes import GOOD, OUTSIDE
from registry.records.places import SiteSet
from registry.records.rules import PlanRule
from registry.services import activity, intervals, places, plan_kept, rules, thermometers, tracking
from registry.services.intervals import Progress
from registry.services.plan_cost import SECONDS_A_CHECK
from registry.services.plan_kept import Past
from registry.services.problems import refuse
from registry.services.session import Session, day_at, midnight
from registry.services.thermometers import Thermometer
from registry.services.told import DAY_US, celsius_of
from registry.services.tracking import Tracked
from registry.store import tracking as store
from registry.store.queries import Fact
from registry.store.tracking import Measured

# Twelve thermometers in one bath take under eight minutes, the bath included: starting value from judgement.
DAYS_A_YEAR = 365.25
PERIOD_DAYS, MOST_DAYS = 365, 3660
IN_FORCE, CHANGED = "in_force", "changed"  # CHANGED: rules that are handed in, before they are chosen
ODD = 3.0  # standard deviations from what was known, at which a reading is a jump


@dataclass(frozen=True, slots=True)
class Spell:
    """A time outside until a check found it. Instants µs UTC.

    begins_at: as tracked; not_before: the last moment at which it was known to be inside, -1 where it never was.
    reported: an incident was reported in it, after which every plan asks for a check at once. chance: by all its
    checks it was still inside, or the next one found it so with nobody having set it in between. found_at: when it was
    found as things went.
    """

    thermometer: str
    begins_at: int
    not_before: int
    found_at: int
    reported: bool = False
    chance: bool = False

    @property
    def compared(self) -> bool:
        """Whether one plan could have found it sooner than another, by what is known."""
        return not self.reported and not self.chance and self.not_before >= 0

    @property
    def days(self) -> float:
        return (self.found_at - self.begins_at) / DAY_US


@dataclass(frozen=True, slots=True)
class Under:
    """One spell under a plan: days outside until its check, in the mean, and the share of days of the round on which it
    finds it within the period (the rest is cut at its end)."""

    days: float
    found: float


@dataclass(frozen=True, slots=True)
class Found:
    """What a plan came to. checks: of its regular round; hours_a_year: for those, at 40 seconds each.

    found: spells that its checks end within the period, in the mean. days_outside: thermometer-days from their
    beginning until found; at_most: from the last moment known to be inside.
    """

    checks: int
    hours_a_year: float
    found: float
    days_outside: float
    at_most: float


@dataclass(frozen=True, slots=True)
class Replayed:
    """One spell as it went and under both plans, each kept in every shift; zone: of its site."""

    spell: Spell
    kept: Under
    other: Under
    tag_id: str
    zone: str


@dataclass(frozen=True, slots=True)
class Replay:
    """A period looked back on, from its first local day to its last.

    plan_in_force: empty where sites have different ones. as_it_went: by the checks that were made; missed: checks that
    the plan asked for and nobody made. kept: the plan in force if every check had been made; other: the plan asked
    about, so too. spells: what is compared. by_incident: outside after a reported incident, which every plan finds at
    once; by_chance: found by a check, though by all others it was still inside; unknown: nobody can say since when;
    these are in none of the counts. thermometers: that were there.
    """

    plan: str
    plan_in_force: str
    first: date
    last: date
    thermometers: int
    as_it_went: Found
    missed: int
    kept: Found
    other: Found
    spells: tuple[Replayed, ...]
    by_incident: int
    by_chance: int
    unknown: int
    finished: bool = True


def replay(
    session: Session,
    plan: str,
    sites: Collection[str] | None = None,
    days: int = PERIOD_DAYS,
    progress: Progress = activity.go_on,
    own: tuple[PlanRule, ...] | None = None,
) -> Replay:
    """The last so many local days again, with one of the shipped plans or rules of one's own (`changed`); as things
    stood in each shift."""
    if plan not in (*resources.default_plans(), IN_FORCE) and (plan, own is None) != (CHANGED, False):
        raise refuse("plan", "choose", value=plan, choices=", ".join((*resources.default_plans(), IN_FORCE)))
    if not 1 <= days <= MOST_DAYS:
        raise refuse("days", "choose", value=days, choices=f"1, 2, ... {MOST_DAYS}")
    with session.reading() as connection:
        return _replay(session, connection, plan, sites, days, progress, own)


@dataclass(frozen=True, slots=True)
class AtSite:
    """One site in the period: its shifts, what was found, what was made, missed, and how many checks each plan asks."""

    times: tuple[ShiftTime, ...]
    thermometers: int
    made: int
    missed: int
    checks: tuple[int, int]
    spells: tuple[Spell, ...]
    replayed: tuple[Replayed, ...]


def _replay(
    session: Session,
    connection: Connection,
    plan: str,
    sites: Collection[str] | None,
    days: int,
    progress: Progress,
    own: tuple[PlanRule, ...] | None,
) -> Replay:
    then, now = plan_kept.past(connection), session.clock()
    found, codes, ranges = [], [], []
    passed = 0
    for fact in places.sites(connection):
        if sites is not None and fact.subject not in sites:
            continue
        in_force = rules.rules_in_force(connection, fact.subject).plan
        codes.append((in_force.plan, "" if in_force.plan in resources.default_plans() else in_force.set))
        other = in_force if plan == IN_FORCE else replace(in_force, rules=own or rules.shipped_plan(plan))
        last = day_at(now, fact.payload.zone) - timedelta(days=1)
        first = max(last - timedelta(days=days - 1), _begun(then, fact))
        ranges.append((first, last))
        both = rules.due_rules(in_force), rules.due_rules(other)
        if first <= last:
            found.append(_at_site(session, connection, then, fact, both, first, last))
        passed += len(then.of_site(fact.subject))
        if not progress(passed):
            return replace(_summed(plan, codes, found, ranges), finished=False)
    return _summed(plan, codes, found, ranges)


def _begun(then: Past, site: Fact[SiteSet]) -> date:
    """Before the first thermometer was there nothing can be replayed."""
    rows = [then.rows.get(one) for one in then.of_site(site.subject)]
    days = [day_at(row.enrolled_at, site.payload.zone) for row in rows if row and row.enrolled_at is not None]
    return min(days, default=date.max)


def _at_site(
    session: Session,
    connection: Connection,
    then: Past,
    site: Fact[SiteSet],
    plans: tuple[schedule.Plan, schedule.Plan],
    first: date,
    last: date,
) -> AtSite:
    now = session.clock()
    times = plan_kept.shifts_of_days(then, site, first, last, now)
    from_at, to_at = midnight(first, site.payload.zone), midnight(last + timedelta(days=1), site.payload.zone)
    present = {one: _present(then, one, site.subject, times) for one in then.of_site(site.subject)}
    there = [one for one, some in present.items() if some]
    those = {one: thermometers.thermometer(connection, one) for one in there}
    known = tracking.tracked(session, connection, list(those.values()))
    checks: dict[str, list[Measured]] = {one: [] for one in there}
    for check in store.checks(connection, there):
        checks[check.thermometer].append(check)
    spells: list[Spell] = []
    for one in there:
        here = [spell for spell in spells_of(known[one], checks[one]) if from_at <= spell.found_at < to_at]
        spells += [spell for spell in here if then.site_at(one, spell.found_at) == site.subject]
    asked = plan_kept.asked_on(connection, then, site, first, last, now)
    outside = {one.thermometer for one in spells}
    kept, other = (_made_under(plan, those, present, site.subject, times, outside) for plan in plans)
    return AtSite(
        times,
        len(there),
        sum(_made_here(then, site.subject, check, from_at, to_at) for one in there for check in checks[one]),
        sum(one.state == "missed" for of_one in asked for one in of_one),
        (kept.checks, other.checks),
        tuple(spells),
        tuple(
            Replayed(
                one,
                kept.under(times, one),
                other.under(times, one),
                those[one.thermometer].tag_id,
                site.payload.zone,
            )
            for one in spells
            if one.compared
        ),
    )


@dataclass(frozen=True, slots=True)
class MadeUnder:
    """The checks of a plan at a site: how many, how often of each, and the rounds of those that are taken by turns."""

    checks: int
    every: Mapping[str, "Every"]
    by_turns: Mapping[str, Sequence[Sequence[ShiftTime]]]

    def under(self, times: Sequence[ShiftTime], spell: Spell) -> Under:
        """By its own rounds where it is taken by turns."""
        rounds = self.by_turns.get(spell.thermometer)
        return under(self.every[spell.thermometer], times, spell) if rounds is None else found_by(rounds, times, spell)


def _made_under(
    plan: schedule.Plan,
    those: Mapping[str, Thermometer],
    present: Mapping[str, Sequence[ShiftTime]],
    site: str,
    times: Sequence[ShiftTime],
    outside: Collection[str],
) -> MadeUnder:
    """outside: those of which rounds are wanted, over all shifts: one that nobody found would have stayed in use."""
    every = {one: intervals.asked_every(plan, of, site) for one, of in those.items()}
    by_turns = {
        one: days
        for one, of in those.items()
        if schedule.by_turns(plan, of.type.code, site, one) and isinstance(days := every[one], int)
    }
    more = sum(_more_points(plan, of, site, every[one], present[one]) for one, of in those.items())
    if not by_turns:
        return MadeUnder(how_many(every, present) + more, every, {})
    rest = {one: asked for one, asked in every.items() if one not in by_turns}
    checks = how_many(rest, present) + more + sum(map(len, with_turns(by_turns, present, times).values()))
    staying = {one: times if one in outside else present[one] for one in by_turns}
    wanted = [one for one in by_turns if one in outside]
    phases = range(max((by_turns[one] for one in wanted), default=0))
    rounds = [with_turns(by_turns, staying, times, late) for late in phases]
    found = {one: [rounds[late][one] for late in range(by_turns[one])] for one in wanted}
    return MadeUnder(checks, every, found)


def _more_points(plan: schedule.Plan, of: Thermometer, site: str, every: "Every", times: Sequence[ShiftTime]) -> int:
    """Checks beyond its most frequent round: each point that a plan names has its own."""
    rules_for = schedule.rules_for(plan, of.type.code, site, of.row.thermometer)
    named = [one.days for one in rules_for if one.code == "every_days" and one.point is not None]
    return max(sum(len(round_of(days, times)) for days in named) - len(round_of(every, times)), 0)


def _present(then: Past, thermometer: str, site: str, times: Sequence[ShiftTime]) -> list[ShiftTime]:
    row = then.rows.get(thermometer)
    if row is None or row.enrolled_at is None:
        return []
    return [one for one in times if plan_kept.was_in_use(then, thermometer, site, one, row.enrolled_at)]


def _made_here(then: Past, site: str, check: Measured, from_at: int, to_at: int) -> bool:
    here = from_at <= check.at < to_at and not check.voided and check.outcome is not None
    return here and then.site_at(check.thermometer, check.at) == site


def _summed(
    plan: str, codes: Sequence[tuple[str, str]], found: Sequence[AtSite], ranges: Sequence[tuple[date, date]]
) -> Replay:
    last = max((one for _, one in ranges), default=date.min)
    first = min(min((one for one, _ in ranges), default=last), last)  # no thermometer yet: a day with nothing in it
    days = max((last - first).days + 1, 1)
    spells = [one for at in found for one in at.spells]
    replayed = tuple(sorted((one for at in found for one in at.replayed), key=lambda one: one.spell.found_at))
    went = [(one.spell, Under(one.spell.days, 1.0)) for one in replayed]
    return Replay(
        plan,
        codes[0][0] if len(set(codes)) == 1 else "",
        first,
        last,
        sum(one.thermometers for one in found),
        came_to(went, sum(one.made for one in found), days),
        sum(one.missed for one in found),
        came_to([(one.spell, one.kept) for one in replayed], sum(one.checks[0] for one in found), days),
        came_to([(one.spell, one.other) for one in replayed], sum(one.checks[1] for one in found), days),
        replayed,
        sum(one.reported for one in spells),
        sum(one.chance and not one.reported for one in spells),
        sum(one.not_before < 0 and not one.reported and not one.chance for one in spells),
    )


def came_to(found: Sequence[tuple[Spell, Under]], checks: int, days: int) -> Found:
    """What a plan came to in so many days."""
    return Found(
        checks,
        checks * SECONDS_A_CHECK / 3600 * DAYS_A_YEAR / days,
        sum(one.found for _, one in found),
        sum(one.days for _, one in found),
        sum(one.days + (spell.begins_at - spell.not_before) / DAY_US for spell, one in found),
    )


# --- when a thermometer stood outside ------------------------------------------------------------------------


def spells_of(known: Tracked, checks: Sequence[Measured]) -> Iterator[Spell]:
    """The times that one thermometer stood outside before a check found it, the earliest first."""
    places_of = {one.at_days: n for n, one in enumerate(known.told.history.observations)}
    standing, good_at = "", -1
    decided = [one for one in checks if one.counts and one.outcome in (*GOOD, *OUTSIDE)]
    for n, one in enumerate(decided):
        outside = one.outcome in OUTSIDE
        place = places_of.get(one.at / DAY_US)
        if outside and standing != "outside" and place is not None and "tolerance" in one.said:
            spell = _spell(known, one, place, celsius_of(one.said["tolerance"]), good_at)
            yield replace(spell, chance=spell.chance or _contradicted(known, one, decided[n + 1 : n + 2]))
        standing = "outside" if outside else "good"
        good_at = good_at if outside else one.at
        if any(event.at_days == one.at / DAY_US for event in _set(known.track)):
            standing, good_at = "good", one.at


def _contradicted(known: Tracked, check: Measured, after: Sequence[Measured]) -> bool:
    """Whether the next check at that point was good, with nothing done to it and nothing that happened in between."""
    if not after or after[0].outcome not in GOOD or after[0].said["point"] != check.said["point"]:
        return False
    events = [one for one in known.track.items if isinstance(one, Event)]
    return not any(check.at <= one.at_days * DAY_US <= after[0].at for one in events)


def _set(track: Track) -> list[Event]:
    return [one for one in track.items if isinstance(one, Event) and one.kind == "adjusted"]


def _spell(known: Tracked, check: Measured, place: int, limit: float, good_at: int) -> Spell:
    observations = known.told.history.observations
    celsius = observations[place].temperature
    smoothed = [one.at(celsius) for one in known.track.smoothed[: place + 1]]
    path = [(one.at_days, known_as.offset) for one, known_as in zip(observations, smoothed, strict=False)]
    read = observations[place]
    inside = abs(path[-1][1]) <= limit
    before = smoothed[-2] if place else None
    if inside and (before is None or abs(read.offset - before.offset) > ODD * hypot(before.sd, read.u_new)):
        # A jump at the last check before it was set or taken away: tracking believes one such check little.
        path[-1], inside = (read.at_days, read.offset), False
    events = [one for one in known.track.items if isinstance(one, Event) and one.at_days < path[-1][0]]
    begins = crossing(path, events, limit)
    happened = any(one.kind != "adjusted" and one.at_days * DAY_US > good_at for one in events)
    begins_at = min(max(round(begins * DAY_US), good_at, 0), check.at)
    return Spell(check.thermometer, begins_at, good_at, check.at, happened, inside)


def crossing(path: Sequence[tuple[float, float]], events: Sequence[Event], limit: float) -> float:
    """The day on which a line through (day, offset) went beyond ± limit for the last time before its end.

    events: an adjustment sets the line anew, an incident is taken for the moment at which it jumped. The end itself
    where the line is inside there: then its reading alone was outside.

    >>> crossing([(0.0, 0.0), (10.0, 2.0)], [], 1.0)
    5.0
    """
    day, offset = path[-1]
    if abs(offset) <= limit:
        return day
    side = copysign(limit, offset)
    for before_day, before in reversed(path[:-1]):
        between = [one for one in events if before_day <= one.at_days < day]
        turned = next((one for one in reversed(between) if one.kind == "adjusted" and one.as_left is not None), None)
        if turned is not None and turned.as_left is not None:
            before_day, before = turned.at_days, turned.as_left
        if before * side < abs(side) * limit:  # inside, or out on the other side
            jumped = next((one.at_days for one in reversed(between) if one.kind != "adjusted"), None)
            if jumped is not None and jumped >= before_day:
                return jumped
            return before_day + (day - before_day) * (side - before) / (offset - before)
        if turned is not None:
            return before_day
        day, offset = before_day, before
    return path[0][0]


# --- what a plan finds ---------------------------------------------------------------------------------------

Every = int | Literal["each_shift"] | None


def how_many(every: Mapping[str, Every], present: Mapping[str, Sequence[ShiftTime]]) -> int:
    """Checks that a plan asks for of thermometers in the shifts in which they were there."""
    return sum(len(round_of(asked, present[one])) for one, asked in every.items())


def round_of(every: Every, times: Sequence[ShiftTime], late: int = 0) -> list[ShiftTime]:
    """The shifts in which one is checked: each, or the first on or after its day; it begins `late` days in."""
    if every is None or not times:
        return []
    if every == "each_shift":
        return list(times)
    found, due = [], times[0].day + timedelta(days=late)
    for time in times:
        if time.day >= due:
            found.append(time)
            due = time.day + timedelta(days=every)
    return found


def under(every: Every, times: Sequence[ShiftTime], spell: Spell) -> Under:
    """A spell under a plan, on every day of its round alike. A check is made as a shift begins; in the shift in which
    it was found as things went it is found at that moment. times: the site's shifts, since one that nobody found would
    have stayed in use."""
    phases = range(every) if isinstance(every, int) else range(1)
    return found_by([round_of(every, times, late) for late in phases], times, spell)


def with_turns(
    every: Mapping[str, int], present: Mapping[str, Sequence[ShiftTime]], times: Sequence[ShiftTime], late: int = 0
) -> dict[str, list[ShiftTime]]:
    """The shifts in which each of those that are taken by turns is checked: on its day, or as the sentinel.

    every: days between its checks. The days on which they begin are spread over their intervals, `late` days on.
    """
    first = times[0].day if times else date.min
    here = {one: {(time.begins_at, time.shift.id) for time in present[one]} for one in every}
    wanted = {one: first + timedelta(days=(late + nth) % every[one]) for nth, one in enumerate(sorted(every))}
    looked = {one: Looked(one, wanted[one] - timedelta(days=every[one]), wanted[one]) for one in every}
    last = {one: n - len(every) for n, one in enumerate(sorted(every, key=lambda one: (wanted[one], one)))}
    found: dict[str, list[ShiftTime]] = {one: [] for one in every}
    for n, time in enumerate(times):
        those = [one for one in schedule.waited_longest(last) if (time.begins_at, time.shift.id) in here[one]]
        sentinel = schedule.in_turn(time.day, (looked[one] for one in those))
        for one in those:
            if one == sentinel or looked[one].by_days <= time.day:
                last[one] = n
                looked[one] = Looked(one, time.day, time.day + timedelta(days=every[one]))
                found[one].append(time)
    return found


def found_by(rounds: Sequence[Sequence[ShiftTime]], times: Sequence[ShiftTime], spell: Spell) -> Under:
    """A spell under rounds of which each is as likely as the others. times: the site's shifts."""
    end = max((one.ends_at for one in times), default=spell.found_at)
    delays = [_found_at(each, spell) for each in rounds]
    days = [((end if at is None else at) - spell.begins_at) / DAY_US for at in delays]
    return Under(max(sum(days) / len(days), 0.0), sum(at is not None for at in delays) / len(delays))


def _found_at(those: Sequence[ShiftTime], spell: Spell) -> int | None:
    for time in those:
        if time.begins_at - schedule.EARLY_US <= spell.found_at <= time.ends_at:
            return spell.found_at
        if time.begins_at >= spell.begins_at:
            return time.begins_at
    return None
