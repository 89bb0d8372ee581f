"""How a thermometer stands by all its checks, in words' codes and figures."""

from datetime import date
from itertools import pairwise

import pytest

from registry.quantity import TemperatureDifference, Unit
from registry.records.rules import PlanRule
from registry.services import duelist, incidents, outlook, places, thermometers, tracking
from registry.services.baths import PressureSource
from registry.services.outlook import Outlook
from registry.services.words import outlook as words
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


def boiled(kitchen: Kitchen, one: str, shown: str) -> None:
    bath = kitchen.boil(pressure_source=PressureSource.ELEVATION)
    kitchen.key(bath, one, shown)
    kitchen.judge(bath)


def test_without_a_chance_it_is_told_of_where_it_is_checked_most(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.1 C"])
    for _ in range(2):
        boiled(kitchen, one, "99.5 C")
    found = seen(kitchen, one, None)
    assert found.celsius == pytest.approx(99.6, abs=0.1)  # 120 m above the sea
    assert [(point.kind, point.checks) for point in found.points] == [("boiling_point", 2), ("ice_point", 1)]


def test_its_worst_point_speaks_for_it(kitchen: Kitchen) -> None:
    """Right in five ice baths, 0.9 °C off in its one boiling bath."""
    one = kitchen.enrol()
    checked(kitchen, one, ["0.0 C"] * 5)
    boiled(kitchen, one, "100.5 C")
    found = seen(kitchen, one)
    boiling, ice = found.points
    assert (found.kind, boiling.kind, ice.kind) == ("boiling_point", "boiling_point", "ice_point")
    assert (found.offset, found.expanded, found.out) == (boiling.offset, boiling.expanded, boiling.out)
    assert boiling.out is not None
    assert ice.out is not None
    assert ice.out < 0.01 < 0.2 < boiling.out
    assert ice.out_on is not None
    assert found.out_on == boiling.out_on == date(2026, 4, 7)  # today
    assert ice.out_on > date(2026, 5, 1)


def test_it_is_told_in_words_where(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.0 C"] * 5)
    boiled(kitchen, one, "100.5 C")
    found = seen(kitchen, one)
    goes, known, chance, elsewhere = words.sentences(found, "en", "en_US", date(2026, 4, 7))
    assert goes.endswith("so near its limit at the boiling point that it may be out of tolerance already.")
    assert known.endswith("at the boiling point.")
    assert chance.startswith("Chance that it is out of tolerance there today: ")
    assert elsewhere.startswith("Off by ")
    assert elsewhere.endswith(" at the ice point; chance to be out there: under 1\u00a0%.")
    spanish = " ".join(words.sentences(found, "es", "es_ES", date(2026, 4, 7)))
    assert "en el punto de ebullición" in spanish
    assert "en el punto de hielo; probabilidad de estar fuera allí: menos del 1\u00a0%." in spanish


@pytest.mark.parametrize(
    ("kind", "celsius", "unit", "said", "short"),
    [
        ("ice_point", 0.0, "C", "at the ice point", "ice"),
        ("comparison", 60.2, "C", "in a comparison at 60\u00a0°C", "comparison, 60\u00a0°C"),
        ("comparison", 60.2, "F", "in a comparison at 140\u00a0°F", "comparison, 140\u00a0°F"),
        ("", 98.7, "C", "at about 99\u00a0°C", "about 99\u00a0°C"),
        ("comparison", -18.4, "C", "in a comparison at \u221218\u00a0°C", "comparison, \u221218\u00a0°C"),
    ],
)
def test_a_point_in_words(kind: str, celsius: float, unit: Unit, said: str, short: str) -> None:
    assert words.at_point(kind, celsius, unit, "en", "en_US") == said
    assert words.point(kind, celsius, unit, "en", "en_US") == short


def test_a_plan_by_forecast_goes_by_the_point_that_is_out_first(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked(kitchen, one, ["0.0 C"] * 5)
    kitchen.plan(PlanRule(rule="forecast"))

    def day() -> date:
        with kitchen.session.reading() as connection:
            (fact,) = places.sites(connection)
            at = duelist.at_site(connection, fact, kitchen.clock.at)
            return duelist.forecast_days(kitchen.session, connection, at, [kitchen.row(one)])[one]

    by_ice = day()
    boiled(kitchen, one, "100.5 C")
    assert day() == date(2026, 4, 7) < by_ice


def test_an_adjustment_ends_no_point_and_a_new_sensor_does(kitchen: Kitchen) -> None:
    one = kitchen.dial()
    boiled(kitchen, one, "99 C")
    check = kitchen.checked(one, "2 C", "2 C", "2 C")
    kitchen.adjust(check, "nut", "0 C")
    assert {point.kind for point in seen(kitchen, one).points} == {"boiling_point", "ice_point"}
    incidents.report_incident(kitchen.session, kitchen.lead, one, "sensor_changed")
    kitchen.clock.at += DAY_US
    kitchen.checked(one, "0 C")
    assert [(point.kind, point.checks) for point in seen(kitchen, one).points] == [("ice_point", 1)]


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
