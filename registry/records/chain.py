"""Entries about chains, installations, imports and questions."""

from dataclasses import dataclass
from typing import ClassVar

from registry.records.forms import Code, Hash, Id, Name, Payload, Signature


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """Where a chain stood."""

    chain: Hash
    seq: int
    hash: Hash


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainOpened(Payload):
    KIND: ClassVar = "chain_opened"
    name: Name
    opened_because: Code
    program: Name
    demo: bool | None = None
    predecessor: Head | None = None
    old_key_signature: Signature | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InstallationAccepted(Payload):
    KIND: ClassVar = "installation_accepted"
    FIELD: ClassVar = "scope"
    accepted: Hash
    group: Id | None = None
    whole_group: bool | None = None
    sites: tuple[Id, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadsSeen(Payload):
    KIND: ClassVar = "heads_seen"
    heads: tuple[Head, ...]
    seen_in: Code
    sha256: Hash | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportOpened(Payload):
    KIND: ClassVar = "import_opened"
    import_: Id
    import_kind: Code
    sha256: Hash
    rows: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportClosed(Payload):
    KIND: ClassVar = "import_closed"
    import_: Id
    entries: int
    dropped: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionAnswered(Payload):
    KIND: ClassVar = "question_answered"
    of: Id
    question: Code
    about: tuple[Id, ...]
    answer: Code
