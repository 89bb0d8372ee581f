"""What people name by hand or want listed: baths by number, the check a reading goes on with, a shift on a day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute.schedule import ShiftTime
from registry.quantity import Reading, Unit
from registry.records.places import SiteSet
from registry.services import baths, checks, history, mend, people, places, thermometers
from registry.services.history import CheckLine
from registry.services.people import Person
from registry.services.problems import Refused, refuse
from registry.services.session import Session
from registry.store import queries
from registry.store.queries import BathView, CheckView, EntryView, Fact, ThermometerRow
from registry.store.summary import OUTSIDE, UNSETTLING

__all__ = [
    "OUTSIDE",
    "UNSETTLING",
    "CheckView",
    "EntryView",
    "Fact",
    "MustRead",
    "ThermometerRow",
    "bath_numbered",
    "bath_to_judge",
    "bath_to_read_in",
    "checks_in",
    "in_steps",
    "last_check",
    "listed",
    "must_read",
    "open_check",
    "person_ever",
    "recent_baths",
    "shift_on",
    "shifts_on",
    "waiting",
]

DAY_US = 86_400_000_000


# --- thermometers and people ---------------------------------------------------------------------------------


def listed(connection: Connection, site: str | None = None) -> list[ThermometerRow]:
    """All thermometers, or those of a site, by tag id, lost and retired ones too; narrowed and paged: `table.page`."""
    return queries.thermometers(connection, site=site)


def person_ever(connection: Connection, initials: str) -> Person:
    """By initials, whoever has left included; one who works here goes before one who left."""
    found = [one for one in people.people(connection) if one.initials.upper() == initials.strip().upper()]
    here = [one for one in found if one.left is None] or found
    if len(here) != 1:
        raise refuse("person", "unknown_person" if not here else "not_unique", value=initials)
    return here[0]


def shifts_on(connection: Connection, site: Fact[SiteSet], day: date) -> list[ShiftTime]:
    """The shifts of a site that are worked on a day, by when they begin."""
    noon = int(datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp() * 1e6)
    found = places.shift_times(connection, site, noon - 3 * DAY_US, noon + 3 * DAY_US)
    return [time for time in found if time.day == day]


def shift_on(connection: Connection, site: Fact[SiteSet], name: str, day: date) -> ShiftTime:
    """A shift of a site on a day; refused where it is not worked then."""
    shift = places.shift_named(connection, site.subject, name).subject
    on = [time for time in shifts_on(connection, site, day) if time.shift.id == shift]
    if not on:
        raise refuse("shift", "not_on_that_day", value=name)
    return on[0]


# --- baths ---------------------------------------------------------------------------------------------------


def bath_numbered(session: Session, number: str) -> str:
    """The id of the bath with a number as printed."""
    entry = mend.find_entry(session, number)
    if entry.kind != "bath_made":
        raise refuse("bath", "not_a_bath", value=number)
    return entry.subject


def bath_to_read_in(session: Session, connection: Connection, sites: Sequence[str]) -> str:
    """The one bath that is open; refused where there is none or more than one, named by number.

    One that its own thermometers judged is read on in, until it is too old, another is made, or its shift is closed.
    """
    found = [bath for site in sites for bath in baths.open_baths(session, connection, site)]
    found += [bath for site in sites for bath in baths.read_on_in(session, connection, site)]
    if not found:
        raise refuse("bath", "none_open")
    return _the_only(connection, found)


def bath_to_judge(session: Session, connection: Connection, sites: Sequence[str], named: str | None) -> str:
    """As `bath_to_read_in`, of those that nobody judged.

    named: the bath named last; only this one is meant though its own thermometers judged it, never another.
    """
    found = [bath for site in sites for bath in baths.open_baths(session, connection, site)]
    judged = [bath for site in sites for bath in baths.read_on_in(session, connection, site)]
    found += [one for one in judged if one.bath == named]
    if not found:
        raise refuse("bath", "none_to_judge")
    return _the_only(connection, found)


def _the_only(connection: Connection, found: Sequence[BathView]) -> str:
    if len(found) > 1:
        numbers = ", ".join(baths.made(connection, bath.bath).number for bath in found)
        raise refuse("bath", "say_which", value=numbers)
    return found[0].bath


def recent_baths(
    session: Session, connection: Connection, site: str, days: int = 1
) -> list[tuple[BathView, EntryView]]:
    """A site's baths of the last days, the newest first, each with the entry that made it."""
    found = queries.baths_at(connection, site, since=session.clock() - days * DAY_US)
    return [(bath, baths.made(connection, bath.bath)) for bath in found]


