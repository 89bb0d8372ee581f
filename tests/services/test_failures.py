"""Failed checks of a period: each is listed, whatever became of its thermometer."""

from datetime import timedelta
from decimal import Decimal

from registry.quantity import Length
from registry.services import failures, importing, mend, places, thermometers
from registry.services.failures import Done, Failure
from registry.services.importing import Options
from registry.services.places import NewSite
from registry.services.session import day_at, midnight
from registry.services.words import failures as words
from tests.services.kitchen import DIAL_C, HOUR_US, ZONE, Kitchen


def one(kitchen: Kitchen, **more: object) -> Failure:
    (found,) = failures.failures(kitchen.session, **more).rows  # type: ignore[arg-type]
    return found


def fails(kitchen: Kitchen, thermometer: str) -> str:
    return kitchen.checked(thermometer, "3 C", "3 C", "3 C")


def test_one_that_was_taken_out_of_use_after_it_failed_is_listed_still(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    dial = kitchen.dial(DIAL_C)
    kitchen.checked(dial, "0 C")
    good_at = kitchen.row(dial).good_ice_at
    kitchen.clock.move(days=3)
    check = fails(kitchen, dial)
    assert (one(kitchen).now, one(kitchen).done) == ("open", ())
    kitchen.clock.move(hours=1)
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "outside", check)
    found = one(kitchen)
    assert (found.check, found.tag_id, found.site) == (check, kitchen.tag(dial), kitchen.site)
    assert (found.good_before, found.at) == (good_at, kitchen.check(check).at)
    assert [each.what for each in found.done] == ["taken_out"]
    assert (found.now, found.now_at) == ("away", found.done[0].at)
    assert words.now(found, "en", "en_US").startswith("not in use since March")
    assert words.now(found, "es", "es_ES").startswith("no está en uso desde el ")
    assert str(found.offset.text() if found.offset else "") == "3 dC"


def test_adjusted_and_good_is_resolved_and_adjusted_and_outside_is_not(kitchen: Kitchen) -> None:
    held, not_held = kitchen.dial(DIAL_C), kitchen.dial(DIAL_C)
    first, second = fails(kitchen, held), fails(kitchen, not_held)
    kitchen.adjust(first, "nut", "0.5 C")
    kitchen.adjust(second, "nut", "2.5 C")
    found = {each.thermometer: each for each in failures.failures(kitchen.session).rows}
    assert ([each.what for each in found[held].done], found[held].now) == (["adjusted"], "good")
    assert ([each.what for each in found[not_held].done], found[not_held].now) == (["adjusted_outside"], "open")
    assert failures.failures(kitchen.session).open == 1


def test_good_at_another_point_resolves_nothing(kitchen: Kitchen) -> None:
    """A thermometer off at ice is not right again because it is right at boiling."""
    dial = kitchen.dial(DIAL_C)
    fails(kitchen, dial)
    kitchen.clock.move(hours=1)
    bath = kitchen.boil()
    kitchen.key(bath, dial, "99 C")
    kitchen.judge(bath)
    kitchen.clock.move(hours=1)
    assert one(kitchen).now == "open"
    kitchen.checked(dial, "0 C")
    found = one(kitchen)
    assert (found.now, found.done) == ("good", ())


def test_put_back_unchecked_is_open_again(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    fails(kitchen, dial)
    kitchen.clock.move(hours=1)
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "outside")
    kitchen.clock.move(hours=1)
    thermometers.set_status(kitchen.session, kitchen.officer, dial, "in_service")
    found = one(kitchen)
    assert ([each.what for each in found.done], found.now, found.now_at) == (["taken_out"], "open", None)
    assert found.good_before is None


