"""Each thermometer followed through its record: what is handed to the tracker, and what is kept of its answers.

Days are counted from 1970 UTC and may be broken. Parameters are learned by model, in the background, and kept in a
cache; what was tracked lives as long as the session and grows with each new check.
"""

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from math import hypot, sqrt
from typing import Any, TypeVar

from sqlalchemy import Connection

from registry import resources
from registry.compute import drift
from registry.compute.check import SHARED
from registry.compute.drift import Event, History, Observation, Parameters, Predicted, Track, TypePrior
from registry.quantity import Reading, TemperatureDifference
from registry.records.outcomes import GOOD
from registry.services import thermometers
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store import tracking as store
from registry.store.tracking import BathSaid, Measured

VERSION = 1  # of the method: what was kept under another is worked out again
DAY_US = 86_400_000_000
LEAST_U = 0.01  # °C: no check is better than that
TRUSTED_SD = 0.25  # °C
NEAR = 20.0  # °C: checks this near are of one point
LEARN_FROM = 400  # checks of one instrument: older ones change nothing any more
GROWN_BY, AND_MORE = 1.2, 10  # a model is learned again once it has so many times its checks, and so many more


@dataclass(frozen=True, slots=True)
class Told:
    """What the record tells of one thermometer.

    shared: what the checks of a site and method have in common, by temperature, °C: the standard uncertainty of the
    last at each point. last_good_at: of its
    last good check at any point; unsettled: an incident or an unmeasured adjustment came after it. baths: that it was
    measured in.
    """

    history: History
    shared: tuple[tuple[float, float], ...] = ()
    last_good_at: int | None = None
    unsettled: bool = False
    baths: frozenset[str] = frozenset()

    def shared_at(self, celsius: float) -> float:
        """Standard uncertainty shared by what the offset at a temperature rests on, °C: its larger neighbour's."""
        below = [one for one in self.shared if one[0] <= celsius]
        above = [one for one in self.shared if one[0] >= celsius]
        beside = [*([max(below)] if below else []), *([min(above)] if above else [])]
        return max((u for _, u in beside), default=0.0)


@dataclass(frozen=True, slots=True)
class Tracked:
    """One thermometer as tracked up to its last check or event."""

    of: Thermometer
    told: Told
    track: Track
    stale: bool = False

    @property
    def known(self) -> bool:
        """Whether it was ever measured."""
        return bool(self.told.history.observations)

    def at(self, instant: int, celsius: float) -> Predicted:
        """The offset at a temperature, °C, without what is shared; in the past as it was known last."""
        return self.track.predict(max(instant / DAY_US, self.track.now.at_days), celsius)

    def trusted(self, instant: int, celsius: float) -> bool:
        """Known to 0.25 °C at that point, everything counted, and nothing has happened since its last good check."""
        if self.told.last_good_at is None or self.told.unsettled:
            return False
        return self.at(instant, celsius).with_shared(self.told.shared_at(celsius)).sd <= TRUSTED_SD


@dataclass(slots=True)
class Kept:
    """What a session has tracked so far, and the newest entry that it knew."""

    entry: int = -1
    by_thermometer: dict[str, Tracked] = field(default_factory=dict)


def tracked(session: Session, connection: Connection, those: Sequence[Thermometer]) -> dict[str, Tracked]:
    """Each of these as tracked, by id. What was tracked before in this session is only carried on."""
    kept: Kept = session.kept.setdefault("tracks", Kept())
    _forget(connection, kept)
    by_id = kept.by_thermometer
    new = [of for of in those if (known := by_id.get(of.row.thermometer)) is None or known.stale]
    for of, told in zip(new, told_of(connection, new), strict=True):
        before = by_id.get(of.row.thermometer)
        by_id[of.row.thermometer] = Tracked(of, told, _followed(session, of, told, before.track if before else None))
    return {of.row.thermometer: by_id[of.row.thermometer] for of in those}


def _forget(connection: Connection, kept: Kept) -> None:
    """Mark what something was recorded about since."""
    newest = store.newest_entry(connection)
    if newest == kept.entry:
        return
    changed = store.changed_since(connection, kept.entry) if kept.entry >= 0 else None
    for one, known in kept.by_thermometer.items():
        if changed is None or one in changed or not changed.isdisjoint(known.told.baths):
            kept.by_thermometer[one] = replace(known, stale=True)
    kept.entry = newest


