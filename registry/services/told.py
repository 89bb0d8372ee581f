"""What the record tells of thermometers: checks as found, adjustments and incidents, as the tracker takes them.

Days are counted from 1970 UTC and may be broken; °C throughout.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt
from typing import Any, TypeVar

from sqlalchemy import Connection

from registry import resources
from registry.compute.check import SHARED
from registry.compute.drift import Event, History, Observation
from registry.quantity import Reading, TemperatureDifference
from registry.records.outcomes import GOOD
from registry.services.thermometers import Thermometer
from registry.store import tracking as store
from registry.store.tracking import BathSaid, Happened, Measured

DAY_US = 86_400_000_000
NEAR = 20.0  # °C: checks this near are of one point
LEAST_U = 0.01  # °C: no check is better than that


@dataclass(frozen=True, slots=True)
class Seen:
    """One check as found, or what was read after an adjustment, in °C.

    site, point: of its bath, empty for an imported one; counts: that bath was judged and not condemned. offset: reading
    minus reference, and minus the error of a bath in doubt, which is `taken_off`; u_new: standard uncertainty of what
    is new each time, shared_u: of what the checks of its site and method share; step: of display or scale as read.
    """

    at: int
    bath: str
    site: str
    point: str
    celsius: float
    offset: float
    u_new: float
    shared_u: float
    step: float
    counts: bool = True
    as_left: bool = False
    taken_off: float = 0.0

    @property
    def as_read(self) -> float:
        """Reading minus reference, whatever the bath, °C."""
        return self.offset + self.taken_off

    def observation(self) -> Observation:
        return Observation(self.at / DAY_US, self.celsius, self.offset, self.u_new, self.step)

    def event(self, as_found_at: int) -> Event:
        """An adjustment, at the instant of its own check: what lies between them is of one bath."""
        return Event(as_found_at / DAY_US, "adjusted", self.offset, self.u_new, self.celsius, self.step)


@dataclass(frozen=True, slots=True)
class Told:
    """What the record tells of one thermometer.

    seen: checks, in condemned baths too, and what was left by adjustments, in time order. last_good_at: its last good
    check at any point; unsettled: an incident or an unmeasured adjustment came after it. baths: all that it was
    measured in.
    """

    history: History
    seen: tuple[Seen, ...] = ()
    last_good_at: int | None = None
    unsettled: bool = False
    baths: frozenset[str] = frozenset()

    def shared_at(self, celsius: float) -> float:
        """Standard uncertainty shared by what the offset at a temperature rests on, °C: its larger neighbour's."""
        last = {round(one.celsius / NEAR): one for one in self.seen if one.counts}.values()
        below = max((one for one in last if one.celsius <= celsius), key=lambda one: one.celsius, default=None)
        above = min((one for one in last if one.celsius >= celsius), key=lambda one: one.celsius, default=None)
        return max((one.shared_u for one in (below, above) if one), default=0.0)


def told_of(connection: Connection, those: Sequence[Thermometer]) -> list[Told]:
    """What the record tells of these, in their order."""
    ids = [of.row.thermometer for of in those]
    checks = _by_thermometer(store.checks(connection, ids))
    turned = _by_thermometer(store.adjustments(connection, ids))
    incidents = _by_thermometer(store.incidents(connection, ids))
    every = [one for each in (*checks.values(), *turned.values()) for one in each]
    baths = store.baths(connection, sorted({one.bath for one in every if one.bath}))
    return [_told(of, checks[one], turned[one], incidents[one], baths) for one, of in zip(ids, those, strict=True)]


One = TypeVar("One", Measured, Happened)


def _by_thermometer(found: Iterable[One]) -> dict[str, list[One]]:
    sorted_out: dict[str, list[One]] = defaultdict(list)
    for one in found:
        sorted_out[one.thermometer].append(one)
    return sorted_out


