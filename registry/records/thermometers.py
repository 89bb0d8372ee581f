"""Entries about one thermometer: what it is, where it is, what happened to it."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import Code, Day, Difference, Id, Name, Number, Payload, TagId, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSet(Payload):
    KIND: ClassVar = "part_set"
    FIELD: ClassVar = "part"
    part: Id
    part_kind: Code
    maker: Name | None = None
    model: Name | None = None
    serial: Name | None = None
    details: dict[Code, Name] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """One scale of a dial or display: its step and the range that it covers."""

    step: Difference
    lowest: Temperature
    highest: Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    amount: Number
    currency: Name


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermometerSet(Payload):
    KIND: ClassVar = "thermometer_set"
    FIELD: ClassVar = "facts"
    thermometer: Id
    type: Code
    scales: dict[Name, Scale]
    uses: tuple[Code, ...]
    maker: Name | None = None
    model: Name | None = None
    serial: Name | None = None
    adjusts: Code | None = None
    waterproof: bool | None = None
    class_: Code | None = None
    in_use_since: Day | None = None
    condition: Name | None = None
    price: Price | None = None
    details: dict[Code, Name] | None = None
    why: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsJoined(Payload):
    KIND: ClassVar = "parts_joined"
    FIELD: ClassVar = "parts"
    thermometer: Id
    indicator: Id | None = None
    sensor: Id | None = None
    why: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TagIdSet(Payload):
    KIND: ClassVar = "tag_id_set"
    FIELD: ClassVar = "tag_id"
    thermometer: Id
    tag_id: TagId


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceSet(Payload):
    KIND: ClassVar = "place_set"
    FIELD: ClassVar = "place"
    thermometer: Id
    site: Id
    station: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOut(Payload):
    KIND: ClassVar = "taken_out"
    FIELD: ClassVar = "service_status"
    thermometer: Id
    why: Code
    check: Id | None = None
    give_to: Id | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceStatusSet(Payload):
    KIND: ClassVar = "service_status_set"
    FIELD: ClassVar = "service_status"
    thermometer: Id
    status: Code
    only: Code | None = None
    why: Code | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificatePoint:
    """One line of an outside certificate: at this temperature, add this correction, with this uncertainty."""

    temperature: Temperature
    correction: Difference
    expanded: Difference
    k: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideCertificateSet(Payload):
    KIND: ClassVar = "outside_certificate_set"
    FIELD: ClassVar = "outside_certificate"
    thermometer: Id
    outside_certificate: Id
    certificate_number: Name
    issuer: Name
    issued: Day
    points: tuple[CertificatePoint, ...]
    due: Day | None = None
    drift_allowance: Difference | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentReported(Payload):
    KIND: ClassVar = "incident_reported"
    thermometer: Id
    incident: Id
    what: Code
    part: Id | None = None
    shift: Id | None = None
    day: Day | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What the thermometer must show so that food is at the limit."""

    limit: Code
    shown: Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class TagPrinted(Payload):
    KIND: ClassVar = "tag_printed"
    thermometer: Id
    print: Id
    tag: Code
    stock: Code
    status: Code | None = None
    check: Id | None = None
    recheck_by: Day | None = None
    correction: Difference | None = None
    limits: Id | None = None
    reach: tuple[Reach, ...] | None = None
