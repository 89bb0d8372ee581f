"""Two years in six zones, hour by hour: what is due, against a walk through time minute by minute.

The changes of clock come from the IANA time zone database, read only from UTC to local time, where nothing is
ambiguous; the walk is our own and has no other source.
"""

from datetime import date

import pytest

from tests.compute.test_schedule import walk_and_compare

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("zone", "first_day"),
    [
        ("Europe/Madrid", date(2025, 1, 1)),
        ("America/Denver", date(2025, 1, 1)),
        ("Australia/Lord_Howe", date(2025, 1, 1)),
        ("Asia/Kathmandu", date(1985, 1, 1)),  # with the leap of a quarter of an hour at New Year 1986
        ("America/Bogota", date(2025, 1, 1)),
        ("Pacific/Apia", date(2011, 1, 1)),  # with the day that never was, 30 December 2011
    ],
)
def test_every_hour_of_two_years_as_walked_minute_by_minute(zone: str, first_day: date) -> None:
    assert walk_and_compare(zone, first_day, 730) > 730 * 24