def test_a_failed_check_that_was_voided_is_listed_as_such(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    fails(kitchen, dial)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    assert one(kitchen).voided
    assert kitchen.row(dial).failed_at is not None  # and the thermometer has to be checked all the same


def test_it_is_narrowed_by_site_type_and_period(kitchen: Kitchen) -> None:
    dial, probe = kitchen.dial(DIAL_C), kitchen.enrol()
    fails(kitchen, dial)
    kitchen.clock.move(days=30)
    fails(kitchen, probe)
    found = failures.failures(kitchen.session)
    assert [each.thermometer for each in found.rows] == [probe, dial]  # the newest first
    assert [each.thermometer for each in failures.failures(kitchen.session, weeks=4).rows] == [probe]
    assert one(kitchen, type="bimetal_stem").thermometer == dial
    assert len(failures.failures(kitchen.session, site=kitchen.site).rows) == 2
    assert failures.failures(kitchen.session, site="00" * 16).rows == ()
    with kitchen.refuses(("weeks", "choose")):
        failures.failures(kitchen.session, weeks=0)
    with kitchen.refuses(("type", "choose")):
        failures.failures(kitchen.session, type="spoon")


def test_a_bath_that_was_condemned_makes_no_failure(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    bath = kitchen.ice()
    kitchen.key(bath, dial, "3 C", "3 C", "3 C")
    assert failures.failures(kitchen.session).rows == ()  # not judged yet
    kitchen.judge(bath, "condemned", why="ice_seen")
    assert failures.failures(kitchen.session).rows == ()


def test_a_sensor_that_was_changed_is_told(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(type="thermocouple_probe")
    fails(kitchen, probe)
    kitchen.clock.move(hours=1)
    thermometers.change_sensor(kitchen.session, kitchen.lead, probe, thermometers.PartGiven("Brisa", "", "1"))
    found = one(kitchen)
    assert found.done == (Done("sensor_changed", found.done[0].at),)
    assert found.now == "open"


def test_a_period_begins_with_its_day_there(kitchen: Kitchen) -> None:
    """Whenever of that day the question is asked, and whatever day it is in Greenwich."""
    dial = kitchen.dial(DIAL_C)
    day = day_at(kitchen.clock.at, ZONE) + timedelta(days=1)
    kitchen.clock.at = midnight(day, ZONE) - HOUR_US
    fails(kitchen, dial)
    kitchen.clock.at = midnight(day, ZONE) + HOUR_US
    first = fails(kitchen, dial)
    kitchen.clock.at = midnight(day + timedelta(weeks=2), ZONE) + 23 * HOUR_US
    assert one(kitchen, weeks=2).check == first


def test_one_that_a_wrong_clock_put_ahead_of_today_is_listed(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    kitchen.clock.move(days=3)
    check = fails(kitchen, dial)
    kitchen.clock.move(days=-2)
    assert (one(kitchen).check, one(kitchen).now) == (check, "open")
    with kitchen.session.reading() as connection:
        assert failures.times_failed(connection, 0) == {dial: 1}


def test_twice_in_one_evening_is_one_day_there(kitchen: Kitchen) -> None:
    """Five in the afternoon in Chicago is before midnight in Greenwich, eight is after it."""
    dial = kitchen.dial(DIAL_C)
    day = midnight(day_at(kitchen.clock.at, ZONE) + timedelta(days=1), ZONE)
    for hour in (16, 21):
        kitchen.clock.at = day + hour * HOUR_US
        fails(kitchen, dial)
    with kitchen.session.reading() as connection:
        assert failures.times_failed(connection, 0) == {dial: 1}


def test_another_sensor_begins_anew(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(type="thermocouple_probe")
    fails(kitchen, probe)
    kitchen.clock.move(days=1)
    thermometers.change_sensor(kitchen.session, kitchen.lead, probe, thermometers.PartGiven("Brisa", "", "1"))
    with kitchen.session.reading() as connection:
        assert failures.times_failed(connection, 0) == {}
    kitchen.clock.move(days=1)
    fails(kitchen, probe)
    with kitchen.session.reading() as connection:
        assert failures.times_failed(connection, 0) == {probe: 1}


def test_it_stays_where_it_failed_wherever_its_thermometer_is_since(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    there = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(1), "m")))
    check = fails(kitchen, dial)
    text = f"tag,date,point,reading\n{kitchen.tag(dial)},{day_at(kitchen.clock.at, ZONE)},ice,3/3/3\n"
    with kitchen.session.reading() as connection:
        plan = importing.check_history(kitchen.session, connection, text.encode(), Options(unit="C"))
    importing.record_history(kitchen.session, kitchen.officer, plan)
    thermometers.move(kitchen.session, kitchen.lead, dial, there)
    kitchen.clock.move(days=1)
    thermometers.set_status(kitchen.session, kitchen.officer, dial, "retired", why="worn")
    found = failures.failures(kitchen.session).rows
    assert {(each.site, each.now) for each in found} == {(kitchen.site, "away")}
    assert {each.check == check: each.day_only for each in found} == {True: False, False: True}
    said = {each.day_only: words.when(each, "en_GB") for each in found}
    assert said[False].startswith(f"{said[True]}, ")  # nobody knows the hour of what was imported
    assert failures.failures(kitchen.session, site=there).rows == ()


def test_each_of_two_that_failed_in_one_bath_is_listed_and_both_go_when_it_is_condemned(kitchen: Kitchen) -> None:
    dials = [kitchen.dial(DIAL_C), kitchen.dial(DIAL_C)]
    bath = kitchen.ice()
    for dial in dials:
        kitchen.key(bath, dial, "3 C", "3 C", "3 C")
    kitchen.judge(bath)
    assert {each.thermometer for each in failures.failures(kitchen.session).rows} == set(dials)
    kitchen.judge(bath, "condemned", why="ice_seen")
    assert failures.failures(kitchen.session).rows == ()
