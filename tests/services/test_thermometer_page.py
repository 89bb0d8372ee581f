"""The page of one thermometer: what stands, what is due, its story as lines, its charts."""

from typing import Any

import pytest

from registry.quantity import TemperatureDifference
from registry.services import checks, duelist, history, incidents, mend, people, places, thermometer_page, thermometers
from registry.services.thermometer_page import PointCovered, ThermometerPage
from registry.services.thermometers import PartGiven
from tests.charts.samples import WORDS
from tests.services.kitchen import DAY_US, DIAL_F, DIGITAL_C, DIGITAL_F, Kitchen


def page(kitchen: Kitchen, thermometer: str, **more: Any) -> ThermometerPage:
    with kitchen.session.reading() as connection:
        return thermometer_page.page(kitchen.session, connection, thermometer, **more)


def codes(shown: ThermometerPage) -> list[str]:
    return [line.code for line in shown.story]


def covered(shown: ThermometerPage) -> dict[str, PointCovered]:
    return {one.where: one for one in shown.points}


def d(text: str) -> TemperatureDifference:
    return TemperatureDifference.from_text(text)


def test_one_that_was_never_checked(any_kitchen: Kitchen) -> None:
    new = any_kitchen.enrol(tag_id="N1", whole=PartGiven("Kelvane", "Duo", "K2"))
    shown = page(any_kitchen, new)
    assert (shown.of.maker, shown.of.model, shown.of.serial, shown.unit) == ("Kelvane", "Duo", "K2", "C")
    assert (shown.sentence.code, shown.sentence.offset) == ("never", None)
    assert (codes(shown), shown.story_of, shown.outlook.says) == (["enrolled"], 1, "never")
    assert [(one.where, one.allowed, one.good_at) for one in shown.points] == [
        (where, True, None) for where in thermometer_page.CLASSES
    ]
    assert shown.owed.next is not None
    assert shown.owed.due[0].code == "new"
    assert shown.names[any_kitchen.site] == "Pier"
    assert shown.names[any_kitchen.lead.person] == "Leo Quist"
    assert shown.tolerance is not None
    chart = thermometer_page.chart(shown, WORDS)
    assert (chart.points.at, chart.unit) == ((), "C")


