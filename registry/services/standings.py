"""How each thermometer of all stands by its last check or event, kept from one opening to the next.

What was worked out lies in the cache by the last entry that it knew; only what something was recorded about since, or
whose model was learned anew, is worked out again. A cache that is gone or damaged costs nothing but time.
"""

import json
from base64 import b64decode, b64encode
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import astuple, dataclass, replace
from hashlib import sha256
from math import inf, isfinite
from typing import TYPE_CHECKING, Any
from zlib import crc32

from sqlalchemy import Connection

from registry import resources
from registry.compute.drift import History, Observation, Parameters, Step
from registry.compute.drift import fleet as compute
from registry.compute.drift.forecast import LEVEL, first_day
from registry.compute.drift.state import Believed, State, Walk
from registry.services import outlook, rules, thermometers, tracking
from registry.services.outlook import Point
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.services.told import DAY_US, Told, celsius_of, told_of
from registry.store import queries
from registry.store import tracking as store
from registry.store.queries import ThermometerRow

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

VERSION = 2  # of the method: what was kept under another is worked out again
KEPT, HISTORIES = "fleet", "fleet histories"  # keys of the cache
PARTS = 16  # of the histories, so that a few shown rows read little
AT_ONCE = 250  # thermometers followed together: bounds the memory
TELL_APART = 200_000  # entries since: a large fleet writes some twenty thousand a day
NOTHING = (0.0,) * 9
NUMBERS = 21  # of one state
BYTES = 8 * NUMBERS
DRAWN = 30  # newest checks at a point of a small history

Progress = Callable[[int, int], bool]  # told how many were worked out, and of how many; answers False to stop


def go_on(_: int, __: int) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Standing:
    """One thermometer by all that the record tells of it up to an entry. Days from 1970 UTC, °C.

    entry: the newest one when it was worked out. maker, model: of its sensor where that is a part of its own, as its
    parameters are learned. parts: ids of shared indicator and sensor. parameters: a digest of those it was followed
    under. points: as `outlook.points_of`. at_days: of its last check or event. states: `believed`, the states then, as
    `unpacked` reads those of many at once. own_rate: its drift a day by its own checks alone, whatever is known of its
    model, and that one's standard deviation. stepped: `steps`, each with the incident's kind, "" where found from
    readings. limit, passes_on: a tolerance and the day on which it is passed with 5 %, at each point.
    """

    thermometer: str
    entry: int
    type: str
    maker: str
    model: str
    class_: str
    scale: str
    scales: tuple[str, ...]
    parts: tuple[str, ...]
    learned_as: str
    parameters: str
    alike: int
    checks: int = 0
    unsettled: bool = False
    points: tuple[Point, ...] = ()
    at_days: float = 0.0
    states: bytes = b""
    own_rate: tuple[float, float] | None = None
    stepped: str = "[]"
    limit: float | None = None
    passes_on: tuple[float | None, ...] = ()

    @property
    def believed(self) -> tuple[Believed, ...]:
        return tuple(map(_believed, unpacked([self.states]).tolist()))

    @property
    def steps(self) -> tuple[tuple[Step, str], ...]:
        return tuple((Step(*each[:-1]), each[-1]) for each in json.loads(self.stepped))


@dataclass(frozen=True, slots=True)
class Small:
    """A small history of one point: the newest checks as (instant, offset as read, offset and its 2 standard
    uncertainties as known from all checks), °C; instants of adjustments."""

    checks: tuple[tuple[int, float, float, float], ...] = ()
    adjusted: tuple[int, ...] = ()


Smalls = tuple[Small, ...]  # of each point of a standing, in their order


@dataclass(frozen=True, slots=True)
class Standings:
    """Of every thermometer, by id, up to an entry. complete: whether all were worked out, or somebody stopped it."""

    entry: int
    by_thermometer: dict[str, Standing]
    complete: bool = True


def standings(
    session: Session, connection: Connection, progress: Progress = go_on
) -> tuple[Standings, list[ThermometerRow]]:
    """How every thermometer stands, with its row; what is known from last time is not worked out again."""
    rows = queries.thermometers(connection)
    newest = store.newest_entry(connection)
    kept = _kept(session, connection)
    parameters = _Models(session)
    known = _still_true(connection, kept, parameters)
    new = [row for row in rows if row.thermometer not in known]
    if not new:
        session.kept[KEPT] = Standings(newest, known)
        return session.kept[KEPT], rows
    histories: dict[str, tuple[int, Smalls]] = {}
    complete = True
    for start in range(0, len(new), AT_ONCE):
        if not progress(start, len(new)):
            complete = False
            break
        for standing, smalls in _worked_out(connection, new[start : start + AT_ONCE], parameters, newest):
            known[standing.thermometer] = standing
            histories[standing.thermometer] = newest, smalls
    found = Standings(newest, known, complete)
    _keep(session, connection, found, histories)
    return found, rows


