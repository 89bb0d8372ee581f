"""The foot of Start of shift: what is left to do, who may not be used, and how the list was closed."""

import pytest

from registry.quantity import Length
from registry.services import places, thermometers, working_set
from registry.services.places import NewSite
from tests.services.kitchen import Kitchen
from tests.ui.test_shift import after_a_while, in_bath, page, press, row
from tests.ui.test_shift_safety import id_of, only, outside
from ui.desk import Desk
from ui.frame import Frame
from ui.shift.page import ShiftPage

__all__ = ["page"]  # the fixture

FAILED = "It failed and was neither adjusted nor taken out of use."


@pytest.fixture
def three(page: ShiftPage, kitchen: Kitchen) -> ShiftPage:
    """A list of three: the others are out of use since an earlier shift."""
    kept = ("DIGI0", "DIAL0", "DIAL1")
    for tag in [one.tag_id for one in page.rows.values() if one.tag_id not in kept]:
        thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, tag), "spare")
    kitchen.clock.move(days=1)
    page.read_again()
    assert len(page.rows) == 3
    page._to_start()
    return page


def told(page: ShiftPage) -> tuple[str, str, str]:
    """What stands in sight at the foot: who may not be used, the sentence, what is to go."""
    foot = page.foot
    found = (foot.failed, foot.sentence, foot.to_go)
    return tuple(one.text() if one.isVisible() else "" for one in found)  # type: ignore[return-value]


def one_outside(page: ShiftPage, kitchen: Kitchen) -> None:
    """DIAL0 is found 3 °C high, the two others are right; so the bath is found good."""
    in_bath(page, kitchen)
    press("0.1\n")
    press("3\n3\n3\n0\n")
    assert kitchen.last("bath_judged").payload["judged"] == "accepted"


def test_what_is_left_to_do_is_said_and_nothing_against_it(three: ShiftPage, kitchen: Kitchen) -> None:
    one_outside(three, kitchen)
    assert told(three) == ("Adjust or do not use: DIAL0 (Grill).", "3 of 3 checked, 1 to adjust", "")
    press("0\n")
    assert told(three) == (
        "",
        "3 of 3 checked, 1 adjusted",
        "Every thermometer of the list has its answer.",
    )


def test_the_closing_line_names_first_who_failed_and_was_left_so(three: ShiftPage, kitchen: Kitchen) -> None:
    one_outside(three, kitchen)
    three.foot.end.click()
    failed, sentence, _ = told(three)
    assert failed == f"Adjust or do not use: DIAL0 (Grill). {FAILED}"
    assert sentence.startswith("3\u00a0checked")
    assert "Nothing is left of this list." not in told(three)
    assert len(kitchen.entries("shift_closed")) == 1
    words = three.foot.failed
    assert words.mapTo(three.foot, words.rect().topLeft()).y() < three.foot.sentence.y()


