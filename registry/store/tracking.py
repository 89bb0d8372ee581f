"""What the tracking of thermometers is read from: checks, adjustments and incidents with what they froze, in one go."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from registry.store import tables

_E, _BATHS, _EVENTS = tables.entries.alias("said"), tables.baths.c, tables.events.c
_OF_MANY = ("import_closed", "import_voided", "installation_accepted", "chain_opened")
TELL_APART = 2000  # entries
AT_ONCE = 500  # thermometers in one question: SQLite takes no more variables than it was built for


@dataclass(frozen=True, slots=True)
class Measured:
    """One check or adjustment: its bath (none where imported) with how that was judged, the payload as recorded."""

    thermometer: str
    at: int
    bath: str | None
    judged: str | None
    outcome: str | None
    voided: bool
    said: dict[str, Any]

    @property
    def measured(self) -> bool:
        """Not voided, and with an offset."""
        return not self.voided and "offset" in self.said

    @property
    def counts(self) -> bool:
        """Measured, and not in a bath that was condemned or still waits to be judged."""
        return self.measured and (self.bath is None or self.judged in ("accepted", "overruled", "suspect"))


@dataclass(frozen=True, slots=True)
class Happened:
    """One incident that counts."""

    thermometer: str
    at: int
    what: str


@dataclass(frozen=True, slots=True)
class BathSaid:
    """A bath as made, and how it was judged: accepted, overruled or suspect.

    error, added_u: what the diagnosis found it off by, and what that adds to an offset left as it is (texts, dC).
    """

    bath: str
    site: str
    said: dict[str, Any]
    judged: str
    error: str | None
    added_u: str | None


def checks(connection: Connection, those: Sequence[str]) -> Iterator[Measured]:
    """Every check of these thermometers, in time order."""
    return _measured(connection, tables.checks, those)


def adjustments(connection: Connection, those: Sequence[str]) -> Iterator[Measured]:
    """Every adjustment of these thermometers, in time order."""
    return _measured(connection, tables.adjustments, those)


def _measured(connection: Connection, table: Any, those: Sequence[str]) -> Iterator[Measured]:
    of = table.c
    judged = select(_BATHS.judged).where(_BATHS.bath == of.bath).scalar_subquery()
    query = select(of.thermometer, of.at, of.bath, judged, of.outcome, of.voided, _E.c.text)
    query = query.select_from(table.join(_E, (_E.c.chain_no == of.chain_no) & (_E.c.seq == of.seq)))
    query = query.order_by(of.at, of.chain_no, of.seq)
    for some in _parts(those):
        for one, at, bath, how, outcome, voided, text in connection.execute(query.where(of.thermometer.in_(some))):
            yield Measured(one, at, bath, how, outcome, bool(voided), json.loads(text)["payload"])


def incidents(connection: Connection, those: Sequence[str]) -> Iterator[Happened]:
    query = select(_EVENTS.subject, _EVENTS.at, _EVENTS.detail)
    query = query.where(_EVENTS.kind == "incident_reported", _EVENTS.voided == 0)
    query = query.order_by(_EVENTS.at, _EVENTS.chain_no, _EVENTS.seq)
    for some in _parts(those):
        for thermometer, at, what in connection.execute(query.where(_EVENTS.subject.in_(some))):
            yield Happened(thermometer, at, what or "")


def baths(connection: Connection, those: Sequence[str]) -> dict[str, BathSaid]:
    """Baths by id, with the judgement that counts."""
    judged = tables.facts.c
    made = (_E.c.chain_no == _BATHS.chain_no) & (_E.c.seq == _BATHS.seq)
    query = select(_BATHS.bath, _BATHS.site, _BATHS.judged, _E.c.text).select_from(tables.baths.join(_E, made))
    found = {}
    for some in _parts(those):
        diagnosed: dict[str, Any] = {}
        judgements = select(judged.subject, _E.c.text).select_from(
            tables.facts.join(_E, (_E.c.chain_no == judged.chain_no) & (_E.c.seq == judged.seq))
        )
        judgements = judgements.where(judged.field == "judgement", judged.counts == 1, judged.subject.in_(some))
        for bath, text in connection.execute(judgements):
            diagnosed[bath] = json.loads(text)["payload"]
        for bath, site, how, text in connection.execute(query.where(_BATHS.bath.in_(some))):
            payload, of = json.loads(text)["payload"], diagnosed.get(bath, {})
            found[bath] = BathSaid(bath, site, payload, how or "", of.get("error"), of.get("added_u"))
    return found


def newest_entry(connection: Connection) -> int:
    """The local number of the newest entry."""
    found: int | None = connection.execute(select(func.max(tables.entries.c.no))).scalar_one()
    return found or 0


def hash_of(connection: Connection, entry: int) -> str | None:
    """The hash of the entry with this local number: another registry, or a restored one, has another there."""
    return connection.execute(select(tables.entries.c.hash).where(tables.entries.c.no == entry)).scalar()


def said_since(connection: Connection, entry: int, at_most: int = TELL_APART) -> set[tuple[str, str]] | None:
    """Kind and subject of what was recorded after an entry; None where it is too much to tell apart."""
    query = select(tables.entries.c.kind, tables.entries.c.subject).where(tables.entries.c.no > entry)
    rows = connection.execute(query.limit(at_most + 1)).all()
    return None if len(rows) > at_most else {(kind, subject) for kind, subject in rows}


def measured_in(connection: Connection, baths: Sequence[str]) -> set[str]:
    """The thermometers that were checked or adjusted in any of these baths."""
    found: set[str] = set()
    for table in (tables.checks.c, tables.adjustments.c):
        for some in _parts(baths):
            found.update(connection.execute(select(table.thermometer).where(table.bath.in_(some)).distinct()).scalars())
    return found


def changed_since(connection: Connection, entry: int, at_most: int = TELL_APART) -> set[str] | None:
    """Subjects of what was recorded after an entry, baths that were judged among them.

    None where it is too much to tell apart, or something came of which many hang: an import, an exchange.
    """
    said = said_since(connection, entry, at_most)
    if said is None or any(kind in _OF_MANY for kind, _ in said):
        return None
    return {subject for _, subject in said}


def _parts(those: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(those), AT_ONCE):
        yield those[start : start + AT_ONCE]
