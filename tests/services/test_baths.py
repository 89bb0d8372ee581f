"""Baths: what their reference rests on, what is refused or questioned, and how they are judged."""

from datetime import date, timedelta
from decimal import Decimal
from math import sqrt
from typing import Any

import iapws
import pytest

from registry.compute.atmosphere import PressureSource
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.services import baths, incidents, places, thermometers
from registry.services.baths import NewBath
from registry.services.problems import Refused
from registry.services.thermometers import OutsideCertificate
from registry.store import queries
from tests.services.kitchen import HOUR_US, TUESDAY, ZONE, Kitchen


def said(kitchen: Kitchen) -> dict[str, Any]:
    return kitchen.last("bath_made").payload


def at_elevation(kitchen: Kitchen, metres: int) -> None:
    moved = places.NewSite("Pier", "PR", ZONE, Length(Decimal(metres), "m"))
    places.change_site(kitchen.session, kitchen.officer, kitchen.site, moved)


# --- ice -----------------------------------------------------------------------------------------------------


# Half-widths from judgement; a/√3 after JCGM 100:2008, 4.3.7. No altitude correction for ice: 0.0023 °C at 3000 m.
@pytest.mark.parametrize(
    ("made", "half_width"),
    [("crushed_packed", 0.1), ("cubes_stirred", 0.2), ("cubes_careless", 0.3), ("slush_stirred", 0.2)],
)
def test_ice_is_zero_and_as_certain_as_it_is_made(kitchen: Kitchen, made: str, half_width: float) -> None:
    at_elevation(kitchen, 3000)
    kitchen.ice(made)
    assert said(kitchen)["reference"] == "0 C"
    assert said(kitchen)["components"] == {"bath": f"{half_width / sqrt(3):.4f} dC"}
    assert "elevation" not in said(kitchen)


def test_the_same_bath_pressed_twice_is_one(kitchen: Kitchen) -> None:
    bath = kitchen.session.new_id()
    for _ in range(2):
        new = NewBath(kitchen.site, "ice_point", "crushed_packed")
        assert baths.make_bath(kitchen.session, kitchen.lead, new, bath=bath) == bath
    assert len(kitchen.entries("bath_made")) == 1


# --- boiling -------------------------------------------------------------------------------------------------


def test_boiling_by_the_sites_elevation(kitchen: Kitchen) -> None:
    # ISO 2533:1975 by hand, then IAPWS-IF97 as iapws 1.5.5 codes it.
    kitchen.boil()
    pascal = 101325 * (1 - 0.0065 * 120 / 288.15) ** 5.25587981
    celsius = iapws.iapws97._TSat_P(pascal / 1e6) - 273.15
    assert said(kitchen)["reference"] == f"{celsius:.4f} C".replace("0 C", " C")
    assert said(kitchen)["station_pressure"] == f"{pascal:.1f} Pa"
    assert (said(kitchen)["pressure_source"], said(kitchen)["elevation"]) == ("elevation", "120 m")


@pytest.mark.parametrize(
    ("source", "pressure", "celsius"),
    [
        (PressureSource.ALTIMETER_SETTING, Pressure.from_text("1020 hPa"), 96.835),
        (PressureSource.ROOM_BAROMETER, Pressure.from_text("904.871 hPa"), 96.835),
        (PressureSource.HOUSEHOLD_SEA_LEVEL, Pressure.from_text("1020 hPa"), 96.835),
        (PressureSource.ELEVATION, None, 96.649),
    ],
)
def test_each_source_of_pressure_says_what_it_is(
    kitchen: Kitchen, source: PressureSource, pressure: Pressure | None, celsius: float
) -> None:
    # 1020 hPa as a setting at 1000 m is 904.87 hPa in the room: definition of the altimeter setting, IAPWS-IF97.
    at_elevation(kitchen, 1000)
    kitchen.boil(pressure_source=source, pressure=pressure, pressure_from=" KPIR ")
    assert float(said(kitchen)["reference"].split()[0]) == pytest.approx(celsius, abs=6e-4)
    assert said(kitchen).get("pressure") == (pressure.text() if pressure else None)
    assert said(kitchen)["pressure_from"] == "KPIR"


