"""The bath or the thermometers, on a kitchen with a history."""

from typing import Any

import pytest

from registry.services import bath_watch, incidents, upkeep
from registry.services.bath_watch import BathWatch
from registry.services.told import celsius_of
from tests.services.kitchen import DAY_US, Kitchen, scale

OFFSETS = (0.1, -0.2, 0.3, 0.0)


@pytest.fixture
def steady(kitchen: Kitchen) -> list[str]:
    """Four digitals with five weekly checks each."""
    those = [kitchen.enrol() for _ in OFFSETS]
    for week in range(5):
        bath = kitchen.ice()
        for one, offset in zip(those, OFFSETS, strict=True):
            kitchen.key(bath, one, f"{offset + (0.1 if week == 2 else 0.0):.1f} C")
        kitchen.judge(bath)
        kitchen.clock.at += 7 * DAY_US
    return those


def watch(kitchen: Kitchen, bath: str) -> BathWatch:
    with kitchen.session.reading() as connection:
        return bath_watch.watch(kitchen.session, connection, bath)


def read(kitchen: Kitchen, those: list[str], error: float = 0.0, but: dict[int, float] | None = None) -> str:
    """A bath that is off by so much; some read otherwise by so much more."""
    bath = kitchen.ice()
    for number, one in enumerate(those):
        shown = OFFSETS[number] + error + (but or {}).get(number, 0.0)
        kitchen.key(bath, one, f"{shown:.1f} C")
    return bath


def test_an_empty_bath_says_nothing(kitchen: Kitchen) -> None:
    found = watch(kitchen, kitchen.ice())
    assert (found.diagnosis.verdict, found.those) == ("too_few", ())


def test_a_good_bath(kitchen: Kitchen, steady: list[str]) -> None:
    found = watch(kitchen, read(kitchen, steady))
    assert found.diagnosis.verdict == "good"
    assert abs(found.diagnosis.error.mean) < 0.1
    assert [one.told.predicted for one in found.those] == pytest.approx(OFFSETS, abs=0.08)
    assert {one.told.basis for one in found.those} == {"here"}
    assert found.out_even_so == ()


def test_a_warm_bath_is_bad_and_nobody_fails_for_it(kitchen: Kitchen, steady: list[str]) -> None:
    found = watch(kitchen, read(kitchen, steady, error=0.8))
    assert found.diagnosis.verdict == "bad"
    assert found.diagnosis.error.mean == pytest.approx(0.8, abs=0.1)
    waiting = [one for one in found.those if not one.recorded]
    assert [one.given for one in waiting] == ["fail"]  # 0.3 + 0.8 is outside: its repeats are wanted, and it counts
    assert found.out_even_so == ()


def test_one_that_was_dropped_is_not_blamed_on_the_bath(kitchen: Kitchen, steady: list[str]) -> None:
    found = watch(kitchen, read(kitchen, steady, but={2: 2.0}))
    assert found.diagnosis.verdict == "good"
    assert [one.thermometer for one in found.out_even_so] == [steady[2]]
    assert [found.those[place].thermometer for place in found.diagnosis.disagree] == [steady[2]]


def test_out_even_in_a_bad_bath(kitchen: Kitchen, steady: list[str]) -> None:
    found = watch(kitchen, read(kitchen, steady, error=0.8, but={0: 3.0}))
    assert found.diagnosis.verdict == "bad"
    assert [one.thermometer for one in found.out_even_so] == [steady[0]]


def test_new_ones_alone_need_more(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(2)]
    found = watch(kitchen, read(kitchen, those))
    assert found.diagnosis.verdict == "too_few"
    assert {one.told.basis for one in found.those} == {"elsewhere"}
    assert found.diagnosis.wanted


def test_one_set_to_its_last_bath_is_no_evidence_of_the_next(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady[:1], but={0: 1.4})
    row = kitchen.key(bath, steady[1], "-0.2 C")
    assert row.recorded
    check = kitchen.key(bath, kitchen.enrol(), "1.5 C", "1.5 C", "1.5 C").check
    kitchen.judge(bath)
    kitchen.adjust(check, "trim", "0.0 C")
    kitchen.clock.at += DAY_US
    again = kitchen.ice()
    kitchen.key(again, kitchen.check(check).thermometer, "0.0 C")
    (only,) = watch(kitchen, again).those
    assert only.told.basis == "none"


def test_a_reported_drop_loosens_what_is_expected(kitchen: Kitchen, steady: list[str]) -> None:
    incidents.report_incident(kitchen.session, kitchen.lead, steady[0], "dropped")
    found = watch(kitchen, read(kitchen, steady))
    assert [one.told.incident for one in found.those] == [True, False, False, False]
    assert found.diagnosis.trusted == 3


def test_a_bath_judged_already_is_still_compared_with_the_time_before_it(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady)
    before = watch(kitchen, bath)
    kitchen.judge(bath)
    after = watch(kitchen, bath)
    assert [one.told for one in after.those] == [one.told for one in before.those]


