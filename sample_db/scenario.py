"""The scenario as data: what `scenario.toml` says, as frozen records."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from importlib.resources import files
from typing import Any
from zoneinfo import ZoneInfo

MINUTE_US, DAY_US = 60_000_000, 86_400_000_000


@dataclass(frozen=True, slots=True)
class Model:
    """A model of thermometer and how it behaves; °C, days, months (see the comments in the scenario)."""

    key: str
    type: str
    maker: str
    model: str
    scales: Mapping[str, tuple[str, str, str]]  # unit: step, lowest, highest
    start: float
    walk: float
    month: float
    slope: float
    noise: float
    drops: float
    left: float = 0.1
    bias: float = 0.0
    adjusts: str | None = None
    sensor_model: str = ""
    uses: tuple[str, ...] = ("hot", "cold")
    price: str = ""  # what one cost, as it is typed; invented

    @property
    def unit(self) -> str:
        """The unit it is read in: °F wherever it has that scale."""
        return "F" if "F" in self.scales else "C"


@dataclass(frozen=True, slots=True)
class Given:
    """One thermometer of a kitchen."""

    key: str
    model: str
    station: str
    shares_meter_of: str | None = None


@dataclass(frozen=True, slots=True)
class Shift:
    name: str
    start: str
    end: str
    weekdays: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Site:
    """A kitchen; `true_elevation` in metres where what is recorded is wrong."""

    key: str
    name: str
    letters: str
    address: str
    zone: str
    elevation: str
    pressure_source: str
    made: str
    ice: tuple[float, float]
    compares_on: int
    stations: tuple[str, ...]
    leads: tuple[tuple[str, str], ...]
    shifts: tuple[Shift, ...]
    thermometers: tuple[Given, ...]
    true_elevation: float

    def at(self, day: date, local: str | time) -> int:
        """An instant of local time, microseconds UTC."""
        return instant(day, local, self.zone)


@dataclass(frozen=True, slots=True)
class Event:
    """Something planted; `numbers` are its own (error, step, share, ...)."""

    kind: str
    from_day: date
    to_day: date
    site: str | None
    thermometers: tuple[str, ...]
    numbers: Mapping[str, Any]

    def on(self, day: date) -> bool:
        return self.from_day <= day <= self.to_day


@dataclass(frozen=True, slots=True)
class Scenario:
    seed: int
    key_from: str
    first_day: date
    last_day: date
    ends_at: int
    group: Mapping[str, Any]
    every: Mapping[str, int]
    models: Mapping[str, Model]
    sites: tuple[Site, ...]
    certificates: tuple[Mapping[str, Any], ...]
    events: tuple[Event, ...]

    @property
    def days(self) -> list[date]:
        return [self.first_day + timedelta(n) for n in range((self.last_day - self.first_day).days + 1)]

    def planted(self, kind: str, *, site: str | None = None, day: date | None = None) -> list[Event]:
        """The planted events of a kind, at a site, standing on a day."""
        return [
            one for one in self.events if one.kind == kind and site in (None, one.site) and (day is None or one.on(day))
        ]


def instant(day: date, local: str | time, zone: str) -> int:
    """Microseconds UTC of a local time on a day."""
    clock = time.fromisoformat(local) if isinstance(local, str) else local
    return int(datetime.combine(day, clock, ZoneInfo(zone)).timestamp()) * 1_000_000


def text() -> str:
    return files("sample_db").joinpath("scenario.toml").read_text(encoding="utf-8")


def load(*, small: bool = False) -> Scenario:
    """The whole scenario, or with `small` one kitchen and its last weeks."""
    said = tomllib.loads(text())
    sites = tuple(map(_site, said["sites"]))
    first_day: date = said["first_day"]
    if small:
        sites = tuple(site for site in sites if site.key == said["small"]["site"])
        first_day = said["small"]["first_day"]
    models = {key: _model(key, one) for key, one in said["models"].items()}
    events = tuple(_kept(sites, first_day, map(_event, said["events"])))
    return Scenario(
        said["seed"],
        said["key_from"],
        first_day,
        said["last_day"],
        instant(said["last_day"], said["ends_at"], said["home_zone"]),
        said["group"],
        said["every"],
        models,
        sites,
        tuple(said["certificates"]),
        events,
    )


def _model(key: str, said: dict[str, Any]) -> Model:
    scales = {unit: (step, lowest, highest) for unit, (step, lowest, highest) in said.pop("scales").items()}
    uses = tuple(said.pop("uses", ("hot", "cold")))
    return Model(key=key, scales=scales, uses=uses, **said)


def _site(said: dict[str, Any]) -> Site:
    thermometers = tuple(Given(key, **one) for key, one in said.pop("thermometers").items())
    shifts = tuple(Shift(**(one | {"weekdays": tuple(one["weekdays"])})) for one in said.pop("shifts"))
    return Site(
        **{
            "true_elevation": float(said["elevation"].split()[0]),
            **said,
            "ice": tuple(said["ice"]),
            "stations": tuple(said["stations"]),
            "leads": tuple(map(tuple, said["leads"])),
            "shifts": shifts,
            "thermometers": thermometers,
        }
    )


def _event(said: dict[str, Any]) -> Event:
    own = ("kind", "from", "to", "site", "thermometers")
    return Event(
        said["kind"],
        said["from"],
        said["to"],
        said.get("site"),
        tuple(said.get("thermometers", ())),
        {key: value for key, value in said.items() if key not in own},
    )


def _kept(sites: tuple[Site, ...], first_day: date, events: Any) -> list[Event]:
    """The events of these sites that were not over before the first day."""
    there = {site.key for site in sites}
    here = {one.key for site in sites for one in site.thermometers}
    return [
        one
        for one in events
        if one.to_day >= first_day and (one.site is None or one.site in there) and here.issuperset(one.thermometers)
    ]
