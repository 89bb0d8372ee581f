"""Plain charts beside the tracking; the arithmetic is tested against published examples in tests/compute."""

import pytest
from scipy import stats

from registry.services import thermometers, tracking
from registry.services.plain_charts import PlainChart, plain_charts
from registry.services.words.plain_charts import sentences
from tests.services.kitchen import DAY_US, ZONE, Kitchen


def charts(kitchen: Kitchen, one: str) -> tuple[PlainChart, ...]:
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        return plain_charts(tracking.tracked(kitchen.session, connection, [of])[one])


def weekly(kitchen: Kitchen, one: str, offsets: list[float]) -> None:
    for offset in offsets:
        kitchen.checked(one, f"{offset:.1f} C")
        kitchen.clock.at += 7 * DAY_US


def test_a_slow_rise_is_seen_by_all_of_them(kitchen: Kitchen) -> None:
    one, rise = kitchen.enrol(), [0.1 * (week // 2) for week in range(18)]
    weekly(kitchen, one, rise)
    (found,) = charts(kitchen, one)
    assert (found.celsius, found.checks) == (0.0, 18)
    scipy = stats.theilslopes(rise, [7 * week for week in range(18)], method="separate")  # the same by SciPy
    assert float(found.a_month.value) == pytest.approx(scipy.slope * 30.4375, rel=1e-3)
    assert found.p < 1e-6
    assert found.average_out is not None
    assert found.sum_out is not None
    told = sentences(found, "en", "en_US", ZONE)
    assert told[0].startswith("At about 0\u00a0°C, 18 checks since March")
    assert "left its limits on" in told[3]


def test_steady_readings_show_nothing(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    weekly(kitchen, one, [0.1, 0.0, 0.1, 0.1, 0.0, 0.1, 0.0, 0.1, 0.1, 0.0])
    (found,) = charts(kitchen, one)
    assert float(found.a_month.value) == 0.0
    assert found.p > 0.3
    assert (found.average_out, found.sum_out) == (None, None)
    assert "no trend to speak of" in sentences(found, "en", "en_US", ZONE)[2]


def test_they_begin_anew_after_an_adjustment(kitchen: Kitchen) -> None:
    one = kitchen.enrol()
    weekly(kitchen, one, [0.1 * week for week in range(10)])
    check = kitchen.checked(one, "1.4 C", "1.4 C", "1.4 C")
    kitchen.adjust(check, "reset", "0.0 C")
    kitchen.clock.at += DAY_US
    weekly(kitchen, one, [0.0] * 7)
    assert charts(kitchen, one) == ()  # too few since
    weekly(kitchen, one, [0.0])
    (found,) = charts(kitchen, one)
    assert (found.checks, float(found.a_month.value)) == (8, 0.0)
