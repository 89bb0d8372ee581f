"""Entries at the bath: readings become a check, the bath is judged, what is off is adjusted."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import (
    Code,
    Day,
    Difference,
    Hash,
    Id,
    Instant,
    Length,
    Name,
    Number,
    Payload,
    Pressure,
    Temperature,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A reference thermometer in the bath: what it showed, and on what its correction rests."""

    thermometer: Id
    shown: Temperature
    correction: Difference | None = None
    outside_certificate: Id | None = None
    check: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BathMade(Payload):
    KIND: ClassVar = "bath_made"
    bath: Id
    site: Id
    point: Code
    made: Code
    container: Code
    reference: Temperature
    components: dict[Code, Difference]
    version: int
    figures: Id | None = None
    dof: dict[Code, Number] | None = None
    pressure_source: Code | None = None
    pressure: Pressure | None = None
    pressure_from: Name | None = None
    pressure_read_at: Instant | None = None
    station_pressure: Pressure | None = None
    elevation: Length | None = None
    beside: tuple[Beside, ...] | None = None
    asked: tuple[Code, ...] | None = None
    remade_from: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTaken(Payload):
    KIND: ClassVar = "reading_taken"
    thermometer: Id
    reading: Id
    bath: Id
    role: Code
    check: Id | None = None
    adjustment: Id | None = None
    shown: Temperature | None = None
    beside: tuple[Beside, ...] | None = None
    why: Code | None = None
    put_in_at: Instant | None = None
    asked: tuple[Code, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """What the tracker expected, as it was used."""

    offset: Difference
    u: Difference


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRecorded(Payload):
    KIND: ClassVar = "check_recorded"
    thermometer: Id
    check: Id
    point: Code
    as_found: tuple[Temperature, ...]
    bath: Id | None = None
    readings: tuple[Id, ...] | None = None
    reference: Temperature | None = None
    exact: Temperature | None = None
    components: dict[Code, Difference] | None = None
    dof: dict[Code, Number] | None = None
    bias: Difference | None = None
    offset: Difference | None = None
    u: Difference | None = None
    k: Number | None = None
    rule: Id | None = None
    tolerances: Id | None = None
    method: Id | None = None
    decision: Code | None = None
    tolerance: Difference | None = None
    outcome: Code | None = None
    version: int | None = None
    predicted: Predicted | None = None
    unsteady: bool | None = None
    shift: Id | None = None
    day: Day | None = None
    reason: Code | None = None
    stated: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """A trim entered in the instrument; what it said before where that is known."""

    to: Difference
    from_: Difference | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted(Payload):
    KIND: ClassVar = "adjusted"
    thermometer: Id
    adjustment: Id
    point: Code
    how: Code
    trim: Trim | None = None
    check: Id | None = None
    bath: Id | None = None
    not_measured: bool | None = None
    readings: tuple[Id, ...] | None = None
    as_left: tuple[Temperature, ...] | None = None
    reference: Temperature | None = None
    exact: Temperature | None = None
    components: dict[Code, Difference] | None = None
    dof: dict[Code, Number] | None = None
    bias: Difference | None = None
    offset: Difference | None = None
    u: Difference | None = None
    k: Number | None = None
    rule: Id | None = None
    tolerances: Id | None = None
    method: Id | None = None
    decision: Code | None = None
    tolerance: Difference | None = None
    outcome: Code | None = None
    version: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Widened:
    """The uncertainty after a suspect bath widened it."""

    u: Difference
    k: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class BathJudged(Payload):
    KIND: ClassVar = "bath_judged"
    FIELD: ClassVar = "judgement"
    bath: Id
    judged: Code
    judged_by: Code
    outcomes: dict[Id, Code]
    as_left: dict[Id, Code] | None = None
    widened: dict[Id, Widened] | None = None
    version: int | None = None
    error: Difference | None = None
    added_u: Difference | None = None
    added_dof: Number | None = None
    prior: dict[Code, Difference] | None = None
    trusted: tuple[Id, ...] | None = None
    why: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NotChecked(Payload):
    KIND: ClassVar = "not_checked"
    thermometer: Id
    absence: Id
    site: Id
    shift: Id
    day: Day
    why: Code


@dataclass(frozen=True, slots=True, kw_only=True)
class UseAllowed(Payload):
    KIND: ClassVar = "use_allowed"
    thermometer: Id
    use: Id
    basis: Code
    agrees_with: tuple[Id, ...]
    until_at: Instant
    readings: tuple[Beside, ...] | None = None
    check: Id | None = None
    margin: Difference | None = None
    shift: Id | None = None
    day: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide(Payload):
    KIND: ClassVar = "side_by_side"
    thermometer: Id
    side_by_side: Id
    shown: Temperature
    theirs: Temperature
    whose: Code
    bath: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Voided(Payload):
    KIND: ClassVar = "voided"
    of: Id
    entries: tuple[Hash, ...]
    why: Code
    instead: tuple[Id, ...] | None = None
