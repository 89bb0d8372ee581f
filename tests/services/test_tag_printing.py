"""Tags drawn in one document and recorded once they were printed; who wants one; what it is printed on."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from registry.documents.designs import SHEETS
from registry.services import (
    importing,
    incidents,
    mend,
    rules,
    settings,
    tag_printing,
    tag_setup,
    tag_wants,
    thermometers,
)
from registry.services.problems import KnownError, Refused
from registry.services.tag_printing import Asked, Kind, LeftOut
from registry.services.tag_setup import Setup
from tests.documents import reading
from tests.services.kitchen import TUESDAY, Kitchen
from tests.services.test_reach import boiled

SHEET = Setup("a4_63.5x38.1", 300, "qr", 5, Decimal("0.5"), Decimal("-0.3"))


def three(kitchen: Kitchen) -> list[str]:
    found = [kitchen.enrol() for _ in range(3)]
    for one in found:
        kitchen.checked(one, "0.1 C")
    return found


def both(those: list[str]) -> list[Asked]:
    return [Asked(one, kind) for one in those for kind in ("identity", "status")]


def why(kitchen: Kitchen, of: str, kind: Kind = "status") -> str:
    with kitchen.session.reading() as connection:
        rows = tag_wants.rows_at(connection, None, None, [of])
        (found,) = tag_wants.look(kitchen.session, connection, rows, kind)
    return found.why


def print_one(kitchen: Kitchen, of: str, kind: Kind = "status") -> None:
    tag_printing.print_tags(kitchen.session, kitchen.lead, [Asked(of, kind)], Setup(), lambda _: None)


# --- drawing and recording -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("uses", "points", "said", "never"),
    [
        (("hot", "cold"), ("ice",), "CHECK FIRST", "recheck by"),
        (("hot", "cold"), ("ice", "boil"), "recheck by", "CHECK FIRST"),
        (("cold",), ("ice",), "USE", "CHECK FIRST"),
    ],
)
def test_a_tag_says_that_the_hot_point_is_wanted_before_the_next_use(
    kitchen: Kitchen, uses: tuple[str, ...], points: tuple[str, ...], said: str, never: str
) -> None:
    one = kitchen.enrol(uses=uses)
    kitchen.checked(one, "0.1 C")
    if "boil" in points:
        kitchen.clock.move(minutes=5)
        bath = kitchen.boil()
        kitchen.key(bath, one, "99.6 C")
        kitchen.judge(bath)
    words = reading.words_of(tag_printing.print_status_tag(kitchen.session, kitchen.lead, one, "50x25"))
    assert said in words
    assert never not in words
    assert ("check hot first" in words) == (said == "CHECK FIRST")
    assert kitchen.row(one).service_status == "in_service"  # what papers say changes no status


def test_status_tags_come_first_on_one_sheet_and_each_is_recorded_with_its_printing(kitchen: Kitchen) -> None:
    those = three(kitchen)
    kept: list[bytes] = []
    drawn = tag_printing.print_tags(kitchen.session, kitchen.lead, both(those), SHEET, kept.append, "Pier, today")
    assert kept == [drawn.pdf]
    assert reading.pages_of(drawn.pdf) == 1
    words = reading.words_of(drawn.pdf)
    assert "Pier, today" in words
    assert words.index("CHECK FIRST") < words.index("Thermometer")  # for hot food too, seen at ice alone
    said = [one.payload for one in kitchen.entries("tag_printed")]
    assert [one["tag"] for one in said] == ["status"] * 3 + ["identity"] * 3
    assert {one["stock"] for one in said} == {"sheet_a4_63_5x38_1"}
    assert len({one["print"] for one in said}) == 1
    assert [one["thermometer"] for one in said] == those * 2


def test_to_look_records_nothing(kitchen: Kitchen) -> None:
    those = three(kitchen)
    before = kitchen.count()
    drawn = tag_printing.draw(kitchen.session, both(those), SHEET)
    assert (drawn.count("status"), drawn.count("identity")) == (3, 3)
    assert kitchen.count() == before


def test_what_could_not_be_kept_is_not_recorded(kitchen: Kitchen) -> None:
    those = three(kitchen)

    def full(_: bytes) -> None:
        raise OSError("no room")

    with pytest.raises(OSError, match="no room"):
        tag_printing.print_tags(kitchen.session, kitchen.lead, both(those), SHEET, full)
    assert kitchen.entries("tag_printed") == []


def test_a_second_press_records_nothing_more(kitchen: Kitchen) -> None:
    drawn = tag_printing.draw(kitchen.session, both(three(kitchen)), SHEET)
    tag_printing.record(kitchen.session, kitchen.lead, drawn)
    tag_printing.record(kitchen.session, kitchen.lead, drawn)
    assert len(kitchen.entries("tag_printed")) == 6
    assert kitchen.verify().good


def test_one_that_cannot_be_drawn_is_named_and_the_others_are_printed(kitchen: Kitchen) -> None:
    first, second, _ = three(kitchen)
    unchecked = kitchen.enrol()
    drawn = tag_printing.draw(kitchen.session, [Asked(one, "status") for one in (first, unchecked, second)], SHEET)
    assert [one.thermometer for one in drawn.entries] == [first, second]
    (left,) = drawn.left_out
    assert isinstance(left, LeftOut)
    assert (left.tag_id, left.problem.code) == (kitchen.tag(unchecked), "none_yet")


def test_where_none_can_be_drawn_it_says_why_once(kitchen: Kitchen) -> None:
    those = [kitchen.enrol() for _ in range(3)]
    with kitchen.refuses(("checks", "none_yet")):
        tag_printing.draw(kitchen.session, [Asked(one, "status") for one in those], SHEET)
    with kitchen.refuses(("tags", "none")):
        tag_printing.draw(kitchen.session, [], SHEET)
    narrow = replace(SHEET, stock="letter_44.4x12.7")
    kitchen.checked(those[0], "0.1 C")
    with kitchen.refuses(("page", "status_needs_more")):
        tag_printing.draw(kitchen.session, [Asked(those[0], "status")], narrow)


def test_an_auditor_prints_none_and_a_copy_to_look_at_neither(kitchen: Kitchen) -> None:
    (one, *_) = three(kitchen)
    asked, printed = [Asked(one, "identity")], list[bytes]()
    with kitchen.refuses(("actor", "not_allowed")):
        tag_printing.print_tags(kitchen.session, kitchen.auditor, asked, SHEET, printed.append)
    looking = kitchen.reopen(read_only=True)
    with pytest.raises(KnownError):
        tag_printing.print_tags(looking, kitchen.lead, asked, SHEET, printed.append)
    assert printed == []


def test_a_tag_of_one_taken_out_says_why(kitchen: Kitchen) -> None:
    (one, *_) = three(kitchen)
    thermometers.take_out(kitchen.session, kitchen.lead, one, "battery_flat")
    words = reading.words_of(tag_printing.draw(kitchen.session, [Asked(one, "status")], Setup()).pdf)
    assert "DO NOT USE" in words
    assert "The battery is flat." in words
    assert "Check first." not in words


# --- who wants one ---------------------------------------------------------------------------------------------


def test_a_status_tag_is_wanted_where_none_was_printed_and_then_no_more(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    assert why(kitchen, of) == ""  # no check yet: it could say nothing
    kitchen.checked(of, "0.1 C")
    assert why(kitchen, of) == "never"
    print_one(kitchen, of)
    assert why(kitchen, of) == ""


def test_where_it_is_checked_each_shift_a_further_good_check_wants_no_tag(kitchen: Kitchen) -> None:
    of = kitchen.dial()
    day = kitchen.session.today(_site(kitchen))
    _add_shift(kitchen, day)
    kitchen.checked(of, "0 C")
    print_one(kitchen, of)
    kitchen.clock.move(days=1)
    kitchen.checked(of, "0 C")
    assert why(kitchen, of) == ""


def test_where_checks_lie_a_week_apart_each_brings_a_tag(kitchen: Kitchen) -> None:
    """The plan by risk: digitals every seven days."""
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    of = kitchen.enrol(uses=("cold",))
    kitchen.checked(of, "0.1 C")
    print_one(kitchen, of)
    kitchen.clock.move(days=7)
    assert why(kitchen, of) == ""
    kitchen.checked(of, "0.1 C")
    assert why(kitchen, of) == "checked_again"
    print_one(kitchen, of)
    assert why(kitchen, of) == ""


def test_a_changed_status_wants_one_whatever_the_interval(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    print_one(kitchen, of)
    incidents.report_incident(kitchen.session, kitchen.lead, of, "dropped")
    assert why(kitchen, of) == "status_changed"
    print_one(kitchen, of)
    assert why(kitchen, of) == ""
    thermometers.take_out(kitchen.session, kitchen.lead, of, "damaged")
    assert why(kitchen, of) == "status_changed"


def test_a_voided_check_wants_another_tag(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    kitchen.checked(of, "0.1 C")
    kitchen.checked(of, "0.1 C")
    print_one(kitchen, of)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    assert why(kitchen, of) == "check_voided"


def test_a_tag_that_lets_a_cook_stop_too_early_is_wanted_anew(kitchen: Kitchen) -> None:
    """It reads 0.4 °C higher than when the tag was printed: food must show more, and the tag hangs there with less."""
    of = kitchen.enrol()
    boiled(kitchen, of, "99.6 C")
    kitchen.checked(of, "0.1 C")
    print_one(kitchen, of)
    boiled(kitchen, of, "100.2 C")
    assert why(kitchen, of) == "asks_more"
    print_one(kitchen, of)
    assert why(kitchen, of) == ""


def test_an_identity_tag_is_wanted_once_and_after_another_id(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    assert why(kitchen, of, "identity") == "never"
    print_one(kitchen, of, "identity")
    assert why(kitchen, of, "identity") == ""
    thermometers.retag(kitchen.session, kitchen.officer, of, "PRX77")
    assert why(kitchen, of, "identity") == "retagged"


def test_lost_and_retired_ones_are_not_offered(kitchen: Kitchen) -> None:
    of = kitchen.enrol()
    incidents.report_incident(kitchen.session, kitchen.lead, of, "lost")
    with kitchen.session.reading() as connection:
        assert tag_wants.rows_at(connection, kitchen.site) == []


def _site(kitchen: Kitchen):  # type: ignore[no-untyped-def]
    from registry.services import places

    with kitchen.session.reading() as connection:
        return places.site_named_by_id(connection, kitchen.site).payload


def _add_shift(kitchen: Kitchen, day) -> None:  # type: ignore[no-untyped-def]
    from registry.services import places

    every = tuple(range(7))
    places.add_shift(kitchen.session, kitchen.admin, kitchen.site, "Day", "05:00", "22:00", every, day)


# --- on what ---------------------------------------------------------------------------------------------------


def test_the_settings_name_the_sheets_that_there_are(tmp_path: Path) -> None:
    assert set(settings.SHEETS) == set(SHEETS)
    local = settings.local_file(tmp_path)
    for label in settings.SETTINGS["label"].choices:
        settings.choose(local, "label", label)
        tag_setup.check_setup(tag_setup.setup_here(local))


def test_what_was_chosen_is_there_the_next_time(tmp_path: Path) -> None:
    local = settings.local_file(tmp_path)
    assert tag_setup.setup_here(local) == Setup()
    for kept in (SHEET, Setup("60.5x40", 203, "datamatrix", 1, Decimal("-1.25"), Decimal(2))):
        tag_setup.keep_setup(local, kept)
        assert tag_setup.setup_here(settings.local_file(tmp_path)) == replace(kept, start=1)


def test_a_figure_out_of_its_bounds_is_refused_and_one_that_is_kept_so_is_not_taken(tmp_path: Path) -> None:
    local = settings.local_file(tmp_path)
    with pytest.raises(Refused) as refused:
        settings.keep_figure(local, "trim_right", Decimal("5.1"))
    assert refused.value.problems[0].code == "out_of_bounds"
    for wrong in ("9", "x", "NaN"):
        local.set_setting("trim_right", wrong)
        assert settings.figure(local, "trim_right") == 0


def test_every_field_that_is_wrong_is_told() -> None:
    with pytest.raises(Refused) as refused:
        tag_setup.typed_setup("a4_63.5x38.1", "150", "qr", "22", "7", "x")
    assert {(one.field, one.code) for one in refused.value.problems} == {
        ("dpi", "choose"),
        ("start", "no_such_label"),
        ("trim_right", "trim_too_far"),
        ("trim_down", "not_a_number"),
    }
    with pytest.raises(Refused) as refused:
        tag_setup.typed_setup("a5", "300", "qr")
    assert [(one.field, one.code) for one in refused.value.problems] == [("stock", "no_stock")]
    assert tag_setup.typed_setup("50,5x25", "300", "qr", "1", "\N{MINUS SIGN}0,5").trim_right == Decimal("-0.5")


# --- what no tag says ------------------------------------------------------------------------------------------


def imported(kitchen: Kitchen, row: str) -> None:
    content = f"tag,date,point,reading,unit,outcome\n{row}\n".encode()
    with kitchen.session.reading() as connection:
        plan = importing.check_history(kitchen.session, connection, content, importing.Options())
    importing.record_history(kitchen.session, kitchen.officer, plan)


@pytest.mark.parametrize("said", ["boil,93.0,C,", "ice,0.6,C,cannot_decide"])
def test_no_tag_says_use_after_a_check_that_does_not_bear_it_out(kitchen: Kitchen, said: str) -> None:
    one = kitchen.enrol(tag_id="AA1")
    imported(kitchen, f"AA1,2026-02-03,{said}")
    with kitchen.refuses(("checks", "not_shown_right")):
        print_one(kitchen, one)
    thermometers.take_out(kitchen.session, kitchen.lead, one, "damaged")
    print_one(kitchen, one)  # that it must not be used is said whatever its check was
    assert kitchen.last("tag_printed").payload["status"] == "out_of_use"


def test_a_tag_past_its_recheck_date_shows_no_readings_to_reach(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    boiled(kitchen, one, "99.6 C")
    kitchen.checked(one, "0.1 C")
    print_one(kitchen, one)
    assert kitchen.last("tag_printed").payload["reach"]
    kitchen.clock.move(days=100)  # no plan names a nearer day than 90
    print_one(kitchen, one)
    assert "reach" not in kitchen.last("tag_printed").payload