@pytest.mark.parametrize(
    ("more", "wanted"),
    [
        ({"pressure_source": PressureSource.ROOM_BAROMETER}, ("pressure", "needed")),
        ({"pressure": Pressure.from_text("1000 hPa")}, ("pressure", "not_with_elevation_alone")),
        (
            {"pressure_source": PressureSource.ROOM_BAROMETER, "pressure": Pressure.from_text("100 hPa")},
            ("pressure", "out_of_range"),
        ),
        (
            {"pressure_source": PressureSource.ALTIMETER_SETTING, "pressure": Pressure.from_text("700 hPa")},
            ("pressure", "out_of_range"),
        ),
        ({"container": "cup"}, ("container", "refused_superheats")),
        ({"container": "glass"}, ("container", "refused_superheats")),
        ({"container": "non_stick"}, ("container", "refused_no_steady_boil")),
        ({"container": "microwave"}, ("container", "refused_erupts")),
        ({"container": "hat"}, ("container", "unknown")),
    ],
)
def test_what_is_refused_at_the_boil(kitchen: Kitchen, more: dict[str, Any], wanted: tuple[str, str]) -> None:
    # Cups, glass, non-stick and microwaves hold water above its boiling point: H. Chang, Science Progress 91 (2008).
    with kitchen.refuses(wanted):
        kitchen.boil(**more)


@pytest.mark.parametrize(
    ("source", "typed", "code"),
    [
        (PressureSource.ROOM_BAROMETER, "1013.2 hPa", "other_kind_is_likelier"),
        (PressureSource.ALTIMETER_SETTING, "899 hPa", "room_is_likelier"),
    ],
)
def test_a_pressure_of_the_other_kind_is_questioned(
    kitchen: Kitchen, source: PressureSource, typed: str, code: str
) -> None:
    # At 1000 m the standard pressure is 898.7 hPa, at sea level 1013.25 hPa; mixing them up is 3.3 °C.
    at_elevation(kitchen, 1000)
    asked = {"pressure_source": source, "pressure": Pressure.from_text(typed)}
    with kitchen.refuses(("pressure", code)):
        kitchen.boil(**asked)
    kitchen.boil(**asked, asked=frozenset(("pressure_kind",)))
    assert said(kitchen)["asked"] == ["pressure_kind"]


def test_pressure_is_good_for_three_hours(kitchen: Kitchen) -> None:
    now = kitchen.clock.at
    source = {"pressure_source": PressureSource.ROOM_BAROMETER, "pressure": Pressure.from_text("1000 hPa")}
    kitchen.boil(**source, performed_at=now, pressure_read_at=now - 3 * HOUR_US)
    for read_at, code in ((now - 3 * HOUR_US - 1, "too_old"), (kitchen.clock() + HOUR_US, "in_the_future")):
        with kitchen.refuses(("pressure_read_at", code)):
            kitchen.boil(**source, performed_at=now, pressure_read_at=read_at)


@pytest.mark.parametrize(
    ("point", "made", "more", "wanted"),
    [
        ("triple_point", "crushed_packed", {}, ("point", "unknown")),
        ("ice_point", "rolling_boil", {}, ("made", "not_for_this_point")),
        ("ice_point", "crushed_packed", {"container": "metal_pot"}, ("container", "unknown")),
        ("ice_point", "crushed_packed", {"site": "0" * 32}, ("site", "unknown")),
        ("comparison", "hot_flask", {}, ("beside", "needed")),
    ],
)
def test_what_can_be_no_bath(
    kitchen: Kitchen, point: str, made: str, more: dict[str, Any], wanted: tuple[str, str]
) -> None:
    with kitchen.refuses(wanted):
        new = NewBath(**{"site": kitchen.site, "point": point, "made": made} | more)
        baths.make_bath(kitchen.session, kitchen.lead, new)


def test_a_bath_from_paper_was_made_earlier_and_never_later(kitchen: Kitchen) -> None:
    earlier = kitchen.clock() - 5 * HOUR_US
    kitchen.ice(performed_at=earlier)
    assert kitchen.last("bath_made").done_at == earlier
    with kitchen.refuses(("performed_at", "in_the_future")):
        kitchen.ice(performed_at=kitchen.clock() + HOUR_US)


