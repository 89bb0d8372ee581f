"""The lines of a monthly log: what was checked, what was said instead, what nobody checked."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection

from registry.compute.schedule import EARLY_US, ShiftTime
from registry.journal.numbers import entry_number
from registry.records.outcomes import OUTSIDE, UNSETTLING
from registry.records.places import SiteSet
from registry.services import history, places, plan_kept
from registry.services.history import CheckLine
from registry.services.people import Person
from registry.services.plan_kept import Past
from registry.services.session import day_at
from registry.store import looking_back, queries
from registry.store.looking_back import SaidThen, Version
from registry.store.queries import AdjustmentView, BathView, CheckView, EntryView, Fact

DAY_US = 86_400_000_000
LATE_US = 3_600_000_000  # entered so long after it was done is told (judgement)
LOOK_BACK_DAYS = 62  # how far before the month the check before an incident is looked for
TAKEN_FROM_USE = ("out_of_use", "limited_use", "lost", "retired")
Place = tuple[int, int]  # chain number and sequence number of an entry


@dataclass(frozen=True, slots=True)
class Action:
    """What led to a check or was done about it: `after_incident`, `adjusted`, a service status, `none_recorded`.

    detail: what had happened, how it was adjusted, why it was taken out; a code. only: to what its use was limited.
    """

    what: str
    detail: str = ""
    number: str = ""
    only: str = ""


@dataclass(frozen=True, slots=True)
class LogLine:
    """One line. kind: check, missed, incident, use_allowed, or an answer given instead of a check (not_used, ...).

    missed: the plan asked for it and none that counts was made in time, as `plan_kept.asked_on` says; left_open: a
    closed list names it, and its shift still goes on or it was wanted for something else, such as a hot point.

    state, of checks: counts, waits (bath not judged), condemned (with its bath), undecided, imported or voided; of
    others voided or nothing. why: of a voided check why, of no reading the reason, what happened, on what basis it
    was used; a code. made, bath: how the bath was made, its number. judged_again: an earlier judgement of its bath
    gave it another outcome. overruled: why a person overruled what was said of its bath, a code; in_doubt: the bath had
    been found doubtful before. entered_at: when it was entered, where that was much later than it was done. number: of
    the entry; for a missed one of the closed list that names it, none where no list does.
    """

    kind: str
    day: date
    at: int | None
    thermometer: str
    tag_id: str
    shift: str = ""
    check: CheckLine | None = None
    made: str = ""
    bath: str = ""
    state: str = ""
    why: str = ""
    judged_again: bool = False
    overruled: str = ""
    in_doubt: bool = False
    actions: tuple[Action, ...] = ()
    initials: str = ""
    entered_at: int | None = None
    number: str = ""
    place: Place | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Period:
    """A site's month as it is read: from_at to before to_at, told at `now`, with what stood then."""

    connection: Connection
    site: Fact[SiteSet]
    from_at: int
    to_at: int
    now: int
    then: Past
    people: Mapping[str, Person]
    codes: Mapping[int, str]
    times: tuple[ShiftTime, ...]

    def number(self, place: Place) -> str:
        """A number as people quote it."""
        code = self.codes.get(place[0])
        if code is None:  # a branch of a chain
            return queries.entry_at(self.connection, *place).number
        return entry_number(code, place[1])

    def initials(self, person: str) -> str:
        return self.people[person].initials if person in self.people else ""

    def day(self, at: int) -> date:
        return day_at(at, self.site.payload.zone)


def lines(of: Period) -> list[LogLine]:
    """By day; what has no time of its own last."""
    views = _views(of)
    said = list(_said_lines(of))
    found = [*_check_lines(of, views), *said, *_missed_lines(of, said)]
    return sorted(found, key=lambda line: (line.day, line.at is None, line.at or 0, line.tag_id))


# --- checks --------------------------------------------------------------------------------------------------