def test_rows_keyed_into_each_other_are_asked_about(kitchen: Kitchen) -> None:
    offsets = (0.8, -0.7, 0.1, 0.0)
    those = [kitchen.enrol() for _ in offsets]
    kitchen.always({one: f"{offset} C" for one, offset in zip(those, offsets, strict=True)}, 6)
    bath = kitchen.ice()
    for one, shown in zip(those, (-0.7, 0.8, 0.1, 0.0), strict=True):
        kitchen.key(bath, one, f"{shown} C")
    (pair,) = watch(kitchen, bath).swaps
    assert set(pair) == {kitchen.tag(those[0]), kitchen.tag(those[1])}


# --- judged by what was found --------------------------------------------------------------------------------


def judged(kitchen: Kitchen, bath: str) -> tuple[BathWatch, dict[str, Any]]:
    found = bath_watch.judge(kitchen.session, kitchen.lead, bath)
    return found, kitchen.last("bath_judged").payload


def test_a_good_bath_is_judged_without_a_press(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady)
    _, said = judged(kitchen, bath)
    assert (said["judged"], said["judged_by"], said["version"]) == ("accepted", "diagnose", 1)
    assert set(said["outcomes"].values()) == {"pass"}
    assert len(said["trusted"]) == 4
    assert upkeep.judged_by_program(kitchen.session) == 1
    count = kitchen.count()
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    assert kitchen.count() == count  # nothing new, nothing said again


def test_a_suspect_bath_fails_only_who_is_out_even_so(kitchen: Kitchen, steady: list[str]) -> None:
    bath = kitchen.ice()
    checks = {}
    for number, one in enumerate(steady):
        shown = OFFSETS[number] + 0.8 + (3.0 if number == 0 else 0.0)
        checks[one] = kitchen.key(bath, one, *[f"{shown:.1f} C"] * (3 if shown > 1 else 1)).check
    _, said = judged(kitchen, bath)
    assert said["judged"] == "suspect"
    assert said["outcomes"] == {checks[steady[0]]: "fail"}
    assert [kitchen.check(checks[one]).outcome for one in steady] == ["fail", None, None, None]
    assert celsius_of(said["added_u"]) == pytest.approx(0.8, abs=0.05)


def test_a_later_reading_judges_again(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady[:2])
    assert judged(kitchen, bath)[1]["judged"] == "accepted"
    more = [kitchen.enrol() for _ in range(2)]
    for one in more:
        kitchen.key(bath, one, "0.1 C")
    assert set(judged(kitchen, bath)[1]["outcomes"].values()) == {"pass"}
    assert len(kitchen.last("bath_judged").payload["outcomes"]) == 4


def test_a_person_s_word_stands(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady, error=0.8)
    kitchen.judge(bath, "overruled", why="other_reason")
    count = kitchen.count()
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    assert kitchen.count() == count
    assert kitchen.last("bath_judged").payload["judged"] == "overruled"


def test_too_few_are_left_unjudged(kitchen: Kitchen) -> None:
    bath = read(kitchen, [kitchen.enrol()])
    bath_watch.judge(kitchen.session, kitchen.lead, bath)
    assert kitchen.entries("bath_judged") == []


def test_no_adjusting_in_a_suspect_bath(kitchen: Kitchen, steady: list[str]) -> None:
    bath = kitchen.ice()
    for number, one in enumerate(steady):
        row = kitchen.key(bath, one, *[f"{OFFSETS[number] + 1.5:.1f} C"] * 3)
    judged(kitchen, bath)
    with kitchen.refuses(("bath", "judge_it_first")):
        kitchen.adjust(row.check, "trim", "0.0 C")
    assert kitchen.verify().good


def test_a_reading_taken_is_looked_at_at_once(kitchen: Kitchen, steady: list[str]) -> None:
    bath = kitchen.ice()
    words = []
    for one, offset in zip(steady, OFFSETS, strict=True):
        given = kitchen.given(bath, one, f"{offset} C")
        row, found = bath_watch.take(kitchen.session, kitchen.lead, given)
        words.append((row.lead_word, found.diagnosis.verdict))
    assert words == [("waits", "too_few"), *[("use", "good")] * 3]  # judged once two trusted ones are in
    expected = [entry.payload["predicted"] for entry in kitchen.entries("check_recorded")[-4:]]
    assert [celsius_of(one["offset"]) for one in expected] == pytest.approx(OFFSETS, abs=0.08)


def test_of_a_new_one_nothing_is_expected(kitchen: Kitchen) -> None:
    given = kitchen.given(kitchen.ice(), kitchen.enrol(), "0.1 C")
    row, _ = bath_watch.take(kitchen.session, kitchen.lead, given)
    assert row.recorded
    assert "predicted" not in kitchen.last("check_recorded").payload


# --- what must not block it, nor be hidden by it -------------------------------------------------------------


def test_one_wild_reading_is_taken_as_broken_and_blocks_nothing(kitchen: Kitchen, steady: list[str]) -> None:
    bath = read(kitchen, steady)
    wide = kitchen.enrol(scale("0.1 dC", "-50 C", "1300 C"), type="thermocouple_probe")
    kitchen.key(bath, wide, "350 C", "350 C", "350 C", asked=frozenset(("far_off", "other_unit", "far_apart")))
    found = watch(kitchen, bath)
    assert found.diagnosis.verdict == "good"
    assert [one.thermometer for one in found.out_even_so] == [wide]


