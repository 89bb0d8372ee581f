"""The table of thermometers: pages by key, orders, filters, counts."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from registry.quantity import Length, TemperatureDifference
from registry.services import duelist, mend, places, table, thermometers
from registry.services.places import NewSite
from registry.services.table import Key, Page, Wanted
from registry.services.thermometers import PartGiven
from registry.store import rebuild
from tests.services.kitchen import DIAL_F, DIGITAL_F, Kitchen, another

EVERY_ONE = Wanted()


def asked(kitchen: Kitchen, wanted: Wanted = EVERY_ONE, **more: Any) -> Page:
    with kitchen.session.reading() as connection:
        return table.page(kitchen.session, connection, wanted, **more)


def tags(page: Page) -> list[str]:
    return [row.tag_id for row in page.rows]


def through(kitchen: Kitchen, wanted: Wanted = EVERY_ONE, *, size: int, **more: Any) -> Iterator[str]:
    """Every tag id, one page after another."""
    after: Key | None = None
    while True:
        page = asked(kitchen, wanted, after=after, size=size, **more)
        yield from tags(page)
        if (after := page.next) is None:
            return


@pytest.fixture(scope="module")
def first_many(first_kitchen: Kitchen, tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """Two sites, two stations, nine thermometers; two of one maker, one with parts, checks of all sorts. Closed."""
    kitchen = another(first_kitchen, tmp_path_factory.mktemp("many") / "kitchen")
    session = kitchen.session
    other = places.add_site(session, kitchen.admin, NewSite("Abbey", "AB", "Europe/Madrid", Length.from_text("300 m")))
    line = places.add_station(session, kitchen.admin, kitchen.site, "Line")
    cold = places.add_station(session, kitchen.admin, kitchen.site, "Cold room")
    t1 = kitchen.enrol(tag_id="T1", station=line, whole=PartGiven("Odderby", "Needle", "X-77"))
    t2 = kitchen.enrol(tag_id="T2", station=cold, whole=PartGiven("Odderby", "Needle", "X-78"))
    kitchen.dial(tag_id="T3", whole=PartGiven("Brasmoor", "S_60", "50%"), in_use_since=date(2025, 1, 2))
    kitchen.enrol(DIGITAL_F, tag_id="T4", site=other)
    kitchen.enrol(tag_id="T5", whole=PartGiven("Kelvane", "Duo", "K9"), sensor=PartGiven("Kelvane", "Tip", "tip-5"))
    kitchen.dial(DIAL_F, tag_id="T6", site=other)
    kitchen.enrol(tag_id="T7")
    u1, u2 = kitchen.enrol(tag_id="U1"), kitchen.enrol(tag_id="U2")
    for thermometer, shown in ((t1, ("0.4",)), (t2, ("1.6", "1.6", "1.6")), (u1, ("-0.3",))):
        kitchen.checked(thermometer, *(f"{one} C" for one in shown))
        kitchen.clock.move(minutes=5)
    thermometers.set_status(session, kitchen.officer, u2, "retired", "worn")
    session.close()
    return kitchen


@pytest.fixture
def many(first_many: Kitchen, tmp_path: Path) -> Iterator[Kitchen]:
    opened = another(first_many, tmp_path / "many")
    yield opened
    opened.session.close()


ALL = ["T1", "T2", "T3", "T4", "T5", "T6", "T7", "U1", "U2"]


def test_an_empty_registry_has_an_empty_page(kitchen: Kitchen) -> None:
    assert asked(kitchen) == Page((), None, 0, 0, 0)


def test_what_a_row_says(many: Kitchen) -> None:
    first, second = asked(many, Wanted(text="X-7")).rows
    assert (first.tag_id, first.site_name, first.station_name, first.zone) == ("T1", "Pier", "Line", "America/New_York")
    assert (first.maker, first.model, first.serial) == ("Odderby", "Needle", "X-77")
    assert (first.status, first.last_outcome, first.waits) == ("in_service", "pass", False)
    assert first.last_offset == TemperatureDifference.from_text("0.4 dC")
    assert first.checked_by == many.lead.person
    assert (second.last_outcome, second.status) == ("fail", "check_first")


def test_a_check_in_a_bath_that_nobody_judged_waits(kitchen: Kitchen) -> None:
    one = kitchen.enrol(tag_id="W1")
    kitchen.key(kitchen.ice(), one, "0.1 C")
    (row,) = asked(kitchen).rows
    assert (row.waits, row.last_outcome) == (True, None)


def in_ice(kitchen: Kitchen, tag: str, as_left: str | None, **more: Any) -> table.TableRow:
    """Found outside in an ice bath, adjusted; its row then."""
    one = kitchen.enrol(tag_id=tag, adjusts="reset")
    bath = kitchen.ice()
    check = kitchen.key(bath, one, "1.6 C", "1.6 C", "1.6 C").check
    if more.pop("judged", True):
        kitchen.judge(bath)
    kitchen.clock.move(minutes=2)
    kitchen.adjust(check, "reset", as_left, **more)
    (row,) = asked(kitchen, Wanted(text=tag)).rows
    return row


def test_who_was_adjusted_stands_as_left(kitchen: Kitchen) -> None:
    row = in_ice(kitchen, "W1", "0.2 C")
    assert (row.last_outcome, row.left, row.as_found) == ("pass", "judged", "fail")
    assert row.last_offset == TemperatureDifference.from_text("0.2 dC")
    assert (row.status, row.waits) == ("in_service", False)
    assert tags(asked(kitchen, Wanted(outcome="pass"))) == ["W1"]
    assert tags(asked(kitchen, Wanted(outcome="fail"))) == []
    kitchen.clock.move(hours=1)
    kitchen.checked(row.thermometer, "1.7 C", "1.7 C", "1.7 C")  # found outside again: that is how it stands now
    (again,) = asked(kitchen).rows
    assert (again.last_outcome, again.left, again.as_found, again.status) == ("fail", "", None, "check_first")
    assert tags(asked(kitchen, Wanted(outcome="fail"))) == ["W1"]


def test_who_was_adjusted_and_is_outside_still_fails(kitchen: Kitchen) -> None:
    row = in_ice(kitchen, "W1", "-1.4 C")
    assert (row.last_outcome, row.left, row.as_found, row.status) == ("fail", "judged", "fail", "check_first")


def test_who_was_adjusted_and_not_read_has_no_outcome(kitchen: Kitchen) -> None:
    row = in_ice(kitchen, "W1", None)
    assert (row.last_outcome, row.last_offset, row.left, row.as_found) == (None, None, "not_measured", "fail")
    assert (row.status, row.waits) == ("check_first", False)
    assert tags(asked(kitchen, Wanted(outcome="fail"))) == []


def test_what_was_turned_stays_turned_when_that_is_voided(kitchen: Kitchen) -> None:
    row = in_ice(kitchen, "W1", "0.2 C")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("adjusted").number, "mistyped")
    (row,) = asked(kitchen).rows
    assert (row.last_outcome, row.left, row.status) == (None, "not_measured", "check_first")


def test_the_table_says_the_same_after_a_rebuild(kitchen: Kitchen) -> None:
    in_ice(kitchen, "W1", "0.2 C")
    in_ice(kitchen, "W2", None)
    before = asked(kitchen)
    rebuild.rebuild(kitchen.session.database)
    assert asked(kitchen) == before
    assert [row.left for row in before.rows] == ["judged", "not_measured"]


def test_who_was_adjusted_is_sorted_as_left(kitchen: Kitchen) -> None:
    in_ice(kitchen, "W1", "0.2 C")
    kitchen.checked(kitchen.enrol(tag_id="W2"), "0.6 C")
    kitchen.checked(kitchen.enrol(tag_id="W3"), "1.7 C", "1.7 C", "1.7 C")
    assert tags(asked(kitchen, sort="last_offset")) == ["W1", "W2", "W3"]
    assert tags(asked(kitchen, sort="last_outcome")) == ["W3", "W1", "W2"]
    assert list(through(kitchen, size=1, sort="last_offset")) == ["W1", "W2", "W3"]


def test_next_due_is_what_tags_say(many: Kitchen) -> None:
    with many.session.reading() as connection:
        by_tag = {row.tag_id: row.next_due for row in table.page(many.session, connection).rows}
        for tag in ALL:
            row = thermometers.find(connection, tag).row
            assert by_tag[tag] == duelist.recheck_by(many.session, connection, row), tag
    assert by_tag["T1"] is not None
    assert by_tag["U2"] is None


@pytest.mark.fast_cases(23)
@pytest.mark.parametrize("descending", [False, True])
@pytest.mark.parametrize("sort", table.SORTS)
@pytest.mark.parametrize("size", [1, 2, 4])
def test_pages_of_any_size_give_each_row_once_in_one_order(
    many: Kitchen, sort: str, descending: bool, size: int
) -> None:
    whole = tags(asked(many, sort=sort, descending=descending))
    assert sorted(whole) == ALL
    assert list(through(many, size=size, sort=sort, descending=descending)) == whole


def test_orders_hold_and_tag_id_breaks_ties(many: Kitchen) -> None:
    assert tags(asked(many, sort="tag_id", descending=True)) == ALL[::-1]
    by_offset = tags(asked(many, sort="last_offset", descending=True))
    assert by_offset == ["T2", "T1", "U1", "T3", "T4", "T5", "T6", "T7", "U2"]
    assert tags(asked(many, sort="last_check_at", descending=True))[:3] == ["U1", "T2", "T1"]
    assert tags(asked(many, sort="site"))[:3] == ["T4", "T6", "T1"]  # Abbey, then Pier
    assert tags(asked(many, sort="station"))[-2:] == ["T2", "T1"]  # none, Cold room, Line
    assert tags(asked(many, sort="maker"))[-4:] == ["T3", "T5", "T1", "T2"]
    assert tags(asked(many, sort="serial", descending=True))[:4] == ["T2", "T1", "T5", "T3"]
    assert tags(asked(many, sort="in_use_since"))[-1] == "T3"
    assert tags(asked(many, sort="status"))[0] == "T2"
    assert tags(asked(many, sort="status"))[-1] == "U2"
    assert tags(asked(many, sort="last_outcome"))[-3:] == ["T2", "T1", "U1"]


def test_an_offset_in_fahrenheit_is_sorted_by_its_size(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(tag_id="A1"), "0.8 C")
    kitchen.checked(kitchen.enrol(DIGITAL_F, tag_id="A2"), "33.0 F")
    assert tags(asked(kitchen, sort="last_offset")) == ["A2", "A1"]  # 1.0 °F is less than 0.8 °C


def test_the_next_page_goes_on_where_a_row_came_between(many: Kitchen) -> None:
    first = asked(many, size=4)
    many.enrol(tag_id="A0")
    many.enrol(tag_id="T45")
    second = asked(many, size=4, after=first.next)
    assert tags(first) + tags(second) == ["T1", "T2", "T3", "T4", "T45", "T5", "T6", "T7"]


def test_the_last_page_says_so_and_counts_stay(many: Kitchen) -> None:
    page = asked(many, Wanted(type="bimetal_stem"), size=1)
    assert (page.shown, page.of, page.every) == (1, 2, 9)
    last = asked(many, Wanted(type="bimetal_stem"), size=1, after=page.next)
    assert (tags(last), last.next, last.of) == (["T6"], None, 2)


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (Wanted(type="bimetal_stem"), ["T3", "T6"]),
        (Wanted(status="check_first"), ["T2"]),
        (Wanted(status="retired"), ["U2"]),
        (Wanted(outcome="pass"), ["T1", "U1"]),
        (Wanted(outcome="pass", text="u"), ["U1"]),
        (Wanted(text="t 4"), ["T4"]),
        (Wanted(text="  oDDerby "), ["T1", "T2"]),
        (Wanted(text="S_6"), ["T3"]),
        (Wanted(text="_"), ["T3"]),  # a sign, not any letter
        (Wanted(text="%"), ["T3"]),
        (Wanted(text="0%"), ["T3"]),
        (Wanted(text="kelvane"), ["T5"]),
        (Wanted(text="TIP-5"), ["T5"]),
        (Wanted(text="thermistor"), []),  # a code in the entry's text is not a maker
        (Wanted(text='"'), []),
        (Wanted(text="\\"), []),
        (Wanted(text="\x00\ud800"), ALL),  # nothing that can be typed is left of it
    ],
)
def test_filters(many: Kitchen, wanted: Wanted, found: list[str]) -> None:
    page = asked(many, wanted)
    assert tags(page) == found
    assert (page.shown, page.of, page.every) == (len(found), len(found), 9)


def test_site_and_station_narrow(many: Kitchen) -> None:
    with many.session.reading() as connection:
        other = places.site_named(connection, "AB").subject
        line = places.station_named(connection, many.site, "Line").subject
    assert tags(asked(many, Wanted(site=other))) == ["T4", "T6"]
    assert tags(asked(many, Wanted(station=line))) == ["T1"]


def test_due_is_what_the_due_list_says(many: Kitchen) -> None:
    with many.session.reading() as connection:
        due = duelist.due_list(many.session, connection)
    open_ones = {one.row.tag_id for one in due if one.item.state in duelist.OPEN_STATES}
    assert tags(asked(many, Wanted(due="open"))) == sorted(one or "" for one in open_ones)
    assert "U2" not in open_ones
    assert "T2" in open_ones


def test_what_is_due_may_be_handed_in(many: Kitchen) -> None:
    with many.session.reading() as connection:
        owing = table.owing(many.session, connection, Wanted(due="open"))
    assert asked(many, Wanted(due="open"), among=owing) == asked(many, Wanted(due="open"))
    assert tags(asked(many, Wanted(due="open"), among=frozenset())) == []


def test_unknown_orders_and_states_are_refused(many: Kitchen) -> None:
    with many.refuses(("sort", "choose")):
        asked(many, sort="tag_id; DROP TABLE thermometers")
    with many.refuses(("due", "choose")):
        asked(many, Wanted(due="soon"))


def test_columns_that_are_not_shown_stay_empty(many: Kitchen) -> None:
    row = asked(many, columns=("tag_id",)).rows[0]
    assert (row.checked_by, row.next_due) == (None, None)


def test_the_same_on_both_databases(any_kitchen: Kitchen) -> None:
    any_kitchen.checked(any_kitchen.enrol(tag_id="A1", whole=PartGiven("Odderby", "Needle", "1")), "0.4 C")
    any_kitchen.enrol(tag_id="A2")
    any_kitchen.enrol(tag_id="A3", whole=PartGiven("K", "D", "9"), sensor=PartGiven("K", "T", "tip"))
    for sort in table.SORTS:
        for descending in (False, True):
            whole = tags(asked(any_kitchen, sort=sort, descending=descending))
            assert list(through(any_kitchen, size=1, sort=sort, descending=descending)) == whole
    assert tags(asked(any_kitchen, Wanted(text="ODDER"))) == ["A1"]
    assert tags(asked(any_kitchen, Wanted(text="tip"))) == ["A3"]
    assert tags(asked(any_kitchen, Wanted(text="a"))) == ["A1", "A2", "A3"]
