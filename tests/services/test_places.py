"""Sites, stations and shifts."""

from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from registry.quantity import Length
from registry.services import lookup, places
from registry.services.places import NewShift, NewSite
from tests.services.kitchen import DAY_US, TUESDAY, ZONE, Kitchen

EVERY_DAY = tuple(range(7))


def site(name: str = "Harbour", letters: str = "HB", zone: str = ZONE, elevation: str = "5", **more: str) -> NewSite:
    return NewSite(name, letters, zone, Length(Decimal(elevation), "m"), **more)


def test_a_site_is_found_by_letters_and_by_name(any_kitchen: Kitchen) -> None:
    kitchen = any_kitchen
    added = places.add_site(kitchen.session, kitchen.officer, site(letters="hb", address="1 Quay"))
    with kitchen.session.reading() as connection:
        assert [one.payload.name for one in places.sites(connection)] == ["Harbour", "Pier"]
        assert places.site_named(connection, "hB").subject == added
        assert places.site_named(connection, " harbour ").payload.address == "1 Quay"
        assert places.site_named_by_id(connection, added).payload.elevation == "5 m"
        for wanted, code in (("", "say_which"), ("nowhere", "unknown")):
            with kitchen.refuses(("site", code)):
                places.site_named(connection, wanted)


def test_the_only_site_need_not_be_named(kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        assert places.site_named(connection, "").subject == kitchen.site


@pytest.mark.parametrize(
    ("new", "wanted"),
    [
        (site(name=" "), ("name", "empty")),
        (site(name="PIER"), ("name", "taken")),
        (site(letters="H"), ("letters", "two_letters")),
        (site(letters="É1"), ("letters", "two_letters")),
        (site(letters="pr"), ("letters", "taken")),
        (site(zone="Mars/Olympus"), ("zone", "unknown")),
        (site(zone=""), ("zone", "unchosen")),
        (site(zone="../etc"), ("zone", "unknown")),
        (site(elevation="-501"), ("elevation", "out_of_range")),
        (site(elevation="11001"), ("elevation", "out_of_range")),
        (site(pressure_source="a_guess"), ("pressure_source", "unknown")),
    ],
)
def test_what_is_wrong_with_a_site_is_named(kitchen: Kitchen, new: NewSite, wanted: tuple[str, str]) -> None:
    with kitchen.refuses(wanted):
        places.add_site(kitchen.session, kitchen.officer, new)


def test_a_corrected_elevation_counts_for_later_baths_only(kitchen: Kitchen) -> None:
    kitchen.boil()
    first = kitchen.last("bath_made").payload
    changed = NewSite("Pier", "PR", ZONE, Length(Decimal(1600), "m"))
    places.change_site(kitchen.session, kitchen.officer, kitchen.site, changed)
    kitchen.boil()
    second = kitchen.last("bath_made").payload
    assert (first["elevation"], second["elevation"]) == ("120 m", "1600 m")
    assert second["reference"] == "94.6496 C"  # ISO 2533:1975 and IAPWS-IF97 at 1600 m
    before, after = kitchen.entries("site_set")
    assert after.after == (before.hash,)
    with kitchen.refuses(("site", "unknown")):
        places.change_site(kitchen.session, kitchen.officer, kitchen.session.new_id(), changed)


def test_stations_belong_to_a_site(kitchen: Kitchen) -> None:
    grill = places.add_station(kitchen.session, kitchen.officer, kitchen.site, " Grill ")
    other = places.add_site(kitchen.session, kitchen.officer, site())
    places.add_station(kitchen.session, kitchen.officer, other, "Grill")
    with kitchen.session.reading() as connection:
        assert places.station_named(connection, kitchen.site, "grill").subject == grill
        assert len(places.stations(connection)) == 2
        with kitchen.refuses(("station", "unknown")):
            places.station_named(connection, kitchen.site, "bar")
    with kitchen.refuses(("station", "taken")):
        places.add_station(kitchen.session, kitchen.officer, kitchen.site, "GRILL")
    with kitchen.refuses(("station", "empty")):
        places.add_station(kitchen.session, kitchen.officer, kitchen.site, " ")


@pytest.mark.parametrize(
    ("name", "start", "end", "weekdays", "wanted"),
    [
        (" ", "06:00", "14:00", EVERY_DAY, ("shift", "empty")),
        ("Early", "6:00", "14:00", EVERY_DAY, ("start", "not_a_time")),
        ("Early", "06:00", "24:00", EVERY_DAY, ("end", "not_a_time")),
        ("Early", "06:00", "14:00", (), ("weekdays", "not_valid")),
        ("Early", "06:00", "14:00", (7,), ("weekdays", "not_valid")),
    ],
)
def test_what_is_wrong_with_a_shift_is_named(
    kitchen: Kitchen, name: str, start: str, end: str, weekdays: tuple[int, ...], wanted: tuple[str, str]
) -> None:
    with kitchen.refuses(wanted):
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, start, end, weekdays, TUESDAY)


