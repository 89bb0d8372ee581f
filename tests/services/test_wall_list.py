"""The list for the wall: who may be used by the record of now, and that whoever is in doubt is never among them."""

import pytest

from registry.records.baths import CheckRecorded
from registry.services import importing, incidents, places, tag_printing, thermometers, wall_list
from registry.services.session import day_at
from tests.documents.reading import words_of
from tests.services.kitchen import DIGITAL_F, ZONE, Kitchen, scale


def said(kitchen: Kitchen, language: str = "en") -> str:
    return words_of(wall_list.printed(kitchen.session, kitchen.site, language=language))


def line(kitchen: Kitchen, tag: str) -> str:
    """What stands on the row of a tag id, up to the next one."""
    rest = said(kitchen).partition(tag)[2]
    for other in ("AAA0", "AAA1", "AAA2", "Cook and hold hot", "Readings to reach"):
        if other != tag:
            rest = rest.partition(other)[0]
    return rest


def test_a_good_check_may_be_used_and_what_it_must_show_stands_on_it(kitchen: Kitchen) -> None:
    one = kitchen.enrol(DIGITAL_F, tag_id="AAA0")
    bath = kitchen.boil()
    kitchen.key(bath, one, "211.5 F")
    kitchen.judge(bath)
    found = line(kitchen, "AAA0")
    assert "USE" in found
    assert "NOT" not in found
    assert "°F" in found
    # The same readings as on its status tag.
    tag = words_of(tag_printing.print_status_tag(kitchen.session, kitchen.lead, one, "63.5x37"))
    shown = [word for word in found.split() if word.replace(".", "").isdigit() and "." in word]
    assert shown
    assert all(word in tag for word in shown)


@pytest.mark.parametrize(
    ("happened", "why"),
    [
        ("never", "Not checked yet"),
        ("waits", "waits for its bath"),
        ("fails", "Outside its limits"),
        ("dropped", "Dropped: check it first"),
        ("out", "Out of use (Damaged)"),
        ("not_read_again", "not read since"),
        ("outside_elsewhere", "Outside its limits"),
        ("condemned", "could not decide"),
        ("imported", "could not decide"),
    ],
)
def test_whoever_is_in_doubt_is_not_to_be_used_and_why_stands_there(kitchen: Kitchen, happened: str, why: str) -> None:
    one = kitchen.dial(tag_id="AAA0", adjusts="nut")
    if happened == "waits":
        kitchen.key(kitchen.ice(), one, "0 C")
    elif happened == "condemned":
        bath = kitchen.ice()
        kitchen.key(bath, one, "0 C")
        kitchen.judge(bath, "condemned")
    elif happened == "imported":  # without a reference nothing is known of its offset
        content = b"tag,date,point,reading,unit\nAAA0,2026-02-03,boil,98,C\n"
        with kitchen.session.reading() as connection:
            plan = importing.check_history(kitchen.session, connection, content)
        importing.record_history(kitchen.session, kitchen.officer, plan)
    elif happened == "fails":
        kitchen.checked(one, "4 C", "4 C", "4 C")
    elif happened == "dropped":
        kitchen.checked(one, "0 C")
        incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    elif happened == "out":
        kitchen.checked(one, "0 C")
        thermometers.take_out(kitchen.session, kitchen.lead, one, "damaged")
    elif happened == "not_read_again":
        check = kitchen.checked(one, "4 C", "4 C", "4 C")
        kitchen.adjust(check, "nut", None)
    elif happened == "outside_elsewhere":
        bath = kitchen.boil()
        kitchen.key(bath, one, "93 C", "93 C", "93 C")
        kitchen.judge(bath)
        kitchen.clock.move(minutes=5)
        kitchen.checked(one, "0 C")
    found = line(kitchen, "AAA0")
    assert "DO NOT USE" in found
    assert why in found
    assert "°" not in found  # no number there to misread


def test_limited_use_says_for_what_and_its_other_side_does_not_stand_against_it(kitchen: Kitchen) -> None:
    one = kitchen.dial(tag_id="AAA0")
    bath = kitchen.boil()
    kitchen.key(bath, one, "93 C", "93 C", "93 C")
    kitchen.judge(bath)
    kitchen.clock.move(minutes=5)
    kitchen.checked(one, "0 C")
    thermometers.set_status(kitchen.session, kitchen.officer, one, "limited_use", only="cold")
    found = line(kitchen, "AAA0")
    with kitchen.session.reading() as connection:
        status = thermometers.thermometer(connection, one).row.service_status
    wanted = "LIMITED USE" if status == "limited_use" else "DO NOT USE"
    assert wanted in found


