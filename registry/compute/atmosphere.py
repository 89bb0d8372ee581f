"""Pressure in the room from elevation, and from what a barometer or a weather report says.

Source: ISO 2533:1975 (the same as ICAO Doc 7488), layer below 11 km, heights in geopotential metres.
"""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from math import sqrt
from typing import TYPE_CHECKING, Any, overload

from registry.compute.arrays import Numbers, within

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

P0_PA = 101_325.0
T0_K = 288.15
LAPSE_K_PER_M = 0.0065
GRAVITY_M_PER_S2 = 9.80665
GAS_J_PER_KG_K = 287.05287
N = GAS_J_PER_KG_K * LAPSE_K_PER_M / GRAVITY_M_PER_S2  # 0.190 263 10

ELEVATION_RANGE_M = (-500.0, 11_000.0)
# From judgement: a little beyond the extremes met on Earth, at sea level 870 and 1084 hPa.
SEA_LEVEL_RANGE_PA = (85_000.0, 110_000.0)
ABSOLUTE_RANGE_PA = (22_000.0, 115_000.0)
# Below this a mix-up moves the boiling point by less than 0.1 °C, the step to which it is shown.
QUESTION_FROM_M = 30.0
PRESSURE_GOOD_FOR = timedelta(hours=3)  # from judgement


class PressureSource(StrEnum):
    """Where a pressure comes from: chosen by a person, never guessed."""

    ROOM_BAROMETER = "room_barometer"  # absolute; a phone's sensor is one
    HOUSEHOLD_ABSOLUTE = "household_absolute"
    HOUSEHOLD_SEA_LEVEL = "household_sea_level"  # set to agree with weather reports
    ALTIMETER_SETTING = "altimeter_setting"  # an airport's
    WEATHER_REPORT = "weather_report"  # reduced to sea level
    ELEVATION = "elevation"  # no pressure at hand

    @property
    def absolute(self) -> bool:
        """Whether its number is the pressure in the room as it stands."""
        return self in (PressureSource.ROOM_BAROMETER, PressureSource.HOUSEHOLD_ABSOLUTE)


@dataclass(frozen=True, slots=True)
class PressureFigures:
    """Starting values from judgement, meant to be replaced: a table gives its own as keywords.

    `half_width`: of a rectangular distribution. `u`: standard uncertainty. A reduction to sea level follows
    the air outside, unlike an altimeter setting: each metre above `reduction_from_m` adds
    `reduction_u_pa_per_m`. With a weather report's own that comes at 1600 m to the spread of what is reported
    between cold and hot air, taken as rectangular.
    """

    room_barometer_half_width_pa: float = 100.0
    household_absolute_half_width_pa: float = 300.0
    household_sea_level_half_width_pa: float = 400.0
    altimeter_setting_u_pa: float = 75.0
    weather_report_u_pa: float = 200.0
    reduction_u_pa_per_m: float = 0.6
    reduction_from_m: float = 500.0
    elevation_u_pa: float = 800.0


STARTING_FIGURES = PressureFigures()


@dataclass(frozen=True, slots=True)
class StationPressure:
    """Absolute pressure in the room and its standard uncertainty, Pa."""

    pressure_pa: float
    u_pa: float


def pressure_at_elevation(elevation_m: Numbers) -> Numbers:
    """Pressure of the standard atmosphere.

    elevation_m: geopotential metres, -500 to 11 000 (taking metres on a map instead costs 0.005 °C in the
    boiling point at 3000 m); a float or an array of any shape.
    Returns Pa in the same shape. `ValueError` outside the range, NaN included.
    Source: ISO 2533:1975, barometric formula of a layer with a temperature gradient (in the US Standard
    Atmosphere 1976 equation (33a)).

    >>> round(pressure_at_elevation(1000.0), 1)
    89874.6
    """
    height = within(elevation_m, *ELEVATION_RANGE_M, "elevation in m")
    pascal: Numbers = P0_PA * (1 - LAPSE_K_PER_M * height / T0_K) ** (1 / N)
    return pascal


