"""What is due, when and why: shifts in local time, the rules of a plan, the record of one thermometer.

Pure: the instant called now, the plan and the record are handed in. Instants are integer microseconds UTC
and end in `_at` or `_us`; a day is a plain local date; minutes count from local midnight. A site's shifts
are worked out once with `shift_times` and serve all its thermometers.

Local time (IANA tz database by `zoneinfo`, fold as in PEP 495): a time that the clock leaps over moves
forward to the first instant after the leap; of a time shown twice a shift begins at the first and ends at
the second. So a repeated hour never shortens a shift, a missing one does, and a shift that lies wholly in a
leap does not occur.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache, partial
from types import MappingProxyType
from zoneinfo import ZoneInfo

MINUTE_US = 60_000_000
DAY_MINUTES = 1440
EARLY_US = 60 * MINUTE_US  # a check up to an hour before a shift begins counts for it (judgement)
HOT_POINT_DAYS = 90
EXPIRY_NOTICE_DAYS = 30  # how long before its date an outside certificate is asked for (judgement)
LONGEST_DAYS = 3660

_BY_DAY = frozenset(("every_days", "hot_point", "reference_expiry", "forecast"))
BY_SHIFT = frozenset(("each_shift", "sentinel"))  # done or missed by the end of a shift
RULES = _BY_DAY | BY_SHIFT | frozenset(("after_incident", "after_adjustment", "new"))
ANSWERS = frozenset(("not_used", "not_found", "no_reading", "station_closed", "lent"))
OWES_NOTHING = frozenset(("out_of_use", "lost", "retired"))
# These bar use until a check is made, rather than set a date, so they are due but never overdue.
BEFORE_USE = frozenset(("check_first", "after_incident", "new"))
_BARS = {"check_first": -1, "after_incident": 0}
URGENCY = {"overdue": 1, "due": 2, "not_found": 3, "no_reading": 3, "missed": 4, "done": 6}  # others 5

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND, _MINUTE, _DAY = timedelta(microseconds=1), timedelta(minutes=1), timedelta(days=1)
# Instants beyond these are taken as these, so that an absurd clock can't run out of the calendar.
_EARLIEST_US, _LATEST_US = 0, (datetime(2200, 1, 1, tzinfo=UTC) - _EPOCH) // _MICROSECOND


@dataclass(frozen=True, slots=True)
class Shift:
    """A named working period of a site on given weekdays (Monday 0), from one day to another inclusive.

    start, end: minutes after local midnight, 0 to 1439. An end not after the start is on the next day; equal
    ones are 24 hours. Raises ValueError outside that range.
    """

    id: str
    site: str
    name: str
    start: int
    end: int
    weekdays: frozenset[int]
    from_day: date
    to_day: date | None = None

    def __post_init__(self) -> None:
        if not (0 <= self.start < DAY_MINUTES and 0 <= self.end < DAY_MINUTES):
            raise ValueError(f"a shift starts and ends at 0 to 1439 minutes, not {self.start} and {self.end}")


@dataclass(frozen=True, slots=True)
class ShiftTime:
    """One shift on one day: the local day on which it begins, and its instants, µs UTC."""

    shift: Shift
    day: date
    begins_at: int
    ends_at: int


@dataclass(frozen=True, slots=True)
class DueRule:
    """One rule of a plan; `types`, `sites` and `tags` (tag ids) narrow it, empty ones take all.

    code: one of RULES; `sentinel` takes one of all that it is for, a shift and site (`in_turn`).
    point: `ice_point`, `boiling_point`, `comparison`, or None for any.
    days: 1 to 3660; needed by `every_days`; None means the next shift for `after_adjustment`, 90 for
    `hot_point`, and for `reference_expiry` asking 30 days before. Raises ValueError for anything else.
    """

    code: str
    point: str | None = None
    days: int | None = None
    types: frozenset[str] = frozenset()
    sites: frozenset[str] = frozenset()
    tags: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if self.code not in RULES:
            raise ValueError(f"no due rule is called {self.code!r}")
        if self.days is None and self.code == "every_days":
            raise ValueError("every_days needs its number of days")
        if self.days is not None and not 1 <= self.days <= LONGEST_DAYS:
            raise ValueError(f"days must be 1 to {LONGEST_DAYS}, not {self.days}")


Plan = tuple[DueRule, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What was said of a thermometer in a shift instead of a check: a code of ANSWERS and its reason."""

    shift: str
    day: date
    code: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class History:
    """The record of one thermometer, as far as the schedule asks; None where it never happened.

    last_good_hot_at: last good check at boiling or beside a reference at 60 °C or more. What was good before
    adjusted_at no longer is: an adjustment moves the whole scale.
    incident_at, incident_code: the last unsettling one since the last good check at any point, in the journal's order.
    failed_at: when at some point it was last outside, or adjusted and not known to be right since, with nothing good
    there after it; whatever its status. last_check_at, checks_at: those that decided something, checks_at the recent
    ones in any order. waits_at: the last one in a bath that nobody has judged yet.
    turns: the shifts, id and day, in which it is the sentinel. forecast_point: of one that is checked at several, where
    it may be out first.
    """

    thermometer: str
    tag_id: str
    type: str
    site: str
    hot_use: bool
    enrolled_at: int
    service_status: str
    last_good_by_point: Mapping[str, int]
    last_check_at: int | None = None
    last_good_at: int | None = None
    last_good_hot_at: int | None = None
    incident_at: int | None = None
    incident_code: str = ""
    failed_at: int | None = None
    adjusted_at: int | None = None
    adjusted_checked_since: bool = False
    reference_due_day: date | None = None
    forecast_day: date | None = None
    forecast_point: str = ""
    answers: tuple[Answer, ...] = ()
    checks_at: tuple[int, ...] = ()
    waits_at: int | None = None
    turns: frozenset[tuple[str, date]] = frozenset()


