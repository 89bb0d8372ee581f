"""How long thermometers hold between checks, by type, model or site, and what that says of the plan in force.

Only the regular round counts: a check as found, at the point where a thermometer is checked most, begun from one that
left it right, with nothing that happened to it in between. What was left out is counted, with why. Advice goes no
further than the record does: a longer interval rests on the cautious end of what fits, never on its middle, and never
on more than twice what was seen or what is in force; a step at a time, each looked at before the next.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import groupby
from math import floor
from statistics import median
from typing import Literal

from sqlalchemy import Connection

from registry.compute import intervals, schedule
from registry.compute.intervals import Fit, Followed
from registry.records.outcomes import GOOD, OUTSIDE
from registry.records.places import SiteSet
from registry.services import activity, outlook, places, plan_kept, rules, thermometers, tracking
from registry.services.plan_kept import Past
from registry.services.problems import refuse
from registry.services.session import Session, day_at
from registry.services.thermometers import Thermometer
from registry.services.told import celsius_of, told_of
from registry.store import queries
from registry.store import tracking as store
from registry.store.queries import Fact
from registry.store.tracking import Happened, Measured

DAY_US, HOUR_US = 86_400_000_000, 3_600_000_000
GROUPS = ("type", "model", "site")
LEFT_OUT = ("bath", "other_point", "first", "was_outside", "incident", "adjusted", "out_of_turn", "no_plan")
# All of these are judgement.
SAME_VISIT_US = 4 * HOUR_US  # a check this soon after another is of the same visit
LEAST_CHECKS = 10  # fewer say nothing worth a sentence
LEAST_FAILURES = 5  # with fewer the middle of a fit is luck
REACHED_BY = 5  # the longest interval seen is one that so many checks reached
RE_ZEROED = 0.1  # share of intervals begun by setting one that was inside: from here on the tracker is asked
MONTH_DAYS, KEPT, LEAST_ASKED = 30, 0.8, 20

Progress = Callable[[int], bool]  # told how many thermometers were read; answers False to stop


@dataclass(frozen=True, slots=True)
class Round:
    """One check of the regular round: days since it was left right, whether it was still good as found.

    share: its offset over the tolerance, without sign; start: the chance that a check finds a right one inside.
    """

    days: float
    good: bool
    share: float | None
    start: float


@dataclass(frozen=True, slots=True)
class Rounds:
    """All of one thermometer; set_inside: intervals begun by setting it while it was inside. point: where it is checked
    most."""

    thermometer: str
    counted: tuple[Round, ...] = ()
    left_out: Mapping[str, int] = field(default_factory=dict)
    set_inside: int = 0
    point: str = ""


@dataclass(frozen=True, slots=True)
class Advice:
    """What follows for the plan, to be worded.

    says: shorter, longer, each_shift (fewer than a day), replace (too many fail however often they are checked),
    keep, keep_few (too few failures to say), keep_none (none failed, and that shows no more), too_few (checks),
    mixed (of several rules), types_differ (longer would do for all together, of several types), no_rule (the plan
    asks for none again and again), no_shifts (it asks in each shift, of which none is on record). days: the interval
    advised, in whole days, where one is; now: the one in force, None for each shift.
    """

    says: str
    days: int | None = None
    now: float | None = None


@dataclass(frozen=True, slots=True)
class Interval:
    """What the record says of one type, model (maker and model as recorded) or site (its id).

    thermometers: that are in the group; checks: that count; left_out: how many do not, by why (LEFT_OUT). fit: None
    without any. method: `observed`, or `tracked` where people set them inside the tolerance; passage: the interval
    that the tracker gives then, days. each_shift: what is in force asks in each shift. staircase: the simple
    alternative, days, None where no check says how far it was off.
    """

    key: str
    by: str
    thermometers: int
    checks: int
    failures: int
    left_out: Mapping[str, int]
    fit: Fit | None
    method: Literal["observed", "tracked"]
    passage: int | None
    staircase: float | None
    each_shift: bool
    advice: Advice


@dataclass(frozen=True, slots=True)
class PlanKept:
    """How a site kept its plan in the last 30 local days that are over: done of what was asked and not answered.

    change: it was kept under 80 %, so that a rule which people keep would be worth more. `enough`: that was asked.
    """

    site: str
    name: str
    asked: int
    done: int
    plan: str

    @property
    def enough(self) -> bool:
        return self.asked >= LEAST_ASKED

    @property
    def share(self) -> float | None:
        return self.done / self.asked if self.asked else None

    @property
    def change(self) -> bool:
        return self.enough and self.done < KEPT * self.asked


def by_group(
    session: Session,
    by: str = "type",
    sites: Collection[str] | None = None,
    *,
    target: float = intervals.TARGET,
    progress: Progress = activity.go_on,
) -> list[Interval]:
    """Every type, model or site whose thermometers are kept, the one with most checks first; retired ones count too.

    target: share that is to be right at the end of an interval, 0.5 to 0.999.
    """
    if by not in GROUPS:
        raise refuse("by", "choose", value=by, choices=", ".join(GROUPS))
    if not 0.5 <= target <= 0.999:
        raise refuse("target", "out_of_range", value=f"{100 * target:g}")
    with session.reading() as connection:
        groups: dict[str, list[Thermometer]] = defaultdict(list)
        for n, row in enumerate(queries.thermometers(connection)):
            if row.site is not None and (sites is None or row.site in sites):
                of = thermometers.thermometer(connection, row.thermometer)
                groups[_key(of, by)].append(of)
            if not progress(n):
                return []
        those = [of for some in groups.values() for of in some]
        rounds = {one.thermometer: one for one in rounds_of(connection, those)}
        found = [
            _interval(session, connection, key, by, some, [rounds[of.row.thermometer] for of in some], target)
            for key, some in groups.items()
        ]
    return sorted(found, key=lambda one: (-one.checks, one.key))


def _key(of: Thermometer, by: str) -> str:
    if by == "model":
        return " ".join(filter(None, (of.maker, of.model)))
    return of.type.code if by == "type" else of.row.site or ""


# --- which checks count --------------------------------------------------------------------------------------


def rounds_of(connection: Connection, those: Sequence[Thermometer]) -> list[Rounds]:
    """The checks of the regular round of these, in their order, by the plan and the place of their time."""
    then = plan_kept.past(connection)
    sites = places.sites(connection)
    zones = {one.subject: one.payload.zone for one in sites}
    ids = [of.row.thermometer for of in those]
    checks, turned = (_by(find(connection, ids)) for find in (store.checks, store.adjustments))
    happened: dict[str, list[Happened]] = defaultdict(list)
    for what in store.incidents(connection, ids):
        happened[what.thermometer].append(what)
    until = max((some[-1].at for some in checks.values()), default=0) + 2 * DAY_US
    sentinels = {one.subject: plan_kept.sentinels_of(connection, then, one, until) for one in sites}
    found = []
    for of, told in zip(those, told_of(connection, those), strict=True):
        noise = {one.at: one.u_new for one in told.seen if not one.as_left}
        turns = Turns(then, zones, of, sentinels)
        one = of.row.thermometer
        found.append(rounds(one, checks[one], turned[one], happened[one], turns.in_turn, noise))
    return found


def _by(found: Iterable[Measured]) -> dict[str, list[Measured]]:
    together: dict[str, list[Measured]] = defaultdict(list)
    for one in found:
        together[one.thermometer].append(one)
    return together


Sentinels = Mapping[str, Sequence[tuple[int, int]]]  # as `plan_kept.sentinels_of`


class Turns:
    """Whether the plan of its time asked for a check of a thermometer, so long after the one before."""

    def __init__(
        self, then: Past, zones: Mapping[str, str], of: Thermometer, sentinels: Mapping[str, Sentinels]
    ) -> None:
        self.then, self.zones, self.of, self.sentinels = then, zones, of, sentinels
        self.plans: dict[tuple[str, int], schedule.Plan | None] = {}

    def in_turn(self, before: int, at: int, point: str) -> str:
        """Nothing where it did at this point, else out_of_turn or no_plan."""
        site = self.then.site_at(self.of.row.thermometer, at) or ""
        plan = self._plan(site, at)
        if plan is None or site not in self.zones:
            return "no_plan"
        asked = asked_every(plan, self.of, site, point)
        if asked == "each_shift":
            return "" if at - before >= SAME_VISIT_US else "out_of_turn"
        zone = self.zones[site]
        passed = (day_at(at, zone) - day_at(before, zone)).days
        if isinstance(asked, int) and (passed >= asked or self._was_sentinel(site, at)):
            return ""
        return "out_of_turn"

    def _was_sentinel(self, site: str, at: int) -> bool:
        """The plan picked it then, so that it is no sign of doubt that it was looked at before its day."""
        turns = self.sentinels[site].get(self.of.row.thermometer, ())
        return any(opens <= at <= ends for opens, ends in turns)

    def _plan(self, site: str, at: int) -> schedule.Plan | None:
        known = (site, sum(one.at <= at for one in self.then.plans))
        if known not in self.plans:
            self.plans[known] = plan_kept.plan_at(self.then, site, at)
        return self.plans[known]


def asked_every(plan: schedule.Plan, of: Thermometer, site: str, point: str = "") -> int | Literal["each_shift"] | None:
    """How often a plan asks for a thermometer again and again: days, each shift, or never.

    point: at this one, by the rules for it and those for any; empty: at whichever it asks for most often. Checks by
    turns have no interval of their own.
    """
    own = [
        one
        for one in schedule.rules_for(plan, of.type.code, site, of.row.thermometer)
        if one.code in ("each_shift", "every_days") and (not point or one.point in (None, point))
    ]
    if any(one.code == "each_shift" for one in own):
        return "each_shift"
    return min((one.days for one in own if one.days), default=None)


def rounds(
    thermometer: str,
    checks: Sequence[Measured],
    adjusted: Sequence[Measured],
    incidents: Sequence[Happened],
    in_turn: Callable[[int, int, str], str],
    noise: Mapping[int, float],
) -> Rounds:
    """Which checks of one thermometer are of its regular round; in time order each.

    in_turn: of the instants of two checks and their point, nothing or why the second is not of the round. noise: u of
    a reading by the instant of its check, °C. Of an instant an incident comes first, then a check, then what was
    adjusted at it.
    """
    standing = [one for one in checks if not one.voided]
    points = Counter(one.said["point"] for one in standing if one.outcome is not None)
    usual = points.most_common(1)[0][0] if points else ""
    items: list[tuple[int, int, Measured | Happened]] = [(one.at, 0, one) for one in incidents]
    items += [(one.at, 1, one) for one in standing]
    items += [(one.at, 2, one) for one in adjusted if not one.voided]
    walk = _Walk(usual, in_turn, noise)
    for _, kind, what in sorted(items, key=lambda item: item[:2]):
        if isinstance(what, Happened):
            walk.spoiled = "incident"
        elif kind == 1:
            walk.checked(what)
        else:
            walk.adjusted(what)
    return Rounds(thermometer, tuple(walk.counted), dict(walk.left_out), walk.set_inside, usual)


class _Walk:
    """Through the record of one thermometer: since when it is known to be right, and what came between."""

    def __init__(self, usual: str, in_turn: Callable[[int, int, str], str], noise: Mapping[int, float]) -> None:
        self.usual, self.in_turn, self.noise = usual, in_turn, noise
        self.counted: list[Round] = []
        self.left_out: Counter[str] = Counter()
        self.set_inside = 0
        self.right_since: int | None = None
        self.spoiled = "first"
        self.last: Measured | None = None

    def checked(self, one: Measured) -> None:
        if not one.counts or one.judged == "suspect" or one.outcome not in (*GOOD, *OUTSIDE):
            self.left_out["bath"] += 1
            return
        self.last = one
        good = one.outcome in GOOD
        if one.said["point"] != self.usual:
            self.left_out["other_point"] += 1
            if not good:
                self.spoiled = "was_outside"
            return
        why = self.spoiled or ("first" if self.right_since is None else self._in_turn(self.right_since, one.at))
        if why:
            self.left_out[why] += 1
        elif self.right_since is not None:
            self.counted.append(self._round(one, self.right_since, good))
        self.right_since, self.spoiled = (one.at, "") if good else (None, "was_outside")

    def _in_turn(self, before: int, at: int) -> str:
        return self.in_turn(before, at, self.usual)

    def _round(self, one: Measured, since: int, good: bool) -> Round:
        limit = celsius_of(one.said["tolerance"]) if "tolerance" in one.said else None
        if not limit:
            return Round((one.at - since) / DAY_US, good, None, 1.0)
        share = abs(celsius_of(one.said["offset"])) / limit
        return Round((one.at - since) / DAY_US, good, share, intervals.found_inside(self.noise.get(one.at, 0.0), limit))

    def adjusted(self, one: Measured) -> None:
        """Measured again at its own check and good there it begins an interval, else nothing is known."""
        at_check = self.last is not None and one.said.get("check") == self.last.said.get("check")
        right = at_check and one.measured and one.counts and one.outcome in GOOD and one.said["point"] == self.usual
        if not right or self.last is None:
            self.spoiled = "adjusted"
            return
        self.set_inside += self.last.outcome in GOOD
        self.right_since, self.spoiled = one.at, ""


# --- what they say -------------------------------------------------------------------------------------------


def _interval(
    session: Session,
    connection: Connection,
    key: str,
    by: str,
    those: Sequence[Thermometer],
    found: Sequence[Rounds],
    target: float,
) -> Interval:
    counted = [one for each in found for one in each.counted]
    left_out: Counter[str] = Counter()
    for each in found:
        left_out.update(each.left_out)
    points = {one.thermometer: one.point for one in found}
    now, each_shift, rules_differ = _in_force(session, connection, those, points)
    fitted = fitted_to(counted, target)
    re_zeroed = bool(counted) and sum(one.set_inside for one in found) >= RE_ZEROED * len(counted)
    passage = _passage(session, connection, those, fitted, target) if re_zeroed and fitted else None
    tracked = passage is not None
    return Interval(
        key,
        by,
        len(those),
        len(counted),
        sum(not one.good for one in counted),
        dict(left_out),
        fitted,
        "tracked" if tracked else "observed",
        passage,
        _stairs(found, now, fitted),
        each_shift,
        Advice("mixed") if rules_differ else _of_types(those, advice(fitted, passage, now, each_shift)),
    )


def _of_types(those: Sequence[Thermometer], given: Advice) -> Advice:
    """A longer interval is never advised for several types together: the good ones would speak for the others."""
    several = len({of.type.code for of in those}) > 1
    return Advice("types_differ", None, given.now) if several and given.says == "longer" else given


def _stairs(found: Sequence[Rounds], now: float | None, fitted: Fit | None) -> float | None:
    """The median of where the staircase takes each of them by its last check, days."""
    last = [shares[-1] for each in found if (shares := [one.share for one in each.counted if one.share is not None])]
    if not now or not last or fitted is None:
        return None
    return median(intervals.staircase(now, [one], fitted.longest) for one in last)


def fitted_to(counted: Sequence[Round], target: float = intervals.TARGET) -> Fit | None:
    """The reliability fitted to checks of the regular round, to a quarter of a day; None for none."""
    if not counted:
        return None
    ordered = sorted(counted, key=_quarters)
    days, checks, good = [], [], []
    for length, some in groupby(ordered, key=_quarters):
        alike = list(some)
        days.append(length / 4)
        checks.append(len(alike))
        good.append(sum(one.good for one in alike))
    start = sum(one.start for one in counted) / len(counted)
    reached = _quarters(ordered[-min(REACHED_BY, len(ordered))]) / 4
    return intervals.fit(days, checks, good, start=start, target=target, longest=reached)


def _quarters(one: Round) -> int:
    return max(round(one.days * 4), 1)


def advice(fitted: Fit | None, passage: int | None, now: float | None, each_shift: bool) -> Advice:
    """What a fit, or the tracker's passage where that is asked, says of an interval of so many days in force."""
    if now is None:
        return Advice("no_shifts" if each_shift else "no_rule")
    in_force = None if each_shift else now
    if fitted is None or fitted.checks < LEAST_CHECKS:
        return Advice("too_few", None, in_force)
    best, low, high = (fitted.interval, fitted.low, fitted.high) if passage is None else (float(passage),) * 3
    sure = passage is not None or fitted.failures >= LEAST_FAILURES
    if high < now or (sure and best < now):
        return _shorter(best, now, in_force)
    longer = min(floor(low), floor(intervals.FARTHEST * now))
    if longer > now:
        return Advice("longer", longer, in_force)
    if passage is None and not fitted.failures:
        return Advice("keep_none", None, in_force)
    return Advice("keep" if sure else "keep_few", None, in_force)


