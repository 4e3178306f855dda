"""The air that the job's facts give, tick by tick: assumed, read, faded.

What is read in the room lies over what is assumed there or worked out for it; between
readings no more than six hours apart temperature and vapour pressure run straight,
and after the last one what it differed by fades with a time constant of a day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import time
from itertools import pairwise

import numpy as np

from planner.judge.case import JudgedPlan, Mask
from planner.judge.physics.hardening import Floats
from planner.judge.physics.vapour import over_ice_pa, vapour_pa
from planner.nouns.air import AirReading, Clock, DayNight
from planner.nouns.product import SHUT_ROOM_PER_H

BRIDGED_S = 6 * 3600
FADE_S = 24 * 3600
DAY_MIN = 24 * 60


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class JudgedAir:
    """Temperature, humidity and air changes of each tick."""

    air_c: Floats
    humidity_pct: Floats
    changes_per_h: Floats


def during(case: JudgedPlan, start: time, end: time) -> Mask:
    """Return the ticks that begin while the site's clock is between two hours."""
    now = case.local_minutes % DAY_MIN
    first, last = (h.hour * 60 + h.minute for h in (start, end))
    if first < last:
        return np.asarray((now >= first) & (now < last))
    return np.asarray((now >= first) | (now < last))


def on(case: JudgedPlan, hours: Clock) -> Mask:
    """Return the ticks that begin in one of several hours; none given: all."""
    if not hours:
        return np.ones(case.ticks, dtype=np.bool_)
    return np.asarray(np.logical_or.reduce([during(case, a, b) for a, b in hours]))


def assumed(
    case: JudgedPlan, spec: DayNight, months: Sequence[tuple[int, DayNight]] = ()
) -> tuple[Floats, Floats]:
    """Return the air assumed by day and by night, another in the months that say so."""
    month = (case.local_minutes.astype("datetime64[m]").astype("datetime64[M]")).astype(
        np.int64
    ) % 12 + 1
    air_c, humidity = np.empty(case.ticks), np.empty(case.ticks)
    whole = np.ones(case.ticks, dtype=np.bool_)
    for here, air in ((whole, spec), *((month == m, air) for m, air in months)):
        day = during(case, air.day_from, air.day_to)
        air_c[here] = np.where(day, air.day_c, air.night_c)[here]
        humidity[here] = np.where(day, air.day_rh_pct, air.night_rh_pct)[here]
    return air_c, humidity


def laid_over(
    case: JudgedPlan,
    air_c: Floats,
    humidity_pct: Floats,
    readings: Sequence[AirReading],
) -> tuple[Floats, Floats]:
    """Return the air with what was read in place of it, where that lies."""
    if not readings:
        return air_c, humidity_pct
    found = sorted(readings, key=lambda r: r.when)
    at = np.array([(r.when - case.start).total_seconds() for r in found])
    read_c = np.array([r.air_c for r in found])
    read_pa = vapour_pa(read_c, np.array([r.humidity_pct for r in found]))
    middle = (np.arange(case.ticks) + 0.5) * case.step
    half = case.step / 2
    known = np.zeros(case.ticks, dtype=np.bool_)
    for one, two in pairwise(at):
        if two - one <= BRIDGED_S:
            known[_ticks(case, one, two)] = True
    for moment in at:  # a reading speaks for the tick that it falls in
        known |= np.abs(middle - moment) <= half
    known &= (middle > at[0] - half) & (middle <= at[-1] + half)
    warm = np.where(known, np.interp(middle, at, read_c), air_c)
    damp = 100.0 * np.interp(middle, at, read_pa) / over_ice_pa(warm)
    return warm, np.where(known, np.minimum(damp, 100.0), humidity_pct)


def _ticks(case: JudgedPlan, start: float, end: float) -> slice:
    """Return the ticks whose middles lie between two moments."""
    first = int(np.ceil(start / case.step - 0.5))
    last = int(np.floor(end / case.step - 0.5))
    return slice(max(first, 0), max(last + 1, 0))


def faded(
    case: JudgedPlan,
    model: tuple[Floats, Floats],
    over: tuple[Floats, Floats],
    readings: Sequence[AirReading],
) -> tuple[Floats, Floats]:
    """Return the air with the hours after the last reading drawn towards it."""
    if not readings:
        return over
    last = max(readings, key=lambda r: r.when)
    read_at = (last.when - case.start).total_seconds()
    after = (np.arange(case.ticks) + 0.5) * case.step - read_at
    tick = min(max(int(read_at // case.step), 0), case.ticks - 1)
    if abs(after[tick]) > case.step:
        return over
    model_c, model_pa = model[0], vapour_pa(*model)
    share = np.exp(-after.clip(0.0) / FADE_S)
    warm = model_c + (last.air_c - model_c[tick]) * share
    read_pa = float(vapour_pa(last.air_c, last.humidity_pct))
    damp_pa = np.maximum(model_pa + (read_pa - model_pa[tick]) * share, 0.0)
    later = after > 0.0
    warm = np.where(later, warm, over[0])
    damp = np.clip(100.0 * damp_pa / over_ice_pa(warm), 0.0, 100.0)
    return warm, np.where(later, damp, over[1])


def read_in(case: JudgedPlan, model: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Return the room's air: what is read in it, over what it is taken to be."""
    readings = case.inputs.readings
    return faded(case, model, laid_over(case, *model, readings), readings)


def changes(case: JudgedPlan) -> Floats:
    """Return how often the room's air is changed in an hour, by leaks and fans."""
    room = case.job.climate
    if room is None:
        return np.full(case.ticks, SHUT_ROOM_PER_H)
    total = np.full(case.ticks, room.leak_per_h)
    for fan in room.ventilation:
        total += fan.air_changes_per_h * on(case, fan.hours)
    return total
