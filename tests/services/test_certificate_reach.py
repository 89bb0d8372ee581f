"""What must be shown at each limit of food, on a certificate: recorded as issued, printed as recorded."""

from datetime import date
from typing import Any

from registry.documents.facts import ReachFacts
from registry.quantity import Reading
from registry.services import certificate_reach, papers, thermometers
from tests.services.kitchen import DIGITAL_F, Kitchen


def issued(kitchen: Kitchen, one: str) -> dict[str, Any]:
    papers.issue_certificate(kitchen.session, kitchen.lead, one)
    said: dict[str, Any] = kitchen.last("certificate_issued").payload
    return said


def facts(kitchen: Kitchen, one: str, said: dict[str, Any]) -> ReachFacts | None:
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        return certificate_reach.facts(connection, said, of, date(2026, 3, 3))


def boiled(kitchen: Kitchen, one: str, shown: str) -> None:
    bath = kitchen.boil()
    kitchen.key(bath, one, shown)
    kitchen.judge(bath)


def test_ice_alone_says_nothing_of_cooking(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.1 C")
    said = issued(kitchen, one)
    assert "reach" not in said
    assert facts(kitchen, one, said) is None


def test_recorded_with_its_limits_and_shown_one_of_each_temperature(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.1 C")
    boiled(kitchen, one, "99.9 C")
    said = issued(kitchen, one)
    assert said["limits"] in {entry.payload["set"] for entry in kitchen.entries("limit_set")}
    found = facts(kitchen, one, said)
    assert found is not None
    temperatures = [row.limit for row in found.rows]
    assert len(temperatures) == len(set(temperatures)) <= certificate_reach.MOST
    assert Reading.from_text("74 C") in temperatures
    for row, recorded in zip(found.rows, said["reach"], strict=True):
        assert row.shown.text() == recorded["shown"]
        assert row.shown.value > row.limit.value  # uncertainty and all: never the bare limit here
    assert found.only_at is None


def test_one_hot_point_alone_is_named(kitchen: Kitchen) -> None:
    one = kitchen.enrol(DIGITAL_F)
    boiled(kitchen, one, "211.5 F")
    found = facts(kitchen, one, issued(kitchen, one))
    assert found is not None
    assert found.only_at is not None
    assert found.only_at.unit == "F"
    assert 210 < found.only_at.value < 213
    assert {row.limit.unit for row in found.rows} == {"F"}


def test_nothing_for_one_that_failed(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    boiled(kitchen, one, "99.9 C")
    kitchen.checked(one, "1.9 C", "1.9 C", "1.9 C")
    assert "reach" not in issued(kitchen, one)