# --- comparison beside a thermometer with an outside certificate ---------------------------------------------


def certified(kitchen: Kitchen, issued: date = date(2025, 3, 3), highest: str = "100 C", **more: Any) -> str:
    """A reference thermometer: +0.1 at 0 °C and -0.3 at its highest point, U 0.1 with k 2."""
    made = kitchen.enrol()
    points = tuple(
        (
            Reading.from_text(at),
            TemperatureDifference.from_text(correction),
            TemperatureDifference.from_text("0.1 dC"),
            Decimal(2),
        )
        for at, correction in (("0 C", "0.1 dC"), (highest, "-0.3 dC"))
    )
    given = OutsideCertificate("C 12", "Fen lab", issued, points, **more)
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, made, given)
    return made


def test_a_certificates_correction_is_interpolated_and_added(kitchen: Kitchen) -> None:
    # Between +0.1 at 0 and -0.3 at 100 °C it is -0.16 at 65; u = 0.1/2, and d/√12 of the 0.1 °C display.
    reference = certified(kitchen)
    kitchen.flask((reference, "65.0 C"))
    made = said(kitchen)
    assert made["reference"] == "64.84 C"
    (beside,) = made["beside"]
    assert (beside["thermometer"], beside["shown"], beside["correction"]) == (reference, "65.0 C", "-0.16 dC")
    assert beside["outside_certificate"] == kitchen.last("outside_certificate_set").payload["outside_certificate"]
    u = sqrt(0.05**2 + 0.1**2 / 12)
    assert made["components"] == {"bath": "0.1155 dC", "reference": f"{u:.4f} dC", "reference_drift": "0 dC"}


def test_outside_a_certificates_range_it_is_refused(kitchen: Kitchen) -> None:
    reference = certified(kitchen, highest="60 C")
    kitchen.flask((reference, "60.0 C"))
    with kitchen.refuses(("beside", "outside_certificate_range")):
        kitchen.flask((reference, "60.1 C"))


def test_a_certificate_is_not_used_before_it_was_issued(kitchen: Kitchen) -> None:
    reference = certified(kitchen, issued=TUESDAY)
    kitchen.flask((reference, "65.0 C"))
    kitchen.clock.move(hours=-6)  # 23:30 of the day before in the kitchen
    with pytest.raises(Refused, match="beside"):
        kitchen.flask((reference, "65.0 C"))


def test_past_its_date_it_is_used_and_widened(kitchen: Kitchen) -> None:
    # 0.2 °C a year, rectangular, for the 365 days since it was issued; twice that past its date (judgement).
    allowance = TemperatureDifference.from_text("0.2 dC")
    u = 0.2 / sqrt(3) * 365 / 365.25
    for due, times in ((TUESDAY, 1), (TUESDAY - timedelta(1), 2)):
        kitchen.flask((certified(kitchen, due=due, drift_allowance=allowance), "65.0 C"))
        assert said(kitchen)["components"]["reference_drift"] == f"{times * u:.4f} dC"


def test_two_with_certificates_have_to_agree(kitchen: Kitchen) -> None:
    first, second = certified(kitchen), certified(kitchen)
    kitchen.flask((first, "65.0 C"), (second, "65.5 C"))
    with kitchen.refuses(("beside", "house_reference_disagrees")):
        kitchen.flask((first, "65.0 C"), (second, "65.6 C"))


@pytest.mark.parametrize("what", ["sensor_changed", "opened", "bent", "water_inside"])
def test_a_certificate_speaks_of_the_thermometer_as_it_was(kitchen: Kitchen, what: str) -> None:
    reference = certified(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, reference, what)
    kitchen.checked(reference, "0.0 C")
    with kitchen.refuses(("beside", "changed_since_certified")):
        kitchen.flask((reference, "65.0 C"))


def test_adjusted_since_it_is_another_too(kitchen: Kitchen) -> None:
    reference = certified(kitchen)
    check = kitchen.checked(reference, "3.0 C", "3.0 C", "3.0 C")
    kitchen.adjust(check, "reset", "0.0 C")
    with kitchen.refuses(("beside", "changed_since_certified")):
        kitchen.flask((reference, "65.0 C"))


