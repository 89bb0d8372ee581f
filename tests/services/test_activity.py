"""What kitchens did week by week, and where their thermometers' offsets lie."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from registry.quantity import Length, TemperatureDifference
from registry.services import activity, checks, duelist, mend, places, rules, thermometers
from registry.services.activity import Activity, Offsets, Week
from registry.services.places import NewSite
from registry.services.thermometers import PartGiven
from tests.services.kitchen import DIAL_F, TUESDAY, ZONE, Kitchen
from tests.services.test_lists import add_early

PARTS = ("done", "missed", "open", "not_used", "not_found", "no_reading", "other")


def weeks(kitchen: Kitchen, how_many: int = 3) -> tuple[Week, ...]:
    (one,) = activity.checks_by_week(kitchen.session, [kitchen.site], how_many).sites
    return one.weeks


def counts(week: Week) -> tuple[int, ...]:
    assert week.wanted == sum(getattr(week, name) for name in PARTS)
    return week.wanted, week.done, week.missed, week.not_used, week.not_found, week.no_reading, week.other


# --- weeks ---------------------------------------------------------------------------------------------------


def test_a_week_counts_what_came_of_each_shift(kitchen: Kitchen) -> None:
    early = add_early(kitchen)  # from Sunday 1 March; the clock stands on Tuesday the 3rd
    first, second = kitchen.enrol(), kitchen.enrol()
    kitchen.checked(first, "0.1 C")
    checks.not_checked(kitchen.session, kitchen.lead, second, kitchen.site, early, "2026-03-03", "not_used")
    kitchen.clock.move(days=1)
    checks.not_checked(kitchen.session, kitchen.lead, first, kitchen.site, early, "2026-03-04", "not_found")
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), second, "display_blank")
    kitchen.clock.move(days=1)
    checks.not_checked(kitchen.session, kitchen.lead, first, kitchen.site, early, "2026-03-05", "lent")
    kitchen.clock.move(days=4)  # Monday the 9th, before the shift
    before, last, now = weeks(kitchen)
    # Tuesday to Sunday, two thermometers: 12, of which 1 done, 1 not used, 1 not found, 1 no reading, 1 lent.
    assert counts(last) == (12, 1, 7, 1, 1, 1, 1)
    assert (before.monday, last.monday, now.monday) == (date(2026, 2, 23), date(2026, 3, 2), date(2026, 3, 9))
    # Within the hour before the shift begins it asks already.
    assert (last.over, now.over, counts(now), now.open) == (True, False, (2, 0, 0, 0, 0, 0, 0), 2)
    assert (last.since, now.since) == (TUESDAY, None)


def wanted_now(kitchen: Kitchen) -> set[str]:
    """Whom the due list asks for in the shift that is on."""
    with kitchen.session.reading() as connection:
        due = duelist.due_list(kitchen.session, connection, kitchen.site)
    return {one.row.thermometer for one in due if (one.item.code, one.item.state) == ("each_shift", "due")}


def test_the_first_day_asks_for_what_the_due_list_asks(kitchen: Kitchen) -> None:
    """Enrolled while the first shift was on: wanted in it, done or open, never missed; counted from that day."""
    kitchen.clock.move(hours=3)  # Tuesday, 08:30; the shift began at 06:00
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", tuple(range(7)), TUESDAY
    )
    first, second = kitchen.enrol(), kitchen.enrol()
    (week,) = weeks(kitchen, 1)
    assert wanted_now(kitchen) == {first, second}
    assert (week.wanted, week.open, week.missed, week.since) == (2, 2, 0, TUESDAY)
    kitchen.checked(first, "0.1 C")
    (week,) = weeks(kitchen, 1)
    assert wanted_now(kitchen) == {second}
    assert (week.wanted, week.done, week.open, week.missed) == (2, 1, 1, 0)
    kitchen.clock.move(hours=8)  # 16:30: over. Who came within it and was not checked missed nothing.
    (week,) = weeks(kitchen, 1)
    assert (week.wanted, week.done, week.open, week.missed) == (1, 1, 0, 0)
    kitchen.clock.move(days=1)
    (week,) = weeks(kitchen, 1)
    assert (week.wanted, week.done, week.missed) == (3, 1, 2)


def test_a_plan_by_days_asks_on_the_first_day_too(kitchen: Kitchen) -> None:
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    kitchen.clock.move(hours=3)
    places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", tuple(range(7)), TUESDAY
    )
    dial = kitchen.dial()
    (week,) = weeks(kitchen, 1)
    assert (week.wanted, week.open) == (1, 1)
    kitchen.clock.move(hours=8)
    (week,) = weeks(kitchen, 1)
    assert (week.wanted, week.missed) == (0, 0)
    kitchen.clock.move(hours=13, minutes=30)  # Wednesday, 06:00
    kitchen.checked(dial, "0 C")
    (week,) = weeks(kitchen, 1)
    assert (week.wanted, week.done, week.open) == (1, 1, 0)


def test_a_week_begins_on_monday_by_the_kitchens_clock(kitchen: Kitchen) -> None:
    """ISO 8601: 1 March 2026 is a Sunday, the last day of week 9. At 23:30 on Sunday it is Monday in UTC."""
    assert date(2026, 3, 1).isocalendar() == (2026, 9, 7)
    kitchen.clock.move(days=5, hours=17)  # Sunday the 8th, 23:30; the clock went forward that night
    assert weeks(kitchen, 1)[0].monday == date(2026, 3, 2)
    kitchen.clock.move(hours=1)
    assert weeks(kitchen, 1)[0].monday == date(2026, 3, 9)


def test_weeks_of_which_nothing_can_be_known_say_so(kitchen: Kitchen) -> None:
    kitchen.enrol()
    assert [one.why for one in weeks(kitchen, 2)] == ["no_shifts", "no_shifts"]
    add_early(kitchen)
    kitchen.clock.move(days=7)
    before, first, second, _ = weeks(kitchen, 4)
    assert (before.why, before.known, counts(before)) == ("no_shifts", False, (0,) * 7)
    assert (first.why, second.why) == ("no_plan", "")  # the registry was begun on the 3rd
    assert counts(second) == (6, 0, 6, 0, 0, 0, 0)


def test_each_site_by_itself(kitchen: Kitchen) -> None:
    other = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
    add_early(kitchen)
    places.add_shift(kitchen.session, kitchen.officer, other, "Late", "15:00", "20:00", (1,), TUESDAY)
    kitchen.checked(kitchen.enrol(), "0.1 C")
    kitchen.enrol(site=other)
    kitchen.clock.move(days=1)
    found = activity.checks_by_week(kitchen.session, weeks=1)
    assert found.finished
    assert {one.name: counts(one.weeks[0])[:3] for one in found.sites} == {"Pier": (2, 1, 0), "Quay": (1, 0, 1)}
    assert {one.name: one.total("missed") for one in found.sites} == {"Pier": 0, "Quay": 1}
    assert [one.site for one in activity.checks_by_week(kitchen.session, [other], 1).sites] == [other]


def test_it_can_be_stopped(kitchen: Kitchen) -> None:
    add_early(kitchen)
    for _ in range(3):
        kitchen.enrol()
    passed: list[int] = []

    def stop_at_two(done: int) -> bool:
        passed.append(done)
        return done < 2

    found = activity.checks_by_week(kitchen.session, progress=stop_at_two)
    assert (found, passed) == (Activity((), False), [1, 2])


@pytest.mark.parametrize("how_many", [0, -1, 105])
def test_how_many_weeks_has_its_limits(kitchen: Kitchen, how_many: int) -> None:
    with kitchen.refuses(("weeks", "choose")):
        weeks(kitchen, how_many)


def test_the_plan_of_that_time_is_what_was_wanted(kitchen: Kitchen) -> None:
    add_early(kitchen)
    kitchen.enrol()
    kitchen.clock.move(days=5, hours=22)  # Monday the 9th, before the shift
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    kitchen.clock.move(days=7)
    first, second, _ = weeks(kitchen)
    assert (first.missed, second.missed) == (6, 1)  # each shift, then once in seven days


def test_of_one_type_it_is_counted_from_when_one_was_there(kitchen: Kitchen) -> None:
    """What was asked of it, what came of that, and where it lies; nothing of the others, who came before it."""
    add_early(kitchen)
    kitchen.checked(kitchen.enrol(), "0.1 C")
    kitchen.clock.move(days=2)
    dial = kitchen.dial()
    kitchen.clock.move(days=1)
    kitchen.checked(dial, "1 C")
    kitchen.clock.move(days=4)
    whole, dials, ovens = (
        activity.checks_by_week(kitchen.session, weeks=3, type=one).sites[0].weeks[-2]
        for one in (None, "bimetal_stem", "oven")
    )
    # From Tuesday to Sunday one probe, from Thursday on a dial too: 6 and 4, of which each was checked once.
    assert [(one.wanted, one.done, one.missed) for one in (whole, dials)] == [(10, 2, 8), (4, 1, 3)]
    assert (whole.since, dials.since) == (TUESDAY, date(2026, 3, 5))
    assert (ovens.wanted, ovens.known) == (0, True)
    (found,) = activity.offsets_by(kitchen.session, "type", type="bimetal_stem")
    assert (found.key, found.n, found.without) == ("bimetal_stem", 1, 0)
    assert activity.offsets_by(kitchen.session, "site", type="oven") == []


# --- offsets -------------------------------------------------------------------------------------------------


def by(kitchen: Kitchen, group: str = "site") -> list[Offsets]:
    return activity.offsets_by(kitchen.session, group)  # type: ignore[arg-type]


def celsius(found: TemperatureDifference | None) -> float:
    assert found is not None
    assert found.unit == "C"
    return float(found.value)


def test_quartiles_are_those_of_a_reference_library(kitchen: Kitchen) -> None:
    """numpy.quantile, method "linear": definition 7 of Hyndman and Fan 1996, as R's own default."""
    shown = ["-0.6", "-0.2", "0.0", "0.1", "0.3", "0.4", "0.9", "0.9"]
    for one in shown:
        kitchen.checked(kitchen.enrol(), f"{one} C")
    (found,) = by(kitchen)
    expected = np.quantile([float(one) for one in shown], [0.25, 0.5, 0.75], method="linear")
    assert [celsius(each) for each in (found.lower, found.median, found.upper)] == pytest.approx(expected, abs=1e-9)
    assert (found.key, found.n, found.without, found.outside) == (kitchen.site, 8, 0, 0)


