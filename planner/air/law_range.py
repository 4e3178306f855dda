"""Laws within the range that their sources cover: hours of a stage in each tick's air."""

from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from planner.air.laws import LAWS, Law, depth_factor
from planner.air.moist_air import FloatArray
from planner.air.wall import at_wall
from planner.errors import OutOfRangeError
from planner.measures import Units
from planner.nouns.product import SHUT_ROOM_PER_H, Air, Hardening, Latest
from planner.units import moment_words

HAIR = 1e-9  # of a whole: shares that add up to one but for the last digits


def _beyond(law: Law, air_c: FloatArray, humidity_pct: FloatArray) -> NDArray[np.bool_]:
    return np.asarray(
        (air_c < law.low_c - HAIR)
        | (air_c > law.high_c + HAIR)
        | (humidity_pct > law.high_rh_pct + HAIR)
    )


def hours_in(
    stage: Hardening | Latest, air: Air, thickness_mm: float | None
) -> FloatArray:
    """Return the hours in the air of each tick, endless beyond the law's range."""
    air = at_wall(air)
    law = LAWS[stage.law]
    numbers: dict[str, float | FloatArray] = dict(stage.numbers)
    layer_mm = numbers.pop("layer_mm", None)
    if law.airs:
        known = air.changes_per_h
        numbers["changes_per_h"] = SHUT_ROOM_PER_H if known is None else known
    hours = law.hours(
        np.clip(air.air_c, law.low_c, law.high_c),
        np.minimum(air.humidity_pct, law.high_rh_pct),
        **numbers,
    )
    if layer_mm is not None and thickness_mm is not None:
        hours = hours * depth_factor(thickness_mm / float(layer_mm))
    if isinstance(stage, Hardening):
        hours = hours * stage.times
    return np.where(_beyond(law, air.air_c, air.humidity_pct), np.inf, hours)


def _range_words(law: Law, units: Units) -> str:
    warmth = units.temperatures(law.low_c, law.high_c)
    damp = f" and up to {law.high_rh_pct:.0f} % RH" if law.high_rh_pct < 100 else ""
    return f"{law.words}: covers {warmth}{damp}"


def refuse_beyond(stage: Hardening | Latest, air: Air) -> None:
    """Raise for the first tick whose air the law doesn't cover."""
    air = at_wall(air)
    law = LAWS[stage.law]
    out = np.flatnonzero(_beyond(law, air.air_c, air.humidity_pct))
    if out.size == 0:
        return
    tick = int(out[0])
    if air.start is not None and air.zone is not None:
        since = timedelta(minutes=tick * air.tick_minutes)
        when = f", {moment_words(air.start + since, air.zone)}"
    elif len(air) > 1:
        when = f", {tick * air.tick_minutes / 60:g} h from the start of the series"
    else:
        when = ""
    seen = (
        f"{air.units.temperature(float(air.air_c[tick]))} and "
        f"{air.humidity_pct[tick]:.0f} % RH"
    )
    raise OutOfRangeError(
        f"no waiting time is known for {seen}{when}",
        where="air",
        hint=_range_words(law, air.units),
    )


def beyond_range(stage: Hardening, air: Air) -> NDArray[np.bool_]:
    """Return the ticks whose air the law of the stage, or of one before, doesn't cover."""
    here = at_wall(air)
    out = _beyond(LAWS[stage.law], here.air_c, here.humidity_pct)
    return out if stage.after is None else out | beyond_range(stage.after, air)