# each_shift, sentinel, every_days, hot_point, every_days_never, hot_point_never, incident, failed, check_first, new,
# forecast, forecast_point, adjusted (read again after it), adjusted_hot, adjusted_point or reference_expiry, with what
# it needs to be said.
Why = tuple[str, Mapping[str, str | int | date]]


@dataclass(frozen=True, slots=True)
class DueItem:
    """One thing wanted of a thermometer, and why (a code with its values, to be worded elsewhere).

    code: of the rule, or `check_first`, which holds under any plan. opens_at: since when it is wanted;
    due_at: by when, a shift's end or the midnight after `day`. day: the local day it belongs to.
    """

    thermometer: str
    code: str
    point: str | None
    state: str
    opens_at: int
    due_at: int
    day: date
    shift: str | None
    why: Why


def time_zone(name: str) -> ZoneInfo:
    """The time zone of an IANA name; ValueError with a plain sentence when there is none.

    >>> time_zone("Europe/Madrid").key
    'Europe/Madrid'
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:  # OSError: a folder's name, such as "Europe"
        raise ValueError(f"there is no time zone {name!r}") from error


def local_day(at: int, zone: ZoneInfo) -> date:
    """The calendar day in `zone` at an instant, µs UTC; instants outside 1970 to 2199 are cut to these.

    >>> local_day(1_772_548_200_000_000, time_zone("Pacific/Apia")).isoformat()
    '2026-03-04'
    """
    cut = min(max(at, _EARLIEST_US), _LATEST_US)
    return (_EPOCH + cut * _MICROSECOND).astimezone(zone).date()


@lru_cache(maxsize=4096)  # a due list asks for the same few midnights of all its thermometers
def _instant(day: date, minute: int, zone: ZoneInfo, second: bool = False) -> int:
    """µs UTC when the clock in `zone` shows `minute` (it may pass midnight) of `day`; shown twice, which."""
    wall = datetime(day.year, day.month, day.day, tzinfo=zone) + minute * _MINUTE
    first, last = wall.astimezone(UTC), wall.replace(fold=1).astimezone(UTC)
    if first > last:  # leapt over: `first` is surely after the leap; step back to the first instant there
        while _offset(first - _MINUTE, zone) == _offset(first, zone):
            first -= _MINUTE
        last = first
    return ((last if second else first) - _EPOCH) // _MICROSECOND


def _offset(utc: datetime, zone: ZoneInfo) -> timedelta | None:
    return utc.astimezone(zone).utcoffset()


def occurrences(shift: Shift, zone: str, from_us: int, to_us: int) -> tuple[ShiftTime, ...]:
    """The times of one shift that overlap from_us (inclusive) to to_us (exclusive), µs UTC, in order.

    Years 1970 to 2199; leaps and repeated hours as at the head of this module. ValueError: unknown zone.

    >>> day = date(2026, 3, 28)  # the night before the clock leaps in Madrid: 7 hours
    >>> night = Shift("n", "s", "Night", 22 * 60, 6 * 60, frozenset(range(7)), day, day)
    >>> [t] = occurrences(night, "Europe/Madrid", 0, 2**53)
    >>> (t.ends_at - t.begins_at) // MINUTE_US
    420
    """
    place = time_zone(zone)
    # Two days before and one after: over midnight, over a lost day, over a clock set back past midnight.
    first = max(local_day(from_us, place) - 2 * _DAY, shift.from_day)
    last = min(local_day(to_us, place) + _DAY, shift.to_day or date.max)
    end = shift.end + (DAY_MINUTES if shift.end <= shift.start else 0)
    found = []
    for n in range((last - first).days + 1 if from_us < to_us else 0):
        day = first + n * _DAY
        if day.weekday() in shift.weekdays:
            begins, ends = _instant(day, shift.start, place), _instant(day, end, place, second=True)
            if begins < min(ends, to_us) and ends > from_us:
                found.append(ShiftTime(shift, day, begins, ends))
    return tuple(found)


def shift_times(shifts: Iterable[Shift], zone: str, from_us: int, to_us: int) -> tuple[ShiftTime, ...]:
    """The times of a site's shifts as `occurrences` gives them, together, by when they begin.

    >>> shift_times([], "Europe/Madrid", 0, 1)
    ()
    """
    times = (time for shift in shifts for time in occurrences(shift, zone, from_us, to_us))
    return tuple(sorted(times, key=lambda t: (t.begins_at, t.ends_at, t.shift.id)))


def due(
    history: History,
    plan: Plan,
    times: tuple[ShiftTime, ...],
    zone: str,
    now_us: int,
    missed_since_us: int,
    closed: frozenset[date] = frozenset(),
    then: Mapping[int, Plan] = MappingProxyType({}),
) -> tuple[DueItem, ...]:
    """What one thermometer owes at now_us, the most urgent first; nothing when lost, retired or out of use.

    times: from `shift_times`, reaching from missed_since_us to at least the next shift after now_us.
    missed_since_us: shifts that ended before it are not listed; one that was done is listed until it ends.
    A shift is done by a check from EARLY_US before it begins until it ends, both inclusive; one that waits for its
    bath does while the shift is on. What is wanted by days is due through that local day, or through the first that is
    not in `closed`, and overdue after it. then: the plan in which a shift began, by when it did, where it was another
    one: that is what it asks for to its end, and one that is on also for what the plan of now wants.
    ValueError for an unknown zone.

    >>> dial = History("a", "LM214", "bimetal", "s", True, 0, "in_service", {})
    >>> [(i.code, i.state, i.why) for i in due(dial, (DueRule("new"),), (), "America/Bogota", 5, 0)]
    [('new', 'due', ('new', {'enrolled_at': 0}))]
    """
    items = [
        item
        for item in _owed(history, plan, times, time_zone(zone), now_us, missed_since_us, closed, then)
        if (item.opens_at <= now_us or item.code in BEFORE_USE) and (item.state != "done" or now_us <= item.due_at)
    ]
    return tuple(sorted(items, key=_urgency))


def next_due(
    history: History,
    plan: Plan,
    times: tuple[ShiftTime, ...],
    zone: str,
    now_us: int,
    missed_since_us: int,
    closed: frozenset[date] = frozenset(),
) -> DueItem | None:
    """The open item that is wanted first, now or later: its `day` is the "recheck by" of a tag. As `due`.

    >>> dial = History("a", "LM214", "bimetal", "s", True, 0, "in_service", {"ice_point": 0})
    >>> item = next_due(dial, (DueRule("every_days", "ice_point", 7),), (), "Asia/Kathmandu", 5, 0)
    >>> item.day.isoformat() if item else None
    '1970-01-08'
    """
    items = coming(history, plan, times, zone, now_us, missed_since_us, closed)
    return min(items, key=lambda item: (item.due_at, item.code), default=None)


def coming(
    history: History,
    plan: Plan,
    times: tuple[ShiftTime, ...],
    zone: str,
    now_us: int,
    missed_since_us: int,
    closed: frozenset[date] = frozenset(),
) -> tuple[DueItem, ...]:
    """Every open item, wanted now or later, as far as the times reach; by when it is due. As `due`.

    >>> coming(History("a", "LM1", "dial", "s", False, 0, "lost", {}), (DueRule("new"),), (), "UTC", 5, 0)
    ()
    """
    owed = _owed(history, plan, times, time_zone(zone), now_us, missed_since_us, closed)
    return tuple(sorted((one for one in owed if one.state in ("due", "overdue")), key=lambda one: one.due_at))


@dataclass(frozen=True, slots=True)
class Looked:
    """One thermometer that may be a shift's sentinel, as it stood when the shift opened.

    on: the local day on which it was last checked, or answered for. by_days: the one on which its check by days is
    wanted.
    """

    thermometer: str
    on: date
    by_days: date


def in_turn(day: date, those: Iterable[Looked]) -> str | None:
    """The sentinel of a shift of `day`: who was not looked at for the longest time, of those not wanted by days then.

    those: as `waited_longest` sorts them, gone through as far as needed. Nobody gets a second turn before all others
    were looked at, whoever comes or goes, and nobody two on one day.

    >>> third, tenth = date(2026, 3, 3), date(2026, 3, 10)
    >>> in_turn(third, [Looked("b", date(2026, 3, 1), tenth), Looked("a", date(2026, 3, 2), tenth)])
    'b'
    """
    return next((one.thermometer for one in those if one.on < day < one.by_days), None)


def waited_longest(looked: Mapping[str, int]) -> list[str]:
    """Thermometers by when they were last looked at, the longest ago first; of one instant the lower id.

    >>> waited_longest({"a": 8, "c": 5, "b": 5})
    ['b', 'c', 'a']
    """
    return [one for _, one in sorted((at, one) for one, at in looked.items())]


def missed(history: History, times: tuple[ShiftTime, ...], from_us: int, to_us: int, now_us: int) -> dict[str, int]:
    """How many shifts that ended from from_us to before to_us, and before now_us, came to each state.

    For a thermometer that is to be checked each shift; a site's week is the sum over its thermometers.

    >>> missed(History("a", "LM1", "dial", "s", False, 0, "in_service", {}), (), 0, 9, 9)
    {}
    """
    states = _shift_states(history, times, from_us, now_us)
    return dict(Counter(state for t, state, _ in states if t.ends_at < min(to_us, now_us)))


def _urgency(item: DueItem) -> tuple[int, int, str, str]:
    return urgency(item), item.due_at, item.code, item.point or ""


def urgency(item: DueItem) -> int:
    """Rank of one thing wanted, the lowest first: known to be outside, then what may have moved it, then by state."""
    return _BARS.get(item.code, URGENCY.get(item.state, 5))


def _owed(
    history: History,
    plan: Plan,
    times: tuple[ShiftTime, ...],
    zone: ZoneInfo,
    now_us: int,
    since_us: int,
    closed: frozenset[date],
    then: Mapping[int, Plan] = MappingProxyType({}),
) -> Iterator[DueItem]:
    """Everything that the record and the plan ask, of later times too."""
    if history.service_status in OWES_NOTHING:
        return
    rules = _rules_of(history, plan)
    yield from _check_first(history, rules, zone)
    asked = set()
    for t in (t for t in times if t.begins_at in then):
        for item in _of_shifts(history, _rules_of(history, then[t.begins_at]), [t], since_us, now_us):
            asked.add((item.code, item.point, item.shift, item.day))
            yield item
    of_now = [t for t in times if t.begins_at not in then or now_us <= t.ends_at]
    for item in _of_shifts(history, rules, of_now, since_us, now_us):
        if (item.code, item.point, item.shift, item.day) not in asked:
            yield item
    for rule in rules:
        if rule.code in BEFORE_USE:
            yield from _before_use(history, rule, zone)
        elif rule.code == "after_adjustment":
            yield from _after_adjustment(history, rule, times, zone, now_us, since_us)
        elif rule.code in _BY_DAY:
            yield from _by_day(history, rule, zone, now_us, closed)


def _rules_of(history: History, plan: Plan) -> list[DueRule]:
    return rules_for(plan, history.type, history.site, history.tag_id)


def rules_for(plan: Plan, type: str, site: str, tag_id: str) -> list[DueRule]:
    """The rules that apply to a thermometer; of several of one code and point the one that asks first.

    >>> [one.days for one in rules_for((DueRule("every_days", days=7), DueRule("every_days", days=3)), "x", "s", "t")]
    [3]
    """
    chosen: dict[tuple[str, str | None], DueRule] = {}
    for rule in plan:
        if is_for(rule, type, site, tag_id):
            held = chosen.setdefault((rule.code, rule.point), rule)
            if _asks_sooner(rule, held):
                chosen[rule.code, rule.point] = rule
    return list(chosen.values())


def _asks_sooner(rule: DueRule, held: DueRule) -> bool:
    """By fewer days between checks, or by more of them before an outside certificate runs out."""
    more, fewer = (rule, held) if rule.code == "reference_expiry" else (held, rule)
    return _days(fewer) < _days(more)


def is_for(rule: DueRule, type: str, site: str, tag_id: str) -> bool:
    """Whether a rule is for a thermometer of this type, at this site, with this tag id.

    >>> is_for(DueRule("new", types=frozenset(("oven",))), "bimetal_stem", "s", "LM1")
    False
    """
    narrowed = ((rule.types, type), (rule.sites, site), (rule.tags, tag_id))
    return all(not wanted or own in wanted for wanted, own in narrowed)


def by_turns(plan: Plan, type: str, site: str, tag_id: str) -> tuple[DueRule, ...]:
    """Its rules by days, of one that a plan takes by turns: more rarely than daily, and not each shift; else none.

    >>> by_turns((DueRule("sentinel"), DueRule("every_days", days=1)), "bimetal_stem", "s", "LM1")
    ()
    """
    rules = rules_for(plan, type, site, tag_id)
    codes = {rule.code for rule in rules}
    by_days = tuple(rule for rule in rules if rule.code == "every_days")
    rarely = all(_days(rule) > 1 for rule in by_days)
    return by_days if "sentinel" in codes and "each_shift" not in codes and rarely else ()


def _days(rule: DueRule) -> int:
    if rule.days is not None:
        return rule.days
    return {"hot_point": HOT_POINT_DAYS, "reference_expiry": EXPIRY_NOTICE_DAYS}.get(rule.code, 0)


def _check_first(history: History, rules: list[DueRule], zone: ZoneInfo) -> Iterator[DueItem]:
    """A failed check left as it was, or the status itself, whatever the plan says."""
    bars = partial(_bar, history, "check_first", None, zone)
    # An incident's own rule says more than the bare status.
    told = history.incident_at is not None and any(rule.code == "after_incident" for rule in rules)
    if history.failed_at is not None:
        yield bars(history.failed_at, ("failed", {"failed_at": history.failed_at}))
    elif history.service_status == "check_first" and not told:
        yield bars(history.last_check_at or history.enrolled_at, ("check_first", {}))


def _before_use(history: History, rule: DueRule, zone: ZoneInfo) -> Iterator[DueItem]:
    """After an incident, or new: wanted before the next use, that is at once."""
    bars = partial(_bar, history, rule.code, rule.point, zone)
    at, enrolled_at = history.incident_at, history.enrolled_at
    if rule.code == "after_incident" and at is not None:
        yield bars(at, ("incident", {"incident": history.incident_code, "incident_at": at}))
    if rule.code == "new" and history.last_good_at is None and history.failed_at is None:
        yield bars(enrolled_at, ("new", {"enrolled_at": enrolled_at}))


def _bar(history: History, code: str, point: str | None, zone: ZoneInfo, at: int, why: Why) -> DueItem:
    return DueItem(history.thermometer, code, point, "due", at, at, local_day(at, zone), None, why)


def _by_day(history: History, rule: DueRule, zone: ZoneInfo, now_us: int, closed: frozenset[date]) -> Iterator[DueItem]:
    """What is wanted by the end of a local day: every so many days, hot point, an outside certificate."""
    days = _days(rule)
    wanted = partial(_wanted, history, rule, zone, now_us, closed=closed)
    if rule.code == "forecast":
        if (day := history.forecast_day) is not None:
            point = history.forecast_point
            yield wanted(day, ("forecast_point", {"day": day, "point": point}) if point else ("forecast", {"day": day}))
        return
    if rule.code == "reference_expiry":
        if (day := history.reference_due_day) is not None:
            yield wanted(day, ("reference_expiry", {"day": day}), notice=days)
        return
    if rule.code == "hot_point" and not history.hot_use:
        return
    good_at, adjusted_at = _good_at(history, rule), history.adjusted_at
    overtaken = good_at is None or (rule.code == "hot_point" and good_at < (adjusted_at or 0))
    if adjusted_at is not None and overtaken:
        yield wanted(local_day(adjusted_at, zone), _why_again(rule, adjusted_at))
    elif good_at is None:  # never: asked for from the day it was enrolled
        why: Why = (f"{rule.code}_never", {"days": days, "enrolled_at": history.enrolled_at})
        yield wanted(local_day(history.enrolled_at, zone), why)
    else:
        yield wanted(local_day(good_at, zone) + days * _DAY, (rule.code, {"days": days, "good_at": good_at}))


def _why_again(rule: DueRule, adjusted_at: int) -> Why:
    """Adjusted elsewhere, the whole scale moved: what was good at this point before is wanted anew."""
    if rule.point is not None:
        return "adjusted_point", {"point": rule.point, "adjusted_at": adjusted_at}
    return "adjusted_hot" if rule.code == "hot_point" else "adjusted", {"adjusted_at": adjusted_at}


def _good_at(history: History, rule: DueRule) -> int | None:
    if rule.code == "hot_point":
        return history.last_good_hot_at
    return history.last_good_at if rule.point is None else history.last_good_by_point.get(rule.point)


def _after_adjustment(
    history: History, rule: DueRule, times: tuple[ShiftTime, ...], zone: ZoneInfo, now_us: int, since_us: int
) -> Iterator[DueItem]:
    """So many days after adjusting, or in the next shift; the next day where no shift is known to be next."""
    at = history.adjusted_at
    if at is None or history.adjusted_checked_since:
        return
    why: Why = ("adjusted", {"adjusted_at": at})
    own = [t for t in times if t.shift.site == history.site]
    # Adjusted just before opening, for the shift about to begin: the one after that is the next.
    begun = at if any(t.begins_at <= at <= t.ends_at for t in own) else at + EARLY_US
    after = (t for t in own if t.begins_at > begun and at >= since_us)
    if rule.days is None and (t := next(after, None)):
        state = "overdue" if now_us > t.ends_at else "due"
        opens = max(at, t.begins_at - EARLY_US)
        yield DueItem(history.thermometer, rule.code, rule.point, state, opens, t.ends_at, t.day, t.shift.id, why)
    else:
        yield _wanted(history, rule, zone, now_us, local_day(at, zone) + (rule.days or 1) * _DAY, why)


def _wanted(
    history: History,
    rule: DueRule,
    zone: ZoneInfo,
    now_us: int,
    day: date,
    why: Why,
    notice: int = 0,
    closed: frozenset[date] = frozenset(),
) -> DueItem:
    """Wanted on a local day, from its midnight (or `notice` days before) to the next; where that is closed, to the
    end of the first open one."""
    day = min(max(day, date(1970, 1, 1) + notice * _DAY), date(2220, 1, 1))
    opens = _instant(day - notice * _DAY, 0, zone)
    while day in closed:
        day += _DAY
    ends = _instant(day + _DAY, 0, zone)
    state = "overdue" if now_us >= ends else "due"
    return DueItem(history.thermometer, rule.code, rule.point, state, opens, ends, day, None, why)


def _of_shifts(
    history: History, rules: Iterable[DueRule], times: Sequence[ShiftTime], since_us: int, now_us: int
) -> Iterator[DueItem]:
    """What is wanted by the end of a shift: in each, or in those in which it is the sentinel."""
    for rule in rules:
        if rule.code not in BY_SHIFT:
            continue
        own = times if rule.code == "each_shift" else [t for t in times if (t.shift.id, t.day) in history.turns]
        for t, state, reason in _shift_states(history, own, since_us, now_us):
            shift, opens = t.shift, t.begins_at - EARLY_US
            why: Why = (rule.code, {"shift": shift.name, "start": shift.start, "end": shift.end, "reason": reason})
            yield DueItem(history.thermometer, rule.code, rule.point, state, opens, t.ends_at, t.day, shift.id, why)


def _shift_states(
    history: History, times: Sequence[ShiftTime], since_us: int, now_us: int
) -> Iterator[tuple[ShiftTime, str, str]]:
    """The site's shifts that end at or after since_us, with state and reason; later ones count as due."""
    checks = sorted(at for at in (*history.checks_at, history.last_check_at) if at is not None)
    waits_at = history.waits_at
    answers = {(a.shift, a.day): a for a in history.answers if a.code in ANSWERS}  # the last given counts
    for t in times:
        if t.shift.site != history.site or t.ends_at < since_us:
            continue
        opens = t.begins_at - EARLY_US
        next_check = bisect_left(checks, opens)
        ended = now_us > t.ends_at
        waits = waits_at is not None and opens <= waits_at <= t.ends_at and not ended
        if waits or (next_check < len(checks) and checks[next_check] <= t.ends_at):
            yield t, "done", ""
        elif answer := answers.get((t.shift.id, t.day)):
            yield t, answer.code, answer.reason
        # Enrolled within a shift: wanted in it, but not missed.
        elif history.enrolled_at <= (t.begins_at if ended else t.ends_at):
            yield t, "missed" if ended else "due", ""
