"""The list of a shift: closing it, and what a thermometer may be used by when the bath could not be mended."""

from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute.check import written
from registry.compute.schedule import EARLY_US, ShiftTime
from registry.quantity import Reading, TemperatureDifference
from registry.records import baths as records
from registry.records.baths import SideBySide, UseAllowed
from registry.records.chain import Head
from registry.records.places import Reviewed, ShiftClosed
from registry.services import baths, checks, duelist, places, rules, thermometers
from registry.services.problems import Refused, refuse
from registry.services.session import Actor, Session
from registry.store import queries
from registry.store.queries import ThermometerRow
from registry.store.summary import GOOD

DAY_US = 86_400_000_000


@dataclass(frozen=True, slots=True)
class Closed:
    """What a shift's list came to; `not_done` are tag ids that stay due."""

    shift: str
    day: date
    checked: int
    adjusted: int
    out_of_use: int
    not_found: int
    no_reading: int
    not_done: tuple[str, ...]


def close_list(session: Session, actor: Actor, site: str, on: ShiftTime | None = None) -> Closed:
    """Close the list of the shift that is on (or of `on`): open baths are judged, what is missing is named.

    A reading still waiting for its repeats becomes a check on what there is, so that nothing keyed in is lost.
    """
    with session.reading() as connection:
        fact = places.site_named_by_id(connection, site)
        shift = on or places.shift_now(session, connection, fact)
        lately = queries.baths_at(connection, site, since=session.clock() - DAY_US)
        lately += [one for one in queries.baths_at(connection, site, since=0, judged=False) if one not in lately]
    if shift is None:
        raise refuse("shift", "none_is_on")
    for bath in lately:
        _finish_bath(session, actor, bath.bath, judged=bath.judged is not None)
    with session.reading() as connection:
        not_done = _not_done(session, connection, site, shift)
        counted = _count(connection, site, shift)
    with session.recording(actor, "lead", "officer") as entries:
        entries.add(
            ShiftClosed(
                shift=shift.shift.id,
                site=site,
                day=shift.day.isoformat(),
                not_done=tuple(one.row.thermometer for one in not_done),
            )
        )
    return Closed(shift.shift.name, shift.day, **counted, not_done=tuple(one.row.tag_id or "" for one in not_done))


def _finish_bath(session: Session, actor: Actor, bath: str, *, judged: bool) -> None:
    """Record what still waits for its repeats, then judge the bath where nobody did."""
    with session.reading() as connection:
        waiting = [
            queries.entry_at(connection, one.chain_no, one.seq) for one in queries.open_readings(connection, bath)
        ]
    for check in dict.fromkeys(one.payload["check"] for one in waiting if "check" in one.payload):
        # One thermometer amended meanwhile must not keep the whole list open; its readings stay, and it stays due.
        with suppress(Refused):
            checks.record_what_there_is(session, actor, bath, check)
    if not judged:
        baths.judge_bath(session, actor, bath, "accepted", by="closing")


def _not_done(session: Session, connection: Connection, site: str, shift: ShiftTime) -> list[duelist.Due]:
    """What this shift wanted and nobody checked in it, one line a thermometer."""
    found: dict[str, duelist.Due] = {}
    for one in duelist.due_list(session, connection, site):
        checked = shift.begins_at - EARLY_US <= (one.row.last_check_at or 0) <= max(shift.ends_at, session.clock())
        if not checked and one.item.state in ("due", "overdue", "missed") and one.item.shift in (None, shift.shift.id):
            found.setdefault(one.row.thermometer, one)
    return list(found.values())


def _count(connection: Connection, site: str, shift: ShiftTime) -> dict[str, int]:
    since = shift.begins_at - EARLY_US
    made = queries.baths_at(connection, site, since=since)
    found = [check for bath in made for check in queries.checks_in(connection, bath.bath) if not check.voided]
    adjusted = {one.thermometer for bath in made for one in queries.adjustments_in(connection, bath.bath)}
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
    checked = {check.thermometer for check in found}
    return {
        "checked": len(checked),
        "adjusted": len(adjusted),
        "out_of_use": sum(row.status == "out_of_use" and row.thermometer in checked for row in rows),
        "not_found": sum(one.detail == "not_found" for one in said),
        "no_reading": len({one.subject for one in unread} - checked),
    }


# --- the kitchen goes on -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Beside:
    """Two thermometers read in the same water, and what each showed."""

    thermometer: str
    shown: Reading
    other: str
    other_shown: Reading


