"""The list of a shift: closing it, and what it came to."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from registry.compute.schedule import EARLY_US, ShiftTime
from registry.records.places import ShiftClosed
from registry.services import (
    baths,
    checks,
    duelist,
    people,
    places,
    rules,
    shift_said,
)
from registry.services.problems import Refused, refuse
from registry.services.session import Actor, Session
from registry.store import queries
from registry.store.queries import CheckView, EntryView, ThermometerRow

DAY_US = 86_400_000_000
LOOK_BACK_DAYS = 30  # so far back judged baths are searched for readings that still wait (judgement)


@dataclass(frozen=True, slots=True)
class Failed:
    """One that failed and was left so. place: its station's name or "". why: as `shift_said.left_failed` says."""

    tag_id: str
    place: str
    why: str
    thermometer: str


@dataclass(frozen=True, slots=True)
class Before:
    """When a list was closed before, and by whom: initials, or "" where nobody's are known any more."""

    at: int
    initials: str


@dataclass(frozen=True, slots=True)
class Closed:
    """What a shift's list came to; `not_done` are tag ids that stay due.

    unsettled: tag ids whose readings could be made no check of, say because the thermometer was amended meanwhile.
    in_doubt: tag ids that wait, since the thermometers of their bath speak against it, until a person judges it.
    failed: who is still in use although it failed. before: the closing that stood already; `again`: something has
    changed since, so that this one was recorded too.
    """

    shift: str
    day: date
    checked: int
    adjusted: int
    out_of_use: int
    not_found: int
    no_reading: int
    not_done: tuple[str, ...]
    unsettled: tuple[str, ...] = ()
    in_doubt: tuple[str, ...] = ()
    failed: tuple[Failed, ...] = ()
    before: Before | None = None
    again: bool = False


def close_list(session: Session, actor: Actor, site: str, on: ShiftTime | None = None) -> Closed:
    """Close the list of the shift that is on (or of `on`): open baths are judged, what is missing is named.

    A bath in doubt is left to a person: closing never calls good what most of its thermometers speak against.
    A reading still waiting for its repeats becomes a check on what there is, so that nothing keyed in is lost.
    Who failed and was neither mended nor taken out of use is named and stops nothing. What comes out as it was closed
    already is not recorded again: a second press.
    """
    with session.reading() as connection:
        fact = places.site_named_by_id(connection, site)
        shift = on or places.shift_now(session, connection, fact)
        since = session.clock() - LOOK_BACK_DAYS * DAY_US
        lately = queries.baths_at(connection, site, since=0, judged=False)
        lately += queries.baths_at(connection, site, since=since, judged=True)
    if shift is None:
        raise refuse("shift", "none_is_on")
    left = [tag for bath in lately for tag in _finish_readings(session, actor, bath.bath)]
    day_ago = session.clock() - DAY_US
    unjudged = [bath for bath in lately if bath.judged is None or (bath.judged == "suspect" and bath.at >= day_ago)]
    in_doubt = [tag for bath in unjudged for tag in _judged_or_doubted(session, actor, bath.bath)]
    with session.reading() as connection:
        not_done = _not_done(session, connection, site, shift)
        counted = _count(connection, site, shift)
        failed = _failed(connection, site, shift)
    with session.recording(actor, "lead", "officer") as entries:
        closing = ShiftClosed(
            shift=shift.shift.id,
            site=site,
            day=shift.day.isoformat(),
            not_done=tuple(one.row.thermometer for one in not_done),
        )
        last = _last_closing(entries.connection, closing)
        same = last is not None and _came_out_the_same(last, closing)
        if not same:
            entries.add(closing)
        before = Before(last.at, _initials(entries.connection, last.by)) if last is not None else None
    return Closed(
        shift.shift.name,
        shift.day,
        **counted,
        not_done=tuple(one.row.tag_id or "" for one in not_done),
        unsettled=tuple(dict.fromkeys(left)),
        in_doubt=tuple(dict.fromkeys(in_doubt)),
        failed=failed,
        before=before,
        again=before is not None and not same,
    )


def _last_closing(connection: Connection, closing: ShiftClosed) -> EntryView | None:
    """The entry that closed the same shift of the same day last."""
    events = queries.events_of(connection, closing.shift, ("shift_closed",))
    said = [queries.entry_at(connection, one.chain_no, one.seq) for one in events if not one.voided]
    return next((one for one in reversed(said) if one.payload["day"] == closing.day), None)


def _came_out_the_same(last: EntryView, closing: ShiftClosed) -> bool:
    said = closing.as_payload()
    return {key: last.payload.get(key) for key in said} == said


def _initials(connection: Connection, person: str) -> str:
    return next((one.initials for one in people.people(connection) if one.person == person), "")


