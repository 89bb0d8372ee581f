"""Failed checks of a period: each is listed, whatever became of its thermometer."""

from registry.services import failures, mend, thermometers
from registry.services.failures import Done, Failure
from tests.services.kitchen import DIAL_C, Kitchen


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
