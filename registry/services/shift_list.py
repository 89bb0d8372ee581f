"""The list at the start of a shift: one row for each thermometer that it wants, whole all shift long."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from registry.compute.schedule import BY_SHIFT, EARLY_US, DueItem, ShiftTime
from registry.records.places import SiteSet
from registry.services import (
    baths,
    checks,
    duelist,
    places,
    rules,
    shift_bath,
    shift_row,
    shift_said,
    steadiness,
    thermometers,
)
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.shift_bath import BathFacts, InBath
from registry.services.shift_row import WANTED, ListRow
from registry.services.shift_said import Said
from registry.services.thermometers import Thermometer
from registry.store import queries, shift_rows
from registry.store.queries import EntryView, Fact, ThermometerRow

POINTS = ("ice_point", "boiling_point", "comparison")
# What no reading in a bath answers: a new certificate from outside is wanted.
NOT_BY_A_CHECK = frozenset(("reference_expiry",))


@dataclass(frozen=True, slots=True)
class ShiftView:
    """The list of a site. shift: None where none is on; then all that is due stands here. zone: of its times.

    since: what was said before this instant belongs to an earlier shift.
    """

    site: str
    site_name: str
    zone: str
    shift: ShiftTime | None
    since: int
    rows: tuple[ListRow, ...]
    bath: BathFacts | None

    def row(self, tag_id: str) -> ListRow | None:
        """The row of a tag id in its normal form."""
        return next((one for one in self.rows if one.tag_id == tag_id), None)

    @property
    def counts(self) -> dict[str, int]:
        """How many rows stand in which state."""
        found: dict[str, int] = defaultdict(int)
        for one in self.rows:
            found[one.state] += 1
        return dict(found)


def start_of_shift(session: Session, site: str, *, now: int | None = None) -> ShiftView:
    """The list of the shift that is on, or begins within the hour; where none is, of everything due now.

    Rows that are answered stay until the shift is over. Without a shift they stay as long as their bath is open, or
    was made within the time that a bath is good for.
    """
    with session.reading() as connection:
        here = _site(session, connection, site, now)
        due = duelist.due_list(session, connection, site, now=here.now)
        return _view(session, connection, here, due)


def row_for(session: Session, site: str, tag_id: str, *, now: int | None = None) -> ListRow:
    """The row of one thermometer, scanned or typed, whether or not the shift wants it; refused where unknown."""
    with session.reading() as connection:
        here = _site(session, connection, site, now)
        of = thermometers.find(connection, tag_id)
        due = duelist.due_list(session, connection, of.row.site, now=here.now) if of.row.site else []
        own = [one for one in due if one.row.thermometer == of.row.thermometer]
        return _view(session, connection, here, own, scanned=of).rows[0]


# --- putting it together -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Here:
    """The site, its shift and its open bath."""

    fact: Fact[SiteSet]
    now: int
    shift: ShiftTime | None
    since: int
    bath: EntryView | None
    in_force: RulesInForce


def _site(session: Session, connection: Connection, site: str, now: int | None) -> _Here:
    now = session.clock() if now is None else now
    fact = places.site_named_by_id(connection, site)
    shift = places.shift_now(session, connection, fact, now=now)
    since = shift.begins_at - EARLY_US if shift else _since_the_baths(session, connection, site, now)
    bath = shift_bath.bath_now(session, connection, site)
    return _Here(fact, now, shift, since, bath, rules.rules_in_force(connection, site))


def _since_the_baths(session: Session, connection: Connection, site: str, now: int) -> int:
    still = queries.baths_at(connection, site, since=now - checks.BATH_GOOD_FOR_US)
    still += baths.open_baths(session, connection, site)
    return min((one.at for one in still), default=now)


def _view(
    session: Session,
    connection: Connection,
    here: _Here,
    due: Sequence[duelist.Due],
    scanned: Thermometer | None = None,
) -> ShiftView:
    site = here.fact.subject
    only = scanned.row.thermometer if scanned else None
    rows = {row.thermometer: row for row in queries.thermometers(connection, site=site)}
    tags = {thermometer: row.tag_id or "" for thermometer, row in rows.items()}
    said = shift_said.said_since(connection, site, here.since, here.now, here.shift, here.in_force.rule, tags, only)
    items = _wanted(due, here.shift)
    those = [scanned] if scanned else _those(connection, here, rows, items, said)
    found = shift_bath.in_bath(connection, here.bath, those) if here.bath else {}
    last = {
        point: shift_rows.last_offsets(connection, [of.row.thermometer for of in those], point, here.since)
        for point in POINTS
    }
    names = {one.subject: one.payload.name for one in places.stations(connection, site)}
    if not scanned:
        those = in_order(session, connection, site, here.shift, those)
        those.sort(key=lambda of: _unfit(of, found))
    listed = [
        shift_row.row_of(of, here.bath, here.in_force, items.get(of.row.thermometer, ()), said, found, last, names)
        for of in those
    ]
    facts = None
    if here.bath:
        facts = shift_bath.facts(
            session, here.bath, _judged(connection, here.bath), those, found, _tags_beside(connection, here.bath)
        )
    return ShiftView(site, here.fact.payload.name, here.fact.payload.zone, here.shift, here.since, tuple(listed), facts)


def _unfit(of: Thermometer, found: Mapping[str, InBath]) -> bool:
    """Whether it can't go into the open bath; it stands last then."""
    return of.row.thermometer in found and found[of.row.thermometer].problem is not None


