"""Moist air by the handbook's own formulas, written out.

Hyland and Wexler's saturation pressures, ASHRAE Handbook - Fundamentals (2017),
chapter 1, equations 5 and 6; mixing ratio and density from the ideal gas law.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

ATMOSPHERE_PA = 101_325.0
WATER_TO_AIR = 0.621945  # molar masses, the same chapter, equation 20
AIR_J_KG_K = 287.042  # the same chapter, equation 1


def _over_water_ln(kelvin: Floats) -> Floats:
    return np.asarray(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * np.log(kelvin)
    )


def _over_ice_ln(kelvin: Floats) -> Floats:
    return np.asarray(
        -5.6745359e3 / kelvin
        + 6.3925247
        - 9.677843e-3 * kelvin
        + 6.2215701e-7 * kelvin**2
        + 2.0747825e-9 * kelvin**3
        - 9.484024e-13 * kelvin**4
        + 4.1635019 * np.log(kelvin)
    )


def over_ice_pa(air_c: ArrayLike) -> Floats:
    """Return the vapour pressure of saturated air, over ice below 0 °C. [Pa]."""
    c = np.asarray(air_c, dtype=np.float64)
    kelvin = c + 273.15
    return np.exp(np.where(c > 0.0, _over_water_ln(kelvin), _over_ice_ln(kelvin)))


def over_water_pa(air_c: ArrayLike) -> Floats:
    """Return the same over water, supercooled below 0 °C (WMO-No. 8, annex 4.B)."""
    c = np.asarray(air_c, dtype=np.float64)
    cold = np.minimum(c, 0.0)
    frost = 611.2 * np.exp(17.62 * cold / (243.12 + cold))
    return np.where(c < 0.0, frost, over_ice_pa(c))


def vapour_pa(air_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """Return the vapour pressure of air. [Pa]."""
    return over_ice_pa(air_c) * np.asarray(humidity_pct, dtype=np.float64) / 100.0


def ratio(vapour: ArrayLike) -> Floats:
    """Return the water that goes with a kilogram of dry air. [kg/kg]."""
    pa = np.asarray(vapour, dtype=np.float64)
    return WATER_TO_AIR * pa / (ATMOSPHERE_PA - pa)


def of_ratio_pa(water: ArrayLike) -> Floats:
    """Return the vapour pressure that goes with a mixing ratio. [Pa]."""
    w = np.asarray(water, dtype=np.float64)
    return ATMOSPHERE_PA * w / (WATER_TO_AIR + w)


def dry_air_kg_m3(air_c: ArrayLike, vapour: ArrayLike) -> Floats:
    """Return the dry air in a cubic metre. [kg/m³]."""
    kelvin = np.asarray(air_c, dtype=np.float64) + 273.15
    return (ATMOSPHERE_PA - np.asarray(vapour, dtype=np.float64)) / AIR_J_KG_K / kelvin
