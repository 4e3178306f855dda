"""How far a coat gets in an hour: each law once more, by its own formula.

A law gives the share of the way that a coat gets in one hour of constant air, its
*speed*; in air beyond what the law's source covers a coat gets nowhere. A latest time
runs on in the nearest air that is covered.
"""

import csv
import math
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from planner.judge.physics.vapour import over_ice_pa, vapour_pa
from planner.nouns.product import Hardening, Latest

Floats = NDArray[np.float64]
Numbers = Mapping[str, float]

ALMOST_NEVER_H = 1e12

# What each law's source covers: °C from and to, % relative humidity at most.
COVERED: Mapping[str, tuple[float, float, float]] = {
    "drying_table": (0.0, 340.0 / 9.0, 98.0),  # 32 to 100 °F
    "water_film": (0.0, 340.0 / 9.0, 98.0),
    "film_cure": (0.0, 340.0 / 9.0, 98.0),
    "thermal_doubling": (0.0, 40.0, 100.0),
    "set_class": (65.0 / 9.0, 35.0, 100.0),  # 45 to 95 °F
    "arrhenius_age": (0.0, 40.0, 100.0),
    "nurse_saul": (-15.0, 40.0, 100.0),
    "moisture_cure": (0.0, 40.0, 100.0),
    "fixed": (-math.inf, math.inf, 100.0),
    "airing": (-math.inf, math.inf, 100.0),
}


@cache
def _table() -> tuple[Floats, Floats, Floats]:
    """Return the drying table: -ln(1 - RH) by rows, °C by columns, ln(hours)."""
    text = files("planner.air").joinpath("drying_table.csv").read_text(encoding="utf-8")
    rows: dict[float, dict[float, float]] = {}
    for cell in csv.DictReader(text.splitlines()):
        row = rows.setdefault(float(cell["rh_pct"]), {})
        row[(float(cell["temp_F"]) - 32.0) / 1.8] = math.log(float(cell["hours"]))
    damp = sorted(rows)
    warm = sorted(rows[damp[0]])
    return (
        np.array([-math.log(1.0 - rh / 100.0) for rh in damp]),
        np.array(warm),
        np.array([[rows[rh][c] for c in warm] for rh in damp]),
    )


def table_h(air_c: Floats, humidity_pct: Floats) -> Floats:
    """Return the drying table's hours, straight in ln(hours) between its cells."""
    damp, warm, ln_hours = _table()
    by_row = np.array([np.interp(air_c, warm, row) for row in ln_hours])
    x = np.clip(-np.log1p(-humidity_pct / 100.0), damp[0], damp[-1])
    below = np.clip(np.searchsorted(damp, x, side="right") - 1, 0, damp.size - 2)
    part = (x - damp[below]) / (damp[below + 1] - damp[below])
    each = np.arange(x.size)
    low, high = by_row[below, each], by_row[below + 1, each]
    return np.asarray(np.exp(low + part * (high - low)))


def _table_at_h(air_c: float, humidity_pct: float) -> float:
    return float(table_h(np.array([air_c]), np.array([humidity_pct]))[0])


def _drying_table(c: Floats, rh: Floats, n: Numbers) -> Floats:
    if "hours_h" in n:
        whole = n["hours_h"] / _table_at_h(
            n.get("at_c", 25.0), n.get("at_rh_pct", 50.0)
        )
    else:
        water = n.get("water_l_per_l", 0.325) * (1.0 - n.get("bound_frac", 0.0))
        whole = water / 0.325
    hours = whole * table_h(c, rh) * n.get("ground_times", 1.0) / _windy(n)
    if n.get("class_min", 0.0) > 0.0:
        usable = np.clip(c, *COVERED["set_class"][:2])
        hours = np.maximum(
            hours, 1.0 / _set_class(usable, rh, {"class_min": n["class_min"]})
        )
    return 1.0 / hours


def _windy(n: Numbers) -> float:
    """Return how much quicker moving air takes water up: (V + 4) / 4, V in km/h (Uno)."""
    return (3.6 * n.get("air_m_s", 0.0) + 4.0) / 4.0


