"""Issued certificates of any thermometer, the newest first, a page at a time."""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, func, or_, select, tuple_

from registry.journal.numbers import entry_number, installation_code
from registry.store import queries, tables

_V, _E, _C, _T = tables.events.c, tables.entries.c, tables.chains.c, tables.thermometers.c
_K, _A, _B = tables.checks.c, tables.adjustments.c, tables.baths.c


@dataclass(frozen=True, slots=True)
class Between:
    """Days of a site as instants: from_at to before until_at, for thermometers that are there now."""

    site: str
    from_at: int
    until_at: int


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; what is left out narrows nothing. place: (chain number, sequence number) of the issue."""

    site: str | None = None
    tag: str | None = None
    chain: str | None = None
    seq: int | None = None
    between: tuple[Between, ...] = ()


@dataclass(frozen=True, slots=True)
class IssuedRow:
    """One certificate as issued: the entry that issued it and the thermometer's tag id now."""

    chain_no: int
    seq: int
    number: str
    at: int
    by: str
    hash: str
    thermometer: str
    tag_id: str | None
    site: str | None
    payload: dict[str, Any]


_ISSUED = (
    select(_V.chain_no, _V.seq, _V.at, _V.hash, _V.subject, _C.chain, _T.tag_id, _T.site, _E.text)
    .join_from(tables.events, tables.entries, (_V.chain_no == _E.chain_no) & (_V.seq == _E.seq))
    .join(tables.chains, _C.chain_no == _V.chain_no)
    .outerjoin(tables.thermometers, _T.thermometer == _V.subject)
    .where(_V.kind == "certificate_issued", _V.voided == 0)
)


def _narrowed(query: Any, wanted: Wanted) -> Any:
    if wanted.site is not None:
        query = query.where(_T.site == wanted.site)
    if wanted.tag is not None:
        query = query.where(_T.tag_id == wanted.tag)
    if wanted.seq is not None:
        query = query.where(_V.seq == wanted.seq, _C.chain == wanted.chain)
    if wanted.between:
        days = [and_(_T.site == one.site, _V.at >= one.from_at, _V.at < one.until_at) for one in wanted.between]
        query = query.where(or_(*days))
    return query


def issued(
    connection: Connection, wanted: Wanted, limit: int, after: tuple[int, int, int] | None = None
) -> list[IssuedRow]:
    """At most so many, the newest first; `after`: those behind this (at, chain number, sequence number)."""
    query = _narrowed(_ISSUED, wanted).order_by(_V.at.desc(), _V.chain_no.desc(), _V.seq.desc()).limit(limit)
    if after is not None:
        query = query.where(tuple_(_V.at, _V.chain_no, _V.seq) < tuple_(*after))
    return [_row(row) for row in connection.execute(query)]


def count(connection: Connection, wanted: Wanted) -> int:
    """How many there are in all."""
    inner = _narrowed(_ISSUED.with_only_columns(_V.seq), wanted).subquery()
    return connection.execute(select(func.count()).select_from(inner)).scalar_one()


def _row(row: Any) -> IssuedRow:
    said = json.loads(row.text)
    number = entry_number(installation_code(bytes.fromhex(row.chain)), row.seq)
    return IssuedRow(
        row.chain_no, row.seq, number, row.at, said["by"], row.hash, row.subject, row.tag_id, row.site, said["payload"]
    )


@dataclass(frozen=True, slots=True)
class Followed:
    """What came after an issue: another that replaces it, its withdrawal, or its page stored."""

    kind: str
    number: str
    at: int
    after: tuple[str, ...]
    payload: dict[str, Any]


_FOLLOWING = ("certificate_issued", "certificate_withdrawn", "document_stored")


def following(connection: Connection, thermometers: Collection[str]) -> list[Followed]:
    """Everything said later of the certificates of these thermometers, by time."""
    found: list[Followed] = []
    wanted: Sequence[str] = sorted(thermometers)
    for start in range(0, len(wanted), 500):
        query = (
            select(_V.kind, _V.seq, _V.at, _C.chain, _E.text)
            .join_from(tables.events, tables.entries, (_V.chain_no == _E.chain_no) & (_V.seq == _E.seq))
            .join(tables.chains, _C.chain_no == _V.chain_no)
            .where(_V.subject.in_(wanted[start : start + 500]), _V.kind.in_(_FOLLOWING), _V.voided == 0)
            .order_by(_V.at, _V.chain_no, _V.seq)
        )
        found += [_followed(row) for row in connection.execute(query)]
    return found


def _followed(row: Any) -> Followed:
    said = json.loads(row.text)
    number = entry_number(installation_code(bytes.fromhex(row.chain)), row.seq)
    return Followed(row.kind, number, row.at, tuple(said["after"]), said["payload"])


@dataclass(frozen=True, slots=True)
class Measured:
    """A check or an adjustment made because of it, as it counts now. hash: of its entry; judged: of its bath."""

    check: str
    hash: str
    bath: str | None
    judged: str | None
    voided: bool


def measured(connection: Connection, checks: Collection[str]) -> list[Measured]:
    """These checks and their adjustments, in no order."""
    found: list[Measured] = []
    wanted: Sequence[str] = sorted(checks)
    for start in range(0, len(wanted), 500):
        for table in (_K, _A):
            query = (
                select(table.check, _E.hash, table.bath, _B.judged, table.voided)
                .join_from(table.check.table, tables.entries, (table.chain_no == _E.chain_no) & (table.seq == _E.seq))
                .outerjoin(tables.baths, _B.bath == table.bath)
                .where(table.check.in_(wanted[start : start + 500]))
            )
            found += [Measured(*row[:4], bool(row.voided)) for row in connection.execute(query)]
    return found


def kept_as(connection: Connection, sha256: str) -> str | None:
    """The number of the certificate whose page was stored with this hash; None where none was."""
    query = (
        select(_V.subject, _E.text)
        .join_from(tables.events, tables.entries, (_V.chain_no == _E.chain_no) & (_V.seq == _E.seq))
        .where(_V.kind == "document_stored", _V.voided == 0, _E.text.contains(sha256, autoescape=True))
    )
    for row in connection.execute(query):
        said = json.loads(row.text)["payload"]
        if said["document"] == "certificate" and said["sha256"] == sha256:
            return queries.entry_hashed(connection, row.subject, said["entry"]).number
    return None
