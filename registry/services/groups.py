"""What thermometers of one model, maker, type or site have in common: how they drift, and what incidents do to them."""

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any, Literal

from registry.compute.drift.effects import Effect, combined, pulled, share
from registry.services import standings, tracking, typed
from registry.services.outlook import MONTH_DAYS
from registry.services.session import Session
from registry.services.standings import Progress, Standing, go_on
from registry.store.queries import ThermometerRow

By = Literal["model", "maker", "type", "site"]
GROUPS: tuple[By, ...] = ("model", "maker", "type", "site")


@dataclass(frozen=True, slots=True)
class Group:
    """How the thermometers of one group drift, °C a month, retired and lost ones among them.

    key: the type's code, the site's id, the maker, or maker and model; "" where none is stated. types: the codes of the
    types in it. thermometers: how many were measured; checks: of all of them; told: how many have checks enough that
    their own drift is known at all. a_month, low, high: the mean drift of such ones with its interval of 95 %, few data
    pulled to the type. spread: standard deviation of the drift among its thermometers.
    """

    key: str
    types: tuple[str, ...]
    thermometers: int
    checks: int
    told: int
    a_month: float
    low: float
    high: float
    spread: float

    @property
    def wears(self) -> bool:
        """Whether nought lies outside of the interval."""
        return self.low > 0 or self.high < 0

    @property
    def at_least(self) -> float:
        """How fast it drifts at least, whichever way, °C a month; 0 where it may not drift at all."""
        return max(self.low, -self.high, 0.0)


@dataclass(frozen=True, slots=True)
class GroupsFound:
    by: By
    groups: tuple[Group, ...]
    complete: bool


def groups(
    session: Session,
    by: str = "model",
    *,
    site: str | None = None,
    type: str | None = None,
    progress: Progress = go_on,
) -> GroupsFound:
    """Groups that were measured, those that surely drift fastest first; of a site (its id) or a type only.

    Each thermometer counts with its mean drift since its sensor was new by its own checks, adjustments taken out; a
    group by random effects. What all thermometers of a kitchen share, say a habit that changed, is in all of them.
    """
    group: Any = typed.choice("groups", by, GROUPS)
    with session.reading() as connection:
        known, rows = standings.standings(session, connection, progress)
    sites = {row.thermometer: row for row in rows}
    measured = [one for one in known.by_thermometer.values() if one.checks and one.thermometer in sites]
    of_types = {code: _of_type(code, some) for code, some in _sorted_out(measured, lambda one: one.type).items()}
    measured = [one for one in measured if type in (None, one.type) and site in (None, sites[one.thermometer].site)]
    found = []
    for some in _sorted_out(measured, lambda one: _key(one, group, sites[one.thermometer]).casefold()).values():
        keys = Counter(_key(one, group, sites[one.thermometer]) for one in some)  # one model, however it was typed
        found.append(_group(keys.most_common(1)[0][0], some, of_types, group == "type"))
    return GroupsFound(group, tuple(sorted(found, key=_worn_first)), known.complete)


def _worn_first(one: Group) -> tuple[float, float, str]:
    return -one.at_least, -abs(one.a_month), one.key


def _sorted_out(those: Sequence[Standing], key: Callable[[Standing], str]) -> dict[str, list[Standing]]:
    found: dict[str, list[Standing]] = defaultdict(list)
    for one in those:
        found[key(one)].append(one)
    return found


def _key(one: Standing, by: By, row: ThermometerRow) -> str:
    if by == "type":
        return one.type
    if by == "site":
        return row.site or ""
    return one.maker if by == "maker" else " ".join(filter(None, (one.maker, one.model)))


def _of_type(code: str, those: Sequence[Standing]) -> Effect:
    """Of a type, pulled to what is shipped of it."""
    values, sds = _rates(those)
    prior = tracking.prior_of(code)
    return pulled(values, sds, mean=prior.centre.rate_mean, apart=prior.rate_mean_sd, spread=prior.centre.rate_spread)


def _group(key: str, those: Sequence[Standing], of_types: dict[str, Effect], is_type: bool) -> Group:
    """Of any other group, pulled to its types, each as often as it is in it; as far apart as models of a type are."""
    values, sds = _rates(those)
    types = sorted({one.type for one in those})
    if is_type:
        found = of_types[key]
    else:
        weights = [sum(one.type == code for one in those) / len(those) for code in types]
        mean = sum(weight * of_types[code].mean for weight, code in zip(weights, types, strict=True))
        apart = max(hypot(tracking.prior_of(code).rate_mean_sd, of_types[code].sd) for code in types)
        spread = max(of_types[code].spread for code in types)
        found = pulled(values, sds, mean=mean, apart=apart, spread=spread)
    checks = sum(one.checks for one in those)
    a_month = [each * MONTH_DAYS for each in (found.mean, found.low, found.high, found.spread)]
    return Group(key, tuple(types), len(those), checks, found.count, *a_month)


def _rates(those: Sequence[Standing]) -> tuple[list[float], list[float]]:
    told = [one.own_rate for one in those if one.own_rate is not None]
    return [rate for rate, _ in told], [sd for _, sd in told]


# --- what incidents do ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Incident:
    """What one kind of incident did to the offsets, °C, by the three checks at most that came at once after each.

    what: its code. told: how many were checked after. stepped: after how many the offset had changed, at 5 % each, so
    one in twenty would seem so with no step at all; share_low, share_high: interval of 95 % of that share. size, low,
    high: the mean change of all of them, with its sign, and its interval of 95 %; spread: standard deviation of the
    true changes.
    """

    what: str
    told: int
    stepped: int
    share_low: float
    share_high: float
    size: float
    low: float
    high: float
    spread: float


@dataclass(frozen=True, slots=True)
class IncidentsFound:
    """unreported: steps found from readings alone, with no incident reported."""

    incidents: tuple[Incident, ...]
    unreported: int
    complete: bool


def incidents(
    session: Session, *, site: str | None = None, type: str | None = None, progress: Progress = go_on
) -> IncidentsFound:
    """What each kind of incident did, the one that most surely steps them first; to thermometers that are of a site now
    (its id), or of a type. A new sensor is no step of the old."""
    with session.reading() as connection:
        known, rows = standings.standings(session, connection, progress)
    here = {row.thermometer for row in rows if site in (None, row.site)}
    those = [one for one in known.by_thermometer.values() if one.thermometer in here and type in (None, one.type)]
    every = [each for one in those for each in one.steps]
    kinds: dict[str, list[tuple[float, float, bool]]] = defaultdict(list)
    for step, what in every:
        if step.reported:
            kinds[what].append((step.size, step.sd, step.found))
    found = [_incident(what, some) for what, some in kinds.items()]
    found.sort(key=lambda one: (-one.share_low, -one.stepped, one.what))
    return IncidentsFound(tuple(found), sum(not step.reported for step, _ in every), known.complete)


def _incident(what: str, those: Sequence[tuple[float, float, bool]]) -> Incident:
    sizes, sds, found = zip(*those, strict=True)
    effect, stepped = combined(sizes, sds), sum(found)
    return Incident(
        what, len(those), stepped, *share(stepped, len(those)), effect.mean, effect.low, effect.high, effect.spread
    )
