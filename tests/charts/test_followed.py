"""What was tracked and what is forecast, in a chart of offsets."""

import pytest

from registry.charts import Followed, Happened, History, Turned, small_chart
from registry.charts.history import offset_chart
from registry.charts.model import Words
from registry.quantity import TemperatureDifference

DAY = 86_400_000_000
ONE = TemperatureDifference.from_text("1 dC")
WORDS = Words(lambda value, unit: str(value), lambda step, local, first: step, lambda code, **values: code)
PAST = tuple(Followed(day * DAY, 0.1 * day, 0.2) for day in range(6))
AHEAD = tuple(Followed(day * DAY, 0.5, 0.1 * day, ahead=True) for day in (6, 13))


def history(turned: tuple[Turned, ...] = (), happened: tuple[Happened, ...] = ()) -> History:
    return History("UTC", 6 * DAY, ONE, (), turned, happened, (*PAST, *AHEAD))


def roles(one: History) -> list[tuple[str, int]]:
    bands = offset_chart(one, WORDS, "C").bands
    return [(band.role, len(band.at)) for band in bands if band.role != "tolerance"]


def test_the_forecast_goes_on_from_the_last_check() -> None:
    assert roles(history()) == [("tracked", 6), ("forecast", 3)]


def test_broken_where_it_was_turned_or_something_happened() -> None:
    turned = Turned(int(1.5 * DAY), None, None)
    dropped = Happened(int(3.5 * DAY), "dropped")
    assert roles(history((turned,))) == [("tracked", 2), ("tracked", 4), ("forecast", 3)]
    assert roles(history((turned,), (dropped,))) == [("tracked", 2), ("tracked", 2), ("tracked", 2), ("forecast", 3)]
    assert roles(history((), (Happened(int(3.5 * DAY), "paper"),))) == [("tracked", 6), ("forecast", 3)]


def test_in_fahrenheit() -> None:
    band = next(one for one in offset_chart(history(), WORDS, "F").bands if one.role == "tracked")
    assert band.upper[2] == pytest.approx(1.8 * 0.4)
    assert band.lower[2] == pytest.approx(0.0)


def test_the_axis_reaches_to_the_end_of_the_forecast() -> None:
    assert offset_chart(history(), WORDS, "C").time.high >= 13 * DAY


def test_a_small_one_shows_it_too_without_words() -> None:
    small = small_chart(history(), "C")
    assert {band.role for band in small.bands} == {"tolerance", "tracked", "forecast"}
    assert small.labels == ()