def allow_use(session: Session, actor: Actor, given: Beside) -> str:
    """Use by its last good check, until the end of this shift, when the bath could not be mended.

    Asked: a good check within 7 days, no incident or fail since, and agreement within 1 °C with a trusted one.
    Where neither has a basis, two that agree may be used with limits moved by 2 °C: the record says so and the
    officer is told. Returns the basis.
    """
    with session.recording(actor, "lead", "officer") as entries:
        connection = entries.connection
        of = thermometers.thermometer(connection, given.thermometer)
        other = thermometers.thermometer(connection, given.other)
        if of.row.site is None or given.thermometer == given.other:
            raise refuse("other", "another_one")
        for one in (of, other):
            if one.row.status != "in_service" or one.row.failed_at is not None or one.row.site != of.row.site:
                raise refuse("other", "cannot_vouch", value=one.tag_id)
        site = places.site_named_by_id(connection, of.row.site)
        in_force = rules.rules_in_force(connection, of.row.site)
        shift = places.shift_now(session, connection, site)
        apart = abs(given.shown.celsius() - given.other_shown.celsius())
        own, theirs = (_has_basis(session, one, in_force) for one in (of, other))
        limit = in_force.figure("trust.last_good_agree" if theirs else "trust.two_that_agree")
        if apart > Fraction(str(limit)):
            raise refuse("other", "they_disagree", value=f"{float(apart):.1f}")
        basis = "last_good_check" if own and theirs else "two_agree"
        margin = None if own and theirs else written(in_force.figure("trust.two_that_agree_margin"), "C")
        entries.add(
            UseAllowed(
                thermometer=given.thermometer,
                use=session.new_id(),
                basis=basis,
                agrees_with=(given.other,),
                readings=(
                    records.Beside(thermometer=given.thermometer, shown=given.shown.text()),
                    records.Beside(thermometer=given.other, shown=given.other_shown.text()),
                ),
                until_at=shift.ends_at if shift else session.clock() + DAY_US // 3,
                check=_last_good(connection, of.row) if own else None,
                margin=margin.text() if margin else None,
                shift=shift.shift.id if shift else None,
                day=shift.day.isoformat() if shift else None,
            )
        )
    return basis


def _has_basis(session: Session, of: thermometers.Thermometer, in_force: rules.RulesInForce) -> bool:
    """A good check lately and nothing against it since."""
    days = in_force.figure("decision.last_good_days")
    good_at = of.row.good_at
    lately = good_at is not None and session.clock() - good_at <= days * DAY_US
    return lately and of.row.service_status == "in_service"


def _last_good(connection: Connection, row: ThermometerRow) -> str | None:
    """The check it is used by: the last that was good as found, or as left."""
    left = {one.check: one for one in queries.adjustments_of(connection, row.thermometer) if not one.voided}
    good = [
        one.check
        for one in queries.checks_of(connection, row.thermometer)
        if not one.voided and (one.outcome in GOOD or (one.check in left and left[one.check].outcome in GOOD))
    ]
    return good[-1] if good else None


def side_by_side(
    session: Session, actor: Actor, thermometer_id: str, shown: Reading, theirs: Reading, whose: str
) -> TemperatureDifference:
    """A check beside an inspector's or supplier's thermometer: recorded, not judged. Returns how far apart, °C."""
    if whose not in ("inspector", "supplier", "other_party"):
        raise refuse("whose", "unknown", value=whose)
    with session.recording(actor, "lead", "officer") as entries:
        thermometers.thermometer(entries.connection, thermometer_id)
        entries.add(
            SideBySide(
                thermometer=thermometer_id,
                side_by_side=session.new_id(),
                shown=shown.text(),
                theirs=theirs.text(),
                whose=whose,
            )
        )
    return TemperatureDifference(shown.celsius() - theirs.celsius(), "C")


def review(session: Session, actor: Actor, site: str, from_day: date, to_day: date) -> None:
    """An officer has looked through a site's checks of these days; the heads say how far the record went then."""
    if to_day < from_day:
        raise refuse("to_day", "before_from_day")
    with session.recording(actor, "officer") as entries:
        places.site_named_by_id(entries.connection, site)
        heads = queries.heads(entries.connection)
        entries.add(
            Reviewed(
                site=site,
                from_day=from_day.isoformat(),
                to_day=to_day.isoformat(),
                heads=tuple(Head(chain=chain, seq=seq, hash=hash_) for chain, seq, hash_ in heads),
            )
        )