def _followed(session: Session, of: Thermometer, told: Told, before: Track | None) -> Track:
    parameters = parameters_of(session, of)
    if before is not None and before.parameters == parameters:
        items, seen = drift.in_order(told.history.observations, told.history.events), before.items
        if items[: len(seen)] == seen:
            for item in items[len(seen) :]:
                before = drift.extend(before, item)
            return before
    return drift.track(told.history.observations, told.history.events, parameters)


# --- what the record tells -------------------------------------------------------------------------------------


def told_of(connection: Connection, those: Sequence[Thermometer]) -> list[Told]:
    """Checks as found, adjustments and incidents of these, as the tracker takes them."""
    ids = [of.row.thermometer for of in those]
    checks = _by_thermometer(store.checks(connection, ids))
    turned = _by_thermometer(store.adjustments(connection, ids))
    incidents = _by_thermometer(store.incidents(connection, ids))
    every = [one for each in (*checks.values(), *turned.values()) for one in each]
    baths = store.baths(connection, sorted({one.bath for one in every if one.bath}))
    return [_told(of, checks[one], turned[one], incidents[one], baths) for one, of in zip(ids, those, strict=True)]


One = TypeVar("One", Measured, store.Happened)


def _by_thermometer(found: Iterable[One]) -> dict[str, list[One]]:
    sorted_out: dict[str, list[One]] = defaultdict(list)
    for one in found:
        sorted_out[one.thermometer].append(one)
    return sorted_out


def _told(
    of: Thermometer,
    checks: Sequence[Measured],
    turned: Sequence[Measured],
    incidents: Sequence[store.Happened],
    baths: dict[str, BathSaid],
) -> Told:
    seen = [_Seen(of, one, baths.get(one.bath or "")) for one in checks if one.counts]
    events = [_turned(of, one, baths.get(one.bath or "")) for one in turned]
    events += [
        Event(one.at / DAY_US, "sensor_changed" if one.what == "sensor_changed" else "incident") for one in incidents
    ]
    good = max((one.at for one in (*checks, *turned) if one.outcome in GOOD), default=None)
    unsettling = [one.at_days for one in events if one.kind != "adjusted"]
    return Told(
        History(tuple(one.observation() for one in seen), tuple(sorted(events, key=lambda event: event.at_days))),
        tuple({round(one.celsius / NEAR): (one.celsius, one.shared_u) for one in seen}.values()),
        good,
        good is not None and any(at > good / DAY_US for at in unsettling),
        frozenset(one.bath for one in (*checks, *turned) if one.bath),
    )


def _turned(of: Thermometer, one: Measured, bath: BathSaid | None) -> Event:
    """An adjustment that was not measured, or whose measurement was voided, leaves nothing known."""
    if one.voided or "offset" not in one.said:
        return Event(one.at / DAY_US, "sensor_changed")
    seen = _Seen(of, one, bath)
    return Event(one.at / DAY_US, "adjusted", seen.offset, seen.u_new, seen.celsius, seen.step)


class _Seen:
    """One check or as-left measurement in °C, from what its entries froze."""

    def __init__(self, of: Thermometer, one: Measured, bath: BathSaid | None) -> None:
        said = one.said
        readings = [Reading.from_text(text) for text in said.get("as_left") or said["as_found"]]
        parts = {code: _celsius(text) for code, text in said.get("components", {}).items()}
        shared = dict(parts) | {
            code: _celsius(text) for code, text in (bath.said["components"] if bath else {}).items()
        }
        count = max(len(readings), 1)
        new = [u / (sqrt(count) if code == "repeatability" else 1) for code, u in parts.items() if code not in SHARED]
        if not parts:  # an imported one: its uncertainty was not kept
            new = [
                of.type.repeatability.value / sqrt(count),
                resources.figures()["bath.cubes_careless"].value / sqrt(3),
            ]
        elif "resolution" in parts:  # the tracker counts the display's step itself
            new.remove(parts["resolution"])
        added = _celsius(bath.added_u) if bath and bath.added_u else 0.0
        self.at_days = one.at / DAY_US
        self.offset = _celsius(said["offset"])
        self.u_new = max(hypot(*new, added), LEAST_U)
        self.shared_u = hypot(*(u for code, u in shared.items() if code in SHARED))
        exact = said.get("exact") or (bath.said["reference"] if bath else None) or said.get("reference", "0 C")
        self.celsius = float(Reading.from_text(exact).celsius())
        unit = readings[0].unit if readings else next(iter(of.facts.scales))
        step = float(of.step_as_read(unit if unit in of.facts.scales else next(iter(of.facts.scales))))
        self.step = step * 5 / 9 if unit == "F" else step

    def observation(self) -> Observation:
        return Observation(self.at_days, self.celsius, self.offset, self.u_new, self.step)


