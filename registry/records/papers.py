"""Entries about certificates and stored documents."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import Code, Day, Hash, Id, Name, Payload
from registry.records.thermometers import Reach


@dataclass(frozen=True, slots=True, kw_only=True)
class StillOutside:
    """A point where it was last read outside its limits. point: as of its class; day: at its site."""

    point: Code
    outcome: Code
    day: Day


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateIssued(Payload):
    KIND: ClassVar = "certificate_issued"
    thermometer: Id
    certificate: Id
    checks: tuple[Id, ...]
    rests_on: tuple[Hash, ...]
    language: Code
    region: Name
    unit: Name
    paper: Code
    version: int
    recheck_by: Day | None = None
    limits: Id | None = None
    reach: tuple[Reach, ...] | None = None
    status: Code | None = None
    only: Code | None = None
    outside: tuple[StillOutside, ...] | None = None
    reviewed_by: Id | None = None
    replaces: Id | None = None
    amends: Id | None = None
    change: Code | None = None
    logo: Hash | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateWithdrawn(Payload):
    KIND: ClassVar = "certificate_withdrawn"
    thermometer: Id
    certificate: Id
    why: Code


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentStored(Payload):
    KIND: ClassVar = "document_stored"
    of: Id
    document: Code
    sha256: Hash
    length: int
    media: Name
    entry: Hash | None = None
