"""The calendar file of a site: read back with a calendar library, stable, and silent about people."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from icalendar import Calendar

from registry.services import places, rules, site_calendar, thermometers
from tests.services.kitchen import TUESDAY, Kitchen
from tests.services.test_thermometers import certificate

WORKDAYS = (0, 1, 2, 3, 4)


def read(kitchen: Kitchen, days: int = 60, language: str = "en") -> list[Any]:
    made = site_calendar.as_file(site_calendar.coming(kitchen.session, kitchen.site, days), language)
    return list(Calendar.from_ical(made).walk("VEVENT"))


def early(kitchen: Kitchen, start: str = "06:00", end: str = "14:00") -> str:
    return places.add_shift(kitchen.session, kitchen.officer, kitchen.site, "Early", start, end, WORKDAYS, TUESDAY)


def test_each_shift_to_come_is_an_event_in_its_time(kitchen: Kitchen) -> None:
    shift = early(kitchen)
    probe = kitchen.enrol()
    kitchen.checked(probe, "0.0 C")
    events = [one for one in read(kitchen) if str(one["uid"]).startswith("shift-")]
    assert [one["dtstart"].dt.date().isoformat() for one in events][:3] == ["2026-03-04", "2026-03-05", "2026-03-06"]
    by_uid = {str(one["uid"]): one for one in events}
    # New York leaps on Sunday 8 March 2026: six in the morning is 11:00 UTC before and 10:00 after.
    for day, hour in (("2026-03-06", 11), ("2026-03-09", 10)):
        one = by_uid[f"shift-{shift}-{day}@thermometer-registry"]
        assert one["dtstart"].dt == datetime.fromisoformat(f"{day}T{hour:02}:00").replace(tzinfo=UTC)
        assert one["dtend"].dt - one["dtstart"].dt == timedelta(hours=8)
        assert (str(one["summary"]), str(one["description"])) == (
            "Early: 1 thermometer to check, Pier",
            kitchen.tag(probe),
        )


def test_days_with_something_due_are_of_the_whole_day(kitchen: Kitchen) -> None:
    rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
    probes = [kitchen.enrol(uses=("cold",)) for _ in range(2)]
    for probe in probes:
        kitchen.checked(probe, "0.0 C")
    (event,) = read(kitchen)
    assert event["dtstart"].dt == date(2026, 3, 10)
    assert event["dtend"].dt == date(2026, 3, 11)
    assert str(event["uid"]) == f"due-{kitchen.site}-2026-03-10@thermometer-registry"
    assert str(event["summary"]) == "2 thermometers due, Pier"
    kitchen.clock.move(days=9)  # overdue: on today
    (event,) = read(kitchen)
    assert event["dtstart"].dt == date(2026, 3, 12)
    assert read(kitchen, days=1)
    kitchen.checked(probes[0], "0.0 C")
    assert len(read(kitchen, days=1)) == 1
    assert len(read(kitchen)) == 2


def test_an_outside_certificate_that_ends_is_told(kitchen: Kitchen) -> None:
    probe = kitchen.enrol(uses=("cold",))
    kitchen.checked(probe, "0.0 C")
    given = certificate(due=date(2026, 4, 20))
    thermometers.add_outside_certificate(kitchen.session, kitchen.officer, probe, given)
    (event,) = [one for one in read(kitchen) if str(one["uid"]).startswith("reference-")]
    assert event["dtstart"].dt == date(2026, 4, 20)
    assert str(event["uid"]) == f"reference-{probe}@thermometer-registry"
    assert not [one for one in read(kitchen, days=30) if str(one["uid"]).startswith("reference-")]


def test_the_same_things_make_the_same_file_but_for_its_stamp(kitchen: Kitchen) -> None:
    early(kitchen)
    kitchen.checked(kitchen.enrol(), "0.0 C")
    first = site_calendar.as_file(site_calendar.coming(kitchen.session, kitchen.site), "en")
    kitchen.clock.move(minutes=5)
    found = site_calendar.coming(kitchen.session, kitchen.site)
    second = site_calendar.as_file(found, "en")
    assert first != second

    def plain(made: bytes) -> list[bytes]:
        return [line for line in made.splitlines() if not line.startswith(b"DTSTAMP")]

    assert plain(first) == plain(second)
    stamp = datetime.fromtimestamp(found.made_at // 1_000_000, UTC).strftime("DTSTAMP:%Y%m%dT%H%M%SZ").encode()
    assert stamp in second.splitlines()


@pytest.mark.parametrize("language", ["en", "es"])
def test_nobody_is_named(kitchen: Kitchen, language: str) -> None:
    early(kitchen)
    kitchen.checked(kitchen.enrol(), "0.0 C")
    made = site_calendar.as_file(site_calendar.coming(kitchen.session, kitchen.site), language).decode()
    for word in ("Moreno", "Ibarra", "Quist", "AM", "OI", "LQ", kitchen.lead.person, "ORGANIZER", "ATTENDEE"):
        assert word not in made.replace(kitchen.site, "").split()
        assert f":{word}" not in made
    assert all(len(line) <= 75 for line in made.encode().splitlines())  # RFC 5545, 3.1
