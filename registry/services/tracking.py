"""Each thermometer followed through its record, and what is kept of it.

Parameters are learned by model, in the background, and kept in a
cache; what was tracked lives as long as the session and grows with each new check.
"""

import json
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from threading import Lock
from typing import Any

from sqlalchemy import Connection

from registry import resources
from registry.compute import drift
from registry.compute.drift import History, Parameters, Predicted, Track, TypePrior
from registry.services import thermometers
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.services.told import DAY_US, Told, told_of
from registry.store import queries
from registry.store import tracking as store

VERSION = 1  # of the method: what was kept under another is worked out again
LEARNED = "models learned"  # what the cache says of the last time that any was: its key
TRUSTED_SD = 0.25  # °C
LEARN_FROM = 400  # checks of one instrument: older ones change nothing any more
GROWN_BY, AND_MORE = 1.2, 10  # a model is learned again once it has so many times its checks, and so many more


@dataclass(frozen=True, slots=True)
class Tracked:
    """One thermometer as tracked up to its last check or event. entry: the newest one in the record then."""

    of: Thermometer
    told: Told
    track: Track
    entry: int
    stale: bool = False

    @property
    def known(self) -> bool:
        """Whether it was ever measured."""
        return bool(self.told.history.observations)

    def at(self, instant: int, celsius: float) -> Predicted:
        """The offset at a temperature, °C, without what is shared; in the past as it was known last."""
        return self.track.predict(max(instant / DAY_US, self.track.now.at_days), celsius)

    def trusted(self, instant: int, celsius: float) -> bool:
        """Known to 0.25 °C at that point, and nothing has happened since its last good check."""
        if self.told.last_good_at is None or self.told.unsettled or self.of.row.failed_at is not None:
            return False
        return self.at(instant, celsius).sd <= TRUSTED_SD


@dataclass(slots=True)
class Kept:
    """What a session has tracked so far, the newest entry that it knew, and which learning of models it rests on.

    The window and the jobs beside it share it: it is looked at and changed under its lock, and reckoned outside of it.
    """

    entry: int = -1
    learned: str = ""
    lock: Lock = field(default_factory=Lock)
    by_thermometer: dict[str, Tracked] = field(default_factory=dict)


def tracked(session: Session, connection: Connection, those: Sequence[Thermometer]) -> dict[str, Tracked]:
    """Each of these as tracked, by id. What was tracked before in this session is only carried on."""
    kept: Kept = session.kept.setdefault("tracks", Kept())
    newest, learned = store.newest_entry(connection), session.cache.kept(LEARNED)
    with kept.lock:
        _forget(connection, kept, newest, learned[0] if learned else "")
        known = {of.row.thermometer: kept.by_thermometer.get(of.row.thermometer) for of in those}
    new = [of for of in those if (one := known[of.row.thermometer]) is None or one.stale]
    for of, told in zip(new, told_of(connection, new), strict=True):
        before = known[of.row.thermometer]
        track = _followed(session, of, told, before.track if before else None)
        known[of.row.thermometer] = Tracked(of, told, track, newest)
    with kept.lock:
        _keep(kept, [one for of in new if (one := known[of.row.thermometer]) is not None], newest)
    return {thermometer: one for thermometer, one in known.items() if one is not None}


def _keep(kept: Kept, those: Sequence[Tracked], newest: int) -> None:
    """Unless another thread knows more of it; what was recorded meanwhile makes all of an older look stale."""
    for one in those:
        there = kept.by_thermometer.get(one.of.row.thermometer)
        if there is None or there.entry <= newest:
            kept.by_thermometer[one.of.row.thermometer] = replace(one, stale=True) if newest < kept.entry else one


def is_warm(session: Session, thermometer: str) -> bool:
    """Whether it was tracked in this session, so that carrying on takes no time."""
    kept: Kept = session.kept.setdefault("tracks", Kept())
    return thermometer in kept.by_thermometer


def _forget(connection: Connection, kept: Kept, newest: int, learned: str) -> None:
    """Mark what something was recorded about since, and all where models were learned anew."""
    anew, kept.learned = learned != kept.learned, learned
    if newest <= kept.entry and not anew:
        return
    changed = store.changed_since(connection, kept.entry) if kept.entry >= 0 and not anew else None
    for one, known in kept.by_thermometer.items():
        if changed is None or one in changed or not changed.isdisjoint(known.told.baths):
            kept.by_thermometer[one] = replace(known, stale=True)
    kept.entry = max(kept.entry, newest)


def _followed(session: Session, of: Thermometer, told: Told, before: Track | None) -> Track:
    parameters = parameters_of(session, of)
    if before is not None and before.parameters == parameters:
        items, seen = drift.in_order(told.history.observations, told.history.events), before.items
        if items[: len(seen)] == seen:
            for item in items[len(seen) :]:
                before = drift.extend(before, item)
            return before
    return drift.track(told.history.observations, told.history.events, parameters)


# --- what is known of a model ----------------------------------------------------------------------------------


def model_of(of: Thermometer) -> str:
    """What drifts alike: type, maker and model, of the sensor where it parts from its indicator."""
    maker, model = (of.sensor.maker, of.sensor.model) if of.sensor else (of.maker, of.model)
    return json.dumps([of.type.code, (maker or "").casefold(), (model or "").casefold()], ensure_ascii=False)


def type_prior(of: Thermometer) -> TypePrior:
    """Where the tracking of a type begins, before any of its model is known."""
    return prior_of(of.type.code)


def prior_of(code: str) -> TypePrior:
    """The same by the type's code."""
    shipped, figures = resources.type_drifts()[code], resources.figures()
    rate = shipped.rate_spread.value
    centre = Parameters(
        offset_walk=shipped.offset_walk.value,
        rate_spread=rate,
        rate_walk=shipped.rate_walk.value,
        slope_spread=resources.instrument_types()[code].scale_share.value,
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
        with suppress(ValueError, KeyError, TypeError):  # cut off, or not ours: it is learned again
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
    if learned:
        session.cache.keep(LEARNED, session.new_id(), "")
    return learned


def _every(connection: Connection) -> Iterator[Thermometer]:
    for row in queries.thermometers(connection):
        yield thermometers.thermometer(connection, row.thermometer)


def _stale(session: Session, model: str, checks: int) -> bool:
    kept = session.cache.kept(model)
    version, _, learned_from = kept[0].partition(":") if kept else ("", "", "")
    known = version == str(VERSION) and learned_from.isdecimal()
    return not known or checks >= GROWN_BY * int(learned_from) + AND_MORE


def _newest(history: History) -> History:
    some = history.observations[-LEARN_FROM:]
    events = tuple(one for one in history.events if some and one.at_days >= some[0].at_days)
    return History(some, events)


def _parameters(kept: dict[str, Any]) -> Parameters:
    return Parameters(**kept | {"others": tuple(map(_parameters, kept["others"]))})
