"""The table of drying times of joint compound, and a law of evaporation beside it."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike

from planner.air.moist_air import FloatArray, saturation_pa

# What the drying table covers: its outer rows and columns.
TABLE_LOW_C, TABLE_HIGH_C = 0.0, (100.0 - 32.0) * 5.0 / 9.0
TABLE_HIGH_RH_PCT = 98.0
TABLE_LAYER_MM = 25.4 / 16.0  # one coat of 1/16 in; Drywall Finishing Council
TABLE_WATER_L_PER_L = 0.325  # 30 to 35 % of ready-mixed compound; general web page

# t = a / (p_s^b (1 - RH)^c): least squares on ln hours over the 152 cells, p_s in
# kPa; 2.4 % mean error, 11.7 % at worst.
EVAPORATION_A_H, EVAPORATION_B, EVAPORATION_C = 23.0544, 1.03689, 0.90011
SECOND_OPINION_FRAC = 0.15


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class DryingTable:
    """Hours by temperature (columns) and humidity (rows), as their logarithms."""

    warm_c: FloatArray
    damp: FloatArray  # -ln(1 - RH)
    ln_hours: FloatArray  # by (humidity, temperature)

    def hours(self, air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
        """Return the hours between the nodes, ln(hours) being straight both ways."""
        warm, damp, ln_hours = self.warm_c, self.damp, self.ln_hours
        t = np.asarray(air_c, dtype=np.float64)
        x = -np.log1p(-np.asarray(humidity_pct, dtype=np.float64) / 100.0)
        column = np.clip(np.searchsorted(warm, t, side="right") - 1, 0, warm.size - 2)
        row = np.clip(np.searchsorted(damp, x, side="right") - 1, 0, damp.size - 2)
        u = (t - warm[column]) / (warm[column + 1] - warm[column])
        v = (x - damp[row]) / (damp[row + 1] - damp[row])
        drier = (1.0 - u) * ln_hours[row, column] + u * ln_hours[row, column + 1]
        row = row + 1
        damper = (1.0 - u) * ln_hours[row, column] + u * ln_hours[row, column + 1]
        return np.asarray(np.exp((1.0 - v) * drier + v * damper))


@cache
def drying_times() -> DryingTable:
    """Return the table that ships with the program."""
    text = files("planner.air").joinpath("drying_table.csv").read_text(encoding="utf-8")
    cells = {
        (float(row["rh_pct"]), float(row["temp_F"])): float(row["hours"])
        for row in csv.DictReader(text.splitlines())
    }
    humid = sorted({rh for rh, _ in cells})
    warm = sorted({f for _, f in cells})
    hours = np.array([[cells[rh, f] for f in warm] for rh in humid])
    return DryingTable(
        warm_c=(np.array(warm) - 32.0) * 5.0 / 9.0,
        damp=-np.log1p(-np.array(humid) / 100.0),
        ln_hours=np.log(hours),
    )


def table_h(air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Return the hours that one coat of drying-type compound takes to dry.

    ln(hours) is interpolated in both directions at once, over the temperature T
    and over -ln(1 - RH): the way the table bends least (leave-one-out error
    2.7 % on average, 8.9 % at worst).

    Parameters
    ----------
    air_c : array_like
        Air temperature T. [°C], 0 to 37.8 (32 to 100 °F)
    humidity_pct : array_like
        Relative humidity RH. [%], 0 to 98

    Returns
    -------
    FloatArray
        Drying time of a coat 1/16 in (1.6 mm) thick. [h]

    Notes
    -----
    Outside its range the table says nothing; the caller refuses or holds still.

    Examples
    --------
    >>> float(table_h((70 - 32) / 1.8, 50)).__round__(6)
    17.0

    References
    ----------
    *Drying time of joint compound under tape*, table of the gypsum-finishing
    handbooks, 152 cells, all from memory.
    """
    return drying_times().hours(air_c, humidity_pct)


def evaporation_h(air_c: ArrayLike, humidity_pct: ArrayLike) -> FloatArray:
    """Return the hours of the same coat by a law of evaporation, a second opinion.

    t = 23.0544 / (p_s^1.03689 (1 - RH)^0.90011) with p_s in kPa: water leaves in
    proportion to what the air lacks. Same range as `table_h`. [h].

    Examples
    --------
    >>> float(evaporation_h((70 - 32) / 1.8, 50)).__round__(2)
    16.61
    """
    lack = 1.0 - np.asarray(humidity_pct, dtype=np.float64) / 100.0
    pressure_kpa = saturation_pa(air_c) / 1000.0
    return EVAPORATION_A_H / (pressure_kpa**EVAPORATION_B * lack**EVAPORATION_C)