def test_for_hot_food_the_hot_point_is_wanted_first_and_the_only_point_is_named(kitchen: Kitchen) -> None:
    hot = kitchen.enrol(DIGITAL_F, tag_id="AAA0")
    kitchen.checked(hot, "32.1 F")
    kitchen.checked(kitchen.enrol(DIGITAL_F, tag_id="AAA1", uses=("cold",)), "32.1 F")
    first, second = line(kitchen, "AAA0"), line(kitchen, "AAA1")
    assert "CHECK FIRST at the hot point ice point only" in first
    assert "°F" not in first
    assert "USE ice point only" in second
    assert "REVISAR ANTES en caliente solo punto de hielo" in said(kitchen, "es")
    kitchen.clock.move(minutes=5)
    bath = kitchen.boil()
    kitchen.key(bath, hot, "211.5 F")
    kitchen.judge(bath)
    assert "USE" in line(kitchen, "AAA0")
    assert "CHECK FIRST" not in line(kitchen, "AAA0")
    assert "only" not in line(kitchen, "AAA0")


def test_an_adjustment_at_ice_leaves_the_hot_point_wanted_first(kitchen: Kitchen) -> None:
    dial = kitchen.dial(tag_id="AAA0")
    bath = kitchen.boil()
    kitchen.key(bath, dial, "99.5 C")
    kitchen.judge(bath)
    kitchen.clock.move(minutes=5)
    check = kitchen.checked(dial, "4 C", "4 C", "4 C")
    kitchen.adjust(check, "nut", "0 C")
    assert "CHECK FIRST at the hot point" in line(kitchen, "AAA0")
    thermometers.set_status(kitchen.session, kitchen.officer, dial, "limited_use", only="cold")
    assert "LIMITED USE cold food only" in line(kitchen, "AAA0")


def test_lost_and_retired_ones_are_left_out_and_an_empty_list_is_refused(kitchen: Kitchen) -> None:
    with kitchen.refuses(("sheet", "no_thermometer_here")):
        wall_list.printed(kitchen.session, kitchen.site)
    gone, here = kitchen.enrol(tag_id="AAA0"), kitchen.enrol(tag_id="AAA1")
    kitchen.checked(here, "0.1 C")
    thermometers.set_status(kitchen.session, kitchen.officer, gone, "retired")
    found = said(kitchen)
    assert "AAA1" in found
    assert "AAA0" not in found


def test_the_recheck_date_and_that_it_is_past(kitchen: Kitchen) -> None:
    one = kitchen.enrol(DIGITAL_F, tag_id="AAA0")
    bath = kitchen.boil()
    kitchen.key(bath, one, "211.5 F")
    kitchen.judge(bath)
    assert "overdue" not in line(kitchen, "AAA0")
    assert "°F" in line(kitchen, "AAA0")
    kitchen.clock.move(days=120)
    assert "overdue" in line(kitchen, "AAA0")
    assert "°F" not in line(kitchen, "AAA0")  # what it must show was worked out until that day


def test_by_station_with_when_it_was_printed_in_both_languages(kitchen: Kitchen) -> None:
    grill = places.add_station(kitchen.session, kitchen.admin, kitchen.site, "Grill")
    kitchen.checked(kitchen.enrol(tag_id="AAA1", station=grill), "0.1 C")
    kitchen.checked(kitchen.enrol(tag_id="AAA0", uses=("cold",)), "0.1 C")
    english, spanish = said(kitchen), said(kitchen, "es")
    assert english.index("Grill") < english.index("AAA1") < english.index("Without a station") < english.index("AAA0")
    assert f"As of {day_at(kitchen.clock(), ZONE):%B} " in english
    assert "Sin puesto" in spanish
    assert "USAR" in spanish


def test_a_dial_off_at_the_ice_of_years_past_is_not_taken_for_good(kitchen: Kitchen) -> None:
    one = kitchen.enrol(scale("0.1 dC", "-40.0 C", "150.0 C"), tag_id="AAA0")
    with kitchen.session.recording(kitchen.officer, "officer") as entries:
        entries.add(
            CheckRecorded(
                thermometer=one, check=kitchen.session.new_id(), point="ice_point", as_found=("3.1 C",), stated="fail"
            )
        )
    assert "DO NOT USE" in line(kitchen, "AAA0")
