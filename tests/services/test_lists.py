"""Closing a shift's list, and going on where the bath could not be mended."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from registry.compute.schedule import ShiftTime
from registry.quantity import Reading
from registry.records.thermometers import Scale
from registry.services import bath_watch, baths, checks, incidents, lists, mend, places, reviews, thermometers, vouching
from registry.services.lists import Before, Closed, Failed
from registry.services.vouching import Beside
from registry.store import queries
from tests.services.kitchen import DAY_US, TUESDAY, Kitchen


@pytest.fixture
def early(kitchen: Kitchen) -> str:
    """A shift from 06:00 to 14:00 every day; the clock stands half an hour before it."""
    return add_early(kitchen)


def add_early(kitchen: Kitchen) -> str:
    everyday, since = tuple(range(7)), date(2026, 3, 1)
    return places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", everyday, since)


def shift_on(kitchen: Kitchen) -> ShiftTime:
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        found = places.shift_now(kitchen.session, connection, site)
    assert found is not None
    return found


def close(kitchen: Kitchen, on: ShiftTime | None = None) -> Closed:
    return lists.close_list(kitchen.session, kitchen.lead, kitchen.site, on)


def known(kitchen: Kitchen, how_many: int) -> list[str]:
    """Thermometers that passed the day before, at ice and boil, so that only the shift wants them."""
    found = [kitchen.enrol() for _ in range(how_many)]
    yesterday = kitchen.clock() - DAY_US
    for bath, shown in (
        (kitchen.ice(performed_at=yesterday), "0.1 C"),
        (kitchen.boil(performed_at=yesterday), "99.6 C"),
    ):
        for one in found:
            kitchen.key(bath, one, shown, performed_at=yesterday)
        kitchen.judge(bath)
    return found


def test_closing_judges_what_nobody_did(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    condemned, bath = kitchen.ice(), kitchen.ice()
    kitchen.key(condemned, probe, "0.1 C")
    kitchen.judge(condemned, "condemned")
    row = kitchen.key(bath, probe, "0.2 C")
    closed = close(kitchen)
    said = kitchen.last("bath_judged").payload
    assert (said["bath"], said["judged"], said["judged_by"]) == (bath, "accepted", "closing")
    assert kitchen.check(row.check).outcome == "pass"
    assert (closed.shift, closed.day, closed.checked, closed.not_done) == ("Early", TUESDAY, 1, ())
    with kitchen.session.reading() as connection:
        found = queries.bath(connection, condemned)
        assert baths.open_baths(kitchen.session, connection, kitchen.site) == []
    assert found is not None
    assert found.judged == "condemned"
    assert kitchen.verify().good


def test_a_reading_that_waits_for_its_repeats_becomes_a_check(kitchen: Kitchen, early: str) -> None:
    (probe,) = known(kitchen, 1)
    bath, check = kitchen.ice(), kitchen.session.new_id()
    kitchen.key(bath, probe, "1.2 C", "1.3 C", check=check, done_by=kitchen.officer.person)
    read_at = kitchen.last("reading_taken").at
    closed = close(kitchen)
    said = kitchen.last("check_recorded").payload
    assert (said["check"], said["as_found"], said["offset"], said["outcome"]) == (
        check,
        ["1.2 C", "1.3 C"],
        "1.25 dC",
        "fail",
    )
    assert (said["performed_at"], said["done_by"]) == (read_at, kitchen.officer.person)
    assert (kitchen.check(check).outcome, kitchen.row(probe).service_status) == ("fail", "check_first")
    assert closed.checked == 1
    with kitchen.session.reading() as connection:
        assert queries.open_readings(connection, bath) == []


def test_what_was_not_done_is_named_and_stays_due(kitchen: Kitchen, early: str) -> None:
    done, left, unused, missing, blank = known(kitchen, 5)
    day = TUESDAY.isoformat()
    bath = kitchen.ice()
    kitchen.key(bath, done, "0.1 C")
    checks.not_checked(kitchen.session, kitchen.lead, unused, kitchen.site, early, day, "not_used")
    checks.not_checked(kitchen.session, kitchen.lead, missing, kitchen.site, early, day, "not_found")
    checks.no_reading(kitchen.session, kitchen.lead, bath, blank, "display_blank")
    closed = close(kitchen)
    assert closed == Closed("Early", TUESDAY, 1, 0, 0, 1, 1, (kitchen.tag(left), kitchen.tag(blank)))
    said = kitchen.last("shift_closed").payload
    assert (said["shift"], said["site"], said["day"], said["not_done"]) == (early, kitchen.site, day, [left, blank])


def test_what_was_said_by_mistake_is_not_counted(kitchen: Kitchen, early: str) -> None:
    (probe,) = known(kitchen, 1)
    bath = kitchen.ice()
    checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, early, "2026-03-03", "not_found")
    checks.no_reading(kitchen.session, kitchen.lead, bath, probe, "display_blank")
    for kind in ("not_checked", "reading_taken"):
        mend.void(kitchen.session, kitchen.officer, kitchen.last(kind).number, "mistyped")
    closed = close(kitchen)
    assert (closed.not_found, closed.no_reading, closed.not_done) == (0, 0, (kitchen.tag(probe),))


def test_adjusted_and_taken_out_are_counted(kitchen: Kitchen, early: str) -> None:
    first, second = kitchen.dial(), kitchen.dial()
    bath = kitchen.ice()
    found = {one: kitchen.key(bath, one, "3 C", "3 C", "3 C").check for one in (first, second)}
    kitchen.judge(bath)
    kitchen.adjust(found[first], "nut", "0 C")
    thermometers.take_out(kitchen.session, kitchen.lead, second, "outside", check=found[second])
    closed = close(kitchen)
    assert (closed.checked, closed.adjusted, closed.out_of_use) == (2, 1, 1)


def test_where_no_shift_is_on_there_is_no_list(kitchen: Kitchen, early: str) -> None:
    kitchen.clock.move(hours=12)
    with kitchen.refuses(("shift", "none_is_on")):
        close(kitchen)


def test_a_shift_that_is_over_can_still_be_closed(kitchen: Kitchen, early: str) -> None:
    (probe,) = known(kitchen, 1)
    on = shift_on(kitchen)
    row = kitchen.key(kitchen.ice(), probe, "0.1 C")
    kitchen.clock.move(hours=9)
    assert close(kitchen, on).checked == 1
    assert kitchen.check(row.check).outcome == "pass"


def test_closing_settles_baths_of_weeks_ago(kitchen: Kitchen, early: str) -> None:
    (probe,) = known(kitchen, 1)
    row = kitchen.key(kitchen.ice(), probe, "0.1 C")
    judged = kitchen.ice()
    waiting = kitchen.key(judged, probe, "1.4 C")
    kitchen.judge(judged)
    kitchen.clock.move(days=20)
    close(kitchen)
    assert kitchen.check(row.check).outcome == "pass"
    assert kitchen.check(waiting.check).outcome == "fail"


def test_one_that_cannot_be_settled_keeps_nothing_open(kitchen: Kitchen, early: str) -> None:
    probe, gone = known(kitchen, 2)
    bath = kitchen.ice()
    row = kitchen.key(bath, probe, "0.1 C")
    kitchen.key(bath, gone, "1.4 C")
    with kitchen.session.reading() as connection:
        facts = thermometers.thermometer(connection, gone).facts
    only_f = replace(facts, scales={"F": Scale(step="0.1 dF", lowest="-40 F", highest="302 F")})
    thermometers.amend(kitchen.session, kitchen.officer, gone, only_f, "mistyped")
    assert close(kitchen).unsettled == (kitchen.tag(gone),)
    assert kitchen.check(row.check).outcome == "pass"
    assert kitchen.last("shift_closed").payload["shift"] == early


def test_closed_late_it_names_what_that_shift_missed(kitchen: Kitchen, early: str) -> None:
    done, left = known(kitchen, 2)
    on = shift_on(kitchen)
    bath = kitchen.ice()
    kitchen.key(bath, done, "0.1 C")
    kitchen.judge(bath)
    kitchen.clock.move(hours=10)  # 15:30: the shift has ended
    kitchen.checked(left, "0.1 C")
    closed = close(kitchen, on)
    assert (closed.checked, closed.not_done) == (1, (kitchen.tag(left),))


def test_a_second_press_closes_once_and_says_so(kitchen: Kitchen, early: str) -> None:
    known(kitchen, 1)
    first = close(kitchen)
    at = kitchen.last("shift_closed").at
    kitchen.clock.move(minutes=11)
    second = close(kitchen)
    assert (first.before, second.before, second.again) == (None, Before(at, "LQ"), False)
    assert second == replace(first, before=second.before)
    assert len(kitchen.entries("shift_closed")) == 1


def test_what_was_checked_after_the_closing_is_added(kitchen: Kitchen, early: str) -> None:
    done, late = known(kitchen, 2)
    kitchen.checked(done, "0.1 C")
    assert close(kitchen).not_done == (kitchen.tag(late),)
    kitchen.checked(late, "0.1 C")
    second = close(kitchen)
    assert second.before is not None
    assert (second.checked, second.not_done, second.again) == (2, (), True)
    assert [one.payload["not_done"] for one in kitchen.entries("shift_closed")] == [[late], []]


# --- who failed and was left so ------------------------------------------------------------------------------


def outside(kitchen: Kitchen, *thermometers_: str) -> dict[str, str]:
    """Each read three times 3 °C outside in one accepted bath; the checks."""
    bath = kitchen.ice()
    found = {one: kitchen.key(bath, one, "3 C", "3 C", "3 C").check for one in thermometers_}
    kitchen.judge(bath)
    return found


def test_who_failed_and_was_left_so_is_named_with_its_place(kitchen: Kitchen, early: str) -> None:
    grill = places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Grill")
    left, nowhere = kitchen.dial(station=grill), kitchen.dial()
    mended, out, good = kitchen.dial(), kitchen.dial(), kitchen.dial()
    checks_ = outside(kitchen, left, nowhere, mended, out)
    kitchen.checked(good, "0 C")
    kitchen.adjust(checks_[mended], "nut", "0 C")
    thermometers.take_out(kitchen.session, kitchen.lead, out, "outside", check=checks_[out])
    closed = close(kitchen)
    assert closed.failed == (
        Failed(kitchen.tag(nowhere), "", "failed", nowhere),
        Failed(kitchen.tag(left), "Grill", "failed", left),
    )
    assert len(kitchen.entries("shift_closed")) == 1  # it is said; it stops nothing


def test_adjusted_and_still_outside_or_not_read_is_named_too(kitchen: Kitchen, early: str) -> None:
    still, unread = kitchen.dial(), kitchen.dial()
    checks_ = outside(kitchen, still, unread)
    kitchen.adjust(checks_[still], "nut", "2 C")
    kitchen.adjust(checks_[unread], "nut", None)
    why = {one.tag_id: one.why for one in close(kitchen).failed}
    assert why == {kitchen.tag(still): "left_outside", kitchen.tag(unread): "left_unread"}


def test_one_that_the_closing_itself_finds_outside_is_named(kitchen: Kitchen, early: str) -> None:
    """It waited for repeats in a bath that nobody had judged: closing makes the check, and it fails."""
    (probe,) = known(kitchen, 1)
    kitchen.key(kitchen.ice(), probe, "1.4 C")
    assert [one.tag_id for one in close(kitchen).failed] == [kitchen.tag(probe)]


def test_read_in_a_bath_that_still_waits_it_has_not_failed(kitchen: Kitchen, early: str) -> None:
    bath = kitchen.ice()
    for one in known(kitchen, 4):
        kitchen.key(bath, one, "1.4 C", "1.4 C", "1.4 C")
    closed = close(kitchen)
    assert (len(closed.in_doubt), closed.failed) == (4, ())


def test_closed_late_what_was_mended_since_is_mended(kitchen: Kitchen, early: str) -> None:
    mended, left = kitchen.dial(), kitchen.dial()
    on = shift_on(kitchen)
    outside(kitchen, mended, left)
    kitchen.clock.move(hours=10)
    kitchen.checked(mended, "0 C")
    assert [one.tag_id for one in close(kitchen, on).failed] == [kitchen.tag(left)]


# --- the kitchen goes on -------------------------------------------------------------------------------------


def beside(one: str, shown: str, other: str, other_shown: str) -> Beside:
    return Beside(one, Reading.from_text(shown), other, Reading.from_text(other_shown))


def allow(kitchen: Kitchen, *what: str) -> tuple[str, dict[str, Any]]:
    basis = vouching.allow_use(kitchen.session, kitchen.lead, beside(*what))
    return basis, kitchen.last("use_allowed").payload


def test_use_by_its_last_good_check_until_the_shift_ends(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    early = add_early(kitchen)
    first, second = kitchen.enrol(), kitchen.enrol()
    good = kitchen.checked(first, "0.1 C")
    kitchen.checked(second, "0.1 C")
    kitchen.clock.move(days=3)
    bath = kitchen.ice()
    kitchen.key(bath, first, "0.9 C")
    kitchen.judge(bath, "condemned")
    basis, said = allow(kitchen, first, "20.0 C", second, "21.0 C")
    assert basis == said["basis"] == "last_good_check"
    assert said["check"] == good  # not the one in the bath that was condemned
    assert (said["agrees_with"], said["shift"], said["day"]) == ([second], early, "2026-03-06")
    assert said["until_at"] == shift_on(kitchen).ends_at
    assert "margin" not in said


def test_the_last_good_check_may_be_good_as_left(kitchen: Kitchen, early: str) -> None:
    dial, probe = kitchen.dial(), kitchen.enrol()
    check = kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    kitchen.checked(probe, "0.0 C")
    basis, said = allow(kitchen, dial, "20 C", probe, "20.5 C")
    assert (basis, said["check"]) == ("last_good_check", check)


def test_more_than_a_degree_apart_they_disagree(kitchen: Kitchen, early: str) -> None:
    # Within 1 °C, from judgement.
    first, second = known(kitchen, 2)
    with kitchen.refuses(("other", "they_disagree")):
        allow(kitchen, first, "20.0 C", second, "21.1 C")
    with kitchen.refuses(("other", "another_one")):
        allow(kitchen, first, "20.0 C", first, "20.0 C")


def test_what_the_one_that_vouches_is_off_by_is_taken_off_first(kitchen: Kitchen, early: str) -> None:
    """It reads 0.9 °C high by all its checks: beside it one that is 2 °C high looks as if they agreed."""
    doubtful, vouching = kitchen.enrol(), kitchen.enrol()
    for _ in range(5):
        kitchen.checked(vouching, "0.9 C")
        kitchen.checked(doubtful, "0.0 C")
        kitchen.clock.move(days=1)
    with kitchen.refuses(("other", "they_disagree")):
        allow(kitchen, doubtful, "2.0 C", vouching, "1.0 C")
    basis, _ = allow(kitchen, doubtful, "0.2 C", vouching, "1.0 C")
    assert basis == "last_good_check"


@pytest.mark.parametrize(("days", "basis"), [(6.99, "last_good_check"), (7.01, "two_agree")])
def test_a_good_check_holds_for_seven_days(kitchen: Kitchen, early: str, days: float, basis: str) -> None:
    first, second = kitchen.enrol(), kitchen.enrol()
    for one in (first, second):
        kitchen.checked(one, "0.1 C")
    kitchen.clock.move(days=days)
    assert allow(kitchen, first, "20.0 C", second, "20.5 C")[0] == basis


def test_two_without_a_basis_move_the_limits_by_two_degrees(kitchen: Kitchen, early: str) -> None:
    first, second = known(kitchen, 2)
    incidents.report_incident(kitchen.session, kitchen.lead, first, "dropped")
    basis, said = allow(kitchen, first, "20.0 C", second, "20.5 C")
    assert (basis, said["margin"]) == ("two_agree", "2 dC")
    assert "check" not in said


def test_where_no_shift_is_on_nothing_is_allowed(kitchen: Kitchen, early: str) -> None:
    first, second = known(kitchen, 2)
    kitchen.clock.move(hours=10)
    with kitchen.refuses(("shift", "none_to_use_it_in")):
        allow(kitchen, first, "20.0 C", second, "20.5 C")


def test_only_a_trusted_digital_stands_for_the_last_good_check(kitchen: Kitchen, early: str) -> None:
    probe, dial = kitchen.enrol(), kitchen.dial()
    kitchen.checked(probe, "0.1 C")
    kitchen.checked(dial, "0 C")
    assert allow(kitchen, probe, "20.0 C", dial, "20.5 C")[0] == "two_agree"
    basis, said = allow(kitchen, dial, "20.5 C", probe, "20.0 C")
    assert basis == "last_good_check"
    shown = [{"thermometer": dial, "shown": "20.5 C"}, {"thermometer": probe, "shown": "20.0 C"}]
    assert said["readings"] == shown


def test_what_was_found_outside_or_is_elsewhere_vouches_for_nothing(kitchen: Kitchen, early: str) -> None:
    first, second, third = known(kitchen, 3)
    kitchen.checked(second, "3.0 C", "3.0 C", "3.0 C")
    thermometers.set_status(kitchen.session, kitchen.officer, third, "limited_use", only="cold")
    for one, other in ((first, second), (second, first), (first, third)):
        with kitchen.refuses(("other", "cannot_vouch")):
            allow(kitchen, one, "20.0 C", other, "20.0 C")


def test_a_second_press_allows_once(kitchen: Kitchen, early: str) -> None:
    first, second = known(kitchen, 2)
    use, given = kitchen.session.new_id(), beside(first, "20.0 C", second, "20.5 C")
    said = [vouching.allow_use(kitchen.session, kitchen.lead, given, use=use) for _ in range(2)]
    assert said == ["last_good_check"] * 2
    assert len(kitchen.entries("use_allowed")) == 1


# --- the inspector is here -----------------------------------------------------------------------------------


def test_beside_an_inspectors_thermometer_nothing_is_judged(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    apart = vouching.side_by_side(
        kitchen.session, kitchen.lead, probe, Reading.from_text("74.5 C"), Reading.from_text("165.2 F"), "inspector"
    )
    assert (apart.value, apart.unit) == (Reading.from_text("0.5 C").value, "C")  # 165.2 °F is 74 °C
    said = kitchen.last("side_by_side").payload
    assert (said["shown"], said["theirs"], said["whose"]) == ("74.5 C", "165.2 F", "inspector")
    assert kitchen.row(probe).last_check is None
    with kitchen.refuses(("whose", "unknown")):
        vouching.side_by_side(
            kitchen.session, kitchen.lead, probe, Reading.from_text("1 C"), Reading.from_text("1 C"), "me"
        )


def test_a_review_says_how_far_the_record_went(kitchen: Kitchen) -> None:
    head = kitchen.entries()[-1]
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, date(2026, 3, 1), TUESDAY)
    said = kitchen.last("reviewed").payload
    assert (said["from_day"], said["to_day"]) == ("2026-03-01", "2026-03-03")
    assert said["heads"] == [{"chain": head.chain, "seq": head.seq, "hash": head.hash}]
    with kitchen.refuses(("to_day", "before_from_day")):
        reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY, date(2026, 3, 1))
    with kitchen.refuses(("site", "unknown")):
        reviews.review(kitchen.session, kitchen.officer, "0" * 32, TUESDAY, TUESDAY)


def test_a_second_press_reviews_and_compares_once(kitchen: Kitchen) -> None:
    probe, made = kitchen.enrol(), kitchen.session.new_id()
    zero = Reading.from_text("0.0 C")
    for _ in range(2):
        vouching.side_by_side(kitchen.session, kitchen.lead, probe, zero, zero, "inspector", side_by_side=made)
    for _ in range(2):
        reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY, TUESDAY)
    assert (len(kitchen.entries("side_by_side")), len(kitchen.entries("reviewed"))) == (1, 1)
    kitchen.checked(probe, "0.1 C")  # what came since is looked at anew
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, TUESDAY, TUESDAY)
    assert len(kitchen.entries("reviewed")) == 2


def test_closing_never_calls_a_bath_in_doubt_good(kitchen: Kitchen, early: str) -> None:
    """Four digitals, all 0.9 °C high: likelier the bath than all of them, so they wait for a person's word."""
    digitals = [kitchen.enrol() for _ in range(4)]
    bath = kitchen.ice()
    for one in digitals:
        kitchen.key(bath, one, "0.9 C")
    closed = close(kitchen)
    assert closed.shift == "Early"
    assert sorted(closed.in_doubt) == sorted(kitchen.tag(one) for one in digitals)
    assert [one.payload["judged"] for one in kitchen.entries("bath_judged")] == ["suspect"]
    assert all(kitchen.row(one).last_outcome is None for one in digitals)
    assert sorted(close(kitchen).in_doubt) == sorted(closed.in_doubt)  # said again for as long as nobody answers
    kitchen.judge(bath, "overruled", why="reference_agrees")
    assert all(kitchen.row(one).last_outcome == "pass" for one in digitals)


