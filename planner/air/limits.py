"""The air that a coat must have: which ticks break it, and which limit in words."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from planner.air.moist_air import FloatArray, dew_point_c
from planner.air.wall import at_wall
from planner.measures import Units
from planner.nouns.product import Air, AirLimits

BoolArray = NDArray[np.bool_]
_HAIR = 1e-9  # a limit that is just kept is kept, whatever the last digit says


def breaks_by_limit(limits: AirLimits, air: Air) -> Mapping[str, BoolArray]:
    """Return the ticks that break each limit, by the limit in words.

    The coldest wall counts for the lowest temperature and for the dew point, the room
    for the highest temperature and for the humidity.
    """
    surface_c, units = at_wall(air).air_c, air.units
    out: dict[str, BoolArray] = {}
    if limits.min_c is not None:
        words = f"room and surface at {units.temperature(limits.min_c)} or more"
        out[words] = surface_c < limits.min_c - _HAIR
    if limits.max_c is not None:
        words = f"room at {units.temperature(limits.max_c)} or less"
        out[words] = air.air_c > limits.max_c + _HAIR
    if limits.max_rh_pct is not None:
        words = f"{limits.max_rh_pct:.0f} % relative humidity or less"
        out[words] = air.humidity_pct > limits.max_rh_pct + _HAIR
    if limits.dew_margin_delta_k is not None:
        margin = units.kelvins(limits.dew_margin_delta_k)
        words = f"surface {margin} or more above the dew point"
        above_k = surface_c - dew_point_c(air.air_c, air.humidity_pct)
        out[words] = above_k < limits.dew_margin_delta_k - _HAIR
    return out


def found_by_limit(limits: AirLimits, air: Air) -> Mapping[str, str]:
    """Return what air there is, in words, by the limit that it is held against."""
    surface_c, units = at_wall(air).air_c, air.units
    above_k = surface_c - dew_point_c(air.air_c, air.humidity_pct)
    found = (
        f"surfaces are at {_span(surface_c, units.temperature)}",
        f"the room is at {_span(air.air_c, units.temperature)}",
        f"the room is at {_span(air.humidity_pct, '{:.0f} %'.format)}",
        f"surfaces are {_span(above_k, units.kelvins)} above the dew point",
    )
    asked = (
        limits.min_c,
        limits.max_c,
        limits.max_rh_pct,
        limits.dew_margin_delta_k,
    )
    told = (
        words for words, limit in zip(found, asked, strict=True) if limit is not None
    )
    return dict(zip(breaks_by_limit(limits, air), told, strict=True))


def _span(values: FloatArray, say: Callable[[float], str]) -> str:
    """Return the least and the most of some values; one where both read the same."""
    least, most = say(float(values.min())), say(float(values.max()))
    return least if least == most else f"{least} to {most}"


def limit_breaks(limits: AirLimits, air: Air) -> BoolArray:
    """Return the ticks whose air breaks any limit."""
    bad = np.zeros(len(air), dtype=np.bool_)
    for broken in breaks_by_limit(limits, air).values():
        bad |= broken
    return bad


def limit_words(limits: AirLimits, units: Units) -> str:
    """Return the limits as one phrase."""
    none = np.zeros(0)
    nothing = Air(tick_minutes=60, air_c=none, humidity_pct=none, units=units)
    return ", ".join(breaks_by_limit(limits, nothing)) or "no limits on the air"


def cold_before(limits: AirLimits, air: Air) -> BoolArray:
    """Return the starts forbidden by cold in the hours before them.

    Tick s is forbidden when a tick of the `min_c_before_h` hours before it is
    colder than `min_c`. Before the series, the air of its first tick is taken.
    """
    count = len(air)
    window = round(limits.min_c_before_h * 60.0 / air.tick_minutes)
    if limits.min_c is None or window == 0 or count == 0:
        return np.zeros(count, dtype=np.bool_)
    cold = at_wall(air).air_c < limits.min_c - _HAIR
    padded = np.concatenate((np.repeat(cold[:1], window), cold[: count - 1], [False]))
    total = np.concatenate(([0], np.cumsum(padded)))
    return np.asarray(total[window : window + count] > total[:count])
