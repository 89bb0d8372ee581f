"""How one stands now at each point: as found, as left, overtaken by an adjustment elsewhere."""

from registry.services.points_now import PointNow, points_now
from tests.services.kitchen import Kitchen


def now(kitchen: Kitchen, thermometer: str) -> dict[str, PointNow]:
    with kitchen.session.reading() as connection:
        found = points_now(connection, thermometer)
    assert [one.at for one in found] == sorted((one.at for one in found), reverse=True)
    return {one.where: one for one in found}


def boiled(kitchen: Kitchen, thermometer: str, shown: str) -> None:
    bath = kitchen.boil()
    kitchen.key(bath, thermometer, shown)
    kitchen.judge(bath)


def test_nothing_where_it_was_never_read(kitchen: Kitchen) -> None:
    assert now(kitchen, kitchen.enrol()) == {}


def test_each_point_by_its_last_check(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    kitchen.clock.move(hours=1)
    kitchen.checked(probe, "1.6 C", "1.6 C", "1.6 C")
    found = now(kitchen, probe)
    assert set(found) == {"ice_point"}
    assert (found["ice_point"].outcome, found["ice_point"].left, found["ice_point"].overtaken) == ("fail", "", False)


def test_as_left_goes_before_as_found_and_a_later_check_before_both(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(adjusts="reset")
    check = kitchen.checked(probe, "1.6 C", "1.6 C", "1.6 C")
    kitchen.clock.move(minutes=2)
    kitchen.adjust(check, "reset", "0.1 C")
    one = now(kitchen, probe)["ice_point"]
    assert (one.outcome, one.left, one.as_found) == ("pass", "judged", "fail")
    kitchen.clock.move(hours=1)
    kitchen.checked(probe, "0.2 C")
    one = now(kitchen, probe)["ice_point"]
    assert (one.outcome, one.left, one.as_found) == ("pass", "", None)


def test_not_read_since_has_no_outcome(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(adjusts="reset")
    kitchen.adjust(kitchen.checked(probe, "1.6 C", "1.6 C", "1.6 C"), "reset", None)
    one = now(kitchen, probe)["ice_point"]
    assert (one.outcome, one.left, one.as_found) == (None, "not_measured", "fail")


def test_what_waits_for_its_bath_waits(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.key(kitchen.ice(), probe, "0.1 C")
    one = now(kitchen, probe)["ice_point"]
    assert (one.outcome, one.left) == (None, "")


def test_an_adjustment_overtakes_what_was_read_at_another_point(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(adjusts="reset")
    boiled(kitchen, probe, "99.6 C")
    kitchen.clock.move(minutes=20)
    check = kitchen.checked(probe, "1.6 C", "1.6 C", "1.6 C")
    assert not now(kitchen, probe)["boiling_point"].overtaken
    kitchen.clock.move(minutes=2)
    kitchen.adjust(check, "reset", "0.1 C")
    found = now(kitchen, probe)
    assert (found["boiling_point"].overtaken, found["ice_point"].overtaken) == (True, False)