def _celsius(text: str) -> float:
    return float(TemperatureDifference.from_text(text).to("C").value)


# --- what is known of a model ----------------------------------------------------------------------------------


def model_of(of: Thermometer) -> str:
    """What drifts alike: type, maker and model, of the sensor where it parts from its indicator."""
    maker, model = (of.sensor.maker, of.sensor.model) if of.sensor else (of.maker, of.model)
    return json.dumps([of.type.code, (maker or "").casefold(), (model or "").casefold()], ensure_ascii=False)


def type_prior(of: Thermometer) -> TypePrior:
    """Where the tracking of a type begins, before any of its model is known."""
    shipped, figures = resources.type_drifts()[of.type.code], resources.figures()
    rate = shipped.rate_spread.value
    centre = Parameters(
        offset_walk=shipped.offset_walk.value,
        rate_spread=rate,
        rate_walk=shipped.rate_walk.value,
        slope_spread=of.type.scale_share.value,
        offset_spread=shipped.offset_spread.value,
        step_spread=shipped.step_spread.value,
        step_chance=figures["tracking.step_chance"].value,
        same_bath=figures["tracking.same_bath"].value,
    )
    walk, apart = figures["tracking.model_walk"].value, figures["tracking.model_rate"].value
    return TypePrior(centre, walk, apart, figures["tracking.model_noise"].value, apart * rate)


def parameters_of(session: Session, of: Thermometer) -> Parameters:
    """As learned last from its model, else its type's with all that is not known of the model."""
    found = session.cache.kept(model_of(of))
    if found and found[0].startswith(f"{VERSION}:"):
        return _parameters(json.loads(found[1]))
    return drift.unlearned(type_prior(of))


def learn(session: Session, connection: Connection, progress: Callable[[int], bool] = lambda _: True) -> int:
    """Learn each model's parameters again where it has many more checks than last time; how many were."""
    models: dict[str, list[Thermometer]] = defaultdict(list)
    for of in _every(connection):
        models[model_of(of)].append(of)
    learned = 0
    for number, (model, those) in enumerate(sorted(models.items())):
        if not progress(number):
            break
        histories = [_newest(told.history) for told in told_of(connection, those)]
        checks = sum(len(one.observations) for one in histories)
        if _stale(session, model, checks):
            found = drift.pooled(histories, type_prior(those[0]))
            session.cache.keep(model, f"{VERSION}:{checks}", json.dumps(asdict(found)))
            learned += 1
    return learned


def _every(connection: Connection) -> Iterator[Thermometer]:
    for row in queries.thermometers(connection):
        yield thermometers.thermometer(connection, row.thermometer)


def _stale(session: Session, model: str, checks: int) -> bool:
    kept = session.cache.kept(model)
    version, _, learned_from = kept[0].partition(":") if kept else ("", "", "0")
    return version != str(VERSION) or checks >= GROWN_BY * int(learned_from) + AND_MORE


def _newest(history: History) -> History:
    some = history.observations[-LEARN_FROM:]
    events = tuple(one for one in history.events if some and one.at_days >= some[0].at_days)
    return History(some, events)


def _parameters(kept: dict[str, Any]) -> Parameters:
    return Parameters(**kept | {"others": tuple(map(_parameters, kept["others"]))})
