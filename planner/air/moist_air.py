"""Moist air: saturation, dew point and water content, over arrays of any length.

A thin skin over psychrolib, which follows ASHRAE Handbook - Fundamentals (2017),
chapter 1. The library works on one number at a time, so its saturation pressure
is read once into a table of 0.1 K steps and the logarithm is interpolated: the
error of that is below 1e-6 of the pressure (1e-4 in the one step in which ice melts),
and the way back (the dew point) is
the exact inverse of the way there. Percentages are relative to ice below 0 °C,
as in that book; weather records are relative to water: see `weather_vapour_pa`.
"""

from functools import cache

import numpy as np
import psychrolib
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

PRESSURE_PA = 101_325.0  # standard atmosphere, ISO 2533:1975
MOLAR_MASS_RATIO = 0.621945  # water to dry air, ASHRAE Fundamentals 2017 ch. 1 eq. 20
R_DRY_AIR_J_KG_K = 287.042  # ASHRAE Fundamentals 2017 ch. 1 eq. 1
R_WATER_J_KG_K = R_DRY_AIR_J_KG_K / MOLAR_MASS_RATIO
ZERO_C_K = 273.15

LOW_C, HIGH_C = -60.0, 80.0  # the table's ends; no room or weather lies outside
_STEP_K = 0.1
_DRIEST_PCT = 0.1  # a dew point below this humidity says nothing


@cache
def _table() -> tuple[FloatArray, FloatArray]:
    """Return temperatures in °C and the natural logarithm of saturation in Pa."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    air_c = np.linspace(LOW_C, HIGH_C, round((HIGH_C - LOW_C) / _STEP_K) + 1)
    pressure = [float(psychrolib.GetSatVapPres(t)) for t in air_c.tolist()]
    return air_c, np.log(pressure)


def saturation_pa(air_c: ArrayLike) -> FloatArray:
    """Return the vapour pressure of saturated air.

    Parameters
    ----------
    air_c : array_like
        Air temperature. [°C], -60 to 80

    Returns
    -------
    FloatArray
        Saturation pressure, over ice below 0 °C. [Pa]

    Examples
    --------
    ASHRAE Fundamentals 2017 ch. 1 table 3 prints 3169.7 Pa at 25 °C.

    >>> float(saturation_pa(25.0)).__round__(0)
    3169.0
    """
    celsius, ln_pressure = _table()
    value = np.asarray(air_c, dtype=np.float64)
    if value.size and not (value.min() >= LOW_C and value.max() <= HIGH_C):
        raise ValueError(f"air_c: {value.min()} to {value.max()} is no room's air")
    return np.exp(np.interp(value, celsius, ln_pressure))


def vapour_pa(air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Return the vapour pressure of air at a relative humidity. [Pa]."""
    humidity = np.asarray(humidity_pct, dtype=np.float64)
    return saturation_pa(air_c) * humidity / 100.0


def humidity_pct(air_c: ArrayLike, vapour_pa: ArrayLike) -> FloatArray:
    """Return the relative humidity of air that holds vapour at a pressure. [%].

    More than 100 means that water condenses; nothing is cut off here.
    """
    return np.asarray(vapour_pa, dtype=np.float64) / saturation_pa(air_c) * 100.0


def dew_point_c(air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Return the temperature at which the air's own vapour begins to condense.

    Parameters
    ----------
    air_c : array_like
        Air temperature. [°C], -60 to 80
    humidity_pct : array_like
        Relative humidity; below 0.1 it is taken as 0.1. [%], 0 to 100

    Returns
    -------
    FloatArray
        Dew point, or frost point below 0 °C. [°C]

    Examples
    --------
    >>> float(dew_point_c(20.0, 50.0)).__round__(2)
    9.27
    """
    celsius, ln_pressure = _table()
    damp = np.maximum(np.asarray(humidity_pct, dtype=np.float64), _DRIEST_PCT)
    return np.interp(np.log(vapour_pa(air_c, damp)), ln_pressure, celsius)


def humidity_ratio(vapour_pa: ArrayLike) -> FloatArray:
    """Return the water that goes with each kg of dry air. [kg/kg].

    W = 0.621945 p / (101325 - p), ASHRAE Fundamentals 2017 ch. 1 eq. 20.
    """
    vapour = np.asarray(vapour_pa, dtype=np.float64)
    return MOLAR_MASS_RATIO * vapour / (PRESSURE_PA - vapour)


def ratio_vapour_pa(ratio: ArrayLike) -> FloatArray:
    """Return the vapour pressure of air with a humidity ratio. [Pa]."""
    water = np.asarray(ratio, dtype=np.float64)
    return PRESSURE_PA * water / (MOLAR_MASS_RATIO + water)


def dry_air_kg_m3(air_c: ArrayLike, vapour_pa: ArrayLike) -> FloatArray:
    """Return the mass of dry air in a cubic metre of moist air. [kg/m³]."""
    kelvin = np.asarray(air_c, dtype=np.float64) + ZERO_C_K
    vapour = np.asarray(vapour_pa, dtype=np.float64)
    return (PRESSURE_PA - vapour) / (R_DRY_AIR_J_KG_K * kelvin)


def saturation_over_water_pa(air_c: ArrayLike) -> FloatArray:
    """Return the vapour pressure over water, supercooled below 0 °C. [Pa].

    As `saturation_pa` from 0 °C up; below it p = 611.2 exp(17.62 t / (243.12 + t)),
    -45 °C and warmer (constants from memory).

    References
    ----------
    WMO-No. 8, *Guide to Instruments and Methods of Observation*, annex 4.B.
    """
    t = np.asarray(air_c, dtype=np.float64)
    below = np.minimum(t, 0.0)
    supercooled = 611.2 * np.exp(17.62 * below / (243.12 + below))
    return np.where(t < 0.0, supercooled, saturation_pa(t))


def weather_vapour_pa(air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Return the vapour pressure that a weather record means. [Pa].

    Weather services give relative humidity over water at every temperature
    (WMO-No. 8, ch. 4); at -10 °C that is a tenth more vapour than over ice.
    """
    humidity = np.asarray(humidity_pct, dtype=np.float64)
    return saturation_over_water_pa(air_c) * humidity / 100.0


def weather_humidity_pct(air_c: ArrayLike, dew_point_c: ArrayLike) -> FloatArray:
    """Return the relative humidity of air from its dew point, both over water. [%]."""
    ratio = saturation_over_water_pa(dew_point_c) / saturation_over_water_pa(air_c)
    return ratio * 100.0
