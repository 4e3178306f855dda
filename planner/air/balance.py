"""From outside air to the room's air: the balance of warmth and of water.

What counts is the water in the air, not the percentage: outside air at 5 °C and
90 % is dry once it is heated to 20 °C. The room is taken as well mixed. Each tick
its humidity ratio W follows

    dW/dt = n (W_out - W) + G/m - (D/m) W/W_rated,

with n air changes, G the water given off, m the room's dry air and D what its
dehumidifiers take out at their rating. Nothing of it changes within a tick but that
a dehumidifier stops at its set point, so the step is exact: W runs exponentially
to where gain and loss are even, or to the set point. What boards
and floors take up and give back is left out, which makes peaks a little sharper.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import time
from functools import partial

import numpy as np

from planner.air.moist_air import (
    FloatArray,
    dry_air_kg_m3,
    humidity_pct,
    humidity_ratio,
    ratio_vapour_pa,
    vapour_pa,
    weather_vapour_pa,
)
from planner.air.room import Ticks, local_starts, within
from planner.air.wet_work import WetWork
from planner.nouns.air import Climate, Clock, Dehumidifier, RoomAir
from planner.nouns.product import Air

# A compressor's coil ices up: full from 15 °C, nothing at 5 °C (assumption; pages
# of hirers call its effect at 10 °C very limited).
COIL_FULL_C, COIL_NOTHING_C = 15.0, 5.0


# ------------------------------------------------------------- one tick


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceStep:
    """Where a tick's water went, per kg of the room's dry air. [kg/kg]."""

    ratio: float  # at the end of the tick
    mean: float  # over the tick
    let_in: float
    dried: float


def step(
    ratio: float, *, hours: float, changes: float, outside: float, gain: float,
    drying: float = 0.0,
) -> BalanceStep:  # fmt: skip
    """Return the room's water after a tick in which nothing else changes.

    W(t) = W_end + (W_0 - W_end) exp(-(n + d) t), W_end = (n W_out + g)/(n + d).

    Parameters
    ----------
    ratio : float
        Humidity ratio W_0 at the start. [kg/kg]
    hours : float
        Length of the tick. [h]
    changes : float
        Air changes n. [1/h]
    outside : float
        Humidity ratio W_out of the air let in. [kg/kg]
    gain : float
        Water given off, g = G/m. [kg/kg/h]
    drying : float
        What dehumidifiers take of the room's water in an hour, d. [1/h]

    References
    ----------
    The first term is the tracer decay of ASTM E741; the steady state with d = 0 is
    W = W_out + G/(n m).
    """
    kept, once, twice = _decay(changes + drying, hours)
    source = changes * outside + gain
    end = ratio * kept + source * once
    mean = (ratio * once + source * twice) / hours
    return BalanceStep(
        ratio=end,
        mean=mean,
        let_in=changes * (outside - mean) * hours,
        dried=drying * mean * hours,
    )


def _decay(leaving: float, hours: float) -> tuple[float, float, float]:
    """Return exp(-n t), and its first and second integral over the tick.

    The integrals are (1 - exp(-n t))/n and (t - (1 - exp(-n t))/n)/n; near n t = 0,
    where digits would be lost, the last from its series.
    """
    x = leaving * hours
    if x < 1e-4:
        once = hours * (1.0 - x / 2.0 + x * x / 6.0)
        return math.exp(-x), once, hours * hours * (0.5 - x / 6.0 + x * x / 24.0)
    once = -math.expm1(-x) / leaving
    return math.exp(-x), once, (hours - once) / leaving


def decays(leaving: FloatArray, hours: float) -> tuple[FloatArray, ...]:
    """Return what `_decay` does, for an array of what leaves."""
    found = [_decay(x, hours) for x in leaving.tolist()]
    return tuple(np.array(column) for column in zip(*found, strict=True))


def dried_step(
    ratio: float, *, hours: float, changes: float, outside: float, gain: float,
    machines: Sequence[tuple[float, float]],
) -> BalanceStep:  # fmt: skip
    """Return the room's water after a tick with dehumidifiers, as `step` does.

    Each machine is its set point as a humidity ratio [kg/kg] and what it takes of
    the room's water in an hour [1/h]. It runs while the water is over its set
    point; where that is enough to bring the water there, it holds it there. The
    tick falls into stretches, from set point to set point, that are each exact.
    """
    source = changes * outside + gain
    left, summed, let_in, dried = hours, 0.0, 0.0, 0.0
    while left > 0.0:
        over = sum(pull for goal, pull in machines if goal < ratio)
        at = sum(pull for goal, pull in machines if goal == ratio)
        if source - (changes + over + at) * ratio > 0.0:
            over += at
            ahead = min((g for g, _ in machines if g > ratio), default=math.inf)
        elif source - (changes + over) * ratio < 0.0:
            ahead = max((g for g, _ in machines if g < ratio), default=-math.inf)
        else:  # held: what the machines take is what is too much
            summed += ratio * left
            let_in += changes * (outside - ratio) * left
            dried += (source - changes * ratio) * left
            break
        there_h = _reached_h(ratio, ahead, leaving=changes + over, source=source)
        part = step(
            ratio, hours=min(there_h, left), changes=changes, outside=outside,
            gain=gain, drying=over,
        )  # fmt: skip
        summed += part.mean * min(there_h, left)
        let_in, dried = let_in + part.let_in, dried + part.dried
        ratio = ahead if there_h <= left else part.ratio
        left -= there_h
    return BalanceStep(ratio=ratio, mean=summed / hours, let_in=let_in, dried=dried)


def _reached_h(ratio: float, goal: float, *, leaving: float, source: float) -> float:
    """Return when the water, running towards `goal`, is there; never is infinite. [h].

    From W(t) = W_0 + r (1 - exp(-n t))/n, with r = source - n W_0.
    """
    rate = source - leaving * ratio
    share = leaving * (goal - ratio) / rate
    if math.isinf(goal) or share >= 1.0:
        return math.inf
    if share < 1e-12:  # as straight as digits can tell
        return (goal - ratio) / rate
    return -math.log1p(-share) / leaving


# --------------------------------------------------------------- the room


def on_ticks(hours: Clock, clocks: Sequence[time]) -> FloatArray:
    """Return 1 for each tick that begins in the hours, else 0; no hours: all day."""
    on = np.zeros(len(clocks), dtype=np.bool_)
    for start, end in hours:
        on |= within(clocks, start, end)
    return on.astype(np.float64) if hours else np.ones(len(clocks))


def changes_per_h(climate: Climate, clocks: Sequence[time]) -> FloatArray:
    """Return the air changes by leaks and ventilation in each tick. [1/h]."""
    changes = np.full(len(clocks), climate.leak_per_h)
    for v in climate.ventilation:
        changes += v.air_changes_per_h * on_ticks(v.hours, clocks)
    return changes


def room_air_kg(climate: Climate, air_c: FloatArray, outer: FloatArray) -> FloatArray:
    """Return the room's dry air, at the moisture of the air let in. [kg].

    What the room holds above that changes it by less than a hundredth.
    """
    return climate.volume_m3 * dry_air_kg_m3(air_c, ratio_vapour_pa(outer))


def room_warmth_c(
    outside: Air, climate: Climate, clocks: Sequence[time], *, start_c: float | None
) -> FloatArray:
    """Return the room's temperature at the end of each tick. [°C].

    The room runs exponentially towards the outside, and is held at a set point in
    its hours however much heat that takes.
    """
    tick_h = outside.tick_minutes / 60.0
    kept = math.exp(-tick_h / climate.lag_h) if climate.lag_h > 0.0 else 0.0
    floor = np.full(len(clocks), -np.inf)
    ceiling = np.full(len(clocks), np.inf)
    for t in climate.thermostats:
        on = on_ticks(t.hours, clocks) > 0.0
        if t.heat_to_c is not None:
            floor[on] = np.maximum(floor[on], t.heat_to_c)
        if t.cool_to_c is not None:
            ceiling[on] = np.minimum(ceiling[on], t.cool_to_c)
    ceiling = np.maximum(ceiling, floor)
    low, high, free = floor.tolist(), ceiling.tolist(), outside.air_c.tolist()
    warm = free[0] if start_c is None else start_c
    out = np.empty(len(clocks))
    for i, outer in enumerate(free):
        warm = min(max(outer + (warm - outer) * kept, low[i]), high[i])
        out[i] = warm
    return out


def drying_per_h(
    machine: Dehumidifier, air_c: FloatArray, air_kg: FloatArray
) -> FloatArray:
    """Return what a running machine takes of the room's water in an hour. [1/h].

    Its litres are in proportion to the humidity ratio: at its rating the rated
    ones, half of them in air that holds half as much water. Of one machine at
    two states, as published, the rule gives up to 17 % less, never more.
    """
    rated = humidity_ratio(vapour_pa(machine.rated_c, machine.rated_rh_pct))
    cold = np.clip((air_c - COIL_NOTHING_C) / (COIL_FULL_C - COIL_NOTHING_C), 0.0, 1.0)
    share = cold if machine.compressor else np.ones_like(air_c)
    return machine.rated_l_per_day / 24.0 * share / (float(rated) * air_kg)


def outer_ratio(outside: Air, *, weather: bool) -> FloatArray:
    """Return the humidity ratio of outside air. [kg/kg].

    `weather`: whether its humidity is over water, as weather records give it.
    """
    to_vapour = weather_vapour_pa if weather else vapour_pa
    return humidity_ratio(to_vapour(outside.air_c, outside.humidity_pct))


def room_air(
    outside: Air,
    climate: Climate,
    grid: Ticks,
    *,
    given_off_kg: FloatArray | None = None,
    wet_work: WetWork | None = None,
    start_c: float | None = None,
    start_rh_pct: float | None = None,
    weather: bool = True,
) -> RoomAir:
    """Return the room's air that outside air, climate and wet work make.

    Parameters
    ----------
    outside : Air
        The air that leaks and is let in, one value a tick.
    climate : Climate
        Volume, leaks, heating and cooling, ventilation, dehumidifiers.
    grid : Ticks
        The grid of `outside`; it gives the site's clock.
    given_off_kg : FloatArray, optional
        Water given off in each tick, whatever the air. [kg]
    wet_work : WetWork, optional
        Coats that give off their water by the air that it makes.
    start_c, start_rh_pct : float, optional
        The room at the first tick's start; else outside air, its water kept.
    weather : bool
        Whether `outside` gives humidity over water, as weather records do.

    Returns
    -------
    RoomAir
        The air as the mean of each tick, and the water balance.
    """
    clocks = [t.time() for t in local_starts(grid)]
    count, tick_h = len(clocks), outside.tick_minutes / 60.0
    air_c = room_warmth_c(outside, climate, clocks, start_c=start_c)
    outer = outer_ratio(outside, weather=weather)
    full = humidity_ratio(vapour_pa(air_c, 100.0))
    air_kg = room_air_kg(climate, air_c, outer)
    wet_kg = np.zeros(count) if given_off_kg is None else given_off_kg.copy()
    changes = changes_per_h(climate, clocks)
    machines = _machines(climate, clocks, air_c, air_kg)
    ratio = min(float(outer[0]), float(full[0]))
    if start_rh_pct is not None:
        first_c = float(air_c[0]) if start_c is None else start_c
        ratio = float(humidity_ratio(vapour_pa(first_c, start_rh_pct)))
    means, let_in, dried, condensed = (np.zeros(count) for _ in range(4))
    per_tick = zip(
        changes.tolist(), outer.tolist(), wet_kg.tolist(), air_kg.tolist(),
        full.tolist(), strict=True,
    )  # fmt: skip
    for i, (change, out, steady, dry_kg, most) in enumerate(per_tick):
        water = steady
        ticking = partial(
            dried_step, ratio, hours=tick_h, changes=change, outside=out,
            machines=[(goals[i], pulls[i]) for goals, pulls in machines],
        )  # fmt: skip
        if wet_work is not None:
            leaves = partial(_vapour_pa, ticking, water, dry_kg * tick_h, most)
            wet_kg[i] = water = water + wet_work.given_off(i, leaves)
        done = ticking(gain=water / dry_kg / tick_h)
        means[i], let_in[i], dried[i] = done.mean, done.let_in, done.dried
        ratio = done.ratio
        if ratio > most:
            condensed[i] = ratio - most
            means[i] = min(means[i], most)
            ratio = most
    humid = np.clip(humidity_pct(air_c, ratio_vapour_pa(means)), 0.0, 100.0)
    air = replace(
        outside,
        air_c=air_c,
        humidity_pct=humid,
        changes_per_h=changes,
        origin=(*outside.origin, *_words(climate, float(wet_kg.sum()))),
    )
    return RoomAir(
        air=air,
        given_off_kg=wet_kg,
        let_in_kg=let_in * air_kg,
        dried_kg=dried * air_kg,
        condensed_kg=condensed * air_kg,
    )


def _machines(
    climate: Climate, clocks: Sequence[time], air_c: FloatArray, air_kg: FloatArray
) -> list[tuple[list[float], list[float]]]:
    """Return for each dehumidifier, tick by tick, its set point and what it takes.

    As `dried_step` has them. [kg/kg], [1/h].
    """
    return [
        (
            humidity_ratio(vapour_pa(air_c, d.set_rh_pct)).tolist(),
            (drying_per_h(d, air_c, air_kg) * on_ticks(d.hours, clocks)).tolist(),
        )
        for d in climate.dehumidifiers
    ]


def _vapour_pa(
    ticking: Callable[..., BalanceStep],
    water_kg: float,
    per_kg: float,
    most: float,
    kg: float,
) -> float:
    """Return the mean vapour pressure of a tick in which `kg` more is given off. [Pa].

    `per_kg` is the room's dry air times the tick's hours, `most` the ratio at which
    water condenses.
    """
    mean = ticking(gain=(water_kg + kg) / per_kg).mean
    return float(ratio_vapour_pa(min(mean, most)))


def _words(climate: Climate, wet_kg: float) -> tuple[str, ...]:
    parts = [
        f"room of {climate.volume_m3:.0f} m³, {climate.leak_per_h:g} air changes/h"
    ]
    for t in climate.thermostats:
        if t.heat_to_c is not None:
            parts.append(f"heated to {t.heat_to_c:.0f} °C")
        if t.cool_to_c is not None:
            parts.append(f"cooled to {t.cool_to_c:.0f} °C")
    parts += [f"aired {v.air_changes_per_h:g} times/h" for v in climate.ventilation]
    parts += [
        f"dehumidifier of {d.rated_l_per_day:g} l/day set to {d.set_rh_pct:.0f} %"
        for d in climate.dehumidifiers
    ]
    if wet_kg > 0.0:
        parts.append(f"wet work gives off {wet_kg:.0f} l")
    return (", ".join(parts),)
