"""What the program says by itself: once for each thing, not in quiet hours, and again when it comes back."""

from datetime import date

import pytest

from registry.services import incidents, notices, places, rules, thermometers, working_set
from registry.services.notices import Notice, is_quiet
from registry.services.settings import local_file
from registry.services.words import notices as words
from registry.store.local import Local
from tests.services.kitchen import TUESDAY, Kitchen
from tests.services.test_thermometers import certificate


@pytest.fixture
def local(kitchen: Kitchen) -> Local:
    return local_file(kitchen.home)


def told(kitchen: Kitchen, local: Local) -> list[str]:
    return [one.code for one in notices.to_tell(kitchen.session, local)]


def weekly(kitchen: Kitchen) -> str:
    """A digital under the risk-based plan, checked on Tuesday."""
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    return probe


def test_each_thing_is_said_once_and_again_when_it_comes_back(kitchen: Kitchen, local: Local) -> None:
    probe = weekly(kitchen)
    assert told(kitchen, local) == []
    kitchen.clock.move(days=8)
    assert told(kitchen, local) == ["overdue"]
    assert told(kitchen, local) == []
    assert [one.code for one in notices.now(kitchen.session)] == ["overdue"]  # a window shows it all the same
    kitchen.clock.move(days=1)
    assert told(kitchen, local) == ["overdue"]
    kitchen.checked(probe, "0.0 C")
    assert told(kitchen, local) == []
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    assert told(kitchen, local) == ["before_use"]
    kitchen.checked(probe, "0.0 C")
    assert told(kitchen, local) == []
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    assert told(kitchen, local) == ["before_use"]


def test_in_quiet_hours_it_waits(kitchen: Kitchen, local: Local) -> None:
    weekly(kitchen)
    kitchen.clock.move(days=7, hours=22)  # 03:30 local time of the eighth day (the clock has leapt to 04:30)
    assert told(kitchen, local) == []
    kitchen.clock.move(hours=1)
    assert told(kitchen, local) == ["overdue"]


def test_quiet_hours_are_kept_here(kitchen: Kitchen, local: Local) -> None:
    weekly(kitchen)
    notices.set_quiet_hours(local, "00:00-23:59")
    kitchen.clock.move(days=8)
    assert told(kitchen, local) == []
    notices.set_quiet_hours(local, "none")
    assert told(kitchen, local) == ["overdue"]
    with kitchen.refuses(("quiet", "not_hours")):
        notices.set_quiet_hours(local, "9-5")


def at(clock: str) -> int:
    hours, minutes = map(int, clock.split(":"))
    return (hours * 60 + minutes) * 60_000_000


@pytest.mark.parametrize(
    ("clock", "hours", "quiet"),
    [
        ("20:59", "21:00-05:00", False),
        ("21:00", "21:00-05:00", True),
        ("04:59", "21:00-05:00", True),
        ("05:00", "21:00-05:00", False),
        ("13:00", "12:00-14:00", True),
        ("14:00", "12:00-14:00", False),
        ("03:00", "none", False),
    ],
)
def test_quiet(clock: str, hours: str, quiet: bool) -> None:
    assert is_quiet(at(clock), "UTC", hours) is quiet


def test_what_is_kept_and_not_ours_is_said_once_more(kitchen: Kitchen, local: Local) -> None:
    weekly(kitchen)
    kitchen.clock.move(days=8)
    local.set_setting(notices.TOLD, "{")
    assert told(kitchen, local) == ["overdue"]


def test_of_other_sites_what_was_said_stays_said(kitchen: Kitchen, local: Local) -> None:
    weekly(kitchen)
    kitchen.clock.move(days=8)
    assert told(kitchen, local) == ["overdue"]
    assert notices.to_tell(kitchen.session, local, ["elsewhere"]) == []
    assert told(kitchen, local) == []


def test_what_is_over_at_a_site_that_is_asked_alone_is_said_anew(kitchen: Kitchen, local: Local) -> None:
    probe = weekly(kitchen)
    codes = []
    for _ in range(2):
        incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
        codes += [one.code for one in notices.to_tell(kitchen.session, local, [kitchen.site])]
        kitchen.checked(probe, "0.0 C")
        codes += [one.code for one in notices.to_tell(kitchen.session, local, [kitchen.site])]
    assert codes == ["before_use", "before_use"]


def test_what_was_found_counts_as_said_only_once_it_was(kitchen: Kitchen, local: Local) -> None:
    weekly(kitchen)
    kitchen.clock.move(days=8)
    found = notices.now(kitchen.session)
    assert [one.code for one in notices.not_told(kitchen.session, local, found)] == ["overdue"]
    assert [one.code for one in notices.not_told(kitchen.session, local, found)] == ["overdue"]
    notices.count_as_told(local, found, found)
    assert notices.not_told(kitchen.session, local, found) == []


def test_a_shift_that_is_on_and_a_certificate_that_ends(kitchen: Kitchen, local: Local) -> None:
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", (0, 1, 2, 3, 4), TUESDAY
    )
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, probe, certificate(due=date(2026, 3, 20)))
    assert "reference_ends" in told(kitchen, local)
    kitchen.clock.move(days=1)
    assert told(kitchen, local) == ["shift"]
    kitchen.clock.move(days=20)
    assert "reference_ended" in told(kitchen, local)


def test_too_few_usable_ones_are_told(kitchen: Kitchen, local: Local) -> None:
    station = places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Grill")
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    two = [kitchen.enrol(uses=("cold",), station=station) for _ in range(2)]
    for probe in two:
        kitchen.checked(probe, "0.0 C")
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 2})
    assert told(kitchen, local) == []
    incidents.report_incident(kitchen.session, kitchen.lead, two[0], "dropped")
    assert told(kitchen, local) == ["before_use", "too_few"]


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(
    "code", ["before_use", "overdue", "shift", "reference_ends", "reference_ended", "too_few", "plan_not_kept"]
)
def test_every_notice_has_its_sentence(language: str, code: str) -> None:
    values = {
        "too_few": {"station": "Grill", "type": "rtd_probe", "smallest": "2"},
        "plan_not_kept": {"done": "3", "asked": "30"},
    }.get(code, {})
    one = Notice("k", code, "s", "Pier", "UTC", 5, ("A", "B", "C", "D", "E"), date(2026, 3, 20), values)
    said = words.sentence(one, language, "en_US")
    assert said.startswith("Pier")
    if "{tags}" in said or code in ("before_use", "overdue"):
        assert "A, B, C" in said
        assert "D" not in said.replace("Day", "")
