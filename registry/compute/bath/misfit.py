"""What a boiling that does not fit may mean: another elevation than the site's, or a pressure of the other kind."""

from dataclasses import dataclass
from math import exp, hypot, isfinite

from registry.compute.atmosphere import LAPSE_K_PER_M, P0_PA, SEA_LEVEL_RANGE_PA, T0_K, N, station_pressure
from registry.compute.water import boiling_point, vapour_pressure

COVERS = 1.959964  # standard deviations either side, 95 %
MIXED_UP, OTHERWISE = 0.1, 0.15  # beforehand: pressure of the other kind; the pot or something else; judgement
OTHER_SPREAD = 1.5  # °C, of what else may be wrong with a boiling; judgement


@dataclass(frozen=True, slots=True)
class ElevationFit:
    """The elevation, m, that a boiling fits, with its 95 % interval; whether the site's lies outside."""

    elevation_m: float
    low_m: float
    high_m: float
    contradicts: bool


@dataclass(frozen=True, slots=True)
class PressureMistake:
    """Whether a pressure was of the other kind: the error it makes, °C, and how likely that is."""

    error: float
    probability: float


def misfit_elevation(reference: float, error: float, sd: float, elevation_m: float) -> ElevationFit:
    """Which elevation a site's boiling fits.

    reference: nominal boiling point, °C. error, sd: of the bath, true minus nominal, °C; sd with what is not known of
    pot and weather (over n days the weather's 0.22 over root n, the pot's 0.29 as a whole). elevation_m: the site's as
    set up. The misfit is taken as height in the standard atmosphere, whatever source the pressure had. `ValueError`
    where a temperature is out of range.
    Source: IAPWS R7-97(2012) equation (30) and the atmosphere of ISO 2533:1975 solved for the height.

    >>> fit = misfit_elevation(99.568, -1.65, 0.3, 120.0)
    >>> round(fit.elevation_m), round(fit.low_m), round(fit.high_m), fit.contradicts
    (616, 440, 793, True)
    """
    _check(error, sd)
    nominal = _height(reference)

    def fits(temperature: float) -> float:
        return elevation_m + _height(temperature) - nominal

    low, high = fits(reference + error + COVERS * sd), fits(reference + error - COVERS * sd)
    return ElevationFit(fits(reference + error), low, high, not low <= elevation_m <= high)


def _height(boils_at: float) -> float:
    """Geopotential metres at which water boils at so many °C in the standard atmosphere."""
    return T0_K / LAPSE_K_PER_M * (1 - float((vapour_pressure(boils_at) / P0_PA) ** N))


def pressure_mistake(
    error: float, sd: float, u: float, typed_pa: float, elevation_m: float, absolute: bool
) -> PressureMistake:
    """How likely a pressure was of the other kind, from the error that the thermometers show.

    error, sd: of the bath, °C. u: of a good boiling with this source, °C. typed_pa: Pa; absolute: whether it was taken
    as the pressure in the room, else as one at sea level. Three hypotheses: all is well; the other kind, which makes a
    known error; something else is wrong. 0 where the number can't be of the other kind.
    Source: Bayes' rule; shares beforehand from judgement.

    >>> mixed_up = pressure_mistake(-3.2, 0.15, 0.29, 102_000.0, 1000.0, absolute=True)
    >>> round(mixed_up.error, 2), mixed_up.probability > 0.8
    (-3.33, True)
    """
    _check(error, sd)
    if not SEA_LEVEL_RANGE_PA[0] <= typed_pa <= SEA_LEVEL_RANGE_PA[1]:
        return PressureMistake(0.0, 0.0)
    apart = boiling_point(typed_pa) - boiling_point(station_pressure(typed_pa, elevation_m))
    made = -apart if absolute else apart
    narrow = hypot(u, sd)
    well = (1 - MIXED_UP - OTHERWISE) * _density(error, narrow)
    mixed_up = MIXED_UP * _density(error - made, narrow)
    other = OTHERWISE * _density(error, hypot(narrow, OTHER_SPREAD))
    return PressureMistake(made, mixed_up / (well + mixed_up + other))


def _density(away: float, sd: float) -> float:
    """Of a normal distribution, without its constant."""
    return exp(-0.5 * (away / sd) ** 2) / sd


def _check(error: float, sd: float) -> None:
    if not (isfinite(error) and isfinite(sd) and sd > 0):
        raise ValueError("error must be a finite number and its sd more than 0")
