"""What people type is taken or refused with one problem."""

from datetime import date

import pytest

from registry.services import typed
from registry.services.problems import Refused

TODAY = date(2026, 3, 3)


@pytest.mark.parametrize(
    ("text", "unit", "taken"),
    [
        ("0,4", "C", "0.4 C"),
        (" -1.0 ", "C", "-1.0 C"),
        ("33.5F", "C", "33.5 F"),
        ("33.5 °f", "C", "33.5 F"),
        ("-18", "C", "-18 C"),
        ("\N{MINUS SIGN}0.5", "C", "-0.5 C"),
    ],
)
def test_readings(text: str, unit: typed.Unit, taken: str) -> None:
    assert typed.reading(text, unit).text() == taken


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty"),
        ("1.234,5", "group_separator"),
        ("12345", "too_many_digits"),
        ("O.5", "not_a_number"),
        ("C", "not_a_number"),
    ],
)
def test_readings_refused(text: str, code: str) -> None:
    with pytest.raises(Refused) as refused:
        typed.reading(text, "C")
    (problem,) = refused.value.problems
    assert (problem.field, problem.code, problem.values) == ("reading", code, {"value": text})


def test_quantities_with_their_units() -> None:
    assert [typed.elevation(one).text() for one in ("120 m", "400ft", "-2,5 m")] == ["120 m", "400 ft", "-2.5 m"]
    assert [typed.pressure(one).text() for one in ("1013.2 hPa", "29,92inHg", "1013 HPA")] == [
        "1013.2 hPa",
        "29.92 inHg",
        "1013 hPa",
    ]
    for wrong in ("120", "120 km", "m", "1,200 m", "12 m m"):
        with pytest.raises(Refused):
            typed.elevation(wrong)
    for wrong in ("1013.2", "1013.2 bar", "hPa", "-5 hPa", "1,013,2 hPa"):
        with pytest.raises(Refused):
            typed.pressure(wrong)


def test_a_scale_and_a_point_of_an_outside_certificate() -> None:
    scale = typed.scale("c:0,1:-40:150")
    assert (scale.step.text(), scale.lowest.text(), scale.highest.text()) == ("0.1 dC", "-40 C", "150 C")
    at, correction, expanded, k = typed.certificate_point("70:-0,2:0.05:2", "C")
    assert (at.text(), correction.text(), expanded.text(), str(k)) == ("70 C", "-0.2 dC", "0.05 dC", "2")
    for wrong in ("C:0.1:-40", "K:1:2:3", "C:x:1:2"):
        with pytest.raises(Refused):
            typed.scale(wrong)
    for wrong in ("0:0.1:0.05", "0:0.1:0.05:two"):
        with pytest.raises(Refused):
            typed.certificate_point(wrong, "C")


def test_days_and_moments() -> None:
    assert typed.day("2026-02-28", TODAY) == date(2026, 2, 28)
    assert typed.day("", TODAY) == TODAY
    for wrong in ("2026-02-30", "3/3/2026", "20260303", "today"):
        with pytest.raises(Refused):
            typed.day(wrong, TODAY)
    now = typed.moment(TODAY, "15:00", "Europe/Madrid", 2**53)
    # 3 March: Madrid is one hour ahead of UTC.
    assert typed.moment(TODAY, "14:30", "Europe/Madrid", now) == 1_772_544_600_000_000
    assert typed.moment_or_now("2026-03-02 14:30", TODAY, "Europe/Madrid", now) == 1_772_458_200_000_000
    assert typed.moment_or_now("", TODAY, "Europe/Madrid", now) is None
    for wrong, code in (("15:01", "in_the_future"), ("24:00", "not_a_time"), ("2pm", "not_a_time")):
        with pytest.raises(Refused) as refused:
            typed.moment(TODAY, wrong, "Europe/Madrid", now)
        assert refused.value.problems[0].code == code


def test_words_of_a_few() -> None:
    assert typed.choice("why", "Battery-Flat", ("battery_flat", "damaged")) == "battery_flat"
    with pytest.raises(Refused) as refused:
        typed.choice("why", "tired", ("battery_flat", "damaged"))
    assert refused.value.problems[0].values == {"value": "tired", "choices": "battery_flat, damaged"}
    assert typed.code("kind", "Ice point") == "ice_point"
    with pytest.raises(Refused):
        typed.code("kind", "¡hielo!")


def test_weekdays() -> None:
    assert typed.weekdays("") == (0, 1, 2, 3, 4, 5, 6)
    assert typed.weekdays("mon-fri") == (0, 1, 2, 3, 4)
    assert typed.weekdays("sat-mon,wed") == (0, 2, 5, 6)
    for wrong in ("mon-tue-wed", "lunes", ","):
        with pytest.raises(Refused):
            typed.weekdays(wrong)
