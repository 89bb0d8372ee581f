"""IAPWS-IF97 region 4 against its published check tables and three reference libraries."""

from typing import Any

import iapws
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.compute.water import boiling_point, boiling_point_slope, vapour_pressure

KITCHEN_PA = np.arange(60_000.0, 108_001.0, 1000.0)


@pytest.fixture(scope="module")
def coolprop() -> Any:
    """Loaded by whoever runs these tests only: it takes two seconds."""
    import CoolProp.CoolProp

    return CoolProp.CoolProp


# IAPWS R7-97(2012), table 36: T_s(0.1, 1, 10 MPa).
@pytest.mark.parametrize(("pa", "kelvin"), [(1e5, 372.755919), (1e6, 453.035632), (1e7, 584.149488)])
def test_boiling_point_against_table_36(pa: float, kelvin: float) -> None:
    assert boiling_point(pa) + 273.15 == pytest.approx(kelvin, abs=1e-6)


# IAPWS R7-97(2012), table 35: p_s(300, 500, 600 K), to half of the last of its nine printed digits.
@pytest.mark.parametrize(
    ("kelvin", "pa", "half_digit"),
    [(300, 3536.58941, 5e-6), (500, 2638897.76, 5e-3), (600, 12344314.6, 5e-2)],
)
def test_vapour_pressure_against_table_35(kelvin: float, pa: float, half_digit: float) -> None:
    assert vapour_pressure(kelvin - 273.15) == pytest.approx(pa, abs=half_digit)
    # And to every digit of the same equation in iapws 1.5.5.
    assert vapour_pressure(kelvin - 273.15) == pytest.approx(iapws.iapws97._PSat_T(kelvin) * 1e6, rel=1e-12)


def test_against_if97_of_iapws() -> None:
    # iapws 1.5.5 codes the same equation: this shows that ours is coded rightly.
    by_iapws = [iapws.iapws97._TSat_P(pa / 1e6) - 273.15 for pa in KITCHEN_PA]
    np.testing.assert_allclose(boiling_point(KITCHEN_PA), by_iapws, rtol=0, atol=1e-9)


@pytest.mark.slow
def test_against_if97_of_coolprop(coolprop: Any) -> None:
    # So does CoolProp 8.0.0, which takes seconds to be loaded.
    by_coolprop = [coolprop.PropsSI("T", "P", pa, "Q", 0, "IF97::Water") - 273.15 for pa in KITCHEN_PA]
    np.testing.assert_allclose(boiling_point(KITCHEN_PA), by_coolprop, rtol=0, atol=1e-9)


@pytest.mark.slow
def test_against_iapws_95(coolprop: Any) -> None:
    # CoolProp 8.0.0, the scientific formulation IAPWS-95: another equation, so a check of the physics.
    by_coolprop = [coolprop.PropsSI("T", "P", pa, "Q", 0, "HEOS::Water") - 273.15 for pa in KITCHEN_PA]
    gap = np.abs(boiling_point(KITCHEN_PA) - by_coolprop)
    assert gap.max() == pytest.approx(0.000229, abs=2e-6)


def test_normal_boiling_point_is_not_100() -> None:
    # IAPWS-95 gives 99.974296 °C (CoolProp 8.0.0, iapws 1.5.5), IF97 99.974300 °C = 211.954 °F.
    assert boiling_point(101325.0) == pytest.approx(99.974300, abs=1e-6)
    assert boiling_point(101325.0) * 1.8 + 32 == pytest.approx(211.954, abs=5e-4)


# Extremes of sea-level pressure, 870, 970, 1040 and 1084 hPa: CoolProp 8.0.0, IF97, to 0.01 °C.
@pytest.mark.parametrize(
    ("pa", "celsius"), [(87_000.0, 95.76), (97_000.0, 98.757), (104_000.0, 100.706), (108_400.0, 101.88)]
)
def test_weather_moves_the_boiling_point(pa: float, celsius: float) -> None:
    assert boiling_point(pa) == pytest.approx(celsius, abs=0.005)


# IF97 differences over 2 Pa with iapws 1.5.5: °C per kPa.
@pytest.mark.parametrize(("kpa", "per_kpa"), [(60, 0.4276), (80, 0.3364), (101.325, 0.2765), (108, 0.2623)])
def test_slope(kpa: float, per_kpa: float) -> None:
    assert boiling_point_slope(kpa * 1000.0) * 1000 == pytest.approx(per_kpa, abs=6e-5)


def test_slope_against_clausius_clapeyron(coolprop: Any) -> None:
    # dT/dp = T (v'' - v') / h_fg, with volumes and enthalpies of IAPWS-95 (CoolProp 8.0.0).
    def at(what: str, quality: int) -> float:
        return coolprop.PropsSI(what, "P", 101325.0, "Q", quality, "HEOS::Water")

    volume = 1 / at("D", 1) - 1 / at("D", 0)
    expected = at("T", 0) * volume / (at("H", 1) - at("H", 0))
    assert boiling_point_slope(101325.0) == pytest.approx(expected, rel=2e-4)


@given(st.floats(612.0, 22.06e6))
def test_there_and_back(pa: float) -> None:
    # IAPWS R7-97 section 8.2: equation (31) is solved from (30), so the two agree but for rounding.
    assert vapour_pressure(boiling_point(pa)) == pytest.approx(pa, rel=1e-9)


def test_both_ends_of_the_range() -> None:
    assert boiling_point(611.213) == pytest.approx(0.0, abs=1e-5)
    assert boiling_point(22.064e6) == pytest.approx(373.946, abs=1e-3)
    assert vapour_pressure(0.0) == pytest.approx(611.213, abs=1e-3)
    assert vapour_pressure(373.946) == pytest.approx(22.064e6, rel=1e-5)


@pytest.mark.parametrize("pa", [611.212, 22.0641e6, 0.0, -1.0, float("nan"), float("inf"), 0])
def test_pressure_out_of_range(pa: float) -> None:
    with pytest.raises(ValueError, match=r"between 611\.213 and 22064000"):
        boiling_point(pa)
    with pytest.raises(ValueError, match=r"between 611\.213 and 22064000"):
        boiling_point(np.array([101325.0, pa]))


@pytest.mark.parametrize("celsius", [-0.001, 373.95, float("nan")])
def test_temperature_out_of_range(celsius: float) -> None:
    with pytest.raises(ValueError, match=r"between 0 and 373\.946"):
        vapour_pressure(celsius)


def test_scalars_stay_floats_and_arrays_keep_their_shape() -> None:
    assert type(boiling_point(101325)) is float
    grid = KITCHEN_PA[:48].reshape(4, 12)
    assert boiling_point(grid).shape == (4, 12)
    # The square roots of C's library and of NumPy may differ in the last bit.
    np.testing.assert_allclose(
        boiling_point(grid).ravel(), [boiling_point(pa) for pa in grid.ravel().tolist()], rtol=1e-14
    )
    np.testing.assert_allclose(vapour_pressure(boiling_point(grid)), grid, rtol=1e-9)
    assert boiling_point(np.array([])).size == 0