def station_pressure(altimeter_setting_pa: Numbers, elevation_m: Numbers) -> Numbers:
    """Pressure in the room, from an altimeter setting and the elevation.

    altimeter_setting_pa: Pa, 85 000 to 110 000; elevation_m: geopotential metres, -500 to 11 000; floats, or
    arrays that broadcast. Returns Pa. `ValueError` outside the ranges, NaN included.
    Source: the definition of the altimeter setting (QNH), solved for the pressure in the standard
    atmosphere of ISO 2533:1975.

    >>> round(station_pressure(102_000.0, 1000.0), 1)
    90487.1
    """
    setting = within(altimeter_setting_pa, *SEA_LEVEL_RANGE_PA, "altimeter setting in Pa")
    height = within(elevation_m, *ELEVATION_RANGE_M, "elevation in m")
    pascal: Numbers = (setting**N - P0_PA**N * LAPSE_K_PER_M * height / T0_K) ** (1 / N)
    return pascal


def pressure_from_source(
    source: PressureSource,
    typed_pa: float | None = None,
    elevation_m: float | None = None,
    figures: PressureFigures = STARTING_FIGURES,
) -> StationPressure:
    """Pressure in the room and its standard uncertainty, from the chosen source.

    typed_pa: what was read or reported, Pa; not used with elevation alone. elevation_m: metres; not used with
    an absolute barometer. `ValueError` where one that is used is left out or outside its range.
    Source of the figures: judgement. They take the elevation as known.

    >>> pressure_from_source(PressureSource.ELEVATION, elevation_m=0.0)
    StationPressure(pressure_pa=101325.0, u_pa=800.0)
    """
    u_pa = _own_u(source, figures)
    if source is PressureSource.ELEVATION:
        return StationPressure(pressure_at_elevation(_needed(elevation_m, "elevation")), u_pa)
    pressure = _needed(typed_pa, "pressure")
    if source.absolute:
        return StationPressure(within(pressure, *ABSOLUTE_RANGE_PA, "pressure in Pa"), u_pa)
    elevation = _needed(elevation_m, "elevation")
    reduction = 0.0 if source is PressureSource.ALTIMETER_SETTING else _reduction_u(elevation, figures)
    return StationPressure(station_pressure(pressure, elevation), u_pa + reduction)


@overload
def pressure_question(pressure_pa: float, elevation_m: float, absolute: bool = True) -> bool: ...
@overload
def pressure_question(
    pressure_pa: "NDArray[np.float64]", elevation_m: "float | NDArray[np.float64]", absolute: bool = True
) -> "NDArray[np.bool_]": ...
def pressure_question(pressure_pa: Any, elevation_m: Any, absolute: bool = True) -> Any:
    """Whether a typed pressure should be questioned, since it is likelier to be one of the other kind.

    pressure_pa: Pa, 22 000 to 115 000; elevation_m: metres, -500 to 11 000; floats, or arrays that broadcast.
    absolute: whether it was typed as the pressure in the room, else as one set or reduced to sea level.
    Two hypotheses, near the standard pressure of the site or near that of sea level, with one standard
    deviation (8 hPa, the weather) for both: the nearer is the likelier. Never within 30 m of sea level, where
    the two agree. `ValueError` outside the ranges, NaN included.
    Source: Bayes' rule with equal odds; common sense, no published source.

    >>> pressure_question(102_000.0, 1000.0)
    True
    """
    typed = within(pressure_pa, *ABSOLUTE_RANGE_PA, "pressure in Pa")
    from_site, from_sea_level = abs(typed - pressure_at_elevation(elevation_m)), abs(typed - P0_PA)
    other_kind = from_sea_level < from_site if absolute else from_site < from_sea_level
    return other_kind & (abs(elevation_m) >= QUESTION_FROM_M)


def _needed(number: float | None, name: str) -> float:
    if number is None:
        raise ValueError(f"this source needs the {name}")
    return float(number)


def _own_u(source: PressureSource, figures: PressureFigures) -> float:
    return {
        PressureSource.ROOM_BAROMETER: figures.room_barometer_half_width_pa / sqrt(3),
        PressureSource.HOUSEHOLD_ABSOLUTE: figures.household_absolute_half_width_pa / sqrt(3),
        PressureSource.HOUSEHOLD_SEA_LEVEL: figures.household_sea_level_half_width_pa / sqrt(3),
        PressureSource.ALTIMETER_SETTING: figures.altimeter_setting_u_pa,
        PressureSource.WEATHER_REPORT: figures.weather_report_u_pa,
        PressureSource.ELEVATION: figures.elevation_u_pa,
    }[source]


def _reduction_u(elevation_m: float, figures: PressureFigures) -> float:
    """Nothing up to `reduction_from_m`; above it only the part above counts, so it grows from 0."""
    return figures.reduction_u_pa_per_m * max(elevation_m - figures.reduction_from_m, 0.0)
