"""Entries that set the group's rules; a check names the `set` ids it used, so a rule change never touches it."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import Code, Day, Difference, Id, Name, Number, Payload, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupSet(Payload):
    KIND: ClassVar = "group_set"
    FIELD: ClassVar = "group"
    group: Id
    name: Name
    country: Name
    jurisdiction: Code
    language: Code
    region: Name
    unit: Name
    paper: Code
    cold_side: bool | None = None
    correct_readings: bool | None = None
    when_off: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodSet(Payload):
    KIND: ClassVar = "method_set"
    FIELD: ClassVar = "method"
    group: Id
    set: Id
    method: Code
    point: Code
    edition: int
    steps: dict[Code, str]
    for_site: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """A permitted offset, with the scale of the thermometers it is for."""

    class_: Code
    scale: Name
    tolerance: Difference
    source: Name
    place: Name | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceSet(Payload):
    KIND: ClassVar = "tolerance_set"
    FIELD: ClassVar = "tolerances"
    group: Id
    set: Id
    tolerances: tuple[Tolerance, ...]
    since: Day
    for_site: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSet(Payload):
    KIND: ClassVar = "rule_set"
    FIELD: ClassVar = "rule"
    group: Id
    set: Id
    decision: Code
    repeats: int
    near_limit: Number
    unsteady: Number
    since: Day
    for_site: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A temperature that food must reach or stay under, in the units that its source states."""

    limit: Code
    side: Code
    celsius: Temperature
    source: Name
    place: Name | None = None
    fahrenheit: Temperature | None = None
    hold: Name | None = None
    from_celsius: Temperature | None = None
    from_fahrenheit: Temperature | None = None
    within_minutes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSet(Payload):
    KIND: ClassVar = "limit_set"
    FIELD: ClassVar = "limits"
    group: Id
    set: Id
    limits: tuple[Limit, ...]
    since: Day
    for_site: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRule:
    """One rule of a recheck plan, and what it is for where it is not for all."""

    rule: Code
    days: int | None = None
    points: tuple[Code, ...] | None = None
    types: tuple[Code, ...] | None = None
    sites: tuple[Id, ...] | None = None
    thermometers: tuple[Id, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSet(Payload):
    KIND: ClassVar = "plan_set"
    FIELD: ClassVar = "plan"
    group: Id
    set: Id
    plan: Code
    rules: tuple[PlanRule, ...]
    since: Day
    for_site: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A starting value or one that a kitchen measured itself."""

    value: Number
    why: str
    dof: Number | None = None
    measured: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FiguresSet(Payload):
    KIND: ClassVar = "figures_set"
    FIELD: ClassVar = "figures"
    group: Id
    set: Id
    figures: dict[Code, Figure]
    for_site: Id | None = None
