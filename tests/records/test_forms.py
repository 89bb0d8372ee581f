"""The forms that values take in payloads, each at its edges."""

from dataclasses import dataclass
from typing import Any, ClassVar

import pytest

from registry.records.baths import Adjusted, BathMade, Trim
from registry.records.chain import ImportOpened
from registry.records.forms import (
    Code,
    Day,
    Difference,
    Hash,
    Id,
    Instant,
    Length,
    LocalTime,
    Name,
    Number,
    Payload,
    PayloadError,
    Pressure,
    Signature,
    TagId,
    Temperature,
)
from registry.records.places import SiteSet
from registry.records.thermometers import CertificatePoint, OutsideCertificateSet

ID, HASH = "0195f3a0c0007000800000000000000a", "ab" * 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Payload):
    KIND: ClassVar = "sample"
    id: Id | None = None
    hash: Hash | None = None
    signature: Signature | None = None
    code: Code | None = None
    local_day: Day | None = None
    start: LocalTime | None = None
    shown: Temperature | None = None
    offset: Difference | None = None
    pressure: Pressure | None = None
    elevation: Length | None = None
    k: Number | None = None
    name: Name | None = None
    tag_id: TagId | None = None
    taken_at: Instant | None = None
    demo: bool | None = None
    many: tuple[Code, ...] | None = None
    parts: dict[Code, Difference] | None = None


TAKEN: list[tuple[str, Any]] = [
    ("id", ID),
    ("hash", HASH),
    ("signature", "cd" * 64),
    ("code", "ice_point"),
    ("code", "a1_2b"),
    ("local_day", "2028-02-29"),
    ("start", "00:00"),
    ("start", "23:59"),
    ("shown", "0.10 C"),  # digits as typed: 0.10 is not 0.1
    ("shown", "-18.0 C"),
    ("shown", "33 F"),
    ("offset", "-0.8636 dC"),
    ("offset", "2 dF"),
    ("pressure", "29.92 inHg"),
    ("elevation", "-3 m"),
    ("k", "2.05"),
    ("k", "-1"),
    ("name", "Niño 東京"),
    ("name", "x" * 2000),
    ("tag_id", "LM214L"),
    ("taken_at", 2**53 - 1),
    ("demo", True),
    ("many", ("ice_point", "other")),
    ("many", ()),
    ("parts", {"bath": "0.0577 dC"}),
]
REFUSED: list[tuple[str, Any]] = [
    ("id", ID.upper()),
    ("id", ID[:-1]),
    ("id", ID + "\n"),
    ("hash", HASH[:-1]),
    ("signature", HASH),
    ("code", "Ice"),
    ("code", "ice point"),
    ("code", "ice__point"),
    ("code", "_ice"),
    ("code", ""),
    ("local_day", "2026-02-29"),
    ("local_day", "2026-3-3"),
    ("local_day", "20260303"),
    ("start", "24:00"),
    ("start", "6:00"),
    ("shown", "1.0C"),
    ("shown", "+1.0 C"),
    ("shown", "1,0 C"),
    ("shown", "\N{MINUS SIGN}1.0 C"),
    ("shown", "1.0 dC"),  # a temperature is no difference
    ("shown", "01.0 C"),
    ("shown", 1.0),
    ("offset", "1.0 C"),  # and a difference no temperature
    ("offset", "0.33333 dC"),
    ("pressure", "-1 hPa"),
    ("pressure", "1013.2"),
    ("elevation", "120"),
    ("k", "1e3"),
    ("k", 2),
    ("name", ""),
    ("name", "x" * 2001),
    ("name", "Nin\u0303o"),  # not NFC
    ("tag_id", "lm214"),
    ("tag_id", "1LM"),
    ("taken_at", 2**53),
    ("taken_at", 1.5),
    ("taken_at", True),
    ("demo", False),  # what does not apply is left out, never false
    ("demo", 1),
    ("many", ("ice point",)),
    ("many", "ice_point"),
    ("parts", {"Bath": "0.0577 dC"}),
    ("parts", {"bath": "0.0577 C"}),
    ("parts", [("bath", "0.0577 dC")]),
]


