"""Thermometers from purchase to retirement."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from registry.quantity import Length, Reading, TemperatureDifference
from registry.services import places, thermometers
from registry.services.thermometers import NewThermometer, OutsideCertificate, PartGiven, ScaleGiven
from registry.store import queries
from tests.services.kitchen import DIAL_C, DIAL_F, DIGITAL_C, DIGITAL_F, Kitchen, scale


def new(kitchen: Kitchen, **more: Any) -> NewThermometer:
    return NewThermometer(**{"type": "thermistor_probe", "scales": (DIGITAL_C,), "site": kitchen.site} | more)


def enrol(kitchen: Kitchen, **more: Any) -> str:
    return thermometers.enrol(kitchen.session, kitchen.officer, new(kitchen, **more))


def known(kitchen: Kitchen, thermometer: str) -> thermometers.Thermometer:
    with kitchen.session.reading() as connection:
        return thermometers.thermometer(connection, thermometer)


def find(kitchen: Kitchen, tag_id: str) -> str:
    with kitchen.session.reading() as connection:
        return thermometers.find(connection, tag_id).row.thermometer


def test_tag_ids_are_given_with_the_sites_letters_and_a_check_character(kitchen: Kitchen) -> None:
    # ISO/IEC 7064 MOD 37,36 over PR001 and PR002 gives 8 and 6 (worked by hand).
    first, second = enrol(kitchen), enrol(kitchen)
    assert (kitchen.tag(first), kitchen.tag(second)) == ("PR0018", "PR0026")
    assert find(kitchen, " pr 0018 ") == first


def test_an_id_that_stands_on_it_is_taken_as_it_is(kitchen: Kitchen) -> None:
    assert kitchen.tag(enrol(kitchen, tag_id="old 12")) == "OLD12"


@pytest.mark.parametrize("tag_id", ["1AB", "A", "ABCDEFGHIJKLM", "AB-1", "ß1"])
def test_what_can_be_no_tag_id(kitchen: Kitchen, tag_id: str) -> None:
    with kitchen.refuses(("tag_id", "not_valid")):
        enrol(kitchen, tag_id=tag_id)


def test_a_tag_id_is_unique_among_the_living(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    first = enrol(kitchen, tag_id="AB1")
    with kitchen.refuses(("tag_id", "taken")):
        enrol(kitchen, tag_id="ab 1")
    second = enrol(kitchen)
    with kitchen.refuses(("tag_id", "taken")):
        thermometers.retag(kitchen.session, kitchen.officer, second, "AB1")
    thermometers.set_status(kitchen.session, kitchen.officer, first, "retired", why="worn")
    thermometers.retag(kitchen.session, kitchen.officer, second, "AB1")
    assert find(kitchen, "AB1") == second
    with kitchen.refuses(("tag_id", "taken")):  # its label went to another while it was away
        thermometers.set_status(kitchen.session, kitchen.officer, first, "in_service")
    thermometers.retag(kitchen.session, kitchen.officer, first, "AB2")
    thermometers.set_status(kitchen.session, kitchen.officer, first, "in_service")
    assert kitchen.row(first).service_status == "check_first"


def test_a_retired_one_is_still_found_where_no_other_bears_its_id(kitchen: Kitchen) -> None:
    first = enrol(kitchen, tag_id="AB1")
    thermometers.set_status(kitchen.session, kitchen.officer, first, "retired")
    assert find(kitchen, "AB1") == first
    with kitchen.refuses(("tag_id", "unknown_tag")):
        find(kitchen, "AB2")
    assert kitchen.tag(enrol(kitchen)) == "PR0018"


def test_a_second_press_enrols_once(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    made = kitchen.session.new_id()
    for _ in range(2):
        found = thermometers.enrol(kitchen.session, kitchen.officer, new(kitchen), thermometer=made)
        assert found == made
    assert len(kitchen.entries("thermometer_set")) == 1
    assert len(kitchen.entries("tag_id_set")) == 1


def scale_of(step: str, lowest: str, highest: str) -> tuple[ScaleGiven, ...]:
    return (scale(step, lowest, highest),)


@pytest.mark.parametrize(
    ("more", "wanted"),
    [
        ({"type": "sundial"}, ("type", "unknown")),
        ({"scales": ()}, ("scale", "empty")),
        ({"scales": (DIGITAL_C, DIAL_C)}, ("scale", "empty")),
        ({"scales": scale_of("1 dF", "0 F", "100 C")}, ("scale", "two_units")),
        ({"scales": scale_of("0 dC", "0 C", "100 C")}, ("step", "not_valid")),
        ({"scales": scale_of("51 dC", "0 C", "100 C")}, ("step", "not_valid")),
        ({"scales": scale_of("1 dC", "100 C", "100 C")}, ("range", "lowest_not_below_highest")),
        ({"adjusts": "nut"}, ("adjusts", "not_for_this_type")),
        ({"uses": ("warm",)}, ("uses", "unknown")),
        ({"type": "bimetal_stem", "sensor": PartGiven()}, ("sensor", "does_not_part")),
        ({"site": "0" * 32}, ("site", "unknown")),
        ({"station": "0" * 32}, ("station", "unknown")),
    ],
)
def test_what_is_wrong_is_named(kitchen: Kitchen, more: dict[str, Any], wanted: tuple[str, str]) -> None:
    with kitchen.refuses(wanted):
        enrol(kitchen, **more)


def test_what_is_known_of_one_in_one_piece(kitchen: Kitchen) -> None:
    whole = PartGiven(" Marsh ", "D2", "77")
    made = enrol(kitchen, type="bimetal_stem", scales=(DIAL_C, DIAL_F), whole=whole, in_use_since=date(2024, 5, 1))
    found = known(kitchen, made)
    assert (found.maker, found.model, found.serial, found.scale) == ("Marsh", "D2", "77", "dual")
    assert (found.row.type, found.row.scale, found.row.site) == ("bimetal_stem", "dual", kitchen.site)
    # A scale is read to half a division, a display to its step.
    assert (found.step_as_read("C"), found.step_as_read("F")) == (Decimal("0.5"), Decimal(1))
    assert known(kitchen, enrol(kitchen)).step_as_read("C") == Decimal("0.1")


def test_indicator_and_sensor_part_and_a_new_sensor_asks_for_a_check(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    made = enrol(kitchen, whole=PartGiven("Marsh", "M1", "1"), sensor=PartGiven("Fen", "S1", "2"))
    found = known(kitchen, made)
    assert found.indicator is not None
    assert found.sensor is not None
    assert (found.serial, found.sensor.serial) == ("1", "2")
    kitchen.checked(made, "0.1 C")
    thermometers.change_sensor(kitchen.session, kitchen.lead, made, PartGiven("Fen", "S1", "3"))
    changed = known(kitchen, made)
    assert changed.sensor is not None
    assert changed.sensor.serial == "3"
    assert changed.indicator == found.indicator
    assert (changed.row.service_status, changed.row.incident) == ("check_first", "sensor_changed")
    dial = kitchen.dial()
    with kitchen.refuses(("sensor", "does_not_part")):
        thermometers.change_sensor(kitchen.session, kitchen.lead, dial, PartGiven())


def test_a_second_probe_on_a_meter_that_is_there(kitchen: Kitchen) -> None:
    first = known(kitchen, enrol(kitchen, whole=PartGiven("Marsh"), sensor=PartGiven("Fen")))
    assert first.parts is not None
    meter, sensor = first.parts.indicator, first.parts.sensor
    second = known(kitchen, enrol(kitchen, indicator=meter, sensor=PartGiven("Fen")))
    assert (second.maker, second.indicator) == ("Marsh", first.indicator)
    assert second.sensor != first.sensor
    for wrong in (sensor, "0" * 32):
        with kitchen.refuses(("indicator", "unknown")):
            enrol(kitchen, indicator=wrong, sensor=PartGiven("Fen"))


def test_a_changed_statement_is_tested_like_a_first_one(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    facts = known(kitchen, made).facts
    with kitchen.refuses(("type", "unknown")):
        thermometers.amend(kitchen.session, kitchen.officer, made, replace(facts, type="sundial"), "wrong_type")


def test_stating_it_anew_keeps_what_was_said_before(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    facts = replace(known(kitchen, made).facts, condition="cracked", class_="owner")
    thermometers.amend(kitchen.session, kitchen.officer, made, facts, "wrong_range")
    found = known(kitchen, made).facts
    assert (found.condition, found.class_, found.why) == ("cracked", "owner", "wrong_range")
    before, after = kitchen.entries("thermometer_set")
    assert after.after == (before.hash,)
    with kitchen.refuses(("thermometer", "unknown_thermometer")):
        thermometers.amend(kitchen.session, kitchen.officer, "0" * 32, facts, "wrong_range")


def test_moving(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    other = places.add_site(
        kitchen.session, kitchen.officer, places.NewSite("Quay", "QU", "Europe/Madrid", Length(Decimal(5), "m"))
    )
    grill = places.add_station(kitchen.session, kitchen.officer, other, "Grill")
    thermometers.move(kitchen.session, kitchen.lead, made, other, grill)
    assert (kitchen.row(made).site, kitchen.row(made).station) == (other, grill)
    with kitchen.refuses(("station", "unknown")):
        thermometers.move(kitchen.session, kitchen.lead, made, kitchen.site, grill)
    with kitchen.refuses(("site", "unknown")):
        thermometers.move(kitchen.session, kitchen.lead, made, "0" * 32)


# --- service status ------------------------------------------------------------------------------------------


def test_taken_out_and_put_back_it_is_still_to_be_checked_first(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    assert kitchen.row(dial).service_status == "check_first"
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "outside", check=check)
    assert kitchen.row(dial).service_status == "out_of_use"
    thermometers.set_status(kitchen.session, kitchen.lead, dial, "in_service")
    assert kitchen.row(dial).service_status == "check_first"
    kitchen.checked(dial, "0 C")
    assert kitchen.row(dial).service_status == "in_service"


@pytest.mark.parametrize("status", ["in_service", "limited_use", "lost", "retired"])
def test_statuses(kitchen: Kitchen, status: str) -> None:
    made = enrol(kitchen)
    only = "cold" if status == "limited_use" else None
    thermometers.set_status(kitchen.session, kitchen.officer, made, status, only=only)
    assert kitchen.row(made).service_status == status


def test_limited_use_says_of_what(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    for status, only, wanted in (
        ("limited_use", None, ("only", "cold_or_hot")),
        ("limited_use", "soup", ("only", "cold_or_hot")),
        ("in_service", "hot", ("only", "cold_or_hot")),
        ("out_of_use", None, ("status", "unknown")),
    ):
        with kitchen.refuses(wanted):
            thermometers.set_status(kitchen.session, kitchen.officer, made, status, only=only)


def test_nothing_is_said_of_a_thermometer_that_is_not_there(kitchen: Kitchen) -> None:
    session, officer, nobody = kitchen.session, kitchen.officer, "0" * 32
    for act in (
        lambda: thermometers.take_out(session, officer, nobody, "worn"),
        lambda: thermometers.set_status(session, officer, nobody, "lost"),
        lambda: thermometers.retag(session, officer, nobody, "AB1"),
        lambda: thermometers.move(session, officer, nobody, kitchen.site),
        lambda: thermometers.add_outside_certificate(session, officer, nobody, certificate()),
    ):
        with kitchen.refuses(("thermometer", "unknown_thermometer")):
            act()


def test_whoever_comes_back_is_checked_first(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    kitchen.checked(made, "0.1 C")
    for why, what in (("spare", "found"), ("dropped", "dropped")):
        thermometers.take_out(kitchen.session, kitchen.lead, made, why)
        thermometers.set_status(kitchen.session, kitchen.lead, made, "in_service")
        assert (kitchen.row(made).service_status, kitchen.row(made).incident) == ("check_first", what)
        kitchen.checked(made, "0.1 C")


def test_put_out_by_a_check_a_pass_since_is_enough(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    check = kitchen.checked(made, "3.0 C", "3.0 C", "3.0 C")
    thermometers.take_out(kitchen.session, kitchen.lead, made, "outside", check=check)
    kitchen.checked(made, "0.1 C")
    thermometers.set_status(kitchen.session, kitchen.lead, made, "in_service")
    assert kitchen.row(made).service_status == "in_service"


@pytest.mark.parametrize("way", ["lost", "out"])
def test_no_detour_lifts_a_limit(kitchen: Kitchen, way: str) -> None:
    made = enrol(kitchen)
    thermometers.set_status(kitchen.session, kitchen.officer, made, "limited_use", only="cold")
    if way == "lost":
        thermometers.set_status(kitchen.session, kitchen.lead, made, "lost")
    else:
        thermometers.take_out(kitchen.session, kitchen.lead, made, "spare")
    thermometers.set_status(kitchen.session, kitchen.lead, made, "in_service")
    assert kitchen.row(made).status == "limited_use"


def test_only_an_officer_brings_a_retired_one_back(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    thermometers.set_status(kitchen.session, kitchen.officer, made, "retired")
    with kitchen.refuses(("actor", "not_allowed")):
        thermometers.set_status(kitchen.session, kitchen.lead, made, "in_service")
    with kitchen.refuses(("thermometer", "is_retired")):
        thermometers.set_status(kitchen.session, kitchen.lead, made, "lost")
    with kitchen.refuses(("thermometer", "is_retired")):
        thermometers.take_out(kitchen.session, kitchen.lead, made, "spare")
    thermometers.set_status(kitchen.session, kitchen.officer, made, "in_service")
    assert kitchen.row(made).service_status == "check_first"


def test_a_reason_is_one_of_those_known(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    for act in (
        lambda: thermometers.take_out(kitchen.session, kitchen.lead, made, "it fell"),
        lambda: thermometers.set_status(kitchen.session, kitchen.officer, made, "retired", why="tired"),
        lambda: thermometers.amend(kitchen.session, kitchen.officer, made, known(kitchen, made).facts, "whim"),
    ):
        with kitchen.refuses(("why", "unknown")):
            act()


def test_a_second_press_says_nothing_twice(kitchen: Kitchen) -> None:
    made, sensor = enrol(kitchen, whole=PartGiven("Marsh"), sensor=PartGiven("Fen")), kitchen.session.new_id()
    for act in (
        lambda: thermometers.move(kitchen.session, kitchen.lead, made, kitchen.site),
        lambda: thermometers.take_out(kitchen.session, kitchen.lead, made, "spare"),
        lambda: thermometers.set_status(kitchen.session, kitchen.lead, made, "in_service"),
        lambda: thermometers.change_sensor(kitchen.session, kitchen.lead, made, PartGiven("Fen"), sensor=sensor),
        lambda: thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, certificate()),
    ):
        act()
        before = kitchen.count()
        act()
        assert kitchen.count() == before


# --- outside certificates ------------------------------------------------------------------------------------


def point(at: str = "0 C", correction: str = "0.1 dC", expanded: str = "0.1 dC", k: str = "2") -> Any:
    return (
        Reading.from_text(at),
        TemperatureDifference.from_text(correction),
        TemperatureDifference.from_text(expanded),
        Decimal(k),
    )


def certificate(**more: Any) -> OutsideCertificate:
    return OutsideCertificate(
        **{"number": "C 12", "issuer": "Fen lab", "issued": date(2025, 9, 1), "points": (point(),)} | more
    )


def test_an_outside_certificate_and_the_next_one(kitchen: Kitchen) -> None:
    made = enrol(kitchen)
    for due in (date(2026, 9, 1), date(2027, 9, 1)):
        thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, certificate(due=due))
    found = known(kitchen, made).outside_certificate
    assert found is not None
    assert (found.certificate_number, found.due, found.points[0].k) == ("C 12", "2027-09-01", "2")
    assert kitchen.row(made).reference_due == "2027-09-01"
    with kitchen.session.reading() as connection:
        assert len(queries.counting(connection, made, "outside_certificate")) == 1


@pytest.mark.parametrize(
    ("more", "wanted"),
    [
        ({"number": " "}, ("certificate_number", "empty")),
        ({"issuer": ""}, ("certificate_number", "empty")),
        ({"points": ()}, ("points", "empty")),
        ({"due": date(2025, 9, 1)}, ("due", "before_issued")),
        ({"points": (point(correction="0.1 dF"),)}, ("points", "not_valid")),
        ({"points": (point(expanded="-0.1 dC"),)}, ("points", "not_valid")),
        ({"points": (point(k="0"),)}, ("points", "not_valid")),
    ],
)
def test_what_is_wrong_with_a_certificate_is_named(
    kitchen: Kitchen, more: dict[str, Any], wanted: tuple[str, str]
) -> None:
    made = enrol(kitchen)
    with kitchen.refuses(wanted):
        thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, certificate(**more))


def test_a_fahrenheit_only_dial_is_marked_so(kitchen: Kitchen) -> None:
    assert known(kitchen, kitchen.dial(DIAL_F)).scale == "F"
    assert known(kitchen, kitchen.enrol(DIGITAL_F, DIGITAL_C)).scale == "dual"