def in_order(
    session: Session, connection: Connection, site: str, shift: ShiftTime | None, those: Sequence[Thermometer]
) -> list[Thermometer]:
    """The steadiest first; then digitals, since they are steadier (an infrared is not), by station and tag id."""
    names = {one.subject: one.payload.name for one in places.stations(connection, site)}
    first = steadiness.first_of(session, site, f"{shift.shift.id} {shift.day}" if shift else "", those)

    def place(of: Thermometer) -> tuple[int, bool, str, str]:
        foremost = first.index(of.row.thermometer) if of.row.thermometer in first else len(first)
        station = names.get(of.row.station or "", "")
        return foremost, not of.type.digital or of.type.surface, station.casefold(), of.tag_id

    return sorted(those, key=place)


def _wanted(due: Sequence[duelist.Due], shift: ShiftTime | None) -> dict[str, list[DueItem]]:
    """What is wanted now or was said of this shift, by thermometer, the most urgent first."""
    found: dict[str, list[DueItem]] = defaultdict(list)
    for one in due:
        item = one.item
        mine = shift is not None and (item.shift, item.day) == (shift.shift.id, shift.day)
        if item.code not in NOT_BY_A_CHECK and (mine or (item.state in WANTED and item.code not in BY_SHIFT)):
            found[item.thermometer].append(item)
    return found


def _those(
    connection: Connection,
    here: _Here,
    rows: Mapping[str, ThermometerRow],
    items: Mapping[str, Sequence[DueItem]],
    said: Said,
) -> list[Thermometer]:
    """Who is on the list: wanted, answered, or taken out of use since the shift began."""
    answered = {thermometer for thermometer, one in said.instead.items() if thermometer in rows}
    out = {row.thermometer for row in rows.values() if row.status == "out_of_use" and _since(connection, row, here)}
    return [thermometers.thermometer(connection, one) for one in {*items, *said.checks, *answered, *out}]


def _since(connection: Connection, row: ThermometerRow, here: _Here) -> bool:
    """Whether it got its service status in this shift."""
    fact = queries.facts_of(connection, row.thermometer).get("service_status")
    return fact is not None and here.since <= fact.at <= here.now


def _judged(connection: Connection, bath: EntryView) -> str | None:
    view = queries.bath(connection, bath.subject)
    return view.judged if view is not None else None


def _tags_beside(connection: Connection, bath: EntryView) -> dict[str, str]:
    found = [queries.thermometer(connection, one["thermometer"]) for one in bath.payload.get("beside", ())]
    return {row.thermometer: row.tag_id or "" for row in found if row is not None}
