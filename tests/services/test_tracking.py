"""What the record tells the tracker, and what is kept of its answers."""

from math import hypot, sqrt

import pytest

from registry.compute import drift
from registry.services import incidents, mend, thermometers, tracking
from registry.services.told import DAY_US, Told, told_of
from registry.services.tracking import Tracked
from tests.services.kitchen import DAY_US as A_DAY
from tests.services.kitchen import DIAL_F, Kitchen


def told(kitchen: Kitchen, one: str) -> Told:
    with kitchen.session.reading() as connection:
        return told_of(connection, [thermometers.thermometer(connection, one)])[0]


def tracked(kitchen: Kitchen, one: str) -> Tracked:
    with kitchen.session.reading() as connection:
        return tracking.tracked(kitchen.session, connection, [thermometers.thermometer(connection, one)])[one]


def checked_daily(kitchen: Kitchen, one: str, *shown: str) -> None:
    for reading in shown:
        kitchen.checked(one, reading)
        kitchen.clock.at += A_DAY


def test_a_check_in_a_judged_bath_is_told_in_celsius(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_F)
    kitchen.checked(dial, "33 F")
    (seen,) = told(kitchen, dial).history.observations
    assert seen.offset == pytest.approx(5 / 9, abs=1e-4)
    # A dial of 2 °F is read to half a division; its resolution was frozen with four decimals.
    assert seen.step == pytest.approx(5 / 9, abs=1e-4 * 3.5 / 2)
    assert seen.temperature == 0.0
    with kitchen.session.reading() as connection:
        kind = thermometers.thermometer(connection, dial).type
    assert kind.stem is not None
    # Repeatability is new each time; bath and depth of the stem are shared; the step is the tracker's own business.
    assert seen.u_new == pytest.approx(kind.repeatability.value, abs=1e-4)
    assert told(kitchen, dial).shared_at(0.0) == pytest.approx(hypot(0.1 / sqrt(3), kind.stem.value), abs=1e-4)


def test_what_waits_or_was_condemned_or_voided_is_not_told(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, one, "0.2 C")
    assert told(kitchen, one).history.observations == ()
    kitchen.judge(bath, "condemned")
    assert told(kitchen, one).history.observations == ()
    check = kitchen.checked(one, "0.3 C")
    assert [seen.offset for seen in told(kitchen, one).history.observations] == [0.3]
    number = mend.number_of_check(kitchen.session, check)
    mend.void(kitchen.session, kitchen.officer, number, "mistyped")
    assert told(kitchen, one).history.observations == ()


def test_repeats_make_the_mean_surer(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.2 C")
    kitchen.clock.at += A_DAY
    kitchen.checked(one, "1.5 C", "1.4 C", "1.6 C")
    single, mean = told(kitchen, one).history.observations
    assert mean.offset == pytest.approx(1.5)
    assert mean.u_new < single.u_new


def test_adjustments_and_incidents_are_events(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    bath = kitchen.ice()
    row = kitchen.key(bath, one, "1.5 C", "1.5 C", "1.5 C")
    kitchen.judge(bath)
    kitchen.adjust(row.check, "trim", "0.1 C")
    kitchen.clock.at += A_DAY
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    adjusted, dropped = told(kitchen, one).history.events
    assert (adjusted.kind, adjusted.as_left) == ("adjusted", 0.1)
    assert dropped.kind == "incident"
    assert told(kitchen, one).unsettled


def test_an_adjustment_that_was_not_measured_leaves_nothing_known(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    row_check = kitchen.checked(one, "1.5 C", "1.5 C", "1.5 C")
    kitchen.adjust(row_check, "trim", None)
    (event,) = told(kitchen, one).history.events
    assert event.kind == "sensor_changed"
    assert not tracked(kitchen, one).trusted(kitchen.clock.at, 0.0)


def test_trusted_after_steady_checks_until_it_is_dropped(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    assert not tracked(kitchen, one).known
    checked_daily(kitchen, one, "0.1 C", "0.2 C", "0.1 C", "0.1 C")
    found = tracked(kitchen, one)
    assert found.trusted(kitchen.clock.at, 0.0)
    assert found.at(kitchen.clock.at, 0.0).offset == pytest.approx(0.12, abs=0.05)
    assert not found.trusted(kitchen.clock.at, 100.0)  # checked at ice only: its scale may be off by 0.3 %
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    assert not tracked(kitchen, one).trusted(kitchen.clock.at, 0.0)


def test_carried_on_as_if_tracked_from_the_beginning(kitchen: Kitchen) -> None:
    one, other = kitchen.enrol(), kitchen.enrol()
    checked_daily(kitchen, one, "0.1 C", "0.2 C")
    first = tracked(kitchen, one)
    kitchen.checked(other, "0.4 C")
    assert tracked(kitchen, one) is first  # nothing was recorded about it
    checked_daily(kitchen, one, "0.3 C", "0.3 C")
    carried = tracked(kitchen, one)
    fresh = drift.track(carried.told.history.observations, carried.told.history.events, carried.track.parameters)
    assert len(carried.told.history.observations) == 4
    assert carried.track.now == fresh.now


def test_a_bath_judged_later_is_noticed(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, one, "0.2 C")
    assert not tracked(kitchen, one).known
    kitchen.judge(bath)
    assert tracked(kitchen, one).known


def test_models_are_learned_and_kept(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(2)]
    for reading in ("0.1 C", "0.3 C", "0.2 C", "0.4 C", "0.2 C", "0.3 C"):
        for one in those:
            kitchen.checked(one, reading)
        kitchen.clock.at += A_DAY
    before = tracked(kitchen, those[0]).track.parameters
    with kitchen.session.reading() as connection:
        assert tracking.learn(kitchen.session, connection) == 1
        assert tracking.learn(kitchen.session, connection) == 0  # nothing new to learn from
    kitchen.session.kept.clear()
    after = tracked(kitchen, those[0]).track.parameters
    assert (before.instruments, after.instruments) == (0, 2)
    assert after.noise_scale != before.noise_scale
    assert DAY_US == A_DAY


def test_a_lost_or_broken_cache_costs_nothing_but_time(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    checked_daily(kitchen, one, "0.1 C", "0.2 C")
    assert kitchen.session.cache.path is not None
    kitchen.session.cache.path.write_bytes(b"no database")
    with kitchen.session.reading() as connection:
        tracking.learn(kitchen.session, connection)
    assert tracked(kitchen, one).known
