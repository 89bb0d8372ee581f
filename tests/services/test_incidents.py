"""What happened to a thermometer, and whom it concerns."""

import pytest

from registry.services import incidents, mend, thermometers
from registry.services.thermometers import PartGiven
from registry.store.summary import UNSETTLING
from tests.services.kitchen import HOUR_US, Kitchen


def report(kitchen: Kitchen, thermometer: str, what: str = "dropped", **more: object) -> incidents.Reported:
    return incidents.report_incident(kitchen.session, kitchen.lead, thermometer, what, **more)  # type: ignore[arg-type]


def two_probes_on_one_meter(kitchen: Kitchen) -> tuple[str, str]:
    first = kitchen.enrol(whole=PartGiven("Marsh"), sensor=PartGiven("Fen"))
    with kitchen.session.reading() as connection:
        parts = thermometers.thermometer(connection, first).parts
    assert parts is not None
    return first, kitchen.enrol(indicator=parts.indicator, sensor=PartGiven("Fen"))


@pytest.mark.fast_cases(6)
@pytest.mark.parametrize("what", [one for one in UNSETTLING if one != "lost"])
def test_after_any_of_them_it_is_checked_first_until_good(kitchen: Kitchen, what: str) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    report(kitchen, probe, what)
    assert (kitchen.row(probe).service_status, kitchen.row(probe).incident) == ("check_first", what)
    kitchen.checked(probe, "3.0 C", "3.0 C", "3.0 C")
    assert kitchen.row(probe).service_status == "check_first"
    kitchen.checked(probe, "0.2 C")
    assert (kitchen.row(probe).service_status, kitchen.row(probe).incident) == ("in_service", None)


def test_before_it_was_enrolled_nothing_can_have_happened_to_it(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    enrolled_at = kitchen.row(probe).enrolled_at or 0
    with kitchen.refuses(("performed_at", "before_enrolment")):
        report(kitchen, probe, performed_at=enrolled_at - HOUR_US)
    report(kitchen, probe, performed_at=enrolled_at - enrolled_at % 60_000_000)  # the minute of it, as it is typed


def test_the_same_of_the_same_instant_records_once(kitchen: Kitchen) -> None:
    probe, then = kitchen.enrol(), kitchen.clock()
    first = report(kitchen, probe, performed_at=then)
    assert report(kitchen, probe, performed_at=then).incident == first.incident
    assert len(kitchen.entries("incident_reported")) == 1
    report(kitchen, probe, "bumped", performed_at=then)
    report(kitchen, probe, performed_at=then + 1)
    assert len(kitchen.entries("incident_reported")) == 3


def test_what_was_taken_back_can_be_said_again(kitchen: Kitchen) -> None:
    probe, then = kitchen.enrol(), kitchen.clock()
    report(kitchen, probe, performed_at=then)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("incident_reported").number, "mistyped")
    report(kitchen, probe, performed_at=then)
    assert kitchen.row(probe).service_status == "check_first"


def test_a_check_in_a_bath_that_nobody_judged_settles_nothing(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    probe = kitchen.enrol()
    report(kitchen, probe)
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    assert kitchen.row(probe).service_status == "check_first"
    kitchen.judge(bath)
    assert kitchen.row(probe).service_status == "in_service"


def test_one_that_happened_before_the_last_good_check_harms_nothing(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    then = kitchen.clock()
    kitchen.clock.move(hours=1)
    kitchen.checked(probe, "0.1 C")
    report(kitchen, probe, performed_at=then)
    assert kitchen.row(probe).service_status == "in_service"


@pytest.mark.parametrize(("first", "status"), [("incident", "in_service"), ("check", "check_first")])
def test_of_two_at_one_instant_the_later_entry_counts(any_kitchen: Kitchen, first: str, status: str) -> None:
    kitchen = any_kitchen
    probe, then = kitchen.enrol(), kitchen.clock()
    bath = kitchen.ice(performed_at=then)
    kitchen.clock.move(minutes=1)

    def check() -> None:
        kitchen.key(bath, probe, "0.1 C", performed_at=then)
        kitchen.judge(bath)

    def drop() -> None:
        report(kitchen, probe, performed_at=then)

    for act in (drop, check) if first == "incident" else (check, drop):
        act()
    assert kitchen.row(probe).service_status == status
    assert kitchen.verify().good


def test_a_shared_meters_battery_concerns_its_probes(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    first, second = two_probes_on_one_meter(kitchen)
    alone = kitchen.enrol(whole=PartGiven("Marsh"), sensor=PartGiven("Fen"))
    reported = report(kitchen, first, "battery_changed")
    assert set(reported.thermometers) == {first, second}
    assert [kitchen.row(one).service_status for one in (first, second, alone)] == ["check_first"] * 2 + ["in_service"]
    one, other = kitchen.entries("incident_reported")
    assert one.payload["incident"] == other.payload["incident"] == reported.incident
    assert one.payload["part"] == other.payload["part"]


def test_a_drop_concerns_the_probe_alone(kitchen: Kitchen) -> None:
    first, second = two_probes_on_one_meter(kitchen)
    assert report(kitchen, first, "dropped").thermometers == (first,)
    assert kitchen.row(second).service_status == "in_service"


def test_a_second_press_records_once(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    first, _ = two_probes_on_one_meter(kitchen)
    incident = kitchen.session.new_id()
    reports = [report(kitchen, first, "battery_low", incident=incident) for _ in range(2)]
    assert reports[0] == reports[1]
    assert len(kitchen.entries("incident_reported")) == 2  # one for each probe


def test_lost_and_found(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    report(kitchen, probe, "lost")
    assert kitchen.row(probe).service_status == "lost"
    report(kitchen, probe, "found")
    assert kitchen.row(probe).service_status == "check_first"
    kitchen.checked(probe, "0.1 C")
    assert kitchen.row(probe).service_status == "in_service"


def test_found_does_not_bring_a_retired_one_back(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "retired")
    for what in ("found", "lost"):
        with kitchen.refuses(("thermometer", "is_retired")):
            report(kitchen, probe, what)
    assert kitchen.row(probe).service_status == "retired"


def test_to_be_found_lifts_no_limit(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    thermometers.set_status(kitchen.session, kitchen.officer, probe, "limited_use", only="cold")
    report(kitchen, probe, "lost")
    report(kitchen, probe, "found")
    assert (kitchen.row(probe).status, kitchen.last("service_status_set").payload["only"]) == ("limited_use", "cold")


def test_a_lost_one_keeps_its_tag_id(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(tag_id="AB1")
    report(kitchen, probe, "lost")
    with kitchen.refuses(("tag_id", "taken")):
        kitchen.enrol(tag_id="AB1")
    report(kitchen, probe, "found")
    assert kitchen.row(probe).service_status == "check_first"


def test_what_is_refused(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    with kitchen.refuses(("what", "unknown")):
        report(kitchen, probe, "shouted_at")
    with kitchen.refuses(("performed_at", "in_the_future")):
        report(kitchen, probe, performed_at=kitchen.clock() + HOUR_US)
    with kitchen.refuses(("thermometer", "unknown_thermometer")):
        report(kitchen, "0" * 32)