def test_quartiles_of_a_published_sample() -> None:
    """The twelve resistivities of NIST/SEMATECH e-Handbook 7.2.6.2, which names Hyndman and Fan's method R7.

    By hand with their rank 1 + p(n - 1), n = 12: p = 0.25 lies between the 3rd and 4th at 0.75, 0.5 between the 6th
    and 7th at 0.5, 0.75 between the 9th and 10th at 0.25.
    """
    sample = ["95.1772", "95.1567", "95.1937", "95.1959", "95.1442", "95.0610", "95.1591", "95.1195", "95.1065",
              "95.0925", "95.1990", "95.1682"]  # fmt: skip
    ordered = sorted(map(Fraction, sample))
    expected = [
        ordered[2] + Fraction(3, 4) * (ordered[3] - ordered[2]),
        (ordered[5] + ordered[6]) / 2,
        ordered[8] + Fraction(1, 4) * (ordered[9] - ordered[8]),
    ]
    found = list(activity._quartiles([Fraction(one) for one in sample]))
    assert [celsius(one) for one in found] == pytest.approx([float(one) for one in expected], abs=5e-5)


def test_a_fahrenheit_offset_is_a_difference_not_a_temperature(kitchen: Kitchen) -> None:
    """9 °F of difference are 5 °C."""
    for _ in range(3):
        kitchen.checked(kitchen.dial(DIAL_F), "34 F")
    (found,) = by(kitchen, "type")
    assert celsius(found.median) == 1.1111  # 2 °F x 5/9, to 4 decimals


