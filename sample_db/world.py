"""The demo's world while it runs: the open registry, its clock, the kitchens and what hangs in them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Any

from registry.services.session import Actor, Session
from sample_db.physics import Instrument, random_of
from sample_db.scenario import Scenario, Shift, Site
from sample_db.truth import Truth


class Clock:
    """A clock that stands still until it is moved, and never goes back."""

    def __init__(self, at: int) -> None:
        self.at = at

    def __call__(self) -> int:
        return self.at

    def forward(self, seconds: float) -> None:
        self.at += round(seconds * 1_000_000)

    def reach(self, at: int) -> None:
        self.at = max(self.at, at)


@dataclass
class Kitchen:
    site: Site
    id: str
    stations: dict[str, str]
    shifts: dict[str, str]
    leads: list[Actor]
    weather: list[float]  # sea-level pressure of each day, Pa
    draw: Random
    compared_in: int = -1  # the month in which the reference thermometer was here last
    house_in: int = -1  # and in which two of their own served as one


@dataclass
class Kept:
    """A thermometer of the demo: what the registry knows it by, and what it truly is."""

    key: str
    id: str
    tag: str
    site: str  # key of the kitchen where it is
    station: str
    instrument: Instrument
    checked_on: date
    hot_on: date
    in_use: bool = True
    only_cold: bool = False
    needs_check: bool = True
    out_on: date | None = None
    last_ice: str = ""  # what it showed last in ice, as typed
    checked_at: list[int] = field(default_factory=list)

    @property
    def type(self) -> str:
        return self.instrument.model.type


@dataclass(frozen=True)
class Visit:
    """Somebody at the start of a shift."""

    kitchen: Kitchen
    shift: Shift
    day: date
    actor: Actor

    @property
    def shift_id(self) -> str:
        return self.kitchen.shifts[self.shift.name]


@dataclass(frozen=True)
class Happening:
    """Something at an instant: `do(world, *about)`."""

    at: int
    day: date
    do: Callable[..., None]
    about: tuple[Any, ...]


@dataclass
class World:
    scenario: Scenario
    session: Session
    clock: Clock
    officer: Actor
    kitchens: dict[str, Kitchen]
    kept: dict[str, Kept]  # by the scenario's key, the one that bears it now
    truth: Truth
    gone: list[Kept] = field(default_factory=list)

    def at_site(self, site: str) -> list[Kept]:
        """What is used at a kitchen now."""
        return [one for one in self.kept.values() if one.site == site and one.in_use]

    def physical(self, kept: Kept, day: date) -> Kept:
        """Which one is truly in somebody's hand: while labels are swapped, the other."""
        for swap in self.scenario.planted("label_swap", day=day):
            if kept.key in swap.thermometers:
                (other,) = {*swap.thermometers} - {kept.key}
                return self.kept[other]
        return kept

    def chance(self, *names: object) -> Random:
        return random_of(self.scenario.seed, *names)
