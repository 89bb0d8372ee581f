"""What the record tells the tracker, and what is kept of its answers."""

from dataclasses import replace
from math import hypot, sqrt

import pytest

from registry.compute import drift
from registry.records.thermometers import Scale
from registry.services import bath_watch, incidents, mend, thermometers, tracking
from registry.services.session import open_session
from registry.services.told import DAY_US, Told, told_of
from registry.services.tracking import Tracked
from registry.store.cache import CACHE_NAME
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


# --- what must not be believed -------------------------------------------------------------------------------


@pytest.fixture
def four(kitchen: Kitchen) -> list[str]:
    """Four digitals that read 0.0 in five weekly baths."""
    those = [kitchen.enrol() for _ in range(4)]
    kitchen.always(dict.fromkeys(those, "0.0 C"), 5)
    return those


def test_the_error_of_a_bath_in_doubt_is_taken_off_what_was_read_in_it(kitchen: Kitchen, four: list[str]) -> None:
    bath = kitchen.ice()
    for one in four[1:]:
        kitchen.key(bath, one, "0.8 C")
    out = kitchen.key(bath, four[0], "3.9 C", "3.9 C", "3.9 C")
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    assert kitchen.check(out.check).outcome == "fail"
    seen = told(kitchen, four[0]).history.observations[-1]
    assert seen.offset == pytest.approx(3.1, abs=0.1)
    assert seen.u_new < 0.2  # of the bath's error only what is not known of it is left
    assert told(kitchen, four[0]).seen[-1].as_read == pytest.approx(3.9)
    assert not tracked(kitchen, four[0]).trusted(kitchen.clock.at, 0.0)


def test_what_was_set_to_a_bath_that_was_condemned_is_not_known(kitchen: Kitchen, four: list[str]) -> None:
    bath = kitchen.ice()
    rows = [kitchen.key(bath, one, "1.5 C", "1.5 C", "1.5 C") for one in four]
    kitchen.judge(bath)
    for row in rows:
        kitchen.adjust(row.check, "reset", "0.0 C")
    kitchen.judge(bath, "condemned")
    known = tracked(kitchen, four[0])
    assert known.told.unsettled
    assert known.at(kitchen.clock.at, 0.0).sd > 0.25
    kitchen.clock.at += A_DAY
    good = kitchen.ice()
    for one in four:
        kitchen.key(good, one, "-1.5 C", "-1.5 C", "-1.5 C")
    with kitchen.session.reading() as connection:
        found = bath_watch.watch(kitchen.session, connection, good)
    assert {one.told.basis for one in found.those} == {"none"}
    assert found.diagnosis.verdict == "too_few"  # none of them is evidence, so the good bath is not blamed


def test_a_good_check_that_was_voided_settles_nothing(kitchen: Kitchen, four: list[str]) -> None:
    incidents.report_incident(kitchen.session, kitchen.lead, four[0], "dropped")
    kitchen.clock.move(minutes=1)
    check = kitchen.checked(four[0], "0.0 C")
    assert not told(kitchen, four[0]).unsettled
    mend.void(kitchen.session, kitchen.officer, mend.number_of_check(kitchen.session, check), "mistyped")
    assert told(kitchen, four[0]).unsettled


def test_an_adjustment_is_told_at_the_instant_of_its_check(kitchen: Kitchen, four: list[str]) -> None:
    """So that what both readings of one bath share is reckoned with, minutes apart though they are."""
    bath = kitchen.ice()
    row = kitchen.key(bath, four[0], "1.4 C", "1.4 C", "1.4 C")
    kitchen.judge(bath)
    kitchen.clock.move(minutes=3)
    kitchen.adjust(row.check, "reset", "0.0 C")
    history = told(kitchen, four[0]).history
    assert history.events[-1].at_days == history.observations[-1].at_days
    assert tracked(kitchen, four[0]).at(kitchen.clock.at, 0.0).offset == pytest.approx(0.0, abs=0.05)


def test_an_adjustment_whose_check_was_voided_leaves_nothing_known(kitchen: Kitchen, four: list[str]) -> None:
    check = kitchen.checked(four[0], "1.4 C", "1.4 C", "1.4 C")
    kitchen.adjust(check, "reset", "0.0 C")
    assert not told(kitchen, four[0]).unsettled
    mend.void(kitchen.session, kitchen.officer, mend.number_of_check(kitchen.session, check), "mistyped")
    assert told(kitchen, four[0]).unsettled
    assert not tracked(kitchen, four[0]).trusted(kitchen.clock.at, 0.0)


def test_a_past_check_keeps_the_step_that_it_was_read_to(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    kitchen.checked(one, "0.1 C")
    with kitchen.session.reading() as connection:
        facts = thermometers.thermometer(connection, one).facts
    coarse = replace(facts, scales={"F": Scale(step="2 dF", lowest="0 F", highest="220 F")})
    thermometers.amend(kitchen.session, kitchen.officer, one, coarse, "wrong_range")
    assert told(kitchen, one).history.observations[0].step == pytest.approx(0.1, abs=1e-3)


def test_what_is_read_from_an_older_look_hides_no_later_check(kitchen: Kitchen, four: list[str]) -> None:
    """The window and the job beside it look at the same time; the job's look began before the last check."""
    with kitchen.session.reading() as older:
        of = thermometers.thermometer(older, four[0])
        assert len(told_of(older, [of])[0].history.observations) == 5
        kitchen.checked(four[0], "0.7 C")
        assert len(tracked(kitchen, four[0]).told.history.observations) == 6
        tracking.tracked(kitchen.session, older, [of])
        assert len(tracked(kitchen, four[0]).told.history.observations) == 6


def test_an_older_look_that_ends_last_is_not_kept_as_the_newest(kitchen: Kitchen, four: list[str]) -> None:
    with kitchen.session.reading() as older:
        of = thermometers.thermometer(older, four[0])
        told_of(older, [of])
        kitchen.checked(four[0], "0.7 C")
        tracked(kitchen, four[1])  # by now the session knows of the newest entry
        tracking.tracked(kitchen.session, older, [of])
    assert len(tracked(kitchen, four[0]).told.history.observations) == 6


def test_what_was_learned_of_a_model_counts_at_once(kitchen: Kitchen, four: list[str]) -> None:
    before = tracked(kitchen, four[0]).track.parameters
    with kitchen.session.reading() as connection:
        assert tracking.learn(kitchen.session, connection)
    assert tracked(kitchen, four[0]).track.parameters != before


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("kept", ["{", "[]", '{"offset_walk": "wide"}', "{}"])
def test_what_the_cache_holds_wrongly_is_passed_over(kitchen: Kitchen, four: list[str], kept: str) -> None:
    with kitchen.session.reading() as connection:
        model = tracking.model_of(thermometers.thermometer(connection, four[0]))
    for key in (f"{tracking.VERSION}:many", f"{tracking.VERSION}:5"):
        kitchen.session.cache.keep(model, key, kept)
        kitchen.session.kept.clear()
        assert tracked(kitchen, four[0]).known
    with kitchen.session.reading() as connection:
        tracking.learn(kitchen.session, connection)


def test_who_only_looks_leaves_no_file_behind(kitchen: Kitchen, four: list[str]) -> None:
    looking = open_session(kitchen.home, read_only=True)
    cache = kitchen.home / CACHE_NAME
    cache.unlink(missing_ok=True)
    with looking.reading() as connection:
        assert tracking.tracked(looking, connection, [thermometers.thermometer(connection, four[0])])[four[0]].known
    looking.close()
    assert not cache.exists()
