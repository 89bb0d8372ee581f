"""How models, makers, types and sites drift, and what incidents do: from the record alone."""

from dataclasses import replace

import pytest

from registry.services import groups, incidents
from registry.services.problems import Refused
from registry.services.thermometers import PartGiven
from tests.services.kitchen import DAY_US, Kitchen

WORN, GOOD = PartGiven("Acme", "Worn"), PartGiven("Acme", "Good")


def checked(kitchen: Kitchen, weeks: int = 16) -> None:
    """Three of a model that gains 0.1 °C in four weeks, three that stay, one of no known model."""
    worn = [kitchen.enrol(whole=WORN) for _ in range(3)]
    good = [kitchen.enrol(whole=GOOD) for _ in range(3)]
    other = kitchen.dial()
    for week in range(weeks):
        bath = kitchen.ice()
        for n, one in enumerate(worn):
            kitchen.key(bath, one, f"{0.025 * week + 0.1 * n:.1f} C")
        for one in good:
            kitchen.key(bath, one, "0.1 C")
        kitchen.key(bath, other, "0.5 C")
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US


def test_the_worn_model_is_at_the_top(kitchen: Kitchen) -> None:
    checked(kitchen)
    found = groups.groups(kitchen.session, "model").groups
    assert [one.key for one in found] == ["Acme Worn", "Acme Good", ""]
    worn, good, other = found
    assert (worn.thermometers, worn.checks, worn.told, worn.types) == (3, 48, 3, ("thermistor_probe",))
    assert worn.wears
    assert not good.wears
    assert (good.at_least, other.at_least) == (0.0, 0.0)
    assert 0.06 < worn.a_month < 0.025 * 30.4375 / 7  # as the readings were made, pulled a little to the type
    assert worn.low < worn.a_month < worn.high
    assert abs(good.a_month) < 0.03


def test_makers_types_and_sites(kitchen: Kitchen) -> None:
    checked(kitchen)
    by_maker = groups.groups(kitchen.session, "maker").groups
    assert {one.key: one.thermometers for one in by_maker} == {"Acme": 6, "": 1}
    by_type = groups.groups(kitchen.session, "type").groups
    assert {one.key: (one.thermometers, one.checks) for one in by_type} == {
        "thermistor_probe": (6, 96),
        "bimetal_stem": (1, 16),
    }
    (site,) = groups.groups(kitchen.session, "site").groups
    assert (site.key, site.thermometers, site.types) == (kitchen.site, 7, ("bimetal_stem", "thermistor_probe"))
    with pytest.raises(Refused):
        groups.groups(kitchen.session, "colour")


def test_one_check_tells_nothing_of_a_drift(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(whole=WORN), "0.1 C")
    (found,) = groups.groups(kitchen.session, "model").groups
    assert (found.thermometers, found.checks, found.told, found.a_month) == (1, 1, 0, 0.0)
    assert found.low < 0 < found.high


def test_a_model_is_one_group_however_it_was_typed(kitchen: Kitchen) -> None:
    """As it is learned: tracking takes these for one model too."""
    for maker in ("Brisa", "Brisa", "BRISA"):
        kitchen.checked(kitchen.enrol(whole=replace(GOOD, maker=maker)), "0.1 C")
    (found,) = groups.groups(kitchen.session, "maker").groups
    assert (found.key, found.thermometers) == ("Brisa", 3)


def test_incidents_are_told_of_a_site_and_a_type_only(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    for _ in range(4):
        kitchen.checked(probe, "0.1 C")
        kitchen.clock.at += DAY_US
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.clock.at += DAY_US
    kitchen.checked(probe, "0.8 C")

    def told(**asked: str) -> list[int]:
        return [one.told for one in groups.incidents(kitchen.session, **asked).incidents]

    assert told() == told(site=kitchen.site) == told(type="thermistor_probe") == [1]
    assert told(site="elsewhere") == told(type="bimetal_stem") == []


def test_an_adjustment_is_no_drift(kitchen: Kitchen) -> None:
    one = kitchen.dial(whole=GOOD)
    for shown in (["0.5 C"], ["0.5 C"], ["0.5 C"], ["2 C"] * 3):
        check = kitchen.checked(one, *shown)
        kitchen.clock.at += 7 * DAY_US
    kitchen.clock.at -= 7 * DAY_US
    kitchen.adjust(check, "nut", "0 C")
    before = groups.groups(kitchen.session, "model").groups[0].a_month
    for _ in range(3):
        kitchen.clock.at += 7 * DAY_US
        kitchen.checked(one, "0 C")
    assert abs(groups.groups(kitchen.session, "model").groups[0].a_month) <= abs(before)


def test_what_incidents_do(kitchen: Kitchen) -> None:
    dropped, shocked = kitchen.enrol(), kitchen.enrol()
    for _ in range(8):
        for one in (dropped, shocked):
            kitchen.checked(one, "0.1 C")
        kitchen.clock.at += 7 * DAY_US
    incidents.report_incident(kitchen.session, kitchen.lead, dropped, "dropped")
    incidents.report_incident(kitchen.session, kitchen.lead, shocked, "temperature_shock")
    nothing = groups.incidents(kitchen.session)
    assert (nothing.incidents, nothing.unreported) == ((), 0)  # not checked since
    for _ in range(3):
        kitchen.clock.at += DAY_US
        kitchen.checked(dropped, "0.8 C")
        kitchen.checked(shocked, "0.1 C")
    drop, shock = groups.incidents(kitchen.session).incidents
    assert (drop.what, drop.told, drop.stepped) == ("dropped", 1, 1)
    assert drop.size == pytest.approx(0.7, abs=0.1)
    assert drop.low > 0
    assert (drop.share_low, drop.share_high) == (pytest.approx(0.025), 1.0)  # one in one: Clopper and Pearson
    assert (shock.what, shock.told, shock.stepped) == ("temperature_shock", 1, 0)
    assert shock.low < 0 < shock.high