def test_too_few_have_no_quartiles(kitchen: Kitchen) -> None:
    for shown in ("0.1 C", "0.2 C"):
        kitchen.checked(kitchen.enrol(), shown)
    (found,) = by(kitchen)
    assert (found.n, found.too_few, found.lower, found.median, found.upper) == (2, True, None, None, None)
    kitchen.checked(kitchen.enrol(), "0.4 C")
    (found,) = by(kitchen)
    assert (found.n, found.too_few, celsius(found.median)) == (3, False, 0.2)


def test_the_last_check_that_counts_as_found_and_who_was_outside(kitchen: Kitchen) -> None:
    failed, waits, slip, never = kitchen.enrol(), kitchen.enrol(), kitchen.enrol(), kitchen.enrol()
    kitchen.checked(failed, "0.1 C")
    kitchen.checked(failed, "2.0 C", "2.0 C", "2.0 C")
    kitchen.checked(waits, "0.3 C")
    kitchen.key(kitchen.ice(), waits, "0.9 C")
    kitchen.checked(slip, "0.4 C")
    kitchen.checked(slip, "0.8 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    (found,) = by(kitchen)
    assert (found.n, found.without, found.outside) == (3, 1, 1)
    assert kitchen.row(never).last_check is None
    # of 0.3, 0.4 and 2.0
    assert [celsius(each) for each in (found.lower, found.median, found.upper)] == pytest.approx([0.35, 0.4, 1.2])


def test_who_was_adjusted_is_outside_no_more_while_the_offset_stays_as_found(kitchen: Kitchen) -> None:
    adjusted, left_outside, not_read = (kitchen.enrol(adjusts="reset") for _ in range(3))
    for one, as_left in ((adjusted, "0.1 C"), (left_outside, "-1.4 C"), (not_read, None)):
        check = kitchen.checked(one, "1.6 C", "1.6 C", "1.6 C")
        kitchen.clock.move(minutes=2)
        kitchen.adjust(check, "reset", as_left)
    (found,) = by(kitchen)
    assert (found.n, found.outside, celsius(found.median)) == (3, 2, 1.6)


def test_outside_counts_a_fail_that_stands_at_another_point_than_the_last_check(kitchen: Kitchen) -> None:
    probe = kitchen.enrol()
    pot = kitchen.boil()
    kitchen.key(pot, probe, "103.0 C", "103.0 C", "103.0 C")
    kitchen.judge(pot)
    kitchen.checked(probe, "0.1 C")
    assert kitchen.row(probe).last_outcome == "pass"
    assert [one.outside for one in by(kitchen)] == [1]


def test_what_is_open_in_a_shift_that_is_on_is_left_out_of_what_was_asked() -> None:
    week = Week(TUESDAY, wanted=12, done=3, missed=1, open=8)
    assert week.asked == 4
    assert activity.SiteWeeks("", "", (week, week)).total("asked") == 8


def test_groups_by_type_and_by_maker_and_model(kitchen: Kitchen) -> None:
    for n in range(3):
        kitchen.checked(kitchen.enrol(whole=PartGiven("Brisa", "T2")), f"0.{n} C")
    kitchen.checked(kitchen.dial(), "0 C")
    apart = kitchen.enrol(whole=PartGiven("Ondal", "M1", "7"), sensor=PartGiven("Ondal", "S9", "8"))
    kitchen.checked(apart, "0.1 C")
    assert [(one.key, one.n) for one in by(kitchen, "type")] == [("thermistor_probe", 4), ("bimetal_stem", 1)]
    assert [(one.key, one.n) for one in by(kitchen, "model")] == [("Brisa T2", 3), ("", 1), ("Ondal M1", 1)]


def test_of_one_type_only_its_checks_and_offsets_are_counted(kitchen: Kitchen) -> None:
    add_early(kitchen)
    probe = kitchen.enrol()
    kitchen.dial()
    kitchen.checked(probe, "0.1 C")
    kitchen.clock.move(days=1)
    of_all = activity.checks_by_week(kitchen.session, weeks=1).sites[0].weeks[0]
    of_dials = activity.checks_by_week(kitchen.session, weeks=1, type="bimetal_stem").sites[0].weeks[0]
    of_none = activity.checks_by_week(kitchen.session, weeks=1, type="oven").sites[0].weeks[0]
    # Tuesday's shift is over: the probe was checked in it and the dial was not; Wednesday's is on.
    assert (of_all.done, of_all.missed, of_all.open) == (1, 1, 2)
    assert (of_dials.done, of_dials.missed, of_dials.open) == (0, 1, 1)
    assert (of_none.known, of_none.wanted) == (True, 0)
    found = activity.offsets_by(kitchen.session, "site", type="bimetal_stem")
    assert [(one.key, one.n, one.without) for one in found] == [(kitchen.site, 0, 1)]


def test_retired_and_lost_ones_are_left_out(kitchen: Kitchen) -> None:
    gone, lost, spare = (kitchen.enrol() for _ in range(3))
    for one in (gone, lost, spare):
        kitchen.checked(one, "0.1 C")
    thermometers.set_status(kitchen.session, kitchen.officer, gone, "retired", why="worn")
    thermometers.set_status(kitchen.session, kitchen.officer, lost, "lost")
    thermometers.take_out(kitchen.session, kitchen.lead, spare, "spare")
    assert [one.n for one in by(kitchen)] == [1]


def test_what_it_cannot_be_grouped_by_is_refused(kitchen: Kitchen) -> None:
    with kitchen.refuses(("by", "choose")):
        by(kitchen, "colour")
