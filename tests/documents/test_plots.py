"""The two plots of a certificate where an offset is far beyond its limits: nought is named and the limits are seen."""

from dataclasses import replace
from decimal import Decimal

import pytest

from registry.documents import history_plot, scale_plot
from registry.documents.certificate import certificate
from registry.quantity import TemperatureDifference
from tests.documents import reading, samples
from tests.documents.samples import measured, one_point

FAR = one_point(measured("121.9 C", "121.9 C", "121.9 C", reference="0.0 C", outcome="fail"))


@pytest.mark.parametrize(
    ("limit", "least", "step"),
    [("1", 0.4, "1"), ("1", 1.7, "2"), ("1", 2.6, "5"), ("1", 36.6, "50"), ("0.5", 0.7, "1.0"), ("2", 61, "100")],
)
def test_steps_are_round_where_the_scale_is_wide(limit: str, least: float, step: str) -> None:
    assert scale_plot.tick_step(Decimal(limit), least) == Decimal(step)


@pytest.mark.parametrize("highest", [1.5, 9, 122, 366, 5000])
def test_ticks_over_time_hold_nought_and_are_few(highest: float) -> None:
    ticks = history_plot._offset_ticks(TemperatureDifference.from_text("1 dC"), -1.5, highest)
    assert Decimal(0) in [one.value for one in ticks]
    assert 2 <= len(ticks) <= 8


def test_a_far_off_one_has_round_ticks_nought_and_its_limits_as_a_line() -> None:
    text = reading.words_of(certificate(FAR)).split()
    numbers = [one for one in text if one.startswith("+") and one[1:].isdigit()]
    assert numbers
    assert all(int(one) % 10 == 0 for one in numbers)
    assert "0" in text
    text = reading.words_of(certificate(replace(FAR, history=samples.HISTORY))).split()
    assert [one for one in text if one in ("+50", "+100")] >= ["+50", "+100"]