def _shorter(best: float, now: float, in_force: float | None) -> Advice:
    """In whole days; where not even a day is left the rule is each shift, and where that does not do either, others."""
    if best >= 1:
        return Advice("shorter", floor(best), in_force) if floor(best) < now else Advice("keep", None, in_force)
    return Advice("each_shift" if now > 1 else "replace", None, in_force)


def _in_force(
    session: Session, connection: Connection, those: Sequence[Thermometer], points: Mapping[str, str]
) -> tuple[float | None, bool, bool]:
    """Days between checks that the plan asks for now, whether that is each shift, and whether it differs among them.

    points: of each the one it is usually checked at. Where no shift is on record each shift asks for nothing.
    """
    asked: Counter[tuple[float | None, bool]] = Counter()
    by_site: dict[str, tuple[schedule.Plan, float]] = {}
    for of in those:
        site = of.row.site
        if site is None or of.row.service_status in schedule.OWES_NOTHING:
            continue
        if site not in by_site:
            plan = rules.due_rules(rules.rules_in_force(connection, site).plan)
            by_site[site] = (plan, _shifts_a_week(session, connection, site))
        plan, shifts = by_site[site]
        every = asked_every(plan, of, site, points.get(of.row.thermometer, ""))
        asked[(7 / shifts if shifts else None, True) if every == "each_shift" else (every, False)] += 1
    if not asked:
        return None, False, False
    (now, each_shift), _ = asked.most_common(1)[0]
    differ = len({("each_shift",) if shift else (days,) for days, shift in asked}) > 1
    return (float(now) if now else None), each_shift, differ


