"""Cells of imported tables: days, times, units, readings; what could mean two things is refused."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from registry.journal.ids import is_id
from registry.services import import_cells as cells
from registry.services.import_cells import BadCell

NEW_YORK = "America/New_York"


def at(text: str) -> int:
    """Microseconds UTC of an instant in ISO 8601 with its offset."""
    return int(datetime.fromisoformat(text).timestamp()) * 10**6


@pytest.mark.parametrize(
    ("day", "time", "order", "instant"),
    [
        ("2026-03-03", "06:10", "ymd", "2026-03-03T06:10:00-05:00"),
        ("2026-03-03 06:10", "", "ymd", "2026-03-03T06:10:00-05:00"),
        ("2026-03-03T06:10:30", "", "ymd", "2026-03-03T06:10:30-05:00"),
        ("2026-03-03T06:10:30.25Z", "", "ymd", "2026-03-03T06:10:30+00:00"),
        ("2026-03-03T06:10+01:00", "", "ymd", "2026-03-03T06:10:00+01:00"),
        ("2026/3/3", "6:10", "ymd", "2026-03-03T06:10:00-05:00"),
        ("03.04.2026", "6:10", "dmy", "2026-04-03T06:10:00-04:00"),
        ("03/04/2026", "6:10", "mdy", "2026-03-04T06:10:00-05:00"),
        ("3/4/2026 6:10 PM", "", "mdy", "2026-03-04T18:10:00-05:00"),
        ("3/4/2026", "12:05 a.m.", "mdy", "2026-03-04T00:05:00-05:00"),
        ("3/4/2026", "12:05pm", "mdy", "2026-03-04T12:05:00-05:00"),
        # Clocks go back on 1 November 2026 at 02:00 (Energy Policy Act of 2005): 01:30 comes twice, the first is meant
        ("2026-11-01", "01:30", "ymd", "2026-11-01T01:30:00-04:00"),
    ],
)
def test_a_moment(day: str, time: str, order: str, instant: str) -> None:
    assert cells.instant_of(day, time, NEW_YORK, order)[:2] == (at(instant), False)


def test_a_day_alone_is_its_noon_where_the_kitchen_is() -> None:
    found, day_only, on = cells.instant_of("2026-07-01", "", NEW_YORK, "ymd")
    assert (found, day_only, on.isoformat()) == (at("2026-07-01T12:00:00-04:00"), True, "2026-07-01")


@pytest.mark.parametrize(
    ("day", "time", "order", "code"),
    [
        ("03/04/2026", "", "ymd", "order_unsaid"),
        ("0001-01-01", "00:00:00", "ymd", "too_early"),  # what other programs keep where no day is known
        ("9999-12-31", "23:59:59", "ymd", "in_the_future"),
        ("3/4/26", "", "mdy", "not_a_day"),
        ("yesterday", "", "ymd", "not_a_day"),
        ("20260303", "", "ymd", "not_a_day"),
        ("2026-02-30", "", "ymd", "no_such_day"),
        ("31.04.2026", "", "dmy", "no_such_day"),
        ("13/01/2026", "", "mdy", "other_order"),
        ("01.13.2026 06:10", "", "dmy", "other_order"),
        ("0000-01-01", "", "ymd", "no_such_day"),
        ("2026-03-03", "25:00", "ymd", "not_a_time"),
        ("2026-03-03", "6", "ymd", "not_a_time"),
        ("2026-03-03", "13:00 pm", "ymd", "not_a_time"),
        ("2026-03-03", "0:10 am", "ymd", "not_a_time"),
        ("2026-03-03", "06:10+99:00", "ymd", "not_a_time"),
        ("2026-03-03 06:10", "06:10", "ymd", "time_twice"),
        # Clocks go forward on 8 March 2026: 02:30 does not exist
        ("2026-03-08", "02:30", "ymd", "no_such_time"),
    ],
)
def test_a_moment_that_is_none(day: str, time: str, order: str, code: str) -> None:
    with pytest.raises(BadCell) as caught:
        cells.instant_of(day, time, NEW_YORK, order)
    assert caught.value.code == code


@given(
    moment=st.datetimes(datetime(1970, 1, 2), datetime(2037, 1, 1)),  # noqa: DTZ001
    zone=st.sampled_from([NEW_YORK, "Europe/Madrid", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]),
)
@example(datetime(2000, 10, 29, 2, 0, fold=1), "Europe/Madrid")  # noqa: DTZ001 comes twice that night: the first is meant
def test_moments_agree_with_the_time_zone_database(moment: datetime, zone: str) -> None:
    """Against zoneinfo's own timestamp of the first such wall time."""
    wall = moment.replace(microsecond=0, fold=0)
    local = wall.replace(tzinfo=ZoneInfo(zone))
    exists = local.astimezone(UTC).astimezone(ZoneInfo(zone)).replace(tzinfo=None, fold=0) == wall
    day, time = f"{wall:%Y-%m-%d}", f"{wall:%H:%M:%S}"
    if exists:
        assert cells.instant_of(day, time, zone, "ymd")[0] == int(local.timestamp()) * 10**6
    else:
        with pytest.raises(BadCell, match="no_such_time"):
            cells.instant_of(day, time, zone, "ymd")


