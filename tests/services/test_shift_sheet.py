"""The shift sheet from a registry: what is printed for whom, and a sheet keyed in afterwards."""

from dataclasses import replace
from datetime import date

import pytest

from registry import resources
from registry.compute.schedule import ShiftTime
from registry.services import checks, import_journal, lookup, places, shift_list, shift_sheet, thermometers
from registry.services.problems import Refused
from registry.services.shift_sheet import Entered, PaperBath, PaperRow
from registry.wording import say
from tests.documents.reading import words_of
from tests.services.kitchen import (
    AIR_C,
    DIAL_C,
    DIAL_F,
    DIGITAL_C,
    DIGITAL_F,
    TUESDAY,
    Kitchen,
    scale,
)

ICE = PaperBath("1", "ice", "crushed packed")
BOIL = PaperBath("2", "boil", "rolling boil", pressure_source="room barometer", pressure="1001.0 hPa")


@pytest.fixture(autouse=True)
def no_pause(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_journal, "PAUSE_S", 0)


def shift_of(kitchen: Kitchen, name: str = "Morning", start: str = "06:00", end: str = "14:00") -> str:
    days = tuple(range(7))
    return places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, start, end, days, TUESDAY)


def on(kitchen: Kitchen, name: str, day: date) -> ShiftTime:
    with kitchen.session.reading() as connection:
        fact = places.site_named_by_id(connection, kitchen.site)
        return lookup.shift_on(connection, fact, name, day)


def enter(
    kitchen: Kitchen,
    *rows: PaperRow,
    baths: tuple[PaperBath, ...] = (ICE,),
    shift: str = "Morning",
    asked: frozenset[str] = frozenset(),
) -> Entered:
    """A sheet of Tuesday, entered by the lead, who also read it."""
    return shift_sheet.enter(
        kitchen.session, kitchen.lead, kitchen.site, shift, TUESDAY, baths, rows, initials="LQ", asked=asked
    )


def said(kitchen: Kitchen, *rows: PaperRow, baths: tuple[PaperBath, ...] = (ICE,)) -> list[tuple[object, str, str]]:
    """What is refused, as (line, field, code); nothing is recorded, and each has its sentence."""
    before = kitchen.count()
    with pytest.raises(Refused) as caught:
        enter(kitchen, *rows, baths=baths)
    assert kitchen.count() == before
    for one in caught.value.problems:
        for language in resources.languages():
            assert say(f"importing.{one.code}", language, **one.values)
    return [(one.values.get("row", 0), one.field, one.code) for one in caught.value.problems]


# --- printing ------------------------------------------------------------------------------------------------