@pytest.mark.parametrize(("key", "value"), TAKEN)
def test_what_has_its_form_goes_in_and_comes_back(key: str, value: Any) -> None:
    payload = Sample(**{key: value}).as_payload()
    assert payload == {key: list(value) if isinstance(value, tuple) else value}
    assert Sample.from_payload(payload) == Sample(**{key: value})


@pytest.mark.parametrize(("key", "value"), REFUSED)
def test_what_has_not_its_form_is_refused_by_name(key: str, value: Any) -> None:
    for act in (lambda: Sample(**{key: value}).as_payload(), lambda: Sample.from_payload({key: value})):
        with pytest.raises(PayloadError) as refused:
            act()
        assert (refused.value.kind, refused.value.key) == ("sample", key)


def test_every_form_is_tried_here() -> None:
    own = set(Sample.__dataclass_fields__) - set(Payload.__dataclass_fields__)
    assert {key for key, _ in TAKEN} == own == {key for key, _ in REFUSED}


def test_nothing_is_ever_null() -> None:
    assert Sample().as_payload() == {}
    with pytest.raises(PayloadError, match="code"):
        Sample.from_payload({"code": None})


def test_a_key_that_nobody_knows_and_one_that_is_missing() -> None:
    with pytest.raises(PayloadError, match="colour"):
        Sample.from_payload({"colour": "red"})
    site = {"site": ID, "name": "Pier", "letters": "PR", "zone": "Europe/Madrid", "pressure_source": "elevation"}
    with pytest.raises(PayloadError, match="elevation"):
        SiteSet.from_payload(site)
    assert SiteSet.from_payload(site | {"elevation": "120 m"}).elevation == "120 m"


def test_pythons_own_words_lose_their_underscore() -> None:
    opened = ImportOpened(import_=ID, import_kind="history", sha256=HASH, rows=3)
    assert opened.as_payload() == {"import": ID, "import_kind": "history", "sha256": HASH, "rows": 3}
    assert ImportOpened.from_payload(opened.as_payload()) == opened
    adjusted = Adjusted(
        thermometer=ID, adjustment=ID, point="ice_point", how="trim", trim=Trim(from_="0 dC", to="-0.4 dC")
    )
    assert adjusted.as_payload()["trim"] == {"from": "0 dC", "to": "-0.4 dC"}
    assert Adjusted.from_payload(adjusted.as_payload()) == adjusted


def certificate(**point: Any) -> OutsideCertificateSet:
    line: Any = {"temperature": "0 C", "correction": "0.1 dC", "expanded": "0.1 dC", "k": "2"} | point
    return OutsideCertificateSet(
        thermometer=ID,
        outside_certificate=ID,
        certificate_number="C 12",
        issuer="Fen lab",
        issued="2025-09-01",
        points=(CertificatePoint(**line),),
    )


def test_records_within_records_have_their_forms_too() -> None:
    payload = certificate().as_payload()
    assert payload["points"] == [{"temperature": "0 C", "correction": "0.1 dC", "expanded": "0.1 dC", "k": "2"}]
    assert OutsideCertificateSet.from_payload(payload) == certificate()
    with pytest.raises(PayloadError, match="points"):
        certificate(correction="0.1 C").as_payload()
    (line,) = payload["points"]
    for wrong in (line | {"colour": "red"}, {key: line[key] for key in ("temperature", "k")}, line | {"k": None}):
        with pytest.raises(PayloadError, match="points"):
            OutsideCertificateSet.from_payload(payload | {"points": [wrong]})


def test_digits_are_never_tidied() -> None:
    made = {
        "bath": ID,
        "site": ID,
        "point": "ice_point",
        "made": "crushed_packed",
        "container": "bowl",
        "reference": "0.00 C",
        "components": {"bath": "0.0500 dC"},
        "version": 1,
    }
    assert BathMade.from_payload(made).as_payload() == made