def test_the_sentence_says_what_the_last_check_found(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.6 C")
    said = page(kitchen, of).sentence
    assert (said.code, said.point, said.outcome, said.side) == ("judged", "ice_point", "pass", "high")
    assert (said.offset, said.tolerance) == (d("0.6 dC"), d("1 dC"))
    frozen = kitchen.last("check_recorded").payload
    assert said.expanded is not None
    # U = k u, JCGM 100:2008 6.2.1
    assert float(said.expanded.value) == pytest.approx(float(frozen["k"]) * float(frozen["u"].split()[0]))
    kitchen.clock.move(minutes=5)
    kitchen.checked(of, "-0.2 C")
    assert page(kitchen, of).sentence.side == "low"
    kitchen.checked(of, "0.0 C")
    assert page(kitchen, of).sentence.side == ""


def test_a_check_whose_bath_is_open_waits(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.key(kitchen.ice(), of, "0.3 C")
    said = page(kitchen, of).sentence
    assert (said.code, said.outcome, said.offset) == ("waits", None, d("0.3 dC"))


def test_as_left_says_how_it_stands(kitchen: Kitchen) -> None:
    of = kitchen.dial()
    check = kitchen.checked(of, "3 C", "3 C", "3 C")
    kitchen.adjust(check, "nut", "0.5 C")
    shown = page(kitchen, of)
    said = shown.sentence
    assert (said.code, said.as_left, said.outcome, said.offset) == ("judged", True, "pass", d("0.5 dC"))
    assert codes(shown)[:2] == ["adjusted", "check"]
    assert shown.story[0].values["as_left"] == ["0.5 C"]
    chart = thermometer_page.chart(shown, WORDS)
    (arrow,) = chart.arrows
    assert (arrow.as_found, arrow.as_left) == (3.0, 0.5)
    assert chart.points.mark == ("fail", "as_left")
    kitchen.adjust(check, "nut", None)
    assert page(kitchen, of).sentence.code == "not_measured"


def test_an_adjustment_takes_the_good_points_elsewhere(kitchen: Kitchen) -> None:
    of = kitchen.enrol(adjusts="reset")
    bath = kitchen.boil()
    kitchen.key(bath, of, "99.6 C")
    kitchen.judge(bath)
    assert covered(page(kitchen, of))["boiling_point"].good_at is not None
    kitchen.clock.move(minutes=5)
    check = kitchen.checked(of, "1.9 C", "1.9 C", "1.9 C")
    kitchen.adjust(check, "reset", "0.0 C")
    points = covered(page(kitchen, of))
    row = kitchen.row(of)
    assert points["boiling_point"].good_at is row.good_boil_at is None
    assert points["boiling_point"].last_outcome == "pass"
    assert points["ice_point"].good_at == row.good_ice_at
    assert points["ice_point"].last_outcome == "fail"


def test_due_by_point_and_next(kitchen: Kitchen) -> None:
    of = kitchen.enrol(uses=("hot",))
    kitchen.checked(of, "0.1 C")
    shown = page(kitchen, of)
    with kitchen.session.reading() as connection:
        wanted = duelist.recheck_by(kitchen.session, connection, kitchen.row(of))
    assert shown.owed.next is not None
    assert shown.owed.next.day == wanted
    points = covered(shown)
    assert points["boiling_point"].due == points["comparison_hot"].due is not None
    assert points["ice_point"].due is None  # no rule of this plan names it
    assert {rule.code for rule in shown.owed.wants} >= {"hot_point", "new"}


def test_the_story_merges_everything_the_newest_first(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    line = places.add_station(kitchen.session, kitchen.admin, kitchen.site, "Line")
    of = kitchen.enrol(tag_id="S1")
    kitchen.clock.move(minutes=1)
    thermometers.move(kitchen.session, kitchen.officer, of, kitchen.site, line)
    kitchen.clock.move(minutes=1)
    kitchen.checked(of, "0.1 C")
    kitchen.clock.move(minutes=1)
    incidents.report_incident(kitchen.session, kitchen.lead, of, "dropped")
    kitchen.clock.move(minutes=1)
    thermometers.retag(kitchen.session, kitchen.officer, of, "S2")
    kitchen.clock.move(minutes=1)
    thermometers.take_out(kitchen.session, kitchen.lead, of, "damaged")
    shown = page(kitchen, of)
    assert codes(shown) == ["taken_out", "retagged", "incident", "check", "moved", "enrolled"]
    assert [one.at for one in shown.story] == sorted((one.at for one in shown.story), reverse=True)
    moved = shown.story[4].values
    assert (moved["from_site"], moved["from_station"], moved["station"]) == (kitchen.site, None, line)
    assert shown.story[2].values["what"] == "dropped"
    assert shown.story[3].values["line"].point == "ice_point"
    assert {one.by for one in shown.story} == {kitchen.lead.person, kitchen.officer.person}
    assert shown.story_of == 6
    lanes = {lane.code: [mark.mark for mark in lane.marks] for lane in thermometer_page.chart(shown, WORDS).lanes}
    assert lanes == {"checks": ["check"], "incidents": ["incident"], "papers_moves": ["move"]}


def test_only_the_newest_lines_and_the_count_of_all(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    for _ in range(5):
        kitchen.clock.move(hours=1)
        kitchen.checked(of, "0.1 C")
        incidents.report_incident(kitchen.session, kitchen.lead, of, "bumped")
    whole, cut = page(kitchen, of, newest=None), page(kitchen, of, newest=4)
    assert len(whole.story) == whole.story_of == cut.story_of == 11
    assert cut.story == whole.story[:4]
    assert len(cut.offsets) == 5


def test_what_is_void_is_marked_and_not_plotted(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    kitchen.clock.move(minutes=5)
    kitchen.checked(of, "0.7 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    shown = page(kitchen, of)
    assert [(one.code, one.voided) for one in shown.story if one.code == "check"] == [("check", True), ("check", False)]
    assert shown.sentence.offset == d("0.1 dC")
    assert thermometer_page.chart(shown, WORDS).points.value == (0.1,)


def test_a_reading_that_could_not_be_had_is_told(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), of, "display_blank")
    assert codes(page(kitchen, of)) == ["no_reading", "enrolled"]


def test_parts_and_who_shares_them(kitchen: Kitchen) -> None:
    tip = PartGiven("Kelvane", "Tip", "t-1")
    first = kitchen.enrol(tag_id="P1", whole=PartGiven("Kelvane", "Duo", "K9"), sensor=tip)
    with kitchen.session.reading() as connection:
        joined = thermometers.thermometer(connection, first).parts
    assert joined is not None
    kitchen.enrol(tag_id="P2", sensor=tip, indicator=joined.indicator)
    shown = page(kitchen, first)
    assert shown.shares == (("indicator", ("P2",)),)
    assert (shown.of.serial, shown.of.sensor and shown.of.sensor.serial) == ("K9", "t-1")
    assert codes(shown) == ["enrolled"]


def test_the_chart_is_of_one_class_of_point_in_the_unit_of_the_dial(kitchen: Kitchen) -> None:
    of = kitchen.enrol(DIGITAL_F, tag_id="F1")
    kitchen.checked(of, "32.9 F")
    bath = kitchen.boil()
    kitchen.key(bath, of, "212.0 F")
    kitchen.judge(bath)
    kitchen.clock.move(minutes=5)
    kitchen.checked(of, "33.0 F")
    shown = page(kitchen, of)
    chart = thermometer_page.chart(shown, WORDS)
    assert (chart.unit, chart.points.value) == ("F", (0.9, 1.0))
    assert len(thermometer_page.chart(shown, WORDS, "boiling_point").points.at) == 1
    assert thermometer_page.chart(shown, WORDS, "comparison_hot").points.at == ()
    dual = kitchen.enrol(DIGITAL_C, DIGITAL_F)
    assert page(kitchen, dual).unit == "F"  # as the group
    assert page(kitchen, kitchen.dial(DIAL_F)).unit == "F"


def test_the_chart_of_an_answer_has_bars_and_a_shade(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    asked = kitchen.clock.move(hours=5)
    kitchen.clock.move(hours=5)
    kitchen.checked(of, "0.2 C")
    with kitchen.session.reading() as connection:
        answer = history.was_right(kitchen.session, connection, of, asked)
        shown = thermometer_page.page(kitchen.session, connection, of)
        chart = thermometer_page.answer_chart(connection, shown, WORDS, asked, answer.points[0])
    assert answer.answer == "yes"
    assert [one.role for one in chart.bands] == ["tolerance", "between"]
    assert chart.points.strong == (True, True)
    assert all(bar is not None and 0 < bar < 1 for bar in chart.points.bar)
    assert chart.time.high - chart.time.low == 6 * DAY_US


def test_one_that_is_not_there_is_refused(kitchen: Kitchen) -> None:
    with kitchen.refuses(("thermometer", "unknown_thermometer")):
        page(kitchen, "0" * 32)


def test_names_of_people_who_were_erased_are_empty(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    people.erase_person(kitchen.session, kitchen.admin, kitchen.lead.person)
    assert page(kitchen, of).names[kitchen.lead.person] == ""
