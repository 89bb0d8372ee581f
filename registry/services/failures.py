"""Checks that failed in a period: what was done after each, and whether it is right again since.

One that failed and was then taken out of use is in no ranking of those in use; here it stands all the same. Food that
was judged with it since its last good check is not looked back at by this program: from when to when is told.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlalchemy import Connection

from registry import resources
from registry.journal.numbers import entry_number, installation_code
from registry.quantity import TemperatureDifference
from registry.records.outcomes import GOOD
from registry.services import places, typed
from registry.services.problems import refuse
from registry.services.session import Session, day_at, midnight
from registry.services.thermometers import AWAY, thermometer
from registry.store import failing, looking_back, queries
from registry.store.failing import Failed, Turned
from registry.store.looking_back import Version
from registry.store.queries import ThermometerRow

WEEKS, MOST_WEEKS = 12, 520


@dataclass(frozen=True, slots=True)
class Done:
    """Something that was done after a failed check.

    what: adjusted (and good then), adjusted_outside, adjusted_unknown, sensor_changed, taken_out, lost, retired or
    limited_use.
    """

    what: str
    at: int


@dataclass(frozen=True, slots=True)
class Failure:
    """One failed check. Instants are UTC microseconds, offset is reading minus reference.

    site: where it was checked; zone: its clock; day_only: nobody knows the hour. number: of its entry. maker, model: as
    of the thermometer. voided: the check was said not to count since. good_before: when it was last good at that point
    before, None for never. done: in time order. now: how it stands since, `good` (at that point, at `now_at`), `away`
    (out of use, lost or retired) or `open`.
    """

    check: str
    number: str
    thermometer: str
    tag_id: str
    type: str
    maker: str
    model: str
    site: str
    zone: str
    at: int
    day_only: bool
    point: str
    outcome: str
    offset: TemperatureDifference | None
    voided: bool
    good_before: int | None
    done: tuple[Done, ...]
    now: str
    now_at: int | None


@dataclass(frozen=True, slots=True)
class Failures:
    """weeks: the period that was asked about; rows: the newest first."""

    weeks: int
    rows: tuple[Failure, ...]

    @property
    def open(self) -> int:
        """How many of them are of thermometers in use that were not good at that point since."""
        return sum(one.now == "open" for one in self.rows)


def failures(session: Session, *, weeks: int = WEEKS, site: str | None = None, type: str | None = None) -> Failures:
    """Of the last so many weeks, from the beginning of that day where each was checked; site: its id, type: a type's
    code, None for all."""
    if not 1 <= weeks <= MOST_WEEKS:
        raise refuse("weeks", "choose", value=weeks, choices=f"1, 2, ... {MOST_WEEKS}")
    if type is not None:
        typed.choice("type", type, resources.instrument_types())
    now = session.clock()
    with session.reading() as connection:
        zones = _zones(connection)
        since = {zone: midnight(day_at(now, zone) - timedelta(weeks=weeks), zone) for zone in {*zones.values(), "UTC"}}
        found = _placed(connection, failing.failed(connection, min(since.values()), type=type))
        found = [one for one in found if one.at >= since[_zone(zones, one)] and site in (None, one.site)]
        return Failures(weeks, tuple(_told(connection, found, zones)))


def times_failed(connection: Connection, since: int) -> dict[str, int]:
    """On how many days, there, each was found outside by the sensor that it has, by checks that were not voided."""
    zones, renewed = _zones(connection), failing.renewed(connection)
    days: dict[str, set[date]] = defaultdict(set)
    for one in _placed(connection, failing.failed(connection, since)):
        if not one.voided and one.at >= renewed.get(one.thermometer, (0,))[-1]:
            days[one.thermometer].add(day_at(one.at, _zone(zones, one)))
    return {of: len(some) for of, some in days.items()}


def _zones(connection: Connection) -> dict[str, str]:
    return {one.subject: one.payload.zone for one in places.sites(connection)}


def _zone(zones: Mapping[str, str], one: Failed) -> str:
    return zones.get(one.site or "", "UTC")


def _placed(connection: Connection, found: Sequence[Failed]) -> list[Failed]:
    """Each with its site: one that has no bath was imported, and says itself where and when it was made."""
    return [one if one.site else _imported(connection, one) for one in found]


def _imported(connection: Connection, one: Failed) -> Failed:
    said = queries.entry_at(connection, one.chain_no, one.seq).payload
    return replace(one, site=said.get("site"), day_only=bool(said.get("day_only")))


def _told(connection: Connection, found: Sequence[Failed], zones: Mapping[str, str]) -> list[Failure]:
    those = {one.thermometer for one in found}
    rows = {row.thermometer: row for row in queries.thermometers(connection) if row.thermometer in those}
    turned: dict[str, list[Turned]] = defaultdict(list)
    for each in failing.turned(connection, those):
        turned[each.thermometer].append(each)
    statuses: dict[str, list[Version]] = defaultdict(list)
    for said in looking_back.versions_of(connection, those, "service_status"):
        statuses[said.subject].append(said)
    made, renewed = {id: thermometer(connection, id) for id in those}, failing.renewed(connection)
    told = []
    for one in found:
        id = one.thermometer
        row, of = rows[id], made[id]
        before, after = failing.good_beside(connection, one)
        done = _done(one, turned[id], statuses[id], renewed.get(id, ()), after)
        now, now_at = _now(row, after, statuses[id])
        told.append(
            Failure(
                one.check,
                entry_number(installation_code(bytes.fromhex(one.chain)), one.seq),
                one.thermometer,
                row.tag_id or "",
                row.type or "",
                of.maker,
                of.model,
                one.site or "",
                _zone(zones, one),
                one.at,
                one.day_only,
                one.point,
                one.outcome,
                TemperatureDifference.from_text(one.offset) if one.offset else None,
                one.voided,
                before,
                done,
                now,
                now_at,
            )
        )
    return told


def _done(
    one: Failed, turned: Sequence[Turned], statuses: Sequence[Version], renewed: Sequence[int], after: int | None
) -> tuple[Done, ...]:
    """Up to when it was good there again; an adjustment belongs to the check that asked for it."""
    found = [Done(_left(each), each.at) for each in turned if each.check == one.check]
    until = 2**62 if after is None else after
    for said in statuses:
        what = "taken_out" if said.kind == "taken_out" else str(said.payload.get("status"))
        if one.at <= said.at <= until and what != "in_service" and not said.payload.get("past"):
            found.append(Done(what, said.at))
    found += [Done("sensor_changed", at) for at in renewed if one.at <= at <= until]
    return tuple(sorted(found, key=lambda each: each.at))


def _left(one: Turned) -> str:
    if one.outcome is None:
        return "adjusted_unknown"
    return "adjusted" if one.outcome in GOOD else "adjusted_outside"


def _now(row: ThermometerRow, after: int | None, statuses: list[Version]) -> tuple[str, int | None]:
    if after is not None:
        return "good", after
    if row.status in AWAY:
        return "away", statuses[-1].at if statuses else None
    return "open", None
