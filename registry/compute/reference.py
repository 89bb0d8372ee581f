"""Reference temperatures of the three baths, and what each leaves uncertain.

What comes back is rounded half-even to 4 decimals as it is used and frozen: the reference in °C, its components in
°C (standard uncertainties, shared by every check of the bath).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import hypot, sqrt

from registry.compute import water
from registry.compute.atmosphere import PressureFigures, PressureSource, pressure_from_source
from registry.compute.check import plain, written
from registry.quantity import Exact, Reading, TemperatureDifference, exact

DAYS_A_YEAR = 365.25
OVERDUE_DRIFT = 2.0  # past its date a certificate's drift allowance counts this many times (judgement)
UNSTATED_DRIFT = 0.1  # half-width, °C a year, where a certificate past its date states none (judgement)


@dataclass(frozen=True, slots=True)
class Reference:
    """Reference temperature, °C, with its uncertainty components; station pressure in Pa for boiling."""

    celsius: Decimal
    components: Mapping[str, TemperatureDifference]
    station_pressure_pa: Decimal | None = None


@dataclass(frozen=True, slots=True)
class CertificatePoint:
    """One line of an outside certificate: at `celsius` add `correction`; u is its standard uncertainty, °C."""

    celsius: float
    correction: float
    u: float


@dataclass(frozen=True, slots=True)
class Corrected:
    """What a reference thermometer says once its correction is added: exact °C, u and u of its drift, °C."""

    celsius: Fraction
    correction: TemperatureDifference
    u: float
    u_drift: float


def ice_point(half_width: float) -> Reference:
    """Ice and water: 0 °C at every elevation.

    half_width: of the bath as made, °C, rectangular. Source: ITS-90; pressure moves it 0.0023 °C at 3000 m.
    """
    return Reference(Decimal(0), {"bath": written(half_width / sqrt(3), "C")})


def boiling_point(
    source: PressureSource,
    typed_pa: float | None,
    elevation_m: float,
    pot_half_width: float,
    figures: PressureFigures,
) -> Reference:
    """Water at a hard boil, by the pressure in the room.

    typed_pa: Pa, as the source gives it; elevation_m: metres; pot_half_width: of a metal pot, °C, rectangular.
    ValueError for what the source cannot be. Source: IAPWS-IF97 equation (31), ISO 2533:1975.

    >>> at_sea = boiling_point(PressureSource.ELEVATION, None, 0.0, 0.5, PressureFigures())
    >>> str(at_sea.celsius), at_sea.components["pressure"].text()
    ('99.9743', '0.2212 dC')
    """
    station = pressure_from_source(source, typed_pa, elevation_m, figures)
    middle, spread = station.pressure_pa, station.u_pa
    slope = (water.boiling_point(middle + spread) - water.boiling_point(middle - spread)) / 2
    return Reference(
        plain(water.boiling_point(middle)),
        {"bath": written(pot_half_width / sqrt(3), "C"), "pressure": written(slope, "C")},
        plain(round(middle, 1)),
    )


def corrected(
    reading: Reading,
    points: Sequence[CertificatePoint],
    issued: date,
    due: date | None,
    today: date,
    drift_a_year: float,
    unstated_drift: float = UNSTATED_DRIFT,
) -> Corrected:
    """A reference thermometer's reading with its certificate's correction, interpolated linearly.

    drift_a_year: half-width, °C, rectangular, for each year since `issued`, 0 where none is stated. Past `due` it
    counts double, and `unstated_drift` stands in for one not stated (judgement).
    ValueError where the reading lies outside the certificate's points, or today before it was issued.
    """
    import numpy as np  # late: most days have no comparison

    shown = float(reading.celsius())
    ordered = sorted(points, key=lambda point: point.celsius)
    if not ordered or not ordered[0].celsius <= shown <= ordered[-1].celsius:
        raise ValueError("outside the certificate's range")
    if today < issued:
        raise ValueError("before the certificate was issued")
    at = [point.celsius for point in ordered]
    correction = written(float(np.interp(shown, at, [point.correction for point in ordered])), "C")
    u = float(np.interp(shown, at, [point.u for point in ordered]))
    years = (today - issued).days / DAYS_A_YEAR
    if due is not None and today > due:
        drift_a_year = OVERDUE_DRIFT * (drift_a_year or unstated_drift)
    return Corrected(
        reading.celsius() + Fraction(correction.value),
        correction,
        u,
        drift_a_year * years / sqrt(3),
    )


def comparison(beside: Sequence[Corrected], half_width: float, resolution: float) -> Reference:
    """The mean of what the reference thermometers say.

    beside: one with an outside certificate, or the two of a house reference. half_width: unevenness between the
    sensors, °C, rectangular. resolution: standard uncertainty of reading the reference, °C.
    What they have in common does not average out, so the largest of their u counts, and half their disagreement.
    """
    if not beside:
        raise ValueError("a comparison needs a reference thermometer")
    shown = [one.celsius for one in beside]
    apart = float(max(shown) - min(shown)) / 2
    return Reference(
        plain(sum(shown, Fraction(0)) / len(shown)),
        {
            "bath": written(half_width / sqrt(3), "C"),
            "reference": written(hypot(max(one.u for one in beside), apart / sqrt(3), resolution), "C"),
            "reference_drift": written(max(one.u_drift for one in beside), "C"),
        },
    )


def mean(references: Sequence[Exact]) -> Decimal:
    """The mean reference of several pairs of readings taken beside one another, °C, 4 decimals."""
    return plain(sum(map(exact, references), Fraction(0)) / len(references))
