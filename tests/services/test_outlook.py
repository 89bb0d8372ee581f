"""How a thermometer stands by all its checks, in words' codes and figures."""

from datetime import date
from itertools import pairwise

import pytest

from registry.quantity import TemperatureDifference
from registry.services import incidents, outlook, thermometers, tracking
from registry.services.baths import PressureSource
from registry.services.outlook import Outlook
from tests.services.kitchen import DAY_US, DIGITAL_F, ZONE, Kitchen

ONE = TemperatureDifference.from_text("1 dC")


def seen(kitchen: Kitchen, one: str, tolerance: TemperatureDifference | None = ONE, **more: object) -> Outlook:
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        known = tracking.tracked(kitchen.session, connection, [of])[one]
    return outlook.outlook(known, kitchen.clock.at, tolerance, zone=ZONE, **more)  # type: ignore[arg-type]


def checked(kitchen: Kitchen, one: str, readings: list[str], days: int = 7) -> None:
    for reading in readings:
        kitchen.checked(one, reading)
        kitchen.clock.at += days * DAY_US


def test_never_measured(kitchen: Kitchen) -> None:
    found = seen(kitchen, kitchen.enrol())
    assert (found.says, found.offset, found.out) == ("never", None, None)


def test_steady(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.2 C", "0.1 C", "0.2 C", "0.2 C"])
    found = seen(kitchen, one)
    assert (found.says, found.checks) == ("steady", 4)
    assert found.offset is not None
    assert float(found.offset.value) == pytest.approx(0.18, abs=0.06)
    assert found.out is not None
    assert found.out < 0.01
    assert found.out_on is not None
    assert found.out_on > date(2026, 6, 1)


def test_drifting_and_when_it_may_be_out(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, [f"{week * 0.03:.1f} C" for week in range(26)])
    with kitchen.session.reading() as connection:
        tracking.learn(kitchen.session, connection)
    found = seen(kitchen, one)
    assert found.says == "drifting"
    assert found.a_month is not None
    assert float(found.a_month.value) == pytest.approx(0.03 * 30.44 / 7, rel=0.25)  # as the readings were made
    assert found.out_on is not None
    assert date(2026, 8, 31) <= found.out_on < date(2026, 12, 1)


def test_one_that_failed_is_not_excused_by_a_chance(kitchen: Kitchen) -> None:
    """Whatever a good history makes of its last reading: it failed, confirmed by repeats."""
    one = kitchen.enrol()
    checked(kitchen, one, ["0.1 C", "0.2 C", "0.1 C", "0.1 C"])
    kitchen.checked(one, "1.3 C", "1.3 C", "1.3 C")
    found = seen(kitchen, one)
    assert (found.says, found.out, found.out_on) == ("failed", None, None)


def test_one_check_says_nothing_of_drift(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    for count in range(1, 4):
        kitchen.checked(one, "0.1 C")
        assert seen(kitchen, one).says == ("steady" if count == 3 else "young")
        kitchen.clock.at += DAY_US


def test_out(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.9 C")
    found = seen(kitchen, one, TemperatureDifference.from_text("0.5 dC"))  # a tighter tolerance came into force
    assert found.says == "out"
    assert found.out is not None
    assert found.out > 0.9
    assert found.out_on == date(2026, 3, 3)  # today


def test_after_a_drop_until_it_is_checked(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.2 C", "0.1 C", "0.2 C"])
    before = seen(kitchen, one)
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    after = seen(kitchen, one)
    assert after.says == "unsettled"
    assert after.expanded is not None
    assert before.expanded is not None
    assert after.expanded.value > before.expanded.value
    kitchen.checked(one, "0.2 C")
    assert seen(kitchen, one).says == "steady"


def test_in_the_unit_of_the_dial(kitchen: Kitchen) -> None:
    one = kitchen.enrol(DIGITAL_F)
    checked(kitchen, one, ["32.9 F", "32.9 F", "32.9 F"])
    in_c, in_f = seen(kitchen, one), seen(kitchen, one, unit="F")
    assert in_c.offset is not None
    assert in_f.offset is not None
    assert float(in_f.offset.value) == pytest.approx(1.8 * float(in_c.offset.value), abs=1e-3)
    assert float(in_f.offset.value) == pytest.approx(0.9, abs=0.05)


def test_without_a_rule_nothing_is_said_of_being_out(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    found = seen(kitchen, one, None)
    assert (found.out, found.out_on) == (None, None)
    assert found.offset is not None


def test_where_it_is_checked_most(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.1 C"])
    for _ in range(2):
        bath = kitchen.boil(pressure_source=PressureSource.ELEVATION)
        kitchen.key(bath, one, "99.5 C")
        kitchen.judge(bath)
    assert seen(kitchen, one).celsius == pytest.approx(99.6, abs=0.1)  # 120 m above the sea


def test_the_chart_follows_past_and_forecast(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.2 C", "0.1 C", "0.2 C"])
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        known = tracking.tracked(kitchen.session, connection, [of])[one]
    found = outlook.followed(known, 0.0, kitchen.clock.at)
    past, ahead = [one for one in found if not one.ahead], [one for one in found if one.ahead]
    assert len(past) == 3
    assert all(later.spread > sooner.spread for sooner, later in pairwise(ahead))
    assert ahead[0].at >= past[-1].at