def test_the_sheet_of_a_shift_to_come_names_what_it_will_want(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    digital, dial = kitchen.enrol(), kitchen.dial(DIAL_F)
    out = kitchen.enrol()
    thermometers.take_out(kitchen.session, kitchen.lead, out, "damaged")
    before = kitchen.count()
    found = words_of(
        shift_sheet.print_sheet(kitchen.session, kitchen.site, on=on(kitchen, "Morning", date(2026, 3, 5)))
    )
    assert kitchen.count() == before
    assert "Shift: Morning, 6:00 AM to 2:00 PM" in found.replace("\u202f", " ")
    assert "March 5, 2026" in found
    assert kitchen.tag(digital) in found
    assert kitchen.tag(dial) in found
    assert kitchen.tag(out) not in found


def test_the_ranges_on_paper_are_those_of_the_bath(kitchen: Kitchen) -> None:
    """What is printed ahead equals what the list says once that bath is made (boiling by elevation alone)."""
    shift_of(kitchen)
    for scales in ((DIGITAL_C,), (DIGITAL_C, DIGITAL_F), (DIGITAL_F,)):
        kitchen.enrol(*scales)
    kitchen.dial(DIAL_F)
    kitchen.dial(DIAL_C)
    kitchen.enrol(DIGITAL_C, type="infrared")
    found = words_of(shift_sheet.print_sheet(kitchen.session, kitchen.site))
    for make in (kitchen.ice, kitchen.boil):
        bath = make()
        rows = shift_list.start_of_shift(kitchen.session, kitchen.site).rows
        spans = [span for row in rows for span in row.spans]
        assert len(spans) >= 6
        for span in spans:
            lowest = f"{span.lowest.value:f}".replace("-", "\N{MINUS SIGN}")
            assert f"{lowest} to {span.highest.value:f} °{span.unit}" in found
        kitchen.judge(bath, "condemned")


def test_an_infrared_gets_the_range_of_stirred_slush(kitchen: Kitchen) -> None:
    kitchen.enrol(DIGITAL_C, type="infrared")
    found = words_of(shift_sheet.print_sheet(kitchen.session, kitchen.site))
    kitchen.ice("slush_stirred")
    (row,) = shift_list.start_of_shift(kitchen.session, kitchen.site).rows
    (span,) = row.spans
    assert f"\N{MINUS SIGN}{-span.lowest.value:f} to " in found
    assert f" {span.highest.value:f} °C".replace("-", "\N{MINUS SIGN}") in found


def test_a_sheet_in_stock_names_all_in_use_and_no_day(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    good = kitchen.enrol(uses=("cold",))
    kitchen.checked(good, "0.1 C")
    oven = kitchen.enrol(scale("10 dC", "50 C", "300 C"), type="oven")
    found = words_of(shift_sheet.print_sheet(kitchen.session, kitchen.site, every=True, language="es", paper="a4"))
    assert kitchen.tag(good) in found
    assert kitchen.tag(oven) in found
    assert "Hoja de turno" in found
    assert "Morning" not in found


def test_an_empty_sheet_is_refused(kitchen: Kitchen) -> None:
    with pytest.raises(Refused) as refused:
        shift_sheet.print_sheet(kitchen.session, kitchen.site)
    assert (refused.value.problems[0].field, refused.value.problems[0].code) == ("sheet", "nothing_on_it")


# --- keying it in --------------------------------------------------------------------------------------------


def test_a_sheet_keyed_in_is_judged_as_if_keyed_in_at_the_time(kitchen: Kitchen) -> None:
    shift = shift_of(kitchen)
    good, bad, flat, unused = kitchen.enrol(), kitchen.dial(), kitchen.enrol(), kitchen.enrol()
    kitchen.clock.move(hours=6)  # 11:30: the sheet is of this morning
    done = enter(
        kitchen,
        PaperRow(kitchen.tag(good), "06:11", ("0,4",), "C", "1", initials="LQ"),
        PaperRow(kitchen.tag(bad), "06:12", ("2", "2", "1.5"), "C", "1", as_left="0", adjusted="nut"),
        PaperRow(kitchen.tag(flat), "06:13", (), "", "1", instead="battery flat"),
        PaperRow(kitchen.tag(unused), "06:20", instead="not used"),
        baths=(ICE,),
        shift="Morning",
    )
    first, second, third, fourth = done.rows
    assert (third, fourth) == (None, None)
    assert first is not None
    assert second is not None
    assert ([one.text() for one in first.readings], first.lead_word) == (["0.4 C"], "use")
    assert ([one.text() for one in second.readings], second.judged.outcome) == (["2 C", "2 C", "1.5 C"], "fail")
    view = kitchen.check(second.check)
    assert view.at == kitchen.check(first.check).at + 60_000_000  # 06:12, not when it was keyed in
    entry = kitchen.last("adjusted").payload
    assert (entry["check"], entry["as_left"], entry["outcome"]) == (second.check, ["0 C"], "pass")
    absent = kitchen.last("not_checked").payload
    assert (absent["shift"], absent["day"], absent["why"]) == (shift, TUESDAY.isoformat(), "not_used")
    states = {one.thermometer: one.state for one in shift_list.start_of_shift(kitchen.session, kitchen.site).rows}
    assert states == {good: "recorded", bad: "recorded", flat: "no_reading", unused: "not_used"}
    assert kitchen.verify().good


def test_the_same_readings_by_hand_come_to_the_same(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    paper, hand = kitchen.dial(), kitchen.dial()
    bath = kitchen.ice()
    by_hand = kitchen.key(bath, hand, "2 C", "1.5 C", "0.5 C")
    kitchen.judge(bath)
    kitchen.clock.move(hours=6)
    done = enter(
        kitchen, PaperRow(kitchen.tag(paper), "06:12", ("2", "1.5", "0.5"), "C", "1"), baths=(ICE,), shift="Morning"
    )
    (row,) = done.rows
    assert row is not None
    assert replace(row.judged, offset=by_hand.judged.offset) == by_hand.judged
    assert row.judged.offset == by_hand.judged.offset.rounded(4)  # as the journal froze it
    with kitchen.session.reading() as connection:
        assert row.lead_word == checks.recorded_row(connection, by_hand.check).lead_word


def test_two_baths_of_one_sheet(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    both = kitchen.enrol()
    kitchen.clock.move(hours=6)
    tag = kitchen.tag(both)
    done = enter(
        kitchen,
        PaperRow(tag, "06:11", ("0.1",), "C", "1"),
        PaperRow(tag, "06:40", ("99.8",), "C", "2"),
        baths=(
            ICE,
            BOIL,
        ),
        shift="Morning",
    )
    points = [kitchen.check(one.check).point for one in done.rows if one is not None]
    assert points == ["ice_point", "boiling_point"]
    # 1001.0 hPa: 99.634 °C (library iapws 1.5, IAPWS-IF97), 99.6 °C as shown
    assert done.rows[1] is not None
    assert done.rows[1].judged.reference.text() == "99.6 C"


def test_after_midnight_belongs_to_the_night_that_began_the_evening_before(kitchen: Kitchen) -> None:
    shift_of(kitchen, "Night", "22:00", "06:00")
    made = kitchen.enrol()
    kitchen.clock.move(days=1, hours=6)
    done = enter(kitchen, PaperRow(kitchen.tag(made), "00:30", ("0.1",), "C", "1"), baths=(ICE,), shift="Night")
    assert done.rows[0] is not None
    payload = kitchen.last("check_recorded").payload
    assert payload["day"] == TUESDAY.isoformat()
    # 00:30 on 4 March in New York is 05:30 UTC
    assert kitchen.check(done.rows[0].check).at == 1_772_602_200_000_000


def test_what_is_wrong_is_said_of_the_line_and_nothing_is_recorded(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    good, dial = kitchen.tag(kitchen.enrol()), kitchen.tag(kitchen.dial())
    kitchen.clock.move(hours=6)
    found = said(
        kitchen,
        PaperRow(good, "06:11", ("0.4",), "C", "1"),
        PaperRow(dial, "06:12", ("2", "2", "2"), "C", "1", as_left="O", adjusted="nut"),
        PaperRow("ZZ999", "06:13", ("0.4",), "C", "1"),
        PaperRow(good, "6 o'clock", ("0.4",), "C", "1"),
    )
    assert set(found) == {(2, "as_left", "reading_not_a_number"), (3, "tag", "unknown_tag"), (4, "time", "not_a_time")}


def test_odd_readings_are_questioned_and_answered_for_the_whole_sheet(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    tag = kitchen.tag(kitchen.enrol())
    kitchen.clock.move(hours=6)
    row = PaperRow(tag, "06:11", ("0.05",), "C", "1")
    assert said(kitchen, row) == [(1, "readings", "too_fine")]
    assert enter(kitchen, row, asked=frozenset(("too_fine",)))


def test_a_reading_far_from_its_bath_is_a_named_cell(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    tag = kitchen.tag(kitchen.enrol())
    kitchen.clock.move(hours=6)
    row = PaperRow(tag, "06:11", ("50.0",), "C", "1")
    assert said(kitchen, row) == [(1, "readings", "other_unit")]
    assert enter(kitchen, row, asked=frozenset(("other_unit",)))


def test_a_sheet_is_entered_once(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    row = PaperRow(kitchen.tag(kitchen.enrol()), "06:11", ("0.1",), "C", "1")
    kitchen.clock.move(hours=6)
    enter(kitchen, row)
    with pytest.raises(Refused) as refused:
        enter(kitchen, row)
    assert refused.value.problems[0].field == "file"


def test_cells_that_would_upset_a_file_stay_in_their_cell(kitchen: Kitchen) -> None:
    shift_of(kitchen)
    kitchen.clock.move(hours=6)
    tag = kitchen.tag(kitchen.enrol())
    for bad in ('0.4"', "0,4;\n0.5", "=1+1", "'0.4", "0.4,0.5"):
        found = said(kitchen, PaperRow(tag, "06:11", (bad,), "C", "1"))
        assert {line for line, _, _ in found} == {1}, bad
        assert {field for _, field, _ in found} == {"readings"}, bad


def test_air_in_place_stands_on_the_sheet_without_a_range(kitchen: Kitchen) -> None:
    air = kitchen.enrol(AIR_C, type="fixed_air")
    assert kitchen.tag(air) in words_of(shift_sheet.print_sheet(kitchen.session, kitchen.site))