def _views(of: Period) -> list[CheckView]:
    """The checks here, with some of the time before; imported ones name no bath: those whose thermometer was here."""
    since = of.from_at - LOOK_BACK_DAYS * DAY_US
    ever = of.then.of_site(of.site.subject)
    found = looking_back.checks_at(of.connection, of.site.subject, since, of.to_at, ever)
    return [one for one in found if one.bath is not None or _stood_here(of, one)]


def _stood_here(of: Period, view: CheckView) -> bool:
    """Imported ones may be older than the first place on record."""
    stood = of.then.places[view.thermometer]
    site = of.then.site_at(view.thermometer, view.at) or stood[0].payload["site"]
    return bool(site == of.site.subject)


@dataclass(frozen=True, slots=True)
class _Around:
    """What stands around the checks of one thermometer: those before and after, incidents, adjustments, statuses."""

    views: Sequence[CheckView]
    incidents: Sequence[SaidThen]
    turned: Sequence[AdjustmentView]
    statuses: Sequence[Version]


def _check_lines(of: Period, views: Sequence[CheckView]) -> Iterator[LogLine]:
    since = of.from_at - LOOK_BACK_DAYS * DAY_US
    incidents: dict[str, list[SaidThen]] = defaultdict(list)
    for one in looking_back.said_in(of.connection, ("incident_reported",), since, of.to_at):
        incidents[one.subject].append(one)
    here: dict[str, list[CheckView]] = defaultdict(list)
    for view in views:
        here[view.thermometer].append(view)
    baths = _baths(of, views)
    judged = looking_back.judgements(of.connection, baths)
    for thermometer, some in here.items():
        own = [view for view in some if view.at >= of.from_at]
        turned = queries.adjustments_of(of.connection, thermometer) if own else []
        around = _Around(some, incidents[thermometer], turned, of.then.statuses.get(thermometer, ()))
        for view, line in zip(own, history.check_lines(of.connection, own, turned), strict=True):
            yield _check_line(of, view, line, around, baths.get(view.bath or ""), judged.get(view.bath or "", ()))


def _baths(of: Period, views: Sequence[CheckView]) -> dict[str, tuple[BathView, EntryView]]:
    """Each bath of the month's checks with the entry that made it."""
    found = {}
    for one in dict.fromkeys(view.bath for view in views if view.bath and view.at >= of.from_at):
        if (bath := queries.bath(of.connection, one)) is not None:
            found[one] = (bath, queries.entry_at(of.connection, bath.chain_no, bath.seq))
    return found


def _check_line(
    of: Period,
    view: CheckView,
    line: CheckLine,
    around: _Around,
    bath: tuple[BathView, EntryView] | None,
    judged: Sequence[Mapping[str, Any]],
) -> LogLine:
    entry = queries.entry_at(of.connection, view.chain_no, view.seq)
    late = line.day_only or entry.at - view.at > LATE_US
    return LogLine(
        "check",
        of.day(view.at),
        view.at,
        view.thermometer,
        of.then.tag_at(view.thermometer, view.at),
        check=line,
        made=bath[1].payload["made"] if bath else "",
        bath=bath[1].number if bath else "",
        state=_state(view, bath[0].judged if bath else None),
        why=_why_void(of, entry) if view.voided else "",
        judged_again=_changed(view, judged),
        overruled=_overruled(judged) if bath and bath[0].judged == "overruled" else "",
        in_doubt=any(one["judged"] == "suspect" for one in judged),
        actions=(*_led_to(of, view, around), *_done_about(of, view, around)),
        initials=of.initials(line.by),
        entered_at=entry.at if late else None,
        number=entry.number,
        place=(view.chain_no, view.seq),
    )


def _state(view: CheckView, judged: str | None) -> str:
    if view.voided:
        return "voided"
    if view.bath is None:
        return "imported"
    if view.outcome is not None:
        return "counts"
    return {None: "waits", "condemned": "condemned"}.get(judged, "undecided")