# --- comparison beside the house reference -------------------------------------------------------------------


def house(kitchen: Kitchen) -> tuple[str, str]:
    """Two digitals that passed in a judged bath."""
    pair = kitchen.enrol(), kitchen.enrol()
    for one in pair:
        kitchen.checked(one, "0.1 C")
    return pair


def test_two_digitals_that_passed_today_and_agree(kitchen: Kitchen) -> None:
    one, other = house(kitchen)
    kitchen.flask((one, "65.0 C"), (other, "65.5 C"))
    made = said(kitchen)
    assert made["reference"] == "65.25 C"
    assert {each["thermometer"] for each in made["beside"]} == {one, other}
    assert all("check" in each and "outside_certificate" not in each for each in made["beside"])


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        (("65.0 C", "65.6 C"), ("beside", "house_reference_disagrees")),
        (("65.0 C",), ("beside", "two_for_a_house_reference")),
    ],
)
def test_half_a_degree_apart_at_most_and_never_alone(
    kitchen: Kitchen, shown: tuple[str, ...], wanted: tuple[str, str]
) -> None:
    pair = house(kitchen)
    with kitchen.refuses(wanted):
        kitchen.flask(*zip(pair, shown, strict=False))


def test_one_is_not_two(kitchen: Kitchen) -> None:
    one, _ = house(kitchen)
    with kitchen.refuses(("beside", "two_for_a_house_reference")):
        kitchen.flask((one, "65.0 C"), (one, "65.0 C"))


def test_a_pass_of_the_day_before_does_not_count(kitchen: Kitchen) -> None:
    one, other = house(kitchen)
    kitchen.clock.move(hours=25)
    with kitchen.refuses(("beside", "not_passed_today")):
        kitchen.flask((one, "65.0 C"), (other, "65.1 C"))


def test_a_pass_in_a_bath_that_nobody_judged_does_not_count(kitchen: Kitchen) -> None:
    one, other = kitchen.enrol(), kitchen.enrol()
    bath = kitchen.ice()
    for each in (one, other):
        kitchen.key(bath, each, "0.1 C")
    with kitchen.refuses(("beside", "not_passed_today")):
        kitchen.flask((one, "65.0 C"), (other, "65.1 C"))
    kitchen.judge(bath)
    kitchen.flask((one, "65.0 C"), (other, "65.1 C"))


def test_a_dial_is_no_house_reference(kitchen: Kitchen) -> None:
    one, _ = house(kitchen)
    dial = kitchen.dial()
    kitchen.checked(dial, "0 C")
    with kitchen.refuses(("beside", "house_reference_of_digitals")):
        kitchen.flask((one, "65.0 C"), (dial, "65 C"))


def test_digitals_known_at_ice_only_are_no_reference_far_from_it(kitchen: Kitchen) -> None:
    one, other = house(kitchen)
    kitchen.flask((one, "65.0 C"), (other, "65.1 C"))
    with kitchen.refuses(("beside", "not_trusted")):  # their scale may be off by 0.3 % of 95 °C
        kitchen.flask((one, "95.0 C"), (other, "95.1 C"))


def test_one_that_something_happened_to_is_no_reference(kitchen: Kitchen) -> None:
    one, other = house(kitchen)
    reference = certified(kitchen)
    for dropped in (other, reference):
        incidents.report_incident(kitchen.session, kitchen.lead, dropped, "dropped")
    for beside in (((one, "65.0 C"), (other, "65.1 C")), ((reference, "65.0 C"),)):
        with kitchen.refuses(("beside", "reference_not_in_service")):
            kitchen.flask(*beside)


def test_a_reference_is_not_checked_against_itself(kitchen: Kitchen) -> None:
    reference = certified(kitchen)
    bath = kitchen.flask((reference, "65.0 C"))
    with kitchen.refuses(("thermometer", "is_the_reference")):
        kitchen.key(bath, reference, "65.0 C")


# --- judging -------------------------------------------------------------------------------------------------