def _shifts_a_week(session: Session, connection: Connection, site: str) -> int:
    today = session.today(places.site_named_by_id(connection, site).payload).isoformat()
    on = [one.payload for one in places.shifts(connection, site)]
    return sum(len(one.weekdays) for one in on if one.from_day <= today and (one.to_day or today) >= today)


def _passage(
    session: Session, connection: Connection, those: Sequence[Thermometer], fitted: Fit, target: float
) -> int | None:
    """By the tracker, of those in use whose tolerance is known; no further than the record reaches."""
    used = [of for of in those if of.row.service_status not in schedule.OWES_NOTHING]
    followed = []
    for of, known in zip(used, tracking.tracked(session, connection, used).values(), strict=True):
        permitted = rules.rules_in_force(connection, of.row.site).tolerance(
            of.facts.class_ or of.type.tolerance_class, of.scale
        )
        if permitted is not None and known.known:
            celsius = outlook.usual(known)
            limit = celsius_of(permitted.tolerance)
            followed.append(Followed(known.track, limit, celsius, known.told.shared_at(celsius)))
    return intervals.first_passage(followed, max(floor(fitted.farthest), 1), target)


# --- how the plan is kept ------------------------------------------------------------------------------------


def plans_kept(session: Session, sites: Collection[str] | None = None) -> list[PlanKept]:
    """Per site, how its plan was kept in the last 30 days that are over; where under 80 %, a change is advised."""
    with session.reading() as connection:
        then = plan_kept.past(connection)
        return [
            _kept(session, connection, then, one)
            for one in places.sites(connection)
            if sites is None or one.subject in sites
        ]


def _kept(session: Session, connection: Connection, then: Past, site: Fact[SiteSet]) -> PlanKept:
    now = session.clock()
    last = day_at(now, site.payload.zone) - timedelta(days=1)
    first = last - timedelta(days=MONTH_DAYS - 1)
    states: Counter[str] = Counter()
    for of_one in plan_kept.asked_on(connection, then, site, first, last, now):
        states.update(one.state for one in of_one)
    plan = rules.rules_in_force(connection, site.subject).plan.plan
    return PlanKept(site.subject, site.payload.name, states["done"] + states["missed"], states["done"], plan)