def _changed(view: CheckView, judged: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a judgement replaced one that gave it another outcome; adjusting another in the bath judges anew too."""
    said = {one["outcomes"].get(view.check) for one in judged if view.check in one["outcomes"]}
    words = {one["judged"] for one in judged}
    return len(said) > 1 or len(words) > 1


def _overruled(judged: Sequence[Mapping[str, Any]]) -> str:
    """The reason that was given last."""
    found = [one.get("why") or "other_reason" for one in judged if one["judged"] == "overruled"]
    return found[-1] if found else "other_reason"


def _why_void(of: Period, entry: EntryView) -> str:
    about = queries.entries_about(of.connection, entry.subject)
    found = [one.payload["why"] for one in about if one.kind == "voided" and entry.hash in one.payload["entries"]]
    return found[0] if found else ""


def _led_to(of: Period, view: CheckView, around: _Around) -> Iterator[Action]:
    """What had happened to it since the check before."""
    at = around.views.index(view)
    before = around.views[at - 1].at if at else 0
    for one in around.incidents:
        if before < one.at <= view.at and not one.voided and one.payload["what"] in UNSETTLING:
            yield Action("after_incident", one.payload["what"], of.number((one.chain_no, one.seq)))


def _done_about(of: Period, view: CheckView, around: _Around) -> list[Action]:
    """What was done because of it, by the end of the month: adjusted, taken out of use, limited."""
    done = [
        Action("adjusted", _how(of, one), of.number((one.chain_no, one.seq)))
        for one in around.turned
        if one.check == view.check and not one.voided and one.at < of.to_at
    ]
    for one in around.statuses:
        status = one.payload.get("status", "out_of_use")
        if status in TAKEN_FROM_USE and one.at < of.to_at and _because_of(one, view, around):
            only = one.payload.get("only", "")
            done.append(Action(status, one.payload.get("why", ""), of.number((one.chain_no, one.seq)), only))
    if not done and view.outcome in OUTSIDE and not view.voided:
        return [Action("none_recorded")]
    return done


def _because_of(status: Version, view: CheckView, around: _Around) -> bool:
    """It names the check, or names none and followed it while no other had been made."""
    if "check" in status.payload:
        return bool(status.payload["check"] == view.check)
    after = around.views[around.views.index(view) + 1 :]
    return view.outcome in OUTSIDE and view.at <= status.at < (after[0].at if after else 2**62)


def _how(of: Period, one: AdjustmentView) -> str:
    how: str = queries.entry_at(of.connection, one.chain_no, one.seq).payload["how"]
    return how


# --- what was said instead, and what happened ------------------------------------------------------------------


def _said_lines(of: Period) -> Iterator[LogLine]:
    kinds = ("not_checked", "reading_taken", "incident_reported", "use_allowed")
    names = {one.subject: one.payload.name for one in places.shifts(of.connection, of.site.subject)}
    baths = {one.bath for one in queries.baths_at(of.connection, of.site.subject, since=of.from_at - 2 * DAY_US)}
    for one in looking_back.said_in(of.connection, kinds, of.from_at, of.to_at + DAY_US):
        told = _told(of, one, baths)
        if told is None or not of.day(of.from_at) <= told[2] <= of.day(of.to_at - 1):
            continue
        yield LogLine(
            told[0],
            told[2],
            one.at,
            one.subject,
            of.then.tag_at(one.subject, one.at),
            shift=names.get(one.payload.get("shift", ""), ""),
            state="voided" if one.voided else "",
            why=told[1],
            initials=of.initials(one.payload.get("done_by", one.by)),
            number=of.number((one.chain_no, one.seq)),
            place=(one.chain_no, one.seq),
        )


def _told(of: Period, one: SaidThen, baths: set[str]) -> tuple[str, str, date] | None:
    """Kind, reason and day of what was said, where it belongs to this site."""
    said, site, day = one.payload, of.site.subject, of.day(one.at)
    if one.kind == "not_checked":
        return (said["why"], "", date.fromisoformat(said["day"])) if said["site"] == site else None
    if one.kind == "reading_taken":
        return ("no_reading", said["why"], day) if said["role"] == "no_reading" and said["bath"] in baths else None
    if of.then.site_at(one.subject, one.at) != site:
        return None
    return ("use_allowed", said["basis"], day) if one.kind == "use_allowed" else ("incident", said["what"], day)


# --- what nobody checked ---------------------------------------------------------------------------------------


def closings(of: Period) -> list[tuple[SaidThen, ShiftTime]]:
    """The last closing of each list that was closed, also of the shift that is still on."""
    on = plan_kept.shifts_worked(of.then, of.site, of.to_at, of.to_at + 2 * DAY_US)
    times = [*of.times, *(time for time in on if of.day(time.begins_at) <= of.day(of.to_at - 1))]
    known = {(time.shift.id, time.day): time for time in times}
    last = {}
    for one in looking_back.said_in(of.connection, ("shift_closed",), of.from_at - DAY_US, of.now + 1):
        key = (one.subject, date.fromisoformat(one.payload["day"]))
        if not one.voided and key in known:
            last[key] = one
    return [(one, known[key]) for key, one in last.items()]


def _missed_lines(of: Period, said: Sequence[LogLine]) -> Iterator[LogLine]:
    """What the plan asked for and nobody checked in time, then what closed lists name besides."""
    first, last = of.day(of.from_at), of.day(of.to_at - 1)
    asked = [one for some in plan_kept.asked_on(of.connection, of.then, of.site, first, last, of.now) for one in some]
    named: dict[tuple[str, date], list[tuple[SaidThen, ShiftTime]]] = defaultdict(list)
    for closing, time in closings(of):
        if first <= time.day <= last:
            for thermometer in closing.payload["not_done"]:
                named[thermometer, time.day].append((closing, time))
    settled = set()  # one asked for by its day is told once, whatever list names it
    told = set()  # and so is one that was asked for at two points on one day
    for ask in asked:
        lists = named.get((ask.thermometer, ask.day), [])
        own = lists if ask.by_days else [one for one in lists if one[1].shift.id == ask.shift.shift.id]
        missed = (ask.thermometer, ask.day, ask.shift.shift.id, ask.by_days)
        if ask.state == "missed" and missed not in told:
            told.add(missed)
            yield _missed(of, ask.thermometer, *(own[-1] if own else (None, ask.shift)))
        if ask.state == "missed" or ask.by_days:
            settled |= {(ask.thermometer, ask.day, time.shift.id) for _, time in own}
    yield from _left_open(of, said, named, settled)


def _left_open(
    of: Period,
    said: Sequence[LogLine],
    named: Mapping[tuple[str, date], Sequence[tuple[SaidThen, ShiftTime]]],
    settled: Collection[tuple[str, date, str]],
) -> Iterator[LogLine]:
    """What closed lists name, neither checked nor answered, besides what the plan asked of that shift or day."""
    answered = {(line.thermometer, line.day) for line in said if line.state != "voided" and line.kind != "incident"}
    checked = _times_of_checks(of)
    for (thermometer, day), lists in named.items():
        for closing, time in lists:
            own = checked[thermometer]
            done = bisect_left(own, time.begins_at - EARLY_US) < bisect_right(own, time.ends_at)
            if not done and (thermometer, day) not in answered and (thermometer, day, time.shift.id) not in settled:
                yield replace(_missed(of, thermometer, closing, time), kind="left_open")


def _times_of_checks(of: Period) -> Mapping[str, list[int]]:
    """When each was checked so that it counts; a list may be closed by the end of a shift that began this month."""
    found: dict[str, list[int]] = defaultdict(list)
    here = of.then.of_site(of.site.subject)
    for one in looking_back.decided(of.connection, here, of.from_at - DAY_US, of.to_at + 2 * DAY_US):
        found[one.thermometer].append(one.at)
    return found


def _missed(of: Period, thermometer: str, closing: SaidThen | None, time: ShiftTime) -> LogLine:
    place = (closing.chain_no, closing.seq) if closing else None
    return LogLine(
        "missed",
        time.day,
        None,
        thermometer,
        of.then.tag_at(thermometer, time.begins_at),
        shift=time.shift.name,
        initials=of.initials(closing.payload.get("done_by", closing.by)) if closing else "",
        number=of.number(place) if place else "",
        place=place,
    )