def test_until_it_is_judged_no_outcome_counts(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    good, bad = kitchen.enrol(), kitchen.enrol()
    bath = kitchen.ice()
    first = kitchen.key(bath, good, "0.1 C").check
    second = kitchen.key(bath, bad, "2.0 C", "2.0 C", "2.0 C").check
    for check, given in ((first, "pass"), (second, "fail")):
        assert (kitchen.check(check).given, kitchen.check(check).outcome) == (given, None)
    assert kitchen.row(good).good_at is None
    assert kitchen.row(good).service_status == "in_service"
    # Nothing is decided, but what was found outside is not trusted meanwhile.
    assert kitchen.row(bad).service_status == "check_first"
    assert kitchen.judge(bath) == {first: "pass", second: "fail"}
    assert kitchen.row(good).good_at == kitchen.check(first).at
    assert kitchen.row(bad).service_status == "check_first"
    assert kitchen.verify().good


def test_a_condemned_bath_decides_nothing(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    good, bad = kitchen.enrol(), kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, good, "0.1 C")
    check = kitchen.key(bath, bad, "2.0 C", "2.0 C", "2.0 C").check
    assert kitchen.judge(bath, "condemned") == {}
    assert kitchen.check(check).outcome is None
    assert (kitchen.row(good).good_at, kitchen.row(bad).service_status) == (None, "in_service")


def test_the_judgement_that_none_replaces_counts(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    bad = kitchen.enrol()
    bath = kitchen.ice()
    check = kitchen.key(bath, bad, "2.0 C", "2.0 C", "2.0 C").check
    for judged, outcome, status in (
        ("accepted", "fail", "check_first"),
        ("condemned", None, "in_service"),
        ("accepted", "fail", "check_first"),
    ):
        kitchen.judge(bath, judged)
        assert (kitchen.check(check).outcome, kitchen.row(bad).service_status) == (outcome, status)
    entries = kitchen.entries("bath_judged")
    assert [one.after for one in entries] == [(), (entries[0].hash,), (entries[1].hash,)]
    assert kitchen.verify().good


def test_overruling_takes_a_reason(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    check = kitchen.key(bath, kitchen.enrol(), "0.1 C").check
    with kitchen.refuses(("why", "needed")):
        kitchen.judge(bath, "overruled")
    assert kitchen.judge(bath, "overruled", why="ice_seen") == {check: "pass"}
    assert kitchen.last("bath_judged").payload["why"] == "ice_seen"
    assert kitchen.check(check).outcome == "pass"


def test_what_is_no_judgement(kitchen: Kitchen) -> None:
    bath = kitchen.ice()
    for judged in ("splendid", "suspect"):  # suspect comes with the diagnosis that widens
        with kitchen.refuses(("judged", "unknown")):
            kitchen.judge(bath, judged)
    with kitchen.refuses(("bath", "unknown_bath")):
        kitchen.judge("0" * 32)


@pytest.mark.parametrize(("judged", "outcome"), [("accepted", "pass"), ("condemned", None)])
def test_a_check_that_comes_late_is_judged_as_its_bath_was(
    any_kitchen: Kitchen, judged: str, outcome: str | None
) -> None:
    kitchen = any_kitchen
    bath = kitchen.ice()
    early = kitchen.key(bath, kitchen.enrol(), "0.1 C").check
    kitchen.judge(bath, judged)
    late = kitchen.key(bath, kitchen.enrol(), "0.2 C").check
    assert (kitchen.check(early).outcome, kitchen.check(late).outcome) == (outcome, outcome)
    said = kitchen.last("bath_judged").payload
    assert (said["judged"], said["judged_by"]) == (judged, "person")
    assert set(said["outcomes"]) == ({early, late} if outcome else set())


def test_open_baths_are_the_last_days_that_nobody_judged(kitchen: Kitchen) -> None:
    def open_now() -> list[str]:
        with kitchen.session.reading() as connection:
            return [one.bath for one in baths.open_baths(kitchen.session, connection, kitchen.site)]

    first = kitchen.ice()
    kitchen.clock.move(hours=1)
    second = kitchen.ice()
    assert open_now() == [second, first]
    kitchen.judge(second)
    assert open_now() == [first]
    kitchen.clock.move(hours=24)
    assert open_now() == []
    with kitchen.session.reading() as connection:
        found = queries.bath(connection, first)
    assert found is not None
    assert found.judged is None