def small_histories(session: Session, connection: Connection, those: Sequence[Standing]) -> dict[str, Smalls]:
    """Of the rows that are shown, one for each of their points. What the cache lost is worked out again."""
    parts = {part: _read_part(session, part) for part in {_part(one.thermometer) for one in those}}
    found: dict[str, Smalls] = {}
    lost: list[Standing] = []
    for one in those:
        smalls = _read_smalls(parts[_part(one.thermometer)].get(one.thermometer, ""), one)
        if smalls is not None:
            found[one.thermometer] = smalls
        elif one.checks:
            lost.append(one)
    for start in range(0, len(lost), AT_ONCE):
        rows = [
            row for one in lost[start : start + AT_ONCE] if (row := queries.thermometer(connection, one.thermometer))
        ]
        for standing, smalls in _worked_out(connection, rows, _Models(session), 0):
            found[standing.thermometer] = smalls
    return found


# --- what is worked out ----------------------------------------------------------------------------------------


class _Models:
    """Parameters of each model as learned last, with their digests; asked for once each."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.found: dict[str, tuple[Parameters, str]] = {}
        self.shipped = f"{resources.type_drifts()}{resources.figures()}{resources.instrument_types()}"

    def of(self, of: Thermometer) -> tuple[Parameters, str]:
        model = tracking.model_of(of)
        if model not in self.found:
            parameters = tracking.parameters_of(self.session, of)
            self.found[model] = parameters, self._digest(model)
        return self.found[model]

    def _digest(self, model: str) -> str:
        kept = self.session.cache.kept(model)
        text = kept[1] if kept and kept[0].startswith(f"{tracking.VERSION}:") else ""
        return sha256(f"{self.shipped}{text}".encode()).hexdigest()[:16]

    def digest(self, model: str) -> str:
        return self.found[model][1] if model in self.found else self._digest(model)


def _worked_out(
    connection: Connection, rows: Sequence[ThermometerRow], models: _Models, entry: int
) -> Iterator[tuple[Standing, Smalls]]:
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    told = told_of(connection, those)
    parameters = [models.of(of) for of in those]
    histories, given = [one.history for one in told], [one for one, _ in parameters]
    happened: dict[str, dict[float, str]] = defaultdict(dict)
    for one in store.incidents(connection, [row.thermometer for row in rows]):
        happened[one.thermometer][one.at / DAY_US] = one.what
    limits = Limits(connection)
    for part in compute.in_parts(histories, given):
        followed = _followed([histories[place] for place in part], [given[place] for place in part])
        for n, place in enumerate(part):
            of, said = those[place], told[place]
            standing = _described(of, entry, *parameters[place])
            if said.history.observations:
                standing = _measured(standing, said, followed, n, happened[of.row.thermometer])
                standing = with_limit(standing, limits.of(of.row.site, standing))
            yield standing, _smalls(said, followed.smoothed, n, standing)


@dataclass(frozen=True)
class _Followed:
    """Some thermometers followed, and each one's mean drift by its own checks alone, with its standard deviation."""

    fleet: compute.Fleet
    smoothed: compute.Estimates
    rates: list[tuple[float, float]]


def _followed(histories: Sequence[History], given: Sequence[Parameters]) -> _Followed:
    fleet = compute.follow(histories, given)
    alone = compute.follow(histories, [_knowing_nothing(one) for one in given])
    assert fleet is not None  # nothing stops it
    assert alone is not None
    rates, sds = alone.now().rates()
    return _Followed(fleet, fleet.smoothed(), list(zip(rates.tolist(), sds.tolist(), strict=True)))


def _knowing_nothing(one: Parameters) -> Parameters:
    """For a thermometer's mean drift by its own checks: nothing is assumed of it, and it stays as it is."""
    return replace(one, rate_mean=0.0, rate_spread=inf, rate_walk=0.0, others=())


def _described(of: Thermometer, entry: int, parameters: Parameters, digest: str) -> Standing:
    part = of.sensor
    return Standing(
        of.row.thermometer,
        entry,
        of.type.code,
        (part.maker if part else of.maker) or "",
        (part.model if part else of.model) or "",
        of.facts.class_ or of.type.tolerance_class,
        of.scale,
        tuple(of.facts.scales),
        tuple(filter(None, (of.parts.indicator, of.parts.sensor))) if of.parts else (),
        tracking.model_of(of),
        digest,
        parameters.instruments,
    )