def test_a_bath_that_was_good_and_is_sure_no_more_is_named_at_closing(kitchen: Kitchen, early: str) -> None:
    """Two known ones called it good; then one of them, read by itself, is far out and nobody can tell."""
    steady = [kitchen.enrol() for _ in range(2)]
    kitchen.always(dict.fromkeys(steady, "0.0 C"), 5, days=1)
    new = [kitchen.enrol() for _ in range(2)]
    bath = kitchen.ice()
    for one in steady:
        kitchen.key(bath, one, "0.0 C")
    assert bath_watch.judge(kitchen.session, kitchen.lead, bath).diagnosis.verdict == "good"
    for one in new:
        kitchen.key(bath, one, "0.9 C")
    for one in steady:
        kitchen.key(bath, one, "1.0 C")  # read anew: warmer meanwhile
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    standing = kitchen.last("bath_judged").payload["judged"]
    closed = close(kitchen)
    assert standing == "suspect"
    assert sorted(closed.in_doubt) == sorted(kitchen.tag(one) for one in (*steady, *new))


def test_who_was_read_again_in_a_good_bath_waits_for_no_other(kitchen: Kitchen, early: str) -> None:
    digitals = [kitchen.enrol() for _ in range(4)]
    bath = kitchen.ice()
    for one in digitals:
        kitchen.key(bath, one, "0.9 C")
    assert len(close(kitchen).in_doubt) == 4
    kitchen.clock.move(minutes=10)
    fresh = kitchen.ice()
    for one in digitals[:3]:
        kitchen.key(fresh, one, "0.0 C")
    kitchen.judge(fresh)
    assert close(kitchen).in_doubt == (kitchen.tag(digitals[3]),)


def test_not_found_counts_thermometers_and_not_words(kitchen: Kitchen, early: str) -> None:
    one, other = kitchen.enrol(), kitchen.enrol()
    on = shift_on(kitchen)
    for thermometer in (one, one, other):
        about = (thermometer, kitchen.site, on.shift.id, on.day.isoformat(), "not_found")
        checks.not_checked(kitchen.session, kitchen.lead, *about)
        kitchen.clock.move(minutes=1)
    kitchen.checked(one, "0.1 C")
    assert close(kitchen).not_found == 1