def _failed(connection: Connection, site: str, shift: ShiftTime) -> tuple[Failed, ...]:
    """Who failed in this shift and may be in use all the same; closed late, what was mended since is mended."""
    rows = {row.thermometer: row for row in queries.thermometers(connection, site=site)}
    tags = {thermometer: row.tag_id or "" for thermometer, row in rows.items()}
    rule = rules.rules_in_force(connection, site).rule
    said = shift_said.said_since(connection, site, shift.begins_at - EARLY_US, shift.ends_at, shift, rule, tags)
    names = {one.subject: one.payload.name for one in places.stations(connection, site)}
    found = [
        Failed(tags[thermometer], names.get(rows[thermometer].station or "", ""), why, thermometer)
        for thermometer, own in said.checks.items()
        if thermometer in rows and _failed_in_use(rows[thermometer]) and (why := shift_said.left_failed(own))
    ]
    return tuple(sorted(found, key=lambda one: (one.place.casefold(), one.tag_id)))


def _failed_in_use(row: ThermometerRow) -> bool:
    return row.check_first and row.failed_at is not None


def _judged_or_doubted(session: Session, actor: Actor, bath: str) -> list[str]:
    """Judge a bath that no person judged, unless it is in doubt; then who still waits for it, by tag id."""
    from registry.services import bath_watch  # late: the first list does without it

    found = bath_watch.judge(session, actor, bath)
    with session.reading() as connection:
        standing = queries.bath(connection, bath)
        rows = {one.thermometer: queries.thermometer(connection, one.thermometer) for one in found.those}
    if standing is not None and standing.judged == "suspect":
        waiting = [one for one in found.those if not one.remaining.out]
        return [one.tag_id for one in waiting if (row := rows[one.thermometer]) and row.last_check in (None, one.check)]
    if standing is not None and standing.judged is None:  # too few read in it, and nothing speaks against it
        baths.judge_bath(session, actor, bath, "accepted", by="closing")
    return []


def _finish_readings(session: Session, actor: Actor, bath: str) -> list[str]:
    """Record what still waits for its repeats; the tag ids that were refused."""
    with session.reading() as connection:
        waiting = [
            queries.entry_at(connection, one.chain_no, one.seq) for one in queries.open_readings(connection, bath)
        ]
    unsettled = []
    for check, thermometer in {one.payload["check"]: one.subject for one in waiting if "check" in one.payload}.items():
        try:
            checks.record_what_there_is(session, actor, bath, check)
        except Refused:  # it must not keep the whole list open; its readings stay, and it stays due
            unsettled.append(thermometer)
    with session.reading() as connection:
        rows = [queries.thermometer(connection, one) for one in unsettled]
    return [row.tag_id or "" for row in rows if row is not None]


def _not_done(session: Session, connection: Connection, site: str, shift: ShiftTime) -> list[duelist.Due]:
    """What this shift wanted and nobody checked in it, one line a thermometer."""
    found: dict[str, duelist.Due] = {}
    now = min(session.clock(), shift.ends_at)  # closed late, the list is that of its end
    checked = {one.thermometer for one in _checks_in(connection, site, shift)}
    for one in duelist.due_list(session, connection, site, now=now):
        of_shift = one.item.shift is None or (one.item.shift, one.item.day) == (shift.shift.id, shift.day)
        wanted = one.item.state in ("due", "overdue", "missed", "no_reading") and one.item.opens_at <= now
        if wanted and of_shift and one.row.thermometer not in checked:
            found.setdefault(one.row.thermometer, one)
    return list(found.values())


def _checks_in(connection: Connection, site: str, shift: ShiftTime) -> list[CheckView]:
    """The checks of a site that count for a shift: from an hour before it begins until it ends."""
    since = shift.begins_at - EARLY_US
    found = [
        check
        for bath in queries.baths_at(connection, site, since=since - DAY_US)
        if bath.judged != "condemned"
        for check in queries.checks_in(connection, bath.bath)
    ]
    return [one for one in found if not one.voided and since <= one.at <= shift.ends_at]


def _count(connection: Connection, site: str, shift: ShiftTime) -> dict[str, int]:
    since, ends = shift.begins_at - EARLY_US, shift.ends_at
    made = queries.baths_at(connection, site, since=since - DAY_US)
    found = _checks_in(connection, site, shift)
    turned = [one for bath in made for one in queries.adjustments_in(connection, bath.bath)]
    adjusted = {one.thermometer for one in turned if since <= one.at <= ends}
    rows = queries.thermometers(connection, site=site)
    here = {row.thermometer for row in rows}
    said, unread = (
        [
            one
            for one in queries.events_of_kind(connection, kind, since=since)
            if one.subject in here and not one.voided and one.detail
        ]
        for kind in ("not_checked", "reading_taken")
    )
    absences = [queries.entry_at(connection, one.chain_no, one.seq).payload for one in said]
    here_and_now = [one for one in absences if (one["shift"], one["day"]) == (shift.shift.id, shift.day.isoformat())]
    checked = {check.thermometer for check in found}
    last = {one["thermometer"]: one["why"] for one in here_and_now}  # in time order: what was said last
    return {
        "checked": len(checked),
        "adjusted": len(adjusted),
        "out_of_use": sum(row.status == "out_of_use" and row.thermometer in checked for row in rows),
        "not_found": len({name for name, why in last.items() if why == "not_found"} - checked),
        "no_reading": len({one.subject for one in unread if one.at <= ends} - checked),
    }