def test_one_that_always_read_nonsense_blocks_nothing(kitchen: Kitchen, steady: list[str]) -> None:
    wide = kitchen.enrol(scale("0.1 dC", "-50 C", "1300 C"), type="thermocouple_probe")
    for _ in range(2):
        wild = kitchen.ice()
        kitchen.key(wild, wide, *["900 C"] * 3, asked=frozenset(("other_unit",)))
        kitchen.judge(wild)
        kitchen.clock.at += DAY_US
    bath = read(kitchen, steady)
    kitchen.key(bath, wide, *["900 C"] * 3, asked=frozenset(("other_unit",)))
    assert watch(kitchen, bath).diagnosis.verdict == "good"


def test_a_clock_set_back_stops_no_reading(kitchen: Kitchen, steady: list[str]) -> None:
    """A fast clock, corrected by an hour after the last check."""
    kitchen.checked(steady[0], "0.1 C")
    bath = kitchen.boil()
    kitchen.clock.move(hours=-1)
    with kitchen.session.reading() as connection:
        assert bath_watch.predicted(kitchen.session, connection, bath, steady[0]) is not None


def test_one_read_twice_is_one_thermometer(kitchen: Kitchen, steady: list[str]) -> None:
    bath = kitchen.ice()
    kitchen.key(bath, steady[0], "0.1 C")
    kitchen.key(bath, steady[0], "1.2 C")  # read anew: its repeats are wanted
    found = watch(kitchen, bath)
    assert (len(found.those), found.diagnosis.trusted) == (1, 1)
    assert found.diagnosis.verdict == "too_few"
    assert found.those[0].told.reading == pytest.approx(1.2)


def test_out_even_so_stays_failed_when_the_bath_is_made_anew(kitchen: Kitchen, steady: list[str]) -> None:
    bath = kitchen.ice()
    for number, one in enumerate(steady):
        shown = OFFSETS[number] + 0.8 + (3.0 if number == 0 else 0.0)
        kitchen.key(bath, one, *[f"{shown:.1f} C"] * (3 if shown > 1 else 1))
    judged(kitchen, bath)
    kitchen.judge(bath, "condemned")
    assert [kitchen.row(one).service_status for one in steady] == ["check_first"] + ["in_service"] * 3
    kitchen.clock.move(minutes=10)
    late = kitchen.key(bath, kitchen.enrol(), "0.1 C")  # whoever is still read in it changes nothing of that
    assert kitchen.check(late.check).outcome is None
    assert kitchen.row(steady[0]).service_status == "check_first"
    kitchen.clock.move(minutes=10)
    kitchen.checked(steady[0], f"{OFFSETS[0]} C")
    assert kitchen.row(steady[0]).service_status == "in_service"
    assert kitchen.verify().good


@pytest.mark.parametrize("way", ["overruled first", "found good", "not looked at yet"])
def test_who_is_out_whatever_the_bath_stays_so_when_it_is_condemned(
    kitchen: Kitchen, steady: list[str], way: str
) -> None:
    """Five know the bath, and the sixth reads 6 °C: broken, whatever a person thinks of the bath."""
    error = 0.8 if way == "overruled first" else 0.0
    bath = read(kitchen, steady, error=error)
    broken = kitchen.enrol()
    out = kitchen.key(bath, broken, *["6.0 C"] * 3)
    if way != "not looked at yet":
        judged(kitchen, bath)
    if way == "overruled first":
        kitchen.judge(bath, "overruled", why="other_reason")
    outcomes = bath_watch.condemn(kitchen.session, kitchen.lead, bath)
    assert outcomes == {out.check: "fail"}
    assert kitchen.row(broken).service_status == "check_first"
    assert [kitchen.row(one).service_status for one in steady] == ["in_service"] * 4
    said = kitchen.last("bath_judged").payload
    assert (said["judged"], said["judged_by"]) == ("condemned", "person")
    assert celsius_of(said["error"]) == pytest.approx(error, abs=0.15)  # what it rests on stays in the record
    assert kitchen.verify().good


def test_a_bath_in_doubt_is_said_again_when_better_ones_speak(kitchen: Kitchen, steady: list[str]) -> None:
    """Four new ones say little of a bath that four trusted ones then know well; the record says whom it rests on."""
    bath = kitchen.ice()
    for one in [kitchen.enrol() for _ in range(4)]:
        kitchen.key(bath, one, "2.4 C", "2.4 C", "2.4 C")
    _, first = judged(kitchen, bath)
    for number, one in enumerate(steady):
        kitchen.key(bath, one, *[f"{OFFSETS[number] + 2.4:.1f} C"] * 3)
    _, then = judged(kitchen, bath)
    assert (first["judged"], then["judged"]) == ("suspect", "suspect")
    assert (first.get("trusted"), set(then["trusted"])) == (None, set(steady))
    assert celsius_of(then["error"]) == pytest.approx(2.4, abs=0.15)