def on_at(kitchen: Kitchen, hour: int, minute: int = 0, day: int = 3) -> tuple[str, date] | None:
    """The shift that is on at an hour UTC of a day in March 2026; New York is 5 hours behind."""
    kitchen.clock.at = int(datetime(2026, 3, day, hour, minute, tzinfo=UTC).timestamp()) * 10**6
    with kitchen.session.reading() as connection:
        found = places.shift_now(kitchen.session, connection, places.site_named_by_id(connection, kitchen.site))
    return (found.shift.name, found.day) if found else None


def test_the_shift_that_is_on(kitchen: Kitchen) -> None:
    for name, start, end in (("Early", "06:00", "14:00"), ("Night", "22:00", "02:00")):
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, start, end, EVERY_DAY, TUESDAY)
    with kitchen.refuses(("shift", "taken")):
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "early", "07:00", "15:00", (0,), TUESDAY)
    early, night = ("Early", TUESDAY), ("Night", TUESDAY)
    assert on_at(kitchen, 9, 59) is None  # 04:59
    assert on_at(kitchen, 10, 0) == early  # an hour before, from judgement
    assert on_at(kitchen, 18, 59) == early
    assert on_at(kitchen, 19, 0) is None
    assert on_at(kitchen, 6, 30, day=4) == night  # 01:30 the next day still belongs to the evening before
    assert on_at(kitchen, 7, 0, day=4) is None


def test_of_two_the_one_that_began_last_is_on(kitchen: Kitchen) -> None:
    for name, start, end in (("Early", "06:00", "14:00"), ("Late", "13:00", "22:00")):
        places.add_shift(kitchen.session, kitchen.officer, kitchen.site, name, start, end, EVERY_DAY, TUESDAY)
    assert on_at(kitchen, 17, 30) == ("Late", TUESDAY)  # 12:30
    with kitchen.session.reading() as connection:
        assert places.shift_named(connection, kitchen.site, "LATE").payload.start == "13:00"
        with kitchen.refuses(("shift", "unknown")):
            places.shift_named(connection, kitchen.site, "Lunch")


def test_a_changed_site_takes_no_letters_or_name_of_another(kitchen: Kitchen) -> None:
    places.add_site(kitchen.session, kitchen.officer, site())
    with kitchen.refuses(("letters", "taken"), ("name", "taken")):
        places.change_site(kitchen.session, kitchen.officer, kitchen.site, site("HARBOUR", "hb"))


def test_nothing_is_added_at_a_site_that_is_not_there(kitchen: Kitchen) -> None:
    nowhere = "0" * 32
    with kitchen.refuses(("site", "unknown")):
        places.add_station(kitchen.session, kitchen.officer, nowhere, "Grill")
    with kitchen.refuses(("site", "unknown")):
        places.add_shift(kitchen.session, kitchen.officer, nowhere, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY)


def test_a_second_press_adds_once(kitchen: Kitchen) -> None:
    session, by = kitchen.session, kitchen.officer
    at, station, shift = (session.new_id() for _ in range(3))
    for _ in range(2):
        places.add_site(session, by, site(), site=at)
        places.add_station(session, by, at, "Grill", station=station)
        places.add_shift(session, by, at, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY, shift=shift)
        places.change_site(session, by, at, site(elevation="7"))
    assert [len(kitchen.entries(one)) for one in ("station_set", "shift_set")] == [1, 1]
    assert len([one for one in kitchen.entries("site_set") if one.subject == at]) == 2


def test_a_name_is_kept_composed_and_found_so(kitchen: Kitchen) -> None:
    places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Cafe\u0301")
    with kitchen.session.reading() as connection:
        assert places.station_named(connection, kitchen.site, "cafe\u0301").payload.name == "Caf\u00e9"


# --- a shift stated anew -------------------------------------------------------------------------------------


def local(kitchen: Kitchen, hour: int, minute: int = 0, day: int = 3) -> None:
    """To an hour in New York on a day in March 2026, before its clocks change."""
    kitchen.clock.at = int(datetime(2026, 3, day, hour, minute, tzinfo=ZoneInfo(ZONE)).timestamp()) * 10**6


def early(kitchen: Kitchen) -> str:
    return places.add_shift(
        kitchen.session, kitchen.officer, kitchen.site, "Early", "06:00", "14:00", EVERY_DAY, TUESDAY
    )


def change(kitchen: Kitchen, shift: str, start: str, end: str, days: tuple[int, ...] = EVERY_DAY) -> None:
    places.change_shift(kitchen.session, kitchen.officer, shift, NewShift("Early", start, end, days))


