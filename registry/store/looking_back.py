"""What stood when, and what was done in a period: read in bulk for logs and counts of many thermometers."""

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, or_, select

from registry.store import tables
from registry.store.queries import CheckView

BATH_BEFORE_US = 2 * 86_400_000_000  # a bath is made before its checks; none is used so long after (judgement)


@dataclass(frozen=True, slots=True)
class Version:
    """A fact as it was once stated, whether or not another replaced it since."""

    subject: str
    field: str
    kind: str
    at: int
    chain_no: int
    seq: int
    by: str
    payload: dict[str, Any]


_F, _E, _K, _B, _V = (
    tables.facts.c,
    tables.entries.c,
    tables.checks.c,
    tables.baths.c,
    tables.events.c,
)
POINTS = ("ice_point", "boiling_point", "comparison")
_VERSIONS = (
    select(_F.subject, _F.field, _E.kind, _F.at, _F.chain_no, _F.seq, _E.text)
    .join_from(tables.facts, tables.entries, (_F.chain_no == _E.chain_no) & (_F.seq == _E.seq))
    .order_by(_F.at, _F.hash)
)


def versions(connection: Connection, *fields: str) -> list[Version]:
    """Every statement of these facts, of any subject, in the order of when they held."""
    return _in_order(map(_version, connection.execute(_VERSIONS.where(_F.field.in_(fields)))))


def versions_of(connection: Connection, subjects: Collection[str], *fields: str) -> list[Version]:
    """As `versions`, of these subjects alone."""
    found: list[Version] = []
    for some in _by_500(sorted(subjects)):
        query = _VERSIONS.where(_F.subject.in_(some), _F.field.in_(fields))
        found += map(_version, connection.execute(query))
    return _in_order(found)


def restated(connection: Connection, since: int, *fields: str) -> set[str]:
    """The subjects of which one of these facts was stated since then."""
    return set(connection.execute(select(_F.subject).where(_F.field.in_(fields), _F.at >= since)).scalars())


def _version(row: Any) -> Version:
    said = json.loads(row.text)
    at = said["payload"].get("performed_at", row.at)
    return Version(row.subject, row.field, row.kind, at, row.chain_no, row.seq, said["by"], said["payload"])


def _in_order(found: Iterable[Version]) -> list[Version]:
    return sorted(found, key=lambda one: one.at)  # stable: of one instant the later entry stays last


def checks_at(
    connection: Connection, site: str, since: int, until: int, imported_of: Collection[str] = ()
) -> list[CheckView]:
    """The checks made in a site's baths in a period, and those of some thermometers that had none here; by time."""
    here = and_(_B.site == site, _B.at >= since - BATH_BEFORE_US, _B.at < until, _K.at >= since, _K.at < until)
    in_baths = select(tables.checks).join(tables.baths, _B.bath == _K.bath).where(here)
    found = list(connection.execute(in_baths))
    for some in _by_500(sorted(imported_of)):
        bare = and_(_K.thermometer.in_(some), _K.bath.is_(None), _K.at >= since, _K.at < until)
        found += connection.execute(select(tables.checks).where(bare))
    views = [CheckView(**{**row._mapping, "hot": bool(row.hot), "voided": bool(row.voided)}) for row in found]
    return sorted(views, key=lambda one: (one.at, one.chain_no, one.seq))


@dataclass(frozen=True, slots=True)
class Decided:
    """A check that stands and decided something."""

    thermometer: str
    at: int
    point: str


def decided(connection: Connection, thermometers: Collection[str], since: int, until: int) -> list[Decided]:
    """The checks of these thermometers in a period that decided something, by time."""
    found: list[Decided] = []
    for some in _by_500(sorted(thermometers)):
        query = select(_K.thermometer, _K.at, _K.point).where(
            _K.thermometer.in_(some), _K.at >= since, _K.at < until, _K.outcome.is_not(None), _K.voided == 0
        )
        found += [Decided(*row) for row in connection.execute(query)]
    return sorted(found, key=lambda one: one.at)


def made(connection: Connection, thermometers: Collection[str], since: int, until: int) -> list[Decided]:
    """As `decided`, of every check that was made, whatever became of it."""
    found: list[Decided] = []
    for some in _by_500(sorted(thermometers)):
        query = select(_K.thermometer, _K.at, _K.point).where(
            _K.thermometer.in_(some), _K.point.in_(POINTS), _K.at >= since, _K.at < until
        )
        found += [Decided(*row) for row in connection.execute(query)]
    return sorted(found, key=lambda one: one.at)


@dataclass(frozen=True, slots=True)
class SaidThen:
    """An entry that adds up, with what it says."""

    subject: str
    kind: str
    at: int
    chain_no: int
    seq: int
    by: str
    voided: bool
    payload: dict[str, Any]


def said_in(connection: Connection, kinds: Sequence[str], since: int, until: int) -> list[SaidThen]:
    """Every subject's events of these kinds in a period with what their entries say, by time."""
    query = (
        select(_V.subject, _V.kind, _V.at, _V.chain_no, _V.seq, _V.voided, _E.text)
        .join_from(tables.events, tables.entries, (_V.chain_no == _E.chain_no) & (_V.seq == _E.seq))
        .where(or_(*(and_(_V.kind == kind, _V.at >= since, _V.at < until) for kind in kinds)))
        .order_by(_V.at, _V.chain_no, _V.seq)
    )
    return [_said(row) for row in connection.execute(query)]


def _said(row: Any) -> SaidThen:
    said = json.loads(row.text)
    return SaidThen(row.subject, row.kind, row.at, row.chain_no, row.seq, said["by"], bool(row.voided), said["payload"])


def _by_500(values: Sequence[str]) -> list[Sequence[str]]:
    """In pieces that a statement's parameters can hold."""
    return [values[start : start + 500] for start in range(0, len(values), 500)]


def judgements(connection: Connection, baths: Collection[str]) -> dict[str, list[dict[str, Any]]]:
    """What every judgement of these baths said, also those that another replaced, in the order of when they held."""
    found: dict[str, list[dict[str, Any]]] = {}
    for some in _by_500(sorted(baths)):
        for row in connection.execute(_VERSIONS.where(_F.subject.in_(some), _F.field == "judgement")):
            found.setdefault(row.subject, []).append(json.loads(row.text)["payload"])
    return found
