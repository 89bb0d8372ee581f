"""The monthly log: raw values line by line, and nothing hidden."""

from datetime import date
from decimal import Decimal

import pytest

from registry.quantity import Length, Reading, TemperatureDifference
from registry.services import activity, checks, incidents, mend, monthly_log, places, reviews, thermometers
from registry.services.monthly_log import Log, LogLine
from registry.services.places import NewSite
from tests.services.kitchen import ZONE, Kitchen
from tests.services.test_lists import add_early, close, known, shift_on


def log(kitchen: Kitchen, year: int = 2026, month: int = 3) -> Log:
    return monthly_log.month(kitchen.session, kitchen.site, year, month)


def lines(kitchen: Kitchen, *kinds: str) -> list[LogLine]:
    return [line for line in log(kitchen).lines if not kinds or line.kind in kinds]


def only(kitchen: Kitchen, *kinds: str) -> LogLine:
    (line,) = lines(kitchen, *kinds)
    return line


def did(line: LogLine) -> list[tuple[str, str]]:
    return [(one.what, one.detail) for one in line.actions]


# --- checks --------------------------------------------------------------------------------------------------


def test_a_check_stands_with_its_raw_values(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    bath = kitchen.ice("cubes_stirred")
    kitchen.key(bath, dial, "1.5 C", "2 C", "2 C")
    kitchen.judge(bath)
    line = only(kitchen, "check")
    entry = kitchen.last("check_recorded")
    assert line.check is not None
    assert [one.text() for one in line.check.readings] == ["1.5 C", "2 C", "2 C"]
    assert (line.made, line.check.point, line.bath) == ("cubes_stirred", "ice_point", kitchen.last("bath_made").number)
    assert line.check.reference == Reading.from_text("0.0 C")
    assert line.check.offset == TemperatureDifference.from_text("1.8333 dC")  # (1.5 + 2 + 2) / 3 - 0.0, by hand
    assert line.check.tolerance == TemperatureDifference.from_text("1 dC")
    assert (line.check.decision, line.check.outcome, line.state) == ("simple", "fail", "counts")
    assert (line.tag_id, line.initials, line.number) == (kitchen.tag(dial), "LQ", entry.number)
    assert (line.day, line.at, line.entered_at) == (date(2026, 3, 3), entry.done_at, None)
    assert did(line) == [("none_recorded", "")]


def test_what_was_done_about_it_stands_beside_it(kitchen: Kitchen) -> None:
    turned, out = kitchen.dial(), kitchen.dial()
    check = kitchen.checked(turned, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0 C")
    kitchen.checked(out, "3 C", "3 C", "3 C")
    thermometers.take_out(kitchen.session, kitchen.lead, out, "damaged")
    first, second = lines(kitchen, "check")
    assert did(first) == [("adjusted", "nut")]
    assert first.actions[0].number == kitchen.last("adjusted").number
    assert first.check is not None
    assert [one.text() for one in first.check.as_left] == ["0 C"]
    assert first.check.as_left_outcome == "pass"
    assert did(second) == [("out_of_use", "damaged")]
    assert second.actions[0].number == kitchen.last("taken_out").number


def test_what_is_done_after_the_next_check_is_not_of_this_one(kitchen: Kitchen) -> None:
    dial = kitchen.dial()
    kitchen.checked(dial, "3 C", "3 C", "3 C")
    kitchen.checked(dial, "0 C")
    thermometers.take_out(kitchen.session, kitchen.lead, dial, "spare")
    assert [did(line) for line in lines(kitchen, "check")] == [[("none_recorded", "")], []]


def test_an_incident_is_a_line_and_the_check_after_it_says_so(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    incidents.report_incident(kitchen.session, kitchen.lead, probe, "dropped")
    kitchen.checked(probe, "0.1 C")
    before, happened, after = lines(kitchen)
    assert (did(before), did(after)) == ([], [("after_incident", "dropped")])
    assert (happened.kind, happened.why, happened.initials) == ("incident", "dropped", "LQ")


def test_what_does_not_count_says_why_not(kitchen: Kitchen) -> None:
    waits, bad, slip = kitchen.enrol(), kitchen.enrol(), kitchen.enrol()
    kitchen.key(kitchen.ice(), waits, "0.1 C")
    condemned = kitchen.ice()
    kitchen.key(condemned, bad, "0.1 C")
    kitchen.judge(condemned, "condemned")
    kitchen.checked(slip, "0.1 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "wrong_thermometer")
    found = {line.thermometer: (line.state, line.why) for line in lines(kitchen, "check")}
    assert found == {waits: ("waits", ""), bad: ("condemned", ""), slip: ("voided", "wrong_thermometer")}


def test_a_bath_judged_twice_is_told(kitchen: Kitchen) -> None:
    probe, other = kitchen.enrol(), kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    kitchen.judge(bath)
    kitchen.judge(bath, "condemned")
    kitchen.checked(other, "0.1 C")
    found = {line.thermometer: (line.state, line.judged_again) for line in lines(kitchen, "check")}
    assert found == {probe: ("condemned", True), other: ("counts", False)}


def test_the_tag_id_is_the_one_borne_then(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(tag_id="AA11")
    kitchen.checked(probe, "0.1 C")
    thermometers.retag(kitchen.session, kitchen.officer, probe, "BB22")
    kitchen.checked(probe, "0.1 C")
    assert [line.tag_id for line in lines(kitchen, "check")] == ["AA11", "BB22"]


def test_the_month_is_that_of_the_kitchens_clock(kitchen: Kitchen) -> None:
    """23:30 on 31 March in New York is 03:30 on 1 April, UTC."""
    probe = kitchen.enrol()
    kitchen.clock.move(days=28, hours=17)  # the clock went forward on the 8th
    kitchen.checked(probe, "0.1 C")
    kitchen.clock.move(hours=1)
    kitchen.checked(probe, "0.2 C")
    assert [line.day for line in lines(kitchen, "check")] == [date(2026, 3, 31)]
    (april,) = [line for line in log(kitchen, month=4).lines if line.kind == "check"]
    assert april.day == date(2026, 4, 1)
    assert log(kitchen).until < log(kitchen, month=4).until


def test_another_kitchens_checks_are_in_its_own_log(kitchen: Kitchen) -> None:
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    kitchen.checked(kitchen.enrol(), "0.1 C")
    incidents.report_incident(kitchen.session, kitchen.lead, kitchen.enrol(site=other), "dropped")
    assert [line.kind for line in lines(kitchen)] == ["check"]
    found = monthly_log.month(kitchen.session, other, 2026, 3)
    assert [line.kind for line in found.lines] == ["incident"]


@pytest.mark.parametrize(
    ("year", "month", "why"), [(2026, 13, "not_a_month"), (0, 1, "not_a_month"), (2026, 4, "in_the_future")]
)
def test_a_month_that_is_none_or_has_not_begun_is_refused(kitchen: Kitchen, year: int, month: int, why: str) -> None:
    with kitchen.refuses(("month", why)):
        log(kitchen, year, month)


# --- what nobody checked -------------------------------------------------------------------------------------


def test_what_a_closed_list_missed_is_there_by_the_entry_that_closed_it(kitchen: Kitchen) -> None:
    add_early(kitchen)
    done, left = known(kitchen, 2)
    kitchen.checked(done, "0.1 C")
    close(kitchen)
    assert (lines(kitchen, "missed"), only(kitchen, "left_open").thermometer) == ([], left)  # its shift goes on
    kitchen.clock.move(hours=9)
    assert lines(kitchen, "left_open") == []
    line = only(kitchen, "missed")
    assert (line.thermometer, line.shift, line.initials) == (left, "Early", "LQ")
    assert line.number == kitchen.last("shift_closed").number


def test_log_and_activity_count_the_same_as_missed(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (left,) = known(kitchen, 1)
    dial = kitchen.dial(uses=("hot",))
    for _ in range(3):  # the dial is checked each day, and its hot point stays open on each list
        kitchen.checked(dial, "0 C")
        close(kitchen)
        kitchen.clock.move(days=1)
    missed = [(line.thermometer, line.day) for line in lines(kitchen, "missed")]
    assert missed == [(left, date(2026, 3, day)) for day in (3, 4, 5)]
    (site,) = activity.checks_by_week(kitchen.session, weeks=1).sites
    assert site.total("missed") == len(missed)


def test_on_a_list_for_its_hot_point_alone_it_is_left_open_and_not_missed(kitchen: Kitchen) -> None:
    add_early(kitchen)
    kitchen.by_risk(turns=False)
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.1 C")
    kitchen.clock.move(days=1)
    close(kitchen)
    kitchen.clock.move(hours=9)
    assert kitchen.last("shift_closed").payload["not_done"] == [probe]
    assert (lines(kitchen, "missed"), only(kitchen, "left_open").thermometer) == ([], probe)


def test_what_was_checked_after_the_closing_was_not_missed(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    close(kitchen)
    kitchen.checked(probe, "0.1 C")
    assert lines(kitchen, "missed") == []


def test_a_list_that_nobody_closed_hides_nothing(kitchen: Kitchen) -> None:
    add_early(kitchen)
    (probe,) = known(kitchen, 1)
    kitchen.clock.move(days=1)  # 4 March, 05:30
    line = only(kitchen, "missed")
    assert (line.thermometer, line.day, line.number, line.initials) == (probe, date(2026, 3, 3), "", "")
    assert log(kitchen).not_closed[-1] == ("Early", date(2026, 3, 3))


def test_a_shift_that_is_closed_late_and_again_is_told_once(kitchen: Kitchen) -> None:
    add_early(kitchen)
    first, second = known(kitchen, 2)
    on = shift_on(kitchen)
    close(kitchen, on)
    kitchen.checked(first, "0.1 C")
    kitchen.clock.move(hours=10)
    close(kitchen, on)
    line = only(kitchen, "missed")
    assert (line.thermometer, line.number) == (second, kitchen.last("shift_closed").number)


def test_what_was_said_instead_has_its_own_line(kitchen: Kitchen) -> None:
    early = add_early(kitchen)
    found = known(kitchen, 5)
    said = ("not_used", "not_found", "station_closed", "lent")
    for thermometer, why in zip(found, said, strict=False):
        checks.not_checked(kitchen.session, kitchen.lead, thermometer, kitchen.site, early, "2026-03-03", why)
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), found[-1], "display_blank")
    close(kitchen)
    kitchen.clock.move(days=1)
    own = lines(kitchen, *said, "no_reading")
    assert {line.thermometer: (line.kind, line.why, line.shift) for line in own} == {
        **{one: (why, "", "Early") for one, why in zip(found, said, strict=False)},
        found[-1]: ("no_reading", "display_blank", ""),
    }
    assert lines(kitchen, "missed") == []
    assert log(kitchen).count("not_found") == 1


def test_what_was_said_by_mistake_stays_as_void_and_is_missed(kitchen: Kitchen) -> None:
    early = add_early(kitchen)
    (probe,) = known(kitchen, 1)
    checks.not_checked(kitchen.session, kitchen.lead, probe, kitchen.site, early, "2026-03-03", "not_used")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("not_checked").number, "mistyped")
    kitchen.clock.move(days=1)
    assert [(line.kind, line.state) for line in lines(kitchen, "not_used", "missed")] == [
        ("not_used", "voided"),
        ("missed", ""),
    ]
    assert log(kitchen).count("not_used") == 0


def test_without_shifts_it_says_that_it_cannot_know(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    kitchen.clock.move(days=3)
    assert log(kitchen).no_shifts
    add_early(kitchen)
    assert not log(kitchen).no_shifts


# --- who looked through it, and what it was made from ----------------------------------------------------------


def test_the_reviewer_and_what_came_after_the_review(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, date(2026, 3, 1), date(2026, 3, 31))
    (before,) = log(kitchen).reviews
    assert (before.initials, before.name, before.later) == ("OI", "Olga Ibarra", 0)
    assert (before.from_day, before.to_day) == (date(2026, 3, 1), date(2026, 3, 31))
    assert before.number == kitchen.last("reviewed").number
    kitchen.checked(kitchen.enrol(), "0.1 C")
    (after,) = log(kitchen).reviews
    assert after.later == 1


def test_a_review_of_other_days_or_voided_is_not_of_this_month(kitchen: Kitchen) -> None:
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, date(2026, 2, 1), date(2026, 2, 28))
    assert log(kitchen).reviews == ()
    reviews.review(kitchen.session, kitchen.officer, kitchen.site, date(2026, 2, 1), date(2026, 3, 1))
    assert len(log(kitchen).reviews) == 1
    mend.void(kitchen.session, kitchen.officer, kitchen.last("reviewed").number, "mistyped")
    assert log(kitchen).reviews == ()


def test_it_names_the_entries_it_was_made_from(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    first = kitchen.last("check_recorded")
    kitchen.checked(kitchen.enrol(), "0.1 C")
    (source,) = log(kitchen).sources
    last, head = kitchen.last("check_recorded"), kitchen.entries()[-1]
    assert (source.first, source.last, source.count) == (first.number, last.number, 2)
    assert (source.head, source.head_hash) == (head.number, head.hash)


def test_an_empty_month_names_how_far_the_record_went(kitchen: Kitchen) -> None:
    found = log(kitchen, month=2)
    assert (found.lines, found.first_day, found.last_day) == ((), date(2026, 2, 1), date(2026, 2, 28))
    (source,) = found.sources
    assert (source.first, source.count, source.head) == ("", 0, kitchen.entries()[-1].number)
