"""Boiling point and vapour pressure of pure water.

Source: IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 for the Thermodynamic
Properties of Water and Steam, region 4 (section 8): equations (29) to (31), coefficients of table 34.
"""

from registry.compute.arrays import Numbers, within

PRESSURE_RANGE_PA = (611.213, 22.064e6)
CELSIUS_RANGE = (0.0, 373.946)

N1, N2 = 0.11670521452767e4, -0.72421316703206e6
N3, N4, N5 = -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7
N6, N7, N8 = 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6
N9, N10 = -0.23855557567849, 0.65017534844798e3
ZERO_CELSIUS_K = 273.15


def boiling_point(pressure_pa: Numbers) -> Numbers:
    """Temperature at which pure water boils.

    pressure_pa: absolute pressure on the water, Pa, 611.213 to 22.064e6; a float or an array of any shape.
    Returns °C in the same shape. `ValueError` outside the range, NaN included.
    Source: IAPWS R7-97(2012), equation (31).

    >>> round(boiling_point(101325.0), 4)
    99.9743
    """
    megapascal = within(pressure_pa, *PRESSURE_RANGE_PA, "pressure in Pa") / 1e6
    beta = (megapascal**0.5) ** 0.5  # two square roots are several times quicker on arrays than a power
    e = (beta + N3) * beta + N6
    f = (N1 * beta + N4) * beta + N7
    g = (N2 * beta + N5) * beta + N8
    d = 2 * g / (-f - (f * f - 4 * e * g) ** 0.5)
    total = N10 + d
    kelvin: Numbers = 0.5 * (total - (total * total - 4 * (N9 + N10 * d)) ** 0.5)
    return kelvin - ZERO_CELSIUS_K


def vapour_pressure(celsius: Numbers) -> Numbers:
    """Pressure at which pure water boils at a temperature.

    celsius: °C, 0 to 373.946; a float or an array of any shape.
    Returns Pa in the same shape. `ValueError` outside the range, NaN included.
    Source: IAPWS R7-97(2012), equation (30).

    >>> round(vapour_pressure(100.0))
    101418
    """
    kelvin = within(celsius, *CELSIUS_RANGE, "temperature in °C") + ZERO_CELSIUS_K
    theta = kelvin + N9 / (kelvin - N10)
    a = (theta + N1) * theta + N2
    b = (N3 * theta + N4) * theta + N5
    c = (N6 * theta + N7) * theta + N8
    root = 2 * c / (-b + (b * b - 4 * a * c) ** 0.5)
    square = root * root
    pascal: Numbers = square * square * 1e6
    return pascal


def boiling_point_slope(pressure_pa: Numbers) -> Numbers:
    """How fast the boiling point rises with pressure, °C per Pa (positive), for an uncertainty in pressure.

    pressure_pa: Pa, 612 to 22.06e6; a float or an array. `ValueError` outside, NaN included.
    Central difference over 0.02 % of equation (31) of IAPWS R7-97(2012).

    >>> round(boiling_point_slope(101325.0) * 100, 4)
    0.0277
    """
    pascal = within(pressure_pa, 612.0, 22.06e6, "pressure in Pa")
    return (boiling_point(pascal * 1.0001) - boiling_point(pascal * 0.9999)) / (pascal * 0.0002)
