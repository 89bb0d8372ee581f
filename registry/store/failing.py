"""Checks that were found outside, and what of the same thermometers was good before and after."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BindParameter, Connection, Select, bindparam, func, select

from registry.records.outcomes import GOOD, OUTSIDE
from registry.store import tables
from registry.store.looking_back import POINTS

_T, _K, _A, _B = tables.thermometers.c, tables.checks.c, tables.adjustments.c, tables.baths.c
_C, _V = tables.chains.c, tables.events.c
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Failed:
    """A check that was found outside. site: of its bath, None where it had none. hot: as `tables.checks` has it.

    chain: the key of the chain with its entry. voided: said since not to count; a slip is no reason to trust the
    thermometer. day_only: nobody knows the hour.
    """

    check: str
    thermometer: str
    site: str | None
    point: str
    hot: bool
    at: int
    chain_no: int
    seq: int
    chain: str
    offset: str | None
    outcome: str
    voided: bool
    day_only: bool = False


@dataclass(frozen=True, slots=True)
class Turned:
    """An adjustment that was not taken back; outcome: as left, None where that is not known."""

    check: str | None
    thermometer: str
    at: int
    outcome: str | None


_FAILED = (
    select(
        _K.check,
        _K.thermometer,
        _B.site,
        _K.point,
        _K.hot,
        _K.at,
        _K.chain_no,
        _K.seq,
        _C.chain,
        _K.offset,
        _K.outcome,
        _K.voided,
    )
    .select_from(tables.checks)
    .join(tables.chains, _C.chain_no == _K.chain_no)
    .join(tables.thermometers, _T.thermometer == _K.thermometer)
    .outerjoin(tables.baths, _B.bath == _K.bath)
    .where(_K.point.in_(POINTS), _K.at >= bindparam("since"), _K.outcome.in_(OUTSIDE))
    .order_by(_K.at.desc(), _K.chain_no.desc(), _K.seq.desc())
)


def failed(connection: Connection, since: int, *, type: str | None = None, of: str | None = None) -> list[Failed]:
    """Every check found outside from `since` on (UTC microseconds), the newest first; type, of: of these alone.

    It has no end: a check that a wrong clock put ahead of today failed all the same.
    """
    query = _FAILED if type is None else _FAILED.where(_T.type == type)
    query = query if of is None else query.where(_K.thermometer == of)
    found = connection.execute(query, {"since": since})
    return [Failed(**{**row._mapping, "hot": bool(row.hot), "voided": bool(row.voided)}) for row in found]


def _beside() -> Iterator[tuple[Select[Any], Select[Any]]]:
    """Of checks, then of adjustments: the last good there before a check, the first good there after it."""
    check: dict[str, BindParameter[Any]] = {
        name: bindparam(name) for name in ("thermometer", "point", "hot", "at", "seq")
    }
    for of in (_K, _A):
        there = (of.thermometer == check["thermometer"], of.point == check["point"], of.hot == check["hot"],
                 of.voided == 0, of.outcome.in_(GOOD))  # fmt: skip
        earlier = (of.at < check["at"]) | ((of.at == check["at"]) & (of.seq < check["seq"]))
        yield (
            select(func.max(of.at)).where(*there, earlier),
            select(func.min(of.at)).where(*there, of.at >= check["at"], ~earlier),
        )


_BESIDE = tuple(_beside())  # made once: making one costs more than running it


def good_beside(connection: Connection, one: Failed) -> tuple[int | None, int | None]:
    """When the thermometer was last good there before this check, and first after it, as found or as left."""
    check = {name: getattr(one, name) for name in ("thermometer", "point", "at", "seq")} | {"hot": int(one.hot)}
    before = [connection.execute(earlier, check).scalar() for earlier, _ in _BESIDE]
    after = [connection.execute(later, check).scalar() for _, later in _BESIDE]
    return max(_known(before), default=None), min(_known(after), default=None)


def unmended(connection: Connection, thermometer: str, since: int) -> list[Failed]:
    """What it failed since then and was not taken back, with nothing good at that point after it."""
    found = failed(connection, since, of=thermometer)
    return [one for one in found if not one.voided and good_beside(connection, one)[1] is None]


def _known(found: Sequence[Any]) -> list[int]:
    return [one for one in found if one is not None]


def renewed(connection: Connection) -> dict[str, tuple[int, ...]]:
    """When thermometers were given another sensor, of those that ever were, in time order."""
    query = select(_V.subject, _V.at).where(
        _V.kind == "incident_reported", _V.detail == "sensor_changed", _V.voided == 0
    )
    found: dict[str, tuple[int, ...]] = {}
    for subject, at in connection.execute(query.order_by(_V.at)):
        found[subject] = (*found.get(subject, ()), at)
    return found


def turned(connection: Connection, those: Collection[str]) -> Iterator[Turned]:
    """The adjustments of these thermometers that stand, in time order."""
    every = sorted(those)
    query = select(_A.check, _A.thermometer, _A.at, _A.outcome).where(_A.voided == 0)
    query = query.order_by(_A.at, _A.chain_no, _A.seq)
    for start in range(0, len(every), AT_ONCE):
        for row in connection.execute(query.where(_A.thermometer.in_(every[start : start + AT_ONCE]))):
            yield Turned(*row)