@pytest.mark.parametrize(
    ("text", "unit", "readings"),
    [
        ("0.4", "C", ("0.4 C",)),
        ("0,40", "C", ("0.40 C",)),
        ("−0.4", "C", ("-0.4 C",)),
        ("33", "F", ("33 F",)),
        ("33 °F", None, ("33 F",)),
        ("33.5F", None, ("33.5 F",)),
        ("-18 ° C", "C", ("-18 C",)),
        ("2.1 / 2,0/ 2.2", "C", ("2.1 C", "2.0 C", "2.2 C")),
    ],
)
def test_readings_keep_their_digits(text: str, unit: str | None, readings: tuple[str, ...]) -> None:
    assert tuple(one.text() for one in cells.readings_of(text, unit)) == readings  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("0.4", None, "unit_missing"),
        ("33 F", "C", "two_units"),
        ("O.4", "C", "reading_not_a_number"),
        ("+0.4", "C", "reading_not_a_number"),
        ("=0.4", "C", "reading_not_a_number"),
        ("1,234.5", "C", "reading_group_separator"),
        ("0.1234", "C", "reading_too_many_digits"),
        ("2.1/", "C", "reading_empty"),
        ("C", None, "reading_empty"),
        ("٣", "C", "reading_not_a_number"),
        ("1e2", "C", "reading_not_a_number"),
        ("nan", "C", "reading_not_a_number"),
    ],
)
def test_readings_that_are_none(text: str, unit: str | None, code: str) -> None:
    with pytest.raises(BadCell) as caught:
        cells.readings_of(text, unit)  # type: ignore[arg-type]
    assert caught.value.code == code


def test_codes_are_taken_as_words_of_either_language() -> None:
    words = cells.words_for("point", ("ice_point", "boiling_point"))
    for text in ("ice_point", "Ice point", " PUNTO DE  HIELO", "ice point"):
        assert cells.code_of(text, words) == "ice_point"
    with pytest.raises(BadCell):
        cells.code_of("comparison", words)


def test_ids_come_from_the_file_and_the_row_and_have_the_form_of_all_ids() -> None:
    file, other = "ab" * 32, "cd" * 32
    now = at("2026-03-03T06:10:00-05:00")
    found = cells.derived_id(file, now, "check", 2)
    assert is_id(found)
    assert found == cells.derived_id(file, now, "check", 2)
    assert len({found, cells.derived_id(other, now, "check", 2), cells.derived_id(file, now, "check", 3)}) == 3
    assert found < cells.derived_id(file, now + 1000, "check", 1)
