"""Entries about food and packs: their keys are settled, what acts on them comes later."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import Code, Day, Difference, Hash, Id, Instant, Name, Payload, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodReadingTaken(Payload):
    KIND: ClassVar = "food_reading_taken"
    site: Id
    food_reading: Id
    shown: Temperature
    limit: Code
    food: Name
    thermometer: Id | None = None
    station: Id | None = None
    batch: Name | None = None
    cooling: Id | None = None
    stage: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftUse:
    """A shift in which the instrument was used."""

    shift: Id
    day: Day
    station: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBackMade(Payload):
    KIND: ClassVar = "look_back_made"
    thermometer: Id
    look_back: Id
    failed_check: Id
    from_at: Instant
    to_at: Instant
    limits: Id
    version: int
    offset: Difference
    u: Difference
    looked_at: int
    whole: dict[Id, Code]
    mixture: dict[Id, Code]
    shifts: tuple[ShiftUse, ...]
    good_check: Id | None = None
    incident: Id | None = None
    continues: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodDecided(Payload):
    KIND: ClassVar = "food_decided"
    thermometer: Id
    food_decision: Id
    what: Code
    why: Code
    look_back: Id | None = None
    batches: tuple[Name, ...] | None = None
    readings: tuple[Id, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PackIssued(Payload):
    KIND: ClassVar = "pack_issued"
    site: Id
    pack: Id
    from_day: Day
    to_day: Day
    manifest: Hash
