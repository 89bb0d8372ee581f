"""Checks that were found outside in a period, and what of the same thermometers was good before and after."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from registry.records.outcomes import GOOD, OUTSIDE
from registry.store import tables

_T, _K, _A, _B = tables.thermometers.c, tables.checks.c, tables.adjustments.c, tables.baths.c
POINTS = ("ice_point", "boiling_point", "comparison")
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Failed:
    """A check that was found outside. site: of its bath, else where its thermometer is. hot: as `tables.checks` has it.

    voided: said since not to count; a slip is no reason to trust the thermometer.
    """

    check: str
    thermometer: str
    site: str | None
    point: str
    hot: bool
    at: int
    chain_no: int
    seq: int
    offset: str | None
    outcome: str
    voided: bool


@dataclass(frozen=True, slots=True)
class Turned:
    """An adjustment that was not taken back; outcome: as left, None where that is not known."""

    check: str | None
    thermometer: str
    point: str
    hot: bool
    at: int
    outcome: str | None


def failed(connection: Connection, since: int, until: int, type: str | None = None) -> list[Failed]:
    """Every check found outside from `since` to before `until` (UTC microseconds), the newest first.

    Asked by thermometer and point, as the checks are indexed: a period is a small part of all that was ever checked.
    """
    query = (
        select(
            _K.check,
            _K.thermometer,
            func.coalesce(_B.site, _T.site),
            _K.point,
            _K.hot,
            _K.at,
            _K.chain_no,
            _K.seq,
            _K.offset,
            _K.outcome,
            _K.voided,
        )
        .select_from(tables.thermometers)
        .join(tables.checks, _K.thermometer == _T.thermometer)
        .outerjoin(tables.baths, _B.bath == _K.bath)
        .where(_K.point.in_(POINTS), _K.at >= since, _K.at < until, _K.outcome.in_(OUTSIDE))
        .order_by(_K.at.desc(), _K.chain_no.desc(), _K.seq.desc())
    )
    if type is not None:
        query = query.where(_T.type == type)
    return [Failed(*row[:4], bool(row[4]), *row[5:10], bool(row[10])) for row in connection.execute(query)]


def good_beside(connection: Connection, one: Failed) -> tuple[int | None, int | None]:
    """When the thermometer was last good there before this check, and first after it, as found or as left."""
    before, after = [], []
    for of in (_K, _A):
        there = (of.thermometer == one.thermometer, of.point == one.point, of.hot == int(one.hot),
                 of.voided == 0, of.outcome.in_(GOOD))  # fmt: skip
        earlier = (of.at < one.at) | ((of.at == one.at) & (of.seq < one.seq))
        before.append(connection.execute(select(func.max(of.at)).where(*there, earlier)).scalar())
        after.append(connection.execute(select(func.min(of.at)).where(*there, of.at >= one.at, ~earlier)).scalar())
    return max(_known(before), default=None), min(_known(after), default=None)


def _known(found: Sequence[Any]) -> list[int]:
    return [one for one in found if one is not None]


def turned(connection: Connection, those: Collection[str]) -> Iterator[Turned]:
    """The adjustments of these thermometers that stand, in time order."""
    every = sorted(those)
    query = select(_A.check, _A.thermometer, _A.point, _A.hot, _A.at, _A.outcome).where(_A.voided == 0)
    query = query.order_by(_A.at, _A.chain_no, _A.seq)
    for start in range(0, len(every), AT_ONCE):
        for row in connection.execute(query.where(_A.thermometer.in_(every[start : start + AT_ONCE]))):
            yield Turned(*row[:3], bool(row[3]), *row[4:])
