"""Entries about people, sites, stations, shifts and what was looked through."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.chain import Head
from registry.records.forms import Code, Day, Hash, Id, Length, LocalTime, Name, Payload


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonSet(Payload):
    KIND: ClassVar = "person_set"
    FIELD: ClassVar = "person"
    person: Id
    roles: tuple[Code, ...]
    sites: tuple[Id, ...] | None = None
    left: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonNamed(Payload):
    KIND: ClassVar = "person_named"
    FIELD: ClassVar = "name"
    person: Id
    fields_hash: Hash


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonErased(Payload):
    KIND: ClassVar = "person_erased"
    person: Id
    hashes: tuple[Hash, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonTrained(Payload):
    KIND: ClassVar = "person_trained"
    person: Id
    training: Id
    training_kind: Code
    day: Day
    until: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSet(Payload):
    KIND: ClassVar = "site_set"
    FIELD: ClassVar = "site"
    site: Id
    name: Name
    letters: Name
    zone: Name
    elevation: Length
    pressure_source: Code
    address: Name | None = None
    jurisdiction: Code | None = None
    unit: Name | None = None
    closed: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StationSet(Payload):
    KIND: ClassVar = "station_set"
    FIELD: ClassVar = "station"
    station: Id
    site: Id
    name: Name
    smallest: dict[Code, int] | None = None
    closed: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftSet(Payload):
    KIND: ClassVar = "shift_set"
    FIELD: ClassVar = "shift"
    shift: Id
    site: Id
    name: Name
    start: LocalTime
    end: LocalTime
    weekdays: tuple[int, ...]
    from_day: Day
    to_day: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarSet(Payload):
    KIND: ClassVar = "calendar_set"
    FIELD: ClassVar = "calendar"
    site: Id
    calendar: Id
    calendar_kind: Code
    from_day: Day
    to_day: Day
    shifts: tuple[Id, ...] | None = None
    stations: tuple[Id, ...] | None = None
    why: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftClosed(Payload):
    KIND: ClassVar = "shift_closed"
    shift: Id
    site: Id
    day: Day
    not_done: tuple[Id, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reviewed(Payload):
    KIND: ClassVar = "reviewed"
    site: Id
    from_day: Day
    to_day: Day
    heads: tuple[Head, ...]
