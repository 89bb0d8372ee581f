"""What is to be replaced and why, with what it cost where that is known. It says nothing of where to get another."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain

from sqlalchemy import Connection

from registry.records.outcomes import OUTSIDE
from registry.records.thermometers import Price, ThermometerSet
from registry.services import failures, groups, thermometers
from registry.services.fleet import Ranked, Ranking
from registry.services.groups import Group
from registry.services.outlook import LIKELY
from registry.services.session import Session
from registry.services.standings import Progress, go_on
from registry.services.thermometers import Thermometer
from registry.store import failing, queries
from registry.store.failing import Turned

DAY_US = 86_400_000_000
AGAIN_DAYS, AGAIN = 365, 3  # found outside on so many days of the last year: again and again (judgement, no source)
BROKEN = ("damaged", "worn", "bent", "water_inside", "unsteady")  # why it is out of use, and no adjustment mends it
WHYS = ("failed", "not_held", "outside", *BROKEN, "out", "again")


@dataclass(frozen=True, slots=True)
class ToReplace:
    """One thermometer with the first reason of `WHYS` that holds for it.

    failed: it was found outside, was not mended since and cannot be adjusted; a check that was voided is no such
    finding. not_held: it was adjusted after that and was outside all the same. outside and `BROKEN`: what it was taken
    out of use for. out: it cannot be adjusted, its offset is outside and more likely so than not; one that was dropped,
    or that nobody checked for long, wants a check first. again: found outside on `times` days of the last year by the
    sensor that it has, and its model surely drifts.
    price: what it cost; like: the tag id of another of its maker and model whose price stands there instead.
    """

    thermometer: str
    tag_id: str
    site: str
    type: str
    maker: str
    model: str
    why: str
    times: int = 0
    price: Price | None = None
    like: str = ""


@dataclass(frozen=True, slots=True)
class Replacing:
    rows: tuple[ToReplace, ...]

    @property
    def known(self) -> int:
        """Of how many a price is known, their own or that of another one like it."""
        return sum(one.price is not None for one in self.rows)

    @property
    def sums(self) -> tuple[Price, ...]:
        """What those of known price cost together, by currency: amounts of two are never added."""
        found: dict[str, Decimal] = defaultdict(Decimal)
        for one in self.rows:
            if one.price is not None:
                found[one.price.currency] += Decimal(one.price.amount)
        return tuple(Price(amount=f"{amount:f}", currency=currency) for currency, amount in sorted(found.items()))


def to_replace(
    session: Session,
    ranked: Ranking,
    *,
    site: str | None = None,
    type: str | None = None,
    progress: Progress = go_on,
) -> Replacing:
    """Of a whole ranking, and of what is out of use. ranked: as `fleet.ranking` gives it with no limit, of the same."""
    models = groups.groups(session, "model", site=site, type=type, progress=progress)
    with session.reading() as connection:
        times = failures.times_failed(connection, session.clock() - AGAIN_DAYS * DAY_US)
        found = [*_in_use(connection, ranked, models.groups, times), *_out_of_use(connection, site, type)]
        priced = _Prices(connection) if found else None
        made = [_made(of, why, times, priced) for of, why in found]
    return Replacing(tuple(sorted(made, key=lambda one: (WHYS.index(one.why), one.tag_id))))


def _in_use(
    connection: Connection, ranked: Ranking, models: Sequence[Group], times: Mapping[str, int]
) -> Iterator[tuple[Thermometer, str]]:
    wears = {one.key.casefold() for one in models if one.key and one.wears}
    renewed = failing.renewed(connection)
    for one in ranked.failed:
        of = thermometers.thermometer(connection, one.thermometer)
        standing = failing.unmended(connection, one.thermometer, renewed.get(one.thermometer, (0,))[-1])
        if standing and not of.adjustments:
            yield of, "failed"
        elif _not_held(failing.turned(connection, [one.thermometer]), {each.check for each in standing}):
            yield of, "not_held"
        elif _again(one.thermometer, one.maker, one.model, wears, times):
            yield of, "again"
    for one in ranked.rows:
        likely, again = _likely_out(one), _again(one.thermometer, one.maker, one.model, wears, times)
        if likely or again:
            of = thermometers.thermometer(connection, one.thermometer)
            if likely and not of.adjustments:
                yield of, "out"
            elif again:
                yield of, "again"


def _likely_out(one: Ranked) -> bool:
    """Where its offset itself is outside at some point, not only what may have befallen it since it was checked."""
    found, limit = one.outlook, one.limit or 0.0
    beyond = any(at.offset is not None and abs(float(at.offset.to("C").value)) > limit for at in found.points)
    return beyond and (found.out or 0.0) > LIKELY


def _not_held(turned: Iterator[Turned], standing: Collection[str]) -> bool:
    """Whether the last adjustment after these checks left it outside."""
    last = None
    for one in turned:
        last = one if one.check in standing else last
    return last is not None and last.outcome in OUTSIDE


def _again(one: str, maker: str, model: str, wears: set[str], times: Mapping[str, int]) -> bool:
    named = " ".join(filter(None, (maker, model))).casefold()
    return times.get(one, 0) >= AGAIN and named in wears


def _out_of_use(connection: Connection, site: str | None, type: str | None) -> Iterator[tuple[Thermometer, str]]:
    """Taken out for what no adjustment mends; retired, it counts as replaced."""
    for row in queries.thermometers(connection, site=site, statuses=("out_of_use",)):
        said = queries.facts_of(connection, row.thermometer).get("service_status")
        why = said.payload.why if said else ""
        if type in (None, row.type) and why in ("outside", *BROKEN):
            of = thermometers.thermometer(connection, row.thermometer)
            if why != "outside" or not of.adjustments:
                yield of, why


def _made(of: Thermometer, why: str, times: Mapping[str, int], priced: "_Prices | None") -> ToReplace:
    price, like = of.facts.price, ""
    if price is None and priced is not None:
        price, like = priced.like(of)
    row = of.row
    count = times.get(row.thermometer, 0) if why == "again" else 0
    return ToReplace(
        row.thermometer, of.tag_id, row.site or "", of.type.code, of.maker, of.model, why, count, price, like
    )


class _Prices:
    """The price that was stated last of each maker and model, and of which thermometer."""

    def __init__(self, connection: Connection) -> None:
        self.found: dict[tuple[str, ...], tuple[Price, str]] = {}
        facts = queries.facts_named(connection, "facts", ThermometerSet)
        for fact in sorted((one for one in facts if one.payload.price is not None), key=lambda one: one.at):
            of = thermometers.thermometer(connection, fact.subject)
            if of.facts.price is not None and (key := _kind(of)):
                self.found[key] = of.facts.price, of.tag_id

    def like(self, of: Thermometer) -> tuple[Price | None, str]:
        return self.found.get(_kind(of), (None, ""))


def _kind(of: Thermometer) -> tuple[str, ...]:
    """Type, maker and model, of both parts where it has such; nothing where the model of one is not stated."""
    parts = [(of.maker, of.model)]
    if of.sensor:
        parts.append((of.sensor.maker or "", of.sensor.model or ""))
    if not all(model for _, model in parts):
        return ()
    return tuple(one.casefold() for one in (of.type.code, *chain(*parts)))
