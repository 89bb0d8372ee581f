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
    select(_F.subject, _F.field, _E.kind, _F.at, _F.chain_no, _F.seq, _F.hash, _E.text)
    .join_from(tables.facts, tables.entries, (_F.chain_no == _E.chain_no) & (_F.seq == _E.seq))
    .order_by(_F.at, _F.hash)
)


def versions(connection: Connection, *fields: str) -> list[Version]:
    """Every statement of these facts, of any subject, in the order of when they held."""
    return _in_order(connection.execute(_VERSIONS.where(_F.field.in_(fields))))


def versions_of(connection: Connection, subjects: Collection[str], *fields: str) -> list[Version]:
    """As `versions`, of these subjects alone."""
    pieces = (_VERSIONS.where(_F.subject.in_(some), _F.field.in_(fields)) for some in _by_500(sorted(subjects)))
    return _in_order(row for query in pieces for row in connection.execute(query))


def stated(connection: Connection, since: int, field: str, *, again: bool = False) -> set[str]:
    """The subjects of which this fact was stated since then; again: and had been before."""
    query = select(_F.subject).where(_F.field == field, _F.counts.in_((0, 1)), _F.at >= since)
    if again:
        before = tables.facts.alias("before")
        earlier = select(before.c.hash).where(
            before.c.subject == _F.subject, before.c.field == field, before.c.counts == 0
        )
        query = query.where(earlier.exists())
    return set(connection.execute(query).scalars())


def _in_order(rows: Iterable[Any]) -> list[Version]:
    """By when they held; one that replaces another comes after it, also where its own clock was behind."""
    said = {row.hash: (row, json.loads(row.text)) for row in rows}
    at = {one: text["payload"].get("performed_at", row.at) for one, (row, text) in said.items()}
    replaced = {one: [before for before in text["after"] if before in at] for one, (_, text) in said.items()}
    behind = [one for one, before in replaced.items() if any(at[each] >= at[one] for each in before)]
    while behind:
        at |= {one: max(at[each] for each in replaced[one]) + 1 for one in behind}
        behind = [one for one, before in replaced.items() if any(at[each] >= at[one] for each in before)]
    found = [
        Version(row.subject, row.field, row.kind, at[one], row.chain_no, row.seq, text["by"], text["payload"])
        for one, (row, text) in said.items()
    ]
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
            _K.thermometer.in_(some),
            _K.point.in_(POINTS),
            _K.at >= since,
            _K.at < until,  # as the index is made
        )
        query = query.where(_K.outcome.is_not(None), _K.voided == 0)
        found += [Decided(*row) for row in connection.execute(query)]
    return sorted(found, key=lambda one: one.at)


@dataclass(frozen=True, slots=True)
class LookedAt:
    """A check that was made, or what was said instead of one: then there is no point. known_at: when it was recorded,
    later where it was keyed in from paper."""

    thermometer: str
    at: int
    known_at: int
    point: str = ""


def made(connection: Connection, thermometers: Collection[str], since: int, until: int) -> list[LookedAt]:
    """Every check of these thermometers that was made in a period, whatever became of it."""
    found: list[LookedAt] = []
    for some in _by_500(sorted(thermometers)):
        query = select(_K.thermometer, _K.at, _E.at, _K.point).where(
            _K.thermometer.in_(some), _K.point.in_(POINTS), _K.at >= since, _K.at < until
        )
        query = query.join(tables.entries, (_K.chain_no == _E.chain_no) & (_K.seq == _E.seq))
        found += [LookedAt(*row) for row in connection.execute(query)]
    return found


def answered(connection: Connection, since: int, until: int) -> list[LookedAt]:
    """What was said in a period instead of a check, and readings that could not be had, of all thermometers."""
    query = select(_V.subject, _V.at, _E.at).join_from(
        tables.events, tables.entries, (_V.chain_no == _E.chain_no) & (_V.seq == _E.seq)
    )
    kinds = (and_(_V.kind == kind, _V.at >= since, _V.at < until) for kind in ("not_checked", "reading_taken"))
    return [LookedAt(*row) for row in connection.execute(query.where(or_(*kinds), _V.detail != ""))]


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