def _measured(standing: Standing, said: Told, followed: _Followed, n: int, happened: dict[float, str]) -> Standing:
    rate, sd = followed.rates[n]
    return replace(
        standing,
        checks=len(said.history.observations),
        unsettled=said.unsettled,
        points=outlook.points_of(said),
        at_days=followed.fleet.items[n][-1].at_days,
        states=_packed(followed.fleet.believed_now(n)),
        own_rate=(rate, sd) if isfinite(sd) and sd > 0 else None,
        stepped=json.dumps([[*astuple(one), _kind(one, happened)] for one in followed.fleet.steps(n)]),
    )


def _kind(step: Step, happened: dict[float, str]) -> str:
    return happened.get(step.at_days, "") if step.reported else ""


def with_limit(standing: Standing, limit: float | None) -> Standing:
    """The days on which a tolerance, °C, is passed with 5 %; as it is where they are known already."""
    if limit == standing.limit or not standing.states:
        return standing
    believed = standing.believed
    days = [first_day(believed, limit, LEVEL, one.celsius, one.shared_u) if limit else None for one in standing.points]
    passes_on = tuple(None if one is None else standing.at_days + one for one in days)
    return replace(standing, limit=limit, passes_on=passes_on)


class Limits:
    """The tolerance of each, °C, by the rules that stand at its site; None where no rule gives one."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.found: dict[str | None, rules.RulesInForce] = {}
        self.limits: dict[tuple[str | None, str, str], float | None] = {}

    def in_force(self, site: str | None) -> rules.RulesInForce:
        if site not in self.found:
            self.found[site] = rules.rules_in_force(self.connection, site)
        return self.found[site]

    def of(self, site: str | None, standing: Standing) -> float | None:
        asked = site, standing.class_, standing.scale
        if asked not in self.limits:
            permitted = self.in_force(site).tolerance(standing.class_, standing.scale)
            self.limits[asked] = celsius_of(permitted.tolerance) if permitted else None
        return self.limits[asked]


def _smalls(said: Told, smoothed: compute.Estimates, place: int, standing: Standing) -> Smalls:
    """One for each of its points."""
    import numpy as np

    rows = np.flatnonzero(smoothed.known[:, place])
    state, endless = (State(*(each[rows, place] for each in one)) for one in (smoothed.state, smoothed.endless))
    own = compute.Estimates(smoothed.at_days[rows, place], state, endless, smoothed.known[rows, place])
    seen = sorted(said.history.observations, key=lambda one: one.at_days)
    turned = sorted({round(one.at_days * DAY_US) for one in said.history.events if one.kind == "adjusted"})
    return tuple(_small(seen, turned, own, point) for point in standing.points)


def _small(seen: Sequence[Observation], turned: Sequence[int], own: compute.Estimates, point: Point) -> Small:
    import numpy as np

    offsets, sds = own.at(point.celsius)
    spreads = (2 * np.hypot(sds, point.shared_u)).tolist()
    there = outlook.near(point.celsius)
    checks = [
        (round(one.at_days * DAY_US), one.offset, round(offset, 4), round(spread, 4))
        for one, offset, spread in zip(seen, offsets.tolist(), spreads, strict=True)
        if outlook.near(one.temperature) == there and isfinite(spread)
    ][-DRAWN:]
    since = checks[0][0] if checks else 0
    return Small(tuple(checks), tuple(at for at in turned if at >= since))


# --- what is kept ----------------------------------------------------------------------------------------------


def _kept(session: Session, connection: Connection) -> Standings | None:
    """From this session, else from the cache; None where neither knows this record."""
    known: Standings | None = session.kept.get(KEPT)
    if known is not None:
        return known
    found = session.cache.kept(KEPT)
    if found is None:
        return None
    with suppress(ValueError, LookupError, TypeError):  # cut off, or not ours: it is worked out again
        version, entry, entry_hash = found[0].split(":")
        if int(version) == VERSION and (store.hash_of(connection, int(entry)) or "") == entry_hash:
            return Standings(int(entry), {one.thermometer: one for one in _read(found[1])})
    return None


def _still_true(connection: Connection, kept: Standings | None, models: _Models) -> dict[str, Standing]:
    if kept is None:
        return {}
    changed = store.changed_since(connection, kept.entry, TELL_APART)
    if changed is None:
        return {}
    changed |= store.measured_in(connection, sorted(changed)) if changed else set()
    fresh = {model: models.digest(model) for model in {one.learned_as for one in kept.by_thermometer.values()}}
    return {
        thermometer: one
        for thermometer, one in kept.by_thermometer.items()
        if thermometer not in changed and changed.isdisjoint(one.parts) and one.parameters == fresh[one.learned_as]
    }


def _keep(session: Session, connection: Connection, found: Standings, histories: dict[str, tuple[int, Smalls]]) -> None:
    """For this session, and for the next. A history that is older than its standing is known by its entry."""
    session.kept[KEPT] = found
    parts: dict[str, dict[str, str]] = defaultdict(dict)
    for thermometer, (entry, smalls) in histories.items():
        # A text within the text: of many, only those that are shown are read.
        kept = [[small.checks, small.adjusted] for small in smalls]
        parts[_part(thermometer)][thermometer] = json.dumps([entry, kept])
    for part, new in parts.items():
        session.cache.keep(part, str(VERSION), json.dumps(_read_part(session, part) | new))
    entry_hash = store.hash_of(connection, found.entry) or ""
    text = _written(list(found.by_thermometer.values()))
    session.cache.keep(KEPT, f"{VERSION}:{found.entry}:{entry_hash}", text)


def _part(thermometer: str) -> str:
    return f"{HISTORIES} {crc32(thermometer.encode()) % PARTS}"


def _read_part(session: Session, part: str) -> dict[str, str]:
    found = session.cache.kept(part)
    with suppress(ValueError):
        read = json.loads(found[1]) if found and found[0] == str(VERSION) else {}
        return read if isinstance(read, dict) else {}
    return {}


def _read_smalls(text: str, standing: Standing) -> Smalls | None:
    """None where it is older than its standing, or damaged."""
    with suppress(ValueError, TypeError):
        entry, kept = json.loads(text)
        if entry == standing.entry and len(kept) == len(standing.points):
            return tuple(Small(tuple(map(tuple, checks)), tuple(adjusted)) for checks, adjusted in kept)
    return None


def _written(those: Sequence[Standing]) -> str:
    """A first line with a row for each and the numbers of all states together; then a line for the steps of each.

    One long text is read faster than many short ones, and steps not at all until they are asked for. Columns of numbers
    that are nought everywhere are left out.
    """
    import numpy as np

    rows = [[_plain(one, name) for name in Standing.__slots__] for one in those]
    states = unpacked([one.states for one in those])
    used = np.flatnonzero(states.any(axis=0))
    first = json.dumps([rows, used.tolist(), b64encode(states[:, used].tobytes()).decode("ascii")])
    return "\n".join([first, *(one.stepped for one in those)])


def _plain(one: Standing, name: str) -> Any:
    """Of the states their number; points as lists; the steps stand elsewhere."""
    value: Any = "" if name == "stepped" else getattr(one, name)
    if name == "states":
        return len(value) // BYTES
    return [astuple(point) for point in value] if name == "points" else value


def _read(text: str) -> Iterator[Standing]:
    import numpy as np

    first, *stepped = text.split("\n")
    rows, used, numbers = json.loads(first)
    count = sum(row[PLACES["states"]] for row in rows)
    states = np.zeros((count, NUMBERS))
    states[:, used] = np.frombuffer(b64decode(numbers), dtype="<f8").reshape(count, len(used))
    every, begin = states.astype("<f8").tobytes(), 0
    for row, steps in zip(rows, stepped, strict=True):
        end = begin + BYTES * row[PLACES["states"]]
        row[PLACES["states"]], row[PLACES["stepped"]] = every[begin:end], steps
        row[PLACES["points"]] = tuple(Point(*one) for one in row[PLACES["points"]])
        row[PLACES["own_rate"]] = row[PLACES["own_rate"]] and tuple(row[PLACES["own_rate"]])
        for place in TUPLES:
            row[place] = tuple(row[place])
        yield _whole(Standing(*row))
        begin = end


PLACES = {name: place for place, name in enumerate(Standing.__slots__)}
TUPLES = [PLACES[name] for name in ("scales", "parts", "passes_on")]


def _whole(one: Standing) -> Standing:
    """`ValueError` where it is not as it was written."""
    rate = one.own_rate is None or len(one.own_rate) == 2
    told = bool(one.states) == bool(one.points) and len(one.passes_on) in (0, len(one.points))
    if not (rate and told and one.stepped.endswith("]")):
        raise ValueError("not as it was written")
    return one


def _packed(believed: Sequence[Believed]) -> bytes:
    import numpy as np

    rows = [[*one.state, *(one.endless or NOTHING), *one.walk] for one in believed]
    return np.array(rows, dtype="<f8").tobytes()


def unpacked(states: Sequence[bytes]) -> "NDArray[np.float64]":
    """The states of many, one after another: shape (states, 21), each state, what of it is infinite, and its walk."""
    import numpy as np

    return np.frombuffer(b"".join(states), dtype="<f8").reshape(-1, NUMBERS)


def _believed(numbers: list[float]) -> Believed:
    endless = State(*numbers[9:18]) if any(numbers[9:18]) else None
    return Believed(State(*numbers[:9]), endless, Walk(*numbers[18:]))