def test_where_too_few_remain_after_a_fail_the_closing_says_so(three: ShiftPage, kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        grill = places.station_named(connection, kitchen.site, "Grill").subject
    working_set.set_smallest(kitchen.session, kitchen.officer, grill, {"bimetal_stem": 5})
    one_outside(three, kitchen)
    three.foot.end.click()
    assert "Pier, Grill: " in told(three)[2]
    assert told(three)[2].endswith(" usable left of Bimetal stem; at least 5 needed.")


@pytest.mark.slow
def test_adjusted_and_outside_all_the_same_is_named_too(three: ShiftPage, kitchen: Kitchen) -> None:
    one_outside(three, kitchen)
    press("2\n")
    assert told(three)[0] == "Adjust again or do not use: DIAL0 (Grill)."
    three.foot.end.click()
    assert told(three)[0] == (
        "Adjust again or do not use: DIAL0 (Grill). It was adjusted, and its reading as left is outside."
    )


@pytest.mark.slow
def test_what_is_mended_after_the_closing_is_no_longer_said(three: ShiftPage, kitchen: Kitchen) -> None:
    one_outside(three, kitchen)
    three.foot.end.click()
    part = three.below.adjusting(id_of(kitchen, "DIAL0"))
    assert part is not None
    part.field.setFocus()
    press("0\n")
    assert told(three)[:2] == ("", "3 of 3 checked, 1 adjusted")
    three.foot.end.click()
    assert told(three)[0] == ""
    assert told(three)[2].startswith("This shift was closed at ")


def test_a_fail_at_ice_stays_in_sight_when_the_row_shows_the_boil(three: ShiftPage, kitchen: Kitchen) -> None:
    one_outside(three, kitchen)
    boil = kitchen.boil()
    kitchen.key(boil, id_of(kitchen, "DIAL0"), "100 C")
    kitchen.judge(boil)
    three.read_again()
    shown_now = row(kitchen, "DIAL0").check
    assert shown_now is not None
    assert shown_now.point == "boiling_point"
    assert told(three)[0] == "Adjust or do not use: DIAL0 (Grill)."


@pytest.mark.slow
def test_closing_a_second_time_says_when_and_by_whom_and_records_nothing(
    three: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(three, kitchen)
    press("0.1\n0\n0\n")
    three.foot.end.click()
    assert told(three)[2] == "Nothing is left of this list."
    three.desk.rebuild.emit()  # the page is made anew and knows nothing of it
    again = frame.page
    assert isinstance(again, ShiftPage)
    before = kitchen.count()
    again.foot.end.click()
    assert told(again)[2].startswith("This shift was closed at 5:3")
    assert told(again)[2].endswith("AM by LQ already. Nothing is left of this list.")
    assert kitchen.count() == before


def test_the_question_before_closing_names_who_failed(
    three: ShiftPage, kitchen: Kitchen, desk: Desk, frame: Frame, monkeypatch: pytest.MonkeyPatch
) -> None:
    outside(three, kitchen, frame)
    details: list[str] = []

    def sure(*_: object, **more: str) -> None:
        details.append(more["details"])

    monkeypatch.setattr(desk.ask, "sure", sure)
    three.foot.end.click()
    assert details[0].startswith("Adjust or do not use: DIAL0 (Grill).\nNot checked, and still due: ")


def test_a_reading_as_left_that_is_typed_and_not_recorded_comes_before_the_closing(
    three: ShiftPage, kitchen: Kitchen
) -> None:
    one_outside(three, kitchen)
    press("0")
    three.foot.end.click()
    assert kitchen.entries("shift_closed") == []


# --- one Enter too many --------------------------------------------------------------------------------------


def test_a_second_press_of_enter_goes_past_no_row(three: ShiftPage, kitchen: Kitchen) -> None:
    """Else the digits that follow are the next thermometer's and stand in the row after it."""
    in_bath(three, kitchen)
    press("0.1\n\n1\n")
    assert row(kitchen, "DIAL0").state == "recorded"
    check = row(kitchen, "DIAL0").check
    assert check is not None
    assert [one.text() for one in check.row.readings] == ["1 C"]
    after_a_while()
    press("\n")  # meant: this one is passed over
    assert row(kitchen, "DIAL1").state == "waiting"
    assert three.foot.good.hasFocus()


def test_a_second_press_of_enter_judges_no_bath(three: ShiftPage, kitchen: Kitchen) -> None:
    for tag in ("DIAL0", "DIAL1"):
        thermometers.take_out(kitchen.session, kitchen.lead, id_of(kitchen, tag), "spare")
    three.read_again()
    in_bath(three, kitchen)
    press("0.1\n\n")
    assert three.foot.good.hasFocus()
    assert kitchen.entries("bath_judged") == []  # one reading does not tell, and nobody has said
    after_a_while()
    press("\n\n")
    assert [one.payload["judged_by"] for one in kitchen.entries("bath_judged")] == ["person"]
    assert kitchen.entries("shift_closed") == []


@pytest.mark.slow
def test_a_second_press_of_enter_closes_no_list(three: ShiftPage, kitchen: Kitchen) -> None:
    in_bath(three, kitchen)
    press("0.1\n0\n3\n3\n3\n")
    after_a_while()
    press("0\n\n")
    assert len(kitchen.entries("adjusted")) == 1
    assert three.foot.end.hasFocus()
    assert kitchen.entries("shift_closed") == []
    after_a_while()
    press("\n")
    assert len(kitchen.entries("shift_closed")) == 1


def test_a_bath_that_stands_ready_has_the_first_focus(kitchen: Kitchen, desk: Desk, frame: Frame) -> None:
    frame.activateWindow()
    kitchen.ice()
    frame.go("thermometers", id_of(kitchen, "DIAL3"))
    for about, tag in ((None, "DIGF0"), (id_of(kitchen, "DIAL3"), "DIAL3")):
        frame.go("shift", about)
        found = frame.page
        assert isinstance(found, ShiftPage)
        assert found.list.rows[id_of(kitchen, tag)].field.hasFocus()
    desk.rebuild.emit()
    again = frame.page
    assert isinstance(again, ShiftPage)
    assert again.list.rows[id_of(kitchen, "DIAL3")].field.hasFocus()


@pytest.mark.slow
def test_where_one_was_survives_a_new_look_while_another_place_is_in_sight(
    page: ShiftPage, kitchen: Kitchen, frame: Frame
) -> None:
    in_bath(page, kitchen)
    kitchen.enrol(tag_id="EXTRA1")
    only(kitchen, page, frame, "EXTRA1")
    press("0.")
    only(kitchen, page, frame, "DIAL2")
    page.make_another()
    frame.go("thermometers")
    frame.desk.rebuild.emit()
    frame.desk.rebuild.emit()
    frame.go("shift")
    again = frame.page
    assert isinstance(again, ShiftPage)
    assert again is not page
    assert again.now.making
    again.now.making = False
    again.read_again()
    assert again.list.rows[id_of(kitchen, "EXTRA1")].field.text() == "0."


def test_what_was_kept_of_one_site_is_not_taken_to_another(page: ShiftPage, kitchen: Kitchen, desk: Desk) -> None:
    kept = page.keep_draft() | {"adding": ["DIAL3"], "making": True}
    other = places.add_site(
        kitchen.session,
        kitchen.admin,
        NewSite("Quay", "QY", desk.site.payload.zone, Length.typed("5", "m")),
    )
    desk.site = next(one for one in desk.sites() if one.subject == other)
    fresh = ShiftPage(desk)
    fresh.show_about(kept)
    assert (fresh.now.making, fresh.now.adding) == (False, [])
    fresh.deleteLater()
