"""How long a coat takes in constant air: one function for each way of hardening.

Every law takes the air as arrays and its numbers by name, and returns hours.
`LAWS` says for each what range its source covers; outside it a law has no answer.
Thickness is not a law's business: see `depth_factor`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from planner.air.drying_table import (
    TABLE_HIGH_C,
    TABLE_HIGH_RH_PCT,
    TABLE_LOW_C,
    TABLE_WATER_L_PER_L,
    evaporation_h,
    table_h,
)
from planner.air.moist_air import ZERO_C_K, FloatArray, vapour_pa
from planner.errors import OutOfRangeError

# Setting compound: 10 to 20 % quicker at 95 °F and slower at 55 °F than midway
# (from memory); 15 % taken, midway is 75 °F.
SET_MID_C = (75.0 - 32.0) * 5.0 / 9.0
SET_CHANGE_FRAC = 0.15
SET_SPAN_K = 20.0 * 5.0 / 9.0
SET_LOW_C, SET_HIGH_C = (45.0 - 32.0) * 5.0 / 9.0, (95.0 - 32.0) * 5.0 / 9.0

# One-part foam: never taken as quicker than half or slower than four times its
# time at the reference air (assumption).
FOAM_QUICKEST, FOAM_SLOWEST = 0.5, 4.0


def drying_table(
    air_c: FloatArray,
    humidity_pct: FloatArray,
    *,
    hours_h: float | None = None,
    at_c: float = 25.0,
    at_rh_pct: float = 50.0,
    water_l_per_l: float = TABLE_WATER_L_PER_L,
    bound_frac: float = 0.0,
    class_min: float = 0.0,
    ground_times: float = 1.0,
    air_m_s: float = 0.0,
) -> FloatArray:
    """Return the drying time of a compound coat by the table. [h].

    The table's hours, in proportion to the water that has to leave (a setting
    compound keeps `bound_frac` of it), or to the `hours_h` that a data sheet
    gives at `at_c` and `at_rh_pct`; `ground_times` as long on what it lies on, and
    quicker where the air moves. Never shorter than the setting time where
    `class_min` gives one.
    """
    if hours_h is None:
        scale = water_l_per_l * (1.0 - bound_frac) / TABLE_WATER_L_PER_L
    else:
        scale = hours_h / float(table_h(at_c, at_rh_pct))
    scale *= ground_times / moving_times(air_m_s)
    dry_h = table_h(air_c, humidity_pct) * scale
    if class_min > 0.0:
        usable_c = np.clip(air_c, SET_LOW_C, SET_HIGH_C)
        return np.maximum(dry_h, set_class(usable_c, humidity_pct, class_min=class_min))
    return dry_h


def water_film(
    air_c: FloatArray,
    humidity_pct: FloatArray,
    *,
    hours_h: float,
    at_c: float = 25.0,
    at_rh_pct: float = 50.0,
    least_h: float = 0.0,
    air_m_s: float = 0.0,
) -> FloatArray:
    """Return the time to recoat a thin water-based film. [h].

    No less than `least_h`; `hours_h` at the stated air, times the law of evaporation relative to it:
    (p_ref / p_s)^1.037 ((1 - RH_ref) / (1 - RH))^0.900, quicker where the air moves. No standard gives such
    a factor: a model assumption, for the first stage of drying only. A skin
    later makes the rate independent of humidity (Phys. Rev. Lett. 131, 248102).
    """
    at = evaporation_h(at_c, at_rh_pct) * moving_times(air_m_s)
    return np.maximum(hours_h * evaporation_h(air_c, humidity_pct) / at, least_h)


# The drying table and data sheets are taken to be for still air (assumption).
MOVING_PER_M_S = 3.6 / 4.0  # of V + 4, V in km/h (Uno)
MOVING_ERROR_FRAC = 0.4  # of such formulas: Hover, ACI symposium 338, 2020


def moving_times(air_m_s: float) -> float:
    """Return how many times as quickly water leaves as in still air. [1].

    (V + 4) / 4 with V in km/h, the wind's part of Uno 1998, *ACI Materials Journal*
    95-M34; `air_m_s` from 0 to 1: a strong draught cracks wet joints.

    Examples
    --------
    >>> moving_times(0.0), moving_times(1.0)
    (1.0, 1.9)
    """
    return 1.0 + MOVING_PER_M_S * air_m_s


# A coat twice as thick as the table's still dries mostly from its surface; deeper ones
# wait for water to come up from below. A quarter of an inch is the end of it.
SURFACE_LAYERS, MOST_LAYERS = 2.0, 4.0


def depth_factor(layers: float) -> float:
    """Return how much longer a coat of so many layers dries than one of a single layer.

    In proportion to its water while that leaves from the surface, up to two layers;
    beyond, by the square of the thickness, as where diffusion brings the water up (the
    constant and the falling rate of drying: Sherwood 1929, Industrial and Engineering
    Chemistry 21, from memory). A layer is the 1/16 in of the drying table.

    Raises
    ------
    OutOfRangeError
        Beyond four layers, for which no drying time is known.

    Examples
    --------
    >>> depth_factor(0.5), depth_factor(2.0), depth_factor(4.0)
    (0.5, 2.0, 8.0)
    """
    if layers > MOST_LAYERS * (1.0 + 1e-6):
        raise OutOfRangeError(
            f"no drying time is known for a coat of {layers:.1f} times the thickness "
            "that times are known for",
            where="thickness",
            hint=f"lay it in several coats, each no more than {MOST_LAYERS:g} times that",
        )
    if layers <= SURFACE_LAYERS:
        return layers
    return layers**2 / SURFACE_LAYERS


def film_cure(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - a skin has formed: humidity counts no more
    *,
    hours_h: float,
    water_h: float,
    at_c: float,
    doubling_k: float,
) -> FloatArray:
    """Return what is left of a film's cure once it may be recoated. [h].

    `hours_h` is the data sheet's time from the coat on, at `at_c`; the first `water_h` of
    it the film takes to be recoated, by `water_film` and no less than that. The rest is
    slowed by cold, twice as long for each `doubling_k` (the rule of thumb for reaction
    rates), and shortened by nothing. Damp lengthens the first part only: once a skin has
    formed, humidity no longer counts (Phys. Rev. Lett. 131, 248102).

    Examples
    --------
    At the sheet's own air 24 h less the 5 h to recoat; 10 °C colder twice that.

    >>> air = np.array([25.0, 15.0]), np.array([50.0, 50.0])
    >>> film_cure(*air, hours_h=24, water_h=5, at_c=25, doubling_k=10).tolist()
    [19.0, 38.0]
    """
    slower = np.maximum(2.0 ** ((at_c - air_c) / doubling_k), 1.0)
    return np.asarray(max(hours_h - water_h, 0.0) * slower)


def thermal_doubling(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - humidity has no part in this law
    *,
    hours_h: float,
    at_c: float,
    doubling_k: float,
) -> FloatArray:
    """Return a time that doubles with each `doubling_k` of cold. [h].

    t = hours_h 2^((at_c - T) / doubling_k), the rule of thumb for reaction rates.
    """
    return np.asarray(hours_h * 2.0 ** ((at_c - air_c) / doubling_k))


def set_class(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - gypsum sets at any humidity
    *,
    class_min: float,
    at_c: float = SET_MID_C,
) -> FloatArray:
    """Return the setting time of a compound of a class by its minutes. [h].

    15 % longer for each 20 °F below `at_c` and as much shorter above it.
    """
    change = (1.0 + SET_CHANGE_FRAC) ** ((at_c - air_c) / SET_SPAN_K)
    return np.asarray(class_min / 60.0 * change)


def arrhenius_age(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - the bed is misted and keeps its water
    *,
    age_h: float,
    at_c: float,
    q_k: float,
) -> FloatArray:
    """Return the time to an equivalent age of cement, by Arrhenius. [h].

    An hour at T ages the bed by exp(-Q (1/T - 1/Ts)) hours at Ts, in kelvin
    (ASTM C1074; Carino 1984, *Cement, Concrete and Aggregates* 6(2) 61-73).
    """
    lag = 1.0 / (air_c + ZERO_C_K) - 1.0 / (at_c + ZERO_C_K)
    return np.asarray(age_h * np.exp(q_k * lag))


def nurse_saul(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - as above
    *,
    maturity_c_h: float,
    datum_c: float,
) -> FloatArray:
    """Return the time to a maturity of cement, by Nurse and Saul. [h].

    An hour at T adds T - T0; nothing below the datum T0 (ASTM C1074).
    """
    warmth = np.maximum(air_c - datum_c, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(maturity_c_h / warmth)


def moisture_cure(
    air_c: FloatArray,
    humidity_pct: FloatArray,
    *,
    hours_h: float,
    at_c: float,
    at_rh_pct: float,
) -> FloatArray:
    """Return the curing time of one-part foam, quicker in damp air. [h].

    In inverse proportion to the vapour pressure, which feeds the reaction, and
    within 0.5 and 4 times `hours_h`: an assumption from the chemistry, since
    sources agree on the direction only.
    """
    at_pa = float(vapour_pa(at_c, at_rh_pct))
    here_pa = np.maximum(vapour_pa(air_c, humidity_pct), at_pa / FOAM_SLOWEST)
    return hours_h * np.maximum(at_pa / here_pa, FOAM_QUICKEST)


def fixed(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - the air has no part in this law
    *,
    hours_h: float,
) -> FloatArray:
    """Return the same time in any air. [h]."""
    return np.full(air_c.shape, hours_h)


def airing(
    air_c: FloatArray,
    humidity_pct: FloatArray,  # noqa: ARG001 - the air's state has no part in this law
    *,
    left_frac: float,
    changes_per_h: FloatArray | float,
) -> FloatArray:
    """Return how long air changes take until a share of the fumes is left. [h].

    t = -ln(left_frac) / n, the tracer decay of a well-mixed room (ASTM E741). Endless
    where nothing changes the air.

    Examples
    --------
    A twentieth is left after three air changes.

    >>> float(airing(np.array([20.0]), np.array([50.0]), left_frac=0.05,
    ...              changes_per_h=1.0)[0]).__round__(2)
    3.0
    """
    changes = np.broadcast_to(np.asarray(changes_per_h, dtype=np.float64), air_c.shape)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.log(left_frac) / changes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """A law, the range that its source covers, and its name in words.

    One that `airs` also takes the room's air changes; a `damp` one is slower the
    damper the air.
    """

    hours: Callable[..., FloatArray]
    words: str
    airs: bool = False
    damp: bool = False
    low_c: float = -np.inf
    high_c: float = np.inf
    high_rh_pct: float = 100.0


LAWS: Mapping[str, Law] = {
    "drying_table": Law(
        hours=drying_table,
        damp=True,
        words="table of drying times, log hours over T and -ln(1 - RH)",
        low_c=TABLE_LOW_C,
        high_c=TABLE_HIGH_C,
        high_rh_pct=TABLE_HIGH_RH_PCT,
    ),
    "water_film": Law(
        hours=water_film,
        damp=True,
        words="law of evaporation, relative to the data sheet's air",
        low_c=TABLE_LOW_C,
        high_c=TABLE_HIGH_C,
        high_rh_pct=TABLE_HIGH_RH_PCT,
    ),
    "film_cure": Law(
        hours=film_cure,
        words="doubling with cold once recoatable, never shorter than the data sheet's",
        low_c=TABLE_LOW_C,
        high_c=TABLE_HIGH_C,
        high_rh_pct=TABLE_HIGH_RH_PCT,
    ),
    "thermal_doubling": Law(
        hours=thermal_doubling,
        words="doubling with cold",
        low_c=0.0,
        high_c=40.0,
    ),
    "set_class": Law(
        hours=set_class,
        words="minutes of the setting class, by temperature",
        low_c=SET_LOW_C,
        high_c=SET_HIGH_C,
    ),
    "arrhenius_age": Law(
        hours=arrhenius_age,
        words="equivalent age, Arrhenius (ASTM C1074)",
        low_c=0.0,
        high_c=40.0,
    ),
    "nurse_saul": Law(
        hours=nurse_saul,
        words="maturity, Nurse and Saul (ASTM C1074)",
        low_c=-15.0,
        high_c=40.0,
    ),
    "moisture_cure": Law(
        hours=moisture_cure,
        words="in inverse proportion to the vapour in the air",
        low_c=0.0,
        high_c=40.0,
    ),
    "fixed": Law(hours=fixed, words="the same in any air"),
    "airing": Law(
        hours=airing, words="air changes of a well-mixed room (ASTM E741)", airs=True
    ),
}