def _film(c: Floats, rh: Floats) -> Floats:
    """Return how fast water leaves a film, to a factor: p_s^1.037 (1 - RH)^0.900."""
    return np.asarray(
        (over_ice_pa(c) / 1000.0) ** 1.03689 * (1.0 - rh / 100.0) ** 0.90011
    )


def _water_film(c: Floats, rh: Floats, n: Numbers) -> Floats:
    at = _film(np.array([n.get("at_c", 25.0)]), np.array([n.get("at_rh_pct", 50.0)]))
    per_h = _film(c, rh) / at / n["hours_h"] * _windy(n)
    least_h = n.get("least_h", 0.0)
    return np.minimum(per_h, 1.0 / least_h) if least_h else per_h


def _film_cure(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    """Return the speed of a film's later cure: slowed by cold, hastened by nothing."""
    colder = np.clip((n["at_c"] - c) / n["doubling_k"], 0.0, None)
    hours = max(n["hours_h"] - n["water_h"], 0.0) * np.exp2(colder)
    return np.asarray(1.0 / np.maximum(hours, 1.0 / ALMOST_NEVER_H))


def _thermal_doubling(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    return np.asarray(np.exp2((c - n["at_c"]) / n["doubling_k"]) / n["hours_h"])


def _set_class(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    """Return the speed of setting: 15 % more hours for each 20 °F colder."""
    steps = (n.get("at_c", 215.0 / 9.0) - c) * 1.8 / 20.0
    return np.asarray(60.0 / n["class_min"] * 1.15 ** (-steps))


def _arrhenius_age(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    kelvin, at = c + 273.15, n["at_c"] + 273.15
    return np.asarray(np.exp(-n["q_k"] * (1.0 / kelvin - 1.0 / at)) / n["age_h"])


def _nurse_saul(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    return np.asarray(np.clip(c - n["datum_c"], 0.0, None) / n["maturity_c_h"])


def _moisture_cure(c: Floats, rh: Floats, n: Numbers) -> Floats:
    at = vapour_pa(np.array([n["at_c"]]), np.array([n["at_rh_pct"]]))
    return np.asarray(np.clip(vapour_pa(c, rh) / at, 0.25, 2.0) / n["hours_h"])


def _fixed(c: Floats, _rh: Floats, n: Numbers) -> Floats:
    return np.full(c.shape, 1.0 / n["hours_h"])


LAWS: Mapping[str, Callable[[Floats, Floats, Numbers], Floats]] = {
    "drying_table": _drying_table,
    "water_film": _water_film,
    "film_cure": _film_cure,
    "thermal_doubling": _thermal_doubling,
    "set_class": _set_class,
    "arrhenius_age": _arrhenius_age,
    "nurse_saul": _nurse_saul,
    "moisture_cure": _moisture_cure,
    "fixed": _fixed,
}


def covered(law: str, c: Floats, rh: Floats) -> NDArray[np.bool_]:
    """Return where a law's source covers the air; a hair beyond still counts."""
    low, high, damp = COVERED[law]
    return (c >= low - 1e-6) & (c <= high + 1e-6) & (rh <= damp + 1e-6)


def _nearest(law: str, c: Floats, rh: Floats) -> tuple[Floats, Floats]:
    low, high, damp = COVERED[law]
    return np.clip(c, low, high), np.minimum(rh, damp)


def speed(
    stage: Hardening | Latest,
    c: Floats,
    rh: Floats,
    changes_per_h: Floats,
    thickness_mm: float | None,
) -> Floats:
    """Return the share of a stage that passes in an hour of each air. [1/h]."""
    numbers = dict(stage.numbers)
    layer_mm = numbers.pop("layer_mm", None)
    thick = thickness_mm / layer_mm if layer_mm and thickness_mm else 1.0
    thick *= max(thick / 2.0, 1.0)  # beyond two layers by the square (diffusion)
    near_c, near_rh = _nearest(stage.law, c, rh)
    if stage.law == "airing":
        per_h = changes_per_h / -math.log(numbers["left_frac"])
    else:
        per_h = LAWS[stage.law](near_c, near_rh, numbers)
    if isinstance(stage, Latest):
        return per_h
    longer = thick * stage.times
    return np.where(covered(stage.law, c, rh), per_h / longer, 0.0)