def checks_in(connection: Connection, bath: str) -> list[tuple[CheckView, str, CheckLine]]:
    """The checks in a bath with the tag id of each and what its entry froze, in time order."""
    views = queries.checks_in(connection, bath)
    lines = history.check_lines(connection, views, queries.adjustments_in(connection, bath))
    tags = [row.tag_id if (row := queries.thermometer(connection, one.thermometer)) else None for one in views]
    return [(view, tag or "", line) for view, tag, line in zip(views, tags, lines, strict=True)]


def open_check(connection: Connection, bath: str, thermometer: str) -> str | None:
    """The check of a thermometer in a bath that still waits for repeats."""
    waiting = [one for one in queries.open_readings(connection, bath) if one.thermometer == thermometer]
    return waiting[-1].fact if waiting else None


def checked_in(connection: Connection, bath: str, thermometer: str) -> bool:
    """Whether a thermometer has a check in this bath already."""
    return any(one.thermometer == thermometer and not one.voided for one in queries.checks_in(connection, bath))


def waiting(connection: Connection, bath: str) -> list[str]:
    """Tag ids of the thermometers whose check in a bath still waits for repeats."""
    found = {one.thermometer for one in queries.open_readings(connection, bath)}
    rows = [queries.thermometer(connection, one) for one in found]
    return sorted(row.tag_id or "" for row in rows if row is not None)


def last_check(connection: Connection, thermometer: str) -> CheckView | None:
    """The latest check that counts."""
    recent = [one for one in queries.checks_of(connection, thermometer, newest=20) if not one.voided]
    return recent[-1] if recent else None


# --- what passes ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MustRead:
    """The range that passes in a bath, in the unit on the dial, and whose it is (tag ids)."""

    reference: Reading
    lowest: Reading
    highest: Reading
    tag_ids: tuple[str, ...]


def must_read(connection: Connection, bath: EntryView) -> list[MustRead]:
    """What passes in a bath for each thermometer in use at its site, those with the same range together."""
    found: dict[tuple[Reading, str, str], tuple[Reading, Reading, list[str]]] = {}
    for row in queries.thermometers(connection, site=bath.payload["site"]):
        if row.status in ("in_service", "limited_use"):
            of = thermometers.thermometer(connection, row.thermometer)
            for unit in of.facts.scales:
                span = _span(connection, of, bath, "F" if unit == "F" else "C")
                if span is not None:
                    reference, low, high = span
                    key = (reference, low.text(), high.text())
                    found.setdefault(key, (low, high, []))[2].append(of.tag_id)
    return [MustRead(key[0], low, high, tuple(tags)) for key, (low, high, tags) in found.items()]


def _span(
    connection: Connection, of: thermometers.Thermometer, bath: EntryView, unit: Unit
) -> tuple[Reading, Reading, Reading] | None:
    try:
        setting = checks.setting_for(connection, of.row.thermometer, bath, unit)
    except Refused:  # this type is not checked in such a bath
        return None
    span = checks.must_read(setting, unit)
    if span is None:
        return None
    step = of.step_as_read(unit)
    reference, low, high = span
    return reference, in_steps(low, step, unit), in_steps(high, step, unit)


def in_steps(value: Fraction, step: Decimal, unit: Unit) -> Reading:
    """An edge of the range that passes, with as many decimals as the step has."""
    places = max(0, -int(step.normalize().as_tuple().exponent))
    return Reading(Decimal(round(value * 10**places)).scaleb(-places), unit)