def _told(
    of: Thermometer,
    checks: Sequence[Measured],
    turned: Sequence[Measured],
    incidents: Sequence[Happened],
    baths: Mapping[str, BathSaid],
) -> Told:
    found = [_seen(of, one, baths.get(one.bath or "")) for one in checks if one.measured]
    checked_at = {one.said["check"]: one.at for one in checks if "check" in one.said and not one.voided}
    measured = [one for one in turned if one.measured and one.said.get("check") in checked_at]
    left = {one.at: _seen(of, one, baths.get(one.bath or ""), as_left=True) for one in measured}
    events = [_turned(one, left.get(one.at), checked_at) for one in turned]
    events += [Event(one.at / DAY_US, _kind(one)) for one in incidents]
    good = max((one.at for one in (*checks, *turned) if one.outcome in GOOD and not one.voided), default=None)
    unsettling = [one.at_days for one in events if one.kind != "adjusted"]
    return Told(
        History(
            tuple(one.observation() for one in found if one.counts),
            tuple(sorted(events, key=lambda event: event.at_days)),
        ),
        tuple(sorted((*found, *left.values()), key=lambda one: (one.at, one.as_left))),
        good,
        good is not None and any(at > good / DAY_US for at in unsettling),
        frozenset(one.bath for one in (*checks, *turned) if one.bath),
    )


def _turned(one: Measured, left: Seen | None, checked_at: Mapping[str, int]) -> Event:
    """What leaves nothing known: not measured, or in a bath condemned or not judged, or void, as its check may be."""
    if left is None or not left.counts:
        return Event(one.at / DAY_US, "sensor_changed")
    return left.event(checked_at.get(one.said.get("check", ""), one.at))


def _kind(incident: Happened) -> Any:
    return "sensor_changed" if incident.what == "sensor_changed" else "incident"


def _seen(of: Thermometer, one: Measured, bath: BathSaid | None, *, as_left: bool = False) -> Seen:
    """From what its entries froze."""
    said = one.said
    readings = [Reading.from_text(text) for text in said["as_left" if as_left else "as_found"]]
    own = {code: celsius_of(text) for code, text in said.get("components", {}).items()}
    of_bath = {code: celsius_of(text) for code, text in bath.said["components"].items()} if bath else {}
    taken_off, added = _error_of(bath)
    exact = said.get("exact") or (bath.said["reference"] if bath else None) or said.get("reference", "0 C")
    return Seen(
        one.at,
        one.bath or "",
        bath.site if bath else "",
        bath.said["point"] if bath else "",
        float(Reading.from_text(exact).celsius()),
        celsius_of(said["offset"]) - taken_off,
        max(hypot(u_new(of, own, len(readings)), added), LEAST_U),
        hypot(*(u for code, u in (own | of_bath).items() if code in SHARED)),
        _step(of, own, readings[0].unit),
        one.counts,
        as_left,
        taken_off,
    )


def _error_of(bath: BathSaid | None) -> tuple[float, float]:
    """What is taken off for the error of a bath, and what its error adds to the uncertainty then, °C.

    A good bath is not corrected for, and what was found of it adds up whole (JCGM 100:2008, F.2.4.5).
    """
    if bath is None or bath.added_u is None or bath.error is None:
        return 0.0, 0.0
    return error_found(bath.error, bath.added_u) if bath.judged == "suspect" else (0.0, celsius_of(bath.added_u))


def error_found(error: str, added_u: str) -> tuple[float, float]:
    """The error of a bath and its standard uncertainty, °C; an entry's added u is both in quadrature."""
    mean, added = celsius_of(error), celsius_of(added_u)
    return mean, sqrt(max(added**2 - mean**2, 0.0))


def _step(of: Thermometer, own: Mapping[str, float], unit: str) -> float:
    """As it was read then: from what was frozen of its resolution; an imported check kept none."""
    return own["resolution"] * sqrt(12) if "resolution" in own else step_of(of, unit)


def u_new(of: Thermometer, own: Mapping[str, float], readings: int) -> float:
    """Standard uncertainty of what is new each time in the mean of so many readings, °C, without the display's step.

    own: the check's components, °C. An imported one kept none: then its type's repeatability and a careless bath.
    """
    if not own:
        careless = resources.figures()["bath.cubes_careless"].value / sqrt(3)
        return hypot(of.type.repeatability.value / sqrt(readings), careless)
    new = {code: u for code, u in own.items() if code not in SHARED and code != "resolution"}
    return hypot(*(u / (sqrt(readings) if code == "repeatability" else 1) for code, u in new.items()))


def step_of(of: Thermometer, unit: str) -> float:
    """The step of its display, or of its scale as read, °C; in a unit that it no longer shows, of the other."""
    unit = unit if unit in of.facts.scales else next(iter(of.facts.scales))
    step = float(of.step_as_read(unit))
    return step * 5 / 9 if unit == "F" else step


def celsius_of(text: str) -> float:
    """A difference as an entry writes it, in °C."""
    return float(TemperatureDifference.from_text(text).to("C").value)