def worked(kitchen: Kitchen) -> list[tuple[int, str]]:
    """(day of March, local beginning) of the shifts from the 2nd to the 6th, asked for at the clock's time."""
    first = int(datetime(2026, 3, 2, 5, tzinfo=UTC).timestamp()) * 10**6
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        times = places.shift_times(connection, site, first, first + 4 * DAY_US)
    begins = [datetime.fromtimestamp(one.begins_at / 1e6, ZoneInfo(ZONE)).strftime("%H:%M") for one in times]
    return [(one.day.day, when) for one, when in zip(times, begins, strict=True)]


@pytest.mark.parametrize(
    ("hour", "minute", "start", "first_day"),
    [
        (5, 0, "07:00", "07:00"),  # before it begins: at once
        (6, 30, "07:00", "06:00"),  # it is on: it goes on as it was, and is not asked for twice
        (10, 0, "04:00", "06:00"),
        (20, 0, "07:00", "06:00"),  # over: from tomorrow
        (20, 0, "22:00", "06:00"),  # still to come by the new hours, and worked already by the old ones
        (5, 30, "05:00", "05:00"),  # by the new hours it is on, and had not begun by the old ones
    ],
)
def test_a_changed_shift_counts_from_the_next_time_it_begins(
    kitchen: Kitchen, hour: int, minute: int, start: str, first_day: str
) -> None:
    shift = early(kitchen)
    local(kitchen, hour, minute, day=4)
    change(kitchen, shift, start, "15:00" if start < "15:00" else "03:00")
    assert worked(kitchen) == [(3, "06:00"), (4, first_day), (5, start)]
    entry = kitchen.last("shift_set")
    assert entry.after == (kitchen.entries("shift_set")[0].hash,)
    assert (entry.payload["from_day"], "to_day" in entry.payload) == ("2026-03-03", False)
    assert kitchen.verify().good


def test_days_taken_off_stay_in_what_was(kitchen: Kitchen) -> None:
    shift = early(kitchen)
    local(kitchen, 12, day=5)
    change(kitchen, shift, "06:00", "14:00", (0, 1))  # Mondays and Tuesdays from now on
    assert worked(kitchen) == [(3, "06:00"), (4, "06:00"), (5, "06:00")]


def test_an_ended_shift_ends_and_is_taken_up_again(kitchen: Kitchen) -> None:
    shift = early(kitchen)
    local(kitchen, 12, day=3)
    places.end_shift(kitchen.session, kitchen.officer, shift, date(2026, 3, 4))
    assert worked(kitchen) == [(3, "06:00"), (4, "06:00")]
    local(kitchen, 12, day=4)
    places.end_shift(kitchen.session, kitchen.officer, shift, date(2026, 3, 3))  # yesterday; today's is on already
    assert worked(kitchen) == [(3, "06:00"), (4, "06:00")]
    with kitchen.refuses(("last_day", "is_past")):
        places.end_shift(kitchen.session, kitchen.officer, shift, date(2026, 3, 2))
    change(kitchen, shift, "07:00", "14:00")  # ended it stays
    assert kitchen.last("shift_set").payload["to_day"] == "2026-03-03"
    places.end_shift(kitchen.session, kitchen.officer, shift, None)
    assert worked(kitchen) == [(3, "06:00"), (4, "06:00"), (5, "07:00")]
    assert kitchen.verify().good


def test_what_is_wrong_with_a_change_is_named_and_a_second_press_records_once(kitchen: Kitchen) -> None:
    shift = early(kitchen)
    places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Late", "14:00", "22:00", EVERY_DAY, TUESDAY)
    for new, wanted in (
        (NewShift(" ", "6", "14:00", ()), [("shift", "empty"), ("start", "not_a_time"), ("weekdays", "not_valid")]),
        (NewShift("LATE", "06:00", "14:00", (0,)), [("shift", "taken")]),
    ):
        with kitchen.refuses(*wanted):
            places.change_shift(kitchen.session, kitchen.officer, shift, new)
    with kitchen.refuses(("shift", "unknown")):
        places.change_shift(kitchen.session, kitchen.officer, "0" * 32, NewShift("X", "06:00", "14:00", (0,)))
    for _ in range(2):
        change(kitchen, shift, "07:00", "15:00")
    assert len(kitchen.entries("shift_set")) == 3


def test_the_one_that_is_on_and_yesterdays_are_found_after_a_change(kitchen: Kitchen) -> None:
    """A sheet filled in yesterday is still entered for yesterday's hours."""
    shift = early(kitchen)
    local(kitchen, 10, day=4)
    change(kitchen, shift, "16:00", "23:00")
    assert on_at(kitchen, 15, 30, day=4) == ("Early", date(2026, 3, 4))
    with kitchen.session.reading() as connection:
        site = places.site_named_by_id(connection, kitchen.site)
        (yesterday,) = lookup.shifts_on(connection, site, TUESDAY)
    assert (yesterday.shift.start, yesterday.day) == (6 * 60, TUESDAY)
